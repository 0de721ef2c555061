//! A row being worked: its stitches before they are taken into the piece, so that several readings
//! of the same words can be tried and one kept.

use super::below::Below;
use super::below::Group;
use super::below::Spot;
use super::graph::Anchor;
use super::graph::Place;
use super::graph::RowId;
use super::graph::RowStart;
use super::graph::Stitch;
use super::graph::StitchId;
use super::kind::LoopTaken;
use super::kind::StitchKind;
use crate::source::Span;

/// A part of the row that is repeated as often as fits, and what was left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Fitted {
    /// Stitches one pass takes.
    pub(super) takes: u32,
    /// Passes worked.
    pub(super) passes: u32,
    /// Stitches that were to be left after it.
    pub(super) keep: u32,
    /// Stitches left over beyond these.
    pub(super) left: u32,
    /// Its words.
    pub(super) span: Span,
}

/// A row being worked.
#[derive(Debug, Clone, Default)]
pub(super) struct Draft {
    /// Stitches, legs counted from the start of `anchors`.
    pub(super) stitches: Vec<Stitch>,
    /// Legs.
    pub(super) anchors: Vec<Anchor>,
    /// Cursor over the row below when each stitch was made.
    pub(super) at: Vec<u32>,
    /// How the row begins.
    pub(super) start: RowStart,
    /// Next spot of the row below.
    pub(super) cursor: usize,
    /// Spots needed beyond those there are.
    pub(super) over: u32,
    /// Words of the first stitch that found no place.
    pub(super) over_at: Option<Span>,
    /// Stitches jumped over without being told to.
    pub(super) jumped: u32,
    /// Stitches passed on the way to a stitch named by its kind.
    pub(super) named: u32,
    /// Stitches passed on the way to a space.
    pub(super) by_space: bool,
    /// Spaces passed on the way to the turning chain.
    pub(super) passed_spaces: usize,
    /// Groups passed whole, without a word, on the way to a place near the row's end.
    pub(super) passed_groups: usize,
    /// Stitches skipped as told.
    pub(super) skipped: u32,
    /// Stitches (and spaces worked) used up.
    pub(super) consumed: u32,
    /// The last repeat that was fitted.
    pub(super) fitted: Option<Fitted>,
    /// Index of the colour the row ends in, when it changed.
    pub(super) colour: Option<u16>,
    /// Colour the row is worked in, when named before its first stitch.
    pub(super) first_colour: Option<u16>,
    /// Loops bound off.
    pub(super) bound: u32,
    /// The yarn was cut.
    pub(super) fastened: bool,
    /// Told to turn (`true`) or not (`false`) at the end.
    pub(super) turn: Option<bool>,
    /// Told to leave the rest.
    pub(super) left_rest: bool,
    /// Closed to a round.
    pub(super) joined: bool,
    /// Chain runs worked back along in the same row: no spaces.
    pub(super) spurs: Vec<usize>,
    /// Groups by stitch index.
    pub(super) groups: Vec<Group>,
    /// Markers by stitch index.
    pub(super) markers: Vec<usize>,
    /// The work on it was stopped because it grew beyond all bounds.
    pub(super) too_large: bool,
    /// Some stitch was worked into a space, ring or gap.
    pub(super) in_spaces: bool,
    /// Places used that the row below does not have (an uncounted turning chain).
    pub(super) turning_missed: Option<Span>,
    /// A space called by a number of links that none of the row below has.
    pub(super) misnamed: Option<super::spaces::Misnamed>,
}

/// Stands for the colour the row begins with, until the row is taken into the piece; in a draft, other
/// colours are those of the pattern.
pub(super) const UNCHANGED: u16 = u16::MAX;

/// A state to go back to when a pass does not fit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark {
    stitches: usize,
    anchors: usize,
    groups: usize,
    markers: usize,
    cursor: usize,
    over: u32,
    jumped: u32,
    skipped: u32,
    passed_spaces: usize,
    passed_groups: usize,
    consumed: u32,
    bound: u32,
    colour: Option<u16>,
    over_at: Option<Span>,
    turning_missed: Option<Span>,
    /// Links of the last stitch: a chain that goes on with it adds to them.
    links: u16,
}

impl Mark {
    /// The cursor it remembers.
    pub(super) fn cursor(&self) -> usize {
        self.cursor
    }
}

impl Draft {
    /// Adds a stitch with `legs`.
    pub(super) fn push(
        &mut self,
        kind: StitchKind,
        legs: &[Anchor],
        links: u16,
        overlay: bool,
        words: Span,
    ) {
        let from = self.anchors.len() as u32;
        self.anchors.extend_from_slice(legs);
        let legs = (from, self.anchors.len() as u32);
        let colour = self.colour.unwrap_or(UNCHANGED);
        self.stitches.push(Stitch { kind, row: RowId(0), legs, links, overlay, colour, words });
        self.at.push(self.cursor as u32);
    }

