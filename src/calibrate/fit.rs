//! Least squares: the parameters that fit all measurements best, and how sure each is.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::CalibrationError;
use super::model::{CREEP, Model, Of, Parameter, Point};
use super::suggest::{Suggestion, suggest};
use super::swatch::SwatchFile;
use crate::material::{Counted, GaugeInput, GaugeOver, Material, MaterialInput, Worked, YarnInput};

/// Two-sided 95 % point of the normal distribution.
pub(super) const Z95: f64 = 1.959_964;
/// A residual beyond so many reading errors is no reading error: 1 in 16 000 by chance.
const CONFLICT: f64 = 4.0;
/// Known no better than this share of what the presets' ranges say: not measured.
pub(super) const UNSEEN: f64 = 0.7;

/// One result.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// In words, e.g. "width of double crochet".
    pub what: String,
    /// The preset it stands in for, if it is one.
    pub key: Option<String>,
    /// Best value.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// 95 % interval.
    pub interval: [f64; 2],
    /// The measurements say more about it than the presets' ranges did.
    pub measured: bool,
    /// Why it is weaker than a stitch measured in a swatch of its own, if it is.
    pub weaker: Option<String>,
}

/// What the swatches say.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Everything fitted or worked out of it.
    pub estimates: Vec<Estimate>,
    /// The measurement that would sharpen it most.
    pub next: Option<Suggestion>,
    /// Root mean square of the residuals over their reading errors; about 1 when these are right.
    pub misfit: f64,
    /// Measurements used.
    pub measurements: u32,
    /// What a reader should know.
    pub notes: Vec<String>,
    /// Front matter for the pattern: gauges and presets that were measured.
    pub front_matter: String,
}

/// One measured number with what the model says of it.
pub(super) struct Measurement<'a> {
    pub(super) words: String,
    pub(super) value: f64,
    pub(super) sigma: f64,
    pub(super) predicted: Box<dyn Fn(&Point) -> f64 + 'a>,
}

/// Fits all swatches of a file together.
///
/// # Errors
/// [`CalibrationError`]: measurements that contradict each other, sizes that cannot be worked.
pub fn calibrate(file: &SwatchFile) -> Result<Calibration, CalibrationError> {
    let model = model(file)?;
    let measurements = super::suggest::measurements(file);
    let start =
        DVector::from_iterator(model.parameters.len(), model.parameters.iter().map(|p| p.mean));
    model.at(start.as_slice())?;
    jammed(file)?;
    let problem = Problem { model: &model, measurements: &measurements, theta: start };
    let (problem, report) = LevenbergMarquardt::new().minimize(problem);
    if !report.termination.was_successful() {
        model.at(problem.theta.as_slice())?;
        return Err(CalibrationError::NotSettled(format!("{:?}", report.termination)));
    }
    let point = model.at(problem.theta.as_slice())?;
    let residuals: Vec<f64> =
        measurements.iter().map(|m| ((m.predicted)(&point) - m.value) / m.sigma).collect();
    let words: Vec<String> = measurements.iter().map(|m| m.words.clone()).collect();
    conflict(&words, &residuals)?;
    let covariance = problem.covariance()?;
    let known = Known { model: &model, theta: problem.theta, covariance };
    let estimates = known.estimates()?;
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    Ok(Calibration {
        front_matter: super::suggest::front_matter(&known, &estimates)?,
        next: suggest(&known)?,
        misfit: (squares / residuals.len() as f64).sqrt(),
        measurements: residuals.len() as u32,
        notes: file.notes.iter().cloned().chain(vague_weights(file, &estimates)).collect(),
        estimates,
    })
}

/// A weight read so coarsely that it says no more of the yarn than the presets do.
fn vague_weights(file: &SwatchFile, estimates: &[Estimate]) -> Option<String> {
    let told = estimates.iter().any(|e| e.what.starts_with("yarn in") && e.measured);
    let weighed = file.swatches.iter().find(|s| s.grams.is_some()).filter(|_| !told)?;
    let error = weighed.scale.to_grams();
    Some(if file.tex.is_none() {
        format!(
            "swatch `{}` was weighed, but no ball is stated, so grams are no length",
            weighed.name
        )
    } else {
        format!(
            "the weight of swatch `{}`, read to {error} g, tells no more of the yarn than the presets do: \
             weigh a larger one, or state the error of a finer scale (scale = 0.1)",
            weighed.name
        )
    })
}

