//! Work from corner to corner: blocks, each a small sheet standing on the chain of another.
//!
//! A block is a chain and a few stitches beside it. The first block of a growing row stands on a chain of
//! its own, which sets out from the last corner of the row before; every other block stands on the chain
//! of a block of the row before, and a slip stitch joins its last corner to the next block there. Between
//! that block's tops and its own last stitch lies a slit that the slip stitch closes: no fabric and no
//! stiffness. Since the work turns, rows of blocks stand and lie by turns, like a chessboard.
//!
//! Every block stands on the chain of another, so a block is as wide as its neighbours are tall: a square.
//! It keeps the area its stitches have in their gauge, the chain that begins it standing beside them like
//! one of them (assumed: nobody has measured it).

use std::collections::BTreeMap;

use super::CellTag;
use super::front::EntryId;
use super::mesh::Builder;
use crate::mechanics::{Polygon, Quad};
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// What a block stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
enum On {
    /// A chain made for it.
    Foot,
    /// The chain of another block, by its stitch.
    Chain(u32),
}

/// A block as worked.
#[derive(Debug, Clone)]
struct Made {
    on: On,
    chain: u32,
    stitches: Vec<u32>,
    /// The block, by its chain, that its last corner is joined to.
    joined: Option<u32>,
}

/// Blocks row by row.
#[derive(Debug, Default)]
pub(super) struct Plan {
    rows: BTreeMap<u32, Vec<Made>>,
    /// Blocks that another stands on.
    carrying: BTreeMap<u32, u32>,
}

impl Plan {
    /// Reads the rows of blocks a piece begins with; empty unless it begins with one block, and the
    /// next row with a block on a chain of its own.
    pub(super) fn read(piece: &Piece) -> Self {
        let mut plan = Self::default();
        for (index, row) in piece.rows.iter().enumerate().skip(1) {
            match made(piece, row) {
                Some(blocks) if !row.finish => plan.rows.insert(index as u32, blocks),
                _ => break,
            };
        }
        let mut rows = plan.rows.values();
        let begins = rows.next().is_some_and(|r| r.len() == 1 && r[0].on == On::Foot)
            && rows.next().is_some_and(|r| r.len() == 2 && r[0].on == On::Foot);
        if !begins {
            return Self::default();
        }
        for block in plan.rows.values().flatten() {
            if let On::Chain(below) = block.on {
                plan.carrying.insert(below, block.stitches.len() as u32);
            }
        }
        plan
    }

    /// True for a row of blocks, and for the foundation the first stands on.
    pub(super) fn holds(&self, row: u32) -> bool {
        !self.rows.is_empty() && (row == 0 || self.rows.contains_key(&row))
    }

    /// True where no block of a growing row stands beyond the last block of `row`.
    fn turns(&self, row: u32) -> bool {
        self.rows.get(&(row + 1)).is_none_or(|next| next[0].on != On::Foot)
    }

    /// True for the last row of blocks.
    pub(super) fn ends(&self, row: u32) -> bool {
        self.rows.keys().next_back() == Some(&row)
    }
}

/// The stitches of most blocks of a piece worked from corner to corner, the chain that begins each left out;
/// `None` where the piece is not worked so.
pub fn block_stitches(piece: &Piece) -> Option<Vec<StitchId>> {
    let plan = Plan::read(piece);
    let mut sizes: BTreeMap<usize, (u32, &Made)> = BTreeMap::new();
    for block in plan.rows.values().flatten() {
        sizes.entry(block.stitches.len()).or_insert((0, block)).0 += 1;
    }
    let most = sizes.into_values().max_by_key(|(n, _)| *n)?;
    Some(most.1.stitches.iter().map(|&s| StitchId(s)).collect())
}

