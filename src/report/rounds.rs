//! A piece of closed rounds: whether it lies flat, round by round, and how it rests on a table.

use std::fmt::Write as _;

use super::Picture;
use super::json::{SCHEMA, said, units_word};
use super::numbers::{rests, solved, written};
use super::space::{Eye, Seen, views};
use super::surface::Surface;
use super::words;
use crate::measure::YarnUse;
use crate::predict::ClosedPiece;
use crate::predict::OnTheTable;
use crate::predict::RoundFit;
use crate::predict::heights_a_round;
use crate::units::Angle;
use crate::units::Length;
use serde_json::json;

/// The answer, the rounds beside flat circles, and what it rests on.
pub fn rounds_text(piece: &ClosedPiece) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}: worked in closed rounds\n", piece.title);
    for sentence in headline(piece) {
        let _ = writeln!(out, "  {sentence}");
    }
    lined(&mut out, &compared(piece));
    match piece.table {
        Some(_) => out.push_str(&format!("\n{}\n", rule(piece))),
        None => out.push_str("  (rounds like the one before are left out)\n"),
    }
    let _ = writeln!(out, "\n{}", words::YARN_NOTE);
    for line in yarn(piece) {
        let _ = writeln!(out, "  {line}");
    }
    let _ = writeln!(out, "\nSizes are as {}. Stated, published or assumed:", piece.gauge_state);
    for a in &piece.assumptions {
        let _ = writeln!(out, "  {}: {}; {}", a.what, a.value, a.source);
    }
    let _ = writeln!(out, "\nCautions");
    for caution in &piece.cautions {
        let _ = writeln!(out, "  {caution}");
    }
    if let Some(table) = &piece.table {
        closing(&mut out, table);
    }
    out
}

/// Yarn by colour.
pub(super) fn yarn(piece: &ClosedPiece) -> Vec<String> {
    let line = |used: &YarnUse| {
        let mass = used.mass.map(|m| format!(", {:.0} g", m.to_grams())).unwrap_or_default();
        let name = if used.colour.is_empty() { "yarn" } else { &used.colour };
        format!("{name}: {}{mass}", words::yarn(piece.units, used.length))
    };
    piece.yarn.iter().map(line).collect()
}

fn closing(out: &mut String, table: &OnTheTable) {
    let _ = writeln!(out, "\n{}\n\n{}", not_modelled(table), solved_in(table));
}

/// What a rest on a table is one of.
pub(super) fn not_modelled(table: &OnTheTable) -> String {
    let stays = if table.raised {
        "and stays as it then lies unless a raised start finds a rest of less energy, by more than friction on \
         the table can take."
    } else {
        "and this is how it then lies. Whether it has a rest of less energy that it would find if it were raised \
         was not looked at; --table does, in some minutes."
    };
    format!(
        "The piece is laid down flat {stays} Where it can give way in several manners (dome or bowl, more or \
         fewer waves) this is one of them. Not modelled: layers touching each other."
    )
}

/// How the rest was found.
pub(super) fn solved_in(table: &OnTheTable) -> String {
    let s = &table.solution;
    let end = if s.minimum { "a minimum" } else { "not certainly a minimum" };
    format!("Solved in {} steps: residual {:.1e}, {end} of energy.", s.iterations, s.residual)
}

/// "circle", or the polygon that stacked increases make.
fn flat_shape(piece: &ClosedPiece) -> String {
    match piece.corners {
        None => "circle".into(),
        Some(3) => "triangle".into(),
        Some(4) => "square".into(),
        Some(5) => "pentagon".into(),
        Some(6) => "hexagon".into(),
        Some(8) => "octagon".into(),
        Some(k) => format!("{k}-gon"),
    }
}

/// What a maker asks of a round first: does it lie flat?
fn headline(piece: &ClosedPiece) -> Vec<String> {
    let (Some(table), Some(angle)) = (&piece.table, piece.turn()) else { return tube(piece) };
    let turn = angle.to_degrees();
    let shape = flat_shape(piece);
    let mut said = Vec::new();
    if let Some(last) = piece.rounds.last() {
        let flat = piece.flat(last);
        let across = if piece.corners.is_some() { "From side to side" } else { "Across" };
        said.push(format!(
            "{across}, lying along the fabric: {}. The last round wants {}, a flat {shape} there {} \
             ({}).",
            piece.units.length(Length::m(2.0 * last.out.to_m())),
            piece.units.length(last.length),
            piece.units.length(flat),
            words::percent_off(last.length, flat),
        ));
    }
    let cone = piece.cone().map(|half| {
        format!("; free of weight and stiffness, a cone of half angle {:.1}°", half.to_degrees())
    });
    let how = match piece.opened {
        Some(_) => "Cut open and laid flat, its rounds make",
        None => "Counted by their lengths, its rounds make",
    };
    said.push(format!(
        "{how} {turn:.1}° about the middle, {:.1}° {} a full turn{}.",
        (turn - 360.0).abs(),
        if turn < 360.0 { "short of" } else { "more than" },
        cone.unwrap_or_default()
    ));
    said.push(if rests_flat(piece, table) {
        "On a table under its weight it lies flat.".to_owned()
    } else {
        stands(piece, table)
    });
    said
}

