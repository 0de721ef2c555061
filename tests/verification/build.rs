//! Small bodies made by hand.

use slantwise::mechanics::{Body, Membrane, Outcome, Quad, Settings, Solver, Strand, Wedge};
use std::ops::ControlFlow;

/// A law at the named verification settings: compression linear, no locking.
pub(crate) fn linear(e1: f64, e2: f64, nu12: f64, g: f64) -> Membrane {
    Membrane { e1, e2, nu12, g, squeeze: 1.0, locking: Membrane::FREE }
}

/// `nx * ny` cells over `[0, w] x [0, h]`, rows turned by `theta` (rad) against x: nodes row by row.
/// Strains along rows are those of the material's axis 1.
pub(crate) fn sheet(
    nx: usize,
    ny: usize,
    w: f64,
    h: f64,
    theta: f64,
    law: Membrane,
) -> (Body, Vec<[f64; 2]>) {
    let x: Vec<[f64; 2]> = (0..=ny)
        .flat_map(|j| (0..=nx).map(move |i| [w * i as f64 / nx as f64, h * j as f64 / ny as f64]))
        .collect();
    let (s, c) = theta.sin_cos();
    let material = |n: u32| {
        let [a, b] = x[n as usize];
        [c * a + s * b, c * b - s * a]
    };
    let mut body = Body { nodes: x.len(), membranes: vec![law], ..Body::default() };
    for j in 0..ny {
        for i in 0..nx {
            let a = (j * (nx + 1) + i) as u32;
            let nodes = [a, a + 1, a + nx as u32 + 2, a + nx as u32 + 1];
            body.quads.push(Quad { nodes, rest: nodes.map(material), membrane: 0 });
        }
    }
    (body, x)
}

/// A plain bias parallelogram of `n` stitches `w` wide and `rows` rows `h` high: one stitch gained at
/// the right end of every second row and one lost at the left. Every row has a selvage node half a
/// stitch outside its first and last stitch.
pub(crate) struct Bias {
    pub(crate) body: Body,
    pub(crate) start: Vec<[f64; 2]>,
    /// Nodes per row: selvage, stitches, selvage.
    pub(crate) rows: Vec<Vec<u32>>,
}

impl Bias {
    /// Cells: quads, half cells at row ends that lean with the body, a wedge at both ends of a shaping
    /// row; edge strands of 1 N as long as the stress-free cell makes them.
    pub(crate) fn new(n: usize, rows: usize, w: f64, h: f64, law: Membrane) -> Self {
        let wide = n + 2;
        let rows: Vec<Vec<u32>> =
            (0..=rows).map(|r| (0..wide).map(|i| (r * wide + i) as u32).collect()).collect();
        let mut body = Body { nodes: rows.len() * wide, membranes: vec![law], ..Body::default() };
        let mut start = Vec::new();
        for r in 0..rows.len() {
            let shift = (r / 2) as f64 * w;
            start.extend((0..wide).map(|i| {
                let along = (i as f64 - 0.5).clamp(0.0, n as f64);
                [shift + w * along, h * r as f64]
            }));
        }
        for r in 1..rows.len() {
            let (below, above) = (&rows[r - 1], &rows[r]);
            let skip = usize::from(r % 2 == 0);
            let lean = w * skip as f64;
            for i in 1..n - skip {
                let nodes = [below[i + skip], below[i + 1 + skip], above[i + 1], above[i]];
                let rest = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
                body.quads.push(Quad { nodes, rest, membrane: 0 });
            }
            for i in [0, n] {
                let nodes = [below[i], below[i + 1], above[i + 1], above[i]];
                let half = 0.5 * w;
                let rest = [[0.0, 0.0], [half, 0.0], [half + lean, h], [lean, h]];
                body.quads.push(Quad { nodes, rest, membrane: 0 });
            }
            if skip == 1 {
                let wedge = |nodes| Wedge { nodes, strand: w, height: h, membrane: 0 };
                body.wedges.push(wedge([below[1], below[2], above[1]]));
                body.wedges.push(wedge([above[n], above[n - 1], below[n]]));
            }
            for i in [0, n + 1] {
                let nodes = [below[i], above[i]];
                body.strands.push(Strand { nodes, rest: lean.hypot(h), stiffness: 1.0 });
            }
        }
        Self { body, start, rows }
    }
}

/// Curvature (1/m) of a circle through points by least squares (Kasa), signed by turning left.
pub(crate) fn curvature(points: &[[f64; 2]]) -> f64 {
    let mut a = nalgebra::Matrix3::zeros();
    let mut b = nalgebra::Vector3::zeros();
    let o = points[0];
    for p in points {
        let [x, y] = [p[0] - o[0], p[1] - o[1]];
        let row = nalgebra::Vector3::new(x, y, 1.0);
        a += row * row.transpose();
        b += row * (x * x + y * y);
    }
    let c = a.try_inverse().expect("points on a curve") * b;
    let centre = [0.5 * c[0], 0.5 * c[1]];
    let radius = (c[2] + centre[0].powi(2) + centre[1].powi(2)).sqrt();
    let last = points[points.len() - 1];
    let left = (last[0] - o[0]) * centre[1] - (last[1] - o[1]) * centre[0];
    left.signum() / radius
}

/// Solves with the given pins (unknown index) at default settings.
pub(crate) fn solve<const D: usize>(body: &Body, x: &mut [[f64; D]], pins: &[usize]) -> Outcome {
    solve_to(Settings::default().residual, body, x, pins)
}

/// Solves to a residual of choice.
pub(crate) fn solve_to<const D: usize>(
    residual: f64,
    body: &Body,
    x: &mut [[f64; D]],
    pins: &[usize],
) -> Outcome {
    let mut solver = Solver::<D>::new(body).expect("a sound body");
    solver.pin(pins);
    let settings = Settings { residual, ..Settings::default() };
    match solver.minimise(x, &settings, &mut |_| ControlFlow::Continue(())) {
        Ok(outcome) => outcome,
        Err(e) => panic!("{e}"),
    }
}

/// Reproducible uniform numbers in [-1, 1].
pub(crate) struct Dice(rand_pcg::Pcg64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(<rand_pcg::Pcg64 as rand::SeedableRng>::seed_from_u64(seed))
    }

    pub(crate) fn roll(&mut self) -> f64 {
        rand::RngExt::random_range(&mut self.0, -1.0..=1.0)
    }

    /// Adds up to `size` to every coordinate.
    pub(crate) fn shake<const D: usize>(&mut self, x: &mut [[f64; D]], size: f64) {
        x.as_flattened_mut().iter_mut().for_each(|x| *x += size * self.roll());
    }
}
