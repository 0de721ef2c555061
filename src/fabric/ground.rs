//! How each stitch sits in its fabric: the loop it takes and the knitted ground around it.

use std::collections::BTreeMap;

use crate::material::Texture;
use crate::material::Worked;
use crate::stitches::LoopTaken;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// Stitches to either side that tell a rib from the border of two grounds.
const RIB: u32 = 3;

/// One entry per stitch of the piece.
pub fn worked(piece: &Piece) -> Vec<Worked> {
    let known: Vec<Option<Texture>> =
        (0..piece.stitches.len()).map(|i| texture(piece, StitchId(i as u32))).collect();
    let usual = most_common(known.iter().flatten().copied());
    piece
        .stitches
        .iter()
        .zip(known)
        .map(|(stitch, texture)| Worked {
            kind: stitch.kind,
            taken: piece.legs(stitch).first().map_or(LoopTaken::Both, |a| a.taken),
            texture: texture.unwrap_or(usual),
        })
        .collect()
}

fn most_common(textures: impl Iterator<Item = Texture>) -> Texture {
    let mut counts: BTreeMap<Texture, u32> = BTreeMap::new();
    for t in textures {
        *counts.entry(t).or_default() += 1;
    }
    counts.into_iter().max_by_key(|&(_, n)| n).map_or(Texture::Stockinette, |(t, _)| t)
}

/// Faces towards the wrong side; `None` for what has no face (yarn-overs, slipped stitches).
fn purl(piece: &Piece, id: StitchId) -> Option<bool> {
    match piece.stitch(id).kind {
        StitchKind::Knit { purl, .. } => Some(purl),
        _ => None,
    }
}

/// Ground of a knitted stitch from its neighbours below and beside; `None` where they have no face. A rib's
/// columns run on: where faces beside each other change every second row, as in double moss, it is seed.
fn texture(piece: &Piece, id: StitchId) -> Option<Texture> {
    let face = purl(piece, id)?;
    let below = below(piece, id)?;
    let under = purl(piece, below)?;
    let alternate = columns_alternate(piece, id);
    let further = self::below(piece, below).and_then(|s| purl(piece, s));
    let broken = alternate && further.is_some_and(|further| further != under);
    Some(Texture::of(face == under && !broken, !alternate))
}

/// The stitch that a stitch is worked into.
fn below(piece: &Piece, id: StitchId) -> Option<StitchId> {
    match piece.legs(piece.stitch(id)).first()?.place {
        Place::Top(s) => Some(s),
        _ => None,
    }
}

/// Faces change at least twice within three stitches to either side: a rib. Where two grounds meet they
/// change once.
fn columns_alternate(piece: &Piece, id: StitchId) -> bool {
    let (from, to) = piece.rows[piece.stitch(id).row.0 as usize].stitches;
    let near = id.0.saturating_sub(RIB).max(from)..(id.0 + RIB + 1).min(to);
    let faces: Vec<bool> = near.filter_map(|i| purl(piece, StitchId(i))).collect();
    faces.windows(2).filter(|w| w[0] != w[1]).count() >= 2
}
