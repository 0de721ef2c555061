//! Rows on the edges of a piece: a border all round, loops picked up along a side, the underside of the
//! foundation.

use super::Plainness;
use super::below::Spot;
use super::below::foundation;
use super::names::Names;
use super::prose::more;
use crate::stitches::Anchor;
use crate::stitches::BorderPlace;
use crate::stitches::Craft;
use crate::stitches::LoopTaken;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::RowStart;
use crate::stitches::Stitch;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;
use crate::stitches::border_places;

/// What a row stands on.
#[derive(Debug, Clone, Default)]
pub(super) enum Stand {
    /// The row below.
    #[default]
    Below,
    /// The whole edge of a flat piece.
    Around(Around),
    /// An edge whose loops it is itself.
    Picked {
        /// Loops still on the needle that go on with them.
        live: usize,
    },
    /// The free loops of the foundation chain.
    Underside(Vec<Spot>),
}

/// The edge of a flat piece as a border's first round meets it.
#[derive(Debug, Clone)]
pub(super) struct Around {
    /// Places in order.
    pub(super) places: Vec<BorderPlace>,
    /// Places along top, left, bottom and right, where they are not one to a stitch or what the heights of the
    /// rows ask for.
    told: [Option<u32>; 4],
    /// Chain spaces along the top take a stitch for each link.
    evenly: bool,
    /// The side of [`SIDES`] that it leaves out.
    left_out: Option<usize>,
    /// It is the first round of the border.
    first: bool,
    /// The round, when it is one stitch all the way and the same in every corner.
    even: Option<Even>,
}

/// The sides of a flat piece, in the order a border with the right side facing comes to them.
const SIDES: [&str; 4] = ["top", "left", "bottom", "right"];

/// Most stitches in one corner that a round told by its numbers is tried with.
const MOST_IN_CORNER: u32 = 9;

/// A round of one stitch all the way.
#[derive(Debug, Clone)]
struct Even {
    /// The stitch.
    kind: StitchKind,
    /// Links of a loop the round begins with.
    begins: u16,
    /// The first corner is worked at the end of the round.
    closing: bool,
    /// What every corner takes, when it is more than that stitch: kinds, and links of chains.
    corner: Vec<(StitchKind, u16)>,
}

/// All legs of a row.
pub(super) fn legs<'a>(piece: &'a Piece, row: &'a PieceRow) -> impl Iterator<Item = &'a Anchor> {
    piece.row_stitches(row).flat_map(|(_, s)| piece.legs(s))
}

/// The row stands on row ends or on undersides. A last stitch round a turning chain alone does not make it so.
pub(super) fn on_edge(piece: &Piece, row: &PieceRow) -> bool {
    let side = |l: &Anchor| matches!(l.place, Place::RowEnd { .. } | Place::Underside(_));
    let first = legs(piece, row).next().is_some_and(side);
    first || row.round && legs(piece, row).any(side)
}

impl Stand {
    /// What row `r` stands on; `offered` is what the rows before it left.
    pub(super) fn of(piece: &Piece, r: usize, offered: &[Spot]) -> Self {
        let row = &piece.rows[r];
        let knit = piece.craft == Craft::Knit;
        let Some(first) = legs(piece, row).next() else { return Self::Below };
        let edge = on_edge(piece, row);
        if row.round && !knit {
            let around = edge.then(|| Around::of(piece, r, offered, None)).flatten();
            return around.map_or(Self::Below, Self::Around);
        }
        if let Some(side) = the_one_side_without(piece, row).filter(|_| !knit)
            && let Some(around) = Around::of(piece, r, offered, Some(side))
        {
            return Self::Around(around);
        }
        if !knit && matches!(first.place, Place::Underside(_)) {
            return Self::Underside(underside(piece, r));
        }
        // The top edge of a piece that was bound off.
        let bound = match first.place {
            Place::Top(id) => id.0 < row.stitches.0 && !offered.iter().any(|s| s.id == id),
            _ => false,
        };
        if edge || knit && bound && offered.len() < 2 {
            // Loops that go on with those picked up are counted with them.
            let own = row.stitches.1 - row.stitches.0;
            Self::Picked { live: if knit && row.made > own { offered.len() } else { 0 } }
        } else {
            Self::Below
        }
    }
}

/// Corners a border may have.
const CORNERS: std::ops::RangeInclusive<usize> = 3..=8;

