//! Finding what repeats.

use super::step::Into;
use super::step::Item;
use super::step::Step;

/// Longest part looked for that repeats.
const LONGEST: usize = 48;
/// Steps beyond which a row is not searched: the search takes time for every step and length.
const MOST: usize = 20_000;

/// A stretch of `period` that stands `times` times from `at`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Found {
    /// Where it begins.
    pub(super) at: usize,
    /// Its length.
    pub(super) period: usize,
    /// How often it stands there.
    pub(super) times: usize,
}

impl Found {
    fn saves(&self) -> usize {
        self.period * (self.times - 1)
    }
}

/// The repeat that saves most, the shortest and first of those that save alike.
fn best(items: &[Item]) -> Option<Found> {
    let n = items.len();
    let mut best: Option<Found> = None;
    for period in 1..=LONGEST.min(n / 2) {
        let mut run = 0;
        for i in 0..n {
            let same = i + period < n && items[i] == items[i + period];
            if same {
                run += 1;
                continue;
            }
            if run >= period {
                let found = Found { at: i - run, period, times: run / period + 1 };
                if best.is_none_or(|b| found.saves() > b.saves()) {
                    best = Some(found);
                }
            }
            run = 0;
        }
    }
    best
}

/// `items` with everything that repeats written once.
pub(super) fn folded(items: Vec<Item>) -> Vec<Item> {
    if items.len() < 2 || items.len() > MOST {
        return items;
    }
    // A group of stitches is long enough to be told once even where it comes but twice.
    let group = |f: &Found| {
        items[f.at..f.at + f.period].iter().any(|i| matches!(i.step, Step::Group { .. }))
    };
    let Some(found) = best(&items).filter(|f| f.saves() >= 2 || group(f)) else { return items };
    let end = found.at + found.period * found.times;
    let left = items[end - 1].left;
    let mut out = folded(items[..found.at].to_vec());
    let body = folded(items[found.at..found.at + found.period].to_vec());
    let times = found.times as u32;
    out.push(Item { step: Step::Repeat { items: body, times }, left });
    out.extend(folded(items[end..].to_vec()));
    out
}

/// A run over stitches and spaces alike to the end of the row, written as one.
pub(super) fn both_kinds(mut items: Vec<Item>) -> Vec<Item> {
    let mut from = items.len();
    let (mut name, mut links, mut stitches) = (None, None, false);
    while from > 0 {
        let Step::Each { name: other, into, .. } = &items[from - 1].step else { break };
        if name.as_ref().is_some_and(|n: &String| n != other) {
            break;
        }
        match into {
            Into::Stitch(crate::stitches::LoopTaken::Both) => stitches = true,
            Into::Space(n, crate::stitches::LoopTaken::Both) if links.is_none_or(|l| l == *n) => {
                links = Some(*n)
            }
            _ => break,
        }
        name = Some(other.clone());
        from -= 1;
    }
    if let (Some(name), Some(links), true) = (name, links, stitches)
        && items.len() - from > 2
    {
        let left = items[items.len() - 1].left;
        items.truncate(from);
        items.push(Item { step: Step::Each { name, into: Into::Both(links), n: 1 }, left });
    }
    items
}
