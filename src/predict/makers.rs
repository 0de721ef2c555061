//! The same pattern in the hands of many makers.

use rayon::prelude::*;

use super::flat::{Failure, Run, not_laid};
use crate::fabric::Fabric;
use crate::fabric::Sizes;
use crate::material::Hand;
use crate::material::HandSettings;
use crate::material::preset;
use crate::measure::Closed;
use crate::measure::Lies;
use crate::measure::Measurements;
use crate::measure::measure;
use crate::state::Nearby;

/// How makers differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Makers {
    /// How many.
    pub number: u32,
    /// Seed of everything random.
    pub seed: u64,
    /// Standard deviation of the overall size between makers, as a share.
    pub overall: f64,
    /// Standard deviation of the growth from the first row to the last, as a share.
    pub drift: f64,
    /// Standard deviation of a stitch's size and of a row's height, as shares.
    pub noise: [f64; 2],
}

impl Makers {
    /// Presets: makers who have met the stated gauge, or (no gauge stated, or `unswatched`) have not.
    pub fn usual(run: &Run, number: u32, seed: u64, unswatched: bool) -> Self {
        let matched = !unswatched && !run.header.gauges.is_empty();
        let own = |key: &str| preset(key).map_or(0.0, |p| p.value);
        let key = if matched { "hand.makers_matched" } else { "hand.makers_unmatched" };
        let noise = run.material.hand_settings();
        Self {
            number,
            seed,
            overall: own(key),
            drift: own("hand.makers_drift"),
            noise: [noise.stitch_noise, noise.row_noise],
        }
    }

    /// Hand of the `k`-th maker and the seed of its stitches. Sizes and drifts fill their range evenly:
    /// the `k`-th point of an additive recurrence with the plastic number (M. Roberts, "The unreasonable
    /// effectiveness of quasirandom sequences", 2018; constants from memory), shifted by the seed.
    pub fn hand(&self, own: HandSettings, k: u32) -> (HandSettings, u64) {
        const PLASTIC: f64 = 1.324_717_957_244_746;
        let point = |step: f64, salt: u64| {
            let shift = (mixed(self.seed ^ salt) >> 11) as f64 / (1u64 << 53) as f64;
            (shift + f64::from(k + 1) * step).fract()
        };
        let overall = normal(point(1.0 / PLASTIC, 1));
        let drift = normal(point(1.0 / (PLASTIC * PLASTIC), 2));
        let settings = HandSettings {
            overall: own.overall * (self.overall * overall).exp(),
            drift: own.drift + self.drift * drift,
            stitch_noise: self.noise[0],
            row_noise: self.noise[1],
            ..own
        };
        (settings, mixed(self.seed.wrapping_add(u64::from(k) << 20)))
    }
}

