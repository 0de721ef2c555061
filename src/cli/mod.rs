//! The command line: the only place that reads files, writes files and prints.

mod args;
mod block;
mod check;
mod files;
mod hang;
mod hang_args;
mod interrupt;
mod lay;
mod presets;
mod refine;
mod report;
mod rounds;
mod show;
mod study;
mod study_args;
mod swatch;
mod write;
mod yarn;

use std::io::Write;
use std::process::ExitCode;

use args::{Arguments, Command};
use clap::Parser;
use files::CannotRun;

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Exit {
    /// Nothing wrong.
    Fine,
    /// The pattern has faults.
    Faults,
    /// Could not run: bad option, unreadable file, did not settle.
    CouldNotRun,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Fine => Self::SUCCESS,
            Exit::Faults => Self::from(1),
            Exit::CouldNotRun => Self::from(2),
        }
    }
}

/// Runs the command given on the command line.
pub(crate) fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are no errors; clap prints them to stdout and the rest to stderr.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    arguments.color.write_global();
    if let Err(error) = interrupt::watch() {
        let _ = writeln!(anstream::stderr(), "slantwise: Ctrl-C will stop at once: {error}");
    }
    let done = match &arguments.command {
        Command::Check(options) => check::check(options),
        Command::Write(options) => write::write(options),
        Command::Lay(options) => lay::lay(options),
        Command::Block(options) => block::block(options),
        Command::Hang(options) => hang::hang(options),
        Command::Specimen(options) => hang::specimen(options),
        Command::Mix(options) => study::mix(options),
        Command::Compare(options) => study::compare(options),
        Command::Spread(options) => study::spread(options),
        Command::Trace(options) => study::trace(options),
        Command::Yarn(options) => yarn::yarn(options),
        Command::Presets(options) => presets::presets(options),
        Command::Swatch(options) => swatch::swatch(options),
        Command::Refine(options) => refine::refine(options),
    };
    done.unwrap_or_else(|error| {
        let _ = writeln!(anstream::stderr(), "slantwise: {error}");
        Exit::CouldNotRun
    })
    .into()
}

/// Prints to stdout. A reader that closes the pipe early (`| head`) is no error.
fn print(text: &str) -> Result<(), CannotRun> {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(CannotRun::Print(error))
        }
        _ => Ok(()),
    }
}
