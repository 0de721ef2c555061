//! How the last pass of a repeat ends: "ending with sc in last ch", "working last sc in top of ch-3".

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Target;
use super::syntax::Where;
use super::token::Kind;
use super::vocabulary::stitch_at;

impl Reader<'_> {
    /// "rep from * around, ending with sl st in first sc": the join takes the place of the last stitch, which
    /// would stand on the first.
    fn ends_in_join(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let Some(found) = stitch_at(self.cx, self.t, self.i).filter(|f| f.act == Act::Slip) else {
            return false;
        };
        self.i += found.len;
        let first = matches!(self.places().as_slice(), [place] if matches!(place.extent, Extent::First(1)) || place.target == Target::Turning);
        let repeat = match ops.last_mut().map(|op| &mut op.act) {
            Some(Do::Repeat(repeat)) if first && repeat.cut.is_none() => repeat,
            _ => {
                self.i = start;
                return false;
            }
        };
        if repeat.ops.last().is_some_and(into_one_place) {
            repeat.cut = Some(repeat.ops.len() - 1);
        }
        self.push(ops, Do::Join, start);
        true
    }

    /// "rep from * across, ending with sc in top of turning ch": the last pass ends there, when it ends
    /// in the same stitch anyway.
    pub(super) fn ending_stitch(&mut self, ops: &mut Vec<Op>) {
        let start = self.i;
        let comma = usize::from(self.stop_at(0, ',') || self.stop_at(0, ';'));
        let lead = self.skip_words(
            comma,
            &[
                "ending",
                "end",
                "ends",
                "working",
                "work",
                "with",
                "the",
                "last",
                "rep",
                "repeat",
                "only",
                "but",
                "finishing",
                "placing",
                "putting",
                "very",
            ],
        );
        let told = (comma..lead).any(|k| {
            matches!(self.word(k), "ending" | "end" | "ends" | "last" | "only" | "finishing")
        });
        if !told {
            return;
        }
        let within = (comma..lead).any(|k| matches!(self.word(k), "last" | "only"))
            && (comma..lead).any(|k| matches!(self.word(k), "rep" | "repeat" | "only"));
        self.i += lead;
        if (comma..lead).any(|k| self.t[start + k].is("last")) {
            last_of_run_apart(ops);
        }
        if !within && self.ends_in_join(ops) {
            return;
        }
        let Some(Do::Repeat(repeat)) = ops.last().map(|op| &op.act) else { return };
        let Some(last) = repeat.ops.last().filter(|op| into_one_place(op)) else {
            self.i = start;
            return;
        };
        let opens = self.at(0).is_some_and(|t| t.kind == Kind::Open);
        let from = self.closing().filter(|_| opens).map_or(self.i, |close| close + 1);
        let clause = self.clause_from(from);
        let (from, unread) = (self.i, self.unread.len());
        let sentence = (self.i..self.end)
            .find(|&k| matches!(self.t[k].kind, Kind::Stop('.' | '\n')) && !self.abbreviates(k));
        let whole = self.up_to(sentence.unwrap_or(self.end));
        if let Some(lead) = closed_tail(&repeat.ops, &whole) {
            ops.extend(lead);
            ops.extend(whole);
            return;
        }
        self.unread.truncate(unread);
        self.i = from;
        let inner = self.up_to(clause);
        let same = matches!(inner.as_slice(), [op] if alike(op, last));
        if !same {
            self.i = start;
            return;
        }
        // "*ch 1, sk sc, sc in next ch-1 sp*, ending with sc in ch-2 sp": the last one goes there instead.
        let links = |op: &Op| match &op.act {
            Do::Work { place: Where { target: Target::Space(links), .. }, .. } => *links,
            _ => None,
        };
        let turning_space = inner.iter().any(
            |op| matches!(&op.act, Do::Work { place, .. } if place.target == Target::TurningSpace),
        );
        let elsewhere = turning_space && in_space(last)
            || matches!((inner.first().and_then(links), links(last)),
                (Some(a), Some(b)) if a != b);
        // "*ch 2, dc in next dc; rep from *, ending with dc in 3rd ch of turning ch": no mesh lacks its last chain.
        let chained = matches!(repeat.ops.first().map(|op| &op.act), Some(Do::Chain { .. }));
        let turned = inner.iter().any(|op| {
            matches!(&op.act, Do::Work { place, .. }
                if matches!(place.target, Target::Turning | Target::Link(_)))
        });
        let meshed = chained && turned && matches!(repeat.ops.len(), 2 | 3);
        let within = within || elsewhere || meshed;
        let space = |op: &Op| {
            matches!(&op.act, Do::Work { place, .. } if matches!(place.target,
                Target::Space(_) | Target::Link(_) | Target::Group(_) | Target::InGroup(_)))
        };
        let last = repeat.ops.len() - 1;
        // Where a pass passes stitches over, either may be meant, and the fit decides.
        let skips = in_space(&repeat.ops[last])
            && repeat.ops.iter().any(|op| matches!(op.act, Do::Skip(_)));
        if space(&repeat.ops[last]) && !inner.iter().any(space) && !skips {
            // The spaces end before it: the last pass is the others and this stitch.
            let lead = repeat.ops[..last].to_vec();
            ops.extend(lead);
            ops.extend(inner);
        } else if let Some(Do::Repeat(repeat)) = ops.last_mut().map(|op| &mut op.act) {
            (repeat.ending, repeat.within) = (inner, within);
        }
    }

    /// The ops up to token `end`.
    fn up_to(&mut self, end: usize) -> Vec<Op> {
        let whole = std::mem::replace(&mut self.end, end);
        let inner = self.ops();
        self.end = whole;
        inner
    }
}

