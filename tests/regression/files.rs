//! Reports and meshes in formats of others: what is written must be what a reader of the format finds.

use std::collections::BTreeMap;
use std::io::Read;

use super::fixture::{Shape, WRAP, prediction};
use serde_json::Value;
use slantwise::predict::Prediction;
use slantwise::report;

fn small() -> Prediction {
    prediction(&Shape { stitches: 14, rows: 36, ..WRAP })
}

fn unpacked(text: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        _ => panic!("{c} is no letter of base64"),
    };
    let mut out = Vec::new();
    let letters: Vec<u8> = text.trim_end_matches('=').bytes().map(value).collect();
    for four in letters.chunks(4) {
        let bits =
            four.iter().enumerate().fold(0u32, |b, (k, v)| b | u32::from(*v) << (18 - 6 * k));
        out.extend_from_slice(&bits.to_be_bytes()[1..four.len()]);
    }
    out
}

/// glTF: buffers hold what the accessors say, every index exists, and the faces cover the piece.
#[test]
fn gltf_holds_what_its_accessors_say() {
    let made = small();
    let scene: Value = serde_json::from_str(&report::gltf(&made)).unwrap();
    assert_eq!(scene["asset"]["version"], "2.0");
    let uri = scene["buffers"][0]["uri"].as_str().unwrap();
    let bytes = unpacked(uri.strip_prefix("data:application/octet-stream;base64,").unwrap());
    assert_eq!(scene["buffers"][0]["byteLength"], bytes.len());
    let part = |accessor: &Value| {
        let view = &scene["bufferViews"][accessor["bufferView"].as_u64().unwrap() as usize];
        let start = view["byteOffset"].as_u64().unwrap_or(0) as usize;
        let end = start + view["byteLength"].as_u64().unwrap() as usize;
        bytes[start..end].as_chunks::<4>().0.to_vec()
    };
    let positions: Vec<f32> =
        part(&scene["accessors"][0]).into_iter().map(f32::from_le_bytes).collect();
    assert_eq!(positions.len(), 3 * 15 * 37);
    assert_eq!(scene["accessors"][0]["count"], 15 * 37);
    let most = positions.iter().step_by(3).copied().fold(f32::MIN, f32::max);
    assert!((scene["accessors"][0]["max"][0].as_f64().unwrap() - f64::from(most)).abs() < 1e-7);
    let mut area = 0.0;
    for primitive in scene["meshes"][0]["primitives"].as_array().unwrap() {
        let accessor = &scene["accessors"][primitive["indices"].as_u64().unwrap() as usize];
        let indices: Vec<usize> =
            part(accessor).into_iter().map(|b| u32::from_le_bytes(b) as usize).collect();
        assert_eq!(accessor["count"], indices.len());
        for [a, b, c] in indices.as_chunks::<3>().0 {
            let at = |i: &usize| [positions[3 * i], positions[3 * i + 1]].map(f64::from);
            let ([ax, ay], [bx, by], [cx, cy]) = (at(a), at(b), at(c));
            let own = ((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2.0;
            assert!(own > 0.0, "faces are turned to the viewer of the right side");
            area += own;
        }
        assert!(scene["materials"][primitive["material"].as_u64().unwrap() as usize].is_object());
    }
    let outline = &made.measured.outline;
    let shoelace: f64 = (0..outline.len())
        .map(|i| {
            let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % outline.len()]);
            (ax * by - bx * ay) / 2e6
        })
        .sum();
    assert!((area / shoelace - 1.0).abs() < 1e-4, "{area} m2 of {shoelace} m2");
}

/// Streams of a PDF, inflated where they are packed.
fn streams(pdf: &[u8]) -> Vec<Vec<u8>> {
    let find = |from: usize, what: &[u8]| {
        pdf[from..].windows(what.len()).position(|w| w == what).map(|at| from + at)
    };
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(start) = find(from, b"stream\n") {
        let start = start + 7;
        let Some(end) = find(start, b"endstream") else { break };
        let mut plain = Vec::new();
        let packed = &pdf[start..end];
        match flate2::read::ZlibDecoder::new(packed).read_to_end(&mut plain) {
            Ok(_) => found.push(plain),
            Err(_) => found.push(packed.to_vec()),
        }
        from = end + 9;
    }
    found
}

