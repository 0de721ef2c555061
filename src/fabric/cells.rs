//! Cells and their rest shapes.
//!
//! Between two neighbouring legs the cell is the piece of front between them, the two legs and the
//! strands above. Its rest shape comes from the stitches above: the width of a strand is the mean of
//! its two stitches' widths and is used at the bottom as well, the heights are those of the two legs.
//! A mismatch with the row below is elastic and is taken by the shared strand.

use super::fans::{Part, left_of_middle, one_place, strip};
use super::front::EntryId;
use super::mesh::Builder;
use super::{CellTag, sizes::EdgeLaw};
use crate::mechanics::Polygon;
use crate::mechanics::Quad;
use crate::mechanics::Wedge;
use crate::stitches::Piece;
use crate::stitches::RowId;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;
use smallvec::SmallVec;

/// Share of a cell's width by which its feet must be closer than its tops to count as crowded.
const LEVEL: f64 = 1e-6;

/// Most lists of a cell are of two: kept where they stand, without the heap.
pub(super) type Few<T> = SmallVec<[T; 4]>;

/// A point of a row's top edge.
#[derive(Debug, Clone)]
pub(super) struct TopPoint {
    pub(super) stitch: StitchId,
    /// A point on the strand after `stitch`, kept for a stitch worked between two others.
    pub(super) gap: bool,
    /// Place along the row, m; zero at the right end, negative to the left.
    pub(super) x: f64,
    /// The same counted in stitches, positive.
    pub(super) units: f64,
    pub(super) row_width: f64,
    pub(super) row_units: f64,
    pub(super) node: u32,
    /// Height (m) of a point of an arched or climbing loop over the row's line.
    pub(super) lift: f64,
    /// Strain along the row at which that loop is straight.
    pub(super) taut: Option<f64>,
    /// It shares the place it is worked into with the stitch beside it.
    pub(super) grouped: bool,
    /// Front entries it is worked into, right to left.
    pub(super) legs: Few<EntryId>,
    /// Selvage nodes made beside it, right and left.
    pub(super) selvage: [Option<u32>; 2],
    /// Picked-up points of the row end beside it, right and left, from the base up.
    pub(super) side: [Vec<u32>; 2],
}

impl TopPoint {
    pub(super) fn new(stitch: StitchId, x: f64, units: f64) -> Self {
        Self {
            stitch,
            gap: false,
            x,
            units,
            row_width: 0.0,
            row_units: 0.0,
            node: 0,
            lift: 0.0,
            taut: None,
            grouped: false,
            legs: Few::new(),
            selvage: [None; 2],
            side: [Vec::new(), Vec::new()],
        }
    }

    pub(super) fn gap(stitch: StitchId, x: f64, units: f64) -> Self {
        Self { gap: true, ..Self::new(stitch, x, units) }
    }

    /// A chain or a yarn-over: a strand with nothing below it.
    pub(super) fn open(&self, piece: &Piece) -> bool {
        let stitch = piece.stitch(self.stitch);
        !self.gap
            && stitch.legs.0 == stitch.legs.1
            && matches!(stitch.kind, StitchKind::Chain | StitchKind::YarnOver)
    }
}

/// Where a cell stands in its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    Between,
    RightEnd,
    LeftEnd,
    Closing,
}

/// A cell before it gets its rest shape: front entries `from..=to`, tops `right..=left`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    stand: Stand,
    from: EntryId,
    to: EntryId,
    right: usize,
    left: usize,
}

impl Cell {
    pub(super) fn between(from: EntryId, to: EntryId, right: usize, left: usize) -> Self {
        Self { stand: Stand::Between, from, to, right, left }
    }
    pub(super) fn closing(from: EntryId, to: EntryId, right: usize, left: usize) -> Self {
        Self { stand: Stand::Closing, from, to, right, left }
    }
    pub(super) fn half_right(corner: EntryId, to: EntryId, left: usize) -> Self {
        Self { stand: Stand::RightEnd, from: corner, to, right: left, left }
    }
    pub(super) fn half_left(from: EntryId, corner: EntryId, right: usize) -> Self {
        Self { stand: Stand::LeftEnd, from, to: corner, right, left: right }
    }

    /// Front entries under the cell, right to left.
    fn bottom(&self, b: &Builder<'_>) -> Few<EntryId> {
        let mut entries = Few::from_slice(&[self.from]);
        let mut at = self.from;
        while at != self.to {
            at = b.front.next(at);
            entries.push(at);
        }
        entries
    }

