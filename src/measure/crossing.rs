//! Where layers of a piece in space pass through each other, which the solver does not hinder.

use std::collections::BTreeMap;

type Place = [f64; 3];

/// Number of cells that another cell's side passes through. Cells are lists of vertices, counter-clockwise
/// or not; cells that share a vertex do not count against each other.
pub fn crossed_cells(cells: &[&[u32]], at: &[Place]) -> usize {
    let sides: BTreeMap<[u32; 2], ()> = cells
        .iter()
        .flat_map(|c| (0..c.len()).map(|k| (c[k], c[(k + 1) % c.len()])))
        .map(|(a, b)| ([a.min(b), a.max(b)], ()))
        .collect();
    let long = |[a, b]: &[u32; 2]| distance(at[*a as usize], at[*b as usize]);
    let mean = sides.keys().map(long).sum::<f64>() / sides.len().max(1) as f64;
    if !(mean > 0.0 && mean.is_finite()) {
        return 0;
    }
    let grid = Grid::new(cells, at, 2.0 * mean);
    let mut crossed = vec![false; cells.len()];
    for [a, b] in sides.keys() {
        let (p, q) = (at[*a as usize], at[*b as usize]);
        grid.near(p, q, &mut |k| {
            let cell = cells[k];
            if !crossed[k] && !cell.contains(a) && !cell.contains(b) {
                crossed[k] = cell[1..].windows(2).any(|pair| {
                    let corners = [cell[0], pair[0], pair[1]].map(|n| at[n as usize]);
                    pierces(p, q, corners)
                });
            }
        });
    }
    crossed.iter().filter(|c| **c).count()
}

fn less(a: Place, b: Place) -> Place {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn cross(a: Place, b: Place) -> Place {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: Place, b: Place) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn distance(a: Place, b: Place) -> f64 {
    let d = less(a, b);
    dot(d, d).sqrt()
}

/// Whether the stretch from `p` to `q` passes through a triangle: its ends lie on two sides of the plane,
/// and the line passes all three sides on one hand.
fn pierces(p: Place, q: Place, [a, b, c]: [Place; 3]) -> bool {
    let volume =
        |a: Place, b: Place, c: Place, d: Place| dot(less(b, a), cross(less(c, a), less(d, a)));
    let (above, below) = (volume(a, b, c, p), volume(a, b, c, q));
    if above * below >= 0.0 {
        return false;
    }
    let hands = [volume(p, q, a, b), volume(p, q, b, c), volume(p, q, c, a)];
    hands.iter().all(|h| *h > 0.0) || hands.iter().all(|h| *h < 0.0)
}

/// Cells by the boxes of space they reach into.
struct Grid {
    side: f64,
    boxes: BTreeMap<[i64; 3], Vec<u32>>,
}

impl Grid {
    fn new(cells: &[&[u32]], at: &[Place], side: f64) -> Self {
        let mut grid = Self { side, boxes: BTreeMap::new() };
        for (k, cell) in cells.iter().enumerate() {
            let corners = || cell.iter().map(|n| at[*n as usize]);
            let far = |f: fn(f64, f64) -> f64, from: f64| {
                [0, 1, 2].map(|d| corners().map(|p| p[d]).fold(from, f))
            };
            let (low, high) = (far(f64::min, f64::INFINITY), far(f64::max, f64::NEG_INFINITY));
            let mut list = Vec::new();
            grid.each(low, high, &mut |b| list.push(b));
            list.into_iter().for_each(|b| grid.boxes.entry(b).or_default().push(k as u32));
        }
        grid
    }

    fn each(&self, low: Place, high: Place, told: &mut dyn FnMut([i64; 3])) {
        let of = |x: f64| (x / self.side).floor() as i64;
        let [l, h] = [low.map(of), high.map(of)];
        for x in l[0]..=h[0] {
            for y in l[1]..=h[1] {
                for z in l[2]..=h[2] {
                    told([x, y, z]);
                }
            }
        }
    }

    /// Tells of every cell near a stretch, some more than once.
    fn near(&self, p: Place, q: Place, told: &mut dyn FnMut(usize)) {
        let low = [0, 1, 2].map(|d| p[d].min(q[d]));
        let high = [0, 1, 2].map(|d| p[d].max(q[d]));
        self.each(low, high, &mut |b| {
            self.boxes.get(&b).into_iter().flatten().for_each(|k| told(*k as usize));
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two squares of one cell each: apart, through each other, and folded along a shared side.
    #[test]
    fn crossing_squares_are_told_from_neighbours() {
        let level = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]];
        let upright =
            |z: f64| [[0.4, 0.5, z], [0.6, 0.5, z], [0.6, 0.5, z + 1.0], [0.4, 0.5, z + 1.0]];
        let (a, b) = ([0, 1, 2, 3], [4, 5, 6, 7]);
        for (z, crossed) in [(-0.5, 1), (0.5, 0)] {
            let at: Vec<Place> = level.into_iter().chain(upright(z)).collect();
            assert_eq!(crossed_cells(&[&a, &b], &at), crossed, "upright from {z}");
        }
        let folded = [[1.0, 0.2, 0.3], [0.0, 0.2, 0.3]];
        let at: Vec<Place> = level.into_iter().chain(folded).collect();
        assert_eq!(crossed_cells(&[&a, &[0, 1, 4, 5]], &at), 0, "a fold is no crossing");
    }
}
