//! What limited-memory BFGS remembers (Nocedal, Math. Comp. 35 (1980) 773).

use std::collections::VecDeque;

/// Pairs of steps and force changes remembered.
const MEMORY: usize = 8;

struct Pair {
    step: Vec<f64>,
    change: Vec<f64>,
    product: f64,
}

/// The last few steps with the changes of the gradient along them.
#[derive(Default)]
pub(super) struct Memory {
    past: VecDeque<Pair>,
}

impl Memory {
    pub(super) fn is_empty(&self) -> bool {
        self.past.is_empty()
    }

    pub(super) fn clear(&mut self) {
        self.past.clear();
    }

    /// Two-loop recursion around `solve`, which applies a rough inverse of the Hessian in place.
    pub(super) fn direction(&self, gradient: &[f64], solve: impl FnOnce(&mut [f64])) -> Vec<f64> {
        let mut q: Vec<f64> = gradient.iter().map(|g| -g).collect();
        let mut shares = Vec::with_capacity(self.past.len());
        for p in self.past.iter().rev() {
            let a = dot(&p.step, &q) / p.product;
            q.iter_mut().zip(&p.change).for_each(|(q, y)| *q -= a * y);
            shares.push(a);
        }
        solve(&mut q);
        for (p, a) in self.past.iter().zip(shares.iter().rev()) {
            let b = dot(&p.change, &q) / p.product;
            q.iter_mut().zip(&p.step).for_each(|(q, s)| *q += (a - b) * s);
        }
        q
    }

    /// Keeps a pair if it shows the energy curving upward.
    pub(super) fn remember(&mut self, step: Vec<f64>, change: Vec<f64>) {
        let product = dot(&step, &change);
        if product > 1e-12 * (dot(&step, &step) * dot(&change, &change)).sqrt() {
            if self.past.len() == MEMORY {
                self.past.pop_front();
            }
            self.past.push_back(Pair { step, change, product });
        }
    }
}

/// Inner product; eight running sums, since one alone waits for each addition before the next.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let ((a, a_rest), (b, b_rest)) = (a.as_chunks::<8>(), b.as_chunks::<8>());
    let mut sums = [0.0; 8];
    for (a, b) in a.iter().zip(b) {
        for k in 0..8 {
            sums[k] += a[k] * b[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

pub(super) fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}
