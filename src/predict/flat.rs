//! The piece lying flat: the whole pipeline in order.

use std::ops::ControlFlow;

use super::{Assumption, Prediction, Solution, cautions, material, planned, wording, yarn};
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::fabric::Fabric;
use crate::fabric::Sizes;
use crate::fabric::worked;
use crate::material::Hand;
use crate::material::HandSettings;
use crate::material::Material;
use crate::material::MaterialError;
use crate::material::PresetOverride;
use crate::material::Worked;
use crate::measure::Measurements;
use crate::measure::measure;
use crate::pattern::GaugeState;
use crate::pattern::Header;
use crate::pattern::Origin;
use crate::pattern::Pattern;
use crate::source::Source;
use crate::state::Cause;
use crate::state::Laid;
use crate::state::NotLaid;
use crate::state::Progress;
use crate::state::Settings;
use crate::stitches::Piece;
use crate::stitches::StitchKind;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Drawn with when the page names no colour: invented, told apart in greyscale.
const INVENTED: [[u8; 3]; 6] = [
    [58, 92, 120],
    [222, 184, 120],
    [146, 68, 74],
    [176, 200, 186],
    [92, 78, 110],
    [234, 224, 206],
];

/// What the user asks for beyond the page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Options {
    /// Seed of the maker's random variation; none: an even hand unless the page states noise.
    pub seed: Option<u64>,
    /// Physical values that replace presets.
    pub overrides: Vec<PresetOverride>,
    /// Units to report in; none: the page's own.
    pub units: Option<UnitSystem>,
    /// Also estimate how sure the figures are between makers, at about the price of another solve.
    pub sure: bool,
    /// Also look for length to spare, and which pieces that have any to put on a table.
    pub tables: Tables,
}

/// Which pieces that have length to spare are put on a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tables {
    /// None, and none is looked for.
    #[default]
    None,
    /// Those of which at most some thousands of stitches may rise, in up to about a minute.
    Small,
    /// Large ones too, in some minutes.
    All,
}

/// What is going on, for whoever waits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Reading and working the rows.
    Working,
    /// Building the mesh of so many stitches.
    Meshing(u32),
    /// Looking for equilibrium.
    Settling {
        /// Newton steps so far.
        iteration: u32,
        /// Relative residual.
        residual: f64,
    },
}

/// Why there is no prediction.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Failure {
    /// Gauge, yarn or a preset value cannot be.
    #[error("{0}")]
    Material(#[from] MaterialError),
    /// The piece could not be laid flat; where, in the pattern's words.
    #[error("{fault}{}", near.as_ref().map(|n| format!(" (near {n})")).unwrap_or_default())]
    NotLaid {
        /// What happened.
        fault: NotLaid,
        /// Row nearest the trouble.
        near: Option<String>,
    },
    /// The pins ask for more than the stitches give.
    #[error(
        "pinning {words} stretches it by {stretch:.0} %, and stitches lock at {locking:.0} % (preset \
         {preset}): expected less, or a wider fabric"
    )]
    Pins {
        /// What was asked for.
        words: String,
        /// Stretch of the whole piece that takes, per cent.
        stretch: f64,
        /// Strain at which stitches lock, per cent.
        locking: f64,
        /// Key of the preset that decides it.
        preset: String,
    },
    /// No preset knows how this fibre takes blocking.
    #[error(
        "fibre `{0}`: expected wool, alpaca, mohair, cashmere, silk, cotton, linen, hemp, viscose, acrylic, nylon or polyester, \
         or a set of your own"
    )]
    Fibre(String),
    /// The name of a stitch to test could not be read.
    #[error("stitch `{name}`: expected {names}")]
    Stitch {
        /// What was asked for.
        name: String,
        /// What would fit.
        names: &'static str,
    },
    /// The page holds no row that can be worked.
    #[error("no row could be worked, so there is nothing to lay; `check` lists what is wrong")]
    NoRows,
    /// A round begins on both sides of a foundation chain.
    #[error(
        "{0} goes along its foundation chain and back along the other side: expected work from one edge to the \
         other, or round a ring; ovals are read, checked and written, and cannot be laid yet"
    )]
    Oval(String),
}

impl Failure {
    /// True where closed rounds found no way to lie cut open; [`super::rounds`] rests them whole.
    pub fn closed(&self) -> bool {
        matches!(self, Self::NotLaid { fault: NotLaid::Closed, .. })
    }
}

/// A failure with what was found out before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// Why there is no prediction.
    pub failure: Failure,
    /// Faults, doubts and choices found so far.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads, works, meshes, solves and measures the pattern in `source`.
