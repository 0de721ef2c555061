//! A finished piece as measured, and the file it is written in.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::calibrate::CalibrationError;
use crate::calibrate::read::length_of;
use crate::pattern::GaugeState;
use crate::units::Length;

/// A figure of the whole piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum What {
    AlongRow,
    SquareToRows,
    SquareToEdge,
    AlongEdge,
    AlongLeft,
    AlongRight,
    OverAllWidth,
    OverAllHeight,
    Slant,
    SlantLeft,
    SlantRight,
}

impl What {
    /// All of them, in the order of reports.
    pub(super) const ALL: [Self; 11] = [
        Self::AlongRow,
        Self::SquareToRows,
        Self::SquareToEdge,
        Self::AlongEdge,
        Self::AlongLeft,
        Self::AlongRight,
        Self::OverAllWidth,
        Self::OverAllHeight,
        Self::Slant,
        Self::SlantLeft,
        Self::SlantRight,
    ];

    /// In the words of reports.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::AlongRow => "along the rows, mean",
            Self::SquareToRows => "square to the rows",
            Self::SquareToEdge => "square to the edges",
            Self::AlongEdge => "along the edges, mean",
            Self::AlongLeft => "along the left edge",
            Self::AlongRight => "along the right edge",
            Self::OverAllWidth => "width over all, rows level",
            Self::OverAllHeight => "height over all, rows level",
            Self::Slant => "slant of the edges, mean",
            Self::SlantLeft => "slant of the left edge",
            Self::SlantRight => "slant of the right edge",
        }
    }

    /// True for an angle, false for a length.
    pub(super) const fn angle(self) -> bool {
        matches!(self, Self::Slant | Self::SlantLeft | Self::SlantRight)
    }
}

/// A run of rows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Part {
    /// First and last row, as the page names them.
    pub(super) rows: [String; 2],
    pub(super) height: Option<Length>,
    pub(super) width: Option<Length>,
    pub(super) error: Length,
}

/// A finished piece as measured; what is not listed was not measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredPiece {
    /// State it was measured in, when stated.
    pub(super) state: Option<GaugeState>,
    /// Figures of the whole, mm or degrees.
    pub(super) whole: Vec<(What, f64)>,
    /// Grams per colour; no colour: all of it.
    pub(super) grams: Vec<(Option<String>, f64)>,
    pub(super) parts: Vec<Part>,
    /// Sizes before the first wash.
    pub(super) before: Vec<(What, Length)>,
    /// Sizes under pins and after they came out.
    pub(super) released: Vec<(What, [Length; 2])>,
    /// Standard errors: of a length, an angle (degrees), the scale (g).
    pub(super) error: Length,
    pub(super) angle_error: f64,
    pub(super) scale: f64,
    /// Colours were carried up the edge, so that few ends weigh anything.
    pub(super) carried: bool,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
