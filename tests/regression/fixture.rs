//! Predictions of invented pieces, made without working a pattern: a parallelogram whose rows of two
//! heights shape at different rates, so that its edges step.

use slantwise::diagnostic::Diagnostic;
use slantwise::measure::Bender;
use slantwise::measure::CellStrain;
use slantwise::measure::EdgePoint;
use slantwise::measure::EdgeShape;
use slantwise::measure::LengthRange;
use slantwise::measure::Measurements;
use slantwise::measure::RowMeasure;
use slantwise::measure::YarnUse;
use slantwise::measure::Zigzag;
use slantwise::predict::Assumption;
use slantwise::predict::Planned;
use slantwise::predict::Prediction;
use slantwise::predict::Solution;
use slantwise::predict::Wording;
use slantwise::predict::{Blocks, Corner, Hanging, Heavier, HungCell, HungRow, PinPoint, Trial};
use slantwise::units::Angle;
use slantwise::units::Length;
use slantwise::units::Mass;
use slantwise::units::UnitSystem;

/// What a made-up piece looks like.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) stitches: usize,
    pub(crate) rows: usize,
    /// Stitch width and mean row height, mm.
    pub(crate) cell: [f64; 2],
    /// Sideways shift per row, stitches; the shift of a repeat is uneven when not zero.
    pub(crate) shift: f64,
    pub(crate) planned: bool,
    pub(crate) units: UnitSystem,
}

/// 70 stitches by 300 rows on the bias, 1.7 m along its edges, with steps in both edges.
pub(crate) const WRAP: Shape = Shape {
    stitches: 70,
    rows: 300,
    cell: [5.0, 4.0],
    shift: 0.8,
    planned: true,
    units: UnitSystem::Metric,
};

/// The same piece hung by its foundation, grown by 2 % down the columns and swung a little out of its
/// plane.
pub(crate) fn hanging(shape: &Shape) -> Hanging {
    let laid = prediction(shape);
    let hangs = |[x, y]: [f64; 2]| [x, 30.0 * (x / 60.0).sin() * (y / 900.0).tanh(), -1.02 * y];
    let cells: Vec<HungCell> = laid
        .measured
        .cells
        .iter()
        .map(|c| HungCell {
            corners: c.corners.iter().map(|p| hangs(*p)).collect(),
            row: c.row,
            stitch: c.stitch,
            kind: c.kind,
            colour: c.colour,
        })
        .collect();
    let m = &laid.measured;
    let pair = |l: Length, share: f64| [l, l * share];
    let below = |mm: f64| Length::mm(mm);
    let tall = 1.02 * m.square_to_rows.to_mm();
    let names = ["foundation, left", "foundation, right", "last row, left", "last row, right"];
    let corner = |k: usize| Corner {
        name: names[k],
        below: below(if k < 2 { 0.0 } else { tall }),
        drop: below(if k < 2 { 0.0 } else { 0.02 * tall }),
    };
    Hanging {
        words: "pegged along the foundation, a peg at most every 10.0 cm".into(),
        mass: Mass::grams(215.0),
        rows: pair(m.along_rows.mean, 0.99),
        edges: m.edges.each_ref().map(|e| pair(e.path_length, 1.02)),
        corners: (0..4).map(corner).collect(),
        skew: Angle::degrees(-3.2),
        most_skew: Angle::degrees(-9.1),
        size: [m.over_all()[0], Length::mm(60.0), Length::mm(tall)],
        drape: None,
        largest_pull: 0.71,
        borne: [2.11, 0.0],
        crossed: 0,
        worn: false,
        dropped: false,
        later: vec![Heavier { after: "a day", growth: [-0.011, 0.023] }],
        creep: [0.1, 1.0],
        by_row: m
            .rows
            .iter()
            .map(|r| HungRow {
                label: r.label.clone(),
                along: pair(r.width, 0.99),
                below: below(4.0 * f64::from(r.row)),
            })
            .collect(),
        strains: m.cells.iter().map(|c| [c.along, c.up + 0.02, c.shear]).collect(),
        cells,
        held: (0..5).map(|k| [f64::from(k) * m.along_rows.mean.to_mm() / 4.0, 0.0, 0.0]).collect(),
        carriers: Vec::new(),
        solution: laid.solution.clone(),
        assumptions: Vec::new(),
        laid,
    }
}

