//! Readings of a row whose words can be taken in more than one way, in the order of evidence.

use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
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
    /// "Ending with ..." after a repeat says what the last pass ends in, not what comes after it.
    pub(super) ends_within: bool,
    /// Chain links passed at the start of a foundation without a word.
    pub(super) passed: u32,
    /// The silent turning chain counts (`true`) or not, against the house rule.
    pub(super) turning: Option<bool>,
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
    /// A repeat with words for its end.
    pub(super) endings: bool,
}

impl Doubts {
    /// The doubts of `ops`.
    pub(super) fn of(ops: &[Op]) -> Self {
        let mut doubts = Self::default();
        doubts.look(ops);
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
                }
                Do::Work { place, .. } => {
                    self.bare |=
                        matches!(place.extent, Extent::Bare(n) if n > 1 && n <= MOST_TOGETHER);
                    self.tops = true;
                    self.gaps |= is_gap(place);
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
    if doubts.gaps && !spaces {
        add(&|r| r.edge_gaps = !r.edge_gaps);
    }
    if doubts.endings {
        add(&|r| r.ends_within = !r.ends_within);
    }
    if doubts.times {
        add(&|r| r.in_all = !r.in_all);
    }
    if skips_after_chain {
        add(&|r| r.under_chain = !r.under_chain);
    }
    if let Some(usual) = silent_turning {
        add(&|r| r.turning = if r.turning.is_none() { Some(!usual) } else { None });
    }
    if spaces && doubts.tops {
        add(&|r| r.links = !r.links);
    }
    if doubts.bare {
        add(&|r| r.bare_together = !r.bare_together);
    }
    all.truncate(16);
    all
}
