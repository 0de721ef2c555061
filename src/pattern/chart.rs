//! Rows that follow a chart the page shows only as a picture: what is missing can be said, and so many
//! plain rows or stitches stand in for it until then.

use super::header::CraftWord;
use super::heading::count;
use super::heading::list;
use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::Context;
use super::vocabulary::stitch_at;

/// Rows of a chart that one line may ask for.
const MOST_ROWS: u32 = 2000;
const CHART: [&str; 5] = ["chart", "charts", "diagram", "graph", "graphgan"];

/// Words that point to a chart and say nothing else.
const POINTING: [&str; 29] = [
    "work",
    "follow",
    "following",
    "begin",
    "rep",
    "repeat",
    "as",
    "from",
    "per",
    "of",
    "in",
    "the",
    "row",
    "rows",
    "rnd",
    "rnds",
    "through",
    "to",
    "times",
    "time",
    "twice",
    "once",
    "more",
    "and",
    "then",
    "shown",
    "by",
    "for",
    "on",
];

/// The words ask to follow a chart and name no stitch: how many rows of it, where they say that.
pub(super) fn followed(cx: &Context, t: &[Token<'_>]) -> Option<Option<u32>> {
    let at = t.iter().position(|t| t.any(&CHART))?;
    let first = t.iter().find(|t| t.kind == Kind::Word)?;
    let letter = |t: &Token<'_>| t.text.len() < 3;
    let strange = t
        .iter()
        .filter(|t| t.kind == Kind::Word && !t.any(&POINTING) && !t.any(&CHART) && !letter(t));
    let stitch = (0..t.len()).any(|k| t[k].text.len() > 1 && stitch_at(cx, t, k).is_some());
    let points = first.any(&POINTING) || first.any(&CHART);
    if stitch || !points || strange.count() > 3 || t.len() > 24 {
        return None;
    }
    let row = |t: &Token<'_>| t.any(&["row", "rows", "rnd", "rnds", "round", "rounds"]);
    let rows = t.iter().position(row).and_then(|k| {
        let mut j = k + 1;
        let first = t.get(j)?.number()?;
        j += 1;
        let through = k > 0 && t[k - 1].any(&["through", "to", "thru"]);
        Some(match list(t, &mut j, first, true) {
            Numbers::Range(a, b) => a.abs_diff(b) + 1,
            // "through row 20"
            Numbers::Listed(_) if through => first,
            Numbers::Listed(all) => all.len() as u32,
            _ => 1,
        })
    });
    let times = (at..t.len()).find_map(|k| match t[k].text {
        "twice" => Some(2),
        "once" => Some(1),
        _ => count(t, k)
            .filter(|&(_, used)| t.get(k + used).is_some_and(|t| t.any(&["times", "time", "more"])))
            .map(|(n, _)| n),
    });
    Some(rows.map(|n| n.saturating_mul(times.unwrap_or(1)).clamp(1, MOST_ROWS)))
}

/// A row of a chart, worked plain: stitch on stitch in knitting; of crochet the kind is not known.
pub(super) fn plain_row(cx: &Context, t: &[Token<'_>]) -> Vec<Op> {
    let (Some(first), Some(last)) = (t.first(), t.last()) else { return Vec::new() };
    let work = Do::Work { act: Act::AsFaces, each: 1, place: Where::of(Extent::All) };
    let op = Op { act: work, span: first.span.to(last.span) };
    if cx.craft == CraftWord::Knit { vec![op] } else { Vec::new() }
}

impl Reader<'_> {
    /// "Work row 1 of chart A over the next 23 sts" within a row.
    pub(super) fn chart_within(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let stop = |t: &Token<'_>| t.is_stop() || matches!(t.kind, Kind::Close | Kind::Star(_));
        let len = (0..24).take_while(|&k| self.at(k).is_some_and(|t| !stop(t))).count();
        let knit = self.cx.craft == CraftWord::Knit;
        let leads = matches!(self.word(0), "work" | "follow" | "working" | "chart" | "row");
        let Some(at) = (0..len).find(|&k| CHART.contains(&self.word(k))).filter(|_| leads) else {
            return false;
        };
        let over = (at..len).find_map(|k| {
            let (n, used) = self.count_at(k)?;
            matches!(self.word(k + used), "st" | "sts" | "stitches").then_some(n)
        });
        self.i += len;
        self.unread.push(self.since(start));
        if let Some(n) = over.filter(|_| knit) {
            let place = Where::next(n);
            self.push(ops, Do::Work { act: Act::AsFaces, each: 1, place }, start);
        }
        true
    }
}
