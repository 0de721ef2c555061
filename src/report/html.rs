//! The report as one page of HTML: no network, no script, prints on A4 and Letter.

use std::fmt::Write as _;

use super::sheet::escape;
use super::table;
use super::words;
use crate::diagnostic::Severity;
use crate::predict::Assumption;
use crate::predict::Prediction;

/// Read by screens and by paper; figures and tables stay whole on a printed page.
const STYLE: &str = "\
:root{color-scheme:light}\
body{font:16px/1.5 'DejaVu Sans',Verdana,sans-serif;color:#1e262e;background:#fff;\
max-width:1100px;margin:0 auto;padding:24px}\
h1{font-size:1.7em;margin:.2em 0 .6em}\
h2{font-size:1.15em;margin:2em 0 .5em;border-bottom:2px solid #083e50;padding-bottom:.2em}\
.answers p{font-size:1.1em;margin:.35em 0}\
.quiet{color:#5c6670}\
.wide{overflow-x:auto}\
table{border-collapse:collapse;font-variant-numeric:tabular-nums}\
th,td{padding:.25em .9em .25em 0;text-align:left;vertical-align:top}\
th{border-bottom:2px solid #5c6670}\
td{border-bottom:1px solid #dde1e5}\
.number{text-align:right;white-space:nowrap}\
figure{margin:1.2em 0;break-inside:avoid}\
figure svg{display:block;width:100%;height:auto;max-height:95vh}\
summary{cursor:pointer;color:#083e50}\
summary:focus-visible{outline:3px solid #d88c32}\
.caution{border-left:6px solid #9e3e2c;padding:.1em 0 .1em 1em}\
@page{margin:15mm}\
@media print{body{max-width:none;padding:0;font-size:10.5pt}h2{break-after:avoid}\
tr,.caution{break-inside:avoid}thead{display:table-header-group}}";

/// The answers, the table, the pictures, yarn, what the numbers rest on, faults, cautions, rows.
pub fn html(prediction: &Prediction) -> String {
    let mut page = String::new();
    let title = escape(&prediction.title);
    let _ = write!(
        page,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}: how it will lie</title>\n<style>{STYLE}</style>\n</head>\n<body>\n\
         <main>\n<h1>{title}: how it will lie</h1>\n<section class=\"answers\" aria-label=\"Answers\">\n"
    );
    for sentence in words::headline(prediction) {
        let _ = writeln!(page, "<p>{}</p>", escape(&sentence));
    }
    page.push_str("</section>\n");
    comparison(&mut page, prediction);
    cautions(&mut page, prediction);
    pictures(&mut page, prediction);
    basis(&mut page, prediction);
    faults(&mut page, prediction);
    rows(&mut page, prediction);
    let _ = writeln!(page, "<p class=\"quiet\">{}</p>", escape(&words::solver(prediction)));
    page.push_str("</main>\n</body>\n</html>\n");
    page
}

fn comparison(page: &mut String, prediction: &Prediction) {
    page.push_str("<h2>Planned and predicted</h2>\n");
    // Without an estimate there is no column for it.
    let columns = if prediction.sure.is_some() { 5 } else { 4 };
    let cells = |row: table::Row| {
        let all = [row.what, row.planned, row.predicted, row.difference, row.sure];
        all.into_iter().take(columns).collect::<Vec<_>>()
    };
    let head = cells(table::Row::head());
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    table_of(page, &head, table::rows(prediction).into_iter().map(cells), 1);
    let _ = writeln!(page, "<p class=\"quiet\">{}</p>", escape(words::YARN_NOTE));
    for (name, edge) in ["left", "right"].iter().zip(&prediction.measured.edges) {
        let lines: Vec<String> =
            edge.benders.iter().take(5).map(|b| words::bender(b, prediction.units)).collect();
        if !lines.is_empty() {
            let _ = writeln!(page, "<h2>Rows that bend the {name} edge most</h2>");
            list(page, &lines);
        }
    }
}

fn cautions(page: &mut String, prediction: &Prediction) {
    if prediction.cautions.is_empty() {
        return;
    }
    page.push_str("<h2>Cautions</h2>\n<div class=\"caution\">\n");
    for caution in &prediction.cautions {
        let _ = writeln!(page, "<p>{}</p>", escape(caution));
    }
    page.push_str("</div>\n");
}

fn pictures(page: &mut String, prediction: &Prediction) {
    page.push_str("<h2>Pictures</h2>\n");
    for picture in super::pictures(prediction) {
        let _ = writeln!(page, "<figure id=\"{}\">\n{}</figure>", picture.name, picture.svg);
    }
}

fn basis(page: &mut String, prediction: &Prediction) {
    let _ = writeln!(
        page,
        "<h2>What the numbers rest on</h2>\n<p>Sizes are as {}. Replace what you have measured; nothing \
         here replaces your own swatch.</p>",
        escape(&prediction.gauge_state)
    );
    let line = |a: &Assumption| {
        let kind = if a.assumed { "assumed" } else { "stated" };
        vec![a.what.clone(), a.value.clone(), kind.to_owned(), a.source.clone()]
    };
    let lines = prediction.assumptions.iter().map(line);
    table_of(page, &["what", "value", "", "source"], lines, usize::MAX);
}

fn faults(page: &mut String, prediction: &Prediction) {
    let serious: Vec<String> = prediction
        .diagnostics
        .iter()
        .filter(|d| d.severity > Severity::Note)
        .map(|d| {
            let kind = if d.severity == Severity::Error { "fault" } else { "doubt" };
            format!("{}: {kind}: {}; {}", d.row, d.message, d.fit)
        })
        .collect();
    if !serious.is_empty() {
        page.push_str("<h2>Faults found in the pattern</h2>\n");
        list(page, &serious);
    }
}

fn rows(page: &mut String, prediction: &Prediction) {
    let units = prediction.units;
    let count = prediction.measured.rows.len();
    let _ = writeln!(page, "<h2>Row by row</h2>\n<details>\n<summary>{count} rows</summary>");
    let lines = prediction.measured.rows.iter().map(|row| {
        let [left, right] = row.slant.map(words::degrees);
        let [up_left, up_right] = row.cumulative.map(words::degrees);
        let (width, height) = (units.length(row.width), units.length(row.height));
        vec![row.label.clone(), width, height, left, right, up_left, up_right]
    });
    let head =
        ["row", "width", "height", "slant, left", "right", "from the foundation, left", "right"];
    table_of(page, &head, lines, 1);
    page.push_str("</details>\n");
}

/// A table whose cells from column `numbers` on are set as numbers.
fn table_of(
    page: &mut String,
    head: &[&str],
    lines: impl Iterator<Item = Vec<String>>,
    numbers: usize,
) {
    let class = |column: usize| if column >= numbers { " class=\"number\"" } else { "" };
    page.push_str("<div class=\"wide\"><table>\n<thead><tr>");
    for (column, cell) in head.iter().enumerate() {
        let _ = write!(page, "<th scope=\"col\"{}>{}</th>", class(column), escape(cell));
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for line in lines {
        page.push_str("<tr>");
        for (column, cell) in line.iter().enumerate() {
            let _ = write!(page, "<td{}>{}</td>", class(column), escape(cell));
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody>\n</table></div>\n");
}

fn list(page: &mut String, lines: &[String]) {
    page.push_str("<ul>\n");
    for line in lines {
        let _ = writeln!(page, "<li>{}</li>", escape(line));
    }
    page.push_str("</ul>\n");
}
