//! Stored pictures and tables. They hold what was drawn last time, not what is right: whoever changes
//! them on purpose looks at the new ones first.
//!
//! `GOLDEN=write cargo test --test regression golden` writes them anew, and still fails, so that a
//! forgotten setting cannot pass.

use std::path::{Path, PathBuf};

use super::fixture::{Shape, WRAP, blocked, hanging, prediction};
use resvg::tiny_skia::{Pixmap, PremultipliedColorU8, Transform};
use resvg::usvg;
use slantwise::predict::Prediction;
use slantwise::report;

/// How far numbers may lie apart: rounding of the last digits differs between processors.
#[derive(Debug, Clone, Copy)]
struct Tolerance {
    /// As a share of the number.
    share: f64,
    /// In the number's own unit.
    apart: f64,
}

impl Tolerance {
    /// Of a stored file, by how many digits it prints.
    fn of(name: &str) -> Self {
        match name.rsplit('.').next() {
            // A tenth of a page unit, or one unit where plotters rounds.
            Some("svg") => Self { share: 0.0, apart: 1.01 },
            Some("txt") => Self { share: 0.0, apart: 0.11 },
            Some("csv") => Self { share: 0.0, apart: 1.1e-4 },
            _ => Self { share: 1e-9, apart: 1e-12 },
        }
    }
}

fn small() -> Prediction {
    prediction(&Shape { stitches: 14, rows: 36, ..WRAP })
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/regression/golden")
}

/// A text as words and numbers in turn.
#[derive(Debug, PartialEq)]
enum Token {
    Word(String),
    Number(f64),
}

fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let number_char = |c: char| c.is_ascii_digit() || c == '.';
        let signed = first == '-' && rest[1..].starts_with(|c: char| c.is_ascii_digit());
        let end = |from: usize, test: &dyn Fn(char) -> bool| {
            rest[from..].find(|c: char| !test(c)).map_or(rest.len(), |at| from + at)
        };
        let taken = if first.is_ascii_digit() || signed {
            let mut stop = end(usize::from(signed), &number_char);
            // An exponent belongs to its number.
            let exponent = rest[stop..].strip_prefix('e').map(|e| e.trim_start_matches('-'));
            if exponent.is_some_and(|e| e.starts_with(|c: char| c.is_ascii_digit())) {
                stop = end(stop + 1 + usize::from(rest[stop + 1..].starts_with('-')), &|c| {
                    c.is_ascii_digit()
                });
            }
            stop
        } else {
            end(first.len_utf8(), &|c| !c.is_ascii_digit() && c != '-')
        };
        let token = &rest[..taken];
        found.push(match token.parse() {
            Ok(number) => Token::Number(number),
            Err(_) => Token::Word(token.into()),
        });
        rest = &rest[taken..];
    }
    found
}

/// The first place two texts differ beyond rounding.
fn difference(expected: &str, actual: &str, tolerance: Tolerance) -> Option<String> {
    let (a, b) = (tokens(expected), tokens(actual));
    let same = |pair: &(&Token, &Token)| match pair {
        (Token::Number(x), Token::Number(y)) => {
            (x - y).abs() <= tolerance.apart.max(tolerance.share * x.abs())
        }
        (x, y) => x == y,
    };
    if let Some(at) = a.iter().zip(&b).position(|(x, y)| !same(&(x, y))) {
        return Some(format!("token {at}: stored {:?}, now {:?}", a[at], b[at]));
    }
    (a.len() != b.len()).then(|| format!("stored {} tokens, now {}", a.len(), b.len()))
}

/// True when stored files are to be written anew instead of compared.
pub(crate) fn writing() -> bool {
    std::env::var("GOLDEN").is_ok_and(|v| v == "write")
}

/// Compares with the stored file of that name; says what differs.
pub(crate) fn compare(folder: &Path, name: &str, actual: &str) -> Result<(), String> {
    let path = folder.join(name);
    if writing() {
        std::fs::create_dir_all(folder).unwrap();
        std::fs::write(&path, actual).unwrap();
        return Err(format!("{name}: written anew; look at it, then run without GOLDEN"));
    }
    let expected = std::fs::read_to_string(&path)
        .map_err(|e| format!("{name}: no stored file ({e}); GOLDEN=write makes one"))?;
    let Some(words) = difference(
        &expected.replace("\r\n", "\n"),
        &actual.replace("\r\n", "\n"),
        Tolerance::of(name),
    ) else {
        return Ok(());
    };
    let panels =
        if name.ends_with(".svg") { panels(name, &expected, actual) } else { String::new() };
    Err(format!("{name}: {words}{panels}"))
}

