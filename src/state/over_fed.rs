//! Fabric longer than the piece lets it lie: whether it would rise off a table against its weight.
//!
//! A strip squeezed by `N` (N/m), free over its length `L`, may rise in a blister of length `l` and height `a`,
//! `z = a/2 (1 - cos 2πx/l)`. Per width, the blister takes `π²a²/(4l)` of the strip's length, so the squeeze
//! does the work `N π²a²/(4l)` less `C π⁴a⁴/(32 l² L)` as it gives way (`C` the modulus under squeeze, N/m);
//! bending stores `B π⁴a²/l³` (`B` in N m) and the weight `p` (N/m²) is lifted by `p a l/2`:
//!
//! `U(a) = -(N π²/(4l) - B π⁴/l³) a² + C π⁴/(32 l² L) a⁴ + (p l/2) a`
//!
//! (beam theory and plane geometry). Small blisters never pay, since the weight alone counts for them: a heavy
//! flat sheet is stable against small moves, and rises only where some `l` makes `U` negative at its least.

mod grid;

use std::f64::consts::PI;

use self::grid::{Grid, Sums};
use super::hung::{G, InSpace};
use super::laid::Laid;
use crate::fabric::CellTag;
use crate::fabric::Fabric;
use crate::mechanics::Law;
use crate::mechanics::signed_area;
use crate::stitches::RowId;

/// Strips the width of the piece is cut into to look for lengths to spare up the columns.
const LANES: usize = 32;

/// Stitches that the shortest blister spans.
const SHORTEST: f64 = 6.0;

/// Blister lengths tried, evenly in their logarithm, and places tried in its own length.
const LENGTHS: usize = 48;
const OVERLAP: f64 = 3.0;

/// A strip of fabric, its figures per width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Length that is free to move along it, m.
    pub length: f64,
    /// Squeeze along it, N/m.
    pub squeeze: f64,
    /// Modulus under squeeze, N/m.
    pub modulus: f64,
    /// Bending rigidity, N m.
    pub bending: f64,
    /// Weight, N/m².
    pub weight: f64,
}

/// How a strip rises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blister {
    /// Length, m.
    pub length: f64,
    /// Height, m.
    pub height: f64,
    /// Energy per width against the flat strip, J/m; negative.
    pub energy: f64,
}

impl Strip {
    /// Energy (J/m) of a blister of that length and height (m) against the flat strip.
    pub fn energy(&self, length: f64, height: f64) -> f64 {
        let [gain, stiffening, lift] = self.terms(length);
        ((stiffening * height * height - gain) * height + lift) * height
    }

    fn terms(&self, l: f64) -> [f64; 3] {
        let gain = self.squeeze * PI.powi(2) / (4.0 * l) - self.bending * PI.powi(4) / l.powi(3);
        let stiffening = self.modulus * PI.powi(4) / (32.0 * l * l * self.length);
        [gain, stiffening, self.weight * l / 2.0]
    }

    /// The blister of length `l` (m) at the height of least energy, if it has less than the flat strip.
    pub fn blister(&self, l: f64) -> Option<Blister> {
        let [gain, stiffening, lift] = self.terms(l);
        if gain <= 0.0 || stiffening <= 0.0 {
            return None;
        }
        // Too heavy for any height.
        if lift * lift * 27.0 * stiffening >= 4.0 * gain.powi(3) {
            return None;
        }
        // Without weight the least energy is at this height; with it, Newton's method goes down from there.
        let mut height = (gain / (2.0 * stiffening)).sqrt();
        for _ in 0..40 {
            let slope = 4.0 * stiffening * height.powi(3) - 2.0 * gain * height + lift;
            let bend = 12.0 * stiffening * height * height - 2.0 * gain;
            if bend <= 0.0 {
                return None;
            }
            height -= slope / bend;
        }
        let energy = self.energy(l, height);
        (height > 0.0 && energy < 0.0).then_some(Blister { length: l, height, energy })
    }
}

/// Neighbouring rows, or columns of one part of the width, that would rise off a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverFed {
    /// Where.
    pub at: Place,
    /// Length (m) that the longest-fed of them has to spare against the length it lies in.
    pub spare: f64,
    /// The blister of least energy.
    pub blister: Blister,
}

/// Rows, or part of the width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// From row to row; between two shares of their lengths from the left edge, if not all along.
    Rows(RowId, RowId, Option<[f64; 2]>),
    /// Columns between two shares of the width, from the left edge; between two rows, if not all along.
    Columns([f64; 2], Option<[RowId; 2]>),
}

