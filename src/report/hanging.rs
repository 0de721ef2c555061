//! The hung piece: figures, two views, and its mesh.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::ink::Colour;
use super::sheet::{Pen, Point, Sheet, Type};
use super::words;
use crate::predict::Hanging;
use crate::predict::HungCell;
use crate::units::Length;
use crate::units::UnitSystem;

/// Height of the drawings.
const TALL: f64 = 1500.0;

/// Figures of the hung piece beside the laid one.
pub fn hanging_text(hung: &Hanging) -> String {
    let units = hung.laid.units;
    let mut out = String::new();
    let _ = writeln!(out, "{}: hung\n", hung.laid.title);
    let _ = writeln!(out, "It hangs {}.", hung.words);
    let mass = format!("{:.0} g", hung.mass.to_grams());
    let _ = writeln!(out, "It weighs {mass} and settles as follows.\n");
    let mut line = |what: &str, value: String| {
        let _ = writeln!(out, "  {what:<34}{value}");
    };
    let pair = |p: [Length; 2]| {
        format!(
            "{} laid, {} hung ({})",
            units.length(p[0]),
            units.length(p[1]),
            words::percent_off(p[1], p[0])
        )
    };
    line("along the rows, mean", pair(hung.rows));
    line("along the left edge", pair(hung.edges[0]));
    line("along the right edge", pair(hung.edges[1]));
    for corner in &hung.corners {
        line(
            &format!("corner {}", corner.name),
            format!(
                "{} below what holds it, of which {} is stretch and sag",
                units.length(corner.below),
                words::fine(units, corner.drop)
            ),
        );
    }
    line(
        "skew under load",
        format!(
            "rows and columns turn {}° against each other on average, at most {}°",
            words::signed(hung.skew.to_degrees(), 1),
            words::signed(hung.most_skew.to_degrees(), 1)
        ),
    );
    let [wide, deep, tall] = hung.size.map(|l| units.length(l));
    line("outline as hung", format!("{wide} wide, {tall} tall, {deep} deep"));
    if let Some(drape) = hung.drape {
        let share =
            format!("{:.0} %, of its own outline; layers pass through each other", 100.0 * drape);
        line("drape coefficient", share);
    }
    line("largest pull on one held stitch", format!("{:.2} N", hung.largest_pull));
    later(&mut out, hung);
    closing(&mut out, hung);
    out
}

fn later(out: &mut String, hung: &Hanging) {
    let [share, hours] = hung.creep;
    let _ = writeln!(
        out,
        "\nGrowth while it hangs, e(t) = e0 (1 + {share} log10(1 + t / {hours} h)), constants free:"
    );
    for at in &hung.later {
        let [rows, edges] = at.growth.map(|g| words::signed(100.0 * g, 1));
        let _ = writeln!(
            out,
            "  after {:<28}{rows} % along the rows, {edges} % along the edges",
            at.after
        );
    }
}

fn closing(out: &mut String, hung: &Hanging) {
    let _ = writeln!(out, "\nStated, published or assumed, beyond what `lay` lists");
    for a in &hung.assumptions {
        let _ = writeln!(out, "  {}: {}; {}", a.what, a.value, a.source);
    }
    let _ = writeln!(out, "\nNot modelled: friction (but where held), layers touching each other.");
    let _ = writeln!(out, "\nCautions");
    let _ = writeln!(
        out,
        "  Dry a heavy wet piece flat: hung up it stretches under its own weight and can fall. \
         Follow the yarn's care label first."
    );
    let s = &hung.solution;
    let _ = writeln!(
        out,
        "\nSolved in {} steps: residual {:.1e}, {}.",
        s.iterations,
        s.residual,
        if s.minimum { "a minimum of energy" } else { "not certainly a minimum of energy" }
    );
}

/// A direction of view: page x, page y (up) and towards the eye.
pub(super) struct Eye {
    pub(super) name: &'static str,
    pub(super) across: [f64; 3],
    pub(super) up: [f64; 3],
    pub(super) near: [f64; 3],
}

