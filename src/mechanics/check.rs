//! What a body must satisfy before anything is computed from it.

use super::Body;
use super::elements::signed_area;
use std::fmt;

/// The first fault found in a body.
#[derive(Debug, Clone, PartialEq)]
pub struct BadBody {
    /// Kind of the element, or `membrane`, `load`.
    pub kind: &'static str,
    /// Its index.
    pub index: usize,
    /// What was found and what would fit.
    pub fault: String,
}

impl fmt::Display for BadBody {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}: {}", self.kind, self.index, self.fault)
    }
}

impl std::error::Error for BadBody {}

type Check = Result<(), String>;

impl Body {
    /// Refuses numbers that are not finite, rest shapes without extent, stiffness that is not
    /// positive, and indices out of range.
    ///
    /// # Errors
    /// The first fault, by kind and index.
    pub fn validate(&self) -> Result<(), BadBody> {
        each("membrane", &self.membranes, |m| {
            positive("modulus e1 (N/m)", m.e1)?;
            positive("modulus e2 (N/m)", m.e2)?;
            positive("shear modulus (N/m)", m.g)?;
            positive("squeeze", m.squeeze)?;
            if m.squeeze > 1.0 {
                return Err(format!("squeeze is {}, at most 1 fits", m.squeeze));
            }
            if let Some(strain) = m.locking.iter().find(|l| l.is_nan() || **l <= 0.0) {
                return Err(format!("locking strain is {strain}, above zero fits"));
            }
            if m.nu12 * m.nu12 < m.e1 / m.e2 {
                Ok(())
            } else {
                Err(format!(
                    "Poisson ratio is {}, its square must stay below e1/e2 = {}",
                    m.nu12,
                    m.e1 / m.e2
                ))
            }
        })?;
        each("quad", &self.quads, |q| {
            self.nodes_fit(&q.nodes)?;
            self.law_fits(q.membrane)?;
            convex(&q.rest)
        })?;
        each("polygon", &self.polygons, |p| {
            self.nodes_fit(&p.nodes)?;
            self.law_fits(p.membrane)?;
            if p.nodes.len() < 3 || p.nodes.len() != p.rest.len() {
                return Err(format!(
                    "{} nodes and {} rest corners, three or more of each must agree",
                    p.nodes.len(),
                    p.rest.len()
                ));
            }
            if !p.rest.iter().flatten().all(|x| x.is_finite()) {
                return Err("a rest coordinate is not finite".into());
            }
            positive("rest area (m²)", signed_area(&p.rest))
        })?;
        each("wedge", &self.wedges, |w| {
            self.nodes_fit(&w.nodes)?;
            self.law_fits(w.membrane)?;
            positive("rest strand (m)", w.strand)?;
            positive("rest height (m)", w.height)
        })?;
        self.validate_lines()
    }

    fn validate_lines(&self) -> Result<(), BadBody> {
        each("strand", &self.strands, |s| {
            self.nodes_fit(&s.nodes)?;
            positive("rest length (m)", s.rest)?;
            positive("stiffness (N)", s.stiffness)
        })?;
        each("bend", &self.bends, |b| {
            self.nodes_fit(&b.nodes)?;
            positive("stiffness (N m³)", b.stiffness)?;
            let sum: f64 = b.weights.iter().sum();
            let size: f64 = b.weights.iter().map(|w| w.abs()).sum();
            if b.weights.len() != b.nodes.len() || !size.is_finite() || sum.abs() > 1e-9 * size {
                return Err(format!(
                    "{} weights of sum {sum}: one a node, of sum zero, are wanted",
                    b.weights.len()
                ));
            }
            Ok(())
        })?;
        if let Some(support) = &self.support {
            let one = |what, value| {
                positive(what, value).map_err(|fault| BadBody { kind: "support", index: 0, fault })
            };
            one("stiffness (N/m)", support.stiffness)?;
            one("layer (m)", support.layer)?;
            each("solid", &support.solids, |s| {
                let numbers = s.centre.iter().chain(s.half.iter()).chain(s.axes.iter().flatten());
                if !numbers.copied().all(f64::is_finite) || s.half.iter().any(|h| *h < 0.0) {
                    return Err("a size or place is negative or not finite".into());
                }
                positive("radius (m)", s.radius)
            })?;
        }
        if !self.loads.is_empty() && self.loads.len() != self.nodes {
            return Err(BadBody {
                kind: "load",
                index: self.loads.len(),
                fault: format!("one for each of {} nodes, or none, is wanted", self.nodes),
            });
        }
        each("load", &self.loads, |f| {
            if f.iter().all(|f| f.is_finite()) { Ok(()) } else { Err("not finite".into()) }
        })
    }

    fn nodes_fit(&self, nodes: &[u32]) -> Check {
        if let Some(n) = nodes.iter().find(|n| **n as usize >= self.nodes) {
            return Err(format!("node {n} is out of range, there are {}", self.nodes));
        }
        match (0..nodes.len()).find(|i| nodes[..*i].contains(&nodes[*i])) {
            Some(i) => Err(format!("node {} is named twice", nodes[i])),
            None => Ok(()),
        }
    }

    fn law_fits(&self, law: u32) -> Check {
        if (law as usize) < self.membranes.len() {
            Ok(())
        } else {
            Err(format!("membrane {law} is out of range, there are {}", self.membranes.len()))
        }
    }
}

fn each<T>(kind: &'static str, all: &[T], check: impl Fn(&T) -> Check) -> Result<(), BadBody> {
    all.iter()
        .enumerate()
        .try_for_each(|(index, one)| check(one).map_err(|fault| BadBody { kind, index, fault }))
}

fn positive(what: &str, value: f64) -> Check {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(format!("{what} is {value}, a positive number is wanted"))
    }
}

/// Every corner of a rest quadrilateral must turn left, else a shape function has no gradient.
fn convex(rest: &[[f64; 2]; 4]) -> Check {
    (0..4).try_for_each(|i| {
        let [a, b, c] = [rest[(i + 3) % 4], rest[i], rest[(i + 1) % 4]];
        let turn = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
        // Words are put together for a fault only: a large piece has a million corners.
        positive("", turn).or_else(|_| positive(&format!("turn at rest corner {i} (m²)"), turn))
    })
}
