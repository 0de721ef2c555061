//! What a finished piece says of its prediction, in words and as JSON.

use serde_json::json;

use super::swatch::figure;
use super::{table, words};
use crate::calibrate::{Compared, Moved, Refinement, Size, StitchNow, Unit};
use crate::units::{Length, Mass, UnitSystem};

/// The refinement in words; the front matter to paste comes last.
pub fn refine_text(found: &Refinement, units: UnitSystem) -> String {
    let mut out = format!("{}\n\n", headline(found, units));
    let head =
        ["", "measured", "predicted", "off by", "expected within", "refined"].map(str::to_owned);
    let lines: Vec<[String; 6]> = found.compared.iter().map(|c| compared(c, units)).collect();
    out += &table::aligned(&head, &lines);
    out += "\nWhat explains it\n";
    for c in &found.compared {
        out += &explained(c, units);
    }
    out += "\n";
    let head = ["what moved", "was", "is", "95 % interval", "moved by"].map(str::to_owned);
    let lines: Vec<[String; 5]> = found.moved.iter().map(moved).collect();
    if lines.is_empty() {
        out += "Nothing moved: the pattern's own gauge and presets predict the piece.\n";
    } else {
        out += &table::aligned(&head, &lines);
        out += "Moves are counted in standard deviations of what was known before: beyond 2 it surprises.\n";
    }
    if found.moved.iter().any(|m| !m.measured) {
        out += "* fixed only together with the others: these measurements tell a sum, not its parts.\n";
    }
    out += "\n";
    out += &stitches(&found.stitches, units);
    if !found.unseen.is_empty() {
        let names = found.unseen.join(", ");
        out += &format!("\nNot told by these measurements, so left as they were: {names}.\n");
        out += "Stiffness is not tried: where nothing pulls, it moves nothing a tape shows; use swatch.\n";
    }
    if let Some(next) = &found.next {
        out += &format!(
            "\nWhat would sharpen it most: measure {}; what it bears on would be {:.1} times narrower.\n",
            next.what, next.narrower
        );
    }
    out +=
        "\nFront matter to paste, in the place of the pattern's own lines of the same names:\n\n";
    out + &found.front_matter
}

fn headline(found: &Refinement, units: UnitSystem) -> String {
    let surprise = |c: &&Compared| (c.measured - c.predicted).abs() / c.sure.hypot(c.error);
    let worst = found.compared.iter().max_by(|a, b| surprise(a).total_cmp(&surprise(b)));
    let Some(worst) = worst else { return String::new() };
    let within = if surprise(&worst) < 1.96 { "within" } else { "beyond" };
    format!(
        "The prediction was farthest off {}: {} measured, {} predicted, {within} what its gauge and presets \
         allowed.\nOn the whole it was off by {:.1} times the errors of measuring; refined, by {:.1} times.",
        worst.what,
        amount(worst.measured, worst.unit, units),
        amount(worst.predicted, worst.unit, units),
        found.misfit[0],
        found.misfit[1]
    )
}

fn amount(value: f64, unit: Unit, units: UnitSystem) -> String {
    match unit {
        Unit::Length => units.length(Length::mm(value)).replace('-', "−"),
        Unit::Angle => format!("{value:.1}°").replace('-', "−"),
        Unit::Mass => match units {
            UnitSystem::Metric => format!("{value:.1} g").replace('-', "−"),
            UnitSystem::Imperial => {
                format!("{:.2} oz", Mass::grams(value).to_ounces()).replace('-', "−")
            }
        },
    }
}

fn signed(value: f64, unit: Unit, units: UnitSystem) -> String {
    let sign = if value < 0.0 { "−" } else { "+" };
    format!("{sign}{}", amount(value.abs(), unit, units))
}

fn compared(c: &Compared, units: UnitSystem) -> [String; 6] {
    let off = c.measured - c.predicted;
    let share = match c.unit {
        Unit::Angle => String::new(),
        _ => format!(" ({} %)", words::signed(100.0 * off / c.predicted, 1)),
    };
    [
        c.what.clone(),
        amount(c.measured, c.unit, units),
        amount(c.predicted, c.unit, units),
        signed(off, c.unit, units) + &share,
        format!("±{}", amount(1.96 * c.sure.hypot(c.error), c.unit, units)),
        amount(c.refined, c.unit, units),
    ]
}