/// The blocks of a row in working order; none where it holds anything else.
fn made(piece: &Piece, row: &PieceRow) -> Option<Vec<Made>> {
    let mut blocks: Vec<Made> = Vec::new();
    let mut feet: Vec<u32> = Vec::new();
    for (id, stitch) in piece.row_stitches(row) {
        let places: Vec<Place> = piece.legs(stitch).iter().map(|a| a.place).collect();
        match (stitch.kind, places.as_slice()) {
            (StitchKind::Chain, []) => feet.push(id.0),
            (StitchKind::SlipStitch, [Place::Space(run)]) if stitch.overlay => {
                if let (Some(block), true) = (blocks.last_mut(), feet.is_empty()) {
                    block.joined = Some(run.0);
                }
            }
            (StitchKind::SlipStitch, _) if stitch.overlay => {}
            (_, [place]) => {
                let on = match place {
                    Place::Space(run) => On::Chain(run.0),
                    Place::Link { .. } => On::Foot,
                    Place::Top(s) if piece.stitch(*s).kind == StitchKind::Chain => On::Foot,
                    _ => return None,
                };
                if let Some(chain) = feet.pop() {
                    blocks.push(Made { on, chain, stitches: vec![id.0], joined: None });
                    feet.clear();
                } else {
                    let block = blocks.last_mut().filter(|b| b.on == on)?;
                    block.stitches.push(id.0);
                }
            }
            _ => return None,
        }
    }
    (!blocks.is_empty()).then_some(blocks)
}

/// A block laid: its four sides as nodes, and which of them other blocks take.
#[derive(Debug, Clone)]
pub(super) struct Block {
    row: RowId,
    /// From its first corner to its last: base, tops; from base to top: chain side, last side.
    base: Vec<u32>,
    tops: Vec<u32>,
    side: Vec<u32>,
    last: Vec<u32>,
    /// Base, tops, chain side and last side lie on the outline.
    free: [bool; 4],
    /// First and last of its row.
    first: bool,
    final_: bool,
}

/// What is built of the blocks so far.
#[derive(Debug, Default)]
pub(super) struct Blocks {
    all: Vec<Block>,
    /// By chain.
    by_chain: BTreeMap<u32, usize>,
}

type Point = [f64; 2];

/// A side of the outline: the row whose end it is, and its nodes from the first corner onwards.
type Side = (RowId, Vec<u32>);

/// Sides by (left end of the row, still growing there).
type Sides = BTreeMap<(bool, bool), Vec<Side>>;

/// Both ends and `n` places evenly between them.
fn even(n: u8) -> Vec<f64> {
    (0..=n + 1).map(f64::from).collect()
}

fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

