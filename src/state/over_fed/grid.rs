//! Sums over parts of a laid piece: from line to line, and between two shares of the lines' lengths.

/// Parts a line is cut into.
const PARTS: usize = 64;

/// Sums over some cells: area, and times area the squeeze along the line, the modulus under squeeze, the
/// bending rigidity and the shear modulus.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Sums(pub(super) [f64; 5]);

impl Sums {
    fn add(&mut self, other: &Self, share: f64) {
        self.0.iter_mut().zip(other.0).for_each(|(to, from)| *to += share * from);
    }

    pub(super) fn area(&self) -> f64 {
        self.0[0]
    }

    /// Means of squeeze (N/m), modulus under squeeze (N/m), bending rigidity (N m) and shear modulus (N/m).
    pub(super) fn means(&self) -> [f64; 4] {
        let area = self.area().max(f64::MIN_POSITIVE);
        [1, 2, 3, 4].map(|k| self.0[k] / area)
    }
}

/// Neighbouring lines of a piece, rows or columns, with what lies along each.
#[derive(Debug)]
pub(super) struct Grid {
    /// Where each line begins across the piece, m, and where the last ends.
    across: Vec<f64>,
    /// Integrals from the first line and the lines' beginnings, `PARTS + 1` a line.
    whole: Vec<Sums>,
}

impl Grid {
    /// Cells as line, share of its length, and sums; `breadth` (m) of every line.
    pub(super) fn new(breadth: &[f64], cells: impl Iterator<Item = (usize, f64, Sums)>) -> Self {
        const WIDE: usize = PARTS + 1;
        let mut whole = vec![Sums::default(); WIDE * (breadth.len() + 1)];
        for (line, share, sums) in cells {
            let part = ((share * PARTS as f64) as usize).min(PARTS - 1);
            whole[WIDE * (line + 1) + part + 1].add(&sums, 1.0);
        }
        for line in 1..=breadth.len() {
            for part in 1..WIDE {
                let [before, below, both] = [
                    WIDE * line + part - 1,
                    WIDE * (line - 1) + part,
                    WIDE * (line - 1) + part - 1,
                ]
                .map(|at| whole[at]);
                let own = &mut whole[WIDE * line + part];
                own.add(&before, 1.0);
                own.add(&below, 1.0);
                own.add(&both, -1.0);
            }
        }
        let mut across = vec![0.0];
        across.extend(breadth.iter().scan(0.0, |sum, b| {
            *sum += b;
            Some(*sum)
        }));
        Self { across, whole }
    }

    pub(super) fn lines(&self) -> usize {
        self.across.len() - 1
    }

    /// Where the middle of a line lies across the piece, m.
    pub(super) fn middle(&self, line: usize) -> f64 {
        f64::midpoint(self.across[line], self.across[line + 1])
    }

    /// Share of all the lines' breadths that lies before the middle of a line.
    pub(super) fn share(&self, line: usize) -> f64 {
        self.middle(line) / self.across[self.lines()].max(f64::MIN_POSITIVE)
    }

    /// Length of a line, m: its area over its breadth.
    pub(super) fn length(&self, line: usize) -> f64 {
        let breadth = self.across[line + 1] - self.across[line];
        if breadth > 0.0 { self.of(line, [0.0, 1.0]).area() / breadth } else { 0.0 }
    }

    /// Sums over a line between two shares of its length.
    pub(super) fn of(&self, line: usize, span: [f64; 2]) -> Sums {
        self.between([line as f64, line as f64 + 1.0], span)
    }

    /// Sums over all that lies between two places across (m) and two shares of the lines' lengths.
    pub(super) fn within(&self, across: [f64; 2], span: [f64; 2]) -> Sums {
        self.between(across.map(|y| self.place(y)), span)
    }

    /// The place across the piece `y` (m), counted in lines.
    fn place(&self, y: f64) -> f64 {
        let line = self.across.partition_point(|a| *a <= y).clamp(1, self.lines()) - 1;
        let breadth = self.across[line + 1] - self.across[line];
        line as f64 + ((y - self.across[line]) / breadth.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
    }

    fn between(&self, lines: [f64; 2], span: [f64; 2]) -> Sums {
        let mut sums = self.integral(lines[1], span[1]);
        sums.add(&self.integral(lines[1], span[0]), -1.0);
        sums.add(&self.integral(lines[0], span[1]), -1.0);
        sums.add(&self.integral(lines[0], span[0]), 1.0);
        sums
    }

    /// All from the beginning to a place counted in lines and a share of their lengths.
    fn integral(&self, line: f64, share: f64) -> Sums {
        let split = |at: f64, most: usize| {
            let whole = (at.max(0.0) as usize).min(most - 1);
            (whole, at - whole as f64)
        };
        let (i, s) = split(line, self.lines());
        let (j, t) = split(share * PARTS as f64, PARTS);
        let mut sums = Sums::default();
        for (di, a) in [(0, 1.0 - s), (1, s)] {
            for (dj, b) in [(0, 1.0 - t), (1, t)] {
                sums.add(&self.whole[(PARTS + 1) * (i + di) + j + dj], a * b);
            }
        }
        sums
    }
}
