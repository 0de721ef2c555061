//! Pieces made by the model under other gauges and presets than their page states, read with noise, must
//! give these back.

use std::ops::ControlFlow;

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

use super::parameter::{Point, parameters};
use super::*;
use crate::predict::read;
use crate::source::Source;

/// A small bias piece of short and tall rows in one yarn.
const PAGE: &str = "+++\ncraft = \"crochet\"\nterms = \"US\"\n\
    gauge = [{ stitches = 18, rows = 9, over = \"10 cm\", in = \"dc\", state = \"washed\" }]\n\
    [[yarn]]\nname = \"A\"\nball = \"50 g / 120 m\"\n+++\n\
    With A, ch 25.\nRow 1 (RS): Sc in 2nd ch from hook and in each ch across. (24 sc)\n\
    Row 2 (WS): Ch 1, sc2tog, sc in each st across to last st, 2 sc in last st. (24 sc)\n\
    Row 3 (RS): Ch 3 (counts as dc), dc in same st, dc in each st across to last 2 sts, dc2tog. (24 dc)\n\
    Rows 4-29: Rep Rows 2-3, 13 times more.\n";

fn on(_: Step) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn reading(page: &str) -> Reading {
    read(&Source::new("page", page.to_owned()))
}

fn refined(page: &str, measured: &str) -> Result<Refinement, CannotRefine> {
    let measured = read_measured(&[measured])?;
    refine(&reading(page), &Options::default(), &measured, &mut on)
}

fn refusal(measured: &str) -> String {
    refined(PAGE, measured).unwrap_err().to_string()
}

/// A piece made at `z` standard deviations from what its page states, its figures read with the stated
/// errors; and the true values of the parameters that were fitted, by name.
struct Made {
    measured: String,
    truth: Vec<(String, f64)>,
    sizes: Vec<(String, [f64; 3])>,
}

fn made(seed: u64) -> Made {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut random) };
    let reading = reading(PAGE);
    let form = read_measured(&["along-row = \"1 cm\""]).unwrap();
    let variants = Variants::new(&reading, &Options::default(), false, &mut on).unwrap();
    let free = parameters(&variants, &reading, &form);
    let z: Vec<f64> =
        free.iter().map(|f| normal().clamp(f.limits[0].max(-2.5), f.limits[1].min(2.5))).collect();
    let point = Point::at(&free, &z, 1);
    let piece = variants.lay(&point.variant).unwrap();
    let m = &piece.measured;
    let mut read = |value: f64, error: f64| value + error * normal();
    let [left, right] = &m.edges;
    let grams = piece.yarn[0].to_m() * 50.0 / 120.0;
    let slant = (left.slant.to_degrees() + right.slant.to_degrees()) / 2.0;
    let band: f64 = m.rows.iter().filter(|r| r.label == "row 3").map(|r| r.height.to_mm()).sum();
    let measured = format!(
        "along-row = \"{:.3} mm\"\nalong-edge = \"{:.3} mm\"\nslant = {:.4}\ngrams = {:.4}\n\
         error = \"3 mm\"\n[[part]]\nrows = [\"row 3\", \"row 3\"]\nheight = \"{:.3} mm\"\nerror = \"1 mm\"\n",
        read(m.along_rows.mean.to_mm(), 3.0),
        read((left.chord.to_mm() + right.chord.to_mm()) / 2.0, 3.0),
        read(slant, 1.0),
        read(grams, 1.0),
        read(band, 1.0),
    );
    let gauges = &reading.header.gauges;
    let truth = free.iter().zip(&z).map(|(f, z)| {
        let value = match &f.known.of {
            parameter::Moves::Gauge(_, way) => {
                [gauges[0].stitches, gauges[0].rows][*way].unwrap() / f.value(*z).exp()
            }
            parameter::Moves::Drift => 100.0 * f.value(*z),
            _ => f.value(*z),
        };
        (tell::words(f, gauges).0, value)
    });
    let sizes = variants.kinds().into_keys().map(|w| {
        let of = &piece.material;
        let sizes = [of.width_of(w), of.height_of(w), of.yarn_of(w)].map(|l| l.to_mm());
        (w.words(), sizes)
    });
    Made { measured, truth: truth.collect(), sizes: sizes.collect() }
}

