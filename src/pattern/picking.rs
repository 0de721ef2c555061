//! Loops picked up along an edge: how many, and along which.

use super::reader::Reader;
use super::syntax::Do;
use super::syntax::Edge;
use super::syntax::Op;
use super::token::Kind;

impl Reader<'_> {
    /// "pick up and knit 60 sts evenly along left side edge".
    pub(super) fn pick_up(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let filler =
            ["and", "k", "knit", "evenly", "purl", "p", "another", "approx", "about", "work"];
        let verb = if self.word(0) == "pu" { 1 } else { 2 };
        if let Some((name, len)) = self.colour_name(verb)
            && self.at(verb + len).is_none_or(|t| t.is_stop())
        {
            // "Pick up MC": the yarn left hanging.
            let index = super::colour::colour_index(self.colours, &name);
            self.i += verb + len;
            self.push(ops, Do::Colour(index), start);
            return true;
        }
        let mut k = self.skip_words(verb, &filler);
        if self.at(k).is_some_and(|t| t.kind == Kind::Other('&')) {
            k = self.skip_words(k + 1, &filler);
        }
        let n = self.count_at(k);
        k += n.map_or(0, |(_, used)| used);
        let each = self.skip_words(k, &["st", "sts", "stitch", "stitches", "a", "more"]);
        let rate = matches!(self.word(each), "in" | "for")
            && matches!(self.word(each + 1), "each" | "every");
        let along = matches!(
            self.word(each),
            "along" | "evenly" | "from" | "down" | "up" | "across" | "in" | "on" | "around" | "at"
        );
        if n.is_none() && !along && each == k {
            return false;
        }
        self.i += each;
        let edge = self.edge();
        self.push(ops, Do::PickUp(n.map(|(n, _)| n).filter(|_| !rate), edge), start);
        // "... and 3 sts along the cast-on edge", "..., 20 sts along the side".
        while let Some((n, lead)) = self.picks_more() {
            let (again, n) = (self.i, Some(n));
            self.i += lead;
            let edge = self.edge();
            self.push(ops, Do::PickUp(n, edge), again);
        }
        true
    }

    /// One more stretch to pick up at the cursor: its number and the tokens before its edge.
    fn picks_more(&self) -> Option<(u32, usize)> {
        let comma = usize::from(self.stop_at(0, ','));
        let and = usize::from(matches!(self.word(comma), "and" | "then"));
        let (n, used) = self.count_at(comma + and).filter(|_| comma + and > 0)?;
        let counted = matches!(self.word(comma + and + used), "st" | "sts" | "stitches");
        (and > 0 || counted).then_some((n, comma + and + used))
    }

    /// "Remove the provisional cast-on and place 40 sts on the needle": its loops are live again.
    pub(super) fn frees(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        if !(1..5).any(|k| matches!(self.word(k), "provisional" | "waste" | "scrap")) {
            return false;
        }
        let mut n = None;
        while let Some(token) = self.at(0).filter(|t| !matches!(t.kind, Kind::Stop('.' | ';'))) {
            n = n.or(token
                .number()
                .filter(|_| matches!(self.word(1), "st" | "sts" | "stitches" | "live" | "loops")));
            self.i += 1;
        }
        self.push(ops, Do::PickUp(n, Edge::CastOn), start);
        true
    }

    /// The edge the words up to the next stop or pick-up name.
    fn edge(&mut self) -> Edge {
        let mut edge = Edge::Unsaid;
        while let Some(token) = self.at(0) {
            let next = matches!(self.word(0), "pick" | "pu" | "then")
                || self.word(0) == "and" && matches!(self.word(1), "pick" | "pu" | "then")
                || self.picks_more().is_some();
            if next || matches!(token.kind, Kind::Stop('.' | ';' | '\n') | Kind::Open) {
                break;
            }
            let off =
                self.at(1).is_some_and(|t| t.is("off")) || self.at(2).is_some_and(|t| t.is("off"));
            let number = self.at(1).and_then(|t| t.number()).filter(|&n| n < 500);
            edge = match token.text {
                "log" | "strip" if number.is_some() => Edge::Strip(number.unwrap_or(0) as u16),
                "cast" | "bind" | "bound" if off => Edge::Top,
                "cast" | "co" | "bottom" | "lower" => Edge::CastOn,
                "bo" | "top" | "upper" => Edge::Top,
                "left" => Edge::Left,
                "right" if !matches!(self.word(1), "side") || self.word(2) == "edge" => Edge::Right,
                "other" | "opposite" | "second" => Edge::Other,
                "side" | "sides" | "long" | "edge" | "selvage" | "selvedge" | "ridge"
                | "ridges" | "rows" | "row" | "short" | "log" | "strip"
                    if edge == Edge::Unsaid =>
                {
                    Edge::Side
                }
                _ => edge,
            };
            self.i += 1;
        }
        edge
    }
}