    /// Top nodes of the cell, right to left, with their place along the row (m), the same in stitches, and
    /// their height over the row's line (m).
    fn top(&self, tops: &[TopPoint]) -> Few<(u32, f64, f64, f64)> {
        let at = |t: &TopPoint, shift: f64| {
            (t.node, t.x - shift * t.row_width, t.units + shift * t.row_units, t.lift)
        };
        match self.stand {
            Stand::Between => tops[self.right..=self.left].iter().map(|t| at(t, 0.0)).collect(),
            Stand::Closing => {
                let wrapped = tops[..=self.left].iter().map(|t| at(t, 1.0));
                tops[self.right..].iter().map(|t| at(t, 0.0)).chain(wrapped).collect()
            }
            Stand::RightEnd => {
                let corner = tops[0].selvage[0].map(|n| (n, 0.0, 0.0, tops[0].lift));
                corner.into_iter().chain(tops[..=self.left].iter().map(|t| at(t, 0.0))).collect()
            }
            Stand::LeftEnd => {
                let last = &tops[tops.len() - 1];
                let corner =
                    last.selvage[1].map(|n| (n, -last.row_width, last.row_units, last.lift));
                tops[self.right..].iter().map(|t| at(t, 0.0)).chain(corner).collect()
            }
        }
    }

    /// Strain along the row at which the loop over the cell is straight, where that is an arch.
    fn taut(&self, tops: &[TopPoint]) -> Option<f64> {
        let n = tops.len();
        let mut over = match self.stand {
            Stand::Between => self.right..self.left + 1,
            Stand::Closing => self.right..n + self.left + 1,
            Stand::RightEnd => 0..self.left + 1,
            Stand::LeftEnd => self.right..n,
        };
        over.find_map(|k| tops[k % n].taut)
    }

    /// How many stitches wider the cell's top is than its bottom.
    pub(super) fn excess(&self, b: &Builder<'_>, tops: &[TopPoint]) -> f64 {
        let bottom = self.bottom(b);
        let pitch = b.sizes.of(tops[self.right].stitch).width;
        let steps = bottom[..bottom.len() - 1].iter();
        let below: f64 = steps.map(|&e| b.advance(e, pitch, bottom.len() == 2).0).sum();
        let top = self.top(tops);
        top[top.len() - 1].2 - top[0].2 - below
    }
}

/// Turns cells into mesh elements.
pub(super) struct Emit<'b, 'a, 't> {
    pub(super) builder: &'b mut Builder<'a>,
    pub(super) row: RowId,
    pub(super) tops: &'t [TopPoint],
}

/// A cell's corners with their rest coordinates, both from right to left.
struct Shape {
    bottom: Few<(u32, [f64; 2])>,
    top: Few<(u32, [f64; 2])>,
    /// Mean width of one stitch of the cell, m.
    pitch: f64,
    heights: [f64; 2],
    open: bool,
}

