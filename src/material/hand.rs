//! The maker's hand: overall size, drift along the work, and variation from stitch to stitch.

use super::MaterialError;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// How a hand varies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandSettings {
    /// Size of every stitch against the gauge; 1 when the gauge is this maker's own.
    pub overall: f64,
    /// Growth of the stitches from the first row to the last, as a share.
    pub drift: f64,
    /// Standard deviation of a stitch's size, as a share.
    pub stitch_noise: f64,
    /// Stitches over which sizes along a row stay alike (correlation falls to 1/e).
    pub correlation: f64,
    /// Standard deviation of a row's height, as a share.
    pub row_noise: f64,
}

impl HandSettings {
    /// Size of the stitches against the gauge, over the whole work.
    pub fn size(&self) -> f64 {
        self.overall * (1.0 + self.drift / 2.0)
    }

    /// A hand that works every stitch at the gauge.
    pub const EVEN: Self =
        Self { overall: 1.0, drift: 0.0, stitch_noise: 0.0, correlation: 5.0, row_noise: 0.0 };
}

/// A seeded hand at work: factors on the rest width and height of every stitch.
#[derive(Debug, Clone, PartialEq)]
pub struct Hand {
    settings: HandSettings,
    seed: u64,
    rows: u32,
}

impl Hand {
    /// A hand for a piece of `rows` rows.
    ///
    /// # Errors
    /// [`MaterialError::ImpossiblePreset`] when a setting is no number or of the wrong sign.
    pub fn new(settings: HandSettings, seed: u64, rows: u32) -> Result<Self, MaterialError> {
        check("hand.overall", settings.overall, settings.overall > 0.0, "above zero")?;
        check("hand.drift", settings.drift, settings.drift > -1.0, "above -1")?;
        check(
            "hand.stitch_noise",
            settings.stitch_noise,
            settings.stitch_noise >= 0.0,
            "0 or more",
        )?;
        check("hand.correlation", settings.correlation, settings.correlation > 0.0, "above zero")?;
        check("hand.row_noise", settings.row_noise, settings.row_noise >= 0.0, "0 or more")?;
        Ok(Self { settings, seed, rows })
    }

    /// A hand that works every stitch at the gauge.
    pub fn even() -> Self {
        Self { settings: HandSettings::EVEN, seed: 0, rows: 1 }
    }

    /// Factors `[width, height]` of every stitch of a row, in working order. The same row of the same
    /// seed always varies alike, whatever was asked before.
    pub fn row(&self, row: u32, stitches: usize) -> Vec<[f64; 2]> {
        let HandSettings { stitch_noise, correlation, row_noise, .. } = self.settings;
        // Each row has a stream of its own, so that editing one row leaves the others as they were.
        let mut random = Pcg64Mcg::seed_from_u64(self.seed ^ (u64::from(row) << 32 | 0x9e37));
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let common = self.size(row);
        let height_of_row = (row_noise * normal()).exp();
        // First-order autoregression: correlation exp(-k / length) at a distance of k stitches, with
        // the same standard deviation at every stitch.
        let keep = (-1.0 / correlation).exp();
        let fresh = (1.0 - keep * keep).sqrt();
        let mut noise = [normal(), normal()];
        (0..stitches)
            .map(|_| {
                let [width, height] = noise.map(|n| (stitch_noise * n).exp());
                noise = noise.map(|n| keep * n + fresh * normal());
                [common * width, common * height * height_of_row]
            })
            .collect()
    }

    /// Size of a row's stitches before any random variation.
    fn size(&self, row: u32) -> f64 {
        let last = self.rows.saturating_sub(1).max(1);
        let way = f64::from(row.min(last)) / f64::from(last);
        self.settings.overall * (1.0 + self.settings.drift * way)
    }
}

fn check(
    key: &'static str,
    value: f64,
    fits: bool,
    expected: &'static str,
) -> Result<(), MaterialError> {
    if value.is_finite() && fits {
        return Ok(());
    }
    let (range, unit) = super::preset(key)
        .map_or(([f64::NAN; 2], String::new()), |entry| (entry.range, entry.unit.clone()));
    let [least, most] = range;
    Err(MaterialError::ImpossiblePreset { key: key.into(), value, expected, least, most, unit })
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOISY: HandSettings =
        HandSettings { stitch_noise: 0.02, row_noise: 0.01, ..HandSettings::EVEN };

    #[test]
    fn an_even_hand_changes_nothing() {
        assert!(Hand::even().row(7, 5).iter().all(|f| *f == [1.0, 1.0]));
    }

    #[test]
    fn the_same_seed_gives_the_same_row_in_any_order() {
        let hand = Hand::new(NOISY, 5, 40).unwrap();
        let before = hand.row(9, 30);
        hand.row(3, 11);
        assert_eq!(hand.row(9, 30), before);
        assert_ne!(Hand::new(NOISY, 6, 40).unwrap().row(9, 30), before);
        assert_eq!(hand.row(9, 10)[..], before[..10]);
    }

    #[test]
    fn drift_runs_from_the_first_row_to_the_last() {
        let settings = HandSettings { overall: 1.1, drift: 0.1, ..HandSettings::EVEN };
        let hand = Hand::new(settings, 0, 11).unwrap();
        let width = |row| hand.row(row, 1)[0][0];
        assert!((width(0) - 1.1).abs() < 1e-12);
        assert!((width(5) - 1.1 * 1.05).abs() < 1e-12);
        assert!((width(10) - 1.1 * 1.1).abs() < 1e-12);
    }

    /// Standard deviation and correlation length of the widths over 400 rows of 200 stitches; with
    /// about 8000 independent values the standard error of both is near 1 %.
    #[test]
    fn noise_has_the_stated_size_and_length() {
        let settings = HandSettings { row_noise: 0.0, ..NOISY };
        let hand = Hand::new(settings, 11, 400).unwrap();
        let rows: Vec<Vec<f64>> = (0..400)
            .map(|row| hand.row(row, 200).iter().map(|f| f[0].ln() / 0.02).collect())
            .collect();
        let mean_of = |lag: usize| {
            let products = rows.iter().flat_map(|r| r.windows(lag + 1).map(move |w| w[0] * w[lag]));
            let (sum, n) = products.fold((0.0, 0.0), |(s, n), x| (s + x, n + 1.0));
            sum / n
        };
        assert!((mean_of(0) - 1.0).abs() < 0.05, "{}", mean_of(0));
        assert!((mean_of(5) - (-1.0_f64).exp()).abs() < 0.05, "{}", mean_of(5));
    }

    #[test]
    fn impossible_settings_are_named() {
        let settings = HandSettings { overall: 0.0, ..HandSettings::EVEN };
        let error = Hand::new(settings, 0, 1).unwrap_err().to_string();
        assert!(error.contains("hand.overall") && error.contains("above zero"), "{error}");
    }
}
