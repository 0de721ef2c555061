//! Spaces named by their chain: "ch-2 sp" after a row whose spaces are all of one link.

use super::below::Spot;
use super::fault::Words;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::rows::Attempt;
use super::worker::Worker;
use crate::source::Span;

/// A space named with a number of links that no space of the row below has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Misnamed {
    /// Links in the name.
    pub(super) named: u32,
    /// The words that name it.
    pub(super) span: Span,
}

impl Worker<'_> {
    /// Notes it when the space at spot `k`, called by `links`, is taken for want of one that has so many.
    pub(super) fn note_name(&mut self, links: u32, k: usize, span: Span) {
        let spot = self.below.spots[k];
        if self.knit || !spot.is_space() || self.has_space(Some(links)) {
            return;
        }
        if !self.names_turning(links, k, spot) {
            self.draft.misnamed.get_or_insert(Misnamed { named: links, span });
        }
    }

    /// The name is that of the row's turning chain, of which the space at an end of the row may be a part:
    /// of "ch 4", one link is the space beside the stitch that the other three are.
    fn names_turning(&self, links: u32, k: usize, spot: Spot) -> bool {
        let at_end = self.spaces[0] == self.spaces[k] || self.spaces[k] == 1;
        let turning = u32::from(self.below.turning_links);
        at_end && turning > 0 && (links == turning || links == turning + u32::from(spot.links))
    }
}

impl<'a> MakerAtWork<'a> {
    /// Tells that the row names a space the row below does not have. Where the row below is itself at fault, its
    /// spaces may be wrong for that reason, and nothing is told of them.
    pub(super) fn space_misnamed(&mut self, body: Body<'a>, chosen: &Attempt) {
        let Some(Misnamed { named, span }) = chosen.draft.misnamed else { return };
        let Some(below) = &self.below else { return };
        if self.piece.rows.last().is_some_and(|row| self.faults.at(row.words)) {
            return;
        }
        let mut sizes: Vec<u16> =
            below.spots.iter().filter(|s| s.is_space()).map(|s| s.links).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let each: Vec<String> = sizes.iter().take(4).map(|n| format!("ch-{n}")).collect();
        let (name, made_in) =
            (self.row_name(body.round).to_lowercase(), self.below_name(body.round));
        let made = each.join(" and ");
        let words = Words {
            message: format!(
                "{name} works into a ch-{named} space, but {made_in} has only {made} spaces"
            ),
            expected: format!("{} sp", each.join(" or ")),
            found: format!("ch-{named} sp"),
            fit: format!(
                "name the {} sp here, or work `ch {named}` in {made_in}",
                each.join(" or ")
            ),
        };
        self.add("space-named", body, span, words);
    }
}