///
/// Faults of the pattern do not stop it: what can be worked is laid, and the faults come with the
/// prediction. `progress` may break to stop the solver.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn lay(
    source: &Source,
    options: &Options,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Prediction, Box<Refused>> {
    let mut done = run(source, options, progress)?;
    match super::rising::rising(&done, options, progress) {
        Ok(Some((rising, rests))) => {
            done.prediction.rising = Some(rising);
            done.prediction.assumptions.extend(rests);
        }
        Ok(None) => {}
        Err(fault) => {
            let diagnostics = std::mem::take(&mut done.prediction.diagnostics);
            let failure = not_laid(&done.piece, fault);
            return Err(Box::new(Refused { failure, diagnostics }));
        }
    }
    if options.sure {
        done.prediction.sure = super::makers::quick(&done);
    }
    Ok(done.prediction)
}

/// A pattern read and worked, before any number is put to its stitches.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The page it was read from.
    pub source: Source,
    /// What stands around the instructions.
    pub header: Header,
    /// The stitch graph.
    pub piece: Piece,
    /// Faults, doubts and choices found while reading and working.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads the pattern and works its rows. Where the page tells a length instead of a number of rows, the
/// rows are as many as the heights of its own stitches ask for.
pub fn read(source: &Source) -> Reading {
    let (pattern, mut diagnostics) = crate::pattern::parse(source);
    let (piece, faults) = work(&pattern);
    diagnostics.extend(faults);
    Reading { source: source.clone(), header: pattern.header, piece, diagnostics }
}

/// Works the rows of a pattern; see [`read`].
pub fn work(pattern: &Pattern) -> (Piece, Vec<Diagnostic>) {
    let (piece, faults) = crate::stitches::work(pattern);
    if faults.iter().all(|f| f.code != "rows-by-length") {
        return (piece, faults);
    }
    let Ok(material) = material::material(&pattern.header, &piece, &[]) else {
        return (piece, faults);
    };
    crate::stitches::work_by(pattern, Some(&|piece: &Piece| row_heights(piece, &material)))
}

/// Mean height of the stitches of every row, mm; 0 for a row without any.
fn row_heights(piece: &Piece, material: &Material) -> Vec<f64> {
    let grounds = worked(piece);
    let link = material.width_of(Worked::plain(StitchKind::Chain)).to_mm();
    let height = |row: &crate::stitches::PieceRow| {
        let stands = |&i: &u32| {
            let stitch = &piece.stitches[i as usize];
            !stitch.overlay && !matches!(stitch.kind, StitchKind::Chain | StitchKind::CastOn)
        };
        let heights = (row.stitches.0..row.stitches.1)
            .filter(stands)
            .map(|i| material.height_of(grounds[i as usize]).to_mm());
        let (sum, n) = heights.fold((0.0, 0u32), |(sum, n), h| (sum + h, n + 1));
        let mean = if n > 0 { sum / f64::from(n) } else { 0.0 };
        // As the row gauge is shared out, loops take no more of a row than the stitches on them.
        mean + (super::traced::lift(piece, row) * link).min(mean)
    };
    piece.rows.iter().map(height).collect()
}

/// Everything the stages made on the way to a prediction.
#[derive(Debug, Clone)]
pub struct Run {
    /// What stands around the instructions.
    pub header: Header,
    /// The stitch graph.
    pub piece: Piece,
    /// Sizes and laws of its stitches.
    pub material: Material,
    /// The hand that worked it.
    pub hand: HandSettings,
    /// Seed of its variation.
    pub seed: u64,
    /// Mesh and rest shapes.
    pub fabric: Fabric,
    /// Equilibrium.
    pub laid: Laid,
    /// What is reported of it.
    pub prediction: Prediction,
}

