//! A [`Body`] laid out for evaluation: per-element parameters and the buffers elements write to.
//!
//! Elements run in parallel, each into its own slice of a buffer; sums over them are taken in a fixed
//! order. So every result is the same bit for bit whatever the number of threads.

use super::law::Law;
use super::{Body, Measure, Polygon, Support, Want, cell, hold, strand, wedge};
use nalgebra::SVector;
use rayon::prelude::*;
use std::sync::Arc;

/// Elements a task takes; fixed, since partial energies are summed per task.
const TASK: usize = 1024;

type Point = ([[f64; 2]; 4], f64);

#[derive(Debug)]
struct OpenCell {
    /// Gradients (1/m) of the one mean map, per corner.
    b: Vec<[f64; 2]>,
    area: f64,
    /// Stabilisation matrix (N/m), row-major.
    hold: Vec<f64>,
    law: u32,
}

/// Which nodes the elements join, in the order quads, polygons, wedges, strands, bends, contacts.
#[derive(Debug, PartialEq)]
pub(super) struct Links {
    /// One past the last element of each kind.
    ends: [usize; 6],
    /// Start of each element's nodes in `nodes`; one more entry than elements.
    pub(super) start: Vec<u32>,
    pub(super) nodes: Vec<u32>,
    /// Start of each element's node pairs `i <= j`; one more entry than elements.
    pub(super) pairs: Vec<u32>,
}

/// Evaluation-ready elements. Bodies of the same connections share their links.
#[derive(Debug)]
pub(super) struct Elements {
    pub(super) links: Arc<Links>,
    laws: Vec<Law>,
    measure: Measure,
    quads: Vec<([Point; 4], u32)>,
    polygons: Vec<OpenCell>,
    wedges: Vec<([f64; 2], u32)>,
    strands: Vec<[f64; 2]>,
    /// Weights of all bends, one after another like their nodes, and their stiffnesses.
    weights: Vec<f64>,
    stiffness: Vec<f64>,
    support: Option<Support>,
    /// Dead loads (N), one a node, or empty.
    loads: Vec<[f64; 3]>,
    /// Force each element shows per node at unit strain (N): the scale below which forces are zero.
    pub(super) scale: Vec<f64>,
}

/// Buffers for element forces and Hessian blocks.
#[derive(Debug, Default)]
pub(super) struct Buffers {
    pub(super) forces: Vec<f64>,
    pub(super) blocks: Vec<f64>,
}

/// Node lists of a body's elements, in the order of [`Links`]; `touching` names each node once where
/// nodes may rest on solids.
fn lists<'a>(body: &'a Body, touching: &'a [u32]) -> impl Iterator<Item = &'a [u32]> {
    body.quads
        .iter()
        .map(|q| &q.nodes[..])
        .chain(body.polygons.iter().map(|p| &p.nodes[..]))
        .chain(body.wedges.iter().map(|w| &w.nodes[..]))
        .chain(body.strands.iter().map(|s| &s.nodes[..]))
        .chain(body.bends.iter().map(|b| &b.nodes[..]))
        .chain(touching.chunks(1))
}

/// The nodes that may rest on solids.
fn touching(body: &Body) -> Vec<u32> {
    if body.support.is_some() { (0..body.nodes as u32).collect() } else { Vec::new() }
}

impl Links {
    fn new(body: &Body) -> Self {
        let (mut start, mut nodes, mut pairs) = (vec![0], Vec::new(), vec![0]);
        let mut pair = 0;
        for list in lists(body, &touching(body)) {
            nodes.extend_from_slice(list);
            start.push(nodes.len() as u32);
            pair += (list.len() * (list.len() + 1) / 2) as u32;
            pairs.push(pair);
        }
        let mut end = 0;
        let ends = Self::counts(body).map(|n| {
            end += n;
            end
        });
        Self { ends, start, nodes, pairs }
    }

    /// Elements of each kind.
    fn counts(body: &Body) -> [usize; 6] {
        [
            body.quads.len(),
            body.polygons.len(),
            body.wedges.len(),
            body.strands.len(),
            body.bends.len(),
            if body.support.is_some() { body.nodes } else { 0 },
        ]
    }

    /// True if they are those of `body`.
    fn join(&self, body: &Body) -> bool {
        let mut from = 0;
        let counts = Self::counts(body).iter().zip(&self.ends).all(|(count, end)| {
            let same = end - from == *count;
            from = *end;
            same
        });
        counts && lists(body, &touching(body)).enumerate().all(|(e, list)| list == self.of(e))
    }

    /// Nodes of element `e`.
    fn of(&self, e: usize) -> &[u32] {
        &self.nodes[self.start[e] as usize..self.start[e + 1] as usize]
    }
}

