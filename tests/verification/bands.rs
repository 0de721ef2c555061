//! Tight edges held flat: curvature against beam theory. Run with the verification settings: squeeze
//! linear (its share 1), no locking.

use slantwise::fabric::{EdgeLaw, Fabric, Sizes};
use slantwise::state::{Settings, lay};
use slantwise::stitches::Piece;
use std::ops::ControlFlow;

use crate::common::{even_sizes, rectangle};

const WIDTH: f64 = 0.005;
const HEIGHT: f64 = 0.005;

fn linear(piece: &Piece) -> Sizes {
    let mut sizes = even_sizes(piece, WIDTH, HEIGHT);
    let free = EdgeLaw { tightness: 1.0, stiffness: 1e-6 };
    (sizes.selvage, sizes.foundation) = (free, free);
    for m in &mut sizes.membranes {
        *m = slantwise::mechanics::Membrane {
            e1: 100.0,
            e2: 100.0,
            nu12: 0.2,
            g: 20.0,
            squeeze: 1.0,
            locking: slantwise::mechanics::Membrane::FREE,
        };
    }
    sizes
}

/// Curvature (1/m) of the middle third of the piece's middle row, positive where the foundation is the
/// hollow side.
fn curvature(piece: &Piece, sizes: &Sizes) -> f64 {
    let fabric = Fabric::new(piece, sizes);
    let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(())).unwrap();
    let path = &fabric.row_paths[piece.rows.len() / 2];
    let third = path.len() / 3;
    let at = |i: usize| laid.shape.positions[path[i] as usize];
    let (a, b, c) = (at(third), at(path.len() / 2), at(path.len() - 1 - third));
    // Circle through three points.
    let side = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]);
    let cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    2.0 * cross / (side(a, b) * side(b, c) * side(a, c))
}

/// A band of narrower stitches along a body of the same stitch: Timoshenko's bimetal strip
/// (J. Opt. Soc. Am. 11 (1925) 233, from memory) held flat,
/// kappa = 6 eps (1+p)^2 / (H (3 (1+p)^2 + (1+pn)(p^2 + 1/(pn)))), p = a1/a2, n = E1/E2: within 3 %.
#[test]
fn a_narrow_band_bends_the_piece_as_a_bimetal_strip() {
    let eps = 0.01;
    for (band, body, n) in [(10, 10, 1.0), (3, 17, 1.0), (4, 16, 2.0)] {
        let piece = rectangle(240, band + body);
        let mut sizes = linear(&piece);
        let stiffer = slantwise::mechanics::Membrane { e1: 100.0 * n, ..sizes.membranes[0] };
        sizes.membranes.push(stiffer);
        for (i, stitch) in piece.stitches.iter().enumerate() {
            if stitch.row.0 <= band {
                sizes.stitches[i].width = WIDTH / (1.0 + eps);
                sizes.membrane_of[i] = 1;
            }
        }
        let p = f64::from(band) / f64::from(body);
        let depth = f64::from(band + body) * HEIGHT;
        let square = (1.0 + p).powi(2);
        let reference =
            6.0 * eps * square / (depth * (3.0 * square + (1.0 + p * n) * (p * p + 1.0 / (p * n))));
        let kappa = curvature(&piece, &sizes);
        println!(
            "band {band} of {}, n {n}: {kappa:.4} /m, Timoshenko {reference:.4} /m",
            band + body
        );
        assert!((kappa / reference - 1.0).abs() < 0.03);
    }
}

/// A foundation strand of stiffness K (N) and no width, eps too short, on a body of depth a and
/// modulus E: with s = K/(E a), kappa = 6 s eps / (a (1 + 4 s)) (beam theory, derived: the strand pulls
/// with N at a/2 from the middle, N = K (eps - strain of the edge), and the edge's strain is
/// N/(E a) + (N a/2)(a/2)/(E a^3/12) = 4 N/(E a)).
#[test]
fn a_tight_foundation_bends_the_piece_as_a_strand() {
    let (eps, rows) = (0.01, 20);
    let piece = rectangle(240, rows);
    let depth = f64::from(rows) * HEIGHT;
    for stiffness in [0.2, 1.0, 5.0] {
        let mut sizes = linear(&piece);
        sizes.foundation = EdgeLaw { tightness: 1.0 - eps, stiffness };
        let s = stiffness / (100.0 * depth);
        let reference = 6.0 * s * eps / (depth * (1.0 + 4.0 * s));
        let kappa = curvature(&piece, &sizes);
        println!("strand of {stiffness} N: {kappa:.5} /m, beam theory {reference:.5} /m");
        assert!((kappa / reference - 1.0).abs() < 0.03);
    }
}
