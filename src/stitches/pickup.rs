//! Loops picked up along an edge: row ends, the cast-on, the last row. They continue the loops still on
//! the needle, or begin a border of their own.

use super::below::Below;
use super::draft::Draft;
use super::fault::Words;
use super::graph::Anchor;
use super::graph::PieceRow;
use super::graph::Place;
use super::graph::RowId;
use super::graph::RowStart;
use super::graph::Side;
use super::graph::StitchId;
use super::kind::LoopTaken;
use super::kind::StitchKind;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::making::height_of;
use super::making::post;
use super::start::first_height;
use crate::diagnostic::Severity;
use crate::pattern::Do;
use crate::pattern::Edge;
use crate::pattern::Height;
use crate::pattern::Op;
use crate::pattern::Target;

/// Most points one row end is split into.
const MOST_POINTS: u32 = 20;

/// The words pick up loops along an edge.
pub(super) fn picks_up(ops: &[Op]) -> bool {
    ops.iter().any(|op| matches!(op.act, Do::PickUp(..)))
}

/// A way along the edge of a piece: counter-clockwise as seen from the right side unless `back`.
struct Walk {
    /// Rows of the body, by index in the piece.
    rows: Vec<usize>,
    /// Its foundation.
    foundation: usize,
    /// Clockwise: the wrong side faces.
    back: bool,
}

impl<'a> MakerAtWork<'a> {
    /// Picks up what `body` says, as a row of its own.
    pub(super) fn pick_up(&mut self, body: Body<'a>) {
        let Some(foundation) = self.piece.rows.iter().rposition(|r| r.label == "foundation") else {
            return self.no_foundation(body);
        };
        let live = self.below.as_ref().filter(|b| !b.spots.is_empty() && b.ring.is_none());
        let live: Option<Below> = live.filter(|_| !self.fresh && self.knit).cloned();
        let border = live.as_ref().is_none_or(|b| b.stitches() < 2);
        if border {
            self.body_end.get_or_insert(self.piece.rows.len());
        }
        let end = self.body_end.unwrap_or(self.piece.rows.len());
        let rows: Vec<usize> = (foundation + 1..end.max(foundation + 1))
            .filter(|&k| k < self.piece.rows.len() && self.is_body_row(&self.piece.rows[k]))
            .collect();
        let (side, back) = match (&live, self.facing) {
            (Some(_), Some((side, left_to_right))) if !border => (side, left_to_right),
            _ => (Side::Right, false),
        };
        let walk = Walk { rows, foundation, back };
        let mut draft = Draft::default();
        for op in body.ops {
            match op.act {
                Do::PickUp(n, edge) => {
                    let edge = self.edge_meant(self.other_edge.unwrap_or(edge));
                    let across = matches!(edge, Edge::Top | Edge::CastOn);
                    let by_rows = || self.row_end_stitches(&walk, body.ops);
                    let n = n.or_else(|| by_rows().filter(|_| !across));
                    let anchors = self.along(&walk, n, edge, border);
                    let kind = match first_height(body.ops) {
                        Some(height) if !self.knit => StitchKind::Plain(post(height)),
                        _ => StitchKind::Knit { purl: side == Side::Wrong, twisted: false },
                    };
                    for anchor in anchors {
                        draft.push(kind, &[anchor], 0, false, op.span);
                    }
                }
                Do::Colour(index) => self.colour = Some(index),
                _ => {}
            }
        }
        self.last_pick = Some((self.history.len(), body));
        self.take_picked(body, draft, live, (side, back));
    }

    /// Stitches along crocheted row ends when no number is told: so many to each row end, or "evenly" by
    /// the height of the rows, one to a sc row, two to a dc row, three to a tr row (common practice, no
    /// source).
    fn row_end_stitches(&self, walk: &Walk, ops: &[Op]) -> Option<u32> {
        let each = ops.iter().find_map(|op| match op.act {
            Do::Work { each, place, .. } if place.target == Target::RowEnd => Some(each),
            _ => None,
        });
        let each = each.filter(|_| !self.knit)?;
        if each > 0 {
            return Some(each.saturating_mul(walk.rows.len() as u32));
        }
        let share = |&k: &usize| {
            let (from, to) = self.piece.rows[k].stitches;
            let stitches = &self.piece.stitches[from as usize..to as usize];
            match stitches.iter().filter_map(|s| height_of(s.kind)).max() {
                Some(Height::HalfDouble) => 1.5,
                Some(Height::Double) => 2.0,
                Some(Height::Treble) => 3.0,
                Some(Height::DoubleTreble | Height::TripleTreble) => 4.0,
                _ => 1.0,
            }
        };
        Some(walk.rows.iter().map(share).sum::<f64>().round() as u32)
    }

