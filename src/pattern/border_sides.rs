//! Numbers of stitches told for the sides of a piece that a border goes along: "60 sc across the top", "40 sc down
//! each side", "80 sc along each long side and 60 along each short side".

use super::syntax::Do;
use super::syntax::Op;
use super::syntax::Reach;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::Context;
use super::vocabulary::stitch_at;

/// Fewer stitches than this are no side.
const FEWEST: u32 = 5;

/// The sides with their numbers, as ops, in the order the words come to them.
pub(super) fn told_sides(cx: &Context, t: &[Token<'_>]) -> Vec<Op> {
    let starred = t.iter().any(|t| matches!(t.kind, Kind::Star(_)));
    let mut found = Vec::new();
    for k in 0..t.len() {
        let Some(n) = t[k].number().filter(|&n| n >= FEWEST) else { continue };
        let op = |reach| Op { act: Do::Along(reach, n), span: t[k].span };
        let row_ends =
            t.get(k + 1).is_some_and(|t| t.is("row")) && t.get(k + 2).is_some_and(|t| t.is("ends"));
        if row_ends {
            found.push(op(Reach::Ends));
            continue;
        }
        let stitch = stitch_at(cx, t, k + 1).map(|s| s.len);
        // "80 sc along each long side and 60 along each short side"
        let plain = t.get(k + 1).is_some_and(|t| t.any(&["along", "across", "down", "up"]));
        let Some(used) = stitch.or((plain && !found.is_empty()).then_some(0)) else { continue };
        found.extend(reaches(told_of(t, k + 1 + used), starred).into_iter().map(op));
    }
    found
}

/// The numbers are those of all four sides.
pub(super) fn tells_all_sides(cx: &Context, t: &[Token<'_>]) -> bool {
    let told = told_sides(cx, t);
    let has = |reach: Reach| told.iter().any(|op| matches!(op.act, Do::Along(r, _) if r == reach));
    let across = has(Reach::Across) || has(Reach::Top) && has(Reach::Bottom);
    has(Reach::Long) && has(Reach::Short) || across && has(Reach::Ends)
}

/// Some number is that of a side of row ends.
pub(super) fn tells_row_ends(cx: &Context, t: &[Token<'_>]) -> bool {
    told_sides(cx, t).iter().any(|op| matches!(op.act, Do::Along(Reach::Ends, _)))
}

/// The words that a number before `from` speaks of: to the next stop, bracket or number.
fn told_of<'s, 't>(t: &'s [Token<'t>], from: usize) -> &'s [Token<'t>] {
    let rest = &t[from.min(t.len())..];
    let ends = |t: &Token<'_>| {
        t.is_stop() || matches!(t.kind, Kind::Open | Kind::Close) || t.number().is_some()
    };
    let len = rest.iter().position(ends).unwrap_or(rest.len());
    // "all 4 sides"
    match rest.get(len..) {
        Some([four, sides, ..]) if four.number() == Some(4) && sides.any(&["sides", "edges"]) => {
            &rest[..len + 2]
        }
        _ => &rest[..len],
    }
}

/// The sides these words name. Half of the way round, told between stars, stands for the other half too.
fn reaches(words: &[Token<'_>], starred: bool) -> Vec<Reach> {
    let has = |list: &[&str]| words.iter().any(|t| t.any(list));
    let way = has(&["along", "across", "down", "up", "evenly", "each", "on", "over"]);
    let side = has(&["side", "sides", "end", "ends"]);
    let edge = side || has(&["edge", "edges"]);
    if has(&["corner", "corners", "around", "round"]) {
        return Vec::new();
    }
    let all = |w: &[Token<'_>]| {
        (w[0].any(&["all", "four"]) || w[0].number() == Some(4)) && w[1].any(&["sides", "edges"])
    };
    if words.windows(2).any(all) {
        return vec![Reach::Ends, Reach::Across];
    }
    let both = has(&["long", "longer"]) && has(&["short", "shorter"]);
    if edge && way && !both && has(&["long", "longer", "longest"]) {
        return vec![Reach::Long];
    }
    if edge && way && !both && has(&["short", "shorter", "shortest"]) {
        return vec![Reach::Short];
    }
    let top = has(&["top", "upper"]);
    let bottom = has(&["bottom", "lower", "foundation"]);
    if way && (top || bottom) {
        return match (top, bottom) {
            (true, false) if !starred => vec![Reach::Top],
            (false, true) if !starred => vec![Reach::Bottom],
            _ => vec![Reach::Across],
        };
    }
    let side = side || edge && has(&["left", "right"]);
    if side && !has(&["chain", "ch", "top", "bottom", "foundation"]) {
        return vec![Reach::Ends];
    }
    Vec::new()
}