struct File {
    state: Option<String>,
    along_row: Option<String>,
    square_to_rows: Option<String>,
    square_to_edge: Option<String>,
    along_edge: Option<String>,
    along_left: Option<String>,
    along_right: Option<String>,
    over_all: Option<[String; 2]>,
    slant: Option<f64>,
    slant_left: Option<f64>,
    slant_right: Option<f64>,
    grams: Option<Grams>,
    part: Vec<PartText>,
    before: SizeTexts,
    pinned: SizeTexts,
    released: SizeTexts,
    error: Option<String>,
    angle_error: Option<f64>,
    scale: Option<f64>,
    carried: bool,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Grams {
    All(f64),
    Each(BTreeMap<String, f64>),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartText {
    rows: [String; 2],
    height: Option<String>,
    width: Option<String>,
    error: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
struct SizeTexts {
    along_row: Option<String>,
    square_to_rows: Option<String>,
    square_to_edge: Option<String>,
    along_edge: Option<String>,
}

impl SizeTexts {
    fn read(&self, state: &str) -> Result<Vec<(What, Length)>, CalibrationError> {
        let all = [
            (What::AlongRow, "along-row", &self.along_row),
            (What::SquareToRows, "square-to-rows", &self.square_to_rows),
            (What::SquareToEdge, "square-to-edge", &self.square_to_edge),
            (What::AlongEdge, "along-edge", &self.along_edge),
        ];
        let stated =
            all.into_iter().filter_map(|(what, key, text)| Some((what, key, text.as_ref()?)));
        stated
            .map(|(what, key, text)| Ok((what, length(&format!("{state}.{key}"), text)?)))
            .collect()
    }
}

fn impossible(what: &str, found: &str, expected: &str) -> CalibrationError {
    let [what, found, expected] = [what, found, expected].map(str::to_owned);
    CalibrationError::Measured { what, found, expected }
}

fn length(what: &str, text: &str) -> Result<Length, CalibrationError> {
    let expected = "a length above zero with its unit, as in \"197.5 cm\" or \"77 3/4 in\"";
    length_of(text).map_err(|_| impossible(what, &format!("\"{text}\""), expected))
}

fn above_zero(what: &str, value: f64) -> Result<f64, CalibrationError> {
    if value.is_finite() && value > 0.0 {
        return Ok(value);
    }
    Err(impossible(what, &value.to_string(), "a number above zero"))
}

/// Reads the TOML text of one or more sources of measurements together, as if they were one file.
///
/// # Errors
/// [`CalibrationError`] that says what was read and what would fit; a figure given twice is refused.
pub fn read_measured(texts: &[&str]) -> Result<MeasuredPiece, CalibrationError> {
    let mut all = toml::Table::new();
    for text in texts {
        let table: toml::Table =
            text.parse().map_err(|e: toml::de::Error| CalibrationError::File(e.to_string()))?;
        merge(&mut all, table, "")?;
    }
    let file: File = all.try_into().map_err(|e: toml::de::Error| {
        CalibrationError::File(format!("measurements: {}", e.to_string().trim()))
    })?;
    let piece = MeasuredPiece {
        state: file.state.as_deref().map(state).transpose()?,
        whole: whole(&file)?,
        grams: grams(&file)?,
        before: file.before.read("before")?,
        released: released(&file)?,
        error: file.error.as_deref().map_or(Ok(ERROR), |e| length("error", e))?,
        angle_error: above_zero("angle-error", file.angle_error.unwrap_or(1.0))?,
        scale: above_zero("scale", file.scale.unwrap_or(1.0))?,
        carried: file.carried,
        parts: file.part.into_iter().map(part).collect::<Result<_, _>>()?,
    };
    let nothing = piece.whole.is_empty()
        && piece.grams.is_empty()
        && piece.parts.is_empty()
        && piece.before.is_empty()
        && piece.released.is_empty();
    if nothing {
        return Err(impossible(
            "what",
            "nothing",
            "at least one figure, as in along-edge = \"201 cm\"",
        ));
    }
    Ok(piece)
}

/// Standard error of a tape on a soft piece: makers read to a quarter of an inch, 6 mm.
const ERROR: Length = Length::mm(5.0);

fn merge(all: &mut toml::Table, more: toml::Table, path: &str) -> Result<(), CalibrationError> {
    for (key, value) in more {
        let name = format!("{path}{key}");
        match (all.get_mut(&key), value) {
            (None, value) => {
                all.insert(key, value);
            }
            (Some(toml::Value::Table(old)), toml::Value::Table(new)) => {
                merge(old, new, &format!("{name}."))?;
            }
            (Some(toml::Value::Array(old)), toml::Value::Array(new)) => old.extend(new),
            (Some(old), new) => {
                let found = format!("given twice, {old} and {new}");
                return Err(impossible(&name, &found, "one of the two"));
            }
        }
    }
    Ok(())
}

fn state(words: &str) -> Result<GaugeState, CalibrationError> {
    match words.to_lowercase().as_str() {
        "worked" | "as worked" => Ok(GaugeState::Worked),
        "washed" => Ok(GaugeState::Washed),
        "blocked" => Ok(GaugeState::Blocked),
        _ => Err(impossible("state", &format!("\"{words}\""), "worked, washed or blocked")),
    }
}

fn whole(file: &File) -> Result<Vec<(What, f64)>, CalibrationError> {
    let [width, height] = match &file.over_all {
        Some([width, height]) => [Some(width), Some(height)],
        None => [None, None],
    };
    let lengths = [
        (What::AlongRow, "along-row", file.along_row.as_ref()),
        (What::SquareToRows, "square-to-rows", file.square_to_rows.as_ref()),
        (What::SquareToEdge, "square-to-edge", file.square_to_edge.as_ref()),
        (What::AlongEdge, "along-edge", file.along_edge.as_ref()),
        (What::AlongLeft, "along-left", file.along_left.as_ref()),
        (What::AlongRight, "along-right", file.along_right.as_ref()),
        (What::OverAllWidth, "over-all width", width),
        (What::OverAllHeight, "over-all height", height),
    ];
    let angles = [
        (What::Slant, "slant", file.slant),
        (What::SlantLeft, "slant-left", file.slant_left),
        (What::SlantRight, "slant-right", file.slant_right),
    ];
    let mut list = Vec::new();
    for (what, key, text) in lengths {
        if let Some(text) = text {
            list.push((what, length(key, text)?.to_mm()));
        }
    }
    for (what, key, degrees) in angles {
        if let Some(degrees) = degrees {
            if !(-85.0..=85.0).contains(&degrees) {
                let expected = "-85 to 85 degrees from the square to the rows";
                return Err(impossible(key, &format!("{degrees} degrees"), expected));
            }
            list.push((what, degrees));
        }
    }
    Ok(list)
}

fn grams(file: &File) -> Result<Vec<(Option<String>, f64)>, CalibrationError> {
    match &file.grams {
        None => Ok(Vec::new()),
        Some(Grams::All(all)) => Ok(vec![(None, above_zero("grams", *all)?)]),
        Some(Grams::Each(each)) => each
            .iter()
            .map(|(name, g)| Ok((Some(name.clone()), above_zero(&format!("grams.{name}"), *g)?)))
            .collect(),
    }
}

/// Sizes under pins belong with those after; one without the other says nothing.
fn released(file: &File) -> Result<Vec<(What, [Length; 2])>, CalibrationError> {
    let (under, after) = (file.pinned.read("pinned")?, file.released.read("released")?);
    let alone = |a: &[(What, Length)], b: &[(What, Length)]| {
        a.iter().find(|(what, _)| b.iter().all(|(other, _)| other != what)).map(|(what, _)| *what)
    };
    if let Some(what) = alone(&under, &after) {
        let expected = "the same figure under [released], after the pins came out";
        return Err(impossible(what.words(), "under [pinned] only", expected));
    }
    if let Some(what) = alone(&after, &under) {
        let expected = "the same figure under [pinned] as well";
        return Err(impossible(what.words(), "under [released] only", expected));
    }
    let pair = |(what, under): (What, Length)| {
        let after = after.iter().find(|(other, _)| *other == what)?.1;
        Some((what, [under, after]))
    };
    Ok(under.into_iter().filter_map(pair).collect())
}

fn part(text: PartText) -> Result<Part, CalibrationError> {
    let name = format!("part {} to {}", text.rows[0], text.rows[1]);
    let read = |what: &str, words: &Option<String>| {
        words.as_deref().map(|w| length(&format!("{what} of {name}"), w)).transpose()
    };
    let (height, width) = (read("height", &text.height)?, read("width", &text.width)?);
    if height.is_none() && width.is_none() {
        return Err(impossible(&name, "without a size", "height = or width ="));
    }
    let error = read("error", &text.error)?.unwrap_or(Length::mm(2.0));
    Ok(Part { rows: text.rows, height, width, error })
}
