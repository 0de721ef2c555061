//! A fabric by its name over part of a row: "work in seed st to marker", "garter st to last 4 sts".

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Repeat;
use super::syntax::Times;
use super::syntax::Where;

/// What the fabric does stitch by stitch.
#[derive(Clone, Copy, PartialEq)]
enum Weave {
    /// Knit and purl by turns, knit first and last.
    Seed,
    /// Every stitch alike.
    Plain(Act),
}

impl Reader<'_> {
    /// "Work in seed st to end", "garter st to marker": the fabric over that stretch. False, with the cursor
    /// where it was, when no stretch is told.
    pub(super) fn fabric_stretch(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        // "Garter 5"
        let garter = self.skip_words(1, &["st", "stitch"]);
        if self.word(0) == "garter"
            && let Some(n) = self.at(garter).and_then(|t| t.number())
        {
            self.i += garter + 1;
            self.i += self.skip_words(0, &["st", "sts", "stitches"]);
            let act = Act::Knit { purl: false, twisted: false };
            self.push(ops, Do::Work { act, each: 1, place: Where::next(n) }, start);
            return true;
        }
        let Some((weave, len)) = self.weave() else { return false };
        self.i += len;
        self.i += self.skip_words(0, &["as", "established", "set", "over"]);
        let Some(times) = self.times() else {
            self.i = start;
            return false;
        };
        let extent = match times {
            Times::ToEnd => Extent::All,
            Times::ToLast(n) => Extent::AllBut(n),
            Times::ToMarker(n) => Extent::ToMarker(n),
            Times::ToCentre(n) => Extent::ToCentre(n),
            _ => {
                self.i = start;
                return false;
            }
        };
        let work = |act, place| Do::Work { act, each: 1, place };
        match weave {
            Weave::Plain(act) => self.push(ops, work(act, Where::of(extent)), start),
            Weave::Seed => {
                let span = self.since(start);
                let one = |purl| {
                    let act = Act::Knit { purl, twisted: false };
                    Op { act: work(act, Where::next(1)), span }
                };
                let pair = vec![one(false), one(true)];
                let repeat =
                    Repeat { ops: pair, cut: Some(1), times, ending: Vec::new(), within: false };
                self.push(ops, Do::Repeat(Box::new(repeat)), start);
            }
        }
        true
    }

    /// "(work in) seed st", "garter st", "St st" at the cursor, and its tokens.
    fn weave(&self) -> Option<(Weave, usize)> {
        const LEAD: [&str; 8] =
            ["work", "working", "cont", "continue", "in", "established", "est", "even"];
        const PATTERN: [&str; 4] = ["pattern", "patt", "pat", "patterns"];
        let lead = self.skip_words(0, &LEAD);
        let faces = Weave::Plain(Act::AsFaces);
        // "Work as set to last 5 sts", "patt as established in garter st to marker"
        let said = self.skip_words(lead, &PATTERN);
        let set = matches!(self.word(said + 1), "set" | "established" | "est" | "before");
        if self.word(said) == "as" && set {
            let over = self.skip_words(said + 2, &["in", "over"]);
            let garter = matches!(self.word(over), "garter" | "gst");
            let plain = Weave::Plain(Act::Knit { purl: false, twisted: false });
            let end = self.skip_words(over + usize::from(garter), &["st", "stitch"]);
            return Some(if garter { (plain, end) } else { (faces, said + 2) });
        }
        let weave = match self.word(lead) {
            "seed" | "moss" => Weave::Seed,
            "garter" | "gst" => Weave::Plain(Act::Knit { purl: false, twisted: false }),
            "stockinette" | "stocking" | "rib" | "ribbing" => faces,
            "st" if matches!(self.word(lead + 1), "st" | "stitch") => faces,
            _ => return None,
        };
        Some((weave, self.skip_words(lead + 1, &["st", "stitch", "pattern", "patt", "pat"])))
    }
}
