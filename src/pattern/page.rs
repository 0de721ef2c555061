//! The page: its lines sorted into header lines, notes, sections, rows and remarks.
//!
//! A row is a heading and the words up to the next heading, section or remark. Words that instruct
//! nothing stay in place as remarks: they never become rows and never swallow one.

use super::heading::headings;
use super::labels::bare_number;
use super::labels::edging_name;
use super::labels::lays_foundation;
use super::labels::names_part;
use super::labels::names_piece;
use super::labels::numbered_part;
use super::labels::part_label;
use super::labels::starts_again;
use super::labels::words_rows;
use super::row::RowReader;
use super::section::Topic;
use super::section::only_part;
use super::section::section_name;
use super::section::topic;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use crate::source::Span;

/// A row whose words are still being gathered.
pub(super) struct Pending {
    heading: Heading,
    /// Spans of body text, one a line.
    pub(super) body: Vec<Span>,
    /// It goes on a line on which one row was written.
    after_one: bool,
}

/// Sorts the lines of one text.
pub(super) struct Page<'a> {
    /// The text in lower case, byte for byte as long as the source.
    pub(super) lower: &'a str,
    text: &'a str,
    pub(super) rows: RowReader<'a>,
    topic: Topic,
    pub(super) pending: Option<Pending>,
    blank_before: bool,
    fed: bool,
    /// Where the line being read begins, and the rows announced on it.
    line_from: u32,
    rows_in_line: usize,
    /// Rows are announced as "Row 1", so that bare numbers number something else.
    worded: bool,
    /// The page answers questions, "Q:" and "A:".
    asked: bool,
    /// A row was announced with a star before it.
    pub(super) starred: bool,
    /// Facts lines: topic and place, read later by the header's readers.
    pub(super) facts: Vec<(Topic, Span)>,
    /// What the page holds.
    pub(super) items: Vec<Item>,
}

impl<'a> Page<'a> {
    /// A page over `text`.
    pub(super) fn new(lower: &'a str, text: &'a str, rows: RowReader<'a>) -> Self {
        Self {
            lower,
            text,
            rows,
            topic: Topic::Opening,
            pending: None,
            blank_before: false,
            fed: false,
            line_from: 0,
            rows_in_line: 0,
            worded: words_rows(lower),
            asked: lower.lines().any(|line| line.trim_start().starts_with("q:")),
            starred: false,
            facts: Vec::new(),
            items: Vec::new(),
        }
    }

    /// Reads from byte `start` on and returns the row reader with what it learnt.
    pub(super) fn read(mut self, start: u32) -> (Vec<Item>, Vec<(Topic, Span)>, RowReader<'a>) {
        let mut at = start as usize;
        while at < self.lower.len() {
            let end = self.lower[at..].find('\n').map_or(self.lower.len(), |n| at + n);
            self.line(Span::new(at as u32, end as u32));
            at = end + 1;
        }
        self.close();
        (self.items, self.facts, self.rows)
    }

