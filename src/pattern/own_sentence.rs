//! Sentences in the midst of a line that are steps of their own.

use super::page::Page;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;

impl<'a> Page<'a> {
    /// Where a sentence in the midst of a line begins a step of its own: "K2, yo, k to end. Repeat row 2
    /// until ...". A line is split there; the words before it stay with the row.
    pub(super) fn own_sentence(&self, t: &[Token<'a>]) -> Option<usize> {
        const STEPS: [&str; 23] = [
            "k", "p", "pu", "rep", "repeat", "continue", "cont", "work", "knit", "purl", "bind",
            "cast", "bo", "then", "now", "with", "change", "co", "next", "working", "keeping",
            "inc", "pick",
        ];
        let mut depth = 0i32;
        for k in 1..t.len() {
            match t[k - 1].kind {
                Kind::Open => depth += 1,
                Kind::Close => depth = (depth - 1).max(0),
                _ => {}
            }
            let ends = matches!(t[k - 1].kind, Kind::Stop('.') | Kind::Other('!') | Kind::Close)
                || t[k - 1].kind == Kind::Stop(';') && t[k].any(&["rep", "repeat", "continue"]);
            let closes = t[k].any(&["bind", "cast", "bo"])
                && (matches!(t[k - 1].kind, Kind::Stop(',' | ';')) || t[k - 1].is("then"))
                && t[k..].iter().take(8).all(|t| t.number().is_none());
            // "With E, pick up ..." tells the yarn of what is picked up.
            let yarn = k < 7 && t[0].any(&["with", "using", "join"]);
            let picks = t[k].any(&["pick", "pu"])
                && !yarn
                && (t[k - 1].is_stop() || t[k - 1].any(&["and", "then"]))
                && (t[..k].iter().all(|t| !t.any(&["pick", "along", "turn", "facing", "rotate"]))
                    // "knit 7 rows, turn and pick up ..."
                    || super::fabric::rows_said(&t[..k]).is_some()
                        && t[..k].iter().all(|t| !t.any(&["pick", "along"])));
            let rows = t[k].any(&["knit", "purl", "work"])
                && (t[k - 1].any(&["and", "then"]) || t[k - 1].is_stop())
                && (t.get(k + 1).is_some_and(|t| t.number().is_some())
                    && t.get(k + 2).is_some_and(|t| t.any(&["row", "rows"]))
                    // "CO 40 sts, knit for 2 inches"
                    || t[k - 1].is_stop() && t.get(k + 1).is_some_and(|t| t.is("for")));
            // "*Knit 2 rows B, knit 2 rows A; rep from *", "with B, knit 2 rows; with A, knit 2 rows"
            if depth == 0 && t[k - 1].is_stop() && told_in_rows(t) && goes_on_in_rows(t, k) {
                return Some(k);
            }
            let goes_on = t[k].is("then")
                && t[k - 1].kind == Kind::Stop(',')
                && t[k + 1..].iter().take(2).any(|t| t.any(&super::again::ROW))
                && t[..k].iter().any(|t| t.any(&["them", "these", "pattern", "patt", "total"]));
            if depth > 0
                || !(ends || closes || rows || picks || goes_on)
                || t[k].glued
                || !t[k].any(&STEPS)
            {
                continue;
            }
            // "Rep from * to last 11 ch." belongs to the row its star stands in.
            let inside = t.get(k + 1).is_some_and(|t| t.any(&["from", "between"]))
                || t.get(k + 1).is_some_and(|t| matches!(t.kind, Kind::Star(_)));
            if inside && t[k].any(&["rep", "repeat"]) && !self.outside_star(&t[..k]) {
                continue;
            }
            let stop = (k..t.len())
                .find(|&j| {
                    let more = t.get(j + 1).is_some_and(|t| t.glued);
                    let next = |d: usize| t.get(j + d).is_some_and(|t| t.number().is_some());
                    let row = t[j].is_stop()
                        && t.get(j + 1).is_some_and(|t| t.any(&["knit", "purl"]))
                        && next(2);
                    row || matches!(t[j].kind, Kind::Stop('.') | Kind::Other('!')) && !more
                })
                .map_or(t.len(), |j| j + 1);
            let span = t[k].span.to(t[stop - 1].span);
            if matches!(self.rows.step(self.lower, span), Some((Numbers::Step, true))) {
                return Some(k);
            }
        }
        None
    }

    /// "Rep from * 3 more times" after the words `before` of a row without a star, where a star stands before an
    /// earlier row: it goes back to that row.
    fn outside_star(&self, before: &[Token<'a>]) -> bool {
        let told = self.pending.iter().flat_map(|row| &row.body);
        self.starred
            && !before.iter().any(|t| matches!(t.kind, Kind::Star(_)))
            && !told.into_iter().any(|words| self.lower[words.range()].contains('*'))
    }
}

/// The words tell a step in rows, with or without a star before it.
fn told_in_rows(t: &[Token<'_>]) -> bool {
    let starred = matches!(t[0].kind, Kind::Star(_));
    super::fabric::begins_rows(&t[usize::from(starred)..])
}

/// At `k`, after a stop, another such step begins, or those since the star are told again.
fn goes_on_in_rows(t: &[Token<'_>], k: usize) -> bool {
    let clause = t[..k - 1].iter().rposition(Token::is_stop).map_or(0, |at| at + 1);
    let words = t[clause..k - 1].iter().filter(|t| t.kind == Kind::Word).count();
    let yarn = t[clause..k].iter().take(2).any(|t| t.any(&["with", "using", "in"]));
    let star = |t: &Token<'_>| matches!(t.kind, Kind::Star(_));
    let again = t[k].any(&["rep", "repeat"]) && t[k..].iter().take(3).any(star);
    // "With B," is that of the step it stands before.
    again || super::fabric::begins_rows(&t[k..]) && !(yarn && words < 4)
}
