//! Studies: variants, comparison, makers, and what each stitch does to a figure.

use std::ops::ControlFlow;

use slantwise::fabric::{Fabric, Sizes};
use slantwise::material::PresetOverride;
use slantwise::predict::{self, Figure, Makers, Options, Run};
use slantwise::source::Source;
use slantwise::state::{Settings, lay};
use slantwise::study::{self, Aim, Change, Mix, Rows, Variation};

/// Gauge of 20 stitches to 10 cm, so that every stitch is 5 mm wide: rows of unequal widths would hold each other.
const HEAD: &str = r#"+++
title = "Ladder"
craft = "crochet"
terms = "US"
gauge = [
  { stitches = 20, rows = 10, over = "10 cm", in = "dc", state = "washed" },
  { stitches = 20, rows = 20, over = "10 cm", in = "sc", state = "washed" },
  { stitches = 20, rows = 7, over = "10 cm", in = "tr", state = "washed" },
]
+++
"#;

/// A bias piece: the dc row gains at its start and loses at its end, the sc row is plain.
fn ladder(repeats: u32) -> String {
    format!(
        "{HEAD}
Ch 21.
Row 1 (RS): Sc in 2nd ch from hook and in each ch across. (20 sc)
Row 2 (WS): Ch 1, sc in each st across. (20 sc)

BODY
Row 1 (RS): Ch 3 (counts as dc), dc in same st, dc in each st across to last 2 sts, dc2tog. (20 dc)
Row 2 (WS): Ch 1, sc in each st across. (20 sc)
Rows 3-{}: Rep Rows 1 and 2.
Fasten off.
",
        2 + 2 * repeats
    )
}

fn run_with(text: &str, options: &Options) -> Run {
    let source = Source::new("test", text);
    predict::run(&source, options, &mut |_| ControlFlow::Continue(())).unwrap()
}

fn preset(key: &str, value: f64) -> PresetOverride {
    PresetOverride { key: key.into(), value }
}

/// Nothing at the edges that pulls: the cast-on chain and row ends as long as the fabric, and so soft
/// that they do not count.
fn unconstrained() -> Options {
    let overrides = vec![preset("strand.foundation_chain", 0.0)];
    Options { overrides, ..Options::default() }
}

/// In a piece that nothing constrains, an edge gains `a_i` stitch widths over each row's height:
/// tan(slant) = sum a_i w / sum h_i over the repeat.
#[test]
fn slant_of_a_mix_is_shaping_over_height() {
    let source = Source::new("test", ladder(12));
    let reading = predict::read(&source);
    assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
    let vary = Variation::parse("stitch@BODY:1/2=sc,hdc,dc,tr").unwrap();
    let variants = study::variants(&[vary]);
    let options = unconstrained();
    let mix = study::mix(&reading, &options, &variants, "", false, &|_| ()).unwrap();
    for (outcome, variant) in mix.outcomes.iter().zip(&variants) {
        let mut changed = reading.clone();
        variant.changes[0].apply(&mut changed, &mut options.clone()).unwrap();
        let run =
            predict::make(&changed, &reading.piece, &options, &mut |_| ControlFlow::Continue(()))
                .unwrap();
        let sizes = study::sizes(&run).unwrap();
        let rows: Vec<usize> = Rows::parse("BODY:1-2/2").unwrap().of(&run.piece).unwrap();
        let middle = |row: usize| {
            let (a, b) = run.piece.rows[row].stitches;
            sizes.stitches[((a + b) / 2) as usize]
        };
        let height = middle(rows[2]).height + middle(rows[3]).height;
        let expected = (middle(rows[2]).width / height).atan().to_degrees();
        let found = middle_slant(outcome.result.as_ref().unwrap());
        assert!(
            (found.abs() - expected).abs() < 0.1,
            "{}: {found:.2} against {expected:.2}",
            outcome.name
        );
    }
}

/// Slant over whole repeats away from both ends, where the unshaped rows do not count.
fn middle_slant(p: &predict::Prediction) -> f64 {
    let at = |row: usize| p.measured.rows[row].cumulative[0].to_radians().tan();
    let y = |row: usize| p.measured.rows[..=row].iter().map(|r| r.height.to_mm()).sum::<f64>();
    let (a, b) = (7, p.measured.rows.len() - 7 + (p.measured.rows.len() % 2));
    let b = b - (b - a) % 2;
    ((at(b) * y(b) - at(a) * y(a)) / (y(b) - y(a))).atan().to_degrees()
}