    fn line(&mut self, span: Span) {
        let lower: &'a str = self.lower;
        let tokens =
            super::sizes::collapse_sizes(cut(&lower[span.range()], span.start), self.rows.size);
        let answer = |t: &Token<'_>| t.any(&["q", "a"]);
        if self.asked
            && tokens.first().is_some_and(answer)
            && tokens.get(1).is_some_and(|t| t.kind == Kind::Stop(':'))
        {
            self.close();
            self.items.push(Item::Remark(span));
            return;
        }
        if tokens.is_empty() {
            self.blank_before = true;
            let holds = [Topic::Rows, Topic::Special, Topic::Notes, Topic::Talk];
            if self.fed && !holds.contains(&self.topic) {
                self.topic = Topic::Opening;
            }
            return;
        }
        self.fed = true;
        let mut from = 0;
        // "Gauge: Rounds 1-3: 3 in" measures rounds and works none.
        let gauge = matches!(topic(&tokens), Some((Topic::Gauge, _)));
        let mut cuts = if gauge { Vec::new() } else { headings(&tokens, self.topic) };
        if self.worded {
            cuts.retain(|&(at, ..)| !bare_number(&tokens, at));
        }
        (self.line_from, self.rows_in_line) = (span.start, cuts.len());
        for (at, mut heading, len) in cuts {
            heading.starred = at > 0 && matches!(tokens[at - 1].kind, Kind::Star(_));
            self.starred |= heading.starred;
            if at > from {
                self.segment(&tokens[from..at], true);
            }
            self.close();
            self.topic = Topic::Rows;
            if (at, tokens[0].kind) == (1, Kind::Star(1)) {
                self.rows.starred_row = match &heading.numbers {
                    Numbers::Listed(all) => all.first().copied(),
                    Numbers::Range(from, _) => Some(*from),
                    _ => None,
                };
            }
            if let Numbers::Listed(all) = &heading.numbers
                && let [n] = all[..]
                && super::heading::goes_on(&tokens[at..at + len])
            {
                // "Row 4 onwards": what working on means from here.
                self.rows.forms.push((heading.span.start, AgainRows::Numbers(vec![(n, n)])));
            }
            if let (true, Some(name)) =
                (heading.numbers == Numbers::Listed(vec![1]), edging_name(&tokens[at..at + len]))
            {
                let span = tokens[at].span;
                self.rows.sections.push(name.to_owned());
                self.items.push(Item::Section {
                    name: self.text[span.range()].to_owned(),
                    copies: 1,
                    span,
                });
            }
            from = at + len;
            self.pending = Some(Pending { heading, body: Vec::new(), after_one: false });
        }
        if from < tokens.len() {
            self.segment(&tokens[from..], false);
        }
        self.blank_before = false;
    }