impl Stand {
    /// A later round `r` of a border, whose corners are `corners` of `spots`, where it is even all the way.
    pub(super) fn again_around(piece: &Piece, r: usize, spots: &[Spot], corners: &[usize]) -> Self {
        let place = |(k, s): (usize, &Spot)| BorderPlace {
            place: if s.links > 0 { Place::Space(s.id) } else { Place::Top(s.id) },
            id: s.id,
            links: s.links,
            corner: corners.contains(&k),
        };
        let row = &piece.rows[r];
        if !row.round
            || !CORNERS.contains(&corners.len())
            || super::below::leading_slips(piece, row) > 0
        {
            return Self::Below;
        }
        let places: Vec<BorderPlace> = spots.iter().enumerate().map(place).collect();
        let even = Even::read(piece, row, &places, false).filter(|e| !e.corner.is_empty());
        match even {
            None => Self::Below,
            even => Self::Around(Around {
                places,
                told: [None; 4],
                evenly: false,
                left_out: None,
                first: false,
                even,
            }),
        }
    }
}

/// The free loops of the last foundation, in the order the hook comes to them upside down.
fn underside(piece: &Piece, r: usize) -> Vec<Spot> {
    let Some(base) = (0..r).rev().find(|&k| foundation(piece, k)) else { return Vec::new() };
    let row = &piece.rows[base];
    let spot = |k| {
        let id = StitchId(k);
        Spot { id, links: 0, edge: Some(Place::Underside(id)) }
    };
    let mut spots: Vec<Spot> = (row.stitches.0..row.stitches.1).map(spot).collect();
    // The foundation runs towards its first row: a row that turns back along it runs the other way.
    if !row.left_to_right {
        spots.reverse();
    }
    spots
}

impl Around {
    /// The edge that row `r` goes along: the first way to tell it by which the round is even all the way,
    /// else the first one that has all its places.
    fn of(piece: &Piece, r: usize, offered: &[Spot], left_out: Option<usize>) -> Option<Self> {
        let row = &piece.rows[r];
        let (rows, stitches) = (piece.rows[..r].to_vec(), piece.stitches.clone());
        let anchors = piece.anchors.clone();
        let body = Piece { rows, stitches, anchors, ..piece.clone() };
        let top: Vec<(StitchId, u16)> = offered.iter().map(|s| (s.id, s.links)).collect();
        let [left, right] = [true, false].map(|left| Some(along(piece, row, left)));
        let [over, under] = across(piece, row);
        let known = [[None; 4], [None, left, None, right]];
        // A corner's stitches all go into one place of its side.
        let told = (1..=MOST_IN_CORNER).flat_map(|corner| {
            let places = |n: u32| (n + 1).checked_sub(corner);
            let across = places(over).zip(places(under));
            across.into_iter().flat_map(move |(over, under)| {
                let told = |left, right| [Some(over), left, Some(under), right];
                [told(None, None), told(left, right)]
            })
        });
        let ways = known
            .into_iter()
            .flat_map(|told| [(told, true), (told, false)])
            .chain(told.map(|told| (told, false)));
        let mut first = None;
        for (told, evenly) in ways {
            let Some(places) = border_places(&body, &top, told, evenly, left_out) else { continue };
            let even = Even::of(piece, row, &places);
            let found = Self { places, told, evenly, left_out, first: true, even };
            if found.even.is_some() {
                return Some(found);
            }
            let all = legs(piece, row).all(|l| found.places.iter().any(|p| p.place == l.place));
            if all && first.is_none() && told[0].is_none() {
                first = Some(found);
            }
        }
        first
    }

    /// The places as spots.
    pub(super) fn spots(&self) -> Vec<Spot> {
        let spot = |p: &BorderPlace| {
            let space = matches!(p.place, Place::Space(_)) && p.links > 0;
            let own = space || matches!(p.place, Place::Top(_));
            Spot { id: p.id, links: p.links, edge: (!own).then_some(p.place) }
        };
        self.places.iter().map(spot).collect()
    }

    /// A border all round without corners is taken to be joined, unless it says that it is not.
    pub(super) fn says_open(&self) -> bool {
        let plain = self.even.as_ref().is_some_and(|even| even.corner.is_empty());
        self.first && self.left_out.is_none() && plain
    }