/// Stored, differing and new pixels side by side, in the target folder; returns where.
fn panels(name: &str, expected: &str, actual: &str) -> String {
    let draw = |svg: &str| {
        let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).ok()?;
        let size = tree.size().to_int_size();
        let mut pixels = Pixmap::new(size.width(), size.height())?;
        resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
        Some(pixels)
    };
    let (Some(old), Some(new)) = (draw(expected), draw(actual)) else { return String::new() };
    let (w, h) = (old.width().max(new.width()), old.height().max(new.height()));
    let Some(mut sheet) = Pixmap::new(3 * w, h) else { return String::new() };
    let white = PremultipliedColorU8::from_rgba(255, 255, 255, 255).unwrap();
    let changed = PremultipliedColorU8::from_rgba(200, 0, 0, 255).unwrap();
    for y in 0..h {
        for x in 0..w {
            let [a, b] = [&old, &new].map(|p| p.pixel(x, y).unwrap_or(white));
            let between = if a == b { white } else { changed };
            for (panel, colour) in [a, between, b].into_iter().enumerate() {
                let at = y as usize * 3 * w as usize + panel * w as usize + x as usize;
                sheet.pixels_mut()[at] = colour;
            }
        }
    }
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-difference.png"));
    match sheet.save_png(&path) {
        Ok(()) => format!("; stored, differing and new side by side: {}", path.display()),
        Err(e) => format!("; no side-by-side picture: {e}"),
    }
}

/// A picture without the pixels set in it: their last bits differ between processors, and packed they
/// cannot be compared with a tolerance.
fn without_pixels(svg: &str) -> String {
    let mut parts = svg.split("data:image/png;base64,");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str("data:,");
        out.push_str(part.find('"').map_or("", |end| &part[end..]));
    }
    out
}

#[test]
fn golden_files_hold() {
    let made = small();
    let mut outputs: Vec<(String, String)> = report::pictures(&made)
        .into_iter()
        .map(|picture| (format!("{}.svg", picture.name), picture.svg))
        .collect();
    outputs.push(("report.txt".into(), report::text(&made)));
    outputs.push(("report.json".into(), report::json(&made)));
    for table in report::tables(&made) {
        outputs.push((format!("{}.csv", table.name), table.csv));
    }
    let hung = hanging(&Shape { stitches: 14, rows: 36, ..WRAP });
    outputs.push(("hung.txt".into(), report::hanging_text(&hung)));
    outputs.push(("hung.json".into(), report::hanging_json(&hung)));
    outputs.push(("hung.csv".into(), report::hanging_csv(&hung)));
    outputs.push(("hung.svg".into(), without_pixels(&report::hanging_picture(&hung).svg)));
    outputs.push(("growth.svg".into(), report::growth_picture(&hung).svg));
    let blocks = blocked(&Shape { stitches: 14, rows: 36, ..WRAP }, 2);
    outputs.push(("blocked.svg".into(), report::blocking_picture(&blocks).svg));
    outputs.push(("blocked.txt".into(), report::blocking_text(&blocks)));
    let failures: Vec<String> =
        outputs.iter().filter_map(|(name, text)| compare(&folder(), name, text).err()).collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// A picture that changed is shown in three panels, and the message says where.
#[test]
fn a_changed_picture_is_shown_stored_differing_and_new() {
    let folder = tempfile::tempdir().unwrap();
    let square = |fill: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"20\" height=\"10\">\
             <rect width=\"20\" height=\"10\" fill=\"#ffffff\"/>\
             <rect width=\"5\" height=\"10\" fill=\"{fill}\"/></svg>"
        )
    };
    std::fs::write(folder.path().join("changed.svg"), square("#0000ff")).unwrap();
    if writing() {
        return;
    }
    let said = compare(folder.path(), "changed.svg", &square("#ffff00")).unwrap_err();
    let path = said.split("side by side: ").nth(1).expect("the message names the picture");
    let sheet = Pixmap::load_png(path).unwrap();
    assert_eq!([sheet.width(), sheet.height()], [60, 10]);
    let at = |x: u32| {
        let p = sheet.pixel(x, 5).unwrap();
        [p.red(), p.green(), p.blue()]
    };
    assert_eq!([at(2), at(22), at(42)], [[0, 0, 255], [200, 0, 0], [255, 255, 0]]);
    assert_eq!([at(12), at(32), at(52)], [[255; 3]; 3], "what did not change stays white between");
}

