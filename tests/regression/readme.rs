//! The pictures the README shows are those the program draws today.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use super::golden;
use slantwise::predict::{self, Options};
use slantwise::report;
use slantwise::source::Source;

const SHOWN: [&str; 4] = ["outline", "edges", "slant", "strain"];

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

/// `GOLDEN=write cargo test --test regression readme` draws them anew.
#[test]
fn readme_pictures_are_drawn_by_the_program_as_it_is() {
    let folder = examples().join("pictures");
    let page = std::fs::read_to_string(examples().join("bias-wrap.txt")).unwrap();
    let source = Source::new("examples/bias-wrap.txt", page);
    let prediction =
        predict::lay(&source, &Options::default(), &mut |_| ControlFlow::Continue(())).unwrap();
    let mut failures = Vec::new();
    for picture in report::pictures(&prediction) {
        if !SHOWN.contains(&picture.name.as_str()) {
            continue;
        }
        let name = format!("{}.svg", picture.name);
        failures.extend(golden::compare(&folder, &name, &picture.svg).err());
        let png = folder.join(format!("{}.png", picture.name));
        if golden::writing() {
            std::fs::write(&png, report::png(&picture.svg).unwrap()).unwrap();
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Each PNG is the one made from the SVG beside it, and light enough for a page.
#[test]
fn readme_pngs_are_made_from_the_svgs_beside_them() {
    let folder = examples().join("pictures");
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = std::fs::read_to_string(readme).unwrap();
    for name in SHOWN {
        assert!(readme.contains(&format!("examples/pictures/{name}.png")), "{name} is not shown");
        let svg = std::fs::read_to_string(folder.join(format!("{name}.svg"))).unwrap();
        let stored = std::fs::read(folder.join(format!("{name}.png"))).unwrap();
        assert!(report::png(&svg).unwrap() == stored, "{name}.png is not made from {name}.svg");
        assert!(stored.len() <= 60_000, "{name}.png: {} bytes", stored.len());
    }
}
