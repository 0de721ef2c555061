//! Loops of chain longer than the room below them.
//!
//! A chain between short stitches that stand closer together than it is long does not push them apart: it
//! stands off the edge as an arch. At rest the arch spans what the row below allows, and it bears no pull along
//! the row until it is straight. Its line is taken as the parabola, along which a thread bears an even load
//! with no bending; of span `b` and rise `f` it is `b/2 (√(1 + u²) + asinh(u)/u)` long, `u = 4f/b` (plane
//! geometry: integrate `√(1 + y'²)` of `y = 4f t(1 - t)`, `x = b t`). Between tall stitches, and over as many
//! stitches as it has links, the chain is the width of the row, as in mesh. At a row's end it climbs instead.

use super::cells::TopPoint;
use super::front::EntryId;
use super::mesh::Builder;
use crate::mechanics::Membrane;
use crate::stitches::Post;
use crate::stitches::StitchKind;

/// Links more than the room takes from which on a chain is an arch.
const SPARE: f64 = 1.0 - 1e-9;

/// Halvings in search of a rise or a place along an arch: to the last digit.
const HALVINGS: usize = 60;

/// Height of a loop of `units` stitches over a room of `room` stitches, in stitches; `None` where it does not
/// stand off.
pub fn loop_rise(units: f64, room: f64) -> Option<f64> {
    (room > 0.0 && units >= room + SPARE).then(|| Arch::new(units, room).rise)
}

/// A row's run of chain between two stitches, or between one and a row end.
struct Run {
    /// Steps between neighbouring tops that it spans: step `k` ends at top `k`, the last of a row at its end.
    steps: Vec<usize>,
    from: EntryId,
    to: EntryId,
    /// The stitches at its ends.
    ends: Vec<usize>,
}

impl Builder<'_> {
    /// Draws the loops of a row in to the room below them and lifts their points off the row's line.
    pub(super) fn arch(
        &self,
        tops: &mut [TopPoint],
        legged: &[usize],
        ends: Option<[Option<EntryId>; 2]>,
    ) {
        let mut steps = Steps::of(tops);
        for run in self.runs(tops, legged, ends) {
            let long = |k: &usize| steps.long[*k];
            let length: f64 = run.steps.iter().map(long).sum();
            let units: f64 = run.steps.iter().map(|k| steps.units[*k]).sum();
            let room = self.room(run.from, run.to);
            if !self.stands_off(tops, &run) || room <= 0.0 || units < room + SPARE {
                continue;
            }
            if let [end] = run.ends[..] {
                steps.climb(&run, room / units);
                // What does not lie along the row stands at its end; in the first row, links of the foundation
                // that are passed over lie along it.
                let founded = self.front.get(run.from).edge;
                let rise = if founded { 0.0 } else { length * (1.0 - room / units) };
                let lift = (rise - self.reach(tops[end].stitch)).max(0.0);
                let n = tops.len();
                for k in run.steps.iter().filter(|k| **k < n && **k != end) {
                    tops[*k].lift = lift;
                }
                continue;
            }
            let arch = Arch::new(length, length * room / units);
            let taut = units / room - 1.0;
            let mut along = 0.0;
            for (n, k) in run.steps.iter().enumerate() {
                along += steps.long[*k];
                steps.share[*k] = room / units;
                if n + 1 < run.steps.len() && *k < tops.len() {
                    (tops[*k].lift, tops[*k].taut) = (arch.height(along), Some(taut));
                }
            }
        }
        steps.apply(tops);
    }

    /// Runs of nothing but chain between neighbouring legs.
    fn runs(
        &self,
        tops: &[TopPoint],
        legged: &[usize],
        ends: Option<[Option<EntryId>; 2]>,
    ) -> Vec<Run> {
        let (first, last) = (legged[0], legged[legged.len() - 1]);
        let leg = |i: usize| (tops[i].legs[0], tops[i].legs[tops[i].legs.len() - 1]);
        let mut runs: Vec<Run> = legged
            .windows(2)
            .map(|w| Run {
                steps: (w[0] + 1..=w[1]).collect(),
                from: leg(w[0]).1,
                to: leg(w[1]).0,
                ends: vec![w[0], w[1]],
            })
            .collect();
        let n = tops.len();
        match ends {
            None => runs.push(Run {
                steps: (last + 1..=n).chain(0..=first).collect(),
                from: leg(last).1,
                to: leg(first).0,
                ends: vec![last, first],
            }),
            Some([right, left]) => {
                runs.extend(right.map(|from| Run {
                    steps: (0..=first).collect(),
                    from,
                    to: leg(first).0,
                    ends: vec![first],
                }));
                runs.extend(left.map(|to| Run {
                    steps: (last + 1..=n).collect(),
                    from: leg(last).1,
                    to,
                    ends: vec![last],
                }));
            }
        }
        runs.retain(|run| {
            let mut inner = run.steps[..run.steps.len() - 1].iter().filter(|k| **k < n).peekable();
            inner.peek().is_some() && inner.all(|k| tops[*k].open(self.piece))
        });
        runs
    }

    /// Stitches of the front from one entry to another.
    fn room(&self, from: EntryId, to: EntryId) -> f64 {
        let (mut at, mut room) = (from, 0.0);
        while at != to {
            room += self.front.get(at).units;
            at = self.front.next(at);
        }
        room
    }

    /// A short stitch holds one of its ends down, and its ends are not in one place, where it is a corner.
    fn stands_off(&self, tops: &[TopPoint], run: &Run) -> bool {
        let kind = |i: &usize| self.piece.stitch(tops[*i].stitch).kind;
        let short =
            |i: &usize| matches!(kind(i), StitchKind::Plain(Post::Single) | StitchKind::SlipStitch);
        run.from != run.to && run.ends.iter().any(short)
    }

    /// The law of a cell under an arch of `law`, that is straight at the strain `taut` along the row.
    pub(super) fn slack(&mut self, law: u32, taut: f64) -> u32 {
        let share = self.sizes.arch_share;
        let laws = &mut self.fabric.body.membranes;
        let (closed, open) = (laws[(law & !1) as usize], laws[(law | 1) as usize]);
        let slack = Membrane {
            e1: open.e1 * share,
            e2: open.e2 * share,
            g: open.g * share,
            locking: [taut, open.locking[1]],
            ..open
        };
        let known = (0..laws.len() / 2).find(|k| laws[2 * k] == closed && laws[2 * k + 1] == slack);
        known.unwrap_or_else(|| {
            // In pairs, like all laws: closed, then open.
            laws.extend([closed, slack]);
            laws.len() / 2 - 1
        }) as u32
            * 2
            + 1
    }
}

