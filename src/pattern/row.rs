//! One row: its words sorted into instructions and remarks, then read.

use super::clauses::corner_clause;
use super::clauses::equates;
use super::clauses::evenly_spread;
use super::clauses::from_hook_unsaid;
use super::clauses::lays_chain;
use super::clauses::picots;
use super::clauses::space_on_the_way;
use super::clauses::whole_row;
use super::header::CraftWord;
use super::labels::lists_size;
use super::labels::sews_up;
use super::reader::Reader;
use super::rules::is_rule;
use super::sizes::collapse_sizes;
use super::sizes::count_per_row;
use super::syntax::Act;
use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::CountNote;
use super::syntax::Do;
use super::syntax::Edge;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Macro;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Reach;
use super::syntax::Row;
use super::syntax::Rules;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use super::until::row_until;
use super::vocabulary::Context;
use super::vocabulary::stitch_at;
use super::words::known;
use crate::source::Span;

/// Reads rows and learns definitions and rules as the page goes on.
#[derive(Clone)]
pub(super) struct RowReader<'a> {
    /// The text in its own case.
    pub(super) text: &'a str,
    /// Column of the sizes to make, from 0.
    pub(super) size: usize,
    /// Names.
    pub(super) cx: Context,
    /// Colours named.
    pub(super) colours: Vec<String>,
    /// Definitions.
    pub(super) macros: Vec<Macro>,
    /// Standing rules.
    pub(super) rules: Rules,
    /// Rows that make up the pattern, and from which byte on.
    pub(super) forms: Vec<(u32, AgainRows)>,
    /// What the row just read asks for besides itself.
    pub(super) then: Option<Item>,
    /// The last words laid a foundation chain and worked nothing on it.
    pub(super) on_chain: bool,
    /// Places where brackets are nested too deep.
    pub(super) too_deep: Vec<Span>,
    /// Words that tell stripe sequences.
    pub(super) stripe_words: Vec<Span>,
    /// Words that say when colours change, the yarns being told elsewhere.
    pub(super) changes: Vec<Span>,
    /// The row whose heading a star stands before.
    pub(super) starred_row: Option<u32>,
    /// Names of the sections so far, as written.
    pub(super) sections: Vec<String>,
}

/// What a reading of some words gave.
pub(super) struct Read {
    pub(super) ops: Vec<Op>,
    pub(super) counts: Vec<CountNote>,
    pub(super) unread: Vec<Span>,
}

