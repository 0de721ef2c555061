//! Parts worked as another part was: "Panel 2: as Panel 1, but in colour order B, A, C", and yarns that take one
//! another's place.

use super::colour::colour_at;
use super::colour::colour_index;
use super::row::RowReader;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Item;
use super::syntax::Op;
use super::syntax::Row;
use super::token::Kind;
use super::token::Token;

/// "using CC2 in place of CC1", "with B instead of A", "replacing A with B": the yarn, and the one whose place it
/// takes.
pub(super) fn instead(
    t: &[Token<'_>],
    text: &str,
    known: &[String],
    colours: &mut Vec<String>,
) -> Option<(u16, u16)> {
    let yarn = |k: usize| colour_at(t, k, text, known);
    let (own, before) = (0..t.len()).find_map(|k| {
        if t[k].any(&["replacing", "replace"]) {
            let (before, len) = yarn(k + 1)?;
            t.get(k + 1 + len).filter(|t| t.any(&["with", "by"]))?;
            return Some((yarn(k + 2 + len)?.0, before));
        }
        let (own, len) = yarn(k)?;
        let place = t.get(k + len..)?;
        let of = place.iter().take(4).position(|t| t.any(&["of", "for"]))?;
        let swaps = place[..of].iter().any(|t| t.any(&["place", "instead"]));
        Some((own, yarn(k + len + of + 1).filter(|_| swaps)?.0))
    })?;
    Some((colour_index(colours, &own), colour_index(colours, &before)))
}

impl RowReader<'_> {
    /// The rows of the part that `t` says this one is worked like, in the yarns it tells; `items` is what was read
    /// so far, ending in the section these words stand in.
    pub(super) fn as_other_part(&mut self, t: &[Token<'_>], items: &[Item]) -> Option<Vec<Item>> {
        let lead = t
            .iter()
            .take_while(|t| t.any(&["work", "make", "knit", "crochet", "the", "same", "exactly"]))
            .count();
        let as_at = t.get(lead).filter(|t| t.any(&["as", "like"])).map(|_| lead)?;
        let named =
            as_at + 1 + t[as_at + 1..].iter().take_while(|t| t.any(&["for", "per", "the"])).count();
        let (name, used) = self.section_at(t, named)?;
        let is =
            |item: &Item, want: &str| matches!(item, Item::Section { name, .. } if name == want);
        let begin = items.iter().rposition(|item| is(item, &name))?;
        let here = items.iter().rposition(|item| matches!(item, Item::Section { .. }))?;
        let rows: Vec<&Row> = items[begin + 1..]
            .iter()
            .take_while(|item| !matches!(item, Item::Section { .. }))
            .filter_map(|item| if let Item::Row(row) = item { Some(row) } else { None })
            .collect();
        let fresh = !items[here..].iter().any(|item| matches!(item, Item::Row(_)));
        if begin == here || !fresh || !rows.iter().any(|row| founds(row)) {
            return None;
        }
        let own = self.yarns_told(&t[named + used..]);
        let mut copies: Vec<Row> = rows.into_iter().cloned().collect();
        recolour(&mut copies, &own);
        Some(copies.into_iter().map(Item::Row).collect())
    }

    /// The yarns a stretch of words names, in order.
    fn yarns_told(&mut self, t: &[Token<'_>]) -> Vec<u16> {
        let (mut found, mut k) = (Vec::new(), 0);
        while k < t.len() {
            match colour_at(t, k, self.text, &self.cx.colours) {
                Some((name, len)) => {
                    found.push(colour_index(&mut self.colours, &name));
                    k += len;
                }
                None => k += 1,
            }
        }
        found
    }
}

/// The row begins a piece.
fn founds(row: &Row) -> bool {
    matches!(&row.content, Content::Work(ops) if ops.iter().any(|op| {
        matches!(op.act, Do::CastOn(_) | Do::MagicRing)
            || matches!(op.act, Do::Chain { links, .. } if links > 7)
    }))
}

/// Gives the rows the yarns `own` in the places of those they name, in the order they name them first.
fn recolour(rows: &mut [Row], own: &[u16]) {
    let mut order: Vec<u16> = Vec::new();
    let mut change = |colour: &mut u16| {
        let at = order.iter().position(|c| c == colour).unwrap_or_else(|| {
            order.push(*colour);
            order.len() - 1
        });
        *colour = own.get(at).copied().unwrap_or(*colour);
    };
    fn each(ops: &mut [Op], change: &mut impl FnMut(&mut u16)) {
        for op in ops {
            match &mut op.act {
                Do::Colour(colour) => change(colour),
                Do::Repeat(repeat) => each(&mut repeat.ops, change),
                _ => {}
            }
        }
    }
    for row in rows {
        match &mut row.content {
            Content::Work(ops) => each(ops, &mut change),
            Content::Again(again) => again.colour.iter_mut().for_each(&mut change),
            Content::Fabric(_, _, colour) => colour.iter_mut().for_each(&mut change),
            Content::Shaped(_) => {}
        }
    }
}

/// How many a section stands for by its name: "Strips 2-7".
pub(super) fn several(name: &str) -> Option<u32> {
    let lower = name.to_ascii_lowercase();
    let t = super::token::cut(&lower, 0);
    let dash = t.iter().position(|t| t.kind == Kind::Dash || t.any(&["to", "and", "through"]))?;
    let (from, to) = (t.get(dash.checked_sub(1)?)?.number()?, t.get(dash + 1)?.number()?);
    (from < to && to - from < 100).then_some(to - from + 1)
}
