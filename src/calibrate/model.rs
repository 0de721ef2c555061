//! What a swatch of given parameters would measure.

use super::swatch::{Swatch, SwatchFile};
use crate::material::{
    Counted, GaugeInput, GaugeOver, Material, MaterialError, MaterialInput, PresetOverride, Worked,
    YarnInput, preset,
};
use crate::units::{Length, Mass};

/// Preset of the growth while hanging.
pub(super) const CREEP: &str = "hang.creep";

/// Standard gravity, m/s2.
const G: f64 = 9.806_65;

/// What a parameter stands for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Of {
    /// Width of the reference stitch, mm.
    Width,
    /// Height of the reference stitch over its width.
    Ratio,
    /// A preset.
    Preset(String),
    /// Change of width and of height by washing, log of the ratio.
    Wash(usize),
    /// Share of the pinned stretch that stays.
    Set,
    /// Lean of the columns, as the tangent of its angle.
    Lean,
}

/// A parameter with what is known of it before anything is measured.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Parameter<O = Of> {
    pub(super) of: O,
    /// Mean before measuring; the logarithm where `log`.
    pub(super) mean: f64,
    /// Standard deviation before measuring, on the same scale.
    pub(super) sd: f64,
    /// Positive, fitted as its logarithm.
    pub(super) log: bool,
}

impl<O> Parameter<O> {
    /// Its value at a point of its scale.
    pub(super) fn value(&self, x: f64) -> f64 {
        if self.log { x.exp() } else { x }
    }

    /// A preset in force at `value` and known as its range says: the range is taken as four standard
    /// deviations, on the logarithm where no value of it is zero or less.
    pub(super) fn ranged(of: O, key: &str, value: f64) -> Option<Self> {
        let [least, most] = preset(key)?.range;
        if least >= most {
            return None;
        }
        let log = least > 0.0 && value > 0.0;
        let scale = |x: f64| if log { x.ln() } else { x };
        Some(Self { of, mean: scale(value), sd: (scale(most) - scale(least)) / 4.0, log })
    }
}

impl Parameter {
    /// A positive preset known as its range says.
    pub(super) fn preset(key: &str) -> Option<Self> {
        let entry = preset(key)?;
        Self::ranged(Of::Preset(key.into()), key, entry.value).filter(|p| p.log)
    }
}

/// A swatch file under given parameters.
#[derive(Debug)]
pub(super) struct Model<'a> {
    pub(super) file: &'a SwatchFile,
    pub(super) parameters: Vec<Parameter>,
    pub(super) reference: Worked,
}

/// The parameters in force.
#[derive(Debug)]
pub(super) struct Point {
    pub(super) material: Material,
    pub(super) wash: [f64; 2],
    pub(super) set: f64,
    pub(super) lean: f64,
    presets: Vec<PresetOverride>,
}

impl Model<'_> {
    /// The material at `theta`.
    pub(super) fn at(&self, theta: &[f64]) -> Result<Point, MaterialError> {
        let (mut width, mut ratio) = (Length::mm(1.0), 1.0);
        let (mut wash, mut set, mut lean) = ([0.0; 2], 0.0, 0.0);
        let mut overrides = Vec::new();
        for (parameter, x) in self.parameters.iter().zip(theta) {
            let value = parameter.value(*x);
            match &parameter.of {
                Of::Width => width = Length::mm(value),
                Of::Ratio => ratio = value,
                Of::Preset(key) => overrides.push(PresetOverride { key: key.clone(), value }),
                Of::Wash(way) => wash[*way] = value,
                Of::Set => set = value,
                Of::Lean => lean = value,
            }
        }
        let one = |over| Some(Counted { count: 1.0, over });
        let material = Material::resolve(&MaterialInput {
            gauges: vec![GaugeInput {
                over: GaugeOver::Stitch(self.reference),
                stitches: one(width),
                rows: one(width * ratio),
            }],
            yarn: YarnInput { tex: self.file.tex, ..YarnInput::default() },
            overrides: overrides.clone(),
            texture: self.reference.texture,
            ..MaterialInput::of(self.file.craft)
        })?;
        Ok(Point { material, wash, set, lean, presets: overrides })
    }
}

