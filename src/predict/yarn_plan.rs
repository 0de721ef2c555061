//! Yarn by row, section and colour: balls to buy, where each ball ends, how far the yarn at hand goes.

use std::collections::BTreeMap;

use super::yarn_rows::{Spent, spent};
use super::{Failure, Options, Refused, flat, material, yarn};
use crate::diagnostic::Diagnostic;
use crate::fabric::worked;
use crate::material::Fibre;
use crate::material::Material;
use crate::material::PresetOverride;
use crate::material::preset;
use crate::material::preset_keys;
use crate::pattern::Header;
use crate::pattern::Yarn;
use crate::source::Source;
use crate::stitches::Piece;
use crate::stitches::RowId;
use crate::units::Length;
use crate::units::Mass;
use crate::units::UnitSystem;

/// What is asked of the yarn beyond the stitches.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct YarnAsks {
    /// Strands tied in at the end.
    pub fringe: Vec<Fringe>,
    /// A colour not in use is carried up the edge instead of cut.
    pub carried: bool,
    /// Share to keep in reserve; none: the preset `yarn.margin`.
    pub margin: Option<f64>,
}

/// Strands of fringe.
#[derive(Debug, Clone, PartialEq)]
pub struct Fringe {
    /// Colour as the pattern names it; none: the first.
    pub colour: Option<String>,
    /// How many strands.
    pub strands: u32,
    /// Length each is cut to, knot included.
    pub cut: Length,
}

/// A ball as its label states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ball {
    /// Length on it.
    pub length: Length,
    /// Its mass.
    pub mass: Option<Mass>,
}

/// A spot in the piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// The row, by its label; copies beyond the first are named.
    pub row: String,
    /// Stitch of the row, from 1 in working order.
    pub stitch: u32,
    /// Stitches in the row.
    pub of: u32,
}

/// Where a ball ends, and where to change it instead so that the join lies at an edge.
#[derive(Debug, Clone, PartialEq)]
pub struct BallEnd {
    /// Where its yarn runs out.
    pub at: Spot,
    /// The row to begin with the next ball: the last in its colour that this one cannot finish.
    pub change_before: String,
    /// Length left of the ball when it is changed there.
    pub left: Length,
}

/// The yarn at hand ends before the work in its colour does.
#[derive(Debug, Clone, PartialEq)]
pub struct RunsOut {
    /// Where it ends.
    pub at: Spot,
    /// Last row of the stripe it was needed for.
    pub needed_to: String,
    /// Length missing for the whole piece, margin left out.
    pub missing: Length,
}

/// Yarn of one colour.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourYarn {
    /// Colour as the pattern names it.
    pub colour: String,
    /// In the stitches.
    pub stitches: Length,
    /// In the stitches, with all yarn presets at the low and at the high end of their ranges.
    pub range: [Length; 2],
    /// Cut or carried between stripes: tails to weave in, strands along the edge.
    pub ends: Length,
    /// Times the colour is joined in.
    pub joins: u32,
    /// Fringe.
    pub fringe: Length,
    /// Reserve.
    pub margin: Length,
    /// Linear density, g/km, when known.
    pub tex: Option<f64>,
    /// Its fibre, and the share of its weight in standard air that is fibre and not water, when known.
    pub dry: Option<(Fibre, f64)>,
    /// The ball, when its label is stated.
    pub ball: Option<Ball>,
    /// Balls to buy, reserve included.
    pub to_buy: Option<u32>,
    /// Length left of them when all goes as predicted.
    pub left: Option<Length>,
    /// At hand, when stated.
    pub at_hand: Option<Length>,
    /// Where each ball but the last ends.
    pub ball_ends: Vec<BallEnd>,
    /// Where the yarn at hand runs out, if it does.
    pub runs_out: Option<RunsOut>,
}

impl ColourYarn {
    /// Everything but the reserve.
    pub fn used(&self) -> Length {
        self.stitches + self.ends + self.fringe
    }

    /// Everything, the reserve included.
    pub fn needed(&self) -> Length {
        self.used() + self.margin
    }

    /// Mass of a length of it, when its density is known.
    pub fn mass(&self, length: Length) -> Option<Mass> {
        self.tex.map(|tex| Mass::grams(tex * length.to_m() / 1000.0))
    }
}

/// Yarn of one row, in the order worked, copies of a part one after another.
#[derive(Debug, Clone, PartialEq)]
pub struct RowYarn {
    /// The row's label, with its section.
    pub label: String,
    /// Its section; empty when the pattern has none.
    pub section: String,
    /// Index in [`YarnPlan::colours`].
    pub colour: usize,
    /// In its stitches.
    pub stitches: Length,
    /// Tails and carried strands that belong to it.
    pub ends: Length,
    /// What the kitchen scale should show of its colour when the row is done, from the yarn at hand or
    /// else from the balls to buy.
    pub left: Option<Mass>,
}