impl Elements {
    /// Lays out a body that passed its check.
    pub(super) fn new(body: &Body) -> Self {
        Self::linked(body, Arc::new(Links::new(body)))
    }

    /// Lays out a body that passed its check and has the same connections; `None` where it has others.
    pub(super) fn again(&self, body: &Body) -> Option<Self> {
        self.links.join(body).then(|| Self::linked(body, Arc::clone(&self.links)))
    }

    fn linked(body: &Body, links: Arc<Links>) -> Self {
        let open = |p: &Polygon| OpenCell::new(p, &body.membranes[p.membrane as usize]);
        let mut all = Self {
            links,
            laws: body.membranes.iter().map(Law::new).collect(),
            measure: body.measure,
            quads: body.quads.iter().map(|q| (cell::quad_points(&q.rest), q.membrane)).collect(),
            polygons: body.polygons.iter().map(open).collect(),
            wedges: body.wedges.iter().map(|w| ([w.strand, w.height], w.membrane)).collect(),
            strands: body.strands.iter().map(|s| [s.rest, s.stiffness]).collect(),
            weights: body.bends.iter().flat_map(|b| b.weights.iter().copied()).collect(),
            stiffness: body.bends.iter().map(|b| b.stiffness).collect(),
            support: body.support.clone(),
            loads: body.loads.clone(),
            scale: Vec::new(),
        };
        all.scale = all.scales();
        all
    }

    fn scales(&self) -> Vec<f64> {
        let law = |k: u32| self.laws[k as usize].scale();
        let quads =
            self.quads.iter().map(|(p, k)| law(*k) * p.iter().map(|p| p.1).sum::<f64>().sqrt());
        let polygons = self.polygons.iter().map(|p| law(p.law) * p.area.sqrt());
        let wedges = self.wedges.iter().map(|(r, k)| law(*k) * (r[0] * r[1]).sqrt());
        let strands = self.strands.iter().map(|s| s[1]);
        let touching =
            if self.support.is_some() { self.links.ends[5] - self.links.ends[4] } else { 0 };
        let bends = std::iter::repeat_n(0.0, self.stiffness.len() + touching);
        quads.chain(polygons).chain(wedges).chain(strands).chain(bends).collect()
    }

    /// Number of elements.
    pub(super) fn len(&self) -> usize {
        self.links.start.len() - 1
    }

    /// Nodes of element `e`.
    pub(super) fn nodes_of(&self, e: usize) -> &[u32] {
        self.links.of(e)
    }

    /// The dead load of a node (N).
    pub(super) fn load<const D: usize>(&self, node: usize) -> SVector<f64, D> {
        self.loads.get(node).map_or(SVector::zeros(), |f| SVector::from_fn(|d, _| f[d]))
    }

    /// True where nodes may rest on solids.
    pub(super) fn supported(&self) -> bool {
        self.support.is_some()
    }

    /// True if any node carries a load.
    pub(super) fn loaded(&self) -> bool {
        self.loads.iter().any(|f| f.iter().any(|f| *f != 0.0))
    }

    /// Energy (J) at positions `x` (flat, node by node), filling `out` as far as wanted.
    pub(super) fn evaluate<const D: usize>(
        &self,
        x: &[f64],
        want: Want,
        guard: bool,
        out: &mut Buffers,
    ) -> f64 {
        let links = &*self.links;
        let wide = |n: usize, on: bool| if on { n } else { 0 };
        // Only the size is set here: every element clears its own part just before it adds to it.
        out.forces.resize(wide(D * self.links.nodes.len(), want >= Want::Forces), 0.0);
        if want >= Want::Clamped {
            out.blocks.resize(D * D * self.links.pairs[self.len()] as usize, 0.0);
        }
        let mut tasks = Vec::with_capacity(self.len() / TASK + 1);
        let (mut g, mut h) = (&mut out.forces[..], &mut out.blocks[..]);
        for from in (0..self.len()).step_by(TASK) {
            let to = (from + TASK).min(self.len());
            let force =
                wide(D * (links.start[to] - links.start[from]) as usize, want >= Want::Forces);
            let block =
                wide(D * D * (links.pairs[to] - links.pairs[from]) as usize, want >= Want::Clamped);
            let (g0, g1) = std::mem::take(&mut g).split_at_mut(force);
            let (h0, h1) = std::mem::take(&mut h).split_at_mut(block);
            (g, h) = (g1, h1);
            tasks.push((from..to, g0, h0));
        }
        let parts: Vec<f64> = tasks
            .into_par_iter()
            .map(|(range, g, h)| self.run::<D>(range, x, want, guard, g, h))
            .collect();
        let stored: f64 = parts.iter().sum();
        stored - self.work::<D>(x)
    }

