//! Borders told in a sentence: "sc evenly all the way around, putting 3 sc in each corner".
//!
//! Such a sentence names a stitch, says that it goes all round, and what the corners take; the rest of
//! its words is manner. It is read as the ops a row in abbreviations would give.

use super::border_sides::tells_all_sides;
use super::border_sides::tells_row_ends;
use super::border_sides::told_sides;
use super::header::CraftWord;
use super::row::RowReader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Edge;
use super::syntax::Extent;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Target;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::Context;
use super::vocabulary::stitch_at;

/// A border read from prose: rounds it is told for, and what each works.
pub(super) struct Edging {
    pub(super) numbers: Numbers,
    pub(super) ops: Vec<Op>,
}

impl RowReader<'_> {
    /// The border `t` tells of, if it tells of one.
    pub(super) fn edging(&self, t: &[Token<'_>]) -> Option<Edging> {
        let (stitch, act) = (0..t.len()).find_map(|k| {
            let found = stitch_at(&self.cx, t, k)?;
            let post = matches!(found.act, Act::Post(..) | Act::Reverse);
            let told = goes_round(&t[k..])
                || rounds_whole(&t[..k], t)
                || rounds_cornered(&t[..k], t)
                || sides_in_turn(t)
                || two_sides_starred(&self.cx, t)
                || sides_and_ends(t)
                || tells_all_sides(&self.cx, t)
                || each_block(&self.cx, t).is_some();
            (post && told).then_some((k, found.act))
        })?;
        let corner = self
            .corner(t, act)
            .or_else(|| self.corner_first(t))
            .or_else(|| self.corner_by_ends(t))
            .or_else(|| corner_by_chains(t, act));
        let each_block = each_block(&self.cx, t);
        if corner.is_none() && !whole_edge(t) && each_block.is_none() {
            return None;
        }
        let span = t[stitch].span;
        let op = |act| Op { act, span };
        let mut ops: Vec<Op> = self
            .trial(&t[..stitch])
            .ops
            .into_iter()
            .filter(|op| matches!(op.act, Do::Colour(_)))
            .collect();
        let chain = t[..stitch].windows(2).find(|w| w[0].any(&["ch", "chain"]));
        if let Some(links) = chain.and_then(|w| w[1].number()) {
            ops.push(op(Do::Chain { links, counts: None }));
        }
        ops.extend(told_sides(&self.cx, t));
        ops.extend(each_row_end(&self.cx, t));
        ops.extend(each_block);
        ops.push(op(Do::Work { act, each: 1, place: Where::of(Extent::All) }));
        ops.extend(corner);
        if !left_open(t) {
            ops.push(op(Do::Join));
        }
        if t.iter().any(|t| t.any(&["fasten", "fo", "finish"])) {
            ops.push(op(Do::FastenOff));
        }
        Some(Edging { numbers: rounds(t), ops })
    }

    /// Stitches told along one side, or along both: "ch 1, sc evenly along the short edge", "2 sc in each
    /// row end". The flag says that the other side has the same.
    pub(super) fn side_edging(&self, t: &[Token<'_>]) -> Option<(Vec<Op>, bool)> {
        let heading = self.edge_of_section(t);
        if self.cx.craft == CraftWord::Knit || !along_side(t) && heading.is_none() {
            return None;
        }
        let (at, found) = (0..t.len()).find_map(|k| Some((k, stitch_at(&self.cx, t, k)?)))?;
        if !matches!(found.act, Act::Post(..)) {
            return None;
        }
        let before = at.checked_sub(1).and_then(|k| t[k].number());
        let after = t.get(at + found.len).and_then(|t| t.number());
        let number = before.or(after);
        let each = number.filter(|&n| n < 5);
        let total = number.filter(|&n| n > 4);
        let op = |act| Op { act, span: t[at].span };
        let place = Where { target: Target::RowEnd, ..Where::of(Extent::All) };
        let rate = t.iter().any(|t| t.is("each")) || each.is_some();
        let lead = self.trial(&t[..at]).ops.into_iter();
        let mut ops: Vec<Op> = lead.filter(|op| matches!(op.act, Do::Colour(_))).collect();
        ops.push(op(Do::PickUp(total, heading.unwrap_or_else(|| side_named(t)))));
        let each = if rate && !t.iter().any(|t| t.is("evenly")) { each.unwrap_or(1) } else { 0 };
        ops.push(op(Do::Work { act: found.act, each, place }));
        let both = t.iter().any(|t| t.any(&["both", "sides", "ends"]))
            && t.windows(2).any(|w| {
                w[0].any(&["both", "two", "short", "long", "each"])
                    && w[1].any(&["short", "long", "sides", "ends", "edges", "side", "end", "edge"])
            })
            && !t.windows(2).any(|w| w[0].is("row") && w[1].any(&["end", "ends"]));
        Some((ops, both))
    }

    /// "Edging (along the long straight edge only)" over "sc evenly along edge": the edge that the section's name
    /// tells.
    fn edge_of_section(&self, t: &[Token<'_>]) -> Option<Edge> {
        const MANNER: [&str; 5] = ["straight", "outer", "outside", "raw", "bare"];
        let vague = t.iter().any(|t| t.any(&["evenly", "edge"])) && !along_side(t);
        let lower = self.sections.last().filter(|_| vague)?.to_ascii_lowercase();
        let name = super::token::cut(&lower, 0);
        let open = name.iter().position(|t| t.kind == Kind::Open)?;
        let named: Vec<Token<'_>> =
            name[open..].iter().filter(|t| !t.any(&MANNER)).copied().collect();
        (along_side(&named) && !elsewhere(t)).then(|| side_named(&named))
    }

    /// "3 hdc in first st, hdc across to last st, 3 hdc in last st" on the way round: the ends of the top
    /// and of the foundation are the corners.
    fn corner_by_ends(&self, t: &[Token<'_>]) -> Option<Op> {
        let at = (0..t.len()).find_map(|k| {
            let each = t[k].number().filter(|n| (2..6).contains(n))?;
            let found = stitch_at(&self.cx, t, k + 1)?;
            let place = t.get(k + 1 + found.len..)?;
            let end = place.first()?.any(&["in", "into"])
                && place.get(1)?.any(&["first", "last", "same"]);
            (end && matches!(found.act, Act::Post(..))).then_some((k, each, found))
        });
        let (k, each, found) = at.filter(|_| sides_in_turn(t))?;
        let place = Where { target: Target::Corner, ..Where::of(Extent::All) };
        let span = t[k].span.to(t[k + found.len].span);
        Some(Op { act: Do::Work { act: found.act, each, place }, span })
    }

    /// "3 sc in each corner", "(sc, ch 2, sc) in corners", "3 sts into every corner".
    pub(super) fn corner(&self, t: &[Token<'_>], main: Act) -> Option<Op> {
        let at = t.iter().position(|t| t.any(&["corner", "corners"]) && t.kind == Kind::Word);
        let mut corners = at
            .into_iter()
            .chain((0..t.len()).filter(|&k| Some(k) > at && t[k].any(&["corner", "corners"])));
        corners.find_map(|end| {
            (end.saturating_sub(24)..end).find_map(|from| {
                if !(t[from].number().is_some() || t[from].kind == Kind::Open) {
                    return None;
                }
                self.corner_op(&t[from..=end], main)
            })
        })
    }

    /// "in each corner work (sc, ch 2, sc)": the corner named before what goes into it.
    fn corner_first(&self, t: &[Token<'_>]) -> Option<Op> {
        let corner = (1..t.len()).find(|&k| {
            t[k].any(&["corner", "corners"]) && t[k - 1].any(&["each", "every", "all", "the", "4"])
        })?;
        const WORK: [&str; 6] = ["work", "make", "put", "do", "place", "working"];
        let lead = t[corner + 1..].iter().take_while(|t| t.any(&WORK) || t.is_stop()).count();
        let from = corner + 1 + lead;
        let place = Where { target: Target::Corner, ..Where::of(Extent::All) };
        if t.get(from)?.kind == Kind::Open {
            let close = from + t[from..].iter().position(|t| t.kind == Kind::Close)?;
            let read = self.trial(&t[from + 1..close]);
            let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::Chain { .. });
            let whole = read.unread.is_empty() && read.ops.len() > 1 && read.ops.iter().all(works);
            let span = t[from].span.to(t[close].span);
            return whole.then_some(Op { act: Do::OnePlace(read.ops, place), span });
        }
        let each = t[from].number().filter(|n| (2..10).contains(n))?;
        let found = stitch_at(&self.cx, t, from + 1)?;
        let span = t[from].span.to(t[from + found.len].span);
        let post = matches!(found.act, Act::Post(..));
        post.then_some(Op { act: Do::Work { act: found.act, each, place }, span })
    }

    fn corner_op(&self, t: &[Token<'_>], main: Act) -> Option<Op> {
        let (span, n) = (t[0].span.to(t[t.len() - 1].span), t[0].number());
        let all = Where { target: Target::Corner, ..Where::of(Extent::All) };
        if let Some(each) = n.filter(|n| (2..10).contains(n))
            && t.get(1)?.any(&["st", "sts", "stitches"])
            && t.len() < 7
        {
            return Some(Op { act: Do::Work { act: main, each, place: all }, span });
        }
        if let Some(each) = n.filter(|n| (2..10).contains(n))
            && t.get(1)?.any(&["in", "into"])
            && t.len() < 6
        {
            return Some(Op { act: Do::Work { act: main, each, place: all }, span });
        }
        let read = self.trial(t);
        let mut ops = read.ops.into_iter();
        let (Some(op), None) = (ops.next(), ops.next()) else { return None };
        let act = match op.act {
            Do::Work { act, each, place } if place.target == Target::Corner && each > 1 => {
                Do::Work { act, each, place: all }
            }
            Do::OnePlace(inner, place) if place.target == Target::Corner => {
                Do::OnePlace(inner, all)
            }
            _ => return None,
        };
        (read.unread.is_empty()).then_some(Op { act, span })
    }
}

/// "2 sc in each row end", "2 sc in the side of each row": stitches in every row end.
pub(super) fn each_row_end(cx: &Context, t: &[Token<'_>]) -> Option<Op> {
    (0..t.len()).find_map(|k| {
        let stitch = stitch_at(cx, t, k)?;
        let words = clause(t, k + stitch.len);
        let each = words.iter().position(|t| t.any(&["each", "every"]))?;
        let row = words.get(each + 1)?.any(&["row"]);
        let end = words.iter().any(|t| t.any(&["end", "ends", "side"]));
        let before = k.checked_sub(1).and_then(|j| t[j].number()).unwrap_or(1);
        (row && end && before < 5).then_some(Op { act: Do::EachRowEnd(before), span: t[k].span })
    })
}

/// "3 sc in each square along the side", "2 sc in the side of each block", "3 sc per tile around": stitches along every
/// block of work from corner to corner.
pub(super) fn each_block(cx: &Context, t: &[Token<'_>]) -> Option<Op> {
    const OUTER: [&str; 7] = ["edge", "outer", "outside", "border", "end", "c2c", "mini"];
    let way = |t: &Token<'_>| {
        t.any(&["corner", "corners", "around", "round", "side", "sides", "edge", "edges"])
    };
    if !t.iter().any(way) {
        return None;
    }
    (0..t.len()).find_map(|k| {
        let stitch = stitch_at(cx, t, k)?;
        let words = clause(t, k + stitch.len);
        let each = words.iter().position(|t| t.any(&["each", "every", "per"]))?;
        let name = words[each + 1..].iter().find(|t| !t.any(&OUTER))?;
        let before = k.checked_sub(1).and_then(|j| t[j].number()).unwrap_or(1);
        let post = matches!(stitch.act, Act::Post(..) | Act::Reverse);
        (post && super::block::is_block(name) && before < 10)
            .then_some(Op { act: Do::EachBlock(before), span: t[k].span })
    })
}

/// The words from `from` to the next stop or bracket.
fn clause<'s, 't>(t: &'s [Token<'t>], from: usize) -> &'s [Token<'t>] {
    let rest = &t[from.min(t.len())..];
    let len = rest
        .iter()
        .take_while(|t| !t.is_stop() && t.kind != Kind::Open && t.kind != Kind::Close)
        .count();
    &rest[..len]
}

/// "Do not join", "without joining".
fn left_open(t: &[Token<'_>]) -> bool {
    t.windows(2).any(|w| w[0].any(&["not", "without"]) && w[1].any(&["join", "joining"]))
}

/// Words that speak of more than one side, or of none.
fn elsewhere(t: &[Token<'_>]) -> bool {
    const ELSEWHERE: [&str; 17] = [
        "corner",
        "corners",
        "around",
        "round",
        "top",
        "bottom",
        "foundation",
        "chain",
        "opposite",
        "repeat",
        "rep",
        "all",
        "neck",
        "entire",
        "turning",
        "next",
        "point",
    ];
    t.iter().any(|t| t.any(&ELSEWHERE))
}

/// The words go along one side of the piece: its row ends, and nothing round a corner.
fn along_side(t: &[Token<'_>]) -> bool {
    let has = |words: &[&str]| t.iter().any(|t| t.any(words));
    let way = has(&["along", "down", "up", "across", "each", "evenly"]);
    let side = t.windows(2).any(|w| {
        w[0].any(&["short", "long", "left", "right", "side", "row", "narrow", "both"])
            && w[1].any(&["side", "sides", "edge", "edges", "end", "ends"])
            && !(w[0].any(&["right", "left"]) && w[1].is("side"))
    });
    let facing = t.windows(2).any(|w| w[0].any(&["of", "to"]) && w[1].any(&["row", "rows"]));
    way && side && !facing && !elsewhere(t)
}

/// Which side.
fn side_named(t: &[Token<'_>]) -> Edge {
    let has = |word: &str| t.iter().any(|t| t.is(word));
    if has("long") != has("short") {
        return if has("long") { Edge::Long } else { Edge::Short };
    }
    match (has("left"), has("right"), has("other")) {
        (true, false, _) => Edge::Left,
        (false, true, _) => Edge::Right,
        (_, _, true) => Edge::Other,
        _ => Edge::Side,
    }
}

/// "sc evenly around, working 40 sc along each side edge": what goes round, and how many its sides have.
pub(super) fn tells_sides(cx: &Context, t: &[Token<'_>]) -> bool {
    let Some(first) = (0..t.len()).find(|&k| stitch_at(cx, t, k).is_some()) else { return false };
    let side = |k: usize| {
        let found = t[k].number().and_then(|_| stitch_at(cx, t, k + 1));
        let words = found.and_then(|f| t.get(k + 1 + f.len..)).unwrap_or_default();
        matches!(words, [along, which, side, ..] if along.is("along")
            && (which.any(&["each", "both", "first", "second"]) && side.any(&["side", "sides"])
                || which.any(&["top", "bottom"]) && side.is("edge")))
    };
    goes_round(&t[first..]) && (0..t.len()).any(side) || tells_all_sides(cx, t)
}

/// After the stitch it says "around", "all round".
fn goes_round(t: &[Token<'_>]) -> bool {
    t.iter().enumerate().any(|(k, token)| {
        let post = t.get(k + 1).is_some_and(|t| t.any(&["post", "posts", "next", "each"]));
        let noun = k > 0 && (t[k - 1].number().is_some() || t[k - 1].any(&["next", "this", "a"]));
        token.any(&["around", "round", "surrounding"]) && !post && !noun
    }) || t
        .windows(2)
        .any(|w| w[0].any(&["four", "all", "4"]) && w[1].any(&["sides", "edges", "four", "4"]))
}

/// The sides are told one after another: down the side, across the bottom, up the other side.
fn sides_in_turn(t: &[Token<'_>]) -> bool {
    const CROSSWISE: [&str; 7] =
        ["bottom", "foundation", "top", "opposite", "beginning", "chain", "across"];
    let count = |words: &[&str]| t.iter().filter(|t| t.any(words)).count();
    let ends = |w: &[Token<'_>]| w[0].any(&["in", "into"]) && w[1].any(&["first", "last"]);
    let named = count(&["corner", "corners"]) + t.windows(2).filter(|w| ends(w)).count();
    let corners = named.max(chains_between(t).len());
    let sides = count(&["side", "sides", "edge", "ends", "end"]);
    let starred = t.iter().any(|t| matches!(t.kind, Kind::Star(_)));
    // Without a join at its end it need not go all the way.
    let yarn = ["yarn", "new", "the", "at", "in", "any", "a"];
    let joins = (0..t.len()).any(|k| {
        t[k].any(&["join", "ss"]) && t.get(k + 1).is_none_or(|t| !t.any(&yarn))
            || t[k].is("join") && t.get(k + 1).is_some_and(|t| t.is("in")) && k > t.len() / 2
            // "..., sl st to first hdc"
            || t[k].any(&["sl", "slip"])
                && t.get(k + 2).is_some_and(|t| t.any(&["to", "in", "into"]))
                && t[k + 3..].iter().take(3).any(|t| t.is("first"))
                && k > t.len() / 2
    });
    // "58 sc evenly down side, 3 sc in corner, sc in next 58 chs"
    let chains = t.windows(2).any(|w| w[0].number().is_some() && w[1].any(&["chs", "chains"]));
    corners > 2 && sides > 1 && (count(&CROSSWISE) > 0 || chains) && joins && !starred
}

/// "*3 dc into corner, 58 dc along top, 3 dc into corner, 2 dc into each row end*, repeat from * to * once more":
/// half of the way round, told once.
fn two_sides_starred(cx: &Context, t: &[Token<'_>]) -> bool {
    let starred = t.iter().any(|t| matches!(t.kind, Kind::Star(_)));
    let corners = t.iter().filter(|t| t.any(&["corner", "corners"])).count();
    let crosswise = t.iter().any(|t| t.any(&["top", "bottom", "foundation"]));
    let ends = each_row_end(cx, t).is_some() || tells_row_ends(cx, t);
    starred && corners > 1 && crosswise && ends
}

/// Chains that stand alone between the sides: "2 sc in each row end, ch 2; sc in each ch along bottom, ch 2".
/// Where each begins.
fn chains_between(t: &[Token<'_>]) -> Vec<usize> {
    let apart = |t: Option<&Token<'_>>| {
        t.is_none_or(|t| t.is_stop() || matches!(t.kind, Kind::Close | Kind::Open))
    };
    let alone = |&k: &usize| {
        let links = t.get(k + 1).and_then(|t| t.number());
        t[k].any(&["ch", "chain"])
            && links.is_some_and(|n| (1..6).contains(&n))
            && k > 4
            && apart(t.get(k - 1))
            && apart(t.get(k + 2))
    };
    (0..t.len()).filter(alone).collect()
}

/// A chain before the first stitch of each side turns the corner.
fn corner_by_chains(t: &[Token<'_>], act: Act) -> Option<Op> {
    let chains = chains_between(t);
    let at = *chains.first().filter(|_| chains.len() > 2)?;
    let links = t.get(at + 1)?.number()?;
    let span = t[at].span.to(t[at + 1].span);
    let stitch = Do::Work { act, each: 1, place: Where::of(Extent::Bare(1)) };
    let inner = vec![Op { act: Do::Chain { links, counts: None }, span }, Op { act: stitch, span }];
    let place = Where { target: Target::Corner, ..Where::of(Extent::All) };
    Some(Op { act: Do::OnePlace(inner, place), span })
}

/// "Edge the whole blanket with a round of ...".
fn rounds_whole(before: &[Token<'_>], t: &[Token<'_>]) -> bool {
    let round = |w: &[Token<'_>]| w[0].any(&["round", "rnd", "rounds", "row"]) && w[1].is("of");
    before.windows(2).any(round) && t.iter().any(|t| t.any(&["whole", "entire", "outside"]))
}

/// "2 sc around each end dc along the sides and 1 sc in each dc across top and bottom, 3 sc in each corner".
fn sides_and_ends(t: &[Token<'_>]) -> bool {
    let has = |words: &[&str]| t.iter().any(|t| t.any(words));
    has(&["sides"]) && has(&["top"]) && has(&["bottom"]) && has(&["corner", "corners"])
}

/// "Work 3 rounds of dc, working (dc, 2 ch, dc) into each corner".
fn rounds_cornered(before: &[Token<'_>], t: &[Token<'_>]) -> bool {
    let round = |w: &[Token<'_>]| w[0].any(&["round", "rnd", "rounds", "rnds"]) && w[1].is("of");
    before.windows(2).any(round) && t.iter().any(|t| t.any(&["corner", "corners"]))
}

/// The words speak of the whole outside, not of a round of stitches.
fn whole_edge(t: &[Token<'_>]) -> bool {
    t.iter().any(|t| {
        t.any(&[
            "evenly",
            "entire",
            "whole",
            "outside",
            "outer",
            "edge",
            "edges",
            "perimeter",
            "sides",
            "blanket",
            "scarf",
            "shawl",
            "wrap",
            "throw",
            "afghan",
            "piece",
        ])
    })
}

/// "Work 2 rounds of sc": how many.
fn rounds(t: &[Token<'_>]) -> Numbers {
    let told = t.windows(3).find_map(|w| {
        let rounds = w[1].any(&["rounds", "rnds", "rows"]) && w[2].is("of");
        let n = || w[0].number().or_else(|| super::reader::number_word(w[0].text));
        rounds.then(n).flatten()
    });
    let number = |t: &Token<'_>| t.number().or_else(|| super::reader::number_word(t.text));
    // "for 3 rounds", "and continue with 2 more rounds".
    let lasting = t.windows(3).find_map(|w| {
        (w[0].any(&["for", "in"]) && w[2].any(&["rounds", "rnds"])).then(|| number(&w[1])).flatten()
    });
    let more = t.windows(3).find_map(|w| {
        let rounds = w[1].is("more") && w[2].any(&["rounds", "rnds", "round", "rnd"]);
        rounds.then(|| number(&w[0]).map(|n| n + 1)).flatten()
    });
    let told = more.or(told).or(lasting);
    told.filter(|n| (2..100).contains(n)).map_or(Numbers::Next, Numbers::Several)
}
