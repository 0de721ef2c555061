//! Reading patterns and writing results.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use slantwise::source::Source;

/// Longest pattern read, bytes; the longest published patterns stay below a tenth of it.
const LONGEST: u64 = 4 << 20;

/// Why a command could not run.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CannotRun {
    /// The pattern could not be read.
    #[error("cannot read {}: {why}", path.display())]
    Read {
        /// Which file.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// A result could not be written.
    #[error("cannot write {}: {why}", path.display())]
    Write {
        /// Which file.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// Standard output failed.
    #[error("cannot print: {0}")]
    Print(io::Error),
    /// Ctrl-C.
    #[error("interrupted before anything was written")]
    Interrupted,
    /// A stage failed.
    #[error("{0}")]
    Stage(String),
}

/// Reads a pattern; `-` is standard input.
pub(super) fn read(path: &Path) -> Result<Source, CannotRun> {
    let fail = |why: String| CannotRun::Read { path: path.to_owned(), why };
    let bytes = if path == Path::new("-") {
        limited(&mut io::stdin().lock()).map_err(|e| fail(e.to_string()))?
    } else {
        let about = fs::metadata(path).map_err(|e| fail(reason(&e)))?;
        if about.is_dir() {
            return Err(fail("it is a folder; name a pattern file in it".into()));
        }
        let mut file = fs::File::open(path).map_err(|e| fail(reason(&e)))?;
        limited(&mut file).map_err(|e| fail(e.to_string()))?
    };
    if bytes.len() as u64 > LONGEST {
        return Err(fail(format!(
            "it is longer than {} MiB, too long for a written pattern",
            LONGEST >> 20
        )));
    }
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        fail(format!(
            "it is not text: byte {at} is not UTF-8; save the pattern as plain UTF-8 text"
        ))
    })?;
    if let Some(at) = text.find('\0') {
        return Err(fail(format!("it is not text: byte {at} is zero")));
    }
    let text = text.strip_prefix('\u{feff}').map_or(text.clone(), str::to_owned);
    Ok(Source::new(path.display().to_string(), text))
}

/// Reads one byte more than the limit at most.
fn limited(from: &mut dyn Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(LONGEST + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".into(),
        io::ErrorKind::PermissionDenied => "permission denied".into(),
        _ => error.to_string(),
    }
}

/// Writes all files or reports the first that cannot be; each appears whole or not at all.
pub(super) fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), CannotRun> {
    let fail =
        |path: &Path, e: &io::Error| CannotRun::Write { path: path.to_owned(), why: reason(e) };
    if super::interrupt::asked() {
        return Err(CannotRun::Interrupted);
    }
    fs::create_dir_all(folder).map_err(|e| fail(folder, &e))?;
    let part = |name: &str| folder.join(format!(".{name}.part"));
    for (name, bytes) in files {
        if let Err(e) = fs::write(part(name), bytes) {
            for (name, _) in files {
                let _ = fs::remove_file(part(name));
            }
            return Err(fail(&folder.join(name), &e));
        }
    }
    for (name, _) in files {
        let path = folder.join(name);
        fs::rename(part(name), &path).map_err(|e| fail(&path, &e))?;
    }
    Ok(())
}
