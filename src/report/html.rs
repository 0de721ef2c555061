//! A report as one page of HTML: nothing is fetched, it prints on A4 and Letter, and without script
//! the pictures say the same.

use std::fmt::Write as _;

use super::document;
use super::document::Document;
use super::document::Part;
use super::document::Table;
use super::ink;
use super::rounds_document;
use super::scene;
use super::scene::Scene;
use super::sheet::escape;
use super::strain;
use super::studies;
use super::studies::Study;
use super::words;
use crate::predict::Blocks;
use crate::predict::ClosedPiece;
use crate::predict::Hanging;
use crate::predict::HungRounds;
use crate::predict::Prediction;
use crate::predict::RoundBlocks;
use crate::units::Length;

const STYLE: &str = include_str!("page/page.css");
const SCRIPT: &str = include_str!("page/view.js");

/// The page may run what stands in it and fetch nothing.
const POLICY: &str =
    "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'";

/// The piece lying flat: answers, planned and predicted, pictures, a view to ask stitch by stitch,
/// yarn, what the numbers rest on, faults, cautions, rows.
pub fn html(prediction: &Prediction) -> String {
    page(&document::laid(prediction), Some(&Scene::laid(prediction)))
}

/// Blocking allowances compared; the view shows the piece washed, pinned and released.
pub fn blocking_html(blocks: &Blocks) -> String {
    page(&document::blocked(blocks), Some(&Scene::blocked(blocks)))
}

/// The piece as it hangs; the view turns it in space.
pub fn hanging_html(hung: &Hanging) -> String {
    page(&document::hung(hung), Some(&Scene::hung(hung)))
}

/// A piece in closed rounds as it lies.
pub fn rounds_html(piece: &ClosedPiece) -> String {
    page(&rounds_document::laid(piece), None)
}

/// Blocking allowances compared, of a piece in closed rounds.
pub fn rounds_blocking_html(blocks: &RoundBlocks) -> String {
    page(&rounds_document::blocked(blocks), None)
}

/// A piece in closed rounds as it hangs.
pub fn rounds_hanging_html(hung: &HungRounds) -> String {
    page(&rounds_document::hung(hung), None)
}

/// A study: answers, table, pictures, what the numbers rest on.
pub fn study_html(study: &Study<'_>) -> String {
    page(&studies::document(study), None)
}

fn page(document: &Document, scene: Option<&Scene<'_>>) -> String {
    let mut page = String::new();
    let title = escape(&document.title);
    let _ = write!(
        page,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
    );
    for part in &document.parts {
        set(&mut page, part, scene);
    }
    page.push_str("</main>\n");
    if let Some(scene) = scene {
        let data = scene::packed(scene);
        let _ = writeln!(
            page,
            "<script type=\"application/json\" id=\"piece-data\">{data}</script>\n<script>\n{SCRIPT}</script>"
        );
    }
    page.push_str("</body>\n</html>\n");
    page
}

fn set(page: &mut String, part: &Part, scene: Option<&Scene<'_>>) {
    let _ = match part {
        Part::Answers(questions) => return answers(page, questions),
        Part::Heading(words) => writeln!(page, "<h2>{}</h2>", escape(words)),
        Part::Text(words) => writeln!(page, "<p>{}</p>", escape(words)),
        Part::Quiet(words) => writeln!(page, "<p class=\"quiet\">{}</p>", escape(words)),
        Part::List(lines) => writeln!(page, "<ul>{}</ul>", each("li", lines)),
        Part::Cautions(lines) => {
            writeln!(page, "<div class=\"caution\">{}</div>", each("p", lines))
        }
        Part::Table(table) => return table_of(page, table),
        Part::Picture(picture) => writeln!(
            page,
            "<figure id=\"{0}\"><div class=\"picture wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture: {0}\">\n{1}</div></figure>",
            picture.name, picture.svg
        ),
        Part::View => return scene.into_iter().for_each(|scene| view(page, scene)),
    };
}

fn each(element: &str, lines: &[String]) -> String {
    lines.iter().map(|line| format!("<{element}>{}</{element}>", kept(line))).collect()
}

/// Escaped, with a number and its unit kept on one line.
fn kept(line: &str) -> String {
    let mut line = escape(line);
    for unit in ["%", "cm", "mm", "m", "in", "g", "N"] {
        for digit in '0'..='9' {
            for end in [" ", ")", ",", ".", ";"] {
                let (broken, whole) =
                    (format!("{digit} {unit}{end}"), format!("{digit}\u{a0}{unit}{end}"));
                line = line.replace(&broken, &whole);
            }
        }
    }
    line
}

fn answers(page: &mut String, questions: &[(&str, Vec<String>)]) {
    page.push_str("<div class=\"answers\">\n");
    for (question, sentences) in questions {
        let _ = writeln!(
            page,
            "<section><h2>{}</h2>{}</section>",
            escape(question),
            each("p", sentences)
        );
    }
    page.push_str("</div>\n");
}

