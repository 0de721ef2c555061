//! Yarns told for rows by their numbers, apart from the rows: "Use A for rows 1-18", "changing to B for the last
//! 20 rows".

use super::again::ROW;
use super::colour::colour_index;
use super::heading::count;
use super::row::RowReader;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Row;
use super::syntax::RowColour;
use super::token::Kind;
use super::token::Token;

/// Rows that one note may speak of.
const MOST: u32 = 50_000;

impl RowReader<'_> {
    /// Learns what `t`, the whole page, says of the yarns of rows.
    pub(super) fn learn_row_colours(&mut self, t: &[Token<'_>]) {
        for k in 1..t.len() {
            let led = t[k - 1].any(&["use", "using", "with", "in", "to", "and", "change", "work"])
                || t[k - 1].is_stop();
            if !led || !self.names_yarn(t, k) {
                continue;
            }
            let Some((rows, _)) = rows_told(t, k + 1) else { continue };
            let name = self.text.get(t[k].span.range()).unwrap_or_default().to_owned();
            let colour = colour_index(&mut self.colours, &name);
            self.rules.row_colours.push(RowColour { rows, colour });
        }
    }

    /// A yarn letter, a yarn of the page, or a word in capitals that stands elsewhere on the page as well.
    fn names_yarn(&self, t: &[Token<'_>], k: usize) -> bool {
        let written = |t: &Token<'_>| self.text.get(t.span.range()).unwrap_or_default().to_owned();
        let own = written(&t[k]);
        if t[k].kind != Kind::Word {
            return false;
        }
        if super::colour::is_letter_code(&own) || self.cx.colours.iter().any(|c| c == t[k].text) {
            return true;
        }
        let capital = own.starts_with(char::is_uppercase) && own.len() > 2;
        let elsewhere = t.iter().enumerate().any(|(j, t)| j != k && written(t) == own);
        capital && elsewhere && !super::words::known(t[k].text)
    }
}

/// "for rows 1-18", "for the last 20 rows", "on Row 7" at `k`: the rows, as from and to; the last n rows are told
/// as from 0 to n.
pub(super) fn rows_told(t: &[Token<'_>], k: usize) -> Option<((u32, u32), usize)> {
    t.get(k).filter(|t| t.any(&["for", "on"]))?;
    let k = k + 1 + usize::from(t.get(k + 1).is_some_and(|t| t.is("the")));
    if t.get(k)?.is("last") {
        let (n, used) = count(t, k + 1)?;
        t.get(k + 1 + used).filter(|t| t.any(&ROW))?;
        return (n < MOST).then_some(((0, n), k + 2 + used));
    }
    t.get(k).filter(|t| t.any(&ROW))?;
    let from = t.get(k + 1)?.number().filter(|&n| (1..MOST).contains(&n))?;
    let ranged = t.get(k + 2).is_some_and(|t| t.kind == Kind::Dash || t.any(&["to", "through"]));
    let to = t.get(k + 3).and_then(|t| t.number()).filter(|&n| ranged && n > from && n < MOST);
    Some(((from, to.unwrap_or(from)), k + if to.is_some() { 4 } else { 2 }))
}

impl RowReader<'_> {
    /// The row takes up the yarn told beside its heading: `Row 1 (RS) [CC1]:`.
    pub(super) fn take_tagged_yarn(&mut self, item: &mut Item) {
        let Item::Row(Row { heading: Heading { yarn: Some(span), .. }, content, .. }) = item else {
            return;
        };
        let name = self.text[span.range()].to_owned();
        let plain = super::colour::plain(&name.to_ascii_lowercase());
        let letters = name.trim_end_matches(|c: char| c.is_ascii_digit());
        let known = self.cx.colours.iter().any(|c| c.eq_ignore_ascii_case(&name));
        if !(known || plain || super::colour::is_letter_code(letters)) {
            return;
        }
        let colour = super::colour::colour_index(&mut self.colours, &name);
        match content {
            Content::Work(ops) => ops.insert(0, Op { act: Do::Colour(colour), span: *span }),
            Content::Again(again) => again.colour = Some(colour),
            Content::Fabric(_, _, own) => *own = Some(colour),
            Content::Shaped(_) => {}
        }
    }
}

/// Gives "the last n rows" their numbers, by the highest number on the page; without one they stay unknown.
pub(super) fn number_the_last(colours: &mut Vec<RowColour>, items: &[Item]) {
    if colours.iter().all(|c| c.rows.0 > 0) {
        return;
    }
    let highest = |item: &Item| {
        let Item::Row(row) = item else { return None };
        let open = matches!(&row.content, Content::Again(_))
            && !matches!(row.heading.numbers, Numbers::Range(..) | Numbers::Listed(_));
        match &row.heading.numbers {
            Numbers::Range(_, b) => Some(*b),
            Numbers::Listed(all) if !open => all.iter().max().copied(),
            _ => None,
        }
    };
    let last = items.iter().filter_map(highest).max().unwrap_or(0);
    colours.retain_mut(|c| {
        if let (0, n) = c.rows {
            c.rows = ((last + 1).saturating_sub(n).max(1), last);
        }
        c.rows.1 > 0
    });
}
