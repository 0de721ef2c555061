//! What must not change the answer: node numbers, threads, the start; and what the energy must not do:
//! rise.

use crate::build::{Bias, Dice, linear, sheet};
use slantwise::mechanics::{Bend, Body, Membrane, Settings, Solver};
use std::ops::ControlFlow;

/// A bias piece with uneven stitches and a tight band.
fn uneven() -> (Body, Vec<[f64; 2]>) {
    let law = Membrane { squeeze: 0.3, ..linear(300.0, 250.0, 0.3, 30.0) };
    let mut bias = Bias::new(40, 60, 0.005, 0.004, law);
    let mut dice = Dice::new(9);
    for q in &mut bias.body.quads {
        let tight = if q.nodes[0] < 200 { 0.92 } else { 1.0 };
        let [a, b] = [tight * (1.0 + 0.03 * dice.roll()), tight * (1.0 + 0.03 * dice.roll())];
        q.rest.iter_mut().for_each(|p| *p = [a * p[0], b * p[1]]);
    }
    (bias.body, bias.start)
}

fn lay(body: &Body, start: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut x = start.to_vec();
    let mut solver = Solver::<2>::new(body).expect("a sound body");
    let tight = Settings { residual: 1e-12, ..Settings::default() };
    solver.minimise(&mut x, &tight, &mut |_| ControlFlow::Continue(())).expect("settles");
    x
}

#[test]
fn threads_do_not_change_a_bit() {
    let (body, start) = uneven();
    let with = |n: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(n).build().expect("a pool");
        pool.install(|| lay(&body, &start))
    };
    let bits = |x: Vec<[f64; 2]>| x.as_flattened().iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    let one = bits(with(1));
    for n in [2, 3, 8] {
        println!("{n} threads: bits equal {} (reference true)", bits(with(n)) == one);
        assert!(bits(with(n)) == one);
    }
}

#[test]
fn node_numbers_do_not_change_the_shape() {
    let (body, start) = uneven();
    let n = body.nodes;
    let mut new: Vec<u32> = (0..n as u32).collect();
    let mut dice = Dice::new(2);
    for i in (1..n).rev() {
        new.swap(i, ((dice.roll() + 1.0) * 0.5 * i as f64) as usize);
    }
    let mut other = body.clone();
    let turn = |nodes: &mut [u32]| nodes.iter_mut().for_each(|k| *k = new[*k as usize]);
    other.quads.iter_mut().for_each(|q| turn(&mut q.nodes));
    other.wedges.iter_mut().for_each(|w| turn(&mut w.nodes));
    other.strands.iter_mut().for_each(|s| turn(&mut s.nodes));
    let mut moved = start.clone();
    (0..n).for_each(|i| moved[new[i] as usize] = start[i]);
    let (a, b) = (lay(&body, &start), lay(&other, &moved));
    let off = (0..n).fold(0.0f64, |m, i| {
        let q = b[new[i] as usize];
        m.max((a[i][0] - q[0]).hypot(a[i][1] - q[1]))
    });
    println!("other node numbers move nodes by {off:.1e} m (reference 0)");
    assert!(off < 1e-9);
}

#[test]
fn energy_never_rises() {
    let (body, start) = uneven();
    let mut x = start;
    let mut energies = Vec::new();
    let mut solver = Solver::<2>::new(&body).expect("a sound body");
    let found = solver
        .minimise(&mut x, &Settings::default(), &mut |p| {
            energies.push(p.energy);
            ControlFlow::Continue(())
        })
        .expect("settles");
    energies.push(found.energy);
    let rise = energies.windows(2).map(|w| (w[1] - w[0]) / w[0]).fold(f64::NEG_INFINITY, f64::max);
    println!(
        "largest relative change of energy in a step {rise:.1e} (reference: not above rounding), {found:?}"
    );
    assert!(energies.len() > 3 && rise < 1e-11);
}

