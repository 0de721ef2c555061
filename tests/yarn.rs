//! The commands of yarn and calibration as a user runs them: yarn, swatch, refine, presets.

#![allow(clippy::print_stdout, reason = "a figure is printed beside its bound")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use assert_cmd::Command;
use serde_json::Value;

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(arguments: &[&str], input: &str) -> Ran {
    let mut command = Command::cargo_bin("slantwise").unwrap();
    let output = command.args(arguments).write_stdin(input).output().unwrap();
    Ran {
        code: output.status.code().expect("no signal ends it"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn json(arguments: &[&str], input: &str) -> Value {
    let ran = run(&[arguments, &["--format", "json"]].concat(), input);
    serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}: {}{}", ran.out, ran.err))
}

fn example(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    path.to_str().unwrap().to_owned()
}

/// Cannot run: exit code 2 and a message with all these words.
fn cannot(arguments: &[&str], input: &str, words: &[&str]) {
    let ran = run(arguments, input);
    assert_eq!(ran.code, 2, "{arguments:?}: {}{}", ran.out, ran.err);
    for word in words {
        assert!(ran.err.contains(word), "{word}: {}", ran.err);
    }
    assert!(ran.out.is_empty(), "{}", ran.out);
}

/// Yarn of a single crochet as tall as wide over that of one .92 as tall (presets crochet.ratio.single and
/// crochet.yarn.post_share).
const TALLER: f64 = 1.0 + 0.85 * (1.0 / 0.92 - 1.0);

/// Ten rows of two stripes in two yarns, by turns.
fn stripes(yarn: &str, repeats: u32) -> String {
    format!(
        "+++\ncraft = \"crochet\"\nterms = \"US\"\n\
         gauge = {{ stitches = 20, rows = 20, over = \"10 cm\", in = \"sc\" }}\n{yarn}+++\n\
         With A, ch 41.\nRow 1: Sc in 2nd ch from hook and in each ch across. (40 sc)\n\
         Row 2: Ch 1, turn, sc in each st across. (40 sc)\n\
         Row 3: With B, ch 1, turn, sc in each st across. (40 sc)\n\
         Row 4: Ch 1, turn, sc in each st across. (40 sc)\n\
         Row 5: With A, ch 1, turn, sc in each st across. (40 sc)\n\
         Row 6: Ch 1, turn, sc in each st across. (40 sc)\n\
         Rows 7-{}: Rep Rows 3-6, {repeats} times more.\n",
        6 + 4 * repeats
    )
}

fn two_yarns(a: &str, b: &str) -> String {
    let one = |name: &str, rest: &str| {
        format!("[[yarn]]\nname = \"{name}\"\nball = \"50 g / 100 m\"\n{rest}\n")
    };
    one("A", a) + &one("B", b)
}

/// Every row's yarn adds up to that of the colours, and what is left on the scale to what is at hand.
#[test]
fn yarn_by_row_section_and_colour_adds_up() {
    let page = stripes(&two_yarns("balls = 2", "balls = 1"), 20);
    let plan = json(&["yarn", "-"], &page);
    let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    let of = |v: &Value, key: &str| v[key].as_f64().unwrap();
    for colour in plan["colours"].as_array().unwrap() {
        let rows: Vec<&Value> = plan["rows"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|r| r["yarn"] == colour["yarn"])
            .collect();
        let (stitches, ends) = rows
            .iter()
            .fold((0.0, 0.0), |(s, e), r| (s + of(r, "stitches_m"), e + of(r, "ends_m")));
        near(stitches, of(colour, "stitches_m"));
        near(ends, of(colour, "ends_m"));
        // 50 g to 100 m: half a gram a metre.
        let last = of(rows[rows.len() - 1], "left_g");
        near(last, (of(colour, "at_hand_m") - stitches - ends) / 2.0);
        // A single crochet of 5 mm takes 6.6 widths, .85 of it in the post, which is drawn up to 5 mm instead of
        // .92 widths; the row's turning chain takes 5.1.
        let row = of(rows[1], "stitches_m");
        near(row, (40.0 * 6.6 * TALLER + 5.1) * 0.005);
    }
    let sections = &plan["sections"][0]["length_m"];
    let used = of(&plan["colours"][0], "stitches_m") + of(&plan["colours"][0], "ends_m");
    near(sections[0].as_f64().unwrap(), used);
}

/// A hand of 1.05 makes every stitch, and what it takes, a twentieth larger; tails stay as long as they are.
#[test]
fn yarn_follows_the_hand() {
    let at_gauge = json(&["yarn", "-"], &stripes("", 4));
    let larger = json(&["yarn", "-"], &stripes("[maker]\nhand = 1.05\n", 4));
    let of = |plan: &Value, key: &str| plan["colours"][1][key].as_f64().unwrap();
    let ratio = of(&larger, "stitches_m") / of(&at_gauge, "stitches_m");
    assert!((ratio - 1.05).abs() < 1e-9, "{ratio}");
    assert_eq!(of(&larger, "ends_m"), of(&at_gauge, "ends_m"));
}

/// Each stripe of a cut colour has two tails; a carried one has a strand up the edge past the others.
#[test]
fn tails_fringe_and_margin_are_asked_for() {
    let page = stripes(&two_yarns("balls = 2", "balls = 1"), 3);
    let cut = json(&["yarn", "-"], &page);
    let b = &cut["colours"][1];
    // Stripes of B: rows 3, 7, 11 and 15; 15 cm at either end.
    assert_eq!(b["joins"], 4);
    assert!((b["ends_m"].as_f64().unwrap() - 4.0 * 0.30).abs() < 1e-9, "{b}");
    let carried = json(&["yarn", "-", "--carried"], &page);
    let b = &carried["colours"][1];
    assert_eq!(b["joins"], 1);
    // Past three stripes of two rows of 5 mm.
    assert!((b["ends_m"].as_f64().unwrap() - 0.30 - 3.0 * 0.01).abs() < 1e-9, "{b}");
    let more = json(&["yarn", "-", "--fringe", "B:60x40cm", "--margin", "20"], &page);
    let b = &more["colours"][1];
    assert!((b["fringe_m"].as_f64().unwrap() - 24.0).abs() < 1e-9, "{b}");
    let needed = b["needed_m"].as_f64().unwrap();
    let used: f64 =
        ["stitches_m", "ends_m", "fringe_m"].iter().map(|k| b[*k].as_f64().unwrap()).sum();
    assert!((needed / used - 1.2).abs() < 1e-9, "{b}");
    cannot(&["yarn", "-", "--fringe", "Q:60x40cm"], &page, &["--fringe Q", "A, B"]);
    cannot(&["yarn", "-", "--fringe", "60"], &page, &["STRANDSxLENGTH"]);
    cannot(&["yarn", "-", "--margin=-3"], &page, &["--margin", "a reserve of -3 %"]);
}

/// The ball ends where its yarn is used up; begun a row earlier, no join lies inside a row.
#[test]
fn each_ball_ends_at_its_row_and_stitch() {
    let page = stripes(&two_yarns("balls = 3", "balls = 3"), 60);
    let plan = json(&["yarn", "-"], &page);
    let a = &plan["colours"][0];
    let end = &a["ball_ends"][0];
    let row = end["at"]["row"].as_str().unwrap();
    let mut used = 0.0;
    let mut before = 0.0;
    for r in plan["rows"].as_array().unwrap().iter().filter(|r| r["yarn"] == "A") {
        before = used;
        used += r["stitches_m"].as_f64().unwrap() + r["ends_m"].as_f64().unwrap();
        if r["row"] == row {
            break;
        }
    }
    // A ball of 100 m less the two tails it is joined with.
    let net = 100.0 - 0.30;
    assert!(before < net && net <= used, "{before} {net} {used}");
    assert!((end["left_m"].as_f64().unwrap() - (net - before)).abs() < 1e-6, "{end}");
    assert_eq!(end["change_before"], row);
    let text = run(&["yarn", "-"], &page).out;
    assert!(text.contains("Ball 1 ends in row") && text.contains("to join at an edge"), "{text}");
}

/// Too little of one yarn: where it ends, which stripe it was needed for, how much is missing.
#[test]
fn a_colour_change_that_cannot_be_met_is_named() {
    let page = stripes(&two_yarns("balls = 2", "grams = 5"), 20);
    let ran = run(&["yarn", "-"], &page);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("run out in row") && ran.out.contains("cannot be finished"),
        "{}",
        ran.out
    );
    let plan = json(&["yarn", "-"], &page);
    let (a, b) = (&plan["colours"][0], &plan["colours"][1]);
    assert!(a["runs_out"].is_null(), "{a}");
    let missing = b["runs_out"]["missing_m"].as_f64().unwrap();
    let used = b["stitches_m"].as_f64().unwrap() + b["ends_m"].as_f64().unwrap();
    assert!((missing - (used - 10.0)).abs() < 1e-9, "{missing} {used}");
    // Rows beyond the end of the yarn have no reading on the scale.
    let last = plan["rows"].as_array().unwrap().iter().rfind(|r| r["yarn"] == "B").unwrap();
    assert!(last["left_g"].is_null(), "{last}");
}

/// As many repeats as the yarn allows: written with that many it lasts, with one more it does not.
#[test]
fn limited_yarn_is_solved_for_repeats() {
    let yarn = two_yarns("grams = 40", "grams = 30");
    let plan = json(&["yarn", "-", "--margin", "0"], &stripes(&yarn, 5));
    let repeats = &plan["repeats"];
    assert_eq!(repeats["rows"], 4, "{repeats}");
    let (allowed, written) =
        (repeats["allowed"].as_u64().unwrap(), repeats["written"].as_u64().unwrap());
    assert!(allowed > written && repeats["limited_by"].is_string(), "{repeats}");
    let lasts = |times: u64| {
        let more = 5 + u32::try_from(times - written).unwrap();
        let plan = json(&["yarn", "-", "--margin", "0"], &stripes(&yarn, more));
        plan["colours"].as_array().unwrap().iter().all(|c| c["runs_out"].is_null())
    };
    assert!(lasts(allowed), "{repeats}");
    assert!(!lasts(allowed + 1), "{repeats}");
}

#[test]
fn the_weigh_as_you_go_table_has_every_row() {
    let ran = run(&["yarn", &example("bias-wrap.txt"), "--format", "csv"], "");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let lines: Vec<&str> = ran.out.split("\r\n").collect();
    assert_eq!(lines[0], "step,row,section,yarn,stitches_m,ends_m,used_g,left_g");
    assert_eq!(lines.len(), 1 + 1 + 6 + 300 + 6 + 1, "header, foundation, rows, end");
    // 400 g of A at hand at the start; grams fall row by row.
    let mut left = 400.0;
    for line in lines.iter().filter(|l| l.contains(",A,")) {
        let fields: Vec<&str> = line.rsplit(',').collect();
        let (now, used): (f64, f64) = (fields[0].parse().unwrap(), fields[1].parse().unwrap());
        assert!((left - used - now).abs() < 2e-3, "{line}");
        left = now;
    }
    let faulty = run(&["yarn", &example("faulty-shawlette.txt")], "");
    assert_eq!(faulty.code, 1, "{}", faulty.err);
    cannot(&["yarn", "nowhere.txt"], "", &["nowhere.txt", "no such file"]);
    cannot(&["yarn", "-"], "Hello.", &["no row could be worked"]);
}

/// Foundation stitches take the yarn of their chain and stitch, once.
#[test]
fn foundation_stitches_are_counted_once() {
    let page = "Gauge: 20 sts and 20 rows = 10 cm in sc\n\nFsc 40.\n\
                Row 2: Ch 1, turn, sc in each st across. (40 sc)\nRow 3: Ch 1, turn, sc in each st across. (40 sc)\n";
    let plan = json(&["yarn", "-"], page);
    let of = |row: usize| plan["rows"][row]["stitches_m"].as_f64().unwrap();
    assert!((of(0) + of(1) - 40.0 * 0.005 * 16.0).abs() < 1e-9, "{}", plan["rows"]);
    let folder = tempfile::tempdir().unwrap();
    let laid = run(&["lay", "-", "--out", folder.path().to_str().unwrap()], page);
    assert_eq!(laid.code, 0, "{}", laid.err);
}

#[test]
fn a_swatch_file_gives_front_matter_that_reads() {
    let path = example("wrap-swatches.toml");
    let ran = run(&["swatch", &path], "");
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in
        ["95 % interval", "is weaker", "Not measured", "What would sharpen it most", "gauge = ["]
    {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    let pasted = run(&["swatch", &path, "--format", "front-matter"], "").out;
    let page = format!(
        "+++\n{pasted}\n+++\nCh 21.\nRow 1: Sc in 2nd ch from hook and in each ch across. (20 sc)\n\
         Row 2: Ch 1, turn, sc in each st across. (20 sc)\n"
    );
    let checked = run(&["check", "-"], &page);
    assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
    let found = json(&["swatch", &path], "");
    let estimates = found["estimates"].as_array().unwrap();
    assert!(
        estimates.iter().any(|e| e["what"] == "width of double crochet" && e["measured"] == true)
    );
}

/// Three swatches are calibrated within two seconds.
#[test]
fn three_swatches_take_no_time() {
    let one = |name: &str, within: &str, rest: &str| {
        format!(
            "[[swatch]]\nname = \"{name}\"\nin = {within}\nstitches = 24\nrows = 20\nwidth = \"11 cm\"\n{rest}\n"
        )
    };
    let three = "yarn = { ball_grams = 50, ball_length = \"200 m\" }\n".to_owned()
        + &one(
            "a",
            "\"dc\"",
            "height = \"17 cm\"\ngrams = 6\nhung = { grams = 100, length = \"18.5 cm\" }",
        )
        + &one(
            "b",
            "\"sc\"",
            "height = \"9.5 cm\"\ngrams = 4.6\ndiagonals = [\"14.4 cm\", \"14.2 cm\"]",
        )
        + &one("c", "[\"dc\", \"sc\"]", "height = \"13.2 cm\"");
    let start = Instant::now();
    let ran = run(&["swatch", "-"], &three);
    let took = start.elapsed().as_secs_f64();
    assert_eq!(ran.code, 0, "{}", ran.err);
    println!("a calibration on three swatches: {took:.2} s (at most 2 s)");
    assert!(took < 2.0, "{took}");
}

#[test]
fn swatches_that_cannot_be_are_refused() {
    let swatch = |lines: &str| format!("[[swatch]]\nname = \"a\"\n{lines}\n");
    let refuse = |lines: &str, words: &[&str]| cannot(&["swatch", "-"], &swatch(lines), words);
    refuse("gauge = \"10 sts = 0 cm in dc\"", &["`a`", "10 sts = 0 cm", "above zero"]);
    refuse("in = \"dc\"\nstitches = -4\nwidth = \"10 cm\"", &["`a`", "-4", "above zero"]);
    refuse("in = \"dc\"\nrepeats = 4\nwidth = \"10 cm\"", &["`a`", "4 repeats", "repeat ="]);
    refuse("in = \"dc\"\nwidht = \"10 cm\"", &["widht", "width"]);
    cannot(&["swatch", "-"], "", &["no swatch is given"]);
    cannot(&["swatch", "nowhere.toml"], "", &["nowhere.toml", "no such file"]);
    let tight = "craft = \"knit\"\nyarn = { tex = 500 }\n".to_owned()
        + &swatch("in = \"stockinette\"\nstitches = 40\nwidth = \"10 cm\"");
    cannot(&["swatch", "-"], &tight, &["`a`", "2.50 mm", "500 tex", "jam"]);
    let two = swatch("in = \"dc\"\nstitches = 20\nwidth = \"10 cm\"")
        + &swatch("in = \"dc\"\nstitches = 20\nwidth = \"6 in\"").replace("\"a\"", "\"b\"");
    cannot(&["swatch", "-"], &two, &["`a`", "`b`", "contradict"]);
}

/// The same front matter, pasted, predicts the piece as it was measured.
#[test]
fn a_measured_piece_refines_its_pattern() {
    let (wrap, measured) = (example("two-stitch-panel.txt"), "along-edge=70cm");
    let ran = run(&["refine", &wrap, "--measured", measured, "--measured", "grams=215"], "");
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in [
        "along the edges, mean",
        "What explains it",
        "what moved",
        "Not told by these measurements",
        "What would sharpen it most",
        "Front matter to paste",
    ] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    let pasted =
        run(&["refine", &wrap, "--measured", measured, "--format", "front-matter"], "").out;
    let page = fs::read_to_string(&wrap).unwrap();
    let (from, to) = (page.find("gauge").unwrap(), page.find("\n[").unwrap());
    let page = format!("{}{pasted}{}", &page[..from], &page[to..]);
    let folder = tempfile::tempdir().unwrap();
    let laid = json(&["lay", "-", "--out", folder.path().to_str().unwrap()], &page);
    let found = json(&["refine", &wrap, "--measured", measured], "");
    let refined = found["figures"][0]["refined"].as_f64().unwrap();
    let edge = |side: &str| laid["edges"][side]["chord_mm"].as_f64().unwrap();
    let along = f64::midpoint(edge("left"), edge("right"));
    assert!((along - refined).abs() < 1.0, "{along} {refined}\n{pasted}");
}

#[test]
fn measurements_that_cannot_be_are_refused() {
    let panel = example("two-stitch-panel.txt");
    let refuse = |measured: &str, words: &[&str]| {
        cannot(&["refine", &panel, "--measured", measured], "", words);
    };
    refuse("along-edge=0cm", &["along-edge=0cm", "\"0cm\"", "above zero"]);
    refuse("along-edge=70", &["along-edge"]);
    refuse("wide=70cm", &["wide", "along-row"]);
    refuse("grams.Q=3", &["grams.Q", "one of the pattern's yarns"]);
    refuse("nowhere.toml", &["nowhere.toml", "no such file"]);
    cannot(&["refine", &panel], "", &["--measured"]);
    cannot(
        &["refine", &panel, "--measured", "slant=1", "--measured", "slant=2"],
        "",
        &["given twice, 1 and 2"],
    );
}

#[test]
fn presets_are_printed_with_their_sources_and_replaced_by_a_file() {
    let all = json(&["presets"], "");
    let all = all.as_array().unwrap();
    assert!(all.len() > 150, "{}", all.len());
    for line in all {
        let text = |key: &str| line[key].as_str().unwrap();
        assert!(!text("source").is_empty() && !text("unit").is_empty(), "{line}");
        let number = |key: &str| line[key].as_f64().unwrap();
        assert!((number("least")..=number("most")).contains(&number("value")), "{line}");
    }
    for word in ["yarn_class", "fibre", "turning_chain", "foundation", "hook", "garter", "loop"] {
        let ran = run(&["presets", word], "");
        assert_eq!(ran.code, 0, "{word}: {}", ran.err);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    fs::write(&path, "[crochet.yarn]\nsingle = 6.1\n").unwrap();
    let path = path.to_str().unwrap();
    let own = json(&["presets", "crochet.yarn.single", "--presets", path], "");
    assert_eq!(own[0]["value"], 6.1);
    assert!(own[0]["source"].as_str().unwrap().starts_with("your own"), "{own}");
    let page = stripes(&two_yarns("", ""), 3);
    let stitches = |plan: &Value| plan["colours"][1]["stitches_m"].as_f64().unwrap();
    let (as_built, replaced) =
        (json(&["yarn", "-"], &page), json(&["yarn", "-", "--presets", path], &page));
    let ratio = stitches(&replaced) / stitches(&as_built);
    assert!(
        (ratio - (40.0 * TALLER * 6.1 + 5.1) / (40.0 * TALLER * 6.6 + 5.1)).abs() < 1e-9,
        "{ratio}"
    );
    cannot(&["presets", "plum"], "", &["`plum`"]);
    fs::write(path, "crochet.yarn.sinlge = 6.1\n").unwrap();
    cannot(&["presets", "--presets", path], "", &["crochet.yarn.sinlge", "crochet.yarn.single"]);
    fs::write(path, "crochet.yarn.single = -1\n").unwrap();
    cannot(&["presets", "--presets", path], "", &["crochet.yarn.single", "-1", "above zero"]);
}

/// Shells of five stitches and a single crochet between: a gauge of 3 shells is one of 18 stitches.
#[test]
fn a_gauge_counted_in_shells_is_read_by_the_rows() {
    let page = |gauge: &str| {
        format!(
            "Gauge: {gauge}\n\nCh 61.\nRow 1: Sc in 2nd ch from hook and in each ch across. (60 sc)\n\
             Row 2: Ch 1, turn, *sc in next st, skip 2 sts, 5 dc in next st, skip 2 sts; rep from * across. (60 sts)\n\
             Row 3: Ch 1, turn, sc in each st across. (60 sc)\n\
             Row 4: Ch 1, turn, *sc in next st, skip 2 sts, 5 dc in next st, skip 2 sts; rep from * across. (60 sts)\n"
        )
    };
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let laid = |page: &str| {
        let ran = run(&["lay", "-", "--out", out], page);
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
        ran.out
    };
    let width = |text: &str| {
        text.lines().find(|l| l.starts_with("along the rows, mean")).unwrap().to_owned()
    };
    let shells = laid(&page("3 shells and 8 rows = 9 cm"));
    assert!(shells.contains("3 shells over 9.0 cm, read as 18 stitches"), "{shells}");
    assert_eq!(width(&shells), width(&laid(&page("18 sts and 8 rows = 9 cm in pattern"))));
    let plain = "Gauge: 3 bobbles = 9 cm\n\nCh 21.\nRow 1: Sc in 2nd ch from hook and in each ch across. (20 sc)\n\
                 Row 2: Ch 1, turn, sc in each st across. (20 sc)\n";
    let unknown = laid(plain);
    assert!(unknown.contains("3 bobbles over 9.0 cm, not used"), "{unknown}");
    assert!(unknown.contains("neither gauge nor yarn stated"), "{unknown}");
}