/// Of everything told as measured, and of every size of a stitch, the share whose 95 % interval holds
/// the truth, how many were told, and how many honest makers' pieces were refused: as contradictory, beyond four
/// standard deviations, which one in some thousand readings is by chance, or because the fit did not settle.
fn coverage(seeds: u64) -> (f64, u32, Vec<String>) {
    let (mut held, mut told, mut refused) = (0_u32, 0_u32, Vec::new());
    for seed in 0..seeds {
        let made = made(seed);
        let found = match refined(PAGE, &made.measured) {
            Ok(found) => found,
            Err(CannotRefine::Measured(fault)) => {
                refused.push(format!("maker {seed}: {fault}"));
                continue;
            }
            Err(fault) => panic!("{fault}"),
        };
        let mut count = |[least, most]: [f64; 2], truth: f64| {
            told += 1;
            held += u32::from((least..=most).contains(&truth));
        };
        for m in found.moved.iter().filter(|m| m.measured) {
            count(m.interval, made.truth.iter().find(|(what, _)| *what == m.what).unwrap().1);
        }
        for s in &found.stitches {
            let truth = made.sizes.iter().find(|(name, _)| *name == s.stitch).unwrap().1;
            for (size, truth) in s.sizes.iter().zip(truth).filter(|(size, _)| size.measured) {
                count(size.interval, truth);
            }
        }
    }
    (f64::from(held) / f64::from(told), told, refused)
}

#[test]
fn intervals_of_a_refined_piece_hold_the_truth() {
    let (share, told, refused) = coverage(10);
    assert!(told > 50 && refused.is_empty(), "{told}, refused: {refused:?}");
    assert!((0.88..=1.0).contains(&share), "{share} of {told}");
}

#[test]
#[ignore = "200 makers: the long studies run it"]
fn intervals_of_a_refined_piece_hold_the_truth_over_many_makers() {
    let (share, told, refused) = coverage(200);
    assert!((0.90..=0.99).contains(&share), "{share} of {told}");
    assert!(refused.len() <= 2, "{refused:#?}");
}

/// A piece that came out as predicted moves nothing, and one row gauge 6 % off is found.
#[test]
fn what_differs_is_found_and_the_front_matter_predicts_it() {
    let longer = PAGE.replace("rows = 9", "rows = 8.5");
    let lay = |page: &str| {
        let reading = reading(page);
        let run = crate::predict::make(&reading, &reading.piece, &Options::default(), &mut on);
        run.unwrap().prediction.measured
    };
    let figures = |m: &crate::measure::Measurements| {
        let [left, right] = &m.edges;
        let slant = (left.slant.to_degrees() + right.slant.to_degrees()) / 2.0;
        let along = (left.chord.to_mm() + right.chord.to_mm()) / 2.0;
        [m.along_rows.mean.to_mm(), along, slant]
    };
    let text = |[row, edge, slant]: [f64; 3]| {
        format!(
            "along-row = \"{row:.3} mm\"\nalong-edge = \"{edge:.3} mm\"\nslant = {slant:.4}\n\
             error = \"1 mm\"\nangle-error = 0.1\n"
        )
    };
    let still = refined(PAGE, &text(figures(&lay(PAGE)))).unwrap();
    assert!(still.moved.iter().all(|m| m.moved.abs() < 0.05), "{:#?}", still.moved);

    let wanted = figures(&lay(&longer));
    let found = refined(PAGE, &text(wanted)).unwrap();
    assert!(found.misfit[0] > 5.0 && found.misfit[1] < 1.0, "{:?}", found.misfit);
    assert!(found.moved[0].what.starts_with("rows over 10.0 cm"), "{:#?}", found.moved);
    let edge = found.compared.iter().find(|c| c.what.starts_with("along the edges")).unwrap();
    assert!(edge.causes[0].what.starts_with("rows over"), "{:#?}", edge.causes);
    // Pasted in the place of the pattern's own gauge, it predicts the piece.
    let start = PAGE.find("gauge").unwrap();
    let end = PAGE.find("[[yarn]]").unwrap();
    let pasted = format!("{}{}{}", &PAGE[..start], found.front_matter, &PAGE[end..]);
    for ((now, wanted), within) in figures(&lay(&pasted)).iter().zip(wanted).zip([1.0, 1.0, 0.1]) {
        assert!((now - wanted).abs() < within, "{now} {wanted}\n{}", found.front_matter);
    }
}

