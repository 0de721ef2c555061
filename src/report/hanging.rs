//! The hung piece: figures and views.

use std::fmt::Write as _;

use super::Picture;
use super::space::{Eye, Seen, views};
use super::surface::Surface;
use super::table;
use super::text::wrapped;
use super::words;
use crate::predict::Corner;
use crate::predict::Hanging;
use crate::predict::HungRow;
use crate::predict::Solution;
use crate::units::Angle;
use crate::units::Length;

/// Figures of the hung piece beside the laid one.
pub fn hanging_text(hung: &Hanging) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}: hung\n", hung.laid.title);
    for (question, sentences) in answers(hung) {
        let _ = writeln!(out, "{question}");
        for sentence in sentences {
            let _ = writeln!(out, "{}", wrapped(&format!("  {sentence}"), "    "));
        }
        out.push('\n');
    }
    let (head, lines) = compared(hung);
    out.push_str(&table::aligned(&head, &lines));
    let _ = writeln!(out, "\nStated, published or assumed; `lay` lists what the sizes rest on");
    for a in &hung.assumptions {
        let line = format!("  {}: {}; {}", a.what, a.value, a.source);
        let _ = writeln!(out, "{}", wrapped(&line, "    "));
    }
    let _ = writeln!(out, "\n{}", wrapped(&not_modelled(hung), ""));
    let _ = writeln!(out, "\nCautions");
    for caution in cautions(hung) {
        let _ = writeln!(out, "{}", wrapped(&format!("  {caution}"), "    "));
    }
    let _ = writeln!(out, "\n{}", solved(hung));
    out
}

/// What a designer asks of a hung piece, each with its answers.
pub(super) fn answers(hung: &Hanging) -> Vec<(&'static str, Vec<String>)> {
    vec![
        ("How does it hang, and by how much does it grow?", grows(hung)),
        ("How far does each corner drop, and does it skew?", drops(hung)),
        ("And while it goes on hanging?", later(hung)),
    ]
}

fn grows(hung: &Hanging) -> Vec<String> {
    let units = hung.laid.units;
    let [along, left, right] = [hung.rows, hung.edges[0], hung.edges[1]].map(growth);
    let [wide, deep, tall] = hung.size.map(|l| units.length(l));
    let mut said = vec![
        format!("It weighs {:.0} g and hangs {}.", hung.mass.to_grams(), hung.words),
        format!(
            "Under its own weight it grows by {along} along the rows, {left} along the left edge and \
             {right} along the right edge."
        ),
        format!("Its outline as worn is {wide} wide, {tall} tall and {deep} deep."),
        borne(hung.borne, hung.held.len(), hung.largest_pull),
    ];
    if let Some(drape) = hung.drape {
        said.push(format!(
            "Drape coefficient {:.0} % of its own outline; layers pass through each other.",
            100.0 * drape
        ));
    }
    said
}

/// What bears the weight: the held stitches, so many, and what the rest lies on, N; and the largest pull.
pub(super) fn borne([held, lies]: [f64; 2], many: usize, largest: f64) -> String {
    if many == 1 && lies.abs() < 1e-9 {
        return format!("The held stitch bears its weight, {held:.2} N.");
    }
    let most = format!("the largest pull on one of the {many} held stitches is {largest:.2} N");
    if lies.abs() < 1e-9 {
        return format!("The held stitches bear its weight, {held:.2} N; {most}.");
    }
    format!(
        "Of its weight, {:.2} N, the held stitches bear {held:.2} N and what the rest lies on {lies:.2} N; \
         {most}.",
        held + lies
    )
}

fn growth(pair: [Length; 2]) -> String {
    words::percent_off(pair[1], pair[0])
}

