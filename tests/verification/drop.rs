//! Sheets let go from level: far from equilibrium, with folds on the way.

use crate::build::{linear, sheet};
use slantwise::mechanics::{Bend, Body, Settings, Solver, signed_area};
use std::ops::ControlFlow;

/// A level sheet in space with bending and weight: `nx * ny` cells of 10 mm.
fn level(nx: usize, ny: usize) -> (Body, Vec<[f64; 3]>) {
    let h = 0.01;
    let (mut body, flat) =
        sheet(nx, ny, h * nx as f64, h * ny as f64, 0.0, linear(200.0, 150.0, 0.3, 15.0));
    let b = 2e-5;
    body.loads = vec![[0.0; 3]; body.nodes];
    for q in body.quads.clone() {
        body.bends.push(Bend::twist(q.nodes, &q.rest, b));
        for n in q.nodes {
            body.loads[n as usize][2] -= 0.25 * 0.3 * 9.80665 * signed_area(&q.rest);
        }
    }
    let node = |i: usize, j: usize| (j * (nx + 1) + i) as u32;
    let wide = |k: usize, n: usize| if k == 0 || k == n { 0.5 * h } else { h };
    for j in 0..=ny {
        for i in 0..=nx {
            if i > 0 && i < nx {
                body.bends.push(Bend::line(
                    [node(i - 1, j), node(i, j), node(i + 1, j)],
                    [h, h],
                    wide(j, ny),
                    b,
                ));
            }
            if j > 0 && j < ny {
                body.bends.push(Bend::line(
                    [node(i, j - 1), node(i, j), node(i, j + 1)],
                    [h, h],
                    wide(i, nx),
                    b,
                ));
            }
        }
    }
    (body, flat.iter().map(|p| [p[0], p[1], 0.0]).collect())
}

/// Lets a level sheet go, held at some nodes; asserts that it settles in a minimum and that the pins
/// bear its weight. Returns the lowest point (m).
fn drop(what: &str, body: &Body, mut x: Vec<[f64; 3]>, held: &[usize]) -> f64 {
    let mut solver = Solver::<3>::new(body).expect("a sound body");
    let pins: Vec<usize> = held.iter().flat_map(|n| [3 * n, 3 * n + 1, 3 * n + 2]).collect();
    solver.pin(&pins);
    let mut energies = Vec::new();
    let found = solver
        .minimise(&mut x, &Settings::default(), &mut |p| {
            energies.push(p.energy);
            ControlFlow::Continue(())
        })
        .unwrap_or_else(|e| panic!("{what}: {e}"));
    let weight: f64 = body.loads.iter().map(|f| f[2]).sum();
    let borne: f64 = solver.net_forces(&x).iter().map(|f| f[2]).sum();
    let lowest = x.iter().fold(0.0f64, |m, p| m.min(p[2]));
    println!(
        "{what}: lowest {lowest:.6} m, {} first-order and {} Newton steps, pins bear {:.9} of the weight (reference 1)",
        found.descents,
        found.iterations,
        -borne / weight
    );
    assert!(found.minimum && (borne / weight + 1.0).abs() < 1e-6);
    assert!(energies.windows(2).all(|e| e[1] <= e[0] + 1e-11 * e[0].abs()), "energy rose");
    lowest
}

/// The plane it ends in is known: a strip's stretch m g L²/2E.
#[test]
fn from_level_to_hanging_by_an_edge() {
    let (nx, ny) = (30, 60);
    let (body, x) = level(nx, ny);
    let lowest = drop("edge", &body, x, &(0..=nx).collect::<Vec<_>>());
    let want = -0.6 - 0.3 * 9.80665 * 0.36 / 300.0;
    println!("  lowest {lowest:.6} m (reference {want:.6})");
    assert!((lowest - want).abs() < 1e-4);
}

/// From level and from upright, the same state: the energy is not convex, but this minimum is wide.
#[test]
fn from_level_to_hanging_by_two_corners() {
    let (nx, ny) = (30, 60);
    let (body, x) = level(nx, ny);
    let upright = x.iter().map(|p| [p[0], 1e-3 * (p[0] / 0.05).sin(), -p[1]]).collect();
    let [a, b] = [("corners, from level", x), ("corners, from upright", upright)]
        .map(|(what, x)| drop(what, &body, x, &[0, nx]));
    println!("  lowest {a:.6} m and {b:.6} m");
    assert!((a - b).abs() < 1e-3);
}

/// Folds on every side, far from any start: it must settle.
#[test]
fn from_level_to_hanging_from_its_middle() {
    let (nx, ny) = (24, 24);
    let (body, x) = level(nx, ny);
    let middle = 12 * 25 + 12;
    let lowest = drop("middle", &body, x, &[middle, middle + 1, middle + 25, middle + 26]);
    assert!(lowest < -0.12);
}
