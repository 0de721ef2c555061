//! Pieces in space as pictures: what is nearer hides what is farther, slopes are lit from the upper left,
//! and what is farther is paler.

use super::base64::base64;
use super::ink;
use super::ink::Colour;
use super::palette;
use super::sheet::{Sheet, Type};
use super::surface::{Place, Surface, area};
use super::typeface;
use crate::units::Length;
use crate::units::UnitSystem;

/// Height of the drawings.
const TALL: f64 = 1500.0;

/// Least room between two views.
const GAP: f64 = 110.0;

/// Most of the paper's colour that distance mixes in.
const FOG: f64 = 0.45;

/// What carries a piece is drawn in.
const CARRIER: Colour = [196, 190, 178];

/// A step in depth that shows as a line, mm.
const STEP: f64 = 6.0;

/// A direction of view: page x, page y (up) and towards the eye.
#[derive(Debug, Clone, Copy)]
pub(super) struct Eye {
    pub(super) name: &'static str,
    pub(super) across: Place,
    pub(super) up: Place,
    pub(super) near: Place,
}

impl Eye {
    /// Walked `round` the piece from its front, to the right, and raised `above` level; degrees.
    pub(super) fn round(name: &'static str, round: f64, above: f64) -> Self {
        let (s, c) = round.to_radians().sin_cos();
        let (t, u) = above.to_radians().sin_cos();
        Self { name, across: [c, s, 0.0], up: [-s * t, c * t, u], near: [s * u, -c * u, t] }
    }
}

fn dot(a: Place, b: Place) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// What is drawn.
pub(super) struct Seen<'a> {
    pub(super) surface: &'a Surface,
    /// Colours of the yarns.
    pub(super) palette: &'a [Colour],
    /// Faces of what carries the piece, mm.
    pub(super) carriers: &'a [Vec<Place>],
    /// Held stitches, mm.
    pub(super) held: &'a [Place],
}

/// The box round everything as an eye sees it, mm: least and most across, least and most up.
type Extent = [f64; 4];

fn extent(points: impl Iterator<Item = Place>, eye: &Eye) -> Extent {
    points.fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, p| {
        let [x, y] = [dot(p, eye.across), dot(p, eye.up)];
        [b[0].min(x), b[1].max(x), b[2].min(y), b[3].max(y)]
    })
}

/// Views side by side at one scale, as many of `eyes` as do not make the piece smaller, at least two.
pub(super) fn views(
    what: &Seen<'_>,
    eyes: &[Eye],
    [title, subtitle]: [&str; 2],
    words: &str,
    units: UnitSystem,
) -> String {
    let mut sheet = Sheet::new();
    let top = sheet.heading(title, subtitle) + 50.0;
    let all = || {
        let carriers = what.carriers.iter().flatten();
        what.surface.points.iter().chain(carriers).chain(what.held).copied()
    };
    let boxes: Vec<Extent> = eyes.iter().map(|eye| extent(all(), eye)).collect();
    let labels: Vec<[String; 2]> = eyes.iter().map(|eye| labels(what, eye, units)).collect();
    let (many, scale) = fitted(&boxes, &labels);
    let column = |k: usize| column(&boxes[k], &labels[k], scale);
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let spare = (room - (0..many).map(column).sum::<f64>()) / (many as f64 + 1.0);
    let gap = spare.clamp(0.0, 2.5 * GAP);
    let mut left = ink::MARGIN;
    let tall = boxes[..many].iter().map(|b| b[3] - b[2]).fold(0.0, f64::max) * scale;
    for k in 0..many {
        let [name, size] = &labels[k];
        sheet.text([left, top], name, Type::LABEL.bold());
        sheet.text([left, top + 1.35 * ink::LABEL], size, Type::LABEL.coloured(ink::QUIET));
        draw(&mut sheet, what, &eyes[k], &boxes[k], [left, top + 2.4 * ink::LABEL], scale);
        left += column(k) + gap;
    }
    let bottom = top + 2.4 * ink::LABEL + tall + 70.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], scale, units);
    sheet.set_height(bottom + 70.0);
    sheet.finish(title, words)
}

/// Its name and the size of the piece as it shows from there.
fn labels(what: &Seen<'_>, eye: &Eye, units: UnitSystem) -> [String; 2] {
    let [a, b, c, d] = extent(what.surface.points.iter().copied(), eye);
    let long = |mm: f64| units.length(Length::mm(if mm.is_finite() { mm } else { 0.0 }));
    [eye.name.to_owned(), format!("{} across, {} up", long(b - a), long(d - c))]
}

