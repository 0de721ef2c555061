//! Bow, skewness and dimensional change by the textile-testing definitions.

/// Skew in per cent from the two diagonals of a marked square, `100 * 2 (ac - bd) / (ac + bd)`
/// (AATCC TM179 / ISO 16322-2, diagonal marking; formula from memory). For a square sheared into a
/// rhombus by `gamma` it is exactly `200 tan(gamma / 2)`.
pub fn diagonal_skew(ac: f64, bd: f64) -> f64 {
    200.0 * (ac - bd) / (ac + bd)
}

/// Skew in per cent from inverted-T marks: sideways shift over the marked height, `100 tan(gamma)`
/// (AATCC TM179, inverted-T marking; formula from memory).
pub fn inverted_t_skew(shift: f64, height: f64) -> f64 {
    100.0 * shift / height
}

/// Bow and skew of a marked course in per cent of the width (ASTM D3882): bow is the greatest distance
/// of the course from the straight line through its ends, measured along the selvage (y); skew is the
/// rise of that line across the width.
pub fn bow_and_skew(course: &[[f64; 2]]) -> Option<(f64, f64)> {
    let (first, last) = (*course.first()?, *course.last()?);
    let width = last[0] - first[0];
    if width == 0.0 {
        return None;
    }
    let slope = (last[1] - first[1]) / width;
    let bow = course
        .iter()
        .map(|p| (p[1] - first[1] - slope * (p[0] - first[0])).abs())
        .fold(0.0, f64::max);
    Some((100.0 * bow / width.abs(), 100.0 * slope))
}

/// Dimensional change in per cent, shrinkage negative (ISO 5077): `100 (after - before) / before`.
pub fn dimensional_change(before: f64, after: f64) -> f64 {
    100.0 * (after - before) / before
}
