//! Heavy elastica: B t'' = -m g (L - s) cos t (Bickley, Phil. Mag. 17 (1934) 603; Wang, Int. J. Mech.
//! Sci. 28 (1986) 549), tip-loaded elastica (Bisshopp, Drucker, Q. Appl. Math. 3 (1945) 272) and
//! Peirce's loops (J. Text. Inst. 21 (1930) T377); reference values recomputed by collocation.

use crate::build::{linear, solve};
use slantwise::mechanics::{Bend, Body, Polygon, Quad, Strand};

/// A rod of unit length and unit rigidity in the plane, clamped level at the origin, with `n` nodes
/// beyond the clamp. The clamp lies halfway between two held nodes, so the length is `n - 1/2` links.
fn rod(n: usize, weight: f64, tip: f64) -> (Body, Vec<[f64; 2]>) {
    let h = 1.0 / (n as f64 - 0.5);
    let mut body = Body { nodes: n + 1, ..Body::default() };
    let links = n as u32;
    body.strands =
        (0..links).map(|i| Strand { nodes: [i, i + 1], rest: h, stiffness: 1e6 }).collect();
    body.bends = (1..links).map(|i| Bend::line([i - 1, i, i + 1], [h, h], 1.0, 1.0)).collect();
    body.loads = vec![[0.0, -weight * h, 0.0]; n + 1];
    body.loads[n][1] = -0.5 * weight * h - tip;
    let x = (0..=n).map(|i| [(i as f64 - 0.5) * h, 0.0]).collect();
    (body, x)
}

/// Tip position over length, and angle of the chord below level (degrees).
fn cantilever(n: usize, weight: f64, tip: f64) -> [f64; 3] {
    let (body, mut x) = rod(n, weight, tip);
    solve(&body, &mut x, &[0, 1, 2, 3]);
    let [a, b] = [x[n][0], -x[n][1]];
    [a, b, b.atan2(a).to_degrees()]
}

#[test]
fn heavy_cantilever() {
    let table = [
        (0.5, 0.99778, 0.06231, 3.573),
        (1.0, 0.99125, 0.12347, 7.100),
        (8.0, 0.72443, 0.64063, 41.487),
        (50.0, 0.24502, 0.90792, 74.898),
        (200.0, 0.10742, 0.95677, 83.594),
    ];
    for (k, x, y, chord) in table {
        let found = cantilever(160, k, 0.0);
        println!(
            "heavy cantilever K {k}: x {:.5} (reference {x}), y {:.5} ({y}), chord {:.3} ({chord})",
            found[0], found[1], found[2]
        );
        assert!((found[0] / x - 1.0).abs() < 0.01 && (found[1] / y - 1.0).abs() < 0.01);
        assert!((found[2] - chord).abs() < 0.5);
    }
}

/// Chord angle 41.5 degrees at K = 8.0042: the instrument's bending length of half the overhang.
#[test]
fn bending_length_instrument() {
    let chord = |k: f64| cantilever(160, k, 0.0)[2];
    let (mut low, mut high) = (7.0, 9.0);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if chord(mid) < 41.5 { low = mid } else { high = mid }
    }
    println!("chord at 41.5 degrees: K {low:.4} (reference 8.0042)");
    assert!((low / 8.0042 - 1.0).abs() < 0.01);
}

#[test]
fn tip_loaded_cantilever() {
    for (load, x, y) in [(1.0, 0.94357, 0.30172), (5.0, 0.61237, 0.71379), (10.0, 0.44500, 0.81061)]
    {
        let found = cantilever(160, 0.0, load);
        println!("tip load {load}: x {:.5} (reference {x}), y {:.5} ({y})", found[0], found[1]);
        assert!((found[0] / x - 1.0).abs() < 0.01 && (found[1] / y - 1.0).abs() < 0.01);
    }
}

