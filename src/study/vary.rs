//! What to vary, as written on a command line: `WHAT@ROWS=VALUE,VALUE,...`.

use super::change::{Change, abbreviation};
use super::rows::Rows;
use crate::material::YarnClass;
use crate::material::preset;
use crate::stitches::LoopTaken;
use crate::stitches::Post;

/// One value tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// As it is shown: "dc", "50 %".
    pub words: String,
    /// Place on an axis, when it is a number.
    pub number: Option<f64>,
    /// What it does to the pattern.
    pub change: Change,
}

/// One thing varied.
#[derive(Debug, Clone, PartialEq)]
pub struct Variation {
    /// "stitch of WRAP row 3 and every 12 rows on".
    pub name: String,
    /// Values, in the order given.
    pub values: Vec<Value>,
}

/// What could not be read of a variation.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("`{text}`: {why}")]
pub struct BadVariation {
    /// The words.
    pub text: String,
    /// What was expected.
    pub why: String,
}

const WHAT: &str = "expected WHAT=VALUES with WHAT one of stitch, shape, tall, loop, hand, yarn or a \
                    preset's key, and rows after @ where they are meant: stitch@WRAP:3/12=dc,tr";

impl Variation {
    /// Reads `stitch@WRAP:3/12=sc,hdc,dc`, `shape=1,2,3,0`, `tall=0,50,100`, `loop@5=both,back`,
    /// `hand=0.95,1.05`, `yarn=fine,light` or a preset with its values, `knit.lean=0,0.25`.
    ///
    /// Stitches are in US terms.
    ///
    /// # Errors
    /// [`BadVariation`], with what would fit.
    pub fn parse(text: &str) -> Result<Self, BadVariation> {
        let bad = |why: String| BadVariation { text: text.to_owned(), why };
        let (left, values) = text.split_once('=').ok_or_else(|| bad(WHAT.into()))?;
        let (what, rows_text) = match left.split_once('@') {
            Some((what, rows)) => (what.trim(), Some(rows)),
            None => (left.trim(), None),
        };
        let rows = match rows_text {
            None => Rows::default(),
            Some(t) => Rows::parse(t).ok_or_else(|| {
                bad(format!("`{t}` names no rows; expected SECTION, SECTION:3, 3-6 or 3/12"))
            })?,
        };
        let values: Result<Vec<Value>, String> =
            values.split(',').map(|v| value(what, &rows, v.trim())).collect();
        let axis = match what {
            "tall" => "share of rows worked tall, per cent",
            "shape" => "share of shaping rows that still shape, per cent",
            "hand" => "size of the stitches against the gauge",
            other => other,
        };
        let whole = if rows_text.is_some() { format!("{axis}: {rows}") } else { axis.to_owned() };
        Ok(Self { name: whole, values: values.map_err(bad)? })
    }
}

fn value(what: &str, rows: &Rows, text: &str) -> Result<Value, String> {
    let rows = rows.clone();
    let number = || {
        let parsed = text.trim_end_matches('%').trim().parse::<f64>().ok();
        parsed.filter(|v| v.is_finite()).ok_or_else(|| format!("`{text}` is no number"))
    };
    let named = |words: &str, change| Value { words: words.to_owned(), number: None, change };
    Ok(match what {
        "stitch" => {
            let post = post(text)?;
            named(abbreviation(post), Change::Stitch(rows, post))
        }
        "shape" => shaping(rows, text)?,
        "tall" => {
            let share = number()?;
            if !(0.0..=100.0).contains(&share) {
                return Err(format!("`{text}`: expected a share of tall rows from 0 to 100 %"));
            }
            let change = Change::Tall(rows, share / 100.0);
            Value { words: format!("{share} % tall"), number: Some(share), change }
        }
        "loop" | "loops" => named(text, Change::Loop(rows, loop_taken(text)?)),
        "hand" => {
            let size = number()?;
            Value { words: format!("×{size}"), number: Some(size), change: Change::Hand(size) }
        }
        "yarn" => {
            YarnClass::from_name(text).ok_or_else(|| {
                format!("`{text}` is no class of yarn; expected lace, fingering, DK, worsted, ...")
            })?;
            named(text, Change::Yarn(text.to_owned()))
        }
        key if preset(key).is_some() => {
            let v = number()?;
            let change = Change::Preset(key.to_owned(), v);
            Value { words: v.to_string(), number: Some(v), change }
        }
        _ => return Err(WHAT.into()),
    })
}

fn shaping(rows: Rows, text: &str) -> Result<Value, String> {
    let every = if text == "none" { Some(0) } else { text.parse().ok() };
    let every = every.ok_or_else(|| {
        format!("`{text}`: expected 1 (every shaping row), 2 (every second), ... or none")
    })?;
    let words = match every {
        0 => "never".to_owned(),
        1 => "shaped as written".to_owned(),
        n => format!("1 in {n}"),
    };
    // On an axis: how many of the shaping rows still shape, per cent.
    let share = if every == 0 { 0.0 } else { 100.0 / f64::from(every) };
    Ok(Value { words, number: Some(share), change: Change::ShapeEvery(rows, every) })
}

fn post(text: &str) -> Result<Post, String> {
    use Post::{Double, DoubleTreble, HalfDouble, Single, Treble, TripleTreble};
    [Single, HalfDouble, Double, Treble, DoubleTreble, TripleTreble]
        .into_iter()
        .find(|p| abbreviation(*p).eq_ignore_ascii_case(text))
        .ok_or_else(|| {
            format!("`{text}` is no stitch here; expected sc, hdc, dc, tr, dtr or trtr (US terms)")
        })
}

fn loop_taken(text: &str) -> Result<LoopTaken, String> {
    match text.to_ascii_lowercase().as_str() {
        "both" => Ok(LoopTaken::Both),
        "back" => Ok(LoopTaken::Back),
        "front" => Ok(LoopTaken::Front),
        "third" => Ok(LoopTaken::Third),
        _ => Err(format!("`{text}` is no loop; expected both, back, front or third")),
    }
}
