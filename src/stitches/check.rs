//! What a worked row is checked for: its printed count, stitches missing, stitches left.

use super::count::Counted;
use super::count::by_turning;
use super::count::groups_named;
use super::count::in_words;
use super::count::printed;
use super::draft::Draft;
use super::fault::Words;
use super::graph::RowStart;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::reading::Reading;
use super::ready::Ready;
use super::rows::Attempt;
use crate::diagnostic::Label;
use crate::diagnostic::Severity;
use crate::pattern::CountNote;
use crate::pattern::Do;
use crate::pattern::Noun;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    /// The printed count, when there is one, fits the draft.
    pub(super) fn count_fits(&self, draft: &Draft, body: Body<'a>) -> bool {
        body.count.is_none_or(|note| self.agrees(draft, note).is_some())
    }

    /// Name of the row below for messages.
    pub(super) fn below_name(&self, round: bool) -> String {
        match self.piece.rows.last() {
            Some(row) if row.label == "foundation" => {
                if self.knit {
                    "the cast-on".into()
                } else {
                    "the foundation".into()
                }
            }
            Some(row) => format!("{} {}", if round { "round" } else { "row" }, row.label),
            None => "the foundation".into(),
        }
    }

    /// Checks a row about to be taken into the piece.
    pub(super) fn check(&mut self, body: Body<'a>, chosen: &Attempt, ready: &Ready<'_>) {
        let draft = &chosen.draft;
        let mut wrong = false;
        if draft.over > 0 {
            self.too_few(body, chosen);
            wrong = true;
        } else if chosen.unworked > 0 && !self.stops_short(ready, draft) {
            self.unworked(body, chosen);
            wrong = true;
        } else if draft.jumped > 0 {
            self.jumped(body, chosen);
            wrong = true;
        }
        if !wrong {
            self.space_misnamed(body, chosen);
        }
        self.check_count(body, chosen, wrong);
        self.claim(body, chosen, wrong);
    }

    /// A knit row that turns before its end is a short row; a mid-row bind-off likewise leaves loops.
    fn stops_short(&self, ready: &Ready<'_>, draft: &Draft) -> bool {
        let turns = ready.ops.iter().any(|op| op.act == Do::Turn);
        self.knit && (turns || draft.bound > 0)
    }

    pub(super) fn add(&mut self, code: &'static str, body: Body<'a>, span: Span, words: Words) {
        let row = self.row_name(body.round);
        let below = self
            .piece
            .rows
            .last()
            .map(|r| Label { span: r.words, text: format!("{} stitches were made here", r.made) });
        let below = below.filter(|l| l.span != body.span).into_iter().collect();
        self.faults.add(
            code,
            Severity::Error,
            span,
            (&row, self.section_name(), body.span),
            words,
            below,
        );
    }

    fn too_few(&mut self, body: Body<'a>, chosen: &Attempt) {
        let had = chosen.had;
        let needs = had.saturating_add(chosen.draft.over);
        let (name, below) = (self.row_name(body.round).to_lowercase(), self.below_name(body.round));
        let least = if chosen.draft.too_large { "at least " } else { "" };
        let words = Words {
            message: format!("{name} needs {least}{}, but {below} made {had}", stitches(needs)),
            expected: format!("{had} stitches used"),
            found: format!("{least}{needs}"),
            fit: format!(
                "take {} fewer here, or make {} more in {below}",
                stitches(chosen.draft.over),
                chosen.draft.over
            ),
        };
        self.add("stitch-count", body, chosen.draft.over_at.unwrap_or(body.span), words);
    }

    fn unworked(&mut self, body: Body<'a>, chosen: &Attempt) {
        let (had, left) = (chosen.had, chosen.unworked);
        let used = had.saturating_sub(left);
        let (name, below) = (self.row_name(body.round).to_lowercase(), self.below_name(body.round));
        let mut span = body.span;
        let fit = match chosen.draft.fitted {
            Some(f) if f.left > 0 && f.takes > 1 => {
                span = f.span;
                let less = had.saturating_sub(left);
                let more = had + (f.takes - left % f.takes);
                let last = if self.knit {
                    format!("`k{left}`")
                } else {
                    format!("`work in last {left} sts`")
                };
                let begin = chains_for(chosen, less, more);
                let slip = slip_in_repeat(body, chosen).unwrap_or_default();
                format!(
                    "the repeat takes {}, so {} repeats leave {left} unworked: {slip}begin with {begin}, or end with {last}",
                    f.takes, f.passes
                )
            }
            _ => format!(
                "work {} more, or say `leave remaining {left} sts unworked`",
                stitches(left)
            ),
        };
        let words = Words {
            message: format!("{name} works {}, but {below} made {had}", stitches(used)),
            expected: format!("{had} stitches used"),
            found: used.to_string(),
            fit,
        };
        self.add("stitch-count", body, span, words);
    }

    fn jumped(&mut self, body: Body<'a>, chosen: &Attempt) {
        let n = chosen.draft.jumped;
        let name = self.row_name(body.round).to_lowercase();
        let span = chosen.draft.fitted.filter(|f| f.left > 0).map_or(body.span, |f| f.span);
        let repeat = chosen.draft.fitted.filter(|f| f.left > 0 && f.takes > 1);
        let fit = match repeat {
            Some(f) => format!(
                "the repeat takes {}, so {} repeats leave {} unworked: {}begin with {} or {}",
                f.takes,
                f.passes,
                f.left,
                slip_in_repeat(body, chosen).unwrap_or_default(),
                chosen.had - f.left,
                chosen.had + f.takes - f.left
            ),
            None => format!("say `skip {n} sts` if they are meant to be left"),
        };
        let words = Words {
            message: format!("{name} passes over {} without being told to", stitches(n)),
            expected: format!("{} stitches used", chosen.had),
            found: (chosen.had.saturating_sub(n)).to_string(),
            fit,
        };
        self.add("stitch-count", body, span, words);
    }

    fn check_count(&mut self, body: Body<'a>, chosen: &Attempt, wrong: bool) {
        let Some(note) = body.count else {
            if !wrong {
                return;
            }
            self.known_gap = 0;
            return;
        };
        if let Some(way) = self.agrees(&chosen.draft, note) {
            self.counted = self.counted.or(Some(way));
            if matches!(way, Counted::WithLinks | Counted::WithSpaces) {
                self.with_chains = Some(way);
            }
            self.known_gap = 0;
            return;
        }
        if self.counted.is_none()
            && !wrong
            && let Some(way) = by_turning(&chosen.draft, note)
            && !(way == Counted::WithTurning && self.told_not_to_count())
        {
            self.counted = Some(way);
            return self.turning_in_count(body, note.span, way);
        }
        let made = chosen.draft.made();
        let gap = i64::from(printed(note)) - i64::from(made);
        if wrong {
            // What the row uses is told already, and what it makes follows from that.
            self.known_gap = gap;
            let words = self.count_words(body, chosen, note, gap);
            return self.faults.add_found(("stitch-count", body.span), &words.message);
        }
        if gap == self.known_gap {
            return;
        }
        self.known_gap = gap;
        let words = self.count_words(body, chosen, note, gap);
        self.add("count-note", body, note.span, words);
    }

    /// The page says of a turning chain that it is no stitch: then its counts do not hold it.
    fn told_not_to_count(&self) -> bool {
        self.pattern.rules.turning.iter().any(|rule| rule.counts == crate::pattern::Counts::No)
    }

    /// What a wrong count is told as.
    fn count_words(&self, body: Body<'a>, chosen: &Attempt, note: &CountNote, gap: i64) -> Words {
        let made = chosen.draft.made();
        let name = self.row_name(body.round).to_lowercase();
        if let Some(words) = self.block_words(&chosen.draft, note, &name) {
            return words;
        }
        if let [(n, Noun::Word(word))] = note.parts.as_slice()
            && let Some(groups) = groups_named(&chosen.draft, &self.pattern.macros, word)
        {
            let told = groups.told();
            return Words {
                message: format!("{name} makes {told} {word}, but the page counts {n}"),
                expected: format!("{n} {word}"),
                found: told.to_string(),
                fit: format!("print {told}, or work {} {word} in this row", n),
            };
        }
        let links: u32 = chosen
            .draft
            .stitches
            .iter()
            .filter(|s| s.kind == super::kind::StitchKind::Chain)
            .map(|s| u32::from(s.links))
            .sum();
        let chains = if links > 0 { format!(" and {links} chain links") } else { String::new() };
        Words {
            message: format!(
                "{name} makes {made} stitches{chains}, but the page counts {}",
                in_words(note)
            ),
            expected: in_words(note),
            found: format!("{made} stitches{chains}"),
            fit: if gap == -1 && doubles_turning(body, &chosen.draft) {
                format!(
                    "the turning chain is the first stitch: begin in the next one, or say that it does not \
                     count; else print {made}"
                )
            } else if gap.abs() < 3 {
                format!(
                    "{} {} {} in this row, or print {made}",
                    if gap > 0 { "add" } else { "take out" },
                    gap.abs(),
                    if gap.abs() == 1 { "stitch" } else { "stitches" }
                )
            } else {
                format!("print {made}, or change the row by {}", gap.abs())
            },
        }
    }

    fn turning_in_count(&mut self, body: Body<'a>, span: Span, way: Counted) {
        let with = way == Counted::WithTurning;
        let row = self.row_name(body.round);
        let words = Words {
            message: format!(
                "the page's counts {} the turning chain",
                if with { "include" } else { "leave out" }
            ),
            expected: "a count of stitches".into(),
            found: if with {
                "one more: the turning chain"
            } else {
                "one less: without the turning chain"
            }
            .into(),
            fit: "say in the notes whether the turning chain is counted".into(),
        };
        self.faults.add(
            "count-read",
            Severity::Note,
            span,
            (&row, self.section_name(), span),
            words,
            Vec::new(),
        );
    }

    /// Says how repeats, chains and bare numbers were read, when it differs from the rows before.
    fn report_words(&mut self, body: Body<'a>, reading: Reading) {
        if reading.in_all != self.preferred.in_all {
            self.note(
                body,
                "repeat-read",
                "`rep from * N times` was read as N in all",
                "N more (the usual reading)",
                "N in all: it fits the stitches",
                "write `N more times` or `N times in all`",
            );
        }
        if reading.links != self.preferred.links {
            self.note(
                body,
                "chains-read",
                "chain links of the row below were taken as stitches",
                "stitches only",
                "links too: it fits the stitches",
                "name the spaces: `in next ch-1 sp`",
            );
        }
        if reading.bare_together != self.preferred.bare_together {
            self.note(
                body,
                "number-read",
                "a number with no place was read as all in the next stitch",
                "one in each of the next stitches",
                "all in one: it fits the stitches",
                "write `2 sc in next st`",
            );
        }
    }

    /// Says once how a doubtful row was read.
    pub(super) fn report_reading(
        &mut self,
        body: Body<'a>,
        ready: &Ready<'_>,
        chosen: &Attempt,
        starts: bool,
    ) {
        self.report_words(body, chosen.reading);
        self.preferred = chosen.reading;
        if body.count.is_some() && self.count_fits(&chosen.draft, body) {
            self.settled.insert(body.span.start, chosen.reading);
        }
        if self.said_turning
            || starts
            || self.spaced != super::turning_space::TurningSpaces::No
            || self.pattern.header.readings.turning_counts.is_some()
        {
            return;
        }
        let silent = ready
            .turning
            .is_some_and(|t| t.links > 1 && super::start::said(t, &self.pattern.rules).is_none());
        if !silent {
            return;
        }
        self.said_turning = true;
        let counts = matches!(chosen.draft.start, RowStart::ChainCounts(_));
        let message = format!(
            "the turning chain was taken to {}",
            if counts { "count as a stitch" } else { "count as no stitch" }
        );
        self.note(
            body,
            "turning-read",
            &message,
            "a statement, such as `counts as dc`",
            "none",
            "say whether it counts, or settle it by `turning-chain` under [readings]",
        );
    }

    /// A row that fits under no reading: the readings its words allow and what each would use and make. A row that
    /// works into spaces by name leaves no doubt that chains make spaces.
    pub(super) fn ask_which(
        &mut self,
        body: Body<'a>,
        chosen: &Attempt,
        others: &[Attempt],
        spaces: bool,
    ) {
        let tells = |a: &Attempt| (a.had + a.draft.over - a.unworked, a.draft.made());
        let mut seen = vec![tells(chosen)];
        let (mut given, mut lines) = (Vec::new(), Vec::new());
        for other in others {
            let (uses, makes) = tells(other);
            if spaces && other.reading.links != chosen.reading.links {
                continue;
            }
            let Some((words, line)) = other.reading.against(chosen.reading) else { continue };
            if seen.contains(&(uses, makes)) || given.len() > 2 || lines.contains(&line) {
                continue;
            }
            seen.push((uses, makes));
            given.push(format!("{words} it uses {uses} and makes {makes}"));
            lines.push(line);
        }
        if given.is_empty() {
            return;
        }
        let (uses, makes) = tells(chosen);
        let row = self.row_name(body.round).to_lowercase();
        let settle: Vec<String> = lines.iter().map(|line| format!("`{line}`")).collect();
        self.note(
            body,
            "which-reading",
            &format!("{row} fits under no reading of its words: which is meant?"),
            &format!("{} stitches used", chosen.had),
            &format!("as read here it uses {uses} and makes {makes}; {}", given.join("; ")),
            &format!("settle it in the front matter under [readings]: {}", settle.join(" or ")),
        );
    }

    fn note(
        &mut self,
        body: Body<'a>,
        code: &'static str,
        message: &str,
        expected: &str,
        found: &str,
        fit: &str,
    ) {
        let row = self.row_name(body.round);
        let words = Words {
            message: message.into(),
            expected: expected.into(),
            found: found.into(),
            fit: fit.into(),
        };
        self.faults.add(
            code,
            Severity::Note,
            body.span,
            (&row, self.section_name(), body.span),
            words,
            Vec::new(),
        );
    }
}