/// Seen level from the front, and from the front right, a little above.
fn eyes() -> [Eye; 2] {
    let (s, c) = f64::to_radians(55.0).sin_cos();
    let (t, u) = f64::to_radians(18.0).sin_cos();
    [
        Eye {
            name: "from the front",
            across: [1.0, 0.0, 0.0],
            up: [0.0, 0.0, 1.0],
            near: [0.0, -1.0, 0.0],
        },
        Eye {
            name: "from the right, a little above",
            across: [c, s, 0.0],
            up: [-s * t, c * t, u],
            near: [s * u, -c * u, t],
        },
    ]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// What is drawn in space.
pub(super) struct InSpace<'a> {
    /// Its cells, mm.
    pub(super) cells: &'a [HungCell],
    /// Held stitches, mm.
    pub(super) held: &'a [[f64; 3]],
    /// Radius and half length of a rail, mm.
    pub(super) rail: Option<[f64; 2]>,
}

/// Two views side by side. What is nearer is drawn over what is farther and darker; slopes are shaded.
pub fn hanging_picture(hung: &Hanging) -> Picture {
    let what = InSpace {
        cells: &hung.cells,
        held: &hung.held,
        rail: hung.rail.map(|radius| [radius.to_mm(), hung.size[0].to_mm() / 2.0]),
    };
    let title = format!("{}: hung", hung.laid.title);
    let hangs = format!("Hangs {}", hung.words);
    let words = format!("{}; two views, nearer parts darker", hung.words);
    Picture {
        name: "hung".into(),
        svg: views(&what, &eyes(), [&title, &hangs], &words, hung.laid.units),
    }
}

/// Views side by side at one scale, with a heading and a scale bar.
pub(super) fn views(
    what: &InSpace<'_>,
    eyes: &[Eye; 2],
    [title, subtitle]: [&str; 2],
    words: &str,
    units: UnitSystem,
) -> String {
    let mut sheet = Sheet::new();
    let top = sheet.heading(title, subtitle) + 60.0;
    let boxes: Vec<[f64; 4]> = eyes.iter().map(|eye| extent(what, eye)).collect();
    let gap = 160.0;
    let room = ink::PAGE - 2.0 * ink::MARGIN - gap;
    let wide: f64 = boxes.iter().map(|b| b[1] - b[0]).sum();
    let tall = boxes.iter().map(|b| b[3] - b[2]).fold(0.0, f64::max);
    let scale = (room / wide.max(1.0)).min(TALL / tall.max(1.0));
    let mut left = ink::MARGIN;
    for (eye, b) in eyes.iter().zip(&boxes) {
        sheet.text([left, top], eye.name, Type::LABEL.coloured(ink::QUIET));
        draw(&mut sheet, what, eye, b, [left, top + 40.0], scale);
        left += (b[1] - b[0]) * scale + gap;
    }
    let bottom = top + 40.0 + tall * scale + 70.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], scale, units);
    sheet.set_height(bottom + 90.0);
    sheet.finish(title, words)
}

/// Least and most across and up, mm.
fn extent(hung: &InSpace<'_>, eye: &Eye) -> [f64; 4] {
    let mut b = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];
    for p in hung.cells.iter().flat_map(|c| &c.corners).chain(hung.held) {
        let [x, y] = [dot(*p, eye.across), dot(*p, eye.up)];
        b = [b[0].min(x), b[1].max(x), b[2].min(y), b[3].max(y)];
    }
    b
}

