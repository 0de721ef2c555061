//! Steps in words.

use super::Plainness;
use super::names::Names;
use super::step::Into;
use super::step::Item;
use super::step::Over;
use super::step::Step;
use crate::stitches::Craft;
use crate::stitches::LoopTaken;

/// Stitches from which "in each st across" is said rather than their number.
const MANY: u32 = 4;

/// How steps are put into words.
pub(super) struct Prose<'a> {
    /// Names.
    pub(super) names: &'a Names<'a>,
    /// How plainly.
    pub(super) plain: Plainness,
    /// A round.
    pub(super) round: bool,
    /// The first step stands on the first stitch.
    pub(super) opens: bool,
    /// It ends before the row below does: nothing is told by what is left.
    pub(super) short: bool,
}

/// "1st", "2nd", "23rd".
pub(super) fn ordinal(n: u32) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// "2 more times", "once more".
pub(super) fn more(n: u32) -> String {
    match n {
        1 => "once more".into(),
        2 => "twice more".into(),
        n => format!("{n} more times"),
    }
}

/// "twice", "3 times".
fn times(n: u32) -> String {
    if n == 2 { "twice".into() } else { format!("{n} times") }
}

impl Prose<'_> {
    fn knit(&self) -> bool {
        self.names.craft == Craft::Knit
    }

    /// All steps of a row, parted by commas; `stated` follows the first.
    pub(super) fn row(&self, items: &[Item], stated: Option<&str>) -> String {
        let widest = self.widest(items);
        let starred = self.starred(items);
        let mut parts: Vec<String> = Vec::with_capacity(items.len());
        let mut text = String::new();
        for (k, item) in items.iter().enumerate() {
            let words = match &item.step {
                Step::Each { name, into, .. } if widest == Some(k) => {
                    self.each_left(name, *into, item.left)
                }
                Step::Repeat { items, times } if starred == Some(k) => {
                    self.star(items, *times, item.left)
                }
                step => self
                    .at_end(step, item.left, k == 0 && self.opens)
                    .unwrap_or_else(|| self.step(step)),
            };
            parts.push(words);
        }
        for (k, part) in parts.iter().enumerate() {
            if k == 1 && stated.is_none() && self.hook_then_all(items, widest) {
                text.push_str(" and in each ch across");
            } else {
                if k > 0 {
                    text.push_str(", ");
                }
                text.push_str(part);
            }
            if let (0, Some(stated)) = (k, stated) {
                text.push(' ');
                text.push_str(stated);
            }
        }
        text
    }

    /// "2 sc in first st", "dc in last st".
    fn at_end(&self, step: &Step, left: u32, first: bool) -> Option<String> {
        if self.plain > Plainness::Usual || self.knit() || !(first || left == 0) {
            return None;
        }
        let end = if first { "first" } else { "last" };
        let place = |into: &Into| match into {
            Into::Stitch(taken) => Some(format!("in {}{end} st", of(*taken))),
            _ => None,
        };
        match step {
            Step::Each { name, into, n: 1 } => Some(format!("{name} {}", place(into)?)),
            Step::Many { name, m, into } => Some(format!("{m} {name} {}", place(into)?)),
            Step::Group { parts, into } => Some(format!("({}) {}", group(parts), place(into)?)),
            _ => None,
        }
    }

    /// "sc in 2nd ch from hook and in each ch across".
    fn hook_then_all(&self, items: &[Item], widest: Option<usize>) -> bool {
        let [a, b] = items else { return false };
        let (Step::Each { name, into: Into::Hook(_), .. }, Step::Each { name: other, into, .. }) =
            (&a.step, &b.step)
        else {
            return false;
        };
        name == other && *into == Into::Chain(LoopTaken::Both) && widest == Some(1) && b.left == 0
    }

    /// Index of the long run that is said by what is left after it.
    fn widest(&self, items: &[Item]) -> Option<usize> {
        if self.plain > Plainness::Usual || self.short {
            return None;
        }
        let runs = items.iter().enumerate().filter_map(|(k, item)| match &item.step {
            Step::Each { into: Into::Both(_), .. } => Some((k, u32::MAX)),
            Step::Each { into: Into::Stitch(_) | Into::Chain(_) | Into::Post(_), n, .. } => {
                Some((k, *n))
            }
            _ => None,
        });
        let starred = self.starred(items).is_some();
        let wide = runs.filter(|r| r.1 >= MANY && (!starred || r.1 == u32::MAX));
        wide.max_by_key(|&(k, n)| (n, std::cmp::Reverse(k))).map(|r| r.0)
    }

    /// Index of the repeat that is written with an asterisk: the longest one.
    fn starred(&self, items: &[Item]) -> Option<usize> {
        if self.plain > Plainness::Counted {
            return None;
        }
        let repeats = items.iter().enumerate().filter_map(|(k, item)| match &item.step {
            Step::Repeat { items, times } => Some((k, items.len() as u32 * times)),
            _ => None,
        });
        repeats.max_by_key(|&(k, n)| (n, std::cmp::Reverse(k))).map(|r| r.0)
    }

    fn star(&self, items: &[Item], times: u32, left: u32) -> String {
        let words = self.list(items);
        let end = if self.round { "around" } else { "across" };
        // A ring is never full.
        let ring = |i: &Item| {
            matches!(&i.step, Step::Each { into, .. } | Step::Many { into, .. } | Step::Group { into, .. }
                if *into == Into::Ring)
        };
        let plain =
            if self.short || items.iter().any(ring) { Plainness::Counted } else { self.plain };
        match (plain, left) {
            (Plainness::Usual, 0) => format!("*{words}; rep from * {end}"),
            (Plainness::Usual, 1) => format!("*{words}; rep from * to last st"),
            (Plainness::Usual, n) => format!("*{words}; rep from * to last {n} sts"),
            _ => format!("*{words}; rep from * {}", more(times - 1)),
        }
    }

    pub(super) fn list(&self, items: &[Item]) -> String {
        items.iter().map(|i| self.step(&i.step)).collect::<Vec<_>>().join(", ")
    }

    /// A run up to the last `left` stitches.
    fn each_left(&self, name: &str, into: Into, left: u32) -> String {
        let end = match left {
            0 if self.round => "around".to_owned(),
            0 => "across".into(),
            1 => "to last st".into(),
            n => format!("to last {n} sts"),
        };
        if self.knit() && matches!(name, "k" | "p") && !matches!(into, Into::Below(_)) {
            let end = if left == 0 { "to end".to_owned() } else { end };
            return format!("{name} {end}");
        }
        match into {
            Into::Both(links) => format!("{name} in each st and ch-{links} sp {end}"),
            Into::Chain(taken) => format!("{name} in {}each ch {end}", of(taken)),
            Into::Post(front) => format!("{} around each st {end}", posted(name, front)),
            Into::Stitch(taken) => format!("{name} in {}each st {end}", of(taken)),
            _ => format!("{name} {}", self.into(into, 1)),
        }
    }

    fn step(&self, step: &Step) -> String {
        match step {
            Step::Each { name, into, n } => self.each(name, *into, *n),
            Step::Many { name, m, into } => format!("{m} {name} {}", self.into(*into, 1)),
            Step::Group { parts, into } => {
                format!("({}) {}", group(parts), self.into(*into, 1))
            }
            Step::Times { words, n: 1 } => words.clone(),
            Step::Times { words, n: 2 } if words == "yo" => "yo twice".into(),
            Step::Times { words, n } => format!("[{words}] {}", times(*n)),
            Step::Skip { n, over } => self.skip(*n, *over),
            Step::Chain(links) => format!("ch {links}"),
            Step::BindOff(n) => format!("{} {n} sts", self.names.bind_off()),
            Step::CastOn(n) => format!("cast on {n} sts"),
            Step::Colour(name) => format!("with {name}"),
            Step::Repeat { items, times: n } => format!("[{}] {}", self.list(items), times(*n)),
        }
    }

    fn skip(&self, n: u32, over: Over) -> String {
        let skip = self.names.skip();
        match (over, n) {
            (Over::Stitches, 1) => format!("{skip} next st"),
            (Over::Stitches, n) => format!("{skip} next {n} sts"),
            (Over::Links, 1) => format!("{skip} next ch"),
            (Over::Links, n) => format!("{skip} next {n} ch"),
            (Over::Spaces(links), 1) => format!("{skip} next ch-{links} sp"),
            (Over::Spaces(links), n) => format!("{skip} next {n} ch-{links} sps"),
        }
    }

    fn each(&self, name: &str, into: Into, n: u32) -> String {
        if self.knit() && matches!(into, Into::Stitch(LoopTaken::Both)) {
            return match (name, n) {
                ("k" | "p", n) => format!("{name}{n}"),
                ("ktbl" | "ptbl", 1) => format!("{}1 tbl", &name[..1]),
                ("ktbl" | "ptbl", n) => format!("[{}1 tbl] {n} times", &name[..1]),
                (name, n) => format!("{name} {n}"),
            };
        }
        if self.knit() && matches!((name, into), ("k" | "p", Into::Below(2))) {
            return if n == 1 {
                format!("{name}1 below")
            } else {
                format!("[{name}1 below] {}", times(n))
            };
        }
        if let Into::Post(front) = into {
            let posts = if n == 1 { "next st".into() } else { format!("each of next {n} sts") };
            return format!("{} around {posts}", posted(name, front));
        }
        if let Into::PostBelow(_, front) = into {
            return format!("{} {}", posted(name, front), self.into(into, n));
        }
        format!("{name} {}", self.into(into, n))
    }

    fn into(&self, into: Into, n: u32) -> String {
        let next = |noun: &str| match n {
            1 => format!("next {noun}"),
            n => format!("next {n} {noun}s"),
        };
        match into {
            Into::Stitch(taken) => format!("in {}{}", of(taken), next("st")),
            Into::Chain(taken) => {
                let noun = if n == 1 { "next ch".into() } else { format!("next {n} ch") };
                format!("in {}{noun}", of(taken))
            }
            Into::Hook(nth) => format!("in {} ch from hook", ordinal(nth)),
            Into::Space(links, _) => match n {
                1 => format!("in next ch-{links} sp"),
                n => format!("in each of next {n} ch-{links} sps"),
            },
            Into::Both(links) => format!("in each st and ch-{links} sp across"),
            Into::Post(_) => format!("around {}", next("st")),
            Into::Link(nth, links) => {
                format!("in {} ch of next ch-{links}", ordinal(u32::from(nth)))
            }
            Into::Ring => "in ring".into(),
            Into::Same(true) => "in same sp".into(),
            Into::Same(false) => "in same st".into(),
            Into::Skipped => "in skipped st".into(),
            Into::Strand => "in strand before next st".into(),
            Into::Gap => "in sp between sts".into(),
            Into::LastGap => "in sp before last st".into(),
            Into::PostBelow(rows, _) => format!("around {} {rows} rows below", next("st")),
            Into::Below(rows) => format!("in {} {rows} rows below", next("st")),
            Into::TurningSpace => "in turning ch-sp".into(),
            Into::Spur(nth) => match n {
                1 => format!("in {} ch from hook", ordinal(nth)),
                2 => format!("in {} ch from hook and in next ch", ordinal(nth)),
                n => format!("in {} ch from hook and in next {} ch", ordinal(nth), n - 1),
            },
            Into::Elsewhere => "in the place shown by the piece".into(),
        }
    }
}

fn of(taken: LoopTaken) -> &'static str {
    match taken {
        LoopTaken::Both => "",
        LoopTaken::Back => "back loop only of ",
        LoopTaken::Front => "front loop only of ",
        LoopTaken::Third => "third loop of ",
    }
}

fn posted(name: &str, front: bool) -> String {
    format!("{}{name}", if front { "FP" } else { "BP" })
}

fn group(parts: &[(String, u32)]) -> String {
    let one = |(name, n): &(String, u32)| match (name.as_str(), n) {
        ("ch", n) => format!("ch {n}"),
        ("k" | "p", n) => format!("{name}{n}"),
        (name, 1) => name.to_owned(),
        (name, n) => format!("{n} {name}"),
    };
    parts.iter().map(one).collect::<Vec<_>>().join(", ")
}