/// Yarn of a section, all its copies together.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionYarn {
    /// Its name; empty when the pattern has none.
    pub name: String,
    /// Copies made.
    pub copies: u32,
    /// Length per colour, in the order of [`YarnPlan::colours`], without reserve.
    pub lengths: Vec<Length>,
}

/// Yarn of one kind of stitch.
#[derive(Debug, Clone, PartialEq)]
pub struct KindYarn {
    /// In the trade's words.
    pub words: String,
    /// How many in the piece.
    pub count: u32,
    /// In each, on average.
    pub each: Length,
}

/// How often the yarn at hand lets the repeat be worked.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeats {
    /// First and last row of one repeat.
    pub rows: [String; 2],
    /// Rows in it.
    pub height: u32,
    /// Times the pattern works it.
    pub written: u32,
    /// Yarn per colour in one repeat.
    pub each: Vec<Length>,
    /// Times the yarn at hand allows, the reserve kept back; none when no yarn at hand is stated.
    pub allowed: Option<u32>,
    /// Rows beyond these that it still allows.
    pub further_rows: u32,
    /// Colour that ends it.
    pub limited_by: Option<String>,
}

/// Yarn of the whole piece.
#[derive(Debug, Clone, PartialEq)]
pub struct YarnPlan {
    /// Title of the pattern, or the source's name.
    pub title: String,
    /// The user's units.
    pub units: UnitSystem,
    /// Faults, doubts and choices of the pattern.
    pub diagnostics: Vec<Diagnostic>,
    /// Colours in the order the piece first uses them.
    pub colours: Vec<ColourYarn>,
    /// Rows in the order worked.
    pub rows: Vec<RowYarn>,
    /// Sections in the order worked.
    pub sections: Vec<SectionYarn>,
    /// Kinds of stitch, most yarn first.
    pub kinds: Vec<KindYarn>,
    /// The longest run of rows that repeats, if any.
    pub repeats: Option<Repeats>,
    /// Share kept in reserve.
    pub margin: f64,
    /// Length of one tail.
    pub tail: Length,
    /// Colours are carried, not cut.
    pub carried: bool,
}

/// Reads and works the pattern in `source` and adds up its yarn; nothing is solved.
///
/// # Errors
/// [`Refused`] when no row can be worked or gauge, yarn or a preset cannot be.
pub fn yarn_plan(
    source: &Source,
    options: &Options,
    asks: &YarnAsks,
) -> Result<YarnPlan, Box<Refused>> {
    let reading = flat::read(source);
    let copies = super::yarn_rows::copies(source);
    let refuse =
        |failure: Failure| Box::new(Refused { failure, diagnostics: reading.diagnostics.clone() });
    let (header, piece) = (&reading.header, &reading.piece);
    if piece.rows.len() < 2 {
        return Err(refuse(Failure::NoRows));
    }
    let material = material::material(header, piece, &options.overrides)
        .map_err(|e| refuse(Failure::Material(e)))?;
    let size = material::hand(header, &material, None).0.size();
    let mut plan = YarnPlan {
        title: header.title.as_ref().map_or_else(|| source.name().to_owned(), |t| t.value.clone()),
        units: options.units.unwrap_or(header.units.value),
        diagnostics: reading.diagnostics.clone(),
        colours: Vec::new(),
        rows: Vec::new(),
        sections: Vec::new(),
        kinds: kinds(piece, &material, size),
        repeats: None,
        margin: asks.margin.unwrap_or_else(|| material.yarn_margin()),
        tail: material.yarn_tail(),
        carried: asks.carried,
    };
    let walk = spent(piece, &material, &copies, asks.carried, size);
    let ends = |end: usize| {
        let overrides = at_range_end(header, &options.overrides, end);
        material::material(header, piece, &overrides)
            .map(|m| totals(&spent(piece, &m, &copies, asks.carried, size), piece, |s| s.stitches))
            .map_err(|e| refuse(Failure::Material(e)))
    };
    let range = [ends(0)?, ends(1)?];
    plan.colours = colours(piece, header, &material, &walk, &range, asks, plan.margin);
    plan.rows = rows(&walk, &plan.colours, piece);
    plan.sections = sections(&walk, &plan.colours, piece);
    plan.repeats = super::yarn_repeats::repeats(piece, &walk, &plan.colours, plan.margin);
    Ok(plan)
}

