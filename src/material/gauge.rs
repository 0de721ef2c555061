//! Gauges: what a swatch says about the size of stitches.

use super::MaterialError;
use super::preset::Presets;
use super::relative::Relative;
use super::worked::Worked;
use crate::stitches::Craft;
use crate::stitches::StitchKind;
use crate::units::Length;

/// Least share of a row's height that its stitches have where they stand on loops: a net pulled wide has its
/// loops nearly straight.
const LEAST_POST: f64 = 0.5;

/// So many stitches or rows over a length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// How many; may be a fraction.
    pub count: f64,
    /// Over what length.
    pub over: Length,
}

impl Counted {
    fn each(self, what: &'static str) -> Result<Length, MaterialError> {
        let Self { count, over } = self;
        let possible = |x: f64| x.is_finite() && x > 0.0;
        if possible(count) && possible(over.to_mm()) {
            Ok(over / count)
        } else {
            Err(MaterialError::ImpossibleGauge { what, count, over })
        }
    }
}

/// A row of a swatch, as counts per stitch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SwatchRow {
    /// Stitches of the row and how many of each.
    pub stitches: Vec<(Worked, u32)>,
    /// How far, in widths of a stitch, it stands off the row below on loops that rise between its stitches.
    pub lift: f64,
}

/// What the swatch is worked in.
#[derive(Debug, Clone, PartialEq)]
pub enum GaugeOver {
    /// One stitch throughout.
    Stitch(Worked),
    /// The pattern's own rows (one repeat of them): the presets' ratios share the height out.
    Pattern(Vec<SwatchRow>),
    /// Square blocks of work from corner to corner, counted as stitches are: each has the area of so many
    /// columns of a stitch by one row.
    Blocks(Worked, u32),
}

impl GaugeOver {
    /// Mean lift of its rows, see [`SwatchRow::lift`].
    fn lift(&self) -> f64 {
        match self {
            Self::Stitch(_) | Self::Blocks(..) => 0.0,
            Self::Pattern(rows) => {
                rows.iter().map(|row| row.lift).sum::<f64>() / rows.len().max(1) as f64
            }
        }
    }
}

/// A gauge as stated; either count may be missing.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeInput {
    /// What it is worked in.
    pub over: GaugeOver,
    /// Stitches over a length, along the row.
    pub stitches: Option<Counted>,
    /// Rows over a length.
    pub rows: Option<Counted>,
}

/// A gauge reduced to the size of the unit width, one figure along the rows and one up the columns:
/// a maker may draw loops taller at the same width, so that neither follows from the other.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Anchor {
    pub(super) stated: GaugeInput,
    /// Mean relative height of what it is worked in; decides which gauge is nearest to a stitch.
    pub(super) height: f64,
    /// Unit width by the stitch count.
    pub(super) along: Option<Length>,
    /// Unit width by the row count.
    pub(super) up: Option<Length>,
}

impl Anchor {
    pub(super) fn read(
        gauge: &GaugeInput,
        presets: &Presets,
        craft: Craft,
    ) -> Result<Self, MaterialError> {
        let mean = mean_size(&gauge.over, presets, craft)?;
        if let (GaugeOver::Blocks(_, columns), Some(blocks)) = (&gauge.over, gauge.stitches) {
            let area = f64::from(*columns) * mean.width * mean.height;
            let unit = blocks.each("blocks")? / area.sqrt();
            let (along, up) = (Some(unit), Some(unit));
            return Ok(Self { stated: gauge.clone(), height: mean.height, along, up });
        }
        let along = gauge.stitches.map(|counted| counted.each("stitches")).transpose()?;
        let up = gauge.rows.map(|counted| counted.each("rows")).transpose()?;
        let along = along.map(|width| width / mean.width);
        let lift = gauge.over.lift();
        let posts = |row: Length| match along {
            Some(width) => {
                let share = 1.0 - width.to_mm() * lift / row.to_mm();
                row * share.max(LEAST_POST) / mean.height
            }
            None => row / (mean.height + lift),
        };
        Ok(Self { stated: gauge.clone(), height: mean.height, along, up: up.map(posts) })
    }

    /// How far this gauge's stitch is from `worked`: 0 for its own, else by the ratio of heights.
    pub(super) fn distance(&self, worked: Worked, height: f64) -> f64 {
        let own = match &self.stated.over {
            GaugeOver::Stitch(stitch) | GaugeOver::Blocks(stitch, _) => *stitch == worked,
            GaugeOver::Pattern(rows) => {
                rows.iter().any(|row| row.stitches.iter().any(|(stitch, _)| *stitch == worked))
            }
        };
        if own {
            return 0.0;
        }
        // Any other stitch is farther than an own one, also at the same height.
        let ratio = (height.max(1e-3) / self.height.max(1e-3)).ln().abs();
        1e-6 + ratio
    }
}

/// Mean stitch of what a gauge is worked in: widths over all stitches, heights over rows. Chains and yarn-overs
/// are as high as the stitches between which they hang.
fn mean_size(over: &GaugeOver, presets: &Presets, craft: Craft) -> Result<Relative, MaterialError> {
    let rows = match over {
        GaugeOver::Stitch(worked) | GaugeOver::Blocks(worked, _) => {
            let size = presets.relative(*worked, craft);
            // A cast-on has no height to measure by.
            return if size.height > 0.0 { Ok(size) } else { Err(MaterialError::EmptySwatch) };
        }
        GaugeOver::Pattern(rows) => rows,
    };
    let (mut stitches, mut width, mut height) = (0.0, 0.0, 0.0);
    let mut counted_rows = 0.0;
    for row in rows {
        let (mut posts, mut row_height) = (0.0, 0.0);
        for &(worked, count) in &row.stitches {
            let size = presets.relative(worked, craft);
            let count = f64::from(count);
            stitches += count;
            width += count * size.width;
            if !matches!(worked.kind, StitchKind::Chain | StitchKind::YarnOver) {
                posts += count;
                row_height += count * size.height;
            }
        }
        if posts > 0.0 {
            height += row_height / posts;
            counted_rows += 1.0;
        }
    }
    if stitches == 0.0 || height <= 0.0 {
        return Err(MaterialError::EmptySwatch);
    }
    Ok(Relative { width: width / stitches, height: height / counted_rows })
}

/// Two gauges over the same single stitch must agree as well as a tape measure reads.
pub(super) fn check_agreement(
    anchors: &[Anchor],
    presets: &Presets,
    craft: Craft,
) -> Result<(), MaterialError> {
    for (i, first) in anchors.iter().enumerate() {
        for second in &anchors[i + 1..] {
            let (GaugeOver::Stitch(a), GaugeOver::Stitch(b)) =
                (&first.stated.over, &second.stated.over)
            else {
                continue;
            };
            if a == b {
                let size = presets.relative(*a, craft);
                let limit = presets.value("gauge.agreement");
                agree("width", *a, (first.along, second.along), size.width, limit)?;
                agree("height", *a, (first.up, second.up), size.height, limit)?;
            }
        }
    }
    Ok(())
}

fn agree(
    what: &'static str,
    of: Worked,
    units: (Option<Length>, Option<Length>),
    relative: f64,
    limit: f64,
) -> Result<(), MaterialError> {
    let (Some(first), Some(second)) = units else { return Ok(()) };
    if (first / second).ln().abs() <= limit {
        return Ok(());
    }
    Err(MaterialError::ConflictingGauges {
        what,
        of: of.words(),
        first: first * relative,
        second: second * relative,
        percent: limit * 100.0,
    })
}
