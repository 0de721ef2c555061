//! The maker: works the written rows one after another into a piece.

use super::below::Below;
use super::count::Counted;
use super::fault::Faults;
use super::fault::Words;
use super::graph::Piece;
use super::graph::PieceRow;
use super::graph::RowId;
use super::graph::RowStart;
use super::graph::Side;
use super::graph::Stitch;
use super::graph::StitchId;
use super::kind::Craft;
use super::kind::StitchKind;
use super::reading::Reading;
use super::start::Turning;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::pattern::Content;
use crate::pattern::CountNote;
use crate::pattern::CraftWord;
use crate::pattern::Do;
use crate::pattern::Fabric;
use crate::pattern::Item;
use crate::pattern::Numbers;
use crate::pattern::Op;
use crate::pattern::Pattern;
use crate::pattern::Stripes;
use crate::pattern::Until;
use crate::source::Span;
use std::collections::BTreeMap;

/// Stitches a piece may have: about seventy times a large blanket; more is a slip or a hostile text.
pub const MOST_STITCHES: usize = 2_000_000;
/// Rows a piece may have.
pub const MOST_ROWS: usize = 60_000;
/// Spots all rows of a piece may meet and look at, under all readings tried: fifty for each stitch of
/// the largest piece. Short rows that leave a wide row on the needle would else cost rows times width.
pub const MOST_COST: u64 = 100_000_000;

/// What one row's words ask for, to be worked once or again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Body<'a> {
    /// Instructions.
    pub(super) ops: &'a [Op],
    /// A fabric by name instead.
    pub(super) fabric: Option<Fabric>,
    /// The words.
    pub(super) span: Span,
    /// The printed count.
    pub(super) count: Option<&'a CountNote>,
    /// Side stated.
    pub(super) right_side: Option<bool>,
    /// A round.
    pub(super) round: bool,
    /// Colour it is worked in when the row is called again in another.
    pub(super) colour: Option<u16>,
    /// Repeats more, or stitches fewer in its long runs, than written.
    pub(super) step: i32,
    /// Words without a heading: before any foundation they are talk.
    pub(super) loose: bool,
    /// Worked back to front, so that shaping changes ends.
    pub(super) mirrored: bool,
    /// Stitches more at the beginning and end of a row of a fabric by name.
    pub(super) change: (i32, i32),
    /// How often its repeat is worked, when the row is called again with other words.
    pub(super) inner: Option<crate::pattern::Times>,
    /// Stitches more or fewer spread over the row.
    pub(super) evenly: Option<crate::pattern::Evenly>,
    /// The row of its kind before it, when it is worked again "in this way": its runs go on growing as from that
    /// row to this one.
    pub(super) before: Option<&'a [Op]>,
    /// Plain stitches more between increases each time it is worked again.
    pub(super) between: u32,
}

