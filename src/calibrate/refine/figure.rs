//! What was measured, and what could be, as figures of a piece under trial.

use super::CannotRefine;
use super::measured::{MeasuredPiece, Part, What};
use crate::calibrate::CalibrationError;
use crate::pattern::GaugeState;
use crate::predict::{Variants, Varied};
use crate::units::Length;

/// Unit a figure is told in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// A length, mm.
    Length,
    /// An angle, degrees.
    Angle,
    /// A mass, g.
    Mass,
}

/// A piece under trial.
pub(super) struct State<'t> {
    pub(super) trial: &'t Varied,
    /// Change of size along and up by washing, log of the ratio.
    pub(super) wash: [f64; 2],
    /// Share of the pinned stretch that stays.
    pub(super) set: f64,
}

/// A figure of the piece, with what was read of it.
pub(super) struct Wanted {
    pub(super) words: String,
    pub(super) unit: Unit,
    /// What was read; none for a figure that could be measured and was not.
    pub(super) value: Option<f64>,
    /// Standard error of reading it.
    pub(super) sigma: f64,
    pub(super) of: Box<dyn Fn(&State<'_>) -> f64>,
}

/// All that was measured, then what else a tape or a scale could tell.
///
/// # Errors
/// A row, colour or yarn that the piece does not have; another state than the gauge's.
pub(super) fn wanted(
    measured: &MeasuredPiece,
    trials: &Variants<'_>,
) -> Result<Vec<Wanted>, CannotRefine> {
    same_state(measured, trials)?;
    let error = measured.error.to_mm();
    let mut list = Vec::new();
    for what in What::ALL {
        let value = measured.whole.iter().find(|(w, _)| *w == what).map(|(_, value)| *value);
        list.push(Wanted {
            words: what.words().into(),
            unit: if what.angle() { Unit::Angle } else { Unit::Length },
            value,
            sigma: if what.angle() { measured.angle_error } else { error },
            of: Box::new(move |s| whole(s.trial, what)),
        });
    }
    grams(measured, trials, &mut list)?;
    for part in &measured.parts {
        rows(part, trials, &mut list)?;
    }
    for &(what, before) in &measured.before {
        list.push(Wanted {
            words: format!("{}, before washing", what.words()),
            unit: Unit::Length,
            value: Some(before.to_mm()),
            sigma: error,
            of: Box::new(move |s| {
                let way = usize::from(what != What::AlongRow);
                whole(s.trial, what) * (-s.wash[way]).exp()
            }),
        });
    }
    for &(what, [under, after]) in &measured.released {
        list.push(Wanted {
            words: format!("{}, after the pins came out", what.words()),
            unit: Unit::Length,
            value: Some(after.to_mm()),
            sigma: error,
            of: Box::new(move |s| {
                let free = whole(s.trial, what);
                free + s.set * (under.to_mm() - free)
            }),
        });
    }
    Ok(list)
}

/// The prediction has the size of the state its gauge was taken in.
fn same_state(measured: &MeasuredPiece, trials: &Variants<'_>) -> Result<(), CannotRefine> {
    let gauge = trials.run().header.gauges.iter().find(|g| g.state_stated);
    let gauge = gauge.map_or(GaugeState::default(), |g| g.state);
    let words = |state: GaugeState| match state {
        GaugeState::Worked => "as worked",
        GaugeState::Washed => "washed",
        GaugeState::Blocked => "blocked",
    };
    match measured.state {
        Some(state) if state != gauge => Err(refused(
            "state",
            words(state).into(),
            format!(
                "{}, the state of the pattern's gauge: the two differ by washing or pins; measure the piece \
                 in that state, or put these sizes under [before], or under [pinned] and [released]",
                words(gauge)
            ),
        )),
        _ if !measured.before.is_empty() && gauge == GaugeState::Worked => Err(refused(
            "before",
            "sizes before washing".into(),
            "sizes as worked: the pattern's gauge is as worked, so these are the piece's own"
                .into(),
        )),
        _ => Ok(()),
    }
}

pub(super) fn refused(what: &str, found: String, expected: String) -> CannotRefine {
    CalibrationError::Measured { what: what.into(), found, expected }.into()
}

fn whole(trial: &Varied, what: What) -> f64 {
    let m = &trial.measured;
    let [left, right] = &m.edges;
    let mean = |a: f64, b: f64| f64::midpoint(a, b);
    match what {
        What::AlongRow => m.along_rows.mean.to_mm(),
        What::SquareToRows => m.square_to_rows.to_mm(),
        What::SquareToEdge => m.square_to_edges.to_mm(),
        What::AlongEdge => mean(left.chord.to_mm(), right.chord.to_mm()),
        What::AlongLeft => left.chord.to_mm(),
        What::AlongRight => right.chord.to_mm(),
        What::OverAllWidth => m.over_all()[0].to_mm(),
        What::OverAllHeight => m.over_all()[1].to_mm(),
        What::Slant => mean(left.slant.to_degrees(), right.slant.to_degrees()),
        What::SlantLeft => left.slant.to_degrees(),
        What::SlantRight => right.slant.to_degrees(),
    }
}

fn grams(
    measured: &MeasuredPiece,
    trials: &Variants<'_>,
    list: &mut Vec<Wanted>,
) -> Result<(), CannotRefine> {
    let yarns = trials.yarns();
    let mut unread: Vec<Option<usize>> = (0..yarns.len()).map(Some).collect();
    for (name, grams) in &measured.grams {
        let at = match name {
            None => None,
            Some(name) => {
                let at = yarns.iter().position(|(own, _)| own.eq_ignore_ascii_case(name));
                Some(at.ok_or_else(|| {
                    let known: Vec<&str> = yarns.iter().map(|y| y.0.as_str()).collect();
                    let expected = format!("one of the pattern's yarns: {}", known.join(", "));
                    refused(&format!("grams.{name}"), format!("{grams} g"), expected)
                })?)
            }
        };
        let figure = mass(at, &yarns, Some(*grams), measured.scale).ok_or_else(|| {
            let expected = "a ball for that yarn in the pattern, as in ball = \"50 g / 200 m\": grams are \
                            no length without it";
            refused("grams", format!("{grams} g"), expected.into())
        })?;
        list.push(figure);
        unread.retain(|i| *i != at && at.is_some());
    }
    list.extend(unread.into_iter().filter_map(|at| mass(at, &yarns, None, measured.scale)));
    Ok(())
}

/// Weight of a colour, or of all of it; none where a yarn's density is not known.
fn mass(
    colour: Option<usize>,
    yarns: &[(String, Option<f64>)],
    value: Option<f64>,
    sigma: f64,
) -> Option<Wanted> {
    let tex: Option<Vec<f64>> = yarns
        .iter()
        .enumerate()
        .map(|(i, y)| if colour.is_none_or(|c| c == i) { y.1 } else { Some(0.0) })
        .collect();
    let tex = tex?;
    let name = colour.map(|c| yarns[c].0.as_str()).filter(|name| !name.is_empty());
    Some(Wanted {
        words: name.map_or_else(|| "weight".into(), |name| format!("weight of yarn {name}")),
        unit: Unit::Mass,
        value,
        sigma,
        of: Box::new(move |s| {
            s.trial.yarn.iter().zip(&tex).map(|(length, tex)| length.to_m() * tex / 1000.0).sum()
        }),
    })
}

/// Height over a run of rows, and their mean width.
fn rows(part: &Part, trials: &Variants<'_>, list: &mut Vec<Wanted>) -> Result<(), CannotRefine> {
    let [first, last] = [row(&part.rows[0], trials)?, row(&part.rows[1], trials)?];
    if last < first {
        let found = format!("from {} to {}", part.rows[0], part.rows[1]);
        return Err(refused("part", found, "the first row before the last".into()));
    }
    let within = move |trial: &Varied, of: fn(&crate::measure::RowMeasure) -> Length| {
        let rows = trial.measured.rows.iter().filter(|r| (first..=last).contains(&r.row));
        rows.map(|r| of(r).to_mm()).fold((0.0, 0_u32), |(sum, n), mm| (sum + mm, n + 1))
    };
    let name = format!("{} to {}", part.rows[0], part.rows[1]);
    let mut add = |what: &str, value: Option<Length>, of: Box<dyn Fn(&State<'_>) -> f64>| {
        if let Some(value) = value {
            let (words, sigma) = (format!("{what} of {name}"), part.error.to_mm());
            list.push(Wanted { words, unit: Unit::Length, value: Some(value.to_mm()), sigma, of });
        }
    };
    add("height", part.height, Box::new(move |s| within(s.trial, |r| r.height).0));
    add(
        "width",
        part.width,
        Box::new(move |s| {
            let (sum, n) = within(s.trial, |r| r.width);
            sum / f64::from(n.max(1))
        }),
    );
    Ok(())
}

/// Index of a row by its name: `WRAP, row 12`, `wrap 12`, or `12` where no sections are named.
fn row(name: &str, trials: &Variants<'_>) -> Result<u32, CannotRefine> {
    let plain = |words: &str| {
        let lower = words.to_lowercase();
        let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
        let kept: Vec<&str> = words.filter(|w| !["row", "rnd", "round"].contains(w)).collect();
        kept.join(" ")
    };
    let labels = trials.row_labels();
    let found = labels.iter().position(|label| plain(label) == plain(name));
    found.map(|at| at as u32).ok_or_else(|| {
        let nearest = labels
            .iter()
            .max_by(|a, b| strsim::jaro_winkler(a, name).total_cmp(&strsim::jaro_winkler(b, name)));
        let expected = format!(
            "a row of the pattern, such as \"{}\"",
            nearest.map_or("row 1", String::as_str)
        );
        refused("part", format!("row \"{name}\""), expected)
    })
}
