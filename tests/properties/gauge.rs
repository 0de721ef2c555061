//! Every form of gauge that pages print is read for what it says, and lengths survive their units.

use proptest::prelude::*;
use slantwise::pattern::{Gauge, parse};
use slantwise::source::Source;
use slantwise::units::{Angle, Length, Mass};

/// The gauge of a line of the page and of the same words in the front matter, which must agree.
fn read(words: &str) -> Gauge {
    let of = |page: String| {
        let (pattern, _) = parse(&Source::new("page", page));
        let gauge = pattern.header.gauges.first().cloned();
        gauge.unwrap_or_else(|| panic!("no gauge in {words:?}"))
    };
    let rows = "Ch 21.\nRow 1: Sc in 2nd ch from hook and in each ch across.\n";
    let line = of(format!("Gauge: {words}\n\n{rows}"));
    let front = of(format!("+++\ngauge = {words:?}\n+++\n{rows}"));
    let said = |g: &Gauge| {
        (g.stitches, g.stitches_over, g.rows, g.rows_over, g.within.clone(), g.unit.clone())
    };
    assert_eq!(said(&line), said(&front), "{words:?}");
    line
}

/// A length as pages print it, and what it is.
fn length() -> impl Strategy<Value = (String, Length)> {
    let quarter = |n: u32, unit: &str| {
        let (whole, part) = (n / 4, ["", " 1/4", " 1/2", " 3/4"][n as usize % 4]);
        (format!("{whole}{part}{unit}"), Length::inches(f64::from(n) / 4.0))
    };
    prop_oneof![
        (4u32..40, prop::sample::select(vec!["\"", " in", " inches", "-inch"]))
            .prop_map(move |(n, unit)| quarter(n, unit)),
        (20u32..200, prop::sample::select(vec![" cm", "cm"])).prop_map(|(mm, unit)| {
            let cm = f64::from(mm) / 10.0;
            (format!("{cm}{unit}"), Length::cm(cm))
        }),
        (4u32..20, prop::sample::select(vec!["½\"", "¼\"", "¾\""])).prop_map(|(n, part)| {
            let share = match part {
                "½\"" => 0.5,
                "¼\"" => 0.25,
                _ => 0.75,
            };
            (format!("{n}{part}"), Length::inches(f64::from(n) + share))
        }),
    ]
}

/// A count, whole or with a half, and its words.
fn count() -> impl Strategy<Value = (String, f64)> {
    (4u32..40, any::<bool>()).prop_map(|(n, half)| {
        let value = f64::from(n) + if half { 0.5 } else { 0.0 };
        (if half { format!("{n}.5") } else { n.to_string() }, value)
    })
}

fn stitch() -> impl Strategy<Value = (&'static str, &'static str)> {
    prop::sample::select(vec![
        (" in sc", "sc"),
        (" in dc", "dc"),
        (" in hdc", "hdc"),
        (" over garter st", "garter"),
        (" over stockinette st", "stockinette"),
        (" in pattern", "pattern"),
        ("", "pattern"),
    ])
}

fn near(a: Length, b: Length) -> bool {
    (a / b - 1.0).abs() < 1e-9
}

