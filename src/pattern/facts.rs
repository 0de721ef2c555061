//! Gauge, size, yarn, tool and title from the page's own lines.

use super::header::Gauge;
use super::header::GaugeState;
use super::header::Header;
use super::header::Origin;
use super::header::PlannedSize;
use super::header::Stated;
use super::header::Yarn;
use super::quantity::Quantity;
use super::quantity::Unit;
use super::quantity::quantities;
use super::section::Topic;
use super::token::Kind;
use super::token::cut;
use super::vocabulary::Context;
use super::vocabulary::height_at;
use crate::source::Span;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Adds what the page's lines say to what the front matter left open.
pub(super) fn read(
    header: &mut Header,
    text: &str,
    lower: &str,
    facts: &[(Topic, Span)],
    cx: &Context,
) {
    let (own_gauge, own_yarn) = (header.gauges.is_empty(), header.yarns.is_empty());
    let mut units_seen = false;
    for &(topic, span) in facts {
        let words = lower.get(span.range()).unwrap_or("");
        if header.units.origin != Origin::FrontMatter
            && matches!(topic, Topic::Gauge | Topic::Size)
            && !units_seen
        {
            units_seen = units(header, words, span);
        }
        match topic {
            Topic::Gauge if own_gauge => header.gauges.extend(gauges(words, span, cx)),
            Topic::Size => {
                size_line(&mut header.planned, &of_size(words, header.size as usize), span)
            }
            Topic::Materials => materials(header, text, words, span, own_yarn),
            Topic::Title if header.title.is_none() => {
                let value = text.get(span.range()).unwrap_or("");
                let value =
                    value.split_once([':', '-']).map_or(value, |(_, v)| v).trim().to_owned();
                header.title = Some(Stated { value, origin: Origin::Text, span });
            }
            Topic::Opening if header.title.is_none() => {
                let value = text.get(span.range()).unwrap_or("").trim().to_owned();
                if value.len() < 80 && !value.is_empty() {
                    header.title = Some(Stated { value, origin: Origin::Text, span });
                }
            }
            _ => {}
        }
    }
}

/// The units of the first length on a gauge or size line are the page's.
fn units(header: &mut Header, words: &str, span: Span) -> bool {
    let first = quantities(words).into_iter().find(|q| q.length().is_some());
    let Some(q) = first else { return false };
    let value = match q.unit {
        Unit::Inch | Unit::Yard | Unit::Foot => UnitSystem::Imperial,
        _ => UnitSystem::Metric,
    };
    header.units = Stated { value, origin: Origin::Text, span };
    true
}

/// The gauges of one line, parted by semicolons where each part counts stitches of its own: "16 hdc and 12
/// rows = 4 in with larger hook; 18 sc and 20 rows = 4 in with smaller hook".
fn gauges(words: &str, span: Span, cx: &Context) -> Vec<Gauge> {
    let mut at = span.start;
    let mut parts = Vec::new();
    for part in words.split(';') {
        let own = Span::new(at, at + part.len() as u32);
        at = own.end + 1;
        parts.extend(gauge(part, own, Origin::Text, cx));
    }
    if parts.len() > 1 && parts.iter().all(|g| g.stitches.is_some()) {
        return parts;
    }
    gauge(words, span, Origin::Text, cx).into_iter().collect()
}

/// A gauge in one line or string.
pub(super) fn gauge(words: &str, span: Span, origin: Origin, cx: &Context) -> Option<Gauge> {
    let found = quantities(words);
    let tokens = cut(words, 0);
    let rows = found.iter().find(|q| q.unit == Unit::Rows || counts_rows(words, q));
    let lengths: Vec<&Quantity> = found.iter().filter(|q| q.length().is_some()).collect();
    let counted = found
        .iter()
        .find(|q| q.unit == Unit::Stitches)
        .or_else(|| found.iter().find(|q| q.unit == Unit::None && names_group(words, q.end)));
    const PER_INCH: [&str; 8] =
        ["to the inch", "per inch", "to 1 inch", "/inch", "/ inch", "/in", "to an inch", "an inch"];
    let per_inch = PER_INCH.iter().any(|w| words.contains(w));
    let first = match lengths.first() {
        Some(q) => q.length(),
        None if per_inch => Some(Length::inches(1.0)),
        None => None,
    }?;
    if counted.is_none() && rows.is_none() {
        let (state, state_stated) = state(words);
        let whole = whole(words, &found, first)?;
        return Some(Gauge { state, state_stated, origin, span, ..whole });
    }
    let after = |q: &Quantity| {
        lengths.iter().find(|l| l.start >= q.end).and_then(|l| l.length()).unwrap_or(first)
    };
    let (state, state_stated) = state(words);
    let group = counted.filter(|q| q.unit == Unit::None).map(|q| group_word(words, q.end));
    let post = group
        .as_deref()
        .and_then(|w| height_at(cx, &cut(w, 0), 0))
        .map(|(h, _)| h.name().to_owned());
    let unit = if post.is_some() { "sts".into() } else { group.unwrap_or_else(|| "sts".into()) };
    let within = within(words, &tokens, cx).or(post).unwrap_or_else(|| "pattern".into());
    Some(Gauge {
        stitches: counted.map(|q| q.value).filter(|&v| v > 0.0),
        stitches_over: counted.map_or(first, after),
        rows: rows.map(|q| q.value).filter(|&v| v > 0.0),
        rows_over: rows.map_or(first, after),
        within,
        unit,
        state,
        state_stated,
        origin,
        span,
    })
}

