//! Sparse Cholesky factorisation with the symbolic part kept.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::perm::PermRef;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::supernodal::{
    SupernodalLltRef, SymbolicSupernodalCholesky, factorize_supernodal_numeric_llt,
    factorize_supernodal_numeric_llt_scratch,
};
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side, Spec};

/// The matrix has a pivot that is not positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NotPositive;

/// A symmetric sparse matrix (lower triangle by columns) and its Cholesky factor.
///
/// Single-threaded on purpose: the fronts of a sheet are too small for threads inside a factorisation
/// to pay (they lose), and one thread keeps every bit.
pub(super) struct Factor {
    pattern: SymbolicSparseColMat<u32>,
    symbolic: SymbolicCholesky<u32>,
    /// Lower triangle, in the order of [`Factor::pattern`].
    pub(super) values: Vec<f64>,
    factor: Vec<f64>,
    scratch: MemBuffer,
}

/// Fill-reducing order of a graph given by its upper triangle: `(order, place)` with `order[k]` the
/// vertex eliminated k-th and `place` its inverse.
pub(super) fn order(n: usize, ptr: &[u32], row: &[u32]) -> (Vec<u32>, Vec<u32>) {
    let graph = SymbolicSparseColMatRef::new_checked(n, n, ptr, None, row);
    let (mut order, mut place) = (vec![0; n], vec![0; n]);
    let mut mem = MemBuffer::new(amd::order_maybe_unsorted_scratch::<u32>(n, row.len()));
    let stack = MemStack::new(&mut mem);
    amd::order_maybe_unsorted(&mut order, &mut place, graph, amd::Control::default(), stack)
        .expect("the graph fits 32-bit indices: its caller counted them");
    (order, place)
}

impl Factor {
    /// Analyses a pattern given in elimination order.
    pub(super) fn new(ptr: Vec<u32>, row: Vec<u32>) -> Self {
        let n = ptr.len() - 1;
        let same: Vec<u32> = (0..n as u32).collect();
        let values = vec![0.0; row.len()];
        let pattern = SymbolicSparseColMat::new_checked(n, n, ptr, None, row);
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..Default::default()
        };
        let keep = SymmetricOrdering::Custom(PermRef::new_checked(&same, &same, n));
        let symbolic = factorize_symbolic_cholesky(pattern.as_ref(), Side::Lower, keep, params)
            .expect("the factor fits memory and 32-bit indices");
        let mut new = Self {
            pattern,
            symbolic,
            values,
            factor: Vec::new(),
            scratch: MemBuffer::new(faer::dyn_stack::StackReq::EMPTY),
        };
        let raw = new.raw();
        let len = raw.len_val();
        let need =
            factorize_supernodal_numeric_llt_scratch::<u32, f64>(raw, Par::Seq, Spec::default())
                .or(raw.solve_in_place_scratch::<f64>(1, Par::Seq));
        // Written, not only reserved: else the first factorisation pays for the pages.
        new.factor.resize(len, f64::NAN);
        new.scratch = MemBuffer::new(need);
        new
    }

    fn raw(&self) -> &SymbolicSupernodalCholesky<u32> {
        match self.symbolic.raw() {
            SymbolicCholeskyRaw::Supernodal(raw) => raw,
            SymbolicCholeskyRaw::Simplicial(_) => unreachable!("supernodes are forced in `new`"),
        }
    }

    /// Column starts and row indices of the lower triangle.
    pub(super) fn pattern(&self) -> (&[u32], &[u32]) {
        (self.pattern.col_ptr(), self.pattern.row_idx())
    }

    /// Entries of the factor.
    pub(super) fn fill(&self) -> usize {
        self.factor.len()
    }

    /// Adds `shift` to the diagonal: the first entry of every column.
    pub(super) fn shift(&mut self, shift: f64) {
        let (ptr, values) = (self.pattern.col_ptr(), &mut self.values);
        for at in &ptr[..ptr.len() - 1] {
            values[*at as usize] += shift;
        }
    }

    /// Factorises the present values.
    pub(super) fn factorise(&mut self) -> Result<(), NotPositive> {
        let SymbolicCholeskyRaw::Supernodal(raw) = self.symbolic.raw() else {
            unreachable!("supernodes are forced in `new`")
        };
        let matrix = SparseColMatRef::new(self.pattern.as_ref(), &self.values[..]);
        let stack = MemStack::new(&mut self.scratch);
        factorize_supernodal_numeric_llt(
            &mut self.factor,
            matrix,
            LltRegularization::default(),
            raw,
            Par::Seq,
            stack,
            Spec::default(),
        )
        .map(|_| ())
        .map_err(|_| NotPositive)
    }

    /// Solves in place with the factor of the last successful [`Factor::factorise`].
    pub(super) fn solve(&mut self, rhs: &mut [f64]) {
        self.solve_many(rhs, 1);
    }

    /// Solves for several right-hand sides, one after the other in `rhs`. Reading the factor is what a
    /// solve costs: four at once take little more than one.
    pub(super) fn solve_many(&mut self, rhs: &mut [f64], columns: usize) {
        let need = self.raw().solve_in_place_scratch::<f64>(columns, Par::Seq);
        if columns > 1 && self.scratch.len() < need.unaligned_bytes_required() {
            self.scratch = MemBuffer::new(need);
        }
        let SymbolicCholeskyRaw::Supernodal(raw) = self.symbolic.raw() else {
            unreachable!("supernodes are forced in `new`")
        };
        let n = rhs.len() / columns;
        SupernodalLltRef::new(raw, &self.factor[..]).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(rhs, n, columns),
            Par::Seq,
            MemStack::new(&mut self.scratch),
        );
    }
}
