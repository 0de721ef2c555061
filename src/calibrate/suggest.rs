//! The measurements of a file, the one to take next, and front matter from the result.

use std::fmt::Write as _;

use super::CalibrationError;
use super::fit::{Estimate, Known, Measurement};
use super::model::{Point, rigidity_from_overhang};
use super::swatch::{Swatch, SwatchFile};
use crate::material::Worked;
use crate::units::{Length, Mass};

/// A measurement worth taking.
#[derive(Debug, Clone, PartialEq)]
pub struct Suggestion {
    /// What to measure, on which swatch.
    pub what: String,
    /// Factor by which it would narrow what it bears on.
    pub narrower: f64,
}

/// All that was measured, in the order of the file.
pub(super) fn measurements<'f>(file: &'f SwatchFile) -> Vec<Measurement<'f>> {
    let mut list = Vec::new();
    for s in &file.swatches {
        let error = s.error.to_mm();
        let mut add = |what: &str, value: Option<f64>, sigma: f64, predicted: Predicted<'f>| {
            if let Some(value) = value {
                let words = format!("{what} of swatch `{}`", s.name);
                list.push(Measurement { words, value, sigma, predicted });
            }
        };
        let mm = |l: Option<Length>| l.map(Length::to_mm);
        add(
            "width",
            mm(s.width).filter(|_| s.stitches.is_some()),
            error,
            Box::new(|p| p.tape(s)[0]),
        );
        add("height", mm(s.height).filter(|_| s.rows.is_some()), error, Box::new(|p| p.tape(s)[1]));
        // Read with a protractor to about a degree.
        let slant = s.slant.map(crate::units::Angle::to_degrees);
        add("slant", slant, 1.0, Box::new(|p| p.slant(s).to_degrees()));
        let before = |way: usize| move |p: &Point| p.tape(s)[way] * (-p.wash[way]).exp();
        add("width before washing", mm(s.before[0]), error, Box::new(before(0)));
        add("height before washing", mm(s.before[1]), error, Box::new(before(1)));
        if let Some(tex) = file.tex {
            let grams = s.grams.map(Mass::to_grams);
            let weight = move |p: &Point| p.yarn(s) * tex / 1000.0;
            add("weight", grams, s.scale.to_grams(), Box::new(weight));
        }
        let unravelled = s.unravelled.map(Length::to_m);
        // A crimped yarn is pulled straight to about 1 %.
        add(
            "unravelled yarn",
            unravelled,
            0.01 * unravelled.unwrap_or(1.0),
            Box::new(|p| p.yarn(s)),
        );
        if let Some(h) = s.hung {
            let predicted = move |p: &Point| p.hung(s, h.mass, h.along_rows);
            add("hung length", Some(h.length.to_mm()), error, Box::new(predicted));
            if let Some((length, hours)) = h.later {
                let predicted = move |p: &Point| p.hung_for(s, &h, hours);
                add("later hung length", Some(length.to_mm()), error, Box::new(predicted));
            }
        }
        overhang(s, &mut add);
        diagonals(s, error, &mut add);
        if let Some([under, after]) = s.pinned {
            for (way, name) in ["released width", "released height"].into_iter().enumerate() {
                let predicted = move |p: &Point| {
                    let free = p.tape(s)[way];
                    free + p.set * (under[way].to_mm() - free)
                };
                add(name, Some(after[way].to_mm()), error, Box::new(predicted));
            }
        }
    }
    list
}

type Predicted<'s> = Box<dyn Fn(&Point) -> f64 + 's>;
type Add<'a, 's> = &'a mut dyn FnMut(&str, Option<f64>, f64, Predicted<'s>);

/// The rigidity enters by its logarithm: the overhang's error counts three times, the angle is read to
/// about 2 degrees, 5 %.
fn overhang<'s>(s: &'s Swatch, add: Add<'_, 's>) {
    let Some(o) = s.overhang else { return };
    let sigma = (3.0 * s.error.to_mm() / o.overhang.to_mm()).hypot(0.05);
    let predicted = move |p: &Point| {
        let Some(mass) = p.areal_mass(s) else { return f64::NAN };
        (p.rigidity(s, o.along_rows) / rigidity_from_overhang(mass, o.overhang, o.angle)).ln()
    };
    add("overhang", Some(0.0), sigma, Box::new(predicted));
}

/// Diagonals of a parallelogram leaning by s over its height: AC - BD.
fn diagonals<'s>(s: &'s Swatch, error: f64, add: Add<'_, 's>) {
    let Some([ac, bd]) = s.diagonals else { return };
    let predicted = move |p: &Point| {
        let (w, h) = (p.width(s), p.height(s));
        let shift = p.lean * h;
        (w + shift).hypot(h) - (w - shift).hypot(h)
    };
    let sigma = error * std::f64::consts::SQRT_2;
    add("difference of the diagonals", Some((ac - bd).to_mm()), sigma, Box::new(predicted));
}

/// A ruler comes before a scale and a scale before a weight: what is more trouble must tell so much more.
const TROUBLE: f64 = 4.0;

