//! What a page means by "inc", "dec" and "m": "inc = 2 hdc in one st", or the stitch of the row they stand in.

use super::header::CraftWord;
use super::row::RowReader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Height;
use super::syntax::Op;
use super::syntax::Style;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::height_at;

/// A definition of more words is one of a whole row.
const LONGEST: usize = 18;

impl RowReader<'_> {
    /// Learns what `t`, the whole page, says "inc" and "dec" are.
    pub(super) fn learn_shaping(&mut self, t: &[Token<'_>]) {
        if self.cx.craft == CraftWord::Knit {
            return;
        }
        for k in 0..t.len() {
            let miss = t.get(k + 2).is_some_and(|t| t.any(&["miss", "skip"]));
            self.cx.misses |= t[k].is("m") && sets_off(t, k) && miss;
            let more = t[k].any(&["inc", "increase"]);
            if !more && !t[k].any(&["dec", "decrease"]) {
                continue;
            }
            let height = self.defined(t, k);
            let own = if more { &mut self.cx.inc } else { &mut self.cx.dec };
            *own = own.or(height);
        }
    }

    /// The one height named in the words that say what the name at `k` is.
    fn defined(&self, t: &[Token<'_>], k: usize) -> Option<Height> {
        if !sets_off(t, k) {
            return None;
        }
        let next = |j: usize| t.get(j + 2).is_some_and(|t| t.kind == Kind::Other('='));
        let ends = |j: usize| match t[j].kind {
            Kind::Stop('.' | ';' | '\n') => true,
            Kind::Stop(',') => next(j),
            _ => false,
        };
        let end = (k + 2..t.len()).find(|&j| ends(j)).unwrap_or(t.len());
        let words = &t[k + 2..end];
        let row = words.iter().any(|t| t.any(&["each", "across", "end", "rep", "repeat", "until"]));
        if row || words.len() > LONGEST {
            return None;
        }
        let mut heights: Vec<Height> = Vec::new();
        let mut j = k + 2;
        while j < end {
            let found = height_at(&self.cx, t, j);
            j += found.map_or(1, |(_, len)| len);
            heights.extend(found.map(|(height, _)| height));
        }
        heights.dedup();
        if let [height] = heights[..] { Some(height) } else { None }
    }
}

/// What stands at `k` begins a line or a clause and is set off by a mark, as what is defined is.
fn sets_off(t: &[Token<'_>], k: usize) -> bool {
    let begins = k == 0 || !matches!(t[k - 1].kind, Kind::Word | Kind::Number(_));
    begins
        && t.get(k + 1).is_some_and(|mark| {
            matches!(mark.kind, Kind::Stop(':') | Kind::Other('='))
                || mark.kind == Kind::Dash && !mark.glued
        })
}

/// An "inc" or "dec" before the first stitch that a row names is of the one kind the row has.
pub(super) fn of_the_row(ops: &mut [Op]) {
    let mut heights: Vec<Height> = Vec::new();
    named(ops, &mut heights);
    heights.dedup();
    let [height] = heights[..] else { return };
    for op in ops {
        match &mut op.act {
            Do::Work { act: act @ Act::Increase, each, .. } => {
                *act = Act::Post(height, Style::Plain);
                *each = each.saturating_mul(2);
            }
            Do::Work { act: act @ Act::Decrease, .. } => {
                *act = Act::Together(height, 2, Style::Plain);
            }
            Do::Work { act: Act::Post(..), .. } | Do::Repeat(_) | Do::OnePlace(..) => break,
            _ => {}
        }
    }
}

/// The heights of the stitches that `ops` name.
fn named(ops: &[Op], heights: &mut Vec<Height>) {
    for op in ops {
        match &op.act {
            Do::Work { act: Act::Post(height, _), .. } => heights.push(*height),
            Do::Repeat(repeat) => named(&repeat.ops, heights),
            Do::OnePlace(inner, _) => named(inner, heights),
            _ => {}
        }
    }
}