#[test]
fn shaping_left_out_halves_and_ends_the_slant() {
    let source = Source::new("test", ladder(12));
    let reading = predict::read(&source);
    let vary = Variation::parse("shape=1,2,none").unwrap();
    let variants = study::variants(&[vary]);
    let mix = study::mix(&reading, &unconstrained(), &variants, "", false, &|_| ()).unwrap();
    let tan: Vec<f64> = mix
        .outcomes
        .iter()
        .map(|o| Mix::slant(o.result.as_ref().unwrap()).to_radians().tan())
        .collect();
    assert!((tan[0] - Mix::slant(&mix.base).to_radians().tan()).abs() < 1e-9);
    assert!((tan[1] / tan[0] - 0.5).abs() < 0.03, "{tan:?}");
    assert!(tan[2].abs() < 0.003, "{tan:?}");
}

/// Most slant is the steepest lean, whichever way it goes.
#[test]
fn a_lean_to_the_left_is_as_much_slant_as_one_to_the_right() {
    let shaped = "Ch 3 (counts as dc), dc in same st, dc in each st across to last 2 sts, dc2tog.";
    let mirrored = "Ch 2 (does not count), dc2tog, dc in each st to last st, 2 dc in last st.";
    let page = ladder(12);
    assert!(page.contains(shaped));
    let vary = Variation::parse("shape=1,none").unwrap();
    let mut signs = Vec::new();
    for page in [page.clone(), page.replace(shaped, mirrored)] {
        let reading = predict::read(&Source::new("test", page));
        let variants = study::variants(std::slice::from_ref(&vary));
        let mix = study::mix(&reading, &unconstrained(), &variants, "", false, &|_| ()).unwrap();
        signs.push(Mix::slant(&mix.base).signum());
        let text = slantwise::report::mix_text(&mix);
        let [every, none] = [&mix.outcomes[0].name, &mix.outcomes[1].name];
        let (most, least) = text.split_once("Least: ").unwrap();
        assert!(most.contains(&format!("with {every}.")), "{text}");
        assert!(least.lines().next().unwrap().contains(&format!("with {none}.")), "{text}");
    }
    assert_eq!(signs[0], -signs[1]);
}

#[test]
fn every_row_of_the_repeat_is_tried_shorter_taller_and_unshaped() {
    let reading = predict::read(&Source::new("test", ladder(6)));
    let names: Vec<String> =
        study::plain_trials(&reading.piece).into_iter().map(|v| v.name).collect();
    assert_eq!(
        names,
        [
            "BODY, row 1 as hdc (shorter)",
            "BODY, row 1 as tr (taller)",
            "BODY, row 1 without shaping",
            "BODY, row 2 as hdc (taller)",
        ]
    );
}

#[test]
fn a_change_to_rows_that_are_not_there_names_those_that_are() {
    let mut reading = predict::read(&Source::new("test", ladder(2)));
    let change = Change::ShapeEvery(Rows::parse("SLEEVE").unwrap(), 0);
    let fault = change.apply(&mut reading, &mut Options::default()).unwrap_err().to_string();
    assert!(fault.contains("SLEEVE") && fault.contains("BODY (6 rows)"), "{fault}");
    let fault = Variation::parse("stitch=knot").unwrap_err().to_string();
    assert!(fault.contains("knot") && fault.contains("hdc"), "{fault}");
}

fn settled(run: &Run, sizes: &Sizes) -> (Fabric, Vec<[f64; 2]>) {
    let fabric = Fabric::new(&run.piece, sizes);
    let tight = Settings { residual: 1e-11, step: 1e-10, ..Settings::default() };
    let laid = lay(&fabric, &tight, &mut |_| ControlFlow::Continue(())).unwrap();
    (fabric, laid.shape.positions)
}

/// The figure's change under full solves with a share more and less of one size of these stitches.
fn by_solving(run: &Run, aim: Aim, stitches: std::ops::Range<usize>, which: usize, by: f64) -> f64 {
    let sizes = study::sizes(run).unwrap();
    let at = |sign: f64| {
        let mut sizes = sizes.clone();
        for s in &mut sizes.stitches[stitches.clone()] {
            match which {
                0 => s.width *= 1.0 + sign * by,
                1 => s.height *= 1.0 + sign * by,
                _ => s.lean += sign * by * s.width,
            }
        }
        let (fabric, x) = settled(run, &sizes);
        aim.value(&fabric, &x).unwrap()
    };
    (at(1.0) - at(-1.0)) / 2.0
}