impl Builder<'_> {
    /// Works one row of blocks.
    pub(super) fn work_blocks(&mut self, id: RowId, row: &PieceRow) {
        let blocks = self.plan.rows[&id.0].clone();
        let n = blocks.len();
        for (k, made) in blocks.iter().enumerate() {
            self.work_block(id, row.left_to_right, made, k == 0, k + 1 == n);
        }
        let of_row = self.blocks.all.iter().filter(|b| b.row == id);
        let mut path: Vec<u32> = of_row.flat_map(|b| b.tops.iter().copied()).collect();
        path.dedup();
        if row.left_to_right {
            path.reverse();
        }
        self.fabric.row_paths[id.0 as usize] = path;
        if self.plan.ends(id.0) {
            self.bound_blocks();
        }
    }

    fn work_block(&mut self, id: RowId, turned: bool, made: &Made, first: bool, final_: bool) {
        let widths: Vec<f64> =
            made.stitches.iter().map(|&s| self.sizes.of(StitchId(s)).width).collect();
        let heights = made.stitches.iter().map(|&s| self.sizes.of(StitchId(s)).height);
        let height = heights.sum::<f64>() / widths.len() as f64;
        let whole = widths[0] + widths.iter().sum::<f64>();
        let size = (whole * height).sqrt();
        // The chain stands beside the stitches like the first of them.
        let mut along = vec![0.0];
        let mut end = widths[0];
        for w in &widths {
            along.push((end + w / 2.0) * size / whole);
            end += w;
        }
        along.push(size);
        let below = match made.on {
            On::Chain(c) => self.blocks.by_chain.get(&c).copied(),
            On::Foot => None,
        };
        let joined = made.joined.and_then(|c| self.blocks.by_chain.get(&c).copied());
        let corners = self.corners(turned, below, joined, size);
        let base = match below {
            Some(b) => self.blocks.all[b].side.iter().rev().copied().collect(),
            None => self.between([corners[0], corners[1]], &along, None),
        };
        let tops = self.between([corners[2], corners[3]], &along, Some(&made.stitches));
        let places = self.side_places(id, turned, made, first);
        let side = self.between([corners[0], corners[2]], &places, None);
        let open = joined.is_none();
        let picks =
            if open && final_ { self.picked(id, !turned, made, self.plan.turns(id.0)) } else { 0 };
        let last = self.between([corners[1], corners[3]], &even(picks), None);
        if let Some(b) = below {
            self.blocks.all[b].free[2] = false;
        }
        if let Some(j) = joined {
            self.blocks.all[j].free[1] = false;
        }
        let free = [below.is_none(), true, true, open];
        let block = Block { row: id, base, tops, side, last, free, first, final_ };
        self.block_cells(&block, made, turned, [&along, &places]);
        self.blocks.by_chain.insert(made.chain, self.blocks.all.len());
        self.blocks.all.push(block);
    }

    /// What a border picks up of a block's side at a row's end. Where the piece turns its corner there, the block's
    /// stitches or their links are picked up beside it.
    fn picked(&self, id: RowId, left: bool, made: &Made, turns: bool) -> u8 {
        let all = self.legs.row_end(id, left);
        if turns { all.saturating_sub(made.stitches.len() as u8) } else { all }
    }

    /// Corners of a block: base first and last, top first and last.
    fn corners(
        &mut self,
        turned: bool,
        below: Option<usize>,
        joined: Option<usize>,
        size: f64,
    ) -> [u32; 4] {
        // From the base's direction to the way the stitches stand, and back.
        let up = |b: Point| if turned { [-b[1], b[0]] } else { [b[1], -b[0]] };
        let back = |n: Point| if turned { [n[1], -n[0]] } else { [-n[1], n[0]] };
        let end = |blocks: &[Block], j: usize| blocks[j].tops[0];
        let all = &self.blocks.all;
        let at = |n: u32| self.fabric.start[n as usize];
        if let Some(b) = below {
            let side = &all[b].side;
            let (first, last) = (side[side.len() - 1], side[0]);
            let n = up(minus(at(last), at(first)));
            let (p, q) = (at(first), at(last));
            let t1 = joined.map(|j| end(all, j));
            let t0 = self.node([p[0] + n[0], p[1] + n[1]], None);
            let t1 = t1.unwrap_or_else(|| self.node([q[0] + n[0], q[1] + n[1]], None));
            return [first, last, t0, t1];
        }
        let Some(j) = joined else {
            let x = self.beside();
            let ends = if turned { [x, x + size] } else { [x + size, x] };
            return [
                self.node([ends[0], 0.0], None),
                self.node([ends[1], 0.0], None),
                self.node([ends[0], size], None),
                self.node([ends[1], size], None),
            ];
        };
        let tops = &all[j].tops;
        let (last, t1) = (tops[tops.len() - 1], tops[0]);
        let b = back(minus(at(t1), at(last)));
        let (p, q) = (at(last), at(t1));
        let first = self.node([p[0] - b[0], p[1] - b[1]], None);
        let t0 = self.node([q[0] - b[0], q[1] - b[1]], None);
        [first, last, t0, t1]
    }

    /// Places along a chain's side, from the base up: one for every stitch of the block that stands on
    /// it, or for what a border picks up.
    fn side_places(&self, id: RowId, turned: bool, made: &Made, first: bool) -> Vec<f64> {
        let Some(&n) = self.plan.carrying.get(&made.chain) else {
            let picks = if first { self.picked(id, turned, made, made.on == On::Foot) } else { 0 };
            return even(picks);
        };
        // The block above has its own chain, as wide as a stitch, at this side's top.
        let inner = (0..n).map(|k| f64::from(k) + 0.5);
        std::iter::once(0.0).chain(inner).chain([f64::from(n) + 1.0]).collect()
    }

    /// Nodes at the places `along` a line between two nodes, its ends included.
    fn between(&mut self, ends: [u32; 2], along: &[f64], of: Option<&[u32]>) -> Vec<u32> {
        let [p, q] = ends.map(|n| self.fabric.start[n as usize]);
        let whole = along[along.len() - 1];
        let mut nodes = vec![ends[0]];
        for (k, a) in along[1..along.len() - 1].iter().enumerate() {
            let t = a / whole;
            let at = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
            nodes.push(self.node(at, of.map(|s| StitchId(s[k]))));
        }
        nodes.push(ends[1]);
        nodes
    }

    /// Cells between neighbouring stitches; those at the block's sides take up the points there.
    fn block_cells(
        &mut self,
        block: &Block,
        made: &Made,
        turned: bool,
        [along, side]: [&[f64]; 2],
    ) {
        let height = along[along.len() - 1];
        let sign = if turned { 1.0 } else { -1.0 };
        let n = along.len();
        let up = |nodes: &[u32], places: &[f64], x: f64| -> Vec<(u32, Point)> {
            let whole = places[places.len() - 1];
            let inner = nodes.iter().zip(places).skip(1).take(nodes.len() - 2);
            inner.map(|(&v, at)| (v, [sign * x, height * at / whole])).collect()
        };
        let last = even(block.last.len() as u8 - 2);
        for k in 0..n - 1 {
            let stitch = made.stitches[k.min(made.stitches.len() - 1)];
            let (a, b) = (sign * along[k], sign * along[k + 1]);
            let mut corners = vec![(block.base[k], [a, 0.0]), (block.base[k + 1], [b, 0.0])];
            if k + 2 == n {
                corners.extend(up(&block.last, &last, along[n - 1]));
            }
            corners.push((block.tops[k + 1], [b, height]));
            corners.push((block.tops[k], [a, height]));
            if k == 0 {
                let side: Vec<_> = up(&block.side, side, 0.0);
                corners.extend(side.into_iter().rev());
            }
            if !turned {
                // Counter-clockwise from the lower left, like all cells.
                corners.reverse();
                let base = corners.len() - 2;
                corners.rotate_left(base);
            }
            self.block_cell(&corners, block.row, StitchId(stitch));
        }
        let laws = [self.sizes.foundation, self.sizes.selvage];
        if block.free[0] {
            for k in 0..n - 1 {
                let rest = along[k + 1] - along[k];
                self.fabric.strand(block.base[k], block.base[k + 1], rest, laws[0]);
            }
        }
        let open_chain = !self.plan.carrying.contains_key(&made.chain);
        for (nodes, open) in [(&block.side, open_chain), (&block.last, block.free[3])] {
            let rest = height / (nodes.len() - 1) as f64;
            for pair in nodes.windows(2).filter(|_| open) {
                self.fabric.strand(pair[0], pair[1], rest, laws[1]);
            }
        }
    }

    fn block_cell(&mut self, corners: &[(u32, Point)], row: RowId, stitch: StitchId) {
        let membrane = self.sizes.membrane_of[stitch.0 as usize] * 2;
        let tag = CellTag { row, stitch };
        if let [a, b, c, d] = corners {
            let four = [a, b, c, d];
            let (nodes, rest) = (four.map(|c| c.0), four.map(|c| c.1));
            self.fabric.body.quads.push(Quad { nodes, rest, membrane });
            self.fabric.quad_tags.push(tag);
            return;
        }
        self.fabric.body.polygons.push(Polygon {
            nodes: corners.iter().map(|c| c.0).collect(),
            rest: corners.iter().map(|c| c.1).collect(),
            membrane,
        });
        self.fabric.polygon_tags.push(tag);
    }

    /// Closes the blocks' outline: the four sides, and the front that later work attaches to.
    fn bound_blocks(&mut self) {
        let turned = self.piece.rows[self.blocks.all[0].row.0 as usize].left_to_right;
        let mut sides = Sides::new();
        for block in &self.blocks.all {
            let ltr = self.piece.rows[block.row.0 as usize].left_to_right;
            let back = |nodes: &[u32]| nodes.iter().rev().copied().collect::<Vec<_>>();
            let [base, tops, side, last] = block.free;
            let mut add = |on: bool, left: bool, growing: bool, nodes: Vec<u32>| {
                if on {
                    sides.entry((left, growing)).or_default().push((block.row, nodes));
                }
            };
            add(base && block.first, ltr, true, back(&block.base));
            add(last && block.final_, !ltr, true, block.last.clone());
            add(side && block.first, ltr, false, block.side.clone());
            add(tops && block.final_, !ltr, false, back(&block.tops));
        }
        let side = |left: bool, growing: bool| {
            sides.get(&(left != turned, growing)).cloned().unwrap_or_default()
        };
        let (bottom, right) = (side(false, true), side(false, false));
        let (top, left) = (side(true, false), side(true, true));
        let lines = [if turned { &right } else { &left }, if turned { &left } else { &right }];
        self.block_lines(lines, &bottom, &top);
        let forth = bottom.iter().chain(&right).map(|s| s.1.clone());
        let home =
            top.iter().rev().chain(left.iter().rev()).map(|s| s.1.iter().rev().copied().collect());
        let mut cycle: Vec<u32> = forth.chain(home).collect::<Vec<Vec<u32>>>().concat();
        cycle.dedup();
        if cycle.len() > 1 && cycle.first() == cycle.last() {
            cycle.pop();
        }
        if turned {
            cycle.reverse();
        }
        self.block_front(&cycle, &sides);
    }
}

