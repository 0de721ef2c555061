//! Which stitches move a figure: its exact derivative with respect to every stitch's size, by the
//! adjoint of the equilibrium.
//!
//! At equilibrium the net forces `g(x, p)` vanish, so a change of the sizes `p` moves the nodes by
//! `-H⁻¹ ∂g/∂p`, and a figure `J(x)` by `-λ·∂g/∂p` with `H λ = ∂J/∂x`: one solve for all stitches.
//! `λ·g` is a sum over elements, each of which knows the sizes of a few neighbouring stitches of its row,
//! so its change with them is taken by central differences for stitches far apart at once.

use std::collections::BTreeMap;

use super::aim::Aim;
use super::rows::fabric_rows;
use crate::fabric::CellTag;
use crate::fabric::Fabric;
use crate::fabric::Sizes;
use crate::fabric::StitchSize;
use crate::material::Hand;
use crate::measure::copies_in_words;
use crate::measure::row_label;
use crate::mechanics::Solver;
use crate::predict::Run;
use crate::stitches::Piece;
use crate::stitches::StitchId;

/// Stitches of a row that are changed at once lie so far apart; no cell reaches half as far.
const APART: usize = 12;

/// Relative change of a size in the differences.
const CHANGE: f64 = 1e-5;

/// Why there is no derivative.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoDerivative {
    /// Its equilibrium is a saddle, or lies on the border of one.
    #[error("the piece does not lie stably, so a small change may move it anywhere")]
    Unstable,
    /// It has no two row ends.
    #[error("the piece has no two rows with ends, so it has no edges")]
    NoEdges,
    /// The mesh was refused.
    #[error("{0}")]
    Body(String),
}

/// What a row does to a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct RowEffect {
    /// Index in `Piece::rows`.
    pub row: u32,
    /// In the pattern's words.
    pub label: String,
    /// Change of the figure when all stitches of the row get 1 % wider, 1 % taller, and lean 1 % of their
    /// width more in the working direction.
    pub effect: [f64; 3],
}

/// A figure traced to its stitches.
#[derive(Debug, Clone, PartialEq)]
pub struct Attribution {
    /// The figure.
    pub aim: Aim,
    /// Its value, mm or degrees.
    pub value: f64,
    /// Its derivative with respect to every stitch's width, height and lean, per m of it.
    pub stitches: Vec<[f64; 3]>,
    /// Rows, strongest first.
    pub rows: Vec<RowEffect>,
    /// The rows of the repeat that the edges show, strongest first, each with all its copies changed
    /// alike; empty when no repeat shows.
    pub repeat: Vec<RowEffect>,
    /// For every cell of the strain map: change of the figure when its stitch gets 1 % taller.
    pub cells: Vec<f64>,
}

/// Sizes of every stitch of `run`, as its even hand works them.
pub fn sizes(run: &Run) -> Option<Sizes> {
    let hand = Hand::new(run.hand, run.seed, run.piece.rows.len() as u32).ok()?;
    Some(Sizes::new(&run.piece, &run.material, &hand))
}

/// Traces `aim` to the stitches of a laid piece.
///
/// # Errors
/// [`NoDerivative`].
pub fn attribute(run: &Run, aim: Aim) -> Result<Attribution, NoDerivative> {
    let x = &run.laid.shape.positions;
    let value = aim.value(&run.fabric, x).ok_or(NoDerivative::NoEdges)?;
    let pull = aim.gradient(&run.fabric, x).ok_or(NoDerivative::NoEdges)?;
    let body = |e: crate::mechanics::BadBody| NoDerivative::Body(e.to_string());
    let mut solver = Solver::<2>::new(&run.fabric.body).map_err(body)?;
    if !solver.hold_tangent(x) {
        return Err(NoDerivative::Unstable);
    }
    let adjoint = solver.respond(x, &pull);
    let sizes = sizes(run).ok_or(NoDerivative::NoEdges)?;
    let tags = tags(&run.fabric);
    let places = places(&run.piece);
    let mut stitches = vec![[0.0; 3]; run.piece.stitches.len()];
    for which in [0, 1, 2] {
        for class in 0..APART {
            let chosen = |i: usize| places[i].1 % APART == class;
            let mut work = |sign: f64| {
                let changed = changed(&sizes, which, sign, &chosen);
                let fabric = Fabric::new(&run.piece, &changed);
                solver.set_rest(&fabric.body).map_err(body)?;
                Ok(solver.work(x, &adjoint))
            };
            let (more, less) = (work(1.0)?, work(-1.0)?);
            for ((tag, more), less) in tags.iter().zip(more).zip(less) {
                let Some(stitch) = tag.and_then(|t| nearest(&run.piece, &places, t, class)) else {
                    continue;
                };
                let step = 2.0 * change(sizes.stitches[stitch], which);
                stitches[stitch][which] -= (more - less) / step;
            }
        }
    }
    let rows = rows(&run.piece, &sizes, &stitches);
    let fabric = &run.fabric;
    let cell_tags = fabric.quad_tags.iter().chain(&fabric.wedge_tags).chain(&fabric.polygon_tags);
    let of = |tag: &CellTag| {
        let i = tag.stitch.0 as usize;
        0.01 * sizes.stitches[i].height * stitches[i][1]
    };
    let cells = cell_tags.map(of).collect();
    let repeat = repeat(run, &rows);
    Ok(Attribution { aim, value, stitches, rows, repeat, cells })
}

