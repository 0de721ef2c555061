//! Shear of fabric on the bias: pulled between clamps, and hung by its edge.

use crate::build::{linear, sheet, solve};
use slantwise::mechanics::{Body, Membrane, Quad, Strand, signed_area};

/// Net of all but inextensible bars at 45 degrees to a strip `2 m` half diagonals wide and three times
/// as long, clamped at both ends and drawn out by a share `draw` of its length; returns the shear
/// (rad) of the cells along its axis between the triangles that the clamps keep as they are.
fn drawn(m: i32, draw: f64) -> Vec<f64> {
    let half = 0.004;
    let long = 6 * m;
    let mut number = std::collections::BTreeMap::new();
    let mut x = Vec::new();
    for (i, j) in (0..=long).flat_map(|i| (-m..=m).map(move |j| (i, j))) {
        if (i + j) % 2 == 0 {
            number.insert((i, j), x.len() as u32);
            x.push([(1.0 + draw) * half * f64::from(i), half * f64::from(j)]);
        }
    }
    let side = half * 2f64.sqrt();
    let rest = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]];
    let membranes = vec![linear(1e5, 1e5, 0.0, 1e-2)];
    let mut body = Body { nodes: x.len(), membranes, ..Body::default() };
    let mut axis = Vec::new();
    for (i, j) in (0..=long).flat_map(|i| (-m..=m).map(move |j| (i, j))) {
        let corners = [(i, j - 1), (i + 1, j), (i, j + 1), (i - 1, j)];
        if let [Some(a), Some(b), Some(c), Some(d)] = corners.map(|c| number.get(&c).copied()) {
            let nodes = [a, b, c, d];
            body.quads.push(Quad { nodes, rest, membrane: 0 });
            if j == 0 && i > m && i < long - m {
                axis.push(nodes);
            }
        }
    }
    // Bars that no whole cell has at its side, in the corners of the clamps.
    for ((i, j), a) in &number {
        let next = [1, -1].map(|up| number.get(&(i + 1, j + up)));
        body.strands.extend(next.into_iter().flatten().map(|b| Strand {
            nodes: [*a, *b],
            rest: side,
            stiffness: 100.0,
        }));
    }
    let clamped = number.iter().filter(|((i, _), _)| *i == 0 || *i == long);
    let pins: Vec<usize> =
        clamped.flat_map(|(_, n)| [2 * *n as usize, 2 * *n as usize + 1]).collect();
    solve(&body, &mut x, &pins);
    let shear = |nodes: &[u32; 4]| {
        let [a, b, _, d] = nodes.map(|n| x[n as usize]);
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [d[0] - a[0], d[1] - a[1]]);
        let cosine = (u[0] * v[0] + u[1] * v[1]) / (u[0].hypot(u[1]) * v[0].hypot(v[1]));
        (cosine.acos() - std::f64::consts::FRAC_PI_2).abs()
    };
    axis.iter().map(shear).collect()
}

/// Bias extension, length three times the width: shear 90 - 2 acos((D + d)/(sqrt 2 D)) degrees with
/// D = L - W (kinematics of Procedia Struct. Integrity 24 (2019) 11, after Lebrun 2003 and Launay 2008
/// from memory): d/L .0556, .1056, .1498 at 10, 20, 30 degrees. The formula takes the shear to be even
/// between the clamps' triangles; where hinges resist in proportion to their turn it is not, so the
/// mean along the axis is held to it and the middle printed beside.
#[test]
fn bias_extension_shears_between_the_clamps() {
    for (draw, want) in [(0.0556, 10.0), (0.1056, 20.0), (0.1498, 30.0f64)] {
        let shear = drawn(8, draw);
        let mean = shear.iter().sum::<f64>() / shear.len() as f64;
        // The draw that plain geometry asks for the shear that was found.
        let half = std::f64::consts::FRAC_PI_4 - 0.5 * mean;
        let asked = 2.0 / 3.0 * (2f64.sqrt() * half.cos() - 1.0);
        println!(
            "drawn by {draw} L: shear {:.3} degrees (reference {want}), which asks for {asked:.4} L; in the middle {:.3} degrees",
            mean.to_degrees(),
            shear[shear.len() / 2].to_degrees()
        );
        assert!((asked / draw - 1.0).abs() < 0.03);
    }
}

/// Shear half way down a strip hung by a level edge, rows `degrees` to level: how far upright and level
/// lines turn against each other, rad.
fn hung_shear(law: Membrane, degrees: f64, long: f64, mass: f64) -> f64 {
    let (nx, ny, wide) = (8, 100, 0.04);
    let (mut body, mut x) = sheet(nx, ny, wide, long, f64::to_radians(degrees), law);
    body.loads = vec![[0.0; 3]; body.nodes];
    for q in &body.quads {
        for n in q.nodes {
            body.loads[n as usize][1] -= 0.25 * mass * 9.80665 * signed_area(&q.rest);
        }
    }
    let top = ny * (nx + 1);
    let mut pins: Vec<usize> = (top..=top + nx).map(|n| 2 * n + 1).collect();
    pins.push(2 * (top + nx / 2));
    solve(&body, &mut x, &pins);
    let at = |i: usize, j: usize| x[j * (nx + 1) + i];
    let (below, above) = (at(nx / 2, ny / 2 - 1), at(nx / 2, ny / 2 + 1));
    let (left, right) = (at(nx / 2 - 1, ny / 2), at(nx / 2 + 1, ny / 2));
    ((above[0] - below[0]) / (above[1] - below[1])).atan()
        + ((right[1] - left[1]) / (right[0] - left[0])).atan()
}

/// A strip on the bias hung by its edge shears, its mirror image by the opposite, a square one not at
/// all: half way down by the shear per pull of the orthotropic sheet at that angle times m g L/2
/// (Jones, Mechanics of Composite Materials, from memory); rows lie 90 degrees less theirs off the pull.
#[test]
fn a_hung_bias_strip_shears_and_its_mirror_image_the_other_way() {
    let law = linear(100.0, 50.0, 0.4, 20.0);
    let (long, mass) = (0.6, 0.002);
    for degrees in [15.0, 30.0, 45.0, 60.0f64] {
        let (s, c) = (degrees - 90.0).to_radians().sin_cos();
        let coupling = (2.0 / law.e1 + 2.0 * law.nu12 / law.e1 - 1.0 / law.g) * s * c.powi(3)
            - (2.0 / law.e2 + 2.0 * law.nu12 / law.e1 - 1.0 / law.g) * s.powi(3) * c;
        let want = -coupling * mass * 9.80665 * long / 2.0;
        let [one, other] = [degrees, -degrees].map(|d| hung_shear(law, d, long, mass));
        println!(
            "rows at {degrees} degrees: shear {:.5} degrees, mirrored {:.5} (reference {:.5})",
            one.to_degrees(),
            other.to_degrees(),
            want.to_degrees()
        );
        assert!((one + other).abs() < 1e-9);
        assert!((one / want - 1.0).abs() < 0.02);
    }
    let [square, across] = [0.0, 90.0].map(|d| hung_shear(law, d, long, mass));
    println!("square to the edge {square:.1e} rad, along it {across:.1e} rad (reference 0)");
    assert!(square.abs() < 1e-9 && across.abs() < 1e-9);
}