/// All presets of yarn per stitch at one end of their ranges, those the user states left alone.
fn at_range_end(header: &Header, own: &[PresetOverride], end: usize) -> Vec<PresetOverride> {
    let stated =
        |key: &str| own.iter().chain(&material::stated(header)).any(|preset| preset.key == key);
    let mut all: Vec<PresetOverride> = preset_keys()
        .filter(|key| key.contains(".yarn.") && !stated(key))
        .filter_map(|key| Some(PresetOverride { key: key.into(), value: preset(key)?.range[end] }))
        .collect();
    all.extend_from_slice(own);
    all
}

fn totals(walk: &[Spent], piece: &Piece, of: impl Fn(&Spent) -> Length) -> Vec<Length> {
    let mut sums = vec![Length::mm(0.0); piece.colours.len().max(1)];
    for spent in walk {
        sums[spent.colour] = sums[spent.colour] + of(spent);
    }
    sums
}

/// The yarn stated for a colour: by its letter or name, else by its colour word, else by its place.
pub(super) fn stated_yarn<'h>(header: &'h Header, name: &str, place: usize) -> Option<&'h Yarn> {
    let yarns = &header.yarns;
    yarns
        .iter()
        .find(|y| y.name.eq_ignore_ascii_case(name))
        .or_else(|| {
            yarns.iter().find(|y| y.colour.as_deref().is_some_and(|c| c.eq_ignore_ascii_case(name)))
        })
        .or_else(|| yarns.get(place))
}

fn colours(
    piece: &Piece,
    header: &Header,
    material: &Material,
    walk: &[Spent],
    range: &[Vec<Length>; 2],
    asks: &YarnAsks,
    margin: f64,
) -> Vec<ColourYarn> {
    let stitches = totals(walk, piece, |s| s.stitches);
    let ends = totals(walk, piece, |s| s.ends);
    (0..stitches.len())
        .map(|i| {
            let name = piece.colours.get(i).cloned().unwrap_or_default();
            let stated = stated_yarn(header, &name, i);
            let tex = stated.and_then(material::tex).or_else(|| material.tex());
            let fringe = fringe(asks, &name, i);
            let used = stitches[i] + ends[i] + fringe;
            let mut colour = ColourYarn {
                colour: name,
                stitches: stitches[i],
                range: [range[0][i], range[1][i]],
                ends: ends[i],
                joins: walk.iter().filter(|s| s.colour == i && s.joins).count() as u32,
                fringe,
                margin: used * margin,
                tex,
                dry: dry(stated, material),
                ball: stated.and_then(|y| ball(y, tex)),
                to_buy: None,
                left: None,
                at_hand: None,
                ball_ends: Vec::new(),
                runs_out: None,
            };
            colour.at_hand = stated.and_then(|y| at_hand(y, &colour));
            supply(&mut colour, walk, i, material.yarn_tail());
            colour
        })
        .collect()
}

fn fringe(asks: &YarnAsks, name: &str, place: usize) -> Length {
    let own = |f: &&Fringe| match &f.colour {
        Some(colour) => colour.eq_ignore_ascii_case(name),
        None => place == 0,
    };
    asks.fringe
        .iter()
        .filter(own)
        .fold(Length::mm(0.0), |sum, f| sum + f.cut * f64::from(f.strands))
}

fn dry(yarn: Option<&Yarn>, material: &Material) -> Option<(Fibre, f64)> {
    let fibre = yarn.and_then(|y| y.fibre.as_deref()).and_then(Fibre::from_words)?;
    Some((fibre, material.dry_mass(Mass::grams(1.0), Some(fibre))?.to_grams()))
}

fn ball(yarn: &Yarn, tex: Option<f64>) -> Option<Ball> {
    let by_mass = || Some(Length::m(yarn.ball_mass?.to_grams() * 1000.0 / tex?));
    let length = yarn.ball_length.or_else(by_mass).filter(|l| l.to_mm() > 0.0)?;
    Some(Ball { length, mass: yarn.ball_mass })
}

fn at_hand(yarn: &Yarn, colour: &ColourYarn) -> Option<Length> {
    if let (Some(mass), Some(tex)) = (yarn.at_hand, colour.tex) {
        return Some(Length::m(mass.to_grams() * 1000.0 / tex));
    }
    Some(colour.ball?.length * yarn.balls?)
}

