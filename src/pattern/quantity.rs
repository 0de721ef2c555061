//! Numbers with units in free text: `4 1/2 in`, `10cm`, `16 sts`, `100 g`, `60"`.

use crate::units::Length;
use crate::units::Mass;

/// A unit named after a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Inch,
    Cm,
    Mm,
    Metre,
    Yard,
    Foot,
    Gram,
    Ounce,
    Stitches,
    Rows,
    Degrees,
    Balls,
    /// No unit, or a word that is none.
    None,
}

/// A number with its unit and byte places in the text it was found in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Quantity {
    pub(super) value: f64,
    pub(super) unit: Unit,
    pub(super) start: usize,
    pub(super) end: usize,
}

impl Quantity {
    /// As a length, when it is one.
    pub(super) fn length(&self) -> Option<Length> {
        Some(match self.unit {
            Unit::Inch => Length::inches(self.value),
            Unit::Foot => Length::inches(self.value * 12.0),
            Unit::Cm => Length::cm(self.value),
            Unit::Mm => Length::mm(self.value),
            Unit::Metre => Length::m(self.value),
            Unit::Yard => Length::yards(self.value),
            _ => return None,
        })
    }
    /// As a mass, when it is one.
    pub(super) fn mass(&self) -> Option<Mass> {
        match self.unit {
            Unit::Gram => Some(Mass::grams(self.value)),
            Unit::Ounce => Some(Mass::ounces(self.value)),
            _ => None,
        }
    }
}

/// All numbers of `text` (lower case) in order.
pub(super) fn quantities(text: &str) -> Vec<Quantity> {
    let bytes = text.as_bytes();
    let (mut found, mut i) = (Vec::new(), 0);
    while i < bytes.len() && found.len() < 64 {
        let after_letter = i > 0 && bytes[i - 1].is_ascii_alphabetic();
        let fraction = text[i..].chars().next().and_then(vulgar);
        if (bytes[i].is_ascii_digit() && !after_letter) || fraction.is_some() {
            let start = i;
            let (value, next) = number(text, i);
            let (unit, end) = unit(text, next);
            found.push(Quantity { value, unit, start, end });
            i = end.max(i + 1);
        } else {
            i += 1;
        }
        while i < bytes.len() && !text.is_char_boundary(i) {
            i += 1;
        }
    }
    // "12 x 60 in": a bare number takes the unit of the one after it.
    for k in (0..found.len().saturating_sub(1)).rev() {
        let between = text.get(found[k].end..found[k + 1].start).unwrap_or("");
        let joins = matches!(between.trim(), "x" | "by" | "×" | "-" | "–" | "to" | "w x" | "and");
        if found[k].unit == Unit::None && found[k + 1].length().is_some() && joins {
            found[k].unit = found[k + 1].unit;
        }
    }
    found
}

impl Length {
    /// A length with its unit that is all of `text`, as in `10.5 cm`, `4 1/2 in` or `12½"`; `None` when it is
    /// no length, has no unit or is not above zero.
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        let [only] = quantities(&text)[..] else { return None };
        let whole = only.start == 0 && only.end == text.len();
        only.length().filter(|length| whole && length.to_mm() > 0.0)
    }
}

fn vulgar(c: char) -> Option<f64> {
    Some(match c {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

/// A number at byte `i`: `12`, `4.5`, `4,5`, `4 1/2`, `4½`, `1/2`.
fn number(text: &str, i: usize) -> (f64, usize) {
    let (mut value, mut at) = digits(text, i);
    let rest = &text[at..];
    if at > i && rest.starts_with(['.', ',']) && rest[1..].starts_with(|c: char| c.is_ascii_digit())
    {
        let end = at + 1 + rest[1..].bytes().take_while(u8::is_ascii_digit).count();
        let grouping = rest.starts_with(',') && end - at == 4;
        value = if grouping {
            text[i..end].replace(',', "").parse().unwrap_or(value)
        } else {
            text[i..end].replace(',', ".").parse().unwrap_or(value)
        };
        return (value, end);
    }
    if let Some(denominator) =
        rest.strip_prefix('/').map(|_| digits(text, at + 1)).filter(|d| d.0 > 0.0)
    {
        return (value / denominator.0, denominator.1);
    }
    let gap = rest.len() - rest.trim_start_matches([' ', '-']).len();
    let tail = &text[at + gap..];
    if let Some(part) = tail.chars().next().and_then(vulgar) {
        at += gap + tail.chars().next().map_or(0, char::len_utf8);
        return (value + part, at);
    }
    let (over, mid) = digits(text, at + gap);
    if mid > at + gap && text[mid..].starts_with('/') {
        let (under, end) = digits(text, mid + 1);
        if under > 0.0 && over < under {
            return (value + over / under, end);
        }
    }
    (value, at)
}

fn digits(text: &str, i: usize) -> (f64, usize) {
    let n = text[i..].bytes().take_while(u8::is_ascii_digit).count();
    (text[i..i + n].parse().unwrap_or(0.0), i + n)
}

/// The unit at byte `i` and the end of it.
fn unit(text: &str, i: usize) -> (Unit, usize) {
    let rest = &text[i..];
    let lead = rest.len() - rest.trim_start_matches([' ', '-', '\u{a0}']).len();
    let tail = &rest[lead..];
    for mark in ["\"", "”", "″", "“", "''", "’’"] {
        if tail.starts_with(mark) {
            return (Unit::Inch, i + lead + mark.len());
        }
    }
    if tail.starts_with('°') {
        return (Unit::Degrees, i + lead + '°'.len_utf8());
    }
    let word: &str = &tail[..tail.bytes().take_while(u8::is_ascii_alphabetic).count()];
    let unit = match word {
        "in" | "ins" | "inch" | "inches" => Unit::Inch,
        "cm" | "cms" | "centimetres" | "centimeters" => Unit::Cm,
        "mm" | "millimetres" | "millimeters" => Unit::Mm,
        "m" | "metres" | "meters" | "metre" | "meter" | "mtr" | "mtrs" => Unit::Metre,
        "yd" | "yds" | "yards" | "yard" | "y" => Unit::Yard,
        "ft" | "feet" | "foot" => Unit::Foot,
        "g" | "gr" | "grams" | "gram" | "gms" | "gm" | "grammes" => Unit::Gram,
        "oz" | "ozs" | "ounces" | "ounce" => Unit::Ounce,
        "st" | "sts" | "stitches" | "stitch" => Unit::Stitches,
        "row" | "rows" | "rnds" | "rounds" => Unit::Rows,
        "deg" | "degrees" => Unit::Degrees,
        "ball" | "balls" | "skein" | "skeins" | "hank" | "hanks" | "cakes" | "cake" => Unit::Balls,
        _ => return (Unit::None, i),
    };
    (unit, i + lead + word.len())
}
