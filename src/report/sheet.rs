//! A page to draw on: writes SVG, keeps text inside measured room.

use std::fmt::Write as _;

use super::ink;
use super::ink::Colour;
use super::typeface;

/// Where a text's anchor lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Type {
    pub(super) size: f64,
    pub(super) bold: bool,
    pub(super) colour: Colour,
    pub(super) anchor: Anchor,
    /// Degrees, clockwise.
    pub(super) turn: f64,
    /// Set on a rim of paper.
    pub(super) halo: bool,
}

impl Type {
    pub(super) const LABEL: Self = Self {
        size: ink::LABEL,
        bold: false,
        colour: ink::INK,
        anchor: Anchor::Start,
        turn: 0.0,
        halo: false,
    };

    pub(super) const fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }
    pub(super) const fn coloured(self, colour: Colour) -> Self {
        Self { colour, ..self }
    }
    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }
    pub(super) const fn haloed(self) -> Self {
        Self { halo: true, ..self }
    }
    pub(super) const fn turned(self, turn: f64) -> Self {
        Self { turn, ..self }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    pub(super) colour: Colour,
    pub(super) width: f64,
    pub(super) dash: Option<(f64, f64)>,
}

impl Pen {
    pub(super) const fn new(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: None }
    }
    pub(super) const fn dashed(self, on: f64, off: f64) -> Self {
        Self { dash: Some((on, off)), ..self }
    }
}

/// A point on the sheet, y down.
pub(super) type Point = [f64; 2];

/// An SVG page under construction.
#[derive(Debug)]
pub(super) struct Sheet {
    height: f64,
    body: String,
}

impl Sheet {
    /// A page as wide as every picture; the height is set when finished.
    pub(super) fn new() -> Self {
        Self { height: 0.0, body: String::new() }
    }

    pub(super) fn set_height(&mut self, height: f64) {
        self.height = height.ceil();
    }

    /// The title line and a quiet line below it; returns the y below both.
    pub(super) fn heading(&mut self, title: &str, below: &str) -> f64 {
        let room = ink::PAGE - 2.0 * ink::MARGIN;
        let large = Type { size: ink::TITLE, ..Type::LABEL.bold() };
        let top = ink::MARGIN + ink::TITLE * 0.6;
        self.text([ink::MARGIN, top], &typeface::fit(title, ink::TITLE, true, room), large);
        let quiet = Type::LABEL.coloured(ink::QUIET);
        let next = top + ink::LABEL * 1.7;
        self.text([ink::MARGIN, next], &typeface::fit(below, ink::LABEL, false, room), quiet);
        next + ink::LABEL * 1.1
    }

    /// Text with its baseline at `at`.
    pub(super) fn text(&mut self, at: Point, text: &str, how: Type) {
        if text.is_empty() {
            return;
        }
        let anchor = match how.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if how.bold { " font-weight=\"bold\"" } else { "" };
        let [x, y] = at;
        let turn = match how.turn {
            0.0 => String::new(),
            degrees => format!(" transform=\"rotate({degrees:.1} {x:.1} {y:.1})\""),
        };
        // A rim of paper keeps words readable where a line runs behind them.
        let halo = match how.halo {
            true => {
                " stroke=\"#ffffff\" stroke-width=\"11\" stroke-linejoin=\"round\" paint-order=\"stroke\""
            }
            false => "",
        };
        let (size, fill, words) = (how.size, ink::hex(how.colour), escape(text));
        let _ = writeln!(
            self.body,
            "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" fill=\"{fill}\"{weight}{anchor}{halo}{turn}>{words}</text>",
        );
    }

    pub(super) fn line(&mut self, from: Point, to: Point, pen: Pen) {
        self.path(&path_of(&[from, to], false), None, Some(pen));
    }

    pub(super) fn polygon(&mut self, points: &[Point], fill: Option<Colour>, pen: Option<Pen>) {
        self.path(&path_of(points, true), fill, pen);
    }