/// "*..., tr in next 2 tr; rep from * to end, working last tr in top of turning ch": the last of several
/// alike is one of its own.
fn last_of_run_apart(ops: &mut [Op]) {
    let Some(Do::Repeat(repeat)) = ops.last_mut().map(|op| &mut op.act) else { return };
    let Some(last) = repeat.ops.last_mut() else { return };
    let mut single = last.clone();
    if let (Do::Work { place: run, .. }, Do::Work { place: one, .. }) =
        (&mut last.act, &mut single.act)
        && let Extent::Next(n @ 2..) = run.extent
    {
        (run.extent, one.extent) = (Extent::Next(n - 1), Extent::Next(1));
        repeat.ops.push(single);
    }
}

/// A stitch into a space.
fn in_space(op: &Op) -> bool {
    matches!(&op.act, Do::Work { place, .. } if matches!(place.target, Target::Space(_)))
}

/// A stitch or a group of them.
fn into_one_place(op: &Op) -> bool {
    matches!(op.act, Do::Work { .. } | Do::OnePlace(..))
}

/// `ending` is `last`, the end of a pass, said again for the last stitch; a group may be spelt out.
fn alike(ending: &Op, last: &Op) -> bool {
    let group = |op: &Op| matches!(op.act, Do::OnePlace(..) | Do::Work { act: Act::Macro(_), .. });
    let several = |op: &Op| matches!(op.act, Do::Work { act: Act::Post(..), each: 2.., .. });
    let single = |e: Extent| matches!(e, Extent::Last(_) | Extent::Next(1) | Extent::Bare(1));
    match (&ending.act, &last.act) {
        // Half a shell closes the row where shells are repeated: "ending with 3 dc in last sc".
        (Do::Work { place, .. }, Do::Work { act: Act::Macro(_), .. }) if several(ending) => {
            matches!(place.extent, Extent::Last(1))
        }
        (Do::Work { act: a, each: e, place }, Do::Work { act, each, .. }) if !group(ending) => {
            let bare = place.extent == Extent::Bare(1);
            a == act && (e == each || !bare) && single(place.extent)
        }
        (Do::Work { place, .. } | Do::OnePlace(_, place), _) => {
            group(ending) && group(last) && single(place.extent)
        }
        _ => false,
    }
}

/// "rep from * around, ending miss 2, sl st to first sc": the last pass up to where the ending takes over.
fn closed_tail(pass: &[Op], ending: &[Op]) -> Option<Vec<Op>> {
    let slips = |op: &Op| matches!(op.act, Do::Join | Do::Work { act: Act::Slip, .. });
    let (last, shared) = ending.split_last()?;
    let from = pass.len().checked_sub(ending.len())?;
    let alike = pass[from..].iter().zip(shared).all(|(a, b)| a.act == b.act);
    (slips(last) && !shared.is_empty() && alike).then(|| pass[..from].to_vec())
}
