//! Reads a file of measured swatches.

use serde::Deserialize;

use super::CalibrationError;
use super::swatch::{Counting, Hung, Reading, Swatch, SwatchFile};
use crate::material::{Worked, YarnClass, YarnInput};
use crate::pattern::Terms;
use crate::predict::{self, stitch_named};
use crate::source::Source;
use crate::stitches::Craft;
use crate::units::{Angle, Length, Mass};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    craft: Option<String>,
    terms: Option<String>,
    yarn: Option<Yarn>,
    want: Option<In>,
    #[serde(default)]
    swatch: Vec<One>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Yarn {
    ball_grams: Option<f64>,
    ball_length: Option<String>,
    tex: Option<f64>,
    weight: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum In {
    One(String),
    Rows(Vec<String>),
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct One {
    name: Option<String>,
    #[serde(rename = "in")]
    within: Option<In>,
    gauge: Option<String>,
    stitches: Option<f64>,
    repeats: Option<f64>,
    repeat: Option<f64>,
    shift: Option<f64>,
    slant: Option<f64>,
    rows: Option<f64>,
    width: Option<String>,
    height: Option<String>,
    grams: Option<f64>,
    unravelled: Option<String>,
    hung: Option<Pull>,
    overhang: Option<Over>,
    diagonals: Option<[String; 2]>,
    before: Option<Before>,
    pinned: Option<[String; 2]>,
    released: Option<[String; 2]>,
    error: Option<String>,
    scale: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pull {
    grams: f64,
    length: String,
    #[serde(default)]
    along_rows: bool,
    later: Option<String>,
    hours: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Over {
    length: String,
    angle: f64,
    #[serde(default)]
    along_rows: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Before {
    width: Option<String>,
    height: Option<String>,
}

/// Reads the TOML text of a swatch file.
///
/// # Errors
/// [`CalibrationError`] naming the swatch, what was read and what would fit.
pub fn read_swatches(text: &str) -> Result<SwatchFile, CalibrationError> {
    let file: File = toml::from_str(text).map_err(|e| CalibrationError::File(e.to_string()))?;
    let craft = match file.craft.as_deref().unwrap_or("crochet") {
        "crochet" => Craft::Crochet,
        "knit" | "knitting" => Craft::Knit,
        other => {
            return Err(CalibrationError::File(format!(
                "craft = \"{other}\": expected \"crochet\" or \"knit\""
            )));
        }
    };
    let uk = file.terms.as_deref().is_some_and(|t| t.eq_ignore_ascii_case("uk"));
    let terms = if uk { Terms::Uk } else { Terms::Us };
    let mut notes = Vec::new();
    let want = names(file.want.as_ref())
        .iter()
        .map(|name| {
            let asked = Reader { name: "want".into(), craft, terms, notes: &mut notes };
            asked.stitch(name)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let swatches = file
        .swatch
        .into_iter()
        .enumerate()
        .map(|(i, one)| {
            let name = one.name.clone().unwrap_or_else(|| (i + 1).to_string());
            Reader { name, craft, terms, notes: &mut notes }.swatch(one)
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok(SwatchFile {
        craft,
        tex: file.yarn.as_ref().map(tex).transpose()?.flatten(),
        want,
        swatches,
        notes,
    })
}

fn names(within: Option<&In>) -> Vec<String> {
    match within {
        Some(In::One(name)) => vec![name.clone()],
        Some(In::Rows(names)) => names.clone(),
        None => Vec::new(),
    }
}

fn tex(yarn: &Yarn) -> Result<Option<f64>, CalibrationError> {
    if let (Some(grams), Some(length)) = (yarn.ball_grams, &yarn.ball_length) {
        let length = length_of(length).map_err(CalibrationError::File)?;
        return Ok(YarnInput::from_ball(grams, length).tex);
    }
    let class = yarn.weight.as_deref().and_then(YarnClass::from_name);
    Ok(yarn.tex.or_else(|| class.map(YarnClass::usual_tex)))
}

struct Reader<'n> {
    name: String,
    craft: Craft,
    terms: Terms,
    notes: &'n mut Vec<String>,
}

impl Reader<'_> {
    fn swatch(&mut self, one: One) -> Result<Swatch, CalibrationError> {
        self.units(&one);
        let rows_in = names(one.within.as_ref())
            .iter()
            .map(|n| self.stitch(n))
            .collect::<Result<Vec<_>, _>>()?;
        let read = |me: &Self, what: &str, text: &Option<String>| {
            text.as_deref().map(|t| me.length(what, t)).transpose()
        };
        let pair = |me: &Self, what: &str, text: &Option<[String; 2]>| {
            text.as_ref()
                .map(|[a, b]| Ok::<_, CalibrationError>([me.length(what, a)?, me.length(what, b)?]))
                .transpose()
        };
        let (pinned, released) =
            (pair(self, "pinned", &one.pinned)?, pair(self, "released", &one.released)?);
        let mut swatch = Swatch {
            name: self.name.clone(),
            rows_in,
            stitches: self.counted(&one)?,
            shift: self.count("shift", one.shift)?,
            slant: self.slant(&one)?,
            counted: if one.repeats.is_some() { Counting::Repeats } else { Counting::Each },
            rows: self.count("rows", one.rows)?,
            width: read(self, "width", &one.width)?,
            height: read(self, "height", &one.height)?,
            grams: self.count("grams", one.grams)?.map(Mass::grams),
            unravelled: read(self, "unravelled", &one.unravelled)?,
            hung: one.hung.map(|h| self.hung(&h)).transpose()?,
            overhang: one.overhang.map(|o| self.overhang(&o)).transpose()?,
            diagonals: pair(self, "diagonals", &one.diagonals)?,
            before: [
                read(
                    self,
                    "width before washing",
                    &one.before.as_ref().and_then(|b| b.width.clone()),
                )?,
                read(self, "height before washing", &one.before.and_then(|b| b.height))?,
            ],
            pinned: pinned.zip(released).map(|(a, b)| [a, b]),
            error: read(self, "error", &one.error)?.unwrap_or(Length::mm(2.0)),
            scale: Mass::grams(self.count("scale", one.scale)?.unwrap_or(0.5)),
        };
        if let Some(gauge) = &one.gauge {
            self.gauge(gauge, one.repeat, &mut swatch)?;
        }
        if swatch.rows_in.is_empty() {
            return Err(self.impossible(
                "its stitch",
                "not stated",
                "in = \"dc\", or in = [\"dc\", \"sc\"]",
            ));
        }
        Ok(swatch)
    }

    fn slant(&self, one: &One) -> Result<Option<Angle>, CalibrationError> {
        match (one.slant, one.shift) {
            (Some(_), None) => Err(self.impossible(
                "its slant",
                "given without shift",
                "shift = the stitches every row gains at one edge, as in shift = 0.5",
            )),
            (Some(slant), _) if !(0.0..=85.0).contains(&slant) => {
                Err(self.impossible("its slant", &format!("{slant} degrees"), "0 to 85 degrees"))
            }
            (slant, _) => Ok(slant.map(Angle::degrees)),
        }
    }

    /// Stitches, counted one by one or by repeats.
    fn counted(&self, one: &One) -> Result<Option<f64>, CalibrationError> {
        let stitches = self.count("stitches", one.stitches)?;
        let repeats = self.count("repeats", one.repeats)?;
        let each = self.count("repeat", one.repeat)?;
        match (stitches, repeats, each) {
            (Some(stitches), Some(repeats), _) => Err(self.impossible(
                "its count",
                &format!("given twice, {stitches} stitches and {repeats} repeats"),
                "one of the two",
            )),
            (None, Some(repeats), None) => Err(self.impossible(
                "its count",
                &format!("{repeats} repeats of unknown width"),
                "repeat = the stitches in each, as in repeat = 6",
            )),
            (None, Some(repeats), Some(each)) => Ok(Some(repeats * each)),
            (stitches, None, _) => Ok(stitches),
        }
    }

    /// A gauge line as patterns print it; its count is read to half a stitch, or half a repeat.
    fn gauge(
        &mut self,
        words: &str,
        repeat: Option<f64>,
        swatch: &mut Swatch,
    ) -> Result<(), CalibrationError> {
        let page = format!("+++\ngauge = {words:?}\n+++\n");
        let reading = predict::read(&Source::new("gauge".to_owned(), page));
        let Some(gauge) = reading.header.gauges.first() else {
            return Err(self.impossible(
                "its gauge",
                words,
                "such as \"16 sts and 20 rows = 10 cm in dc\", above zero",
            ));
        };
        let impossible =
            |n: Option<f64>, over: Length| n.is_some_and(|n| n <= 0.0 || over.to_mm() <= 0.0);
        if impossible(gauge.stitches, gauge.stitches_over)
            || impossible(gauge.rows, gauge.rows_over)
        {
            return Err(self.impossible("its gauge", words, "count and length both above zero"));
        }
        if swatch.rows_in.is_empty() {
            swatch.rows_in = vec![self.stitch(&gauge.within)?];
        }
        let each = match (gauge.unit.as_str(), repeat) {
            ("sts", _) => 1.0,
            (_, Some(each)) => self.count("repeat", Some(each))?.unwrap_or(1.0),
            (unit, None) => {
                return Err(self.impossible(
                    "its gauge",
                    &format!("\"{words}\", counted in {unit}"),
                    "repeat = the stitches in each, as in repeat = 6",
                ));
            }
        };
        let half = |count: Option<f64>, over: Length| count.map(|n| over * (0.5 / n));
        let errors = [half(gauge.stitches, gauge.stitches_over), half(gauge.rows, gauge.rows_over)];
        swatch.error =
            errors.into_iter().flatten().fold(swatch.error, |a, b| if a > b { a } else { b });
        (swatch.stitches, swatch.rows) = (gauge.stitches.map(|n| n * each), gauge.rows);
        swatch.counted = Counting::Line;
        swatch.width = gauge.stitches.map(|_| gauge.stitches_over);
        swatch.height = gauge.rows.map(|_| gauge.rows_over);
        Ok(())
    }

    fn stitch(&self, name: &str) -> Result<Worked, CalibrationError> {
        let expected = match self.craft {
            Craft::Crochet => "one of sc, hdc, dc, tr, dtr, trtr (US terms unless terms = \"UK\")",
            Craft::Knit => "one of stockinette, garter, rib, seed",
        };
        stitch_named(name, self.terms, self.craft)
            .ok_or_else(|| self.impossible("its stitch", &format!("`{name}`"), expected))
    }

    fn hung(&self, pull: &Pull) -> Result<Hung, CalibrationError> {
        let grams = self.count("hung grams", Some(pull.grams))?.unwrap_or(0.0);
        let length = self.length("hung length", &pull.length)?;
        let later = pull.later.as_ref().map(|l| self.length("later hung length", l)).transpose()?;
        let hours = self.count("hung hours", pull.hours)?;
        let later = match (later, hours) {
            (Some(later), Some(hours)) => Some((later, hours)),
            (None, None) => None,
            (a, _) => {
                let given = if a.is_some() { "later without hours" } else { "hours without later" };
                let expected = "both, as in later = \"12.9 cm\", hours = 24";
                return Err(self.impossible("its hanging", given, expected));
            }
        };
        Ok(Hung { mass: Mass::grams(grams), length, along_rows: pull.along_rows, later })
    }

    fn overhang(&self, over: &Over) -> Result<Reading, CalibrationError> {
        if !(3.0..=80.0).contains(&over.angle) {
            let found = format!("{} degrees", over.angle);
            return Err(self.impossible(
                "its overhang angle",
                &found,
                "3 to 80 degrees below the level",
            ));
        }
        let overhang = self.length("overhang", &over.length)?;
        Ok(Reading { overhang, angle: Angle::degrees(over.angle), along_rows: over.along_rows })
    }

    fn count(&self, what: &str, value: Option<f64>) -> Result<Option<f64>, CalibrationError> {
        match value {
            Some(n) if !(n.is_finite() && n > 0.0) => {
                Err(self.impossible(what, &n.to_string(), "a number above zero"))
            }
            other => Ok(other),
        }
    }

    fn length(&self, what: &str, text: &str) -> Result<Length, CalibrationError> {
        length_of(text).map_err(|_| {
            let found = format!("\"{text}\"");
            self.impossible(
                what,
                &found,
                "a length above zero with its unit, as in \"10 cm\" or \"4 in\"",
            )
        })
    }

    fn impossible(&self, what: &str, found: &str, expected: &'static str) -> CalibrationError {
        let swatch = self.name.clone();
        CalibrationError::Impossible { swatch, what: what.into(), found: found.into(), expected }
    }

    /// Inches beside centimetres in one swatch are more often a slip than meant.
    fn units(&mut self, one: &One) {
        let inches = |t: &&String| t.contains("in") || t.contains('"');
        let all: Vec<(&str, &String)> = [("width", &one.width), ("height", &one.height)]
            .into_iter()
            .filter_map(|(what, text)| Some((what, text.as_ref()?)))
            .collect();
        let hung = one.hung.as_ref().map(|h| ("hung length", &h.length));
        let all: Vec<(&str, &String)> = all.into_iter().chain(hung).collect();
        let inch = all.iter().find(|(_, t)| inches(t));
        let metric = all.iter().find(|(_, t)| !inches(t));
        if let (Some((a, x)), Some((b, y))) = (inch, metric) {
            self.notes.push(format!(
                "swatch `{}` mixes units, {a} {x} and {b} {y}: both are read as written",
                self.name
            ));
        }
    }
}

/// "10.5 cm", "4 1/2 in".
pub(super) fn length_of(text: &str) -> Result<Length, String> {
    Length::read(text).ok_or_else(|| {
        format!("`{text}`: expected a length above zero with its unit, as in 10 cm or 4 1/2 in")
    })
}
