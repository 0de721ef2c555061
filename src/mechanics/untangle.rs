//! Unfolds cells of the plane, as a start for the solver.
//!
//! Minimises `Σ w (|F|² + 1 + J²)/χ(J)` over the integration points of all cells, `F` the map from rest
//! shape to place, `J` its determinant, `χ(J) = (J + √(ε² + J²))/2`: finite for folded cells and, as `ε`
//! falls, a wall against them (Garanzha, Kaporin, Kudryavtseva, Protais, Ray, Sokolov, "Foldover-free
//! maps in 50 lines of code", ACM Trans. Graph. 40 (2021) 102). It knows no law: once nothing is folded
//! the solver takes over, and its own barrier keeps it so.

use super::Body;
use super::arrange::pieces;
use super::cell::quad_points;
use super::elements::{mean_gradient, signed_area};
use super::form::Form;
use super::memory::{Memory, difference, dot};

/// Least determinant that counts as unfolded.
const CLEAR: f64 = 0.1;
/// Steps between new values of `ε`.
const RUN: usize = 20;
/// Values of `ε` tried.
const RUNS: usize = 40;
/// Share of the energy a run must still take off to go on once nothing is folded.
const EVEN: f64 = 0.01;

/// A map's gradient at one point of a cell.
struct Place {
    nodes: Vec<u32>,
    b: Vec<[f64; 2]>,
    weight: f64,
}

fn places(body: &Body, x: &[[f64; 2]]) -> Vec<Place> {
    let quads = body.quads.iter().flat_map(|q| {
        let one = |(b, weight): ([[f64; 2]; 4], f64)| Place {
            nodes: q.nodes.to_vec(),
            b: b.to_vec(),
            weight,
        };
        quad_points(&q.rest).map(one)
    });
    // The cells after the quads have one map each.
    let others = pieces(body).into_iter().skip(body.quads.len()).map(|mut piece| {
        piece.slide(x);
        Place {
            b: mean_gradient(&piece.rest),
            weight: signed_area(&piece.rest),
            nodes: piece.nodes,
        }
    });
    quads.chain(others).collect()
}

impl Place {
    fn map(&self, x: &[f64]) -> [[f64; 2]; 2] {
        let mut f = [[0.0; 2]; 2];
        for (&n, b) in self.nodes.iter().zip(&self.b) {
            let p = &x[2 * n as usize..][..2];
            for (f, b) in f.iter_mut().zip(b) {
                f[0] += p[0] * b;
                f[1] += p[1] * b;
            }
        }
        f
    }

    /// Energy; adds to the gradient.
    fn add(&self, x: &[f64], eps: f64, g: &mut [f64]) -> f64 {
        let [f1, f2] = self.map(x);
        let j = f1[0] * f2[1] - f1[1] * f2[0];
        let root = eps.hypot(j);
        // Written so that nothing cancels for a folded cell.
        let chi = if j > 0.0 { 0.5 * (j + root) } else { 0.5 * eps * eps / (root - j) };
        let size = f1.iter().chain(&f2).map(|v| v * v).sum::<f64>() + 1.0 + j * j;
        let by_j = 2.0 * j / chi - size / chi / root;
        let p1 = [2.0 * f1[0] / chi + by_j * f2[1], 2.0 * f1[1] / chi - by_j * f2[0]];
        let p2 = [2.0 * f2[0] / chi - by_j * f1[1], 2.0 * f2[1] / chi + by_j * f1[0]];
        for (&n, b) in self.nodes.iter().zip(&self.b) {
            for d in 0..2 {
                g[2 * n as usize + d] += self.weight * (p1[d] * b[0] + p2[d] * b[1]);
            }
        }
        self.weight * size / chi
    }
}

fn least(places: &[Place], x: &[f64]) -> f64 {
    let one = |p: &Place| {
        let [f1, f2] = p.map(x);
        f1[0] * f2[1] - f1[1] * f2[0]
    };
    places.iter().map(one).fold(f64::INFINITY, f64::min)
}

fn energy(places: &[Place], x: &[f64], eps: f64, g: &mut [f64]) -> f64 {
    g.fill(0.0);
    places.iter().map(|p| p.add(x, eps, g)).sum()
}

/// Moves `x` (m) until no cell is folded over and the cells are as even as that allows; false, with `x`
/// as far as it came, where that fails.
pub fn untangle(body: &Body, x: &mut [[f64; 2]]) -> bool {
    let places = places(body, x);
    let x = x.as_flattened_mut();
    if least(&places, x) > CLEAR {
        return true;
    }
    let Some(mut form) = Form::new(body, &pieces(body)) else { return false };
    let mut clear = false;
    for _ in 0..RUNS {
        let worst = least(&places, x);
        let eps = 1e-3_f64.hypot(0.2 * worst.min(0.0));
        let [before, after] = run(&places, &mut form, x, eps);
        let even = before - after < EVEN * before;
        if clear && even {
            break;
        }
        clear = least(&places, x) > CLEAR;
    }
    least(&places, x) > 0.0
}

/// [`RUN`] steps at one `ε`; energies before and after.
fn run(places: &[Place], form: &mut Form, x: &mut [f64], eps: f64) -> [f64; 2] {
    let mut g = vec![0.0; x.len()];
    let mut past = Memory::default();
    let first = energy(places, x, eps, &mut g);
    let mut value = first;
    for _ in 0..RUN {
        let step = past.direction(&g, |q| form.solve(q));
        let (old, before) = (x.to_vec(), g.clone());
        let slope = dot(&g, &step);
        let mut t = 1.0;
        loop {
            x.iter_mut().zip(&old).zip(&step).for_each(|((x, old), s)| *x = old + t * s);
            let now = energy(places, x, eps, &mut g);
            if now <= value + 1e-4 * t * slope {
                value = now;
                break;
            }
            t *= 0.5;
            if t < 1e-9 {
                x.copy_from_slice(&old);
                return [first, value];
            }
        }
        past.remember(difference(x, &old), difference(&g, &before));
    }
    [first, value]
}