#[test]
fn the_comparison_sees_what_matters() {
    let svg = |a: &str, b: &str| difference(a, b, Tolerance::of("x.svg"));
    let json = |a: &str, b: &str| difference(a, b, Tolerance::of("x.json"));
    assert_eq!(svg("x=\"10.0\" red", "x=\"11.0\" red"), None);
    assert!(svg("x=\"10.0\" red", "x=\"11.2\" red").unwrap().contains("11.2"));
    assert!(svg("x=\"10.0\" red", "x=\"10.0\" blue").is_some());
    assert!(svg("M1 2h3", "M1 2h3v4").is_some());
    assert!(svg("", "x").is_some());
    assert_eq!(json("\"a\": 1.0000000000001e3", "\"a\": 1e3"), None);
    assert!(json("1e-10 a", "2e-10 a").is_some());
    assert!(json("-1.5", "1.5").is_some());
}

/// JSON: the keys a reader of schema 1 relies on, with values in the stated units.
#[test]
fn json_holds_all_numbers_in_stated_units() {
    let made = small();
    let json: serde_json::Value = serde_json::from_str(&report::json(&made)).unwrap();
    assert_eq!(json["schema"], report::SCHEMA);
    let near = |value: &serde_json::Value, wanted: f64| {
        assert!((value.as_f64().unwrap() - wanted).abs() < 1e-9 * wanted.abs().max(1.0), "{value}");
    };
    near(&json["predicted"]["along_rows_mm"], made.measured.along_rows.mean.to_mm());
    near(&json["planned"]["slant_deg"], 45.0);
    let left = &made.measured.edges[0];
    near(&json["edges"]["left"]["slant_deg"], left.slant.to_degrees());
    near(&json["edges"]["left"]["minimum_zone_mm"], left.minimum_zone.to_mm());
    near(&json["edges"]["left"]["zigzag"]["period_mm"], left.zigzag.unwrap().period.to_mm());
    assert_eq!(json["edges"]["right"]["curve"].as_array().unwrap().len(), 37);
    assert_eq!(json["rows"].as_array().unwrap().len(), 36);
    near(&json["yarn"][0]["length_mm"], 482_000.0);
    assert!(json["yarn"][1]["mass_g"].is_null());
    assert_eq!(json["assumptions"][1]["assumed"], true);
    near(&json["solution"]["residual"], 3.1e-10);
    assert_eq!(json["headline"].as_array().unwrap().len(), 4);
}

/// The text report answers the three questions before anything else, within a hundred columns.
#[test]
fn text_answers_first_and_stays_narrow() {
    let mut made = small();
    made.assumptions[1].source = "assumed ".repeat(60) + &"x".repeat(300);
    made.measured.yarn[0].colour = "a colour with a very long name ".repeat(5);
    let text = report::text(&made);
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[3].starts_with("Left edge:"), "{text}");
    assert!(text.find("slant").unwrap() < text.find("planned     predicted").unwrap_or(usize::MAX));
    assert!(text.contains("minimum zone") && text.contains("without margin"));
}

/// A value that is no number must not reach a picture: SVG has no NaN.
#[test]
fn broken_numbers_stay_out_of_pictures() {
    let mut made = small();
    made.measured.cells[3].along = f64::NAN;
    made.measured.cells[4].corners[0] = [f64::NAN, f64::INFINITY];
    made.measured.edges[0].curve[2].off = f64::NAN;
    made.measured.rows[1].slant[0] = slantwise::units::Angle::degrees(f64::NAN);
    made.measured.rows[2].cumulative[1] = slantwise::units::Angle::degrees(f64::INFINITY);
    for picture in report::pictures(&made) {
        assert!(!picture.svg.contains("NaN") && !picture.svg.contains("inf"), "{}", picture.name);
        assert!(report::png(&picture.svg).is_ok(), "{}", picture.name);
    }
    assert!(serde_json::from_str::<serde_json::Value>(&report::json(&made)).is_ok());
}

