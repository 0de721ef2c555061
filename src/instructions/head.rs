//! The facts that stand before the instructions, as front matter.

use std::fmt::Write;

use super::names::Names;
use crate::pattern::CraftWord;
use crate::pattern::Gauge;
use crate::pattern::GaugeState;
use crate::pattern::Header;
use crate::pattern::Terms;
use crate::pattern::Yarn;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::Post;
use crate::units::Length;
use crate::units::UnitSystem;

/// The front matter that gives the facts of `header`, stitch names in `terms`.
pub(super) fn front_matter(piece: &Piece, header: &Header, terms: Terms) -> String {
    let mut out = String::from("+++\n");
    if let Some(title) = &header.title {
        let _ = writeln!(out, "title = {}", quoted(&title.value));
    }
    let craft = match header.craft.value {
        _ if piece.craft == Craft::Knit => CraftWord::Knit,
        _ => CraftWord::Crochet,
    };
    let craft = if craft == CraftWord::Knit { "knit" } else { "crochet" };
    let _ = writeln!(out, "craft = \"{craft}\"");
    let _ = writeln!(out, "terms = \"{}\"", if terms == Terms::Uk { "UK" } else { "US" });
    let units = header.units.value;
    let word = if units == UnitSystem::Imperial { "imperial" } else { "metric" };
    let _ = writeln!(out, "units = \"{word}\"");
    gauges(&mut out, header, terms);
    if let Some(tool) = &header.tool {
        let name = if craft == "knit" { "needle" } else { "hook" };
        let _ = writeln!(out, "{name} = {}", number(tool.value.to_mm()));
    }
    if let Some(blocking) = &header.blocking {
        let _ = writeln!(out, "blocking = {}", quoted(&blocking.value));
    }
    planned(&mut out, header);
    maker(&mut out, header);
    for yarn in &header.yarns {
        yarn_table(&mut out, yarn);
    }
    unlisted(&mut out, piece, header);
    out.push_str("+++\n\n");
    // The first free line of a page is its title; without one the first section's name would be taken for it.
    if let Some(title) = &header.title {
        let _ = writeln!(out, "{}\n", title.value.split_whitespace().collect::<Vec<_>>().join(" "));
    }
    out
}

fn gauges(out: &mut String, header: &Header, terms: Terms) {
    if header.gauges.is_empty() {
        return;
    }
    out.push_str("gauge = [\n");
    for gauge in &header.gauges {
        let _ = writeln!(out, "  {{ {} }},", gauge_facts(gauge, header, terms).join(", "));
    }
    out.push_str("]\n");
}

fn gauge_facts(gauge: &Gauge, header: &Header, terms: Terms) -> Vec<String> {
    let units = header.units.value;
    let mut facts = Vec::new();
    if let Some(n) = gauge.stitches {
        facts.push(format!("stitches = {}", number(n)));
    }
    if let Some(n) = gauge.rows {
        facts.push(format!("rows = {}", number(n)));
    }
    facts.push(format!("over = {}", length(gauge.stitches_over, units)));
    if gauge.rows_over != gauge.stitches_over {
        facts.push(format!("rows_over = {}", length(gauge.rows_over, units)));
    }
    let within = renamed(&gauge.within, header.terms.value, terms);
    facts.push(format!("in = {}", quoted(&within)));
    if gauge.state_stated {
        let state = match gauge.state {
            GaugeState::Worked => "worked",
            GaugeState::Washed => "washed",
            GaugeState::Blocked => "blocked",
        };
        facts.push(format!("state = \"{state}\""));
    }
    facts
}

/// Stitch names among `words` in other terms.
fn renamed(words: &str, from: Terms, to: Terms) -> String {
    const POSTS: [Post; 6] = [
        Post::Single,
        Post::HalfDouble,
        Post::Double,
        Post::Treble,
        Post::DoubleTreble,
        Post::TripleTreble,
    ];
    let name = |terms, post| Names { terms, craft: Craft::Crochet, page: "" }.post(post);
    let one = |word: &str| {
        let post = POSTS.iter().find(|&&p| name(from, p) == word.to_ascii_lowercase());
        post.map_or_else(|| word.to_owned(), |&p| name(to, p).to_owned())
    };
    words.split(' ').map(one).collect::<Vec<_>>().join(" ")
}

