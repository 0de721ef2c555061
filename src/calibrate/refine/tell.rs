//! What a refinement says: how wrong the prediction was, what moved, and what that explains.

use nalgebra::DVector;

use super::CannotRefine;
use super::figure::{Unit, Wanted};
use super::fit::Fitted;
use super::front::front_matter;
use super::parameter::{Free, Moves, Point};
use crate::calibrate::Suggestion;
use crate::calibrate::fit::{UNSEEN, Z95};
use crate::material::{Material, Worked, preset};
use crate::measure::copies_in_words;
use crate::pattern::Gauge;
use crate::predict::{Reading, Variants};
use crate::units::Length;

/// Part of a difference that one parameter explains, in the figure's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// The parameter, in words.
    pub what: String,
    /// What it adds to the figure.
    pub adds: f64,
}

/// A measured figure beside the predicted one. Lengths in mm, angles in degrees, masses in g.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The figure.
    pub what: String,
    /// Its unit.
    pub unit: Unit,
    /// As measured.
    pub measured: f64,
    /// Standard error of measuring it.
    pub error: f64,
    /// As predicted before.
    pub predicted: f64,
    /// Standard deviation of the prediction, by what was known before.
    pub sure: f64,
    /// As predicted now.
    pub refined: f64,
    /// What explains the difference, the largest first.
    pub causes: Vec<Cause>,
}

/// Something the prediction rests on, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// In words.
    pub what: String,
    /// The preset it is, if it is one.
    pub key: Option<String>,
    /// Its unit.
    pub unit: String,
    /// As it stood.
    pub before: f64,
    /// Best value now.
    pub value: f64,
    /// 95 % interval.
    pub interval: [f64; 2],
    /// Standard deviations of what was known before that it moved by.
    pub moved: f64,
    /// The measurements fix it on its own, not only together with others.
    pub measured: bool,
}

/// A size or yarn length of a stitch, mm, before and after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// As it stood.
    pub before: f64,
    /// Best value now.
    pub value: f64,
    /// 95 % interval.
    pub interval: [f64; 2],
    /// Known better than before.
    pub measured: bool,
}

/// A kind of stitch, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct StitchNow {
    /// In the trade's words.
    pub stitch: String,
    /// Rows that hold more of it than of any other; empty when there are none.
    pub rows: String,
    /// Width, height and yarn.
    pub sizes: [Size; 3],
}

/// What a finished piece says of the prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Refinement {
    /// What was measured, beside what was predicted.
    pub compared: Vec<Compared>,
    /// What moved, the most surprising first.
    pub moved: Vec<Moved>,
    /// What the prediction also rests on, and these measurements do not tell.
    pub unseen: Vec<String>,
    /// Kinds of stitch.
    pub stitches: Vec<StitchNow>,
    /// Root mean square of the differences over the errors of measuring, before and after.
    pub misfit: [f64; 2],
    /// The measurement that would sharpen it most.
    pub next: Option<Suggestion>,
    /// Front matter to paste, in the place of the pattern's own gauge and presets.
    pub front_matter: String,
}

/// Moves below this share of what was uncertain are not worth a line.
const STILL: f64 = 0.1;

/// Puts a fit into words and numbers.
pub(super) fn tell(
    trials: &Variants<'_>,
    reading: &Reading,
    fitted: &Fitted,
    wanted: &[Wanted],
) -> Result<Refinement, CannotRefine> {
    let gauges = &reading.header.gauges;
    let mut moved: Vec<Moved> =
        (0..fitted.free.len()).map(|i| parameter(fitted, i, gauges)).collect();
    let front_matter = front_matter(reading, &fitted.free, &moved);
    let unseen = |m: &&Moved| !m.measured && m.moved.abs() < STILL;
    let unseen: Vec<String> = moved.iter().filter(unseen).map(|m| m.what.clone()).collect();
    moved.retain(|m| m.measured || m.moved.abs() >= STILL);
    moved.sort_by(|a, b| b.moved.abs().total_cmp(&a.moved.abs()));
    let compared = compared(fitted, wanted, gauges);
    let rms = |of: fn(&Compared) -> f64| {
        let squares = compared.iter().map(|c| ((of(c) - c.measured) / c.error).powi(2));
        (squares.sum::<f64>() / compared.len() as f64).sqrt()
    };
    Ok(Refinement {
        misfit: [rms(|c| c.predicted), rms(|c| c.refined)],
        stitches: stitches(trials, fitted, gauges.len())?,
        next: next(fitted, wanted),
        compared,
        moved,
        unseen,
        front_matter,
    })
}