impl Emit<'_, '_, '_> {
    /// Emits one cell; `lean` is in stitches along +x.
    pub(super) fn cell(&mut self, cell: &Cell, lean: f64) {
        let entries = cell.bottom(self.builder);
        let shape = self.shape(cell, &entries, lean);
        self.foundation_strands(&entries, &shape);
        let stitch = self.tops[cell.right].stitch;
        let tag = CellTag { row: self.row, stitch };
        let law = self.builder.sizes.membrane_of[stitch.0 as usize] * 2 + u32::from(shape.open);
        let law = cell.taut(self.tops).map_or(law, |taut| self.builder.slack(law, taut));
        let side = self.side(cell, &shape);
        match (shape.bottom.len(), shape.top.len(), side.is_empty()) {
            (1, 2, true) => self.increase(&shape, law, tag),
            _ if self.fans(cell, &entries, &shape) => {
                let first_below = left_of_middle(self.builder, &entries);
                self.fan(&shape, first_below, law, tag);
            }
            (2, 1, true) if shape.bottom[1].1[1] == 0.0 => self.decrease(&shape, law, tag),
            (2, 2, true) => self.quad(&shape, law, tag),
            _ => self.polygon(cell, &shape, &side, law, tag),
        }
    }

    fn shape(&self, cell: &Cell, entries: &[EntryId], lean: f64) -> Shape {
        let b = &*self.builder;
        let top = cell.top(self.tops);
        let (first, last) = (top[0], top[top.len() - 1]);
        let (right, left) = (self.tops[cell.right].stitch, self.tops[cell.left].stitch);
        let units = last.2 - first.2;
        let width = first.1 - last.1;
        let pitch = if units > 1e-9 { width / units } else { b.sizes.of(right).width };
        let heights = [b.reach(right), b.reach(left)];
        let mut at = [0.0, 0.0];
        let mut bottom = Few::with_capacity(entries.len());
        for (k, &e) in entries.iter().enumerate() {
            let entry = b.front.get(e);
            bottom.push((entry.node, at));
            if k + 1 < entries.len() {
                let (units, rise) = b.advance(e, pitch, entries.len() == 2);
                at = [at[0] - units * pitch, at[1] + rise];
            }
        }
        let centre = self.over(cell, at[0], width) + lean * pitch + self.stitch_lean(right);
        let (y_right, y_left) = (heights[0], at[1] + heights[1]);
        let top: Few<_> = top
            .iter()
            .map(|&(node, x, _, lift)| {
                let t = if width > 0.0 { (first.1 - x) / width } else { 0.5 };
                (node, [centre + (0.5 - t) * width, y_right + t * (y_left - y_right) + lift])
            })
            .collect();
        let inner = |k: usize, n: usize| k > 0 && k + 1 < n;
        let open_top = (cell.right.min(cell.left)..=cell.right.max(cell.left))
            .any(|k| cell.stand == Stand::Between && self.tops[k].open(b.piece));
        let open_below = (0..entries.len()).any(|k| {
            inner(k, entries.len())
                && b.front.get(entries[k]).open
                && b.front.get(entries[k - 1]).open
        });
        Shape { bottom, top, pitch, heights, open: open_top || open_below }
    }

    /// Where the middle of the cell's top, `width` long, stands over a bottom that ends at `end` (m along +x from
    /// its right foot). What the two differ by makes the legs slant, both alike; beside a fan, whose legs slant
    /// as they must, a stitch alone in its place stands upright.
    fn over(&self, cell: &Cell, end: f64, width: f64) -> f64 {
        let grouped = [cell.right, cell.left].map(|k| self.tops[k].grouped);
        match (cell.stand, grouped) {
            (Stand::Between | Stand::Closing, [false, true]) => -width / 2.0,
            (Stand::Between | Stand::Closing, [true, false]) => end + width / 2.0,
            _ => end / 2.0,
        }
    }

    /// Lean of the stitch's own kind, m along +x: in the working direction.
    fn stitch_lean(&self, stitch: StitchId) -> f64 {
        let row = &self.builder.piece.rows[self.row.0 as usize];
        let lean = self.builder.sizes.of(stitch).lean;
        if row.left_to_right { lean } else { -lean }
    }

    fn increase(&mut self, shape: &Shape, membrane: u32, tag: CellTag) {
        let (right, left) = (&shape.top[0], &shape.top[1]);
        let fabric = &mut self.builder.fabric;
        fabric.body.wedges.push(Wedge {
            nodes: [right.0, left.0, shape.bottom[0].0],
            strand: right.1[0] - left.1[0],
            height: (shape.heights[0] + shape.heights[1]) / 2.0,
            membrane,
        });
        fabric.wedge_tags.push(tag);
    }

    fn decrease(&mut self, shape: &Shape, membrane: u32, tag: CellTag) {
        let (right, left) = (&shape.bottom[0], &shape.bottom[1]);
        let fabric = &mut self.builder.fabric;
        fabric.body.wedges.push(Wedge {
            nodes: [left.0, right.0, shape.top[0].0],
            strand: right.1[0] - left.1[0],
            height: (shape.heights[0] + shape.heights[1]) / 2.0,
            membrane,
        });
        fabric.wedge_tags.push(tag);
    }

    /// True if the stitches at both sides of the cell are worked into one place that is narrower than they are.
    fn fans(&self, cell: &Cell, entries: &[EntryId], shape: &Shape) -> bool {
        let width = |line: &[(u32, [f64; 2])]| line[0].1[0] - line[line.len() - 1].1[0];
        matches!(cell.stand, Stand::Between | Stand::Closing)
            && one_place(self.builder, entries)
            && width(&shape.bottom) < width(&shape.top) * (1.0 - LEVEL)
    }

    fn fan(&mut self, shape: &Shape, first_below: bool, membrane: u32, tag: CellTag) {
        let along = |line: &[(u32, [f64; 2])]| -> Few<f64> {
            let (from, to) = (line[0].1[0], line[line.len() - 1].1[0]);
            line.iter().map(|p| (from - p.1[0]) / (from - to).max(f64::MIN_POSITIVE)).collect()
        };
        let (bottom, top) = (&shape.bottom, &shape.top);
        let height = f64::midpoint(shape.heights[0], shape.heights[1]);
        for part in strip(&along(bottom), &along(top), first_below) {
            let (ends, apex) = match part {
                Part::Above { top: i, bottom: j } => ([&top[i], &top[i + 1]], &bottom[j]),
                Part::Below { bottom: j, top: i } => ([&bottom[j + 1], &bottom[j]], &top[i]),
            };
            let strand = (ends[0].1[0] - ends[1].1[0]).abs();
            let nodes = [ends[0].0, ends[1].0, apex.0];
            let fabric = &mut self.builder.fabric;
            fabric.body.wedges.push(Wedge { nodes, strand, height, membrane });
            fabric.wedge_tags.push(tag);
        }
    }

    fn quad(&mut self, shape: &Shape, membrane: u32, tag: CellTag) {
        let corners = [&shape.bottom[1], &shape.bottom[0], &shape.top[0], &shape.top[1]];
        let fabric = &mut self.builder.fabric;
        fabric.body.quads.push(Quad {
            nodes: corners.map(|c| c.0),
            rest: corners.map(|c| c.1),
            membrane,
        });
        fabric.quad_tags.push(tag);
        if let Some(law) = self.end_law(shape) {
            self.edge_strand(shape, law);
        }
    }

    fn polygon(
        &mut self,
        cell: &Cell,
        shape: &Shape,
        side: &[(u32, [f64; 2])],
        membrane: u32,
        tag: CellTag,
    ) {
        let mut corners: Vec<(u32, [f64; 2])> = shape.bottom.iter().rev().copied().collect();
        if cell.stand == Stand::RightEnd {
            corners.extend(side.iter().copied());
        }
        corners.extend(shape.top.iter().copied());
        if cell.stand == Stand::LeftEnd {
            corners.extend(side.iter().rev().copied());
        }
        corners.dedup_by_key(|c| c.0);
        if corners.len() < 3 {
            return;
        }
        let fabric = &mut self.builder.fabric;
        fabric.body.polygons.push(Polygon {
            nodes: corners.iter().map(|c| c.0).collect(),
            rest: corners.iter().map(|c| c.1).collect(),
            membrane,
        });
        fabric.polygon_tags.push(tag);
        let law = self.builder.sizes.selvage;
        match cell.stand {
            Stand::RightEnd => self.side_strands(shape.bottom[0], side, shape.top[0], law),
            Stand::LeftEnd => {
                let (base, head) =
                    (shape.bottom[shape.bottom.len() - 1], shape.top[shape.top.len() - 1]);
                self.side_strands(base, side, head, law);
            }
            Stand::Between | Stand::Closing => {}
        }
    }

    /// Picked-up points of the row end, evenly between the two corners.
    fn side(&self, cell: &Cell, shape: &Shape) -> Vec<(u32, [f64; 2])> {
        let (nodes, base, head) = match cell.stand {
            Stand::RightEnd => (&self.tops[0].side[0], shape.bottom[0].1, shape.top[0].1),
            Stand::LeftEnd => {
                let last = &self.tops[self.tops.len() - 1];
                (
                    &last.side[1],
                    shape.bottom[shape.bottom.len() - 1].1,
                    shape.top[shape.top.len() - 1].1,
                )
            }
            Stand::Between | Stand::Closing => return Vec::new(),
        };
        let n = nodes.len() as f64 + 1.0;
        let at = |k: usize, c: usize| base[c] + (head[c] - base[c]) * (k as f64 + 1.0) / n;
        nodes.iter().enumerate().map(|(k, &node)| (node, [at(k, 0), at(k, 1)])).collect()
    }

    /// The law of the row end if this quad is a half cell.
    fn end_law(&self, shape: &Shape) -> Option<(bool, EdgeLaw)> {
        let law = self.builder.sizes.selvage;
        let is = |node: u32, side: usize, at: usize| self.tops[at].selvage[side] == Some(node);
        if is(shape.top[0].0, 0, 0) {
            Some((true, law))
        } else if is(shape.top[1].0, 1, self.tops.len() - 1) {
            Some((false, law))
        } else {
            None
        }
    }

    fn edge_strand(&mut self, shape: &Shape, (right, law): (bool, EdgeLaw)) {
        let k = usize::from(!right);
        self.side_strands(shape.bottom[k], &[], shape.top[k], law);
    }

    /// Strands up a row end, as long as in the stress-free cell times their tightness.
    fn side_strands(
        &mut self,
        base: (u32, [f64; 2]),
        side: &[(u32, [f64; 2])],
        head: (u32, [f64; 2]),
        law: EdgeLaw,
    ) {
        let mut below = base;
        for &point in side.iter().chain([&head]) {
            let rest = (point.1[0] - below.1[0]).hypot(point.1[1] - below.1[1]);
            self.builder.fabric.strand(below.0, point.0, rest, law);
            below = point;
        }
    }

    /// Foundation strands get the width of the cell they carry.
    fn foundation_strands(&mut self, entries: &[EntryId], shape: &Shape) {
        let law = self.builder.sizes.foundation;
        for (k, &e) in entries[..entries.len() - 1].iter().enumerate() {
            if !self.builder.front.get(e).edge {
                continue;
            }
            let rest = self.builder.front.get(e).units * shape.pitch;
            let (a, b) = (shape.bottom[k].0, shape.bottom[k + 1].0);
            self.builder.fabric.strand(a, b, rest, law);
            self.builder.front.get_mut(e).edge = false;
        }
    }
}
