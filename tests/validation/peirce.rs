//! Peirce's yarn: least diameters and the gauge at which loops jam (Text. Res. J. 17 (1947) 123, from
//! memory; four diameters also by the open loop of the same paper), and bending length (J. Text. Inst. 21
//! (1930) T377, from memory).

use slantwise::calibrate::rigidity_from_overhang;
use slantwise::material::{
    Counted, GaugeInput, GaugeOver, Material, MaterialError, MaterialInput, Worked, YarnInput,
};
use slantwise::stitches::{Craft, StitchKind};
use slantwise::units::{Angle, Length};

fn knit(width_mm: f64, tex: f64) -> Result<Material, MaterialError> {
    let stitch = Worked::plain(StitchKind::Knit { purl: false, twisted: false });
    Material::resolve(&MaterialInput {
        gauges: vec![GaugeInput {
            over: GaugeOver::Stitch(stitch),
            stitches: Some(Counted { count: 1.0, over: Length::mm(width_mm) }),
            rows: None,
        }],
        yarn: YarnInput { class: None, tex: Some(tex) },
        ..MaterialInput::of(Craft::Knit)
    })
}

/// d = 3.568e-3 sqrt(tex / (phi rho)) cm; a stitch narrower than 4 d is refused, one 1 % wider is not.
#[test]
fn loops_jam_at_four_diameters() {
    for tex in [143.0, 500.0, 1400.0] {
        let diameter_mm = 0.035_68 * f64::sqrt(tex / (0.65 * 1.31));
        let refused = knit(3.96 * diameter_mm, tex).unwrap_err();
        println!("{tex} tex: {refused}");
        assert!(matches!(refused, MaterialError::StitchNarrowerThanYarn { .. }));
        assert!(knit(4.04 * diameter_mm, tex).is_ok());
    }
}

/// B = m g C^3: 250 g/m2 and C = 48.24 mm make 275 uN m (GATE TF 2020/51, as read); the overhang at 41.5
/// degrees is 2 C.
#[test]
fn rigidity_from_the_bending_length() {
    let found = rigidity_from_overhang(0.250, Length::mm(2.0 * 48.24), Angle::degrees(41.5)) * 1e6;
    println!("rigidity {found:.2} uN m, published 275");
    assert!((found / 275.0 - 1.0).abs() < 0.005);
}