/// How many stitches a round of a flat piece takes.
pub(super) fn rule(piece: &ClosedPiece) -> String {
    let heights = heights_a_round(piece.corners);
    match piece.corners {
        None => format!(
            "Its increases do not stand in lines, so it is counted as a circle: {heights:.2} \
             heights' worth of stitches more a round lie flat (plane geometry). Stacked in lines they would \
             make corners, which want more: 6.93 for six, 8 for four."
        ),
        Some(k) => format!(
            "Its increases are stacked in {k} lines, so it is counted as a flat {}: {heights:.2} heights' \
             worth of stitches more a round lie flat (2k tan(180°/k) for k corners, plane geometry; a circle \
             takes 6.28).",
            flat_shape(piece)
        ),
    }
}

/// It lies flat where it rises less than half a round.
fn rests_flat(piece: &ClosedPiece, table: &OnTheTable) -> bool {
    piece.rounds.first().is_some_and(|first| table.rise.to_m() < 0.5 * first.out.to_m())
}

fn stands(piece: &ClosedPiece, table: &OnTheTable) -> String {
    let fine = |l: Length| words::fine(piece.units, l);
    let bowed = table.ripple.to_m() < 0.25 * table.rise.to_m();
    let off = format!(
        "On a table under its weight it {}: it stands off by up to {}",
        if bowed { "cups" } else { "ruffles" },
        fine(table.rise)
    );
    if bowed {
        let way =
            if table.cup.to_m() > 0.0 { "its middle up, a dome" } else { "its rim up, a bowl" };
        return format!("{off}, {way}.{}", stays(piece, table));
    }
    format!(
        "{off}, in {} of {} along the last round, {} high.{}",
        if table.waves == 1 { "one wave".to_owned() } else { format!("{} waves", table.waves) },
        piece.units.length(table.wavelength),
        fine(table.ripple),
        stays(piece, table)
    )
}

/// Another rest, nearer the table, that the piece keeps until it is lifted.
fn stays(piece: &ClosedPiece, table: &OnTheTable) -> String {
    match table.laid_down {
        Some((rise, left)) if rise.to_m() < 0.5 * table.rise.to_m() => format!(
            " Laid down flat and not lifted it stays within {} of the table; as told here it has {:.0} % of \
             the energy that it has so.",
            words::fine(piece.units, rise),
            100.0 * left
        ),
        _ => String::new(),
    }
}

fn tube(piece: &ClosedPiece) -> Vec<String> {
    let lengths = || piece.rounds.iter().map(|r| r.length.to_m());
    let (least, most) = lengths().fold((f64::INFINITY, 0.0_f64), |(l, m), w| (l.min(w), m.max(w)));
    let half = |w: f64| piece.units.length(Length::m(w / 2.0));
    let wide = if most - least < 1e-3 * most {
        half(most)
    } else {
        format!("{} to {}", half(least), half(most))
    };
    let tall = piece.rounds.last().map_or_else(Length::default, |r| r.out);
    vec![format!(
        "Closed tube: lies double, {wide} wide and {} tall ({} round).",
        piece.units.length(tall),
        piece.units.length(Length::m(most))
    )]
}

/// Round by round: a disc beside the flat shape that its rounds should fill, a tube as it lies double, rounds
/// like the one before left out.
pub(super) fn compared(piece: &ClosedPiece) -> (Vec<String>, Vec<Vec<String>>) {
    let length = |l: Length| piece.units.length(l);
    let head =
        |own: &[&str]| ["round", "stitches"].iter().chain(own).map(|w| (*w).to_owned()).collect();
    if piece.table.is_none() {
        let mut rounds: Vec<_> = piece.rounds.iter().collect();
        rounds.dedup_by_key(|r| (r.stitches, r.length));
        let line = |r: &&RoundFit| {
            let wide = length(Length::m(r.length.to_m() / 2.0));
            vec![r.label.clone(), r.stitches.to_string(), wide, length(r.out)]
        };
        return (head(&["lies wide", "height"]), rounds.iter().map(line).collect());
    }
    let line = |r: &RoundFit| {
        let spare = format!("{} mm", words::signed(piece.over_fed(r).to_mm(), 1));
        let [wants, flat] = [r.length, piece.flat(r)].map(length);
        vec![r.label.clone(), r.stitches.to_string(), wants, flat, spare]
    };
    let flat = format!("flat {}", flat_shape(piece));
    (head(&["wants", &flat, "over-fed"]), piece.rounds.iter().map(line).collect())
}

