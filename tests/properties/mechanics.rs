//! Laws every solved sheet obeys, whatever its sizes and stiffness.

use proptest::prelude::*;
use slantwise::mechanics::{Body, Membrane, Quad, Settings, Solver, Strand};
use std::ops::ControlFlow;

/// A 5 x 4 sheet with uneven rest shapes and an edge strand.
#[derive(Debug, Clone)]
struct Piece {
    body: Body,
    start: Vec<[f64; 2]>,
}

fn piece() -> impl Strategy<Value = Piece> {
    let law = (50.0..400.0, 50.0..400.0, 0.0..0.6f64, 10.0..60.0, 0.2..1.0f64, 0.1..1.0);
    (law, prop::collection::vec(0.93..1.07f64, 20), 0.9..1.1f64).prop_map(|(law, sizes, tight)| {
        let (e1, e2, nu, g, squeeze, lock) = law;
        let nu12 = nu * f64::min(1.0, e1 / e2);
        let membranes = vec![Membrane { e1, e2, nu12, g, squeeze, locking: [lock, 0.8 * lock] }];
        let mut body = Body { nodes: 30, membranes, ..Body::default() };
        for (k, s) in sizes.iter().enumerate() {
            let a = (k / 5 * 6 + k % 5) as u32;
            let (w, h) = (0.005 * s, 0.006 / s);
            let rest = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
            body.quads.push(Quad { nodes: [a, a + 1, a + 7, a + 6], rest, membrane: 0 });
        }
        let strand = |i| Strand { nodes: [i, i + 1], rest: 0.005 * tight, stiffness: 2.0 };
        body.strands.extend((0..5).map(strand));
        let start = (0..30).map(|i| [0.005 * f64::from(i % 6), 0.006 * f64::from(i / 6)]).collect();
        Piece { body, start }
    })
}

fn solved(body: &Body, start: &[[f64; 2]]) -> (Vec<[f64; 2]>, f64) {
    let mut x = start.to_vec();
    let settings = Settings { step: 1e-12, ..Settings::default() };
    let mut solver = Solver::<2>::new(body).expect("a sound body");
    let found = solver.minimise(&mut x, &settings, &mut |_| ControlFlow::Continue(()));
    (x, found.expect("settles").energy)
}

/// Largest difference of node distances, m: blind to rigid motions and mirrors.
fn apart(a: &[[f64; 2]], b: &[[f64; 2]]) -> f64 {
    let distance =
        |x: &[[f64; 2]], i: usize, j: usize| (x[i][0] - x[j][0]).hypot(x[i][1] - x[j][1]);
    let pairs = (0..a.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
    pairs.fold(0.0, |m, (i, j)| m.max((distance(a, i, j) - distance(b, i, j)).abs()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn moving_and_turning_the_start_moves_and_turns_the_answer(p in piece(), angle in 0.0..std::f64::consts::TAU, dx in -1.0..1.0f64) {
        let (s, c) = angle.sin_cos();
        let turned: Vec<_> = p.start.iter().map(|q| [c * q[0] - s * q[1] + dx, s * q[0] + c * q[1] - dx]).collect();
        let (a, b) = (solved(&p.body, &p.start), solved(&p.body, &turned));
        prop_assert!(apart(&a.0, &b.0) < 1e-9, "off by {} m", apart(&a.0, &b.0));
        prop_assert!((a.1 - b.1).abs() <= 1e-9 * a.1);
    }

    #[test]
    fn a_mirrored_body_gives_the_mirrored_answer(p in piece()) {
        let mut body = p.body.clone();
        for q in &mut body.quads {
            q.nodes.reverse();
            q.rest.reverse();
            q.rest.iter_mut().for_each(|r| r[0] = -r[0]);
        }
        let mirrored: Vec<_> = p.start.iter().map(|q| [-q[0], q[1]]).collect();
        let (a, b) = (solved(&p.body, &p.start), solved(&body, &mirrored));
        prop_assert!(apart(&a.0, &b.0) < 1e-9, "off by {} m", apart(&a.0, &b.0));
    }

    #[test]
    fn lengths_scale_the_answer_and_stiffness_does_not(p in piece(), k in 0.2..5.0f64, m in 0.1..10.0f64) {
        let mut body = p.body.clone();
        body.quads.iter_mut().for_each(|q| q.rest.as_flattened_mut().iter_mut().for_each(|r| *r *= k));
        body.membranes.iter_mut().for_each(|l| *l = l.scaled(m));
        // A strand's stiffness is a force: it grows with width and modulus.
        body.strands.iter_mut().for_each(|s| { s.rest *= k; s.stiffness *= k * m; });
        let start: Vec<_> = p.start.iter().map(|q| [k * q[0], k * q[1]]).collect();
        let (a, b) = (solved(&p.body, &p.start), solved(&body, &start));
        let back: Vec<_> = b.0.iter().map(|q| [q[0] / k, q[1] / k]).collect();
        prop_assert!(apart(&a.0, &back) < 1e-9, "off by {} m", apart(&a.0, &back));
        prop_assert!((b.1 / (k * k * m) - a.1).abs() <= 1e-8 * a.1);
    }
}
