//! `slantwise check`: works every row and says what is wrong.

use std::fmt::Write;

use serde::Serialize;
use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::pattern;
use slantwise::predict;
use slantwise::source::Source;
use slantwise::stitches::{Piece, PieceRow, Side};

use super::args::{CheckOptions, Format};
use super::files::{self, CannotRun};
use super::{Exit, print, show};

/// Version of the JSON's shape; raised when a field changes or goes.
const SCHEMA: u32 = 1;

#[derive(Serialize)]
struct Report<'a> {
    schema: u32,
    faults: Vec<Fault<'a>>,
    rows: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Fault<'a> {
    code: &'a str,
    severity: &'a str,
    message: &'a str,
    start: u32,
    end: u32,
    section: Option<&'a str>,
    row: &'a str,
    expected: &'a str,
    found: &'a str,
    fit: &'a str,
}

#[derive(Serialize)]
struct Row<'a> {
    section: &'a str,
    row: &'a str,
    side: &'a str,
    worked_from: &'a str,
    stitches: u32,
    consumed: u32,
    made: u32,
    unworked: u32,
    count_as_written: Option<u32>,
    colour: &'a str,
}

/// Runs the command.
pub(super) fn check(options: &CheckOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    let (pattern, mut diagnostics) = pattern::parse(&source);
    let (piece, faults) = predict::work(&pattern);
    diagnostics.extend(faults);
    if options.csv {
        print(&csv(&piece))?;
        return Ok(exit(&diagnostics));
    }
    match options.format {
        Format::Json => print(&json(&diagnostics, &piece)?)?,
        Format::Human => print(&human(&source, &diagnostics, &piece, options.rows))?,
        Format::Short => {
            let mut text: String = diagnostics.iter().map(|d| show::short(&source, d)).collect();
            if options.rows {
                text.push_str(&table(&piece));
            }
            print(&text)?;
        }
    }
    Ok(exit(&diagnostics))
}

/// Faults make exit code 1; doubts and notes do not.
pub(super) fn exit(diagnostics: &[Diagnostic]) -> Exit {
    if diagnostics.iter().any(|d| d.severity == Severity::Error) {
        Exit::Faults
    } else {
        Exit::Fine
    }
}

fn human(source: &Source, diagnostics: &[Diagnostic], piece: &Piece, rows: bool) -> String {
    let mut text: String = diagnostics.iter().map(|d| show::human(source, d)).collect();
    if rows {
        text.push_str(&table(piece));
        text.push('\n');
    }
    text.push_str(&summary(diagnostics, piece));
    text
}

/// "320 rows, 4 rounds and 22 140 stitches worked; 2 faults, 1 doubt". A foundation is no row.
fn summary(diagnostics: &[Diagnostic], piece: &Piece) -> String {
    let count = |s: Severity| diagnostics.iter().filter(|d| d.severity == s).count();
    let plural =
        |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let worked = piece.rows.iter().filter(|r| !r.finish && r.label != "foundation");
    let (rounds, rows): (Vec<_>, Vec<_>) = worked.partition(|r| r.round);
    let worked = match (rows.len(), rounds.len()) {
        (rows, 0) => plural(rows, "row", "rows"),
        (0, rounds) => plural(rounds, "round", "rounds"),
        (rows, rounds) => {
            format!("{}, {}", plural(rows, "row", "rows"), plural(rounds, "round", "rounds"))
        }
    };
    format!(
        "{worked} and {} worked; {}, {}\n",
        plural(piece.stitches.len(), "stitch", "stitches"),
        plural(count(Severity::Error), "fault", "faults"),
        plural(count(Severity::Warning), "doubt", "doubts"),
    )
}

fn row<'a>(piece: &'a Piece, row: &'a PieceRow) -> Row<'a> {
    let named = |list: &'a [String], i: u16| list.get(usize::from(i)).map_or("", String::as_str);
    Row {
        section: named(&piece.sections, row.section),
        row: &row.label,
        side: match row.side {
            Side::Right => "right",
            Side::Wrong => "wrong",
        },
        worked_from: if row.left_to_right { "left" } else { "right" },
        stitches: row.made,
        consumed: row.consumed,
        made: row.made,
        unworked: row.unworked,
        count_as_written: row.count_as_written,
        colour: named(&piece.colours, row.colour),
    }
}

fn json(diagnostics: &[Diagnostic], piece: &Piece) -> Result<String, CannotRun> {
    let faults = diagnostics.iter().map(|d| Fault {
        code: d.code,
        severity: show::severity(d.severity),
        message: &d.message,
        start: d.primary.span.start,
        end: d.primary.span.end,
        section: d.section.as_deref(),
        row: &d.row,
        expected: &d.expected,
        found: &d.found,
        fit: &d.fit,
    });
    let report = Report {
        schema: SCHEMA,
        faults: faults.collect(),
        rows: piece.rows.iter().map(|r| row(piece, r)).collect(),
    };
    let text =
        serde_json::to_string_pretty(&report).map_err(|e| CannotRun::Stage(e.to_string()))?;
    Ok(text + "\n")
}

/// The row table as CSV (RFC 4180: comma, CRLF, quotes doubled).
fn csv(piece: &Piece) -> String {
    let quoted = |text: &str| {
        if text.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.to_owned()
        }
    };
    let mut text = String::from("section,row,side,from,uses,makes,unworked,as_written,colour\r\n");
    for r in &piece.rows {
        let r = row(piece, r);
        let written = r.count_as_written.map_or(String::new(), |n| n.to_string());
        text += &format!(
            "{},{},{},{},{},{},{},{written},{}\r\n",
            quoted(r.section),
            quoted(r.row),
            r.side,
            r.worked_from,
            r.consumed,
            r.made,
            r.unworked,
            quoted(r.colour)
        );
    }
    text
}

/// The row table, aligned.
fn table(piece: &Piece) -> String {
    let mut table = comfy_table::Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    table.set_header([
        "section",
        "row",
        "side",
        "from",
        "uses",
        "makes",
        "unworked",
        "as written",
        "colour",
    ]);
    for r in &piece.rows {
        let r = row(piece, r);
        let written = r.count_as_written.map_or(String::new(), |n| n.to_string());
        let unworked = if r.unworked == 0 { String::new() } else { r.unworked.to_string() };
        table.add_row([
            r.section.to_owned(),
            r.row.to_owned(),
            if r.side == "right" { "RS" } else { "WS" }.to_owned(),
            r.worked_from.to_owned(),
            r.consumed.to_string(),
            r.made.to_string(),
            unworked,
            written,
            r.colour.to_owned(),
        ]);
    }
    let mut text = String::new();
    for line in table.to_string().lines() {
        let _ = writeln!(text, "{}", line.trim_end());
    }
    text
}
