//! One sheet in six states that other solvers can be compared with, through the public mechanics.
//!
//! `reference_sheet <hang|planar|swag|drop|rail|shoulders> <n> [--tol R] [--threads N] [--csv FILE]`
//!
//! Sheet 0.5 x 1.5 m, `n` by `3n` nodes, triangles with alternating diagonals (the first cell's from
//! its top left), 250 g/m2 lumped by thirds of the triangles' areas, E 200 N/m both ways, nu 0,
//! G 10 N/m, B 1e-5 N m, St. Venant-Kirchhoff, g 9.81 m/s2. Triangles are three-cornered open cells,
//! bending is quadratic across their edges ([`Bend::hinge`]), as in the codes compared with.
//!
//! `planar`: the rows of cells whose middle lies within 0.10 m of a short edge rest 8 % narrower.
//! `hang`: hung by its top row. `swag`: hung by its two top corners, started with a ripple out of its
//! plane of `2 mm cos(2 pi x / width) exp(-depth / width)`. Tip sag is the mean drop of the last row.
//! `drop`, `rail`, `shoulders`: let go from level, with a ripple of 0.5 mm, far from rest. `drop` is held by
//! its top row. `rail` lies with its middle row, which is held, on a level rail of 15 mm radius. `shoulders`
//! lies with a long side round shoulders 38 cm broad, where that side's nodes are held. What holds less than
//! all of it slides there without friction.
//! The last line printed is JSON; lengths in mm, energy in mJ, times in seconds, memory in MiB.
//! `unit_s` is one numeric factorisation and solve of the final matrix (the median of seven); `solve_units` is how
//! many of them the solve takes in processor time, which other load on the machine does not count into.

#[path = "../benches/clock/mod.rs"]
mod clock;

use clock::timed;
use slantwise::mechanics::{
    Bend, Body, Measure, Membrane, NotSettled, Outcome, Polygon, Settings, Solid, Solver, Support,
};
use slantwise::state::Shoulders;
use std::collections::BTreeMap;
use std::io::Write;
use std::ops::ControlFlow;
use std::process::ExitCode;
use std::time::Instant;

const WIDTH: f64 = 0.5;
const DEPTH: f64 = 1.5;
const MASS: f64 = 0.25;
const G: f64 = 9.81;
const RIGIDITY: f64 = 1e-5;
const MODULUS: f64 = 200.0;
/// Height of the ripple that sheets let go from level start with, m.
const RIPPLE: f64 = 5e-4;
const RAIL: f64 = 0.015;
const BODY: Shoulders = Shoulders { breadth: 0.38, neck: 0.34, slope: 0.38, depth: 0.2 };
const PROBLEMS: [&str; 6] = ["hang", "planar", "swag", "drop", "rail", "shoulders"];
const USAGE: &str = "reference_sheet <hang|planar|swag|drop|rail|shoulders> <n> [--tol R] [--threads N] [--csv FILE]";

/// What was asked for.
pub(crate) struct Task {
    pub(crate) problem: String,
    pub(crate) n: usize,
    pub(crate) tol: f64,
    pub(crate) threads: usize,
    pub(crate) csv: Option<String>,
}

fn read(mut args: impl Iterator<Item = String>) -> Result<Task, String> {
    let problem = args.next().ok_or(USAGE)?;
    if !PROBLEMS.contains(&problem.as_str()) {
        return Err(format!("problem is {problem:?}, wanted: {}\n{USAGE}", PROBLEMS.join(", ")));
    }
    let number = |what: &str, text: Option<String>| {
        let text = text.ok_or(format!("{what} is missing\n{USAGE}"))?;
        text.parse::<f64>()
            .ok()
            .filter(|x| *x > 0.0 && x.is_finite())
            .ok_or(format!("{what} is {text:?}, a positive number is wanted"))
    };
    let n = number("n", args.next())?;
    if n.fract() != 0.0 || !(3.0..=3000.0).contains(&n) {
        return Err(format!("n is {n}, a whole number from 3 to 3000 is wanted"));
    }
    let mut task = Task { problem, n: n as usize, tol: 1e-9, threads: 1, csv: None };
    while let Some(flag) = args.next() {
        match flag.as_str() {
            "--tol" => task.tol = number("--tol", args.next())?,
            "--threads" => task.threads = number("--threads", args.next())? as usize,
            "--csv" => task.csv = Some(args.next().ok_or("--csv is given no file")?),
            _ => return Err(format!("{flag:?} is not known\n{USAGE}")),
        }
    }
    Ok(task)
}

/// Node positions in the sheet's plane: along the width, and up (negative: depth).
fn plan(n: usize) -> Vec<[f64; 2]> {
    let (dx, dy) = (WIDTH / (n - 1) as f64, DEPTH / (3 * n - 1) as f64);
    (0..3 * n).flat_map(|j| (0..n).map(move |i| [i as f64 * dx, -(j as f64) * dy])).collect()
}