/// "6 dc rows".
fn counts_rows(words: &str, q: &Quantity) -> bool {
    let mut after = words[q.end..].split_whitespace();
    let stitch = after.next().is_some_and(|w| w.chars().all(char::is_alphabetic));
    q.unit == Unit::None
        && stitch
        && after
            .next()
            .is_some_and(|w| ["row", "rows"].contains(&w.trim_end_matches(['.', ',', ';'])))
}

/// A gauge by the size of a whole ("square = 6 in", "each block = 2 in"), or across the first rounds
/// ("rnds 1-3 = 4 in"): these lie from the centre to the rim, half of it.
fn whole(words: &str, found: &[Quantity], size: Length) -> Option<Gauge> {
    const WHOLES: [&str; 7] =
        ["square", "motif", "block", "tile", "hexagon", "circle", "medallion"];
    let mut parts = words.split(|c: char| !c.is_alphabetic());
    let rounds = words
        .split(|c: char| !c.is_alphabetic())
        .any(|w| ["rnd", "rnds", "round", "rounds"].contains(&w));
    let unit = parts.find_map(|w| WHOLES.into_iter().find(|name| w.trim_end_matches('s') == *name));
    let last = found.iter().filter(|q| matches!(q.unit, Unit::None | Unit::Rows)).map(|q| q.value);
    let last = last.fold(0.0, f64::max);
    let (stitches, rows, rows_over) = match unit {
        Some(_) => (Some(1.0), None, size),
        None if rounds && last > 0.0 => (None, Some(last), size / 2.0),
        None => return None,
    };
    Some(Gauge {
        stitches,
        stitches_over: size,
        rows,
        rows_over,
        within: "pattern".into(),
        unit: unit.unwrap_or("sts").into(),
        state: GaugeState::default(),
        state_stated: false,
        origin: Origin::Default,
        span: Span::default(),
    })
}

fn names_group(words: &str, end: usize) -> bool {
    group_word(words, end).len() > 1 && !words[end..].trim_start().starts_with(['x', '=', '/'])
}

/// What a gauge counts: "shells", "ch-5 loops".
fn group_word(words: &str, end: usize) -> String {
    let rest = words[end..].trim_start_matches([' ', '-']);
    let name = |c: char| c.is_alphabetic() || c == '-';
    let word = rest.split(|c| !name(c)).next().unwrap_or_default();
    let links = rest[word.len()..].trim_start().trim_start_matches(|c: char| c.is_ascii_digit());
    let of_links = word.trim_end_matches('-') == "ch" && links.starts_with(' ');
    let loops = links.trim_start().split(|c| !name(c)).next().unwrap_or_default();
    if !of_links || loops.is_empty() {
        return word.to_owned();
    }
    let end = rest.len() - links.trim_start().len() + loops.len();
    rest[..end].to_owned()
}

/// Words that say which state the swatch was measured in.
pub(super) fn state(words: &str) -> (GaugeState, bool) {
    if words.contains("before block")
        || words.contains("unblocked")
        || words.contains("as worked")
        || words.contains("not blocked")
    {
        (GaugeState::Worked, true)
    } else if ["blocked", "blocking", "after block"].iter().any(|w| words.contains(w)) {
        (GaugeState::Blocked, true)
    } else if words.contains("wash") {
        (GaugeState::Washed, true)
    } else {
        (GaugeState::Washed, false)
    }
}

