//! Every picture at every size of piece: no text clipped, no two texts over one another.

use std::sync::Arc;

use super::fixture::{Shape, WRAP, blocked, hanging, prediction};
use resvg::usvg;
use slantwise::report::Variant;
use slantwise::report::comparison_pictures;
use slantwise::report::comparison_text;
use slantwise::report::pictures;
use slantwise::report::png;
use slantwise::report::{blocking_picture, growth_picture, hanging_picture};
use slantwise::units::UnitSystem;

/// Overlap of two boxes that still counts as apart, page units: descenders of one line may come this
/// near to the accents of the next.
const SLACK: f32 = 2.0;

/// A text as the renderer sets it, as the four corners of its box.
#[derive(Debug, Clone)]
struct Set {
    words: String,
    corners: [[f32; 2]; 4],
}

fn tree(svg: &str) -> usvg::Tree {
    let mut faces = usvg::fontdb::Database::new();
    let regular = include_bytes!("../../src/report/fonts/DejaVuSans-subset.ttf");
    let bold = include_bytes!("../../src/report/fonts/DejaVuSans-Bold-subset.ttf");
    faces.load_font_data(regular.to_vec());
    faces.load_font_data(bold.to_vec());
    let options = usvg::Options { fontdb: Arc::new(faces), ..usvg::Options::default() };
    usvg::Tree::from_str(svg, &options).unwrap()
}

fn texts(group: &usvg::Group, found: &mut Vec<Set>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => texts(inner, found),
            usvg::Node::Text(text) => {
                let words: String = text.chunks().iter().map(|c| c.text().to_owned()).collect();
                let b = text.bounding_box();
                let corners = [
                    [b.left(), b.top()],
                    [b.right(), b.top()],
                    [b.right(), b.bottom()],
                    [b.left(), b.bottom()],
                ];
                let to_page = text.abs_transform();
                let corners = corners.map(|[x, y]| {
                    let mut p = usvg::tiny_skia_path::Point::from_xy(x, y);
                    to_page.map_point(&mut p);
                    [p.x, p.y]
                });
                found.push(Set { words, corners });
            }
            _ => {}
        }
    }
}

/// Separating axes of two rectangles at any angle: apart if their shadows on one of them are.
fn overlap(a: &Set, b: &Set) -> bool {
    let axes = [a, b].into_iter().flat_map(|set| {
        let [p, q, r, _] = set.corners;
        [[q[0] - p[0], q[1] - p[1]], [r[0] - q[0], r[1] - q[1]]]
    });
    for [x, y] in axes {
        let length = x.hypot(y).max(1e-6);
        let shadow = |set: &Set| {
            let along = set.corners.map(|c| (c[0] * x + c[1] * y) / length);
            (
                along.iter().copied().fold(f32::INFINITY, f32::min),
                along.iter().copied().fold(f32::NEG_INFINITY, f32::max),
            )
        };
        let (a, b) = (shadow(a), shadow(b));
        if a.1.min(b.1) - a.0.max(b.0) < SLACK / 2.0 {
            return false;
        }
    }
    true
}

fn check(name: &str, svg: &str) {
    check_at_least(name, svg, 3);
}

pub(super) fn check_at_least(name: &str, svg: &str, least: usize) {
    let tree = tree(svg);
    let mut found = Vec::new();
    texts(tree.root(), &mut found);
    assert!(found.len() >= least, "{name}: only {} texts", found.len());
    let (w, h) = (tree.size().width(), tree.size().height());
    for set in &found {
        for [x, y] in set.corners {
            let inside = (0.0..=w).contains(&x) && (0.0..=h).contains(&y);
            assert!(inside, "{name}: `{}` runs off the {w} x {h} page at {x}, {y}", set.words);
        }
    }
    for (i, a) in found.iter().enumerate() {
        for b in &found[i + 1..] {
            assert!(!overlap(a, b), "{name}: `{}` lies over `{}`: {a:?} {b:?}", a.words, b.words);
        }
    }
}

fn shapes() -> Vec<(&'static str, Shape)> {
    let inches = UnitSystem::Imperial;
    vec![
        ("wrap", WRAP),
        ("wrap-in", Shape { units: inches, ..WRAP }),
        ("wrap-unplanned", Shape { planned: false, ..WRAP }),
        ("wrap-left", Shape { shift: -0.8, ..WRAP }),
        ("swatch", Shape { stitches: 8, rows: 8, cell: [7.0, 6.4], shift: 0.0, ..WRAP }),
        (
            "swatch-bias",
            Shape { stitches: 8, rows: 8, cell: [5.0, 5.0], shift: 1.0, units: inches, ..WRAP },
        ),
        ("blanket", Shape { stitches: 300, rows: 1000, cell: [4.0, 3.0], shift: 0.0, ..WRAP }),
        ("blanket-bias", Shape { stitches: 300, rows: 1000, cell: [4.0, 3.0], shift: 0.5, ..WRAP }),
        ("band", Shape { stitches: 300, rows: 8, shift: 0.0, ..WRAP }),
        ("ribbon", Shape { stitches: 8, rows: 1000, units: inches, ..WRAP }),
        ("ribbon-straight", Shape { stitches: 8, rows: 1000, shift: 0.0, ..WRAP }),
        ("square", Shape { stitches: 60, rows: 60, cell: [5.0, 5.0], shift: 0.2, ..WRAP }),
        ("steep", Shape { stitches: 40, rows: 40, cell: [8.0, 2.0], shift: 1.0, ..WRAP }),
    ]
}

