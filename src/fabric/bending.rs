//! Bending and twisting of the stitch mesh, for pieces that leave the plane.
//!
//! Rows bend about three neighbouring tops, columns about a top, the places it is worked into and the
//! stitches worked into it; cells twist. A strand stands for the width of fabric beside it: the area of
//! each of its cells over the length of all strands of its kind in that cell, so a strand on an edge
//! stands for half a stitch only. Stencils are made on the piece lying flat and annihilate every affine
//! map of it: bending neither pulls nor turns a flat piece.

use std::collections::BTreeMap;

use super::Fabric;
use crate::mechanics::Bend;

/// What bends.
#[derive(Debug, Clone, PartialEq)]
pub struct Rigidity {
    /// Of rows and of columns around every stitch, N m.
    pub bending: Vec<[f64; 2]>,
    /// Of twisting, as a share of twice the geometric mean of both.
    pub twist: f64,
}

type Point = [f64; 2];

/// Two nodes joined along a row or up a column.
#[derive(Debug, Clone, Copy, Default)]
struct Link {
    length: f64,
    /// Rigidity times the width it stands for, N m².
    carried: f64,
    along_row: bool,
}

struct Links {
    all: BTreeMap<[u32; 2], Link>,
    /// Row whose top each node lies in; half way for points between two rows.
    rank: Vec<f64>,
    /// Column neighbours of each node.
    columns: Vec<Vec<u32>>,
}

fn key(a: u32, b: u32) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

fn distance(a: Point, b: Point) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

impl Fabric {
    /// Bending elements of the piece lying flat at `flat`.
    pub fn bends(&self, rigidity: &Rigidity, flat: &[Point]) -> Vec<Bend> {
        let links = self.links(rigidity, flat);
        let mut bends = Vec::new();
        for row in 0..self.row_paths.len() {
            for triple in self.course(row, 2).windows(3) {
                let [a, v, b] = [triple[0], triple[1], triple[2]];
                let beside = links.columns[v as usize].clone();
                bends.extend(links.bend(v, &[a], &[b], &beside, flat));
            }
        }
        let beside = self.row_neighbours();
        for v in 0..self.body.nodes as u32 {
            let rank = |n: &u32| links.rank[*n as usize] - links.rank[v as usize];
            let of = |sign: f64| -> Vec<u32> {
                let near = links.columns[v as usize].iter().copied();
                near.filter(|n| sign * rank(n) > 0.0).collect()
            };
            let (down, up) = (of(-1.0), of(1.0));
            bends.extend(links.bend(v, &down, &up, &beside[v as usize], flat));
        }
        let laws = &self.body.membranes;
        for (quad, tag) in self.body.quads.iter().zip(&self.quad_tags) {
            let [b1, b2] = rigidity.bending[tag.stitch.0 as usize];
            let b = rigidity.twist * (b1 * b2).sqrt() * open_share(laws, quad.membrane);
            let corners = quad.nodes.map(|n| flat[n as usize]);
            if b > 0.0 && crate::mechanics::signed_area(&corners) > 0.0 {
                bends.push(Bend::twist(quad.nodes, &corners, b));
            }
        }
        for (cell, tag) in self.body.polygons.iter().zip(&self.polygon_tags) {
            let [b1, b2] = rigidity.bending[tag.stitch.0 as usize];
            let b = rigidity.twist * (b1 * b2).sqrt() * open_share(laws, cell.membrane);
            let corners: Vec<Point> = cell.nodes.iter().map(|n| flat[*n as usize]).collect();
            if b > 0.0 {
                bends.extend(Bend::open_twist(&cell.nodes, &cell.rest, &corners, b));
            }
        }
        bends
    }

    fn row_neighbours(&self) -> Vec<Vec<u32>> {
        let mut near = vec![Vec::new(); self.body.nodes];
        for row in 0..self.row_paths.len() {
            for pair in self.course(row, 1).windows(2) {
                near[pair[0] as usize].push(pair[1]);
                near[pair[1] as usize].push(pair[0]);
            }
        }
        near
    }

    /// Nodes along the top of a row; a round comes back to its first `again` nodes.
    fn course(&self, row: usize, again: usize) -> Vec<u32> {
        let mut path = self.row_paths[row].clone();
        if self.closed[row] && path.len() > 2 {
            path.extend_from_within(..again);
        }
        path
    }

