//! Time and memory of this process.

/// Processor seconds: other load on the machine does not count, waiting neither. Where one thread works
/// they are, in a quiet moment, wall seconds.
pub(crate) fn cpu() -> f64 {
    let Ok(tasks) = std::fs::read_dir("/proc/self/task") else {
        return 0.0;
    };
    let spent = |task: std::fs::DirEntry| {
        let line = std::fs::read_to_string(task.path().join("schedstat")).ok()?;
        line.split_whitespace().next()?.parse::<f64>().ok()
    };
    tasks.flatten().filter_map(spent).sum::<f64>() * 1e-9
}

/// What `work` gives, and the processor seconds it took.
pub(crate) fn timed<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let start = cpu();
    let done = work();
    (done, cpu() - start)
}