fn drops(hung: &Hanging) -> Vec<String> {
    let units = hung.laid.units;
    let mut said = Vec::new();
    if let [a, b, c, d] = &hung.corners[..] {
        let below = |corner: &Corner| units.length(corner.below);
        said.push(format!(
            "The foundation's corners hang {} (left) and {} (right) below what holds the piece, the last \
             row's {} and {}.",
            below(a),
            below(b),
            below(c),
            below(d)
        ));
        if !hung.dropped {
            let [a, b, c, d] = [a, b, c, d].map(|corner| dropped(hung, corner.drop));
            said.push(format!("Of that, {a}, {b}, {c} and {d} are stretch and sag."));
        }
    }
    said.push(skewed(hung.skew, hung.most_skew, "rows"));
    said
}

/// How far rows, or rounds, and columns turn against each other.
pub(super) fn skewed(mean: Angle, most: Angle, rows: &str) -> String {
    format!(
        "Skew under load: {rows} and columns turn {}° against each other on average, at most {}°.",
        words::signed(mean.to_degrees(), 1),
        words::signed(most.to_degrees(), 1)
    )
}

/// A drop, which is less than nothing where a corner is drawn up.
fn dropped(hung: &Hanging, drop: Length) -> String {
    if drop.to_mm().abs() < 0.05 {
        return "none".into();
    }
    let size = words::fine(hung.laid.units, if drop.to_mm() < 0.0 { -drop } else { drop });
    if drop.to_mm() < -0.05 { format!("−{size}") } else { size }
}

fn later(hung: &Hanging) -> Vec<String> {
    let mut said = vec![law(hung.creep)];
    said.extend(hung.later.iter().map(|at| {
        let [rows, edges] = at.growth.map(|g| words::signed(100.0 * g, 1));
        format!("After {}: {rows} % along the rows, {edges} % along the edges.", at.after)
    }));
    said
}

/// The law of growth while hanging, with its constants.
pub(super) fn law([share, hours]: [f64; 2]) -> String {
    format!(
        "Growth goes on by the law e(t) = e0 (1 + {share} log10(1 + t / {hours} h)); both constants \
         are free: measure a piece of your own after a day."
    )
}

/// Planned, laid and hung side by side: head and lines.
pub(super) fn compared(hung: &Hanging) -> (Vec<String>, Vec<Vec<String>>) {
    let units = hung.laid.units;
    let planned = &hung.laid.planned;
    let line = |what: &str, plan: Option<Length>, pair: [Length; 2]| {
        let off = pair[1] - pair[0];
        let size = units.length(if off.to_mm() < 0.0 { -off } else { off });
        let sign = if off.to_mm() < 0.0 { "−" } else { "+" };
        let plan = plan.map(|l| units.length(l)).unwrap_or_default();
        let [laid, hangs] = pair.map(|l| units.length(l));
        vec![what.to_owned(), plan, laid, hangs, format!("{sign}{size} ({})", growth(pair))]
    };
    let alone = |what: String, value: String, more: String| {
        vec![what, String::new(), String::new(), value, more]
    };
    let mut lines = vec![
        line("along the rows, mean", planned.along_rows, hung.rows),
        line("along the left edge, as it runs", planned.along_edges, hung.edges[0]),
        line("along the right edge, as it runs", planned.along_edges, hung.edges[1]),
    ];
    for corner in &hung.corners {
        lines.push(alone(
            format!("corner {}, below", corner.name),
            units.length(corner.below),
            match hung.dropped {
                true => String::new(),
                false => match dropped(hung, corner.drop).as_str() {
                    "none" => String::new(),
                    drop => format!("{drop} stretch and sag"),
                },
            },
        ));
    }
    let [wide, deep, tall] = hung.size.map(|l| units.length(l));
    let degrees = |a: Angle| words::signed(a.to_degrees(), 1) + "°";
    lines.push(alone("skew under load, mean".into(), degrees(hung.skew), String::new()));
    lines.push(alone("skew under load, most".into(), degrees(hung.most_skew), String::new()));
    lines.push(alone("outline worn: width".into(), wide, String::new()));
    lines.push(alone("outline worn: height".into(), tall, String::new()));
    lines.push(alone("outline worn: depth".into(), deep, String::new()));
    lines.push(alone("weight".into(), format!("{:.0} g", hung.mass.to_grams()), String::new()));
    let head = ["", "planned", "laid flat", "hung", "difference"].map(str::to_owned).to_vec();
    (head, lines)
}

