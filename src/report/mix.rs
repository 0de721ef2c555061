//! A study of the stitch mix: table and numbers.

use std::fmt::Write as _;

use super::table::aligned;
use super::words;
use crate::predict::Prediction;
use crate::study::Mix;
use crate::units::Length;
use crate::units::UnitSystem;

/// Figures of one variant that the pictures draw, in the user's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Figures {
    /// Left and right edge, degrees.
    pub(super) slant: [f64; 2],
    /// Left and right minimum zone, mm or inches.
    pub(super) straight: [f64; 2],
    /// m² or sq in.
    pub(super) area: f64,
    /// m or yards.
    pub(super) yarn: f64,
}

pub(super) fn figures(p: &Prediction, units: UnitSystem) -> Figures {
    let edges = &p.measured.edges;
    let total = total_yarn(p);
    let (small, area, yarn) = match units {
        UnitSystem::Metric => (1.0, p.measured.area_mm2 / 1e6, total.to_m()),
        UnitSystem::Imperial => (1.0 / 25.4, p.measured.area_mm2 / 645.16, total.to_yards()),
    };
    Figures {
        slant: [0, 1].map(|i| edges[i].slant.to_degrees()),
        straight: [0, 1].map(|i| edges[i].minimum_zone.to_mm() * small),
        area,
        yarn,
    }
}

fn total_yarn(p: &Prediction) -> Length {
    p.measured.yarn.iter().fold(Length::mm(0.0), |sum, y| sum + y.length)
}

const HEAD: [&str; 9] = [
    "variant",
    "slant left",
    "right",
    "change",
    "straight within",
    "steps",
    "along rows x edges",
    "area",
    "yarn",
];

fn cells(name: &str, p: &Prediction, base: &Prediction, units: UnitSystem) -> [String; 9] {
    let [left, right] = &p.measured.edges;
    let step = |edge: &crate::measure::EdgeShape| edge.zigzag.map_or(0.0, |z| z.height.to_mm());
    let step = Length::mm(step(left).max(step(right)));
    let straight = Length::mm(left.minimum_zone.to_mm().max(right.minimum_zone.to_mm()));
    [
        name.to_owned(),
        words::degrees(left.slant),
        words::degrees(right.slant),
        words::signed(Mix::slant(p) - Mix::slant(base), 1) + "°",
        words::fine(units, straight),
        if step.to_mm() > 0.0 { words::fine(units, step) } else { "none".into() },
        format!(
            "{} x {}",
            units.length(p.measured.along_rows.mean),
            units.length((left.chord + right.chord) / 2.0)
        ),
        words::area(units, p.measured.area_mm2),
        words::yarn(units, total_yarn(p)),
    ]
}

/// The study as plain text: what moves the slant most, then one line a variant.
pub fn mix_text(mix: &Mix) -> String {
    let mut out = format!("{}: how the stitch mix changes the slant\n\n", mix.title);
    for sentence in sentences(mix) {
        let _ = writeln!(out, "{sentence}");
    }
    out.push('\n');
    let (head, lines) = table(mix);
    out.push_str(&aligned(&head, &lines));
    for line in not_laid(mix) {
        let _ = writeln!(out, "{line}");
    }
    let _ = writeln!(out, "\n{TERMS}");
    out
}

/// What the columns mean.
pub(super) const TERMS: &str = "Straight within: the wider minimum zone of the two edges. Slant: against the \
     square to the rows, leaning right going up.";

/// One line a variant, the piece as written first, under its head.
pub(super) fn table(mix: &Mix) -> (Vec<String>, Vec<Vec<String>>) {
    let units = mix.base.units;
    let line = |name: &str, p: &Prediction| cells(name, p, &mix.base, units).to_vec();
    let laid = |o: &crate::study::Outcome| o.result.as_ref().ok().map(|p| line(&o.name, p));
    let mut lines = vec![line("as written", &mix.base)];
    lines.extend(mix.outcomes.iter().filter_map(laid));
    (HEAD.map(str::to_owned).to_vec(), lines)
}

