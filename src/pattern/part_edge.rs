//! Borders told along three sides of a piece: "sc evenly along both short ends and one long edge, 3 sc in
//! each corner". They turn corners as one that goes all round does, and stop.

use super::border_sides::told_sides;
use super::edging::each_row_end;
use super::row::RowReader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::LeftOut;
use super::syntax::Op;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::stitch_at;

/// How a sentence begins that asks for work.
const ASKS: [&str; 17] = [
    "work", "sc", "hdc", "dc", "tr", "htr", "crochet", "border", "edging", "edge", "add", "join",
    "with", "ch", "chain", "now", "do",
];
const SIDES: [&str; 6] = ["side", "sides", "edge", "edges", "end", "ends"];

impl RowReader<'_> {
    /// The ops of a border along three sides, if `t` tells of its first row.
    pub(super) fn part_border(&self, t: &[Token<'_>]) -> Option<Vec<Op>> {
        let asked = t.iter().find(|t| t.kind == Kind::Word).is_some_and(|t| t.any(&ASKS));
        if !asked || !worked(t) || on_its_stitches(t) {
            return None;
        }
        let left_out = left_out(t)?;
        let (stitch, act) = (0..t.len()).find_map(|k| {
            let found = stitch_at(&self.cx, t, k)?;
            matches!(found.act, Act::Post(..) | Act::Reverse).then_some((k, found.act))
        })?;
        let span = t[stitch].span;
        let op = |act| Op { act, span };
        let coloured = self.trial(&t[..stitch]).ops.into_iter();
        let mut ops: Vec<Op> = coloured.filter(|op| matches!(op.act, Do::Colour(_))).collect();
        let chain = t[..stitch].windows(2).find(|w| w[0].any(&["ch", "chain"]));
        if let Some(links) = chain.and_then(|w| w[1].number()) {
            ops.push(op(Do::Chain { links, counts: None }));
        }
        ops.push(op(Do::Leaving(left_out)));
        ops.extend(told_sides(&self.cx, t));
        ops.extend(each_row_end(&self.cx, t));
        ops.push(op(Do::Work { act, each: 1, place: Where::of(Extent::All) }));
        ops.extend(self.corner(t, act));
        let says = |words: &[&str]| t.iter().any(|t| t.any(words));
        if says(&["fasten", "fo", "finish"]) {
            ops.push(op(Do::FastenOff));
        } else if t.last().is_some_and(|t| t.is("turn")) {
            ops.push(op(Do::Turn));
        }
        Some(ops)
    }
}

/// The row goes into stitches, those of the border's first row: "sc in each sc around the three sides".
fn on_its_stitches(t: &[Token<'_>]) -> bool {
    const STITCH: [&str; 8] = ["st", "sts", "stitch", "stitches", "sc", "hdc", "dc", "htr"];
    let row_ends = t.windows(2).any(|w| w[0].any(&["row", "rows"]) && w[1].any(&["end", "ends"]));
    let foundation = t.iter().any(|t| t.any(&["foundation", "bottom", "ch", "chain"]));
    t.windows(2).any(|w| w[0].any(&["each", "every"]) && w[1].any(&STITCH))
        && !row_ends
        && !(foundation && t.iter().any(|t| t.any(&["bottom", "foundation"])))
}

/// The words tell of work, and not of seams or of how the piece lies.
fn worked(t: &[Token<'_>]) -> bool {
    const WORK: [&str; 10] =
        ["work", "sc", "hdc", "dc", "tr", "htr", "crochet", "border", "edging", "edge"];
    const SEWN: [&str; 8] = ["sew", "seam", "seams", "sewing", "block", "pin", "fold", "weave"];
    t.iter().any(|t| t.any(&WORK)) && !t.iter().any(|t| t.any(&SEWN))
}

/// The one side of four that the border leaves out, when it goes along the other three.
fn left_out(t: &[Token<'_>]) -> Option<LeftOut> {
    if let Some(side) = excepted(t) {
        return Some(side);
    }
    let named = long_and_short(t);
    if let [2, 1] = named {
        return Some(LeftOut::Short);
    } else if let [1, 2] = named {
        return Some(LeftOut::Long);
    }
    let has = |words: &[&str]| t.iter().any(|t| t.any(words));
    let three = t
        .windows(2)
        .any(|w| (w[0].number() == Some(3) || w[0].is("three")) && w[1].any(&["sides", "edges"]));
    let along = sides_told(t);
    let bottom = has(&["bottom", "foundation", "beginning", "opposite"]);
    let top = has(&["top"]) || t.windows(2).any(|w| w[0].is("last") && w[1].is("row"));
    // Two corners are turned along three sides, and the join only ends them on the row that was the fourth.
    let corners = t.iter().filter(|t| t.any(&["corner", "corners"])).count();
    let joined = corners != 2 && t[t.len() / 2..].iter().any(|t| t.any(&["join", "joining", "ss"]));
    match (along, bottom, top) {
        (2, true, false) if !joined => Some(LeftOut::Top),
        (2, false, true) if !joined => Some(LeftOut::Bottom),
        (1, true, true) if three => Some(LeftOut::Right),
        _ if three => Some(LeftOut::Top),
        _ => None,
    }
}

/// "Do not work across the top edge", "leaving the bottom unworked", "except the cast-on edge".
fn excepted(t: &[Token<'_>]) -> Option<LeftOut> {
    const BUT: [&str; 6] = ["leave", "leaving", "omit", "omitting", "except", "skipping"];
    let at = t.iter().position(|t| t.any(&BUT))?;
    let near = &t[at + 1..t.len().min(at + 6)];
    let side = near.iter().find_map(|t| match t.text {
        "top" => Some(LeftOut::Top),
        "bottom" | "foundation" => Some(LeftOut::Bottom),
        "left" => Some(LeftOut::Left),
        "right" => Some(LeftOut::Right),
        _ => None,
    })?;
    let rest = t[..at].iter().any(|t| t.any(&["around", "round", "all"]) || t.any(&SIDES));
    rest.then_some(side)
}

/// How many long and short sides are named, not counting those left out.
fn long_and_short(t: &[Token<'_>]) -> [u32; 2] {
    let mut named = [0, 0];
    for (k, w) in t.windows(2).enumerate() {
        let Some(way) = ["long", "short"].iter().position(|way| w[0].is(way)) else { continue };
        let before = &t[k.saturating_sub(4)..k];
        // A "long end" is one of yarn.
        if !w[1].any(&SIDES) || way == 0 && w[1].any(&["end", "ends"]) {
            continue;
        }
        let two = w[1].text.ends_with('s')
            || before.iter().rev().take(2).any(|t| t.any(&["both", "two", "each"]));
        named[way] += if two { 2 } else { 1 };
    }
    named
}

/// Sides of row ends told: "down the side ... up the other side", "both sides".
fn sides_told(t: &[Token<'_>]) -> u32 {
    const WAY: [&str; 6] = ["down", "up", "along", "side", "other", "second"];
    let both = t.windows(2).any(|w| w[0].any(&["both", "two"]) && w[1].any(&["sides"]));
    if both {
        return 2;
    }
    let mut told = 0;
    for k in 0..t.len() {
        let before = &t[k.saturating_sub(4)..k];
        let side = t[k].any(&["side", "edge"]) && before.iter().any(|t| t.any(&WAY));
        let other = ["top", "bottom", "foundation", "chain", "opposite", "right", "wrong"];
        let crosswise = before.iter().rev().take(3).any(|t| t.any(&other));
        told += u32::from(side && !crosswise);
    }
    told.min(2)
}
