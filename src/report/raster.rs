//! A piece as small squares of the page, for maps of more cells than a picture should hold.

use std::fmt::Write as _;

use super::sheet::Point;
use super::view::View;

/// Side of a square, page units: two pixels as shown.
pub(super) const GRAIN: f64 = 4.0;

/// Value of a square outside the piece.
pub(super) const OUTSIDE: u8 = u8::MAX;

/// The squares of a view's box, row by row from its upper left corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Raster {
    columns: usize,
    rows: usize,
    corner: Point,
}

impl Raster {
    pub(super) fn of(view: &View) -> Self {
        let [columns, rows] =
            view.box_on_page().map(|side| (side / GRAIN).ceil().max(1.0) as usize);
        Self { columns, rows, corner: view.corner }
    }

    pub(super) fn len(&self) -> usize {
        self.columns * self.rows
    }

    /// Calls `add` for the square that holds the cell's middle and for all whose middle it holds, so
    /// that a map neither skips small cells nor leaves holes in large ones.
    pub(super) fn cover(&self, cell: &[Point], mut add: impl FnMut(usize)) {
        let to_grid = |[x, y]: Point| [(x - self.corner[0]) / GRAIN, (y - self.corner[1]) / GRAIN];
        let corners: Vec<Point> = cell.iter().map(|p| to_grid(*p)).collect();
        if corners.len() < 3 || corners.iter().flatten().any(|c| !c.is_finite()) {
            return;
        }
        let mut place = |x: usize, y: usize| {
            if x < self.columns && y < self.rows {
                add(y * self.columns + x);
            }
        };
        let n = corners.len() as f64;
        let middle = [0, 1].map(|axis| corners.iter().map(|c| c[axis]).sum::<f64>() / n);
        place(middle[0].max(0.0) as usize, middle[1].max(0.0) as usize);
        inside(&corners, [self.columns, self.rows], place);
    }

    /// Path data of all squares of `level`, neighbours in a row joined.
    pub(super) fn runs(&self, levels: &[u8], level: u8) -> String {
        let mut data = String::new();
        for (row, line) in levels.chunks(self.columns).enumerate() {
            let mut start = None;
            for column in 0..=self.columns {
                match (start, line.get(column) == Some(&level)) {
                    (None, true) => start = Some(column),
                    (Some(first), false) => {
                        let x = self.corner[0] + first as f64 * GRAIN;
                        let y = self.corner[1] + row as f64 * GRAIN;
                        let long = (column - first) as f64 * GRAIN;
                        let _ = write!(data, "M{x:.0} {y:.0}h{long}v{GRAIN}h-{long}z");
                        start = None;
                    }
                    _ => {}
                }
            }
        }
        data
    }
}

/// Calls `add` for every square whose middle lies inside the polygon.
fn inside(corners: &[Point], most: [usize; 2], mut add: impl FnMut(usize, usize)) {
    let bound =
        |pick: fn(f64, f64) -> f64, start: f64| corners.iter().map(|c| c[1]).fold(start, pick);
    let (low, high) = (bound(f64::min, f64::INFINITY), bound(f64::max, f64::NEG_INFINITY));
    for row in low.max(0.0).floor() as usize..(high.max(0.0).ceil() as usize).min(most[1]) {
        let y = row as f64 + 0.5;
        let mut crossings: Vec<f64> = (0..corners.len())
            .filter_map(|i| {
                let ([x0, y0], [x1, y1]) = (corners[i], corners[(i + 1) % corners.len()]);
                ((y0 <= y) != (y1 <= y)).then(|| x0 + (y - y0) / (y1 - y0) * (x1 - x0))
            })
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let first = (pair[0] - 0.5).ceil().max(0.0) as usize;
            let end = ((pair[1] - 0.5).ceil().max(0.0) as usize).min(most[0]);
            (first..end).for_each(|column| add(column, row));
        }
    }
}
