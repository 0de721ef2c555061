//! A report set on paper: pages as SVG, as wide as A4 and as tall as Letter, so that they print on
//! both without scaling. Units are points.

use std::fmt::Write as _;

use super::document::Document;
use super::document::Part;
use super::document::Table;
use super::ink;
use super::ink::Colour;
use super::sheet::escape;
use super::typeface;

/// Width of A4 and height of Letter, points.
pub(super) const PAGE: [f64; 2] = [595.28, 792.0];
const MARGIN: f64 = 40.0;
const WIDE: f64 = PAGE[0] - 2.0 * MARGIN;
/// Lowest baseline of the text; the page number stands below.
const FLOOR: f64 = PAGE[1] - 52.0;
const BODY: f64 = 9.0;
const SMALL: f64 = 7.6;
/// Line height over type size.
const LEADING: f64 = 1.42;
/// Between columns of a table.
const GUTTER: f64 = 12.0;

/// Sets `document`; each page is a whole SVG.
pub(super) fn pages(document: &Document) -> Vec<String> {
    let mut press = Press { done: Vec::new(), page: String::new(), y: MARGIN };
    press.paragraph(&document.title, 17.0, true, ink::INK, 0.0);
    press.y += 6.0;
    let mut parts = document.parts.iter().peekable();
    while let Some(part) = parts.next() {
        // A heading keeps company with what it stands over.
        if let (Part::Heading(words), Some(next)) = (part, parts.peek()) {
            press.y += 16.0;
            press.need(22.0 + least(next));
            press.rule();
            press.paragraph(words, 11.5, true, ink::DEEP, 10.0);
            press.y += 3.0;
        } else {
            press.set(part);
        }
    }
    press.finish(&document.title)
}

/// Room the beginning of a part needs.
fn least(part: &Part) -> f64 {
    match part {
        Part::Picture(picture) => scaled(&picture.svg).map_or(40.0, |[_, h]| h),
        Part::Table(_) => 50.0,
        _ => 28.0,
    }
}

/// Size of a picture on the page.
fn scaled(svg: &str) -> Option<[f64; 2]> {
    let view = svg.split("viewBox=\"0 0 ").nth(1)?.split('"').next()?;
    let (w, h) = view.split_once(' ')?;
    let (w, h): (f64, f64) = (w.parse().ok()?, h.parse().ok()?);
    let scale = (WIDE / w).min((FLOOR - MARGIN - 60.0) / h);
    Some([w * scale, h * scale])
}

/// Pages under the press.
struct Press {
    done: Vec<String>,
    page: String,
    /// Upper end of the free room.
    y: f64,
}

impl Press {
    fn turn_over(&mut self) {
        self.done.push(std::mem::take(&mut self.page));
        self.y = MARGIN;
    }

    /// Turns over when less than `room` is left, unless the page is fresh.
    fn need(&mut self, room: f64) {
        if self.y + room > FLOOR && self.y > MARGIN {
            self.turn_over();
        }
    }

    fn set(&mut self, part: &Part) {
        match part {
            Part::Answers(questions) => {
                for (question, sentences) in questions {
                    self.y += 5.0;
                    self.need(40.0);
                    self.paragraph(question, BODY, true, ink::DEEP, 0.0);
                    for sentence in sentences {
                        self.paragraph(sentence, 10.5, false, ink::INK, 0.0);
                    }
                }
            }
            Part::Heading(words) => self.paragraph(words, 11.5, true, ink::DEEP, 10.0),
            Part::Text(words) => self.paragraph(words, BODY, false, ink::INK, 0.0),
            Part::Quiet(words) => self.paragraph(words, SMALL, false, ink::QUIET, 0.0),
            Part::List(lines) => {
                for line in lines {
                    self.need(BODY * LEADING);
                    let dot = self.y + BODY;
                    self.text([MARGIN + 2.0, dot], "•", BODY, false, ink::QUIET, "");
                    self.paragraph(line, BODY, false, ink::INK, 12.0);
                }
            }
            Part::Cautions(lines) => {
                for line in lines {
                    self.need(2.0 * BODY * LEADING);
                    let bar = [MARGIN, self.y + 1.5];
                    self.box_at(bar, [3.0, BODY * LEADING - 2.0], ink::PLAN);
                    self.paragraph(line, BODY, false, ink::INK, 12.0);
                }
            }
            Part::Table(table) => self.table(table),
            Part::Picture(picture) => self.picture(&picture.svg),
            Part::View => {}
        }
    }