/// Hexadecimal strings `<...>` of a line.
fn hexes(line: &str) -> Vec<&str> {
    line.split('<').skip(1).filter_map(|rest| rest.split('>').next()).collect()
}

fn letters(hex: &str) -> String {
    let units: Vec<u16> = hex
        .as_bytes()
        .chunks(4)
        .filter_map(|c| u16::from_str_radix(std::str::from_utf8(c).ok()?, 16).ok())
        .collect();
    String::from_utf16_lossy(&units)
}

/// The tables that say which letters the glyphs of a font stand for (ISO 32000-1, 9.10.3).
fn glyph_maps(streams: &[Vec<u8>]) -> Vec<BTreeMap<u16, String>> {
    let text = |s: &Vec<u8>| String::from_utf8_lossy(s).into_owned();
    let tables = streams.iter().map(text).filter(|s| s.contains("begincmap"));
    let one = |table: String| {
        let mut map = BTreeMap::new();
        let mut within = false;
        for line in table.lines() {
            match hexes(line).as_slice() {
                _ if line.contains("beginbfchar") => within = true,
                _ if line.contains("endbfchar") => within = false,
                [glyph, to] if within => {
                    map.insert(u16::from_str_radix(glyph, 16).unwrap(), letters(to));
                }
                _ => {}
            }
        }
        map
    };
    tables.map(one).collect()
}

/// Bytes of the strings a content stream shows, `(...)` with escapes, in order.
fn shown(content: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut bytes = content.iter().copied().peekable();
    let mut deep = 0;
    while let Some(b) = bytes.next() {
        match (deep, b) {
            (0, b'(') => deep = 1,
            (0, _) => {}
            (1, b')') => deep = 0,
            (_, b'(') => {
                deep += 1;
                out.push(b);
            }
            (_, b')') => {
                deep -= 1;
                out.push(b);
            }
            (_, b'\\') => match bytes.next() {
                Some(b'n') => out.push(b'\n'),
                Some(b'r') => out.push(b'\r'),
                Some(b't') => out.push(b'\t'),
                Some(b'b') => out.push(8),
                Some(b'f') => out.push(12),
                Some(first @ b'0'..=b'7') => {
                    let mut value = u32::from(first - b'0');
                    for _ in 0..2 {
                        if let Some(d @ b'0'..=b'7') = bytes.peek().copied() {
                            value = value * 8 + u32::from(d - b'0');
                            bytes.next();
                        }
                    }
                    out.push(value as u8);
                }
                Some(other) => out.push(other),
                None => {}
            },
            _ => out.push(b),
        }
    }
    out
}

/// All text of a PDF, by each font's own table, blanks left out.
fn text_of(pdf: &[u8]) -> String {
    let streams = streams(pdf);
    let maps = glyph_maps(&streams);
    assert!(!maps.is_empty(), "no font says what its glyphs mean");
    let mut text = String::new();
    for content in streams.iter().filter(|s| s.windows(3).any(|w| w == b"BT ")) {
        let bytes = shown(content);
        for map in &maps {
            for pair in bytes.as_chunks::<2>().0 {
                text += map.get(&u16::from_be_bytes(*pair)).map_or("?", String::as_str);
            }
            text.push('\n');
        }
    }
    text.retain(|c| !c.is_whitespace());
    text
}

#[cfg(feature = "pdf")]
#[test]
fn the_pdf_says_what_the_page_says_in_text_that_can_be_searched() {
    let made = small();
    let pdf = report::pdf(&made).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    assert_eq!(pdf, report::pdf(&made).unwrap(), "same piece, same bytes");
    let text = text_of(&pdf);
    for words in [
        report::headline(&made)[0].as_str(),
        "Planned and predicted",
        "Assumed",
        "Wrap, row 36",
        "Open mesh can catch small fingers",
    ] {
        let words: String = words.split_whitespace().collect();
        let start: String = words.chars().take(24).collect();
        assert!(text.contains(&start), "{start} is not in the text: {text:.2000}");
    }
    assert!(pdf.len() < 2_000_000, "{} bytes", pdf.len());
}
