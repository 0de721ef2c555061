//! Yarn weights and counts: the Craft Yarn Council's Standard Yarn Weight System, tex of ISO 1144.

use slantwise::material::{Material, MaterialInput, Worked, YarnClass, YarnInput};
use slantwise::stitches::{Craft, Post, StitchKind};
use slantwise::units::Length;

/// Stitches per 4 in by the printed table: stockinette, single crochet.
const TABLE: [(&str, [f64; 2], [f64; 2]); 7] = [
    ("lace", [33.0, 40.0], [32.0, 42.0]),
    ("super fine", [27.0, 32.0], [21.0, 32.0]),
    ("fine", [23.0, 26.0], [16.0, 20.0]),
    ("light", [21.0, 24.0], [12.0, 17.0]),
    ("medium", [16.0, 20.0], [11.0, 14.0]),
    ("bulky", [12.0, 15.0], [8.0, 11.0]),
    ("super bulky", [6.0, 11.0], [5.0, 9.0]),
];

#[test]
fn a_piece_without_a_gauge_lies_in_its_row_of_the_table() {
    let knit = Worked::plain(StitchKind::Knit { purl: false, twisted: false });
    let crochet = Worked::plain(StitchKind::Plain(Post::Single));
    for (name, stockinette, single) in TABLE {
        let class = YarnClass::from_name(name);
        for (craft, stitch, [least, most]) in
            [(Craft::Knit, knit, stockinette), (Craft::Crochet, crochet, single)]
        {
            let yarn = YarnInput { class, tex: None };
            let material =
                Material::resolve(&MaterialInput { yarn, ..MaterialInput::of(craft) }).unwrap();
            let count = Length::inches(4.0) / material.width_of(stitch);
            println!("{name}, {craft:?}: {count:.1} per 4 in, published {least} to {most}");
            assert!((least..=most).contains(&count));
        }
    }
}

/// tex = 1e5 / (m per 100 g), within .01 %.
#[test]
fn a_label_gives_its_count() {
    for (grams, metres, tex) in
        [(100.0, 400.0, 250.0), (50.0, 112.0, 446.428_57), (25.0, 175.0, 142.857_14)]
    {
        let found = YarnInput::from_ball(grams, Length::m(metres)).tex.unwrap();
        assert!((found / tex - 1.0_f64).abs() < 1e-4, "{found} {tex}");
    }
}