#[test]
fn no_text_is_clipped_or_overlaps_another_at_any_size() {
    for (name, shape) in shapes() {
        for picture in pictures(&prediction(&shape)) {
            check(&format!("{name} {}", picture.name), &picture.svg);
        }
    }
}

/// Hung pieces: their views hold pixels, words stay apart.
#[test]
fn hung_and_blocked_pieces_stay_legible_at_any_size() {
    for (name, shape) in shapes() {
        let hung = hanging(&shape);
        let picture = hanging_picture(&hung);
        check(&format!("{name} hung"), &picture.svg);
        assert!(picture.svg.matches("<image ").count() >= 2, "{name}: at least two views");
        check(&format!("{name} growth"), &growth_picture(&hung).svg);
        for trials in [1, 3, 5] {
            check(&format!("{name} blocked"), &blocking_picture(&blocked(&shape, trials)).svg);
        }
    }
}

/// Edges that draw together far from the plan, as a faulty count makes them.
#[test]
fn a_tapering_piece_far_from_its_plan_stays_legible() {
    for taper in [0.3, 0.6, 0.95] {
        let mut made = prediction(&Shape { rows: 120, shift: 0.0, ..WRAP });
        let rise = made.measured.square_to_rows.to_mm();
        let width = 350.0;
        let narrow = |p: [f64; 2]| {
            let keep = 1.0 - taper * p[1] / rise;
            [width / 2.0 + (p[0] - width / 2.0) * keep, p[1]]
        };
        made.measured.outline.iter_mut().for_each(|p| *p = narrow(*p));
        let lean = (taper * width / 2.0).atan2(rise);
        for (side, sign) in [1.0, -1.0].into_iter().enumerate() {
            let angle = slantwise::units::Angle::radians(sign * lean);
            made.measured.edges[side].slant = angle;
            made.measured.edges[side].chord = slantwise::units::Length::mm(rise / lean.cos());
            for row in &mut made.measured.rows {
                row.cumulative[side] = angle;
            }
        }
        made.measured.along_rows.least = made.measured.along_rows.mean * (1.0 - taper);
        for picture in pictures(&made) {
            check(&format!("taper {taper} {}", picture.name), &picture.svg);
        }
    }
}

#[test]
fn a_title_of_any_length_or_letters_stays_on_the_page() {
    for title in ["", "W".repeat(400).as_str(), "<Reed & \"Fern\">\u{0}\n", "毛糸 ✿ wrap"] {
        let mut made = prediction(&WRAP);
        made.title = title.into();
        made.measured.edges[0].benders[0].rows = title.repeat(3);
        for picture in pictures(&made) {
            check(&picture.name, &picture.svg);
        }
    }
}

#[test]
fn pictures_render_small_and_the_same_each_time() {
    let made = prediction(&WRAP);
    for (one, two) in pictures(&made).iter().zip(pictures(&made)) {
        assert_eq!(one.svg, two.svg);
        let bytes = png(&one.svg).unwrap();
        assert!(bytes.starts_with(b"\x89PNG"), "{}", one.name);
        assert!(bytes.len() < 120_000, "{}: {} bytes", one.name, bytes.len());
        assert!(one.svg.len() < 600_000, "{}: {} bytes", one.name, one.svg.len());
        assert_eq!(bytes, png(&two.svg).unwrap());
    }
}

fn variants() -> Vec<(String, Shape)> {
    let shifts = [0.2, 0.4, 0.6, 0.8, 1.0, -0.5, 0.0];
    let long =
        |shift: f64| format!("{shift} stitches a row, with dc in every fourth row and more words");
    shifts.iter().map(|&shift| (long(shift), Shape { rows: 60, shift, ..WRAP })).collect()
}

#[test]
fn comparisons_stay_legible() {
    let made: Vec<_> = variants().into_iter().map(|(name, s)| (name, prediction(&s))).collect();
    let all: Vec<Variant<'_>> =
        made.iter().map(|(name, prediction)| Variant { name, prediction }).collect();
    for many in [1, 2, all.len()] {
        for picture in comparison_pictures(&all[..many]) {
            check(&picture.name, &picture.svg);
        }
        let text = comparison_text(&all[..many]);
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        assert!(text.lines().count() == many + 4, "{text}");
    }
    assert!(comparison_pictures(&[]).is_empty());
}

/// The checks themselves: moved text must be caught.
#[test]
fn clipped_and_overlapping_text_is_caught() {
    let svg = pictures(&prediction(&WRAP)).remove(1).svg;
    let mut found = Vec::new();
    texts(tree(&svg).root(), &mut found);
    assert!(found.len() > 25, "texts of the charts are seen too: {}", found.len());
    let caught = |svg: String| std::panic::catch_unwind(|| check("moved", &svg)).is_err();
    assert!(!caught(svg.clone()));
    let title = svg.find("<text x=\"70.0\"").unwrap();
    let off = format!("{}<text x=\"2300.0\"{}", &svg[..title], &svg[title + 14..]);
    assert!(caught(off));
    let second = title + 10 + svg[title + 10..].find("<text x=\"70.0\" y=\"").unwrap();
    let first_y = &svg[title + 18..title + 23];
    let over = format!("{}<text x=\"70.0\" y=\"{first_y}{}", &svg[..second], &svg[second + 24..]);
    assert!(caught(over));
}