    fn links(&self, rigidity: &Rigidity, flat: &[Point]) -> Links {
        let mut all: BTreeMap<[u32; 2], Link> = BTreeMap::new();
        let mut rank = vec![f64::NAN; self.body.nodes];
        for row in 0..self.row_paths.len() {
            let path = self.course(row, 1);
            for pair in path.windows(2) {
                all.entry(key(pair[0], pair[1])).or_default().along_row = true;
            }
            for n in path.iter().map(|n| *n as usize) {
                rank[n] = if rank[n].is_nan() { row as f64 } else { rank[n] };
            }
        }
        for patch in self.patches() {
            let n = patch.nodes.len();
            for node in patch.nodes.iter().map(|n| *n as usize) {
                if rank[node].is_nan() {
                    rank[node] = f64::from(patch.tag.row.0) - 0.5;
                }
            }
            let edges: Vec<[u32; 2]> =
                (0..n).map(|i| key(patch.nodes[i], patch.nodes[(i + 1) % n])).collect();
            let length = |e: &[u32; 2]| distance(flat[e[0] as usize], flat[e[1] as usize]);
            let mut sums = [0.0; 2];
            for e in &edges {
                let link = all.entry(*e).or_default();
                link.length = length(e);
                sums[usize::from(!link.along_row)] += link.length;
            }
            let b = rigidity.bending[patch.tag.stitch.0 as usize];
            let share = open_share(&self.body.membranes, patch.law);
            for e in &edges {
                let link = all.entry(*e).or_default();
                let way = usize::from(!link.along_row);
                link.carried += share * b[way] * patch.area / sums[way];
            }
        }
        let mut columns = vec![Vec::new(); self.body.nodes];
        for ([a, b], _) in all.iter().filter(|(_, l)| !l.along_row) {
            columns[*a as usize].push(*b);
            columns[*b as usize].push(*a);
        }
        Links { all, rank, columns }
    }
}

/// Share of the stiffness that an open cell's law keeps, slack along the row or not: laws come in pairs, closed
/// and open.
fn open_share(laws: &[crate::mechanics::Membrane], law: u32) -> f64 {
    laws[law as usize].e2 / laws[(law & !1) as usize].e2
}

impl Links {
    /// Curvature at `v` of the line from the middle of `before` to the middle of `after`.
    fn bend(
        &self,
        v: u32,
        before: &[u32],
        after: &[u32],
        beside: &[u32],
        flat: &[Point],
    ) -> Option<Bend> {
        let link = |n: &u32| self.all.get(&key(v, *n)).copied().unwrap_or_default();
        let sum = |side: &[u32]| side.iter().map(|n| link(n).carried).sum::<f64>();
        let (w0, w1) = (sum(before), sum(after));
        if w0 <= 0.0 || w1 <= 0.0 {
            return None;
        }
        let long = |side: &[u32], w: f64| {
            side.iter().map(|n| link(n).carried * link(n).length).sum::<f64>() / w
        };
        let (a, b) = (long(before, w0), long(after, w1));
        let half = 0.5 * (a + b);
        let (p, q) = (1.0 / (a * half), 1.0 / (b * half));
        let mut nodes = vec![v];
        let mut weights = vec![-p - q];
        for (side, share) in [(before, p / w0), (after, q / w1)] {
            for n in side {
                nodes.push(*n);
                weights.push(share * link(n).carried);
            }
        }
        for n in beside.iter().filter(|n| !before.contains(n) && !after.contains(n)) {
            nodes.push(*n);
            weights.push(0.0);
        }
        level(&nodes, &mut weights, flat, half);
        let mut kept = 0;
        for i in 0..nodes.len() {
            if weights[i] != 0.0 {
                (nodes[kept], weights[kept]) = (nodes[i], weights[i]);
                kept += 1;
            }
        }
        nodes.truncate(kept);
        weights.truncate(kept);
        (kept > 2).then_some(Bend { nodes, weights, stiffness: 0.5 * (w0 + w1) * half })
    }
}

/// Takes off the weights what they make of affine maps of the flat piece: the least change that does.
fn level(nodes: &[u32], weights: &mut [f64], flat: &[Point], size: f64) {
    let o = flat[nodes[0] as usize];
    let rows: Vec<nalgebra::Vector3<f64>> = nodes
        .iter()
        .map(|n| flat[*n as usize])
        .map(|p| nalgebra::Vector3::new(1.0, (p[0] - o[0]) / size, (p[1] - o[1]) / size))
        .collect();
    let off: nalgebra::Vector3<f64> = rows.iter().zip(&*weights).map(|(r, w)| r * *w).sum();
    if off.amax() * size * size < 1e-9 {
        return;
    }
    let gram: nalgebra::Matrix3<f64> = rows.iter().map(|r| r * r.transpose()).sum();
    if let Ok(inverse) = gram.pseudo_inverse(1e-6) {
        let by = inverse * off;
        weights.iter_mut().zip(&rows).for_each(|(w, r)| *w -= r.dot(&by));
    }
    // Constants must go to the last digit.
    let rest: f64 = weights.iter().sum();
    weights[0] -= rest;
}
