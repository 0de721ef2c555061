//! All numbers of a prediction as JSON.
//!
//! Schema 1. Every key that carries a unit names it (`_mm`, `_mm2`, `_deg`, `_g`, `_j`). A value that
//! was not planned or does not apply is `null`. Top level:
//!
//! | key | content |
//! |---|---|
//! | `schema` | 1 |
//! | `title`, `gauge_state`, `units`, `stitches` | as in the report; `units` is `metric` or `imperial` |
//! | `headline` | the answers in words |
//! | `planned`, `predicted` | sizes; `predicted.outline_mm` is closed, counter-clockwise from the lower left |
//! | `sure` | per figure what 5, 50 and 95 % of makers stay below, with its unit; `null` if not estimated |
//! | `edges` | `left` and `right`: sizes, zigzag, deviation curve, rows that bend it |
//! | `over_fed` | rows or columns longer than the piece lets them lie, the length to spare and the wave that would rise first |
//! | `on_a_table` | how it stands on a table; `null` where it stays flat or was not solved for |
//! | `rows` | row by row: size, slant, cumulative slant |
//! | `yarn` | by colour, without margin |
//! | `assumptions`, `cautions` | what the numbers rest on |
//! | `solution` | how the equilibrium was reached |
//! | `diagnostics` | faults, doubts and remarks, with byte spans |
//!
//! Frame of all points: x to the right and y up the rows as seen from the right side of the piece.

use serde::Serialize;

use super::words;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::measure::EdgeShape;
use crate::measure::RowMeasure;
use crate::predict::Band;
use crate::predict::Figure;
use crate::predict::Prediction;
use crate::predict::Stand;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Version of the layout of [`json`]; grows when a key changes meaning or goes.
pub const SCHEMA: u32 = 1;

#[derive(Serialize)]
struct Report<'a> {
    schema: u32,
    title: &'a str,
    units: &'static str,
    gauge_state: &'a str,
    stitches: u32,
    headline: Vec<String>,
    planned: Plan<'a>,
    predicted: Predicted<'a>,
    sure: Option<Vec<SureOut>>,
    edges: Edges<'a>,
    over_fed: Vec<OverFedOut<'a>>,
    on_a_table: Option<TableOut<'a>>,
    rows: Vec<RowOut<'a>>,
    yarn: Vec<YarnOut<'a>>,
    assumptions: Vec<AssumptionOut<'a>>,
    cautions: &'a [String],
    solution: SolutionOut,
    diagnostics: Vec<DiagnosticOut<'a>>,
}

#[derive(Serialize)]
struct OverFedOut<'a> {
    place: &'a str,
    spare_mm: f64,
    wave_mm: f64,
}

#[derive(Serialize)]
struct TableOut<'a> {
    rise_mm: f64,
    along: &'a str,
    ripple_mm: f64,
    waves: u32,
    wavelength_mm: f64,
}

#[derive(Serialize)]
struct Plan<'a> {
    along_rows_mm: Option<f64>,
    square_to_edges_mm: Option<f64>,
    along_edges_mm: Option<f64>,
    slant_deg: Option<f64>,
    outline_mm: Option<&'a [[f64; 2]]>,
}

#[derive(Serialize)]
struct Predicted<'a> {
    along_rows_mm: f64,
    along_rows_least_mm: f64,
    along_rows_most_mm: f64,
    square_to_rows_mm: f64,
    square_to_edges_mm: f64,
    over_all_mm: [f64; 2],
    area_mm2: f64,
    outline_mm: &'a [[f64; 2]],
}

#[derive(Serialize)]
struct SureOut {
    figure: &'static str,
    unit: &'static str,
    at_5: f64,
    at_50: f64,
    at_95: f64,
}

#[derive(Serialize)]
struct Edges<'a> {
    left: EdgeOut<'a>,
    right: EdgeOut<'a>,
}

#[derive(Serialize)]
struct EdgeOut<'a> {
    chord_mm: f64,
    path_length_mm: f64,
    slant_deg: f64,
    minimum_zone_mm: f64,
    least_squares_mm: f64,
    zigzag: Option<ZigzagOut>,
    benders: Vec<BenderOut<'a>>,
    curve: Vec<PointOut>,
}