/// How much one size is changed, m; leans by a share of the width, as they may be zero.
fn change(size: StitchSize, which: usize) -> f64 {
    CHANGE * if which == 1 { size.height } else { size.width }
}

fn changed(sizes: &Sizes, which: usize, sign: f64, chosen: &dyn Fn(usize) -> bool) -> Sizes {
    let mut sizes = sizes.clone();
    for (_, size) in sizes.stitches.iter_mut().enumerate().filter(|(i, _)| chosen(*i)) {
        let by = sign * change(*size, which);
        match which {
            0 => size.width += by,
            1 => size.height += by,
            _ => size.lean += by,
        }
    }
    sizes
}

/// Row and place in the row of every stitch.
fn places(piece: &Piece) -> Vec<(usize, usize)> {
    let mut places = vec![(0, 0); piece.stitches.len()];
    for (r, row) in piece.rows.iter().enumerate() {
        for (k, i) in (row.stitches.0..row.stitches.1).enumerate() {
            places[i as usize] = (r, k);
        }
    }
    places
}

/// The changed stitch of the tag's row that is nearest to the tag's stitch.
fn nearest(piece: &Piece, places: &[(usize, usize)], tag: StitchId, class: usize) -> Option<usize> {
    let (row, k) = places[tag.0 as usize];
    let (first, end) = piece.rows[row].stitches;
    let n = (end - first) as usize;
    let least = k.saturating_sub(APART);
    let near = (least..(k + APART).min(n)).filter(|c| c % APART == class);
    near.min_by_key(|c| c.abs_diff(k)).map(|c| first as usize + c)
}

/// Stitch of every element, in the solver's order: a cell's own, and for a strand that of the cell
/// beside it.
fn tags(fabric: &Fabric) -> Vec<Option<StitchId>> {
    let body = &fabric.body;
    let mut beside: Vec<Vec<(&[u32], StitchId)>> = vec![Vec::new(); body.nodes];
    let cells = (body.quads.iter().map(|q| &q.nodes[..]).zip(&fabric.quad_tags))
        .chain(body.wedges.iter().map(|w| &w.nodes[..]).zip(&fabric.wedge_tags))
        .chain(body.polygons.iter().map(|p| &p.nodes[..]).zip(&fabric.polygon_tags));
    for (nodes, tag) in cells {
        for node in nodes {
            beside[*node as usize].push((nodes, tag.stitch));
        }
    }
    let of_strand = |s: &crate::mechanics::Strand| {
        let [a, b] = s.nodes;
        beside[a as usize].iter().find(|(nodes, _)| nodes.contains(&b)).map(|c| c.1)
    };
    let stitch = |tag: &CellTag| Some(tag.stitch);
    (fabric.quad_tags.iter().map(stitch))
        .chain(fabric.polygon_tags.iter().map(stitch))
        .chain(fabric.wedge_tags.iter().map(stitch))
        .chain(body.strands.iter().map(of_strand))
        .chain(body.bends.iter().map(|_| None))
        .collect()
}

fn rows(piece: &Piece, sizes: &Sizes, stitches: &[[f64; 3]]) -> Vec<RowEffect> {
    let effect = |row: usize| {
        let (from, end) = piece.rows[row].stitches;
        (from as usize..end as usize).fold([0.0; 3], |sum, i| {
            let s = sizes.stitches[i];
            let by = [s.width, s.height, s.width];
            [0, 1, 2].map(|k| sum[k] + 0.01 * by[k] * stitches[i][k])
        })
    };
    let mut rows: Vec<RowEffect> = fabric_rows(piece)
        .map(|(row, _)| RowEffect {
            row: row as u32,
            label: row_label(piece, row as u32),
            effect: effect(row),
        })
        .collect();
    strongest_first(&mut rows);
    rows
}

fn strongest_first(rows: &mut [RowEffect]) {
    let size = |r: &RowEffect| r.effect[0].abs().max(r.effect[1].abs());
    rows.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.row.cmp(&b.row)));
}

/// Effects of the rows of one section added up by their place in the repeat.
fn repeat(run: &Run, rows: &[RowEffect]) -> Vec<RowEffect> {
    let edges = &run.prediction.measured.edges;
    let Some(period) = edges.iter().find_map(|edge| edge.zigzag.map(|z| z.rows as usize)) else {
        return Vec::new();
    };
    let piece = &run.piece;
    let effects: BTreeMap<u32, [f64; 3]> = rows.iter().map(|r| (r.row, r.effect)).collect();
    let mut places: BTreeMap<(u16, usize), Vec<u32>> = BTreeMap::new();
    let mut before: BTreeMap<u16, usize> = BTreeMap::new();
    for row in effects.keys() {
        let section = piece.rows[*row as usize].section;
        let place = before.entry(section).or_default();
        places.entry((section, *place % period)).or_default().push(*row);
        *place += 1;
    }
    let label = |row: u32| row_label(piece, row);
    let mut repeat: Vec<RowEffect> = places
        .values()
        .filter(|copies| copies.len() > 1)
        .map(|copies| RowEffect {
            row: copies[0],
            label: copies_in_words(copies, Some(period), &label),
            effect: copies
                .iter()
                .fold([0.0; 3], |sum, row| [0, 1, 2].map(|k| sum[k] + effects[row][k])),
        })
        .collect();
    strongest_first(&mut repeat);
    repeat
}
