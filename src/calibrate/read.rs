//! Reads a file of measured swatches.

use serde::Deserialize;

use super::CalibrationError;
use super::swatch::{Hung, Reading, Swatch, SwatchFile};
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
        swatches,
        notes,
    })
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
        let names = match &one.within {
            Some(In::One(name)) => vec![name.clone()],
            Some(In::Rows(names)) => names.clone(),
            None => Vec::new(),
        };
        let rows_in = names.iter().map(|n| self.stitch(n)).collect::<Result<Vec<_>, _>>()?;
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
            stitches: self.count("stitches", one.stitches)?,
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
            self.gauge(gauge, &mut swatch)?;
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

    /// A gauge line as patterns print it; its count is read to half a stitch.
    fn gauge(&mut self, words: &str, swatch: &mut Swatch) -> Result<(), CalibrationError> {
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
        let half = |count: Option<f64>, over: Length| count.map(|n| over * (0.5 / n));
        let errors = [half(gauge.stitches, gauge.stitches_over), half(gauge.rows, gauge.rows_over)];
        swatch.error =
            errors.into_iter().flatten().fold(swatch.error, |a, b| if a > b { a } else { b });
        (swatch.stitches, swatch.rows) = (gauge.stitches, gauge.rows);
        swatch.width = gauge.stitches.map(|_| gauge.stitches_over);
        swatch.height = gauge.rows.map(|_| gauge.rows_over);
        self.notes.push(format!(
            "swatch `{}` is a gauge line, read to half a stitch: weaker than a measured swatch",
            self.name
        ));
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
        Ok(Hung { mass: Mass::grams(grams), length, along_rows: pull.along_rows })
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
        let (Some(width), Some(height)) = (&one.width, &one.height) else { return };
        let inches = |t: &str| t.contains("in") || t.contains('"');
        if inches(width) != inches(height) {
            self.notes.push(format!(
                "swatch `{}` mixes units, width {width} and height {height}: both are read as written",
                self.name
            ));
        }
    }
}

/// "10.5 cm", "4 in".
fn length_of(text: &str) -> Result<Length, String> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let fail =
        || format!("`{text}`: expected a length above zero with its unit, as in 10 cm or 4 in");
    let value: f64 = text[..end].parse().map_err(|_| fail())?;
    let length = match text[end..].trim() {
        "mm" => Length::mm(value),
        "cm" => Length::cm(value),
        "m" => Length::m(value),
        "in" | "\"" => Length::inches(value),
        "yd" => Length::inches(36.0 * value),
        _ => return Err(fail()),
    };
    if value > 0.0 { Ok(length) } else { Err(fail()) }
}