/// A parameter as told: stitches over a length for a gauge, per cent for a change.
fn parameter(fitted: &Fitted, i: usize, gauges: &[Gauge]) -> Moved {
    let free = &fitted.free[i];
    let (z, sd) = (fitted.z[i], fitted.covariance[(i, i)].sqrt());
    let told = |z: f64| told(free, z.clamp(free.limits[0], free.limits[1]), gauges);
    let (low, high) = (told(z - Z95 * sd), told(z + Z95 * sd));
    let (what, key, unit) = words(free, gauges);
    Moved {
        what,
        key,
        unit,
        before: told(0.0),
        value: told(z),
        interval: [low.min(high), low.max(high)],
        moved: z,
        measured: sd < UNSEEN,
    }
}

fn told(free: &Free, z: f64, gauges: &[Gauge]) -> f64 {
    let value = free.value(z);
    match &free.known.of {
        Moves::Gauge(i, way) => {
            let count = [gauges[*i].stitches, gauges[*i].rows][*way];
            count.unwrap_or(f64::NAN) / value.exp()
        }
        Moves::Preset(_) | Moves::Set(_) => value,
        Moves::Drift => 100.0 * value,
        Moves::Wash(_) => 100.0 * value.exp_m1(),
    }
}

/// What it is, its preset, its unit.
pub(super) fn words(free: &Free, gauges: &[Gauge]) -> (String, Option<String>, String) {
    match &free.known.of {
        Moves::Gauge(i, way) => {
            let gauge = &gauges[*i];
            let over = [gauge.stitches_over, gauge.rows_over][*way];
            let counted = [gauge.unit.as_str(), "rows"][*way];
            let counted = if counted == "sts" { "stitches" } else { counted };
            (format!("{counted} over {over} in {}", gauge.within), None, counted.into())
        }
        Moves::Preset(key) => preset_words(key),
        Moves::Drift => ("growth of the stitches, first row to last".into(), None, "%".into()),
        Moves::Wash(way) => {
            let size = ["along the rows", "up the rows"][*way];
            (format!("change {size} by washing"), None, "%".into())
        }
        Moves::Set(Some(key)) => preset_words(key),
        Moves::Set(None) => ("share of the pinned stretch that stays".into(), None, "1".into()),
    }
}

fn preset_words(key: &str) -> (String, Option<String>, String) {
    let entry = preset(key);
    let unit = entry.map_or("", |e| e.unit.as_str());
    (key.into(), Some(key.into()), unit.into())
}

fn compared(fitted: &Fitted, wanted: &[Wanted], gauges: &[Gauge]) -> Vec<Compared> {
    let one = |(k, w): (usize, &Wanted)| {
        let measured = w.value?;
        let slopes = fitted.slopes.row(k);
        let (before, after) = (fitted.before[k], fitted.after[k]);
        let mut causes: Vec<Cause> = (0..fitted.free.len())
            .map(|i| Cause {
                what: words(&fitted.free[i], gauges).0,
                adds: slopes[i] * fitted.z[i],
            })
            .filter(|c| c.adds.abs() > 0.1 * (after - before).abs())
            .collect();
        causes.sort_by(|a, b| b.adds.abs().total_cmp(&a.adds.abs()));
        Some(Compared {
            what: w.words.clone(),
            unit: w.unit,
            measured,
            error: w.sigma,
            predicted: before,
            sure: slopes.norm(),
            refined: after,
            causes,
        })
    };
    wanted.iter().enumerate().filter_map(one).collect()
}

