//! Virtual textile tests as plain text.

use std::fmt::Write as _;

use super::words;
use crate::predict::OffAxis;
use crate::predict::Specimen;

/// What a strip's tests are called, and how each is told.
type Line = (&'static str, fn(&Specimen, &OffAxis) -> String);

const STRIPS: [Line; 7] = [
    ("50 g hung on 20 x 5 cm: stretches", |s, o| words::fine(s.units, o.stretch)),
    ("  as a modulus, N/m", |_, o| format!("{:.1}", o.modulus)),
    ("  narrows, %", |_, o| format!("{:.1}", 100.0 * o.narrowing)),
    ("  its cross lines lean", |_, o| format!("{}°", words::signed(o.lean.to_degrees(), 1))),
    ("narrow strip dips 41.5° at an overhang of", |s, o| words::fine(s.units, o.overhang)),
    ("  bending length, half of it", |s, o| words::fine(s.units, o.overhang / 2.0)),
    ("heart loop of 20 cm hangs", |s, o| {
        o.heart.map_or_else(|| "not found".into(), |hangs| words::fine(s.units, hangs))
    }),
];

/// All tests in one table, and what to do with a ruler and a kitchen scale to set beside it.
pub fn specimen_text(found: &Specimen) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}: virtual textile tests on {}\n", found.title, found.stitch);
    let mut line = |what: &str, values: &[String]| {
        let cells: String = values.iter().map(|v| format!("{v:>12}")).collect();
        let _ = writeln!(out, "{}", format!("  {what:<42}{cells}").trim_end());
    };
    let heads: Vec<String> = found.strips.iter().map(|s| words::degrees(s.0)).collect();
    line("strip cut at this angle to the rows", &heads);
    for (what, value) in STRIPS {
        let values: Vec<String> = found
            .strips
            .iter()
            .map(|(_, s)| {
                s.as_ref().map_or_else(|_| "not found".into(), |strip| value(found, strip))
            })
            .collect();
        line(what, &values);
    }
    line("whole fabric", &[]);
    line("  a 10 cm square weighs", &[format!("{:.1} g", found.mass / 100.0)]);
    line("  mass per area", &[format!("{:.0} g/m2", found.mass)]);
    line("  strip of 1 m, columns upright, grows", &[words::fine(found.units, found.growth)]);
    let what = "  drape coefficient, 30 cm over 18 cm";
    match &found.drape {
        Ok(drape) => {
            line(what, &[format!("{:.0} %", 100.0 * drape.coefficient)]);
            line("  folds of its rim", &[drape.folds.to_string()]);
        }
        Err(fault) => {
            line(what, &["not found".into()]);
            let _ = writeln!(out, "    it {fault}");
        }
    }
    out.push_str(TRY);
    let _ = writeln!(out, "\nRests on");
    for a in &found.assumptions {
        let _ = writeln!(out, "  {}: {}; {}", a.what, a.value, a.source);
    }
    out
}

/// The same tests at a table.
const TRY: &str = "
To set beside a swatch
  scale: weigh a square of 10 cm.
  stretch: mark 20 cm on a strip 5 cm wide, hang 50 g on its end, measure again.
  overhang: slide a strip 2.5 cm wide over a table edge until the line from the edge to its tip dips
    41.5° (the tip lies 0.88 times as far below the edge as beyond it); measure what hangs over.
  heart loop: clamp both ends of a strip of 20 cm back to back, the loop hanging; measure from the clamp
    down to its lowest point.
  drape: lay a round swatch of 30 cm on a tin 18 cm across under a lamp, trace the shadow on paper, cut
    it out, cut the tin's circle out of it, and weigh what is left: its share of what a paper ring of 30
    and 18 cm weighs. A cloth settles in other folds each time it is let fall: try it five times. Here
    the folds of least energy are told, and layers pass through each other.
";