impl Builder<'_> {
    /// Lines of blocks across the piece, from the bottom side to the top side, in place of the rows that
    /// run aslant: the left and right edge of the piece are theirs. A piece that is not closed to a
    /// rectangle keeps the ends of its rows.
    fn block_lines(&mut self, [left, right]: [&Vec<Side>; 2], bottom: &[Side], top: &[Side]) {
        let turned = self.piece.rows[self.blocks.all[0].row.0 as usize].left_to_right;
        let node = |side: &[Side], k: usize| match k {
            0 => side[0].1[0],
            _ => *side[k - 1].1.last().expect("a side has two ends"),
        };
        if left.is_empty() || left.len() != right.len() || bottom.len() != top.len() {
            for (l, r) in left.iter().zip(if turned { left } else { bottom }) {
                let ends = [&l.1, &r.1].map(|s| s[s.len() - 1]);
                self.fabric.row_ends[l.0.0 as usize] = Some(ends);
            }
            return;
        }
        self.fabric.row_paths.iter_mut().for_each(Vec::clear);
        let across = |side: &[Side]| {
            let mut path = side.iter().map(|s| s.1.clone()).collect::<Vec<_>>().concat();
            path.dedup();
            if !turned {
                path.reverse();
            }
            path
        };
        for k in 0..=left.len() {
            let [l, r] = [node(left, k), node(right, k)];
            self.fabric.row_ends[k] = Some([l, r]);
            self.fabric.row_paths[k] = vec![r, l];
            let row = |side: &[Side]| side[k.saturating_sub(1)].0;
            self.fabric.lines.push([row(left), row(right)]);
        }
        self.fabric.row_paths[0] = across(bottom);
        self.fabric.row_paths[left.len()] = across(top);
    }

    /// The front along the blocks' outline, counter-clockwise, with what a border picks up of it.
    fn block_front(&mut self, cycle: &[u32], sides: &Sides) {
        let entries: BTreeMap<u32, EntryId> =
            cycle.iter().map(|&node| (node, self.front.add(node))).collect();
        let width = self.sizes.stitches.iter().map(|s| s.width).sum::<f64>()
            / self.sizes.stitches.len().max(1) as f64;
        for (k, &node) in cycle.iter().enumerate() {
            let next = cycle[(k + 1) % cycle.len()];
            let d = minus(self.fabric.start[next as usize], self.fabric.start[node as usize]);
            self.front.link(entries[&node], entries[&next]);
            let entry = self.front.get_mut(entries[&node]);
            entry.pitch = d[0].hypot(d[1]);
            entry.units = entry.pitch / width;
        }
        for side in sides.values() {
            let (Some(first), Some(last)) = (side.first(), side.last()) else { continue };
            for node in [first.1[0], last.1[last.1.len() - 1]] {
                self.front.get_mut(entries[&node]).corner = true;
            }
        }
        self.undersides(&entries);
        for (&node, &entry) in &entries {
            if let Some(stitch) = self.fabric.node_stitch[node as usize] {
                self.worked.top[stitch.0 as usize] = Some(entry);
            }
        }
        for (&(left, _), side) in sides.iter().rev() {
            for (row, nodes) in side {
                let points = self.worked.row_ends.entry((row.0, left)).or_default();
                points.extend(nodes[1..nodes.len() - 1].iter().map(|n| entries[n]));
            }
        }
        for (&(row, left), points) in &mut self.worked.row_ends {
            // As many as are picked up, evenly.
            let wanted = usize::from(self.legs.row_end(RowId(row), left)).max(1);
            let n = points.len();
            let at = |k: usize| ((2 * k + 1) * n / (2 * wanted)).min(n.saturating_sub(1));
            *points = (0..wanted).filter(|_| n > 0).map(|k| points[at(k)]).collect();
        }
    }
    /// The links of the foundation, by the stitches of the first block that stand on them.
    fn undersides(&mut self, entries: &BTreeMap<u32, EntryId>) {
        let Some(made) = self.plan.rows.values().next().and_then(|r| r.first()) else { return };
        let base = &self.blocks.all[0].base;
        for (&stitch, node) in made.stitches.iter().zip(&base[1..]) {
            for anchor in self.piece.legs(self.piece.stitch(StitchId(stitch))) {
                if let (Place::Top(link), Some(&entry)) = (anchor.place, entries.get(node)) {
                    self.worked.underside.insert(link.0, entry);
                }
            }
        }
    }
}
