//! One piece under other gauges, presets and another drift of the hand than its page states, laid from
//! the solved one.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use super::flat::{Failure, Options, Reading, Run, Step, make, not_laid};
use super::{material, yarn, yarn_plan, yarn_rows};
use crate::fabric::Fabric;
use crate::fabric::Sizes;
use crate::fabric::worked;
use crate::material::Hand;
use crate::material::Material;
use crate::material::MaterialError;
use crate::material::PresetOverride;
use crate::material::Worked;
use crate::measure::Measurements;
use crate::measure::measure;
use crate::measure::row_label;
use crate::pattern::Header;
use crate::state::Nearby;
use crate::units::Length;

/// What differs from the page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Variant {
    /// Factors on the size of a stitch and of a row by each stated gauge, in the page's order; a gauge
    /// past the end stays as stated.
    pub gauges: Vec<[f64; 2]>,
    /// Values in the place of presets; they prevail over the page's and the user's own.
    pub presets: Vec<PresetOverride>,
    /// Growth of the stitches from the first row to the last, as a share, in the place of the page's.
    pub drift: Option<f64>,
}

/// The piece as a variant makes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Varied {
    /// Sizes, laws and yarn of its stitches.
    pub material: Material,
    /// What it measures lying flat.
    pub measured: Measurements,
    /// Yarn per colour, in the order of the piece's colours: stitches, tails and carried strands.
    pub yarn: Vec<Length>,
}

/// A solved piece, ready to be laid under variants of what it rests on.
pub struct Variants<'r> {
    reading: &'r Reading,
    options: Options,
    carried: bool,
    run: Run,
    sizes: Sizes,
    copies: BTreeMap<String, u32>,
    nearby: Option<Nearby>,
}

/// Most stitches laid in step with each other: what they need in memory is to stay below one solve of
/// a large piece.
const STITCHES: usize = 100_000;

impl<'r> Variants<'r> {
    /// Lays the piece as its page states it.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be laid.
    pub fn new(
        reading: &'r Reading,
        options: &Options,
        carried: bool,
        progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
    ) -> Result<Self, Failure> {
        let run = make(reading, &reading.piece, options, progress)?;
        let hand = Hand::new(run.hand, run.seed, run.piece.rows.len() as u32)?;
        let sizes = Sizes::new(&run.piece, &run.material, &hand);
        let copies = yarn_rows::copies(&reading.source);
        let options = options.clone();
        Ok(Self { reading, options, carried, run, sizes, copies, nearby: None })
    }

    /// The piece as its page states it.
    pub fn run(&self) -> &Run {
        &self.run
    }

    /// Labels of the rows, by their index.
    pub fn row_labels(&self) -> Vec<String> {
        let piece = &self.run.piece;
        (0..piece.rows.len() as u32).map(|row| row_label(piece, row)).collect()
    }

    /// Colours of the piece with the linear density (g/km) of the yarn stated for each.
    pub fn yarns(&self) -> Vec<(String, Option<f64>)> {
        let (piece, header) = (&self.run.piece, &self.reading.header);
        (0..piece.colours.len().max(1))
            .map(|i| {
                let name = piece.colours.get(i).cloned().unwrap_or_default();
                let stated = yarn_plan::stated_yarn(header, &name, i);
                (name, stated.and_then(material::tex).or_else(|| self.run.material.tex()))
            })
            .collect()
    }

    /// The value of a preset in force: the user's own, else the page's, else the built-in one.
    pub fn preset(&self, key: &str) -> Option<f64> {
        let own = material::stated(&self.reading.header);
        let replaced = own.iter().chain(&self.options.overrides).rfind(|p| p.key == key);
        replaced.map(|p| p.value).or_else(|| Some(crate::material::preset(key)?.value))
    }

    /// Kinds of stitch in the piece, sorted, with the rows that hold more of it than of any other.
    pub fn kinds(&self) -> BTreeMap<Worked, Vec<u32>> {
        let grounds = worked(&self.run.piece);
        let mut kinds: BTreeMap<Worked, Vec<u32>> = BTreeMap::new();
        for (r, row) in self.run.piece.rows.iter().enumerate() {
            let mut counts: BTreeMap<Worked, u32> = BTreeMap::new();
            for w in &grounds[row.stitches.0 as usize..row.stitches.1 as usize] {
                *counts.entry(*w).or_default() += 1;
            }
            for w in counts.keys() {
                kinds.entry(*w).or_default();
            }
            let most = counts.into_iter().max_by_key(|(_, n)| *n);
            if let Some((w, _)) = most {
                kinds.entry(w).or_default().push(r as u32);
            }
        }
        kinds
    }

