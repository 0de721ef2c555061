//! Runs the fixtures of this folder: each is a pattern with its expectations at its end, on lines that
//! begin with `# expect`:
//!
//! * `row 3 = 42`: the row called 3 makes 42 stitches (`Border/2 = 42` in a section);
//! * `row 3 starts counts 3`, `starts beside 1`, `starts plain`: its turning chain;
//! * `row 3 side WS`, `row 3 colour B`, `row 3 finish`;
//! * `row 3 yarns A 36, B 36`: its stitches by colour, in the order they are taken up;
//! * `rows = 31`: rows worked, the foundation among them;
//! * `craft knit`, `terms UK`, `gauge 16 20`, `planned 300 1500` (mm square to and along the edges);
//! * `error[code] 12:8-17 Row 4`: a fault on line 12, columns 8 to 17 (`warning`, `note` likewise);
//! * `text ...`: message, expected, found and fit of the fault named just before, parted by ` | `.
//!
//! A fault or doubt that no line expects fails the fixture.

mod written;

use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::pattern::{self, CraftWord, Pattern, Terms};
use slantwise::source::Source;
use slantwise::stitches::{self, Piece, PieceRow, RowStart, Side};
use std::fs;
use std::path::{Path, PathBuf};

struct Run {
    source: Source,
    pattern: Pattern,
    piece: Piece,
    diagnostics: Vec<Diagnostic>,
}

fn run(name: &str, text: &str) -> Run {
    let source = Source::new(name, text);
    let (pattern, mut diagnostics) = pattern::parse(&source);
    let (piece, more) = stitches::work(&pattern);
    diagnostics.extend(more);
    Run { source, pattern, piece, diagnostics }
}

fn fixtures() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/patterns");
    let mut files: Vec<PathBuf> = Vec::new();
    let mut folders = vec![folder];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("fixtures folder").flatten() {
            let path = entry.path();
            if path.file_name().is_some_and(|n| n == "whole") {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "txt") {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

fn split(text: &str) -> (&str, Vec<&str>) {
    let at = text.find("\n# expect").map_or(text.len(), |n| n + 1);
    let expectations = text[at..].lines().filter_map(|l| l.strip_prefix("# expect ")).collect();
    (&text[..at], expectations)
}

fn find<'a>(run: &'a Run, name: &str) -> Result<&'a PieceRow, String> {
    let (section, label) = name.rsplit_once('/').map_or((None, name), |(s, l)| (Some(s), l));
    let mut rows = run.piece.rows.iter().filter(|r| r.label == label);
    rows.rfind(|r| section.is_none_or(|s| run.piece.sections[usize::from(r.section)] == s))
        .ok_or_else(|| format!("no row `{name}`"))
}

fn expect_row(run: &Run, words: &str) -> Result<(), String> {
    let split = [" = ", " starts ", " side ", " colour ", " yarns ", " finish"]
        .iter()
        .find_map(|m| words.split_once(m).map(|(name, value)| (name, m.trim(), value)));
    let (name, what, value) = split.ok_or(format!("cannot read `{words}`"))?;
    let row = find(run, name)?;
    let found = match what {
        "=" => row.made.to_string(),
        "starts" => match row.start {
            RowStart::Plain => "plain".into(),
            RowStart::ChainCounts(n) => format!("counts {n}"),
            RowStart::ChainBeside(n) => format!("beside {n}"),
        },
        "side" => {
            if row.side == Side::Right {
                "RS".into()
            } else {
                "WS".into()
            }
        }
        "colour" => run.piece.colours[usize::from(row.colour)].clone(),
        "yarns" => yarns(&run.piece, row),
        _ => {
            if row.finish {
                String::new()
            } else {
                "no finish".into()
            }
        }
    };
    if found == value { Ok(()) } else { Err(format!("row {words}: found {found}")) }
}

/// Stitches of a row by colour.
fn yarns(piece: &Piece, row: &PieceRow) -> String {
    let mut all: Vec<(u16, u32)> = Vec::new();
    for (_, stitch) in piece.row_stitches(row) {
        match all.iter_mut().find(|(colour, _)| *colour == stitch.colour) {
            Some((_, n)) => *n += 1,
            None => all.push((stitch.colour, 1)),
        }
    }
    let name = |colour: u16| &piece.colours[usize::from(colour)];
    let each: Vec<String> = all.iter().map(|&(c, n)| format!("{} {n}", name(c))).collect();
    each.join(", ")
}

fn shown(run: &Run, d: &Diagnostic) -> String {
    let severity = match d.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    };
    let (line, from) = run.source.line_column(d.primary.span.start);
    let to = from + run.source.slice(d.primary.span).chars().count();
    format!("{severity}[{}] {line}:{from}-{to} {}", d.code, d.row)
}

