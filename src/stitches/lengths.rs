//! How many rows a length takes, by the heights of the stitches or by the gauge.

use super::fault::Words;
use super::graph::Side;
use super::maker::Body;
use super::maker::MOST_ROWS;
use super::maker::MakerAtWork;
use crate::diagnostic::Severity;
use crate::pattern::LeftOut;
use crate::pattern::Until;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    /// The stated length of the piece, which the maker is left to reach.
    pub(super) fn planned_length(&self) -> Option<f64> {
        self.pattern.header.planned.along_edge.as_ref().map(|l| l.value.to_mm())
    }

    /// Length of the last row by the stitch gauge, mm.
    pub(super) fn width_mm(&self) -> f64 {
        let gauges = &self.pattern.header.gauges;
        let gauge = gauges.iter().find_map(|g| g.stitches.map(|n| g.stitches_over.to_mm() / n));
        let width = gauge.filter(|w| *w > 0.0).unwrap_or(if self.knit { 5.0 } else { 6.0 });
        f64::from(self.last_made()) * width
    }

    /// The piece is at least as wide along its rows as it is tall.
    pub(super) fn wide(&self) -> bool {
        let rows = self.piece.rows.iter().filter(|r| r.label != "foundation").count();
        let heights = self.heights.map(|heights| heights(&self.piece).iter().sum());
        let height: f64 = heights.unwrap_or_else(|| rows as f64 * self.row_height(1, 0).0);
        self.width_mm() >= height
    }

    /// The side a border leaves out, as an index of top, left, bottom, right. Of two long or two short sides it
    /// is the last row, or the row ends on the right.
    pub(super) fn side_left_out(&self, side: LeftOut) -> usize {
        let wide = self.wide();
        match side {
            LeftOut::Top => 0,
            LeftOut::Left => 1,
            LeftOut::Bottom => 2,
            LeftOut::Right => 3,
            LeftOut::Long => {
                if wide {
                    0
                } else {
                    3
                }
            }
            LeftOut::Short => {
                if wide {
                    3
                } else {
                    0
                }
            }
        }
    }

    /// Rows of the section, without its foundation.
    pub(super) fn rows_in_section(&self) -> u32 {
        let rows = &self.piece.rows[self.section_start.min(self.piece.rows.len())..];
        rows.iter().filter(|r| r.label != "foundation").count() as u32
    }

    /// How much longer than its rows are high the edge of a block of `n` rows is, as last worked: the
    /// stitches its edges wander sideways against the height, by the gauge.
    pub(super) fn slanted(&self, n: usize) -> f64 {
        let gauge = self.pattern.header.gauges.iter().find_map(|g| {
            let (sts, rows) = (g.stitches?, g.rows?);
            Some((g.stitches_over.to_mm() / sts, g.rows_over.to_mm() / rows))
        });
        let rows = &self.piece.rows;
        let even = rows.len() > n && rows[rows.len() - 1].made == rows[rows.len() - 1 - n].made;
        let Some((width, height)) = gauge.filter(|_| even && n > 0) else { return 1.0 };
        let drift = self.shaping.drift_since((rows.len() - n) as u32);
        (drift * width / (n as f64 * height)).hypot(1.0)
    }

    /// The longer edge, mm, of the rows that this section goes on from; 0 where it begins a piece of its own.
    fn edge_before(&self) -> f64 {
        let rows = &self.piece.rows;
        let start = self.section_start.min(rows.len());
        let founded = rows.iter().rposition(|r| r.label == "foundation").unwrap_or(0);
        if founded + 1 >= start || rows[founded..].iter().any(|r| r.round) {
            return 0.0;
        }
        let gauges = &self.pattern.header.gauges;
        let each = |count: Option<f64>, over: crate::units::Length| {
            count.filter(|n| *n > 0.0).map(|n| over.to_mm() / n)
        };
        let width = gauges.iter().find_map(|g| each(g.stitches, g.stitches_over)).unwrap_or(0.0);
        let known = self.heights.map(|heights| heights(&self.piece));
        let height = match known.filter(|k| k.len() == rows.len()) {
            Some(known) => known[founded + 1..start].iter().sum(),
            None => (start - founded - 1) as f64 * self.row_height(1, 0).0,
        };
        let [left, right] = self.shaping.gained(founded as u32 + 1, start as u32);
        (left.abs().max(right.abs()) as f64 * width).hypot(height)
    }

    /// The height of a row of a block of `n` rows, that of the `done` rows of the section, mm, and where
    /// they are known from.
    fn row_height(&self, n: usize, done: u32) -> (f64, f64, &'static str) {
        let rows = self.piece.rows.len();
        let known = self.heights.map(|heights| heights(&self.piece));
        if let Some(known) = known.filter(|k| k.len() == rows && rows > n) {
            let mean = known[rows - n..].iter().sum::<f64>() / n as f64;
            if mean > 0.0 {
                let done = known[rows - (done as usize).min(rows)..].iter().sum();
                return (mean, done, "by the heights of its stitches");
            }
        }
        let gauge =
            self.pattern.header.gauges.iter().find_map(|g| g.rows.map(|n| g.rows_over.to_mm() / n));
        let (height, why) = match gauge.filter(|h| *h > 0.0) {
            Some(height) => (height, "by the row gauge"),
            None => (
                if self.knit { 3.5 } else { 10.0 },
                "with an assumed row height, since no row gauge is given",
            ),
        };
        (height, f64::from(done) * height, why)
    }

    /// Rows of a block that a length still takes; `None` where no length is told.
    ///
    /// What its rows measure shows once they have been worked: knit rows alone are garter stitch and take
    /// less height than the same row over a purl row.
    pub(super) fn rows_to_length(
        &mut self,
        block: &[Body<'a>],
        until: Until,
        span: Span,
    ) -> Option<u32> {
        let told = self.length_told(until, block.len())?;
        let shown = self.show(block, told, span);
        let mm = match until {
            Until::AlongEdge(mm) => (mm - self.edge_before()).max(0.0) / self.slanted(block.len()),
            Until::Square => self.width_mm(),
            _ => told,
        };
        Some(self.rows_for(block, mm, shown, span))
    }

    /// What the section measures in the end, mm, where rows of a block of `n` are worked until a length told.
    pub(super) fn length_told(&self, until: Until, n: usize) -> Option<f64> {
        Some(match until {
            Until::Millimetres(mm) | Until::AlongEdge(mm) => mm,
            Until::MoreMillimetres(mm) => mm + self.row_height(n, self.rows_in_section()).1,
            Until::Square => self.width_mm(),
            _ => return self.planned_length(),
        })
    }

    /// Works a block once where the rows before it are others, unless `mm` is hardly longer than that.
    /// Gives the rows worked.
    fn show(&mut self, block: &[Body<'a>], mm: f64, span: Span) -> u32 {
        let n = block.len();
        let alone = self.knit && n == 1 && !block[0].round;
        let needed = if alone { 2 } else { n };
        let due = |back: usize| block[(needed - back) % n].span;
        let rows = self.history.iter().rev().take(self.rows_in_section() as usize);
        let worked = rows.zip(1..=needed).take_while(|(row, back)| row.span == due(*back)).count();
        let (height, done, _) = self.row_height(n, self.rows_in_section());
        let short = mm - done < 2.0 * needed as f64 * height;
        if self.heights.is_none() || worked == needed || short {
            return 0;
        }
        let rows = if alone { needed - worked } else { needed } as u32;
        for k in 0..rows {
            if self.stopped || self.too_many(span) {
                break;
            }
            self.block_row(block, k, false, span);
        }
        rows
    }

    /// Rows until the section measures `mm`, by the gauge; a whole number of blocks.
    /// The last `shown` rows are some of them, worked to see what they measure.
    pub(super) fn rows_for(&mut self, block: &[Body<'a>], mm: f64, shown: u32, span: Span) -> u32 {
        let done = self.rows_in_section();
        let per = block.len() as f64;
        let (height, done_mm, why) = self.row_height(block.len(), done);
        let blocks = ((mm - done_mm) / (height * per)).round().clamp(0.0, MOST_ROWS as f64);
        let mut rows = (blocks * per) as u32;
        // Work by length ends on the wrong side, so that the next row is a right side row.
        let begins_wrong = self.facing.is_some_and(|(side, _)| side == Side::Right);
        if block.len() == 1 && !block[0].round && rows > 0 && (rows % 2 == 1) != begins_wrong {
            rows += 1;
        }
        self.say(
            "rows-by-length",
            Severity::Note,
            span,
            Words {
                message: format!("{} more rows were taken for this length, {why}", rows + shown),
                expected: format!("{mm:.0} mm along the rows' height"),
                found: format!(
                    "{height:.1} mm a row, {} rows worked before",
                    done - shown.min(done)
                ),
                fit: "print the number of rows beside the length".into(),
            },
        );
        rows
    }
}