impl Point {
    /// A preset in force here; not a number for one that is no parameter.
    pub(super) fn preset(&self, key: &str) -> f64 {
        self.presets.iter().find(|p| p.key == key).map_or(f64::NAN, |p| p.value)
    }

    /// Row of a swatch by its number, from 0.
    fn row(swatch: &Swatch, row: usize) -> Worked {
        swatch.rows_in[row % swatch.rows_in.len()]
    }

    /// Means over the swatch's rows, a part of a row counting as its part.
    fn over_rows(swatch: &Swatch, of: impl Fn(Worked) -> f64) -> f64 {
        let rows = swatch.rows.unwrap_or(swatch.rows_in.len() as f64);
        let whole = rows.floor() as usize;
        let sum: f64 = (0..whole).map(|r| of(Self::row(swatch, r))).sum();
        sum + (rows - rows.floor()) * of(Self::row(swatch, whole))
    }

    fn row_count(swatch: &Swatch) -> f64 {
        swatch.rows.unwrap_or(swatch.rows_in.len() as f64)
    }

    /// Width over the stated stitches, mm: the mean of the rows' own widths.
    pub(super) fn width(&self, swatch: &Swatch) -> f64 {
        let each = Self::over_rows(swatch, |w| self.material.width_of(w).to_mm());
        swatch.stitches.unwrap_or(1.0) * each / Self::row_count(swatch)
    }

    /// Height over the stated rows, mm.
    pub(super) fn height(&self, swatch: &Swatch) -> f64 {
        Self::over_rows(swatch, |w| self.material.height_of(w).to_mm())
    }

    /// Width and height as a tape reads them (mm): on the bias square to the edges and along them, which
    /// slant by atan(a w / h) where each row of height h shifts by a stitches of width w (geometry of the
    /// parallelogram).
    pub(super) fn tape(&self, swatch: &Swatch) -> [f64; 2] {
        let (width, height) = (self.width(swatch), self.height(swatch));
        let cos = self.slant(swatch).cos();
        [width * cos, height / cos]
    }

    /// Slant of the edges of a swatch worked on the bias (rad); none for one that is not.
    pub(super) fn slant(&self, swatch: &Swatch) -> f64 {
        let Some(shift) = swatch.shift else { return 0.0 };
        let width = Self::over_rows(swatch, |w| self.material.width_of(w).to_mm());
        (shift * width / self.height(swatch)).atan()
    }

    /// Yarn in all of it, m.
    pub(super) fn yarn(&self, swatch: &Swatch) -> f64 {
        let each = Self::over_rows(swatch, |w| self.material.yarn_of(w).to_m());
        swatch.stitches.unwrap_or(1.0) * each
    }

    /// Mass per area, kg/m2.
    pub(super) fn areal_mass(&self, swatch: &Swatch) -> Option<f64> {
        let grams = match swatch.grams {
            Some(mass) => mass.to_grams(),
            None => self.material.yarn_mass(Length::m(self.yarn(swatch)))?.to_grams(),
        };
        let area_m2 = self.width(swatch) * self.height(swatch) * 1e-6;
        Some(grams * 1e-3 / area_m2)
    }

    /// Length (mm) under a weight P on a swatch of width W, length L and mass m per area:
    /// L (1 + e) with P/W + m g L / 2 = E e/(1 - (e/Lk)²), the uniform pull of the membrane law towards
    /// its locking strain Lk; the squeeze at the clamp is left out, so the swatch should be longer than
    /// wide.
    pub(super) fn hung(&self, swatch: &Swatch, load: Mass, along_rows: bool) -> f64 {
        let (width, height) = (self.width(swatch), self.height(swatch));
        let (across, long) = if along_rows { (height, width) } else { (width, height) };
        let own = self.areal_mass(swatch).unwrap_or(0.0) * G * long * 1e-3 / 2.0;
        let pull = load.to_grams() * 1e-3 * G / (across * 1e-3) + own;
        let law = |w: Worked| {
            let law = self.material.membrane(w);
            if along_rows { [law.e1, law.locking[0]] } else { [law.e2, law.locking[1]] }
        };
        // Rows hung one below another give way one after another; side by side they share the pull.
        let strain = if along_rows {
            let mean = |k: usize| Self::over_rows(swatch, |w| law(w)[k]) / Self::row_count(swatch);
            stretched(pull / mean(0), mean(1))
        } else {
            let grown = |w: Worked| {
                let [modulus, locking] = law(w);
                stretched(pull / modulus, locking) * self.material.height_of(w).to_mm()
            };
            Self::over_rows(swatch, grown) / height
        };
        long * (1.0 + strain)
    }

