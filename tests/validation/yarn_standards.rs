//! Yarn weights and counts: the Craft Yarn Council's Standard Yarn Weight System, tex of ISO 1144.

use slantwise::material::{
    Counted, Fibre, GaugeInput, GaugeOver, Material, MaterialError, MaterialInput, PresetOverride,
    Worked, YarnClass, YarnInput, preset,
};
use slantwise::stitches::{Craft, Post, StitchKind};
use slantwise::units::{Length, Mass};

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
            let yarn = YarnInput { class, ..YarnInput::default() };
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

/// 100 g of wool at the commercial regain of 13.6 % (ASTM D1909, as printed in Bioresour. Bioprocess. 2020,
/// s40643-020-00339-1, table 10) hold 88.03 g of dry fibre. Within .01 %.
#[test]
fn dry_wool_in_a_ball() {
    let yarn = YarnInput { fibre: Fibre::from_words("merino"), ..YarnInput::default() };
    let material =
        Material::resolve(&MaterialInput { yarn, ..MaterialInput::of(Craft::Knit) }).unwrap();
    let dry = material.dry_mass(Mass::grams(100.0), None).unwrap().to_grams();
    println!("dry fibre: {dry:.3} g, published 88.03");
    assert!((dry / 88.03 - 1.0).abs() < 1e-4);
}

/// d = 3.568e-3 sqrt(tex / (phi rho)) cm (geometry of a round yarn), and the printed cotton form 3.74e-3
/// sqrt(tex) of Peirce (specific volume 1.1 cm3/g, textilecalculation.blogspot.com, April 2015). Within .2 %.
#[test]
fn a_round_yarns_diameter() {
    for (tex, fibre, packing) in [(500.0, "wool", 0.65), (100.0, "cotton", 1.0 / (1.1 * 1.52))] {
        let material = |width_mm: f64| {
            Material::resolve(&MaterialInput {
                gauges: vec![GaugeInput {
                    over: GaugeOver::Stitch(Worked::plain(StitchKind::Knit {
                        purl: false,
                        twisted: false,
                    })),
                    stitches: Some(Counted { count: 1.0, over: Length::mm(width_mm) }),
                    rows: None,
                }],
                yarn: YarnInput {
                    tex: Some(tex),
                    fibre: Fibre::from_words(fibre),
                    ..YarnInput::default()
                },
                overrides: vec![PresetOverride {
                    key: "yarn.densest_packing".into(),
                    value: packing,
                }],
                ..MaterialInput::of(Craft::Knit)
            })
        };
        let Err(MaterialError::StitchNarrowerThanYarn { diameter, .. }) = material(0.1) else {
            panic!("a stitch of .1 mm is narrower than its yarn")
        };
        let published = match fibre {
            "cotton" => 0.0374 * f64::sqrt(tex),
            _ => 0.035_68 * f64::sqrt(tex / (0.65 * 1.31)),
        };
        println!("{fibre}, {tex} tex: {:.4} mm, published {published:.4}", diameter.to_mm());
        assert!((diameter.to_mm() / published - 1.0).abs() < 0.002);
    }
}

/// Turning chains 1 to 5 links from single to double treble, 6 by the same step (dummies.com,
/// thebestknittersguide.com, crochetforall.com): the presets, and what the reader takes. Exact.
#[test]
fn turning_chains_are_the_published_ones() {
    use slantwise::pattern::Height;
    let heights = [
        ("single", Height::Single),
        ("half_double", Height::HalfDouble),
        ("double", Height::Double),
        ("treble", Height::Treble),
        ("double_treble", Height::DoubleTreble),
        ("triple_treble", Height::TripleTreble),
    ];
    for ((key, height), published) in heights.into_iter().zip(1_u32..) {
        let value = preset(&format!("turning_chain.{key}")).unwrap().value;
        println!("{key}: {value}, published {published}");
        assert_eq!(value, f64::from(published));
        assert_eq!(height.chains(), published);
    }
}