    /// A stretch of a line without a heading; `before` when a heading follows on the same line.
    fn segment(&mut self, tokens: &[Token<'a>], before: bool) {
        let casts_on = |k: usize| {
            (k == 0 || tokens[k - 1].kind == Kind::Stop('.'))
                && tokens[k].any(&["cast", "co"])
                && lays_foundation(&tokens[k..])
        };
        let rows = self.topic == Topic::Rows
            || self.pending.is_some()
            || tokens[0].any(&["cast", "co"])
            || (0..tokens.len()).any(casts_on);
        if let Some(k) = self.own_sentence(tokens).filter(|_| rows) {
            self.segment(&tokens[..k], before);
            return self.segment(&tokens[k..], before);
        }
        let span = tokens[0].span.to(tokens[tokens.len() - 1].span);
        if let Some(pending) = &mut self.pending
            && pending.body.is_empty()
        {
            pending.body.push(span);
            return;
        }
        if let Some((topic, used)) = topic(tokens) {
            self.close();
            if matches!(topic, Topic::Gauge | Topic::Size | Topic::Materials) {
                self.name_the_piece();
            }
            self.topic = topic;
            self.fed = used < tokens.len();
            if used < tokens.len() {
                self.fact(tokens, span);
            }
            return;
        }
        if !before && self.continues(tokens) {
            if let Some(pending) = &mut self.pending {
                pending.body.push(span);
            }
            return;
        }
        if matches!(self.topic, Topic::Gauge | Topic::Size | Topic::Materials)
            && !before
            && !names_part(tokens)
            && (self.topic == Topic::Materials || !self.stands_in_capitals(tokens))
            && self.rows.step(self.lower, span).is_none()
        {
            return self.fact(tokens, span);
        }
        if self.items.is_empty()
            && self.facts.is_empty()
            && self.pending.is_none()
            && !before
            && self.topic == Topic::Opening
            && (!only_part(tokens) || self.titled_so(span))
            && (self.rows.step(self.lower, span).is_none() || names_piece(tokens))
        {
            self.facts.push((Topic::Opening, span));
            self.items.push(Item::Remark(span));
            return;
        }
        self.named_or_loose(tokens, span, before);
    }

    /// The front matter gives the piece this name.
    fn titled_so(&self, span: Span) -> bool {
        let words = self.lower[span.range()].trim();
        let mut before = self.lower[..span.range().start].lines();
        before.any(|line| line.starts_with("title") && line.contains(words))
    }

    /// A name with facts below it and no row before them is that of the piece, and not of a section.
    fn name_the_piece(&mut self) {
        if self.items.iter().any(|item| matches!(item, Item::Row(_))) {
            return;
        }
        if let Some(named) = self.items.iter().rposition(|i| matches!(i, Item::Section { .. }))
            && let Item::Section { span, .. } = self.items[named]
        {
            self.items[named] = Item::Remark(span);
            self.rows.sections.pop();
            self.facts.push((Topic::Opening, span));
        }
    }

    /// "SHAWL:" in capitals, straight below the gauge.
    fn stands_in_capitals(&self, tokens: &[Token<'a>]) -> bool {
        let written = &self.text[tokens[0].span.range()];
        only_part(tokens) && written.len() > 3 && written.chars().all(char::is_uppercase)
    }

    /// A section's name, a definition, a rule, or words outside rows.
    fn named_or_loose(&mut self, tokens: &[Token<'a>], span: Span, before: bool) {
        if !before && super::block::defines_block(tokens) && self.rows.define(self.lower, span) {
            self.close();
            self.items.push(Item::Remark(span));
            return;
        }
        if !before && super::block::tells_block(tokens) {
            self.close();
            self.items.push(Item::Remark(span));
            return;
        }
        if !before && self.defines_early(tokens) && self.rows.define(self.lower, span) {
            self.items.push(Item::Remark(span));
            return;
        }
        if self.topic == Topic::Notes
            && super::rules::of_all_rows(tokens)
            && self.rows.rule(self.lower, span)
        {
            self.items.push(Item::Remark(span));
            return;
        }
        if self.topic == Topic::Talk
            && section_name(tokens, &self.text[span.range()], false).is_none()
        {
            self.items.push(Item::Remark(span));
            return;
        }
        // "Using the garter tab method: CO 3, knit 7 rows, ..."
        let label = tokens.iter().take(8).position(|t| t.kind == Kind::Stop(':'));
        if let Some(rest) = label.map(|k| &tokens[k + 1..]).filter(|t| !t.is_empty())
            && tokens[0].any(&["using", "with", "begin", "start", "work"])
            && lays_foundation(rest)
        {
            return self.segment(rest, before);
        }
        let strong = self.rows.step(self.lower, span).is_some_and(|(_, strong)| strong);
        if strong && !before && numbered_part(tokens).is_none() {
            return self.loose(tokens, span);
        }
        if let Some(colon) = part_label(tokens).filter(|&k| k + 1 < tokens.len())
            && (!matches!(self.topic, Topic::Abbreviations | Topic::Special)
                || lays_foundation(&tokens[colon + 1..]))
        {
            let rest = &tokens[colon + 1..];
            let words = rest[0].span.to(rest[rest.len() - 1].span);
            let step =
                !super::labels::names_shaping(rest) && self.rows.step(self.lower, words).is_some();
            if step || self.rows.part_copied(rest).is_some() {
                self.close();
                self.topic = Topic::Rows;
                let label = tokens[0].span.to(tokens[colon - 1].span);
                let name = self.text[label.range()].trim_end_matches('.').to_owned();
                self.rows.sections.push(name.clone());
                let copies = super::copied::numbers_of(&name).len().max(1) as u32;
                self.items.push(Item::Section { name, copies, span: label });
                return self.loose(rest, words);
            }
        }
        let inside = &tokens[..tokens.len() - 1];
        let marked = inside
            .iter()
            .any(|t| matches!(t.kind, Kind::Dash | Kind::Stop(':') | Kind::Other('=')));
        let lists = marked && matches!(self.topic, Topic::Abbreviations | Topic::Special);
        if !lists
            && let Some(section) =
                section_name(tokens, &self.text[span.range()], before || self.pending.is_none())
        {
            self.close();
            self.topic = if section.instructs { Topic::Rows } else { self.topic };
            self.rows.sections.push(section.name.clone());
            self.items.push(Item::Section { name: section.name, copies: section.copies, span });
            return;
        }
        let learnt = match self.topic {
            Topic::Notes => self.rows.rule(self.lower, span),
            Topic::Special | Topic::Abbreviations => self.rows.define(self.lower, span),
            _ => false,
        };
        if learnt {
            self.items.push(Item::Remark(span));
            return;
        }
        self.loose(tokens, span);
    }

    /// "open mesh (sp): dc, ch 2, sk 2" before anything is worked, under no heading: a stitch of the page's
    /// own, by the colon after a name and its short form in brackets.
    fn defines_early(&self, t: &[Token<'a>]) -> bool {
        let worked = self.items.iter().any(|item| matches!(item, Item::Row(_)));
        let colon = t.iter().take(9).position(|t| t.kind == Kind::Stop(':'));
        let Some(colon) = colon.filter(|&k| k > 1 && !worked && self.pending.is_none()) else {
            return false;
        };
        const STITCHES: [&str; 12] = [
            "mesh", "block", "space", "sp", "shell", "cluster", "fan", "puff", "group", "stitch",
            "st", "picot",
        ];
        let short = colon < 4 && t[colon - 1].any(&STITCHES);
        let named = (t[colon - 1].kind == Kind::Close || short) && t[0].kind == Kind::Word;
        named && !only_part(&t[..1]) && !lays_foundation(&t[(colon + 1).min(t.len() - 1)..])
    }

    /// Words outside rows; when they begin with a step, each sentence for itself.
    fn loose(&mut self, tokens: &[Token<'a>], span: Span) {
        let mut depth = 0i32;
        let first = tokens
            .iter()
            .position(|t| {
                depth += i32::from(t.kind == Kind::Open) - i32::from(t.kind == Kind::Close);
                t.kind == Kind::Stop('.') && depth <= 0
            })
            .filter(|&k| !super::row::abbreviated(tokens, k))
            .filter(|&k| k + 1 < tokens.len() && !tokens[k + 1].glued);
        let rest =
            first.map(|k| &tokens[k + 1..]).filter(|t| t.iter().any(|t| t.kind == Kind::Word));
        if let (Some(k), Some(rest)) = (first, rest) {
            let head = tokens[0].span.to(tokens[k].span);
            let tail = rest[0].span.to(tokens[tokens.len() - 1].span);
            let parts = [self.rows.step(self.lower, head), self.rows.step(self.lower, tail)];
            // "Bind off. Seam the short ends."
            let ends = tokens[0].any(&["bind", "cast", "bo"]);
            let on = parts[1].as_ref().map_or(ends, |(_, strong)| *strong);
            if on && matches!(parts[0], Some((Numbers::Step, true))) {
                self.lone(&tokens[..=k], head);
                return self.segment(rest, false);
            }
            if let [None, Some((Numbers::Step, true))] = parts
                && lays_foundation(rest)
            {
                // "Worked back and forth. Work 64 ch on hook size 6 mm."
                self.close();
                self.items.push(Item::Remark(head));
                return self.segment(rest, false);
            }
        }
        self.lone(tokens, span);
    }

    /// A step, an unnumbered row, a standing rule, or a remark.
    fn lone(&mut self, tokens: &[Token<'a>], span: Span) {
        if self.rows.part_copied(tokens).is_some() {
            self.close();
            if self.copies_part(span) {
                return;
            }
        }
        if self.rows.tells_stripes(tokens) {
            self.close();
            self.items.push(Item::Remark(span));
            return;
        }
        let defines = tokens.iter().any(|t| matches!(t.kind, Kind::Stop(':') | Kind::Other('=')));
        let label = tokens.len() > 2
            && tokens[0].any(&["foundation", "base"])
            && tokens[1..3].iter().any(|t| t.kind == Kind::Stop(':'));
        let first = tokens.iter().position(|t| t.kind == Kind::Stop(':')).map_or(0, |k| k + 1);
        let founds = label && lays_foundation(&tokens[first.min(tokens.len() - 1)..]);
        let facts = !founds
            && matches!(self.topic, Topic::Abbreviations | Topic::Special)
            && (defines || !(self.blank_before || lays_foundation(tokens)));
        if !facts
            && let Some((numbers, strong)) = self.rows.step(self.lower, span)
            && (strong || self.topic == Topic::Rows)
        {
            self.close();
            self.topic = Topic::Rows;
            let heading =
                Heading { numbers, span: Span::new(span.start, span.start), ..Heading::default() };
            let after_one = self.rows_in_line == 1 && span.start > self.line_from;
            self.pending = Some(Pending { heading, body: vec![span], after_one });
            return;
        }
        self.close();
        if !self.rows.rule(self.lower, span) && tokens.len() < 60 {
            self.rows.define(self.lower, span);
        }
        self.items.push(Item::Remark(span));
    }

    fn fact(&mut self, tokens: &[Token<'a>], span: Span) {
        match self.topic {
            Topic::Notes => {
                self.rows.rule(self.lower, span);
            }
            Topic::Special | Topic::Abbreviations => {
                let skip = topic(tokens).map_or(0, |(_, used)| used);
                if skip < tokens.len() {
                    let rest = Span::new(tokens[skip].span.start, span.end);
                    self.rows.define(self.lower, rest);
                }
            }
            Topic::Rows => {
                let skip = topic(tokens).map_or(0, |(_, used)| used).min(tokens.len() - 1);
                return self
                    .loose(&tokens[skip..], tokens[skip].span.to(tokens[tokens.len() - 1].span));
            }
            _ => self.facts.push((self.topic, span)),
        }
        self.items.push(Item::Remark(span));
    }

    /// The line goes on with the row before it.
    fn continues(&self, tokens: &[Token<'a>]) -> bool {
        let Some(pending) = &self.pending else { return false };
        let Some(last) = pending.body.last() else { return true };
        let heads = tokens.len() <= 5 && tokens[tokens.len() - 1].kind == Kind::Stop(':')
            || part_label(tokens).is_some();
        if self.blank_before || heads {
            return false;
        }
        let parts =
            ["section", "half", "border", "edging", "part", "end", "panel", "rows", "rounds"];
        if tokens.len() < 5
            && tokens.iter().all(|t| t.kind == Kind::Word || t.is_stop())
            && tokens.iter().any(|t| t.any(&parts))
            && tokens[0].any(&[
                "inc",
                "increase",
                "increasing",
                "dec",
                "decrease",
                "decreasing",
                "lace",
                "rib",
                "first",
                "second",
                "main",
                "garter",
                "purl",
                "knit",
            ])
        {
            return false;
        }
        let span = tokens[0].span.to(tokens[tokens.len() - 1].span);
        let before = self.text[last.range()].trim_end();
        let open = !before.ends_with(['.', ')', ']', '!', '?', ':']);
        let step = self.rows.step(self.lower, span);
        let own = step.is_some_and(|(numbers, strong)| strong || numbers == Numbers::Step)
            || starts_again(tokens);
        if open && !own {
            return self.rows.instructs(self.lower, span);
        }
        !own && self.rows.instructs(self.lower, span)
            && !matches!(pending.heading.numbers, Numbers::Step)
    }

    /// "As Panel 1, but in B": the rows of that part stand here anew, or say how many there are of it.
    fn copies_part(&mut self, body: Span) -> bool {
        let tokens = cut(&self.lower[body.range()], body.start);
        self.rows.copy_part(&tokens, &mut self.items)
    }

    /// Ends the row being gathered.
    fn close(&mut self) {
        let Some(pending) = self.pending.take() else { return };
        let span = pending.body.iter().fold(pending.heading.span, |a, &b| a.to(b));
        if pending.body.is_empty() {
            self.items.push(Item::Remark(span));
            return;
        }
        let body = pending.body[0].to(pending.body[pending.body.len() - 1]);
        if self.copies_part(body) {
            return;
        }
        let mut item = self.rows.row(self.lower, pending.heading, body, span);
        self.rows.take_tagged_yarn(&mut item);
        if let Item::Row(row) = &mut item
            && let Content::Again(again) = &mut row.content
            && again.rows == AgainRows::All
            && pending.after_one
            && self.rows.says_no_rows(self.lower, body)
        {
            // "Row 3: k2, yo, k to end. Repeat until ..." speaks of the row before it.
            again.rows = AgainRows::Last(1);
        }
        self.items.push(item);
        self.items.extend(self.rows.then.take());
    }
}
