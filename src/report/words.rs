//! The answers in words, shared by the text report, the pictures and the page.

use crate::diagnostic::Severity;
use crate::measure::Bender;
use crate::measure::Closed;
use crate::measure::EdgeShape;
use crate::measure::Lies;
use crate::predict::Prediction;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// An edge within this share of its length is called straight: 2 mm a metre, the width of a tape's
/// finest marks over an arm's length.
const STRAIGHT: f64 = 0.002;

/// Edges whose slants differ by more, in degrees, bound a triangle or a trapezoid, not a strip.
const PARALLEL: f64 = 15.0;

/// Edge sentences, slant, size: what a designer asks first.
pub(super) fn headline(prediction: &Prediction) -> Vec<String> {
    if let Some(closed) = &prediction.measured.closed {
        let mut sentences = closed_sentences(prediction, closed);
        sentences.extend(fault_sentence(prediction));
        return sentences;
    }
    let [left, right] = &prediction.measured.edges;
    let mut sentences = vec![
        edge_sentence("Left edge", left, prediction.units),
        edge_sentence("Right edge", right, prediction.units),
        slant_sentence(prediction),
        size_sentence(prediction),
    ];
    sentences.extend(super::rising::sentences(prediction));
    sentences.extend(fault_sentence(prediction));
    sentences
}

/// Closed rounds have no edges: how they lie whole, and what they measure.
fn closed_sentences(prediction: &Prediction, closed: &Closed) -> Vec<String> {
    let units = prediction.units;
    let cut = "Closed rounds, drawn cut open along their joins.".to_owned();
    let size = match closed {
        Closed::Tube { around, height } => format!(
            "Lies double {} across by {} high ({}): {} around.",
            units.length(*around / 2.0),
            units.length(*height),
            prediction.gauge_state,
            units.length(*around)
        ),
        Closed::Disc { radius, .. } => format!(
            "Measures {} from its middle to its last round ({}), {} across when it lies flat.",
            units.length(*radius),
            prediction.gauge_state,
            units.length(*radius * 2.0)
        ),
    };
    vec![cut, lies_sentence(units, closed), size]
}

fn lies_sentence(units: UnitSystem, closed: &Closed) -> String {
    let Closed::Disc { turn, radius } = closed else {
        return "A tube: it lies flat only double, or stands round.".into();
    };
    let by = closed.over_fed();
    let share = by.to_mm().abs() / (std::f64::consts::TAU * radius.to_mm().max(1e-9)) * 100.0;
    let by = fine(units, if by.to_mm() < 0.0 { -by } else { by });
    match closed.lies() {
        Lies::Flat => format!("It lies flat: its rounds take {} of 360°.", degrees(*turn)),
        Lies::Cups => format!(
            "It cups: its rounds take {} of the 360° that lie flat, so that the last one is {by} \
             ({share:.0} %) too short and it closes to a cone of half-angle {}.",
            degrees(*turn),
            degrees(closed.half_angle())
        ),
        Lies::Ruffles => format!(
            "It ruffles: its rounds take {} where 360° lie flat, so that the last one is {by} \
             ({share:.0} %) too long.",
            degrees(*turn)
        ),
    }
}

/// A piece laid from a faulty pattern is another piece than the one meant.
fn fault_sentence(prediction: &Prediction) -> Option<String> {
    let errors = prediction.diagnostics.iter().filter(|d| d.severity == Severity::Error).count();
    let faults = match errors {
        0 => return None,
        1 => "a fault".to_owned(),
        n => format!("{n} faults"),
    };
    Some(format!("The pattern has {faults}: this is the piece its rows make as they stand."))
}

fn edge_sentence(name: &str, edge: &EdgeShape, units: UnitSystem) -> String {
    let zone = fine(units, edge.minimum_zone);
    let long = units.length(edge.chord);
    if edge.minimum_zone.to_mm() <= STRAIGHT * edge.chord.to_mm() {
        return format!("{name}: straight within {zone} over {long}.");
    }
    let shape = match edge.zigzag {
        Some(zigzag) => {
            let (height, period) = (fine(units, zigzag.height), units.length(zigzag.period));
            let steps = format!("{name}: steps of {height} every {period}");
            // A bow under the steps is a second fault, to be named too.
            if edge.minimum_zone.to_mm() > 1.3 * zigzag.height.to_mm() {
                format!("{steps}, bowed within a band of {zone} over {long}")
            } else {
                steps
            }
        }
        None => format!("{name}: bends within a band of {zone} over {long}"),
    };
    match edge.benders.first() {
        Some(bender) => format!("{shape}, most by {}.", uncapitalised(&bender.rows)),
        None => format!("{shape}."),
    }
}

/// "Row 7" reads "row 7" inside a sentence; names of sections keep their capital.
fn uncapitalised(rows: &str) -> String {
    match rows.strip_prefix("Row") {
        Some(rest) => format!("row{rest}"),
        None => rows.to_owned(),
    }
}

