//! A pattern in many hands: bands of every figure, and the fan of outlines.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::sheet::{Anchor, Pen, Sheet, Type};
use super::table::aligned;
use super::typeface;
use super::view::View;
use super::words;
use crate::measure::Closed;
use crate::predict::Band;
use crate::predict::Figure;
use crate::study::Chance;
use crate::study::Spread;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// What a figure is called in the tables.
pub(super) fn name(figure: Figure) -> &'static str {
    match figure {
        Figure::AlongRows => "along the rows, mean",
        Figure::SquareToRows => "square to the rows",
        Figure::SquareToEdges => "square to the edges",
        Figure::LeftEdge => "along the left edge",
        Figure::RightEdge => "along the right edge",
        Figure::LeftSlant => "slant of the left edge",
        Figure::RightSlant => "slant of the right edge",
        Figure::LeftStraightness => "straightness, left (minimum zone)",
        Figure::RightStraightness => "straightness, right (minimum zone)",
        Figure::Area => "area",
        Figure::Yarn => "yarn",
        Figure::Radius => "middle to last round",
        Figure::Turn => "turn its rounds take, of 360°",
        Figure::Around => "around",
        Figure::High => "high",
    }
}

/// A figure's value in the user's units.
pub(super) fn value(units: UnitSystem, figure: Figure, v: f64) -> String {
    match figure {
        Figure::LeftSlant | Figure::RightSlant | Figure::Turn => words::degrees(Angle::degrees(v)),
        Figure::LeftStraightness | Figure::RightStraightness => words::fine(units, Length::mm(v)),
        Figure::Area => words::area(units, v),
        Figure::Yarn => words::yarn(units, Length::mm(v)),
        _ => units.length(Length::mm(v)),
    }
}

/// Half a band's width: lengths, areas and yarn in per cent of the value, angles in degrees, and
/// straightness in the user's units.
pub(super) fn half_width(units: UnitSystem, band: &Band) -> String {
    let half = (band.at[2] - band.at[0]) / 2.0;
    match band.figure {
        Figure::LeftSlant | Figure::RightSlant | Figure::Turn => format!("±{half:.1}°"),
        Figure::LeftStraightness | Figure::RightStraightness => {
            format!("±{}", words::fine(units, Length::mm(half)))
        }
        _ => format!("±{:.1} %", 100.0 * half / band.at[1]),
    }
}

pub(super) fn makers_words(spread: &Spread) -> String {
    let m = &spread.makers;
    format!(
        "{} makers (seed {}): stitches differ in size by {:.1} % between makers, grow or shrink along \
         the work by {:.1} %, and vary by {:.1} % from stitch to stitch and {:.1} % from row to row (one \
         standard deviation each).",
        m.number,
        m.seed,
        100.0 * m.overall,
        100.0 * m.drift,
        100.0 * m.noise[0],
        100.0 * m.noise[1]
    )
}

pub(super) fn chance_words(spread: &Spread) -> String {
    let tube = matches!(spread.base.measured.closed, Some(Closed::Tube { .. }));
    let hundred = |c: f64| (100.0 * c).round();
    match spread.chance {
        Chance::Straight(chance) => {
            let [left, right] = chance.map(hundred);
            format!(
                "Straight within {}: the left edge in {left:.0} of 100 hands, the right edge in \
                 {right:.0}.",
                words::fine(spread.base.units, spread.straight)
            )
        }
        Chance::Lies(_) if tube => "A tube: it lies flat only double, in every hand.".into(),
        Chance::Lies(chance) => {
            let [flat, cups, ruffles] = chance.map(hundred);
            format!(
                "Laid cut open, its rounds lie flat in {flat:.0} of 100 hands, cup in {cups:.0} and \
                 ruffle in {ruffles:.0}."
            )
        }
    }
}

/// The study as plain text.
pub fn spread_text(spread: &Spread) -> String {
    let mut out = format!("{}: from maker to maker\n\n", spread.base.title);
    let _ = writeln!(out, "{}\n{}\n", makers_words(spread), chance_words(spread));
    let (head, lines) = table(spread);
    out.push_str(&aligned(&head, &lines));
    let _ = writeln!(out, "\n{}", laid_words(spread));
    out
}

/// A line a figure under its head.
pub(super) fn table(spread: &Spread) -> (Vec<String>, Vec<Vec<String>>) {
    let units = spread.base.units;
    let head = ["", "even hand", "5 %", "50 %", "95 %", "half band"].map(str::to_owned).to_vec();
    let line = |band: &Band| {
        let at = |v: f64| value(units, band.figure, v);
        vec![
            name(band.figure).to_owned(),
            at(band.figure.of(&spread.base.measured)),
            at(band.at[0]),
            at(band.at[1]),
            at(band.at[2]),
            half_width(units, band),
        ]
    };
    (head, spread.bands.iter().map(line).collect())
}

/// What the bands hold and how they were made.
pub(super) fn laid_words(spread: &Spread) -> String {
    let full = spread.samples.iter().filter(|s| s.full).count();
    format!(
        "Nine hands in ten lie between 5 % and 95 %. Pieces were laid from the even one with its own \
         stiffness{}.",
        if full > 0 { format!("; {full} needed a full solve") } else { String::new() }
    )
}

