//! Fibres: how dense they are and how much water they hold.

use super::preset::Presets;
use crate::units::Mass;

/// What a yarn is made of, as far as presets know it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Fibre {
    /// Sheep's wool, merino.
    Wool,
    /// Alpaca.
    Alpaca,
    /// Mohair.
    Mohair,
    /// Cashmere.
    Cashmere,
    /// Silk.
    Silk,
    /// Cotton.
    Cotton,
    /// Linen, flax.
    Linen,
    /// Hemp.
    Hemp,
    /// Viscose, rayon, bamboo, lyocell.
    Viscose,
    /// Acrylic.
    Acrylic,
    /// Nylon, polyamide.
    Nylon,
    /// Polyester.
    Polyester,
}

impl Fibre {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Wool,
        Self::Alpaca,
        Self::Mohair,
        Self::Cashmere,
        Self::Silk,
        Self::Cotton,
        Self::Linen,
        Self::Hemp,
        Self::Viscose,
        Self::Acrylic,
        Self::Nylon,
        Self::Polyester,
    ];

    /// Its name, which is that of its presets.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Wool => "wool",
            Self::Alpaca => "alpaca",
            Self::Mohair => "mohair",
            Self::Cashmere => "cashmere",
            Self::Silk => "silk",
            Self::Cotton => "cotton",
            Self::Linen => "linen",
            Self::Hemp => "hemp",
            Self::Viscose => "viscose",
            Self::Acrylic => "acrylic",
            Self::Nylon => "nylon",
            Self::Polyester => "polyester",
        }
    }

    /// The first fibre a label names; in blends that is the larger share.
    pub fn from_words(words: &str) -> Option<Self> {
        const OTHERS: [(&str, Fibre); 11] = [
            ("merino", Fibre::Wool),
            ("lambswool", Fibre::Wool),
            ("bluefaced", Fibre::Wool),
            ("kid", Fibre::Mohair),
            ("flax", Fibre::Linen),
            ("rayon", Fibre::Viscose),
            ("bamboo", Fibre::Viscose),
            ("lyocell", Fibre::Viscose),
            ("modal", Fibre::Viscose),
            ("polyamide", Fibre::Nylon),
            ("polyacryl", Fibre::Acrylic),
        ];
        let lower = words.to_lowercase();
        let own = Self::ALL.into_iter().map(|fibre| (fibre.name(), fibre));
        let found = own.chain(OTHERS).filter_map(|(name, fibre)| Some((lower.find(name)?, fibre)));
        found.min_by_key(|(at, _)| *at).map(|(_, fibre)| fibre)
    }

    pub(super) fn density(self, presets: &Presets) -> f64 {
        presets.value(&format!("fibre.{}.density", self.name()))
    }

    pub(super) fn regain(self, presets: &Presets) -> f64 {
        presets.value(&format!("fibre.{}.regain", self.name()))
    }
}

/// Dry fibre in a mass weighed in standard air: m / (1 + r), with r the water held per dry fibre
/// (definition of regain).
pub(super) fn dry(weighed: Mass, regain: f64) -> Mass {
    weighed / (1.0 + regain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_name_their_fibres() {
        assert_eq!(Fibre::from_words("100 % merino"), Some(Fibre::Wool));
        assert_eq!(Fibre::from_words("Silk and kid mohair"), Some(Fibre::Silk));
        assert_eq!(Fibre::from_words("75 % cotton, 25 % acrylic"), Some(Fibre::Cotton));
        assert_eq!(Fibre::from_words("steel"), None);
    }
}
