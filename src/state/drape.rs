//! The drape test: a round specimen held between two discs, its rim falling free (ISO 9073-9).

use rayon::prelude::*;
use std::ops::ControlFlow;

use super::specimen::{Cloth, G};
use crate::mechanics::Bend;
use crate::mechanics::Body;
use crate::mechanics::NotSettled;
use crate::mechanics::Outcome;
use crate::mechanics::Quad;
use crate::mechanics::Settings;
use crate::mechanics::Solver;
use crate::mechanics::signed_area;

/// Rings of cells beyond the disc, and cells around.
const RINGS: usize = 12;
const AROUND: usize = 96;

/// Numbers of folds the fall is started with.
const FOLDS: std::ops::RangeInclusive<u32> = 3..=8;

/// Height of the start's ripple at the rim, a share of the radius.
const RIPPLE: f64 = 0.02;

/// A draped specimen: of the shapes it settled in, the one of least energy.
#[derive(Debug, Clone, PartialEq)]
pub struct Draped {
    /// Node positions, m, the third axis up, the disc about the origin at height 0.
    pub positions: Vec<[f64; 3]>,
    /// Where the nodes are in the flat specimen, m.
    pub flat: Vec<[f64; 2]>,
    /// Corners of the cells beyond the disc.
    pub cells: Vec<[u32; 4]>,
    /// Folds: heights of the rim that stand out from those beside them.
    pub folds: u32,
    /// Upward force on what is held, N.
    pub borne: f64,
    /// How the solver got there.
    pub outcome: Outcome,
}

impl Cloth {
    /// Drapes a round specimen of `radius` (m) over a disc of `disc` (m), clamped at its rim.
    ///
    /// Layers may pass through each other. A sheet may settle in several numbers of folds: each is
    /// tried, and the one of least energy is taken.
    ///
    /// # Errors
    /// [`NotSettled`] where it settles from no start.
    pub fn drape(&self, disc: f64, radius: f64) -> Result<Draped, NotSettled> {
        let (body, flat, held) = self.rim(disc, radius);
        let starts: Vec<u32> = FOLDS.collect();
        let settled: Vec<Result<Draped, NotSettled>> =
            starts.into_par_iter().map(|folds| fall(&body, &flat, held, radius, folds)).collect();
        settled
            .into_iter()
            .reduce(|best, next| match (&best, &next) {
                (Ok(a), Ok(b)) if b.outcome.energy < a.outcome.energy => next,
                (Err(_), Ok(_)) => next,
                _ => best,
            })
            .expect("at least one number of folds is tried")
    }

    /// Rings of cells about the disc, rows along x; the first two rings of nodes are held, half a cell
    /// within and half a cell beyond its rim, so that the clamp lies on it.
    fn rim(&self, disc: f64, radius: f64) -> (Body, Vec<[f64; 2]>, usize) {
        let step = (radius - disc) / (RINGS as f64 - 0.5);
        let turn = std::f64::consts::TAU / AROUND as f64;
        let at = |ring: usize, k: usize| {
            let (s, c) = (turn * k as f64).sin_cos();
            let r = disc + (ring as f64 - 0.5) * step;
            [r * c, r * s]
        };
        let flat: Vec<[f64; 2]> =
            (0..=RINGS).flat_map(|ring| (0..AROUND).map(move |k| at(ring, k))).collect();
        let node = |ring: usize, k: usize| (ring * AROUND + k % AROUND) as u32;
        let place = |n: u32| flat[n as usize];
        let membranes = vec![self.membrane];
        let mut body = Body { nodes: flat.len(), membranes, ..Body::default() };
        body.loads = vec![[0.0; 3]; body.nodes];
        for (ring, k) in (0..RINGS).flat_map(|ring| (0..AROUND).map(move |k| (ring, k))) {
            let nodes =
                [node(ring, k), node(ring + 1, k), node(ring + 1, k + 1), node(ring, k + 1)];
            let rest = nodes.map(place);
            for n in nodes {
                body.loads[n as usize][2] -= 0.25 * self.mass * G * signed_area(&rest);
            }
            body.quads.push(Quad { nodes, rest, membrane: 0 });
        }
        for (ring, k) in (1..RINGS).flat_map(|ring| (0..AROUND).map(move |k| (ring, k))) {
            let nodes: Vec<u32> = (ring - 1..=ring + 1)
                .flat_map(|r| (0..3).map(move |i| node(r, k + AROUND - 1 + i)))
                .collect();
            let rest: Vec<[f64; 2]> = nodes.iter().map(|n| place(*n)).collect();
            // Nothing bends about the free rim: its half ring goes with the ring before it.
            let rings = if ring + 1 == RINGS { [0.5, 1.0] } else { [0.5, 0.5] };
            let r = disc + (ring as f64 - 0.5) * step;
            let [low, high] = [r - rings[0] * step, r + rings[1] * step];
            let area = 0.5 * turn * (high * high - low * low);
            body.bends.extend(Bend::patch(&nodes, &rest, area, self.bending, self.twist));
        }
        (body, flat, 2 * AROUND)
    }
}

fn fall(
    body: &Body,
    flat: &[[f64; 2]],
    held: usize,
    radius: f64,
    folds: u32,
) -> Result<Draped, NotSettled> {
    let mut solver = Solver::<3>::new(body).map_err(NotSettled::refused)?;
    solver.pin(&(0..3 * held).collect::<Vec<_>>());
    let disc = flat[held].iter().map(|c| c * c).sum::<f64>().sqrt();
    let lift = |p: &[f64; 2]| {
        let (r, angle) = (p[0].hypot(p[1]), p[1].atan2(p[0]));
        let out = ((r - disc) / (radius - disc)).max(0.0);
        // The second wave keeps the start from being symmetric, the first from choosing for itself.
        let wave = (f64::from(folds) * angle).cos() + 0.05 * (angle + 0.7).cos();
        RIPPLE * radius * out * out * wave
    };
    let mut x: Vec<[f64; 3]> = flat.iter().map(|p| [p[0], p[1], lift(p)]).collect();
    let go = &mut |_| ControlFlow::Continue(());
    let outcome = solver.minimise(&mut x, &Settings::default(), go)?;
    let borne = solver.net_forces(&x)[..held].iter().map(|f| f[2]).sum::<f64>();
    let rim: Vec<f64> = x[x.len() - AROUND..].iter().map(|p| p[2]).collect();
    let cells = body.quads.iter().map(|q| q.nodes).collect();
    Ok(Draped { flat: flat.to_vec(), cells, folds: ridges(&rim), borne, outcome, positions: x })
}

/// Ridges of a closed line of heights that rise above the valleys on both sides by a tenth of its whole
/// range.
pub(super) fn ridges(heights: &[f64]) -> u32 {
    let (low, high) =
        heights.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(*z), h.max(*z)));
    let rise = 0.1 * (high - low);
    let lowest = heights.iter().position(|z| *z == low).unwrap_or(0);
    let (mut count, mut up, mut turn) = (0, true, low);
    for k in 1..=heights.len() {
        let z = heights[(lowest + k) % heights.len()];
        if up {
            if z > turn {
                turn = z;
            } else if z < turn - rise {
                (count, up, turn) = (count + 1, false, z);
            }
        } else if z < turn {
            turn = z;
        } else if z > turn + rise {
            (up, turn) = (true, z);
        }
    }
    count
}