/// The same piece blocked by as many allowances as asked for; what the pins make of it is not worked out.
pub(crate) fn blocked(shape: &Shape, trials: usize) -> Blocks {
    let washed = prediction(shape);
    let m = &washed.measured;
    let pins: Vec<PinPoint> = (0..12)
        .map(|k| PinPoint {
            side: "right edge, from the foundation".into(),
            along: Length::cm(8.0 * f64::from(k)),
        })
        .collect();
    let trial = |k: usize| Trial {
        words: format!("{} % along the rows, {k} % square to them", k + 1),
        pinned: m.clone(),
        released: m.clone(),
        rewashed: m.clone(),
        scallop: Length::mm(2.0),
        strain: [0.05, 0.04],
        towards_locking: 0.3,
        locks_first: "row 12, along the rows".into(),
        pins: pins.clone(),
    };
    Blocks { trials: (0..trials).map(trial).collect(), set: 0.6, assumptions: Vec::new(), washed }
}

const REPEAT: usize = 12;

/// Shift (stitches) and height (mm) of a row.
fn row_step(shape: &Shape, row: usize) -> [f64; 2] {
    let tall = row % REPEAT >= 8;
    let shift = if tall { 1.75 } else { 0.625 } * shape.shift;
    [shift * shape.cell[0], shape.cell[1] * if tall { 1.5 } else { 0.75 }]
}

/// Left edge point above each row, from the foundation.
fn left_edge(shape: &Shape) -> Vec<[f64; 2]> {
    let mut at = [0.0, 0.0];
    let mut points = vec![at];
    for row in 0..shape.rows {
        let [dx, dy] = row_step(shape, row);
        at = [at[0] + dx, at[1] + dy];
        points.push(at);
    }
    points
}

pub(crate) fn prediction(shape: &Shape) -> Prediction {
    let left = left_edge(shape);
    let width = shape.stitches as f64 * shape.cell[0];
    // The right edge bulges a little, so that the two edges differ.
    let rise = left.last().unwrap()[1];
    let right: Vec<[f64; 2]> = left
        .iter()
        .map(|p| [p[0] + width + 0.01 * width * (p[1] / rise * std::f64::consts::PI).sin(), p[1]])
        .collect();
    let edges = [edge(&left, shape, 1.0), edge(&right, shape, -1.0)];
    let slant = edges[0].slant.to_radians();
    // Closed: from the lower left along the foundation, up the right edge and down the left one.
    let outline = right.iter().chain(left.iter().rev()).copied().collect();
    Prediction {
        title: "Heron wrap".into(),
        units: shape.units,
        gauge_state: "washed, assumed".into(),
        diagnostics: Vec::<Diagnostic>::new(),
        planned: planned(shape, width, rise),
        measured: Measurements {
            closed: None,
            along_rows: LengthRange {
                mean: Length::mm(width * 1.006),
                least: Length::mm(width),
                most: Length::mm(width * 1.01),
            },
            square_to_rows: Length::mm(rise),
            square_to_edges: Length::mm(width * slant.cos()),
            edges,
            area_mm2: width * rise * 1.006,
            outline,
            rows: rows(&left, &right),
            cells: cells(&left, &right, shape.stitches),
            kinds: ["single crochet", "double crochet", "3-double crochet cluster"]
                .map(String::from)
                .into(),
            yarn: yarn(),
        },
        palette: vec![[58, 92, 120], [222, 184, 120]],
        stitches: (shape.stitches * shape.rows) as u32,
        wording: wording(shape),
        assumptions: assumptions(),
        cautions: vec!["Open mesh can catch small fingers: not for a baby's cot.".into()],
        sure: None,
        rising: None,
        solution: Solution {
            residual: 3.1e-10,
            last_step: 2.4e-7,
            iterations: 9,
            energy: 0.0132,
            minimum: true,
        },
    }
}

fn planned(shape: &Shape, width: f64, rise: f64) -> Planned {
    if !shape.planned {
        return Planned::default();
    }
    let slant: f64 = if shape.shift == 0.0 { 0.0 } else { 45.0f64.to_radians() };
    let (w, h) = (width * 1.03, rise * 0.97);
    let x = h * slant.tan();
    Planned {
        along_rows: Some(Length::mm(w)),
        square_to_edges: Some(Length::mm(w * slant.cos())),
        along_edges: Some(Length::mm(h / slant.cos())),
        slant: Some(Angle::radians(slant)),
        outline: Some(vec![[0.0, 0.0], [w, 0.0], [w + x, h], [x, h]]),
    }
}