/// Where a piece laid flat would rise off a table, by rows and by columns.
pub fn over_fed(fabric: &Fabric, laid: &Laid, space: &InSpace) -> Vec<OverFed> {
    let mut cells = cells(fabric, laid, space);
    let area: f64 = cells.iter().map(|c| c.area).sum();
    let weight = G * space.masses.iter().sum::<f64>() / area.max(f64::MIN_POSITIVE);
    let shortest = SHORTEST * (area / cells.len().max(1) as f64).sqrt();
    // Rows of blocks run aslant and have neither a length nor a breadth of their own. Their blocks are squares
    // alike: what length there is to spare is the border's.
    let aslant = fabric.lines.iter().flatten().max().copied();
    cells.retain(|c| aslant.is_none_or(|last| c.tag.row > last));
    let wide = |path: &Vec<u32>| {
        let at = |n: u32| laid.shape.positions[n as usize];
        path.windows(2).map(|w| apart(at(w[0]), at(w[1]))).sum::<f64>()
    };
    let widths: Vec<f64> = fabric.row_paths.iter().map(wide).collect();
    let mut breadths = vec![0.0; widths.len()];
    for cell in &cells {
        let row = cell.tag.row.0 as usize;
        if widths[row] > 0.0 {
            breadths[row] += cell.area / widths[row];
        }
    }
    let edges = edges(fabric, laid, &breadths, aslant);
    let of_row = |c: &Squeezed| (c.tag.row.0 as usize, c.share.unwrap_or(0.5), c.sums(0));
    let along = edges.iter().filter(|e| !e.up).map(|e| (e.row, e.share, e.sums));
    let rows = Grid::new(&breadths, cells.iter().map(of_row).chain(along));
    let up: Vec<f64> = (0..rows.lines()).map(|row| rows.share(row)).collect();
    let lane = |share: f64| ((share * LANES as f64) as usize).min(LANES - 1);
    let of_lane = |c: &Squeezed| c.share.map(|s| (lane(s), up[c.tag.row.0 as usize], c.sums(1)));
    let ends = edges.iter().filter(|e| e.up).map(|e| (lane(e.share), up[e.row], e.sums));
    let width = widths.iter().fold(0.0_f64, |m, w| m.max(*w));
    let lanes =
        Grid::new(&[width / LANES as f64; LANES], cells.iter().filter_map(of_lane).chain(ends));
    let row = |share: f64| RowId(up.partition_point(|u| *u < share).min(up.len() - 1) as u32);
    let by_rows = patches(&rows, weight, shortest).into_iter().map(|p| {
        let at = Place::Rows(RowId(p.from as u32), RowId(p.to as u32), p.part());
        OverFed { at, spare: p.spare, blister: p.lowest }
    });
    let by_lanes = patches(&lanes, weight, shortest).into_iter().map(|p| {
        let wide = [p.from, p.to + 1].map(|k| k as f64 / LANES as f64);
        let at = Place::Columns(wide, p.part().map(|part| part.map(row)));
        OverFed { at, spare: p.spare, blister: p.lowest }
    });
    by_rows.chain(by_lanes).collect()
}

fn apart(p: [f64; 2], q: [f64; 2]) -> f64 {
    (q[0] - p[0]).hypot(q[1] - p[1])
}

/// Part of a line where blisters pay: shares of its length, and the best of them.
#[derive(Debug, Clone, Copy)]
struct Span {
    span: [f64; 2],
    lowest: Blister,
}

/// Spans of neighbouring lines that lie side by side.
#[derive(Debug, Clone, Copy)]
struct Patch {
    from: usize,
    to: usize,
    span: [f64; 2],
    lowest: Blister,
    /// Most length (m) that a line of it has to spare within the span.
    spare: f64,
}

impl Patch {
    /// The span, where it is not about all of the lines.
    fn part(&self) -> Option<[f64; 2]> {
        (self.span != ALL).then_some(self.span)
    }

    /// True if `span` of the line `at` lies beside it.
    fn meets(&self, at: usize, span: [f64; 2]) -> bool {
        self.to + 1 >= at && self.span[0] < span[1] && span[0] < self.span[1]
    }

    fn join(&mut self, other: &Self) {
        (self.from, self.to) = (self.from.min(other.from), self.to.max(other.to));
        self.span = hull(self.span, other.span);
        if other.lowest.energy < self.lowest.energy {
            self.lowest = other.lowest;
        }
    }
}

