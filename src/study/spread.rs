//! How much the answer moves from maker to maker.

use crate::measure::Lies;
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

/// Shares of makers whose piece turns out so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Chance {
    /// The left and the right edge stay within what counts as straight.
    Straight([f64; 2]),
    /// Closed rounds lie flat, cup, ruffle.
    Lies([f64; 3]),
}

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
    /// What of the makers' pieces is as it should be.
    pub chance: Chance,
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
    let measured = &run.prediction.measured;
    let shown = Figure::shown(measured);
    let share = |good: &dyn Fn(&Sample) -> bool| {
        samples.iter().filter(|s| good(s)).count() as f64 / samples.len().max(1) as f64
    };
    let within = |figure: Figure| {
        let at = shown.iter().position(|f| *f == figure).unwrap_or(0);
        share(&|s| s.figures[at] <= straight.to_mm())
    };
    let lies = |how: Lies| share(&|s| s.lies == Some(how));
    let chance = match measured.closed {
        None => {
            Chance::Straight([within(Figure::LeftStraightness), within(Figure::RightStraightness)])
        }
        Some(_) => Chance::Lies([Lies::Flat, Lies::Cups, Lies::Ruffles].map(lies)),
    };
    Ok(Spread {
        base: run.prediction.clone(),
        makers: *makers,
        bands: bands(&samples, shown),
        straight,
        chance,
        samples,
    })
}