/// The maker at work.
pub(super) struct MakerAtWork<'a> {
    pub(super) pattern: &'a Pattern,
    /// The stripe sequence in force and the rows worked in it.
    pub(super) striped: Option<(&'a Stripes, u32)>,
    /// Sequences told before this byte have been taken up.
    pub(super) stripes_after: u32,
    /// How high rows are, when that is known.
    pub(super) heights: Option<RowHeights<'a>>,
    pub(super) piece: Piece,
    pub(super) faults: Faults,
    pub(super) knit: bool,
    /// The row below.
    pub(super) below: Option<Below>,
    /// Rows below that, the nearest first.
    pub(super) older: Vec<Below>,
    /// A chain made that no row was worked on yet.
    pub(super) foundation: Option<(u32, Span)>,
    /// The turning chain the last row ended with.
    pub(super) pending: Option<Turning>,
    /// The double stitch the last row ended with, after its turn.
    pub(super) double: Option<&'a [Op]>,
    /// Rows of this section by number.
    pub(super) numbers: BTreeMap<u32, Body<'a>>,
    /// Rows of this section that carry a name.
    pub(super) named: BTreeMap<String, Body<'a>>,
    /// Rows worked, in order.
    pub(super) history: Vec<Body<'a>>,
    /// "Row 2 and all even rows".
    pub(super) parity: Option<(u32, Body<'a>)>,
    /// "Row 5 and all following RS rows: rep row 3", beside [`Self::parity`].
    pub(super) other_parity: Option<(u32, Body<'a>)>,
    /// Rows written ahead of their turn ("Rows 2, 4 and 6").
    pub(super) ahead: BTreeMap<u32, Body<'a>>,
    /// The body of the piece in work ends before this row: a border is being picked up round it.
    pub(super) body_end: Option<usize>,
    /// Sides of that body picked up so far: left, right.
    pub(super) sides_taken: [bool; 2],
    /// The edge to pick up instead of the one named, while a border is worked again.
    pub(super) other_edge: Option<crate::pattern::Edge>,
    /// Where in the history the rows on the last picked-up edge begin, and its words.
    pub(super) last_pick: Option<(usize, Body<'a>)>,
    /// The colour rows were first worked in, by where their words begin.
    pub(super) worked_in: BTreeMap<u32, u16>,
    /// Rows worked again in the colours they had.
    pub(super) recoloured: std::collections::BTreeSet<u32>,
    /// Where in the history a star before a sentence stands.
    pub(super) star: Option<usize>,
    /// The rows last worked again.
    pub(super) last_block: Vec<Body<'a>>,
    /// Names of the sections so far and the length of the history where each began.
    pub(super) sections_begin: Vec<(String, usize)>,
    /// A number two rows have, and the first of them.
    pub(super) doubled: Option<(u32, Body<'a>)>,
    /// The last number the page itself has given a row of this section.
    pub(super) written: u32,
    /// The number the next row would have.
    pub(super) next: u32,
    /// The section's index and the row it began at.
    pub(super) section: u16,
    /// What an unnumbered row is called.
    pub(super) label: Option<String>,
    /// Rows of the sections before, by number, the latest last.
    pub(super) archive: Vec<BTreeMap<u32, Body<'a>>>,
    /// An earlier section's rows are being called.
    pub(super) elsewhere: bool,
    /// Index of the first row of the section.
    pub(super) section_start: usize,
    /// Side and direction of the last row.
    pub(super) facing: Option<(Side, bool)>,
    /// The last row told the maker to turn, or not to.
    pub(super) turn: Option<bool>,
    /// The yarn was cut.
    pub(super) fresh: bool,
    /// Colour in work, as an index of the pattern's colours.
    pub(super) colour: Option<u16>,
    /// What counts have counted so far.
    pub(super) counted: Option<Counted>,
    /// How chains are among the counts the page prints, where they were seen to be.
    pub(super) with_chains: Option<Counted>,
    /// Reading that last fitted a doubtful row.
    pub(super) preferred: Reading,
    /// Readings that a printed count has settled, by where the row's words begin.
    pub(super) settled: BTreeMap<u32, Reading>,
    /// Difference between printed and worked count last reported.
    pub(super) known_gap: i64,
    /// Shaping of the rows so far.
    pub(super) shaping: super::shaping::Shaping,
    /// Work was stopped: the piece grew beyond all bounds.
    pub(super) stopped: bool,
    /// What rows said of turning chains, by links; it holds until said otherwise.
    pub(super) stated: BTreeMap<u32, crate::pattern::Counts>,
    /// The page builds blocks in chain spaces (corner to corner).
    pub(super) blocks: bool,
    /// Its turning chains are spaces (moss stitch corner to corner).
    pub(super) spaced: super::turning_space::TurningSpaces,
    /// Side of the first row, by the first side a heading states.
    pub(super) first_side: Option<bool>,
    /// Readings reported already.
    pub(super) said_turning: bool,
    /// Change at each time of the rows being worked again.
    pub(super) step: i32,
    /// The words that call rows again tell an even change over them.
    pub(super) change_told: bool,
    /// The count last printed, while a fault since then stands between it and the work.
    pub(super) claimed: Option<u32>,
    /// The count last printed.
    pub(super) printed: Option<u32>,
    /// What working the rows has cost so far, in spots met and looked at.
    pub(super) cost: u64,
}

/// Heights, mm, of the rows of a piece worked so far, by row index.
pub type RowHeights<'a> = &'a dyn Fn(&Piece) -> Vec<f64>;

/// Works `pattern`. The piece holds what could be worked even when there are faults; rows that could
/// be worked only in part are marked by [`PieceRow::placed`].
pub fn work(pattern: &Pattern) -> (Piece, Vec<Diagnostic>) {
    work_by(pattern, None)
}

/// [`work`], with lengths told on the page ("until it measures 60 cm") turned into rows by `heights`;
/// without them by the row gauge, or by a height assumed for every row.
pub fn work_by<'a>(
    pattern: &'a Pattern,
    heights: Option<RowHeights<'a>>,
) -> (Piece, Vec<Diagnostic>) {
    let (piece, diagnostics, _) = work_counted(pattern, heights);
    (piece, diagnostics)
}

/// [`work_by`], with what it cost: spots of rows below met and looked at, a measure of time that is the
/// same on every machine. It stays within [`MOST_COST`] and what one more row may cost.
pub fn work_counted<'a>(
    pattern: &'a Pattern,
    heights: Option<RowHeights<'a>>,
) -> (Piece, Vec<Diagnostic>, u64) {
    let knit = pattern.header.craft.value == CraftWord::Knit;
    let mut maker = MakerAtWork {
        pattern,
        striped: None,
        stripes_after: 0,
        heights,
        piece: Piece {
            craft: if knit { Craft::Knit } else { Craft::Crochet },
            stitches: Vec::new(),
            anchors: Vec::new(),
            rows: Vec::new(),
            sections: vec![String::new()],
            colours: Vec::new(),
        },
        faults: Faults::default(),
        knit,
        below: None,
        older: Vec::new(),
        foundation: None,
        pending: None,
        double: None,
        numbers: BTreeMap::new(),
        named: BTreeMap::new(),
        history: Vec::new(),
        parity: None,
        other_parity: None,
        ahead: BTreeMap::new(),
        body_end: None,
        sides_taken: [false; 2],
        other_edge: None,
        last_pick: None,
        worked_in: BTreeMap::new(),
        recoloured: std::collections::BTreeSet::new(),
        star: None,
        last_block: Vec::new(),
        sections_begin: Vec::new(),
        doubled: None,
        written: 0,
        next: 1,
        section: 0,
        archive: Vec::new(),
        elsewhere: false,
        section_start: 0,
        label: None,
        facing: None,
        turn: None,
        fresh: false,
        colour: None,
        counted: None,
        with_chains: None,
        preferred: Reading::chosen(pattern.header.readings),
        settled: BTreeMap::new(),
        known_gap: 0,
        shaping: super::shaping::Shaping::default(),
        stopped: false,
        stated: BTreeMap::new(),
        said_turning: false,
        step: 0,
        change_told: false,
        claimed: None,
        printed: None,
        cost: 0,
        blocks: super::asks::builds_blocks(pattern),
        spaced: super::turning_space::TurningSpaces::of(pattern),
        first_side: first_side(pattern),
    };
    maker.all();
    let cost = maker.cost;
    let (piece, diagnostics) = maker.finish();
    (piece, diagnostics, cost)
}

impl<'a> MakerAtWork<'a> {
    fn all(&mut self) {
        for item in &self.pattern.items {
            if self.stopped {
                return;
            }
            match item {
                Item::Section { name, .. } => self.new_section(name),
                Item::Row(row) => {
                    self.take_up_stripes(row.span);
                    if row.heading.starred {
                        self.star = Some(self.history.len());
                    }
                    self.written(row);
                }
                Item::Remark(_) => {}
            }
        }
        self.fill_ahead(None);
    }

    /// Takes up the stripe sequence told before the end of these words, if it is a new one. Rows already
    /// worked in its first colour are its first.
    fn take_up_stripes(&mut self, words: Span) {
        let stripes = self.pattern.rules.stripes.iter().rfind(|s| s.from < words.end);
        let Some(stripes) = stripes.filter(|s| s.from >= self.stripes_after) else { return };
        let (n, colour) = stripes.bands[0];
        let worked = self.piece.rows.len().saturating_sub(self.section_start);
        let rows = self.piece.rows[self.section_start.min(self.piece.rows.len())..].iter();
        let done = rows.filter(|r| r.label != "foundation").count() as u32;
        let first = self.colour.is_none_or(|c| c == colour);
        let within =
            stripes.from >= words.start && worked > 0 && first && done <= n && !stripes.more;
        self.striped = Some((stripes, if within { done } else { 0 }));
        self.stripes_after = stripes.from + 1;
    }

    /// The colour the stripe sequence in force gives the next row.
    pub(super) fn stripe(&mut self) -> Option<u16> {
        let (stripes, done) = self.striped.as_mut()?;
        let sum = |bands: &[(u32, u16)]| bands.iter().map(|b| b.0).fold(0, u32::saturating_add);
        let lead = sum(&stripes.bands[..stripes.again]);
        let again = sum(&stripes.bands[stripes.again..]).max(1);
        let mut at = if *done < lead { *done } else { lead + (*done - lead) % again };
        *done += 1;
        stripes.bands.iter().find_map(|&(n, colour)| {
            if at < n {
                return Some(colour);
            }
            at -= n;
            None
        })
    }

    /// The colour the page tells for the next row by its number.
    pub(super) fn row_colour(&self) -> Option<u16> {
        let told = self.pattern.rules.row_colours.iter();
        let here = |c: &&crate::pattern::RowColour| (c.rows.0..=c.rows.1).contains(&self.next);
        told.rev().find(here).map(|c| c.colour)
    }

    fn finish(mut self) -> (Piece, Vec<Diagnostic>) {
        self.shaping.judge(&self.piece, &mut self.faults);
        let drift = self.shaping.drift_since(0);
        super::whole::length(self.pattern, &self.piece, drift, &mut self.faults);
        if let Some((links, span)) = self.foundation.take()
            && self.piece.rows.is_empty()
            && links > 0
            && links as usize <= super::worker::WIDEST
        {
            self.lay_chain(links, span, false);
        }
        if self.piece.colours.is_empty() {
            self.piece.colours.push(self.first_colour_name());
        }
        let unplaced = self.piece.rows.is_empty()
            && !self.faults.told("no-foundation")
            && self.pattern.items.iter().any(|i| matches!(i, Item::Row(_)));
        if unplaced {
            let span = self
                .pattern
                .items
                .iter()
                .find_map(|i| if let Item::Row(row) = i { Some(row.span) } else { None });
            self.say(
                "nothing-worked",
                Severity::Error,
                span.unwrap_or_default(),
                Words {
                    message: "no row could be worked".into(),
                    expected: "a foundation chain, a cast-on or a ring to begin with".into(),
                    found: "none".into(),
                    fit: "begin with `Ch 21` or `Cast on 20 sts`".into(),
                },
            );
        }
        self.face_foundations();
        (self.piece, self.faults.done())
    }

    /// Begins a section: row numbers start afresh.
    pub(super) fn new_section(&mut self, name: &str) {
        self.fill_ahead(None);
        self.sections_begin.push((name.to_owned(), self.history.len()));
        if self.archive.len() < 64 && !self.numbers.is_empty() {
            self.archive.push(std::mem::take(&mut self.numbers));
        }
        self.numbers.clear();
        self.ahead.clear();
        (self.parity, self.other_parity) = (None, None);
        self.written = 0;
        self.next = 1;
        self.section_start = self.piece.rows.len();
        self.striped = None;
        if self.piece.rows.is_empty() && self.piece.sections.len() == 1 {
            name.clone_into(&mut self.piece.sections[0]);
            return;
        }
        if self.piece.sections.len() < usize::from(u16::MAX) {
            self.piece.sections.push(name.to_owned());
            self.section = (self.piece.sections.len() - 1) as u16;
        }
    }

    /// The section's name for messages.
    pub(super) fn section_name(&self) -> Option<String> {
        self.piece.sections.get(usize::from(self.section)).filter(|s| !s.is_empty()).cloned()
    }

    /// Adds a fault about the row that would come next.
    pub(super) fn say(&mut self, code: &'static str, severity: Severity, span: Span, words: Words) {
        let row = self.row_name(false);
        self.faults.add(code, severity, span, (&row, self.section_name(), span), words, Vec::new());
    }

    /// "Row 12" or "Round 3" for the row about to be worked.
    pub(super) fn row_name(&self, round: bool) -> String {
        if let Some(label) = &self.label {
            return label.clone();
        }
        format!("{} {}", if round { "Round" } else { "Row" }, self.next)
    }

    /// Lays the foundation chain as row 0.
    pub(super) fn lay_chain(&mut self, base: u32, span: Span, left_to_right: bool) {
        let first = self.piece.stitches.len() as u32;
        let row = RowId(self.piece.rows.len() as u32);
        let (kind, legs) =
            (StitchKind::Chain, (self.piece.anchors.len() as u32, self.piece.anchors.len() as u32));
        let colour = self.piece_colour();
        let link = Stitch { kind, row, legs, links: 1, overlay: false, colour, words: span };
        self.piece.stitches.extend((0..base).map(|_| link.clone()));
        self.foundation_row(first, span, left_to_right, false);
    }

    /// Lays a ring as a row of its own and returns its stitch.
    pub(super) fn lay_ring(&mut self, links: u32, span: Span) -> StitchId {
        let first = self.piece.stitches.len() as u32;
        let row = RowId(self.piece.rows.len() as u32);
        let at = self.piece.anchors.len() as u32;
        let links = links.min(u32::from(u16::MAX)) as u16;
        let colour = self.piece_colour();
        self.piece.stitches.push(Stitch {
            kind: StitchKind::Chain,
            row,
            legs: (at, at),
            links,
            overlay: false,
            colour,
            words: span,
        });
        self.foundation_row(first, span, false, true);
        StitchId(first)
    }

    /// A foundation is made towards the place where its first row begins, whichever side that row has.
    fn face_foundations(&mut self) {
        for at in 1..self.piece.rows.len() {
            let (round, first) = (self.piece.rows[at].round, self.piece.rows[at].left_to_right);
            let below = &mut self.piece.rows[at - 1];
            if below.label == "foundation" && !below.round {
                // A row turns back along its foundation; a round goes on the way it was made.
                below.left_to_right = if round { first } else { !first };
            }
        }
    }

    /// The row record of a foundation whose stitches begin at `first`.
    pub(super) fn foundation_row(
        &mut self,
        first: u32,
        span: Span,
        left_to_right: bool,
        round: bool,
    ) {
        let made = self.piece.stitches.len() as u32 - first;
        let colour = self.piece_colour();
        self.piece.rows.push(PieceRow {
            section: self.section,
            label: "foundation".into(),
            side: if left_to_right { Side::Wrong } else { Side::Right },
            left_to_right,
            round,
            stitches: (first, first + made),
            start: RowStart::Plain,
            finish: false,
            colour,
            consumed: 0,
            made,
            count_as_written: None,
            unworked: 0,
            placed: true,
            words: span,
        });
    }

    fn first_colour_name(&self) -> String {
        let yarn =
            self.pattern.header.yarns.first().map(|y| y.name.clone()).filter(|n| !n.is_empty());
        yarn.unwrap_or_else(|| "MC".into())
    }

    /// The index of the colour in work among the piece's colours.
    pub(super) fn piece_colour(&mut self) -> u16 {
        self.colour_in_piece(self.colour)
    }

    /// The index of a colour of the pattern among the piece's colours.
    pub(super) fn colour_in_piece(&mut self, colour: Option<u16>) -> u16 {
        let name = match colour.and_then(|c| self.pattern.colours.get(usize::from(c))) {
            Some(name) => name.clone(),
            None => self.first_colour_name(),
        };
        let known = self.piece.colours.iter().position(|c| c.eq_ignore_ascii_case(&name));
        known.unwrap_or_else(|| {
            self.piece.colours.push(name);
            self.piece.colours.len() - 1
        }) as u16
    }

    /// The body of a written row.
    pub(super) fn body(row: &'a crate::pattern::Row, nth: usize) -> Body<'a> {
        let ops: &[Op] = if let Content::Work(ops) = &row.content { ops } else { &[] };
        let fabric =
            if let Content::Fabric(fabric, ..) = row.content { Some(fabric) } else { None };
        let colour = if let Content::Fabric(_, _, colour) = row.content { colour } else { None };
        // One count for several rows is that of the last.
        let rows = match &row.heading.numbers {
            Numbers::Range(a, b) => b.saturating_sub(*a) as usize + 1,
            Numbers::Listed(all) => all.len(),
            Numbers::Several(n) => *n as usize,
            _ => 1,
        };
        let last = || row.counts.last().filter(|_| nth + 1 >= rows);
        // Notes on the way through one row count its parts, and the last is the row's; notes side by side
        // are those of several sizes.
        let apart = |w: &[crate::pattern::CountNote]| w[1].span.start > w[0].span.end + 3;
        let parts = rows == 1 && row.counts.windows(2).all(apart);
        let own = row.counts.get(nth).filter(|_| row.counts.len() > 1 && !parts);
        let count = own.or_else(last);
        Body {
            ops,
            fabric,
            span: row.span,
            count,
            right_side: row.heading.right_side,
            round: row.heading.round,
            colour,
            step: 0,
            loose: row.heading.numbers == Numbers::Next && row.heading.name.is_none(),
            mirrored: false,
            change: (0, 0),
            inner: None,
            evenly: row.evenly.filter(|_| nth + 1 >= rows),
            before: None,
            between: 0,
        }
    }
}

/// The side of the first row, counted back from the first heading that states one.
fn first_side(pattern: &Pattern) -> Option<bool> {
    let mut rows = 0u32;
    for item in &pattern.items {
        let Item::Row(row) = item else { continue };
        let works = match &row.content {
            Content::Work(ops) => ops
                .iter()
                .any(|op| matches!(op.act, Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..))),
            _ => true,
        };
        if let Some(side) = row.heading.right_side {
            return Some(side == rows.is_multiple_of(2));
        }
        // What is written before the piece is begun only says what its rows are.
        let founds = matches!(&row.content, Content::Work(ops)
            if ops.iter().any(|op| matches!(op.act, Do::CastOn(_))));
        rows = if founds { 0 } else { rows };
        if rows > 1_000_000 {
            return None;
        }
        rows += match (&row.heading.numbers, &row.content) {
            (_, Content::Fabric(_, Until::Rows(n), _)) => (*n).min(99_999),
            (Numbers::Range(a, b), _) => b.saturating_sub(*a).min(99_999) + 1,
            (Numbers::Listed(all), _) => all.len() as u32,
            (Numbers::Several(n), _) => (*n).min(99_999),
            (Numbers::Parity { .. }, _) | (_, Content::Again(_) | Content::Fabric(..)) => {
                return None;
            }
            _ => u32::from(works),
        };
    }
    None
}
