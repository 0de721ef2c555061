//! Straightness by ISO 1101 / ISO 12780-1:2011 (terms as listed there; letters of the parameters from
//! memory). The values are plain geometry worked out for small amplitudes, recomputed here with
//! amplitude over length 1e-4.

use slantwise::measure::{least_squares, minimum_zone};

const AMPLITUDE: f64 = 1e-4;

/// Profile points of `shape` on [0, 1], scaled to `AMPLITUDE`.
fn profile(shape: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
    (0..=4000).map(|i| f64::from(i) / 4000.0).map(|x| [x, AMPLITUDE * shape(x)]).collect()
}

/// Minimum-zone width and least-squares peak-to-valley in units of the amplitude, and rms.
fn measured(points: &[[f64; 2]]) -> [f64; 3] {
    let zone = minimum_zone(points).unwrap().width;
    let (peak, rms) = least_squares(points).unwrap();
    [zone / AMPLITUDE, peak / AMPLITUDE, rms / AMPLITUDE]
}

fn close(name: &str, value: f64, reference: f64, tolerance: f64) {
    println!("{name}: {value:.5}, reference {reference:.5}");
    assert!((value - reference).abs() <= tolerance * reference.abs(), "{name}");
}

/// The discriminating case: y = a (2x - 1)^3 has a minimum zone of 0.500 a and a least-squares
/// deviation of 0.800 a.
#[test]
fn cubic() {
    let [zone, peak, _] = measured(&profile(|x| (2.0 * x - 1.0).powi(3)));
    close("minimum zone of a cubic", zone, 0.5, 0.005);
    close("least squares of a cubic", peak, 0.8, 0.005);
}

/// An arc of sagitta s = R - sqrt(R^2 - L^2/4): both are s, rms 2 s / sqrt(45).
#[test]
fn arc() {
    let (length, radius) = (1.0, 6.26);
    let sagitta = radius - f64::sqrt(radius * radius - length * length / 4.0);
    let points: Vec<[f64; 2]> = (0..=4000)
        .map(|i| f64::from(i) / 4000.0 - 0.5)
        .map(|x| [x, f64::sqrt(radius * radius - x * x)])
        .collect();
    let zone = minimum_zone(&points).unwrap().width;
    let (peak, rms) = least_squares(&points).unwrap();
    close("minimum zone of an arc, mm per m", zone * 1000.0, sagitta * 1000.0, 0.001);
    close("least squares of an arc, mm per m", peak * 1000.0, sagitta * 1000.0, 0.005);
    close("rms of an arc, mm per m", rms * 1000.0, sagitta * 2000.0 / 45f64.sqrt(), 0.005);
}

/// One full sine: minimum zone 1.3649 a, least squares 1.9098 a.
#[test]
fn sine() {
    let [zone, peak, _] = measured(&profile(|x| (std::f64::consts::TAU * x).sin()));
    close("minimum zone of a sine", zone, 1.3649, 0.005);
    close("least squares of a sine", peak, 1.9098, 0.005);
}

/// A single kink of height t at 0.5, 0.3 and 0.1 of the length: minimum zone t; least squares 1.00,
/// 1.12, 1.08 t; rms 0.2887, 0.2646, 0.1732 t.
#[test]
fn kink() {
    for (at, peak_expected, rms_expected) in
        [(0.5, 1.0, 0.2887), (0.3, 1.12, 0.2646), (0.1, 1.08, 0.1732)]
    {
        let [zone, peak, rms] =
            measured(&profile(|x| if x < at { x / at } else { (1.0 - x) / (1.0 - at) }));
        close("minimum zone of a kink", zone, 1.0, 0.005);
        close("least squares of a kink", peak, peak_expected, 0.01);
        close("rms of a kink", rms, rms_expected, 0.01);
    }
}

#[test]
fn straight_line() {
    let points: Vec<[f64; 2]> = (0..50).map(|i| [f64::from(i) * 0.3, f64::from(i) * 0.4]).collect();
    assert!(minimum_zone(&points).unwrap().width < 1e-12);
    assert!(least_squares(&points).unwrap().0 < 1e-12);
}