    /// Work of the dead loads (J) from the origin.
    fn work<const D: usize>(&self, x: &[f64]) -> f64 {
        self.loads
            .iter()
            .zip(x.chunks_exact(D))
            .map(|(f, x)| x.iter().zip(f).map(|(x, f)| x * f).sum::<f64>())
            .sum()
    }

    fn run<const D: usize>(
        &self,
        range: std::ops::Range<usize>,
        x: &[f64],
        want: Want,
        guard: bool,
        g: &mut [f64],
        h: &mut [f64],
    ) -> f64 {
        // Forces are asked for most: known at compile time, they cost nothing for the rest.
        match want {
            Want::Forces => self.sweep::<D>(range, x, Want::Forces, guard, g, h),
            Want::Gradient => self.sweep::<D>(range, x, Want::Gradient, guard, g, h),
            _ => self.sweep::<D>(range, x, want, guard, g, h),
        }
    }

    #[inline(always)]
    /// [`Elements::run`], once for each kind of evaluation.
    fn sweep<const D: usize>(
        &self,
        range: std::ops::Range<usize>,
        x: &[f64],
        want: Want,
        guard: bool,
        mut g: &mut [f64],
        mut h: &mut [f64],
    ) -> f64 {
        let mut energy = 0.0;
        for e in range {
            let n = self.nodes_of(e).len();
            let (g0, g1) =
                std::mem::take(&mut g).split_at_mut(if want >= Want::Forces { D * n } else { 0 });
            let (h0, h1) = std::mem::take(&mut h).split_at_mut(if want >= Want::Clamped {
                D * D * n * (n + 1) / 2
            } else {
                0
            });
            g0.fill(0.0);
            h0.fill(0.0);
            energy += self.element::<D>(e, x, want, guard, g0, h0);
            (g, h) = (g1, h1);
        }
        energy
    }

    /// Energy of one element; +inf where it is folded over.
    #[inline(always)]
    pub(super) fn element<const D: usize>(
        &self,
        e: usize,
        x: &[f64],
        want: Want,
        guard: bool,
        g: &mut [f64],
        h: &mut [f64],
    ) -> f64 {
        let nodes = self.nodes_of(e);
        let [quads, polygons, wedges, strands, bends, _] = self.links.ends;
        if e < quads {
            let (points, law) = &self.quads[e];
            let (x, law) = (corners::<D, 4>(x, nodes), &self.laws[*law as usize]);
            let mut energy = 0.0;
            for (b, w) in points {
                energy += cell::add_point(&x, b, *w, law, self.measure, want, guard, g, h);
            }
            return energy;
        }
        if e < polygons {
            return self.polygon::<D>(&self.polygons[e - quads], nodes, x, want, guard, g, h);
        }
        if e < wedges {
            let (rest, law) = &self.wedges[e - polygons];
            return wedge::add(
                &corners::<D, 3>(x, nodes),
                *rest,
                &self.laws[*law as usize],
                want,
                guard,
                g,
                h,
            );
        }
        if e < strands {
            let [rest, stiffness] = self.strands[e - wedges];
            return strand::add(&corners::<D, 2>(x, nodes), rest, stiffness, want, g, h);
        }
        if let (true, Some(support)) = (e >= bends, &self.support) {
            return support.add(&corner::<D>(x, nodes[0]), want, g, h);
        }
        let at = (self.links.start[e] - self.links.start[strands]) as usize;
        let (weights, stiffness) =
            (&self.weights[at..][..nodes.len()], self.stiffness[e - strands]);
        with_corners::<D>(x, nodes, |x| strand::add_bend(x, weights, stiffness, want, g, h))
    }

    /// Share of a step whose longest move of a node is `longest` (m) that passes through no solid.
    pub(super) fn reach(&self, longest: f64) -> f64 {
        self.support.as_ref().map_or(1.0, |s| (s.reach() / longest).min(1.0))
    }

    #[inline(always)]
    #[expect(clippy::too_many_arguments, reason = "one arm of `element`, whose arguments it takes")]
    fn polygon<const D: usize>(
        &self,
        p: &OpenCell,
        nodes: &[u32],
        x: &[f64],
        want: Want,
        guard: bool,
        g: &mut [f64],
        h: &mut [f64],
    ) -> f64 {
        let law = &self.laws[p.law as usize];
        if let ([a, b, c], [i, j, k]) = (&p.b[..], nodes) {
            // Lengths known at compile time halve the cost of triangles.
            let (x, b) = ([*i, *j, *k].map(|n| corner::<D>(x, n)), [*a, *b, *c]);
            return cell::add_point(&x, &b, p.area, law, self.measure, want, guard, g, h);
        }
        with_corners::<D>(x, nodes, |x| {
            let held =
                if p.hold.is_empty() { 0.0 } else { hold::add(x, &p.hold, &p.b, want, g, h) };
            held + cell::add_point(x, &p.b, p.area, law, self.measure, want, guard, g, h)
        })
    }

