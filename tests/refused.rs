//! Asked for what cannot be: a clear message, exit code 2, nothing written; and Ctrl-C.

use std::path::Path;

use assert_cmd::Command;

const PATTERN: &str = "---
title: Ledge Cloth
gauge: 20 sts and 22 rows over 10 cm in sc
---
Ch 25.
Row 1: Sc in 2nd ch from hook and in each ch across, turn. (24 sc)
Rows 2-30: Ch 1, sc in each sc across, turn. (24 sc)
";

/// Runs a command on the pattern in a fresh folder; it must end with 2, write nothing and say `words`.
fn refused(arguments: &[&str], words: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("cloth.txt"), PATTERN).unwrap();
    let [command, options @ ..] = arguments else { panic!("no command") };
    let ran = Command::cargo_bin("slantwise")
        .unwrap()
        .current_dir(folder.path())
        .arg(command)
        .arg("cloth.txt")
        .args(options)
        .output()
        .unwrap();
    let err = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(ran.status.code(), Some(2), "{arguments:?}: {err}");
    assert!(ran.stdout.is_empty(), "{arguments:?} prints {}", String::from_utf8_lossy(&ran.stdout));
    for word in words {
        assert!(err.contains(word), "{arguments:?} says {err}, not {word}");
    }
    assert_eq!(files(folder.path()), ["cloth.txt"], "{arguments:?}");
}

