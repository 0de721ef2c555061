//! How a placement phrase ends: "across", "to last 3 sts", "to next ch-2 sp", "down left side".

use super::place::Phrase;
use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Extent;
use super::syntax::Target;
use super::syntax::Where;
use super::token::Kind;
use super::vocabulary::height_at;

impl Reader<'_> {
    /// What may follow a phrase: "across", "to end", "to last 2 sts", "around".
    pub(super) fn tail(&mut self, said: &mut Phrase) {
        while self.ending(said) {}
        if said.between {
            self.pass_other_neighbour();
        }
        if let Some(len) = self.base_len().filter(|_| self.word(0) == "at") {
            // "in st at base of ch-3"
            self.i += len;
            said.same = true;
        }
        // "in same ch as last dc", "in same st as joining".
        if said.same && self.word(0) == "at" {
            let k = self.skip_words(1, &["the", "base", "bottom", "of", "turning", "beg"]);
            if k > 1 && matches!(self.word(k), "ch" | "chain") {
                let dash = usize::from(self.at(k + 1).is_some_and(|t| t.kind == Kind::Dash));
                let links = self.at(k + 1 + dash).is_some_and(|t| t.number().is_some());
                self.i += k + 1 + if links { dash + 1 } else { 0 };
            }
        }
        if said.same && self.word(0) == "as" {
            while self.at(0).is_some_and(|t| {
                matches!(t.kind, Kind::Word | Kind::Number(_) | Kind::Dash) && !t.is("and")
            }) {
                self.i += 1;
            }
            while self.ending(said) {}
        }
    }

    /// "(in sp between dc) and first puff": the other side of the gap.
    fn pass_other_neighbour(&mut self) {
        if self.word(0) != "and" {
            return;
        }
        let k = self.skip_words(1, &["the", "first", "next", "last"]);
        let macro_len = super::vocabulary::macro_at(self.cx, self.t, self.i + k).map(|f| f.len);
        let height = height_at(self.cx, self.t, self.i + k).map(|(_, len)| len);
        const GROUPS: [&str; 8] =
            ["puff", "group", "cluster", "shell", "fan", "bobble", "st", "stitch"];
        let group = GROUPS.contains(&self.word(k)).then_some(1);
        let turning = self.turning_noun_at(k);
        if let Some(len) = turning.or(macro_len).or(height).or(group) {
            self.i += k + len;
        }
    }

    /// One ending at the cursor: "across", "to end of row", "to last 3 sts", "to 2 sts before marker".
    pub(super) fn ending(&mut self, said: &mut Phrase) -> bool {
        const END: &[&[&str]] = &[
            &["along", "the", "top", "edge"],
            &["along", "top", "edge"],
            &["along", "the", "edge"],
            &["across", "the", "top"],
            &["to", "end", "of", "chain"],
            &["to", "end", "of", "ch"],
            &["to", "end", "of", "row"],
            &["to", "end", "of", "rnd"],
            &["to", "end", "of", "round"],
            &["to", "the", "end", "of", "the", "row"],
            &["to", "the", "end", "of", "row"],
            &["to", "the", "end"],
            &["to", "end"],
            &["until", "end"],
            &["until", "the", "end"],
            &["all", "the", "way", "across"],
            &["all", "the", "way", "around"],
            &["all", "across"],
            &["all", "around"],
            &["across", "the", "row"],
            &["across", "row"],
            &["across"],
            &["around"],
            &["along", "row"],
            &["all", "the", "way", "back"],
            &["to", "ends"],
            &["all", "round"],
            &["round"],
        ];
        if matches!(self.word(0), "around" | "round")
            && matches!(self.word(1), "post" | "the" | "next" | "each" | "ch" | "same" | "that")
        {
            self.i += 1 + usize::from(self.word(1) == "post");
            return true;
        }
        if self.ending_but(said) {
            return true;
        }
        if self.side(said) {
            return true;
        }
        if let Some(n) = self.match_at(0, END) {
            self.i += n;
            let all = self.skip_words(0, &["all", "the", "these"]);
            if self.at(all).is_some_and(|t| t.number().is_some())
                && matches!(self.word(all + 1), "st" | "sts" | "stitches")
            {
                self.i += all + 2;
            }
            said.all = true;
            return true;
        }
        false
    }

    /// "across top", "evenly down left side", on the way round a piece with corners: to the next corner.
    fn side(&mut self, said: &mut Phrase) -> bool {
        const WAY: [&str; 16] = [
            "across",
            "along",
            "down",
            "up",
            "evenly",
            "the",
            "left",
            "right",
            "long",
            "short",
            "first",
            "second",
            "other",
            "next",
            "remaining",
            "each",
        ];
        const SIDE: [&str; 7] = ["top", "bottom", "side", "sides", "edge", "edges", "end"];
        let open = matches!(self.word(0), "across" | "along" | "down" | "up" | "evenly");
        let k = self.skip_words(0, &WAY);
        if !open || !SIDE.contains(&self.word(k)) || !self.t.iter().any(|t| t.is("corner")) {
            return false;
        }
        self.i += k + self.skip_words(k, &SIDE) - k;
        if self.word(0) == "of" {
            self.i += self.skip_words(0, &["of", "the", "blanket", "throw", "piece", "work"]);
        }
        said.to_space = true;
        true
    }

    fn ending_but(&mut self, said: &mut Phrase) -> bool {
        let lead = match self.word(0) {
            "to" | "until" | "till" | "across" | "up" => 1,
            _ => return false,
        };
        let j = self.skip_words(
            lead,
            &["to", "the", "within", "you", "reach", "get", "come", "there", "are", "only"],
        );
        let last = matches!(self.word(j), "last" | "final");
        // A double stitch carries a marker of its own; the last one made is the next one met.
        if let Some(len) = self.double_name(j + usize::from(last)) {
            self.i += j + usize::from(last) + len;
            said.to_marker = Some(0);
            return true;
        }
        if last && matches!(self.word(j + 1), "marker" | "m" | "mrk") {
            self.i += j + 2;
            said.to_last_marker = Some(0);
            return true;
        }
        if !last && let Some((before, len)) = self.centre_stitch(j) {
            self.i += j + len;
            said.to_centre = Some(before);
            return true;
        }
        if let Some(len) = self.space_noun(j + 1).filter(|_| last && self.word(j + 1) != "corner") {
            let several = matches!(self.word(j + 1 + len), "sps" | "spaces" | "loops");
            if !several {
                // "to last ch-1 sp": what follows goes into it.
                self.i += j + 1 + len;
                said.all = true;
                return true;
            }
        }
        if last {
            let (n, used) = self.count_at(j + 1).unwrap_or((1, 0));
            let dashed = self.at(j + 1 + used).is_some_and(|t| t.kind == Kind::Dash);
            if used > 0 && dashed && matches!(self.word(j + 2 + used), "ch" | "chain") {
                // "to last 3-ch sp" is one space.
                self.i += j + 3 + used;
                self.i += self.skip_words(0, &["sp", "space", "loop"]);
                said.but = Some(1);
                return true;
            }
            self.i += j + 1 + used;
            let dash = usize::from(self.at(0).is_some_and(|t| t.kind == Kind::Dash));
            if let Some((_, len)) = height_at(self.cx, self.t, self.i + dash)
                && used > 0
                && matches!(self.word(dash + len), "group" | "groups" | "grp" | "shell" | "fan")
            {
                self.i += dash + len;
            }
            if self.pass_group_noun() {
                said.all = true;
                return true;
            }
            self.skip_noun();
            const CLUSTERS: [&str; 8] =
                ["cl", "cls", "puff", "puffs", "bobble", "bobbles", "popcorn", "pc"];
            self.i += usize::from(CLUSTERS.contains(&self.word(0)));
            said.but = Some(n);
            return true;
        }
        if matches!(self.word(0), "to" | "until")
            && let Some(len) = self.turning_noun_at(j)
        {
            self.i += j + len;
            self.i += self.skip_words(0, &["sp", "space", "loop"]);
            said.all = true;
            return true;
        }
        if self.word(j) == "marked"
            && matches!(self.word(j + 1), "st" | "stitch" | "sc" | "dc" | "hdc")
        {
            self.i += j + 2;
            said.to_marker = Some(0);
            return true;
        }
        if matches!(self.word(j), "marker" | "m" | "next")
            && (self.word(j) != "next" || self.word(j + 1) == "marker")
        {
            self.i += j + 1 + usize::from(self.word(j) == "next");
            said.to_marker = Some(0);
            return true;
        }
        self.word(0) != "across" && self.up_to_space(said, j) || self.up_to_count(said, j)
    }

    /// "center st", "centre 3 dc" at `k`: stitches of the centre before its middle one, and the tokens.
    fn centre_stitch(&self, k: usize) -> Option<(u32, usize)> {
        if !matches!(self.word(k), "center" | "centre" | "middle") {
            return None;
        }
        let (n, used) = self.count_at(k + 1).unwrap_or((1, 0));
        let noun = k + 1 + used;
        let height = height_at(self.cx, self.t, self.i + noun).map(|(_, len)| len);
        let len = match self.word(noun) {
            "st" | "sts" | "stitch" | "stitches" => 1,
            _ => height?,
        };
        // "center dc of shell" is another's centre.
        let of = matches!(self.word(noun + len), "of" | "in");
        (!of).then_some((n.saturating_sub(1) / 2, 1 + used + len))
    }

    /// "to next ch-2 sp", "to corner": the stretch before a space; its noun may begin `j` on. "sl st
    /// to next sp" is none: it goes into the space.
    fn up_to_space(&mut self, said: &mut Phrase, j: usize) -> bool {
        let before_space =
            self.skip_words(j, &["next", "center", "centre", "middle", "first", "corner"]);
        let chain = matches!(self.word(before_space), "ch" | "sp" | "space")
            && self.word(before_space + 1) != "from";
        // "to 2-ch sp"
        let numbered = self.at(before_space).is_some_and(|t| t.number().is_some());
        let len = self.space_noun(before_space).filter(|&len| numbered && len > 1);
        if let Some(len) = len.filter(|_| said.each || said.target.is_some()) {
            self.i += before_space + len;
            said.to_space = true;
            return true;
        }
        let corner = before_space > j && self.word(before_space - 1) == "corner";
        // "3 dc in each space to center"
        let centre = before_space > j
            && !chain
            && matches!(self.word(before_space - 1), "center" | "centre" | "middle")
            && matches!(said.target, Some(Target::Space(_) | Target::Gap));
        let to_chain = chain && (said.each || said.target.is_some());
        if to_chain || (corner && !said.next) || centre {
            let numbered = self.at(before_space + 1).is_some_and(|t| t.kind == Kind::Dash);
            self.i += before_space + if numbered { 3 } else { usize::from(chain) };
            self.i += self.skip_words(0, &["sp", "space", "loop", "st"]);
            said.to_space = true;
            return true;
        }
        false
    }

    /// "1 tr at base of 3 ch": the place the turning chain stands on.
    pub(super) fn at_base(&mut self) -> Option<Where> {
        let len = self.base_len().filter(|_| self.word(0) == "at")?;
        self.i += len;
        Some(Where::of(Extent::Same))
    }

    /// "Sl st to ch-2 sp": the space it goes into, with the cursor moved past it.
    pub(super) fn slips_to_space(&mut self, act: Act) -> Option<Where> {
        let start = self.i;
        if act != Act::Slip || self.word(0) != "to" {
            return None;
        }
        let noun = self.skip_words(1, &["the", "first", "corner"]);
        self.space_noun(noun)?;
        self.i += 1;
        let place = self.bare_phrase();
        if !place.is_some_and(|p| matches!(p.target, Target::Space(_) | Target::Corner)) {
            self.i = start;
            return None;
        }
        place.map(|p| Where { extent: Extent::Next(1), ..p })
    }

    /// Tokens of "ch-2 sp", "corner", "2-ch space" at `k`.
    fn space_noun(&self, k: usize) -> Option<usize> {
        const SPACE: [&str; 6] = ["sp", "space", "loop", "lp", "arch", "corner"];
        let number = usize::from(self.at(k).is_some_and(|t| t.number().is_some()));
        let dash = |k: usize| usize::from(self.at(k).is_some_and(|t| t.kind == Kind::Dash));
        let chain = k + number + if number > 0 { dash(k + number) } else { 0 };
        if !matches!(self.word(chain), "ch" | "chain") {
            return (number == 0 && SPACE.contains(&self.word(k))).then_some(1);
        }
        let mut end = chain + 1 + dash(chain + 1);
        end += usize::from(self.at(end).is_some_and(|t| t.number().is_some()));
        end += self.skip_words(end, &SPACE) - end;
        (end > chain + 1).then_some(end - k)
    }

    /// "ch-3 sp remains", "sps are left" at `k`: its tokens.
    fn spaces_left(&self, k: usize) -> Option<usize> {
        let plural = matches!(self.word(k), "sps" | "spaces" | "loops" | "meshes").then_some(1);
        let noun = k + plural.or_else(|| self.space_noun(k))?;
        let noun = self.skip_words(noun, &["is", "are"]);
        matches!(self.word(noun), "remain" | "remains" | "rem" | "remaining" | "left")
            .then_some(noun + 1 - k)
    }

    /// "to 2 sts before marker", "until 3 sts remain".
    fn up_to_count(&mut self, said: &mut Phrase, j: usize) -> bool {
        if let Some((n, used)) = self.count_at(j) {
            let mut k = j + used;
            if let Some(len) = self.spaces_left(k) {
                // What follows goes into the spaces left, or leaves them with the stitch behind each.
                self.i += k + len;
                let unworked = (0..9).any(|k| self.word(k) == "unworked");
                if unworked {
                    said.but = Some(n);
                } else {
                    said.all = true;
                }
                return true;
            }
            const NOUN: [&str; 8] =
                ["st", "sts", "stitch", "stitches", "ch", "chs", "chain", "chains"];
            k = self.skip_words(k, &NOUN);
            if let Some((_, len)) = height_at(self.cx, self.t, self.i + k) {
                k += len;
            }
            if matches!(self.word(k), "before" | "from") {
                let m = self.skip_words(
                    k + 1,
                    &["the", "next", "first", "second", "center", "centre", "last"],
                );
                if let Some(len) = self.double_name(m) {
                    self.i += m + len;
                    said.to_marker = Some(n);
                    return true;
                }
                if let Some((before, len)) = self.centre_stitch(m - 1) {
                    self.i += m - 1 + len;
                    said.to_centre = Some(n + before);
                    return true;
                }
                if matches!(self.word(m), "marker" | "m" | "mrk") {
                    self.i += m + 1;
                    if self.t[self.i - 2].is("last") {
                        said.to_last_marker = Some(n);
                    } else {
                        said.to_marker = Some(n);
                    }
                    return true;
                }
                if self.word(m) == "end" {
                    self.i += m + 1;
                    said.but = Some(n);
                    return true;
                }
                if let Some(len) = self.space_noun(m) {
                    self.i += m + len;
                    said.short_of_space = Some(n);
                    return true;
                }
            }
            if matches!(self.word(k), "remain" | "remains" | "rem" | "remaining" | "left") {
                self.i += k + 1;
                said.but = Some(n);
                return true;
            }
        }
        false
    }
}
