//! The virtual textile tests themselves, against the same closed forms and tables.

use slantwise::state::Cloth;

fn cloth(b: f64) -> Cloth {
    let membrane = Cloth::law([100.0, 50.0], 0.4, 20.0, 0.3);
    Cloth { membrane, bending: [b, b], twist: 1.0, mass: 0.25 }
}

/// E(t) of the orthotropic formula (Kilby, J. Text. Inst. 54 (1963) T9), pulled with next to no load.
#[test]
fn strips_show_the_modulus_of_their_angle() {
    for (degrees, want) in [(0.0, 100.0), (90.0, 50.0)] {
        let pulled = cloth(2e-5).pull(f64::to_radians(degrees), 1e-3).expect("it settles");
        let found = 1e-3 / pulled.stretch;
        println!("strip at {degrees} degrees: {found:.3} N/m (reference {want})");
        assert!((found / want - 1.0).abs() < 1e-3);
    }
}

/// Chord 41.5 degrees at m g L³/B = 8.0042; 250 g/m² and 275 uN m have a bending length of 48.24 mm.
#[test]
fn the_overhang_is_twice_the_bending_length() {
    let found = cloth(275e-6).overhang(275e-6).expect("it settles") / 2.0 * 1e3;
    println!("bending length {found:.3} mm (reference 48.24)");
    assert!((found / 48.24 - 1.0).abs() < 2e-3);
}

/// Heart loop at m g L³/B = 400: .27544 of its length (recomputed by collocation).
#[test]
fn the_heart_loop_hangs_as_it_should() {
    let b = 0.25 * 9.80665 * 0.008 / 400.0;
    let found = cloth(b).heart(b, 0.2).expect("it settles") / 0.2;
    println!("heart loop {found:.5} (reference .27544)");
    assert!((found / 0.27544 - 1.0).abs() < 0.01);
}

/// m g L/2E, columns upright.
#[test]
fn the_hanging_strip_grows_by_the_closed_form() {
    let (found, want) = (cloth(2e-5).hung(1.0).expect("it settles"), 0.25 * 9.80665 / 100.0);
    println!("hanging strip {:.4} % (reference {:.4})", 100.0 * found, 100.0 * want);
    assert!((found / want - 1.0).abs() < 0.01);
}
