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

use std::f64::consts::PI;

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

/// Blister lengths tried, evenly in their logarithm.
const LENGTHS: usize = 48;

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
    /// From row to row.
    Rows(RowId, RowId),
    /// Columns between two shares of the width, from the left edge.
    Columns(f64, f64),
}

/// Sums over the cells of a row, or of a lane up the columns.
#[derive(Debug, Clone, Copy, Default)]
struct Line {
    area: f64,
    breadth: f64,
    /// Times area: squeeze along the line, modulus under squeeze, bending rigidity, shear modulus.
    sums: [f64; 4],
}

/// Where a piece laid flat would rise off a table, by rows and by columns.
pub fn over_fed(fabric: &Fabric, laid: &Laid, space: &InSpace) -> Vec<OverFed> {
    let cells = cells(fabric, laid, space);
    let area: f64 = cells.iter().map(|c| c.area).sum();
    let weight = G * space.masses.iter().sum::<f64>() / area.max(f64::MIN_POSITIVE);
    let shortest = SHORTEST * (area / cells.len().max(1) as f64).sqrt();
    let mut rows = vec![Line::default(); fabric.row_paths.len()];
    let mut lanes = vec![Line::default(); LANES];
    for cell in &cells {
        rows[cell.tag.row.0 as usize].take(cell, 0);
        if let Some(share) = cell.share {
            lanes[((share * LANES as f64) as usize).min(LANES - 1)].take(cell, 1);
        }
    }
    let wide = |path: &Vec<u32>| {
        let at = |n: u32| laid.shape.positions[n as usize];
        path.windows(2).map(|w| apart(at(w[0]), at(w[1]))).sum::<f64>()
    };
    let widths: Vec<f64> = fabric.row_paths.iter().map(wide).collect();
    for (line, width) in rows.iter_mut().zip(&widths) {
        line.breadth = if *width > 0.0 { line.area / width } else { 0.0 };
    }
    let width = widths.iter().fold(0.0_f64, |m, w| m.max(*w));
    lanes.iter_mut().for_each(|line| line.breadth = width / LANES as f64);
    let lane = |k: usize| k as f64 / LANES as f64;
    let by_rows = bands(&rows, weight, shortest).into_iter().map(|(from, to, spare, blister)| {
        OverFed { at: Place::Rows(RowId(from as u32), RowId(to as u32)), spare, blister }
    });
    let by_lanes = bands(&lanes, weight, shortest).into_iter().map(|(from, to, spare, blister)| {
        OverFed { at: Place::Columns(lane(from), lane(to + 1)), spare, blister }
    });
    by_rows.chain(by_lanes).collect()
}

fn apart(p: [f64; 2], q: [f64; 2]) -> f64 {
    (q[0] - p[0]).hypot(q[1] - p[1])
}

impl Line {
    fn take(&mut self, cell: &Squeezed, axis: usize) {
        self.area += cell.area;
        let own = [-cell.tension[axis], cell.modulus[axis], cell.bending[axis], cell.shear];
        self.sums.iter_mut().zip(own).for_each(|(sum, own)| *sum += own * cell.area);
    }

    fn length(&self) -> f64 {
        if self.breadth > 0.0 { self.area / self.breadth } else { 0.0 }
    }
}

/// Runs of neighbouring lines about which some blister pays: first, last, length to spare, blister.
///
/// A blister is taken to be at least half as broad as it is long, so the squeeze that feeds it is the mean
/// over so many lines; on an edge, over half of that. Beyond either end it draws length from as far as its
/// neighbours give way in shear: a band of breadth `b` between neighbours that stay, `b √(C/G)` (shear lag,
/// plane elasticity).
fn bands(lines: &[Line], weight: f64, shortest: f64) -> Vec<(usize, usize, f64, Blister)> {
    let spare = |k: usize| {
        let [squeeze, modulus, ..] = lines[k].sums;
        if squeeze > 0.0 { squeeze / modulus * lines[k].length() } else { 0.0 }
    };
    let mut found: Vec<(usize, usize, f64, Blister)> = Vec::new();
    let mut k = 0;
    while k < lines.len() {
        let Some(mut lowest) = best(lines, k, weight, shortest) else {
            k += 1;
            continue;
        };
        let (mut from, mut to) = (k, k);
        while let Some(blister) =
            (to + 1 < lines.len()).then(|| best(lines, to + 1, weight, shortest)).flatten()
        {
            to += 1;
            if blister.energy < lowest.energy {
                lowest = blister;
            }
        }
        // Beside lines that stay, one with as much to spare may be no middle of a blister; it is part of one.
        let least = (from..=to).map(spare).fold(f64::INFINITY, f64::min).max(f64::MIN_POSITIVE);
        let before = found.last().map_or(0, |run| run.1 + 1);
        while from > before && spare(from - 1) >= least {
            from -= 1;
        }
        while to + 1 < lines.len() && spare(to + 1) >= least {
            to += 1;
        }
        found.push((from, to, (from..=to).map(spare).fold(0.0, f64::max), lowest));
        k = to + 1;
    }
    found
}

fn best(lines: &[Line], at: usize, weight: f64, shortest: f64) -> Option<Blister> {
    let longest = lines[at].length();
    if longest <= shortest || lines[at].sums[0] <= 0.0 {
        return None;
    }
    let ratio = (longest / shortest).powf(1.0 / LENGTHS as f64);
    let tried = (0..=LENGTHS).map(|i| shortest * ratio.powi(i as i32));
    // Lower than a stitch is wide it is lost in the thickness of the fabric.
    let seen = |blister: &Blister| blister.height > shortest / SHORTEST;
    let blisters = tried.filter_map(|l| {
        let around = about(lines, at, l / 4.0);
        let [squeeze, modulus, bending, shear] = around.sums.map(|s| s / around.area);
        let length = longest.min(l + l * (modulus / shear).sqrt());
        Strip { length, squeeze, modulus, bending, weight }.blister(l).filter(seen)
    });
    blisters.min_by(|a, b| a.energy.total_cmp(&b.energy))
}

/// Sums over what lies within `reach` (m) of the middle of line `at`.
fn about(lines: &[Line], at: usize, reach: f64) -> Line {
    let mut sum = Line::default();
    let half = lines[at].breadth / 2.0;
    let mut take = |line: &Line, near: f64| {
        let share = ((reach - near) / line.breadth.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        sum.area += share * line.area;
        sum.sums.iter_mut().zip(line.sums).for_each(|(sum, own)| *sum += share * own);
        near + line.breadth
    };
    // A line in two halves, then those on either side, nearest first.
    let own =
        Line { area: 0.5 * lines[at].area, breadth: half, sums: lines[at].sums.map(|s| 0.5 * s) };
    for _ in 0..2 {
        take(&own, 0.0);
    }
    lines[at + 1..].iter().try_fold(half, |near, l| (near < reach).then(|| take(l, near)));
    lines[..at].iter().rev().try_fold(half, |near, l| (near < reach).then(|| take(l, near)));
    sum
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
