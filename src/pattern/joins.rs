//! Joins: rounds closed, yarn taken up at a place, rings.

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Target;
use super::syntax::Where;
use super::vocabulary::stitch_at;

impl Reader<'_> {
    /// "Ch 4, ss into a ring": the chain becomes the ring.
    pub(super) fn makes_ring(&mut self, ops: &mut Vec<Op>, places: &[Where], start: usize) -> bool {
        let ring = matches!(places, [place] if place.target == Target::Ring);
        let chain =
            matches!(&ops[..], [.., Op { act: Do::Chain { links, .. }, .. }] if *links < 20);
        if ring && chain {
            self.push(ops, Do::Join, start);
        }
        ring && chain
    }

    /// "sl st in first ch to form ring", "sl st to join": a join.
    pub(super) fn closes(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let lead = usize::from(matches!(self.word(0), "to" | "and"));
        if !matches!(self.word(lead), "form" | "join" | "make" | "close")
            || (lead == 0 && self.word(0) == "join")
        {
            return false;
        }
        const REST: [&str; 13] = [
            "to", "and", "form", "join", "make", "close", "a", "the", "ring", "circle", "loop",
            "rnd", "round",
        ];
        self.i += self.skip_words(0, &REST);
        self.push(ops, Do::Join, start);
        true
    }

    /// "form a ring with 1 ss in the first ch".
    pub(super) fn forms_ring(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        self.i += self.skip_words(0, &["form", "a", "the", "ring", "circle"]);
        let with = matches!(self.word(0), "with" | "by" | "using");
        if with && self.at(1).is_some_and(|t| t.number() == Some(1)) {
            self.i += 2;
        }
        if with {
            self.pass_join();
        }
        self.push(ops, Do::Join, start);
        true
    }

    /// "..., 3 tr, all into ring": where all before it goes, said last.
    pub(super) fn all_in_ring(&mut self) -> bool {
        let start = self.i;
        self.i += 1;
        let ring = matches!(self.places().as_slice(), [place] if place.target == Target::Ring);
        if !ring {
            self.i = start;
        }
        ring
    }

    /// "in (the) top right corner", "at any corner" at the cursor: its tokens.
    pub(super) fn corner_named(&self) -> Option<usize> {
        let which = [
            "in", "at", "to", "any", "the", "a", "top", "bottom", "upper", "lower", "left",
            "right", "first", "hand", "one",
        ];
        let k = self.skip_words(0, &which);
        let space = matches!(self.word(k + 1), "sp" | "space" | "ch" | "loop");
        (k > 0 && self.word(k) == "corner" && !space).then_some(k + 1)
    }

    pub(super) fn join(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        if self.colour_name(1).is_some() {
            self.i += 1;
            let found = self.take_colour(ops, start);
            self.join_there(ops, start);
            return found;
        }
        let yarn = self.skip_words(1, &["new", "the", "next", "a", "contrast"]);
        if matches!(self.word(yarn), "yarn" | "color" | "colour") {
            self.i += yarn + 1;
            self.take_colour(ops, start);
            self.join_there(ops, start);
            return true;
        }
        self.i += 1;
        if !self.join_there(ops, start) {
            self.push(ops, Do::Join, start);
        }
        true
    }

    /// The rest of a join at the start of a round; "in any ch-2 sp" is where the round begins.
    pub(super) fn join_there(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let fresh = ops.iter().all(|op| matches!(op.act, Do::Colour(_) | Do::FastenOff));
        let corner = self.corner_named().map(|len| {
            self.i += len;
            Where { target: Target::Corner, ..Where::next(1) }
        });
        let place = corner.or_else(|| self.pass_join()).filter(|_| fresh);
        let place = place.filter(|p| matches!(p.target, Target::Space(_) | Target::Corner));
        if let Some(place) = place {
            let place = Where { extent: Extent::Next(1), ..place };
            self.push(ops, Do::Work { act: Act::Slip, each: 1, place }, start);
        }
        place.is_some()
    }

    /// The rest of a join: "with sl st to first sc", "in top of ch-3 to form a ring".
    pub(super) fn pass_join(&mut self) -> Option<Where> {
        self.i += self.skip_words(0, &["with", "by", "using", "a", "rnd", "round", "ends", "ring"]);
        if let Some(found) = stitch_at(self.cx, self.t, self.i)
            && found.act == Act::Slip
        {
            self.i += found.len;
        }
        let place = self.places().first().copied();
        let slip = self.skip_words(0, &["with", "using", "a", "by"]);
        if slip > 0
            && let Some(found) = stitch_at(self.cx, self.t, self.i + slip)
            && found.act == Act::Slip
        {
            self.i += slip + found.len;
        }
        if matches!(self.word(0), "to" | "and") && matches!(self.word(1), "form" | "join" | "make")
        {
            self.i += self.skip_words(
                0,
                &["to", "and", "form", "join", "make", "a", "the", "ring", "circle", "loop"],
            );
        }
        place
    }
}
