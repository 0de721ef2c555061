//! Least squares on the laid piece: Gauss and Newton's method with derivatives taken once and improved
//! from step to step (C. G. Broyden, Math. Comp. 19, 1965: the rank-one update).

use nalgebra::{DMatrix, DVector};

use super::CannotRefine;
use super::figure::Wanted;
use super::parameter::{Free, Point};
use crate::calibrate::CalibrationError;
use crate::calibrate::fit::conflict;
use crate::predict::{Variant, Variants, Varied};

/// Steps before it is called unsettled.
const STEPS: usize = 20;
/// Step of the first derivatives, in standard deviations of what was known before: wide against what
/// the settling leaves, narrow against what bends.
const WIDE: f64 = 0.5;
/// A step shorter than this, in the same measure, ends it.
const SETTLED: f64 = 0.01;

/// The fit. Parameters are in standard deviations from what was expected, so that their prior
/// covariance is the unit matrix.
pub(super) struct Fitted {
    /// Parameters that move any figure of this piece.
    pub(super) free: Vec<Free>,
    pub(super) z: DVector<f64>,
    /// Covariance after measuring.
    pub(super) covariance: DMatrix<f64>,
    /// Figure per standard deviation of a parameter, a row for each figure.
    pub(super) slopes: DMatrix<f64>,
    /// Figures as predicted, and as refined, of the piece laid in full.
    pub(super) before: Vec<f64>,
    pub(super) after: Vec<f64>,
    pub(super) trials: [Varied; 2],
}

/// Fits `parameters` to what was measured of `wanted`.
///
/// # Errors
/// A trial that cannot be laid, measurements that contradict each other, steps that do not end.
pub(super) fn fit(
    trials: &mut Variants<'_>,
    parameters: Vec<Free>,
    wanted: &[Wanted],
) -> Result<Fitted, CannotRefine> {
    let gauges = trials.run().header.gauges.len();
    let (free, base, slopes) = derivatives(trials, parameters, wanted, gauges)?;
    let before = figures(&base, &free, &vec![0.0; free.len()], wanted, gauges);
    let mut state =
        State { z: DVector::zeros(free.len()), figures: DVector::from_vec(before.clone()), slopes };
    let mut settled = false;
    for _ in 0..STEPS {
        if advance(&mut state, trials, &free, wanted, gauges)? < SETTLED {
            settled = true;
            break;
        }
    }
    if !settled {
        // What contradicts itself pulls to and fro without end.
        agree(wanted, state.figures.as_slice())?;
        let why = format!("the steps had not ended after {STEPS}");
        return Err(CalibrationError::NotSettled(why).into());
    }
    let point = Point::at(&free, state.z.as_slice(), gauges);
    let now = trials.lay(&point.variant)?;
    let after = figures(&now, &free, state.z.as_slice(), wanted, gauges);
    agree(wanted, &after)?;
    let singular = || CalibrationError::NotSettled("the covariance is singular".into());
    let covariance = state.normal(wanted).cholesky().map(|c| c.inverse()).ok_or_else(singular)?;
    let State { z, slopes, .. } = state;
    let trials = [base, now];
    Ok(Fitted { free, z, covariance, slopes, before, after, trials })
}

fn figures(trial: &Varied, free: &[Free], z: &[f64], wanted: &[Wanted], gauges: usize) -> Vec<f64> {
    let point = Point::at(free, z, gauges);
    wanted.iter().map(|w| (w.of)(&point.state(trial))).collect()
}

/// Drops the parameters that move nothing, and gives the derivatives of the others.
fn derivatives(
    trials: &mut Variants<'_>,
    all: Vec<Free>,
    wanted: &[Wanted],
    gauges: usize,
) -> Result<(Vec<Free>, Varied, DMatrix<f64>), CannotRefine> {
    let mut points = vec![vec![0.0; all.len()]];
    let steps: Vec<f64> =
        all.iter().map(|free| if free.limits[1] < WIDE { -WIDE } else { WIDE }).collect();
    for (i, step) in steps.iter().enumerate() {
        let mut z = vec![0.0; all.len()];
        z[i] = *step;
        points.push(z);
    }
    let variants: Vec<Variant> =
        points.iter().map(|z| Point::at(&all, z, gauges).variant).collect();
    let done = trials.near(&variants)?;
    let told: Vec<Vec<f64>> =
        done.iter().zip(&points).map(|(t, z)| figures(t, &all, z, wanted, gauges)).collect();
    let (mut free, mut columns) = (Vec::new(), Vec::new());
    for ((parameter, step), moved) in all.into_iter().zip(&steps).zip(&told[1..]) {
        let column: Vec<f64> =
            moved.iter().zip(&told[0]).map(|(new, old)| (new - old) / step).collect();
        if column.iter().any(|slope| *slope != 0.0) {
            free.push(parameter);
            columns.push(DVector::from_vec(column));
        }
    }
    let base = done.into_iter().next();
    let base = base.ok_or_else(|| CalibrationError::NotSettled("nothing was laid".into()))?;
    if columns.is_empty() {
        return Err(
            CalibrationError::NotSettled("no parameter moves what was measured".into()).into()
        );
    }
    Ok((free, base, DMatrix::from_columns(&columns)))
}

