//! Shoulders to hang a piece over: a form given by four body measures.
//!
//! Its profile from arm to arm is a roof with a round ridge: two straight shoulders fall from the nape at
//! the stated slope and round off into the sides. It is as deep as the chest; a neck stands before the line
//! on which the piece is laid. Everything is a box rounded by one radius, so that the surface has a tangent
//! everywhere but at the foot of the neck, and the laid line follows it without strain.

use crate::mechanics::Solid;

/// Rounding of shoulders and sides, m: assumed, about half the thickness of an upper arm.
const ROUND: f64 = 0.05;

/// How far the form reaches below the shoulder points, m.
const LONG: f64 = 0.6;

/// How far the neck stands above the nape, m.
const NECK: f64 = 0.08;

/// Faces round a rounded edge, for pictures.
const FACES: usize = 12;

/// By how much the form is drawn thinner than it is, m.
const THINNER: f64 = 0.004;

type Place = [f64; 3];

/// Measures of a body across its shoulders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shoulders {
    /// From arm to arm over both shoulders, straight across, m.
    pub breadth: f64,
    /// Girth of the neck, m.
    pub neck: f64,
    /// Fall of the shoulders against level, rad.
    pub slope: f64,
    /// From chest to back, m.
    pub depth: f64,
}

impl Shoulders {
    /// What is wrong with the measures, when no body could have them.
    pub fn fault(&self) -> Option<String> {
        let cm = |m: f64| m * 100.0;
        let within = |what: &str, value: f64, least: f64, most: f64, unit: &str| {
            (!(least..=most).contains(&value))
                .then(|| format!("{what} is {value:.1} {unit}; expected {least} to {most} {unit}"))
        };
        let thick = self.neck / std::f64::consts::PI;
        within("breadth over the shoulders", cm(self.breadth), 15.0, 80.0, "cm")
            .or_else(|| within("slope of the shoulders", self.slope.to_degrees(), 0.0, 40.0, "degrees"))
            .or_else(|| within("depth of the chest", cm(self.depth), 8.0, 60.0, "cm"))
            .or_else(|| within("girth of the neck", cm(self.neck), 10.0, 70.0, "cm"))
            .or_else(|| {
                let most = (self.breadth / 2.0).min(0.6 * self.depth);
                (thick > most).then(|| {
                    format!(
                        "a neck of {:.1} cm girth is {:.1} cm thick and does not stand on shoulders {:.1} \
                         cm broad and {:.1} cm deep; expected a girth below {:.1} cm",
                        cm(self.neck),
                        cm(thick),
                        cm(self.breadth),
                        cm(self.depth),
                        cm(most * std::f64::consts::PI)
                    )
                })
            })
    }

    fn round(&self) -> f64 {
        ROUND.min(0.45 * self.depth).min(0.25 * self.breadth)
    }

    /// Where the profile's rounding at the right arm is centred: across, and up from the nape.
    fn arm(&self) -> [f64; 2] {
        let across = self.breadth / 2.0 - self.round();
        [across, -self.round() - across * self.slope.tan()]
    }

    /// Length from the nape to the shoulder point along the profile, m.
    pub fn shoulder(&self) -> f64 {
        self.round() * self.slope + self.arm()[0] / self.slope.cos()
    }

    /// The profile at `s` from the nape along it (m, positive to the right): across, and up.
    pub fn profile(&self, s: f64) -> [f64; 2] {
        let (r, [x, z]) = (self.round(), self.arm());
        let (sin, cos) = self.slope.sin_cos();
        let (top, straight) = (r * self.slope, x / cos);
        let out = s.abs();
        let at = if out < top {
            let turn = out / r;
            [r * turn.sin(), r * (turn.cos() - 1.0)]
        } else if out < top + straight {
            let along = out - top;
            [r * sin + along * cos, r * (cos - 1.0) - along * sin]
        } else {
            let quarter = std::f64::consts::FRAC_PI_2;
            let turn = self.slope + (out - top - straight) / r;
            match turn < quarter {
                true => [x + r * turn.sin(), z + r * turn.cos()],
                false => [x + r, z - r * (turn - quarter)],
            }
        };
        [at[0].copysign(s), at[1]]
    }

    /// The solids it is made of; the nape lies at the origin, the wearer's back at negative y.
    pub fn solids(&self) -> Vec<Solid> {
        let (r, [x, z]) = (self.round(), self.arm());
        let (sin, cos) = self.slope.sin_cos();
        let deep = self.depth / 2.0 - r;
        let shoulder = |side: f64| Solid {
            centre: [side * x / 2.0, 0.0, (z - r) / 2.0],
            axes: [[side * cos, 0.0, -sin], [0.0, 1.0, 0.0], [side * sin, 0.0, cos]],
            half: [x / (2.0 * cos), deep, 0.0],
            radius: r,
        };
        let level = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let trunk = Solid {
            centre: [0.0, 0.0, z - LONG / 2.0],
            axes: level,
            half: [x, deep, LONG / 2.0],
            radius: r,
        };
        let thick = self.neck / std::f64::consts::TAU;
        let neck = Solid {
            centre: [0.0, thick, 0.5 * (NECK - r)],
            axes: level,
            half: [0.0, 0.0, 0.5 * (NECK + r)],
            radius: thick,
        };
        vec![shoulder(1.0), shoulder(-1.0), trunk, neck]
    }

