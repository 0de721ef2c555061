//! A border's first round: the whole edge of a flat piece as the row below.
//!
//! "Evenly" along row ends is taken by the usual rule of thumb (common practice, no source): one
//! stitch to a row of single crochet, three to two of half double, two to double, three to treble; in
//! knitting one to two rows.

use super::below::Below;
use super::below::CORNER;
use super::below::Group;
use super::below::Spot;
use super::graph::Piece;
use super::graph::PieceRow;
use super::graph::Place;
use super::graph::RowId;
use super::graph::StitchId;
use super::kind::Post;
use super::kind::StitchKind;

/// A place along the edge of a flat piece, as the first round of a border comes to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BorderPlace {
    /// Where.
    pub place: Place,
    /// The stitch, or the first stitch of the row whose end it is.
    pub id: StitchId,
    /// Links of a chain space taken as one; else 0.
    pub links: u16,
    /// A corner of the piece.
    pub corner: bool,
}

/// The places of a border's first round on a piece whose last row offers `top`: its stitches and chain runs
/// in the order made, with the links of the latter. `told` and `evenly` as for a border in words: stitches
/// along top, left, bottom and right, and chain spaces along the top taken link by link. `left_out` is the side
/// that the border leaves out: top, left, bottom, right, as an index. None when the piece is not flat.
pub fn border_places(
    piece: &Piece,
    top: &[(StitchId, u16)],
    told: [Option<u32>; 4],
    evenly: bool,
    left_out: Option<usize>,
) -> Option<Vec<BorderPlace>> {
    let spot = |&(id, links): &(StitchId, u16)| {
        let kind = piece.stitches.get(id.0 as usize).map_or(StitchKind::Chain, |s| s.kind);
        Spot { id, kind, links, link: 0, edge: None }
    };
    let last = Below { spots: top.iter().map(spot).collect(), ..Below::default() };
    let asked = Asked { told, evenly, each: None, each_block: None, left_out };
    let around = perimeter(piece, &last, &asked)?;
    let corner = |k| around.groups.iter().any(|g| g.first == k);
    let place = |(k, s): (usize, &Spot)| {
        let links = if s.is_space() { s.links } else { 0 };
        BorderPlace { place: s.place(), id: s.id, links, corner: corner(k) }
    };
    Some(around.spots.iter().enumerate().map(place).collect())
}

/// What the page says of a border's first row or round.
pub(super) struct Asked {
    /// The numbers of stitches along top, left, bottom and right, where they are told.
    pub(super) told: [Option<u32>; 4],
    /// Spread evenly, over spaces as over stitches.
    pub(super) evenly: bool,
    /// Stitches in each row end.
    pub(super) each: Option<u32>,
    /// Stitches along each block of work from corner to corner; its corners are told apart from them.
    pub(super) each_block: Option<u32>,
    /// The side it leaves out: top, left, bottom, right, as an index in this order.
    pub(super) left_out: Option<usize>,
}

/// The edge of the flat piece that ends in `last`, met with the right side facing: top, left edge down,
/// foundation, right edge up. A round begins where the last row ended; a border that leaves a side out begins
/// after that side.
pub(super) fn perimeter(piece: &Piece, last: &Below, asked: &Asked) -> Option<Below> {
    let foundation = piece.rows.iter().rposition(|r| r.label == "foundation")?;
    let rows = &piece.rows[foundation..];
    if rows.len() < 3 || rows.iter().any(|r| r.round) {
        return None;
    }
    let ended_left = !rows[rows.len() - 1].left_to_right;
    // Evenly, a chain space along the top takes a stitch for each of its links, as it had on the foundation.
    let over_space = |spot: &Spot| match asked.evenly && spot.is_space() {
        true => vec![edge(spot.id, Place::Space(spot.id)); usize::from(spot.links)],
        false => vec![*spot],
    };
    let mut top: Vec<Spot> = last.spots.iter().flat_map(over_space).collect();
    if !ended_left {
        top.reverse();
    }
    let base = &rows[0];
    let under = (base.stitches.0..base.stitches.1)
        .map(|k| edge(StitchId(k), Place::Underside(StitchId(k))));
    let mut bottom: Vec<Spot> = under.collect();
    if !base.left_to_right {
        bottom.reverse();
    }
    let given = [&top, &bottom].map(Vec::as_slice);
    if let Some(sides) = super::block_edge::sides(piece, foundation, given, asked)
        && asked.left_out.is_none()
    {
        let mut below = Below { row: last.row, ..Below::default() };
        for (side, told) in sides.into_iter().zip(asked.told) {
            let at = below.spots.len();
            below.groups.push(Group { name: CORNER, first: at, last: at });
            below.spots.extend(spread(side, told));
        }
        return Some(below);
    }
    let mut left = side(piece, foundation, true, (asked.told[1], asked.each));
    left.reverse();
    let right = side(piece, foundation, false, (asked.told[3], asked.each));
    let mut sides = [spread(top, asked.told[0]), left, spread(bottom, asked.told[2]), right];
    match asked.left_out {
        Some(side) => {
            sides.rotate_left(side % 4);
            sides[0].clear();
        }
        None => sides.rotate_left(usize::from(ended_left)),
    }
    let mut below = Below { row: last.row, ..Below::default() };
    for side in sides.into_iter().filter(|s| !s.is_empty()) {
        let first = side.iter().position(|s| !s.is_space()).unwrap_or(0);
        let at = below.spots.len() + first;
        // Where a border begins that does not close, there is no corner.
        if asked.left_out.is_none() || at > first {
            below.groups.push(Group { name: CORNER, first: at, last: at });
        }
        below.spots.extend(side);
    }
    Some(below)
}