    /// Length (mm) after hanging for a time: the first growth e0 has become e0 (1 + k log10(1 + t/t0)), the
    /// growth law of the presets `hang.creep` (k) and `hang.creep_start` (t0, h).
    pub(super) fn hung_for(&self, swatch: &Swatch, hung: &super::Hung, hours: f64) -> f64 {
        let long = if hung.along_rows { self.width(swatch) } else { self.height(swatch) };
        let first = self.hung(swatch, hung.mass, hung.along_rows) - long;
        let [own, start] = self.material.creep();
        let k = self.presets.iter().find(|p| p.key == CREEP).map_or(own, |p| p.value);
        long + first * (1.0 + k * (1.0 + hours / start).log10())
    }

    /// Bending rigidity, N m.
    pub(super) fn rigidity(&self, swatch: &Swatch, along_rows: bool) -> f64 {
        let way = usize::from(!along_rows);
        let mean = Self::over_rows(swatch, |w| self.material.bending(w)[way]);
        mean / Self::row_count(swatch)
    }
}

/// Strain e of a finitely extensible spring under a force of `linear` times its modulus: the root of
/// linear = e/(1 - (e/L)²).
fn stretched(linear: f64, locking: f64) -> f64 {
    2.0 * linear / (1.0 + (1.0 + (2.0 * linear / locking).powi(2)).sqrt())
}

/// Rigidity per width (N m) of a strip of `areal_mass` (kg/m2) whose tip, `overhang` past the edge, hangs
/// at `angle` below the level: B = m g O^3 / K with K of the heavy elastica (Bickley, Phil. Mag. 17 (1934)
/// 603, from memory). At 41.5 degrees K = 8.00, which is B = m g C^3 with the bending length C = O/2.
pub fn rigidity_from_overhang(
    areal_mass: f64,
    overhang: Length,
    angle: crate::units::Angle,
) -> f64 {
    areal_mass * G * overhang.to_m().powi(3) / elastica_load(angle.to_degrees())
}

/// K = m g L^3 / B at a chord angle in degrees, between the tabled solutions of the elastica (collocation
/// to 1e-10) by straight lines in the logarithm of K against that of the angle's tangent.
fn elastica_load(degrees: f64) -> f64 {
    const TABLE: [(f64, f64); 13] = [
        (3.573, 0.5),
        (7.100, 1.0),
        (13.857, 2.0),
        (20.033, 3.0),
        (30.0, 4.9209),
        (41.487, 8.0),
        (41.5, 8.0042),
        (43.0, 8.5163),
        (46.851, 10.0),
        (60.0, 18.2169),
        (61.786, 20.0),
        (74.898, 50.0),
        (80.361, 100.0),
    ];
    let x = |angle: f64| angle.to_radians().tan().ln();
    let upper = TABLE.iter().position(|(a, _)| *a >= degrees).unwrap_or(TABLE.len() - 1).max(1);
    let ((a, k), (b, l)) = (TABLE[upper - 1], TABLE[upper]);
    let share = (x(degrees) - x(a)) / (x(b) - x(a));
    (k.ln() + share * (l.ln() - k.ln())).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Angle;

    /// The instrument's angle of 41.5 degrees makes the bending length half the overhang.
    #[test]
    fn the_instrument_angle_halves_the_overhang() {
        assert!((elastica_load(41.5) / 8.0042 - 1.0).abs() < 1e-3);
        // Small angles: the tip of a cantilever sinks by K/8 of its length.
        let small = rigidity_from_overhang(0.2, Length::cm(5.0), Angle::degrees(1.0));
        let closed = 0.2 * G * 0.05_f64.powi(3) / (8.0 * 1.0_f64.to_radians().tan());
        assert!((small / closed - 1.0).abs() < 0.02, "{small} {closed}");
    }
}
