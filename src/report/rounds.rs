//! A piece of closed rounds: whether it lies flat, round by round, and how it rests on a table.

use std::fmt::Write as _;

use super::Picture;
use super::space::{Eye, Seen, views};
use super::surface::Surface;
use super::words;
use crate::predict::ClosedPiece;
use crate::predict::OnTheTable;
use crate::predict::heights_a_round;
use crate::units::Length;

/// The answer, the rounds beside flat circles, and what it rests on.
pub fn rounds_text(piece: &ClosedPiece) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}: worked in closed rounds\n", piece.title);
    for sentence in headline(piece) {
        let _ = writeln!(out, "  {sentence}");
    }
    match piece.table {
        Some(_) => disc_table(&mut out, piece),
        None => tube_table(&mut out, piece),
    }
    let _ = writeln!(out, "\n{}", words::YARN_NOTE);
    for used in &piece.yarn {
        let mass = used.mass.map(|m| format!(", {:.0} g", m.to_grams())).unwrap_or_default();
        let name = if used.colour.is_empty() { "yarn" } else { &used.colour };
        let _ = writeln!(out, "  {name}: {}{mass}", words::yarn(piece.units, used.length));
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

fn closing(out: &mut String, table: &OnTheTable) {
    let _ = writeln!(
        out,
        "\nThe piece is laid down flat and stays as it then lies unless a raised start finds a rest of less \
         energy, by more than friction on the table can take. Where it can give way in several manners \
         (dome or bowl, more or fewer waves) this is one of them. Not modelled: layers touching each other."
    );
    let s = &table.solution;
    let end = if s.minimum { "a minimum" } else { "not certainly a minimum" };
    let _ = writeln!(
        out,
        "\nSolved in {} steps: residual {:.1e}, {end} of energy.",
        s.iterations, s.residual
    );
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
fn rule(piece: &ClosedPiece) -> String {
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

fn disc_table(out: &mut String, piece: &ClosedPiece) {
    let _ = writeln!(
        out,
        "\n  {:<28}{:>9}{:>14}{:>14}{:>14}",
        "round",
        "stitches",
        "wants",
        format!("flat {}", flat_shape(piece)),
        "over-fed"
    );
    for round in &piece.rounds {
        let _ = writeln!(
            out,
            "  {:<28}{:>9}{:>14}{:>14}{:>14}",
            round.label,
            round.stitches,
            piece.units.length(round.length),
            piece.units.length(piece.flat(round)),
            format!("{} mm", words::signed(piece.over_fed(round).to_mm(), 1)),
        );
    }
    let _ = writeln!(out, "\n{}", rule(piece));
}

fn tube_table(out: &mut String, piece: &ClosedPiece) {
    let _ =
        writeln!(out, "\n  {:<28}{:>9}{:>14}{:>14}", "round", "stitches", "lies wide", "height");
    let mut told: Option<(u32, Length)> = None;
    for round in &piece.rounds {
        if told == Some((round.stitches, round.length)) {
            continue;
        }
        told = Some((round.stitches, round.length));
        let _ = writeln!(
            out,
            "  {:<28}{:>9}{:>14}{:>14}",
            round.label,
            round.stitches,
            piece.units.length(Length::m(round.length.to_m() / 2.0)),
            piece.units.length(round.out),
        );
    }
    let _ = writeln!(out, "  (rounds like the one before are left out)");
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