fn lined(out: &mut String, (head, lines): &(Vec<String>, Vec<Vec<String>>)) {
    out.push('\n');
    for line in std::iter::once(head).chain(lines) {
        let _ = write!(out, "  {:<28}{:>9}", line[0], line[1]);
        line[2..].iter().for_each(|cell| {
            let _ = write!(out, "{cell:>14}");
        });
        out.push('\n');
    }
}

/// The question a maker of rounds asks, and the answer.
pub(super) fn answers(piece: &ClosedPiece) -> Vec<(&'static str, Vec<String>)> {
    let question = match piece.table {
        Some(_) => "Does it lie flat?",
        None => "How does it lie?",
    };
    vec![(question, headline(piece))]
}

/// Everything that [`rounds_text`] says in numbers.
///
/// | key | content |
/// |---|---|
/// | `schema`, `title`, `units`, `gauge_state`, `headline`, `yarn`, `assumptions`, `cautions`, `diagnostics` | as of [`super::json`] |
/// | `corners` | lines that increases are stacked in; null where they are shifted, as for a circle |
/// | `turn_deg`, `cone_deg` | full angle of the rounds about the middle and half angle of the cone they make; null for a tube, and without a cone |
/// | `rounds` | `label`, `stitches`, `length_mm`, `out_mm` (from the middle or the foundation, along the fabric), and of a disc `flat_mm` |
/// | `on_a_table` | null for a tube: `rise_mm`, `cup_mm`, `ripple_mm`, `waves`, `wavelength_mm`, `laid_down` (`rise_mm`, `energy_share`), `raised` (a raised start was looked at), `solution` |
pub fn rounds_json(piece: &ClosedPiece) -> String {
    let disc = piece.table.is_some();
    let rounds = piece.rounds.iter().map(|r| {
        json!({
            "label": r.label, "stitches": r.stitches, "length_mm": r.length.to_mm(), "out_mm": r.out.to_mm(),
            "flat_mm": disc.then(|| piece.flat(r).to_mm()),
        })
    });
    let table = piece.table.as_ref().map(|t| {
        let laid = t.laid_down.map(|(r, e)| json!({ "rise_mm": r.to_mm(), "energy_share": e }));
        json!({
            "rise_mm": t.rise.to_mm(), "cup_mm": t.cup.to_mm(), "ripple_mm": t.ripple.to_mm(),
            "waves": t.waves, "wavelength_mm": t.wavelength.to_mm(), "laid_down": laid, "raised": t.raised,
            "solution": solved(&t.solution),
        })
    });
    let yarn = piece.yarn.iter().map(|y| {
        let mass = y.mass.map(crate::units::Mass::to_grams);
        json!({ "colour": y.colour, "length_m": y.length.to_m(), "mass_g": mass })
    });
    written(&json!({
        "schema": SCHEMA,
        "title": piece.title,
        "units": units_word(piece.units),
        "gauge_state": piece.gauge_state,
        "headline": headline(piece),
        "corners": piece.corners,
        "turn_deg": piece.turn().map(Angle::to_degrees),
        "cone_deg": piece.cone().map(Angle::to_degrees),
        "rounds": rounds.collect::<Vec<_>>(),
        "on_a_table": table,
        "yarn": yarn.collect::<Vec<_>>(),
        "assumptions": rests(&[], &piece.assumptions),
        "cautions": piece.cautions,
        "diagnostics": said(&piece.diagnostics),
    }))
}

/// Seen straight down, and from the front a little above.
pub(super) fn eyes() -> [Eye; 2] {
    [Eye::round("from above", 0.0, 90.0), Eye::round("from the front, a little above", 0.0, 25.0)]
}

/// The piece at rest on a table, from above and from the front; none for a tube.
pub fn rounds_picture(piece: &ClosedPiece) -> Option<Picture> {
    let table = piece.table.as_ref()?;
    let surface = Surface::hung(&table.cells);
    let what = Seen { surface: &surface, palette: &piece.palette, carriers: &[], held: &[] };
    let title = format!("{}: at rest on a table", piece.title);
    let said = headline(piece).pop().unwrap_or_default();
    let svg = views(&what, &eyes(), [&title, &said], &said, piece.units);
    Some(Picture { name: "on-a-table".into(), svg })
}
