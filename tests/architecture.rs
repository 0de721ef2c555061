//! Holds the dependency arrows between the modules: each stage sees only the stages before it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Module, and the modules of ours it may use.
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("source", &[]),
    ("diagnostic", &["source"]),
    ("pattern", &["source", "diagnostic", "units"]),
    ("stitches", &["pattern", "source", "diagnostic", "units"]),
    ("instructions", &["stitches", "pattern", "source", "diagnostic", "units"]),
    ("material", &["units", "stitches"]),
    ("mechanics", &[]),
    ("fabric", &["stitches", "material", "mechanics", "units"]),
    ("state", &["fabric", "material", "mechanics", "stitches", "units"]),
    ("measure", &["state", "fabric", "material", "stitches", "units"]),
    (
        "predict",
        &[
            "measure",
            "state",
            "fabric",
            "material",
            "stitches",
            "pattern",
            "diagnostic",
            "source",
            "units",
        ],
    ),
    (
        "study",
        &[
            "predict",
            "measure",
            "state",
            "fabric",
            "mechanics",
            "material",
            "stitches",
            "pattern",
            "diagnostic",
            "source",
            "units",
        ],
    ),
    ("calibrate", &["predict", "measure", "material", "pattern", "stitches", "source", "units"]),
    ("report", &["calibrate", "study", "predict", "measure", "diagnostic", "source", "units"]),
    ("cli", &["cli"]),
];

/// What `material` may see of the stitches: their kinds, not the graph.
const KINDS: &[&str] = &["StitchKind", "Post", "Craft", "LoopTaken"];

fn rust_files(at: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(at).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            rust_files(&path, files);
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
}

/// Source files of a module, a file or a folder.
fn module_files(src: &Path, module: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let folder = src.join(module);
    if folder.is_dir() {
        rust_files(&folder, &mut files);
    }
    let file = src.join(format!("{module}.rs"));
    if file.is_file() {
        files.push(file);
    }
    files.sort();
    files
}

/// Names that follow `prefix` in `text`, outside comments.
fn names_after<'a>(text: &'a str, prefix: &'a str) -> impl Iterator<Item = &'a str> {
    text.lines().filter(|l| !l.trim_start().starts_with("//")).flat_map(move |line| {
        line.match_indices(prefix).map(move |(at, _)| {
            let rest = &line[at + prefix.len()..];
            let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
            &rest[..end]
        })
    })
}

#[test]
fn modules_use_only_the_stages_before_them() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let arrows: BTreeMap<&str, &[&str]> = ARROWS.iter().copied().collect();
    let mut faults = Vec::new();
    for (module, allowed) in &arrows {
        let files = module_files(&src, module);
        assert!(!files.is_empty(), "there is no module `{module}`");
        for file in files {
            let text = fs::read_to_string(&file).unwrap();
            let place = file.strip_prefix(&src).unwrap().display().to_string();
            for used in names_after(&text, "crate::") {
                let own = used == *module || !arrows.contains_key(used);
                if !own && !allowed.contains(&used) {
                    faults.push(format!("{place}: `{module}` may not use `{used}`"));
                }
            }
            if text.contains("super::super::") {
                faults.push(format!("{place}: climbs out with `super::super::`"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn material_sees_the_kinds_of_stitch_only() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for file in module_files(&src, "material") {
        let text = fs::read_to_string(&file).unwrap();
        for name in names_after(&text, "crate::stitches::") {
            assert!(KINDS.contains(&name), "{}: `{name}`", file.display());
        }
    }
}

#[test]
fn every_module_has_its_arrows() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for entry in fs::read_dir(src).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        let known = ["lib", "main"].contains(&name.as_str())
            || ARROWS.iter().any(|(module, _)| *module == name);
        assert!(known, "`{name}` is in no arrow: say in tests/architecture.rs what it may use");
    }
}

/// Files, clocks, environment and network belong to the command line.
#[test]
fn the_library_touches_no_file_clock_or_environment() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for (module, _) in ARROWS.iter().filter(|(m, _)| *m != "cli") {
        for file in module_files(&src, module) {
            let text = fs::read_to_string(&file).unwrap();
            for banned in ["std::fs", "std::env", "std::net", "std::time", "std::process"] {
                assert!(!text.contains(banned), "{}: uses `{banned}`", file.display());
            }
        }
    }
}