    pub(super) fn rectangle(&mut self, corner: Point, size: [f64; 2], fill: Colour) {
        let ([x, y], [w, h]) = (corner, size);
        self.polygon(&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]], Some(fill), None);
    }

    pub(super) fn dot(&mut self, [x, y]: Point, radius: f64, colour: Colour) {
        let fill = ink::hex(colour);
        let _ = writeln!(
            self.body,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius}\" fill=\"{fill}\"/>"
        );
    }

    pub(super) fn ring(&mut self, [x, y]: Point, radius: f64, colour: Colour) {
        let line = ink::hex(colour);
        let _ = writeln!(
            self.body,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius}\" fill=\"none\" stroke=\"{line}\" stroke-width=\"3\"/>"
        );
    }

    /// A path in SVG's own path language.
    pub(super) fn path(&mut self, data: &str, fill: Option<Colour>, pen: Option<Pen>) {
        let fill = fill.map_or_else(|| "none".to_owned(), ink::hex);
        let mut line = String::new();
        if let Some(Pen { colour, width, dash }) = pen {
            let _ = write!(line, " stroke=\"{}\" stroke-width=\"{width}\"", ink::hex(colour));
            if let Some((on, off)) = dash {
                let _ = write!(line, " stroke-dasharray=\"{on} {off}\"");
            }
            line.push_str(" stroke-linejoin=\"round\"");
        }
        let _ = writeln!(self.body, "<path d=\"{data}\" fill=\"{fill}\"{line}/>");
    }

    /// A definition in SVG's own words, for [`Sheet::filled`].
    pub(super) fn define(&mut self, definition: &str) {
        let _ = write!(self.body, "<defs>{definition}</defs>");
    }

    /// A path filled with the definition called `name`, edged with paper when `edged`.
    pub(super) fn filled(&mut self, data: &str, name: &str, edged: bool) {
        let edge = match edged {
            true => " stroke=\"#ffffff\" stroke-width=\"1.5\" stroke-linejoin=\"round\"",
            false => " shape-rendering=\"crispEdges\"",
        };
        let _ = writeln!(self.body, "<path d=\"{data}\" fill=\"url(#{name})\"{edge}/>");
    }

    /// Everything drawn by `draw` is clipped to a polygon. `name` must be unique on the page.
    pub(super) fn clipped(&mut self, name: &str, to: &[Point], draw: impl FnOnce(&mut Self)) {
        let data = path_of(to, true);
        let _ = writeln!(
            self.body,
            "<clipPath id=\"{name}\"><path d=\"{data}\"/></clipPath>\n<g clip-path=\"url(#{name})\" shape-rendering=\"crispEdges\">"
        );
        draw(self);
        self.body.push_str("</g>\n");
    }

    /// A PNG, coded as base64, set into the page; a pixel smooths into its neighbours.
    pub(super) fn image(&mut self, [x, y]: Point, [w, h]: [f64; 2], png: &str) {
        let _ = writeln!(
            self.body,
            "<image x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\" href=\"data:image/png;base64,{png}\"/>"
        );
    }

    /// A finished chart, set into the page with its upper left corner at `at`.
    pub(super) fn inset(&mut self, at: Point, chart: &str) {
        let ours = format!("font-family=\"{}\"", typeface::FAMILY_IN_SVG);
        let theirs = format!("font-family=\"{}\"", typeface::FAMILY);
        let placed = format!("<svg x=\"{:.0}\" y=\"{:.0}\"", at[0], at[1]);
        let chart = chart.replacen("<svg", &placed, 1).replace(&theirs, &ours);
        self.body.push_str(&chart);
    }

    /// An arrow head at `tip`, pointing away from `tail`.
    pub(super) fn arrow_head(&mut self, tail: Point, tip: Point, colour: Colour) {
        let (dx, dy) = (tip[0] - tail[0], tip[1] - tail[1]);
        let length = dx.hypot(dy).max(1e-9);
        let (ux, uy) = (dx / length, dy / length);
        let (long, half) = (20.0, 6.0);
        let base = [tip[0] - ux * long, tip[1] - uy * long];
        let left = [base[0] - uy * half, base[1] + ux * half];
        let right = [base[0] + uy * half, base[1] - ux * half];
        self.polygon(&[tip, left, right], Some(colour), None);
    }

    /// A dimension line from `a` to `b` with a head at each end.
    pub(super) fn dimension(&mut self, a: Point, b: Point) {
        self.line(a, b, Pen::new(ink::INK, 2.5));
        self.arrow_head(a, b, ink::INK);
        self.arrow_head(b, a, ink::INK);
    }

    /// The finished SVG. `words` describe the picture for those who cannot see it.
    pub(super) fn finish(self, title: &str, words: &str) -> String {
        let (w, h) = (ink::PAGE, self.height);
        let (shown_w, shown_h) = (w / ink::SHOWN, h / ink::SHOWN);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{shown_w:.0}\" height=\"{shown_h:.0}\" \
             viewBox=\"0 0 {w:.0} {h:.0}\" font-family=\"{}\" role=\"img\">\n<title>{}</title>\n\
             <desc>{}</desc>\n<rect width=\"{w:.0}\" height=\"{h:.0}\" fill=\"#ffffff\"/>\n{}</svg>\n",
            typeface::FAMILY_IN_SVG,
            escape(title),
            escape(words),
            self.body
        )
    }
}

/// Path data through `points`, to a tenth of a unit.
pub(super) fn path_of(points: &[Point], closed: bool) -> String {
    let mut data = String::with_capacity(points.len() * 12);
    for (i, [x, y]) in points.iter().enumerate() {
        let _ = write!(data, "{}{x:.1} {y:.1}", if i == 0 { "M" } else { "L" });
    }
    if closed {
        data.push('Z');
    }
    data
}

/// Text safe inside an element or a quoted attribute; control characters, which XML forbids, go.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}
