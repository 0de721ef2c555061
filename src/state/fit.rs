//! What can be asked of blocking and hanging.

use super::NotLaid;
use super::blocked::{Blocking, Hold};
use super::hung::Hang;
use super::rounds_blocked::{RimBlocking, RimTarget};

/// The refusal of something asked for.
pub(super) fn asked(what: impl Into<String>) -> NotLaid {
    NotLaid::Asked { what: what.into() }
}

/// Refuses sizes that are not finite and positive, and shares out of range.
pub(super) fn hang_fits(how: Hang) -> Result<(), NotLaid> {
    match how {
        Hang::Point { .. } => Ok(()),
        Hang::Edge { spacing, .. } => positive("distance between pegs", spacing),
        Hang::Corners { apart, .. } if apart > 0.0 && apart <= 1.0 => Ok(()),
        Hang::Corners { apart, .. } => Err(asked(format!(
            "the corners are {apart} of their distance apart; expected a share above 0, at most 1"
        ))),
        Hang::Rail { at, .. } if !(0.0..=1.0).contains(&at) => {
            Err(asked(format!("the rail lies at {at} of the rows; expected a share from 0 to 1")))
        }
        Hang::Rail { radius, .. } => positive("radius of the rail", radius),
        Hang::TableEdge { over, .. } => positive("length over the table edge", over),
        Hang::Disc { radius } => positive("radius of the discs", radius),
        Hang::Shoulders { body, .. } => body.fault().map_or(Ok(()), |fault| Err(asked(fault))),
    }
}

fn positive(what: &str, value: f64) -> Result<(), NotLaid> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(asked(format!("{what} is {value} m; expected a length above zero")))
}

/// Refuses pins whose outline crosses itself, lies mirrored or has no area, and shares out of range.
pub(super) fn blocking_fits(blocking: &Blocking, corners: &[[f64; 2]; 4]) -> Result<(), NotLaid> {
    if let Hold::Pins(spacing) = blocking.hold {
        positive("distance between pins", spacing)?;
    }
    share_fits(blocking.set)?;
    let [p, q, r, s] = *corners;
    let area = turn(p, q, r) + turn(p, r, s);
    if area > 0.0 && area.is_finite() && !cross([p, q], [r, s]) && !cross([q, r], [s, p]) {
        return Ok(());
    }
    Err(asked(
        "the pins' outline crosses itself or has no area: expected four corners in order, foundation \
         left and right, last row right and left, each side longer than nothing",
    ))
}

/// Refuses circles and polygons of no size, and shares out of range.
pub(super) fn rim_fits(blocking: &RimBlocking) -> Result<(), NotLaid> {
    if let Hold::Pins(spacing) = blocking.hold {
        positive("distance between pins", spacing)?;
    }
    share_fits(blocking.set)?;
    match blocking.target {
        RimTarget::Stretch(e) if e.is_finite() && e > -1.0 => Ok(()),
        RimTarget::Stretch(e) => {
            Err(asked(format!("a stretch by {e} leaves no piece; expected a share above -1")))
        }
        RimTarget::Across(wide) => positive("size under the pins", wide),
    }
}

fn share_fits(set: f64) -> Result<(), NotLaid> {
    if (0.0..=1.0).contains(&set) {
        return Ok(());
    }
    Err(asked(format!("the share of the stretch that dries in is {set}; expected 0 to 1")))
}

/// Twice the area of a triangle, positive counter-clockwise.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

fn cross([a, b]: [[f64; 2]; 2], [c, d]: [[f64; 2]; 2]) -> bool {
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state::Target;

    const WAY: Blocking =
        Blocking { target: Target::Stretch([0.0; 2]), hold: Hold::Pins(0.05), set: 0.5 };

    #[test]
    fn crossed_mirrored_and_empty_outlines_are_refused() {
        let [a, b, c, d] = [[0.0, 0.0], [0.3, 0.0], [0.4, 0.5], [0.1, 0.5]];
        assert!(blocking_fits(&WAY, &[a, b, c, d]).is_ok());
        let nan = [0.4, f64::NAN];
        for bad in [[a, b, d, c], [b, a, c, d], [d, c, b, a], [a, b, b, a], [a, b, nan, d]] {
            let said = blocking_fits(&WAY, &bad).expect_err("no outline").to_string();
            assert!(said.contains("crosses itself or has no area"), "{said}");
        }
    }

    #[test]
    fn shares_and_lengths_out_of_range_are_refused_by_name() {
        let square = [[0.0, 0.0], [0.3, 0.0], [0.3, 0.5], [0.0, 0.5]];
        for set in [-0.1, 1.1, f64::NAN] {
            let said = blocking_fits(&Blocking { set, ..WAY }, &square).expect_err("set");
            assert!(said.to_string().contains("dries in"), "{said}");
        }
        for length in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let hold = Hold::Pins(length);
            let said = blocking_fits(&Blocking { hold, ..WAY }, &square).expect_err("spacing");
            assert!(said.to_string().starts_with("distance between pins is"), "{said}");
            let disc = hang_fits(Hang::Disc { radius: length }).expect_err("disc");
            assert!(disc.to_string().starts_with("radius of the discs is"), "{disc}");
        }
    }
}
