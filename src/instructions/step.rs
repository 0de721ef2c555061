//! From the stitches of a row to the steps its maker takes.

use super::below::Met;
use super::below::lacy;
use super::edge::Stand;
use super::names::Names;
use crate::stitches::Anchor;
use crate::stitches::Craft;
use crate::stitches::LoopTaken;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::RowStart;
use crate::stitches::Side;
use crate::stitches::Stitch;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// What a stitch is worked into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Into {
    /// The next stitch.
    Stitch(LoopTaken),
    /// The next link of the foundation chain.
    Chain(LoopTaken),
    /// The nth link from the hook.
    Hook(u32),
    /// The next space of so many links.
    Space(u16, LoopTaken),
    /// Stitches and spaces of so many links alike, to the end of the row.
    Both(u16),
    /// Round the next post.
    Post(bool),
    /// So manieth link of the next run of so many.
    Link(u16, u16),
    /// The ring.
    Ring,
    /// The place just worked, a space when so.
    Same(bool),
    /// The stitch just passed over.
    Skipped,
    /// The running strand.
    Strand,
    /// Between the stitch just passed and the next.
    Gap,
    /// Before the last stitch.
    LastGap,
    /// Round a post so many rows below the usual one.
    PostBelow(u32, bool),
    /// So many rows below the usual one.
    Below(u32),
    /// The space of a turning chain that is no stitch.
    TurningSpace,
    /// So many links of the chain just made, worked back along.
    Spur(u32),
    /// A place there are no words for here.
    Elsewhere,
}

/// What is passed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    /// Stitches.
    Stitches,
    /// Links of the foundation chain.
    Links,
    /// Spaces of so many links.
    Spaces(u16),
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Step {
    /// One in each of the next n.
    Each { name: String, into: Into, n: u32 },
    /// Several alike in one place.
    Many { name: String, m: u32, into: Into },
    /// Several in one place; chains by their links.
    Group { parts: Vec<(String, u32)>, into: Into },
    /// Words worked so many times: "dc2tog", "yo".
    Times { words: String, n: u32 },
    /// So many passed over.
    Skip { n: u32, over: Over },
    /// A run of chain links.
    Chain(u16),
    /// Loops bound off.
    BindOff(u32),
    /// Loops cast on.
    CastOn(u32),
    /// Another yarn from here on.
    Colour(String),
    /// Steps worked so many times.
    Repeat { items: Vec<Item>, times: u32 },
}

/// A step and the stitches of the row below left after it. Steps alike are alike wherever they stand.
#[derive(Debug, Clone, Eq)]
pub(super) struct Item {
    /// The step.
    pub(super) step: Step,
    /// Stitches of the row below after it.
    pub(super) left: u32,
}

impl PartialEq for Item {
    fn eq(&self, other: &Self) -> bool {
        self.step == other.step
    }
}

/// A row in steps.
#[derive(Debug, Clone, Default)]
pub(super) struct Steps {
    /// Slip stitches to where a round begins, before its turning chain.
    pub(super) way: Vec<Item>,
    /// Steps after the turning chain.
    pub(super) items: Vec<Item>,
    /// Spots of the row below passed in all.
    pub(super) cursor: usize,
    /// Closed with a slip stitch.
    pub(super) joined: bool,
    /// Links of the space beside a turning chain that counts.
    pub(super) turning_space: u16,
    /// Begun with a loop of one link, which is told as a turning chain.
    pub(super) turning_link: bool,
    /// Steps along the free loops of the foundation chain, when the row goes round its end.
    pub(super) far: Vec<Item>,
}

struct Walker<'a> {
    piece: &'a Piece,
    names: &'a Names<'a>,
    met: &'a Met,
    row: usize,
    right: bool,
    cursor: usize,
    /// Place last worked into.
    same: Option<Anchor>,
    /// Spots last passed over.
    passed: (usize, usize),
    /// Links from the hook the first stitch stands on.
    hook: Option<u32>,
    /// Slip stitches have just led to where the round begins.
    arrived: bool,
    /// The yarn in work.
    colour: u16,
    out: Steps,
}

