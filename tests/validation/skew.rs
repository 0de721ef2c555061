//! Skew, bow and dimensional change by the textile-testing standards (formulas from memory where the
//! functions say so; the numbers are plain geometry).

use slantwise::measure::{bow_and_skew, diagonal_skew, dimensional_change, inverted_t_skew};

fn close(name: &str, value: f64, reference: f64, tolerance: f64) {
    println!("{name}: {value:.4}, reference {reference:.4}");
    assert!((value / reference - 1.0).abs() < tolerance, "{name}");
}

/// AATCC TM179 / ISO 16322-2 diagonal marking: a square sheared by gamma into a rhombus.
#[test]
fn diagonal_marking() {
    let table = [
        (1.0, 1.745),
        (2.0, 3.491),
        (5.0, 8.732),
        (10.0, 17.498),
        (15.0, 26.330),
        (20.0, 35.265),
        (30.0, 53.590),
    ];
    for (gamma, percent) in table {
        let half = f64::to_radians((90.0 - gamma) / 2.0);
        let (long, short) = (2.0 * half.cos(), 2.0 * half.sin());
        close("diagonal skew", diagonal_skew(long, short), percent, 0.001);
    }
}

/// AATCC TM179 inverted-T marking: 100 tan(gamma).
#[test]
fn inverted_t_marking() {
    for (gamma, percent) in [(1.0, 1.746), (5.0, 8.749), (10.0, 17.633), (30.0, 57.735)] {
        let shift = f64::to_radians(gamma).tan() * 250.0;
        close("inverted-T skew", inverted_t_skew(shift, 250.0), percent, 0.001);
    }
}

/// ASTM D3882: a parabola of sagitta 20 mm on a course 1 m wide is a bow of 2 %, and no skew; a course
/// at 3 degrees is a skew of 100 tan 3 = 5.24 %, and no bow.
#[test]
fn bow_and_skew_of_a_course() {
    let parabola: Vec<[f64; 2]> = (0..=200)
        .map(|i| f64::from(i) / 200.0)
        .map(|x| [x * 1000.0, 20.0 * 4.0 * x * (1.0 - x)])
        .collect();
    let (bow, skew) = bow_and_skew(&parabola).unwrap();
    close("bow", bow, 2.0, 0.001);
    assert!(skew.abs() < 1e-9);
    let slope = f64::to_radians(3.0).tan();
    let (bow, skew) =
        bow_and_skew(&[[0.0, 0.0], [500.0, 500.0 * slope], [1000.0, 1000.0 * slope]]).unwrap();
    close("skew", skew, 5.2408, 0.001);
    assert!(bow.abs() < 1e-9);
}

/// ISO 5077: 100 (after - before) / before, shrinkage negative.
#[test]
fn change_of_size() {
    assert_eq!(dimensional_change(350.0, 343.0), -2.0);
    assert_eq!(dimensional_change(200.0, 210.0), 5.0);
}
