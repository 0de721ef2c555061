//! Ctrl-C: the first asks the work to stop and say how far it got, a second ends the program at once.

use std::io;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, LazyLock};

use signal_hook::consts::SIGINT;
use signal_hook::flag;

/// What a shell reports for a program that Ctrl-C ended: 128 and the signal's number.
const ENDED: i32 = 130;

static ASKED: LazyLock<Arc<AtomicBool>> = LazyLock::new(Arc::default);

/// Takes Ctrl-C over from now on.
pub(super) fn watch() -> io::Result<()> {
    // In this order: the first Ctrl-C finds the flag down and only raises it.
    flag::register_conditional_shutdown(SIGINT, ENDED, Arc::clone(&ASKED))?;
    flag::register(SIGINT, Arc::clone(&ASKED))?;
    Ok(())
}

/// True once Ctrl-C was pressed.
pub(super) fn asked() -> bool {
    ASKED.load(Ordering::Relaxed)
}

/// Whether to go on.
pub(super) fn flow() -> ControlFlow<()> {
    if asked() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
}