/// The steps of row `r` on `met`.
pub(super) fn steps(piece: &Piece, r: usize, met: &Met, names: &Names<'_>) -> Steps {
    let row = &piece.rows[r];
    let mut all: Vec<(StitchId, &Stitch)> = piece.row_stitches(row).collect();
    all.truncate(all.len() - super::foundation::cast_on_after(piece, row));
    let mut walker = Walker::new(piece, r, met, names);
    let mut from = 0;
    if let Some((slips, before)) = &met.way {
        // On the way round the hook stands on the first stitch, joined to.
        let begun = usize::from(row.round);
        let mut way = Walker {
            cursor: begun.min(before.spots.len()),
            ..Walker::new(piece, r, before, names)
        };
        while from < *slips {
            from = way.next(&all[..*slips], from);
        }
        walker.out.way = way.out.items;
        (walker.same, walker.arrived) = (way.same, true);
    }
    if let (RowStart::ChainCounts(_), Some((_, first))) = (row.start, all.get(from)) {
        walker.turning(first);
        from += 1;
        let space = all.get(from).filter(|(_, s)| s.kind == StitchKind::Chain && !s.overlay);
        if let Some((_, space)) = space {
            walker.out.turning_space = space.links;
            from += 1;
        }
    }
    if !met.chain && super::foundation::turning_link(piece, r).is_some() {
        walker.out.turning_link = true;
        from += 1;
    }
    if met.chain {
        let loops = super::foundation::loop_skipped(piece, r);
        let skipped = loops.unwrap_or_else(|| walker.skipped(row.start, &all[from..]));
        from += usize::from(loops.is_some());
        walker.hook = (skipped > 0).then_some(skipped + 1);
    }
    let turn = if met.chain { super::oval::turn(piece, &all) } else { all.len() };
    let mut i = from;
    while i < turn {
        i = walker.next(&all[..turn], i);
    }
    if turn < all.len() {
        let far = super::oval::far(piece, r);
        let mut beyond = Walker { colour: walker.colour, ..Walker::new(piece, r, &far, names) };
        while i < all.len() {
            i = beyond.next(&all, i);
        }
        (walker.out.far, walker.out.joined) = (beyond.out.items, beyond.out.joined);
    }
    let left = met.left(walker.cursor);
    if left > 0
        && row.round
        && matches!(met.stand, Stand::Below)
        && (row.unworked > 0 || !lacy(piece, row))
    {
        walker.cursor = met.spots.len();
        walker.push(Step::Skip { n: left, over: Over::Stitches });
    }
    walker.out.cursor = walker.cursor;
    walker.out
}

impl<'a> Walker<'a> {
    fn new(piece: &'a Piece, r: usize, met: &'a Met, names: &'a Names<'a>) -> Self {
        let row = &piece.rows[r];
        Self {
            piece,
            names,
            met,
            row: r,
            right: row.side == Side::Right,
            cursor: met.behind,
            same: None,
            passed: (0, 0),
            hook: None,
            arrived: false,
            colour: row.colour,
            out: Steps::default(),
        }
    }

    /// Links of the foundation chain at the hook that the first stitch passes over: those of the turning
    /// chain, of the space beside it, and those bare under that space.
    fn skipped(&self, start: RowStart, rest: &[(StitchId, &Stitch)]) -> u32 {
        let leg = rest.iter().find_map(|(_, s)| self.piece.legs(s).first());
        let bare =
            leg.and_then(|l| self.met.index(l.place)).map_or(0, |k| k.saturating_sub(self.cursor));
        match start {
            RowStart::Plain => 0,
            RowStart::ChainBeside(n) => u32::from(n),
            RowStart::ChainCounts(own) => {
                u32::from(own) + u32::from(self.out.turning_space) + bare as u32
            }
        }
    }

    /// The space is the turning chain of one link that the row below began with.
    fn turns_on(&self, run: StitchId) -> bool {
        let below = self.row.checked_sub(1);
        below.is_some_and(|r| super::foundation::turning_link(self.piece, r) == Some(run))
    }

    /// The turning chain that is a stitch.
    fn turning(&mut self, first: &Stitch) {
        let leg = self.piece.legs(first).first().copied();
        if let Some(k) = leg.and_then(|l| self.met.index(l.place)) {
            self.cursor = k + 1;
        }
        self.same = leg;
    }

