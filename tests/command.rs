//! The command as a user runs it: the examples, and input that cannot work.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use assert_cmd::Command;
use serde_json::Value;

fn slantwise() -> Command {
    Command::cargo_bin("slantwise").unwrap()
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)
}

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(arguments: &[&str]) -> Ran {
    let output = slantwise().args(arguments).output().unwrap();
    Ran {
        code: output.status.code().expect("no signal ends it"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Lays an example into a fresh folder; returns what was printed, the numbers and the folder.
fn lay(name: &str) -> (Ran, Value, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let path = example(name);
    let ran = run(&["lay", path.to_str().unwrap(), "--out", folder.path().to_str().unwrap()]);
    let numbers = fs::read_to_string(folder.path().join("numbers.json"))
        .unwrap_or_else(|_| panic!("no numbers: {}{}", ran.out, ran.err));
    (ran, serde_json::from_str(&numbers).unwrap(), folder)
}

fn checked(name: &str) -> (i32, Value) {
    let path = example(name);
    let ran = run(&["check", path.to_str().unwrap(), "--format", "json"]);
    (ran.code, serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}: {}", ran.err)))
}

#[test]
fn the_wrap_reads_without_fault_and_keeps_its_count() {
    let (code, report) = checked("bias-wrap.txt");
    assert_eq!(code, 0, "{}", report["faults"]);
    let rows = report["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 1 + 6 + 300 + 6);
    // The mesh rows make 36 stitches and 34 spaces; the page counts both.
    let counts = |row: &Value| row["made"] == 70 || (row["made"] == 36 && row["consumed"] == 36);
    let odd: Vec<&Value> = rows[1..].iter().filter(|r| !counts(r)).collect();
    assert!(odd.is_empty(), "{odd:?}");
}

#[test]
fn the_wrap_lies_at_the_slant_its_rows_give_it() {
    let (ran, numbers, folder) = lay("bias-wrap.txt");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(numbers["schema"].is_u64());
    for picture in ["outline", "edges", "slant", "strain"] {
        for kind in ["svg", "png"] {
            let file = folder.path().join(format!("{picture}.{kind}"));
            let size = fs::metadata(&file).unwrap_or_else(|_| panic!("{picture}.{kind}")).len();
            assert!(size > 2000, "{picture}.{kind}: {size} bytes");
        }
    }
    assert!(ran.out.contains("Left edge") && ran.out.contains("every 12th row"), "{}", ran.out);
}

#[test]
fn the_faulty_page_names_its_faults_and_is_laid_all_the_same() {
    let (code, report) = checked("faulty-shawlette.txt");
    assert_eq!(code, 1);
    let faults = report["faults"].as_array().unwrap();
    let errors = faults.iter().filter(|f| f["severity"] == "error").count();
    assert!(errors >= 5, "{faults:#?}");
    for fault in faults {
        for field in ["code", "message", "row", "expected", "found", "fit"] {
            assert!(!fault[field].as_str().unwrap().is_empty(), "{field} of {fault}");
        }
        assert!(fault["start"].as_u64() <= fault["end"].as_u64());
    }
    let (ran, _, _) = lay("faulty-shawlette.txt");
    assert_eq!(ran.code, 1);
}

#[test]
fn every_example_is_laid() {
    for name in ["garter-bias-scarf.txt", "knit-mesh.txt", "two-stitch-panel.txt"] {
        let (ran, ..) = lay(name);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
    }
}

#[test]
fn the_same_page_gives_the_same_bytes() {
    let (_, _, first) = lay("knit-mesh.txt");
    let (_, _, second) = lay("knit-mesh.txt");
    for entry in fs::read_dir(first.path()).unwrap() {
        let name = entry.unwrap().file_name();
        let read = |folder: &tempfile::TempDir| fs::read(folder.path().join(&name)).unwrap();
        assert!(read(&first) == read(&second), "{name:?} differs");
    }
}

#[test]
fn blocking_compares_allowances() {
    let folder = tempfile::tempdir().unwrap();
    let path = example("two-stitch-panel.txt");
    let ran = run(&[
        "block",
        path.to_str().unwrap(),
        "--allow",
        "3",
        "--allow",
        "8,4",
        "--out",
        folder.path().to_str().unwrap(),
        "--report",
        folder.path().join("blocked.html").to_str().unwrap(),
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in
        ["washed, no pins", "pinned 3 % each way", "released: along the edges", "next wash: "]
    {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    let page = fs::read_to_string(folder.path().join("blocked.html")).unwrap();
    let page = page.replace('\u{a0}', " ");
    for words in
        ["How do blocking allowances compare?", "Pinned 3 % each way", "pins, corners first"]
    {
        assert!(page.contains(words), "{words}");
    }
    for name in ["pins-2.csv", "released-2.obj", "released-1.gltf", "trials.csv"] {
        assert!(folder.path().join(name).is_file(), "{name}");
    }
    let numbers = fs::read(folder.path().join("numbers.json")).unwrap();
    let numbers: Value = serde_json::from_slice(&numbers).unwrap();
    let pins = numbers["trials"][1]["pins"].as_array().unwrap();

    assert!(pins[..4].iter().all(|p| p["along_mm"] == 0.0), "corners are pinned first");
}

/// A small panel whose hanging takes no time.
const PANEL: &str = "Gauge: 20 sts and 20 rows = 10 cm in sc.\nWith Slate, ch 13.\n\
    Row 1: Sc in 2nd ch from hook and in each ch across. (12 sc)\n\
    Row 2: Ch 1, turn, sc in each st across. (12 sc)\nRows 3-16: Rep Row 2.\n";

#[test]
fn hanging_writes_report_meshes_and_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("panel.txt"), PANEL).unwrap();
    let (file, page, out) = (at("panel.txt"), at("hung.html"), at("out"));
    let ran = run(&["hang", &file, "--out", &out, "--report", &page, "--mesh", &at("more.gltf")]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in
        ["How does it hang", "corners hang", "Skew under load", "outline as worn", "e(t) = e0"]
    {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 100), "{}", ran.out);
    let page = fs::read_to_string(&page).unwrap();
    for words in [
        "How far does each corner drop",
        "Planned, laid and hung",
        "id=\"hung\"",
        "id=\"growth\"",
        "Row by row",
        "What the hanging rests on",
        "Faults found in the pattern",
        "Dry a heavy wet piece flat",
        "how sure",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let numbers: Value =
        serde_json::from_slice(&fs::read(at("out/numbers.json")).unwrap()).unwrap();
    assert_eq!(numbers["schema"], 1);
    assert_eq!(numbers["rows"].as_array().unwrap().len(), 16);
    assert_eq!(numbers["corners"].as_array().unwrap().len(), 4);
    let mesh = fs::read_to_string(at("out/hung.obj")).unwrap();
    assert_eq!(
        mesh.lines().filter(|l| l.starts_with("f ")).count(),
        13 * 16,
        "half cells at edges"
    );
    let scene: Value = serde_json::from_slice(&fs::read(at("more.gltf")).unwrap()).unwrap();
    let low = scene["accessors"][0]["min"][1].as_f64().unwrap();
    let deep = numbers["size_mm"][2].as_f64().unwrap() / 1000.0;
    assert!((low + deep).abs() < 0.02, "y is up and in metres: {low} m, {deep} m tall");
    if cfg!(feature = "pdf") {
        let ran = run(&["hang", &file, "--format", "json", "--report", &at("hung.pdf")]);
        assert_eq!(serde_json::from_str::<Value>(&ran.out).unwrap(), numbers, "same bytes");
        assert!(fs::read(at("hung.pdf")).unwrap().starts_with(b"%PDF-"));
    }
}

/// Eight rounds of single crochet that lie flat.
fn disc() -> String {
    let mut page =
        "Gauge: 20 sts and 19 rounds = 10 cm in sc.\nRnd 1: 6 sc in magic ring. (6 sc)\n\
                    Rnd 2: 2 sc in each st around. (12 sc)\n"
            .to_owned();
    for round in 3..=8 {
        let plain = if round == 3 { "st".to_owned() } else { format!("{} sts", round - 2) };
        let (two, plain) = ("2 sc in next st", format!("sc in next {plain}"));
        let [first, then] = if round % 2 == 0 { [two, &plain] } else { [&plain, two] };
        page += &format!("Rnd {round}: [{first}, {then}] 6 times. ({} sc)\n", 6 * round);
    }
    page
}

#[test]
fn rounds_are_blocked_whole() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("disc.txt"), disc()).unwrap();
    let (file, page, out) = (at("disc.txt"), at("blocked.html"), at("out"));
    let asked = ["--allow", "3", "--to", "9cm", "--pins", "4cm", "--out", &out, "--report", &page];
    let ran = run(&[&["block", &file][..], &asked].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in [
        "nearest to a circle",
        "pinned 3 % all ways",
        "pinned to 9.0 cm across",
        "scallop between pins",
        "roundness of the edge",
        "next wash: across",
    ] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    let page = fs::read_to_string(&page).unwrap();
    for words in ["How do blocking allowances compare?", "pins, in placing order", "id=\"blocked\""]
    {
        assert!(page.contains(words), "{words}");
    }
    for name in ["blocked.png", "pins-2.csv", "released-2.obj", "released-1.gltf", "trials.csv"] {
        assert!(Path::new(&at("out")).join(name).is_file(), "{name}");
    }
    let numbers: Value =
        serde_json::from_slice(&fs::read(at("out/numbers.json")).unwrap()).unwrap();
    let pins = numbers["trials"][1]["pins"].as_array().unwrap();
    let across = |k: usize, l: usize| {
        let at = |k: usize, d: usize| pins[k]["at_mm"][d].as_f64().unwrap();
        (at(k, 0) - at(l, 0)).hypot(at(k, 1) - at(l, 1))
    };
    assert!(pins.len() >= 8 && pins.len().is_multiple_of(2));
    for pair in (0..pins.len()).step_by(2) {
        let wide = across(pair, pair + 1);
        assert!(
            wide > 88.0 && wide < 90.0 + 1e-6,
            "pins {pair} and its opposite are {wide} mm apart"
        );
    }
}

#[test]
fn rounds_are_hung_whole() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("disc.txt"), disc()).unwrap();
    let (file, page, out) = (at("disc.txt"), at("hung.html"), at("out"));
    let asked = ["--by", "point", "--out", &out, "--report", &page, "--mesh", &at("more.gltf")];
    let ran = run(&[&["hang", &file][..], &asked].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    for words in [
        "by one stitch of its edge",
        "The held stitch bears its weight",
        "Its lowest stitch hangs",
        "e(t) = e0",
        "a minimum of energy",
    ] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 100), "{}", ran.out);
    let page = fs::read_to_string(&page).unwrap();
    for words in ["How does it hang", "id=\"hung\"", "id=\"growth\"", "Round by round"] {
        assert!(page.contains(words), "{words}");
    }
    let numbers: Value =
        serde_json::from_slice(&fs::read(at("out/numbers.json")).unwrap()).unwrap();
    assert_eq!(numbers["rounds"].as_array().unwrap().len(), 8);
    let (held, grams) = (numbers["borne_n"]["held"].as_f64(), numbers["mass_g"].as_f64());
    assert!((held.unwrap() / (9.80665e-3 * grams.unwrap()) - 1.0).abs() < 1e-5);
    for name in ["hung.png", "growth.svg", "hung.obj", "hung.gltf", "rounds.csv"] {
        assert!(Path::new(&at("out")).join(name).is_file(), "{name}");
    }
    assert!(Path::new(&at("more.gltf")).is_file());
}

/// Each study is one page that opens with its question.
#[test]
fn every_study_is_told_on_one_page() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("panel.txt"), PANEL).unwrap();
    let (file, page, out) = (at("panel.txt"), at("page.html"), at("out"));
    for (command, more, question, pictures) in [
        (
            "mix",
            &["--vary", "tall=0,50,100"][..],
            "How does the stitch mix change the slant?",
            &["mix", "mix-outlines"][..],
        ),
        (
            "compare",
            &[&file],
            "How does each piece lie?",
            &["compare-outlines", "compare-measures"],
        ),
        (
            "spread",
            &["--makers", "4"],
            "How much does the piece move from maker to maker?",
            &["spread"],
        ),
    ] {
        let asked = [&[command, &file][..], more, &["--out", &out, "--report", &page]].concat();
        let ran = run(&asked);
        assert_eq!(ran.code, 0, "{command}: {}", ran.err);
        let page = fs::read_to_string(&page).unwrap();
        assert!(page.contains(question), "{command}");
        for picture in pictures {
            assert!(page.contains(&format!("<figure id=\"{picture}\"")), "{command}: {picture}");
        }
        assert!(page.contains("Assumed") && page.contains("Cautions"), "{command}");
    }
    if cfg!(feature = "pdf") {
        let ran = run(&["spread", &file, "--makers", "4", "--out", &out, "--report", &at("s.pdf")]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(fs::read(at("s.pdf")).unwrap().starts_with(b"%PDF-"));
    }
}

/// Closed rounds have no edges: studies speak of rounds, or say why they do not run.
#[test]
fn studies_of_closed_rounds_speak_of_rounds() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let disc = "Gauge: 20 sts and 19 rounds = 10 cm in sc.\nRnd 1: 6 sc in magic ring. (6 sc)\n\
        Rnd 2: *2 sc in next st; rep from * around. (12 sc)\n\
        Rnd 3: *Sc in next st, 2 sc in next st; rep from * around. (18 sc)\n";
    let tube = "Gauge: 20 sts and 22 rounds = 10 cm in sc.\nCh 20, join with sl st to form a ring.\n\
        Rnd 1: Ch 1, sc in each ch around, join with sl st. (20 sc)\n\
        Rnds 2-5: Ch 1, sc in each st around, join with sl st. (20 sc)\n";
    fs::write(at("disc.txt"), disc).unwrap();
    fs::write(at("tube.txt"), tube).unwrap();
    for name in ["disc.txt", "tube.txt"] {
        let file = at(name);
        cannot(&["trace", &file, "--out", &at("none")], "these rounds are closed");
        let vary = ["mix", &file, "--vary", "hand=0.9,1.1", "--out", &at("none")];
        cannot(&vary, "these rounds are closed");
        assert!(!folder.path().join("none").exists(), "nothing is half written");
        let ran = run(&["spread", &file, "--makers", "4", "--out", &at("spread")]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(!ran.out.contains("edge"), "{}", ran.out);
        let wanted = if name == "disc.txt" { "middle to last round" } else { "around" };
        assert!(ran.out.contains(wanted), "{}", ran.out);
        let other = run(&["compare", &file, &file, "--out", &at("both")]);
        assert_eq!(other.code, 0, "{}", other.err);
        assert!(other.out.contains(wanted) && !other.out.contains("slant"), "{}", other.out);
    }
}

#[test]
fn a_figure_is_traced_to_rows_and_stitches() {
    let folder = tempfile::tempdir().unwrap();
    let (path, out) = (example("two-stitch-panel.txt"), folder.path().to_str().unwrap());
    let page = folder.path().join("trace.html");
    let more = ["--report", page.to_str().unwrap()];
    let asked = ["trace", path.to_str().unwrap(), "--of", "width", "--out", out];
    let ran = run(&[&asked[..], &more[..]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    // A row's width is its stitches' widths: all rows 1 % wider make the piece 1 % wider.
    let lines: Vec<&str> = ran.out.lines().collect();
    let now: f64 = lines[0].split_whitespace().rev().nth(1).unwrap().parse().unwrap();
    let all = lines.iter().find(|line| line.starts_with("all rows")).unwrap();
    let wider: f64 = all.split_whitespace().nth(2).unwrap().parse().unwrap();
    assert!((wider / now - 0.01).abs() < 0.0005, "{wider} of {now}");
    let page = fs::read_to_string(page).unwrap();
    assert!(page.contains("Which rows and stitches move it") && page.contains("id=\"trace\""));
    for name in ["trace.svg", "trace.png", "trace.csv"] {
        assert!(folder.path().join(name).is_file(), "{name}");
    }
}

#[test]
fn reports_meshes_and_sheets_are_written_where_asked() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let path = example("two-stitch-panel.txt");
    let path = path.to_str().unwrap();
    let (page, mesh) = (at("deeper/panel.html"), at("panel.obj"));
    let (scene, out) = (at("panel.gltf"), at("laid"));
    let mut asked = vec!["lay", path, "--out", &out, "--report", &page, "--full-size", "letter"];
    asked.extend(["--mesh", &mesh, "--mesh", &scene]);
    let pdf = at("panel.pdf");
    if cfg!(feature = "pdf") {
        asked.extend(["--report", &pdf]);
    }
    let ran = run(&asked);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains(&format!("Written: {page}")), "{}", ran.out);
    assert!(fs::read_to_string(&page).unwrap().contains("Do the long edges stay straight"));
    assert!(fs::read_to_string(&mesh).unwrap().contains("\nf 1 2"));
    let scene: Value = serde_json::from_str(&fs::read_to_string(&scene).unwrap()).unwrap();
    assert_eq!(scene["asset"]["version"], "2.0");
    for name in ["rows.csv", "edges.csv", "yarn.csv", "numbers.json", "full-size-01.svg"] {
        assert!(folder.path().join("laid").join(name).is_file(), "{name}");
    }
    if cfg!(feature = "pdf") {
        assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
        assert!(fs::read(at("laid/full-size.pdf")).unwrap().starts_with(b"%PDF-"));
    }
    cannot(&["lay", path, "--report", "panel.docx"], "a report is FILE.html or FILE.pdf");
    cannot(&["block", path, "--report", "panel"], "has no ending; a report is");
    cannot(&["lay", path, "--mesh", "panel.stl"], "a mesh is FILE.obj or FILE.gltf");
}

/// Cannot run: exit code 2, a message that names the file and what is wrong, in bounded time.
fn cannot(arguments: &[&str], message: &str) {
    let start = Instant::now();
    let ran = run(arguments);
    assert_eq!(ran.code, 2, "{arguments:?}: {}{}", ran.out, ran.err);
    assert!(ran.err.contains(message), "{arguments:?}: {}", ran.err);
    assert!(start.elapsed() < Duration::from_secs(20));
}

#[test]
fn files_that_are_no_pattern_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let here = folder.path().to_str().unwrap();
    for command in ["check", "lay"] {
        cannot(&[command, "nowhere.txt"], "nowhere.txt: there is no such file");
        cannot(&[command, here], "it is a folder");
        cannot(&[command, &file("binary", &[0x89, 0x50, 0xff, 0x00])], "is not UTF-8");
        cannot(&[command, &file("zero", b"Row 1\0")], "byte 5 is zero");
        cannot(&[command, &file("long", &vec![b'a'; 50 << 20])], "too long");
    }
    let empty = file("empty.txt", b"");
    assert_ne!(run(&["check", &empty]).code, 0);
    cannot(&["lay", &empty], "no row could be worked");
    // Nothing is left behind by what could not run.
    assert!(!Path::new("nowhere-laid").exists());
    assert!(!Path::new("empty-laid").exists());
}

