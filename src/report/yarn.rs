//! Yarn in words, as the weigh-as-you-go table, and as JSON.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::csv::quoted;
use super::{table, words};
use crate::predict::{ColourYarn, Repeats, RowYarn, Spot, YarnPlan};
use crate::units::{Length, Mass, UnitSystem};

/// Everything in words; `all_rows` prints the weigh-as-you-go table row by row, else at the ends of
/// stripes.
pub fn yarn_text(plan: &YarnPlan, all_rows: bool) -> String {
    let mut out = format!("{}\n\n", plan.title);
    for colour in &plan.colours {
        for sentence in sentences(plan, colour) {
            out += &sentence;
            out.push('\n');
        }
    }
    if let Some(repeats) = &plan.repeats {
        let _ = writeln!(out, "{}", repeats_sentence(plan, repeats));
    }
    out.push('\n');
    out += &amounts(plan);
    out.push('\n');
    out += &sections(plan);
    out.push('\n');
    out += &kinds(plan);
    out.push('\n');
    out += &weighing(plan, all_rows);
    out.push('\n');
    out += &notes(plan);
    out
}

fn named(colour: &ColourYarn) -> String {
    if colour.colour.is_empty() { "Yarn".into() } else { format!("Yarn {}", colour.colour) }
}

fn amount(plan: &YarnPlan, colour: &ColourYarn, length: Length) -> String {
    let mass = colour.mass(length).map(|m| format!(" ({})", mass(plan.units, m)));
    words::yarn(plan.units, length) + &mass.unwrap_or_default()
}

fn mass(units: UnitSystem, mass: Mass) -> String {
    match units {
        UnitSystem::Metric => format!("{:.0} g", mass.to_grams()),
        UnitSystem::Imperial => format!("{:.1} oz", mass.to_grams() / 28.349_523_125),
    }
}

fn place(spot: &Spot) -> String {
    format!("{}, stitch {} of {}", spot.row, spot.stitch, spot.of)
}

fn sentences(plan: &YarnPlan, colour: &ColourYarn) -> Vec<String> {
    let name = named(colour);
    let mut list = Vec::new();
    let need = format!(
        "{name}: {} with {:.0} % in reserve",
        amount(plan, colour, colour.needed()),
        plan.margin * 100.0
    );
    list.push(match (colour.to_buy, colour.left, colour.ball) {
        (Some(balls), Some(left), Some(ball)) => format!(
            "{need}; buy {balls} {} of {}, which leaves about {}.",
            if balls == 1 { "ball" } else { "balls" },
            words::yarn(plan.units, ball.length),
            amount(plan, colour, left)
        ),
        _ => format!("{need}; no ball is stated, so none are counted."),
    });
    if let Some(at_hand) = colour.at_hand {
        list.push(match &colour.runs_out {
            Some(out) => format!(
                "  The {} at hand run out in {}: {} short of the piece, and the stripe to {} cannot be finished.",
                amount(plan, colour, at_hand),
                place(&out.at),
                amount(plan, colour, out.missing),
                out.needed_to
            ),
            None if at_hand < colour.needed() => format!(
                "  The {} at hand last to the end, but eat into the reserve: {} are left, {:.0} % of the piece.",
                amount(plan, colour, at_hand),
                amount(plan, colour, at_hand - colour.used()),
                ((at_hand / colour.used()) - 1.0) * 100.0
            ),
            None => format!(
                "  The {} at hand last for every stripe, with {} to spare.",
                amount(plan, colour, at_hand),
                amount(plan, colour, at_hand - colour.used())
            ),
        });
    }
    for (i, end) in colour.ball_ends.iter().enumerate() {
        list.push(format!(
            "  Ball {} ends in {}; to join at an edge, begin that row with the next and keep {}.",
            i + 1,
            place(&end.at),
            amount(plan, colour, end.left)
        ));
    }
    list
}

fn repeats_sentence(plan: &YarnPlan, repeats: &Repeats) -> String {
    let [from, to] = &repeats.rows;
    let each: Vec<String> = repeats
        .each
        .iter()
        .zip(&plan.colours)
        .filter(|(length, _)| length.to_mm() > 0.0)
        .map(|(length, colour)| format!("{} of {}", amount(plan, colour, *length), named(colour)))
        .collect();
    let what = format!(
        "The repeat from {from} to {to} ({}, worked {} times) takes {}.",
        rows_in_words(repeats.height),
        repeats.written,
        each.join(" and ")
    );
    match (repeats.allowed, &repeats.limited_by) {
        (Some(times), Some(colour)) => format!(
            "{what} The yarn at hand allows {times} repeats and {} more, the reserve kept back; yarn {colour} sets the limit.",
            rows_in_words(repeats.further_rows)
        ),
        _ => format!(
            "{what} State what is at hand (balls = or grams = under [[yarn]]) to see how many it allows."
        ),
    }
}

