//! The selvage run: how stitches between a row end and the outermost shaping lean.
//!
//! Where a row shapes at its end, the body beside the shaping is shifted by whole stitches against the
//! row below. The few plain stitches outside (and the selvage's half cell) cannot stay rectangles
//! without pulling the edge in; they take a parallelogram rest shape leaning by that shift. This makes
//! the geometry of a bias piece consistent; with a wide plain edge real fabric does pull in, so it is
//! an assumption with a preset.

/// Plain cells that may stand between the row end's half cell and the outermost shaping.
const REACH: usize = 5;

/// An increase and a decrease at most this many cells apart balance each other (lace pairs, shells).
const PAIR: usize = 3;

/// Leans of the cells of a row, in stitches along +x.
///
/// `excess[i]` is how many stitches wider the top of cell `i` is than its bottom; cells run from the
/// right end of the row to the left end, the half cells of the two selvages included.
pub(super) fn leans(excess: &[f64]) -> Vec<f64> {
    let mut lean = vec![0.0; excess.len()];
    let open = unpaired(excess);
    let half = excess.len() / 2;
    let right: Vec<_> = open.iter().copied().filter(|&(i, _)| i < half.max(1)).collect();
    let left: Vec<_> = open.iter().rev().copied().filter(|&(i, _)| i >= half.max(1)).collect();
    if let Some((inner, shift)) = outermost(right.iter().map(|&(i, e)| (i, e))) {
        lean[..inner].fill(shift);
    }
    let last = excess.len().saturating_sub(1);
    if let Some((inner, shift)) = outermost(left.iter().map(|&(i, e)| (last - i, e))) {
        let from = excess.len() - inner;
        lean[from..].fill(-shift);
    }
    lean
}

/// The outermost shaping, given as (cells outside it, excess) counted from the row end: how many cells
/// lie outside and the shift. Shapings in adjoining cells count as one; where they go on beyond the reach of an
/// edge the whole row is gathered or spread, and no body is shifted by them.
fn outermost(events: impl Iterator<Item = (usize, f64)>) -> Option<(usize, f64)> {
    let mut run: Option<(usize, f64, usize)> = None;
    for (at, excess) in events {
        match run {
            None if at <= REACH + 1 => run = Some((at, excess, at)),
            Some((first, sum, last)) if at == last + 1 => run = Some((first, sum + excess, at)),
            _ => break,
        }
    }
    run.filter(|(first, _, last)| last - first < REACH).map(|(first, sum, _)| (first, sum))
}

/// Shapings left over after neighbouring increases and decreases have cancelled.
fn unpaired(excess: &[f64]) -> Vec<(usize, f64)> {
    let mut stack: Vec<(usize, f64)> = Vec::new();
    for (i, &e) in excess.iter().enumerate() {
        let mut rest = (e * 2.0).round() / 2.0;
        while rest != 0.0 {
            match stack.last_mut() {
                Some((at, open)) if *open * rest < 0.0 && i - *at <= PAIR => {
                    let cancelled = open.abs().min(rest.abs()).copysign(rest);
                    *open += cancelled;
                    rest -= cancelled;
                    if *open == 0.0 {
                        stack.pop();
                    }
                }
                _ => {
                    stack.push((i, rest));
                    rest = 0.0;
                }
            }
        }
    }
    stack
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bias_row_leans_outward_at_the_increase_and_inward_at_the_decrease() {
        // From the right: half cell, increase wedge, body, decrease wedge, half cell.
        let mut excess = vec![0.0; 20];
        excess[1] = 1.0;
        excess[18] = -1.0;
        let lean = leans(&excess);
        assert_eq!(lean[0], 1.0);
        assert_eq!(lean[19], 1.0);
        assert!(lean[1..19].iter().all(|&l| l == 0.0));
    }

    #[test]
    fn a_row_gathered_all_along_leans_nothing() {
        let mut excess = vec![-1.0; 60];
        (excess[0], excess[59]) = (0.0, 0.0);
        assert!(leans(&excess).iter().all(|&l| l == 0.0));
    }

    #[test]
    fn plain_edge_stitches_outside_the_shaping_lean_with_it() {
        let mut excess = vec![0.0; 30];
        excess[3] = 1.0;
        let lean = leans(&excess);
        assert_eq!(&lean[..4], &[1.0, 1.0, 1.0, 0.0]);
    }

    #[test]
    fn balanced_lace_and_shaping_far_from_the_end_lean_nothing() {
        let mut lace = vec![0.0; 40];
        for i in (2..36).step_by(3) {
            lace[i] = 1.0;
            lace[i + 1] = -1.0;
        }
        assert!(leans(&lace).iter().all(|&l| l == 0.0));
        let mut centred = vec![0.0; 40];
        centred[19] = 1.0;
        assert!(leans(&centred).iter().all(|&l| l == 0.0));
    }
}