    /// A node of the first element that is folded over at `x`.
    pub(super) fn folded<const D: usize>(&self, x: &[f64]) -> Option<u32> {
        (0..self.len())
            .find(|e| !self.element::<D>(*e, x, Want::Energy, true, &mut [], &mut []).is_finite())
            .map(|e| self.nodes_of(e)[0])
    }
}

/// Energy (J) of a body at positions in space; infinite where a cell is folded over.
pub fn energy_of(body: &Body) -> impl Fn(&[[f64; 3]]) -> f64 + use<> {
    let elements = Elements::new(body);
    move |x| {
        let none = &mut Buffers::default();
        elements.evaluate::<3>(x.as_flattened(), Want::Energy, true, none)
    }
}

#[inline(always)]
fn corner<const D: usize>(x: &[f64], node: u32) -> SVector<f64, D> {
    SVector::from_column_slice(&x[D * node as usize..D * (node as usize + 1)])
}

#[inline(always)]
fn corners<const D: usize, const N: usize>(x: &[f64], nodes: &[u32]) -> [SVector<f64, D>; N] {
    std::array::from_fn(|i| corner(x, nodes[i]))
}

/// Hands the corners of an element of any length to `f`, without a heap allocation for short ones.
#[inline(always)]
fn with_corners<const D: usize>(
    x: &[f64],
    nodes: &[u32],
    f: impl FnOnce(&[SVector<f64, D>]) -> f64,
) -> f64 {
    let mut room = [SVector::<f64, D>::zeros(); 8];
    if nodes.len() > room.len() {
        return f(&nodes.iter().map(|n| corner(x, *n)).collect::<Vec<_>>());
    }
    room.iter_mut().zip(nodes).for_each(|(to, n)| *to = corner(x, *n));
    f(&room[..nodes.len()])
}

impl OpenCell {
    /// The mean gradient of the map over the polygon is a boundary integral,
    /// `F = (1/A) ∮ x ⊗ n ds`, exact for affine maps. What it cannot see is held by
    /// `k/2 Σ |x_i - (x̄ + F (X_i - X̄))|²`, as in the virtual element method (Beirão da Veiga, Brezzi,
    /// Marini, Russo, "The hitchhiker's guide to the virtual element method", M3AS 24 (2014) 1541).
    /// `k = ((E1 + E2)/2 + G)/3` gives a square of four corners the hourglass stiffness of the
    /// bilinear quadrilateral, averaged over both directions.
    fn new(p: &Polygon, m: &super::Membrane) -> Self {
        let n = p.rest.len();
        let area = signed_area(&p.rest);
        let b = mean_gradient(&p.rest);
        let mean = [0, 1].map(|d| p.rest.iter().map(|x| x[d]).sum::<f64>() / n as f64);
        let off = |i: usize, j: usize| {
            let affine = b[j][0] * (p.rest[i][0] - mean[0]) + b[j][1] * (p.rest[i][1] - mean[1]);
            f64::from(u8::from(i == j)) - 1.0 / n as f64 - affine
        };
        let k = (0.5 * (m.e1 + m.e2) + m.g) / 3.0;
        // Three corners have affine maps only.
        let mut hold = vec![0.0; if n > 3 { n * n } else { 0 }];
        if n > 3 {
            for (at, q) in hold.iter_mut().enumerate() {
                *q = k * (0..n).map(|l| off(l, at / n) * off(l, at % n)).sum::<f64>();
            }
        }
        Self { b, area, hold, law: p.membrane }
    }
}

/// Area of a polygon (m²), positive counter-clockwise.
pub fn signed_area(rest: &[[f64; 2]]) -> f64 {
    let n = rest.len();
    (0..n)
        .map(|i| {
            let (a, b) = (rest[i], rest[(i + 1) % n]);
            0.5 * (a[0] * b[1] - a[1] * b[0])
        })
        .sum()
}

/// Corner weights (1/m) of the mean gradient of a map over a polygon.
pub(super) fn mean_gradient(rest: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let (n, area) = (rest.len(), signed_area(rest));
    (0..n)
        .map(|i| {
            let (prev, next) = (rest[(i + n - 1) % n], rest[(i + 1) % n]);
            [0.5 * (next[1] - prev[1]) / area, -0.5 * (next[0] - prev[0]) / area]
        })
        .collect()
}
