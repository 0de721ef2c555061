//! What must not change the answer: node numbers, threads; and what the energy must not do: rise.

use crate::build::{Bias, Dice, linear};
use slantwise::mechanics::{Body, Membrane, Settings, Solver};
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