    /// The last border once more along another edge.
    pub(super) fn pick_again(&mut self, edge: Edge) {
        let Some((from, body)) = self.last_pick else { return };
        let rows = self.history.get(from..).map(<[_]>::to_vec).unwrap_or_default();
        let before = body.ops.iter().find_map(picked_edge).map(|edge| self.edge_meant(edge));
        self.other_edge = Some(match (edge, before) {
            // The other of cast-on and top.
            (Edge::Other, Some(Edge::CastOn)) => Edge::Top,
            (Edge::Other, Some(Edge::Top)) => Edge::CastOn,
            (edge, _) => edge,
        });
        self.pick_up(body);
        self.other_edge = None;
        for body in rows {
            self.next_row(Body { right_side: None, ..body });
        }
    }

    /// A long or short edge by its place; row ends where the page gives no gauge to tell by.
    fn edge_meant(&self, edge: Edge) -> Edge {
        let told = !self.pattern.header.gauges.is_empty();
        match edge {
            Edge::Long if told && self.wide() => Edge::Top,
            Edge::Short if told && !self.wide() => Edge::Top,
            Edge::Long | Edge::Short => Edge::Side,
            edge => edge,
        }
    }

    fn is_body_row(&self, row: &PieceRow) -> bool {
        !row.finish && !row.round && row.stitches.0 < row.stitches.1
    }

    /// `n` points along an edge in the order they are picked up.
    fn along(&mut self, walk: &Walk, n: Option<u32>, edge: Edge, border: bool) -> Vec<Anchor> {
        let mut places = match edge {
            Edge::CastOn => self.bottom(walk, n),
            Edge::Top => self.top(walk, n),
            Edge::Strip(number) => self.strip_end(number, n),
            _ => {
                let left = match edge {
                    Edge::Left => true,
                    Edge::Right => false,
                    _ if self.sides_taken[0] != self.sides_taken[1] => !self.sides_taken[0],
                    _ => !walk.back || border,
                };
                self.sides_taken[usize::from(!left)] = true;
                let mut up = row_ends(walk, n, left);
                if left {
                    up.reverse();
                }
                up
            }
        };
        if walk.back {
            places.reverse();
        }
        places.into_iter().map(|place| Anchor { place, taken: LoopTaken::Both }).collect()
    }

    /// Row ends of a strip picked up before, on the way round counter-clockwise: of the last one down from its
    /// top, where its last row ended, of an earlier one up from its base at the other end.
    fn strip_end(&self, number: u16, n: Option<u32>) -> Vec<Place> {
        let own = |name: &str| {
            let digits: String = name.chars().filter(char::is_ascii_digit).collect();
            digits.parse() == Ok(number)
        };
        let Some(section) = self.piece.sections.iter().rposition(|name| own(name)) else {
            return Vec::new();
        };
        let rows: Vec<usize> = (0..self.piece.rows.len())
            .filter(|&k| usize::from(self.piece.rows[k].section) == section)
            .filter(|&k| {
                self.is_body_row(&self.piece.rows[k]) && self.piece.rows[k].label != "pick up"
            })
            .collect();
        let last = self.piece.rows.iter().rev().find(|r| r.section != self.section);
        let before = last.is_some_and(|r| usize::from(r.section) == section);
        let walk = Walk { rows, foundation: 0, back: false };
        let mut places = row_ends(&walk, n, before);
        if before {
            places.reverse();
        }
        places
    }

    /// Undersides of the foundation, left to right.
    fn bottom(&self, walk: &Walk, n: Option<u32>) -> Vec<Place> {
        let base = &self.piece.rows[walk.foundation];
        let mut ids: Vec<u32> = (base.stitches.0..base.stitches.1).collect();
        if !base.left_to_right {
            ids.reverse();
        }
        spread(&ids, n).into_iter().map(|id| Place::Underside(StitchId(id))).collect()
    }

