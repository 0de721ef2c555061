//! Planned beside predicted, row by row: the table of the text report and of the page.

use std::fmt::Write as _;

use super::words;
use crate::measure::Closed;
use crate::predict::Figure;
use crate::predict::Prediction;
use crate::units::Angle;
use crate::units::Length;

/// One line of the table; empty where there is nothing to say.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) what: String,
    pub(super) planned: String,
    pub(super) predicted: String,
    pub(super) difference: String,
    /// Half the band that holds nine makers in ten; empty when it was not estimated.
    pub(super) sure: String,
}

impl Row {
    pub(super) fn head() -> Self {
        Self { sure: "how sure".into(), ..Self::new("", "planned", "predicted", "difference") }
    }

    fn new(what: &str, planned: &str, predicted: &str, difference: &str) -> Self {
        let [what, planned, predicted, difference] =
            [what, planned, predicted, difference].map(str::to_owned);
        Self { what, planned, predicted, difference, sure: String::new() }
    }
}

/// All lines, in the order they are read.
pub(super) fn rows(prediction: &Prediction) -> Vec<Row> {
    let Prediction { measured, planned, units, .. } = prediction;
    let length =
        |what: &str, found: Length, plan: Option<Length>| length(prediction, what, found, plan);
    let fine = |what: &str, found: Length| Row::new(what, "", &words::fine(*units, found), "");
    let [left, right] = &measured.edges;
    if let Some(closed) = &measured.closed {
        return closed_rows(prediction, closed);
    }
    let mut list = vec![
        length("along the rows, mean", measured.along_rows.mean, planned.along_rows),
        length("  shortest row", measured.along_rows.least, None),
        length("  longest row", measured.along_rows.most, None),
        over_all(prediction),
        length("square to the rows", measured.square_to_rows, None),
        length("square to the edges", measured.square_to_edges, planned.square_to_edges),
        length("along the left edge", left.chord, planned.along_edges),
        length("along the right edge", right.chord, planned.along_edges),
        angle("slant of the left edge", left.slant, planned.slant),
        angle("slant of the right edge", right.slant, planned.slant),
        fine("straightness, left (minimum zone)", left.minimum_zone),
        fine("straightness, right (minimum zone)", right.minimum_zone),
    ];
    for (name, edge) in [("left", left), ("right", right)] {
        if let Some(zigzag) = edge.zigzag {
            list.push(fine(&format!("steps of the {name} edge, height"), zigzag.height));
            list.push(length(&format!("steps of the {name} edge, period"), zigzag.period, None));
        }
    }
    list.extend(amounts(prediction));
    banded(prediction, list)
}

/// The lines with how sure each is, where that was estimated.
fn banded(prediction: &Prediction, mut list: Vec<Row>) -> Vec<Row> {
    for band in prediction.sure.iter().flat_map(|sure| &sure.bands) {
        let name = super::spread::name(band.figure);
        let of_it = |what: &str| match band.figure {
            Figure::Yarn => what.starts_with("yarn"),
            _ => what == name,
        };
        for line in list.iter_mut().filter(|line| of_it(&line.what)) {
            line.sure = super::spread::half_width(prediction.units, band);
        }
    }
    list
}

/// Closed rounds: what they measure whole.
fn closed_rows(prediction: &Prediction, closed: &Closed) -> Vec<Row> {
    let units = prediction.units;
    let plain = |what: &str, value: String| Row::new(what, "", &value, "");
    let mut list = match closed {
        Closed::Disc { turn, radius } => vec![
            plain("middle to last round", units.length(*radius)),
            plain("across, lying flat", units.length(*radius * 2.0)),
            plain("turn its rounds take, of 360°", words::degrees(*turn)),
            plain("last round over a flat one", {
                let by = closed.over_fed().to_mm();
                let sign = if by < 0.0 { "−" } else { "+" };
                format!("{sign}{}", words::fine(units, Length::mm(by.abs())))
            }),
        ],
        Closed::Tube { around, height } => vec![
            plain("around", units.length(*around)),
            plain("across, lying double", units.length(*around / 2.0)),
            plain("high", units.length(*height)),
        ],
    };
    list.extend(amounts(prediction));
    banded(prediction, list)
}

/// Area, yarn and stitches.
fn amounts(prediction: &Prediction) -> Vec<Row> {
    let Prediction { measured, units, .. } = prediction;
    let mut list = vec![Row::new("area", "", &words::area(*units, measured.area_mm2), "")];
    for used in &measured.yarn {
        let mass = used.mass.map(|m| format!(", {:.0} g", m.to_grams())).unwrap_or_default();
        let amount = words::yarn(*units, used.length) + &mass;
        list.push(Row::new(&format!("yarn {}", used.colour), "", &amount, ""));
    }
    list.push(Row::new("stitches", "", &prediction.stitches.to_string(), ""));
    list
}

/// The box round it, rows level.
fn over_all(prediction: &Prediction) -> Row {
    let [across, up] = prediction.measured.over_all().map(|l| prediction.units.length(l));
    Row::new("over all, rows level", "", &format!("{across} × {up}"), "")
}

fn length(prediction: &Prediction, what: &str, found: Length, plan: Option<Length>) -> Row {
    let units = prediction.units;
    let difference = plan.map(|plan| {
        let off = found - plan;
        let size = units.length(if off.to_mm() < 0.0 { -off } else { off });
        let sign = if off.to_mm() < 0.0 { "−" } else { "+" };
        format!("{sign}{size} ({})", words::percent_off(found, plan))
    });
    let planned = plan.map(|plan| units.length(plan)).unwrap_or_default();
    Row::new(what, &planned, &units.length(found), &difference.unwrap_or_default())
}

fn angle(what: &str, found: Angle, plan: Option<Angle>) -> Row {
    let difference =
        plan.map(|plan| words::signed(found.to_degrees() - plan.to_degrees(), 1) + "°");
    let planned = plan.map(words::degrees).unwrap_or_default();
    Row::new(what, &planned, &words::degrees(found), &difference.unwrap_or_default())
}

/// Plain text under a rule: columns as wide as their widest cell, the first set left and the others right.
pub(super) fn aligned(head: &[String], lines: &[impl AsRef<[String]>]) -> String {
    let all = || std::iter::once(head).chain(lines.iter().map(AsRef::as_ref));
    let width = |c: usize| all().map(|line| line[c].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    let mut out = String::new();
    for (i, line) in all().enumerate() {
        let mut text = String::new();
        for (c, (cell, w)) in line.iter().zip(&widths).enumerate() {
            let _ = if c == 0 { write!(text, "{cell:<w$}") } else { write!(text, "  {cell:>w$}") };
        }
        out.push_str(text.trim_end());
        out.push('\n');
        if i == 0 {
            out.push_str(&"-".repeat(widths.iter().sum::<usize>() + 2 * (head.len() - 1)));
            out.push('\n');
        }
    }
    out
}