/// The pattern has faults: exit code 1 or 2, a located message, bounded time and memory.
/// Rows of a wide stitch beside a band of a narrow one have length to spare, and rise where it is.
#[test]
fn a_panel_drawn_in_by_a_band_ruffles_beside_it() {
    let page = "+++\ncraft = \"crochet\"\nterms = \"US\"\ngauge = [\n\
                { stitches = 16, rows = 9.5, over = \"10 cm\", in = \"dc\", state = \"washed\" },\n\
                { stitches = 20, rows = 22, over = \"10 cm\", in = \"sc\", state = \"washed\" },\n]\n+++\n\
                A small panel\n\nCh 32.\n\
                Row 1: Dc in 4th ch from hook and in each ch across, turn. (30 dc)\n\
                Rows 2-8: Ch 3, dc in next st and in each st across, turn. (30 dc)\n\
                Rows 9-18: Ch 1, sc in each st across, turn. (30 sc)\n";
    let folder = tempfile::tempdir().unwrap();
    let output = slantwise()
        .args(["lay", "-", "--out"])
        .arg(folder.path())
        .write_stdin(page)
        .output()
        .unwrap();
    let said =
        String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Longer than the piece lets it lie: row"), "{said}");
    assert!(said.contains("On a table under its weight it ruffles"), "{said}");
    let numbers = std::fs::read_to_string(folder.path().join("numbers.json")).unwrap();
    let numbers: serde_json::Value = serde_json::from_str(&numbers).unwrap();
    assert!(numbers["over_fed"][0]["spare_mm"].as_f64().unwrap() > 5.0);
    assert!(numbers["on_a_table"]["rise_mm"].as_f64().unwrap() > 1.0);
    assert!(folder.path().join("on-a-table.svg").exists());
}

