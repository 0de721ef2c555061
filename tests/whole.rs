//! Whole pages as designers write them, good and faulty, from the words to the piece laid flat.
//!
//! Each file of `tests/patterns/whole` begins with comment lines: what the page is, then what it must
//! give. `// Row 12: 45` is the count of a row, `// no errors` and `// fault at Row 5` say what the
//! checker finds. `// not yet: why` marks a page that misses some of it today; such a page must miss
//! something, so that the mark goes when the reading comes. The comment lines are blanked before the page
//! is read.

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::instructions;
use slantwise::pattern;
use slantwise::pattern::{Header, Pattern, Terms};
use slantwise::predict;
use slantwise::source::Source;
use slantwise::stitches;
use slantwise::stitches::Piece;

/// A page and what it must give.
struct Page {
    name: String,
    source: Source,
    expected: Vec<String>,
}

fn pages() -> Vec<Page> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/patterns/whole");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    files.iter().filter(|f| f.extension().is_some_and(|e| e == "txt")).map(|f| page(f)).collect()
}

fn page(file: &Path) -> Page {
    let name = file.file_name().unwrap().to_string_lossy().into_owned();
    let text = fs::read_to_string(file).unwrap();
    let expected =
        text.lines().filter_map(|l| l.strip_prefix("//")).map(|l| l.trim().to_owned()).collect();
    let page: String = text
        .lines()
        .map(|l| if l.starts_with("//") { "\n".to_owned() } else { format!("{l}\n") })
        .collect();
    Page { source: Source::new(&name, page), name, expected }
}

fn read(page: &Page) -> (Pattern, Piece, Vec<Diagnostic>) {
    let (pattern, mut said) = pattern::parse(&page.source);
    let (piece, faults) = stitches::work(&pattern);
    said.extend(faults);
    (pattern, piece, said)
}

/// What of the page's expectations is not met.
fn misses(page: &Page) -> Vec<String> {
    let (_, piece, said) = read(page);
    let errors: Vec<&Diagnostic> = said.iter().filter(|d| d.severity == Severity::Error).collect();
    let mut misses = Vec::new();
    for line in &page.expected {
        if line == "no errors" {
            misses.extend(errors.iter().map(|d| format!("{}: {} [{}]", d.row, d.message, d.code)));
        } else if let Some(place) = line.strip_prefix("fault at ") {
            misses.extend(fault_missing(place, &said));
        } else if let Some((row, count)) = row_count(line) {
            let made: Vec<u32> =
                piece.rows.iter().filter(|r| r.label == row).map(|r| r.made).collect();
            if !made.contains(&count) {
                misses.push(format!("{line}: found {made:?}"));
            }
        }
    }
    misses
}

/// "Row 12: 45", "3rd row: 56".
fn row_count(line: &str) -> Option<(String, u32)> {
    let (row, count) = line.split_once(':')?;
    let number: String = row.chars().filter(char::is_ascii_digit).collect();
    let count = count.trim().parse().ok()?;
    (!number.is_empty()).then_some((number, count))
}

/// A fault of the page is an error or a doubt that names the row, by the first number in its place.
fn fault_missing(place: &str, said: &[Diagnostic]) -> Option<String> {
    let number = |text: &str| -> String {
        text.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect()
    };
    let wanted = number(place);
    let found = said.iter().filter(|d| d.severity > Severity::Note).any(|d| {
        let whole = !d.row.contains(|c: char| c.is_ascii_digit());
        let here = number(&d.row) == wanted;
        here || (wanted.is_empty() && (whole || !d.fit.is_empty()))
    });
    let all: Vec<String> =
        said.iter().map(|d| format!("{}: {} [{}]", d.row, d.message, d.code)).collect();
    (!found).then(|| format!("no fault at {place}; said: {}", all.join("; ")))
}

#[test]
fn pages_are_there_in_number() {
    let pages = pages();
    let faulty = pages.iter().filter(|p| p.expected.iter().any(|l| l.starts_with("fault"))).count();
    assert!(pages.len() >= 25 && faulty >= 15, "{} pages, {faulty} of them faulty", pages.len());
    assert!(pages.iter().all(|p| p.expected.len() > 1), "a page expects nothing");
}

#[test]
fn pages_give_the_counts_and_faults_they_must() {
    let mut missed = String::new();
    for page in pages() {
        let not_yet = page.expected.iter().any(|l| l.starts_with("not yet:"));
        let misses = misses(&page);
        if not_yet {
            if misses.is_empty() {
                missed += &format!("{}: is read now, take the `not yet` away\n", page.name);
            }
            continue;
        }
        for miss in misses {
            missed += &format!("{}: {miss}\n", page.name);
        }
    }
    assert!(missed.is_empty(), "\n{missed}");
}

