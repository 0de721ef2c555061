//! Part of a body, cut out to be solved alone while what lies around it is held.

use crate::mechanics::Body;

/// Nodes of a body with everything that touches those of them that are free.
pub(super) struct Part {
    /// Its nodes, by their numbers in the whole.
    pub(super) nodes: Vec<u32>,
    /// The part alone.
    pub(super) body: Body,
    /// Unknowns of the nodes that are not free.
    pub(super) held: Vec<usize>,
}

impl Part {
    /// Cuts out what touches the nodes that are `free`.
    pub(super) fn new(whole: &Body, free: &[bool]) -> Self {
        let meets = |nodes: &[u32]| nodes.iter().any(|n| free[*n as usize]);
        let mut body = Body {
            membranes: whole.membranes.clone(),
            quads: whole.quads.iter().filter(|q| meets(&q.nodes)).cloned().collect(),
            wedges: whole.wedges.iter().filter(|w| meets(&w.nodes)).cloned().collect(),
            polygons: whole.polygons.iter().filter(|p| meets(&p.nodes)).cloned().collect(),
            strands: whole.strands.iter().filter(|s| meets(&s.nodes)).cloned().collect(),
            bends: whole.bends.iter().filter(|b| meets(&b.nodes)).cloned().collect(),
            support: whole.support.clone(),
            measure: whole.measure,
            ..Body::default()
        };
        let mut met = free.to_vec();
        each(&mut body, &mut |n| met[*n as usize] = true);
        let nodes: Vec<u32> = (0..whole.nodes as u32).filter(|n| met[*n as usize]).collect();
        let mut place = vec![0; whole.nodes];
        for (at, node) in nodes.iter().enumerate() {
            place[*node as usize] = at as u32;
        }
        each(&mut body, &mut |n| *n = place[*n as usize]);
        body.nodes = nodes.len();
        if !whole.loads.is_empty() {
            body.loads = nodes.iter().map(|n| whole.loads[*n as usize]).collect();
        }
        let still = (0..nodes.len()).filter(|at| !free[nodes[*at] as usize]);
        let held = still.flat_map(|at| [3 * at, 3 * at + 1, 3 * at + 2]).collect();
        Self { nodes, body, held }
    }
}

/// Every mention of a node.
fn each(body: &mut Body, visit: &mut impl FnMut(&mut u32)) {
    body.quads.iter_mut().flat_map(|q| &mut q.nodes).for_each(&mut *visit);
    body.wedges.iter_mut().flat_map(|w| &mut w.nodes).for_each(&mut *visit);
    body.polygons.iter_mut().flat_map(|p| &mut p.nodes).for_each(&mut *visit);
    body.strands.iter_mut().flat_map(|s| &mut s.nodes).for_each(&mut *visit);
    body.bends.iter_mut().flat_map(|b| &mut b.nodes).for_each(visit);
}