/// Derivatives by the adjoint against full solves, for whole rows and single stitches; the cells are
/// held linear under squeeze, since at the border of pull and squeeze the stiffness itself jumps.
#[test]
fn derivatives_agree_with_full_solves() {
    let overrides = vec![preset("crochet.membrane.squeeze", 1.0)];
    let mut run = run_with(&ladder(4), &Options { seed: Some(4), overrides, ..Options::default() });
    let sizes = study::sizes(&run).unwrap();
    run.laid.shape.positions = settled(&run, &sizes).1;
    let by = 1e-3;
    for aim in [Aim::Slant(0), Aim::Width, Aim::Straightness(1), Aim::Corner(1, 0), Aim::Edge(0)] {
        let found = study::attribute(&run, aim).unwrap();
        let scale = found.rows.iter().map(|r| r.effect[0].abs().max(r.effect[1].abs()));
        let scale = scale.fold(0.0, f64::max) * by / 0.01;
        for (row, which) in [(0, 1), (3, 0), (4, 1), (6, 0), (7, 1), (5, 2)] {
            let (a, b) = run.piece.rows[row].stitches;
            for stitches in [a as usize..b as usize, a as usize + 3..a as usize + 4] {
                let exact: f64 = stitches
                    .clone()
                    .map(|i| {
                        let s = sizes.stitches[i];
                        by * [s.width, s.height, s.width][which] * found.stitches[i][which]
                    })
                    .sum();
                let solved = by_solving(&run, aim, stitches.clone(), which, by);
                // Effects a thousandth of the largest row's drown in the solver's tolerance.
                let slack = 0.01 * solved.abs() + 1e-4 * scale;
                assert!(
                    (exact - solved).abs() < slack,
                    "{aim:?} row {row} size {which} {stitches:?}: {exact:e} against {solved:e}"
                );
            }
        }
    }
}

/// Pieces stepped from the even one against full solves: every figure within a tenth of its spread.
#[test]
fn makers_agree_with_full_solves() {
    let full_size = "gauge: 20 sts and 22 rows over 10 cm in sc\nUS terms\nCh 101.\n\
         Row 1: Sc in 2nd ch from hook and in each ch across, turn. (100 sc)\n\
         Row 2: Ch 3, dc2tog, dc in each st to last st, 2 dc in last st, turn. (100 dc)\n\
         Row 3: Ch 1, sc in each st across, turn. (100 sc)\n\
         Rep Rows 2-3 until 100 rows are done.\n";
    for page in [&ladder(10), &ladder(45), full_size] {
        makers_agree(page);
    }
}