fn rows_in_words(rows: u32) -> String {
    if rows == 1 { "1 row".into() } else { format!("{rows} rows") }
}

fn amounts(plan: &YarnPlan) -> String {
    let head = ["yarn", "stitches", "least", "most", "ends", "fringe", "reserve", "in all", "mass"]
        .map(str::to_owned);
    let line = |c: &ColourYarn| {
        let length = |l: Length| words::yarn(plan.units, l);
        let weight = c.mass(c.needed()).map(|m| mass(plan.units, m)).unwrap_or_else(|| "–".into());
        [
            named(c),
            length(c.stitches),
            length(c.range[0]),
            length(c.range[1]),
            length(c.ends),
            length(c.fringe),
            length(c.margin),
            length(c.needed()),
            weight,
        ]
    };
    let lines: Vec<[String; 9]> = plan.colours.iter().map(line).collect();
    table::aligned(&head, &lines)
}

fn sections(plan: &YarnPlan) -> String {
    let mut head = vec!["section".to_owned()];
    head.extend(plan.colours.iter().map(named));
    let lines: Vec<Vec<String>> = plan
        .sections
        .iter()
        .map(|s| {
            let name = if s.name.is_empty() { "(no name)" } else { &s.name };
            let name = match s.copies {
                1 => name.to_owned(),
                n => format!("{name}, {n} copies"),
            };
            let lengths = s.lengths.iter().map(|l| words::yarn(plan.units, *l));
            std::iter::once(name).chain(lengths).collect()
        })
        .collect();
    table::aligned(&head, &lines)
}

fn kinds(plan: &YarnPlan) -> String {
    let head = ["stitch", "how many", "yarn in each", "mass of each"].map(str::to_owned);
    // Colours are of one weight of yarn as a rule; the first stands for all.
    let each = |length: Length| {
        let mass = plan.colours.first().and_then(|c| c.mass(length));
        mass.map_or_else(|| "–".into(), |m| format!("{:.1} mg", m.to_grams() * 1000.0))
    };
    let lines: Vec<[String; 4]> = plan
        .kinds
        .iter()
        .map(|k| {
            [k.words.clone(), k.count.to_string(), words::fine(plan.units, k.each), each(k.each)]
        })
        .collect();
    table::aligned(&head, &lines)
}

/// The table to hold a kitchen scale against.
fn weighing(plan: &YarnPlan, all_rows: bool) -> String {
    if plan.rows.iter().all(|r| r.left.is_none()) {
        return "No weigh-as-you-go table: it needs the yarn's ball (ball = \"50 g / 200 m\") or weight \
                class.\n"
            .into();
    }
    let stripes = plan.rows.windows(2).filter(|w| w[0].colour != w[1].colour).count();
    // A piece of few stripes is weighed every so many rows as well.
    let every = if stripes < 12 { plan.rows.len().div_ceil(24) } else { usize::MAX };
    let shown = |i: usize| {
        let next = plan.rows.get(i + 1);
        (i + 1).is_multiple_of(every)
            || all_rows
            || next.is_none_or(|n| {
                n.colour != plan.rows[i].colour || n.section != plan.rows[i].section
            })
    };
    let head = ["weigh after", "yarn", "used since", "left of it"].map(str::to_owned);
    let mut since = vec![Length::mm(0.0); plan.colours.len()];
    let mut lines = Vec::new();
    for (i, row) in plan.rows.iter().enumerate() {
        let used = &mut since[row.colour];
        *used = *used + row.stitches + row.ends;
        if shown(i) {
            let colour = &plan.colours[row.colour];
            let used = std::mem::take(used);
            let grams = |m: Option<Mass>| m.map(|m| mass_fine(plan.units, m));
            lines.push([
                row.label.clone(),
                colour.colour.clone(),
                grams(colour.mass(used)).unwrap_or_default(),
                grams(row.left).unwrap_or_else(|| "none".into()),
            ]);
        }
    }
    let (first, rest) = shortened(&lines);
    table::aligned(&head, first) + &rest
}

/// A long table is cut here: all of it is in the CSV.
fn shortened(lines: &[[String; 4]]) -> (&[[String; 4]], String) {
    const LONGEST: usize = 60;
    match lines.len().checked_sub(LONGEST) {
        Some(more) if more > 0 => (
            &lines[..LONGEST],
            format!("... and {more} more: --format csv prints the table for every row.\n"),
        ),
        _ => (lines, String::new()),
    }
}

fn mass_fine(units: UnitSystem, mass: Mass) -> String {
    match units {
        UnitSystem::Metric => format!("{:.1} g", mass.to_grams()),
        UnitSystem::Imperial => format!("{:.2} oz", mass.to_grams() / 28.349_523_125),
    }
}