/// Width that a view and its words take.
fn column(b: &Extent, labels: &[String; 2], scale: f64) -> f64 {
    let words = labels.iter().map(|l| typeface::width(l, ink::LABEL, true)).fold(0.0, f64::max);
    ((b[1] - b[0]) * scale).max(words)
}

/// How many views fit, and the scale, page units a mm.
fn fitted(boxes: &[Extent], labels: &[[String; 2]]) -> (usize, f64) {
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let scale_of = |many: usize| {
        let tall = boxes[..many].iter().map(|b| b[3] - b[2]).fold(1.0, f64::max);
        let wide = boxes[..many].iter().map(|b| b[1] - b[0]).sum::<f64>().max(1.0);
        let free = room - GAP * (many as f64 - 1.0);
        (free / wide).min(TALL / tall)
    };
    let fits = |many: usize, scale: f64| {
        let wide: f64 = (0..many).map(|k| column(&boxes[k], &labels[k], scale)).sum();
        wide + GAP * (many as f64 - 1.0) <= room
    };
    let least = boxes.len().min(2);
    let mut best = (least, scale_of(least));
    // Words wider than their view take room too.
    while !fits(least, best.1) && best.1 > 1e-9 {
        best.1 *= 0.95;
    }
    for many in least + 1..=boxes.len() {
        let scale = scale_of(many);
        if scale >= 0.97 * best.1 && fits(many, scale) {
            best = (many, scale);
        }
    }
    best
}

fn draw(sheet: &mut Sheet, what: &Seen<'_>, eye: &Eye, b: &Extent, corner: [f64; 2], scale: f64) {
    let [wide, tall] = [b[1] - b[0], b[3] - b[2]].map(|mm| (mm * scale).ceil().max(1.0));
    if !wide.is_finite() || !tall.is_finite() {
        return;
    }
    let mut canvas = Canvas::new([wide as usize, tall as usize]);
    paint(&mut canvas, what, eye, b, scale);
    let size = [wide as u32, tall as u32];
    if let Ok(bytes) = palette::encode(&canvas.outlined(), size) {
        sheet.image(corner, [wide, tall], &base64(&bytes));
    }
    for p in what.held.iter().filter(|_| what.held.len() <= 200) {
        let at = [
            corner[0] + (dot(*p, eye.across) - b[0]) * scale,
            corner[1] + (b[3] - dot(*p, eye.up)) * scale,
        ];
        sheet.dot(at, 7.0, ink::PLAN);
    }
}

/// A vertex on the page: place, depth towards the eye, and light.
#[derive(Clone, Copy)]
struct Lit {
    at: [f64; 2],
    depth: f64,
    light: f64,
}

fn paint(canvas: &mut Canvas, what: &Seen<'_>, eye: &Eye, b: &Extent, scale: f64) {
    let lamp: Place =
        [0, 1, 2].map(|d| -0.42 * eye.across[d] + 0.46 * eye.up[d] + 0.78 * eye.near[d]);
    let lit = |p: &Place, normal: &Place| {
        let towards = if dot(*normal, eye.near) < 0.0 { -1.0 } else { 1.0 };
        Lit {
            at: [(dot(*p, eye.across) - b[0]) * scale, (b[3] - dot(*p, eye.up)) * scale],
            depth: dot(*p, eye.near),
            light: 0.5 + 0.5 * (towards * dot(*normal, lamp)).max(0.0),
        }
    };
    let normals = what.surface.normals();
    let points: Vec<Lit> =
        what.surface.points.iter().zip(&normals).map(|(p, n)| lit(p, n)).collect();
    let depths = || points.iter().map(|p| p.depth);
    let far = depths().fold(f64::INFINITY, f64::min);
    let deep = depths().fold(f64::NEG_INFINITY, f64::max) - far;
    let size = (b[1] - b[0]).max(b[3] - b[2]).max(1.0);
    // A piece of no depth to speak of is not made paler by it.
    canvas.fog = [far, deep.max(1e-9), FOG * (deep / (0.2 * size)).min(1.0)];
    let last = what.surface.faces.iter().map(|f| f.row).max().unwrap_or(1).max(1);
    let band = (f64::from(last) * 7.0 / (size * scale)).ceil().max(1.0) as u32;
    for face in &what.surface.faces {
        let yarn = what.palette.get(usize::from(face.colour)).copied().unwrap_or([150, 168, 176]);
        let wrong_side = dot(area(&what.surface.corners(face)), eye.near) < 0.0;
        let shade = if (face.row / band).is_multiple_of(2) { 1.0 } else { 0.9 };
        let tint = if wrong_side { mixed(yarn, [150, 150, 150], 0.45) } else { yarn };
        let corners: Vec<Lit> = face.corners.iter().map(|n| points[*n as usize]).collect();
        canvas.fan(&corners, tint.map(|c| f64::from(c) * shade));
    }
    for face in what.carriers {
        let n = area(face);
        let long = dot(n, n).sqrt().max(1e-12);
        let corners: Vec<Lit> = face.iter().map(|p| lit(p, &n.map(|c| c / long))).collect();
        canvas.fan(&corners, CARRIER.map(f64::from));
    }
}