fn draw(sheet: &mut Sheet, hung: &InSpace<'_>, eye: &Eye, b: &[f64; 4], corner: Point, scale: f64) {
    let page = |p: &[f64; 3]| {
        [
            corner[0] + (dot(*p, eye.across) - b[0]) * scale,
            corner[1] + (b[3] - dot(*p, eye.up)) * scale,
        ]
    };
    if let Some([radius, half]) = hung.rail {
        rail(sheet, eye, &page, radius, half, scale);
    }
    let mut order: Vec<(f64, usize)> =
        hung.cells.iter().enumerate().map(|(k, c)| (nearness(&c.corners, eye), k)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let (far, near) = match (order.first(), order.last()) {
        (Some(first), Some(last)) => (first.0, last.0),
        _ => return,
    };
    for (depth, k) in order {
        let corners = &hung.cells[k].corners;
        let share = if near - far > 1.0 { (depth - far) / (near - far) } else { 0.5 };
        let fill = shade(share, slope(corners, eye), hung.cells[k].row);
        let points: Vec<Point> = corners.iter().map(page).collect();
        // A rim of its own colour closes the seams between neighbours.
        sheet.polygon(&points, Some(fill), Some(Pen::new(fill, 1.0)));
    }
    for p in hung.held.iter().filter(|_| hung.held.len() <= 200) {
        sheet.dot(page(p), 7.0, ink::PLAN);
    }
}

fn rail(
    sheet: &mut Sheet,
    eye: &Eye,
    page: &dyn Fn(&[f64; 3]) -> Point,
    radius: f64,
    half: f64,
    scale: f64,
) {
    let ends = [-1.03, 1.03].map(|s| page(&[s * half, 0.0, -radius]));
    let level = dot(eye.near, [1.0, 0.0, 0.0]).abs() < 0.99;
    if level {
        sheet.line(ends[0], ends[1], Pen::new(ink::FAINT, 2.0 * radius * scale));
    }
}

fn nearness(corners: &[[f64; 3]], eye: &Eye) -> f64 {
    corners.iter().map(|p| dot(*p, eye.near)).sum::<f64>() / corners.len().max(1) as f64
}

/// How squarely a cell faces the eye, 0 to 1.
fn slope(corners: &[[f64; 3]], eye: &Eye) -> f64 {
    let n = corners.len();
    if n < 3 {
        return 1.0;
    }
    let minus = |a: [f64; 3], b: [f64; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let (u, v) = (minus(corners[n / 2], corners[0]), minus(corners[n - 1], corners[1]));
    let cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    let long = dot(cross, cross).sqrt().max(1e-12);
    (dot(cross, eye.near) / long).abs()
}

/// Farther is paler, steeper is darker; every second band of rows is a little darker, to show their
/// course.
fn shade(near: f64, facing: f64, row: u32) -> Colour {
    let band = if (row / 4).is_multiple_of(2) { 1.0 } else { 0.9 };
    let light = (0.55 + 0.45 * facing) * band;
    let mix = |deep: u8, pale: u8| {
        let c = f64::from(pale) + (f64::from(deep) - f64::from(pale)) * near;
        (c * light).round().clamp(0.0, 255.0) as u8
    };
    [mix(96, 226), mix(150, 236), mix(166, 238)]
}

/// The hung mesh as Wavefront OBJ: millimetres, z up, one face a cell, one group a row.
pub fn hanging_obj(hung: &Hanging) -> String {
    cells_obj(&hung.cells)
}

pub(super) fn cells_obj(cells: &[HungCell]) -> String {
    let mut vertices: BTreeMap<[i64; 3], usize> = BTreeMap::new();
    let (mut points, mut faces) = (String::new(), String::new());
    let mut row = None;
    for cell in cells.iter().filter(|c| c.corners.len() > 2) {
        if row != Some(cell.row) {
            row = Some(cell.row);
            let _ = writeln!(faces, "g row-{}", cell.row);
        }
        faces.push('f');
        for p in &cell.corners {
            let next = vertices.len() + 1;
            let index =
                *vertices.entry(p.map(|c| (c * 1000.0).round() as i64)).or_insert_with(|| {
                    let _ = writeln!(points, "v {:.3} {:.3} {:.3}", p[0], p[1], p[2]);
                    next
                });
            let _ = write!(faces, " {index}");
        }
        faces.push('\n');
    }
    format!("# hung, millimetres, z up\n{points}{faces}")
}
