//! The front: the boundary of the fabric made so far.
//!
//! Kept as cycles of entries, counter-clockwise as seen from the right side (along a foundation left
//! to right, up the right edge, along the top right to left, down the left edge). New work replaces
//! the piece of front it covers. A node may stand on the front twice (a foundation chain before it is
//! worked has an upper and a lower side), so entries, not nodes, are linked.

/// Index of an entry of the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct EntryId(pub(super) u32);

/// One point of the front and the rest vector to the next one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    /// Mesh node.
    pub(super) node: u32,
    next: EntryId,
    prev: EntryId,
    /// Still on the boundary.
    alive: bool,
    /// Rest length of the strand to the next entry, m.
    pub(super) pitch: f64,
    /// The same in stitches; zero for a step up or down the side of a row.
    pub(super) units: f64,
    /// Rise towards the next entry, m: row ends and steps of short rows.
    pub(super) rise: f64,
    /// The strand to the next entry is part of a chain or yarn-over.
    pub(super) open: bool,
    /// A row's end: the front turns here.
    pub(super) corner: bool,
    /// The strand to the next entry is a foundation strand that no cell has taken up yet.
    pub(super) edge: bool,
}

/// The boundary cycles.
#[derive(Debug, Default)]
pub(super) struct Front {
    entries: Vec<Entry>,
}

impl Front {
    /// Adds an unlinked entry for `node`.
    pub(super) fn add(&mut self, node: u32) -> EntryId {
        let id = EntryId(self.entries.len() as u32);
        self.entries.push(Entry {
            node,
            next: id,
            prev: id,
            alive: true,
            pitch: 0.0,
            units: 0.0,
            rise: 0.0,
            open: false,
            corner: false,
            edge: false,
        });
        id
    }

    pub(super) fn get(&self, id: EntryId) -> &Entry {
        &self.entries[id.0 as usize]
    }

    pub(super) fn get_mut(&mut self, id: EntryId) -> &mut Entry {
        &mut self.entries[id.0 as usize]
    }

    pub(super) fn next(&self, id: EntryId) -> EntryId {
        self.get(id).next
    }

    pub(super) fn prev(&self, id: EntryId) -> EntryId {
        self.get(id).prev
    }

    pub(super) fn alive(&self, id: EntryId) -> bool {
        self.get(id).alive
    }

    /// Makes `b` the successor of `a`.
    pub(super) fn link(&mut self, a: EntryId, b: EntryId) {
        self.get_mut(a).next = b;
        self.get_mut(b).prev = a;
    }

    /// Takes the entries strictly between `from` and `to` off the boundary.
    pub(super) fn bury_between(&mut self, from: EntryId, to: EntryId) {
        let mut at = self.next(from);
        while at != to {
            self.get_mut(at).alive = false;
            at = self.next(at);
        }
    }

    /// Takes a whole cycle off the boundary.
    pub(super) fn bury_cycle(&mut self, from: EntryId) {
        self.bury_between(from, from);
        self.get_mut(from).alive = false;
    }

    /// Nodes of each boundary cycle, longest first.
    pub(super) fn cycles(&self) -> Vec<Vec<u32>> {
        let mut seen = vec![false; self.entries.len()];
        let mut cycles = Vec::new();
        for start in 0..self.entries.len() {
            if seen[start] || !self.entries[start].alive {
                continue;
            }
            let mut cycle = Vec::new();
            let mut at = start;
            while !seen[at] {
                seen[at] = true;
                cycle.push(self.entries[at].node);
                at = self.entries[at].next.0 as usize;
            }
            cycles.push(cycle);
        }
        cycles.sort_by_key(|c| std::cmp::Reverse(c.len()));
        cycles
    }
}
