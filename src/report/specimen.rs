//! Virtual textile tests as plain text.

use std::fmt::Write as _;

use super::words;
use crate::predict::Specimen;

/// Values beside what a ruler and a kitchen scale would show.
pub fn specimen_text(found: &Specimen) -> String {
    let units = found.units;
    let mut out = String::new();
    let _ = writeln!(out, "{}: virtual textile tests on {}\n", found.title, found.stitch);
    let _ = writeln!(
        out,
        "  mass per area {:.0} g/m2: a 10 cm square weighs {:.1} g on a kitchen scale",
        found.mass,
        found.mass / 100.0
    );
    let _ = writeln!(
        out,
        "  hanging strip 1 m long, columns upright: grows {} under its own weight",
        words::fine(units, found.growth)
    );
    for strip in &found.strips {
        let _ = writeln!(out, "\n  strip cut at {} to the rows", words::degrees(strip.angle));
        let mut line = |what: &str, value: String| {
            let _ = writeln!(out, "    {what:<36}{value}");
        };
        line(
            "50 g hung on 20 x 5 cm",
            format!(
                "stretches {} (modulus {:.1} N/m), narrows {:.1} %",
                words::fine(units, strip.stretch),
                strip.modulus,
                100.0 * strip.narrowing
            ),
        );
        line("  its cross lines lean", format!("{}°", words::signed(strip.lean.to_degrees(), 1)));
        line(
            "overhang that dips 41.5°",
            format!(
                "{} (bending length {})",
                words::fine(units, strip.overhang),
                words::fine(units, strip.overhang / 2.0)
            ),
        );
        line("heart loop of 20 cm", format!("hangs {}", words::fine(units, strip.heart)));
    }
    let _ = writeln!(out, "\nRests on");
    for a in &found.assumptions {
        let _ = writeln!(out, "  {}: {}; {}", a.what, a.value, a.source);
    }
    out
}