fn planned(out: &mut String, header: &Header) {
    let (p, units) = (&header.planned, header.units.value);
    let mut facts = Vec::new();
    for (key, value) in [
        ("along-row", &p.along_row),
        ("square-to-edge", &p.square_to_edge),
        ("along-edge", &p.along_edge),
    ] {
        if let Some(value) = value {
            facts.push(format!("{key} = {}", length(value.value, units)));
        }
    }
    if let Some(slant) = &p.slant {
        facts.push(format!("slant = {}", number(slant.value.to_degrees())));
    }
    if !facts.is_empty() {
        let _ = writeln!(out, "planned = {{ {} }}", facts.join(", "));
    }
}

fn maker(out: &mut String, header: &Header) {
    let m = &header.maker;
    let mut facts = Vec::new();
    for (key, value) in [("hand", m.hand), ("drift", m.drift), ("noise", m.noise)] {
        if let Some(value) = value {
            facts.push(format!("{key} = {}", number(value)));
        }
    }
    if let Some(seed) = m.seed {
        facts.push(format!("seed = {seed}"));
    }
    if !facts.is_empty() {
        let _ = writeln!(out, "maker = {{ {} }}", facts.join(", "));
    }
}

/// Yarns that rows name and the page does not list; what is used when none is named goes without saying.
fn unlisted(out: &mut String, piece: &Piece, header: &Header) {
    let usual = header.yarns.first().map(|y| y.name.as_str()).filter(|n| !n.is_empty());
    let usual = usual.unwrap_or("MC");
    if piece.colours.iter().all(|c| c.eq_ignore_ascii_case(usual)) {
        return;
    }
    let listed = |colour: &str| {
        let own = |y: &Yarn| y.colour.as_deref().is_some_and(|c| c.eq_ignore_ascii_case(colour));
        header.yarns.iter().any(|y| y.name.eq_ignore_ascii_case(colour) || own(y))
    };
    for colour in piece.colours.iter().filter(|c| !listed(c)) {
        let _ = write!(out, "\n[[yarn]]\nname = {}\n", quoted(colour));
    }
}

fn yarn_table(out: &mut String, yarn: &Yarn) {
    out.push_str("\n[[yarn]]\n");
    if !yarn.name.is_empty() {
        let _ = writeln!(out, "name = {}", quoted(&yarn.name));
    }
    for (key, value) in [("colour", &yarn.colour), ("weight", &yarn.weight), ("fibre", &yarn.fibre)]
    {
        if let Some(value) = value {
            let _ = writeln!(out, "{key} = {}", quoted(value));
        }
    }
    let mass = yarn.ball_mass.map(|m| format!("{} g", number(m.to_grams())));
    let metres = yarn.ball_length.map(|l| format!("{} m", number(l.to_m())));
    let ball: Vec<String> = mass.into_iter().chain(metres).collect();
    if !ball.is_empty() {
        let _ = writeln!(out, "ball = \"{}\"", ball.join(" / "));
    }
    if let Some(balls) = yarn.balls {
        let _ = writeln!(out, "balls = {}", number(balls));
    }
    if let Some(mass) = yarn.at_hand {
        let _ = writeln!(out, "grams = {}", number(mass.to_grams()));
    }
    if let Some([r, g, b]) = yarn.display {
        let _ = writeln!(out, "display = \"#{r:02x}{g:02x}{b:02x}\"");
    }
}

/// A length in the units of the page.
fn length(length: Length, units: UnitSystem) -> String {
    match units {
        UnitSystem::Imperial => format!("\"{} in\"", number(length.to_mm() / 25.4)),
        UnitSystem::Metric => format!("\"{} cm\"", number(length.to_mm() / 10.0)),
    }
}

/// At most four places, no zeros at the end.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A TOML string.
fn quoted(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("\"{}\"", clean.replace('\\', "\\\\").replace('"', "\\\""))
}