    /// A bar beside a heading.
    fn rule(&mut self) {
        self.box_at([MARGIN, self.y + 1.0], [3.5, 14.0], ink::WARM);
    }

    fn box_at(&mut self, [x, y]: [f64; 2], [w, h]: [f64; 2], colour: Colour) {
        let fill = ink::hex(colour);
        let _ = writeln!(
            self.page,
            "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{w:.2}\" height=\"{h:.2}\" fill=\"{fill}\"/>"
        );
    }

    fn text(
        &mut self,
        [x, y]: [f64; 2],
        words: &str,
        size: f64,
        bold: bool,
        colour: Colour,
        how: &str,
    ) {
        let weight = if bold { " font-weight=\"bold\"" } else { "" };
        // SVG drops leading blanks, which set parts of a whole in from it.
        let inset = words.len() - words.trim_start().len();
        let words = "\u{a0}".repeat(inset) + words.trim_start();
        let _ = writeln!(
            self.page,
            "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" fill=\"{}\"{weight}{how}>{}</text>",
            ink::hex(colour),
            escape(&words)
        );
    }

    fn paragraph(&mut self, words: &str, size: f64, bold: bool, colour: Colour, indent: f64) {
        for line in broken(words, size, bold, WIDE - indent) {
            self.need(size * LEADING);
            self.y += size * LEADING;
            let at = [MARGIN + indent, self.y - size * 0.38];
            self.text(at, &line, size, bold, colour, "");
        }
        self.y += size * 0.25;
    }

    fn picture(&mut self, svg: &str) {
        let Some([w, h]) = scaled(svg) else { return };
        self.need(h + 8.0);
        let place = format!(
            "<svg x=\"{:.2}\" y=\"{:.2}\" width=\"{w:.2}\" height=\"{h:.2}\" ",
            MARGIN + (WIDE - w) / 2.0,
            self.y
        );
        // The picture brings its own width and height, which give way to those of the page.
        let rest = svg.split_once("viewBox=").map_or("", |(_, rest)| rest);
        let _ = writeln!(self.page, "{place}viewBox={rest}");
        self.y += h + 8.0;
    }

    fn table(&mut self, table: &Table) {
        let widths = widths(table);
        self.y += 4.0;
        self.line(table, &widths, &table.head, true);
        for line in &table.lines {
            let lines = set_cells(line, &widths, false).iter().map(Vec::len).max().unwrap_or(1);
            if self.y + lines as f64 * SMALL * LEADING + 4.0 > FLOOR {
                self.turn_over();
                self.line(table, &widths, &table.head, true);
            }
            self.line(table, &widths, line, false);
        }
        self.y += 8.0;
    }

    fn line(&mut self, table: &Table, widths: &[f64], line: &[String], head: bool) {
        let cells = set_cells(line, widths, head);
        let deep = cells.iter().map(Vec::len).max().unwrap_or(1) as f64 * SMALL * LEADING;
        let mut x = MARGIN;
        for (k, (cell, width)) in cells.iter().zip(widths).enumerate() {
            for (nth, words) in cell.iter().enumerate() {
                let y = self.y + (nth as f64 + 1.0) * SMALL * LEADING - SMALL * 0.35;
                let (at, how) = match k >= table.numbers {
                    true => ([x + width, y], " text-anchor=\"end\""),
                    false => ([x, y], ""),
                };
                self.text(at, words, SMALL, head, ink::INK, how);
            }
            x += width + GUTTER;
        }
        self.y += deep + 2.0;
        let (thick, colour) = if head { (0.9, ink::QUIET) } else { (0.4, ink::FAINT) };
        self.box_at([MARGIN, self.y], [x - GUTTER - MARGIN, thick], colour);
        self.y += 1.4;
    }

