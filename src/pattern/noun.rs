//! Nouns of placement phrases: which kind of place is meant.

use super::place::Phrase;
use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Target;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::height_at;
use super::vocabulary::macro_at;
use super::vocabulary::stitch_at;

impl Reader<'_> {
    /// "beg ch", "first ch-3" is the turning chain.
    pub(super) fn beginning_chain(&self) -> bool {
        self.word(0) != "first" && matches!(self.word(1), "ch" | "chain")
    }

    /// A noun that names the kind of place. Ends the phrase unless "of" or a tail follows.
    pub(super) fn noun(&mut self, said: &mut Phrase) -> bool {
        let word = self.word(0);
        if let Some(found) = macro_at(self.cx, self.t, self.i)
            && let Act::Macro(index) = found.act
        {
            self.i += found.len;
            let name = self.cx.macros.get(usize::from(index)).map_or("", String::as_str);
            if matches!(said.target, Some(Target::Space(_))) && super::block::names_block(name) {
                // "ch-3 sp of last block": the space it is, since blocks are no groups of the row.
                self.i += self.skip_words(0, &["below"]);
                self.pass_row_below();
                return false;
            }
            return self.named(said, Target::Group(index));
        }
        let (target, len) = match word {
            "st" | "sts" | "stitch" | "stitches" => (Target::Any, 1),
            "sp" | "sps" | "space" | "spaces" | "arch" | "arches" | "loop" | "loops" | "lp"
            | "lps" | "arc" | "hole" | "gap" => (Target::Space(said.links), 1),
            "ch" | "chain" | "chs" | "chains" => return self.chain_noun(said),
            "tch" | "turning" | "t" | "beg" | "beginning" | "starting" | "initial"
                if self.turning_noun().is_some() =>
            {
                (Target::Turning, self.turning_noun().unwrap_or(1))
            }
            "beg" | "beginning" => (Target::Turning, 1),
            "ring" | "circle" | "mr" => (Target::Ring, 1),
            "corners" => {
                // "3 sc in corners": in each of them.
                said.each |= said.number.is_none() && !said.same;
                (Target::Corner, 1)
            }
            "corner" | "point" | "tip" => (Target::Corner, 1),
            "group" | "groups" | "grp" | "grps" | "shell" | "fan" | "block" | "blocks" | "tile"
            | "box"
                if !matches!(said.target, Some(Target::Space(_)))
                    || matches!(word, "group" | "groups" | "grp" | "grps" | "shell" | "fan") =>
            {
                (Target::Group(u16::MAX), 1)
            }
            // "ch-1 sp of next V": the V is named by its letter, and the space says where.
            "v" | "vs" | "block" | "blocks" | "tile" | "tiles" | "box" | "boxes" | "square"
            | "squares" | "pixel" | "pixels"
                if matches!(said.target, Some(Target::Space(_))) =>
            {
                (Target::Space(said.links), 1)
            }
            "marker" | "marked" | "m" => (Target::Marked, 1),
            "cluster" | "clusters" | "cl" | "cls" | "puff" | "puffs" | "bobble" | "bobbles"
            | "popcorn" | "popcorns" => (Target::Cluster, 1),
            "place" | "spot" => (Target::Any, 1),
            "row" | "side" | "edge" | "end" | "ends" => (Target::RowEnd, 1),
            "knit" | "k" if matches!(self.word(1), "st" | "sts") => (Target::Face(false), 2),
            "purl" | "p" if matches!(self.word(1), "st" | "sts") => (Target::Face(true), 2),
            _ => match height_at(self.cx, self.t, self.i) {
                Some((height, len)) => (Target::Post(height), len),
                None => match stitch_at(self.cx, self.t, self.i) {
                    Some(found) if said.target.is_none() => match found.act {
                        Act::Post(height, _) => (Target::Post(height), found.len),
                        Act::Together(height, ..) => (Target::Post(height), found.len),
                        _ => (Target::Any, found.len),
                    },
                    _ => return false,
                },
            },
        };
        self.i += len;
        let block = matches!(word, "block" | "tile" | "box" | "square" | "row");
        let last = self.at(1).is_none_or(|t| t.is_stop() || t.kind == Kind::Close);
        if block && last && self.at(0).is_some_and(|t| t.number().is_some()) {
            // "ch-3 sp of block 1"
            self.i += 1;
        }
        if matches!(target, Target::Space(_))
            && matches!(self.word(0), "made" | "formed" | "created")
            && self.word(1) == "by"
        {
            // "the sp made by the turning ch"
            let lead = self.skip_words(2, &["the"]);
            if let Some(len) = self.turning_noun_at(lead) {
                self.i += lead + len;
                return self.named(said, Target::TurningSpace);
            }
        }
        let spaced = matches!(self.word(0), "sp" | "space" | "loop" | "lp");
        let own = matches!(self.t[self.i - 1].text, "sp" | "space" | "loop" | "lp");
        if target == Target::Turning && (own || spaced) {
            self.i += usize::from(!own);
            return self.named(said, Target::TurningSpace);
        }
        if target == Target::Turning
            && self.at(0).is_some_and(|t| t.kind == Kind::Dash)
            && matches!(self.word(1), "sp" | "space" | "loop")
        {
            self.i += 2;
            return self.named(said, Target::TurningSpace);
        }
        self.named(said, target)
    }

    /// Records a target; goes on when "of" or another noun refines it.
    pub(super) fn named(&mut self, said: &mut Phrase, target: Target) -> bool {
        let refine = matches!((said.target, target), (Some(Target::Any), _) | (None, _));
        let corner = said.target == Some(Target::Corner) && said.links.is_none();
        let keep_turning = said.target == Some(Target::Turning) || corner;
        let of_group = matches!(said.target, Some(Target::Space(_) | Target::Link(_)))
            && matches!(target, Target::Group(name) if name != u16::MAX);
        let part = matches!(said.target, Some(Target::Post(_) | Target::Any))
            && matches!(target, Target::Group(_) | Target::InGroup(_));
        let nth = said.ordinal.or(if said.first { Some(1) } else { None });
        if of_group || part && said.middle {
            said.target = Some(target);
        } else if part && let Some(n) = nth.or(if said.last { Some(u32::MAX) } else { None }) {
            said.target = Some(Target::InGroup(n));
        }
        let centred = said.centre || said.middle;
        if target == Target::Corner && centred && matches!(said.target, Some(Target::Post(_))) {
            // "3 sc in the centre sc of each corner"
            said.target = Some(Target::Corner);
        }
        if said.target == Some(Target::Turning) && matches!(target, Target::Space(_)) {
            said.target = Some(Target::TurningSpace);
        }
        let keep_turning = keep_turning || said.target == Some(Target::TurningSpace);
        if !keep_turning && (refine || matches!(target, Target::Turning | Target::Space(_))) {
            said.target = Some(target);
        }
        if matches!(target, Target::Any | Target::Post(_))
            && matches!(self.word(0), "st" | "sts" | "stitch" | "stitches")
        {
            self.i += 1;
        }
        if target == Target::Corner
            && let Some((_, len)) = height_at(self.cx, self.t, self.i)
        {
            self.i += len;
        }
        if matches!(self.word(0), "below") {
            self.i += 1;
        }
        self.pass_row_below();
        let rows_below = self.at(0).is_some_and(|t| t.number().is_some())
            && matches!(self.word(1), "row" | "rows" | "rnd" | "rnds")
            && matches!(self.word(2), "below" | "down");
        if rows_below {
            return true;
        }
        if self.word(0) == "of" && !matches!(self.word(1), "row" | "rnd" | "round") {
            self.i += 1;
            return true;
        }
        let corner_chain = target == Target::Corner && matches!(self.word(0), "ch" | "chain");
        // "in centre sc of each 3-sc corner"
        let cornered = matches!(target, Target::Post(_) | Target::Any)
            && (said.centre || said.middle)
            && matches!(self.word(0), "corner" | "corners");
        corner_chain
            || cornered
            || matches!(target, Target::Post(_) | Target::Any) && said.last && self.space_follows()
            || matches!(target, Target::Space(_))
                && (matches!(self.word(0), "between" | "before" | "betw" | "btwn")
                    || self.word(0) == "after" && self.word(1) == "last")
            || matches!(self.word(0), "sp" | "space" | "sps" | "spaces" | "loop" | "lp")
                && !matches!(target, Target::Space(_))
    }

    /// "before (the next) ch-2 sp" at the cursor.
    fn space_follows(&self) -> bool {
        let k = self.skip_words(1, &["the", "next"]);
        let numbered = self.at(k).is_some_and(|t| t.number().is_some());
        let space = matches!(self.word(k), "ch" | "chain" | "sp" | "space" | "corner")
            || numbered && matches!(self.word(k + 1), "ch" | "chain");
        self.word(0) == "before" && space
    }

    /// "from previous row", "of the last row": where every place is, when nothing else is said.
    fn pass_row_below(&mut self) {
        let k = self.skip_words(0, &["from", "of", "in", "on", "the"]);
        let short = self.word(k) == "r" && self.at(k + 1).is_some_and(|t| t.glued);
        let numbered = k > 0
            && (short || matches!(self.word(k), "row" | "rnd" | "round"))
            && self.at(k + 1).is_some_and(|t| t.number().is_some());
        let below = k > 0 && matches!(self.word(k), "previous" | "prev" | "last");
        if numbered || below && matches!(self.word(k + 1), "row" | "rnd" | "round") {
            self.i += k + 2;
            self.pass_owned_group();
        }
    }

    /// "of previous row's block", "of R1 square": whose place it is, which the place says itself.
    fn pass_owned_group(&mut self) {
        let quoted = self.at(0).is_some_and(|t| matches!(t.kind, Kind::Other('\'' | '’')));
        let own = if quoted && self.word(1) == "s" { 2 } else { 0 };
        if super::again::GROUPS[..12].contains(&self.word(own)) {
            self.i += own + 1;
        } else {
            self.i += own;
        }
    }

    /// "ch", "ch-3 sp", "ch sp", "chain space", "ch of turning ch".
    pub(super) fn chain_noun(&mut self, said: &mut Phrase) -> bool {
        self.i += 1;
        if self.stop_at(0, '.') && matches!(self.word(1), "from" | "of" | "sp" | "space") {
            self.i += 1;
        }
        let mut links = said.links;
        // "ch - 20 dc" is a count set off by a dash, "ch-3" and "ch -3" a space.
        let own = |t: &Token<'_>| t.kind == Kind::Dash && !matches!(t.text, "—" | "–" | "--");
        let touches = self.at(0).is_some_and(|t| t.glued) || self.at(1).is_some_and(|t| t.glued);
        let dash = usize::from(self.at(0).is_some_and(own) && touches);
        if let Some(n) = self.at(dash).and_then(|t| t.number())
            && (dash > 0
                || said.top && said.links.is_none()
                || self.at(0).is_some_and(|t| t.glued)
                || matches!(self.word(1), "sp" | "space" | "loop" | "lp"))
        {
            links = Some(n);
            self.i += dash + 1;
            let spaced = matches!(self.word(1), "sp" | "sps" | "space" | "spaces" | "loop" | "lp");
            // "ch1-sp"
            self.i += usize::from(spaced && self.at(0).is_some_and(own));
        } else if dash > 0 && matches!(self.word(1), "sp" | "sps" | "space" | "spaces" | "loop") {
            self.i += 1;
        }
        said.links = links;
        // "ch-2 corner sp": the space, by its place.
        if self.word(0) == "corner" && matches!(self.word(1), "sp" | "space" | "loop" | "lp") {
            self.i += 1;
            if said.each {
                // "in each ch-2 corner sp": all corners, whatever else the round holds.
                self.i += 1;
                return self.named(said, Target::Corner);
            }
        }
        let spaced = matches!(
            self.word(0),
            "sp" | "sps" | "space" | "spaces" | "loop" | "loops" | "lp" | "lps" | "arch" | "arches"
        );
        if spaced {
            self.i += 1;
            return self.named(said, Target::Space(links));
        }
        if self.word(0) == "from" && self.skip_words(1, &["the", "your"]) < 4 {
            let skip = self.skip_words(1, &["the", "your"]);
            if matches!(self.word(skip), "hook" | "hk") {
                self.i += skip + 1;
                said.from_hook = true;
                said.target = Some(Target::Chain);
                return false;
            }
        }
        if said.top && said.ordinal.is_none() && !said.middle {
            return self.named(said, Target::Turning);
        }
        if links.is_some() && said.ordinal.is_none() && !said.turning && said.target.is_none() {
            return self.named(said, Target::Space(links));
        }
        if said.ordinal.is_some() || said.middle {
            said.target = Some(Target::Link(said.ordinal.unwrap_or(0)));
            if self.word(0) == "of" {
                self.i += 1;
                return true;
            }
            return false;
        }
        self.named(said, Target::Chain)
    }

    /// As [`Self::turning_noun`], `k` after the cursor.
    pub(super) fn turning_noun_at(&mut self, k: usize) -> Option<usize> {
        let start = self.i;
        self.i += k;
        let len = self.turning_noun();
        self.i = start;
        len
    }

    /// Tokens of "tch", "turning chain", "t-ch", "turning ch-3" at the cursor.
    pub(super) fn turning_noun(&self) -> Option<usize> {
        let mut len = match self.word(0) {
            "tch" => 1,
            "beg" | "beginning" | "starting" | "initial"
                if matches!(self.word(1), "ch" | "chain") =>
            {
                2
            }
            "turning"
                if matches!(
                    self.word(1),
                    "ch" | "chain" | "chains" | "sp" | "space" | "loop" | "lp"
                ) =>
            {
                2
            }
            "t" | "turning"
                if self.at(1).is_some_and(|t| t.kind == Kind::Dash)
                    && matches!(self.word(2), "ch" | "chain") =>
            {
                3
            }
            "t" if self.word(1) == "ch" => 2,
            _ => return None,
        };
        let dash = usize::from(self.at(len).is_some_and(|t| t.kind == Kind::Dash));
        let number = self.at(len + dash).filter(|t| t.number().is_some());
        let own = self.word(len + dash + 1).is_empty() || number.is_some_and(|t| t.glued);
        if number.is_some() && own {
            len += dash + 1;
        }
        Some(len)
    }

    /// Passes a noun such as "sts" or "dc" after a count.
    pub(super) fn skip_noun(&mut self) {
        if matches!(
            self.word(0),
            "st" | "sts" | "stitch" | "stitches" | "ch" | "chs" | "chain" | "chains"
        ) {
            self.i += 1;
            return;
        }
        if let Some((_, len)) = height_at(self.cx, self.t, self.i)
            // "to last 2tr, ..."
            && (!self.at(0).is_some_and(|t| t.glued)
                || self.at(len).is_none_or(|t| t.is_stop()))
        {
            self.i += len;
        }
    }
}
