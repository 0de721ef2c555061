//! The in-plane law by itself.

use crate::build::Dice;
use slantwise::mechanics::{Law, Membrane};

fn membrane(squeeze: f64) -> Membrane {
    Membrane { e1: 100.0, e2: 50.0, nu12: 0.4, g: 20.0, squeeze }
}

/// Strain along an axis and across it under a tension along the axis alone, by bisection.
fn uniaxial(law: &Law, axis: usize, strain: f64) -> (f64, f64) {
    let (mut low, mut high) = (-1.0, 1.0);
    let at = |cross: f64| law.tension(if axis == 0 { [strain, cross] } else { [cross, strain] }).n;
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if at(mid)[1 - axis] > 0.0 { high = mid } else { low = mid }
    }
    (at(low)[axis] / strain, -low / strain)
}

#[test]
fn pull_has_the_given_moduli_and_squeeze_their_share() {
    for squeeze in [1.0, 0.3, 0.1] {
        let law = Law::new(&membrane(squeeze));
        for (axis, modulus, poisson) in [(0, 100.0, 0.4), (1, 50.0, 0.2)] {
            let (pull, contraction) = uniaxial(&law, axis, 0.01);
            let (push, _) = uniaxial(&law, axis, -0.01);
            println!(
                "squeeze {squeeze} axis {axis}: pull {pull:.6} (reference {modulus}), ratio {contraction:.6} ({poisson}), push {push:.6} ({})",
                squeeze * modulus
            );
            assert!((pull / modulus - 1.0).abs() < 1e-9);
            assert!((contraction - poisson).abs() < 1e-9);
            assert!((push / (squeeze * modulus) - 1.0).abs() < 1e-9);
        }
    }
}

/// `(N(a) - N(b))·(a - b) > 0`: the energy is convex, whatever the share left in compression.
#[test]
fn tension_is_monotone() {
    for squeeze in [1.0, 0.3, 0.1, 0.01] {
        let law = Law::new(&membrane(squeeze));
        let mut dice = Dice::new(11);
        let mut least = f64::INFINITY;
        for _ in 0..20_000 {
            let [a, b] = [[dice.roll(), dice.roll()], [dice.roll(), dice.roll()]];
            let (p, q) = (law.tension(a), law.tension(b));
            let d = [a[0] - b[0], a[1] - b[1]];
            let rise = (p.n[0] - q.n[0]) * d[0] + (p.n[1] - q.n[1]) * d[1];
            least = least.min(rise / (d[0] * d[0] + d[1] * d[1]));
        }
        println!(
            "squeeze {squeeze}: least slope {least:.3} N/m (reference: positive, about {:.3})",
            squeeze * 50.0
        );
        assert!(least > 0.0);
    }
}

/// Tensions are the energy's slope, and continuous where a direction turns from pull to squeeze.
#[test]
fn energy_is_smooth_across_the_change_of_sign() {
    let law = Law::new(&membrane(0.1));
    let mut dice = Dice::new(5);
    let (mut slope, mut jump) = (0.0f64, 0.0f64);
    for _ in 0..20_000 {
        let e = [0.1 * dice.roll(), 0.1 * dice.roll()];
        let n = law.tension(e).n;
        let d = 1e-7;
        for axis in 0..2 {
            let side = |s: f64| {
                let mut e = e;
                e[axis] += s;
                law.tension(e)
            };
            slope = slope.max(((side(d).energy - side(-d).energy) / (2.0 * d) - n[axis]).abs());
            jump = jump.max((side(d).n[axis] - n[axis]).abs() / d);
        }
    }
    println!(
        "slope of the energy off by {slope:.1e} N/m (reference 0), steepest change of tension {jump:.1} N/m (at most e1/(1 - nu12 nu21) = {:.1})",
        100.0 / 0.92
    );
    assert!(slope < 1e-5);
    assert!(jump < 1.001 * 100.0 / 0.92);
}