fn membrane(n: usize, narrow: bool) -> Body {
    let at = plan(n);
    let rows = 3 * n - 1;
    let dy = DEPTH / rows as f64;
    let law = Membrane {
        e1: MODULUS,
        e2: MODULUS,
        nu12: 0.0,
        g: 10.0,
        squeeze: 1.0,
        locking: Membrane::FREE,
    };
    let mut body =
        Body { nodes: at.len(), membranes: vec![law], measure: Measure::Green, ..Body::default() };
    for j in 0..rows {
        let from_edge = (j.min(rows - 1 - j) as f64 + 0.5) * dy;
        let share = if narrow && from_edge <= 0.10 { 0.92 } else { 1.0 };
        for i in 0..n - 1 {
            let [a, b] = [(j * n + i) as u32, (j * n + i + 1) as u32];
            let [c, d] = [a + n as u32, b + n as u32];
            let two =
                if (i + j) % 2 == 0 { [[a, c, d], [a, d, b]] } else { [[a, c, b], [b, c, d]] };
            for nodes in two {
                let rest = nodes.map(|k| [share * at[k as usize][0], at[k as usize][1]]).to_vec();
                body.polygons.push(Polygon { nodes: nodes.to_vec(), rest, membrane: 0 });
            }
        }
    }
    body
}

/// Adds bending and weight to a sheet in space.
fn hung(n: usize) -> Body {
    let mut body = membrane(n, false);
    let at = plan(n);
    let mut across = BTreeMap::<[u32; 2], Vec<u32>>::new();
    body.loads = vec![[0.0; 3]; body.nodes];
    let area = 0.5 * WIDTH / (n - 1) as f64 * DEPTH / (3 * n - 1) as f64;
    for p in &body.polygons {
        for k in 0..3 {
            let [a, b, c] = [0, 1, 2].map(|s| p.nodes[(k + s) % 3]);
            across.entry([a.min(b), a.max(b)]).or_default().push(c);
            body.loads[a as usize][2] -= MASS * G * area / 3.0;
        }
    }
    for ([a, b], apexes) in across {
        if let [c, d] = apexes[..] {
            let nodes = [a, b, c, d];
            body.bends.push(Bend::hinge(nodes, &nodes.map(|k| at[k as usize]), RIGIDITY));
        }
    }
    body
}

