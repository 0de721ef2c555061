//! Virtual textile tests on a fabric of one stitch: off-axis strips, bending length, heart loop, hanging
//! strip.

use std::ops::ControlFlow;

use crate::mechanics::Bend;
use crate::mechanics::Body;
use crate::mechanics::Membrane;
use crate::mechanics::NotSettled;
use crate::mechanics::Quad;
use crate::mechanics::Settings;
use crate::mechanics::Solver;
use crate::mechanics::Strand;

/// Standard acceleration of free fall, m/s² (ISO 80000-3).
pub(super) const G: f64 = 9.80665;

/// Links of a bent strip.
const LINKS: usize = 80;

/// The fabric of a specimen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cloth {
    /// In-plane law.
    pub membrane: Membrane,
    /// Rigidity of bending rows and columns, N m.
    pub bending: [f64; 2],
    /// Of twisting, as a share of twice the geometric mean of both.
    pub twist: f64,
    /// Mass per area, kg/m².
    pub mass: f64,
}

/// A strip cut at an angle to the rows, pulled along its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pulled {
    /// Stretch, a share of its length.
    pub stretch: f64,
    /// Narrowing, a share of its width.
    pub narrowing: f64,
    /// Lean of its cross lines, rad.
    pub lean: f64,
}

impl Cloth {
    /// An in-plane law: moduli along rows and columns (N/m), contraction, shear modulus (N/m), share of
    /// the modulus left under squeeze; its loops never lock.
    pub fn law([e1, e2]: [f64; 2], nu12: f64, g: f64, squeeze: f64) -> Membrane {
        Membrane { e1, e2, nu12, g, squeeze, locking: Membrane::FREE }
    }

    /// Rigidity (N m) of a narrow strip whose length lies at `angle` (rad) to the rows: the plate's
    /// compliance turned, at zero Poisson ratio.
    pub fn rigidity(&self, angle: f64) -> f64 {
        let [b1, b2] = self.bending;
        let (s, c) = angle.sin_cos();
        let twist = self.twist * (b1 * b2).sqrt();
        1.0 / (c.powi(4) / b1 + s.powi(4) / b2 + 2.0 * (s * c).powi(2) / twist)
    }

    /// Pulls a strip whose length lies at `angle` (rad) to the rows with `force` (N/m of width).
    ///
    /// # Errors
    /// [`NotSettled`].
    pub fn pull(&self, angle: f64, force: f64) -> Result<Pulled, NotSettled> {
        let (nx, ny, w, h) = (24, 6, 0.2, 0.05);
        let (mut body, mut x) = self.sheet([nx, ny], [w, h], angle);
        body.loads = vec![[0.0; 3]; body.nodes];
        for j in 0..=ny {
            let share = if j == 0 || j == ny { 0.5 } else { 1.0 };
            let part = force * share * h / ny as f64;
            body.loads[j * (nx + 1)][0] = -part;
            body.loads[j * (nx + 1) + nx][0] = part;
        }
        solve(&body, &mut x, &[0, 1, 2 * nx + 1])?;
        let (right, top) = (x[nx], x[ny * (nx + 1)]);
        let up = [top[0] - x[0][0], top[1] - x[0][1]];
        Ok(Pulled {
            stretch: (right[0] - x[0][0]) / w - 1.0,
            narrowing: 1.0 - up[1] / h,
            lean: (up[0] / up[1]).atan(),
        })
    }

    /// Growth (share) of a strip `long` (m) hung with its columns upright.
    ///
    /// # Errors
    /// [`NotSettled`].
    pub fn hung(&self, long: f64) -> Result<f64, NotSettled> {
        let [nx, ny] = [6, 60];
        let (mut body, mut x) = self.sheet([nx, ny], [0.05, long], 0.0);
        let cell = self.mass * G * 0.05 * long / (nx * ny) as f64;
        body.loads = vec![[0.0; 3]; body.nodes];
        for n in body.quads.iter().flat_map(|q| q.nodes) {
            body.loads[n as usize][1] -= 0.25 * cell;
        }
        let top = ny * (nx + 1);
        let mut pins: Vec<usize> = (top..body.nodes).map(|n| 2 * n + 1).collect();
        pins.push(2 * top);
        solve(&body, &mut x, &pins)?;
        Ok(-x[0][1] / long)
    }

    /// Overhang (m) at which a narrow strip of rigidity `b` dips 41.5 degrees: twice the bending length
    /// (ISO 9073-7).
    ///
    /// # Errors
    /// [`NotSettled`].
    pub fn overhang(&self, b: f64) -> Result<f64, NotSettled> {
        let weight = self.mass * G;
        let dip = |long: f64| -> Result<f64, NotSettled> {
            let tip = cantilever(weight * long.powi(3) / b)?;
            Ok((-tip[1]).atan2(tip[0]).to_degrees())
        };
        let guess = (b / weight).cbrt();
        let (mut low, mut high) = (guess, 3.0 * guess);
        for _ in 0..16 {
            let middle = 0.5 * (low + high);
            if dip(middle)? < 41.5 { low = middle } else { high = middle }
        }
        Ok(0.5 * (low + high))
    }

