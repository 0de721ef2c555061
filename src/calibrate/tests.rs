//! Swatches made by the model, read with noise, must give the model back.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

use super::figures::estimates_at;
use super::fit::{calibrate, model};
use super::{Calibration, CalibrationError, SwatchFile, read_swatches};
use crate::units::{Length, Mass};

const THREE: &str = r#"
craft = "crochet"
yarn = { ball_grams = 50, ball_length = "200 m" }
[[swatch]]
name = "dc"
in = "dc"
stitches = 24
rows = 14
width = "11 cm"
height = "12 cm"
grams = 5
scale = 0.1
hung = { grams = 100, length = "12.6 cm" }
[[swatch]]
name = "sc"
in = "sc"
stitches = 24
rows = 24
width = "11 cm"
height = "10 cm"
grams = 5
scale = 0.1
[[swatch]]
name = "mixed"
in = ["dc", "sc"]
stitches = 24
rows = 20
width = "11 cm"
height = "14 cm"
"#;

/// The three swatches of a maker drawn from the presets' ranges, each figure read with its error; and
/// the true figures, in the order of the estimates.
fn synthetic(seed: u64) -> (SwatchFile, Vec<f64>) {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
    let form = read_swatches(THREE).unwrap();
    let truth = model(&form).unwrap();
    // Gauges within a tenth of the class's; everything else as the ranges say.
    let theta: Vec<f64> =
        truth.parameters.iter().map(|p| p.mean + p.sd.min(0.1) * normal()).collect();
    let point = truth.at(&theta).unwrap();
    let mut made = form.clone();
    for s in &mut made.swatches {
        let error = s.error.to_mm();
        s.width = Some(Length::mm(point.width(s) + error * normal()));
        s.height = Some(Length::mm(point.height(s) + error * normal()));
        if s.grams.is_some() {
            s.grams = Some(Mass::grams(point.yarn(s) * 0.25 + s.scale.to_grams() * normal()));
        }
        if let Some(mut hung) = s.hung {
            hung.length = Length::mm(point.hung(s, hung.mass, false) + error * normal());
            s.hung = Some(hung);
        }
    }
    (made, estimates_at(&truth, &point))
}

fn coverage(seeds: u64) -> f64 {
    let (mut held, mut told) = (0_u32, 0_u32);
    for seed in 0..seeds {
        let (file, truth) = synthetic(seed);
        let found = calibrate(&file).unwrap();
        for (estimate, truth) in found.estimates.iter().zip(truth).filter(|(e, _)| e.measured) {
            let [least, most] = estimate.interval;
            told += 1;
            held += u32::from((least..=most).contains(&truth));
        }
    }
    assert!(told > 5 * seeds as u32, "{told}");
    f64::from(held) / f64::from(told)
}

#[test]
fn intervals_hold_the_truth() {
    let share = coverage(40);
    assert!((0.90..=0.99).contains(&share), "{share}");
}

#[test]
#[ignore = "200 makers: the long studies run it"]
fn intervals_hold_the_truth_over_many_makers() {
    let share = coverage(200);
    assert!((0.90..=0.99).contains(&share), "{share}");
}

fn measured(found: &Calibration, what: &str) -> bool {
    found.estimates.iter().any(|e| e.what == what && e.measured)
}

/// What no measurement bears on is not told.
#[test]
fn what_was_not_measured_is_not_told() {
    let found =
        calibrate(&read_swatches("[[swatch]]\ngauge = \"16 sts = 4 in in dc\"").unwrap()).unwrap();
    assert!(measured(&found, "width of double crochet"));
    for what in ["yarn in double crochet", "crochet.membrane.e2", "crochet.bending.up"] {
        assert!(found.estimates.iter().any(|e| e.what == what && !e.measured), "{what}");
    }
    assert!(!found.front_matter.contains("[presets]"), "{}", found.front_matter);
    assert!(found.next.is_some());
}

/// One swatch of mixed rows fixes the sum of two heights, not each.
#[test]
fn a_sum_of_heights_is_not_taken_for_each() {
    let mixed = "[[swatch]]\nin = [\"dc\", \"sc\"]\nrows = 20\nheight = \"14 cm\"";
    let found = calibrate(&read_swatches(mixed).unwrap()).unwrap();
    let ratio = found.estimates.iter().find(|e| e.what == "crochet.ratio.single").unwrap();
    assert!(!ratio.measured, "{ratio:?}");
}

#[test]
fn contradictory_swatches_are_both_named() {
    let two = "[[swatch]]\nname = \"old\"\nin = \"dc\"\nstitches = 20\nwidth = \"10 cm\"\n\
               [[swatch]]\nname = \"new\"\nin = \"dc\"\nstitches = 20\nwidth = \"14 cm\"";
    let error = calibrate(&read_swatches(two).unwrap()).unwrap_err();
    let CalibrationError::Conflict { .. } = &error else { panic!("{error}") };
    let text = error.to_string();
    assert!(text.contains("`old`") && text.contains("`new`"), "{text}");
}

