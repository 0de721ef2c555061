//! The figures told of a calibration, each with its interval, and what makes one weaker.

use super::CalibrationError;
use super::fit::{Estimate, Known, UNSEEN, Z95};
use super::model::{Model, Of, Point};
use super::swatch::{Counting, Swatch, SwatchFile};
use crate::material::{Material, MaterialInput, Worked, YarnInput};
use crate::units::Length;

/// A figure told: in words, its preset, unit, and whether it is positive.
struct Figure<'f> {
    what: String,
    key: Option<&'f str>,
    unit: &'f str,
    positive: bool,
    /// Known beforehand by presets alone, not by the size of the stitches: yarn.
    sized: bool,
    weaker: Option<String>,
    of: Box<dyn Fn(&Point) -> f64 + 'f>,
}

impl Known<'_, '_> {
    /// All figures. A preset of yarn is told where the yarn of its stitch is.
    pub(super) fn estimates(&self) -> Result<Vec<Estimate>, CalibrationError> {
        let told = figures(self.model);
        let mut list =
            told.iter().map(|figure| self.estimate(figure)).collect::<Result<Vec<_>, _>>()?;
        for w in stitches(self.model.file) {
            let what = format!("yarn in {}", w.words());
            let Some(key) = w.yarn_key() else { continue };
            let told = list.iter().any(|e| e.what == what && e.measured);
            list.iter_mut().filter(|e| e.what == key).for_each(|e| e.measured = told);
        }
        Ok(list)
    }

    /// Value and interval; that of a positive figure is even on the logarithm.
    fn estimate(&self, figure: &Figure<'_>) -> Result<Estimate, CalibrationError> {
        let value = (figure.of)(&self.point()?);
        let counts = |of: &Of| !figure.sized || matches!(of, Of::Preset(_));
        let (interval, [now, before]) = if figure.positive {
            let spread = self.spread(&|p| (figure.of)(p).ln(), &counts)?;
            let factor = (Z95 * spread[0]).exp();
            ([value / factor, value * factor], spread)
        } else {
            let spread = self.spread(&*figure.of, &counts)?;
            let half = Z95 * spread[0];
            ([value - half, value + half], spread)
        };
        Ok(Estimate {
            what: figure.what.clone(),
            key: figure.key.map(str::to_owned),
            value,
            unit: figure.unit.to_owned(),
            interval,
            measured: now < UNSEEN * before,
            weaker: figure.weaker.clone(),
        })
    }
}

/// Stitches of the swatches and those asked for besides, in the order of the file.
pub(super) fn stitches(file: &SwatchFile) -> Vec<Worked> {
    let mut list: Vec<Worked> = Vec::new();
    for w in file.swatches.iter().flat_map(|s| &s.rows_in).chain(&file.want) {
        if !list.contains(w) {
            list.push(*w);
        }
    }
    list
}

/// Why the width (0) or the height (1) of a stitch is weaker than read off a swatch of its own with a tape;
/// `None` when it was.
fn weaker(file: &SwatchFile, w: Worked, way: usize) -> Option<String> {
    let read = |s: &&Swatch| match way {
        0 => s.width.is_some() && s.stitches.is_some(),
        _ => s.height.is_some() && s.rows.is_some(),
    };
    let own = |s: &&Swatch| s.rows_in.iter().all(|x| *x == w);
    let plain = |s: &&Swatch| s.counted == Counting::Each && s.shift.is_none();
    let swatches = || file.swatches.iter();
    if swatches().filter(own).filter(read).any(|s| plain(&s)) {
        return None;
    }
    if let Some(s) = swatches().filter(own).find(read) {
        return Some(match (s.counted, s.shift) {
            (_, Some(_)) => format!("swatch `{}` is on the bias", s.name),
            (Counting::Line, _) => {
                format!("swatch `{}` is a gauge line, read to half a stitch", s.name)
            }
            _ => format!("swatch `{}` is counted by repeats", s.name),
        });
    }
    if let Some(s) = swatches().filter(|s| s.rows_in.contains(&w)).find(read) {
        return Some(format!("swatch `{}` has rows of other stitches too", s.name));
    }
    if swatches().any(|s| own(&s)) {
        let (this, other) = if way == 0 { ("width", "height") } else { ("height", "width") };
        return Some(format!("no {this} was measured: from its {other} by the preset's ratio"));
    }
    let first = swatches().find_map(|s| s.rows_in.first())?;
    Some(format!("no swatch of it: from {} by the presets' ratios", first.words()))
}

/// Width of the first stitch at the middle of what the table of yarn weights prints, where the yarn is stated.
fn usual_width(model: &Model<'_>) -> Option<Length> {
    let file = model.file;
    let yarn = YarnInput { tex: Some(file.tex?), ..YarnInput::default() };
    let texture = model.reference.texture;
    let input = MaterialInput { yarn, texture, ..MaterialInput::of(file.craft) };
    Some(Material::resolve(&input).ok()?.width_of(model.reference))
}

fn figures<'f>(model: &'f Model<'_>) -> Vec<Figure<'f>> {
    let mut list: Vec<Figure<'f>> = Vec::new();
    let mut add = |what: String, unit, positive, weaker, of: Box<dyn Fn(&Point) -> f64 + 'f>| {
        let sized = what.starts_with("yarn in");
        list.push(Figure { what, key: None, unit, positive, sized, weaker, of });
    };
    for w in stitches(model.file) {
        let name = w.words();
        let width = move |p: &Point| p.material.width_of(w).to_mm();
        let height = move |p: &Point| p.material.height_of(w).to_mm();
        let yarn = move |p: &Point| p.material.yarn_of(w).to_mm();
        let why = |way| weaker(model.file, w, way);
        add(format!("width of {name}"), "mm", true, why(0), Box::new(width));
        add(format!("height of {name}"), "mm", true, why(1), Box::new(height));
        add(format!("yarn in {name}"), "mm", true, None, Box::new(yarn));
    }
    if let Some(usual) = usual_width(model) {
        let size = move |p: &Point| 100.0 * (p.material.width_of(model.reference) / usual);
        let what = "your hand: width of a stitch against the usual one for this yarn";
        add(what.into(), "%", true, weaker(model.file, model.reference, 0), Box::new(size));
    }
    for (way, name) in ["width", "height"].into_iter().enumerate() {
        let change = move |p: &Point| 100.0 * p.wash[way].exp_m1();
        add(format!("change of {name} by washing"), "%", false, None, Box::new(change));
    }
    let set = |p: &Point| p.set;
    add("share of the pinned stretch that stays".into(), "1", false, None, Box::new(set));
    let lean = |p: &Point| p.lean.atan().to_degrees();
    add("lean of the columns".into(), "degrees", false, None, Box::new(lean));
    for parameter in &model.parameters {
        let Of::Preset(key) = &parameter.of else { continue };
        let unit = crate::material::preset(key).map_or("", |entry| entry.unit.as_str());
        let of = Box::new(move |p: &Point| p.preset(key));
        list.push(Figure {
            what: key.clone(),
            key: Some(key),
            unit,
            positive: parameter.log,
            sized: false,
            weaker: None,
            of,
        });
    }
    list
}

/// The figures at known parameters, in the order of the estimates.
#[cfg(test)]
pub(super) fn estimates_at(model: &Model<'_>, point: &Point) -> Vec<f64> {
    figures(model).iter().map(|figure| (figure.of)(point)).collect()
}