/// Wall time of building, analysing and solving, and what was found.
pub(crate) struct Found {
    seconds: [f64; 3],
    /// One factorisation and solve of the final matrix, s.
    unit: f64,
    /// The solve in such units, both in processor time.
    units: f64,
    pub(crate) outcome: Outcome,
    pub(crate) positions: Vec<Vec<f64>>,
    pub(crate) tip_sag: Option<f64>,
    /// The least height, mm.
    pub(crate) lowest: f64,
    pub(crate) edge_width: Option<f64>,
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

fn run<const D: usize>(
    task: &Task,
    build: impl Fn() -> Body,
    mut x: Vec<[f64; D]>,
    pins: &[usize],
) -> Result<Found, NotSettled> {
    let mut clock = Instant::now();
    let mut lap = || std::mem::replace(&mut clock, Instant::now()).elapsed().as_secs_f64();
    let body = build();
    let built = lap();
    let mut solver = Solver::<D>::new(&body).expect("the sheet is sound");
    solver.pin(pins);
    let analysed = lap();
    let settings = Settings { residual: task.tol, iterations: 2000, ..Settings::default() };
    let go = &mut |_| ControlFlow::Continue(());
    let (outcome, spent) = timed(|| solver.minimise(&mut x, &settings, go));
    let (outcome, solved) = (outcome?, lap());
    solver.assemble(&x);
    let once = |_| {
        lap();
        let (_, spent) = timed(|| solver.factorise_and_solve());
        [lap(), spent]
    };
    let runs: Vec<[f64; 2]> = (0..7).map(once).collect();
    let [unit, of_it] = [0, 1].map(|k| median(runs.iter().map(|run| run[k]).collect()));
    let (n, last) = (task.n, x.len());
    let width = (0..D).map(|d| (x[n - 1][d] - x[0][d]).powi(2)).sum::<f64>().sqrt();
    let drop = x[last - n..].iter().map(|p| -DEPTH - p[D - 1]).sum::<f64>() / n as f64;
    Ok(Found {
        seconds: [built, analysed, solved],
        unit,
        units: spent / of_it,
        outcome,
        positions: x.iter().map(|p| p.to_vec()).collect(),
        tip_sag: (D == 3 && body.support.is_none()).then_some(1e3 * drop),
        lowest: x.iter().map(|p| 1e3 * p[D - 1]).fold(f64::INFINITY, f64::min),
        edge_width: (D == 2).then_some(1e3 * width),
    })
}

/// A sheet let go from level: where its nodes start, which are held, and what may carry the rest.
fn let_go(problem: &str, n: usize) -> (Vec<[f64; 3]>, Vec<usize>, Vec<Solid>) {
    let at = plan(n);
    let wave = |x: f64, y: f64| RIPPLE * ((31.0 * x).sin() + (23.0 * y).sin());
    let row = |j: usize| (n * j..n * (j + 1)).collect::<Vec<_>>();
    let (mut start, held, solids): (Vec<[f64; 3]>, Vec<usize>, Vec<Solid>) = match problem {
        "drop" => (at.iter().map(|[x, y]| [*x, *y, 0.0]).collect(), row(0), Vec::new()),
        "rail" => {
            let middle = 3 * n / 2;
            let from = at[n * middle][1];
            let start = at.iter().map(|[x, y]| [x - 0.5 * WIDTH, y - from, 0.0]).collect();
            (start, row(middle), vec![Solid::rail(RAIL, WIDTH)])
        }
        _ => {
            let along = |y: f64| -0.5 * DEPTH - y;
            let place = |[x, y]: &[f64; 2]| {
                let [across, up] = BODY.profile(along(*y));
                [across, -x, up]
            };
            let on = |k: &usize| k.is_multiple_of(n) && along(at[*k][1]).abs() <= BODY.shoulder();
            let held = (0..at.len()).filter(on).collect();
            (at.iter().map(place).collect(), held, BODY.solids())
        }
    };
    for (k, [x, y]) in at.iter().enumerate().filter(|(k, _)| !held.contains(k)) {
        start[k][2] += wave(*x, *y);
    }
    (start, held, solids)
}

/// Solves one of the problems.
pub(crate) fn solve(task: &Task) -> Result<Found, NotSettled> {
    let n = task.n;
    let space = |ripple: f64| -> Vec<[f64; 3]> {
        plan(n)
            .iter()
            .map(|[x, z]| {
                let wave = (2.0 * std::f64::consts::PI * x / WIDTH).cos() * (z / WIDTH).exp();
                [*x, ripple * wave, *z]
            })
            .collect()
    };
    match task.problem.as_str() {
        "planar" => run::<2>(task, || membrane(n, true), plan(n), &[]),
        "hang" => run::<3>(task, || hung(n), space(0.0), &(0..3 * n).collect::<Vec<_>>()),
        "swag" => {
            let mut start = space(2e-3);
            start[0][1] = 0.0;
            start[n - 1][1] = 0.0;
            let right = 3 * (n - 1);
            run::<3>(task, || hung(n), start, &[0, 1, 2, right, right + 1, right + 2])
        }
        problem => {
            let (start, held, solids) = let_go(problem, n);
            let pins: Vec<usize> =
                held.iter().flat_map(|k| [3 * k, 3 * k + 1, 3 * k + 2]).collect();
            let carried =
                (!solids.is_empty()).then_some(Support { solids, stiffness: MODULUS, layer: 5e-4 });
            run::<3>(task, || Body { support: carried.clone(), ..hung(n) }, start, &pins)
        }
    }
}

/// Peak memory of this process, MiB.
fn peak() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

fn write_csv(file: &str, positions: &[Vec<f64>]) -> std::io::Result<()> {
    let mut out = std::io::BufWriter::new(std::fs::File::create(file)?);
    for p in positions {
        let cells: Vec<String> = p.iter().map(|x| format!("{x:.12e}")).collect();
        writeln!(out, "{}", cells.join(","))?;
    }
    out.flush()
}

#[expect(clippy::print_stdout, clippy::print_stderr, reason = "a program's output")]
fn main() -> ExitCode {
    let task = match read(std::env::args().skip(1)) {
        Ok(task) => task,
        Err(e) => {
            eprintln!("error: {e}");
            return ExitCode::from(2);
        }
    };
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(task.threads)
        .build()
        .expect("a pool of threads");
    let found = match pool.install(|| solve(&task)) {
        Ok(found) => found,
        Err(e) => {
            eprintln!("error: {e}");
            return ExitCode::from(2);
        }
    };
    if let Some(file) = &task.csv
        && let Err(e) = write_csv(file, &found.positions)
    {
        eprintln!("error: cannot write {file}: {e}");
        return ExitCode::from(2);
    }
    let [build_s, analyse_s, solve_s] = found.seconds;
    println!(
        "{}",
        serde_json::json!({
            "problem": task.problem, "n": task.n,
            "tip_sag_mm": found.tip_sag, "free_edge_width_mm": found.edge_width,
            "lowest_mm": found.lowest,
            "energy_mj": 1e3 * found.outcome.energy, "residual": found.outcome.residual,
            "iterations": found.outcome.iterations, "factorisations": found.outcome.factorisations,
            "descents": found.outcome.descents,
            "minimum": found.outcome.minimum,
            "build_s": build_s, "analyse_s": analyse_s, "solve_s": solve_s, "unit_s": found.unit,
            "solve_units": found.units, "peak_mib": peak(),
        })
    );
    ExitCode::SUCCESS
}