    fn push(&mut self, step: Step) {
        let left = self.met.left(self.cursor);
        if let Some(last) = self.out.items.last_mut() {
            let merged = match (&mut last.step, &step) {
                (Step::Each { name, into, n }, Step::Each { name: other, into: place, n: m })
                    if name == other && into == place && countable(*into) =>
                {
                    *n += m;
                    true
                }
                (Step::Times { words, n }, Step::Times { words: other, n: m })
                    if words == other =>
                {
                    *n += m;
                    true
                }
                (Step::BindOff(n), Step::BindOff(m)) | (Step::CastOn(n), Step::CastOn(m)) => {
                    *n += m;
                    true
                }
                _ => false,
            };
            if merged {
                last.left = left;
                return;
            }
        }
        self.out.items.push(Item { step, left });
    }

    /// Takes the stitch at `i` and those that belong to it; returns the next index.
    fn next(&mut self, all: &[(StitchId, &Stitch)], i: usize) -> usize {
        let stitch = all[i].1;
        let leads = stitch.kind == StitchKind::SlipStitch && stitch.legs.0 < stitch.legs.1;
        if stitch.colour != self.colour && (!stitch.overlay || leads) {
            self.colour = stitch.colour;
            let name = self.piece.colours.get(usize::from(stitch.colour));
            self.push(Step::Colour(name.cloned().unwrap_or_default()));
        }
        let legs = self.piece.legs(stitch);
        let name = || self.names.stitch(stitch.kind, self.right);
        match (stitch.kind, legs) {
            (StitchKind::SlipStitch, []) => self.out.joined = true,
            (StitchKind::Chain, _) if self.spur(all, i).is_some() => return self.spur_at(all, i),
            (StitchKind::Chain, _) if stitch.overlay => {
                let words = if stitch.links == 3 {
                    "picot".to_owned()
                } else {
                    format!("{}-ch picot", stitch.links)
                };
                self.push(Step::Times { words, n: 1 });
            }
            (StitchKind::Chain, _) => self.push(Step::Chain(stitch.links)),
            (StitchKind::CastOn, _) => self.push(Step::CastOn(1)),
            (_, []) => self.push(Step::Times { words: name(), n: 1 }),
            (StitchKind::MakeOne, _) => {
                self.push(Step::Times { words: self.names.made_one(stitch), n: 1 })
            }
            (StitchKind::BindOff, [leg]) => {
                self.reach(*leg);
                self.push(Step::BindOff(1));
            }
            (StitchKind::Knit { .. }, [_]) if self.cable(all, i).is_some() => {
                return self.cross(all, i);
            }
            (_, [leg]) => return self.one_place(all, i, *leg),
            (_, legs) => self.together(all, i, legs),
        }
        i + 1
    }

    /// Stitches worked back along the first of two chain runs at `i`, one to a link: how many.
    fn spur(&self, all: &[(StitchId, &Stitch)], i: usize) -> Option<usize> {
        let ((run, chain), (_, next)) = (all.get(i)?, all.get(i + 1)?);
        let links = chain.links;
        let back = |k: usize| {
            let nth = links.checked_sub(k as u16 + 1)?;
            let (_, stitch) = all.get(i + 2 + k)?;
            let leg = self.piece.legs(stitch);
            let here = Place::Link { run: *run, nth };
            let same = stitch.kind == all[i + 2].1.kind;
            (same && matches!(leg, [leg] if leg.place == here)).then_some(())
        };
        let n = (0..usize::from(links)).take_while(|&k| back(k).is_some()).count();
        let two = chain.kind == StitchKind::Chain && next.kind == StitchKind::Chain;
        (two && n > 0).then_some(n)
    }

    /// "ch 6, dc in 4th ch from hook and in each of next 2 ch".
    fn spur_at(&mut self, all: &[(StitchId, &Stitch)], i: usize) -> usize {
        let n = self.spur(all, i).unwrap_or_default();
        let (foot, rise) = (all[i].1.links, all[i + 1].1.links);
        self.push(Step::Chain(foot.saturating_add(rise)));
        let name = self.names.stitch(all[i + 2].1.kind, self.right);
        self.push(Step::Each { name, into: Into::Spur(u32::from(rise) + 1), n: n as u32 });
        (self.hook, self.same) = (None, None);
        i + 2 + n
    }

