//! Which way round a piece is drawn, and where its points fall on the page.

use super::sheet::Point;
use crate::measure::Measurements;

/// Pieces longer than this against their width are laid along the page.
const ELONGATED: f64 = 1.5;

/// A rotation, a scale and a place on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    /// Unit vector of the page's x in the piece's frame.
    along: [f64; 2],
    /// True when the edges are laid level instead of the rows.
    pub(super) turned: bool,
    /// Least and most of the turned coordinates, mm.
    low: [f64; 2],
    high: [f64; 2],
    /// Page units per millimetre.
    pub(super) scale: f64,
    /// Page position of the upper left corner of the box round everything.
    pub(super) corner: Point,
}

impl View {
    /// Rows level, or the edges level for an elongated piece; unscaled until [`View::placed`].
    pub(super) fn of(measured: &Measurements, shown: &[&[[f64; 2]]]) -> Self {
        let [left, right] = &measured.edges;
        let chord = (left.chord.to_mm() + right.chord.to_mm()) / 2.0;
        let turned = chord > ELONGATED * measured.square_to_edges.to_mm();
        let slant = (left.slant.to_radians() + right.slant.to_radians()) / 2.0;
        let along = if turned { [slant.sin(), slant.cos()] } else { [1.0, 0.0] };
        Self::about(along, turned, shown)
    }

    /// As the points lie, unscaled until [`View::placed`].
    pub(super) fn upright(shown: &[&[[f64; 2]]]) -> Self {
        Self::about([1.0, 0.0], false, shown)
    }

    fn about(along: [f64; 2], turned: bool, shown: &[&[[f64; 2]]]) -> Self {
        let mut view = Self {
            along,
            turned,
            low: [f64::INFINITY; 2],
            high: [f64::NEG_INFINITY; 2],
            scale: 1.0,
            corner: [0.0; 2],
        };
        for point in shown.iter().flat_map(|points| points.iter()) {
            let turned = view.turn(*point);
            for (axis, value) in turned.into_iter().enumerate().filter(|(_, v)| v.is_finite()) {
                view.low[axis] = view.low[axis].min(value);
                view.high[axis] = view.high[axis].max(value);
            }
        }
        if view.low[0] > view.high[0] || view.low[1] > view.high[1] {
            (view.low, view.high) = ([0.0; 2], [1.0; 2]);
        }
        view
    }

    /// The same view scaled to fit `room` with its box at `corner`.
    pub(super) fn placed(self, corner: Point, room: [f64; 2]) -> Self {
        let [w, h] = self.box_mm();
        Self { scale: (room[0] / w).min(room[1] / h), corner, ..self }
    }

    /// The same view with its box elsewhere.
    pub(super) fn moved(self, corner: Point) -> Self {
        Self { corner, ..self }
    }

    /// Size of the box round everything, mm.
    pub(super) fn box_mm(&self) -> [f64; 2] {
        [0, 1].map(|axis| (self.high[axis] - self.low[axis]).max(1e-6))
    }

    /// Size of that box on the page.
    pub(super) fn box_on_page(&self) -> [f64; 2] {
        self.box_mm().map(|mm| mm * self.scale)
    }

    /// A point of the piece (mm, y up) on the page (y down).
    pub(super) fn point(&self, mm: [f64; 2]) -> Point {
        let [x, y] = self.turn(mm);
        [
            self.corner[0] + (x - self.low[0]) * self.scale,
            self.corner[1] + (self.high[1] - y) * self.scale,
        ]
    }

    pub(super) fn points(&self, mm: &[[f64; 2]]) -> Vec<Point> {
        mm.iter().map(|p| self.point(*p)).collect()
    }

    fn turn(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [c, s] = self.along;
        [c * x + s * y, c * y - s * x]
    }

    /// Which way round the piece lies, in words.
    pub(super) fn words(&self) -> &'static str {
        if self.turned {
            "laid along the page: foundation at the left, left edge above"
        } else {
            "right side up: foundation at the bottom"
        }
    }
}

/// Corners of the piece: lower left, lower right, upper right, upper left.
///
/// The frame's origin is the lower left corner, and the last row's cumulative slants say where each
/// edge ends as seen from where it starts; only the lower right corner has to be looked for.
pub(super) fn corners(measured: &Measurements) -> [[f64; 2]; 4] {
    let last = measured.rows.last().map_or([0.0; 2], |row| row.cumulative.map(|a| a.to_radians()));
    let [up_left, up_right] = [0, 1].map(|side| {
        let chord = measured.edges[side].chord.to_mm();
        [chord * last[side].sin(), chord * last[side].cos()]
    });
    let width = measured.rows.first().map_or(measured.along_rows.mean, |row| row.width).to_mm();
    let nearest = |[x, y]: [f64; 2]| {
        let far = |p: &&[f64; 2]| (p[0] - x).hypot(p[1] - y);
        let best = measured.outline.iter().min_by(|p, q| far(p).total_cmp(&far(q)));
        best.map_or(0.0, |p| far(&p))
    };
    // The corner lies about a row's width from the origin, and its edge must end on the outline.
    let misfit = |p: &&[f64; 2]| {
        let end = nearest([p[0] + up_right[0], p[1] + up_right[1]]);
        (p[0] - width).hypot(p[1]) / 4.0 + end
    };
    let best = measured.outline.iter().min_by(|p, q| misfit(p).total_cmp(&misfit(q)));
    let right = best.copied().unwrap_or([width, 0.0]);
    [[0.0; 2], right, [right[0] + up_right[0], right[1] + up_right[1]], up_left]
}