#[test]
fn cantilever_error_is_of_second_order() {
    let error = |n: usize| (cantilever(n, 8.0, 0.0)[1] - 0.64063).abs();
    let at: Vec<f64> = [10, 20, 40].map(|n| cantilever(n, 8.0, 0.0)[1]).to_vec();
    let order = ((at[1] - at[0]) / (at[2] - at[1])).abs().log2();
    println!("tip drop {at:.6?}, last error {:.1e}: order {order:.3} (reference 2)", error(40));
    assert!((order - 2.0).abs() < 0.25);
}

/// Height from clamp to bottom, and width, over length of a loop whose ends are clamped together, both
/// pointing `clamp` degrees to level; its halves turn by `turn` degrees each. Weight `k` in units of
/// B/L³.
fn hanging_loop(clamp: f64, turn: f64, k: f64) -> [f64; 2] {
    let n = 240;
    let h = 1.0 / (n as f64 - 1.0);
    // Angles of the right half fall by `turn`; `a` closes the half at the middle.
    let angle = |s: f64, a: f64| {
        let u = 2.0 * s;
        (clamp - turn * (u + a * (std::f64::consts::PI * u).sin())).to_radians()
    };
    let ends = |a: f64| {
        (0..1000).map(|i| angle(0.5 * (f64::from(i) + 0.5) / 1000.0, a).cos()).sum::<f64>()
    };
    let (mut low, mut high) = if turn > 180.0 { (-0.6, 0.3) } else { (-1.2, -0.3) };
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if ends(mid).signum() == ends(low).signum() { low = mid } else { high = mid }
    }
    let up = f64::to_radians(clamp).sin();
    let mut x = vec![[0.0, -0.5 * h * up]];
    for i in 0..n {
        let s = i as f64 * h;
        // The left half is the right one in the mirror, walked back.
        let t = if s <= 0.5 { angle(s, low) } else { -angle(1.0 - s, low) };
        let p: [f64; 2] = x[i];
        x.push([p[0] + h * t.cos(), p[1] + h * t.sin()]);
    }
    let mut body = Body { nodes: n + 1, ..Body::default() };
    let links = n as u32;
    body.strands =
        (0..links).map(|i| Strand { nodes: [i, i + 1], rest: h, stiffness: 1e6 }).collect();
    body.bends = (1..links).map(|i| Bend::line([i - 1, i, i + 1], [h, h], 1.0, 1.0)).collect();
    body.loads = vec![[0.0, -k * h, 0.0]; n + 1];
    for (node, side) in [(0, -0.5), (1, 0.5), (n - 1, 0.5), (n, -0.5)] {
        x[node] = [0.0, side * h * up];
    }
    solve(&body, &mut x, &[0, 1, 2, 3, 2 * n - 2, 2 * n - 1, 2 * n, 2 * n + 1]);
    let far = |d: usize, s: f64| x.iter().fold(0.0f64, |m, p| m.max(s * p[d]));
    [far(1, -1.0), far(0, 1.0) + far(0, -1.0)]
}

fn heart(k: f64) -> f64 {
    hanging_loop(90.0, 270.0, k)[0]
}

/// Peirce's loops without weight: ring, pear and heart.
#[test]
fn light_loops() {
    let n = 200;
    let h = 1.0 / f64::from(n);
    let mut body = Body { nodes: n as usize, ..Body::default() };
    let at = |i: u32| i % n;
    body.strands =
        (0..n).map(|i| Strand { nodes: [i, at(i + 1)], rest: h, stiffness: 1e6 }).collect();
    body.bends = (0..n).map(|i| Bend::line([i, at(i + 1), at(i + 2)], [h, h], 1.0, 1.0)).collect();
    let mut x: Vec<[f64; 2]> = (0..n)
        .map(|i| (std::f64::consts::TAU * h * f64::from(i)).sin_cos())
        .map(|(s, c)| [0.19 * c, 0.125 * s])
        .collect();
    solve(&body, &mut x, &[]);
    let far = |d: usize| {
        x.iter().map(|p| p[d]).fold(f64::NEG_INFINITY, f64::max)
            - x.iter().map(|p| p[d]).fold(f64::INFINITY, f64::min)
    };
    let [pear, wide] = hanging_loop(-90.0, 90.0, 0.0);
    let [heart, broad] = hanging_loop(90.0, 270.0, 0.0);
    for (what, found, want) in [
        ("ring, height", far(1), std::f64::consts::FRAC_1_PI),
        ("ring, width", far(0), std::f64::consts::FRAC_1_PI),
        ("pear, height", pear, 0.42431),
        ("pear, width", wide, 0.2042),
        ("heart, height", heart, 0.13386),
        ("heart, width", broad, 0.3260),
    ] {
        println!("{what}: {found:.5} L (reference {want})");
        assert!((found / want - 1.0).abs() < 0.01);
    }
}