struct State {
    z: DVector<f64>,
    figures: DVector<f64>,
    slopes: DMatrix<f64>,
}

impl State {
    /// J' W J + 1, the unit matrix being what was known before.
    fn normal(&self, wanted: &[Wanted]) -> DMatrix<f64> {
        let mut normal = DMatrix::identity(self.z.len(), self.z.len());
        for (i, w) in wanted.iter().enumerate().filter(|(_, w)| w.value.is_some()) {
            let row = self.slopes.row(i) / w.sigma;
            normal += row.transpose() * row;
        }
        normal
    }

    /// Minus half the gradient of the sum of squares.
    fn pull(&self, wanted: &[Wanted]) -> DVector<f64> {
        let mut pull = -self.z.clone();
        for (i, w) in wanted.iter().enumerate() {
            let Some(value) = w.value else { continue };
            let off = (value - self.figures[i]) / (w.sigma * w.sigma);
            pull += self.slopes.row(i).transpose() * off;
        }
        pull
    }

    fn squares(z: &DVector<f64>, figures: &DVector<f64>, wanted: &[Wanted]) -> f64 {
        let off = |(figure, w): (&f64, &Wanted)| Some((figure - w.value?) / w.sigma);
        let measured: f64 = figures.iter().zip(wanted).filter_map(off).map(|r| r * r).sum();
        measured + z.norm_squared()
    }
}

/// One step, halved until it leads down; returns the longest part of it.
fn advance(
    state: &mut State,
    trials: &mut Variants<'_>,
    free: &[Free],
    wanted: &[Wanted],
    gauges: usize,
) -> Result<f64, CannotRefine> {
    let singular = || CalibrationError::NotSettled("the normal matrix is singular".into());
    let factor = state.normal(wanted).cholesky().ok_or_else(singular)?;
    let step = factor.solve(&state.pull(wanted));
    let now = State::squares(&state.z, &state.figures, wanted);
    let mut share = 1.0;
    for _ in 0..6 {
        let mut z = &state.z + &step * share;
        for (z, free) in z.iter_mut().zip(free) {
            *z = z.clamp(free.limits[0], free.limits[1]);
        }
        let moved = &z - &state.z;
        if moved.amax() < SETTLED {
            return Ok(moved.amax());
        }
        let variant = Point::at(free, z.as_slice(), gauges).variant;
        let trial = trials.near(&[variant])?.remove(0);
        let found = DVector::from_vec(figures(&trial, free, z.as_slice(), wanted, gauges));
        let unforeseen = &found - &state.figures - &state.slopes * &moved;
        state.slopes += unforeseen * moved.transpose() / moved.norm_squared();
        if State::squares(&z, &found, wanted) <= now {
            (state.z, state.figures) = (z, found);
            return Ok(moved.amax());
        }
        share /= 2.0;
    }
    // The next step goes by slopes that know of these.
    Ok(step.amax())
}

fn agree(wanted: &[Wanted], after: &[f64]) -> Result<(), CalibrationError> {
    let measured = wanted.iter().zip(after).filter_map(|(w, figure)| {
        Some((format!("{} ({})", w.words, in_words(w, w.value?)), (figure - w.value?) / w.sigma))
    });
    let (words, residuals): (Vec<String>, Vec<f64>) = measured.unzip();
    conflict(&words, &residuals)
}

fn in_words(w: &Wanted, value: f64) -> String {
    match w.unit {
        super::figure::Unit::Length => format!("{:.1} cm", value / 10.0),
        super::figure::Unit::Angle => format!("{value:.1} degrees"),
        super::figure::Unit::Mass => format!("{value:.1} g"),
    }
}