    /// Loops of a cable at `i`: held on the cable needle, and worked before them.
    fn cable(&self, all: &[(StitchId, &Stitch)], i: usize) -> Option<(usize, usize)> {
        let spot = |k: usize| {
            let (_, stitch) = all.get(k)?;
            let [leg] = self.piece.legs(stitch) else { return None };
            let plain = self.names.stitch(stitch.kind, self.right) == "k";
            self.met.index(leg.place).filter(|_| plain && leg.taken == LoopTaken::Both)
        };
        let held = spot(i)?.checked_sub(self.cursor).filter(|&n| n > 0)?;
        let first = self.cursor + held;
        let over = (i..all.len()).take_while(|&k| spot(k) == Some(first + k - i)).count();
        let back = (0..held).all(|k| spot(i + over + k) == Some(self.cursor + k));
        back.then_some((held, over))
    }

    /// "sl next 3 sts to cn and hold in front, k3, k3 from cn".
    fn cross(&mut self, all: &[(StitchId, &Stitch)], i: usize) -> usize {
        let (held, over) = self.cable(all, i).unwrap_or_default();
        let side = if self.names.held_behind(all[i].1) { "back" } else { "front" };
        let words =
            format!("sl next {held} sts to cn and hold in {side}, k{over}, k{held} from cn");
        self.cursor += held + over;
        self.same = None;
        self.push(Step::Times { words, n: 1 });
        i + held + over
    }

    /// Stitches into one place.
    fn one_place(&mut self, all: &[(StitchId, &Stitch)], i: usize, leg: Anchor) -> usize {
        let end = self.group_end(all, i, leg);
        let into = self.place(leg);
        self.same = Some(leg);
        let group = &all[i..end];
        let alike =
            group.iter().all(|(_, s)| s.kind == group[0].1.kind && s.kind != StitchKind::Chain);
        let name = self.names.stitch(all[i].1.kind, self.right);
        let m = group.len() as u32;
        let knit = self.piece.craft == Craft::Knit;
        let step = match m {
            1 => Step::Each { name, into, n: 1 },
            2 if alike && knit && name == "k" => Step::Times { words: "kfb".into(), n: 1 },
            3 if alike && knit && name == "k" => Step::Times { words: "kfbf".into(), n: 1 },
            _ if alike => Step::Many { name, m, into },
            _ => Step::Group { parts: self.parts(group), into },
        };
        self.push(step);
        end
    }

    /// One past the last stitch of the group at `i` that stands in the same place.
    fn group_end(&self, all: &[(StitchId, &Stitch)], i: usize, leg: Anchor) -> usize {
        let mut end = i + 1;
        // Chains between groups in a ring part what comes again.
        let ring = matches!(leg.place, Place::Ring(_));
        for (j, (_, stitch)) in all.iter().enumerate().skip(i + 1) {
            match self.piece.legs(stitch) {
                [] if ring => break,
                [] if stitch.kind == StitchKind::Chain && !stitch.overlay => {}
                [other] if *other == leg && stitch.kind != StitchKind::BindOff => end = j + 1,
                _ => break,
            }
        }
        end
    }

    fn parts(&self, group: &[(StitchId, &Stitch)]) -> Vec<(String, u32)> {
        let mut parts: Vec<(String, u32)> = Vec::new();
        for (_, stitch) in group {
            let name = self.names.stitch(stitch.kind, self.right);
            let chain = stitch.kind == StitchKind::Chain;
            match parts.last_mut() {
                Some((last, n)) if *last == name && !chain => *n += 1,
                _ => parts.push((name, if chain { u32::from(stitch.links) } else { 1 })),
            }
        }
        parts
    }

    /// One stitch over several places.
    fn together(&mut self, all: &[(StitchId, &Stitch)], i: usize, legs: &[Anchor]) {
        let stitch = all[i].1;
        let words = self.names.together(stitch, legs.len(), self.right);
        let first = self.place(legs[0]);
        for leg in &legs[1..] {
            self.reach(*leg);
        }
        self.same = legs.last().copied();
        match first {
            Into::Stitch(LoopTaken::Both) | Into::Chain(LoopTaken::Both) => {
                self.push(Step::Times { words, n: 1 })
            }
            into => self.push(Step::Each { name: words, into, n: 1 }),
        }
    }

    /// Moves past the place of a leg without a word.
    fn reach(&mut self, leg: Anchor) {
        if let Some(k) = self.met.index(leg.place) {
            self.cursor = self.cursor.max(k + 1);
        }
    }