proptest! {
    /// N stitches and M rows over one length, with every separator that joins them.
    #[test]
    fn stitches_and_rows_over_one_length(
        (n, stitches) in count(),
        (m, rows) in count(),
        joins in prop::sample::select(vec![" and ", " x ", " + ", " by ", "; ", ", ", " & ", "/"]),
        equals in prop::sample::select(vec![" = ", " to ", " over ", " measure ", "="]),
        (words, over) in length(),
        (within, stitch) in stitch(),
        (s, r) in prop::sample::select(vec![("sts", "rows"), ("stitches", "rows"), ("sts", "rnds")]),
    ) {
        let line = format!("{n} {s}{joins}{m} {r}{equals}{words}{within}");
        let gauge = read(&line);
        prop_assert_eq!(gauge.stitches, Some(stitches), "{}", &line);
        prop_assert_eq!(gauge.rows, Some(rows), "{}", &line);
        prop_assert!(near(gauge.stitches_over, over) && near(gauge.rows_over, over), "{line}: {gauge:?}");
        prop_assert_eq!(&gauge.within, stitch, "{}", &line);
        prop_assert_eq!(&gauge.unit, "sts", "{}", &line);
    }

    /// One number only: rows stay unknown.
    #[test]
    fn stitches_alone((n, stitches) in count(), (words, over) in length(), (within, stitch) in stitch()) {
        let line = format!("{n} sts = {words}{within}");
        let gauge = read(&line);
        prop_assert_eq!((gauge.stitches, gauge.rows), (Some(stitches), None), "{}", &line);
        prop_assert!(near(gauge.stitches_over, over), "{line}");
        prop_assert_eq!(&gauge.within, stitch, "{}", &line);
    }

    /// So many stitches to the inch.
    #[test]
    fn stitches_to_the_inch(
        (n, stitches) in count(),
        words in prop::sample::select(vec![" sts to the inch", " sts per inch", " sts to 1 inch", " sts = 1\""]),
    ) {
        let line = format!("{n}{words} in sc");
        let gauge = read(&line);
        prop_assert_eq!(gauge.stitches, Some(stitches), "{}", &line);
        prop_assert!(near(gauge.stitches_over, Length::inches(1.0)), "{line}");
    }

    /// Groups and repeats of the pattern keep what they are counted in.
    #[test]
    fn repeats_as_gauge(
        n in 1u32..12,
        m in 2u32..30,
        (group, unit) in prop::sample::select(vec![
            ("shells", "shells"),
            ("ripple", "ripple"),
            ("V-sts", "v-sts"),
            ("pattern", "pattern"),
            ("clusters", "clusters"),
            ("fans", "fans"),
        ]),
        joins in prop::sample::select(vec![" and ", " + ", ", "]),
        with_rows in any::<bool>(),
        (words, over) in length(),
    ) {
        let rows = if with_rows { format!("{joins}{m} rows") } else { String::new() };
        let line = format!("{n} {group}{rows} = {words}");
        let gauge = read(&line);
        prop_assert_eq!(gauge.stitches, Some(f64::from(n)), "{}", &line);
        prop_assert_eq!(gauge.rows, with_rows.then_some(f64::from(m)), "{}", &line);
        prop_assert_eq!(&gauge.unit, unit, "{}", &line);
        prop_assert!(near(gauge.stitches_over, over), "{line}");
    }

    /// Stitches over one length and rows over another.
    #[test]
    fn two_bases_in_one_line(
        (n, stitches) in count(),
        (m, rows) in count(),
        (one, over) in length(),
        (two, rows_over) in length(),
        joins in prop::sample::select(vec![", ", "; ", " and "]),
    ) {
        let line = format!("{n} sts = {one}{joins}{m} rows = {two} in dc");
        let gauge = read(&line);
        prop_assert_eq!((gauge.stitches, gauge.rows), (Some(stitches), Some(rows)), "{}", &line);
        prop_assert!(near(gauge.stitches_over, over), "{line}: {gauge:?}");
        prop_assert!(near(gauge.rows_over, rows_over), "{line}: {gauge:?}");
    }

    /// The size of a whole square, motif or block.
    #[test]
    fn a_whole_as_gauge(
        (word, unit) in prop::sample::select(vec![
            ("square", "square"),
            ("1 square", "square"),
            ("each block", "block"),
            ("one motif", "motif"),
            ("Motif", "motif"),
        ]),
        equals in prop::sample::select(vec![" = ", " measures "]),
        (words, over) in length(),
    ) {
        let line = format!("{word}{equals}{words}");
        let gauge = read(&line);
        prop_assert_eq!((gauge.stitches, &gauge.unit[..]), (Some(1.0), unit), "{}", &line);
        prop_assert!(near(gauge.stitches_over, over), "{line}");
    }

    /// Lengths, masses and angles come back from every unit.
    #[test]
    fn units_convert_and_return(x in 1e-3..1e4f64) {
        let same = |a: f64, b: f64| {
            prop_assert!((a / b - 1.0).abs() < 1e-12, "{} {}", a, b);
            Ok(())
        };
        same(Length::mm(x).to_mm(), x)?;
        same(Length::cm(x).to_cm(), x)?;
        same(Length::m(x).to_m(), x)?;
        same(Length::inches(x).to_inches(), x)?;
        same(Length::yards(x).to_yards(), x)?;
        same(Length::inches(x).to_mm(), 25.4 * x)?;
        same(Length::yards(x).to_inches(), 36.0 * x)?;
        same(Length::m(x).to_yards(), x / 0.9144)?;
        same(Mass::ounces(x).to_grams(), 28.349_523_125 * x)?;
        same(Mass::grams(x).to_ounces(), x / 28.349_523_125)?;
        same(Angle::degrees(x).to_degrees(), x)?;
        same(Angle::degrees(x).to_radians(), x * std::f64::consts::PI / 180.0)?;
    }

    /// A length in words is the length: any number, any unit, with or without a space.
    #[test]
    fn lengths_in_words_are_read((words, meant) in length(), lead in "[ ]{0,2}") {
        let found = Length::read(&format!("{lead}{words}"));
        prop_assert!(found.is_some_and(|found| near(found, meant)), "{words:?}: {found:?}");
        let (below, more) = (format!("-{words}"), format!("{words} and more"));
        prop_assert_eq!(Length::read(&below), None);
        prop_assert_eq!(Length::read(&more), None);
    }
}

/// Two gauges of one piece are both kept; the first rounds of a motif lie from its centre to its rim.
#[test]
fn two_gauges_and_rounds() {
    let page = "+++\ngauge = [\"16 sts = 4 in in dc\", \"20 sts and 24 rows = 10 cm in sc\"]\n+++\nCh 21.\n";
    let (pattern, _) = parse(&Source::new("page", page));
    let within: Vec<&str> = pattern.header.gauges.iter().map(|g| g.within.as_str()).collect();
    assert_eq!(within, ["dc", "sc"]);
    let page = "+++\ngauge = \"Rnds 1-3 = 4 in\"\n+++\nCh 21.\n";
    let (pattern, _) = parse(&Source::new("page", page));
    let gauge = &pattern.header.gauges[0];
    assert_eq!((gauge.rows, gauge.rows_over), (Some(3.0), Length::inches(2.0)));
    assert_eq!(gauge.stitches, None);
}
