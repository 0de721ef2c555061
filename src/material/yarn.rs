//! The yarn: weight class, linear density, least diameter.

use super::MaterialError;
use super::fibre::Fibre;
use super::preset::{Presets, preset};
use crate::units::Length;

/// Weight class of the Craft Yarn Council's Standard Yarn Weight System.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum YarnClass {
    /// 0.
    Lace,
    /// 1: fingering, sock, baby; UK 4 ply.
    SuperFine,
    /// 2: sport; UK 5 ply.
    Fine,
    /// 3: double knitting, light worsted.
    Light,
    /// 4: worsted, aran, afghan.
    Medium,
    /// 5: chunky, craft, rug.
    Bulky,
    /// 6: super bulky, roving.
    SuperBulky,
    /// 7: jumbo, roving.
    Jumbo,
}

impl YarnClass {
    /// All classes, finest first.
    pub const ALL: [Self; 8] = [
        Self::Lace,
        Self::SuperFine,
        Self::Fine,
        Self::Light,
        Self::Medium,
        Self::Bulky,
        Self::SuperBulky,
        Self::Jumbo,
    ];

    /// From a name as labels and patterns print it ("DK", "worsted weight", "4 ply", "3"), in any
    /// case; `None` when it is no class.
    pub fn from_name(name: &str) -> Option<Self> {
        let lower = name.to_lowercase().replace(['-', '_'], " ");
        let word = lower.trim().trim_end_matches("weight").trim_end_matches("yarn").trim();
        Some(match word {
            "0" | "lace" | "thread" | "cobweb" | "2 ply" | "laceweight" => Self::Lace,
            "1" | "super fine" | "superfine" | "fingering" | "sock" | "baby" | "4 ply" => {
                Self::SuperFine
            }
            "2" | "fine" | "sport" | "5 ply" => Self::Fine,
            "3" | "light" | "dk" | "double knitting" | "double knit" | "light worsted"
            | "8 ply" => Self::Light,
            "4" | "medium" | "worsted" | "aran" | "afghan" | "10 ply" => Self::Medium,
            "5" | "bulky" | "chunky" | "craft" | "rug" | "12 ply" => Self::Bulky,
            "6" | "super bulky" | "superbulky" | "super chunky" | "roving" => Self::SuperBulky,
            "7" | "jumbo" => Self::Jumbo,
            _ => return None,
        })
    }

    /// Its name in the table, lower case.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lace => "lace",
            Self::SuperFine => "super fine",
            Self::Fine => "fine",
            Self::Light => "light",
            Self::Medium => "medium",
            Self::Bulky => "bulky",
            Self::SuperBulky => "super bulky",
            Self::Jumbo => "jumbo",
        }
    }

    /// Key of one of its presets.
    pub(super) fn key(self, what: &str) -> String {
        format!("yarn_class.{}.{what}", self.name().replace(' ', "_"))
    }

    /// Its usual linear density, g/km.
    pub fn usual_tex(self) -> f64 {
        preset(&self.key("tex")).map_or(f64::NAN, |entry| entry.value)
    }

    /// The class whose usual linear density is nearest, by ratio.
    pub fn nearest(tex: f64) -> Self {
        let distance = |class: &Self| (tex / class.usual_tex()).ln().abs();
        Self::ALL
            .into_iter()
            .min_by(|a, b| distance(a).total_cmp(&distance(b)))
            .unwrap_or(Self::Medium)
    }
}

/// What is stated about the yarn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YarnInput {
    /// Weight class, when stated.
    pub class: Option<YarnClass>,
    /// Linear density in tex (g/km), when stated or worked out from metres and grams.
    pub tex: Option<f64>,
    /// What it is made of, when stated and known.
    pub fibre: Option<Fibre>,
}

impl YarnInput {
    /// From a ball's mass and length: tex = 1000 g / m (ISO 1144).
    pub fn from_ball(grams: f64, length: Length) -> Self {
        Self { tex: Some(1000.0 * grams / length.to_m()), ..Self::default() }
    }

    /// Class in force, and whether it was stated or follows from a stated density.
    pub(super) fn resolved_class(self) -> (YarnClass, bool) {
        match (self.class, self.tex) {
            (Some(class), _) => (class, true),
            (None, Some(tex)) => (YarnClass::nearest(tex), true),
            (None, None) => (YarnClass::Medium, false),
        }
    }

    pub(super) fn check(self) -> Result<(), MaterialError> {
        match self.tex {
            Some(tex) if !(tex.is_finite() && tex > 0.0) => {
                Err(MaterialError::ImpossibleYarn { tex })
            }
            _ => Ok(()),
        }
    }
}

/// Least diameter of a yarn: d = sqrt(4 T / (pi phi rho)) at the densest packing of fibres (geometry
/// of a round yarn; T in tex = 1e-6 kg/m, rho in g/cm3).
pub(super) fn least_diameter(tex: f64, fibre: Option<Fibre>, presets: &Presets) -> Length {
    let packing = presets.value("yarn.densest_packing");
    let unknown = || presets.value("yarn.fibre_density");
    let density_kg_m3 = fibre.map_or_else(unknown, |f| f.density(presets)) * 1000.0;
    let area_m2 = tex * 1e-6 / (packing * density_kg_m3);
    Length::m((4.0 * area_m2 / std::f64::consts::PI).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_on_labels_are_known() {
        assert_eq!(YarnClass::from_name("DK"), Some(YarnClass::Light));
        assert_eq!(YarnClass::from_name("Worsted weight"), Some(YarnClass::Medium));
        assert_eq!(YarnClass::from_name("super-bulky"), Some(YarnClass::SuperBulky));
        assert_eq!(YarnClass::from_name("plum"), None);
    }

    /// tex = 1e5 / (metres per 100 g), ISO 1144.
    #[test]
    fn a_ball_gives_its_tex() {
        let yarn = YarnInput::from_ball(100.0, Length::m(200.0));
        assert!((yarn.tex.unwrap() - 500.0).abs() < 1e-9);
        assert_eq!(yarn.resolved_class(), (YarnClass::Medium, true));
    }

    /// Mill form d = 4.44e-3 sqrt(tex/density) cm, which holds phi = 0.646 (Textile Technical
    /// Handbook p. 147, as read).
    #[test]
    fn least_diameter_is_the_mills() {
        let found = least_diameter(500.0, None, &Presets::default()).to_cm();
        let mill = 4.44e-3 * (500.0_f64 / 1.31).sqrt();
        assert!((found / mill - 1.0).abs() < 0.005, "{found} {mill}");
    }
}
