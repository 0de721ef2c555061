//! The shadow of a piece in light from straight above, and the drape coefficient.

use geo::Area;
use geo::BooleanOps;
use geo::Coord;
use geo::LineString;
use geo::MultiPolygon;
use geo::Polygon;
use geo::unary_union;

/// Corners of the polygon that stands for a disc: its area is right to 2e-6.
const ROUND: u32 = 1800;

/// Share of a disc that must lie under the flat piece.
const COVERED: f64 = 0.999;

/// Area of the shadow of cells with these corners (any one length unit, its square comes out): what
/// lies under several cells counts once.
pub fn shadow_area<'a>(cells: impl IntoIterator<Item = &'a [[f64; 2]]>) -> f64 {
    shadow(cells).unsigned_area()
}

/// Drape coefficient (ISO 9073-9, BS 5058): the share of the flat piece beyond the disc that still
/// throws shadow when the piece is draped over it, `(S - S_disc)/(S_flat - S_disc)`. 1 is a board, 0
/// hangs straight down.
///
/// `flat` and `draped` hold the corners of the same cells, in one unit and with the disc of `radius`
/// about the origin. None where the disc is not wholly under the flat piece, or nothing lies beyond
/// it.
pub fn drape_coefficient<'a>(
    flat: impl IntoIterator<Item = &'a [[f64; 2]]>,
    draped: impl IntoIterator<Item = &'a [[f64; 2]]>,
    radius: f64,
) -> Option<f64> {
    let (flat, disc) = (shadow(flat), disc(radius));
    let under = flat.intersection(&disc).unsigned_area();
    let held = std::f64::consts::PI * radius * radius;
    let beyond = flat.unsigned_area() - held;
    // The shadow of the disc itself is whole whatever the cells over it do.
    let shade = shadow(draped).union(&disc).unsigned_area();
    (under > COVERED * held && beyond > 0.0).then(|| (shade - held) / beyond)
}

/// Drape coefficient of a round specimen of radius `outer`, of which only the cells beyond the disc of
/// `radius` are given; see [`drape_coefficient`].
pub fn rim_coefficient<'a>(
    draped: impl IntoIterator<Item = &'a [[f64; 2]]>,
    radius: f64,
    outer: f64,
) -> f64 {
    let [held, flat] = [radius, outer].map(|r| std::f64::consts::PI * r * r);
    (shadow(draped).union(&disc(radius)).unsigned_area() - held) / (flat - held)
}

fn disc(radius: f64) -> Polygon<f64> {
    let rim = (0..ROUND).map(|k| {
        let (y, x) = (std::f64::consts::TAU * f64::from(k) / f64::from(ROUND)).sin_cos();
        Coord { x: radius * x, y: radius * y }
    });
    Polygon::new(LineString::new(rim.collect()), Vec::new())
}

fn shadow<'a>(cells: impl IntoIterator<Item = &'a [[f64; 2]]>) -> MultiPolygon<f64> {
    let polygon = |corners: &[[f64; 2]]| {
        let ring = corners.iter().map(|p| Coord { x: p[0], y: p[1] }).collect();
        let mut one = Polygon::new(LineString::new(ring), Vec::new());
        // The union counts windings: a cell seen from behind must not take light away.
        geo::Orient::orient(&one, geo::orient::Direction::Default).clone_into(&mut one);
        one
    };
    let all: Vec<Polygon<f64>> = cells.into_iter().map(polygon).collect();
    unary_union(&all)
}