impl RowReader<'_> {
    pub(super) fn read(&mut self, tokens: &[Token<'_>]) -> Read {
        let mut reader = Reader::new(tokens, &self.cx, self.text, &mut self.colours);
        let ops = reader.ops();
        let counts = at_end(reader.counts, &ops);
        let read = Read { ops, counts, unread: reader.unread };
        self.too_deep.extend(reader.too_deep);
        read
    }

    /// Reads a trial without keeping what it learns.
    pub(super) fn trial(&self, tokens: &[Token<'_>]) -> Read {
        let mut colours = self.colours.clone();
        let mut reader = Reader::new(tokens, &self.cx, self.text, &mut colours);
        let ops = reader.ops();
        Read { counts: at_end(reader.counts, &ops), ops, unread: reader.unread }
    }

    /// Reads a whole row.
    pub(super) fn row(&mut self, lower: &str, heading: Heading, body: Span, span: Span) -> Item {
        let tokens = collapse_sizes(cut(&lower[body.range()], body.start), self.size);
        let tokens = self.plainly(tokens);
        let (tokens, evenly) = super::evenly::without(tokens);
        let (tokens, slips) = self.mended(tokens);
        let (numbers, size) = (heading.numbers.clone(), self.size);
        let row_head = heading.span.range();
        let label = matches!(numbers, Numbers::Step | Numbers::Next) && heading.name.is_none();
        let tokens = if label { without_label(&self.cx, &tokens).to_vec() } else { tokens };
        let row =
            |heading: Heading, content, until, counts: Vec<CountNote>, mut unread: Vec<Span>| {
                let counts = count_per_row(&heading, counts, size);
                unread.extend(&slips);
                Item::Row(Row { heading, content, until, evenly, counts, unread, span })
            };
        if let Some(rows) = super::chart::followed(&self.cx, &tokens) {
            let unnumbered = matches!(heading.numbers, Numbers::Step | Numbers::Next);
            let several = rows.filter(|_| unnumbered).map(Numbers::Several);
            let heading = Heading { numbers: several.unwrap_or(numbers), ..heading };
            let ops = super::chart::plain_row(&self.cx, &tokens);
            return row(heading, Content::Work(ops), None, Vec::new(), vec![body]);
        }
        let after =
            self.rows_after(&tokens, &numbers).filter(|_| !self.ends_stripes(&tokens, span));
        let before = after.and_then(|after| {
            let content = self.rows_told(&tokens[..after.at], &numbers, span)?;
            after.item(&content).map(|item| (content, Some(item)))
        });
        let told = before.or_else(|| Some((self.rows_told(&tokens, &numbers, span)?, None)));
        if let Some((content, then)) = told {
            self.then = then.or_else(|| self.yarn_after(&content, &tokens, &numbers));
            let counts = self.closing_note(&tokens);
            let star = matches!(tokens.first().map(|t| t.kind), Some(Kind::Star(_)));
            let starred = heading.starred || star && matches!(content, Content::Fabric(..));
            let heading = Heading { starred, ..heading };
            let fabric = super::shaping::shaped_on(&tokens).map(|(_, words)| words);
            return row(heading, content, None, counts, fabric.into_iter().collect());
        }
        self.learn(&tokens, span);
        let (mut tokens, mut until) = (tokens, None);
        if let Some((at, end)) = row_until(&tokens) {
            tokens.truncate(at);
            until = Some(end);
        }
        let kept = self.instructive(&tokens);
        let deep = self.too_deep.len();
        let read = self.read(&kept);
        if self.too_deep.len() > deep {
            return row(heading, Content::Work(Vec::new()), None, Vec::new(), Vec::new());
        }
        if let Some((ops, both)) =
            self.side_edging(&tokens).filter(|_| self.part_border(&tokens).is_none())
        {
            let other = Again::of(AgainRows::Edge(Edge::Other), Until::Times(1));
            let again =
                row(Heading::default(), Content::Again(other), None, Vec::new(), Vec::new());
            self.then = both.then_some(again);
            return row(heading, Content::Work(ops), until, read.counts, Vec::new());
        }
        if let Some((heading, ops)) = self.border_told(&heading, &tokens, &read, body) {
            return row(heading, Content::Work(ops), until, read.counts, Vec::new());
        }
        if read.ops.is_empty() && read.counts.is_empty() {
            let marked =
                self.text.get(row_head).is_some_and(|h| !h.ends_with(char::is_alphanumeric));
            return match numbers {
                Numbers::Step | Numbers::Next => Item::Remark(span),
                _ if !marked || self.is_graph(&tokens) => Item::Remark(span),
                _ => row(heading, Content::Work(Vec::new()), None, Vec::new(), vec![body]),
            };
        }
        let laid = self.on_chain;
        let mut ops = self.spelt_out(read.ops);
        if numbers == Numbers::Listed(vec![1]) && !laid {
            super::clauses::first_made(&mut ops);
        }
        if evenly_spread(&tokens) {
            ops.push(Op { act: Do::Along(Reach::Ends, 0), span: body });
        }
        if let Some(content) = self.only_coloured(&heading, &ops) {
            return row(heading, content, None, Vec::new(), Vec::new());
        }
        // "*With B," before rows told in a sentence of their own.
        let star = matches!(tokens.first().map(|t| t.kind), Some(Kind::Star(_)));
        let yarn = !ops.is_empty() && ops.iter().all(|op| matches!(op.act, Do::Colour(_)));
        let heading = Heading { starred: heading.starred || star && yarn, ..heading };
        whole_row(self.cx.craft, &mut ops);
        corner_clause(&mut ops);
        let heading = self.as_round(heading, &tokens);
        row(heading, Content::Work(ops), until, read.counts, read.unread)
    }

    /// An unnumbered row that goes round the piece is a round.
    pub(super) fn as_round(&self, heading: Heading, tokens: &[Token<'_>]) -> Heading {
        let unnumbered = matches!(heading.numbers, Numbers::Step | Numbers::Next);
        let round = unnumbered && heading.name.is_none() && self.edging(tokens).is_some();
        Heading { round: heading.round || round, ..heading }
    }

    /// Rows worked again, or a fabric by its name.
    fn rows_told(&mut self, t: &[Token<'_>], numbers: &Numbers, span: Span) -> Option<Content> {
        let mut content = self.content(t).or_else(|| super::kept::goes_on(t, numbers))?;
        alternates(&mut content, numbers, t);
        self.ended_by_stripes(&mut content, t, numbers, span);
        self.in_pattern(&mut content, span);
        if let (Content::Again(again), Some(n)) = (&mut content, self.starred_row)
            && again.rows == AgainRows::FromStar
        {
            // "*Row 1: ...", "Rep from * until ..."
            again.rows = AgainRows::From(n);
        }
        Some(content)
    }

    /// Ops with the page's own stitches spelt out where that is what they mean, and their clauses related.
    fn spelt_out(&mut self, mut ops: Vec<Op>) -> Vec<Op> {
        let laid = std::mem::replace(&mut self.on_chain, lays_chain(&ops));
        from_hook_unsaid(&mut ops, laid);
        if self.cx.craft == CraftWord::Crochet {
            super::own_shaping::of_the_row(&mut ops);
        }
        super::clauses::one_group(&mut ops);
        super::clauses::maybe_overlapping(&mut ops);
        super::block::spell_out(&mut ops, &self.macros);
        super::opening::spell_out(&mut ops, &self.macros);
        super::passing::name_spelt_out(&mut ops, &self.macros);
        space_on_the_way(&mut ops);
        super::slips_across::to_space(&mut ops);
        picots(&mut ops, false);
        ops
    }

    /// What the words ask for when they are not stitch by stitch.
    fn content(&mut self, t: &[Token<'_>]) -> Option<Content> {
        let mut colours = std::mem::take(&mut self.colours);
        let content = self.content_told(t, &mut colours);
        self.colours = colours;
        content
    }

    fn content_told(&self, t: &[Token<'_>], colours: &mut Vec<String>) -> Option<Content> {
        self.parts_again(t)
            .or_else(|| super::again::content(t, self.text, &self.cx.colours, colours))
    }

    /// "Rows 5 to 8: with B.": rows of the pattern, in that yarn.
    fn only_coloured(&self, heading: &Heading, ops: &[Op]) -> Option<Content> {
        let [Op { act: Do::Colour(colour), .. }] = ops else { return None };
        let numbered = matches!(heading.numbers, Numbers::Listed(_) | Numbers::Range(..));
        let (_, rows) = self.forms.iter().rev().find(|(at, _)| *at < heading.span.start)?;
        let again = Again { colour: Some(*colour), ..Again::of(rows.clone(), Until::Heading) };
        numbered.then_some(Content::Again(again))
    }

    /// "Continue in pattern" works the rows that the page said form it.
    fn in_pattern(&self, content: &mut Content, span: Span) {
        if let Content::Again(again) = content
            && again.rows == AgainRows::All
            && let Some((_, rows)) = self.forms.iter().rev().find(|(at, _)| *at < span.end)
        {
            again.rows = rows.clone();
        }
    }

    /// "Repeat until ...": of what is not said.
    pub(super) fn says_no_rows(&self, lower: &str, body: Span) -> bool {
        let t = cut(&lower[body.range()], body.start);
        let verb = t.first().is_some_and(|t| t.any(&["rep", "repeat", "rpt"]));
        verb && t.get(1).is_some_and(|t| t.any(&["until", "till"]))
    }

    /// The count printed at the end of words that are not stitch by stitch.
    fn closing_note(&self, tokens: &[Token<'_>]) -> Vec<CountNote> {
        let note = tokens
            .iter()
            .rposition(|t| matches!(t.kind, Kind::Open | Kind::Dash | Kind::Other('=')));
        // "Rep R3 - 10" tells the count by a dash that stands apart.
        let row = |t: &Token<'_>| t.any(&["r", "row", "rnd", "round"]);
        let apart =
            |k: usize| tokens.get(k + 1).is_some_and(|t| !t.glued) && k > 1 && row(&tokens[k - 2]);
        let note = note.filter(|&k| {
            k > 0 && !tokens[k].glued && (tokens[k - 1].number().is_none() || apart(k))
        });
        note.map_or_else(Vec::new, |k| self.trial(&tokens[k..]).counts)
    }

    /// Drops the sentences that instruct nothing.
    fn instructive<'t>(&self, tokens: &[Token<'t>]) -> Vec<Token<'t>> {
        let mut kept = Vec::with_capacity(tokens.len());
        for sentence in sentences(tokens) {
            if !self.is_remark(sentence) {
                kept.extend_from_slice(sentence);
            }
        }
        kept
    }

    /// "1 A, 2 B, 1 A": a row of a colour graph, not of stitches.
    fn is_graph(&self, t: &[Token<'_>]) -> bool {
        let colour = |t: &Token<'_>| {
            let letter = super::colour::is_letter_code(&self.text[t.span.range()]);
            letter || self.cx.colours.iter().any(|c| c == t.text)
        };
        let fill = ["x", "in", "with", "yarn"];
        t.iter().any(|t| t.number().is_some() || colour(t))
            && t.iter().all(|t| t.kind != Kind::Word || colour(t) || t.any(&fill))
    }

    /// Most words of the sentence are none a row uses.
    fn is_remark(&self, t: &[Token<'_>]) -> bool {
        if is_rule(t) || asks_or_explains(t) {
            return true;
        }
        let cast = |w: &[Token<'_>]| w[0].is("cast") && w[1].is("on") && w[2].number().is_some();
        if t.len() < 24 && t.windows(3).any(cast) {
            return false;
        }
        // "(1 box)" counts, whatever it counts.
        let bracketed = t[0].kind == Kind::Open && t.len() < 12;
        if bracketed && t.get(1).is_some_and(|t| t.number().is_some()) {
            return false;
        }
        let chained = |w: &[Token<'_>]| {
            w[0].any(&["ch", "chain", "chained"]) && w[1].number().is_some_and(|n| n > 7)
        };
        let verbs = ["crochet", "work", "make", "begin", "start", "commence", "using", "with"];
        let made = t[0].any(&verbs)
            && t.windows(2).any(|w| {
                w[0].number().is_some_and(|n| n > 7) && w[1].any(&["ch", "chain", "chains"])
            });
        let other = (0..t.len()).any(|k| super::special::other_side(&t[k..], false).is_some());
        if t.len() < 8 && t.windows(2).any(chained) || made || other || own_number(t) {
            return false;
        }
        let (mut words, mut strange, mut k) = (0u32, 0u32, 0);
        while k < t.len() {
            if let Some(found) = stitch_at(&self.cx, t, k) {
                words += found.len as u32;
                k += found.len;
                continue;
            }
            if t[k].kind == Kind::Word {
                words += 1;
                let yarn = self.cx.colours.iter().any(|c| c == t[k].text)
                    || super::colour::plain(t[k].text);
                strange += u32::from(!known(t[k].text) && !yarn);
            }
            k += 1;
        }
        let chat = t.iter().find(|t| t.kind == Kind::Word).is_some_and(|t| {
            t.any(&[
                "i", "note", "tip", "you", "we", "if", "hint", "see", "my", "photo", "click",
                "these", "it", "this", "remember", "notes", "be", "don",
            ])
        });
        let count_ahead =
            t.iter().any(|t| t.any(&["have", "total"])) && t.iter().any(|t| t.number().is_some());
        if chat && count_ahead && words < 9 {
            return false;
        }
        let bare = !(0..t.len()).any(|k| {
            stitch_at(&self.cx, t, k).is_some() || t[k].number().is_some() || t[k].any(&VERBS)
        });
        strange * 2 > words
            || bare && strange * 2 == words
            || (chat && strange * 4 >= words && strange > 0)
            || (chat && t[0].any(&["note", "tip", "hint", "see"]))
    }

    /// The words instruct something, and little else.
    pub(super) fn instructs(&self, lower: &str, span: Span) -> bool {
        let tokens = cut(&lower[span.range()], span.start);
        if self.instructive(&tokens).is_empty() {
            return false;
        }
        let read = self.trial(&tokens);
        (!read.ops.is_empty() || !read.counts.is_empty())
            && read.unread.len() <= read.ops.len() + read.counts.len()
    }

    /// The words are a step of their own: its numbers, and whether it needs no row context.
    pub(super) fn step(&self, lower: &str, span: Span) -> Option<(Numbers, bool)> {
        let tokens = collapse_sizes(cut(&lower[span.range()], span.start), self.size);
        let tokens = self.plainly(tokens);
        let (tokens, _) = super::evenly::without(tokens);
        let ruled = tokens.iter().take(5).any(|t| t.any(&["replace", "substitute"]));
        if tokens.is_empty() || ruled || lists_size(&tokens) || sews_up(&tokens) {
            return None;
        }
        if let Some(rows) = super::chart::followed(&self.cx, &tokens) {
            return rows.map(|_| (Numbers::Step, true));
        }
        if let Some(content) = self.content_told(&tokens, &mut self.colours.clone()) {
            let star = usize::from(matches!(tokens[0].kind, Kind::Star(_)) && tokens.len() > 1);
            let strong = match &content {
                Content::Again(again) => {
                    tokens[star].any(&[
                        "rep", "repeat", "rpt", "cont", "continue", "work", "then", "rows", "row",
                        "as", "working", "keeping", "now", "with", "using", "in", "change",
                        "switch", "next", "knit",
                    ]) && again.until != Until::Open
                        || tokens[star].any(&["rep", "repeat", "rpt"])
                }
                _ => true,
            };
            // A stripe sequence told in sentences works nothing itself.
            let within = |s: &Span| s.start <= span.start && span.end <= s.end + 1;
            let coloured = matches!(&content, Content::Again(a) if a.colour.is_some() && a.rows == AgainRows::All);
            if coloured && self.stripe_words.iter().any(within) {
                return None;
            }
            return Some((Numbers::Step, strong));
        }
        if self.part_border(&tokens).is_some() || self.side_edging(&tokens).is_some() {
            return Some((Numbers::Next, true));
        }
        if self.edging(&tokens).is_some() {
            return Some((Numbers::Next, false));
        }
        let kept = self.instructive(&tokens);
        let labelled = tokens.first().is_some_and(|t| t.any(&FOUNDATION));
        let kept = if labelled { without_label(&self.cx, &kept).to_vec() } else { kept };
        let tokens = if labelled { kept.clone() } else { tokens };
        if kept.is_empty() {
            return None;
        }
        let read = self.trial(&kept);
        if matches!(read.ops.last().map(|op| &op.act), Some(Do::OtherSide)) {
            // "Working along the opposite side of the foundation ch:"
            return Some((Numbers::Step, true));
        }
        let first = read.ops.first()?;
        let long_chain = matches!(first.act, Do::Chain { links, .. } if links > 7);
        let most = if long_chain { 6 } else { read.ops.len() * 3 };
        if read.unread.len() * 2 > kept.len() || read.unread.len() > most {
            return None;
        }
        let says = |w: &str| tokens.iter().any(|t| t.is(w));
        let prompt_foundation = matches!(first.act, Do::Chain { links, .. } if links > 5)
            || matches!(first.act, Do::CastOn(_));
        // "Make a chain of 24" is as prompt as "Ch 24".
        const LEAD: [&str; 9] =
            ["make", "work", "begin", "start", "commence", "crochet", "with", "a", "by"];
        let led = tokens.iter().take_while(|t| t.any(&LEAD)).count();
        let prompt_foundation =
            prompt_foundation && tokens.get(led).is_some_and(|t| first.span.start <= t.span.start);
        let stated = says("counts") || says("count") || equates(&tokens);
        if stated && !prompt_foundation {
            return None;
        }
        let foundation = read.ops.iter().take(3).any(|op| {
            matches!(op.act, Do::CastOn(_) | Do::CastOnMore(_) | Do::MagicRing)
                || matches!(op.act, Do::Chain { links, .. } if links > 1)
                || matches!(op.act, Do::Work { act: super::syntax::Act::Foundation(_), .. })
        });
        let closing = matches!(first.act, Do::BindOff(_) | Do::BindOffToOne | Do::FastenOff);
        let prompt = first.span.start <= tokens[0].span.end + 12;
        // "Join B in any corner" only moves the yarn there.
        let moves = |op: &Op| {
            matches!(op.act, Do::Work { act: Act::Slip, place, .. }
                if place.target == super::syntax::Target::Corner)
        };
        let works = read
            .ops
            .iter()
            .filter(|op| !moves(op))
            .any(|op| matches!(op.act, Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..)));
        if read.ops.iter().any(|op| matches!(op.act, Do::PickUp(..))) {
            return Some((Numbers::Step, true));
        }
        if foundation && read.unread.len() <= 6 {
            return Some((if works { Numbers::Next } else { Numbers::Step }, true));
        }
        if closing || matches!(first.act, Do::Colour(_) | Do::Join) {
            return Some((if works { Numbers::Next } else { Numbers::Step }, closing));
        }
        (prompt && works && read.unread.len() <= 2).then_some((Numbers::Next, false))
    }
}

/// "What is a tile?", "Each tile is made of 3 ch and 3 tr.": talk about the work.
fn asks_or_explains(t: &[Token<'_>]) -> bool {
    let asks = t.last().is_some_and(|t| t.kind == Kind::Other('?'));
    let explains = t[0].any(&["each", "every", "one"])
        && t.iter()
            .take(4)
            .any(|t| t.any(&["is", "are", "measures", "consists", "equals", "uses"]));
    // "The beginning of each row starts with ch 6": its rows say so again, or keep the house rule.
    let row = t.iter().take(6).position(|t| t.any(&["row", "rnd", "round"]));
    let of_all = row.is_some_and(|k| {
        t[..k].iter().any(|t| t.any(&["each", "every", "all"]))
            && t.get(k + 1).is_some_and(|t| t.any(&["starts", "begins", "ends"]))
    });
    asks || explains || of_all
}

/// "Rows 4-40: Rep rows 2 and 3 alternately" may end after either of them.
fn alternates(content: &mut Content, numbers: &Numbers, t: &[Token<'_>]) {
    if let (Content::Again(again), Numbers::Range(a, b)) = (content, numbers)
        && t.iter().any(|t| {
            t.any(&["alternately", "alternating", "alternate", "alternates", "ending", "end"])
        })
    {
        again.until = Until::Rows(b - a + 1);
    }
}

/// Words that instruct without naming a stitch.
const VERBS: [&str; 12] = [
    "turn", "join", "rep", "repeat", "skip", "sk", "miss", "fasten", "bind", "cast", "place", "ch",
];

/// Words for links of chain.
const CHAIN: [&str; 4] = ["ch", "chs", "chain", "chains"];

/// Words before the chain that a piece begins with.
const FOUNDATION: [&str; 5] = ["starting", "foundation", "base", "beginning", "initial"];

/// "Border: With A, ch 1, ..." at the start of an unnumbered row names it.
fn without_label<'s, 't>(cx: &Context, t: &'s [Token<'t>]) -> &'s [Token<'t>] {
    let colon = t.iter().take(4).position(|t| t.kind == Kind::Stop(':'));
    let Some(colon) = colon.filter(|&k| k > 0 && k + 1 < t.len()) else { return t };
    let chained = t[colon + 1..].iter().any(|t| t.any(&CHAIN));
    let plain = |k: usize| {
        t[k].kind == Kind::Dash && k > 0
            || t[k].kind == Kind::Word
                && stitch_at(cx, t, k).is_none()
                && (chained && k > 0 && t[k - 1].any(&FOUNDATION) && t[k].any(&CHAIN)
                    || !matches!(
                        t[k].text,
                        "ch" | "chain" | "co" | "cast" | "bind" | "bo" | "with" | "join"
                    ))
    };
    if (0..colon).all(plain) { &t[colon + 1..] } else { t }
}

/// "An even number of chains (I did 80)" lays a foundation, however chatty.
fn own_number(t: &[Token<'_>]) -> bool {
    let open =
        t.windows(2).any(|w| w[0].any(&["number", "multiple", "multiples"]) && w[1].is("of"));
    let chains = t.iter().any(|t| t.any(&["ch", "chs", "chain", "chains"]));
    let own =
        t.windows(2).any(|w| w[0].any(&super::special::OWN_NUMBER) && w[1].number().is_some());
    open && chains && own
}

/// The full stop at `k` ends "approx." or the like, and no sentence.
pub(super) fn abbreviated(t: &[Token<'_>], k: usize) -> bool {
    let next = t.get(k + 1);
    k > 0
        && t[k].glued
        && (t[k - 1].any(&["approx", "app", "incl", "no", "vs", "etc", "eg", "ie"])
            || next.is_some_and(|t| t.number().is_some()) && t[k - 1].any(&["about", "ch", "st"]))
}

/// Splits at full stops that end a sentence, exclamation and question marks and line ends.
pub(super) fn sentences<'t, 's>(t: &'s [Token<'t>]) -> Vec<&'s [Token<'t>]> {
    let mut parts = Vec::new();
    let mut from = 0;
    let mut depth = 0i32;
    for k in 0..t.len() {
        match t[k].kind {
            Kind::Open => depth += 1,
            Kind::Close => depth = (depth - 1).max(0),
            _ => {}
        }
        let glued_next = t.get(k + 1).is_some_and(|t| t.glued);
        let ends = matches!(t[k].kind, Kind::Stop('.') | Kind::Other('!' | '?'))
            && !glued_next
            && !abbreviated(t, k)
            || t[k].kind == Kind::Stop('\n');
        if ends && depth == 0 {
            parts.push(&t[from..=k]);
            from = k + 1;
        }
    }
    if from < t.len() {
        parts.push(&t[from..]);
    }
    parts
}

/// Counts of the whole row: where stitches are told after one, it is that of a part of the row ("sc evenly up the side
/// (140), 3 sc in corner").
fn at_end(mut counts: Vec<CountNote>, ops: &[Op]) -> Vec<CountNote> {
    let works = |op: &&Op| match op.act {
        Do::Work { act, .. } => act != Act::Slip,
        Do::OnePlace(..) | Do::Repeat(_) => true,
        _ => false,
    };
    let last = ops.iter().filter(works).map(|op| op.span.start).max().unwrap_or(0);
    counts.retain(|note| note.span.start >= last);
    counts
}