    fn finish(mut self, title: &str) -> Vec<String> {
        self.turn_over();
        let many = self.done.len();
        let [w, h] = PAGE;
        let dress = |(nth, body): (usize, String)| {
            let foot = typeface::fit(title, SMALL, false, WIDE - 80.0);
            let (y, quiet) = (h - 28.0, ink::hex(ink::QUIET));
            format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" \
                 font-family=\"{}\">\n{body}<text x=\"{MARGIN}\" y=\"{y}\" font-size=\"{SMALL}\" fill=\"{quiet}\">{}</text>\n\
                 <text x=\"{}\" y=\"{y}\" font-size=\"{SMALL}\" fill=\"{quiet}\" text-anchor=\"end\">{} of {many}</text>\n</svg>\n",
                typeface::FAMILY_IN_SVG,
                escape(&foot),
                w - MARGIN,
                nth + 1
            )
        };
        self.done.into_iter().enumerate().map(dress).collect()
    }
}

fn set_cells(line: &[String], widths: &[f64], bold: bool) -> Vec<Vec<String>> {
    line.iter().zip(widths).map(|(cell, width)| broken(cell, SMALL, bold, *width)).collect()
}

/// Width of every column: its longest cell's, the widest giving way until the table fits.
fn widths(table: &Table) -> Vec<f64> {
    let columns = table.head.len();
    let natural: Vec<f64> = (0..columns)
        .map(|k| {
            let cells = table.lines.iter().filter_map(|line| line.get(k));
            // The longest by letters is the longest set, near enough to measure it alone.
            let longest = cells.max_by_key(|c| c.chars().count()).map_or("", String::as_str);
            let head = typeface::width(&table.head[k], SMALL, true);
            // Letters of one line differ in width, so a little more.
            (typeface::width(longest, SMALL, false) * 1.04 + 2.0).max(head.min(WIDE / 5.0) + 1.0)
        })
        .collect();
    let room = WIDE - GUTTER * (columns.saturating_sub(1)) as f64;
    if natural.iter().sum::<f64>() <= room {
        return natural;
    }
    let cut = |cap: f64| natural.iter().map(|w| w.min(cap)).sum::<f64>();
    let (mut low, mut high) = (0.0, room);
    for _ in 0..40 {
        let cap = f64::midpoint(low, high);
        if cut(cap) > room { high = cap } else { low = cap }
    }
    natural.iter().map(|w| w.min(low)).collect()
}

/// `text` broken at spaces into lines no wider than `room`; a word longer than a line is cut.
fn broken(text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    if typeface::width(text, size, bold) <= room {
        return vec![text.to_owned()];
    }
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if typeface::width(&longer, size, bold) <= room {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        line = typeface::fit(word, size, bold, room);
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_fit_the_page_and_short_ones_keep_their_width() {
        let long = "words ".repeat(60);
        let line = vec!["short".to_owned(), "12.3 cm".into(), long];
        let head = ["what", "value", "source"].map(String::from).to_vec();
        let table = Table { head, lines: vec![line], numbers: usize::MAX, folded: None };
        let widths = widths(&table);
        assert!(widths.iter().sum::<f64>() + 2.0 * GUTTER <= WIDE + 1e-6, "{widths:?}");
        assert!(widths[0] >= typeface::width("short", SMALL, false));
        let cells = set_cells(&table.lines[0], &widths, false);
        assert_eq!(cells[0].len(), 1);
        assert!(cells[2].len() > 1);
        assert!(cells[2].iter().all(|l| typeface::width(l, SMALL, false) <= widths[2] + 1e-9));
    }
}