const ALL: [f64; 2] = [0.0, 1.0];

/// Share of a line from which on blisters that pay are said to pay all along it.
const NEARLY: f64 = 0.75;

fn hull(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0].min(b[0]), a[1].max(b[1])]
}

/// Parts of neighbouring lines in which some blister pays.
fn patches(lines: &Grid, weight: f64, shortest: f64) -> Vec<Patch> {
    let spare = |k: usize, span: [f64; 2]| {
        let [squeeze, modulus, ..] = lines.of(k, span).means();
        let long = (span[1] - span[0]) * lines.length(k);
        if squeeze > 0.0 { squeeze / modulus * long } else { 0.0 }
    };
    let mut found: Vec<Patch> = Vec::new();
    for k in 0..lines.lines() {
        for Span { span, lowest } in spans(lines, k, weight, shortest) {
            let mut own = Patch { from: k, to: k, span, lowest, spare: 0.0 };
            found.retain(|patch| {
                let apart = !patch.meets(k, span);
                if !apart {
                    own.join(patch);
                }
                apart
            });
            found.push(own);
        }
    }
    for patch in &mut found {
        if patch.span[1] - patch.span[0] > NEARLY {
            patch.span = ALL;
        }
        // Beside lines that stay, one with as much to spare may be no middle of a blister; it is part of one.
        let own = |patch: &Patch| {
            (patch.from..=patch.to).map(|k| spare(k, patch.span)).collect::<Vec<_>>()
        };
        let all = own(patch);
        let least = all.iter().copied().fold(f64::INFINITY, f64::min).max(f64::MIN_POSITIVE);
        while patch.from > 0 && spare(patch.from - 1, patch.span) >= least {
            patch.from -= 1;
        }
        while patch.to + 1 < lines.lines() && spare(patch.to + 1, patch.span) >= least {
            patch.to += 1;
        }
        patch.spare = own(patch).into_iter().fold(0.0, f64::max);
    }
    found.sort_by(|a, b| (a.from, a.to).cmp(&(b.from, b.to)).then(a.span[0].total_cmp(&b.span[0])));
    found
}

/// Parts of a line about which some blister pays.
///
/// A blister is taken to be at least half as broad as it is long, so the squeeze that feeds it is the mean
/// over so many lines; on an edge, over half of that. Beyond either end it draws length from as far as its
/// neighbours give way in shear: a band of breadth `b` between neighbours that stay, `b √(C/G)` (shear lag,
/// plane elasticity).
fn spans(lines: &Grid, at: usize, weight: f64, shortest: f64) -> Vec<Span> {
    let longest = lines.length(at);
    if longest <= shortest {
        return Vec::new();
    }
    let middle = lines.middle(at);
    let ratio = (longest / shortest).powf(1.0 / LENGTHS as f64);
    let mut found: Vec<Span> = Vec::new();
    for l in (0..=LENGTHS).map(|i| shortest * ratio.powi(i as i32)) {
        let share = (l / longest).min(1.0);
        let moves = (OVERLAP * (1.0 - share) / share).ceil() as usize;
        for k in 0..=moves {
            let from = if moves == 0 { 0.0 } else { (1.0 - share) * k as f64 / moves as f64 };
            let span = [from, from + share];
            let around = lines.within([middle - l / 4.0, middle + l / 4.0], span);
            let [squeeze, modulus, bending, shear] = around.means();
            if squeeze <= 0.0 {
                continue;
            }
            let length = longest.min(l + l * (modulus / shear).sqrt());
            // Lower than a stitch is wide it is lost in the thickness of the fabric.
            let seen = |blister: &Blister| blister.height > shortest / SHORTEST;
            let strip = Strip { length, squeeze, modulus, bending, weight };
            found.extend(strip.blister(l).filter(seen).map(|lowest| Span { span, lowest }));
        }
    }
    found.sort_by(|a, b| a.span[0].total_cmp(&b.span[0]));
    let mut apart: Vec<Span> = Vec::new();
    for next in found {
        match apart.last_mut() {
            Some(last) if next.span[0] <= last.span[1] => {
                last.span = hull(last.span, next.span);
                if next.lowest.energy < last.lowest.energy {
                    last.lowest = next.lowest;
                }
            }
            _ => apart.push(next),
        }
    }
    apart
}

/// A strand of an edge: it lies beside a row or up the ends of the rows and bears its part of what lies there.
struct Edge {
    row: usize,
    /// Where along its row, from the left end.
    share: f64,
    /// Up the ends of the rows.
    up: bool,
    sums: Sums,
}