fn stitches(
    trials: &Variants<'_>,
    fitted: &Fitted,
    gauges: usize,
) -> Result<Vec<StitchNow>, CannotRefine> {
    let around = sides(trials, fitted, gauges)?;
    let kinds = trials.kinds();
    let labels = trials.row_labels();
    let mut list: Vec<StitchNow> = Vec::new();
    for (worked, rows) in &kinds {
        let stitch = worked.words();
        // A knit and a purl of one ground are one stitch to the tape.
        if list.iter().any(|known| known.stitch == stitch) {
            continue;
        }
        let of: [fn(&Material, Worked) -> Length; 3] =
            [|m, w| m.width_of(w), |m, w| m.height_of(w), |m, w| m.yarn_of(w)];
        let sizes = of.map(|of| size(fitted, &around, &|m: &Material| of(m, *worked).to_mm()));
        let name = |row: u32| labels[row as usize].clone();
        let rows = if rows.is_empty() { String::new() } else { copies_in_words(rows, None, &name) };
        list.push(StitchNow { stitch, rows, sizes });
    }
    Ok(list)
}

/// The materials a little to either side of the fit, and how far apart, for each parameter.
fn sides(
    trials: &Variants<'_>,
    fitted: &Fitted,
    gauges: usize,
) -> Result<Vec<([Material; 2], f64)>, CannotRefine> {
    let step = |i: usize| {
        let limits = fitted.free[i].limits;
        let at = |by: f64| (fitted.z[i] + by).clamp(limits[0], limits[1]);
        let (low, high) = (at(-0.05), at(0.05));
        let material = |x: f64| {
            let mut z = fitted.z.clone();
            z[i] = x;
            let point = Point::at(&fitted.free, z.as_slice(), gauges);
            trials.material(&point.variant).map_err(crate::predict::Failure::Material)
        };
        Ok(([material(low)?, material(high)?], high - low))
    };
    (0..fitted.free.len()).map(step).collect()
}

fn size(fitted: &Fitted, around: &[([Material; 2], f64)], of: &dyn Fn(&Material) -> f64) -> Size {
    let slopes = around.iter().map(|([low, high], apart)| {
        let slope = (of(high) / of(low)).ln() / apart;
        if slope.is_finite() { slope } else { 0.0 }
    });
    let g = DVector::from_iterator(fitted.free.len(), slopes);
    let now = (g.transpose() * &fitted.covariance * &g)[0].max(0.0).sqrt();
    let value = of(&fitted.trials[1].material);
    let factor = (Z95 * now).exp();
    Size {
        before: of(&fitted.trials[0].material),
        value,
        interval: [value / factor, value * factor],
        measured: now < UNSEEN * g.norm(),
    }
}

/// Of the figures not yet measured, the one that would shrink the joint uncertainty most: the gain is
/// (1/2) ln(1 + g' C g / s2) for a figure of gradient g read with error s.
fn next(fitted: &Fitted, wanted: &[Wanted]) -> Option<Suggestion> {
    let gain = |(k, w): (usize, &Wanted)| {
        if w.value.is_some() {
            return None;
        }
        let g = fitted.slopes.row(k);
        Some(((g * &fitted.covariance * g.transpose())[0] / (w.sigma * w.sigma), w.words.clone()))
    };
    let best = wanted.iter().enumerate().filter_map(gain).max_by(|a, b| a.0.total_cmp(&b.0));
    best.map(|(variance, what)| Suggestion { what, narrower: (1.0 + variance).sqrt() })
        .filter(|s| s.narrower > 1.1)
}
