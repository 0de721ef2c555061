//! Which row comes next: headings, ranges, rows worked again, and how far.

use super::asks::begins_once;
use super::fault::Words;
use super::graph::Side;
use super::maker::Body;
use super::maker::MOST_COST;
use super::maker::MOST_ROWS;
use super::maker::MakerAtWork;
use crate::diagnostic::Severity;
use crate::pattern::Again;
use crate::pattern::AgainRows;
use crate::pattern::Content;
use crate::pattern::Fabric;
use crate::pattern::Numbers;
use crate::pattern::Row;
use crate::pattern::Until;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    /// Works a row as written, in all the numbers its heading gives it.
    pub(super) fn written(&mut self, row: &'a Row) {
        match &row.content {
            Content::Work(_) => {
                self.written_work(row);
                if let Some(until) = row.until {
                    self.block(&[Self::body(row, 0)], until, row.span);
                }
            }
            Content::Again(Again { rows: AgainRows::Edge(edge), .. }) => self.pick_again(*edge),
            Content::Again(Again { rows: AgainRows::Sections(n), until, .. }) => {
                self.sections_again(*n, *until, row.span)
            }
            Content::Again(Again { rows: AgainRows::Parts(parts), .. }) => {
                self.parts_again(parts, row)
            }
            Content::Again(again) if again.every > 1 => self.again_every(row, again),
            Content::Again(again) => self.again(row, again),
            Content::Shaped(shaped) => self.shaped(row, *shaped),
            Content::Fabric(fabric, until, _) => {
                if *fabric == Fabric::Established && self.repeats_block() {
                    let block = self.last_block.clone();
                    return self.block(&block, *until, row.span);
                }
                let body = Self::body(row, 0);
                match &row.heading.numbers {
                    Numbers::Range(a, b) => self.numbered(row, *a..=*b),
                    Numbers::Listed(all) => self.numbered(row, all.iter().copied()),
                    _ => self.block(&[body], *until, row.span),
                }
            }
        }
    }

    fn written_work(&mut self, row: &'a Row) {
        match &row.heading.numbers {
            Numbers::Step => self.step(Self::body(row, 0)),
            Numbers::Next => {
                self.fill_ahead(None);
                let due = self.facing.is_some_and(|(side, _)| body_side(row) == Some(side));
                if due && self.parity.is_some() {
                    self.fill_parity(Some(self.next + 1));
                }
                let next = self.next;
                self.label = row.heading.name.clone();
                if let Some(name) = &self.label {
                    self.named.insert(nameless(name), Self::body(row, 0));
                    if self.only_defines(row, name) {
                        self.label = None;
                        return;
                    }
                }
                self.next_row(Self::body(row, 0));
                if self.label.take().is_some() && self.numbers.is_empty() {
                    self.next = next;
                }
            }
            Numbers::Several(n) => {
                for k in 0..(*n).min(MOST_ROWS as u32) {
                    self.next_row(Self::body(row, k as usize));
                }
            }
            Numbers::Listed(all) => self.numbered(row, all.iter().copied()),
            Numbers::Range(a, b) => self.numbered(row, *a..=*b),
            Numbers::Parity { from } => {
                let body = Self::body(row, 0);
                let from = &self.due_from(*from, body.right_side);
                if *from >= self.next {
                    self.arrive(*from, row.heading.span, body);
                    if *from == self.next {
                        self.numbers.insert(*from, body);
                        self.written = *from;
                        self.next_row(body);
                    }
                }
                // "RS rows: ...", "WS rows: ...": what the rows of either side are from here.
                if let Some((before, other)) = self.parity
                    && before.abs_diff(*from) % 2 == 1
                {
                    self.other_parity = Some((before, other));
                }
                self.parity = Some((*from, body));
            }
        }
    }

    /// "Moss st rows: k1, p1 ...", called at once as "work 6 moss st rows": the words say what such a row
    /// is and work none.
    fn only_defines(&self, row: &Row, name: &str) -> bool {
        let rows = self.pattern.items.iter().filter_map(|item| match item {
            crate::pattern::Item::Row(row) => Some(row),
            _ => None,
        });
        let next = rows.skip_while(|r| r.span != row.span).nth(1);
        let called = |again: &Again| matches!(&again.rows, AgainRows::Named(names) if names.iter().any(|n| nameless(n) == nameless(name)));
        let many = ["rows", "rnds", "rounds"].iter().any(|w| name.ends_with(w));
        many && matches!(next.map(|r| &r.content), Some(Content::Again(again)) if called(again))
    }

    /// "RS rows:" without a number begin at the next row of that side.
    fn due_from(&self, from: u32, right_side: Option<bool>) -> u32 {
        let (Some(right), 0) = (right_side, from) else { return from };
        let next_right = self.facing.is_none_or(|(side, _)| side == Side::Wrong);
        self.next + u32::from(next_right != right && self.facing.is_some())
    }

    pub(super) fn too_many(&mut self, span: Span) -> bool {
        if self.piece.rows.len() < MOST_ROWS && self.cost < MOST_COST {
            return false;
        }
        self.stopped = true;
        self.say(
            "too-large",
            Severity::Error,
            span,
            Words {
                message: "the piece grows beyond all bounds".into(),
                expected: format!("at most {MOST_ROWS} rows"),
                found: "more".into(),
                fit: "check the number of repeats".into(),
            },
        );
        true
    }

    /// Rows worked again.
    fn again(&mut self, row: &'a Row, again: &Again) {
        self.fill_parity(match &row.heading.numbers {
            Numbers::Range(a, _) => Some(*a),
            Numbers::Listed(all) => all.first().copied(),
            _ => None,
        });
        if let Numbers::Parity { from } = row.heading.numbers
            && let Some([body]) = self.block_of(&again.rows, Some(from), row.span).as_deref()
        {
            // "Row 5 and all following RS rows: rep Row 3"
            let body = Body { count: None, ..*body };
            self.fill_parity(Some(from));
            (self.written, self.other_parity) = (from, Some((from, body)));
            self.numbers.insert(from, body);
            self.next_row(body);
            if let (Some(both), true) = (self.by_parity(), again.until != Until::Heading) {
                self.block(&both, again.until, row.span);
            }
            return;
        }
        if again.starred {
            self.star = Some(self.history.len());
        }
        let range = match &row.heading.numbers {
            Numbers::Range(a, b) => Some((*a, *b)),
            Numbers::Listed(all) if all.len() == 1 && again.until != Until::Heading => {
                self.arrive(all[0], row.heading.span, Self::body(row, 0));
                None
            }
            Numbers::Listed(all) if all.windows(2).any(|w| w[1] != w[0] + 1) => {
                return self.listed_again(row, again, all);
            }
            Numbers::Listed(all) if !all.is_empty() => {
                Some((all[0], all[0] + all.len() as u32 - 1))
            }
            _ => None,
        };
        self.elsewhere = again.elsewhere && !self.archive.is_empty();
        let block = self.block_of(&self.growing(again), range.map(|r| r.0), row.span);
        self.elsewhere = false;
        let Some(mut block) = block else { return };
        if let (AgainRows::Named(_), Some((a, b))) = (&again.rows, range)
            && a > 1
            && block.len() == b as usize
        {
            // "Rows 2-20: as First Half": its rows of these numbers.
            block.drain(..a as usize - 1);
        }
        let many_coloured =
            self.striped.is_none() && again.colour.is_none() && self.coloured(&block);
        // A stripe sequence told in these very words rules the yarns the rows had.
        let words = row.span.range();
        let striped = self.striped.is_some_and(|(s, _)| words.contains(&(s.from as usize)));
        for body in &mut block {
            body.colour = body.colour.filter(|_| !striped);
            self.yarn_again(body, again, many_coloured);
            // One block more in every row: as many as there are spaces for.
            let grows = self.blocks && again.step != 0;
            let all = grows.then_some(crate::pattern::Times::ToEnd);
            body.inner = again.inner.or(all).or(body.inner);
            body.count = None;
            body.mirrored ^= again.mirrored;
            // Worked again, a row may face the other way; its mark spoke of the first time.
            body.right_side = None;
            // Told for all rows at once, the change comes in the last of them.
            body.evenly = row.evenly.or(body.evenly);
        }
        self.change_told = row.evenly.is_some();
        if let Some(body) = block.last_mut()
            && range.is_none_or(|(a, b)| a == b)
        {
            body.count = row.counts.first();
        }
        self.step = again.step;
        self.last_block.clone_from(&block);
        match range {
            Some((from, to)) => self.fill_range(row, &block, again.until, from, to),
            None => self.block(&block, again.until, row.span),
        }
        (self.step, self.change_told) = (0, false);
    }

    /// The rows were worked in several yarns, which not all of them name: worked again, they take the ones
    /// they had.
    fn coloured(&self, block: &[Body<'a>]) -> bool {
        let of = |b: &Body<'_>| b.colour.or(self.worked_in.get(&b.span.start).copied());
        let own = block.iter().all(|b| names_yarn(b.ops));
        let differ = block.windows(2).any(|w| of(&w[0]) != of(&w[1]));
        // A yarn taken up just now is for these rows.
        let last =
            self.piece.rows.last().and_then(|r| self.piece.colours.get(usize::from(r.colour)));
        let name = self.colour.and_then(|c| self.pattern.colours.get(usize::from(c)));
        let taken = name.is_some() && last != name && of(&block[0]) != self.colour;
        let before = |b: &Body<'_>| self.recoloured.contains(&b.span.start);
        !own && !taken && (differ || block.iter().all(before))
    }

    /// "Rows 4, 6: as row 2": each of these numbers is that row, when its turn comes.
    fn listed_again(&mut self, row: &'a Row, again: &Again, numbers: &[u32]) {
        let Some(block) = self.block_of(&again.rows, numbers.first().copied(), row.span) else {
            return;
        };
        for (k, &n) in numbers.iter().enumerate() {
            if self.stopped || self.too_many(row.span) {
                return;
            }
            let mut body = block[k % block.len()];
            body.colour = again.colour.or(body.colour);
            (body.count, body.right_side) = (row.counts.get(k), None);
            if n > self.next {
                self.ahead.insert(n, body);
                continue;
            }
            self.arrive(n, row.heading.span, body);
            self.numbers.insert(n, body);
            (self.next, self.written) = (n, n);
            self.next_row(body);
            self.fill_ahead(numbers.get(k + 1).copied());
        }
    }

    /// The last rows were a block worked again and again that keeps its count.
    fn repeats_block(&self) -> bool {
        let n = self.last_block.len();
        let rows = &self.piece.rows;
        let same = |b: &Body<'_>, h: &Body<'_>| b.span == h.span;
        let last = &self.history[self.history.len().saturating_sub(n)..];
        n > 1
            && rows.len() > n
            && rows[rows.len() - 1].made == rows[rows.len() - 1 - n].made
            && self.last_block.iter().zip(last).all(|(b, h)| same(b, h))
    }

    /// The bodies a reference means.
    pub(super) fn block_of(
        &mut self,
        rows: &AgainRows,
        before: Option<u32>,
        span: Span,
    ) -> Option<Vec<Body<'a>>> {
        let blocks = match rows {
            AgainRows::Last(n) => {
                let n = (*n as usize).min(self.history.len());
                if n == 0 {
                    self.undefined("rows before this one", span);
                    return None;
                }
                let mut rows = &self.history[self.history.len() - n..];
                // A row worked into the foundation chain comes but once.
                while rows.len() > 1 && !self.blocks && begins_once(rows[0].ops) {
                    rows = &rows[1..];
                }
                return Some(without_sides(rows.to_vec()));
            }
            AgainRows::Edge(_) | AgainRows::Parts(_) => return None,
            AgainRows::FromStar => {
                let Some(star) = self.star else {
                    self.undefined("what stands after the star", span);
                    return None;
                };
                let rows = self.history.get(star..)?.to_vec();
                return (!rows.is_empty()).then(|| without_sides(rows));
            }
            AgainRows::Sections(n) => {
                let rows = self.last_sections(*n).into_iter().flat_map(|(_, rows)| rows).collect();
                return Some(without_sides(rows));
            }
            AgainRows::Named(names) => return self.named_rows(names, span),
            AgainRows::Numbers(blocks) => blocks.clone(),
            AgainRows::From(n) => vec![(*n, self.written.max(*n))],
            AgainRows::All if self.by_parity().is_some() => return self.by_parity(),
            AgainRows::All if self.settled_pair().is_some() => return self.settled_pair(),
            AgainRows::All if self.written > 0 => {
                let first = self.numbers.keys().next().copied().unwrap_or(1);
                // A row worked into the foundation chain or ring comes but once.
                let begins = self.numbers.get(&first).is_some_and(|b| begins_once(b.ops));
                let first = first + u32::from(begins && self.written > first);
                vec![(first.min(self.written), self.written)]
            }
            AgainRows::All => {
                let rows = self.piece.rows.len().saturating_sub(self.section_start + 1);
                let n = rows.clamp(1, 2) as u32;
                return self.block_of(&AgainRows::Last(n), before, span);
            }
        };
        let mut wanted: Vec<u32> = Vec::new();
        for &(a, b) in &blocks {
            if a.abs_diff(b) as usize > MOST_ROWS {
                self.undefined(&format!("rows {a}-{b}"), span);
                return None;
            }
            if a <= b { wanted.extend(a..=b) } else { wanted.extend((b..=a).rev()) }
        }
        let missing = wanted.iter().find(|n| self.known(**n).is_none()).copied();
        if let Some(n) = missing {
            let start = before.unwrap_or(self.next);
            self.undefined(&format!("row {n}"), span);
            let highest = wanted.iter().max().copied().unwrap_or(n);
            let shift = (highest + 1).saturating_sub(start);
            if shift == 0 || wanted.iter().any(|&n| n <= shift) {
                return None;
            }
            wanted.iter_mut().for_each(|n| *n -= shift);
        }
        let bodies: Option<Vec<Body<'a>>> = wanted.iter().map(|&n| self.known(n)).collect();
        bodies.filter(|b| !b.is_empty()).map(without_sides)
    }

    /// The next two rows, where the page says what every right-side and every wrong-side row is.
    fn by_parity(&self) -> Option<Vec<Body<'a>>> {
        let both = [self.parity?, self.other_parity?];
        let of = |n: u32| {
            let due = |(from, _): &&(u32, Body<'a>)| n >= *from && (n - from).is_multiple_of(2);
            both.iter().find(due).map(|(_, body)| *body)
        };
        Some(vec![of(self.next)?, of(self.next + 1)?])
    }

    fn known(&self, n: u32) -> Option<Body<'a>> {
        if let Some(&body) = self.ahead.get(&n) {
            return Some(body);
        }
        let parity = self
            .parity
            .filter(|&(from, _)| n >= from && (n - from).is_multiple_of(2))
            .map(|(_, body)| body);
        let before = || self.archive.iter().rev().find_map(|rows| rows.get(&n).copied());
        match self.elsewhere {
            true => before().or_else(|| self.numbers.get(&n).copied()),
            false => self.numbers.get(&n).copied().or(parity),
        }
    }

    pub(super) fn undefined(&mut self, what: &str, span: Span) {
        let last = self.next.saturating_sub(1);
        self.say(
            "row-not-written",
            Severity::Error,
            span,
            Words {
                message: format!("{what} is to be worked again, but is not written"),
                expected: format!("rows up to {last}"),
                found: what.to_owned(),
                fit: format!("name rows among 1 to {last}"),
            },
        );
    }

    /// A row among several, told by the words at `span`: their count and a change told for all of them are those
    /// of the last. A row called again brings the change its own words tell.
    pub(super) fn not_the_last(&self, body: &mut Body<'_>, span: Span) {
        body.count = None;
        if self.change_told || body.fabric.is_some() || body.span == span {
            body.evenly = None;
        }
    }

    /// Works a block of rows until the end said.
    pub(super) fn block(&mut self, block: &[Body<'a>], until: Until, span: Span) {
        if block.is_empty() {
            return;
        }
        let rows = match until {
            Until::Times(n) | Until::More(n) => n.saturating_mul(block.len() as u32),
            Until::Rows(n) => n,
            Until::RowsInAll(n) => n.saturating_sub(self.rows_in_section()),
            Until::Numbered(n) => (n + 1).saturating_sub(self.next),
            Until::Stitches(n) => return self.until_stitches(block, n, span),
            Until::Groups(n) => return self.until_groups(block, n, false, span),
            Until::Spaces(n) => return self.until_groups(block, n, true, span),
            Until::UsedUp => return self.until_used_up(block, span),
            Until::Heading if block.len() == 1 && block[0].fabric.is_none() => 1,
            Until::Heading
            | Until::Open
            | Until::Square
            | Until::Millimetres(_)
            | Until::MoreMillimetres(_)
            | Until::AlongEdge(_) => match self.rows_to_length(block, until, span) {
                Some(rows) => rows,
                None => return self.open(span),
            },
        };
        for k in 0..rows {
            if self.stopped || self.too_many(span) {
                return;
            }
            self.block_row(block, k, k + 1 == rows, span);
        }
    }

    /// Row `k` of a block worked again and again.
    pub(super) fn block_row(&mut self, block: &[Body<'a>], k: u32, last: bool, span: Span) {
        let mut body = block[k as usize % block.len()];
        if !last {
            self.not_the_last(&mut body, span);
        }
        self.numbers.entry(self.next).or_insert(body);
        self.next_row(body);
    }

    /// Works the block while loops of older rows wait on the needle.
    fn until_used_up(&mut self, block: &[Body<'a>], span: Span) {
        let waiting = |maker: &Self| {
            let below = maker.below.as_ref().map_or(0, |b| b.stitches());
            below.saturating_sub(maker.last_made())
        };
        while waiting(self) > 0 {
            let before = waiting(self);
            for body in block {
                if self.stopped || self.too_many(span) {
                    return;
                }
                self.numbers.entry(self.next).or_insert(*body);
                self.next_row(Body { count: None, ..*body });
            }
            if waiting(self) >= before {
                return self.open(span);
            }
        }
    }

    pub(super) fn open(&mut self, span: Span) {
        self.say(
            "length-open",
            Severity::Note,
            span,
            Words {
                message: "the number of repeats is left to the maker".into(),
                expected: "a number of repeats, of rows or a length".into(),
                found: "none".into(),
                fit: "say how often: `rep rows 2-3 20 more times`".into(),
            },
        );
    }
}

/// The row names a yarn before it works anything.
fn names_yarn(ops: &[crate::pattern::Op]) -> bool {
    use crate::pattern::Do;
    let works = |op: &&crate::pattern::Op| {
        matches!(op.act, Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..))
    };
    ops.iter().take_while(|op| !works(op)).any(|op| matches!(op.act, Do::Colour(_)))
}

/// A row's name without the word for row, "decrease row" as "dec row".
pub(super) fn nameless(name: &str) -> String {
    let words = name
        .split(' ')
        .filter(|w| !["row", "rows", "rnd", "rnds", "round", "rounds", "rd"].contains(w))
        .map(|w| match w {
            "decrease" | "decreasing" => "dec",
            "increase" | "increasing" => "inc",
            w => w,
        });
    words.collect::<Vec<_>>().join(" ")
}

/// The side a heading states.
fn body_side(row: &Row) -> Option<Side> {
    row.heading.right_side.map(|right| if right { Side::Right } else { Side::Wrong })
}

/// Rows called again. An odd number of them changes sides at every repeat, so that the sides their
/// headings state hold for the first time only.
pub(super) fn without_sides(mut block: Vec<Body<'_>>) -> Vec<Body<'_>> {
    if block.len() % 2 == 1 {
        block.iter_mut().for_each(|b| b.right_side = None);
    }
    block
}