/// "17 or 21", or the chains that give so many stitches when the row stands on a foundation chain.
fn chains_for(chosen: &Attempt, less: u32, more: u32) -> String {
    match chosen.footing {
        Some(foot) => {
            let beside = foot.skipped.saturating_sub(if foot.counts { 1 + foot.bare } else { 0 });
            format!("ch {} or ch {}", less + beside, more + beside)
        }
        None => format!("{less} or {more}"),
    }
}

/// The row's turning chain counts, and its first stitch goes where that chain stands already.
fn doubles_turning(body: Body<'_>, draft: &super::draft::Draft) -> bool {
    use crate::pattern::Do;
    use crate::pattern::Extent;
    let first = body.ops.iter().find_map(|op| match &op.act {
        Do::Work { each, place, .. } => Some((*each, place.extent)),
        _ => None,
    });
    matches!(draft.start, super::graph::RowStart::ChainCounts(_))
        && matches!(first, Some((1, Extent::First(1) | Extent::Same)))
}

/// "1 stitch", "2 stitches".
fn stitches(n: u32) -> String {
    format!("{n} {}", if n == 1 { "stitch" } else { "stitches" })
}

/// Where the page counts as many stitches after the row as before it, the slip is within the repeat: one that takes a
/// stitch or two more or fewer fits.
fn slip_in_repeat(body: Body<'_>, chosen: &Attempt) -> Option<String> {
    let f = chosen.draft.fitted?;
    body.count.filter(|note| printed(note) == chosen.had)?;
    let outside = chosen.had.checked_sub(f.left + f.takes * f.passes)?;
    let along = chosen.had - outside;
    let fits = |takes: &u32| *takes > 1 && along.is_multiple_of(*takes);
    let near = [f.takes + 1, f.takes - 1, f.takes + 2, f.takes.saturating_sub(2)];
    let takes = near.into_iter().find(fits)?;
    let what = if takes > f.takes { "left out of" } else { "too many in" };
    let n = stitches(takes.abs_diff(f.takes));
    Some(format!(
        "look for {n} {what} it, since a repeat of {takes} fits {} times; else ",
        along / takes
    ))
}
