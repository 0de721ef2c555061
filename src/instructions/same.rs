//! Are two pieces the same work? Words, labels and printed counts aside.

use crate::stitches::Anchor;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::StitchId;

/// Rows of `a` that `b` does not have alike at the same index: kinds, legs, direction, beginning,
/// colour and section. Legs are compared by row and place in it, so that one row more or one stitch
/// more does not make all that follows differ. A row that only `b` has counts as the last of `a`.
pub fn differing(a: &Piece, b: &Piece) -> Vec<RowId> {
    let n = a.rows.len();
    let mut rows: Vec<RowId> =
        (0..n).filter(|&r| !alike(a, b, r)).map(|r| RowId(r as u32)).collect();
    if b.rows.len() > n && n > 0 && rows.last() != Some(&RowId(n as u32 - 1)) {
        rows.push(RowId(n as u32 - 1));
    }
    rows
}

fn alike(a: &Piece, b: &Piece, r: usize) -> bool {
    let (Some(x), Some(y)) = (a.rows.get(r), b.rows.get(r)) else { return false };
    let colour = |p: &Piece, c: u16| {
        p.colours.get(usize::from(c)).map(|c| c.to_ascii_lowercase()).unwrap_or_default()
    };
    let section = |p: &Piece, s: u16| {
        p.sections.get(usize::from(s)).map(|s| s.to_ascii_lowercase()).unwrap_or_default()
    };
    let rows = a.craft == b.craft
        && x.side == y.side
        && x.left_to_right == y.left_to_right
        && x.round == y.round
        && x.start == y.start
        && x.finish == y.finish
        && x.made == y.made
        && colour(a, x.colour) == colour(b, y.colour)
        && section(a, x.section) == section(b, y.section)
        && x.stitches.1 - x.stitches.0 == y.stitches.1 - y.stitches.0;
    rows && a.row_stitches(x).zip(b.row_stitches(y)).all(|((_, s), (_, t))| {
        let (legs, others) = (a.legs(s), b.legs(t));
        s.kind == t.kind
            && colour(a, s.colour) == colour(b, t.colour)
            && s.links == t.links
            && s.overlay == t.overlay
            && legs.len() == others.len()
            && legs.iter().zip(others).all(|(l, m)| relative(a, l) == relative(b, m))
    })
}

/// A leg with its stitch named by row and place in the row.
fn relative(piece: &Piece, leg: &Anchor) -> (Place, [Option<(u32, u32)>; 2], u8) {
    let at = |id: StitchId| {
        let stitch = piece.stitches.get(id.0 as usize)?;
        let row = piece.rows.get(stitch.row.0 as usize)?;
        Some((stitch.row.0, id.0.wrapping_sub(row.stitches.0)))
    };
    let none = StitchId(0);
    let (place, ids) = match leg.place {
        Place::Top(s) => (Place::Top(none), [at(s), None]),
        Place::Post { of, front } => (Place::Post { of: none, front }, [at(of), None]),
        Place::Space(s) => (Place::Space(none), [at(s), None]),
        Place::Link { run, nth } => (Place::Link { run: none, nth }, [at(run), None]),
        Place::Gap(s, t) => (Place::Gap(none, none), [at(s), at(t)]),
        Place::Underside(s) => (Place::Underside(none), [at(s), None]),
        Place::Ring(s) => (Place::Ring(none), [at(s), None]),
        Place::Strand(s) => (Place::Strand(none), [at(s), None]),
        end @ Place::RowEnd { .. } => (end, [None, None]),
    };
    (place, ids, leg.taken as u8)
}