    /// The surfaces of its solids as faces, for pictures; drawn a little thinner than they are, so that the
    /// piece on them shows.
    pub fn faces(&self) -> Vec<Vec<Place>> {
        let thinner = |s: Solid| Solid { radius: s.radius - THINNER, ..s };
        self.solids().into_iter().flat_map(|s| faces(&thinner(s))).collect()
    }
}

/// A rounded box as a net of faces: the net of a ball, pulled apart by the sides of the box.
fn faces(solid: &Solid) -> Vec<Vec<Place>> {
    let (around, down) = (net(2 * FACES), net(FACES));
    let at = |u: &(f64, f64), v: &(f64, f64)| {
        let (turn, turned) = (u.0 * std::f64::consts::TAU, u.1 * std::f64::consts::TAU);
        let (fall, fallen) = (v.0 * std::f64::consts::PI, v.1 * std::f64::consts::PI);
        let ball = [fall.sin() * turn.cos(), fall.sin() * turn.sin(), fall.cos()];
        // Which corner of the box a place of the net belongs to.
        let corner = [turned.cos(), turned.sin(), fallen.cos()].map(f64::signum);
        let mut p = solid.centre;
        for d in 0..3 {
            let out = corner[d] * solid.half[d] + solid.radius * ball[d];
            p.iter_mut().zip(solid.axes[d]).for_each(|(c, axis)| *c += axis * out);
        }
        p
    };
    // The flat sides above and below.
    let ends = [&down[0], &down[down.len() - 1]];
    let mut list: Vec<Vec<Place>> =
        ends.iter().map(|v| around.iter().map(|u| at(u, v)).collect()).collect();
    for v in down.windows(2) {
        for k in 0..around.len() {
            let (a, b) = (&around[k], &around[(k + 1) % around.len()]);
            list.push(vec![at(a, &v[0]), at(b, &v[0]), at(b, &v[1]), at(a, &v[1])]);
        }
    }
    list
}

/// Shares of a turn at which a net is knotted, each with a share inside the quarter it belongs to; where
/// quarters meet there are two knots.
fn net(many: usize) -> Vec<(f64, f64)> {
    let quarters = if many > FACES { 4 } else { 2 };
    let each = many / quarters;
    let quarter = |q: usize| {
        let inside = (q as f64 + 0.5) / quarters as f64;
        (0..=each).map(move |k| ((q * each + k) as f64 / (quarters * each) as f64, inside))
    };
    (0..quarters).flat_map(quarter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BODY: Shoulders = Shoulders { breadth: 0.4, neck: 0.36, slope: 0.38, depth: 0.22 };

    /// The profile has unit speed, lies on the form's surface, and ends at the shoulder's breadth.
    #[test]
    fn the_laid_line_follows_the_surface_without_strain() {
        let solids = BODY.solids();
        let steps = 4000;
        let at = |k: i32| BODY.profile(0.5 * f64::from(k) / f64::from(steps));
        for k in -steps..steps {
            let ([x, z], [u, w]) = (at(k), at(k + 1));
            let speed = (u - x).hypot(w - z) * f64::from(steps) / 0.5;
            assert!((speed - 1.0).abs() < 1e-5, "speed {speed} at step {k}");
            // Behind the neck, which stands before the line.
            let deepest = solids.iter().map(|s| s.depth([x, -1e-3, z])).fold(f64::MIN, f64::max);
            assert!(deepest.abs() < 1e-9, "{deepest} deep at step {k}");
        }
        let [x, _] = BODY.profile(0.5);
        assert!((x - 0.2).abs() < 1e-12, "half the breadth: {x}");
    }

    #[test]
    fn bodies_that_cannot_be_are_refused_by_measure() {
        assert_eq!(BODY.fault(), None);
        for (body, said) in [
            (Shoulders { breadth: 0.05, ..BODY }, "breadth over the shoulders is 5.0 cm"),
            (Shoulders { slope: 1.2, ..BODY }, "slope of the shoulders"),
            (Shoulders { depth: f64::NAN, ..BODY }, "depth of the chest"),
            (Shoulders { neck: 0.69, ..BODY }, "does not stand on shoulders"),
        ] {
            let fault = body.fault().expect("no body");
            assert!(fault.contains(said), "{fault}");
        }
    }

    /// The drawn net lies on the solids' surfaces.
    #[test]
    fn faces_lie_on_the_surface() {
        for solid in BODY.solids() {
            for p in faces(&solid).into_iter().flatten() {
                assert!(solid.depth(p).abs() < 1e-9, "{p:?}");
            }
        }
    }
}
