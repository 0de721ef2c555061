//! What depends on connections only: elimination order, matrix pattern, and where every element
//! block goes. Built once, kept for every solve.

use super::elements::Elements;
use super::linear;

/// Flag in [`Analysis::sources`]: the element's block is added transposed.
const TURNED: u32 = 1;

/// Lists of variable length, one after another.
#[derive(Debug, Default)]
pub(super) struct Lists {
    pub(super) start: Vec<u32>,
    pub(super) items: Vec<u32>,
}

impl Lists {
    pub(super) fn of(&self, i: usize) -> &[u32] {
        &self.items[self.start[i] as usize..self.start[i + 1] as usize]
    }

    /// Groups `(list, item)` in order of appearance.
    fn group(n: usize, entries: impl Iterator<Item = (u32, u32)> + Clone) -> Self {
        let mut start = vec![0u32; n + 1];
        for (list, _) in entries.clone() {
            start[list as usize + 1] += 1;
        }
        for i in 0..n {
            start[i + 1] += start[i];
        }
        let mut next = start.clone();
        let mut items = vec![0; start[n] as usize];
        for (list, item) in entries {
            items[next[list as usize] as usize] = item;
            next[list as usize] += 1;
        }
        Self { start, items }
    }
}

#[derive(Debug)]
pub(super) struct Analysis {
    /// Place of each node in the elimination order.
    pub(super) place: Vec<u32>,
    /// Node at each place.
    pub(super) order: Vec<u32>,
    /// Matrix blocks by block column (place): their block rows, ascending, the diagonal first.
    pub(super) rows: Lists,
    /// Per block, the element pairs that add to it: `2 * pair + TURNED`.
    pub(super) sources: Lists,
    /// Per node, its entries in the elements' node lists.
    pub(super) touching: Lists,
}

impl Analysis {
    pub(super) fn new(elements: &Elements, nodes: usize) -> Self {
        let (order, place) = node_order(elements, nodes);
        let mut columns: Vec<Vec<(u32, u32)>> = vec![Vec::with_capacity(16); nodes];
        // A node no element touches still needs its diagonal.
        let mut lone = vec![true; nodes];
        for_pairs(elements, |pair, i, j| {
            let (p, q) = (place[i as usize], place[j as usize]);
            let turned = if p < q { TURNED } else { 0 };
            columns[p.min(q) as usize].push((p.max(q), 2 * pair + turned));
            lone[p as usize] = false;
            lone[q as usize] = false;
        });
        let (mut rows, mut sources) = (Lists::default(), Lists::default());
        rows.start.push(0);
        sources.start.push(0);
        for (at, column) in columns.iter_mut().enumerate() {
            column.sort_unstable();
            if lone[at] {
                rows.items.push(at as u32);
                sources.start.push(sources.items.len() as u32);
            }
            for block in column.chunk_by(|a, b| a.0 == b.0) {
                rows.items.push(block[0].0);
                sources.items.extend(block.iter().map(|b| b.1));
                sources.start.push(sources.items.len() as u32);
            }
            rows.start.push(rows.items.len() as u32);
            *column = Vec::new();
        }
        let ends = elements.links.nodes.iter().enumerate().map(|(at, node)| (*node, at as u32));
        Self { place, order, rows, sources, touching: Lists::group(nodes, ends) }
    }

    /// Column starts and rows of the lower triangle with `D` unknowns a node.
    pub(super) fn pattern<const D: usize>(&self) -> (Vec<u32>, Vec<u32>) {
        let (mut start, mut row) = (vec![0u32], Vec::new());
        for at in 0..self.order.len() {
            for c in 0..D {
                for block in self.rows.of(at) {
                    let from = if *block as usize == at { c } else { 0 };
                    row.extend((from..D).map(|r| D as u32 * block + r as u32));
                }
                start.push(row.len() as u32);
            }
        }
        (start, row)
    }

    /// Adds the blocks of one block column to its matrix values (`D` columns, one after another).
    pub(super) fn fill_column<const D: usize>(
        &self,
        at: usize,
        blocks: &[f64],
        values: &mut [f64],
    ) {
        values.fill(0.0);
        let first = self.rows.start[at] as usize;
        let wide = D * self.rows.of(at).len();
        for (k, _) in self.rows.of(at).iter().enumerate() {
            for source in self.sources.of(first + k) {
                let block = &blocks[D * D * (source >> 1) as usize..][..D * D];
                let turned = source & TURNED != 0;
                for c in 0..D {
                    // Column c starts after those before it, each shorter by one than the last.
                    let column = c * wide - c * c.saturating_sub(1) / 2;
                    for r in if k == 0 { c } else { 0 }..D {
                        let value = if turned { block[D * c + r] } else { block[D * r + c] };
                        values[column + D * k + r - c] += value;
                    }
                }
            }
        }
    }
}

fn for_pairs(elements: &Elements, mut visit: impl FnMut(u32, u32, u32)) {
    let mut pair = 0;
    for e in 0..elements.len() {
        let nodes = elements.nodes_of(e);
        for (k, i) in nodes.iter().enumerate() {
            for j in &nodes[k..] {
                visit(pair, *i, *j);
                pair += 1;
            }
        }
    }
}

/// Approximate minimum degree on the node graph: a fraction of the entries of the matrix' own graph,
/// with the same result once expanded.
fn node_order(elements: &Elements, nodes: usize) -> (Vec<u32>, Vec<u32>) {
    let mut upper: Vec<Vec<u32>> = vec![Vec::with_capacity(8); nodes];
    for_pairs(elements, |_, i, j| upper[i.max(j) as usize].push(i.min(j)));
    let (mut ptr, mut row) = (vec![0u32], Vec::new());
    for column in &mut upper {
        column.sort_unstable();
        column.dedup();
        row.extend_from_slice(column);
        ptr.push(row.len() as u32);
    }
    linear::order(nodes, &ptr, &row)
}
