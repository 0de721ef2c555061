//! Rows worked once more after a repeat: "Rep these 9 rows 8 more times, then work 3 rows in A".

use super::again::ROW;
use super::colour::colour_at;
use super::colour::colour_index;
use super::heading::count;
use super::row::RowReader;
use super::syntax::Again;
use super::syntax::Content;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Row;
use super::syntax::Until;
use super::token::Token;
use crate::source::Span;

/// So many rows after a repeat, in the yarn named.
pub(super) struct After {
    /// The token their clause begins at.
    pub(super) at: usize,
    rows: u32,
    colour: Option<u16>,
    /// They end a length or a number of rows told before, and are part of it.
    within: bool,
    span: Span,
}

impl RowReader<'_> {
    /// The clause that ends `t` with more rows than its repeat, for a row whose heading has `numbers`.
    pub(super) fn rows_after(&mut self, t: &[Token<'_>], numbers: &Numbers) -> Option<After> {
        let step = matches!(numbers, Numbers::Step | Numbers::Next);
        let verb = |t: &Token<'_>| t.any(&["rep", "repeat", "rpt", "work", "cont", "continue"]);
        if !step || !t.iter().take(3).any(verb) {
            return None;
        }
        let at = (2..t.len()).rev().find(|&k| {
            t[k].any(&["then", "ending", "finishing"]) && (t[k - 1].is_stop() || t[k - 1].is("and"))
        })?;
        let verb = |t: &&Token<'_>| t.any(&["work", "with", "by", "working", "knit", "a", "final"]);
        let number = at + 1 + t[at + 1..].iter().take_while(verb).count();
        let (rows, used) = count(t, number)?;
        let noun = number + used + usize::from(t.get(number + used).is_some_and(|t| t.is("more")));
        t.get(noun).filter(|t| t.any(&ROW))?;
        let fill = |t: &&Token<'_>| t.any(&["in", "of", "with", "yarn", "color", "colour", "more"]);
        let named = noun + 1 + t[noun + 1..].iter().take_while(fill).count();
        let found = colour_at(t, named, self.text, &self.cx.colours);
        let end = named + found.as_ref().map_or(0, |(_, len)| *len);
        if t[end.min(t.len())..].iter().any(|t| !t.is_stop()) {
            return None;
        }
        let colour = found.map(|(name, _)| colour_index(&mut self.colours, &name));
        let within = !t[at].is("then");
        Some(After { at, rows, colour, within, span: t[at].span.to(t[t.len() - 1].span) })
    }
}

impl After {
    /// The rows as an item of their own: on in the rows that `repeated` works again.
    pub(super) fn item(&self, repeated: &Content) -> Option<Item> {
        let Content::Again(again) = repeated else { return None };
        if self.within && !matches!(again.until, Until::Times(_) | Until::More(_)) {
            return None;
        }
        let rows = Again::of(again.rows.clone(), Until::Rows(self.rows));
        let content = Content::Again(Again { colour: self.colour, ..rows });
        let heading = Heading { numbers: Numbers::Step, span: self.span, ..Heading::default() };
        let (counts, unread, span) = (Vec::new(), Vec::new(), self.span);
        Some(Item::Row(Row { heading, content, until: None, evenly: None, counts, unread, span }))
    }
}