/// A place along an edge as a spot.
pub(super) fn edge(id: StitchId, place: Place) -> Spot {
    Spot { id, kind: StitchKind::Chain, links: 0, link: 0, edge: Some(place) }
}

/// `n` of the spots evenly, some of them several times where there are too few; all of them where no number is
/// told.
pub(super) fn spread(spots: Vec<Spot>, n: Option<u32>) -> Vec<Spot> {
    const MOST_IN_ONE: usize = 20;
    let all = spots.len();
    match n.map(|n| n as usize).filter(|&n| n != all && (1..=MOST_IN_ONE * all).contains(&n)) {
        Some(n) => (0..n).map(|k| spots[(2 * k + 1) * all / (2 * n)]).collect(),
        None => spots,
    }
}

/// Points along one edge, from the foundation up: as many as told for it or for each row end, spaced evenly,
/// else by the usual rule.
fn side(
    piece: &Piece,
    foundation: usize,
    left: bool,
    (told, each): (Option<u32>, Option<u32>),
) -> Vec<Spot> {
    let rows = piece.rows.len() - foundation - 1;
    let told = told.map(|n| n as usize).or(each.map(|n| n as usize * rows));
    let Some(n) = told.filter(|&n| (1..=20 * rows).contains(&n)) else {
        return row_ends(piece, foundation, left);
    };
    let mut spots = Vec::with_capacity(n);
    for k in 0..rows {
        // Points before row k are the whole part of its share of all of them.
        let from = |k: usize| k * n / rows;
        let of = (from(k + 1) - from(k)).min(20) as u8;
        let row = RowId((foundation + 1 + k) as u32);
        let first = StitchId(piece.rows[foundation + 1 + k].stitches.0);
        spots.extend((0..of).map(|nth| edge(first, Place::RowEnd { row, left, nth, of })));
    }
    spots
}

/// Points along one edge, from the foundation up.
fn row_ends(piece: &Piece, foundation: usize, left: bool) -> Vec<Spot> {
    let mut spots = Vec::new();
    let mut owed = 0;
    for (k, row) in piece.rows.iter().enumerate().skip(foundation + 1) {
        owed += halves(piece, row);
        let of = (owed / 2).min(20) as u8;
        owed %= 2;
        let first = StitchId(row.stitches.0);
        for nth in 0..of {
            spots.push(edge(first, Place::RowEnd { row: RowId(k as u32), left, nth, of }));
        }
    }
    spots
}

/// Border stitches a row end takes, in halves.
fn halves(piece: &Piece, row: &PieceRow) -> u32 {
    let stitches = &piece.stitches[row.stitches.0 as usize..row.stitches.1 as usize];
    let tallest = stitches.iter().map(|s| match s.kind {
        StitchKind::Plain(post)
        | StitchKind::Extended(post)
        | StitchKind::Cluster { post, .. }
        | StitchKind::Popcorn { post, .. } => by_post(post),
        StitchKind::Puff { .. } => 3,
        StitchKind::Knit { .. } | StitchKind::Slipped => 1,
        _ => 0,
    });
    tallest.max().unwrap_or(0)
}

fn by_post(post: Post) -> u32 {
    match post {
        Post::Single => 2,
        Post::HalfDouble => 3,
        Post::Double => 4,
        Post::Treble => 6,
        Post::DoubleTreble => 8,
        Post::TripleTreble => 10,
    }
}