/// Where the minimum is unique (a sheet under pull all over), every start leads to it.
#[test]
fn the_start_does_not_change_the_shape() {
    let law = Membrane { squeeze: 0.3, ..linear(300.0, 250.0, 0.3, 30.0) };
    let (body, start) = sheet(16, 12, 0.16, 0.12, 0.3, law);
    let edge =
        |p: &[f64; 2]| p[0] < 1e-9 || p[0] > 0.16 - 1e-9 || p[1] < 1e-9 || p[1] > 0.12 - 1e-9;
    let pins: Vec<usize> =
        (0..start.len()).filter(|n| edge(&start[*n])).flat_map(|n| [2 * n, 2 * n + 1]).collect();
    let from = |shake: f64, seed: u64| {
        let mut x = start.clone();
        Dice::new(seed).shake(&mut x, shake);
        for (p, s) in x.iter_mut().zip(&start).filter(|(_, s)| edge(s)) {
            *p = [1.06 * s[0] + 0.02 * s[1], 1.04 * s[1] + 0.1 * s[0] * s[0]];
        }
        let mut solver = Solver::<2>::new(&body).expect("a sound body");
        solver.pin(&pins);
        let tight = Settings { residual: 1e-12, ..Settings::default() };
        solver.minimise(&mut x, &tight, &mut |_| ControlFlow::Continue(())).expect("settles");
        x
    };
    let first = from(0.0, 0);
    for (shake, seed) in [(0.001, 1), (0.002, 2), (0.004, 3)] {
        let other = from(shake, seed);
        let off = first
            .iter()
            .zip(&other)
            .fold(0.0f64, |m, (a, b)| m.max((a[0] - b[0]).hypot(a[1] - b[1])));
        println!("start shaken by {:.0} mm: nodes off by {off:.1e} m (reference 0)", 1e3 * shake);
        assert!(off < 1e-9);
    }
}

/// A soft sheet let fall from level, two corners held.
fn falling() -> (Body, Vec<[f64; 3]>, Vec<usize>) {
    let [nx, ny] = [14, 18];
    let (mut body, flat) = sheet(
        nx,
        ny,
        0.14,
        0.18,
        0.0,
        Membrane { squeeze: 0.3, ..linear(150.0, 120.0, 0.3, 15.0) },
    );
    body.loads = vec![[0.0, 0.0, -0.4 * 9.80665 * 1e-4]; body.nodes];
    let at = |i: usize, j: usize| (j * (nx + 1) + i) as u32;
    for (i, j) in (0..=nx).flat_map(|i| (0..=ny).map(move |j| (i, j))) {
        let mut line = |a, b, c| body.bends.push(Bend::line([a, b, c], [0.01; 2], 0.01, 4e-5));
        if i > 0 && i < nx {
            line(at(i - 1, j), at(i, j), at(i + 1, j));
        }
        if j > 0 && j < ny {
            line(at(i, j - 1), at(i, j), at(i, j + 1));
        }
    }
    let x = flat.iter().map(|p| [p[0], p[1], 1e-3 * (40.0 * p[0] + 25.0 * p[1]).sin()]).collect();
    let pins = [0, nx].iter().flat_map(|n| [3 * n, 3 * n + 1, 3 * n + 2]).collect();
    (body, x, pins)
}

/// The same in space, from level to hanging: bits, and the energy step by step.
#[test]
fn falling_in_space_keeps_bits_and_never_gains_energy() {
    let (body, start, pins) = falling();
    let fall = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| {
            let (mut x, mut energies) = (start.clone(), Vec::new());
            let mut solver = Solver::<3>::new(&body).expect("a sound body");
            solver.pin(&pins);
            let found = solver.minimise(&mut x, &Settings::default(), &mut |p| {
                energies.push(p.energy);
                ControlFlow::Continue(())
            });
            energies.push(found.expect("settles").energy);
            (x.as_flattened().iter().map(|x| x.to_bits()).collect::<Vec<_>>(), energies)
        })
    };
    let (one, energies) = fall(1);
    for n in [2, 3] {
        let same = fall(n).0 == one;
        println!("{n} threads: bits equal {same} (reference true)");
        assert!(same);
    }
    let scale = energies.iter().fold(0.0f64, |m, e| m.max(e.abs()));
    let rise = energies.windows(2).map(|w| (w[1] - w[0]) / scale).fold(f64::NEG_INFINITY, f64::max);
    println!(
        "{} states from {:.3e} to {:.3e} J, largest relative change {rise:.1e} (reference: not above rounding)",
        energies.len(),
        energies[0],
        energies[energies.len() - 1]
    );
    assert!(energies.len() > 3 && rise < 1e-11);
}
