//! The yarn that rows worked again end by changing to: "Rep rows 2 and 3. Change to B."

use super::colour::colour_at;
use super::colour::colour_index;
use super::row::RowReader;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Row;
use super::token::Token;

impl RowReader<'_> {
    /// The change of yarn told after the rows that `t` asks for, whose heading has `numbers`, as a step of its own.
    pub(super) fn yarn_after(
        &mut self,
        content: &Content,
        t: &[Token<'_>],
        numbers: &Numbers,
    ) -> Option<Item> {
        if !matches!(content, Content::Again(_) | Content::Fabric(..)) {
            return None;
        }
        let (at, colour) = (1..t.len()).rev().find_map(|k| self.change_at(t, k))?;
        let rest = &t[at..];
        let more = rest.iter().any(|t| {
            t.any(&["rep", "repeat", "work", "cont", "continue", "every", "each", "knit", "purl"])
        });
        // "... at the end of Row 9" must speak of the last of these rows.
        let named =
            rest.windows(2).find(|w| w[0].any(&super::again::ROW)).and_then(|w| w[1].number());
        let last = match numbers {
            Numbers::Range(_, last) => Some(*last),
            Numbers::Listed(all) => all.last().copied(),
            _ => None,
        };
        if more || named.is_some_and(|n| last != Some(n)) {
            return None;
        }
        let span = rest[0].span.to(rest[rest.len() - 1].span);
        let ops = vec![Op { act: Do::Colour(colour), span }];
        let heading = Heading { numbers: Numbers::Step, span, ..Heading::default() };
        Some(Item::Row(Row {
            heading,
            content: Content::Work(ops),
            until: None,
            evenly: None,
            counts: Vec::new(),
            unread: Vec::new(),
            span,
        }))
    }

    /// "Change to B", "join C" at `k`, as a clause of its own: where it begins, and the yarn.
    fn change_at(&mut self, t: &[Token<'_>], k: usize) -> Option<(usize, u16)> {
        let clause = t[k - 1].is_stop() || t[k - 1].any(&["and", "then"]);
        let changes = t[k].any(&["change", "changing", "switch", "switching"])
            && t.get(k + 1).is_some_and(|t| t.is("to"));
        let joins = t[k].any(&["join", "joining", "attach"]);
        if !clause || !(changes || joins) {
            return None;
        }
        let from = k + 1 + usize::from(changes);
        let noun = |t: &&Token<'_>| t.any(&["yarn", "color", "colour", "new"]);
        let at = from + t[from.min(t.len())..].iter().take_while(noun).count();
        let (name, len) = colour_at(t, at, self.text, &self.cx.colours)?;
        let ends = t.get(at + len).is_none_or(|t| t.is_stop() || t.any(&["in", "at", "on", "for"]));
        ends.then(|| (k, colour_index(&mut self.colours, &name)))
    }
}