#[test]
fn heart_loop() {
    for (k, want) in
        [(0.0, 0.13386), (25.0, 0.14776), (100.0, 0.18404), (400.0, 0.27544), (1600.0, 0.37850)]
    {
        let found = heart(k);
        println!("heart loop K {k}: {found:.5} L (reference {want})");
        assert!((found / want - 1.0).abs() < 0.01);
    }
}

/// A node's place in the lattice, and its number.
type Lattice = std::collections::BTreeMap<(i32, i32), u32>;

/// Square cells `h` wide, rows at `degrees` to x, cut to a strip from -3h to 1 along x.
fn lattice(h: f64, wide: f64, degrees: f64) -> (Lattice, Vec<[f64; 3]>) {
    let (s, c) = f64::to_radians(degrees).sin_cos();
    let reach = (1.2 / h) as i32;
    let (mut number, mut x) = (Lattice::new(), Vec::new());
    for (j, i) in (-reach..=reach).flat_map(|j| (-reach..=reach).map(move |i| (j, i))) {
        let [a, b] = [f64::from(i) + 0.5, f64::from(j)];
        let p = [h * (c * a - s * b), h * (s * a + c * b)];
        if p[0] > -3.0 * h && p[0] < 1.0 && p[1].abs() <= 0.5 * wide {
            number.insert((i, j), x.len() as u32);
            x.push([p[0], p[1], 0.0]);
        }
    }
    (number, x)
}

/// Membrane, bending of unit rigidity and weight `k` per area on a cut lattice; cells that lost a
/// corner to the cut become triangles.
fn cut_sheet(number: &Lattice, nodes: usize, h: f64, k: f64) -> Body {
    let mut body = Body { nodes, membranes: vec![linear(1e5, 1e5, 0.0, 5e4)], ..Body::default() };
    body.loads = vec![[0.0; 3]; nodes];
    let at = |i: i32, j: i32| number.get(&(i, j)).copied();
    let rest = [[0.0, 0.0], [h, 0.0], [h, h], [0.0, h]];
    let low = number.keys().fold((0, 0), |m, k| (m.0.min(k.0), m.1.min(k.1)));
    let high = number.keys().fold((0, 0), |m, k| (m.0.max(k.0), m.1.max(k.1)));
    for (i, j) in (low.0 - 1..=high.0).flat_map(|i| (low.1 - 1..=high.1).map(move |j| (i, j))) {
        let corners = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
        let there: Vec<(u32, [f64; 2])> =
            corners.iter().zip(rest).filter_map(|(n, r)| n.map(|n| (n, r))).collect();
        let nodes: Vec<u32> = there.iter().map(|t| t.0).collect();
        let area = match nodes.len() {
            4 => h * h,
            3 => 0.5 * h * h,
            _ => 0.0,
        };
        nodes.iter().for_each(|n| body.loads[*n as usize][2] -= k * area / nodes.len() as f64);
        if let Ok(nodes) = <[u32; 4]>::try_from(&nodes[..]) {
            body.quads.push(Quad { nodes, rest, membrane: 0 });
            body.bends.push(Bend::twist(nodes, &rest, 1.0));
        } else if nodes.len() == 3 {
            let rest = there.iter().map(|t| t.1).collect();
            body.polygons.push(Polygon { nodes, rest, membrane: 0 });
        }
        for [u, v] in [[1, 0], [0, 1]] {
            if let (Some(p), Some(o), Some(q)) = (at(i - u, j - v), at(i, j), at(i + u, j + v)) {
                let beside =
                    [1, -1].iter().filter(|f| at(i + *f * v, j + *f * u).is_some()).count();
                body.bends.push(Bend::line([p, o, q], [h, h], 0.5 * h * beside as f64, 1.0));
            }
        }
    }
    body
}

