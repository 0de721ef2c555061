//! Lengths, masses and angles as newtypes: built and read by the unit's name, so that no bare number
//! crosses a public boundary.
//!
//! The raw length unit is 0.1 mm: 1 mm = 10, 1 cm = 100, 1 in = 254, 1 yd = 9144 and 1 m = 10 000 are
//! all whole numbers, hence exact in an `f64`.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
        /// The ratio of two like quantities has no unit.
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

quantity!(
    /// A length; raw unit 0.1 mm.
    Length
);
quantity!(
    /// A mass; raw unit 1 g.
    Mass
);
quantity!(
    /// An angle; raw unit 1 rad.
    Angle
);

impl Length {
    /// From millimetres.
    pub const fn mm(value: f64) -> Self {
        Self(value * 10.0)
    }
    /// From centimetres.
    pub const fn cm(value: f64) -> Self {
        Self(value * 100.0)
    }
    /// From inches (1 in = 25.4 mm exactly).
    pub const fn inches(value: f64) -> Self {
        Self(value * 254.0)
    }
    /// From yards (1 yd = 914.4 mm exactly).
    pub const fn yards(value: f64) -> Self {
        Self(value * 9144.0)
    }
    /// From metres.
    pub const fn m(value: f64) -> Self {
        Self(value * 10_000.0)
    }
    /// In millimetres.
    pub const fn to_mm(self) -> f64 {
        self.0 / 10.0
    }
    /// In centimetres.
    pub const fn to_cm(self) -> f64 {
        self.0 / 100.0
    }
    /// In inches.
    pub const fn to_inches(self) -> f64 {
        self.0 / 254.0
    }
    /// In yards.
    pub const fn to_yards(self) -> f64 {
        self.0 / 9144.0
    }
    /// In metres.
    pub const fn to_m(self) -> f64 {
        self.0 / 10_000.0
    }
}

impl Mass {
    /// From grams.
    pub const fn grams(value: f64) -> Self {
        Self(value)
    }
    /// From avoirdupois ounces (28.349523125 g exactly).
    pub const fn ounces(value: f64) -> Self {
        Self(value * 28.349_523_125)
    }
    /// In grams.
    pub const fn to_grams(self) -> f64 {
        self.0
    }
    /// In avoirdupois ounces.
    pub const fn to_ounces(self) -> f64 {
        self.0 / 28.349_523_125
    }
}

impl Angle {
    /// From degrees.
    pub const fn degrees(value: f64) -> Self {
        Self(value.to_radians())
    }
    /// From radians.
    pub const fn radians(value: f64) -> Self {
        Self(value)
    }
    /// In degrees.
    pub const fn to_degrees(self) -> f64 {
        self.0.to_degrees()
    }
    /// In radians.
    pub const fn to_radians(self) -> f64 {
        self.0
    }
}

/// The units a piece is reported in: the user's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum UnitSystem {
    /// Centimetres, metres, grams.
    #[default]
    Metric,
    /// Inches, yards, ounces.
    Imperial,
}

impl UnitSystem {
    /// A length as the trade reads it: half centimetres (`34.5 cm`) or quarter inches (`13 1/2 in`);
    /// lengths below 2 cm (1 in) keep a millimetre (a sixteenth).
    pub fn length(self, length: Length) -> String {
        match self {
            Self::Metric => {
                let mm = length.to_mm();
                if mm.abs() < 20.0 { format!("{mm:.1} mm") } else { format!("{:.1} cm", mm / 10.0) }
            }
            Self::Imperial => {
                let step = if length.to_inches().abs() < 1.0 { 16 } else { 4 };
                inch_fraction(length.to_inches(), step)
            }
        }
    }
}

/// `value` inches rounded to the nearest 1/`step` and printed as a mixed fraction.
fn inch_fraction(value: f64, step: i64) -> String {
    let parts = (value.abs() * step as f64).round() as i64;
    let sign = if value < 0.0 && parts != 0 { "-" } else { "" };
    let (whole, mut rest, mut base) = (parts / step, parts % step, step);
    while rest != 0 && rest % 2 == 0 {
        rest /= 2;
        base /= 2;
    }
    match (whole, rest) {
        (w, 0) => format!("{sign}{w} in"),
        (0, r) => format!("{sign}{r}/{base} in"),
        (w, r) => format!("{sign}{w} {r}/{base} in"),
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&UnitSystem::Metric.length(*self))
    }
}
