//! What swatches say, in words and as JSON.

use serde_json::json;

use super::table;
use crate::calibrate::{Calibration, Estimate};

/// The calibration in words; the front matter to paste comes last.
pub fn swatch_text(found: &Calibration) -> String {
    let mut out = format!(
        "From {} measurements; they fit to {:.1} times their reading errors (about 1 or less is good).\n\n",
        found.measurements, found.misfit
    );
    let head = ["measured", "value", "95 % interval", "unit"].map(str::to_owned);
    let lines: Vec<[String; 4]> = found.estimates.iter().filter(|e| e.measured).map(line).collect();
    out += &table::aligned(&head, &lines);
    for e in found.estimates.iter().filter(|e| e.measured) {
        if let Some(why) = &e.weaker {
            out += &format!("* {} is weaker: {why}.\n", e.what);
        }
    }
    let unseen: Vec<&str> =
        found.estimates.iter().filter(|e| !e.measured).map(|e| e.what.as_str()).collect();
    if !unseen.is_empty() {
        out += "\nNot measured by these swatches, so not told; the presets stay:\n";
        for name in unseen {
            out += &format!("  {name}\n");
        }
    }
    if let Some(next) = &found.next {
        out += &format!(
            "\nWhat would sharpen it most: measure {}; what it bears on would be {:.1} times narrower.\n",
            next.what, next.narrower
        );
    }
    for note in &found.notes {
        out += &format!("\nNote: {note}.\n");
    }
    out += "\nFront matter to paste into the pattern:\n\n";
    out + &found.front_matter
}

fn line(e: &Estimate) -> [String; 4] {
    let unit = if e.unit == "1" { "" } else { &e.unit };
    let [least, most] = e.interval;
    let star = if e.weaker.is_some() { " *" } else { "" };
    [
        format!("{}{star}", e.what),
        figure(e.value),
        format!("{} to {}", figure(least), figure(most)),
        unit.into(),
    ]
}

/// Three significant digits, no powers of ten for what a maker reads.
pub(super) fn figure(value: f64) -> String {
    let text = match value.abs() {
        v if v >= 100.0 => format!("{value:.0}"),
        v if v >= 10.0 => format!("{value:.1}"),
        v if v >= 0.01 || v == 0.0 => format!("{value:.2}"),
        _ => format!("{value:.1e}"),
    };
    text.replace('-', "−")
}

/// The calibration as JSON.
pub fn swatch_json(found: &Calibration) -> String {
    let estimate = |e: &Estimate| {
        json!({
            "what": e.what, "preset": e.key, "value": e.value, "unit": e.unit,
            "at_2_5": e.interval[0], "at_97_5": e.interval[1], "measured": e.measured,
            "weaker": e.weaker,
        })
    };
    let value = json!({
        "measurements": found.measurements,
        "misfit": found.misfit,
        "estimates": found.estimates.iter().map(estimate).collect::<Vec<_>>(),
        "next": found.next.as_ref().map(|n| json!({ "measure": n.what, "narrower": n.narrower })),
        "notes": found.notes,
        "front_matter": found.front_matter,
    });
    // Strings and numbers only, so serialising cannot fail.
    serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
}
