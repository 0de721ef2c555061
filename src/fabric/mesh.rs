//! From the stitch graph to a mesh: cells between neighbouring legs, laid on the front row by row.

use std::collections::BTreeMap;

use super::blocks::{Blocks, Plan};
use super::cells::{Cell, Emit, Few, TopPoint};
use super::front::{EntryId, Front};
use super::legs::Legs;
use super::rounds::ring_radius;
use super::sizes::Sizes;
use super::start;
use super::{Fabric, Unplaced, begin, fans, selvage};
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// Room between pieces laid side by side, m.
const GAP: f64 = 0.05;

/// Entries of the front that the last cell of a round may span.
const LONGEST_CLOSING: usize = 12;

/// Entries of the front that stitches of the piece have made.
pub(super) struct Worked {
    /// Top of each stitch.
    pub(super) top: Vec<Option<EntryId>>,
    /// Points of chain runs, right to left along their row.
    pub(super) points: BTreeMap<u32, Vec<EntryId>>,
    /// Underside of foundation links.
    pub(super) underside: BTreeMap<u32, EntryId>,
    /// Points between two neighbouring stitches, by the smaller id.
    pub(super) gaps: BTreeMap<u32, EntryId>,
    /// Picked-up points of row ends, by (row, left edge), from the row's base up.
    pub(super) row_ends: BTreeMap<(u32, bool), Vec<EntryId>>,
    /// Ring centres by first stitch.
    pub(super) rings: BTreeMap<u32, EntryId>,
}

/// Builds the mesh row by row.
pub(super) struct Builder<'a> {
    pub(super) piece: &'a Piece,
    pub(super) sizes: &'a Sizes,
    pub(super) front: Front,
    pub(super) worked: Worked,
    pub(super) legs: Legs,
    pub(super) plan: Plan,
    pub(super) blocks: Blocks,
    pub(super) fabric: Fabric,
    /// The row being worked goes along row ends: their rise is the way it goes, not a step.
    around: bool,
}

impl<'a> Builder<'a> {
    pub(super) fn new(piece: &'a Piece, sizes: &'a Sizes) -> Self {
        let mut fabric = Fabric::empty(sizes);
        // Work with no row ends at all is cut open along its joins, so that it has a flat state.
        fabric.cut = piece.all_rounds();
        let worked = Worked {
            top: vec![None; piece.stitches.len()],
            points: BTreeMap::new(),
            underside: BTreeMap::new(),
            gaps: BTreeMap::new(),
            row_ends: BTreeMap::new(),
            rings: BTreeMap::new(),
        };
        Self {
            piece,
            sizes,
            front: Front::default(),
            worked,
            legs: Legs::count(piece),
            plan: Plan::read(piece),
            blocks: Blocks::default(),
            fabric,
            around: false,
        }
    }

    pub(super) fn build(mut self) -> Fabric {
        for (index, row) in self.piece.rows.iter().enumerate() {
            let id = RowId(index as u32);
            self.fabric.row_ends.push(None);
            self.fabric.closed.push(false);
            self.fabric.row_paths.push(Vec::new());
            if row.stitches.0 == row.stitches.1 {
                continue;
            }
            if self.plan.holds(id.0) {
                if id.0 > 0 {
                    self.work_blocks(id, row);
                }
            } else if row.finish {
                self.bind_off(row);
            } else if self.is_foundation(row) {
                self.found(id, row);
            } else {
                self.work(id, row);
            }
        }
        self.fabric.outlines = self.front.cycles();
        self.fabric.body.nodes = self.fabric.start.len();
        self.fabric
    }

    /// A new node at `at` belonging to `stitch`.
    pub(super) fn node(&mut self, at: [f64; 2], stitch: Option<StitchId>) -> u32 {
        self.fabric.start.push(at);
        self.fabric.node_stitch.push(stitch);
        self.fabric.start.len() as u32 - 1
    }

    fn is_foundation(&self, row: &PieceRow) -> bool {
        self.piece.row_stitches(row).all(|(_, s)| s.legs.0 == s.legs.1)
    }

