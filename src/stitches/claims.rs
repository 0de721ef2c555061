//! Going on after a fault: the stitches the page itself takes a row to have, so that one slip is told once
//! and not again at every row that follows.

use super::below::Spot;
use super::count::printed;
use super::graph::Side;
use super::graph::StitchId;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::ready::Ready;
use super::rows::Attempt;
use crate::pattern::Noun;

impl<'a> MakerAtWork<'a> {
    /// What the page takes the row to have, when that is not what was worked.
    pub(super) fn claim(&mut self, body: Body<'a>, chosen: &Attempt, wrong: bool) {
        if let Some(note) = body.count {
            let stitches = !note.parts.iter().any(|(_, noun)| matches!(noun, Noun::Word(_)));
            self.printed = stitches.then(|| printed(note));
            let right = !wrong && self.agrees(&chosen.draft, note).is_some();
            self.claimed = self.printed.filter(|_| !right);
        } else if wrong || self.faults.about(body.span) {
            // On a page without counts, a row at fault was most likely to keep the stitches it has.
            self.claimed = self.printed.or(wrong.then_some(chosen.had));
        }
    }

    /// After a fault, the row worked on as many stitches as the page last printed: when it fits these, the
    /// page goes on from its own count, and the fault need not be told again.
    pub(super) fn by_claim(
        &mut self,
        attempts: &mut Vec<Attempt>,
        body: Body<'a>,
        ready: &Ready<'_>,
        face: (Side, bool),
        starts: bool,
    ) {
        let Some(claimed) = self.claimed.filter(|_| !starts) else { return };
        let Some(below) = self.below.as_ref().filter(|b| b.ring.is_none()) else { return };
        if below.spaces() == 0 && below.stitches() == claimed && below.behind == 0 {
            return;
        }
        let Some(resized) = below.resized(claimed as usize, self.last_stitch()) else { return };
        let real = self.below.replace(resized);
        let mut more = self.attempts(body, ready, face.0, face.1, starts);
        let fits = more.last().is_some_and(|a| a.exact() && self.count_fits(&a.draft, body));
        if fits {
            attempts.extend(more.pop());
        } else {
            self.below = real;
        }
    }

    /// The stitch made last, to stand for those a row at fault did not make.
    fn last_stitch(&self) -> Option<Spot> {
        let at = self.piece.stitches.iter().rposition(|s| !s.overlay)?;
        let (id, kind) = (StitchId(at as u32), self.piece.stitches[at].kind);
        Some(Spot { id, kind, links: 0, link: 0, edge: None })
    }
}