/// Slant of both edges against the plan.
pub(super) fn slant_sentence(prediction: &Prediction) -> String {
    let [left, right] = prediction.measured.edges.each_ref().map(|edge| edge.slant);
    let found = if (left.to_degrees() - right.to_degrees()).abs() < 0.05 {
        format!("Both edges slant {}", degrees(left))
    } else {
        format!("The left edge slants {} and the right edge {}", degrees(left), degrees(right))
    };
    let Some(plan) = prediction.planned.slant else {
        return format!("{found}; no slant is planned.");
    };
    let mean = (left + right) / 2.0;
    let off = mean.to_degrees() - plan.to_degrees();
    if off.abs() < 0.05 {
        return format!("{found}, as planned.");
    }
    // A slant the other way is another piece, not a larger difference.
    if mean.to_degrees() * plan.to_degrees() < 0.0 && off.abs() > 1.0 {
        return format!("{found}: the other way round than the planned {}.", degrees(plan));
    }
    format!("{found}; planned {}, so {:+.1}° against the plan.", degrees(plan), off)
}

fn size_sentence(prediction: &Prediction) -> String {
    let Prediction { measured, planned, units, .. } = prediction;
    let [left, right] = &measured.edges;
    let long = (left.chord + right.chord) / 2.0;
    let wide = measured.square_to_edges;
    let apart = (left.slant.to_degrees() - right.slant.to_degrees()).abs();
    if apart > PARALLEL {
        let [across, up] = measured.over_all();
        return format!(
            "Lies {} across by {} high over all with its rows level ({}); its edges are not parallel.",
            units.length(across),
            units.length(up),
            prediction.gauge_state
        );
    }
    let size = format!(
        "Lies {} square to the edges by {} along them ({})",
        units.length(wide),
        units.length(long),
        prediction.gauge_state
    );
    let against: Vec<String> = [
        planned.square_to_edges.map(|plan| against(*units, wide, plan, "square")),
        planned.along_edges.map(|plan| against(*units, long, plan, "along")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if against.is_empty() {
        format!("{size}; no size is planned.")
    } else {
        format!("{size}; planned {}.", against.join(" and "))
    }
}

fn against(units: UnitSystem, found: Length, plan: Length, which: &str) -> String {
    format!("{} {which} ({})", units.length(plan), percent_off(found, plan))
}

/// A small length, in millimetres up to a hand's width; one that would round to nothing says so
/// instead of reading as exact.
pub(super) fn fine(units: UnitSystem, length: Length) -> String {
    match units {
        UnitSystem::Metric if length.to_mm() < 0.05 => "under 0.1 mm".into(),
        UnitSystem::Metric if length.to_mm() < 100.0 => format!("{:.1} mm", length.to_mm()),
        UnitSystem::Imperial if length.to_inches() < 1.0 / 32.0 => "under 1/16 in".into(),
        _ => units.length(length),
    }
}

/// Difference in per cent of the plan, signed; nothing sensible for a plan of zero.
pub(super) fn percent_off(found: Length, plan: Length) -> String {
    if plan.to_mm().abs() < 1e-9 {
        return "no percentage".into();
    }
    signed((found / plan - 1.0) * 100.0, 1) + " %"
}

/// A number with its sign, a true minus, and no sign when it rounds to zero.
pub(super) fn signed(value: f64, digits: usize) -> String {
    let text = format!("{:.digits$}", value.abs());
    match text.chars().all(|c| c == '0' || c == '.') {
        true => text,
        false if value < 0.0 => format!("−{text}"),
        false => format!("+{text}"),
    }
}

/// An angle to a tenth of a degree.
pub(super) fn degrees(angle: Angle) -> String {
    let text = format!("{:.1}°", angle.to_degrees());
    if text == "-0.0°" { "0.0°".into() } else { text.replace('-', "−") }
}

/// Rows that bend an edge, with how far one of them pushes it.
pub(super) fn bender(bender: &Bender, units: UnitSystem) -> String {
    let push = bender.push.to_mm();
    let way = if push < 0.0 { "inwards" } else { "outwards" };
    let steps = if bender.indices.len() == 1 { "steps" } else { "each steps" };
    format!("{}: {steps} {} {way}", bender.rows, fine(units, Length::mm(push.abs())))
}

/// An area in the user's units.
pub(super) fn area(units: UnitSystem, mm2: f64) -> String {
    match units {
        UnitSystem::Metric if mm2 < 1e5 => format!("{:.0} cm²", mm2 / 100.0),
        UnitSystem::Metric => format!("{:.3} m²", mm2 / 1e6),
        UnitSystem::Imperial => format!("{:.0} sq in", mm2 / 645.16),
    }
}

/// A length of yarn in the user's units.
pub(super) fn yarn(units: UnitSystem, length: Length) -> String {
    match units {
        UnitSystem::Metric => format!("{:.0} m", length.to_m()),
        UnitSystem::Imperial => format!("{:.0} yd", length.to_yards()),
    }
}

/// What to say beside every amount of yarn (10 to 15 %: deviousknitter.com, "Did the designer include
/// enough yarn to swatch?").
pub(super) const YARN_NOTE: &str =
    "Yarn is what the stitches hold, without margin: add 10 to 15 % for joins, ends and a swatch.";

/// What the column "how sure" holds.
pub(super) const SURE_NOTE: &str =
    "How sure: nine makers in ten lie within, a quick estimate; the command spread studies it.";

/// How the equilibrium was reached, in one line.
pub(super) fn solver(prediction: &Prediction) -> String {
    let s = &prediction.solution;
    let kind = if s.minimum { "a minimum" } else { "NOT shown to be a minimum" };
    format!(
        "Solver: {} iterations, residual {:.1e}, last step {:.1e} of a stitch, {:.3e} J stored, {kind}.",
        s.iterations, s.residual, s.last_step, s.energy
    )
}