    /// Comes to the place of a leg, saying what is passed over, and says what it is.
    fn place(&mut self, leg: Anchor) -> Into {
        let spaced = matches!(leg.place, Place::Space(_) | Place::Ring(_) | Place::Gap(..));
        if self.hook.is_none() && self.same == Some(leg) && !matches!(leg.place, Place::Ring(_)) {
            if std::mem::take(&mut self.arrived) && self.cursor == 0 {
                self.cursor = 1;
            }
            return Into::Same(spaced);
        }
        let k = match (leg.place, self.met.index(leg.place)) {
            (Place::Ring(_), _) => return Into::Ring,
            (Place::RowEnd { of: 1, .. }, None) => {
                self.cursor = self.met.spots.len();
                return Into::TurningSpace;
            }
            (Place::Gap(a, b), _) => return self.gap(a, b),
            (Place::Top(id), None) => return self.below(id, Into::Below),
            (Place::Post { of, front }, None) => {
                return self.below(of, |rows| Into::PostBelow(rows, front));
            }
            (_, None) => return Into::Elsewhere,
            (Place::Space(run), Some(k)) if self.turns_on(run) => {
                self.cursor = self.cursor.max(k + 1);
                return Into::TurningSpace;
            }
            (_, Some(k)) => k,
        };
        if k < self.cursor {
            if k == self.passed.0 && self.passed.0 < self.passed.1 {
                self.passed.0 += 1;
                return Into::Skipped;
            }
            return Into::Elsewhere;
        }
        if let Some(nth) = self.hook.take() {
            self.cursor = k + 1;
            return Into::Hook(nth);
        }
        self.pass(k, self.met.spots[k].links);
        self.cursor = k + 1;
        match leg.place {
            Place::Space(_) => Into::Space(self.met.spots[k].links, leg.taken),
            Place::Post { front, .. } => Into::Post(front),
            Place::Link { nth, .. } => Into::Link(nth + 1, self.met.spots[k].links),
            Place::Strand(_) => Into::Strand,
            _ if matches!(self.met.stand, Stand::Underside(_)) => Into::Chain(leg.taken),
            _ if self.met.chain => Into::Chain(leg.taken),
            _ => Into::Stitch(leg.taken),
        }
    }

    /// Says what lies between the cursor and spot `k`, where a place of `goal` links is. Spaces are passed in
    /// silence on the way to a stitch, and stitches on the way to a space.
    fn pass(&mut self, k: usize, goal: u16) {
        let between = &self.met.spots[self.cursor..k];
        if between.is_empty() {
            return;
        }
        let from = self.cursor;
        let alike =
            between.iter().filter(|s| (s.links == 0) == (goal == 0) && s.links == goal).count();
        if alike == 0 {
            return;
        }
        self.cursor = k;
        self.passed = (from, k);
        let over = match goal {
            0 if self.met.chain => Over::Links,
            0 => Over::Stitches,
            links => Over::Spaces(links),
        };
        self.push(Step::Skip { n: alike as u32, over });
    }

    fn gap(&mut self, a: StitchId, b: StitchId) -> Into {
        let at = |id| self.met.index(Place::Top(id));
        let Some(k) = at(a).into_iter().chain(at(b)).max() else { return Into::Elsewhere };
        if k > self.cursor && k < self.met.spots.len() {
            self.pass(k, 0);
            self.cursor = k;
        }
        if k + 1 == self.met.spots.len() { Into::LastGap } else { Into::Gap }
    }

    /// A stitch of an older row; one stitch of the row below is passed behind it.
    fn below(&mut self, id: StitchId, into: impl Fn(u32) -> Into) -> Into {
        let Some(spot) = self.met.spots.first() else { return Into::Elsewhere };
        let row = |id: StitchId| self.piece.stitch(id).row.0;
        let rows = row(spot.id).saturating_sub(row(id));
        if rows == 0 {
            return Into::Elsewhere;
        }
        self.cursor = (self.cursor + 1).min(self.met.spots.len());
        into(rows + 1)
    }
}

/// Places a number can be put before.
fn countable(into: Into) -> bool {
    matches!(
        into,
        Into::Stitch(_) | Into::Chain(_) | Into::Space(..) | Into::Post(_) | Into::Below(_)
    )
}
