//! Changes of yarn: letters, names from the materials, and the words around them.

use super::reader::Reader;
use super::syntax::Do;
use super::syntax::Op;
use super::token::Kind;
use super::token::Token;

impl Reader<'_> {
    /// "with 2 strands held together", "holding A and B double": how thick the yarn is, which the gauge
    /// and the materials tell; of several yarns the first gives the colour.
    pub(super) fn strands(&mut self, ops: &mut Vec<Op>) -> bool {
        const BEGIN: [&str; 9] =
            ["with", "using", "holding", "hold", "held", "double", "both", "two", "three"];
        const WORDS: [&str; 24] = [
            "a",
            "the",
            "your",
            "all",
            "doubled",
            "triple",
            "tripled",
            "single",
            "strand",
            "strands",
            "yarn",
            "yarns",
            "thread",
            "threads",
            "of",
            "together",
            "tog",
            "throughout",
            "at",
            "once",
            "one",
            "colour",
            "color",
            "each",
        ];
        let start = self.i;
        let number = |k: usize| self.at(k).is_some_and(|t| t.number().is_some());
        if !(BEGIN.contains(&self.word(0)) || number(0) && self.word(1).starts_with("strand")) {
            return false;
        }
        let letter = |k: usize| {
            let said = |t: &super::token::Token<'_>| self.text.get(t.span.range());
            self.at(k).and_then(said).is_some_and(is_letter_code)
        };
        let more = |k: usize| {
            let crochet = matches!(self.word(k + 1), "crochet" | "crochets" | "treble");
            !crochet && (BEGIN.contains(&self.word(k)) || WORDS.contains(&self.word(k)))
                || letter(k)
                || number(k) && self.word(k + 1).starts_with("strand")
                || self.word(k) == "and" && (letter(k + 1) || WORDS.contains(&self.word(k + 1)))
        };
        let len = (0..24).take_while(|&k| more(k)).count();
        let has = |words: &[&str]| (0..len).any(|k| words.contains(&self.word(k)));
        let held = has(&["held", "holding", "hold"])
            && has(&["double", "doubled", "triple", "tripled", "together", "tog", "both"]);
        if !(held || has(&["strand", "strands"])) {
            return false;
        }
        let first = (0..len).find(|&k| letter(k)).and_then(|k| self.colour_name(k));
        self.i += len;
        let tool = (1..8).take_while(|&k| self.at(k).is_some_and(|t| !t.is_stop()));
        let mut tool = tool.filter(|&k| matches!(self.word(k), "hook" | "needle" | "needles"));
        if self.word(0) == "and"
            && let Some(k) = tool.next()
        {
            self.i += k + 1;
        }
        if let Some((name, _)) = first {
            let index = colour_index(self.colours, &name);
            self.push(ops, Do::Colour(index), start);
        }
        true
    }

    /// "with A", "change to B", "using colour C".
    pub(super) fn colour(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let tool = (1..8).find(|&k| matches!(self.word(k), "hook" | "needle" | "needles"));
        if let Some(k) = tool.filter(|_| matches!(self.word(0), "with" | "using")) {
            self.i += k + 1;
            if self.word(0) == "and" && self.colour_name(1).is_some() {
                // "Using 4 mm needles and M, cast on ..."
                self.i += 1;
                return self.take_colour(ops, start);
            }
            return true;
        }
        // "With your preferred stretchy cast on, CO 97 sts": how the loops are made.
        let way = (1..8).take_while(|&k| self.at(k).is_some_and(|t| !t.is_stop()));
        let cast = |k: usize| {
            let dash = usize::from(self.at(k + 1).is_some_and(|t| t.kind == Kind::Dash));
            self.word(k) == "cast"
                && self.word(k + 1 + dash) == "on"
                && self.at(k + 2 + dash).is_none_or(|t| t.number().is_none())
        };
        let method = (1..6).find(|&k| self.word(k) == "method");
        if let Some(k) = method.filter(|_| self.word(0) == "using") {
            self.i += k + 1;
            return true;
        }
        if let Some(k) = way.into_iter().find(|&k| cast(k)).filter(|_| self.word(0) != "in") {
            self.i += k + 2;
            self.i += self.skip_words(0, &["on", "method", "of", "your", "choice"]);
            return true;
        }
        let k = self.skip_words(
            1,
            &["to", "yarn", "color", "colour", "col", "main", "contrast", "contrasting"],
        );
        // "Using Main, ch 150."
        let named =
            self.colour_name(k).is_none() && matches!(self.word(k - 1), "main" | "contrast");
        let k = if named { k - 1 } else { k };
        let k = k + usize::from(self.word(k - 1) == "col" && self.stop_at(k, '.'));
        // "With RS facing and B, ..."
        let faced =
            self.skip_words(k, &["the", "rs", "ws", "right", "wrong", "side", "facing", "and"]);
        let k = if (k..faced).any(|j| self.word(j) == "facing") { faced } else { k };
        if self.word(0) == "in" && k > 1 && self.word(1) == "to" || self.colour_name(k).is_none() {
            return false;
        }
        self.i += k;
        self.take_colour(ops, start)
    }

    /// "Shade 2", "colour 1", and the number alone after such a word.
    fn numbered_colour(&self, k: usize) -> Option<(String, usize)> {
        const SHADES: [&str; 4] = ["shade", "colour", "color", "colourway"];
        let before = (self.i + k).checked_sub(1).and_then(|j| self.t.get(j));
        if SHADES.contains(&self.word(k)) {
            let n = self.at(k + 1)?.number()?;
            return Some((format!("{} {n}", self.word(k)), 2));
        }
        let n = self.at(k)?.number()?;
        let word = before.filter(|t| t.any(&SHADES))?;
        Some((format!("{} {n}", word.text), 1))
    }

    /// "CC: k3, ..." at the start of a row names its yarn.
    pub(super) fn colour_label(&mut self, ops: &mut Vec<Op>) -> bool {
        let first = self.t[..self.i].iter().all(|t| t.is_stop() || t.kind == Kind::Dash);
        let Some((_, len)) = self.colour_name(0).filter(|_| first && ops.is_empty()) else {
            return false;
        };
        let marked = self
            .at(len)
            .is_some_and(|t| matches!(t.kind, Kind::Stop(':')) || t.kind == Kind::Dash && !t.glued);
        let start = self.i;
        marked && self.take_colour(ops, start)
    }

    pub(super) fn take_colour(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let Some((name, len)) = self.colour_name(0) else { return false };
        self.i += len;
        if let Some((_, end)) = super::row_colours::rows_told(&self.t[..self.end], self.i) {
            // "changing to B for the last 20 rows" speaks of those rows, not of this one.
            self.i = end;
            return true;
        }
        let index = colour_index(self.colours, &name);
        if self.word(0) == "in" && self.word(1) == "last" {
            self.i += 2;
            self.i +=
                self.skip_words(0, &["st", "stitch", "yo", "loop", "pull", "through", "sc", "dc"]);
        }
        self.push(ops, Do::Colour(index), start);
        true
    }

    /// A yarn letter or a yarn's name from the header at `k`.
    pub(super) fn colour_name(&self, k: usize) -> Option<(String, usize)> {
        self.numbered_colour(k)
            .or_else(|| colour_at(&self.t[..self.end], self.i + k, self.text, &self.cx.colours))
    }
}

