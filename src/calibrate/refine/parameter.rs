//! What a prediction rests on, and how well it was known before the piece was measured.

use super::figure::State;
use super::measured::MeasuredPiece;
use crate::calibrate::model::Parameter;
use crate::material::{Fibre, PresetOverride, preset, preset_keys};
use crate::predict::{Reading, Variant, Variants};

/// What may turn out otherwise than stated.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Moves {
    /// Size of a stitch (0) or a row (1) by a stated gauge, as the log of a factor.
    Gauge(usize, usize),
    /// A preset.
    Preset(String),
    /// Growth of the stitches along the work.
    Drift,
    /// Change of size by washing along the rows (0) or up them (1), log of the ratio.
    Wash(usize),
    /// Share of the pinned stretch that stays; the preset it stands for, if the fibre has one.
    Set(Option<String>),
}

/// A parameter and the limits it cannot pass, both in standard deviations from its mean.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Free {
    pub(super) known: Parameter<Moves>,
    pub(super) limits: [f64; 2],
}

impl Free {
    /// Value at `z` standard deviations from what was expected.
    pub(super) fn value(&self, z: f64) -> f64 {
        self.known.value(self.known.mean + self.known.sd * z)
    }
}

/// Presets that shape a piece lying flat. Moduli and rigidities are left out: where nothing pulls, they
/// move nothing that a tape shows.
fn shapes(key: &str) -> bool {
    let craft = key.starts_with("crochet.") || key.starts_with("knit.");
    let stiff = [".membrane.", ".bending.", "softer"].iter().any(|part| key.contains(part));
    let strand = key.starts_with("strand.") && !key.ends_with("_stiffness");
    (craft && !stiff) || strand || key == "selvage.lean"
}

/// Everything that could explain why the piece came out otherwise.
pub(super) fn parameters(
    trials: &Variants<'_>,
    reading: &Reading,
    measured: &MeasuredPiece,
) -> Vec<Free> {
    let mut list = Vec::new();
    let free = |of, mean, sd| Parameter { of, mean, sd, log: false };
    let none = [f64::NEG_INFINITY, f64::INFINITY];
    for (i, gauge) in reading.header.gauges.iter().enumerate() {
        for (way, count) in [gauge.stitches, gauge.rows].into_iter().enumerate() {
            let Some(count) = count else { continue };
            // Read to half a stitch, and one maker matches a swatch only so well.
            let matched = preset("hand.makers_matched").map_or(0.0, |p| p.value);
            let sd = (0.5 / count).hypot(matched);
            list.push(Free { known: free(Moves::Gauge(i, way), 0.0, sd), limits: none });
        }
    }
    let unmeasured = |key: &&str| {
        reading.header.gauges.is_empty() && key.starts_with("yarn_class.") && !key.ends_with(".tex")
    };
    for key in preset_keys().filter(|key| shapes(key) || unmeasured(key)) {
        let Some(value) = trials.preset(key) else { continue };
        list.extend(
            Parameter::ranged(Moves::Preset(key.into()), key, value)
                .map(|known| Free { limits: limits(key, &known), known }),
        );
    }
    let drift = preset("hand.makers_drift").map_or(0.0, |p| p.value);
    let stated = trials.run().hand.drift;
    list.push(Free { known: free(Moves::Drift, stated, drift), limits: none });
    if !measured.before.is_empty() {
        // As for swatches: 19 of them, measured before and after washing.
        for (way, sd) in [0.074, 0.049].into_iter().enumerate() {
            list.push(Free { known: free(Moves::Wash(way), 0.0, sd), limits: none });
        }
    }
    if !measured.released.is_empty() {
        list.push(set(reading));
    }
    list
}

/// Limits of a preset that is a share of a whole, or cannot be below zero.
fn limits(key: &str, known: &Parameter<Moves>) -> [f64; 2] {
    let Some(entry) = preset(key) else { return [f64::NEG_INFINITY, f64::INFINITY] };
    let [least, most] = entry.range;
    let z = |x: f64| (if known.log { x.ln() } else { x } - known.mean) / known.sd;
    let low = if least == 0.0 { z(0.0).min(0.0) } else { f64::NEG_INFINITY };
    let high = if most == 1.0 && entry.unit == "1" { z(1.0).max(0.0) } else { f64::INFINITY };
    [low, high]
}

fn set(reading: &Reading) -> Free {
    let fibre = reading.header.yarns.iter().find_map(|y| y.fibre.clone()).unwrap_or_default();
    let key = Fibre::from_words(&fibre).map(|fibre| format!("blocking.set.{}", fibre.name()));
    let key = key.filter(|key| preset(key).is_some());
    let (mean, sd) = match key.as_deref().and_then(preset) {
        Some(entry) => (entry.value, (entry.range[1] - entry.range[0]) / 4.0),
        // Lace keeps .5 to .9 of the pinned stretch (two makers' shawls).
        None => (0.75, 0.15),
    };
    let known = Parameter { of: Moves::Set(key), mean, sd, log: false };
    let limits = [-known.mean / known.sd, (1.0 - known.mean) / known.sd];
    Free { known, limits }
}

/// The variant of the pattern at a point, and what is not in it: washing and set.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Point {
    pub(super) variant: Variant,
    pub(super) wash: [f64; 2],
    pub(super) set: f64,
}

impl Point {
    /// At `z` standard deviations from what was expected.
    pub(super) fn at(free: &[Free], z: &[f64], gauges: usize) -> Self {
        let mut variant = Variant { gauges: vec![[1.0; 2]; gauges], ..Variant::default() };
        let (mut wash, mut set) = ([0.0; 2], 0.0);
        for (parameter, z) in free.iter().zip(z) {
            let value = parameter.value(*z);
            match &parameter.known.of {
                Moves::Gauge(i, way) => variant.gauges[*i][*way] = value.exp(),
                // What stays as it was expected is left to the page, which keeps its bits.
                Moves::Preset(_) if *z == 0.0 => {}
                Moves::Preset(key) => {
                    variant.presets.push(PresetOverride { key: key.clone(), value });
                }
                Moves::Drift => variant.drift = Some(value),
                Moves::Wash(way) => wash[*way] = value,
                Moves::Set(_) => set = value,
            }
        }
        Self { variant, wash, set }
    }

    pub(super) fn state<'t>(&self, trial: &'t crate::predict::Varied) -> State<'t> {
        State { trial, wash: self.wash, set: self.set }
    }
}