/// A tape along the rows says nothing of yarn, and a scale nothing of lengths.
#[test]
fn what_was_not_measured_is_not_told() {
    let tape = refined(PAGE, "along-row = \"13.0 cm\"").unwrap();
    for s in &tape.stitches {
        assert!(!s.sizes[1].measured, "height of {}", s.stitch);
    }
    assert!(tape.moved.iter().all(|m| !m.what.contains(".yarn.")), "{:#?}", tape.moved);
    assert!(tape.unseen.iter().any(|what| what == "crochet.yarn.double"), "{:?}", tape.unseen);
    assert!(!tape.front_matter.contains(".yarn."), "{}", tape.front_matter);
    assert!(tape.next.is_some());
}

#[test]
fn washing_and_set_come_from_their_own_measurements() {
    let found = refined(
        &PAGE.replace("ball =", "fibre = \"wool\"\nball ="),
        "along-row = \"13.4 cm\"\n[before]\nalong-row = \"12.8 cm\"\n[pinned]\nalong-edge = \"60 cm\"\n\
         [released]\nalong-edge = \"57.6 cm\"\n",
    )
    .unwrap();
    let of = |what: &str| found.moved.iter().find(|m| m.what.contains(what)).unwrap();
    assert!((of("along the rows by washing").value - 4.5).abs() < 1.5, "{:#?}", found.moved);
    assert!(of("blocking.set.wool").measured, "{:#?}", found.moved);
    assert!(found.front_matter.contains("blocking.set.wool = "), "{}", found.front_matter);
}

#[test]
fn impossible_measurements_are_refused_in_words() {
    let has = |measured: &str, parts: &[&str]| {
        let text = refusal(measured);
        assert!(parts.iter().all(|part| text.contains(part)), "{text}");
    };
    has("", &["nothing", "at least one figure"]);
    has("along-row = \"0 cm\"", &["along-row", "\"0 cm\"", "above zero"]);
    has("along-row = \"13\"", &["along-row", "\"13\"", "with its unit"]);
    has("along-rows = \"13 cm\"", &["along-rows", "along-row"]);
    has("slant = 95", &["slant", "95 degrees", "-85 to 85"]);
    has("grams = 0", &["grams", "above zero"]);
    has("grams = { Q = 5 }", &["grams.Q", "5 g", "one of the pattern's yarns: A"]);
    has("state = \"as worked\"\nalong-row = \"13 cm\"", &["as worked", "washed", "[before]"]);
    has("[pinned]\nalong-edge = \"60 cm\"", &["along the edges", "[pinned] only", "[released]"]);
    has(
        "[[part]]\nrows = [\"row 3\", \"row 99\"]\nheight = \"1 cm\"",
        &["row \"row 99\"", "a row of the pattern"],
    );
    has(
        "[[part]]\nrows = [\"row 9\", \"row 3\"]\nheight = \"1 cm\"",
        &["row 9", "before the last"],
    );
    let twice = read_measured(&["slant = 3", "slant = 4"]).unwrap_err().to_string();
    assert!(twice.contains("given twice, 3 and 4"), "{twice}");
}

#[test]
fn contradictory_measurements_are_both_named() {
    let text = refusal("along-left = \"53 cm\"\nalong-right = \"60 cm\"\nerror = \"3 mm\"");
    assert!(
        text.contains("along the left edge") && text.contains("along the right edge"),
        "{text}"
    );
    let alone = refusal("along-row = \"40 cm\"");
    assert!(alone.contains("along the rows") && alone.contains("presets' ranges"), "{alone}");
}
