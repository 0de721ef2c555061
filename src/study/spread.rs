//! How much the answer moves from maker to maker.

use crate::predict::Band;
use crate::predict::Failure;
use crate::predict::Figure;
use crate::predict::Makers;
use crate::predict::Prediction;
use crate::predict::Run;
use crate::predict::Sample;
use crate::predict::bands;
use crate::predict::samples;
use crate::units::Length;

/// The same pattern in many hands.
#[derive(Debug, Clone)]
pub struct Spread {
    /// By an even hand at the gauge.
    pub base: Prediction,
    /// How the makers differ.
    pub makers: Makers,
    /// 5-50-95 % of every headline figure.
    pub bands: Vec<Band>,
    /// What counts as straight.
    pub straight: Length,
    /// Share of makers whose left and right edge stay within it.
    pub chance: [f64; 2],
    /// One piece a maker.
    pub samples: Vec<Sample>,
}

/// Lays the piece of `run` in the hands of `makers`; edges within `straight` (minimum zone) count as
/// straight.
///
/// # Errors
/// [`Failure`].
pub fn spread(
    run: &Run,
    makers: &Makers,
    straight: Length,
    told: &(dyn Fn() + Sync),
) -> Result<Spread, Failure> {
    let samples = samples(run, makers, told)?;
    let within = |figure: Figure| {
        let at = Figure::ALL.iter().position(|f| *f == figure).unwrap_or(0);
        let good = samples.iter().filter(|s| s.figures[at] <= straight.to_mm()).count();
        good as f64 / samples.len().max(1) as f64
    };
    Ok(Spread {
        base: run.prediction.clone(),
        makers: *makers,
        bands: bands(&samples),
        straight,
        chance: [within(Figure::LeftStraightness), within(Figure::RightStraightness)],
        samples,
    })
}
