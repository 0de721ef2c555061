//! One row in words: how it begins, its steps, how it ends, its count.

use super::Plainness;
use super::below::Met;
use super::below::foundation;
use super::below::lacy;
use super::edge::Stand;
use super::edge::on_edge;
use super::edge::picked;
use super::fold::both_kinds;
use super::fold::folded;
use super::foundation::base;
use super::foundation::with_chain;
use super::names::Names;
use super::prose::Prose;
use super::step::Item;
use super::step::Step;
use super::step::Steps;
use super::step::steps;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::RowStart;
use crate::stitches::Stitch;
use crate::stitches::StitchKind;

/// What a row is on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    /// A foundation chain, ring or cast-on, loops picked up: no number.
    Step,
    /// A row or round.
    Row,
    /// Binding off: no number.
    Finish,
}

/// A row in words, without its heading.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Words {
    /// What it is.
    pub(super) sort: Sort,
    /// Its instructions, no full stop.
    pub(super) text: String,
    /// "70 sc"; empty when nothing is counted.
    pub(super) count: String,
}

/// Row `r` of the piece on `met`.
pub(super) fn words(
    piece: &Piece,
    r: usize,
    met: Option<&Met>,
    names: &Names<'_>,
    plain: Plainness,
) -> Words {
    let row = &piece.rows[r];
    let Some(met) = met.filter(|_| !foundation(piece, r)) else {
        return Words { sort: Sort::Step, text: base(piece, r), count: String::new() };
    };
    if let Stand::Picked { live } = met.stand {
        let text = picked(piece, row, live, names);
        return Words { sort: Sort::Step, text, count: String::new() };
    }
    if row.finish && bound_only(piece, row) {
        let text = format!("{} all sts", names.bind_off());
        return Words { sort: Sort::Finish, text, count: String::new() };
    }
    if with_chain(piece, r) {
        return Words {
            sort: Sort::Row,
            text: with_chain_words(piece, row, names),
            count: count(piece, row, names),
        };
    }
    let steps = steps(piece, r, met, names);
    let text = sentence(piece, r, met, steps, names, plain);
    Words { sort: Sort::Row, text, count: count(piece, row, names) }
}

fn bound_only(piece: &Piece, row: &PieceRow) -> bool {
    piece.row_stitches(row).all(|(_, s)| s.kind == StitchKind::BindOff)
}

/// "fsc 25".
fn with_chain_words(piece: &Piece, row: &PieceRow, names: &Names<'_>) -> String {
    let kind = piece.row_stitches(row).next().map(|(_, s)| s.kind);
    let name = kind.map(|k| names.stitch(k, true)).unwrap_or_default();
    format!("f{name} {}", row.made)
}

fn sentence(
    piece: &Piece,
    r: usize,
    met: &Met,
    steps: Steps,
    names: &Names<'_>,
    plain: Plainness,
) -> String {
    let row = &piece.rows[r];
    let (joined, cursor) = (steps.joined, steps.cursor);
    let apart = (steps.turning_space > 0 && !met.chain).then(|| {
        let mut steps = steps.clone();
        let chain = Item { step: Step::Chain(steps.turning_space), left: met.left(1) };
        steps.items.insert(0, chain);
        steps.turning_space = 0;
        steps
    });
    let mut text = worked(piece, row, met, steps, names, plain);
    if let Some(steps) = apart {
        let other = worked(piece, row, met, steps, names, plain);
        if other.len() < text.len() {
            text = other;
        }
    }
    if !joined && matches!(&met.stand, Stand::Around(around) if around.says_open()) {
        text += ", do not join";
    }
    if joined {
        text += match row.start {
            RowStart::ChainCounts(_) => ", join with sl st in top of beg ch",
            _ => ", join with sl st in first st",
        };
    }
    if drops_overs(piece, r) {
        text += ", dropping all yos";
    }
    ending(piece, r, met, met.left(cursor), plain, &mut text);
    text
}

/// The beginning of a row and its steps.
fn worked(
    piece: &Piece,
    row: &PieceRow,
    met: &Met,
    steps: Steps,
    names: &Names<'_>,
    plain: Plainness,
) -> String {
    let (start, stated) = beginning(piece, row, met, &steps, names);
    let mut items = steps.items;
    if plain == Plainness::Usual {
        items = both_kinds(items);
    }
    if plain < Plainness::Spelt {
        items = folded(items);
    }
    let opens = !matches!(row.start, RowStart::ChainCounts(_)) && steps.way.is_empty();
    let short = names.craft == Craft::Knit && met.left(steps.cursor) > 0;
    let prose = Prose { names, plain, round: row.round, opens, short };
    let way = (!steps.way.is_empty()).then(|| prose.list(&steps.way));
    let far = (!steps.far.is_empty()).then(|| {
        let items = if plain < Plainness::Spelt { folded(steps.far) } else { steps.far };
        let along = Prose { opens: false, ..prose };
        format!("working along opposite side of foundation ch, {}", along.row(&items, None))
    });
    let even = match &met.stand {
        Stand::Around(around) => around.words(names, plain),
        _ => None,
    };
    let side = matches!(met.stand, Stand::Underside(_))
        .then(|| "working along opposite side of foundation ch".to_owned());
    let work = even.unwrap_or_else(|| prose.row(&items, stated.as_deref()));
    let parts = side
        .into_iter()
        .chain(way)
        .chain(start)
        .chain((!work.is_empty()).then_some(work))
        .chain(far);
    parts.collect::<Vec<_>>().join(", ")
}

