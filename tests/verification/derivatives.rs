//! Gradients against central differences of the energy, Hessians against those of the gradient.

use crate::build::{Dice, linear};
use slantwise::mechanics::{
    Bend, Body, Measure, Membrane, Polygon, Quad, Solid, Solver, Strand, Support, Wedge,
};

/// One element of every kind on seven nodes, strained by a few per cent both ways.
fn menagerie(squeeze: f64, measure: Measure) -> Body {
    let law = Membrane { squeeze, ..linear(100.0, 50.0, 0.4, 20.0) };
    Body {
        nodes: 7,
        membranes: vec![law],
        quads: vec![Quad {
            nodes: [0, 1, 2, 3],
            rest: [[0.0, 0.0], [1.0, 0.1], [1.2, 1.1], [-0.1, 0.9]],
            membrane: 0,
        }],
        wedges: vec![Wedge { nodes: [3, 2, 4], strand: 1.25, height: 0.8, membrane: 0 }],
        polygons: vec![Polygon {
            nodes: vec![1, 5, 6, 4, 2],
            rest: vec![[1.0, 0.0], [2.0, 0.1], [2.2, 1.4], [1.4, 2.0], [1.1, 1.0]],
            membrane: 0,
        }],
        strands: vec![Strand { nodes: [0, 6], rest: 2.7, stiffness: 3.0 }],
        bends: vec![Bend { nodes: vec![0, 1, 5], weights: vec![1.0, -2.0, 1.0], stiffness: 0.3 }],
        loads: vec![[0.1, -0.2, 0.3]; 7],
        support: Some(Support { solids: vec![slab(0.62), slab(0.9)], stiffness: 40.0, layer: 0.2 }),
        measure,
    }
}

/// A rounded bar across the body, turned in its plane.
fn slab(radius: f64) -> Solid {
    let axes = [[0.8, 0.6, 0.0], [-0.6, 0.8, 0.0], [0.0, 0.0, 1.0]];
    Solid { centre: [0.5, 0.5, -0.1], axes, half: [0.3, 0.1, 0.0], radius }
}

fn start<const D: usize>(dice: &mut Dice) -> Vec<[f64; D]> {
    let plan = [[0.0, 0.0], [1.0, 0.0], [1.1, 1.0], [0.0, 1.0], [0.9, 1.9], [2.0, 0.0], [2.1, 1.5]];
    let mut x: Vec<[f64; D]> =
        plan.iter().map(|p| std::array::from_fn(|d| if d < 2 { p[d] } else { 0.1 })).collect();
    dice.shake(&mut x, 0.08);
    x
}

/// Largest difference between derivative and central difference, relative to the largest entry.
fn worst<const D: usize>(body: &Body, x: &mut [[f64; D]]) -> [f64; 2] {
    let mut solver = Solver::<D>::new(body).expect("a sound body");
    let (gradient, hessian) = (solver.net_forces(x), solver.hessian(x));
    let gradient = gradient.as_flattened();
    let n = gradient.len();
    let largest = |v: &[f64]| v.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    let mut off = [0.0f64; 2];
    let step = 1e-6;
    for j in 0..n {
        let at = x.as_flattened()[j];
        let mut side = |to: f64| {
            x.as_flattened_mut()[j] = to;
            (body.energy(x), solver.net_forces(x))
        };
        let (up, down) = (side(at + step), side(at - step));
        side(at);
        off[0] = off[0].max(((up.0 - down.0) / (2.0 * step) - gradient[j]).abs());
        for i in 0..n {
            let slope = (up.1.as_flattened()[i] - down.1.as_flattened()[i]) / (2.0 * step);
            off[1] = off[1].max((slope - hessian[n * i + j]).abs());
        }
    }
    [off[0] / largest(gradient), off[1] / largest(&hessian)]
}

/// Strains up to a tenth, on both sides of where these loops lock.
const LOCKING: [f64; 2] = [0.06, 0.09];

fn all_kinds<const D: usize>(locking: [f64; 2]) {
    for measure in [Measure::Stretch, Measure::Green] {
        for squeeze in [1.0, 0.3] {
            for seed in 0..10 {
                let mut body = menagerie(squeeze, measure);
                body.membranes[0].locking = locking;
                let off = worst::<D>(&body, &mut start::<D>(&mut Dice::new(seed)));
                println!(
                    "D {D} {measure:?} squeeze {squeeze} seed {seed}: gradient {:.1e}, Hessian {:.1e} (reference 0)",
                    off[0], off[1]
                );
                assert!(off[0] < 1e-8, "gradient differs by {:e}", off[0]);
                assert!(off[1] < 1e-7, "Hessian differs by {:e}", off[1]);
            }
        }
    }
}

#[test]
fn plane() {
    all_kinds::<2>(Membrane::FREE);
}

#[test]
fn space() {
    all_kinds::<3>(Membrane::FREE);
}

#[test]
fn locking_in_the_plane() {
    all_kinds::<2>(LOCKING);
}

#[test]
fn locking_in_space() {
    all_kinds::<3>(LOCKING);
}

/// Energy stays as it is where the whole body turns and shifts, up to locking and beyond it.
#[test]
fn locking_knows_no_direction_of_space() {
    let mut body = menagerie(0.3, Measure::Stretch);
    (body.loads, body.support) = (Vec::new(), None);
    body.membranes[0].locking = LOCKING;
    for seed in 0..10 {
        let mut dice = Dice::new(seed);
        let x = start::<3>(&mut dice);
        let axis = nalgebra::Vector3::from_fn(|_, _| dice.roll());
        let turn = nalgebra::Rotation3::new(axis * 3.0);
        let turned: Vec<[f64; 3]> = x
            .iter()
            .map(|p| (turn * nalgebra::Vector3::from(*p)).into())
            .map(|p: [f64; 3]| [p[0] + 0.3, p[1] - 2.0, p[2] + 1.0])
            .collect();
        let (a, b) = (body.energy(&x), body.energy(&turned));
        println!("seed {seed}: {a:.12} J, turned {b:.12} J");
        assert!((a / b - 1.0).abs() < 1e-11);
    }
}

/// Cells squeezed below a fifth of their area, where they jam, in the plane.
#[test]
fn jammed_cells() {
    let body = Body { strands: Vec::new(), bends: Vec::new(), ..menagerie(0.3, Measure::Stretch) };
    for seed in 0..10 {
        let mut x = start::<2>(&mut Dice::new(seed));
        x.iter_mut().for_each(|x| x[1] *= 0.12);
        let off = worst::<2>(&body, &mut x);
        println!("seed {seed}: gradient {:.1e}, Hessian {:.1e} (reference 0)", off[0], off[1]);
        assert!(off[0] < 1e-7, "gradient differs by {:e}", off[0]);
        assert!(off[1] < 1e-5, "Hessian differs by {:e}", off[1]);
    }
}
