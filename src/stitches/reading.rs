//! Readings of a row whose words can be taken in more than one way, in the order of evidence.

use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::ReadingChoices;
use crate::pattern::Target;
use crate::pattern::Times;
use crate::pattern::Where;

/// A number with no place is read as all in one place up to this (a large shell).
pub(super) const MOST_TOGETHER: u32 = 9;

/// One way to take the ambiguous words of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Reading {
    /// "rep from * N times" is N in all, not N more.
    pub(super) in_all: bool,
    /// Links of chain runs below count as stitches.
    pub(super) links: bool,
    /// "2 sc" with no place is both in the next place.
    pub(super) bare_together: bool,
    /// The first skip after a turning chain that counts names the stitch under the chain.
    pub(super) under_chain: bool,
    /// The gap between a single edge stitch and a group is a space between groups too.
    pub(super) edge_gaps: bool,
    /// "In next space" is the gap between groups as well as the chain within one (its corner).
    pub(super) gap_spaces: bool,
    /// "Ending with ..." after a repeat says what the last pass ends in, not what comes after it.
    pub(super) ends_within: bool,
    /// Chain links passed at the start of a foundation without a word.
    pub(super) passed: u32,
    /// The silent turning chain counts (`true`) or not, against the house rule.
    pub(super) turning: Option<bool>,
}

impl Reading {
    /// The reading to begin with: what the user chose, else the usual one.
    pub(super) fn chosen(choices: ReadingChoices) -> Self {
        Self {
            in_all: choices.repeats_in_all.unwrap_or_default(),
            links: choices.links_are_stitches.unwrap_or_default(),
            bare_together: choices.numbers_together.unwrap_or_default(),
            ends_within: choices.endings_within.unwrap_or_default(),
            turning: choices.turning_counts,
            ..Self::default()
        }
    }

    /// Where it differs from `other`, in words, with the line of the front matter that settles it.
    pub(super) fn against(self, other: Self) -> Option<(&'static str, &'static str)> {
        let pick = |yes: bool, words: [(&'static str, &'static str); 2]| words[usize::from(!yes)];
        if self.turning != other.turning || self.under_chain != other.under_chain {
            let usual = ("with the turning chain by the usual rule", "turning-chain");
            return Some(match self.turning {
                Some(true) => ("with the turning chain a stitch", "turning-chain = \"counts\""),
                Some(false) => ("with the turning chain no stitch", "turning-chain = \"beside\""),
                None => usual,
            });
        }
        if self.in_all != other.in_all {
            return Some(pick(
                self.in_all,
                [
                    ("with the repeats counted in all", "repeats = \"in all\""),
                    ("with the repeats counted beyond the first", "repeats = \"more\""),
                ],
            ));
        }
        if self.links != other.links {
            return Some(pick(
                self.links,
                [
                    ("with chain links as stitches", "chains = \"stitches\""),
                    ("with chains as spaces", "chains = \"spaces\""),
                ],
            ));
        }
        if self.bare_together != other.bare_together {
            return Some(pick(
                self.bare_together,
                [
                    ("with numbers all in one place", "numbers = \"together\""),
                    ("with numbers one to a stitch", "numbers = \"one each\""),
                ],
            ));
        }
        (self.ends_within != other.ends_within).then(|| {
            pick(
                self.ends_within,
                [
                    ("with the ending inside the last repeat", "endings = \"within\""),
                    ("with the ending after the last repeat", "endings = \"after\""),
                ],
            )
        })
    }
}

/// Which ambiguities a row has.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Doubts {
    /// A repeat with a bare number of times.
    pub(super) times: bool,
    /// Stitches with a number and no place.
    pub(super) bare: bool,
    /// Stitches worked or skipped by number or to the end.
    pub(super) tops: bool,
    /// Stitches between groups.
    pub(super) gaps: bool,
    /// Stitches between others, in words.
    pub(super) between: bool,
    /// Stitches into spaces that no chain names, beside others that name theirs.
    pub(super) bare_spaces: bool,
    /// A repeat with words for its end.
    pub(super) endings: bool,
}

impl Doubts {
    /// The doubts of `ops`.
    pub(super) fn of(ops: &[Op]) -> Self {
        let mut doubts = Self::default();
        doubts.look(ops);
        doubts.bare_spaces &= super::corner::names_corners(ops);
        doubts
    }

    fn look(&mut self, ops: &[Op]) {
        for op in ops {
            match &op.act {
                Do::Repeat(repeat) => {
                    self.times |= matches!(repeat.times, Times::Open(_));
                    self.endings |= !repeat.ending.is_empty();
                    self.look(&repeat.ops);
                }
                Do::OnePlace(_, place) => {
                    self.tops = true;
                    self.gaps |= is_gap(place);
                    self.between |= place.target == Target::Gap;
                    self.bare_spaces |= place.target == Target::Space(None);
                }
                Do::Work { place, .. } => {
                    self.bare |=
                        matches!(place.extent, Extent::Bare(n) if n > 1 && n <= MOST_TOGETHER);
                    self.tops = true;
                    self.gaps |= is_gap(place);
                    self.between |= place.target == Target::Gap;
                    self.bare_spaces |= place.target == Target::Space(None);
                }
                Do::Skip(_) => self.tops = true,
                _ => {}
            }
        }
    }
}

fn is_gap(place: &Where) -> bool {
    matches!(place.target, Target::Gap | Target::Space(_))
}

/// The readings to try, the likeliest first.
pub(super) fn readings(
    ops: &[Op],
    spaces: bool,
    silent_turning: Option<bool>,
    skips_after_chain: bool,
    preferred: Reading,
    choices: ReadingChoices,
) -> Vec<Reading> {
    let doubts = Doubts::of(ops);
    let mut all = vec![preferred];
    let mut add = |change: &dyn Fn(&mut Reading)| {
        for k in 0..all.len() {
            let mut other = all[k];
            change(&mut other);
            if !all.contains(&other) {
                all.push(other);
            }
        }
    };
    if doubts.gaps && !spaces || doubts.between {
        add(&|r| r.edge_gaps = !r.edge_gaps);
    }
    if doubts.bare_spaces && spaces {
        add(&|r| r.gap_spaces = !r.gap_spaces);
        add(&|r| r.edge_gaps = r.gap_spaces);
    }
    if doubts.endings && choices.endings_within.is_none() {
        add(&|r| r.ends_within = !r.ends_within);
    }
    if doubts.times && choices.repeats_in_all.is_none() {
        add(&|r| r.in_all = !r.in_all);
    }
    if skips_after_chain {
        add(&|r| r.under_chain = !r.under_chain);
    }
    if let Some(usual) = silent_turning.filter(|_| choices.turning_counts.is_none()) {
        add(&|r| r.turning = if r.turning.is_none() { Some(!usual) } else { None });
    }
    if spaces && doubts.tops && choices.links_are_stitches.is_none() {
        add(&|r| r.links = !r.links);
    }
    if doubts.bare && choices.numbers_together.is_none() {
        add(&|r| r.bare_together = !r.bare_together);
    }
    all.truncate(16);
    all
}