/// Scatters the bits of a seed (the finaliser of SplitMix64; constants from memory).
fn mixed(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// The standard normal value below which a share `u` lies, by halving.
fn normal(u: f64) -> f64 {
    let below = |z: f64| 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
    let (mut low, mut high) = (-8.0, 8.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if below(middle) < u { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// A headline figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Figure {
    /// Mean length of the rows, mm.
    AlongRows,
    /// Rise over all rows, mm.
    SquareToRows,
    /// Distance between the edges, mm.
    SquareToEdges,
    /// Length of the left edge, mm.
    LeftEdge,
    /// Length of the right edge, mm.
    RightEdge,
    /// Slant of the left edge, degrees.
    LeftSlant,
    /// Slant of the right edge, degrees.
    RightSlant,
    /// Minimum zone of the left edge, mm.
    LeftStraightness,
    /// Minimum zone of the right edge, mm.
    RightStraightness,
    /// Area, mm².
    Area,
    /// Yarn, mm.
    Yarn,
    /// From the middle of a disc to its last round, mm.
    Radius,
    /// Turn that a disc's rounds take about its middle, degrees.
    Turn,
    /// Mean length of a tube's rounds, mm.
    Around,
    /// Height of a tube, mm.
    High,
}

impl Figure {
    /// Those of a piece with row ends, in the order of reports.
    pub const ALL: [Self; 11] = [
        Self::AlongRows,
        Self::SquareToRows,
        Self::SquareToEdges,
        Self::LeftEdge,
        Self::RightEdge,
        Self::LeftSlant,
        Self::RightSlant,
        Self::LeftStraightness,
        Self::RightStraightness,
        Self::Area,
        Self::Yarn,
    ];

    /// Those that speak of the piece: closed rounds have no edges.
    pub fn shown(m: &Measurements) -> &'static [Self] {
        match m.closed {
            None => &Self::ALL,
            Some(Closed::Disc { .. }) => &[Self::Radius, Self::Turn, Self::Area, Self::Yarn],
            Some(Closed::Tube { .. }) => &[Self::Around, Self::High, Self::Area, Self::Yarn],
        }
    }

    /// Its value on a measured piece; not a number where it does not speak of it.
    pub fn of(self, m: &Measurements) -> f64 {
        let [left, right] = &m.edges;
        let disc = match m.closed {
            Some(Closed::Disc { turn, radius }) => [turn.to_degrees(), radius.to_mm()],
            _ => [f64::NAN; 2],
        };
        let tube = match m.closed {
            Some(Closed::Tube { around, height }) => [around.to_mm(), height.to_mm()],
            _ => [f64::NAN; 2],
        };
        match self {
            Self::AlongRows => m.along_rows.mean.to_mm(),
            Self::SquareToRows => m.square_to_rows.to_mm(),
            Self::SquareToEdges => m.square_to_edges.to_mm(),
            Self::LeftEdge => left.chord.to_mm(),
            Self::RightEdge => right.chord.to_mm(),
            Self::LeftSlant => left.slant.to_degrees(),
            Self::RightSlant => right.slant.to_degrees(),
            Self::LeftStraightness => left.minimum_zone.to_mm(),
            Self::RightStraightness => right.minimum_zone.to_mm(),
            Self::Area => m.area_mm2,
            Self::Yarn => m.yarn.iter().map(|y| y.length.to_mm()).sum(),
            Self::Turn => disc[0],
            Self::Radius => disc[1],
            Self::Around => tube[0],
            Self::High => tube[1],
        }
    }
}

/// One maker's piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The maker's hand.
    pub hand: HandSettings,
    /// Figures in the order of [`Figure::shown`].
    pub figures: Vec<f64>,
    /// How the maker's disc lies.
    pub lies: Option<Lies>,
    /// Closed outline, mm.
    pub outline: Vec<[f64; 2]>,
    /// The full solver had to be used.
    pub full: bool,
}

/// Lays the piece of `run` as worked by each of `makers`, several at a time; the samples do not depend
/// on how many. `told` hears of each that is done.
///
/// # Errors
/// [`Failure`] of the first maker whose piece cannot be laid.
pub fn samples(
    run: &Run,
    makers: &Makers,
    told: &(dyn Fn() + Sync),
) -> Result<Vec<Sample>, Failure> {
    // Makers share a lot whatever the number of threads: their solves have the same bits.
    let all: Vec<u32> = (0..makers.number).collect();
    let lot = (STITCHES / run.piece.stitches.len().max(1)).clamp(1, LOT);
    let lots: Vec<&[u32]> = all.chunks(lot).collect();
    let hands = rayon::current_num_threads().clamp(1, lots.len().max(1));
    let fail = |fault| not_laid(&run.piece, fault);
    let done: Result<Vec<Vec<(u32, Sample)>>, Failure> = (0..hands)
        .into_par_iter()
        .map(|hand| {
            let mut nearby = Nearby::new(&run.fabric, &run.laid.shape).map_err(fail)?;
            let mut list = Vec::new();
            for lot in lots.iter().skip(hand).step_by(hands) {
                list.extend(lot.iter().copied().zip(sampled(run, makers, lot, &mut nearby)?));
                lot.iter().for_each(|_| told());
            }
            Ok(list)
        })
        .collect();
    let mut all: Vec<(u32, Sample)> = done?.into_iter().flatten().collect();
    all.sort_by_key(|s| s.0);
    Ok(all.into_iter().map(|s| s.1).collect())
}

/// Most makers whose pieces are laid in step with each other, and most stitches they have in all: what
/// a lot needs in memory is to stay below what one solve of a large piece needs.
const LOT: usize = 8;
const STITCHES: usize = 100_000;

/// How closely a maker's piece is laid, as a share of what the maker's hand moves.
const CLOSE: f64 = 0.02;

fn sampled(
    run: &Run,
    makers: &Makers,
    lot: &[u32],
    nearby: &mut Nearby,
) -> Result<Vec<Sample>, Failure> {
    let (mut hands, mut fabrics) = (Vec::new(), Vec::new());
    for k in lot {
        let (hand, seed) = makers.hand(run.hand, *k);
        let worked = Hand::new(hand, seed, run.piece.rows.len() as u32)?;
        let sizes = Sizes::new(&run.piece, &run.material, &worked);
        let scale = hand.size() / run.hand.size();
        fabrics.push((Fabric::new(&run.piece, &sizes), scale));
        hands.push(hand);
    }
    let settled = nearby.settle(&fabrics, CLOSE).map_err(|f| not_laid(&run.piece, f))?;
    let told = hands.into_iter().zip(&fabrics).zip(settled);
    told.map(|((hand, (fabric, scale)), settled)| {
        // A stitch takes yarn in proportion to its size (D. L. Munden, J. Text. Inst. 50, 1959: loop
        // length times courses or wales per length is constant).
        let mut yarn = run.prediction.measured.yarn.clone();
        for used in &mut yarn {
            used.length = used.length * *scale;
        }
        let measured = measure(&run.piece, fabric, &settled.shape, yarn).ok_or(Failure::NoRows)?;
        Ok(Sample {
            hand,
            figures: Figure::shown(&measured).iter().map(|f| f.of(&measured)).collect(),
            lies: measured.closed.map(|closed| closed.lies()),
            outline: measured.outline,
            full: settled.full,
        })
    })
    .collect()
}

/// 5, 50 and 95 % of a figure over many makers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Which.
    pub figure: Figure,
    /// 5 %, 50 % and 95 %.
    pub at: [f64; 3],
}