    /// "sc evenly around, 3 sc in each corner"; none when the round is not even.
    pub(super) fn words(&self, names: &Names<'_>, plain: Plainness) -> Option<String> {
        let even = self.even.as_ref().filter(|_| self.first || plain == Plainness::Usual)?;
        let name = names.stitch(even.kind, true);
        let corner = even.corner_words(names);
        let loops = if even.begins > 0 { format!("ch {}, ", even.begins) } else { String::new() };
        if let (true, Some(corner)) = (even.closing, &corner) {
            let side = format!(
                "{name} {}to next corner",
                if self.evenly { "evenly " } else { "in each st " }
            );
            let sides = self.places.iter().filter(|p| p.corner).count();
            let more = more(sides.saturating_sub(1) as u32);
            return Some(format!("{loops}*{side}, {corner} in corner; rep from * {more}"));
        }
        let each = match (self.first, self.evenly) {
            (true, true) => "evenly ",
            (true, false) => "",
            (false, _) => "in each st ",
        };
        let way = match self.left_out {
            Some(side) => format!("along all edges except the {} edge", SIDES[side % 4]),
            None => "around".to_owned(),
        };
        let mut text = format!("{loops}{name} {each}{way}");
        text += &self.told_words(&name, corner.is_some());
        if let Some(corner) = corner {
            text += &format!(", {corner} in each corner");
        }
        Some(text)
    }
}

impl Around {
    /// ", working 40 sc along each side edge": where there are corners, a side of stitches is told without those
    /// at its ends.
    fn told_words(&self, name: &str, corners: bool) -> String {
        let [top, left, bottom, right] = self.told;
        let across = |n: u32| n.saturating_sub(if corners { 2 } else { 0 });
        let mut parts = Vec::new();
        if let (Some(top), Some(bottom)) = (top, bottom) {
            parts.push(format!("{} {name} along top edge", across(top)));
            parts.push(format!("{} {name} along bottom edge", across(bottom)));
        }
        match (left, right) {
            (Some(a), Some(b)) if a == b => parts.push(format!("{a} {name} along each side edge")),
            (Some(a), Some(b)) => {
                parts.push(format!("{a} {name} along first side edge"));
                parts.push(format!("{b} {name} along second side edge"));
            }
            _ => {}
        }
        if parts.is_empty() { String::new() } else { format!(", working {}", parts.join(", ")) }
    }
}

/// The side of [`SIDES`] that a row leaves out which goes along the other three.
fn the_one_side_without(piece: &Piece, row: &PieceRow) -> Option<usize> {
    let mut seen = [false; 4];
    for leg in legs(piece, row) {
        match leg.place {
            Place::RowEnd { left: true, .. } => seen[1] = true,
            Place::RowEnd { .. } => seen[3] = true,
            Place::Underside(_) => seen[2] = true,
            Place::Top(id) | Place::Space(id) if id.0 < row.stitches.0 => seen[0] = true,
            _ => {}
        }
    }
    let mut without = (0..4).filter(|&k| !seen[k]);
    without.next().filter(|_| without.next().is_none())
}

/// Points of one side that legs of `row` take.
fn along(piece: &Piece, row: &PieceRow, left: bool) -> u32 {
    let mut seen = None;
    let own = legs(piece, row).filter_map(|l| match l.place {
        Place::RowEnd { row, left: side, of, .. } if side == left => Some((row, of)),
        _ => None,
    });
    own.filter(|&(row, _)| seen.replace(row) != Some(row)).map(|(_, of)| u32::from(of)).sum()
}

/// Legs of `row` in the stitches of the piece's last row, and in the free loops of its foundation.
fn across(piece: &Piece, row: &PieceRow) -> [u32; 2] {
    let mut found = [0, 0];
    for leg in legs(piece, row) {
        match leg.place {
            Place::Top(id) | Place::Space(id) if id.0 < row.stitches.0 => found[0] += 1,
            Place::Underside(_) => found[1] += 1,
            _ => {}
        }
    }
    found
}

impl Even {
    fn of(piece: &Piece, row: &PieceRow, places: &[BorderPlace]) -> Option<Self> {
        Self::read(piece, row, places, false).or_else(|| Self::read(piece, row, places, true))
    }