/// Every row: head and lines.
pub(super) fn by_row(hung: &Hanging) -> (Vec<String>, Vec<Vec<String>>) {
    let units = hung.laid.units;
    let line = |row: &HungRow| {
        let [laid, hangs] = row.along.map(|l| units.length(l));
        vec![row.label.clone(), laid, hangs, growth(row.along), units.length(row.below)]
    };
    let head = ["row", "along, laid", "along, hung", "growth", "middle lies below by"];
    (head.map(str::to_owned).to_vec(), hung.by_row.iter().map(line).collect())
}

/// What the model leaves out.
pub(super) fn not_modelled(hung: &Hanging) -> String {
    layers(hung.crossed, hung.cells.len())
}

/// The same, with how many of all cells another layer passes through.
pub(super) fn layers(crossed: u32, cells: usize) -> String {
    let layers = match crossed {
        0 => "here no layer passes through another".to_owned(),
        n => format!(
            "here other layers pass through {n} of {cells} cells, so that folds there lie closer than cloth does"
        ),
    };
    format!(
        "Not modelled: friction (but where stitches are held), and layers touching each other: {layers}."
    )
}

/// Care and safety.
pub(super) fn cautions(hung: &Hanging) -> Vec<String> {
    care(&hung.laid.cautions)
}

/// Care of a hung piece, and its own cautions.
pub(super) fn care(own: &[String]) -> Vec<String> {
    let dry = "Dry a heavy wet piece flat: hung up it stretches under its own weight and can fall. Follow \
               the yarn's care label first.";
    std::iter::once(dry.to_owned()).chain(own.iter().cloned()).collect()
}

/// How the equilibrium was reached, in one line.
pub(super) fn solved(hung: &Hanging) -> String {
    solved_in(&hung.solution)
}

/// The same of a solution.
pub(super) fn solved_in(s: &Solution) -> String {
    format!(
        "Solved in {} steps: residual {:.1e}, {}.",
        s.iterations,
        s.residual,
        if s.minimum { "a minimum of energy" } else { "not certainly a minimum of energy" }
    )
}

/// Seen from the front, from the right a little above, from behind, from the left.
pub(super) fn eyes(worn: bool) -> [Eye; 4] {
    if worn {
        return [
            Eye::round("the wearer's back", 0.0, 0.0),
            Eye::round("from the right, above", 55.0, 18.0),
            Eye::round("the wearer's front", 180.0, 0.0),
            Eye::round("from the left", -90.0, 0.0),
        ];
    }
    [
        Eye::round("from the front", 0.0, 0.0),
        Eye::round("from the right, above", 55.0, 18.0),
        Eye::round("from behind", 180.0, 0.0),
        Eye::round("from the left", -90.0, 0.0),
    ]
}

/// Views side by side, at least two. What is nearer hides what is farther, which is paler; slopes are lit
/// from the upper left, and the wrong side is greyer.
pub fn hanging_picture(hung: &Hanging) -> Picture {
    let surface = Surface::hung(&hung.cells);
    let what = Seen {
        surface: &surface,
        palette: &hung.laid.palette,
        carriers: &hung.carriers,
        held: &hung.held,
    };
    let title = format!("{}: hung", hung.laid.title);
    let words = format!("Hangs {}. Farther parts are paler, the wrong side is greyer.", hung.words);
    let hangs = format!("Hangs {}", hung.words.split(';').next().unwrap_or_default());
    let svg = views(&what, &eyes(hung.worn), [&title, &hangs], &words, hung.laid.units);
    Picture { name: "hung".into(), svg }
}