/// The stitch a gauge is in: "in dc", "over garter stitch", "of sc".
fn within(words: &str, t: &[super::token::Token<'_>], cx: &Context) -> Option<String> {
    for k in 0..t.len() {
        if !t[k].any(&["in", "over", "of", "using", "with"]) {
            continue;
        }
        if let Some((height, _)) = height_at(cx, t, k + 1) {
            return Some(height.name().to_owned());
        }
        let rest: Vec<&str> =
            t[k + 1..].iter().take_while(|t| t.kind == Kind::Word).map(|t| t.text).collect();
        let rest = rest.join(" ");
        for fabric in [
            "garter",
            "reverse stockinette",
            "stockinette",
            "stocking",
            "moss",
            "seed",
            "rib",
            "pattern",
            "st st",
        ] {
            if rest.starts_with(fabric) {
                return Some(if fabric == "st st" || fabric == "stocking" {
                    "stockinette".into()
                } else {
                    fabric.into()
                });
            }
        }
    }
    let counted = ["sc", "hdc", "dc", "tr", "htr", "dtr"];
    let k = (1..t.len()).find(|&k| t[k].any(&counted) && t[k - 1].number().is_some())?;
    let _ = words;
    height_at(cx, t, k).map(|(height, _)| height.name().to_owned())
}

/// `24 (28, 32)" wide` with the number of one size kept, the first where there are fewer; byte for byte as
/// long as before.
fn of_size(words: &str, size: usize) -> String {
    let mut kept = words.to_owned();
    let mut at = 0;
    while let Some(open) = words[at..].find('(').map(|k| at + k) {
        let Some(close) = words[open..].find(')').map(|k| open + k) else { break };
        at = close + 1;
        let before = words[..open].trim_end();
        let own = before.len() - before.bytes().rev().take_while(|b| numeral(*b)).count();
        let others: Vec<&str> =
            words[open + 1..close].split([',', ':', ';']).map(str::trim).collect();
        let lists = others.iter().all(|n| !n.is_empty() && n.bytes().all(numeral));
        if own == before.len() || !lists || before[own..].starts_with('.') {
            continue;
        }
        let other = size.checked_sub(1).and_then(|k| others.get(k));
        let chosen = other.map_or(&before[own..], |n| *n);
        kept.replace_range(own..=close, &format!("{chosen:<width$}", width = close + 1 - own));
    }
    kept
}

fn numeral(byte: u8) -> bool {
    byte.is_ascii_digit() || byte == b'.'
}

/// A size line: "12 x 60 in", "30 cm wide and 150 cm long", "slant 45 degrees".
pub(super) fn size_line(planned: &mut PlannedSize, words: &str, span: Span) {
    let stated = |value| Some(Stated { value, origin: Origin::Text, span });
    let found = quantities(words);
    let lengths: Vec<&Quantity> = found.iter().filter(|q| q.length().is_some()).collect();
    let near = |q: &Quantity, names: &[&str]| {
        let next = found.iter().find(|n| n.start > q.start).map_or(words.len(), |n| n.start);
        let after = words.get(q.end..next).unwrap_or("");
        names.iter().any(|n| after.contains(n))
    };
    // "Width 40 cm, length 160 cm" names a side before its length, where none is named after one.
    const WIDE: [&str; 5] = ["wide", "width", "across", "deep", "wingspan"];
    const LONG: [&str; 6] = ["long", "length", "tall", "high", "circumference", "depth"];
    let named_after = lengths.iter().any(|q| near(q, &["wide", "across", "deep", "long", "tall"]));
    let leads = |q: &Quantity, names: &[&str]| {
        let last = found.iter().rev().find(|n| n.end <= q.start).map_or(0, |n| n.end);
        let before = words.get(last..q.start).unwrap_or("");
        !named_after && names.iter().any(|n| before.contains(n))
    };
    for q in &lengths {
        let value = q.length();
        if leads(q, &WIDE) && planned.square_to_edge.is_none() {
            planned.square_to_edge = value.and_then(stated);
            continue;
        }
        if leads(q, &LONG) && planned.along_edge.is_none() {
            planned.along_edge = value.and_then(stated);
            continue;
        }
        // A triangle is so wide across its top and so deep along its spine.
        let deep = near(q, &["deep", "depth"]) && planned.square_to_edge.is_some();
        if deep && planned.along_edge.is_none() {
            planned.along_edge = value.and_then(stated);
        } else if near(q, &WIDE) && planned.square_to_edge.is_none() {
            planned.square_to_edge = value.and_then(stated);
        } else if near(q, &LONG) && planned.along_edge.is_none() {
            planned.along_edge = value.and_then(stated);
        }
    }
    if let Some(q) = found.iter().find(|q| q.unit == Unit::Degrees) {
        planned.slant = planned.slant.take().or(Some(Stated {
            value: Angle::degrees(q.value),
            origin: Origin::Text,
            span,
        }));
    }
    if let [only] = lengths.as_slice()
        && near(only, &["square"])
        && planned.square_to_edge.is_none()
        && planned.along_edge.is_none()
    {
        planned.square_to_edge = only.length().and_then(stated);
        planned.along_edge = only.length().and_then(stated);
    }
    let pair = lengths.windows(2).find(|w| {
        let between = words.get(w[0].end..w[1].start).unwrap_or("").trim();
        matches!(between, "x" | "by" | "×" | "w x" | "wide x" | "wide by")
    });
    if let Some(pair) = pair
        && planned.square_to_edge.is_none()
        && planned.along_edge.is_none()
    {
        planned.square_to_edge = pair[0].length().and_then(stated);
        planned.along_edge = pair[1].length().and_then(stated);
        let raw = words.get(pair[0].start..pair[1].end).unwrap_or("");
        planned.read_as =
            Some(format!("`{raw}` was read as square to the edges by along the edges"));
    }
}

/// Yarn and tool lines.
fn materials(header: &mut Header, text: &str, words: &str, span: Span, yarns: bool) {
    let found = quantities(words);
    if (words.contains("hook") || words.contains("needle")) && header.tool.is_none() {
        if let Some(q) = found.iter().find(|q| q.unit == Unit::Mm) {
            header.tool = q.length().map(|value| Stated { value, origin: Origin::Text, span });
        }
        return;
    }
    let mass = found.iter().find_map(Quantity::mass);
    let length = found
        .iter()
        .find(|q| matches!(q.unit, Unit::Metre | Unit::Yard))
        .and_then(Quantity::length);
    let balls = found.iter().any(|q| q.unit == Unit::Balls);
    let lettered = balls && !letter(text.get(span.range()).unwrap_or("")).is_empty();
    if !yarns || (mass.is_none() && length.is_none() && !lettered) {
        return;
    }
    let masses = found.iter().filter(|q| q.mass().is_some()).count();
    let letters = |part: &str| !letter(&part.to_ascii_uppercase()).is_empty();
    let commas = words.split(',').count() == masses && words.split(',').all(letters);
    let mark = if commas { ',' } else { ';' };
    let parts = words.split(mark).count();
    if parts > 1 && masses >= parts {
        let mut at = span.start;
        for part in words.split(mark) {
            let own = Span::new(at, at + part.len() as u32);
            materials(header, text, part, own, yarns);
            at += part.len() as u32 + 1;
        }
        return;
    }
    let written = text.get(span.range()).unwrap_or("");
    header.yarns.push(Yarn {
        name: letter(written),
        ball_length: length,
        ball_mass: mass,
        weight: weight(words),
        fibre: fibre(words),
        balls: found.iter().find(|q| q.unit == Unit::Balls).map(|q| q.value),
        origin: Origin::Text,
        span,
        ..Yarn::default()
    });
}

fn letter(written: &str) -> String {
    let words = written.split(|c: char| !c.is_alphanumeric());
    words
        .filter(|w| super::colour::is_letter_code(w) && !w.is_empty())
        .find(|w| !matches!(*w, "DK" | "US" | "UK" | "G" | "M"))
        .unwrap_or("")
        .to_owned()
}

fn weight(words: &str) -> Option<String> {
    [
        "super bulky",
        "bulky",
        "chunky",
        "aran",
        "worsted",
        "light worsted",
        "dk",
        "double knitting",
        "sport",
        "fingering",
        "sock",
        "4 ply",
        "4-ply",
        "lace",
    ]
    .iter()
    .find(|w| words.contains(**w))
    .map(|w| (*w).to_owned())
}

fn fibre(words: &str) -> Option<String> {
    let found: Vec<&str> = [
        "merino", "wool", "cotton", "linen", "silk", "alpaca", "acrylic", "mohair", "bamboo",
        "nylon", "cashmere",
    ]
    .into_iter()
    .filter(|w| words.contains(w))
    .collect();
    (!found.is_empty()).then(|| found.join(", "))
}