#[test]
fn impossible_measures_are_refused_in_words() {
    let refuse = |text: &str| read_swatches(text).unwrap_err().to_string();
    let none = refuse("[[swatch]]\nname = \"a\"\nin = \"dc\"\nstitches = 10\nwidth = \"0 cm\"");
    assert!(
        none.contains("`a`") && none.contains("\"0 cm\"") && none.contains("above zero"),
        "{none}"
    );
    let gauge = refuse("[[swatch]]\ngauge = \"10 sts = 0 cm in dc\"");
    assert!(gauge.contains("10 sts = 0 cm") && gauge.contains("above zero"), "{gauge}");
    let bare = refuse("[[swatch]]\nin = \"dc\"\nstitches = 10\nwidth = \"12\"");
    assert!(bare.contains("with its unit"), "{bare}");
    let stitch = refuse("[[swatch]]\nin = \"plum\"\nstitches = 10\nwidth = \"12 cm\"");
    assert!(stitch.contains("`plum`") && stitch.contains("hdc"), "{stitch}");
}

/// Every form of gauge is worked with, and what is less than a swatch of its own says so.
#[test]
fn weaker_gauges_are_marked() {
    let found = |text: &str| calibrate(&read_swatches(text).unwrap()).unwrap();
    let of = |found: &Calibration, what: &str| {
        found.estimates.iter().find(|e| e.what == what).cloned().unwrap()
    };
    let why = |found: &Calibration, what: &str| of(found, what).weaker.unwrap_or_default();
    let plain = "[[swatch]]\nname = \"a\"\nin = \"sc\"\nstitches = 20\nrows = 20\n\
                 width = \"10 cm\"\nheight = \"9 cm\"\n";
    let own = found(plain);
    assert!(of(&own, "width of single crochet").weaker.is_none());
    assert!(of(&own, "height of single crochet").weaker.is_none());

    let other = found(&format!("want = [\"dc\"]\n{plain}"));
    assert!(why(&other, "height of double crochet").contains("from single crochet by the presets"));
    let interval = of(&other, "height of double crochet").interval;
    assert!(interval[1] / interval[0] > 1.2, "{interval:?}");
    assert!(!other.front_matter.contains("double"), "{}", other.front_matter);

    let repeats = plain.replace("stitches = 20", "repeats = 4\nrepeat = 5");
    let repeats = found(&repeats);
    assert!(why(&repeats, "width of single crochet").contains("by repeats"));
    let (a, b) = (of(&repeats, "width of single crochet"), of(&own, "width of single crochet"));
    assert!((a.value - b.value).abs() < 1e-6);

    let line = found("[[swatch]]\nname = \"l\"\ngauge = \"16 sts = 4 in in sc\"");
    assert!(why(&line, "width of single crochet").contains("gauge line"));
    assert!((of(&line, "width of single crochet").value - 6.35).abs() < 0.01);
    let height = of(&line, "height of single crochet");
    assert!(height.weaker.unwrap().contains("no height was measured"));
    assert!((height.value / 6.35 - 0.92).abs() < 0.01);
    assert!(!line.front_matter.contains("rows"), "{}", line.front_matter);

    let groups = "[[swatch]]\nin = \"dc\"\ngauge = \"3 shells and 6 rows = 4 in\"";
    let refused = read_swatches(groups).unwrap_err().to_string();
    assert!(refused.contains("counted in shells") && refused.contains("repeat ="), "{refused}");
    let shells = found(&format!("{groups}\nrepeat = 5"));
    let width = of(&shells, "width of double crochet").value;
    // Read to half a shell, it leans a little on the usual size.
    assert!((width / (101.6 / 15.0) - 1.0).abs() < 0.02, "{width}");
}

/// A parallelogram of 40 stitches of 5 mm by 40 rows of 4 mm that shift by half a stitch a row: its edges
/// slant by atan(.5 x 5 / 4), so it is 200 mm times the cosine square to them, 160 mm over it along them.
#[test]
fn a_swatch_on_the_bias_is_measured_by_its_edges() {
    let found = calibrate(
        &read_swatches(
            "[[swatch]]\nname = \"b\"\nin = \"sc\"\nstitches = 40\nrows = 40\nshift = 0.5\n\
             width = \"169.5997 mm\"\nheight = \"188.6796 mm\"\nerror = \"0.1 mm\"",
        )
        .unwrap(),
    )
    .unwrap();
    for (what, truth) in [("width of single crochet", 5.0), ("height of single crochet", 4.0)] {
        let e = found.estimates.iter().find(|e| e.what == what).unwrap();
        assert!((e.value - truth).abs() < 0.01, "{what} {}", e.value);
        assert!(e.weaker.as_ref().unwrap().contains("on the bias"));
    }
}