/// Of all measurements not yet taken on the swatches, the one that shrinks the joint uncertainty most:
/// the gain is (1/2) ln(1 + g' C g / s2) for a figure of gradient g read with error s.
pub(super) fn suggest(known: &Known<'_, '_>) -> Result<Option<Suggestion>, CalibrationError> {
    let mut best: Option<(f64, String)> = None;
    for swatch in &known.model.file.swatches {
        for (what, trial) in untaken(swatch, known.model.file.tex.is_some()) {
            let file = SwatchFile { swatches: vec![trial], ..known.model.file.clone() };
            let Some(m) = measurements(&file).pop() else { continue };
            let g = known.gradient(&*m.predicted)?;
            let variance = (g.transpose() * &known.covariance * &g)[0] / (m.sigma * m.sigma);
            if best.as_ref().is_none_or(|(most, _)| variance > TROUBLE * *most) {
                best = Some((variance, format!("{what} of swatch `{}`", swatch.name)));
            }
        }
    }
    // Less than a tenth narrower is not worth an evening.
    Ok(best
        .map(|(variance, what)| Suggestion { what, narrower: (1.0 + variance).sqrt() })
        .filter(|s| s.narrower > 1.1))
}

/// The swatch with one more measurement, and nothing else, for each that it lacks.
fn untaken(s: &Swatch, tex: bool) -> Vec<(&'static str, Swatch)> {
    let bare = Swatch {
        width: None,
        height: None,
        grams: None,
        unravelled: None,
        hung: None,
        overhang: None,
        diagonals: None,
        before: [None, None],
        slant: None,
        pinned: None,
        stitches: s.stitches.or(Some(20.0)),
        rows: s.rows.or(Some(20.0)),
        ..s.clone()
    };
    // What is read does not matter, only how it answers to the parameters.
    let any = Length::cm(10.0);
    let hang =
        |along_rows| super::Hung { mass: Mass::grams(100.0), length: any, along_rows, later: None };
    let mut list = Vec::new();
    let mut lacking = |lacks: bool, what, with: Swatch| {
        if lacks {
            list.push((what, with));
        }
    };
    lacking(s.width.is_none(), "the width", Swatch { width: Some(any), ..bare.clone() });
    lacking(s.height.is_none(), "the height", Swatch { height: Some(any), ..bare.clone() });
    let any_angle = Some(crate::units::Angle::degrees(30.0));
    let slanted = Swatch { slant: any_angle, ..bare.clone() };
    lacking(s.shift.is_some() && s.slant.is_none(), "the slant of its edges", slanted);
    let weight = Swatch { grams: Some(Mass::grams(5.0)), ..bare.clone() };
    lacking(tex && s.grams.is_none() && s.unravelled.is_none(), "the weight", weight);
    let pulled = |along| Swatch { hung: Some(hang(along)), ..bare.clone() };
    let [up, along] = [false, true].map(|way| s.hung.is_none_or(|h| h.along_rows != way));
    lacking(up, "the length with 100 g hung from the last row", pulled(false));
    lacking(along, "the width with 100 g hung from one side", pulled(true));
    list
}

/// Gauges and presets that were measured, ready to paste into a pattern.
pub(super) fn front_matter(
    known: &Known<'_, '_>,
    estimates: &[Estimate],
) -> Result<String, CalibrationError> {
    let mut out = String::new();
    if known.model.file.craft == crate::stitches::Craft::Crochet {
        out.push_str("# Stitch names are US terms; a page in UK terms needs them changed.\n");
    }
    out.push_str("gauge = [\n");
    let mut told: Vec<Worked> = Vec::new();
    let point = known.point()?;
    for &w in known.model.file.swatches.iter().flat_map(|s| &s.rows_in) {
        if told.contains(&w) {
            continue;
        }
        told.push(w);
        // What follows by a ratio, the pattern's own reading works out again.
        let measured = |what: &str| {
            let by_ratio =
                |e: &Estimate| e.weaker.as_ref().is_some_and(|why| why.contains("ratio"));
            estimates
                .iter()
                .any(|e| e.measured && !by_ratio(e) && e.what == format!("{what} of {}", w.words()))
        };
        let mut parts = Vec::new();
        if measured("width") {
            parts.push(format!("stitches = {:.2}", 100.0 / point.material.width_of(w).to_mm()));
        }
        if measured("height") {
            parts.push(format!("rows = {:.2}", 100.0 / point.material.height_of(w).to_mm()));
        }
        if !parts.is_empty() {
            let _ = writeln!(
                out,
                "  {{ {}, over = \"10 cm\", in = \"{}\" }},",
                parts.join(", "),
                w.words()
            );
        }
    }
    out.push_str("]\n");
    // Ratios and widths are in the gauges already.
    let kept = |e: &&Estimate| {
        let key = e.key.as_deref().unwrap_or_default();
        e.measured && !key.is_empty() && !key.contains(".ratio.") && !key.contains(".width.")
    };
    let presets: Vec<&Estimate> = estimates.iter().filter(kept).collect();
    if !presets.is_empty() {
        out.push_str("\n[presets]\n");
        for e in presets {
            let [least, most] = e.interval;
            let key = e.key.as_deref().unwrap_or_default();
            let _ =
                writeln!(out, "{key} = {:.4}  # 95 %: {least:.4} to {most:.4} {}", e.value, e.unit);
        }
    }
    Ok(out)
}