    fn read(piece: &Piece, row: &PieceRow, places: &[BorderPlace], closing: bool) -> Option<Self> {
        let join = |s: &Stitch| s.overlay && piece.legs(s).is_empty();
        let all = piece.row_stitches(row).map(|(_, s)| s).filter(|s| !join(s));
        let all: Vec<&Stitch> = all.collect();
        let first =
            all.first().filter(|s| s.kind == StitchKind::Chain && row.start == RowStart::Plain);
        let begins = first.map_or(0, |s| s.links);
        let counted = usize::from(matches!(row.start, RowStart::ChainCounts(_)));
        let mut met: Vec<BorderPlace> =
            places.iter().filter(|p| p.links == 0 || p.corner).skip(counted).copied().collect();
        if closing {
            let corner = *met.first().filter(|p| p.corner && counted == 0)?;
            met[0].corner = false;
            met.push(corner);
        }
        let (mut kind, mut corner) = (None, None);
        let mut at = counted + usize::from(begins > 0);
        for (k, place) in met.iter().enumerate() {
            let here = |s: &&&Stitch| match piece.legs(s) {
                [leg] => leg.place == place.place && leg.taken == LoopTaken::Both,
                legs => legs.is_empty() && s.kind == StitchKind::Chain,
            };
            // A space taken link by link is several places in one.
            let more = met[k + 1..].iter().take_while(|p| p.place == place.place).count();
            let group = all[at.min(all.len())..].iter().take_while(here).count();
            let n = if place.corner { group.checked_sub(more)? } else { 1 };
            let own = all.get(at..at + n).filter(|_| (1..=group).contains(&n))?;
            at += n;
            let parts: Vec<(StitchKind, u16)> = own.iter().map(|s| (s.kind, s.links)).collect();
            if place.corner {
                if *corner.get_or_insert_with(|| parts.clone()) != parts {
                    return None;
                }
            } else if *kind.get_or_insert(parts[0].0) != parts[0].0 {
                return None;
            }
        }
        let kind = kind.filter(|_| at == all.len())?;
        let corner = corner.unwrap_or_default();
        let plain = matches!(corner[..], [(one, _)] if one == kind);
        let corner = if plain { Vec::new() } else { corner };
        Some(Self { kind, begins, closing, corner })
    }

    /// "3 sc", "(sc, ch 2, sc)".
    fn corner_words(&self, names: &Names<'_>) -> Option<String> {
        let &(first, _) = self.corner.first()?;
        let part = |&(kind, links): &(StitchKind, u16)| match kind {
            StitchKind::Chain => format!("ch {links}"),
            kind => names.stitch(kind, true),
        };
        let parts: Vec<String> = self.corner.iter().map(part).collect();
        let alike = self.corner.iter().all(|c| c.0 == first && first != StitchKind::Chain);
        Some(if alike {
            format!("{} {}", parts.len(), parts[0])
        } else {
            format!("({})", parts.join(", "))
        })
    }
}

/// "log 2": the strip, itself picked up round a piece, on whose end row `end` lies and `row` is picked up.
fn strip(piece: &Piece, end: RowId, row: &PieceRow) -> Option<String> {
    let section = piece.rows.get(end.0 as usize)?.section;
    let mut own = piece.rows.iter().filter(|r| r.section == section);
    let name = piece.sections.get(usize::from(section))?.to_lowercase();
    let numbered = name.starts_with("log ") || name.starts_with("strip ");
    (numbered && section != row.section && own.any(|r| r.label == "pick up")).then_some(name)
}

/// "pick up and k 60 sts along left side edge": a row whose loops are an edge's; they go on with `live`
/// ones still on the needle. One loop alone is the end of the work before, and no side of it.
pub(super) fn picked(piece: &Piece, row: &PieceRow, live: usize, names: &Names<'_>) -> String {
    let edge = |l: &Anchor| match l.place {
        Place::RowEnd { row: end, left, .. } => match strip(piece, end, row) {
            Some(strip) => format!("side edge of {strip}"),
            None => format!("{} side edge", if left { "left" } else { "right" }),
        },
        Place::Underside(_) => "cast-on edge".to_owned(),
        _ => "top edge".to_owned(),
    };
    // An edge picked up in stretches is gone along anew for each of them.
    let at = |l: &Anchor| match l.place {
        Place::RowEnd { row, nth, .. } => (row.0, u32::from(nth)),
        Place::Underside(id) | Place::Top(id) => (id.0, 0),
        _ => (0, 0),
    };
    let mut runs: Vec<(String, u32)> = Vec::new();
    let (mut last, mut way) = (None, None);
    for leg in legs(piece, row) {
        let step = last.map(|l| at(leg).0.cmp(&at(l).0)).filter(|s| s.is_ne());
        let same = runs.last().is_some_and(|r| r.0 == edge(leg));
        if same && (way.is_none() || step.is_none() || way == step) {
            runs.last_mut().into_iter().for_each(|r| r.1 += 1);
            way = way.or(step);
        } else {
            runs.push((edge(leg), 1));
            way = None;
        }
        last = Some(leg);
    }
    let kind = piece.row_stitches(row).next().map(|(_, s)| s.kind);
    let name = kind.map(|k| names.stitch(k, true)).unwrap_or_default();
    let part = |(edge, n): &(String, u32)| match piece.craft {
        Craft::Knit => format!("pick up and k {n} sts along {edge}"),
        Craft::Crochet => format!("work {n} {name} evenly along {edge}"),
    };
    let text = runs.iter().map(part).collect::<Vec<_>>().join(", ");
    if piece.craft == Craft::Knit && live < 2 { text + " with RS facing" } else { text }
}