fn explained(c: &Compared, units: UnitSystem) -> String {
    let all = signed(c.refined - c.predicted, c.unit, units);
    if (c.refined - c.predicted).abs() < c.error / 2.0
        && (c.measured - c.refined).abs() < 2.0 * c.error
    {
        return format!("  {}: as predicted, as well as it was read\n", c.what);
    }
    let parts: Vec<String> = c
        .causes
        .iter()
        .take(4)
        .map(|cause| format!("{} {}", signed(cause.adds, c.unit, units), cause.what))
        .collect();
    let left = c.measured - c.refined;
    let rest = if left.abs() > 2.0 * c.error {
        format!("; {} stays unexplained", signed(left, c.unit, units))
    } else {
        String::new()
    };
    let parts = if parts.is_empty() { "nothing much".into() } else { parts.join(", ") };
    format!("  {}, {all}: {parts}{rest}\n", c.what)
}

fn moved(m: &Moved) -> [String; 5] {
    let unit = if m.unit == "1" { String::new() } else { format!(" {}", m.unit) };
    let [least, most] = m.interval;
    let star = if m.measured { "" } else { " *" };
    [
        format!("{}{star}", m.what),
        figure(m.before),
        format!("{}{unit}", figure(m.value)),
        format!("{} to {}", figure(least), figure(most)),
        words::signed(m.moved, 1),
    ]
}

fn stitches(list: &[StitchNow], units: UnitSystem) -> String {
    let head =
        ["stitch", "width was", "is", "height was", "is", "yarn was", "is", "rows mostly of it"]
            .map(str::to_owned);
    let fine = |mm: f64| words::fine(units, Length::mm(mm));
    let now = |s: &Size| {
        let half = (s.interval[1] - s.interval[0]) / 2.0;
        if s.measured { format!("{} ±{}", fine(s.value), fine(half)) } else { "not told".into() }
    };
    let line = |s: &StitchNow| {
        let [w, h, y] = &s.sizes;
        [
            s.stitch.clone(),
            fine(w.before),
            now(w),
            fine(h.before),
            now(h),
            fine(y.before),
            now(y),
            s.rows.clone(),
        ]
    };
    let lines: Vec<[String; 8]> = list.iter().map(line).collect();
    table::aligned(&head, &lines)
}

/// The refinement as JSON: millimetres, degrees and grams.
pub fn refine_json(found: &Refinement) -> String {
    let compared = |c: &Compared| {
        let unit = match c.unit {
            Unit::Length => "mm",
            Unit::Angle => "degrees",
            Unit::Mass => "g",
        };
        json!({
            "what": c.what, "unit": unit, "measured": c.measured, "error": c.error,
            "predicted": c.predicted, "sd_before": c.sure, "refined": c.refined,
            "causes": c.causes.iter().map(|x| json!({ "what": x.what, "adds": x.adds }))
                .collect::<Vec<_>>(),
        })
    };
    let moved = |m: &Moved| {
        json!({
            "what": m.what, "preset": m.key, "unit": m.unit, "before": m.before, "value": m.value,
            "at_2_5": m.interval[0], "at_97_5": m.interval[1], "moved_sd": m.moved,
            "measured": m.measured,
        })
    };
    let size = |s: &Size| {
        json!({
            "before_mm": s.before, "mm": s.value, "at_2_5": s.interval[0], "at_97_5": s.interval[1],
            "measured": s.measured,
        })
    };
    let stitch = |s: &StitchNow| {
        let [width, height, yarn] = s.sizes.each_ref().map(size);
        json!({ "stitch": s.stitch, "rows": s.rows, "width": width, "height": height, "yarn": yarn })
    };
    let value = json!({
        "misfit_before": found.misfit[0],
        "misfit": found.misfit[1],
        "figures": found.compared.iter().map(compared).collect::<Vec<_>>(),
        "moved": found.moved.iter().map(moved).collect::<Vec<_>>(),
        "not_told": found.unseen,
        "stitches": found.stitches.iter().map(stitch).collect::<Vec<_>>(),
        "next": found.next.as_ref().map(|n| json!({ "measure": n.what, "narrower": n.narrower })),
        "front_matter": found.front_matter,
    });
    // Strings and numbers only, so serialising cannot fail.
    serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
}
