//! German short rows: the double stitch made after the turn, met again and worked as one.

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Where;
use super::token::Kind;

impl Reader<'_> {
    /// Tokens of "DS", "MDS", "double stitch", "german short row stitch", with its letters in brackets,
    /// `k` after the cursor.
    pub(super) fn double_name(&self, k: usize) -> Option<usize> {
        const NAMES: [&[&str]; 7] = [
            &["double", "stitches"],
            &["german", "short", "row", "stitch"],
            &["german", "short", "row"],
            &["double", "stitch"],
            &["mds"],
            &["gsr"],
            &["ds"],
        ];
        let len = self.match_at(k, &NAMES)?;
        let open = self.at(k + len).is_some_and(|t| t.kind == Kind::Open);
        let letters = matches!(self.word(k + len + 1), "ds" | "mds" | "gsr");
        let close = self.at(k + len + 2).is_some_and(|t| t.kind == Kind::Close);
        Some(if open && letters && close { len + 3 } else { len })
    }

    /// "MDS", "make a double stitch": the loop slipped and pulled over the needle after a turn. "K DS as
    /// one", "working double stitches together": that stitch worked again.
    pub(super) fn double_stitch(&mut self, ops: &mut Vec<Op>) -> bool {
        const MAKE: [&str; 8] = ["make", "making", "work", "create", "creating", "and", "a", "the"];
        const WORK: [&str; 6] = ["k", "knit", "p", "purl", "work", "resolve"];
        const WORKING: [&str; 5] = ["knitting", "purling", "working", "resolving", "closing"];
        let start = self.i;
        let filler =
            self.skip_words(1, &["each", "the", "any", "all", "both", "legs", "of", "next"]);
        if WORKING.contains(&self.word(0)) && self.double_name(filler).is_some() {
            // How those on the way are worked: no stitch of its own.
            while self.at(0).is_some_and(|t| matches!(t.kind, Kind::Word | Kind::Number(_))) {
                self.i += 1;
            }
            return true;
        }
        if let Some(len) = self.double_name(filler).filter(|_| WORK.contains(&self.word(0)))
            && (filler > 1 || self.word(0) != "work")
        {
            let purl = matches!(self.word(0), "p" | "purl");
            self.i += filler + len;
            self.i += self.skip_words(0, &["together", "tog", "as", "one", "st", "stitch", "a"]);
            let act = Act::Knit { purl, twisted: false };
            self.push(ops, Do::Work { act, each: 1, place: Where::of(Extent::Next(1)) }, start);
            return true;
        }
        let made = self.skip_words(0, &MAKE);
        let Some(len) = self.double_name(made) else { return false };
        self.i += made + len;
        self.push(ops, Do::Work { act: Act::SlipLoop, each: 1, place: Where::next(1) }, start);
        self.push(ops, Do::Marker, start);
        true
    }

    /// "yf, sl 1" at the start of a row brings the yarn forward and makes no loop of it.
    pub(super) fn yarn_to_side(&mut self) -> bool {
        let comma = usize::from(self.stop_at(1, ','));
        let moved = matches!(self.word(0), "yf" | "yfwd" | "yb" | "ybk" | "ytf" | "ytb");
        if !moved || !self.word(1 + comma).starts_with("sl") {
            return false;
        }
        self.i += 1;
        true
    }

    /// "sl1 pwise, pulling the yarn up to make a double stitch": how the loop just slipped is pulled.
    pub(super) fn pulled_double(&mut self, ops: &mut Vec<Op>) -> bool {
        if !matches!(self.word(0), "pulling" | "pull") {
            return false;
        }
        let start = self.i;
        let mut named = false;
        while self.at(0).is_some_and(|t| matches!(t.kind, Kind::Word | Kind::Number(_))) {
            let len = self.double_name(0);
            named |= len.is_some();
            self.i += len.unwrap_or(1);
        }
        let slipped = ops
            .iter()
            .rev()
            .take(2)
            .any(|op| matches!(op.act, Do::Work { act: Act::SlipLoop, .. }));
        if named && slipped {
            self.push(ops, Do::Marker, start);
        }
        named
    }
}