    fn header(&self, variant: &Variant) -> Header {
        let mut header = self.reading.header.clone();
        for (gauge, [wider, taller]) in header.gauges.iter_mut().zip(&variant.gauges) {
            gauge.stitches = gauge.stitches.map(|n| n / wider);
            gauge.rows = gauge.rows.map(|n| n / taller);
        }
        header.maker.drift = variant.drift.or(header.maker.drift);
        header
    }

    /// Sizes and yarn of the stitches under a variant; nothing is laid.
    ///
    /// # Errors
    /// [`MaterialError`] when a value cannot be.
    pub fn material(&self, variant: &Variant) -> Result<Material, MaterialError> {
        let presets: Vec<PresetOverride> =
            self.options.overrides.iter().chain(&variant.presets).cloned().collect();
        material::material(&self.header(variant), &self.run.piece, &presets)
    }

    /// The page with a variant's values written into it, laid in full.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be laid.
    pub fn lay(&self, variant: &Variant) -> Result<Varied, Failure> {
        let reading = Reading { header: self.header(variant), ..self.reading.clone() };
        let mut options = self.options.clone();
        options.overrides.extend(variant.presets.iter().cloned());
        let done = make(&reading, &reading.piece, &options, &mut |_| ControlFlow::Continue(()))?;
        let yarn = self.yarn(&done.material);
        Ok(Varied { material: done.material, measured: done.prediction.measured, yarn })
    }

    /// Lays the piece under each variant. Those that leave every size as it is are not laid again.
    ///
    /// # Errors
    /// [`Failure`] of the first that cannot be laid.
    pub fn near(&mut self, variants: &[Variant]) -> Result<Vec<Varied>, Failure> {
        let lot = (STITCHES / self.run.piece.stitches.len().max(1)).clamp(1, 8);
        let mut trials = Vec::with_capacity(variants.len());
        let mut waiting = Vec::new();
        for variant in variants {
            let material = self.material(variant)?;
            let sizes = self.sizes(variant, &material)?;
            let yarn = self.yarn(&material);
            let measured = self.run.prediction.measured.clone();
            if sizes != self.sizes {
                waiting.push((trials.len(), sizes));
            }
            trials.push(Varied { material, measured, yarn });
        }
        for some in waiting.chunks(lot) {
            for ((at, _), measured) in some.iter().zip(self.settle(some, &trials)?) {
                trials[*at].measured = measured;
            }
        }
        Ok(trials)
    }

    fn sizes(&self, variant: &Variant, material: &Material) -> Result<Sizes, MaterialError> {
        let mut hand = self.run.hand;
        hand.drift = variant.drift.unwrap_or(hand.drift);
        let hand = Hand::new(hand, self.run.seed, self.run.piece.rows.len() as u32)?;
        Ok(Sizes::new(&self.run.piece, material, &hand))
    }

    fn settle(
        &mut self,
        some: &[(usize, Sizes)],
        trials: &[Varied],
    ) -> Result<Vec<Measurements>, Failure> {
        let run = &self.run;
        let fail = |fault| not_laid(&run.piece, fault);
        let nearby = match self.nearby.take() {
            Some(nearby) => nearby,
            None => Nearby::new(&run.fabric, &run.laid.shape).map_err(fail)?,
        };
        let nearby = self.nearby.insert(nearby);
        let fabrics: Vec<(Fabric, f64)> = some
            .iter()
            .map(|(_, sizes)| {
                let scale = extent(sizes) / extent(&self.sizes);
                (Fabric::new(&run.piece, sizes), scale)
            })
            .collect();
        let settled = nearby.settle(&fabrics, CLOSE).map_err(fail)?;
        let told = some.iter().zip(&fabrics).zip(settled);
        told.map(|(((at, _), (fabric, _)), settled)| {
            let yarn = yarn::by_colour(&run.piece, &trials[*at].material, run.hand.size());
            measure(&run.piece, fabric, &settled.shape, yarn).ok_or(Failure::NoRows)
        })
        .collect()
    }

    fn yarn(&self, material: &Material) -> Vec<Length> {
        let (piece, size) = (&self.run.piece, self.run.hand.size());
        let mut sums = vec![Length::mm(0.0); piece.colours.len().max(1)];
        for row in yarn_rows::spent(piece, material, &self.copies, self.carried, size) {
            sums[row.colour] = sums[row.colour] + row.stitches + row.ends;
        }
        sums
    }
}

/// How closely a variant is laid, as a share of what it moves: its figures are compared with those of others.
const CLOSE: f64 = 0.003;

/// Mean size of the stitches, m.
fn extent(sizes: &Sizes) -> f64 {
    let sum =
        |of: fn(&crate::fabric::StitchSize) -> f64| sizes.stitches.iter().map(of).sum::<f64>();
    (sum(|s| s.width) * sum(|s| s.height)).sqrt()
}
