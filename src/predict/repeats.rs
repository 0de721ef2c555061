//! Gauges counted in groups, repeats or whole motifs, in stitches and rows of the worked piece.

use std::collections::BTreeMap;

use super::Assumption;
use super::traced;
use crate::fabric::block_stitches;
use crate::pattern::Gauge;
use crate::pattern::Header;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;
use crate::units::Length;
use crate::units::UnitSystem;

/// Words for a whole that is measured across, not along a row.
const WHOLES: [&str; 6] = ["square", "motif", "block", "hexagon", "circle", "medallion"];

/// A gauge in stitches and rows over lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plain {
    pub(super) stitches: Option<(f64, Length)>,
    pub(super) rows: Option<(f64, Length)>,
}

/// The stated gauge in stitches and rows, whatever it is counted in; what cannot be known is left out.
pub(super) fn plain(stated: &Gauge, piece: &Piece) -> Plain {
    let with = |count: Option<f64>, over| count.map(|count| (count, over));
    let rows = with(stated.rows, stated.rows_over);
    if stated.unit == "sts" {
        return Plain { stitches: with(stated.stitches, stated.stitches_over), rows };
    }
    if WHOLES.contains(&stated.unit.as_str()) {
        return across(piece, stated.stitches_over);
    }
    let stitches = stated.stitches.zip(repeat_width(piece)).map(|(n, each)| n * each);
    Plain { stitches: with(stitches, stated.stitches_over), rows }
}

/// A gauge counted in the blocks of work from corner to corner, or in their rows alone, with the stitches of a
/// block: its chain stands beside them like one of them.
pub(super) fn blocks(stated: &Gauge, piece: &Piece) -> Option<((f64, Length), Vec<StitchId>)> {
    let blocks = stated.stitches.zip(Some(stated.stitches_over)).filter(|_| stated.unit != "sts");
    // Rows of a named stitch are rows of a swatch in it, not of blocks.
    let alone = stated.stitches.is_none() && stated.within == "pattern";
    let rows = stated.rows.zip(Some(stated.rows_over)).filter(|_| alone);
    blocks.or(rows).zip(block_stitches(piece))
}

/// A whole of known size: its rounds lie between the centre and the middle of a side, its rows between its
/// lower and upper edge.
fn across(piece: &Piece, size: Length) -> Plain {
    let rows: Vec<&PieceRow> = worked(piece).collect();
    let count = rows.len() as f64;
    if rows.iter().all(|r| r.round) {
        return Plain { stitches: None, rows: (count > 0.0).then_some((count, size / 2.0)) };
    }
    let widest = rows.iter().map(|r| r.made).max().filter(|n| *n > 0);
    Plain { stitches: widest.map(|n| (f64::from(n), size)), rows: Some((count, size)) }
}

fn worked(piece: &Piece) -> impl Iterator<Item = &PieceRow> {
    piece.rows.iter().filter(|r| r.label != "foundation" && !r.finish)
}

/// Stitches of the foundation that a repeat of most rows stands over, edges left out; where none can be traced
/// so far, its own stitches and links. `None` where rows are plain.
fn repeat_width(piece: &Piece) -> Option<f64> {
    let mut votes: BTreeMap<usize, u32> = BTreeMap::new();
    for row in worked(piece) {
        if let Some(p) = repeats_every(&signs(piece, row)) {
            *votes.entry(p).or_default() += 1;
        }
    }
    // Of equals the shorter, which the longer may be two of.
    let most = votes.into_iter().rev().max_by_key(|(_, n)| *n).map(|(p, _)| p)?;
    let mut rows = worked(piece).filter(|row| repeats_every(&signs(piece, row)) == Some(most));
    let first = rows.next()?;
    let traced = std::iter::once(first).chain(rows).find_map(|row| traced_width(piece, row, most));
    let own = || {
        let all = signs(piece, first);
        let from = (all.len() - most) / 2;
        all[from..from + most].iter().map(|(_, links, ..)| f64::from((*links).max(1))).sum()
    };
    Some(traced.unwrap_or_else(own))
}

/// Stitches of the foundation between the feet of two stitches a repeat apart, in the middle of a row.
fn traced_width(piece: &Piece, row: &PieceRow, period: usize) -> Option<f64> {
    let ids: Vec<_> =
        piece.row_stitches(row).filter(|(_, s)| !s.overlay).map(|(id, _)| id).collect();
    let from = ids.len().checked_sub(period)? / 2;
    let apart = |k: usize| {
        let [a, b] = [k, k + period].map(|k| ids.get(k).and_then(|id| traced::root(piece, *id)));
        Some((a? - b?).abs()).filter(|width| *width > 0.0)
    };
    (from..ids.len()).find_map(apart)
}

/// What a stitch is, as far as a repeat shows it: its kind, its links, how many places it takes, and
/// whether it shares the first of them with the stitch before.
type Sign = (StitchKind, u16, u32, bool);

fn signs(piece: &Piece, row: &PieceRow) -> Vec<Sign> {
    let mut before = None;
    let stitches = piece.row_stitches(row).map(|(_, s)| s).filter(|s| !s.overlay);
    stitches
        .map(|stitch| {
            let first = piece.legs(stitch).first().map(|leg| leg.place);
            let shared = first.is_some() && first == before;
            before = first;
            (stitch.kind, stitch.links, stitch.legs.1 - stitch.legs.0, shared)
        })
        .collect()
}

/// The shortest run that is repeated over all but the ends, twice at least; `None` for one stitch over and
/// over.
fn repeats_every(signs: &[Sign]) -> Option<usize> {
    let edge = (signs.len() / 6).min(6);
    let middle = signs.get(edge..signs.len() - edge)?;
    let shortest =
        (1..=middle.len() / 2).find(|p| (0..middle.len() - p).all(|i| middle[i] == middle[i + p]));
    shortest.filter(|p| *p > 1)
}

/// How gauges that are not counted in stitches were read.
pub(super) fn assumptions(header: &Header, piece: &Piece, units: UnitSystem) -> Vec<Assumption> {
    let other = header.gauges.iter().filter(|g| g.unit != "sts");
    other.map(|gauge| read_as(gauge, piece, units)).collect()
}

fn read_as(gauge: &Gauge, piece: &Piece, units: UnitSystem) -> Assumption {
    let count = gauge.stitches.unwrap_or(1.0);
    let stated = format!("{count} {} over {}", gauge.unit, units.length(gauge.stitches_over));
    let read = |n: f64, what: &str, over| {
        format!("{stated}, read as {n} {what} over {}", units.length(over))
    };
    if let Some((_, stitches)) = blocks(gauge, piece) {
        return Assumption {
            what: "gauge by blocks".into(),
            value: format!("{stated}, squares of {} stitches by one row", stitches.len() + 1),
            source: "assumed: the chain of a block stands beside its stitches like one of them"
                .into(),
            assumed: true,
        };
    }
    let plain = plain(gauge, piece);
    let whole = WHOLES.contains(&gauge.unit.as_str());
    let (value, source) = match (plain.stitches, plain.rows) {
        (Some((n, over)), _) if !whole => (
            read(n, "stitches", over),
            format!(
                "weaker: most rows repeat themselves over {} stitches of the foundation",
                n / count
            ),
        ),
        (_, Some((n, over))) if whole => {
            (read(n, "rows", over), "weaker: the whole as worked is taken for one of them".into())
        }
        _ => (
            format!("{stated}, not used"),
            "no row repeats itself, so how many stitches are in one is not known".into(),
        ),
    };
    Assumption { what: "gauge by repeats".into(), value, source, assumed: true }
}