/// Runs all stages and keeps what they made.
///
/// # Errors
/// [`Failure`], with the diagnostics found so far.
pub fn run(
    source: &Source,
    options: &Options,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Run, Box<Refused>> {
    let _ = progress(Step::Working);
    let reading = read(source);
    make(&reading, &reading.piece, options, progress)
        .map_err(|failure| Box::new(Refused { failure, diagnostics: reading.diagnostics }))
}

/// Carries a pattern that has been read through the later stages. `gauged` is the piece that a gauge
/// taken in the pattern itself was worked in: the reading's own piece, or, where that piece has been
/// changed to try something, the piece as written.
///
/// # Errors
/// [`Failure`].
pub fn make(
    reading: &Reading,
    gauged: &Piece,
    options: &Options,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Run, Failure> {
    let mut run = flat(reading, gauged, options, progress)?;
    run.prediction.diagnostics.splice(0..0, reading.diagnostics.iter().cloned());
    Ok(run)
}

/// Refuses rounds that begin on both sides of a foundation chain, which have no mesh.
pub(super) fn no_oval(piece: &Piece) -> Result<(), Failure> {
    match piece.round_a_chain() {
        Some(row) => Err(Failure::Oval(format!("round {}", piece.rows[row.0 as usize].label))),
        None => Ok(()),
    }
}

fn flat(
    reading: &Reading,
    gauged: &Piece,
    options: &Options,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Run, Failure> {
    let (header, piece) = (reading.header.clone(), reading.piece.clone());
    if piece.rows.len() < 2 {
        return Err(Failure::NoRows);
    }
    no_oval(&piece)?;
    let material = material::material(&header, gauged, &options.overrides)?;
    let (settings, seed) = material::hand(&header, &material, options.seed);
    let hand = Hand::new(settings, seed, piece.rows.len() as u32)?;
    let _ = progress(Step::Meshing(piece.stitches.len() as u32));
    let fabric = Fabric::new(&piece, &Sizes::new(&piece, &material, &hand));
    let laid = settle(&piece, &fabric, progress)?;
    let measured =
        measure(&piece, &fabric, &laid.shape, yarn::by_colour(&piece, &material, settings.size()))
            .ok_or(Failure::NotLaid { fault: NotLaid::Closed, near: None })?;
    let units = options.units.unwrap_or(header.units.value);
    let (planned, slant_borrowed) = planned::plan(&header.planned, &measured);
    let title =
        header.title.as_ref().map_or_else(|| reading.source.name().to_owned(), |t| t.value.clone());
    let mut assumptions = assumptions(&piece, &material, &header, units);
    let cut =
        |(row, ends): (&crate::stitches::PieceRow, &Option<[u32; 2]>)| row.round && ends.is_some();
    if fabric.middle.is_none() && piece.rows.iter().zip(&fabric.row_ends).any(cut) {
        assumptions.push(cut_open());
    }
    if !fabric.lines.is_empty() {
        assumptions.push(blocks(&fabric));
    }
    if slant_borrowed {
        assumptions.push(borrowed_slant(measured.edges[0].slant));
    }
    let prediction = Prediction {
        cautions: cautions::tool(&header, &material)
            .into_iter()
            .chain(cautions::cautions(&piece, &title, longest_edge(&measured)))
            .collect(),
        title,
        units,
        gauge_state: gauge_state(&header),
        diagnostics: unplaced(&piece, &fabric),
        planned,
        palette: palette(&header, &piece),
        stitches: piece.stitches.len() as u32,
        wording: wording::wording(&piece, &reading.source),
        assumptions,
        solution: solution(&laid, &fabric),
        sure: None,
        rising: None,
        measured,
    };
    Ok(Run { header, piece, material, hand: settings, seed, fabric, laid, prediction })
}

fn cut_open() -> Assumption {
    Assumption {
        what: "worked in the round".into(),
        value: "laid cut open where the rounds begin".into(),
        source: "a tube lies double: half as wide as drawn, in two layers".into(),
        assumed: false,
    }
}

fn blocks(fabric: &Fabric) -> Assumption {
    let lines = (fabric.lines.len() - 1).max(1) as f64;
    Assumption {
        what: "blocks worked from corner to corner".into(),
        value: format!("square, {lines} along the left edge"),
        source: "assumed: each stands on the chain of another, so it is as wide as that one is tall, and \
                 keeps the area that its stitches and chain have in the gauge"
            .into(),
        assumed: true,
    }
}

fn longest_edge(measured: &Measurements) -> Length {
    let [left, right] = measured.edges.each_ref().map(|e| e.chord.to_mm());
    Length::mm(left.max(right))
}

fn borrowed_slant(slant: Angle) -> Assumption {
    Assumption {
        what: "slant of the planned outline".into(),
        value: format!("{:.1}°", slant.to_degrees()),
        source: "assumed: none stated, so the predicted slant is taken".into(),
        assumed: true,
    }
}

fn solution(laid: &Laid, fabric: &Fabric) -> Solution {
    let outcome = laid.outcome;
    Solution {
        residual: outcome.residual,
        last_step: outcome.last_step / mean_width(fabric),
        iterations: outcome.iterations as u32,
        energy: outcome.energy,
        minimum: outcome.minimum,
    }
}

fn settle(
    piece: &Piece,
    fabric: &Fabric,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Laid, Failure> {
    crate::state::lay(fabric, &Settings::default(), &mut teller(progress))
        .map_err(|fault| not_laid(piece, fault))
}

/// Passes the solver's progress on.
pub(super) fn teller(
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> impl FnMut(Progress) -> ControlFlow<()> {
    move |p| progress(Step::Settling { iteration: p.iteration as u32, residual: p.residual })
}

/// Says where, in the pattern's words.
pub(super) fn not_laid(piece: &Piece, fault: NotLaid) -> Failure {
    let near = match &fault {
        NotLaid::Unsettled { fault, near: Some(stitch) } if fault.cause != Cause::Interrupted => {
            Some(crate::measure::row_label(piece, piece.stitch(*stitch).row.0))
        }
        _ => None,
    };
    Failure::NotLaid { fault, near }
}

/// Mean rest width of the plain cells, m.
fn mean_width(fabric: &Fabric) -> f64 {
    let quads = &fabric.body.quads;
    quads.iter().map(|q| q.rest[1][0] - q.rest[0][0]).sum::<f64>() / quads.len().max(1) as f64
}

pub(super) fn gauge_state(header: &Header) -> String {
    let stated = header.gauges.iter().find(|g| g.state_stated);
    let state = |s: GaugeState| match s {
        GaugeState::Worked => "as worked",
        GaugeState::Washed => "washed",
        GaugeState::Blocked => "blocked",
    };
    match stated {
        Some(gauge) => state(gauge.state).to_owned(),
        None => format!("{}, assumed", state(GaugeState::default())),
    }
}

pub(super) fn assumptions(
    piece: &Piece,
    material: &Material,
    header: &Header,
    units: UnitSystem,
) -> Vec<Assumption> {
    let mut used: Vec<Worked> = worked(piece);
    used.sort_unstable();
    used.dedup();
    let mut list: Vec<Assumption> = material
        .provenance(&used, units)
        .into_iter()
        .map(|p| Assumption { what: p.what, value: p.value, source: p.source, assumed: p.assumed })
        .collect();
    list.extend(super::repeats::assumptions(header, piece, units));
    let stated = header.gauges.iter().any(|g| g.state_stated);
    list.push(Assumption {
        what: "state of the gauge".into(),
        value: gauge_state(header).replace(", assumed", ""),
        source: if stated {
            "stated in the pattern"
        } else {
            "assumed: gauge is usually taken washed"
        }
        .into(),
        assumed: !stated,
    });
    if let Some(read_as) = &header.planned.read_as {
        list.push(Assumption {
            what: "planned size".into(),
            value: read_as.clone(),
            source: "assumed: a bare pair is read as square to the edges by along the edges".into(),
            assumed: true,
        });
    }
    if header.terms.origin != Origin::FrontMatter && piece.craft == crate::stitches::Craft::Crochet
    {
        list.push(Assumption {
            what: "stitch names".into(),
            value: format!("{:?} terms", header.terms.value)
                .to_uppercase()
                .replace("TERMS", "terms"),
            source: header.terms_why.clone(),
            assumed: header.terms.origin == Origin::Default,
        });
    }
    list
}

/// A colour per colour index: the page's own where stated.
pub(super) fn palette(header: &Header, piece: &Piece) -> Vec<[u8; 3]> {
    let own = |name: &str| {
        header.yarns.iter().find(|y| y.name.eq_ignore_ascii_case(name)).and_then(|y| y.display)
    };
    piece
        .colours
        .iter()
        .enumerate()
        .map(|(i, name)| own(name).unwrap_or(INVENTED[i % INVENTED.len()]))
        .collect()
}

/// Stitches that found no place on the edge of the work: the first row told, the others counted.
pub(super) fn unplaced(piece: &Piece, fabric: &Fabric) -> Vec<Diagnostic> {
    let rows: std::collections::BTreeSet<_> =
        fabric.unplaced.iter().map(|u| piece.stitch(u.stitch).row).collect();
    let Some(first) = fabric.unplaced.first() else { return Vec::new() };
    let stitch = piece.stitch(first.stitch);
    let row = crate::measure::row_label(piece, stitch.row.0);
    let more = match rows.len() - 1 {
        0 => String::new(),
        1 => ", and so in another row".to_owned(),
        n => format!(", and so in {n} more rows"),
    };
    vec![Diagnostic {
        code: "no-place-on-the-edge",
        severity: Severity::Warning,
        message: format!("a stitch of {row} makes no fabric: {}{more}", first.why),
        primary: crate::diagnostic::Label { span: stitch.words, text: String::new() },
        secondary: Vec::new(),
        expected: "a place on the edge of the work so far".into(),
        found: "a place inside it".into(),
        fit: "work it into the last row, a space, a row end or the foundation".into(),
        section: None,
        row,
    }]
}
