//! Where closed rounds that are cut open begin: over the cut of the round below, wherever the page begins them.

use std::collections::BTreeMap;

use super::front::EntryId;
use super::front::Front;
use super::mesh::Builder;
use crate::stitches::StitchId;

/// Turns the stitches of a round, right to left, until the places they are worked into run from the right end of
/// the work below to its left. A round that begins further along, in the next space or after slip stitches, ends
/// past the first stitches of the round below; cut open at its join it would cross the whole piece.
pub(super) fn turn(b: &Builder<'_>, ids: &mut [u32]) {
    let entry = |i: &u32| {
        let stitch = b.piece.stitch(StitchId(*i));
        let place = b.piece.legs(stitch).first()?.place;
        b.legs.near(&b.worked, b.piece, place).filter(|e| b.front.alive(*e))
    };
    let legged: Vec<(usize, EntryId)> =
        ids.iter().enumerate().filter_map(|(k, i)| entry(i).map(|e| (k, e))).collect();
    let Some(&(_, first)) = legged.first() else { return };
    let places = along(&b.front, first);
    let at: Vec<(usize, usize)> =
        legged.iter().filter_map(|(k, e)| places.get(e).map(|p| (*k, *p))).collect();
    let fall = |k: usize| at[k - 1].1.saturating_sub(at[k].1);
    let Some(k) = (1..at.len()).max_by_key(|k| fall(*k)).filter(|k| fall(*k) > 0) else { return };
    // What came last now stands right of what came first.
    if at[at.len() - 1].1 <= at[0].1 {
        ids.rotate_left(at[k].0);
    }
}

/// Entries of the front from the corner right of `from` to the one left of it, counted.
fn along(front: &Front, from: EntryId) -> BTreeMap<EntryId, usize> {
    let mut right = from;
    while !front.get(right).corner && front.prev(right) != from {
        right = front.prev(right);
    }
    let mut places = BTreeMap::from([(right, 0)]);
    let mut at = front.next(right);
    while at != right {
        places.insert(at, places.len());
        if front.get(at).corner {
            break;
        }
        at = front.next(at);
    }
    places
}