fn notes(plan: &YarnPlan) -> String {
    let ends = if plan.carried {
        "colours carried up the edge, a tail at either end of the work"
    } else {
        "yarn cut at every change of colour, a tail at either end of each stripe"
    };
    let mut out = format!(
        "Ends: {ends}\n({} each, preset yarn.tail). Least and most: all yarn presets at the ends of their\n\
         ranges; unravel or weigh a swatch to narrow them. Scales read to 1 g, and a ball can weigh 3 % off\n\
         its label.\n",
        plan.units.length(plan.tail)
    );
    let mut told = Vec::new();
    for (fibre, share) in plan.colours.iter().filter_map(|c| c.dry) {
        if !told.contains(&fibre) {
            told.push(fibre);
            let _ = writeln!(
                out,
                "Of 100 g of {} weighed in standard air (65 % humidity) {:.1} g are fibre and the rest water that\n\
                 comes and goes with the air: weigh balls and rows in one room.",
                fibre.name(),
                100.0 * share
            );
        }
    }
    out
}

/// The weigh-as-you-go table, one line a row, in metres and grams.
pub fn yarn_csv(plan: &YarnPlan) -> String {
    let mut csv = String::from("step,row,section,yarn,stitches_m,ends_m,used_g,left_g\r\n");
    for (i, row) in plan.rows.iter().enumerate() {
        let colour = &plan.colours[row.colour];
        let grams = |m: Option<Mass>| m.map(|m| format!("{:.3}", m.to_grams())).unwrap_or_default();
        let _ = write!(
            csv,
            "{},{},{},{},{:.4},{:.4},{},{}\r\n",
            i + 1,
            quoted(&row.label),
            quoted(&row.section),
            quoted(&colour.colour),
            row.stitches.to_m(),
            row.ends.to_m(),
            grams(colour.mass(row.stitches + row.ends)),
            grams(row.left)
        );
    }
    csv
}

/// Everything as JSON, in metres and grams.
pub fn yarn_json(plan: &YarnPlan) -> String {
    let value = json!({
        "title": plan.title,
        "margin": plan.margin,
        "tail_m": plan.tail.to_m(),
        "carried": plan.carried,
        "colours": plan.colours.iter().map(colour_json).collect::<Vec<_>>(),
        "sections": plan.sections.iter().map(|s| json!({
            "name": s.name,
            "copies": s.copies,
            "length_m": s.lengths.iter().map(|l| l.to_m()).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "stitches": plan.kinds.iter().map(|k| json!({
            "stitch": k.words, "count": k.count, "each_mm": k.each.to_mm(),
        })).collect::<Vec<_>>(),
        "repeats": plan.repeats.as_ref().map(|r| json!({
            "first_row": r.rows[0], "last_row": r.rows[1], "rows": r.height, "written": r.written,
            "each_m": r.each.iter().map(|l| l.to_m()).collect::<Vec<_>>(),
            "allowed": r.allowed, "further_rows": r.further_rows, "limited_by": r.limited_by,
        })),
        "rows": plan.rows.iter().map(|r| row_json(plan, r)).collect::<Vec<_>>(),
    });
    // Strings and numbers only, so serialising cannot fail.
    serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
}

fn spot_json(spot: &Spot) -> Value {
    json!({ "row": spot.row, "stitch": spot.stitch, "of": spot.of })
}

fn colour_json(c: &ColourYarn) -> Value {
    json!({
        "yarn": c.colour,
        "stitches_m": c.stitches.to_m(),
        "least_m": c.range[0].to_m(),
        "most_m": c.range[1].to_m(),
        "ends_m": c.ends.to_m(),
        "joins": c.joins,
        "fibre": c.dry.map(|(fibre, _)| fibre.name()),
        "fibre_share": c.dry.map(|(_, share)| share),
        "fringe_m": c.fringe.to_m(),
        "reserve_m": c.margin.to_m(),
        "needed_m": c.needed().to_m(),
        "needed_g": c.mass(c.needed()).map(Mass::to_grams),
        "balls_to_buy": c.to_buy,
        "left_m": c.left.map(Length::to_m),
        "at_hand_m": c.at_hand.map(Length::to_m),
        "ball_ends": c.ball_ends.iter().map(|e| json!({
            "at": spot_json(&e.at), "change_before": e.change_before, "left_m": e.left.to_m(),
        })).collect::<Vec<_>>(),
        "runs_out": c.runs_out.as_ref().map(|r| json!({
            "at": spot_json(&r.at), "needed_to": r.needed_to, "missing_m": r.missing.to_m(),
        })),
    })
}

fn row_json(plan: &YarnPlan, row: &RowYarn) -> Value {
    json!({
        "row": row.label,
        "section": row.section,
        "yarn": plan.colours[row.colour].colour,
        "stitches_m": row.stitches.to_m(),
        "ends_m": row.ends.to_m(),
        "left_g": row.left.map(Mass::to_grams),
    })
}