    /// Height (m) of a heart loop made of a strip `long` (m) of rigidity `b`, from clamp to bottom.
    ///
    /// # Errors
    /// [`NotSettled`].
    pub fn heart(&self, b: f64, long: f64) -> Result<f64, NotSettled> {
        Ok(long * heart(self.mass * G * long.powi(3) / b)?)
    }

    /// Cells over `[0, w] x [0, h]`, rows turned by `-angle` against x.
    fn sheet(&self, [nx, ny]: [usize; 2], [w, h]: [f64; 2], angle: f64) -> (Body, Vec<[f64; 2]>) {
        let at = |i: usize, j: usize| [w * i as f64 / nx as f64, h * j as f64 / ny as f64];
        let x: Vec<[f64; 2]> = (0..=ny).flat_map(|j| (0..=nx).map(move |i| at(i, j))).collect();
        let (s, c) = angle.sin_cos();
        let rest = |n: u32| {
            let [a, b] = x[n as usize];
            [c * a + s * b, c * b - s * a]
        };
        let membranes = vec![self.membrane];
        let mut body = Body { nodes: x.len(), membranes, ..Body::default() };
        for (j, i) in (0..ny).flat_map(|j| (0..nx).map(move |i| (j, i))) {
            let a = (j * (nx + 1) + i) as u32;
            let nodes = [a, a + 1, a + nx as u32 + 2, a + nx as u32 + 1];
            body.quads.push(Quad { nodes, rest: nodes.map(rest), membrane: 0 });
        }
        (body, x)
    }
}

fn solve(body: &Body, x: &mut [[f64; 2]], pins: &[usize]) -> Result<(), NotSettled> {
    let mut solver = Solver::<2>::new(body).map_err(NotSettled::refused)?;
    solver.pin(pins);
    solver.minimise(x, &Settings::default(), &mut |_| ControlFlow::Continue(())).map(|_| ())
}

/// A chain of stiff links of unit rigidity.
fn rod(h: f64, weight: f64) -> Body {
    let mut body = Body { nodes: LINKS + 1, ..Body::default() };
    let links = LINKS as u32;
    body.strands =
        (0..links).map(|i| Strand { nodes: [i, i + 1], rest: h, stiffness: 1e6 }).collect();
    body.bends = (1..links).map(|i| Bend::line([i - 1, i, i + 1], [h, h], 1.0, 1.0)).collect();
    body.loads = vec![[0.0, -weight * h, 0.0]; LINKS + 1];
    body
}

/// Tip of a unit strip clamped level, of unit rigidity and weight `k`; the clamp lies half a link before
/// the second of two held nodes.
fn cantilever(k: f64) -> Result<[f64; 2], NotSettled> {
    let h = 1.0 / (LINKS as f64 - 0.5);
    let mut body = rod(h, k);
    body.loads[LINKS][1] *= 0.5;
    let mut x: Vec<[f64; 2]> = (0..=LINKS).map(|i| [(i as f64 - 0.5) * h, 0.0]).collect();
    solve(&body, &mut x, &[0, 1, 2, 3])?;
    Ok(x[LINKS])
}

/// Height of a unit heart loop of unit rigidity and weight `k`: both ends clamped together, upward.
fn heart(k: f64) -> Result<f64, NotSettled> {
    let h = 1.0 / (LINKS as f64 - 1.0);
    let body = rod(h, k);
    let mut x = heart_start(h);
    let held = [0, 1, LINKS - 1, LINKS];
    let places = [-0.5, 0.5, 0.5, -0.5];
    for (n, y) in held.iter().zip(places) {
        x[*n] = [0.0, y * h];
    }
    let pins: Vec<usize> = held.iter().flat_map(|n| [2 * n, 2 * n + 1]).collect();
    solve(&body, &mut x, &pins)?;
    Ok(-x.iter().fold(0.0_f64, |low, p| low.min(p[1])))
}

/// A loop whose halves turn by 270 degrees each, shaped so that it closes.
fn heart_start(h: f64) -> Vec<[f64; 2]> {
    let angle = |s: f64, a: f64| {
        let u = 2.0 * s;
        (90.0 - 270.0 * (u + a * (std::f64::consts::PI * u).sin())).to_radians()
    };
    let ends =
        |a: f64| (0..1000).map(|i| angle(0.0005 * (f64::from(i) + 0.5), a).cos()).sum::<f64>();
    let (mut low, mut high) = (-0.6, 0.3);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if ends(middle).signum() == ends(low).signum() { low = middle } else { high = middle }
    }
    let mut x = vec![[0.0, -0.5 * h]];
    for i in 0..LINKS {
        let s = i as f64 * h;
        let t = if s <= 0.5 { angle(s, low) } else { -angle(1.0 - s, low) };
        let p: [f64; 2] = x[i];
        x.push([p[0] + h * t.cos(), p[1] + h * t.sin()]);
    }
    x
}