fn files(folder: &Path) -> Vec<String> {
    let names = std::fs::read_dir(folder).unwrap();
    names.map(|f| f.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn pins_beyond_what_stitches_give() {
    refused(&["block", "--allow", "60"], &["60 %", "stitches lock at 40 %", "expected less"]);
    refused(&["block", "--to", "90x20cm"], &["90.0 cm along the rows", "stitches lock at 40 %"]);
    refused(&["block", "--allow", "nan"], &["no finite number"]);
    refused(&["block", "--pins", "0cm"], &["not above zero"]);
    refused(&["block", "--set", "1.5"], &["--set 1.5", "0 to 1"]);
}

#[test]
fn what_holds_nothing_or_all_of_it() {
    refused(&["hang", "--by", "disc", "--disc", "9m"], &["holds all of it", "hold less of it"]);
    refused(&["hang", "--by", "disc", "--disc", "1mm"], &["nothing would hold it"]);
    let shoulders = |more: &[&str], said: &[&str]| {
        refused(&[&["hang", "--by", "shoulders"], more].concat(), said);
    };
    shoulders(&["--side", "foundation", "--breadth", "60cm"], &["does not fit", "another side"]);
    shoulders(
        &["--breadth", "5cm"],
        &["breadth over the shoulders is 5.0 cm", "expected 15 to 80"],
    );
    shoulders(&["--slope", "80"], &["slope of the shoulders", "expected 0 to 40"]);
    shoulders(&["--neck", "65cm"], &["does not stand on shoulders", "expected a girth below"]);
    refused(&["hang", "--by", "table-edge", "--over", "0cm"], &["not above zero"]);
    refused(&["hang", "--by", "corners", "--apart", "0"], &["--apart 0", "20 to 100"]);
    refused(&["hang", "--water=-5"], &["--water -5", "0 to 1000"]);
}

#[test]
fn stiffness_that_is_not_positive() {
    for key in ["crochet.membrane.e1", "crochet.membrane.g", "crochet.bending.along"] {
        for value in ["0", "-5"] {
            let preset = format!("{key}={value}");
            refused(&["hang", "--preset", &preset], &[key, value, "expected"]);
        }
        for value in ["nan", "inf"] {
            let preset = format!("{key}={value}");
            refused(&["hang", "--preset", &preset], &["no finite number"]);
        }
    }
}

#[test]
fn stitches_that_are_none() {
    refused(
        &["specimen", "--stitch", "loop-de-loop"],
        &["`loop-de-loop`", "sc, hdc, dc, tr or dtr"],
    );
    refused(&["specimen", "--angle", "400"], &["--angle 400", "-90 to 90"]);
}

/// The first Ctrl-C stops the solver, which says how far it got; nothing is written.
#[cfg(unix)]
#[test]
fn ctrl_c_says_how_far_it_got() {
    use std::process::{Command, Stdio};
    use std::time::Duration;

    let folder = tempfile::tempdir().unwrap();
    let wide =
        PATTERN.replace("Ch 25", "Ch 161").replace("24 sc", "160 sc").replace("2-30", "2-200");
    std::fs::write(folder.path().join("cloth.txt"), wide).unwrap();
    let child = Command::new(assert_cmd::cargo::cargo_bin!("slantwise"))
        .current_dir(folder.path())
        .args(["hang", "cloth.txt", "--by", "corners"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(1500));
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    let ran = child.wait_with_output().unwrap();
    let err = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(ran.status.code(), Some(2), "{err}");
    assert!(err.contains("interrupted after") && err.contains("steps"), "{err}");
    assert!(ran.stdout.is_empty());
    assert_eq!(files(folder.path()), ["cloth.txt"]);
}

const DISC: &str = "Ch 4, join to form a ring.\nRnd 1: Ch 1, 6 sc in ring, join. (6)\n\
                    Rnd 2: Ch 1, 2 sc in each st around, join. (12)\n";

const TUBE: &str = "Ch 20, join with sl st to form a ring.\nRnd 1: Ch 1, sc in each ch around, join. (20 sc)\n\
                    Rnds 2-5: Ch 1, sc in each st around, join. (20 sc)\n";

/// A tube has no edge to pin out and is not hung; a round edge takes no wires, no two allowances, no side by name
/// and no shoulders; rows take two sizes.
#[test]
fn rounds_are_asked_for_what_rounds_can_do() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (name, page) in [("disc", DISC), ("tube", TUBE), ("rows", PATTERN)] {
        std::fs::write(at(name), page).unwrap();
    }
    for (command, name, more, words) in [
        (
            "block",
            "tube",
            &[][..],
            &["closed", "two layers", "expected rounds worked from a ring"][..],
        ),
        ("hang", "tube", &[], &["closed", "two layers", "expected rounds worked from a ring"]),
        ("block", "disc", &["--wires"], &["a wire runs straight", "--pins 4cm"]),
        ("block", "disc", &["--allow", "5,3"], &["5 % along the rounds", "--allow 5"]),
        ("block", "disc", &["--to", "4x5cm"], &["has one size", "expected e.g. --to 4.0cm"]),
        ("block", "disc", &["--allow", "60"], &["60 %", "stitches lock at", "expected less"]),
        ("hang", "disc", &["--side", "left"], &["--side", "leave it out"]),
        ("hang", "disc", &["--by", "shoulders"], &["worn folded", "expected --by rail"]),
        ("block", "rows", &["--to", "20cm"], &["this one has rows", "--to 32x200cm"]),
    ] {
        let ran = assert_cmd::Command::cargo_bin("slantwise")
            .unwrap()
            .args([command, &at(name), "--out", &at("out")])
            .args(more)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(2), "{command} {name} {more:?}: {said}");
        for word in words {
            assert!(said.contains(word), "{command} {name} {more:?} says {said}, not {word}");
        }
        assert!(!Path::new(&at("out")).exists(), "{command} {name} {more:?} wrote something");
    }
}

#[test]
fn ovals_are_read_and_not_laid() {
    let folder = tempfile::tempdir().unwrap();
    let page = "Gauge: 12 sc and 12 rows = 4 in\nCh 20.\nRnd 1: Sc in 2nd ch from hook and each ch across to last, \
                3 sc in last ch, working along other side of chain sc in next 17, 2 sc in last, join. (40 sc)\n";
    std::fs::write(folder.path().join("oval.txt"), page).unwrap();
    let run = |command: &str| {
        let mut slantwise = Command::cargo_bin("slantwise").unwrap();
        slantwise.current_dir(folder.path()).args([command, "oval.txt"]).output().unwrap()
    };
    assert_eq!(run("check").status.code(), Some(0));
    for command in ["lay", "block", "hang"] {
        let ran = run(command);
        let err = String::from_utf8(ran.stderr).unwrap();
        assert_eq!(ran.status.code(), Some(2), "{command}: {err}");
        assert!(err.contains("round 1 goes along its foundation chain"), "{command}: {err}");
    }
    assert_eq!(files(folder.path()), ["oval.txt"]);
}