    /// Lays a foundation chain or cast-on: a strand with an upper and a lower side.
    fn found(&mut self, id: RowId, row: &PieceRow) {
        let mut ids: Vec<u32> = (row.stitches.0..row.stitches.1).collect();
        if let Some(first) = ids.iter().copied().find(|i| self.legs.ring(*i)) {
            let node = self.node([0.0, 0.0], Some(StitchId(first)));
            self.fabric.middle = Some(node);
            let entry = self.front.add(node);
            self.front.link(entry, entry);
            // A row worked into the ring and turned has both its ends on it.
            self.front.get_mut(entry).corner = true;
            self.worked.rings.insert(first, entry);
            self.fabric.rings.push(node);
            return;
        }
        ids.retain(|&i| !self.piece.stitches[i as usize].overlay);
        if !row.left_to_right {
            ids.reverse();
        }
        if ids.is_empty() {
            return;
        }
        let width = |i: u32| self.sizes.of(StitchId(i)).width;
        let mut at = self.beside();
        let mut x = vec![at];
        for &i in &ids {
            x.push(at + width(i) / 2.0);
            at += width(i);
        }
        x.push(at);
        let n = x.len();
        let nodes: Vec<u32> = (0..n)
            .map(|k| {
                let stitch = (k > 0 && k < n - 1).then(|| StitchId(ids[k - 1]));
                self.node([x[k], 0.0], stitch)
            })
            .collect();
        let lower: Vec<EntryId> = nodes.iter().map(|&v| self.front.add(v)).collect();
        let mut upper: Vec<EntryId> = nodes[1..n - 1].iter().map(|&v| self.front.add(v)).collect();
        upper.reverse();
        let cycle: Vec<EntryId> = lower.iter().chain(&upper).copied().collect();
        for (k, &entry) in cycle.iter().enumerate() {
            let next = cycle[(k + 1) % cycle.len()];
            self.front.link(entry, next);
            let gap = (self.fabric.start[self.front.get(entry).node as usize][0]
                - self.fabric.start[self.front.get(next).node as usize][0])
                .abs();
            let half = self.corner_node(&nodes, entry) || self.corner_node(&nodes, next);
            let e = self.front.get_mut(entry);
            e.pitch = gap;
            e.units = if half { 0.5 } else { 1.0 };
            e.edge = k >= n - 1;
        }
        self.front.get_mut(lower[0]).corner = true;
        self.front.get_mut(lower[n - 1]).corner = true;
        for (k, &i) in ids.iter().enumerate() {
            self.worked.underside.insert(i, lower[k + 1]);
            self.worked.top[i as usize] = Some(upper[ids.len() - 1 - k]);
        }
        let mut path = nodes.clone();
        path.reverse();
        self.fabric.row_paths[id.0 as usize] = path;
        self.fabric.row_ends[id.0 as usize] = Some([nodes[0], nodes[n - 1]]);
    }