fn expect(
    run: &Run,
    line: &str,
    last: &mut Option<String>,
    seen: &mut Vec<String>,
) -> Result<(), String> {
    let header = &run.pattern.header;
    if let Some(words) = line.strip_prefix("row ") {
        return expect_row(run, words);
    }
    let same = |what: &str, found: String| {
        let wanted = line.split_once(' ').map_or("", |(_, v)| v).trim_start_matches("= ");
        if found == wanted {
            Ok(())
        } else {
            Err(format!("{what}: expected {wanted}, found {found}"))
        }
    };
    match line.split(' ').next().unwrap_or("") {
        "rows" => same("rows", run.piece.rows.len().to_string()),
        "craft" => same(
            "craft",
            if header.craft.value == CraftWord::Knit { "knit" } else { "crochet" }.into(),
        ),
        "terms" => same("terms", if header.terms.value == Terms::Uk { "UK" } else { "US" }.into()),
        "gauge" => {
            let g = header.gauges.first().ok_or("no gauge")?;
            let count = |n: Option<f64>| n.map_or("-".into(), |n| n.to_string());
            same(
                "gauge",
                format!(
                    "{} {} {:.0} {}",
                    count(g.stitches),
                    count(g.rows),
                    g.stitches_over.to_mm(),
                    g.within
                ),
            )
        }
        "planned" => {
            let mm = |l: &Option<pattern::Stated<slantwise::units::Length>>| {
                l.as_ref().map_or("-".into(), |l| format!("{:.0}", l.value.to_mm()))
            };
            same(
                "planned",
                format!(
                    "{} {}",
                    mm(&header.planned.square_to_edge),
                    mm(&header.planned.along_edge)
                ),
            )
        }
        "text" => {
            let key = last.clone().ok_or("no fault before this text")?;
            let d = run.diagnostics.iter().find(|d| shown(run, d) == key).ok_or("no such fault")?;
            same("text", format!("{} | {} | {} | {}", d.message, d.expected, d.found, d.fit))
        }
        _ => {
            *last = Some(line.to_owned());
            seen.push(line.to_owned());
            let all: Vec<String> = run.diagnostics.iter().map(|d| shown(run, d)).collect();
            if all.iter().any(|s| s == line) {
                Ok(())
            } else {
                Err(format!("expected {line}\n      found {all:#?}"))
            }
        }
    }
}

fn check(path: &Path) -> Vec<String> {
    let text = fs::read_to_string(path).expect("fixture");
    let (words, expectations) = split(&text);
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let run = run(&name, words);
    let (mut last, mut seen, mut wrong) = (None, Vec::new(), Vec::new());
    if expectations.is_empty() {
        wrong.push("expects nothing".to_owned());
    }
    for line in expectations {
        wrong.extend(expect(&run, line, &mut last, &mut seen).err());
    }
    for d in run.diagnostics.iter().filter(|d| d.severity > Severity::Note) {
        let shown = shown(&run, d);
        if !seen.contains(&shown) {
            wrong.push(format!(
                "not expected: {shown} {} | {} | {} | {}",
                d.message, d.expected, d.found, d.fit
            ));
        }
    }
    wrong.into_iter().map(|w| format!("{name}: {w}")).collect()
}

#[test]
fn every_fixture_holds() {
    let files = fixtures();
    assert!(files.len() >= 40, "only {} fixtures found", files.len());
    let wrong: Vec<String> = files.iter().flat_map(|p| check(p)).collect();
    assert!(wrong.is_empty(), "{} of the expectations fail:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_message_is_whole() {
    for path in fixtures() {
        let text = fs::read_to_string(&path).expect("fixture");
        let run = run("fixture", split(&text).0);
        for d in &run.diagnostics {
            let parts = [&d.message, &d.expected, &d.found, &d.fit, &d.row];
            assert!(parts.iter().all(|p| !p.trim().is_empty()), "{}: {d:?}", path.display());
            assert!(
                d.primary.span.start < d.primary.span.end,
                "{}: no words: {d:?}",
                path.display()
            );
            assert!(!run.source.slice(d.primary.span).is_empty(), "{}: {d:?}", path.display());
        }
    }
}

#[test]
fn every_code_has_a_fixture_with_its_text() {
    let mut shown_codes: Vec<String> = Vec::new();
    for path in fixtures() {
        let text = fs::read_to_string(&path).expect("fixture");
        let lines: Vec<&str> = split(&text).1;
        for pair in lines.windows(2).filter(|w| w[1].starts_with("text ")) {
            let code = pair[0].split(['[', ']']).nth(1).unwrap_or("");
            shown_codes.push(code.to_owned());
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut missing = Vec::new();
    for module in ["pattern", "stitches"] {
        for entry in fs::read_dir(root.join(module)).expect("sources").flatten() {
            let code = fs::read_to_string(entry.path()).expect("source");
            missing.extend(codes(&code).into_iter().filter(|c| !shown_codes.contains(c)));
        }
    }
    missing.retain(|code| code != "text-too-long");
    missing.sort();
    missing.dedup();
    assert!(missing.is_empty(), "codes without a fixture that shows their text: {missing:?}");
}

/// Codes named in the sources: the first string after a call that makes a diagnostic.
fn codes(source: &str) -> Vec<String> {
    let mut found = Vec::new();
    for call in ["fault(", ".say(", "self.add(", "faults.add(", ".note(body,", "self.note("] {
        for (at, _) in source.match_indices(call) {
            let rest = &source[at..source.len().min(at + 160)];
            let code = rest.split('"').nth(1).unwrap_or("");
            let kebab =
                !code.is_empty() && code.bytes().all(|b| b.is_ascii_lowercase() || b == b'-');
            let before = rest.split('"').next().unwrap_or("");
            if kebab && code.contains('-') && !before.contains(';') && !before.contains('}') {
                found.push(code.to_owned());
            }
        }
    }
    found
}

#[test]
fn a_text_too_long_is_refused() {
    let run = run("long", &"sc in next st, ".repeat(pattern::LONGEST / 15 + 1));
    let [only] = run.diagnostics.as_slice() else { panic!("{:?}", run.diagnostics) };
    assert_eq!(only.code, "text-too-long");
    assert_eq!(only.message, "the text is too long to be a pattern");
    assert!(run.piece.rows.is_empty());
}