/// Refuses a knit stitch narrower than its yarn allows, by the swatch's own count.
fn jammed(file: &SwatchFile) -> Result<(), CalibrationError> {
    for s in &file.swatches {
        let (Some(&over), Some(count), Some(width)) = (s.rows_in.first(), s.stitches, s.width)
        else {
            continue;
        };
        let gauge = GaugeInput {
            over: GaugeOver::Stitch(over),
            stitches: Some(Counted { count, over: width }),
            rows: None,
        };
        let found = Material::resolve(&MaterialInput {
            gauges: vec![gauge],
            yarn: YarnInput { tex: file.tex, ..YarnInput::default() },
            texture: over.texture,
            ..MaterialInput::of(file.craft)
        });
        if let Err(fault) = found {
            return Err(CalibrationError::Swatch { swatch: s.name.clone(), fault });
        }
    }
    Ok(())
}

/// Parameters of the stitches in a file, and what the presets know of them.
pub(super) fn model(file: &SwatchFile) -> Result<Model<'_>, CalibrationError> {
    let first = file.swatches.first().and_then(|s| s.rows_in.first());
    let Some(&reference) = first else {
        return Err(CalibrationError::File(
            "no swatch is given: expected [[swatch]] with `in`, and what was measured".into(),
        ));
    };
    let yarn = YarnInput { tex: file.tex, ..YarnInput::default() };
    let usual = Material::resolve(&MaterialInput {
        yarn,
        texture: reference.texture,
        ..MaterialInput::of(file.craft)
    })?;
    // A gauge can be anything before it is measured: a factor of e either way. Where only its width or only
    // its height was, the other follows by the preset's ratio, as sure as that is.
    let both = file.swatches.iter().any(|s| s.width.is_some() || s.before[0].is_some())
        && file.swatches.iter().any(|s| s.height.is_some() || s.before[1].is_some());
    let range = reference.ratio_key().and_then(|key| Parameter::preset(&key));
    let ratio_sd = range.filter(|_| !both).map_or(1.0, |p| p.sd);
    let size = |of, value: f64, sd| Parameter { of, mean: value.ln(), sd, log: true };
    let (width, height) = (usual.width_of(reference), usual.height_of(reference));
    let free = |of, mean, sd| Parameter { of, mean, sd, log: false };
    let mut parameters = vec![
        size(Of::Width, width.to_mm(), 1.0),
        size(Of::Ratio, height / width, ratio_sd),
        // Spread of 19 swatches measured before and after washing (blogs of makers, each a single piece):
        // 7.4 points of width, 4.9 of length.
        free(Of::Wash(0), 0.0, 0.074),
        free(Of::Wash(1), 0.0, 0.049),
        // Lace keeps .5 to .9 of the pinned stretch (two makers' shawls).
        free(Of::Set, 0.75, 0.15),
        free(Of::Lean, 0.0, 0.3),
    ];
    let mut stitches: Vec<Worked> =
        file.swatches.iter().flat_map(|s| &s.rows_in).chain(&file.want).copied().collect();
    stitches.sort_unstable();
    stitches.dedup();
    let mut keys: Vec<String> =
        stitches.iter().flat_map(|w| w.preset_keys(*w != reference)).collect();
    keys.sort_unstable();
    keys.dedup();
    parameters.extend(keys.iter().filter_map(|key| Parameter::preset(key)));
    if file.swatches.iter().any(|s| s.hung.is_some_and(|h| h.later.is_some())) {
        let usual = crate::material::preset(CREEP).map_or(0.0, |p| p.value);
        parameters.extend(Parameter::ranged(Of::Preset(CREEP.into()), CREEP, usual));
    }
    Ok(Model { file, parameters, reference })
}