#[test]
fn hostile_patterns_are_refused_in_bounded_time() {
    let nested = format!(
        "Ch 20.\nRow 1: {}sc in next st{} 2 times.\n",
        "[".repeat(1000),
        "] 2 times".repeat(999)
    );
    for (page, words) in [
        (
            "Ch 10.\nRow 1: Sc in 2nd ch from hook and in each ch across.\nRow 2: *Ch 1, sc in next st; rep from * 1000000000 times.\n",
            ":3:",
        ),
        (
            "Ch 10.\nRow 1: Sc in 2nd ch from hook and in each ch across.\nRows 2-1000000000: Rep Row 1.\n",
            ":3:",
        ),
        ("Cast on 4000000000 sts.\nRow 1: Knit across.\n", ":1:"),
        (nested.as_str(), ""),
    ] {
        let start = Instant::now();
        let output = slantwise()
            .args(["check", "-", "--format", "short"])
            .write_stdin(page)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stdout).to_lowercase();
        assert!(matches!(output.status.code(), Some(1 | 2)), "{page:.60}: {said}");
        assert!(said.contains(words), "{page:.60}: {said}");
        assert!(start.elapsed() < Duration::from_secs(20), "{page:.60}");
    }
}

#[test]
fn impossible_facts_are_located() {
    for (page, code) in [
        (
            "+++\ncraft = \"crochet\"\ngauge = { stitches = 0, rows = 10, over = \"10 cm\", in = \"sc\" }\n+++\nCh 11.\nRow 1: Sc in 2nd ch from hook and in each ch across.\n",
            "bad-value",
        ),
        (
            "+++\nplanned = \"30 x 60\"\n+++\nCh 11.\nRow 1: Sc in 2nd ch from hook and in each ch across.\n",
            "bad-value",
        ),
        (
            "+++\n[[yarn]]\nname = \"A\"\n+++\nWith A, ch 11.\nRow 1: With Q, sc in 2nd ch from hook and in each ch across.\n",
            "unknown-yarn",
        ),
        ("Ch 11.\nRow 1: Sc in 2nd ch from hook and in next 14 ch.\n", "stitch-count"),
    ] {
        let output = slantwise()
            .args(["check", "-", "--format", "short"])
            .write_stdin(page)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(&format!("error[{code}]")), "expected {code}: {said}");
    }
}