/// A yarn preset is never listed as unmeasured beside a yarn length told as measured, nor the other way.
#[test]
fn a_yarn_preset_is_told_with_its_stitch() {
    for seed in 0..10 {
        let found = calibrate(&synthetic(seed).0).unwrap();
        for (stitch, key) in [("double", "crochet.yarn.double"), ("single", "crochet.yarn.single")]
        {
            let yarn = format!("yarn in {stitch} crochet");
            assert_eq!(measured(&found, &yarn), measured(&found, key), "{seed} {key}");
        }
    }
    let coarse = "yarn = { ball_grams = 50, ball_length = \"200 m\" }\n[[swatch]]\nname = \"c\"\nin = \"dc\"\n\
                  stitches = 20\nrows = 10\nwidth = \"10 cm\"\nheight = \"9 cm\"\ngrams = 3\n";
    let found = calibrate(&read_swatches(coarse).unwrap()).unwrap();
    assert!(!measured(&found, "yarn in double crochet"));
    assert!(found.notes.iter().any(|n| n.contains("finer scale")), "{:?}", found.notes);
    let fine = calibrate(&read_swatches(&format!("{coarse}scale = 0.02\n")).unwrap()).unwrap();
    assert!(measured(&fine, "yarn in double crochet") && measured(&fine, "crochet.yarn.double"));
}

/// Loops jam at four yarn diameters: the stitch and the yarn are both named.
#[test]
fn a_knit_stitch_narrower_than_its_yarn_is_refused() {
    let tight = "craft = \"knit\"\nyarn = { tex = 500 }\n[[swatch]]\nname = \"t\"\nin = \"stockinette\"\n\
                 stitches = 40\nwidth = \"10 cm\"";
    let text = calibrate(&read_swatches(tight).unwrap()).unwrap_err().to_string();
    assert!(text.contains("`t`") && text.contains("2.50 mm") && text.contains("500 tex"), "{text}");
}

/// A swatch that grew by a tenth at once and by two hundredths more in a day: e = e0 (1 + k log10(1 + t/t0))
/// with t0 of 1 h gives k = .2 / log10(25).
#[test]
fn growth_comes_from_hanging_on() {
    let hung = "[[swatch]]\nname = \"g\"\nin = \"dc\"\nstitches = 20\nrows = 10\nwidth = \"10 cm\"\n\
                height = \"10 cm\"\nerror = \"0.05 mm\"\n\
                hung = { grams = 200, length = \"11 cm\", later = \"11.2 cm\", hours = 24 }\n";
    let found = calibrate(&read_swatches(hung).unwrap()).unwrap();
    let creep = found.estimates.iter().find(|e| e.what == "hang.creep").unwrap();
    let closed = 0.2 / 25f64.log10();
    assert!(creep.measured && (creep.value / closed - 1.0).abs() < 0.02, "{creep:?} {closed}");
    assert!(found.front_matter.contains("hang.creep = "), "{}", found.front_matter);
    let half = hung.replace(", hours = 24", "");
    let text = read_swatches(&half).unwrap_err().to_string();
    assert!(text.contains("later without hours"), "{text}");
}

/// The hand is told against the table of yarn weights where the yarn is stated.
#[test]
fn the_hand_is_told_against_the_yarns_usual_gauge() {
    // 12.5 single crochet to 4 in are usual for medium yarn; these are a tenth wider.
    let loose = "yarn = { weight = \"worsted\" }\n[[swatch]]\nin = \"sc\"\nstitches = 12.5\nrows = 12\n\
                 width = \"111.76 mm\"\nheight = \"9 cm\"\nerror = \"0.1 mm\"";
    let found = calibrate(&read_swatches(loose).unwrap()).unwrap();
    let hand = found.estimates.iter().find(|e| e.what.starts_with("your hand")).unwrap();
    assert!(hand.measured && (hand.value - 110.0).abs() < 0.5, "{hand:?}");
}

#[test]
fn mixed_units_are_told_with_both() {
    let mixed = "[[swatch]]\nname = \"m\"\nin = \"dc\"\nstitches = 20\nrows = 10\nwidth = \"4 in\"\n\
                 height = \"9 cm\"";
    let found = calibrate(&read_swatches(mixed).unwrap()).unwrap();
    assert!(
        found.notes[0].contains("4 in") && found.notes[0].contains("9 cm"),
        "{:?}",
        found.notes
    );
    let width = found.estimates.iter().find(|e| e.what == "width of double crochet").unwrap();
    assert!((width.value - 5.08).abs() < 0.01);
}

/// The front matter read back by the pattern's reader gives the fitted sizes.
#[test]
fn the_front_matter_reads_back() {
    let (file, _) = synthetic(3);
    let found = calibrate(&file).unwrap();
    let page = format!("+++\n{}+++\n", found.front_matter);
    let reading = crate::predict::read(&crate::source::Source::new("page", page.clone()));
    assert_eq!(reading.header.gauges.len(), 2, "{page}");
    let width = found.estimates.iter().find(|e| e.what == "width of double crochet").unwrap();
    let gauge = reading.header.gauges.iter().find(|g| g.within.contains("double")).unwrap();
    let each = gauge.stitches_over.to_mm() / gauge.stitches.unwrap();
    assert!((each / width.value - 1.0).abs() < 2e-3, "{each} {}", width.value);
    assert!(!reading.header.presets.is_empty(), "{page}");
}