fn edge(points: &[[f64; 2]], shape: &Shape, outwards: f64) -> EdgeShape {
    let (first, last) = (points[0], points[points.len() - 1]);
    let (dx, dy) = (last[0] - first[0], last[1] - first[1]);
    let chord = dx.hypot(dy);
    let (ux, uy) = (dx / chord, dy / chord);
    let off = |p: &[f64; 2]| -((p[0] - first[0]) * uy - (p[1] - first[1]) * ux) * outwards;
    let (low, high) = points
        .iter()
        .map(off)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let curve = points.iter().enumerate().map(|(row, p)| EdgePoint {
        row: row as u32,
        along: (p[0] - first[0]) * ux + (p[1] - first[1]) * uy,
        off: off(p) - (low + high) / 2.0,
    });
    let period = chord / (shape.rows as f64 / REPEAT as f64);
    let stepped = shape.shift != 0.0 && shape.rows > REPEAT;
    EdgeShape {
        path_length: Length::mm(chord * 1.004),
        chord: Length::mm(chord),
        slant: Angle::radians(dx.atan2(dy)),
        minimum_zone: Length::mm(high - low),
        least_squares: Length::mm((high - low) * 1.1),
        curve: curve.collect(),
        zigzag: stepped.then(|| Zigzag {
            height: Length::mm((high - low) * 0.9),
            period: Length::mm(period),
            rows: REPEAT as u32,
        }),
        benders: if stepped { benders(shape.rows, outwards) } else { Vec::new() },
    }
}

fn benders(rows: usize, outwards: f64) -> Vec<Bender> {
    let of = |rest: usize| (0..rows as u32).filter(|r| *r as usize % REPEAT == rest).collect();
    vec![
        Bender {
            rows: format!("Row 9 (every 12 rows, {} times)", rows / REPEAT),
            indices: of(9),
            push: Length::mm(-1.9 * outwards),
        },
        Bender {
            rows: format!("Row 12 (every 12 rows, {} times)", rows / REPEAT),
            indices: of(0),
            push: Length::mm(-1.7 * outwards),
        },
        Bender {
            rows: format!("Row 3 (every 12 rows, {} times)", rows / REPEAT),
            indices: of(3),
            push: Length::mm(0.8 * outwards),
        },
    ]
}

fn rows(left: &[[f64; 2]], right: &[[f64; 2]]) -> Vec<RowMeasure> {
    let angle = |a: [f64; 2], b: [f64; 2]| Angle::radians((b[0] - a[0]).atan2(b[1] - a[1]));
    (1..left.len())
        .map(|i| RowMeasure {
            row: i as u32,
            label: format!("Wrap, row {i}"),
            width: Length::mm(right[i][0] - left[i][0]),
            height: Length::mm(left[i][1] - left[i - 1][1]),
            slant: [angle(left[i - 1], left[i]), angle(right[i - 1], right[i])],
            cumulative: [angle(left[0], left[i]), angle(right[0], right[i])],
        })
        .collect()
}

fn cells(left: &[[f64; 2]], right: &[[f64; 2]], stitches: usize) -> Vec<CellStrain> {
    let mut cells = Vec::with_capacity(stitches * left.len());
    let rise = left[left.len() - 1][1];
    for row in 1..left.len() {
        let at = |r: usize, part: f64| {
            let (a, b) = (left[r], right[r]);
            [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part]
        };
        for i in 0..stitches {
            let (from, to) = (i as f64 / stitches as f64, (i as f64 + 1.0) / stitches as f64);
            let (u, v) = ((from + to) / 2.0 * 2.0 - 1.0, left[row][1] / rise * 2.0 - 1.0);
            cells.push(CellStrain {
                corners: vec![at(row - 1, from), at(row - 1, to), at(row, to), at(row, from)],
                row: row as u32,
                stitch: ((row - 1) * stitches + i) as u32,
                kind: u16::from(row % REPEAT == 8) + 2 * u16::from(row % REPEAT > 8),
                colour: u16::from(row % (2 * REPEAT) > REPEAT),
                along: 0.03 * u * u * v - 0.008,
                up: 0.02 * (1.0 - u * u) * (6.0 * v).sin(),
                shear: 0.06 * u * v,
            });
        }
    }
    cells
}

fn wording(shape: &Shape) -> Wording {
    let texts = vec!["sc in each st across".into(), "2 sc in last st".into()];
    let of = |at: usize| u32::from((at + 1).is_multiple_of(shape.stitches));
    Wording { texts, of: (0..shape.stitches * shape.rows).map(of).collect() }
}

fn yarn() -> Vec<YarnUse> {
    vec![
        YarnUse {
            colour: "A (slate)".into(),
            length: Length::m(482.0),
            mass: Some(Mass::grams(120.5)),
        },
        YarnUse { colour: "B (wheat)".into(), length: Length::m(131.0), mass: None },
    ]
}

fn assumptions() -> Vec<Assumption> {
    vec![
        Assumption {
            what: "gauge".into(),
            value: "20 stitches over 10.0 cm and 13 rows over 10.0 cm in double crochet".into(),
            source: "stated in the pattern".into(),
            assumed: false,
        },
        Assumption {
            what: "size of treble crochet".into(),
            value: "5.25 x 12.08 mm".into(),
            source: "weaker: from the gauge over stitches and rows of double crochet by \
                     height/width 2.3 (assumed: no gauge of treble found)"
                .into(),
            assumed: true,
        },
    ]
}