/// Names the measurement farthest off and the one that pulls hardest the other way; where none does, it
/// is what was known before that no measurement can move so far. Residuals are in reading errors.
pub(super) fn conflict(words: &[String], residuals: &[f64]) -> Result<(), CalibrationError> {
    let Some(worst) = (0..residuals.len())
        .max_by(|a, b| residuals[*a].abs().total_cmp(&residuals[*b].abs()))
        .filter(|i| residuals[*i].abs() > CONFLICT)
    else {
        return Ok(());
    };
    let pull = |i: &usize| -residuals[*i] * residuals[worst].signum();
    let against = (0..residuals.len())
        .filter(|i| *i != worst && pull(i) > 1.0)
        .max_by(|a, b| pull(a).total_cmp(&pull(b)));
    Err(CalibrationError::Conflict {
        first: words[worst].clone(),
        second: against.map_or_else(
            || "what the gauge and the presets' ranges allow".into(),
            |i| words[i].clone(),
        ),
        off: residuals[worst].abs(),
    })
}

struct Problem<'p, 'a> {
    model: &'p Model<'a>,
    measurements: &'p [Measurement<'a>],
    theta: DVector<f64>,
}

impl Problem<'_, '_> {
    /// Measurements first, then what was known before, all over their standard errors.
    fn residuals_at(&self, theta: &[f64]) -> Option<DVector<f64>> {
        let point = self.model.at(theta).ok()?;
        let measured =
            self.measurements.iter().map(|m| ((m.predicted)(&point) - m.value) / m.sigma);
        let prior = self.model.parameters.iter().zip(theta).map(|(p, x)| (x - p.mean) / p.sd);
        let all: Vec<f64> = measured.chain(prior).collect();
        all.iter().all(|r| r.is_finite()).then(|| DVector::from_vec(all))
    }

    /// Inverse of the Gauss-Newton matrix at the solution; the prior rows keep it regular.
    fn covariance(&self) -> Result<DMatrix<f64>, CalibrationError> {
        let singular = || CalibrationError::NotSettled("the covariance is singular".into());
        let j = self.jacobian().ok_or_else(singular)?;
        (j.transpose() * j).cholesky().map(|c| c.inverse()).ok_or_else(singular)
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, '_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.theta.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.theta.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.residuals_at(self.theta.as_slice())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let columns: Option<Vec<DVector<f64>>> = (0..self.theta.len())
            .map(|i| {
                let [up, down] = around(&self.theta, i);
                let difference =
                    self.residuals_at(up.as_slice())? - self.residuals_at(down.as_slice())?;
                Some(difference / (2.0 * STEP))
            })
            .collect();
        Some(DMatrix::from_columns(&columns?))
    }
}

/// Step of central differences; parameters are logarithms or of order one.
const STEP: f64 = 1e-5;

fn around(theta: &DVector<f64>, i: usize) -> [DVector<f64>; 2] {
    [STEP, -STEP].map(|step| {
        let mut moved = theta.clone();
        moved[i] += step;
        moved
    })
}

/// The solution and how sure it is.
pub(super) struct Known<'m, 'a> {
    pub(super) model: &'m Model<'a>,
    pub(super) theta: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
}

impl Known<'_, '_> {
    pub(super) fn point(&self) -> Result<Point, CalibrationError> {
        Ok(self.model.at(self.theta.as_slice())?)
    }

    /// Gradient of a figure with respect to the parameters.
    pub(super) fn gradient(
        &self,
        of: &dyn Fn(&Point) -> f64,
    ) -> Result<DVector<f64>, CalibrationError> {
        let slopes: Result<Vec<f64>, CalibrationError> = (0..self.theta.len())
            .map(|i| {
                let [up, down] = around(&self.theta, i);
                let at = |theta: DVector<f64>| self.model.at(theta.as_slice()).map(|p| of(&p));
                Ok((at(up)? - at(down)?) / (2.0 * STEP))
            })
            .collect();
        Ok(DVector::from_vec(slopes?))
    }

    /// Standard deviation of a figure now, and before anything was measured by those parameters that
    /// `counts` names.
    pub(super) fn spread(
        &self,
        of: &dyn Fn(&Point) -> f64,
        counts: &dyn Fn(&Of) -> bool,
    ) -> Result<[f64; 2], CalibrationError> {
        let g = self.gradient(of)?;
        let now = (g.transpose() * &self.covariance * &g)[0].max(0.0).sqrt();
        let before: f64 = self
            .model
            .parameters
            .iter()
            .zip(g.iter())
            .filter(|(p, _)| counts(&p.of))
            .map(|(p, g)| (g * p.sd).powi(2))
            .sum();
        Ok([now, before.sqrt()])
    }
}
