//! Parts worked as another part was: "Panel 2: as Panel 1, but in colour order B, A, C", and yarns that take one
//! another's place.

use super::colour::colour_at;
use super::colour::colour_index;
use super::row::RowReader;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Item;
use super::syntax::Op;
use super::syntax::Row;
use super::token::Kind;
use super::token::Token;

/// "using CC2 in place of CC1", "with B instead of A", "replacing A with B": the yarn, and the one whose place it
/// takes.
pub(super) fn instead(
    t: &[Token<'_>],
    text: &str,
    known: &[String],
    colours: &mut Vec<String>,
) -> Option<(u16, u16)> {
    let yarn = |k: usize| colour_at(t, k, text, known);
    let (own, before) = (0..t.len()).find_map(|k| {
        if t[k].any(&["replacing", "replace"]) {
            let (before, len) = yarn(k + 1)?;
            t.get(k + 1 + len).filter(|t| t.any(&["with", "by"]))?;
            return Some((yarn(k + 2 + len)?.0, before));
        }
        let (own, len) = yarn(k)?;
        let place = t.get(k + len..)?;
        let of = place.iter().take(4).position(|t| t.any(&["of", "for"]))?;
        let swaps = place[..of].iter().any(|t| t.any(&["place", "instead"]));
        Some((own, yarn(k + len + of + 1).filter(|_| swaps)?.0))
    })?;
    Some((colour_index(colours, &own), colour_index(colours, &before)))
}

/// A mention of yarns or of parts by their numbers, in the words that say how parts worked alike differ.
enum Told {
    Yarn(u16),
    Parts(Vec<u32>),
}

impl RowReader<'_> {
    /// Works the section that ends `items` as `t` says: as another part was, in the yarns it tells. False where `t`
    /// says no such thing. Parts of one heading that take other yarns become sections of their own.
    pub(super) fn copy_part(&mut self, t: &[Token<'_>], items: &mut Vec<Item>) -> bool {
        let Some((rows, told)) = self.as_other_part(t, items) else { return false };
        let here = items.iter().rposition(|item| matches!(item, Item::Section { .. }));
        let Some(Item::Section { name, copies, span }) = here.map(|k| items[k].clone()) else {
            return false;
        };
        let numbers = numbers_of(&name);
        let mut sections = Vec::new();
        for (parts, own) in shared_out(&numbers, &told, yarns_of(&rows)) {
            let whole = parts.len() == numbers.len();
            let name = if whole { name.clone() } else { name_of(&name, &parts) };
            let copies = if parts.is_empty() { copies } else { parts.len() as u32 };
            self.sections.push(name.clone());
            sections.push(Item::Section { name, copies, span });
            let mut rows = rows.clone();
            recolour(&mut rows, &own);
            sections.extend(rows.into_iter().map(Item::Row));
        }
        let here = here.unwrap_or_default();
        items[here] = sections.remove(0);
        items.extend(sections);
        true
    }

    /// The rows of the part that `t` says this one is worked like, and what it tells of their yarns; `items` is
    /// what was read so far, ending in the section these words stand in.
    fn as_other_part(&mut self, t: &[Token<'_>], items: &[Item]) -> Option<(Vec<Row>, Vec<Told>)> {
        let (name, with, end) = self.part_copied(t)?;
        let is =
            |item: &Item, want: &str| matches!(item, Item::Section { name, .. } if name == want);
        let begin = items.iter().rposition(|item| is(item, &name))?;
        let here = items.iter().rposition(|item| matches!(item, Item::Section { .. }))?;
        let rows: Vec<Row> = items[begin + 1..]
            .iter()
            .take_while(|item| !matches!(item, Item::Section { .. }))
            .filter_map(|item| if let Item::Row(row) = item { Some(row.clone()) } else { None })
            .collect();
        let fresh = !items[here..].iter().any(|item| matches!(item, Item::Row(_)));
        if begin == here || !fresh || !rows.iter().any(founds) {
            return None;
        }
        let mut told = self.yarns_told(&t[..with]);
        told.extend(self.yarns_told(&t[end..]));
        if told.is_empty()
            && let Item::Section { span, .. } = items[here]
        {
            // "Strips 2 and 5 (in B)"
            let lower = self.text[span.range()].to_ascii_lowercase();
            let heading = super::token::cut(&lower, span.start);
            let open = heading.iter().position(|t| t.kind == Kind::Open).unwrap_or(heading.len());
            told = self.yarns_told(&heading[open..]);
        }
        Some((rows, told))
    }

    /// "Work as Strip 1", "With B, make the same as Panel 1": the part's name, one past the yarn told first, and one
    /// past the name.
    pub(super) fn part_copied(&self, t: &[Token<'_>]) -> Option<(String, usize, usize)> {
        const LEAD: [&str; 9] =
            ["work", "worked", "make", "made", "knit", "crochet", "the", "same", "exactly"];
        let yarn = |t: &Token<'_>| t.any(&["with", "using", "in"]);
        let with = t.first().filter(|t| yarn(t)).and_then(|_| {
            let (_, len) = colour_at(t, 1, self.text, &self.cx.colours)?;
            Some(1 + len + t[1 + len..].iter().take_while(|t| t.is_stop()).count())
        });
        let with = with.unwrap_or(0);
        let as_at = with + t[with..].iter().take_while(|t| t.any(&LEAD)).count();
        t.get(as_at).filter(|t| t.any(&["as", "like"]))?;
        let fill = t[as_at + 1..].iter().take_while(|t| t.any(&["for", "per", "the"])).count();
        let named = as_at + 1 + fill;
        let (name, used) = self.section_at(t, named)?;
        Some((name, with, named + used))
    }

    /// The yarns and parts that a stretch of words names, in order.
    fn yarns_told(&mut self, t: &[Token<'_>]) -> Vec<Told> {
        let (mut found, mut k) = (Vec::new(), 0);
        while k < t.len() {
            if let Some((name, len)) = colour_at(t, k, self.text, &self.cx.colours) {
                found.push(Told::Yarn(colour_index(&mut self.colours, &name)));
                k += len;
            } else if t[k].number().is_some() {
                let (parts, len) = numbers_at(&t[k..]);
                found.push(Told::Parts(parts));
                k += len;
            } else {
                k += 1;
            }
        }
        found
    }
}

/// The yarns of each of the parts `numbers`, parts alike together; `rows` name so many yarns. Without numbers, one
/// share for the section as it stands.
fn shared_out(numbers: &[u32], told: &[Told], yarns: usize) -> Vec<(Vec<u32>, Vec<u16>)> {
    let listed: Vec<u16> =
        told.iter().filter_map(|t| if let Told::Yarn(c) = t { Some(*c) } else { None }).collect();
    let each = yarns.max(1);
    let by_part = by_number(numbers, told);
    let several = listed.len() > each && listed.len().is_multiple_of(each);
    if by_part.is_empty() && (numbers.len() < 2 || !several) {
        return vec![(numbers.to_vec(), listed)];
    }
    let mut shares: Vec<(Vec<u32>, Vec<u16>)> = Vec::new();
    for (k, &n) in numbers.iter().enumerate() {
        let own = if by_part.is_empty() {
            listed.chunks(each).cycle().nth(k).unwrap_or_default().to_vec()
        } else {
            by_part.iter().find(|(of, _)| of.contains(&n)).map_or(Vec::new(), |p| p.1.clone())
        };
        match shares.iter_mut().find(|share| share.1 == own) {
            Some(share) => share.0.push(n),
            None => shares.push((vec![n], own)),
        }
    }
    shares
}

/// "B for strips 2 and 4, C for strip 3", "strip 2 in B": parts with their yarns.
fn by_number(numbers: &[u32], told: &[Told]) -> Vec<(Vec<u32>, Vec<u16>)> {
    let before = matches!(told.first(), Some(Told::Yarn(_)));
    let mut found: Vec<(Vec<u32>, Vec<u16>)> = Vec::new();
    let mut yarns: Vec<u16> = Vec::new();
    for told in told {
        match told {
            Told::Yarn(c) if before => yarns.push(*c),
            Told::Yarn(c) => found.iter_mut().rev().take(1).for_each(|f| f.1.push(*c)),
            Told::Parts(parts) if parts.iter().all(|n| numbers.contains(n)) => {
                found.push((parts.clone(), std::mem::take(&mut yarns)));
            }
            Told::Parts(_) => {}
        }
    }
    found.retain(|f| !f.1.is_empty());
    found
}

/// The section's name for some of its parts alone.
fn name_of(name: &str, parts: &[u32]) -> String {
    let noun = name.split(|c: char| c.is_ascii_digit()).next().unwrap_or(name).trim();
    let all: Vec<String> = parts.iter().map(u32::to_string).collect();
    match all.as_slice() {
        [one] => format!("{} {one}", noun.trim_end_matches(['s', 'S'])),
        [first @ .., last] => format!("{noun} {} and {last}", first.join(", ")),
        [] => name.to_owned(),
    }
}

/// The row begins a piece.
fn founds(row: &Row) -> bool {
    matches!(&row.content, Content::Work(ops) if ops.iter().any(|op| {
        matches!(op.act, Do::CastOn(_) | Do::MagicRing)
            || matches!(op.act, Do::Chain { links, .. } if links > 7)
    }) || super::clauses::lays_chain(ops))
}

/// Gives the rows the yarns `own` in the places of those they name, in the order they name them first.
/// Rows that name none are worked in the first of them.
fn recolour(rows: &mut [Row], own: &[u16]) {
    if let (0, Some(&first), Some(row)) = (yarns_of(rows), own.first(), rows.first_mut())
        && let Content::Work(ops) = &mut row.content
    {
        let span = ops.first().map_or(row.span, |op| op.span);
        ops.insert(0, Op { act: Do::Colour(first), span });
        return;
    }
    let mut order: Vec<u16> = Vec::new();
    each_yarn(rows, &mut |colour: &mut u16| {
        let at = order.iter().position(|c| c == colour).unwrap_or_else(|| {
            order.push(*colour);
            order.len() - 1
        });
        *colour = own.get(at).copied().unwrap_or(*colour);
    });
}

/// How many yarns the rows name.
fn yarns_of(rows: &[Row]) -> usize {
    let mut seen: Vec<u16> = Vec::new();
    each_yarn(&mut rows.to_vec(), &mut |colour: &mut u16| {
        if !seen.contains(colour) {
            seen.push(*colour);
        }
    });
    seen.len()
}

/// Every yarn that the rows name, in their order.
fn each_yarn(rows: &mut [Row], visit: &mut impl FnMut(&mut u16)) {
    fn within(ops: &mut [Op], visit: &mut impl FnMut(&mut u16)) {
        for op in ops {
            match &mut op.act {
                Do::Colour(colour) => visit(colour),
                Do::Repeat(repeat) => within(&mut repeat.ops, visit),
                _ => {}
            }
        }
    }
    for row in rows {
        match &mut row.content {
            Content::Work(ops) => within(ops, visit),
            Content::Again(again) => again.colour.iter_mut().for_each(&mut *visit),
            Content::Fabric(_, _, colour) => colour.iter_mut().for_each(&mut *visit),
            Content::Shaped(_) => {}
        }
    }
}

/// The parts a section stands for by its name: "Strips 2-7", "Strips 2, 4 and 6".
pub(super) fn numbers_of(name: &str) -> Vec<u32> {
    let lower = name.to_ascii_lowercase();
    let t = super::token::cut(&lower, 0);
    let Some(first) = t.iter().position(|t| t.number().is_some()) else { return Vec::new() };
    let (numbers, _) = numbers_at(&t[first..]);
    if numbers.len() > 1 { numbers } else { Vec::new() }
}

/// "2-7", "2, 4 and 6", "2 to 4 and 6" at the beginning of `t`: the numbers, and the tokens they take.
pub(super) fn numbers_at(t: &[Token<'_>]) -> (Vec<u32>, usize) {
    const MOST: u32 = 100;
    let mut numbers: Vec<u32> = t.first().and_then(Token::number).into_iter().collect();
    let mut k = 1;
    loop {
        let between = t[k.min(t.len())..].iter().take_while(|t| {
            matches!(t.kind, Kind::Dash | Kind::Stop(',') | Kind::Other('&'))
                || t.any(&["to", "through", "and"])
        });
        let between = between.count();
        let Some(n) = t.get(k + between).and_then(Token::number).filter(|_| between > 0) else {
            return (numbers, k);
        };
        let ranged = t[k].kind == Kind::Dash || t[k].any(&["to", "through"]);
        match numbers.last() {
            Some(&last) if ranged && last < n && n - last < MOST => numbers.extend(last + 1..=n),
            _ => numbers.push(n),
        }
        k += between + 1;
    }
}