/// Variants that could not be laid, and why.
pub(super) fn not_laid(mix: &Mix) -> Vec<String> {
    let why = |o: &crate::study::Outcome| {
        o.result.as_ref().err().map(|why| format!("{}: not laid, {why}", o.name))
    };
    mix.outcomes.iter().filter_map(why).collect()
}

/// What the study says, one sentence each.
pub(super) fn sentences(mix: &Mix) -> Vec<String> {
    let base = Mix::slant(&mix.base);
    let laid =
        |o: &crate::study::Outcome| o.result.as_ref().ok().map(|p| (o.name.clone(), Mix::slant(p)));
    let all: Vec<(String, f64)> = mix.outcomes.iter().filter_map(laid).collect();
    let mut list = vec![format!("As written the edges slant {base:.1}°.").replace('-', "−")];
    // An edge that leans left slants as much as one that leans right by the same angle.
    let by_size = |a: &&(String, f64), b: &&(String, f64)| a.1.abs().total_cmp(&b.1.abs());
    let (least, most) = (all.iter().min_by(by_size), all.iter().max_by(by_size));
    if let (Some(least), Some(most)) = (least, most) {
        let flat = all.iter().all(|v| (v.1 - least.1).abs() < 0.05);
        list.push(if flat {
            "No variant moves the slant by a tenth of a degree.".into()
        } else {
            let (low, high) = (format!("{:.1}°", least.1), format!("{:.1}°", most.1));
            format!("Most slant: {high} with {}. Least: {low} with {}.", most.0, least.0)
                .replace('-', "−")
        });
    }
    list.extend(idle(mix));
    list
}

/// Variants that are the piece as written, by the reason.
fn idle(mix: &Mix) -> Vec<String> {
    let mut named: Vec<(&str, Vec<&str>)> = Vec::new();
    for outcome in &mix.outcomes {
        let Some(why) = outcome.idle else { continue };
        match named.iter_mut().find(|n| n.0 == why) {
            Some((_, names)) => names.push(&outcome.name),
            None => named.push((why, vec![&outcome.name])),
        }
    }
    let told = |(why, names): (&str, Vec<&str>)| {
        let (words, s) = (names.join(", "), if names.len() == 1 { "s" } else { "" });
        format!("{words} change{s} nothing: {why}.")
    };
    named.into_iter().map(told).collect()
}

/// The study as CSV, lengths in mm, area in mm², yarn in m, angles in degrees.
pub fn mix_csv(mix: &Mix) -> String {
    let mut out = String::from(
        "variant,value,slant_left_deg,slant_right_deg,straightness_left_mm,straightness_right_mm,\
         step_left_mm,step_right_mm,along_rows_mm,square_to_rows_mm,edge_left_mm,edge_right_mm,\
         area_mm2,yarn_m,fault\n",
    );
    let mut line = |name: &str, number: Option<f64>, result: Result<&Prediction, &String>| {
        let _ = write!(out, "\"{}\",", name.replace('"', "\"\""));
        let _ = write!(out, "{}", number.map(|n| n.to_string()).unwrap_or_default());
        match result {
            Err(why) => {
                let _ = writeln!(out, "{},\"{}\"", ",".repeat(12), why.replace('"', "\"\""));
            }
            Ok(p) => {
                let m = &p.measured;
                let both = |f: &dyn Fn(&crate::measure::EdgeShape) -> f64| {
                    format!("{:.4},{:.4}", f(&m.edges[0]), f(&m.edges[1]))
                };
                let step =
                    |e: &crate::measure::EdgeShape| e.zigzag.map_or(0.0, |z| z.height.to_mm());
                let _ = writeln!(
                    out,
                    ",{},{},{},{:.3},{:.3},{},{:.1},{:.3},",
                    both(&|e| e.slant.to_degrees()),
                    both(&|e| e.minimum_zone.to_mm()),
                    both(&step),
                    m.along_rows.mean.to_mm(),
                    m.square_to_rows.to_mm(),
                    both(&|e| e.chord.to_mm()),
                    m.area_mm2,
                    total_yarn(p).to_m(),
                );
            }
        }
    };
    line("as written", None, Ok(&mix.base));
    for o in &mix.outcomes {
        line(&o.name, o.number, o.result.as_ref());
    }
    out
}