/// Every maker's figures: lengths in mm, area in mm², yarn in m, angles in degrees.
pub fn spread_csv(spread: &Spread) -> String {
    let shown = Figure::shown(&spread.base.measured);
    let mut out = String::from("maker,overall,drift");
    shown.iter().for_each(|figure| out += &format!(",{}", column(*figure)));
    out.push('\n');
    for (k, s) in spread.samples.iter().enumerate() {
        let _ = write!(out, "{},{:.5},{:.5}", k + 1, s.hand.overall, s.hand.drift);
        for (figure, v) in shown.iter().zip(&s.figures) {
            let v = if *figure == Figure::Yarn { v / 1000.0 } else { *v };
            let _ = write!(out, ",{v:.4}");
        }
        out.push('\n');
    }
    out
}

/// A figure's column in the CSV.
fn column(figure: Figure) -> &'static str {
    match figure {
        Figure::AlongRows => "along_rows_mm",
        Figure::SquareToRows => "square_to_rows_mm",
        Figure::SquareToEdges => "square_to_edges_mm",
        Figure::LeftEdge => "left_edge_mm",
        Figure::RightEdge => "right_edge_mm",
        Figure::LeftSlant => "left_slant_deg",
        Figure::RightSlant => "right_slant_deg",
        Figure::LeftStraightness => "left_straightness_mm",
        Figure::RightStraightness => "right_straightness_mm",
        Figure::Area => "area_mm2",
        Figure::Yarn => "yarn_m",
        Figure::Radius => "radius_mm",
        Figure::Turn => "turn_deg",
        Figure::Around => "around_mm",
        Figure::High => "high_mm",
    }
}

/// Outlines drawn one over the other: more only fill the page.
const DRAWN: usize = 120;

/// The fan of outlines round the even piece, and the band of every figure.
pub fn spread_picture(spread: &Spread) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: from maker to maker", spread.base.title);
    let said = chance_words(spread);
    let y = sheet.heading(&title, &said);
    let base = &spread.base.measured;
    let mut shown: Vec<&[[f64; 2]]> = vec![&base.outline];
    let step = spread.samples.len().div_ceil(DRAWN).max(1);
    shown.extend(spread.samples.iter().step_by(step).map(|s| s.outline.as_slice()));
    let view = View::of(base, &shown);
    let y = legend(&mut sheet, y, shown.len() - 1, view.words());
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let placed = view.placed([ink::MARGIN, y + 30.0], [room, 1200.0]);
    for outline in &shown[1..] {
        sheet.polygon(&placed.points(outline), None, Some(Pen::new([168, 196, 204], 1.5)));
    }
    sheet.polygon(&placed.points(&base.outline), None, Some(Pen::new(ink::DEEP, 5.0)));
    let bottom = placed.corner[1] + placed.box_on_page()[1] + 50.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, spread.base.units);
    let end = bands(&mut sheet, bottom + 110.0, spread);
    sheet.set_height(end + 30.0);
    let words = format!("{} {said}", makers_words(spread));
    Picture { name: "spread".into(), svg: sheet.finish(&title, &words) }
}

fn legend(sheet: &mut Sheet, top: f64, drawn: usize, lies: &str) -> f64 {
    let y = top + ink::LABEL * 0.6;
    let middle = y - ink::LABEL * 0.35;
    let mut x = ink::MARGIN;
    for (name, pen) in [
        ("even hand at the gauge".to_owned(), Pen::new(ink::DEEP, 6.0)),
        (format!("{drawn} makers; {lies}"), Pen::new([168, 196, 204], 5.0)),
    ] {
        sheet.line([x, middle], [x + 70.0, middle], pen);
        sheet.text([x + 86.0, y], &name, Type::LABEL);
        x += 86.0 + typeface::width(&name, ink::LABEL, false) + 60.0;
    }
    y
}

const NAMES: f64 = 620.0;
const ENDS: f64 = 210.0;

/// One bar a figure: 5 to 95 % with a mark at half and the even hand's value dashed.
fn bands(sheet: &mut Sheet, top: f64, spread: &Spread) -> f64 {
    let units = spread.base.units;
    let head = "Nine hands in ten lie on the bar; white mark: half lie below; dashed: even hand";
    sheet.text([ink::MARGIN, top], head, Type::LABEL.coloured(ink::QUIET));
    let mut y = top + ink::LABEL * 2.0;
    let (left, right) = (ink::MARGIN + NAMES + ENDS, ink::PAGE - ink::MARGIN - ENDS);
    for (i, band) in spread.bands.iter().enumerate() {
        let even = band.figure.of(&spread.base.measured);
        let all = spread.samples.iter().map(|s| s.figures[i]);
        let low = all.clone().fold(even, f64::min);
        let high = all.fold(even, f64::max);
        let x = |v: f64| left + (v - low) / (high - low).max(f64::MIN_POSITIVE) * (right - left);
        let middle = y - ink::LABEL * 0.35;
        sheet.text([ink::MARGIN, y], name(band.figure), Type::LABEL);
        let end = Type::LABEL.anchored(Anchor::End);
        let at = |v: f64| value(units, band.figure, v);
        sheet.text([left - 24.0, y], &at(band.at[0]), end);
        sheet.text([right + 24.0, y], &at(band.at[2]), Type::LABEL);
        sheet.line([left, middle], [right, middle], Pen::new(ink::FAINT, 4.0));
        let (a, b) = (x(band.at[0]), x(band.at[2]));
        sheet.rectangle([a, middle - 11.0], [(b - a).max(2.0), 22.0], ink::DEEP);
        sheet.rectangle([x(band.at[1]) - 3.0, middle - 11.0], [6.0, 22.0], ink::PAPER);
        let dashed = Pen::new(ink::PLAN, 4.0).dashed(8.0, 5.0);
        sheet.line([x(even), middle - 20.0], [x(even), middle + 20.0], dashed);
        y += ink::LABEL * 1.75;
    }
    y
}