#[test]
fn options_are_explained() {
    for arguments in
        [&["--help"][..], &["check", "--help"], &["lay", "--help"], &["block", "--help"]]
    {
        let ran = run(arguments);
        assert_eq!(ran.code, 0);
        assert!(ran.out.contains("Usage"), "{}", ran.out);
    }
    assert_eq!(run(&["lay"]).code, 2);
    assert_eq!(run(&["knot", "x"]).code, 2);
    let path = example("knit-mesh.txt");
    cannot(&["lay", path.to_str().unwrap(), "--preset", "selvage.leen=0"], "selvage.lean");
    cannot(&["lay", path.to_str().unwrap(), "--preset", "selvage.lean=much"], "is no number");
}

#[test]
fn write_prints_the_pattern_again_in_either_terms() {
    let path = example("bias-wrap.txt");
    let us = run(&["write", path.to_str().unwrap()]);
    assert_eq!(us.code, 0, "{}", us.err);
    assert!(us.out.contains("Row 1 (RS): Ch 1, 2 sc in first st"), "{}", us.out);
    let uk = run(&["write", path.to_str().unwrap(), "--terms", "uk"]);
    assert!(uk.out.contains("Row 1 (RS): Ch 1, 2 dc in first st"), "{}", uk.out);
    let again =
        slantwise().args(["write", "-", "--terms", "us"]).write_stdin(uk.out).output().unwrap();
    assert_eq!(
        String::from_utf8(again.stdout).unwrap(),
        us.out,
        "US to UK and back changes nothing"
    );
}

