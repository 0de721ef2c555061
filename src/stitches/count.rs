//! Printed counts against worked ones: what does the page count?

use super::draft::Draft;
use super::draft::counts;
use super::graph::RowStart;
use super::kind::StitchKind;
use super::making::height_of;
use crate::pattern::CountNote;
use crate::pattern::Macro;
use crate::pattern::Noun;

/// What a page's counts count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Counted {
    /// Stitches.
    Stitches,
    /// Stitches and chain links.
    WithLinks,
    /// Stitches and chain spaces.
    WithSpaces,
    /// Stitches without the turning chain that counts.
    WithoutTurning,
    /// Stitches with the turning chain that does not count.
    WithTurning,
    /// Chain spaces.
    Spaces,
    /// Groups.
    Groups,
    /// Stitches of the kind named.
    Named,
}

/// What a row holds under each way of counting.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    stitches: u32,
    links: u32,
    spaces: u32,
    /// The first of the spaces is that of a turning chain, or of links skipped at the foundation's end.
    begins_with_space: bool,
    groups: u32,
    counted_turning: bool,
    beside: bool,
}

fn tally(draft: &Draft) -> Tally {
    let runs = draft.stitches.iter().filter(|s| s.kind == StitchKind::Chain && !s.overlay);
    Tally {
        stitches: draft.made(),
        links: runs.clone().map(|s| u32::from(s.links)).sum(),
        spaces: runs.count() as u32,
        begins_with_space: draft.stitches.first().is_some_and(|s| s.kind == StitchKind::Chain),
        groups: draft.groups.len() as u32,
        counted_turning: matches!(draft.start, RowStart::ChainCounts(_)),
        beside: matches!(draft.start, RowStart::ChainBeside(_)),
    }
}

/// How the printed count fits the row: the way of counting that agrees, preferring `usual`.
/// `None` when none does. Ways that only shift the count by the turning chain are taken only when they
/// have been seen before, else every slip of one would pass.
pub(super) fn agrees(
    draft: &Draft,
    note: &CountNote,
    usual: Option<Counted>,
    macros: &[Macro],
) -> Option<Counted> {
    if let [(n, Noun::Word(word))] = note.parts.as_slice()
        && let Some(groups) = groups_named(draft, macros, word)
    {
        return groups.fit(*n).then_some(Counted::Groups);
    }
    if let [(n, noun)] = note.parts.as_slice() {
        return agrees_one(draft, *n, noun, usual);
    }
    let t = tally(draft);
    let sum: u32 = note.parts.iter().map(|(n, _)| *n).fold(0, u32::saturating_add);
    let grouped = note.parts.iter().any(|(_, noun)| matches!(noun, Noun::Word(_)));
    let each = note
        .parts
        .iter()
        .all(|(n, noun)| part(draft, &t, *n, noun) || grouped && outside_groups(draft, *n, noun));
    if each {
        return Some(Counted::Named);
    }
    ways(&t).into_iter().find(|&(_, n)| n == sum).map(|(way, _)| way)
}

/// Groups of one row that a word may mean.
#[derive(Debug, Clone, Copy)]
pub(super) struct GroupsNamed {
    /// Those of that very name.
    exact: u32,
    /// Those with the word in their names ("half shell").
    alike: u32,
    /// Those without a name.
    nameless: u32,
}

impl GroupsNamed {
    fn fit(self, n: u32) -> bool {
        n == self.exact || (self.alike..=self.alike.saturating_add(self.nameless)).contains(&n)
    }
    /// The number to tell.
    pub(super) fn told(self) -> u32 {
        if self.exact > 0 { self.exact } else { self.alike }
    }
}

/// The groups of a row that `word` ("shells") means; `None` when the page defines none of that name, or
/// the row works none.
pub(super) fn groups_named(draft: &Draft, macros: &[Macro], word: &str) -> Option<GroupsNamed> {
    let singular = word.strip_suffix('s').filter(|w| w.len() > 1).unwrap_or(word);
    let called = |name: u16| macros.get(usize::from(name)).map_or("", |m| m.name.as_str());
    let has = |name: &str| name.split(' ').any(|w| w == singular || w == word);
    let is = |name: &str| name.strip_suffix(" st").unwrap_or(name) == singular;
    let number =
        |test: &dyn Fn(u16) -> bool| draft.groups.iter().filter(|g| test(g.name)).count() as u32;
    let groups = GroupsNamed {
        exact: number(&|name| is(called(name))),
        alike: number(&|name| has(called(name))),
        nameless: number(&|name| name == u16::MAX),
    };
    (groups.alike > 0).then_some(groups)
}

