//! Front matter that makes the pattern predict the piece as it was measured.

use std::fmt::Write as _;

use super::parameter::{Free, Moves};
use super::tell::Moved;
use crate::pattern::{Gauge, GaugeState};
use crate::predict::Reading;

/// A move below this many standard deviations leaves the pattern as it stands.
const LEFT: f64 = 0.02;

/// Every gauge of the pattern as refined, and every preset that moved. What the measurements fix only
/// together with others says so: it is needed for the prediction, and is no result of its own.
pub(super) fn front_matter(reading: &Reading, free: &[Free], moved: &[Moved]) -> String {
    let mut out = String::new();
    gauges(reading, free, moved, &mut out);
    let both = || free.iter().zip(moved).filter(|(_, m)| m.moved.abs() >= LEFT);
    for (_, m) in both().filter(|(f, _)| f.known.of == Moves::Drift) {
        let [least, most] = m.interval;
        let _ = writeln!(
            out,
            "\n[maker]\ndrift = {:.5}  # 95 %: {:.3} to {:.3}{}",
            m.value / 100.0,
            least / 100.0,
            most / 100.0,
            alone(m)
        );
    }
    let presets: Vec<&Moved> = both().filter(|(_, m)| m.key.is_some()).map(|(_, m)| m).collect();
    if !presets.is_empty() {
        out.push_str("\n[presets]\n");
    }
    for m in presets {
        let [least, most] = m.interval;
        let key = m.key.as_deref().unwrap_or_default();
        let _ = writeln!(
            out,
            "{key} = {}  # was {}, 95 %: {} to {}{}",
            short(m.value),
            short(m.before),
            short(least),
            short(most),
            alone(m)
        );
    }
    out
}

/// Five significant digits, no zeros at the end.
fn short(value: f64) -> String {
    let digits = (4.0 - value.abs().max(1e-9).log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

fn alone(m: &Moved) -> &'static str {
    if m.measured { "" } else { "; fixed only together with the others" }
}

fn gauges(reading: &Reading, free: &[Free], moved: &[Moved], out: &mut String) {
    let stated = &reading.header.gauges;
    if stated.is_empty() {
        return;
    }
    out.push_str("gauge = [\n");
    for (i, gauge) in stated.iter().enumerate() {
        let refined = |way: usize| {
            let place = free.iter().position(|f| f.known.of == Moves::Gauge(i, way));
            place.map(|at| &moved[at])
        };
        out.push_str("  ");
        out.push_str(&one(gauge, [refined(0), refined(1)]));
        out.push('\n');
    }
    out.push_str("]\n");
}

fn one(gauge: &Gauge, refined: [Option<&Moved>; 2]) -> String {
    let count = |way: usize, stated: Option<f64>| {
        let stated = stated?;
        Some(refined[way].map_or(stated, |m| m.value))
    };
    let counts = [count(0, gauge.stitches), count(1, gauge.rows)];
    let over = [gauge.stitches_over, gauge.rows_over].map(|l| format!("{} mm", l.to_mm()));
    let state = match gauge.state {
        GaugeState::Worked => "as worked",
        GaugeState::Washed => "washed",
        GaugeState::Blocked => "blocked",
    };
    let mut parts = Vec::new();
    if gauge.unit != "sts" {
        // Groups are counted in words only.
        let words = [(counts[0], gauge.unit.as_str()), (counts[1], "rows")].into_iter().zip(&over);
        let words =
            words.filter_map(|((n, unit), over)| Some(format!("{:.3} {unit} = {over}", n?)));
        parts.extend(words);
        return format!("\"{} in {}, {state}\",", parts.join(", "), gauge.within);
    }
    for (name, count) in ["stitches", "rows"].into_iter().zip(counts) {
        parts.extend(count.map(|n| format!("{name} = {n:.3}")));
    }
    parts.push(format!("over = \"{}\"", over[0]));
    if over[1] != over[0] {
        parts.push(format!("rows_over = \"{}\"", over[1]));
    }
    parts.push(format!("in = \"{}\"", gauge.within));
    if gauge.state_stated {
        parts.push(format!("state = \"{state}\""));
    }
    let intervals: Vec<String> = ["stitches", "rows"]
        .into_iter()
        .zip(refined)
        .filter_map(|(name, m)| {
            let m = m?;
            Some(format!("{name} {:.2} to {:.2}{}", m.interval[0], m.interval[1], alone(m)))
        })
        .collect();
    format!("{{ {} }},  # 95 %: {}", parts.join(", "), intervals.join(", "))
}
