//! Free pieces in the plane: unknowns that hold their rigid motions without adding a force, and the
//! rigid part of a step.
//!
//! Net forces of a piece that nothing holds have no resultant and no moment, so fixing one node and
//! the turning of another solves the same equations. Which nodes these are must not show in the
//! result: the rigid part is taken out of every step again.

use super::elements::Elements;
use nalgebra::SVector;

/// Connected pieces that no pin holds.
#[derive(Debug, Default)]
pub(super) struct Rigid {
    /// Unknowns to fix, flat in node order.
    pub(super) anchors: Vec<usize>,
    /// Nodes of each piece that may move freely as a whole.
    pieces: Vec<Vec<u32>>,
}

impl Rigid {
    /// Finds the free pieces of a planar body without loads at positions `x`.
    pub(super) fn new(elements: &Elements, x: &[f64], pinned: &[bool]) -> Self {
        let mut rigid = Self::default();
        for piece in pieces(elements, x.len() / 2) {
            let held: Vec<u32> = piece
                .iter()
                .copied()
                .filter(|n| pinned[2 * *n as usize] || pinned[2 * *n as usize + 1])
                .collect();
            match held[..] {
                [] => {
                    let first = nearest_to_centre(&piece, x);
                    rigid.anchors.extend([2 * first as usize, 2 * first as usize + 1]);
                    rigid.anchors.extend(against_turning(first, &piece, x));
                    rigid.pieces.push(piece);
                }
                [one] if pinned[2 * one as usize] && pinned[2 * one as usize + 1] => {
                    rigid.anchors.extend(against_turning(one, &piece, x));
                }
                _ => {}
            }
        }
        rigid
    }

    /// Takes the mean shift and the mean turn out of a step, piece by piece.
    pub(super) fn project(&self, x: &[f64], step: &mut [f64]) {
        for piece in &self.pieces {
            let n = piece.len() as f64;
            let at = |v: &[f64], i: u32| [v[2 * i as usize], v[2 * i as usize + 1]];
            let mean = |v: &[f64]| {
                piece.iter().fold([0.0; 2], |s, i| {
                    let p = at(v, *i);
                    [s[0] + p[0] / n, s[1] + p[1] / n]
                })
            };
            let (c, shift) = (mean(x), mean(step));
            let (mut moment, mut inertia) = (0.0, 0.0);
            for i in piece {
                let (p, s) = (at(x, *i), at(step, *i));
                let r = [p[0] - c[0], p[1] - c[1]];
                moment += r[0] * s[1] - r[1] * s[0];
                inertia += r[0] * r[0] + r[1] * r[1];
            }
            let turn = if inertia > 0.0 { moment / inertia } else { 0.0 };
            for i in piece {
                let p = at(x, *i);
                step[2 * *i as usize] -= shift[0] - turn * (p[1] - c[1]);
                step[2 * *i as usize + 1] -= shift[1] + turn * (p[0] - c[0]);
            }
        }
    }
}

/// The first node of a piece whose loads along some axis no pin along that axis can bear. What lies
/// below may bear it where there is any: a solve that slides off it does not settle.
pub(super) fn falling<const D: usize>(elements: &Elements, pinned: &[bool]) -> Option<u32> {
    if !elements.loaded() {
        return None;
    }
    let mut pieces = pieces(elements, pinned.len() / D).into_iter();
    let falls = |piece: &Vec<u32>| {
        let loads = piece.iter().map(|n| elements.load::<D>(*n as usize));
        let (sum, size) =
            loads.fold((SVector::<f64, D>::zeros(), 0.0), |(s, a), f| (s + f, a + f.norm()));
        (0..D).filter(|d| *d < 2 || !elements.supported()).any(|d| {
            sum[d].abs() > 1e-9 * size && !piece.iter().any(|n| pinned[D * *n as usize + d])
        })
    };
    pieces.find(falls).map(|piece| piece[0])
}

fn nearest_to_centre(piece: &[u32], x: &[f64]) -> u32 {
    let n = piece.len() as f64;
    let c = [0, 1].map(|d| piece.iter().map(|i| x[2 * *i as usize + d]).sum::<f64>() / n);
    let far =
        |i: &u32| (x[2 * *i as usize] - c[0]).powi(2) + (x[2 * *i as usize + 1] - c[1]).powi(2);
    piece.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
}

/// The unknown of the node farthest along an axis, square to that axis.
fn against_turning(first: u32, piece: &[u32], x: &[f64]) -> Option<usize> {
    let reach = |i: u32, d: usize| (x[2 * i as usize + d] - x[2 * first as usize + d]).abs();
    piece
        .iter()
        .filter(|i| **i != first)
        .flat_map(|i| [(*i, 0), (*i, 1)])
        .max_by(|a, b| reach(a.0, a.1).total_cmp(&reach(b.0, b.1)))
        .map(|(i, d)| 2 * i as usize + 1 - d)
}

/// Nodes of each connected piece, by union of the elements' nodes; lone nodes are pieces of one.
pub(super) fn pieces(elements: &Elements, nodes: usize) -> Vec<Vec<u32>> {
    let mut root: Vec<u32> = (0..nodes as u32).collect();
    fn find(root: &mut [u32], mut i: u32) -> u32 {
        while root[i as usize] != i {
            root[i as usize] = root[root[i as usize] as usize];
            i = root[i as usize];
        }
        i
    }
    for e in 0..elements.len() {
        for pair in elements.nodes_of(e).windows(2) {
            let (a, b) = (find(&mut root, pair[0]), find(&mut root, pair[1]));
            root[a.max(b) as usize] = a.min(b);
        }
    }
    let mut number = vec![u32::MAX; nodes];
    let mut pieces: Vec<Vec<u32>> = Vec::new();
    for i in 0..nodes as u32 {
        let r = find(&mut root, i) as usize;
        if number[r] == u32::MAX {
            number[r] = pieces.len() as u32;
            pieces.push(Vec::new());
        }
        pieces[number[r] as usize].push(i);
    }
    pieces
}
