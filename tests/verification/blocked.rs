//! Blocking: what dries in, and what the next wash takes back.

use slantwise::fabric::Fabric;
use slantwise::measure::measure;
use slantwise::state::{Blocking, Hold, Laid, Settings, Shape, Target, block, lay, soak};
use slantwise::stitches::Piece;
use std::ops::ControlFlow;

use crate::common::{bias, even_sizes, rectangle};

const GO: ControlFlow<()> = ControlFlow::Continue(());

fn washed(piece: &Piece) -> (Fabric, Laid) {
    let fabric = Fabric::new(piece, &even_sizes(piece, 0.005, 0.006));
    let laid = lay(&fabric, &Settings::default(), &mut |_| GO).unwrap();
    (fabric, laid)
}

/// Size along and square to the rows, mm.
fn size(piece: &Piece, fabric: &Fabric, shape: &Shape) -> [f64; 2] {
    let m = measure(piece, fabric, shape, Vec::new()).unwrap();
    [m.along_rows.mean.to_mm(), m.square_to_rows.to_mm()]
}

/// A uniform pinned stretch 1 + e keeps 1 + f e (closed form of the setting law).
#[test]
fn a_uniform_stretch_keeps_its_set_fraction() {
    for piece in [rectangle(30, 24), bias(30, 24, 1)] {
        let (fabric, laid) = washed(&piece);
        let before = size(&piece, &fabric, &laid.shape);
        for set in [0.0, 0.5, 0.8, 1.0] {
            let stretch = [0.08, 0.03];
            let way = Blocking { target: Target::Stretch(stretch), hold: Hold::Wires, set };
            let done = block(&fabric, &laid, &way, &Settings::default(), &mut |_| GO).unwrap();
            let after = size(&piece, &fabric, &done.released);
            for axis in 0..2 {
                let reference = 1.0 + set * stretch[axis];
                let kept = after[axis] / before[axis];
                println!("set {set}: axis {axis} keeps {kept:.6}, law {reference:.6}");
                assert!((kept / reference - 1.0).abs() < 1e-3);
            }
        }
    }
}

/// Stretch that was pinned in is lost on the next wash (wool: steam setting is temporary, the next wash
/// returns it; common statement of shrinkage handbooks), and a second soak changes nothing.
#[test]
fn the_next_wash_returns_the_piece_and_the_second_changes_nothing() {
    let piece = bias(30, 24, 1);
    let (fabric, laid) = washed(&piece);
    let way = Blocking { target: Target::Stretch([0.1, 0.05]), hold: Hold::Pins(0.05), set: 0.8 };
    let done = block(&fabric, &laid, &way, &Settings::default(), &mut |_| GO).unwrap();
    let once = soak(&fabric, &done.released, &Settings::default(), &mut |_| GO).unwrap();
    let twice = soak(&fabric, &once.shape, &Settings::default(), &mut |_| GO).unwrap();
    let sizes = [&laid.shape, &once.shape, &twice.shape].map(|s| size(&piece, &fabric, s));
    println!(
        "washed {:?}, blocked and washed {:?}, washed again {:?}",
        sizes[0], sizes[1], sizes[2]
    );
    let [before, once, twice] = sizes;
    for ((before, once), twice) in before.iter().zip(once).zip(twice) {
        assert!((once / before - 1.0).abs() < 0.002);
        assert!((twice / once - 1.0).abs() < 1e-6);
    }
}
