//! What a row offers to the row worked on it: its tops and spaces, in the order they were made.

use super::graph::Anchor;
use super::graph::Place;
use super::graph::RowId;
use super::graph::StitchId;
use super::kind::LoopTaken;
use super::kind::StitchKind;

/// Something a stitch can be worked into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// The stitch (or chain run).
    pub(super) id: StitchId,
    /// Its kind.
    pub(super) kind: StitchKind,
    /// Links of a chain run; 0 for a stitch.
    pub(super) links: u16,
    /// One link of the run, when chains are taken one by one: its number from 1; else 0.
    pub(super) link: u16,
    /// A place that is neither top nor space: a row end, an underside.
    pub(super) edge: Option<Place>,
}

impl Spot {
    /// It is a space under a chain run.
    pub(super) fn is_space(&self) -> bool {
        self.links > 0 && self.link == 0
    }
    /// The place a stitch takes on it.
    pub(super) fn place(&self) -> Place {
        if let Some(place) = self.edge {
            place
        } else if self.link > 0 {
            Place::Link { run: self.id, nth: self.link - 1 }
        } else if self.links > 0 {
            Place::Space(self.id)
        } else {
            Place::Top(self.id)
        }
    }
    /// A leg on it that takes `taken`.
    pub(super) fn anchor(&self, taken: LoopTaken) -> Anchor {
        Anchor { place: self.place(), taken }
    }
}

/// The name of a corner among groups.
pub(super) const CORNER: u16 = u16::MAX - 1;

/// A named group of stitches (a shell), by its spots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Group {
    /// Index among the pattern's definitions; `u16::MAX` for an unnamed group.
    pub(super) name: u16,
    /// First spot.
    pub(super) first: usize,
    /// Last spot.
    pub(super) last: usize,
}

/// A row as the next row finds it.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Below {
    /// The row.
    pub(super) row: RowId,
    /// Its spots in the order made.
    pub(super) spots: Vec<Spot>,
    /// Its first spot is a turning chain that counts.
    pub(super) turning: bool,
    /// It began with a turning chain that does not count.
    pub(super) beside: bool,
    /// Links of that chain, without those of a space it makes besides; 0 where it began without one.
    pub(super) turning_links: u16,
    /// Groups in the order made.
    pub(super) groups: Vec<Group>,
    /// Markers, each before the spot of this index.
    pub(super) markers: Vec<usize>,
    /// Spots at its end that a short turn left behind.
    pub(super) behind: usize,
    /// The ring it is, when it is one.
    pub(super) ring: Option<StitchId>,
}

impl Below {
    /// As the next row meets it: turned round when `turned`, chain runs link by link when `links`.
    pub(super) fn met(&self, turned: bool, links: bool) -> Self {
        let mut met = self.clone();
        if links {
            met.take_links();
        }
        if turned {
            let n = met.spots.len();
            met.spots.reverse();
            met.groups.reverse();
            let last = n.saturating_sub(1);
            for group in &mut met.groups {
                (group.first, group.last) =
                    (last - group.last.min(last), last - group.first.min(last));
            }
            met.markers.reverse();
            met.markers.iter_mut().for_each(|m| *m = n - (*m).min(n));
        }
        met
    }

    /// As if it had `n` stitches, all of them worked to the end, and no space: the last one doubled, or the last
    /// ones left out. Where it has none, `stand_in` is doubled.
    pub(super) fn resized(&self, n: usize, stand_in: Option<Spot>) -> Option<Self> {
        let mut other = Self { behind: 0, ..self.clone() };
        if other.spaces() > 0 {
            other.spots.retain(|s| !s.is_space());
            other.groups.clear();
            other.markers.clear();
        }
        let last = other.spots.last().copied().or(stand_in)?;
        other.spots.resize(n.min(super::worker::WIDEST), last);
        other.groups.retain(|g| g.last < n);
        other.markers.retain(|&m| m <= n);
        Some(other)
    }

    /// Without the yarn-overs, dropped to long loops.
    pub(super) fn without_wraps(mut self) -> Self {
        let keeps = |s: &Spot| s.kind != StitchKind::YarnOver;
        let kept: Vec<Spot> = self.spots.iter().copied().filter(keeps).collect();
        let mut before = vec![0; self.spots.len() + 1];
        for (k, spot) in self.spots.iter().enumerate() {
            before[k + 1] = before[k] + usize::from(keeps(spot));
        }
        self.markers.iter_mut().for_each(|m| *m = before[(*m).min(self.spots.len())]);
        self.groups.clear();
        self.spots = kept;
        self
    }

    fn take_links(&mut self) {
        let runs = std::mem::take(&mut self.spots);
        self.groups.clear();
        self.markers.clear();
        for spot in runs {
            if !spot.is_space() {
                self.spots.push(spot);
                continue;
            }
            self.spots.extend((1..=spot.links).map(|link| Spot { link, ..spot }));
        }
    }

    /// Stitches among the spots.
    pub(super) fn stitches(&self) -> u32 {
        self.spots.iter().filter(|s| !s.is_space()).count() as u32
    }

    /// Spaces among the spots.
    pub(super) fn spaces(&self) -> u32 {
        self.spots.iter().filter(|s| s.is_space()).count() as u32
    }
}