#[derive(Serialize)]
struct ZigzagOut {
    height_mm: f64,
    period_mm: f64,
    rows: u32,
}

#[derive(Serialize)]
struct BenderOut<'a> {
    rows: &'a str,
    row_indices: &'a [u32],
    push_mm: f64,
}

#[derive(Serialize)]
struct PointOut {
    row: u32,
    along_mm: f64,
    off_mm: f64,
}

#[derive(Serialize)]
struct RowOut<'a> {
    row: u32,
    label: &'a str,
    width_mm: f64,
    height_mm: f64,
    slant_left_deg: f64,
    slant_right_deg: f64,
    cumulative_left_deg: f64,
    cumulative_right_deg: f64,
}

#[derive(Serialize)]
struct YarnOut<'a> {
    colour: &'a str,
    length_mm: f64,
    mass_g: Option<f64>,
}

#[derive(Serialize)]
struct AssumptionOut<'a> {
    what: &'a str,
    value: &'a str,
    source: &'a str,
    assumed: bool,
}

#[derive(Serialize)]
struct SolutionOut {
    residual: f64,
    last_step_stitches: f64,
    iterations: u32,
    energy_j: f64,
    minimum: bool,
}

#[derive(Serialize)]
struct DiagnosticOut<'a> {
    code: &'a str,
    severity: &'static str,
    message: &'a str,
    start: u32,
    end: u32,
    section: Option<&'a str>,
    row: &'a str,
    expected: &'a str,
    found: &'a str,
    fit: &'a str,
}

/// The prediction as JSON, indented, ending in a line break. The same prediction gives the same bytes.
pub fn json(prediction: &Prediction) -> String {
    let measured = &prediction.measured;
    let [left, right] = measured.edges.each_ref().map(edge);
    let report = Report {
        schema: SCHEMA,
        title: &prediction.title,
        units: units_word(prediction.units),
        gauge_state: &prediction.gauge_state,
        stitches: prediction.stitches,
        headline: words::headline(prediction),
        planned: plan(prediction),
        predicted: predicted(prediction),
        sure: sure(prediction),
        edges: Edges { left, right },
        over_fed: over_fed(prediction),
        on_a_table: on_a_table(prediction),
        rows: measured.rows.iter().map(row).collect(),
        yarn: yarn(prediction),
        assumptions: assumptions(prediction),
        cautions: &prediction.cautions,
        solution: solution(prediction),
        diagnostics: prediction.diagnostics.iter().map(diagnostic).collect(),
    };
    // Strings and numbers only, so serialising cannot fail.
    serde_json::to_string_pretty(&report).unwrap_or_default() + "\n"
}

/// Faults, doubts and choices.
pub(super) fn said(diagnostics: &[Diagnostic]) -> serde_json::Value {
    let out: Vec<_> = diagnostics.iter().map(diagnostic).collect();
    serde_json::to_value(out).unwrap_or_default()
}

fn over_fed(prediction: &Prediction) -> Vec<OverFedOut<'_>> {
    let places = prediction.rising.iter().flat_map(|rising| &rising.places);
    places
        .map(|p| OverFedOut { place: &p.place, spare_mm: p.spare.to_mm(), wave_mm: p.wave.to_mm() })
        .collect()
}

fn on_a_table(prediction: &Prediction) -> Option<TableOut<'_>> {
    let Stand::Settled(stands) = &prediction.rising.as_ref()?.stands else { return None };
    Some(TableOut {
        rise_mm: stands.rise.to_mm(),
        along: &stands.along,
        ripple_mm: stands.ripple.to_mm(),
        waves: stands.waves,
        wavelength_mm: stands.wavelength.to_mm(),
    })
}

fn plan(prediction: &Prediction) -> Plan<'_> {
    let planned = &prediction.planned;
    Plan {
        along_rows_mm: planned.along_rows.map(Length::to_mm),
        square_to_edges_mm: planned.square_to_edges.map(Length::to_mm),
        along_edges_mm: planned.along_edges.map(Length::to_mm),
        slant_deg: planned.slant.map(Angle::to_degrees),
        outline_mm: planned.outline.as_deref(),
    }
}