#[test]
fn pages_are_laid_or_refused_in_words() {
    for page in pages() {
        let options = predict::Options::default();
        let done = predict::lay(&page.source, &options, &mut |_| ControlFlow::Continue(()));
        if let Err(refused) = done {
            let words = refused.failure.to_string();
            assert!(words.len() > 10, "{}: refused with `{words}`", page.name);
        }
    }
}

#[test]
fn pages_written_out_read_back_as_the_same_stitches() {
    let mut missed = String::new();
    for page in pages() {
        let (pattern, piece, said) = read(&page);
        // What could not be worked cannot be written; it is written as far as it goes.
        let not_yet = page.expected.iter().any(|l| l.starts_with("not yet:"));
        let faulty = not_yet || said.iter().any(|d| d.severity == Severity::Error);
        for terms in [Terms::Us, Terms::Uk] {
            let written = instructions::write(&piece, &pattern.header, Some(&page.source), terms);
            let rows: Vec<&str> =
                written.differing.iter().map(|r| piece.rows[r.0 as usize].label.as_str()).collect();
            if !rows.is_empty() && !faulty {
                missed += &format!("{} {terms:?}: rows {rows:?}\n{}\n", page.name, written.text);
            }
        }
    }
    assert!(missed.is_empty(), "\n{missed}");
}

fn examples() -> Vec<Page> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    files.iter().filter(|f| f.extension().is_some_and(|e| e == "txt")).map(|f| page(f)).collect()
}

#[test]
fn examples_written_out_read_back_as_the_same_stitches() {
    for page in examples() {
        let (pattern, piece, said) = read(&page);
        if said.iter().any(|d| d.severity == Severity::Error) {
            continue;
        }
        for terms in [Terms::Us, Terms::Uk] {
            let written = instructions::write(&piece, &pattern.header, Some(&page.source), terms);
            assert!(written.differing.is_empty(), "{} {terms:?}\n{}", page.name, written.text);
        }
    }
}

/// Facts of the header as numbers and words, places in the text aside.
fn facts(header: &Header) -> String {
    let gauges: Vec<String> = header
        .gauges
        .iter()
        .map(|g| {
            let over = [g.stitches_over, g.rows_over].map(|l| format!("{:.2}", l.to_mm()));
            format!("{:?} {:?} {over:?} {:?}", g.stitches, g.rows, g.state)
        })
        .collect();
    let p = &header.planned;
    let planned = [&p.along_row, &p.square_to_edge, &p.along_edge]
        .map(|l| l.as_ref().map(|l| format!("{:.2}", l.value.to_mm())));
    let yarns: Vec<String> = header
        .yarns
        .iter()
        .map(|y| {
            let ball = [
                y.ball_length.map(|l| format!("{:.1}", l.to_m())),
                y.ball_mass.map(|m| format!("{:.2}", m.to_grams())),
            ];
            format!(
                "{} {:?} {:?} {ball:?} {:?} {:?}",
                y.name, y.colour, y.fibre, y.balls, y.display
            )
        })
        .collect();
    let title = header.title.as_ref().map(|t| t.value.clone());
    let tool = header.tool.as_ref().map(|t| t.value);
    let slant = p.slant.as_ref().map(|s| s.value);
    format!(
        "{title:?} {:?} {gauges:?} {planned:?} {slant:?} {yarns:?} {tool:?} {:?}",
        header.craft.value, header.maker
    )
}

#[test]
fn facts_of_the_header_are_kept() {
    for page in examples().into_iter().chain(pages()) {
        let (pattern, piece, _) = read(&page);
        let terms = pattern.header.terms.value;
        let written = instructions::write(&piece, &pattern.header, Some(&page.source), terms);
        let (mut again, _) = pattern::parse(&Source::new("written", written.text.as_str()));
        // Yarns that only the rows name are listed after the page's own.
        again.header.yarns.truncate(pattern.header.yarns.len());
        assert_eq!(facts(&again.header), facts(&pattern.header), "{}\n{}", page.name, written.text);
    }
}

#[test]
fn uk_terms_name_every_stitch_anew() {
    let page = examples().into_iter().find(|p| p.name == "bias-wrap.txt").unwrap();
    let (pattern, piece, _) = read(&page);
    let uk = instructions::write(&piece, &pattern.header, Some(&page.source), Terms::Uk).text;
    assert!(uk.contains("terms = \"UK\"") && uk.contains("in = \"tr\""), "{uk}");
    assert!(uk.contains("2 dc in first st") && uk.contains("(70 dtr)"), "{uk}");
    assert!(uk.contains("miss next st") && !uk.contains("skip") && !uk.contains(" sc"), "{uk}");
    assert!(uk.contains("Rep Rows 1-12, 24 times more."), "{uk}");
}