/// Foundation, bound-off edge and row ends. A tight one is pulled by what it squeezes: a blister of both has to
/// lengthen it.
fn edges(fabric: &Fabric, laid: &Laid, breadths: &[f64], aslant: Option<RowId>) -> Vec<Edge> {
    let mut at: Vec<Option<(usize, f64)>> = vec![None; fabric.body.nodes];
    for (row, path) in fabric.row_paths.iter().enumerate() {
        let last = path.len().saturating_sub(1).max(1) as f64;
        for (k, node) in path.iter().enumerate() {
            at[*node as usize].get_or_insert((row, 1.0 - k as f64 / last));
        }
    }
    let positions = &laid.shape.positions;
    let edge = |strand: &crate::mechanics::Strand| {
        let [a, b] = strand.nodes.map(|n| n as usize);
        let ((r, s), (q, t)) = (at[a]?, at[b]?);
        if aslant.is_some_and(|last| r.max(q) <= last.0 as usize) {
            return None;
        }
        let length = apart(positions[a], positions[b]);
        let pull = strand.stiffness * (length / strand.rest - 1.0);
        let sums = Sums([0.0, -pull * strand.rest, strand.stiffness * strand.rest, 0.0, 0.0]);
        // Where a row has no cells, as a foundation, its strands lie along the first row on it.
        let row = (r.max(q)..breadths.len()).find(|k| breadths[*k] > 0.0)?;
        Some(Edge { row, share: f64::midpoint(s, t), up: r != q, sums })
    };
    fabric.body.strands.iter().filter_map(edge).collect()
}

/// A cell of the laid piece.
struct Squeezed {
    tag: CellTag,
    area: f64,
    /// Tension along rows and columns, N/m.
    tension: [f64; 2],
    /// Moduli under squeeze, N/m.
    modulus: [f64; 2],
    bending: [f64; 2],
    shear: f64,
    /// Where it lies along its row, from the left end.
    share: Option<f64>,
}

impl Squeezed {
    fn sums(&self, axis: usize) -> Sums {
        let own = [1.0, -self.tension[axis], self.modulus[axis], self.bending[axis], self.shear];
        Sums(own.map(|own| own * self.area))
    }
}

fn cells(fabric: &Fabric, laid: &Laid, space: &InSpace) -> Vec<Squeezed> {
    let body = &fabric.body;
    let laws: Vec<(Law, [f64; 2])> = body
        .membranes
        .iter()
        .map(|m| (Law::new(m), [m.e1 * m.squeeze, m.e2 * m.squeeze]))
        .collect();
    let quads = body.quads.iter().map(|q| (&q.nodes[..], signed_area(&q.rest), q.membrane));
    let wedges = body.wedges.iter().map(|w| (&w.nodes[..], 0.5 * w.strand * w.height, w.membrane));
    let polygons = body.polygons.iter().map(|p| (&p.nodes[..], signed_area(&p.rest), p.membrane));
    let tags = fabric.quad_tags.iter().chain(&fabric.wedge_tags).chain(&fabric.polygon_tags);
    quads
        .chain(wedges)
        .chain(polygons)
        .zip(tags)
        .zip(&laid.shape.strains)
        .map(|(((nodes, area, membrane), tag), strain)| {
            let (law, modulus) = &laws[membrane as usize];
            Squeezed {
                tag: *tag,
                area,
                tension: law.tension([strain[0], strain[1]]).n,
                modulus: *modulus,
                bending: space.rigidity.bending[tag.stitch.0 as usize],
                shear: law.shear,
                share: share(fabric, &laid.shape.positions, nodes, tag.row),
            }
        })
        .collect()
}

/// Where the middle of a cell lies along its row, from the left end (0) to the right (1).
fn share(fabric: &Fabric, x: &[[f64; 2]], nodes: &[u32], row: RowId) -> Option<f64> {
    let [left, right] = fabric.row_ends[row.0 as usize]?.map(|n| x[n as usize]);
    let along = [right[0] - left[0], right[1] - left[1]];
    let square = along[0] * along[0] + along[1] * along[1];
    let n = nodes.len() as f64;
    let middle = [0, 1].map(|d| nodes.iter().map(|k| x[*k as usize][d]).sum::<f64>() / n - left[d]);
    (square > 0.0).then(|| ((middle[0] * along[0] + middle[1] * along[1]) / square).clamp(0.0, 1.0))
}