#[test]
fn write_of_what_cannot_be_worked_is_refused_in_words() {
    let ran = slantwise().args(["write", "-"]).write_stdin("Hello there.").output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8(ran.stderr).unwrap().contains("nothing to write"));
}

#[test]
fn row_table_comes_as_csv() {
    let path = example("bias-wrap.txt");
    let ran = run(&["check", path.to_str().unwrap(), "--csv"]);
    let lines: Vec<&str> = ran.out.split("\r\n").collect();
    assert_eq!(lines[0], "section,row,side,from,uses,makes,unworked,as_written,colour");
    assert_eq!(lines[1], "FIRST BAND,foundation,wrong,left,0,70,0,,A", "{}", ran.out);
    assert_eq!(lines.len(), 1 + 1 + 6 + 300 + 6 + 1, "header, foundation, rows, end");
}

/// Holes in a baby's blanket catch fingers: the usual caution is printed, local rules first.
#[test]
fn an_open_baby_blanket_brings_a_caution() {
    let page = "Baby Blanket\nGauge: 16 sts and 9 rows = 10 cm in dc\n\nCh 32.\n\
        Row 1: Dc in 4th ch from hook (counts as 2 dc) and in each ch across. (30 dc)\n\
        Row 2: Ch 3 (counts as dc), *ch 1, skip next st, dc in next st; rep from * to last st, dc in last st.\n";
    let folder = tempfile::tempdir().unwrap();
    let lay = |page: &str| {
        let mut command = slantwise();
        command.args(["lay", "-", "--out", folder.path().to_str().unwrap()]);
        String::from_utf8(command.write_stdin(page).output().unwrap().stdout).unwrap()
    };
    let text = lay(page);
    assert!(text.contains("catch fingers") && text.contains("local rules"), "{text}");
    let text = lay(&page.replace("Baby Blanket", "Table Runner"));
    assert!(!text.contains("catch fingers") && text.contains("care label"), "{text}");
}

#[test]
fn check_counts_rounds_apart_from_rows() {
    let folder = tempfile::tempdir().unwrap();
    let summary = |page: &str| {
        fs::write(folder.path().join("page.txt"), page).unwrap();
        let ran =
            slantwise().current_dir(folder.path()).args(["check", "page.txt"]).output().unwrap();
        String::from_utf8(ran.stdout).unwrap().replace('\u{a0}', " ")
    };
    let cowl = "Gauge: 16 sc and 18 rows = 4 in\nCh 40, join with sl st to form a ring.\n\
                Rnd 1: Ch 1, sc in each ch around, join. (40 sc)\nRnds 2-12: Ch 1, sc in each sc around, join.\n";
    assert!(summary(cowl).starts_with("12 rounds and "), "{}", summary(cowl));
    let mat = "Gauge: 16 sc and 18 rows = 4 in\nCh 31.\n\
               Row 1: Sc in 2nd ch from hook and in each ch across. (30 sc)\nRows 2-36: Ch 1, turn, sc in each sc across.\n\
               Border\nRnd 1: Ch 1, sc evenly around, 3 sc in each corner, join.\n";
    assert!(summary(mat).starts_with("36 rows, 1 round and "), "{}", summary(mat));
}