    /// Where another piece begins: right of those before it.
    pub(super) fn beside(&self) -> f64 {
        let right = self.fabric.start.iter().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max);
        if right.is_finite() { right + GAP } else { 0.0 }
    }

    fn corner_node(&self, nodes: &[u32], entry: EntryId) -> bool {
        let node = self.front.get(entry).node;
        node == nodes[0] || node == nodes[nodes.len() - 1]
    }

    /// Works one row or round onto the front.
    fn work(&mut self, id: RowId, row: &PieceRow) {
        let mut tops = self.top_points(row);
        let place = |s: &crate::stitches::Stitch| {
            self.piece.legs(s).iter().any(|leg| matches!(leg.place, Place::RowEnd { .. }))
        };
        self.around = self.piece.row_stitches(row).any(|(_, s)| place(s));
        self.resolve_legs(&mut tops);
        let legged: Vec<usize> = (0..tops.len()).filter(|&i| !tops[i].legs.is_empty()).collect();
        if legged.is_empty() {
            self.note_unplaced(row, "none of its stitches reaches the edge of the work");
            return;
        }
        let open =
            !row.round || self.fabric.cut || self.cut_open(id, row) || !self.closes(&tops, &legged);
        let ends =
            open.then(|| [self.corner_beside(&tops, false), self.corner_beside(&tops, true)]);
        self.arch(&mut tops, &legged, ends);
        fans::group(self, &mut tops, &legged);
        start::place(self, row, open, &mut tops);
        let cells = self.cells_of_row(&tops, &legged, ends);
        let excess: Vec<f64> = cells.iter().map(|c| c.excess(self, &tops)).collect();
        let level = ends.is_none() || self.fabric.cut;
        let leans = if level { vec![0.0; cells.len()] } else { selvage::leans(&excess) };
        let share = self.sizes.selvage_lean;
        for (cell, lean) in cells.iter().zip(leans) {
            Emit { builder: self, row: id, tops: &tops }.cell(cell, lean * share);
        }
        self.step_strands(&tops, &legged, ends);
        self.relink(id, &tops, &legged, ends);
    }

    /// The points of a row's top edge, right to left as seen from the right side.
    fn top_points(&mut self, row: &PieceRow) -> Vec<TopPoint> {
        let mut ids: Vec<u32> = (row.stitches.0..row.stitches.1)
            .filter(|&i| !self.piece.stitches[i as usize].overlay)
            .collect();
        if row.left_to_right {
            ids.reverse();
        }
        if self.fabric.cut {
            begin::turn(self, &mut ids);
        }
        let mut tops = Vec::with_capacity(ids.len());
        let (mut x, mut u) = (0.0, 0.0);
        for (k, &i) in ids.iter().enumerate() {
            let stitch = &self.piece.stitches[i as usize];
            let size = self.sizes.of(StitchId(i));
            let (count, width, units) =
                if stitch.kind == StitchKind::Chain && stitch.legs.0 == stitch.legs.1 {
                    let links = f64::from(stitch.links.max(1));
                    (self.legs.points(i, stitch.links.max(1)), size.width * links, links)
                } else {
                    (1, size.width, 1.0)
                };
            for point in 0..count {
                let share = (point as f64 + 0.5) / count as f64;
                tops.push(TopPoint::new(StitchId(i), x - share * width, u + share * units));
            }
            x -= width;
            u += units;
            let following = ids.get(k + 1).copied();
            if let Some(next) = following.filter(|&n| self.legs.gap(i, n)) {
                tops.push(TopPoint::gap(StitchId(i.min(next)), x, u));
            }
        }
        for top in &mut tops {
            top.row_width = -x;
            top.row_units = u;
        }
        tops
    }

    /// Finds the front entry of every leg and brings the legs into order along the front.
    fn resolve_legs(&mut self, tops: &mut [TopPoint]) {
        let reversed = tops.first().is_some_and(|t| {
            self.piece.rows[self.piece.stitch(t.stitch).row.0 as usize].left_to_right
        });
        for top in tops.iter_mut().filter(|t| !t.gap) {
            let stitch = self.piece.stitch(top.stitch);
            let mut legs: Few<EntryId> = self
                .piece
                .legs(stitch)
                .iter()
                .filter_map(|anchor| {
                    self.legs.entry(&self.worked, self.piece, anchor.place, reversed)
                })
                .filter(|&e| self.front.alive(e))
                .collect();
            if reversed {
                legs.reverse();
            }
            top.legs = legs;
        }
        self.legs.order(&self.front, tops, self.piece);
        for top in tops.iter().filter(|t| t.legs.is_empty() && !t.gap) {
            let stitch = self.piece.stitch(top.stitch);
            if stitch.legs.0 != stitch.legs.1 && !self.legs.on_strand(self.piece, stitch) {
                self.fabric.unplaced.push(Unplaced {
                    stitch: top.stitch,
                    why: "it is worked into a place the fabric already covers",
                });
            }
        }
    }

    /// How far (m) a stitch's top stands from the place it is worked into, for one in a ring from the middle.
    pub(super) fn reach(&self, stitch: StitchId) -> f64 {
        let hole = ring_radius(self.piece, self.sizes, self.piece.stitch(stitch));
        self.sizes.of(stitch).height + hole
    }

    /// The way from an entry to the next: stitches of `pitch` along the row, and the rise of a step, m. A cell
    /// that stands on this strand alone stands square to it on an arch, too.
    pub(super) fn advance(&self, entry: EntryId, pitch: f64, alone: bool) -> (f64, f64) {
        let e = self.front.get(entry);
        if self.around && pitch > 0.0 {
            (e.units + e.rise.abs() / pitch, 0.0)
        } else if alone && e.units > 0.0 && pitch > 0.0 {
            (e.units.hypot(e.rise / pitch), 0.0)
        } else {
            (e.units, e.rise)
        }
    }

    fn note_unplaced(&mut self, row: &PieceRow, why: &'static str) {
        self.fabric.unplaced.push(Unplaced { stitch: StitchId(row.stitches.0), why });
    }

    /// Closes the loops of the last row with a strand of its own length.
    fn bind_off(&mut self, row: &PieceRow) {
        let law = self.sizes.bind_off;
        let mut entries: Vec<EntryId> = Vec::new();
        for (_, stitch) in self.piece.row_stitches(row) {
            let legs = self.piece.legs(stitch);
            entries.extend(
                legs.iter()
                    .filter_map(|a| self.legs.entry(&self.worked, self.piece, a.place, false)),
            );
        }
        entries.retain(|&e| self.front.alive(e));
        let bound: std::collections::BTreeSet<EntryId> = entries.iter().copied().collect();
        for &entry in &bound {
            let next = self.front.next(entry);
            let here = *self.front.get(entry);
            if here.rise == 0.0 && (bound.contains(&next) || self.front.get(next).corner) {
                self.fabric.strand(here.node, self.front.get(next).node, here.pitch, law);
            }
            let prev = self.front.prev(entry);
            let before = *self.front.get(prev);
            if before.corner && before.rise == 0.0 {
                self.fabric.strand(before.node, here.node, before.pitch, law);
            }
        }
    }

    /// The corner of the front if at most two unworked stitches lie between.
    fn corner_near(&self, from: EntryId, step: fn(&Front, EntryId) -> EntryId) -> Option<EntryId> {
        let mut at = from;
        for _ in 0..3 {
            at = step(&self.front, at);
            if self.front.get(at).corner {
                return Some(at);
            }
        }
        None
    }

    /// The cells of a row from right to left.
    fn cells_of_row(
        &self,
        tops: &[TopPoint],
        legged: &[usize],
        ends: Option<[Option<EntryId>; 2]>,
    ) -> Vec<Cell> {
        let mut cells = Vec::with_capacity(tops.len() + 2);
        let first = legged[0];
        let last = legged[legged.len() - 1];
        if let Some([Some(corner), _]) = ends {
            cells.push(Cell::half_right(corner, tops[first].legs[0], first));
        }
        for (k, &i) in legged.iter().enumerate() {
            for pair in tops[i].legs.windows(2) {
                cells.push(Cell::between(pair[0], pair[1], i, i));
            }
            let from = *tops[i].legs.last().expect("legged tops have legs");
            if let Some(&j) = legged.get(k + 1) {
                cells.push(Cell::between(from, tops[j].legs[0], i, j));
            } else if ends.is_none() {
                cells.push(Cell::closing(from, tops[first].legs[0], i, first));
            }
        }
        if let Some([_, Some(corner)]) = ends {
            let from = *tops[last].legs.last().expect("legged tops have legs");
            cells.push(Cell::half_left(from, corner, last));
        }
        cells
    }

    /// A tube is laid cut open where its rounds begin: a round on a straight foundation, or on a round
    /// cut open itself.
    fn cut_open(&self, id: RowId, row: &PieceRow) -> bool {
        let below = (0..id.0 as usize).rev().find(|&k| {
            let row = &self.piece.rows[k];
            !row.finish && row.stitches.0 < row.stitches.1
        });
        self.worked.rings.is_empty()
            && !start::turns_a_corner(self.piece, row)
            && below.is_some_and(|k| self.fabric.row_ends[k].is_some())
    }

    /// A round closes if its last leg stands near its first along the front: no further than a
    /// space or a corner of the work. Work called a round that stops short of that is a row.
    fn closes(&self, tops: &[TopPoint], legged: &[usize]) -> bool {
        let first = tops[legged[0]].legs[0];
        let mut at = *tops[legged[legged.len() - 1]].legs.last().expect("legged tops have legs");
        for _ in 0..LONGEST_CLOSING {
            if at == first {
                return true;
            }
            at = self.front.next(at);
        }
        false
    }

    /// Where a row ends in a step, its outermost leg is the edge strand.
    fn step_strands(
        &mut self,
        tops: &[TopPoint],
        legged: &[usize],
        ends: Option<[Option<EntryId>; 2]>,
    ) {
        let Some(ends) = ends else { return };
        let law = self.sizes.selvage;
        for (end, at) in ends.iter().zip([legged[0], legged[legged.len() - 1]]) {
            if end.is_none() {
                let foot = self.front.get(tops[at].legs[0]).node;
                let rise = self.reach(tops[at].stitch);
                self.fabric.strand(foot, tops[at].node, rise, law);
            }
        }
    }

    /// Puts the row's top edge in place of the piece of front it covers.
    fn relink(
        &mut self,
        id: RowId,
        tops: &[TopPoint],
        legged: &[usize],
        ends: Option<[Option<EntryId>; 2]>,
    ) {
        let mut path: Vec<EntryId> = Vec::with_capacity(tops.len() + 2);
        for top in tops {
            let entry = self.front.add(top.node);
            path.push(entry);
            self.remember(top, entry);
        }
        for k in 0..path.len().saturating_sub(1) {
            let open = tops[k].open(self.piece) || tops[k + 1].open(self.piece);
            let entry = self.front.get_mut(path[k]);
            entry.pitch = tops[k].x - tops[k + 1].x;
            entry.units = tops[k + 1].units - tops[k].units;
            entry.open = open;
            entry.rise = tops[k + 1].lift - tops[k].lift;
        }
        let Some([right, left]) = ends else {
            self.front.bury_cycle(tops[legged[0]].legs[0]);
            let (first, last) = (&tops[0], &tops[tops.len() - 1]);
            let closing = self.front.get_mut(path[path.len() - 1]);
            closing.pitch = last.x + last.row_width - first.x;
            closing.units = last.row_units - last.units + first.units;
            closing.rise = first.lift - last.lift;
            for k in 0..path.len() {
                let next = path[(k + 1) % path.len()];
                self.front.link(path[k], next);
            }
            self.fabric.row_paths[id.0 as usize] = tops.iter().map(|t| t.node).collect();
            self.fabric.closed[id.0 as usize] = true;
            return;
        };
        let first_leg = tops[legged[0]].legs[0];
        let last_leg = *tops[legged[legged.len() - 1]].legs.last().expect("legged tops have legs");
        let (from, to) = (right.unwrap_or(first_leg), left.unwrap_or(last_leg));
        let alone = self.front.next(from) == to;
        if from == to && alone && !self.front.get(from).corner {
            return;
        }
        if !alone || from != to {
            self.front.bury_between(from, to);
        }
        self.finish_ends(id, tops, [right, left], &mut path);
        self.front.link(from, path[0]);
        for pair in path.windows(2) {
            self.front.link(pair[0], pair[1]);
        }
        self.front.link(path[path.len() - 1], to);
        self.fabric.row_paths[id.0 as usize] =
            path.iter().map(|&e| self.front.get(e).node).collect();
    }

    /// Adds the selvage corners, the picked-up points of the row ends and their rises to `path`.
    fn finish_ends(
        &mut self,
        id: RowId,
        tops: &[TopPoint],
        ends: [Option<EntryId>; 2],
        path: &mut Vec<EntryId>,
    ) {
        let (first, last) = (&tops[0], &tops[tops.len() - 1]);
        let mut nodes = [None, None];
        if let (Some(corner), Some(node)) = (ends[0], first.selvage[0]) {
            let entry = self.front.add(node);
            let e = self.front.get_mut(entry);
            (e.pitch, e.units, e.rise, e.corner) = (-first.x, first.units, 0.0, true);
            let rise = self.end_rise(tops, false);
            let points = self.side_points(id, false, first, rise);
            self.front.get_mut(corner).rise = rise / (points.len() + 1) as f64;
            (self.front.get_mut(corner).pitch, self.front.get_mut(corner).units) = (0.0, 0.0);
            path.insert(0, entry);
            path.splice(0..0, points);
            nodes[1] = Some(node);
        } else {
            let rise = self.reach(first.stitch);
            let entry = first.legs.first().copied();
            if let Some(entry) = entry {
                let e = self.front.get_mut(entry);
                (e.rise, e.pitch, e.units) = (rise, 0.0, 0.0);
            }
        }
        let end = *path.last().expect("a row has points");
        if let (Some(_), Some(node)) = (ends[1], last.selvage[1]) {
            let e = self.front.get_mut(end);
            (e.pitch, e.units) = (last.x + last.row_width, last.row_units - last.units);
            e.rise = 0.0;
            let entry = self.front.add(node);
            let rise = self.end_rise(tops, true);
            let points = self.side_points(id, true, last, rise);
            let e = self.front.get_mut(entry);
            (e.corner, e.rise) = (true, -rise / (points.len() + 1) as f64);
            path.push(entry);
            path.extend(points.into_iter().rev());
            nodes[0] = Some(node);
        } else {
            self.front.get_mut(end).rise = -self.reach(last.stitch);
        }
        if let [Some(l), Some(r)] = nodes {
            self.fabric.row_ends[id.0 as usize] = Some([l, r]);
        }
    }

    /// How far (m) a row rises at its end: a chain there climbs beside the first stitch that stands on something.
    fn end_rise(&self, tops: &[TopPoint], left: bool) -> f64 {
        let stands = |t: &&TopPoint| !t.legs.is_empty();
        let (end, stitch) = match left {
            true => (&tops[tops.len() - 1], tops.iter().rev().find(stands)),
            false => (&tops[0], tops.iter().find(stands)),
        };
        self.reach(stitch.unwrap_or(end).stitch) + end.lift
    }

    /// Entries for the points picked up along a row end, from its base up, of a row that rises by `rise` (m).
    fn side_points(&mut self, id: RowId, left: bool, end: &TopPoint, rise: f64) -> Vec<EntryId> {
        let nodes = if left { &end.side[1] } else { &end.side[0] };
        let rise = rise / (nodes.len() + 1) as f64;
        let sign = if left { -1.0 } else { 1.0 };
        let points: Vec<EntryId> = nodes.clone().into_iter().map(|n| self.front.add(n)).collect();
        for &p in &points {
            self.front.get_mut(p).rise = sign * rise;
        }
        if !points.is_empty() {
            self.worked.row_ends.insert((id.0, left), points.clone());
        }
        points
    }

    /// Notes which entry a stitch's top or point has become.
    fn remember(&mut self, top: &TopPoint, entry: EntryId) {
        if top.gap {
            self.worked.gaps.insert(top.stitch.0, entry);
            return;
        }
        let slot = &mut self.worked.top[top.stitch.0 as usize];
        if slot.is_none() {
            *slot = Some(entry);
        }
        if self.piece.stitch(top.stitch).kind == StitchKind::Chain {
            self.worked.points.entry(top.stitch.0).or_default().push(entry);
        }
    }

    /// The corner of the front beside a row's right or left end, if the row reaches it.
    pub(super) fn corner_beside(&self, tops: &[TopPoint], left: bool) -> Option<EntryId> {
        if left {
            let leg = tops.iter().rev().find_map(|t| t.legs.last())?;
            self.corner_near(*leg, Front::next)
        } else {
            let leg = tops.iter().find_map(|t| t.legs.first())?;
            self.corner_near(*leg, Front::prev)
        }
    }

    /// Points to be picked up on a row end.
    pub(super) fn picked_up(&self, row: RowId, left: bool) -> u8 {
        self.legs.row_end(row, left)
    }
}