fn table_of(page: &mut String, table: &Table) {
    let class = |column: usize| if column >= table.numbers { " class=\"number\"" } else { "" };
    if let Some(words) = &table.folded {
        let _ = writeln!(page, "<details>\n<summary>{}</summary>", escape(words));
    }
    page.push_str("<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"table\"><table>\n<thead><tr>");
    for (column, cell) in table.head.iter().enumerate() {
        let _ = write!(page, "<th scope=\"col\"{}>{}</th>", class(column), escape(cell));
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for line in &table.lines {
        page.push_str("<tr>");
        for (column, cell) in line.iter().enumerate() {
            let _ = write!(page, "<td{}>{}</td>", class(column), escape(cell));
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody>\n</table></div>\n");
    if table.folded.is_some() {
        page.push_str("</details>\n");
    }
}

/// Ways to colour the view, by the names its script knows: of a flat piece, and of one in space.
const WAYS: [(&str, &str, [bool; 2]); 8] = [
    ("along", "strain along the rows", [true, true]),
    ("up", "strain up the columns", [true, true]),
    ("shear", "shear", [true, true]),
    ("height", "row height", [true, false]),
    ("depth", "height", [false, true]),
    ("row", "row", [true, true]),
    ("yarn", "yarn", [true, true]),
    ("kind", "stitch", [true, true]),
];

/// What a view can do, by the names its script knows.
const DEEDS: [(&str, &str); 6] = [
    ("in", "Nearer"),
    ("out", "Further"),
    ("left", "Turn left"),
    ("right", "Turn right"),
    ("tilt", "Tilt"),
    ("whole", "Whole piece"),
];

/// Hidden until its script runs; without script the pictures stand for it.
fn view(page: &mut String, scene: &Scene<'_>) {
    page.push_str(
        "<section id=\"view\" class=\"view\" hidden aria-label=\"The piece, stitch by stitch\">\n\
         <h2>Ask any stitch</h2>\n<div class=\"tools\">",
    );
    if scene.names().nth(1).is_some() {
        page.push_str("<label for=\"which-shape\">Show <select id=\"which-shape\">");
        for name in scene.names() {
            let _ = write!(page, "<option>{}</option>", escape(name));
        }
        page.push_str("</select></label>");
    }
    page.push_str("<label for=\"colour-by\">Colour by <select id=\"colour-by\">");
    // A piece in space is first seen in its yarns.
    let first = if scene.space { "yarn" } else { "along" };
    for (name, words, _) in WAYS.iter().filter(|way| way.2[usize::from(scene.space)]) {
        let chosen = if *name == first { " selected" } else { "" };
        let _ = write!(page, "<option value=\"{name}\"{chosen}>{words}</option>");
    }
    page.push_str("</select></label>");
    for (name, words) in DEEDS {
        let _ = write!(page, "<button type=\"button\" data-do=\"{name}\">{words}</button>");
    }
    page.push_str("</div>\n");
    legends(page, scene);
    let (class, seen, drag) = match scene.space {
        true => {
            ("space", "The piece as it hangs", "Drag to turn, two fingers or shift-drag to move")
        }
        false => (
            "flat",
            "The piece from above, right side up",
            "Drag to move, two fingers or shift-drag to turn",
        ),
    };
    let _ = writeln!(
        page,
        "<canvas id=\"piece\" class=\"{class}\" tabindex=\"0\" role=\"application\" \
         aria-label=\"{seen}\" aria-describedby=\"keys told\"></canvas>\n\
         <div id=\"told\" role=\"status\" aria-live=\"polite\">Point at a stitch, or tap it.</div>\n\
         <p id=\"keys\" class=\"quiet\">{drag}, wheel or pinch to \
         zoom once the picture is in use. Keys: arrows go from stitch to stitch, shift-arrows move, \
         + − zoom, [ ] turn, t tilts, 0 shows the whole piece.</p>\n</section>"
    );
}

fn legends(page: &mut String, scene: &Scene<'_>) {
    let prediction = scene.piece;
    let measured = &prediction.measured;
    let heights = || measured.rows.iter().map(|row| row.height).filter(|h| h.to_mm() > 0.0);
    let end = |far: fn(f64, f64) -> f64| {
        heights()
            .map(Length::to_mm)
            .reduce(far)
            .map_or_else(String::new, |mm| words::fine(prediction.units, Length::mm(mm)))
    };
    let tall =
        [format!("shortest row {}", end(f64::min)), format!("tallest row {}", end(f64::max))];
    let deep = [
        format!("{} below what holds it", prediction.units.length(Length::mm(scene.deepest()))),
        "level with it".to_owned(),
    ];
    let scale: String = strain::ramp()
        .iter()
        .map(|tint| format!("<i style=\"background:{}\"></i>", ink::hex(*tint)))
        .collect();
    let [stretch, shear] = scene.scales();
    for (ways, [low, high]) in [
        ("along up", strain::stretch_words(stretch)),
        ("shear", strain::shear_words(shear)),
        ("height", tall),
        ("depth", deep),
    ] {
        let _ = writeln!(
            page,
            "<div class=\"legend\" data-legend=\"{ways}\" hidden><span>{low}</span><span class=\"ramp\" \
             aria-hidden=\"true\">{scale}</span><span>{high}</span></div>"
        );
    }
    let yarns: Vec<(ink::Colour, &str)> = prediction
        .palette
        .iter()
        .zip(&measured.yarn)
        .map(|(tint, yarn)| (*tint, yarn.colour.as_str()))
        .collect();
    let tint = |k: usize| scene::KIND_TINTS[k % scene::KIND_TINTS.len()];
    let kinds: Vec<(ink::Colour, &str)> =
        measured.kinds.iter().enumerate().map(|(k, name)| (tint(k), name.as_str())).collect();
    for (way, entries) in [("yarn", yarns), ("kind", kinds)] {
        let _ = write!(page, "<div class=\"legend\" data-legend=\"{way}\" hidden>");
        for (tint, name) in entries {
            let _ = write!(
                page,
                "<span><i style=\"background:{}\"></i>{}</span>",
                ink::hex(tint),
                escape(name)
            );
        }
        page.push_str("</div>\n");
    }
    page.push_str(
        "<div class=\"legend\" data-legend=\"row\" hidden><span>dark at the foundation, light at the last row; \
         every other row is paler</span></div>\n",
    );
}