/// How sure the headline figures are, between makers.
#[derive(Debug, Clone, PartialEq)]
pub struct Sure {
    /// Bands in the order of [`Figure::shown`].
    pub bands: Vec<Band>,
    /// How the makers differ.
    pub makers: Makers,
}

/// Bands of the shown figures straight from the sorted samples, between them by straight lines.
pub fn bands(samples: &[Sample], shown: &[Figure]) -> Vec<Band> {
    let of = |i: usize| {
        let mut values: Vec<f64> = samples.iter().map(|s| s.figures[i]).collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let band = |(i, figure): (usize, &Figure)| {
        let sorted = of(i);
        Band { figure: *figure, at: [0.05, 0.5, 0.95].map(|share| quantile(&sorted, share)) }
    };
    shown.iter().enumerate().map(band).collect()
}

/// Makers laid for a quick estimate.
const QUICK: u32 = 4;

/// A quick estimate of [`Sure`]: the even hand's figures, plus and minus 1.645 standard deviations.
/// What a hand that works everything larger does is known (lengths grow alike, areas twice, angles
/// not at all); what drift and noise add comes from a few makers. `None` where those cannot be laid.
pub(super) fn quick(run: &Run) -> Option<Sure> {
    let makers = Makers::usual(run, QUICK, 1, false);
    let uneven = samples(run, &Makers { overall: 0.0, ..makers }, &|| ()).ok()?;
    let band = |(i, figure): (usize, &Figure)| {
        let even = figure.of(&run.prediction.measured);
        let power = match figure {
            Figure::LeftSlant | Figure::RightSlant | Figure::Turn => 0.0,
            Figure::Area => 2.0,
            _ => 1.0,
        };
        let scatter = uneven.iter().map(|s| (s.figures[i] - even).powi(2)).sum::<f64>();
        let scaled = power * makers.overall * even;
        let half = 1.645 * (scatter / f64::from(QUICK) + scaled * scaled).sqrt();
        Band { figure: *figure, at: [even - half, even, even + half] }
    };
    let shown = Figure::shown(&run.prediction.measured);
    Some(Sure { bands: shown.iter().enumerate().map(band).collect(), makers })
}

/// The value below which a share of sorted values lies (plotting position (i - 1/2)/n, Hazen's).
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let n = sorted.len();
    if n == 0 {
        return f64::NAN;
    }
    let place = (share * n as f64 - 0.5).clamp(0.0, (n - 1) as f64);
    let low = place.floor() as usize;
    let high = (low + 1).min(n - 1);
    sorted[low] + (sorted[high] - sorted[low]) * (place - low as f64)
}