    /// Tops of the last row of the body, right to left.
    fn top(&self, walk: &Walk, n: Option<u32>) -> Vec<Place> {
        let Some(row) = walk.rows.last().map(|&k| &self.piece.rows[k]) else { return Vec::new() };
        let mut ids: Vec<u32> = (row.stitches.0..row.stitches.1).collect();
        if row.left_to_right {
            ids.reverse();
        }
        spread(&ids, n).into_iter().map(|id| Place::Top(StitchId(id))).collect()
    }

    /// Takes the picked-up loops into the piece, after those still on the needle.
    fn take_picked(
        &mut self,
        body: Body<'a>,
        draft: Draft,
        live: Option<Below>,
        (side, left_to_right): (Side, bool),
    ) {
        let picked = draft.made();
        let (row, first) = (RowId(self.piece.rows.len() as u32), self.piece.stitches.len() as u32);
        let mut below = draft.below(first, row);
        if let Some(live) = live {
            below.spots.splice(0..0, live.spots.iter().copied());
            below.markers = live.markers.clone();
        }
        let made = below.stitches();
        if picked == 0 && !self.faults.at(body.span) {
            self.nothing_picked(body);
        }
        self.check_picked(body, picked, made);
        let colour = self.piece_colour();
        self.take_stitches(draft, row);
        self.piece.rows.push(PieceRow {
            section: self.section,
            label: "pick up".into(),
            side,
            left_to_right,
            round: false,
            stitches: (first, self.piece.stitches.len() as u32),
            start: RowStart::Plain,
            finish: false,
            colour,
            consumed: picked,
            made,
            count_as_written: body.count.map(super::count::printed),
            unworked: 0,
            placed: true,
            words: body.span,
        });
        self.older.clear();
        self.below = Some(below);
        self.facing = Some((side, left_to_right));
        (self.turn, self.fresh) = (None, false);
    }

    /// A tube has no row ends, and a piece of no rows none either.
    fn nothing_picked(&mut self, body: Body<'a>) {
        let tube = self.piece.rows.iter().any(|r| r.round);
        let found = if tube { "rounds, which have no row ends" } else { "no rows with ends" };
        let words = Words {
            message: "there is no edge here to pick up loops along".into(),
            expected: "an edge with row ends".into(),
            found: found.into(),
            fit: "name the cast-on edge or the bind-off edge".into(),
        };
        self.say("nothing-to-pick-up", Severity::Error, body.span, words);
    }

    fn check_picked(&mut self, body: Body<'a>, picked: u32, made: u32) {
        let Some(printed) = body.count.map(super::count::printed) else { return };
        if printed == picked || printed == made {
            return;
        }
        let words = Words {
            message: format!(
                "{made} loops are on the needle after picking up, but the page counts {printed}"
            ),
            expected: format!("{made}"),
            found: format!("{printed}"),
            fit: format!("print {made}, or pick up {} more or fewer", made.abs_diff(printed)),
        };
        self.say("count-note", Severity::Error, body.span, words);
    }
}

fn picked_edge(op: &Op) -> Option<Edge> {
    if let Do::PickUp(_, edge) = op.act { Some(edge) } else { None }
}

/// `n` points spread over the row ends of one side, from the foundation up; one to two rows when
/// `n` is not said.
fn row_ends(walk: &Walk, n: Option<u32>, left: bool) -> Vec<Place> {
    let m = walk.rows.len();
    if m == 0 {
        return Vec::new();
    }
    let n = n.unwrap_or((m as u32).div_ceil(2)).min(m as u32 * MOST_POINTS) as usize;
    let row_of = |i: usize| (2 * i + 1) * m / (2 * n);
    let mut places = Vec::with_capacity(n);
    let mut i = 0;
    while i < n {
        let (k, from) = (row_of(i), i);
        while i < n && row_of(i) == k {
            i += 1;
        }
        let of = (i - from) as u8;
        let row = RowId(walk.rows[k] as u32);
        places.extend((0..of).map(|nth| Place::RowEnd { row, left, nth, of }));
    }
    places
}

/// `n` of `ids` evenly, some of them twice when there are too few; all of them when `n` is not said.
fn spread(ids: &[u32], n: Option<u32>) -> Vec<u32> {
    let n = n.map_or(ids.len(), |n| n.min(super::worker::WIDEST as u32) as usize);
    if ids.is_empty() {
        return Vec::new();
    }
    (0..n).map(|i| ids[(2 * i + 1) * ids.len() / (2 * n)]).collect()
}
