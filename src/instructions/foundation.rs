//! What a piece begins with, in words, and the links its first row passes over.

use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowStart;
use crate::stitches::Stitch;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

use super::below::foundation;

/// The foundation `r`: chain links are more than those that end up under the row, by what the first row
/// passes over at the hook.
pub(super) fn base(piece: &Piece, r: usize) -> String {
    let row = &piece.rows[r];
    let n = row.stitches.1 - row.stitches.0;
    let next = piece.rows.get(r + 1);
    if piece.craft == Craft::Knit {
        let join = next.is_some_and(|n| n.round);
        let text = cast_on(piece, row);
        return if join { text + ". Join to work in the round" } else { text };
    }
    if row.round {
        let links = piece.row_stitches(row).next().map_or(0, |(_, s)| s.links);
        return match links {
            0 => "make a magic ring".into(),
            n => format!("ch {n}, join with sl st to form a ring"),
        };
    }
    if with_chain(piece, r + 1) {
        return String::new();
    }
    let links = match next.map(|n| n.start) {
        Some(RowStart::ChainBeside(k)) => n + u32::from(k),
        Some(RowStart::ChainCounts(own)) => n + u32::from(own) + space(piece, r + 1) - 1,
        Some(RowStart::Plain) => n + loop_beyond(piece, r + 1),
        None => n,
    };
    let tube = next.is_some_and(|n| n.round && n.start == RowStart::Plain) && links > 1;
    match tube {
        true => format!("ch {links}, join with sl st to form a ring"),
        false => format!("ch {links}"),
    }
}

/// Loops cast on after row `row` beside those it made, which do not count among them.
pub(super) fn cast_on_after(piece: &Piece, row: &PieceRow) -> usize {
    let all: Vec<&Stitch> = piece.row_stitches(row).map(|(_, s)| s).collect();
    let more = all.iter().rev().take_while(|s| s.kind == StitchKind::CastOn).count();
    let made = all
        .iter()
        .filter(|s| !matches!(s.kind, StitchKind::Chain | StitchKind::BindOff) && !s.overlay);
    if more < all.len() && made.count() == row.made as usize + more { more } else { 0 }
}

/// "cast on 36 sts", in parts where the yarn changes.
fn cast_on(piece: &Piece, row: &PieceRow) -> String {
    let mut parts: Vec<(u16, u32)> = Vec::new();
    for (_, stitch) in piece.row_stitches(row) {
        match parts.last_mut() {
            Some((colour, n)) if *colour == stitch.colour => *n += 1,
            _ => parts.push((stitch.colour, 1)),
        }
    }
    let part = |(k, (colour, n)): (usize, &(u16, u32))| {
        let name = piece.colours.get(usize::from(*colour)).map_or("", String::as_str);
        if k == 0 { format!("cast on {n} sts") } else { format!("with {name}, cast on {n} sts") }
    };
    parts.iter().enumerate().map(part).collect::<Vec<_>>().join("; ")
}

/// Row `r` is of foundation stitches, each made together with its link of chain.
pub(super) fn with_chain(piece: &Piece, r: usize) -> bool {
    let (Some(row), Some(base)) = (piece.rows.get(r), r.checked_sub(1).map(|k| &piece.rows[k]))
    else {
        return false;
    };
    let own: Vec<&Stitch> = piece.row_stitches(row).map(|(_, s)| s).collect();
    let mut links = (base.stitches.0..base.stitches.1).rev();
    let post = own.first().map(|s| s.kind);
    // A chain made beforehand has links that are passed over at the hook.
    foundation(piece, r - 1)
        && piece.craft == Craft::Crochet
        && !base.round
        && !row.round
        && piece.row_stitches(base).all(|(_, s)| s.colour == row.colour)
        && row.start == RowStart::Plain
        && matches!(post, Some(StitchKind::Plain(_)))
        && own.len() == links.len()
        && own.into_iter().all(|s| {
            let top = links.next().map(|k| Place::Top(StitchId(k)));
            Some(s.kind) == post && matches!(piece.legs(s), [leg] if Some(leg.place) == top)
        })
}

/// Links of the space beside a turning chain that counts.
fn space(piece: &Piece, r: usize) -> u32 {
    let second = piece.row_stitches(&piece.rows[r]).nth(1).map(|(_, s)| s);
    second.filter(|s| s.kind == StitchKind::Chain && !s.overlay).map_or(0, |s| u32::from(s.links))
}

/// Links of the loop a row begins with.
fn first_loop(piece: &Piece, r: usize) -> Option<u32> {
    let row = piece.rows.get(r)?;
    let first = piece.row_stitches(row).next().map(|(_, s)| s)?;
    let own = first.kind == StitchKind::Chain && !first.overlay && row.start == RowStart::Plain;
    (own && piece.craft == Craft::Crochet && !foundation(piece, r)).then(|| u32::from(first.links))
}

/// Links passed over at the hook by row `r`, which stands on a foundation chain and begins with a loop.
pub(super) fn loop_skipped(piece: &Piece, r: usize) -> Option<u32> {
    let links = first_loop(piece, r)?;
    Some(links + u32::from(under_loop(piece, r)))
}

/// The first link of the foundation lies under the loop that row `r` begins with.
fn under_loop(piece: &Piece, r: usize) -> bool {
    let last = piece.rows[r - 1].stitches.1 - 1;
    let worked =
        |s: &Stitch| piece.legs(s).iter().any(|leg| leg.place == Place::Top(StitchId(last)));
    !piece.row_stitches(&piece.rows[r]).any(|(_, s)| worked(s))
}

/// Links of the foundation beyond those under row `r`.
fn loop_beyond(piece: &Piece, r: usize) -> u32 {
    let Some(links) = first_loop(piece, r) else { return 0 };
    // The links passed over beside a block are one of its stitches, which stands on a link of its own.
    if crate::stitches::of_blocks(piece) { links - 1 } else { links }
}

/// The loop of one link that row `r` begins with, as short as its other chains.
pub(super) fn turning_link(piece: &Piece, r: usize) -> Option<StitchId> {
    (first_loop(piece, r) == Some(1)).then(|| StitchId(piece.rows[r].stitches.0))
}