/// Lengths between neighbouring tops of a row and its ends.
struct Steps {
    long: Vec<f64>,
    units: Vec<f64>,
    /// Share of its length that a step takes along the row.
    share: Vec<f64>,
}

impl Steps {
    fn of(tops: &[TopPoint]) -> Self {
        let last = &tops[tops.len() - 1];
        let mut at: Vec<[f64; 2]> = vec![[0.0, 0.0]];
        at.extend(tops.iter().map(|t| [-t.x, t.units]));
        at.push([last.row_width, last.row_units]);
        let step = |d: usize| at.windows(2).map(|w| w[1][d] - w[0][d]).collect();
        Self { long: step(0), units: step(1), share: vec![1.0; at.len() - 1] }
    }

    /// A chain at a row's end climbs along its side and goes on as far as there is room, `share` of its length.
    /// A stitch worked into it stands as far from the edge as any last one, by half its width.
    fn climb(&mut self, run: &Run, share: f64) {
        run.steps.iter().for_each(|k| self.share[*k] = share);
        if let [first, last] = run.steps[..] {
            let (outer, inner) = if first == 0 { (first, last) } else { (last, first) };
            let room = share * (self.units[outer] + self.units[inner]);
            let edge = (0.5_f64).min(room / 2.0);
            self.share[outer] = edge / self.units[outer];
            self.share[inner] = (room - edge) / self.units[inner];
        }
    }

    /// Puts the tops where their steps lead.
    fn apply(&self, tops: &mut [TopPoint]) {
        if self.share.iter().all(|s| *s == 1.0) {
            return;
        }
        let (mut x, mut u) = (0.0, 0.0);
        let mut step = |k: usize| {
            x -= self.long[k] * self.share[k];
            u += self.units[k] * self.share[k];
            (x, u)
        };
        for (k, top) in tops.iter_mut().enumerate() {
            (top.x, top.units) = step(k);
        }
        let (x, u) = step(tops.len());
        for top in tops {
            (top.row_width, top.row_units) = (-x, u);
        }
    }
}

/// A parabola between two feet on one level, m.
struct Arch {
    span: f64,
    rise: f64,
}

impl Arch {
    /// The arch of a given length over a shorter span.
    fn new(length: f64, span: f64) -> Self {
        // An arch is longer than twice its rise.
        let rise = halve([0.0, length / 2.0], |rise| Self { span, rise }.along(1.0) < length);
        Self { span, rise }
    }

    /// Length from one foot to the share `t` of the span.
    fn along(&self, t: f64) -> f64 {
        let u = 4.0 * self.rise / self.span;
        if u < 1e-6 {
            return self.span * t;
        }
        let half = |v: f64| 0.5 * (v * v.hypot(1.0) + v.asinh());
        self.span / (2.0 * u) * (half(u) - half(u * (1.0 - 2.0 * t)))
    }

    /// Height over its feet at that length from one of them.
    fn height(&self, length: f64) -> f64 {
        let t = halve([0.0, 1.0], |t| self.along(t) < length);
        4.0 * self.rise * t * (1.0 - t)
    }
}

/// The end of what `below` holds for, between two bounds.
fn halve([mut low, mut high]: [f64; 2], below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        *(if below(middle) { &mut low } else { &mut high }) = middle;
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Length by chords of a fine polygon, which approach it from below by their number squared.
    #[test]
    fn an_arch_is_as_long_as_its_chords() {
        for (length, span) in [(0.03, 0.02), (0.04, 0.01), (0.02, 0.0199)] {
            let arch = Arch::new(length, span);
            let at = |t: f64| [span * t, 4.0 * arch.rise * t * (1.0 - t)];
            let n = 4000;
            let chord = |k: i32| {
                let [p, q] = [k, k + 1].map(|k| at(f64::from(k) / f64::from(n)));
                (q[0] - p[0]).hypot(q[1] - p[1])
            };
            let chords: f64 = (0..n).map(chord).sum();
            assert!((chords - length).abs() < 1e-6 * length, "{chords} for {length}");
            assert!((arch.height(length / 2.0) - arch.rise).abs() < 1e-9 * arch.rise);
            let quarter = arch.height(length / 4.0);
            assert!((quarter - arch.height(0.75 * length)).abs() < 1e-9);
            assert!(0.0 < quarter && quarter < arch.rise);
        }
    }
}