fn predicted(prediction: &Prediction) -> Predicted<'_> {
    let measured = &prediction.measured;
    Predicted {
        along_rows_mm: measured.along_rows.mean.to_mm(),
        along_rows_least_mm: measured.along_rows.least.to_mm(),
        along_rows_most_mm: measured.along_rows.most.to_mm(),
        square_to_rows_mm: measured.square_to_rows.to_mm(),
        square_to_edges_mm: measured.square_to_edges.to_mm(),
        over_all_mm: measured.over_all().map(Length::to_mm),
        area_mm2: measured.area_mm2,
        outline_mm: &measured.outline,
    }
}

fn sure(prediction: &Prediction) -> Option<Vec<SureOut>> {
    let out = |band: &Band| {
        let [at_5, at_50, at_95] = band.at;
        let unit = match band.figure {
            Figure::LeftSlant | Figure::RightSlant | Figure::Turn => "deg",
            Figure::Area => "mm2",
            _ => "mm",
        };
        SureOut { figure: super::spread::name(band.figure), unit, at_5, at_50, at_95 }
    };
    prediction.sure.as_ref().map(|sure| sure.bands.iter().map(out).collect())
}

fn edge(edge: &EdgeShape) -> EdgeOut<'_> {
    EdgeOut {
        chord_mm: edge.chord.to_mm(),
        path_length_mm: edge.path_length.to_mm(),
        slant_deg: edge.slant.to_degrees(),
        minimum_zone_mm: edge.minimum_zone.to_mm(),
        least_squares_mm: edge.least_squares.to_mm(),
        zigzag: edge.zigzag.map(|z| ZigzagOut {
            height_mm: z.height.to_mm(),
            period_mm: z.period.to_mm(),
            rows: z.rows,
        }),
        benders: edge
            .benders
            .iter()
            .map(|b| BenderOut { rows: &b.rows, row_indices: &b.indices, push_mm: b.push.to_mm() })
            .collect(),
        curve: edge
            .curve
            .iter()
            .map(|p| PointOut { row: p.row, along_mm: p.along, off_mm: p.off })
            .collect(),
    }
}

fn row(row: &RowMeasure) -> RowOut<'_> {
    RowOut {
        row: row.row,
        label: &row.label,
        width_mm: row.width.to_mm(),
        height_mm: row.height.to_mm(),
        slant_left_deg: row.slant[0].to_degrees(),
        slant_right_deg: row.slant[1].to_degrees(),
        cumulative_left_deg: row.cumulative[0].to_degrees(),
        cumulative_right_deg: row.cumulative[1].to_degrees(),
    }
}

fn yarn(prediction: &Prediction) -> Vec<YarnOut<'_>> {
    let used = prediction.measured.yarn.iter();
    used.map(|used| YarnOut {
        colour: &used.colour,
        length_mm: used.length.to_mm(),
        mass_g: used.mass.map(|m| m.to_grams()),
    })
    .collect()
}

fn assumptions(prediction: &Prediction) -> Vec<AssumptionOut<'_>> {
    let list = prediction.assumptions.iter();
    list.map(|a| AssumptionOut {
        what: &a.what,
        value: &a.value,
        source: &a.source,
        assumed: a.assumed,
    })
    .collect()
}

fn solution(prediction: &Prediction) -> SolutionOut {
    let s = &prediction.solution;
    SolutionOut {
        residual: s.residual,
        last_step_stitches: s.last_step,
        iterations: s.iterations,
        energy_j: s.energy,
        minimum: s.minimum,
    }
}

fn diagnostic(d: &Diagnostic) -> DiagnosticOut<'_> {
    DiagnosticOut {
        code: d.code,
        severity: match d.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        },
        message: &d.message,
        start: d.primary.span.start,
        end: d.primary.span.end,
        section: d.section.as_deref(),
        row: &d.row,
        expected: &d.expected,
        found: &d.found,
        fit: &d.fit,
    }
}

/// `metric` or `imperial`.
pub(super) fn units_word(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Metric => "metric",
        UnitSystem::Imperial => "imperial",
    }
}