    /// Markers stay in the work where a row says nothing of them.
    pub(super) fn carry_markers(&mut self, met: &Below) {
        if !self.markers.is_empty() {
            return;
        }
        for &marker in &met.markers {
            self.markers.push(self.at.partition_point(|&at| at as usize <= marker));
        }
    }

    /// A state to come back to.
    pub(super) fn mark(&self) -> Mark {
        Mark {
            stitches: self.stitches.len(),
            anchors: self.anchors.len(),
            groups: self.groups.len(),
            markers: self.markers.len(),
            cursor: self.cursor,
            over: self.over,
            jumped: self.jumped,
            skipped: self.skipped,
            passed_spaces: self.passed_spaces,
            passed_groups: self.passed_groups,
            consumed: self.consumed,
            bound: self.bound,
            colour: self.colour,
            over_at: self.over_at,
            turning_missed: self.turning_missed,
            links: self.stitches.last().map_or(0, |s| s.links),
        }
    }

    /// Takes back all that came after `mark`.
    pub(super) fn back(&mut self, mark: Mark) {
        self.stitches.truncate(mark.stitches);
        if let Some(last) = self.stitches.last_mut() {
            last.links = mark.links;
        }
        self.at.truncate(mark.stitches);
        self.anchors.truncate(mark.anchors);
        self.groups.truncate(mark.groups);
        self.markers.truncate(mark.markers);
        self.cursor = mark.cursor;
        self.over = mark.over;
        self.jumped = mark.jumped;
        self.skipped = mark.skipped;
        self.passed_spaces = mark.passed_spaces;
        self.passed_groups = mark.passed_groups;
        self.consumed = mark.consumed;
        self.bound = mark.bound;
        self.colour = mark.colour;
        self.over_at = mark.over_at;
        self.turning_missed = mark.turning_missed;
    }

    /// Stitches made, as the next row counts them.
    pub(super) fn made(&self) -> u32 {
        self.stitches.iter().filter(|s| counts(s)).count() as u32
    }

    /// What the row offers once its first stitch is `first` of the piece and it is `row`.
    pub(super) fn below(&self, first: u32, row: RowId) -> Below {
        let mut below = Below { row, ..Below::default() };
        let mut spot_of = Vec::with_capacity(self.stitches.len() + 1);
        for (k, stitch) in self.stitches.iter().enumerate() {
            spot_of.push(below.spots.len());
            let space = stitch.kind == StitchKind::Chain;
            if stitch.overlay || stitch.kind == StitchKind::BindOff || self.spurs.contains(&k) {
                continue;
            }
            let links = if space { stitch.links } else { 0 };
            below.spots.push(Spot {
                id: StitchId(first + k as u32),
                kind: stitch.kind,
                links,
                link: 0,
                edge: None,
            });
        }
        spot_of.push(below.spots.len());
        below.turning = matches!(self.start, RowStart::ChainCounts(_));
        below.beside = matches!(self.start, RowStart::ChainBeside(_));
        if let RowStart::ChainCounts(links) | RowStart::ChainBeside(links) = self.start {
            below.turning_links = links;
        }
        let last = below.spots.len().saturating_sub(1);
        below.groups = self
            .groups
            .iter()
            .map(|g| Group {
                name: g.name,
                first: spot_of[g.first.min(spot_of.len() - 1)].min(last),
                last: spot_of[g.last.min(spot_of.len() - 1)].min(last),
            })
            .collect();
        below.markers = self.markers.iter().map(|&m| spot_of[m.min(spot_of.len() - 1)]).collect();
        below
    }
}

/// A stitch the next row counts as one.
pub(super) fn counts(stitch: &Stitch) -> bool {
    !stitch.overlay && !matches!(stitch.kind, StitchKind::Chain | StitchKind::BindOff)
}

/// A leg on the top of a stitch.
pub(super) fn top(id: StitchId) -> Anchor {
    Anchor { place: Place::Top(id), taken: LoopTaken::Both }
}

/// A row of slip stitches is a fabric; single ones only travel.
pub(super) fn slip_fabric(draft: &mut Draft) {
    let cord = |s: &Stitch| {
        let legs = &draft.anchors[s.legs.0 as usize..s.legs.1 as usize];
        legs.iter().any(|leg| matches!(leg.place, Place::Link { .. }))
    };
    // Those back along a chain of the row itself make a cord beside it.
    let slips = draft
        .stitches
        .iter()
        .filter(|s| s.kind == StitchKind::SlipStitch && s.legs.0 < s.legs.1 && !cord(s))
        .count();
    let made = draft.stitches.iter().filter(|s| counts(s)).count();
    if slips > 2 && slips >= made {
        for stitch in draft
            .stitches
            .iter_mut()
            .filter(|s| s.kind == StitchKind::SlipStitch && s.legs.0 < s.legs.1)
        {
            stitch.overlay = false;
        }
    }
}