fn mixed(a: Colour, b: Colour, share: f64) -> Colour {
    let mix =
        |(a, b): (u8, u8)| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
    [mix((a[0], b[0])), mix((a[1], b[1])), mix((a[2], b[2]))]
}

/// Pixels with their depths.
struct Canvas {
    size: [usize; 2],
    depth: Vec<f64>,
    tint: Vec<Colour>,
    /// Least depth, depth over all, and share of paper at the least.
    fog: [f64; 3],
}

impl Canvas {
    fn new(size: [usize; 2]) -> Self {
        let many = size[0] * size[1];
        Self {
            size,
            depth: vec![f64::NEG_INFINITY; many],
            tint: vec![ink::PAPER; many],
            fog: [0.0, 1.0, 0.0],
        }
    }

    fn fan(&mut self, corners: &[Lit], tint: [f64; 3]) {
        for pair in corners[1..].windows(2) {
            self.triangle([corners[0], pair[0], pair[1]], tint);
        }
    }

    fn triangle(&mut self, [a, b, c]: [Lit; 3], tint: [f64; 3]) {
        let cross = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
            (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
        };
        let whole = cross(a.at, b.at, c.at);
        if whole.abs() < 1e-12 || !whole.is_finite() {
            return;
        }
        let span = |axis: usize| {
            let at = [a, b, c].map(|p| p.at[axis]);
            let low = at.iter().copied().fold(f64::INFINITY, f64::min).floor().max(0.0) as usize;
            let high = at.iter().copied().fold(f64::NEG_INFINITY, f64::max).ceil().max(0.0);
            low..(high as usize + 1).min(self.size[axis])
        };
        for y in span(1) {
            for x in span(0) {
                let p = [x as f64 + 0.5, y as f64 + 0.5];
                let w = [cross(b.at, c.at, p), cross(c.at, a.at, p), cross(a.at, b.at, p)];
                let [u, v, w] = w.map(|w| w / whole);
                // A hair over the rim closes the seams between neighbours.
                if u < -1e-9 || v < -1e-9 || w < -1e-9 {
                    continue;
                }
                let depth = u * a.depth + v * b.depth + w * c.depth;
                let at = y * self.size[0] + x;
                if depth > self.depth[at] {
                    self.depth[at] = depth;
                    let light = u * a.light + v * b.light + w * c.light;
                    self.tint[at] = self.shaded(tint, light, depth);
                }
            }
        }
    }

    /// In steps of four, so that a palette holds the colours.
    fn shaded(&self, tint: [f64; 3], light: f64, depth: f64) -> Colour {
        let [far, deep, most] = self.fog;
        let fog = most * (1.0 - ((depth - far) / deep).clamp(0.0, 1.0));
        tint.map(|c| {
            let lit = c * (0.35 + 0.72 * light);
            let pale = lit + (255.0 - lit) * fog;
            (4.0 * (pale / 4.0).round()).clamp(0.0, 252.0) as u8
        })
    }

    /// The pixels with a dark line along every rim and every step in depth.
    fn outlined(&self) -> Vec<Colour> {
        let [wide, tall] = self.size;
        let mut out = self.tint.clone();
        for y in 0..tall {
            for x in 0..wide {
                let at = y * wide + x;
                let right = (x + 1 < wide).then_some(at + 1);
                let below = (y + 1 < tall).then_some(at + wide);
                for next in [right, below].into_iter().flatten() {
                    let (here, there) = (self.depth[at], self.depth[next]);
                    if here == there || (here - there).abs() < STEP {
                        continue;
                    }
                    // The line stands on the nearer side.
                    let on = if here > there { at } else { next };
                    out[on] = mixed(self.tint[on], ink::INK, 0.62);
                }
            }
        }
        out
    }
}
