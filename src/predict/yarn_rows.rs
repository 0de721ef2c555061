//! What every row uses, in the order worked: copies of a part, tails and carried strands included.

use std::collections::BTreeMap;

use super::yarn;
use crate::fabric::worked;
use crate::material::Material;
use crate::material::Worked;
use crate::measure::row_label;
use crate::pattern::Item;
use crate::source::Source;
use crate::stitches::Piece;
use crate::units::Length;

/// One row worked once, or of a row in several colours what is worked in one of them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spent {
    pub(super) row: usize,
    pub(super) label: String,
    pub(super) section: usize,
    /// Which copy of its section, from 0.
    pub(super) copy: u32,
    pub(super) colour: usize,
    pub(super) count: u32,
    pub(super) stitches: Length,
    pub(super) ends: Length,
    /// Its yarn is joined in here.
    pub(super) joins: bool,
}

/// Copies to make of each section, by its name, where the page asks for more than one.
pub(super) fn copies(source: &Source) -> BTreeMap<String, u32> {
    let (pattern, _) = crate::pattern::parse(source);
    let several = pattern.items.into_iter().filter_map(|item| match item {
        Item::Section { name, copies, .. } if copies > 1 => Some((name, copies)),
        _ => None,
    });
    several.collect()
}

/// The walk through the piece. Cut yarn leaves a tail at either end of every stripe; carried yarn leaves
/// one at either end of the work and a strand up the edge past the rows of other colours. A stitch takes yarn in
/// proportion to its `size` against the gauge, as in [`yarn::by_colour`].
pub(super) fn spent(
    piece: &Piece,
    material: &Material,
    copies: &BTreeMap<String, u32>,
    carried: bool,
    size: f64,
) -> Vec<Spent> {
    let mut walk = stitches(piece, material, copies, size);
    let heights = heights(piece, material, size);
    let tail = material.yarn_tail();
    let mut last_use: Vec<Option<usize>> = vec![None; piece.colours.len().max(1)];
    for step in 0..walk.len() {
        let colour = walk[step].colour;
        let fresh = match last_use[colour] {
            None => true,
            // Copies are separate pieces: nothing is carried from one to the next.
            Some(before) => walk[before].copy != walk[step].copy,
        };
        // A yarn of the row before, or of this one, is at hand.
        let stripe_begins =
            last_use[colour].is_none_or(|before| walk[before].row + 1 < walk[step].row);
        if fresh || (stripe_begins && !carried) {
            walk[step].ends = tail * 2.0;
            walk[step].joins = true;
        } else if let (true, Some(before)) = (stripe_begins, last_use[colour]) {
            let passed = (walk[before].row + 1..walk[step].row).map(|row| heights[row]);
            walk[step].ends = passed.fold(Length::mm(0.0), |sum, h| sum + h);
        }
        last_use[colour] = Some(step);
    }
    walk
}

fn stitches(
    piece: &Piece,
    material: &Material,
    copies: &BTreeMap<String, u32>,
    size: f64,
) -> Vec<Spent> {
    let lengths = yarn::by_stitch(piece, material);
    let mut walk = Vec::new();
    let mut at = 0;
    while at < piece.rows.len() {
        let section = usize::from(piece.rows[at].section);
        let same = |row: &&crate::stitches::PieceRow| usize::from(row.section) == section;
        let end = at + piece.rows[at..].iter().take_while(same).count();
        let name = piece.sections.get(section).map_or("", String::as_str);
        let times = copies.get(name).copied().unwrap_or(1);
        for copy in 0..times {
            for (i, row) in piece.rows[at..end].iter().enumerate() {
                let label = row_label(piece, (at + i) as u32);
                let several = times > 1;
                let label = if several { format!("{label}, copy {}", copy + 1) } else { label };
                for (colour, count, stitches) in by_colour(piece, row, &lengths, material) {
                    walk.push(Spent {
                        row: at + i,
                        label: label.clone(),
                        section,
                        copy,
                        colour: usize::from(colour).min(piece.colours.len().saturating_sub(1)),
                        count,
                        stitches: stitches * size,
                        ends: Length::mm(0.0),
                        joins: false,
                    });
                }
            }
        }
        at = end;
    }
    walk
}

/// Colours of a row in the order it takes them up, each with its stitches and their yarn; the turning chain
/// is of the first.
fn by_colour(
    piece: &Piece,
    row: &crate::stitches::PieceRow,
    lengths: &[Length],
    material: &Material,
) -> Vec<(u16, u32, Length)> {
    let mut all = vec![(row.colour, 0, yarn::beside(row, material))];
    for (id, stitch) in piece.row_stitches(row) {
        let at = all.iter().position(|(colour, ..)| *colour == stitch.colour);
        let at = at.unwrap_or_else(|| {
            all.push((stitch.colour, 0, Length::mm(0.0)));
            all.len() - 1
        });
        all[at].1 += 1;
        all[at].2 = all[at].2 + lengths[id.0 as usize];
    }
    all
}

/// Mean height of each row's stitches.
fn heights(piece: &Piece, material: &Material, size: f64) -> Vec<Length> {
    let grounds: Vec<Worked> = worked(piece);
    let of_row = |row: &crate::stitches::PieceRow| {
        let own = &grounds[row.stitches.0 as usize..row.stitches.1 as usize];
        let sum = own.iter().fold(Length::mm(0.0), |sum, w| sum + material.height_of(*w));
        sum * size / own.len().max(1) as f64
    };
    piece.rows.iter().map(of_row).collect()
}
