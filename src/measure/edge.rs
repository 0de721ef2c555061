//! One long edge: straightness, slant, steps, and the rows that bend it.

use super::straightness::{Zone, least_squares, minimum_zone};
use super::{Bender, EdgePoint, EdgeShape, Zigzag};
use crate::units::Angle;
use crate::units::Length;

/// Steps lower than this are not called a zigzag, mm.
const LEAST_STEP: f64 = 0.3;

/// How many bending rows are named.
const NAMED: usize = 6;

/// A row end: the row it closes, that row's section, and where it lies, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RowEnd {
    pub(super) row: u32,
    pub(super) section: u16,
    pub(super) at: [f64; 2],
}

/// Measures an edge given by its row ends from the foundation up. `outward` is +1 for the right edge,
/// -1 for the left; `label` names a row in the pattern's words.
pub(super) fn shape(
    ends: &[RowEnd],
    outward: f64,
    label: &dyn Fn(u32) -> String,
) -> Option<EdgeShape> {
    let points: Vec<[f64; 2]> = ends.iter().map(|e| e.at).collect();
    let zone = upward(minimum_zone(&points)?);
    let (least_squares, _) = least_squares(&points)?;
    let start = zone.coordinates(points[0])[0];
    let local: Vec<[f64; 2]> = points
        .iter()
        .map(|&p| {
            let [along, left] = zone.coordinates(p);
            [along - start, -left * outward]
        })
        .collect();
    let curve = ends
        .iter()
        .zip(&local)
        .map(|(e, p)| EdgePoint { row: e.row, along: p[0], off: p[1] })
        .collect();
    let pushes: Vec<f64> = pushes(&local);
    let period = period(&pushes);
    let (first, last) = (points[0], points[points.len() - 1]);
    Some(EdgeShape {
        path_length: Length::mm(points.windows(2).map(|w| distance(w[0], w[1])).sum()),
        chord: Length::mm(distance(first, last)),
        slant: Angle::radians(zone.direction[0].atan2(zone.direction[1])),
        minimum_zone: Length::mm(zone.width),
        least_squares: Length::mm(least_squares),
        curve,
        zigzag: period.and_then(|p| zigzag(&local, p)),
        benders: benders(ends, &pushes, period, label),
    })
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// The same zone with its direction pointing up the rows.
fn upward(zone: Zone) -> Zone {
    let [x, y] = zone.direction;
    if y < 0.0 || (y == 0.0 && x < 0.0) { Zone { direction: [-x, -y], ..zone } } else { zone }
}

/// Sideways push of each row against the edge's mean direction from end to end, mm.
fn pushes(local: &[[f64; 2]]) -> Vec<f64> {
    let (first, last) = (local[0], local[local.len() - 1]);
    let rise = last[0] - first[0];
    let slope = if rise > 0.0 { (last[1] - first[1]) / rise } else { 0.0 };
    local.windows(2).map(|w| (w[1][1] - w[0][1]) - slope * (w[1][0] - w[0][0])).collect()
}

/// The shortest repeat of the pushes, in rows: at least three repeats agreeing to a tenth of their
/// spread, over the longest stretch a band at either end may leave (the middle three quarters).
fn period(pushes: &[f64]) -> Option<usize> {
    let n = pushes.len();
    let body = &pushes[n / 8..n - n / 8];
    let mean = body.iter().sum::<f64>() / body.len().max(1) as f64;
    let spread: f64 =
        body.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / body.len().max(1) as f64;
    if spread.sqrt() < LEAST_STEP / 10.0 {
        return None;
    }
    (2..=body.len() / 3).find(|&p| {
        let pairs = body.len() - p;
        let mismatch: f64 =
            (0..pairs).map(|i| (body[i + p] - body[i]).powi(2)).sum::<f64>() / pairs as f64;
        mismatch < 0.02 * spread
    })
}

/// Height and length of the steps: medians over whole periods of the local minimum zone.
fn zigzag(local: &[[f64; 2]], period: usize) -> Option<Zigzag> {
    let skip = local.len() / 8;
    let body = &local[skip..local.len() - skip];
    let mut heights = Vec::new();
    let mut lengths = Vec::new();
    let mut at = 0;
    while at + period < body.len() {
        let piece = &body[at..=at + period];
        heights.push(minimum_zone(piece)?.width);
        lengths.push(distance(piece[0], piece[period]));
        at += period;
    }
    let height = median(&mut heights)?;
    (height >= LEAST_STEP).then_some(Zigzag {
        height: Length::mm(height),
        period: Length::mm(median(&mut lengths)?),
        rows: period as u32,
    })
}

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let mid = values.len() / 2;
    let (_, &mut m, _) = values.select_nth_unstable_by(mid, f64::total_cmp);
    Some(m)
}

/// Rows by their sideways push, the rows of a repeat taken together, strongest first.
fn benders(
    ends: &[RowEnd],
    pushes: &[f64],
    period: Option<usize>,
    label: &dyn Fn(u32) -> String,
) -> Vec<Bender> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    match period {
        None => groups.extend((0..pushes.len()).map(|i| vec![i])),
        Some(p) => {
            let mut classes: Vec<Vec<usize>> = vec![Vec::new(); p];
            let scale = pushes.iter().map(|v| v.abs()).fold(0.0, f64::max);
            for i in 0..pushes.len() {
                let class = &mut classes[i % p];
                let alike = class.last().is_none_or(|&j| {
                    i - j == p
                        && ends[i + 1].section == ends[j + 1].section
                        && (pushes[i] - pushes[j]).abs() < 0.2 * scale
                });
                if alike {
                    class.push(i);
                } else {
                    groups.push(std::mem::replace(class, vec![i]));
                }
            }
            groups.append(&mut classes);
        }
    }
    let mut benders: Vec<Bender> = groups
        .into_iter()
        .filter(|g| !g.is_empty())
        .map(|g| {
            let push = g.iter().map(|&i| pushes[i]).sum::<f64>() / g.len() as f64;
            let rows: Vec<u32> = g.iter().map(|&i| ends[i + 1].row).collect();
            Bender {
                rows: copies_in_words(&rows, period, label),
                indices: rows,
                push: Length::mm(push),
            }
        })
        .collect();
    benders.sort_by(|a, b| {
        let total = |x: &Bender| x.push.to_mm().abs() * (x.indices.len() as f64).sqrt();
        total(b).total_cmp(&total(a)).then(a.indices.cmp(&b.indices))
    });
    benders.retain(|b| b.push.to_mm().abs() > LEAST_STEP / 3.0);
    benders.truncate(NAMED);
    benders
}

/// Rows that are copies of one another: the first by its label, and how the others follow it.
pub fn copies_in_words(
    rows: &[u32],
    period: Option<usize>,
    label: &dyn Fn(u32) -> String,
) -> String {
    let first = label(rows[0]);
    match (rows.len(), period) {
        (1, _) => first,
        (n, Some(p)) => format!("{first} and every {} row after it, {n} in all", ordinal(p)),
        (n, None) => format!("{first} and {} others", n - 1),
    }
}

fn ordinal(n: usize) -> String {
    let suffix = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{suffix}")
}
