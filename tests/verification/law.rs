//! The in-plane law by itself.

use crate::build::Dice;
use slantwise::mechanics::{Law, Membrane};

/// Locking strains along rows and up columns in the checks of locking.
const LOCKING: [f64; 2] = [0.4, 0.25];

fn membrane(squeeze: f64) -> Membrane {
    Membrane { e1: 100.0, e2: 50.0, nu12: 0.4, g: 20.0, squeeze, locking: Membrane::FREE }
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

/// Least slope of the tensions between random pairs of strains up to one each way.
fn least_slope(law: &Law) -> f64 {
    let mut dice = Dice::new(11);
    let mut least = f64::INFINITY;
    for _ in 0..20_000 {
        let [a, b] = [[dice.roll(), dice.roll()], [dice.roll(), dice.roll()]];
        let (p, q) = (law.tension(a), law.tension(b));
        let d = [a[0] - b[0], a[1] - b[1]];
        let rise = (p.n[0] - q.n[0]) * d[0] + (p.n[1] - q.n[1]) * d[1];
        least = least.min(rise / (d[0] * d[0] + d[1] * d[1]));
    }
    least
}

/// `(N(a) - N(b))·(a - b) > 0`: the energy is convex, whatever the share left in compression, up to
/// locking and beyond it.
#[test]
fn tension_is_monotone() {
    for squeeze in [1.0, 0.3, 0.1, 0.01] {
        for locking in [Membrane::FREE, LOCKING] {
            let least = least_slope(&Law::new(&Membrane { locking, ..membrane(squeeze) }));
            println!(
                "squeeze {squeeze}, locking {locking:?}: least slope {least:.3} N/m (reference: positive, about {:.3})",
                squeeze * 50.0
            );
            assert!(least > 0.0);
        }
    }
}

/// Pulled along one direction alone, the loops are Warner's spring N = E e/(1 - (e/L)²) (Ind. Eng. Chem.
/// Fundam. 11 (1972) 379) up to 95 % of the locking strain, and its tangent there beyond; contraction
/// goes on as in the linear law, and squeeze knows no locking.
#[test]
fn pull_stiffens_as_a_finitely_extensible_spring() {
    let spring = |e: f64, modulus: f64, locking: f64| modulus * e / (1.0 - (e / locking).powi(2));
    let law = Law::new(&Membrane { locking: LOCKING, ..membrane(0.3) });
    let free = Law::new(&membrane(0.3));
    for (axis, modulus, poisson) in [(0, 100.0, 0.4), (1, 50.0, 0.2)] {
        let locking = LOCKING[axis];
        for share in [0.001, 0.1, 0.5, 0.9, 0.95] {
            let (pull, contraction) = uniaxial(&law, axis, share * locking);
            let reference = spring(share * locking, modulus, locking) / (share * locking);
            println!(
                "axis {axis}, {share} of locking: {:.6} N/m (reference {:.6}), ratio {contraction:.6} ({poisson})",
                pull * share * locking,
                reference * share * locking
            );
            assert!((pull / reference - 1.0).abs() < 1e-9);
            assert!((contraction - poisson).abs() < 1e-9);
        }
        // The tangent at q = 0.95² has slope E (1 + q)/(1 - q)².
        let (edge, q) = (0.95 * locking, 0.95f64.powi(2));
        let far = 1.3 * locking;
        let reference =
            spring(edge, modulus, locking) + modulus * (1.0 + q) / (1.0 - q).powi(2) * (far - edge);
        let pull = uniaxial(&law, axis, far).0 * far;
        println!("axis {axis}, 1.3 of locking: {pull:.4} N/m (reference {reference:.4})");
        assert!((pull / reference - 1.0).abs() < 1e-9);
    }
    assert_eq!(law.tension([-0.1, -0.3]), free.tension([-0.1, -0.3]));
}

/// Tensions are the energy's slope and stiffness theirs, from squeeze to locking and beyond it. Points within
/// a step of a change of sign, where the stiffness jumps, are left out of the second.
#[test]
fn tension_and_stiffness_are_slopes() {
    let law = Law::new(&Membrane { locking: LOCKING, ..membrane(0.1) });
    let mut dice = Dice::new(5);
    let (mut first, mut second, mut checked) = (0.0f64, 0.0f64, 0);
    for _ in 0..20_000 {
        let e = [0.5 * dice.roll(), 0.5 * dice.roll()];
        let at = law.tension(e);
        for axis in 0..2 {
            let size = at.c[2 * axis];
            let sides = |step: f64| {
                [step, -step].map(|s| {
                    let mut e = e;
                    e[axis] += s;
                    law.tension(e)
                })
            };
            let [up, down] = sides(1e-6);
            first = first.max(((up.energy - down.energy) / 2e-6 - at.n[axis]).abs() / size);
            let [up, down] = sides(1e-7);
            if up.c[1] != down.c[1] || up.c[1] != at.c[1] {
                continue;
            }
            checked += 1;
            for (k, own) in [at.c[axis], at.c[axis + 1]].into_iter().enumerate() {
                second = second.max(((up.n[k] - down.n[k]) / 2e-7 - own).abs() / size);
            }
        }
    }
    println!(
        "slope of the energy off by {first:.1e} of the stiffness, of the tension by {second:.1e} (reference 0), {checked} points"
    );
    assert!(first < 1e-7 && second < 1e-5 && checked > 39_000);
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