/// The turning chain in words, or what the links passed over on the foundation are.
fn beginning(
    piece: &Piece,
    row: &PieceRow,
    met: &Met,
    steps: &Steps,
    names: &Names<'_>,
) -> (Option<String>, Option<String>) {
    let turning = |s: &Stitch| !(s.kind == StitchKind::SlipStitch && s.overlay);
    let first = piece.row_stitches(row).map(|(_, s)| s).find(|s| turning(s)).map(|s| s.kind);
    let kind = first.map(|k| names.stitch(k, true)).unwrap_or_default();
    let space = steps.turning_space;
    match (row.start, met.chain) {
        (RowStart::Plain, _) => (steps.turning_link.then(|| "ch 1".to_owned()), None),
        (RowStart::ChainBeside(1), true) => (None, None),
        (RowStart::ChainBeside(_), true) => (None, Some("(skipped ch do not count)".into())),
        (RowStart::ChainBeside(1), false) => (Some("ch 1".into()), None),
        (RowStart::ChainBeside(n), false) => {
            (Some(format!("ch {n} (does not count as a st)")), None)
        }
        (RowStart::ChainCounts(_), true) if space > 0 => {
            (None, Some(format!("(skipped ch count as {kind} and ch {space})")))
        }
        (RowStart::ChainCounts(_), true) => (None, Some(format!("(skipped ch count as {kind})"))),
        (RowStart::ChainCounts(n), false) if space > 0 => {
            let links = u32::from(n) + u32::from(space);
            (Some(format!("ch {links} (counts as {kind} and ch {space})")), None)
        }
        (RowStart::ChainCounts(n), false) => (Some(format!("ch {n} (counts as {kind})")), None),
    }
}

/// The yarn-overs of the row below are let go.
fn drops_overs(piece: &Piece, r: usize) -> bool {
    let over = |s: &Stitch| s.kind == StitchKind::YarnOver && s.overlay;
    r > 0 && piece.row_stitches(&piece.rows[r - 1]).any(|(_, s)| over(s))
}

/// Stitches left, and whether the work is turned: said only where it is not what goes without saying
/// (rows turn, rounds do not).
fn ending(piece: &Piece, r: usize, met: &Met, left: u32, plain: Plainness, text: &mut String) {
    let row = &piece.rows[r];
    let knit = piece.craft == Craft::Knit;
    let short = left > 0 && (row.unworked > 0 || knit);
    // A short row of knitting ends where it says "turn".
    let told = match knit {
        true => plain > Plainness::Usual,
        false => row.unworked > 0 || !row.round && !met.chain && !lacy(piece, row),
    };
    if left > 0 && told {
        *text += &match left {
            1 => ", leave last st unworked".to_owned(),
            n => format!(", leave last {n} sts unworked"),
        };
    }
    let Some(next) = piece.rows.get(r + 1).filter(|_| !foundation(piece, r + 1)) else { return };
    let turned = next.left_to_right != row.left_to_right;
    // A border goes its own way round, and loops are picked up on the side that faces.
    if on_edge(piece, next) {
        return;
    }
    if turned && (next.round || short) {
        *text += ", turn";
    } else if !turned && !next.round {
        *text += ". Do not turn";
    }
}

/// The count of a row: its stitches by name when they are of one kind, and its spaces.
pub(super) fn count(piece: &Piece, row: &PieceRow, names: &Names<'_>) -> String {
    if row.made == 0 {
        return String::new();
    }
    let made = piece
        .row_stitches(row)
        .map(|(_, s)| s)
        .filter(|s| !s.overlay && !matches!(s.kind, StitchKind::Chain | StitchKind::BindOff));
    let mut kinds = made.map(|s| s.kind);
    let first = kinds.next();
    let alike = matches!(first, Some(StitchKind::Plain(_))) && kinds.all(|k| Some(k) == first);
    let noun = match first {
        Some(kind) if alike => names.stitch(kind, true),
        _ if row.made == 1 => "st".into(),
        _ => "sts".into(),
    };
    let mut text = format!("{} {noun}", row.made);
    let mut runs = piece
        .row_stitches(row)
        .map(|(_, s)| s)
        .filter(|s| s.kind == StitchKind::Chain && !s.overlay)
        .map(|s| s.links);
    if let Some(links) = runs.next() {
        let mut n = 1;
        let mut alike_runs = true;
        for other in runs {
            n += 1;
            alike_runs &= other == links;
        }
        let end = if n == 1 { "" } else { "s" };
        if alike && alike_runs {
            text += &format!(", {n} ch-{links} sp{end}");
        } else if alike {
            text += &format!(", {n} ch-sp{end}");
        }
    }
    text
}