/// Drop at 0.95 of the length of a unit cantilever whose rows lie `degrees` to it.
fn drop_of_cut(degrees: f64, k: f64) -> f64 {
    let h = 1.0 / 72.0;
    let (number, mut x) = lattice(h, 0.4, degrees);
    let start = x.clone();
    let body = cut_sheet(&number, x.len(), h, k);
    let step = h * if degrees == 45.0 { 0.5f64.sqrt() } else { 1.0 };
    let held = (0..x.len()).filter(|n| x[*n][0] <= 0.6 * step);
    let pins: Vec<usize> = held.flat_map(|n| [3 * n, 3 * n + 1, 3 * n + 2]).collect();
    solve(&body, &mut x, &pins);
    let near =
        (0..x.len()).filter(|n| (start[*n][0] - 0.95).abs() < 0.03 && start[*n][1].abs() < 0.1);
    let (mut m, mut b) = (nalgebra::Matrix2::zeros(), nalgebra::Vector2::zeros());
    for n in near {
        let row = nalgebra::Vector2::new(1.0, start[n][0] - 0.95);
        m += row * row.transpose();
        b -= row * x[n][2];
    }
    (m.try_inverse().expect("nodes near the end") * b)[0]
}

/// With equal rigidities along rows and columns the twist makes bending the same in every direction;
/// without it a strip on the bias has half the rigidity.
#[test]
fn bending_is_the_same_in_every_direction() {
    let (body, mut x) = rod(160, 8.0, 0.0);
    solve(&body, &mut x, &[0, 1, 2, 3]);
    let want = -(x[152][1] + (0.95 * 159.5 - 151.5) * (x[153][1] - x[152][1]));
    for degrees in [0.0, 30.0, 45.0] {
        let found = drop_of_cut(degrees, 8.0);
        println!(
            "cantilever cut at {degrees} degrees, K 8: drop at 0.95 L {found:.4} (reference {want:.4})"
        );
        assert!((found / want - 1.0).abs() < 0.02);
    }
}

/// A strip of unit length and rigidity pinned at both ends, which come together by `short`: thrust
/// over pi² B/L² and rise (pinned elastica, elliptic integrals; end angle 60 degrees: 1.1517, .29660).
pub(crate) fn buckled(short: f64) -> [f64; 2] {
    let n = 200;
    let h = 1.0 / n as f64;
    let mut body = Body { nodes: n + 1, ..Body::default() };
    let links = n as u32;
    body.strands =
        (0..links).map(|i| Strand { nodes: [i, i + 1], rest: h, stiffness: 1e6 }).collect();
    body.bends = (1..links).map(|i| Bend::line([i - 1, i, i + 1], [h, h], 1.0, 1.0)).collect();
    let mut x: Vec<[f64; 2]> = (0..=n)
        .map(|i| i as f64 * h)
        .map(|s| [(1.0 - short) * s, short.sqrt() * 0.6 * (std::f64::consts::PI * s).sin()])
        .collect();
    solve(&body, &mut x, &[0, 1, 2 * n, 2 * n + 1]);
    let mut solver = slantwise::mechanics::Solver::<2>::new(&body).expect("a sound body");
    let thrust = solver.net_forces(&x)[0][0];
    [thrust / std::f64::consts::PI.powi(2), x[n / 2][1]]
}