/// A yarn letter, with its number, or the name of a yarn at `k` of `t`, and its tokens; `known` are the
/// names the page gives its yarns.
pub(super) fn colour_at(
    t: &[Token<'_>],
    k: usize,
    text: &str,
    known: &[String],
) -> Option<(String, usize)> {
    let token = t.get(k).filter(|t| t.kind == Kind::Word)?;
    let written = text.get(token.span.range())?;
    let listed = known.iter().any(|c| c == token.text);
    let letter = written.len() == 1 && written.bytes().all(|b| b.is_ascii_uppercase());
    if listed && (token.text.len() > 2 || letter || is_letter_code(written)) {
        return Some((written.to_owned(), 1));
    }
    // "With Cream, ...": a name that begins a clause of its own.
    let next = t.get(k + 1);
    let ends = next.is_none_or(|t| t.is_stop() || t.kind == Kind::Close || t.any(&["in", "and"]));
    if PLAIN.contains(&token.text) && ends {
        return Some((written.to_owned(), 1));
    }
    if !is_letter_code(written) {
        return None;
    }
    let number = next.filter(|t| t.glued && t.number().is_some());
    Some(match number {
        Some(n) => (format!("{written}{}", n.text), 2),
        None => (written.to_owned(), 1),
    })
}

/// Names of yarns as the instructions call them: words in capitals after "with" or "join" that the page
/// also writes elsewhere, as in its list of yarns.
pub(super) fn names_in_use(t: &[Token<'_>], text: &str) -> Vec<String> {
    let capital = |k: usize| {
        let written = t.get(k).and_then(|t| text.get(t.span.range())).unwrap_or("");
        let mut letters = written.chars();
        letters.next().is_some_and(char::is_uppercase)
            && written.len() > 2
            && letters.all(|c| c.is_lowercase())
    };
    let led = |k: usize| {
        let before = |d: usize, words: &[&str]| k >= d && t[k - d].any(words);
        before(1, &["with", "using", "join", "in", "attach"])
            || before(1, &["to"]) && before(2, &["change", "switch", "changing"])
    };
    let set_off = |k: usize| {
        const VERBS: [&str; 14] = [
            "ch", "chain", "cast", "co", "work", "make", "knit", "k", "sc", "dc", "in", "to",
            "and", "at",
        ];
        t.get(k)
            .is_none_or(|t| t.kind == Kind::Stop(',') || t.kind == Kind::Stop(':') || t.any(&VERBS))
    };
    let mut names: Vec<String> = Vec::new();
    for k in (1..t.len()).filter(|&k| led(k) && capital(k) && set_off(k + 1)) {
        let name = t[k].text;
        let elsewhere = (0..t.len()).any(|j| !led(j) && t[j].is(name) && capital(j));
        if !super::words::known(name) && elsewhere && !names.iter().any(|n| n == name) {
            names.push(name.to_owned());
        }
    }
    names
}

/// Letters that name a stitch or a tool elsewhere and a yarn on this page: "white (W), pink (P)", then "with P".
/// Knit pages never give them away.
pub(super) fn letters_in_use(t: &[Token<'_>], text: &str) -> Vec<String> {
    let capital = |k: usize| matches!(text.get(t[k].span.range()), Some("K" | "P" | "X" | "I"));
    let told = |k: usize| {
        k > 1
            && t[k - 1].kind == Kind::Open
            && t[k - 2].kind == Kind::Word
            && t.get(k + 1).is_some_and(|t| t.kind == Kind::Close)
    };
    let taken = |k: usize| k > 0 && t[k - 1].any(&["with", "to", "in", "join", "using", "rows"]);
    let mut names: Vec<String> = Vec::new();
    for k in (0..t.len()).filter(|&k| capital(k) && told(k)) {
        let name = t[k].text;
        let used = (0..t.len()).any(|j| t[j].text == name && capital(j) && taken(j));
        if used && !names.iter().any(|n| n == name) {
            names.push(name.to_owned());
        }
    }
    names
}

/// The word is a colour's common name.
pub(super) fn plain(word: &str) -> bool {
    PLAIN.contains(&word)
}

/// Colours by their common names.
const PLAIN: [&str; 46] = [
    "main",
    "contrast",
    "white",
    "black",
    "grey",
    "gray",
    "cream",
    "ivory",
    "ecru",
    "natural",
    "beige",
    "taupe",
    "brown",
    "tan",
    "red",
    "pink",
    "rose",
    "coral",
    "peach",
    "orange",
    "rust",
    "gold",
    "yellow",
    "mustard",
    "green",
    "mint",
    "sage",
    "olive",
    "teal",
    "aqua",
    "turquoise",
    "blue",
    "navy",
    "denim",
    "purple",
    "lilac",
    "lavender",
    "mauve",
    "plum",
    "burgundy",
    "charcoal",
    "silver",
    "sand",
    "linen",
    "oatmeal",
    "stone",
];

/// The index of `name` among `colours`, added when new.
pub(super) fn colour_index(colours: &mut Vec<String>, name: &str) -> u16 {
    let known = colours.iter().position(|c| c.eq_ignore_ascii_case(name));
    let index = known.unwrap_or_else(|| {
        colours.push(name.to_owned());
        colours.len() - 1
    });
    index.min(usize::from(u16::MAX)) as u16
}

/// `A`, `B`, `MC`, `CC`: yarn letters, in capitals and no stitch or side.
pub(super) fn is_letter_code(written: &str) -> bool {
    let capitals = written.len() <= 2 && written.bytes().all(|b| b.is_ascii_uppercase());
    capitals
        && !matches!(
            written,
            "RS" | "WS"
                | "CH"
                | "SC"
                | "DC"
                | "TR"
                | "SS"
                | "ST"
                | "SK"
                | "K"
                | "P"
                | "YO"
                | "BO"
                | "CO"
                | "MR"
                | "FO"
                | "PM"
                | "SM"
                | "SL"
                | "FL"
                | "BL"
                | "I"
                | "X"
        )
}