/// Balls to buy, what is left of them, where each ends, whether the yarn at hand lasts.
fn supply(colour: &mut ColourYarn, walk: &[Spent], index: usize, tail: Length) {
    if let Some(ball) = colour.ball {
        let whole = |length: Length| (length / ball.length).ceil().max(1.0);
        // Every ball but the first is joined in with two more tails.
        let first = whole(colour.needed());
        let joins = tail * 2.0 * (first - 1.0);
        let balls = whole(colour.needed() + joins);
        colour.to_buy = Some(balls as u32);
        colour.left = Some(ball.length * balls - colour.used() - joins);
        let net = ball.length - tail * 2.0;
        colour.ball_ends = (1..balls as u32)
            .map_while(|b| spot(walk, index, net * f64::from(b)))
            .map(|(at, _, left)| BallEnd { change_before: at.row.clone(), at, left })
            .collect();
    }
    let Some(at_hand) = colour.at_hand.filter(|l| *l < colour.used()) else { return };
    if let Some((at, step, _)) = spot(walk, index, at_hand) {
        let stripe = walk[step..].iter().take_while(|s| s.colour == index).last();
        colour.runs_out = Some(RunsOut {
            at,
            needed_to: stripe.map(|s| s.label.clone()).unwrap_or_default(),
            missing: colour.used() - at_hand,
        });
    }
}

/// Where so much yarn of a colour has been worked, at which step of the walk, and what was left of it when
/// that step began; `None` past the end.
fn spot(walk: &[Spent], colour: usize, length: Length) -> Option<(Spot, usize, Length)> {
    let mut before = Length::mm(0.0);
    for (step, row) in walk.iter().enumerate().filter(|(_, s)| s.colour == colour) {
        let after = before + row.stitches + row.ends;
        if after > length {
            let share = ((length - before - row.ends) / row.stitches).clamp(0.0, 1.0);
            let stitch = (share * f64::from(row.count)).floor() as u32 + 1;
            let at = Spot { row: row.label.clone(), stitch: stitch.min(row.count), of: row.count };
            return Some((at, step, length - before));
        }
        before = after;
    }
    None
}

fn rows(walk: &[Spent], colours: &[ColourYarn], piece: &Piece) -> Vec<RowYarn> {
    let start = |c: &ColourYarn| {
        let bought = || Some(c.ball?.length * f64::from(c.to_buy?));
        c.at_hand.or_else(bought)
    };
    let mut left: Vec<Option<Length>> = colours.iter().map(start).collect();
    walk.iter()
        .map(|s| {
            let rest = &mut left[s.colour];
            *rest = rest.map(|l| l - s.stitches - s.ends);
            // Grams cannot fall below nothing: past the end of the yarn there is no reading.
            let readable = rest.filter(|l| l.to_mm() >= 0.0);
            RowYarn {
                label: s.label.clone(),
                section: piece.sections.get(s.section).cloned().unwrap_or_default(),
                colour: s.colour,
                stitches: s.stitches,
                ends: s.ends,
                left: readable.and_then(|l| colours[s.colour].mass(l)),
            }
        })
        .collect()
}

fn sections(walk: &[Spent], colours: &[ColourYarn], piece: &Piece) -> Vec<SectionYarn> {
    let mut found: Vec<(usize, SectionYarn)> = Vec::new();
    for s in walk {
        let at = found.iter().position(|(section, _)| *section == s.section).unwrap_or_else(|| {
            let name = piece.sections.get(s.section).cloned().unwrap_or_default();
            let lengths = vec![Length::mm(0.0); colours.len()];
            found.push((s.section, SectionYarn { name, copies: 1, lengths }));
            found.len() - 1
        });
        let section = &mut found[at].1;
        section.copies = section.copies.max(s.copy + 1);
        section.lengths[s.colour] = section.lengths[s.colour] + s.stitches + s.ends;
    }
    found.into_iter().map(|(_, section)| section).collect()
}

fn kinds(piece: &Piece, material: &Material, size: f64) -> Vec<KindYarn> {
    // Knit and purl of one ground are one stitch to the yarn.
    let mut sums: BTreeMap<String, (u32, Length)> = BTreeMap::new();
    let lengths = yarn::by_stitch(piece, material);
    for ((stitch, own), length) in piece.stitches.iter().zip(worked(piece)).zip(lengths) {
        let together = piece.made_with_chain(stitch.row);
        if length.to_mm() == 0.0 && piece.made_with_chain(RowId(stitch.row.0 + 1)) {
            continue;
        }
        let name = if together { format!("foundation {}", own.words()) } else { own.words() };
        let entry = sums.entry(name).or_default();
        entry.0 += match stitch.kind {
            crate::stitches::StitchKind::Chain => u32::from(stitch.links.max(1)),
            _ => 1,
        };
        entry.1 = entry.1 + length * size;
    }
    let mut list: Vec<(Length, KindYarn)> = sums
        .into_iter()
        .map(|(words, (count, sum))| {
            (sum, KindYarn { words, count, each: sum / f64::from(count.max(1)) })
        })
        .collect();
    list.sort_by(|a, b| b.0.to_mm().total_cmp(&a.0.to_mm()));
    list.into_iter().map(|(_, kind)| kind).collect()
}