#[test]
fn buckled_strip() {
    for (short, thrust, rise) in
        [(0.03027, 1.0154, 0.10971), (0.25898, 1.1517, 0.29660), (0.54305, 1.3932, 0.38138)]
    {
        let found = buckled(short);
        println!(
            "shortened {short}: thrust {:.4} (reference {thrust}), rise {:.5} ({rise})",
            found[0], found[1]
        );
        assert!((found[0] / thrust - 1.0).abs() < 0.02 && (found[1] / rise - 1.0).abs() < 0.02);
    }
}

/// An upright strip clamped at its foot falls over above m g L³/B = 7.8373 (Greenhill, Proc. Camb.
/// Phil. Soc. 4 (1881) 65): the least eigenvalue of the Hessian changes sign there.
#[test]
fn upright_strip_falls_over() {
    let least = |k: f64| {
        let (body, x) = rod(80, k, 0.0);
        let mut body = body;
        body.loads.iter_mut().for_each(|f| *f = [f[1], 0.0, 0.0]);
        let mut y = x.clone();
        y.iter_mut().for_each(|p| p[1] = 0.0);
        let held = [0, 1, 2, 3];
        // Straight and compressed by its weight: free along its length only.
        let mut pins: Vec<usize> = (0..y.len()).map(|i| 2 * i + 1).collect();
        pins.extend([0, 2]);
        solve(&body, &mut y, &pins);
        let n = 2 * y.len();
        let dense =
            slantwise::mechanics::Solver::<2>::new(&body).expect("a sound body").hessian(&y);
        let free: Vec<usize> = (0..n).filter(|u| !held.contains(u)).collect();
        let part =
            nalgebra::DMatrix::from_fn(free.len(), free.len(), |i, j| dense[n * free[i] + free[j]]);
        part.symmetric_eigenvalues().min()
    };
    let (mut low, mut high) = (6.0, 10.0);
    for _ in 0..20 {
        let mid = 0.5 * (low + high);
        if least(mid) > 0.0 { low = mid } else { high = mid }
    }
    println!("upright strip falls over at K {low:.4} (reference 7.8373)");
    assert!((low / 7.8373 - 1.0).abs() < 0.03);
}

#[test]
fn open_cells_store_the_twist_of_a_saddle() {
    let (b, twist) = (2e-5, 3.0);
    let square = [[0.0, 0.0], [0.02, 0.0], [0.02, 0.01], [0.0, 0.01]];
    let notched =
        [[0.0, 0.0], [0.01, 0.0], [0.02, 0.0], [0.024, 0.012], [0.01, 0.013], [0.0, 0.01]];
    for (rest, known) in [(&square[..], true), (&notched[..], false)] {
        let nodes: Vec<u32> = (0..rest.len() as u32).collect();
        let bend = Bend::open_twist(&nodes, rest, rest, b).expect("more than three corners twist");
        let body = Body { nodes: rest.len(), bends: vec![bend], ..Body::default() };
        let at = |f: fn(f64, f64, f64) -> f64| -> Vec<[f64; 3]> {
            rest.iter().map(|p| [p[0], p[1], f(p[0], p[1], 3.0)]).collect()
        };
        let area = slantwise::mechanics::signed_area(rest);
        let saddle = body.energy(&at(|x, y, t| t * x * y));
        let level = body.energy(&at(|x, y, t| 0.4 * x - t * y + 0.1));
        let want = b * twist * twist * area;
        println!(
            "{} corners: {saddle:.6e} J (reference {want:.6e}), tilted {level:.1e}",
            rest.len()
        );
        assert!((saddle / want - 1.0).abs() < 1e-9 && level < 1e-12 * want);
        if known {
            let quad = Bend::twist([0, 1, 2, 3], &square, b);
            let same = Body { nodes: 4, bends: vec![quad], ..Body::default() };
            let other = same.energy(&at(|x, y, t| t * x * y));
            assert!(
                (saddle / other - 1.0).abs() < 1e-9,
                "{saddle} against the plain cell's {other}"
            );
        }
    }
}