fn makers_agree(page: &str) {
    let run = run_with(page, &Options::default());
    let makers = Makers::usual(&run, 24, 7, false);
    let samples = predict::samples(&run, &makers, &|| ()).unwrap();
    let deviation = |i: usize| {
        let mean = samples.iter().map(|s| s.figures[i]).sum::<f64>() / samples.len() as f64;
        let sum: f64 = samples.iter().map(|s| (s.figures[i] - mean).powi(2)).sum();
        (sum / samples.len() as f64).sqrt()
    };
    assert!(samples.iter().filter(|s| s.full).count() < 4);
    for k in [0, 5, 11, 20] {
        let (settings, seed) = makers.hand(run.hand, k);
        let hand =
            slantwise::material::Hand::new(settings, seed, run.piece.rows.len() as u32).unwrap();
        let (fabric, x) = settled(&run, &Sizes::new(&run.piece, &run.material, &hand));
        let shape = slantwise::state::Shape { positions: x, strains: Vec::new() };
        let yarn = run.prediction.measured.yarn.clone();
        let m = slantwise::measure::measure(&run.piece, &fabric, &shape, yarn).unwrap();
        for (i, figure) in Figure::ALL.iter().enumerate().filter(|f| *f.1 != Figure::Yarn) {
            let off = (samples[k as usize].figures[i] - figure.of(&m)).abs();
            assert!(off < 0.1 * deviation(i), "{figure:?}: off {off} of {}", deviation(i));
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_makers_on_any_number_of_threads() {
    let run = run_with(&ladder(3), &Options::default());
    let makers = Makers::usual(&run, 9, 3, true);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| predict::samples(&run, &makers, &|| ()).unwrap())
    };
    assert_eq!(on(1), on(2));
    let other = Makers { seed: 4, ..makers };
    assert_ne!(on(2), predict::samples(&run, &other, &|| ()).unwrap());
}

/// Overall size alone: 5 and 95 % of a length lie 1.645 standard deviations off, in logarithms.
#[test]
fn bands_of_makers_who_differ_in_size_alone_are_known() {
    let run = run_with(&ladder(2), &Options::default());
    let makers = Makers { drift: 0.0, noise: [0.0; 2], ..Makers::usual(&run, 200, 1, true) };
    let spread = study::spread(&run, &makers, slantwise::units::Length::mm(1e4), &|| ()).unwrap();
    let band = spread.bands[0].at;
    let even = Figure::AlongRows.of(&run.prediction.measured);
    for (at, sigmas) in band.iter().zip([-1.645, 0.0, 1.645]) {
        let expected = even * (0.06_f64 * sigmas).exp();
        assert!((at / expected - 1.0).abs() < 0.006, "{at} against {expected}");
    }
    assert_eq!(spread.chance, study::Chance::Straight([1.0, 1.0]));
}

/// The estimate in `lay`'s table against the full study.
#[test]
fn the_quick_estimate_is_of_the_size_of_the_full_study() {
    let run = run_with(&ladder(6), &Options::default());
    let source = Source::new("test", ladder(6));
    let options = Options { sure: true, ..Options::default() };
    let quick =
        predict::lay(&source, &options, &mut |_| ControlFlow::Continue(())).unwrap().sure.unwrap();
    let makers = Makers::usual(&run, 120, 9, false);
    let full = predict::bands(&predict::samples(&run, &makers, &|| ()).unwrap(), &Figure::ALL);
    for (quick, full) in quick.bands.iter().zip(&full) {
        let width = |b: &predict::Band| b.at[2] - b.at[0];
        let ratio = width(quick) / width(full);
        // Four makers give a scatter to about two thirds, where it is all there is (angles).
        assert!((0.5..2.2).contains(&ratio), "{:?}: {ratio}", quick.figure);
    }
}

mod command {
    use assert_cmd::Command;
    use std::path::Path;

    fn slantwise(arguments: &[&str]) -> (i32, String, String) {
        let out = Command::cargo_bin("slantwise").unwrap().args(arguments).output().unwrap();
        let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
        (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
    }

    fn written(folder: &Path, name: &str, text: &str) -> String {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    #[test]
    fn mix_draws_and_tabulates_and_says_the_same_twice() {
        let folder = tempfile::tempdir().unwrap();
        let file = written(folder.path(), "ladder.txt", &super::ladder(4));
        let out = folder.path().join("out").display().to_string();
        let arguments = ["mix", &file, "--vary", "tall=0,50,100", "--out", &out];
        let (code, text, _) = slantwise(&arguments);
        assert_eq!(code, 0);
        assert!(text.contains("50 % tall") && text.contains("Most slant"), "{text}");
        let csv = std::fs::read(folder.path().join("out/mix.csv")).unwrap();
        let svg = std::fs::read(folder.path().join("out/mix.svg")).unwrap();
        assert_eq!(csv.iter().filter(|b| **b == b'\n').count(), 5);
        assert!(folder.path().join("out/mix-outlines.png").is_file());
        assert_eq!(slantwise(&arguments).1, text);
        assert_eq!(std::fs::read(folder.path().join("out/mix.csv")).unwrap(), csv);
        assert_eq!(std::fs::read(folder.path().join("out/mix.svg")).unwrap(), svg);
    }

    #[test]
    fn choices_in_one_file_are_variants() {
        let folder = tempfile::tempdir().unwrap();
        let text = super::ladder(4).replace(
            "Row 2 (WS): Ch 1, sc in each st across. (20 sc)\nRows",
            "Row 2 (WS): Ch 1, {short: sc | half: hdc} in each st across. (20 sts)\nRows",
        );
        let file = written(folder.path(), "choices.txt", &text);
        let out = folder.path().join("out").display().to_string();
        let (code, text, _) = slantwise(&["compare", &file, "--out", &out]);
        assert_eq!(code, 0, "{text}");
        assert!(text.contains("A = short") && text.contains("B = half"), "{text}");
        assert!(text.contains("BODY, row 2"), "{text}");
        let (code, text, _) = slantwise(&["mix", &file, "--out", &out]);
        assert!(code == 0 && text.contains("half"), "{text}");
    }

    #[test]
    fn what_cannot_be_varied_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let file = written(folder.path(), "ladder.txt", &super::ladder(2));
        let (code, _, err) = slantwise(&["mix", &file, "--vary", "colour=red"]);
        assert!(code == 2 && err.contains("stitch, shape, tall"), "{err}");
        let (code, _, err) = slantwise(&["compare", &file]);
        assert!(code == 2 && err.contains("two or more"), "{err}");
    }

    #[test]
    fn spread_gives_bands_and_the_chance_of_straight_edges() {
        let folder = tempfile::tempdir().unwrap();
        let file = written(folder.path(), "ladder.txt", &super::ladder(4));
        let out = folder.path().join("out").display().to_string();
        let arguments = ["spread", &file, "--makers", "12", "--seed", "5", "--out", &out];
        let (code, text, _) = slantwise(&arguments);
        assert_eq!(code, 0);
        assert!(text.contains("12 makers (seed 5)") && text.contains("of 100 hands"), "{text}");
        let csv = std::fs::read_to_string(folder.path().join("out/makers.csv")).unwrap();
        assert_eq!(csv.lines().count(), 13);
        assert_eq!(slantwise(&arguments).1, text);
    }
}