/// Beside groups, a page counts the stitches that stand outside them.
fn outside_groups(draft: &Draft, n: u32, noun: &Noun) -> bool {
    let Noun::Posts(height) = noun else { return false };
    let inside = |k: usize| draft.groups.iter().any(|g| (g.first..=g.last).contains(&k));
    let outside = draft
        .stitches
        .iter()
        .enumerate()
        .filter(|(k, s)| counts(s) && height_of(s.kind) == Some(*height) && !inside(*k));
    outside.count() as u32 == n
}

fn part(draft: &Draft, t: &Tally, n: u32, noun: &Noun) -> bool {
    match noun {
        Noun::Stitches => n == t.stitches,
        Noun::Posts(height) => {
            let exact = draft
                .stitches
                .iter()
                .filter(|s| counts(s) && height_of(s.kind) == Some(*height))
                .count() as u32;
            n == exact
        }
        Noun::Spaces => n == t.spaces,
        Noun::Chains => n == t.links || n == t.spaces,
        Noun::Word(_) => true,
    }
}

fn agrees_one(draft: &Draft, n: u32, noun: &Noun, usual: Option<Counted>) -> Option<Counted> {
    let t = tally(draft);
    match noun {
        Noun::Spaces | Noun::Chains if part(draft, &t, n, noun) => return Some(Counted::Spaces),
        Noun::Posts(_) if part(draft, &t, n, noun) => return Some(Counted::Named),
        Noun::Word(_) => return Some(Counted::Groups),
        _ => {}
    }
    let ways = ways(&t);
    if let Some(usual) = usual
        && ways.iter().any(|&(way, m)| way == usual && m == n)
    {
        return Some(usual);
    }
    let shifts = |way: Counted| matches!(way, Counted::WithTurning | Counted::WithoutTurning);
    ways.iter()
        .find(|&&(way, m)| m == n && (!shifts(way) || usual == Some(way)))
        .map(|&(way, _)| way)
}

fn ways(t: &Tally) -> Vec<(Counted, u32)> {
    let mut ways = vec![(Counted::Stitches, t.stitches)];
    if t.spaces > 0 {
        ways.push((Counted::WithLinks, t.stitches + t.links));
        ways.push((Counted::WithSpaces, t.stitches + t.spaces));
        ways.push((Counted::Spaces, t.spaces));
        if t.begins_with_space {
            ways.push((Counted::WithSpaces, t.stitches + t.spaces - 1));
        }
    }
    if t.groups > 1 {
        ways.push((Counted::Groups, t.groups));
    }
    if t.counted_turning {
        ways.push((Counted::WithoutTurning, t.stitches.saturating_sub(1)));
    }
    if t.beside {
        ways.push((Counted::WithTurning, t.stitches + 1));
    }
    ways
}

/// The way of counting that would shift this row's count by the turning chain and so fit.
pub(super) fn by_turning(draft: &Draft, note: &CountNote) -> Option<Counted> {
    let [(n, _)] = note.parts.as_slice() else { return None };
    ways(&tally(draft))
        .into_iter()
        .find(|&(way, m)| m == *n && matches!(way, Counted::WithTurning | Counted::WithoutTurning))
        .map(|(way, _)| way)
}

/// A note in words: "22 dc and 19 spaces".
pub(super) fn in_words(note: &CountNote) -> String {
    let parts: Vec<String> = note
        .parts
        .iter()
        .map(|(n, noun)| match noun {
            Noun::Stitches => n.to_string(),
            Noun::Posts(height) => format!("{n} {}", height.name()),
            Noun::Spaces => format!("{n} spaces"),
            Noun::Chains => format!("{n} chains"),
            Noun::Word(word) => format!("{n} {word}"),
        })
        .collect();
    parts.join(" and ")
}

/// The number a note prints, as one.
pub(super) fn printed(note: &CountNote) -> u32 {
    note.parts.iter().map(|(n, _)| *n).fold(0, u32::saturating_add)
}