/// An empty piece draws empty pictures instead of failing.
#[test]
fn a_piece_without_anything_still_draws() {
    let mut made = small();
    made.measured = slantwise::measure::Measurements {
        outline: Vec::new(),
        rows: Vec::new(),
        cells: Vec::new(),
        yarn: Vec::new(),
        ..made.measured
    };
    for edge in &mut made.measured.edges {
        edge.curve.clear();
        edge.benders.clear();
    }
    made.planned = slantwise::predict::Planned::default();
    for picture in report::pictures(&made) {
        assert!(report::png(&picture.svg).is_ok(), "{}", picture.name);
    }
}

/// The page is one file: nothing is fetched, ids are unique, text from the pattern stays text.
#[test]
fn the_html_report_is_self_contained() {
    let mut made = small();
    made.title = "<script>alert(1)</script> & wrap".into();
    made.cautions.push("<b>hot</b>".into());
    let page = report::html(&made);
    assert!(
        !page.contains("<script>alert") && !page.contains("<b>hot"),
        "text from the pattern is escaped"
    );
    assert_eq!(page.matches("<script").count(), 2, "the data and the view's own script");
    assert!(page.contains("default-src 'none'"), "the browser is told to fetch nothing");
    let outside = page.replace("http://www.w3.org/2000/svg", "");
    for mark in ["http:", "https:", "src=", "@import", "url(http", "<link"] {
        assert!(!outside.contains(mark), "{mark}");
    }
    let mut ids: Vec<&str> =
        page.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "ids are unique");
    assert_eq!(page.matches("<figure").count(), report::pictures(&made).len());
    assert_eq!(page.matches("role=\"img\"").count(), report::pictures(&made).len());
    let text = report::headline(&made)[2].clone();
    assert!(page.contains(&text) && page.contains("weaker: from the gauge"));
    assert_eq!(page, report::html(&made));
}

/// Printed at full size: one picture unit is a millimetre, text stays on the paper, and the pieces of
/// the outline that the sheets show add up to the whole.
#[test]
fn full_size_sheets_are_to_scale() {
    let made = small();
    let sheets = report::full_size(&made, report::Paper::A4);
    assert!(sheets.len() > 1, "{}", sheets.len());
    for sheet in &sheets {
        assert!(sheet.svg.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
        super::legible::check_at_least(&sheet.name, &sheet.svg, 2);
        // The left edge's chord, measured on the drawing.
        let path = sheet.svg.split("<path d=\"M").nth(1).unwrap().split('"').next().unwrap();
        let points: Vec<[f64; 2]> = path
            .trim_end_matches('Z')
            .split('L')
            .map(|p| {
                let mut numbers = p.split(' ').map(|n| n.parse().unwrap());
                [numbers.next().unwrap(), numbers.next().unwrap()]
            })
            .collect();
        assert_eq!(points.len(), made.measured.outline.len());
        for (drawn, real) in points.windows(2).zip(made.measured.outline.windows(2)) {
            let length = |p: &[[f64; 2]]| (p[0][0] - p[1][0]).hypot(p[0][1] - p[1][1]);
            assert!((length(drawn) - length(real)).abs() < 0.15, "{drawn:?} {real:?}");
        }
    }
}

/// OBJ: every cell is a face, neighbours share vertices, indices exist.
#[test]
fn obj_shares_vertices_between_cells() {
    let made = small();
    let obj = report::obj(&made);
    let vertices = obj.lines().filter(|l| l.starts_with("v ")).count();
    let faces: Vec<&str> = obj.lines().filter(|l| l.starts_with("f ")).collect();
    assert_eq!(faces.len(), 14 * 36);
    assert_eq!(vertices, 15 * 37);
    let indices = faces.iter().flat_map(|f| f[2..].split(' ')).map(|i| i.parse::<usize>().unwrap());
    assert_eq!(indices.clone().max(), Some(vertices));
    assert_eq!(indices.min(), Some(1));
}

/// A page of 25 000 stitches stays small enough to send by mail.
#[test]
fn the_html_report_of_a_large_piece_stays_small() {
    let made = prediction(&Shape { stitches: 80, rows: 313, ..WRAP });
    let bytes = report::html(&made).len();
    assert!(bytes < 2_000_000, "{bytes} bytes");
    let hung = report::hanging_html(&hanging(&Shape { stitches: 80, rows: 313, ..WRAP })).len();
    assert!(hung < 5_000_000, "{hung} bytes hung");
    let blocks = blocked(&Shape { stitches: 80, rows: 313, ..WRAP }, 5);
    let blocked = report::blocking_html(&blocks).len();
    assert!(blocked < 5_000_000, "{blocked} bytes blocked, five allowances");
}
