//! `slantwise lay` of a piece that is closed and has no state cut open: words, numbers, reports and meshes.

use std::fs;

use assert_cmd::Command;
use serde_json::Value;

const SQUARE: &str = "Corner Tile\nUS terms\nGauge: 16 dc and 9 rounds = 10 cm.\n\
    Rnd 1: Ch 4, join with sl st to form ring. Ch 3 (counts as dc), 2 dc in ring, ch 2, *3 dc in ring, ch 2; rep \
    from * 2 more times, join with sl st in top of beg ch-3. (12 dc, 4 ch-2 sps)\n\
    Rnd 2: Sl st in next 2 dc and in next ch-2 sp, ch 3, (2 dc, ch 2, 3 dc) in same sp, *ch 1, (3 dc, ch 2, 3 dc) \
    in next ch-2 sp; rep from * around, ch 1, join. (24 dc)\n";

fn run(arguments: &[&str]) -> (i32, String, String) {
    let done = Command::cargo_bin("slantwise").unwrap().args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (done.status.code().unwrap(), text(done.stdout), text(done.stderr))
}

#[test]
fn a_granny_square_is_told_in_every_form() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let file = at("tile.txt");
    fs::write(&file, SQUARE).unwrap();
    let (code, numbers, said) = run(&["lay", &file, "--format", "json"]);
    assert_eq!(code, 0, "{said}");
    let numbers: Value = serde_json::from_str(&numbers).unwrap();
    assert_eq!(numbers["corners"], 4);
    let rounds = numbers["rounds"].as_array().unwrap();
    let stitches: Vec<u64> = rounds.iter().map(|r| r["stitches"].as_u64().unwrap()).collect();
    // Chains in corners and between groups are as wide as stitches: 12 + 4·2, and 24 + 4·2 + 4.
    assert_eq!(stitches, [20, 36]);
    assert_eq!(numbers["on_a_table"]["solution"]["minimum"], true);

    let asked = ["--report", &at("tile.html"), "--mesh", &at("tile.gltf"), "--out", &at("out")];
    let (code, words, said) = run(&[&["lay", &file][..], &asked].concat());
    assert_eq!(code, 0, "{said}");
    assert!(words.contains("round 2") && words.contains("flat square"), "{words}");
    let page = fs::read_to_string(at("tile.html")).unwrap();
    for words in ["Does it lie flat?", "Round by round", "id=\"on-a-table\"", "flat square"] {
        assert!(page.contains(words), "{words}");
    }
    let mesh: Value = serde_json::from_slice(&fs::read(at("tile.gltf")).unwrap()).unwrap();
    assert_eq!(mesh["asset"]["version"], "2.0");
    let kept: Value = serde_json::from_slice(&fs::read(at("out/numbers.json")).unwrap()).unwrap();
    assert_eq!(kept, numbers);
}

#[test]
fn closed_rounds_have_no_outline_to_print() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("tile.txt"), SQUARE).unwrap();
    let out = at("out");
    let (code, words, said) = run(&["lay", &at("tile.txt"), "--full-size", "a4", "--out", &out]);
    assert_eq!((code, words.as_str()), (2, ""));
    assert!(said.contains("leave out --full-size"), "{said}");
    assert!(!folder.path().join("out").exists());
}
