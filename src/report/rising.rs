//! A piece laid flat with length to spare: where, and how it stands on a table.

use super::Picture;
use super::rounds::eyes;
use super::space::{Seen, views};
use super::surface::Surface;
use super::words;
use crate::predict::Prediction;
use crate::predict::Stand;
use crate::predict::Stands;
use crate::units::UnitSystem;

/// Places named in words.
const NAMED: usize = 3;

/// Where it has length to spare, and how it stands; nothing for a piece that stays flat.
pub(super) fn sentences(prediction: &Prediction) -> Vec<String> {
    let Some(rising) = &prediction.rising else { return Vec::new() };
    let units = prediction.units;
    let places: Vec<String> = rising
        .places
        .iter()
        .take(NAMED)
        .map(|p| format!("{} (up to {})", p.place, words::fine(units, p.spare)))
        .collect();
    let more = match rising.places.len().saturating_sub(NAMED) {
        0 => String::new(),
        1 => " and one place more".into(),
        n => format!(" and {n} places more"),
    };
    vec![
        format!("Longer than the piece lets it lie: {}{more}.", places.join("; ")),
        match &rising.stands {
            Stand::Settled(stands) if stands.flat() => stand(units, stands),
            Stand::Settled(stands) => {
                stand(units, stands) + " The other pictures and all measures show it held flat."
            }
            Stand::Unsettled(why) => format!("How it stands on a table was not settled: {why}."),
            Stand::NotAsked => format!(
                "Left loose on a table it would rise there in waves of about {}; --table solves for it.",
                units.length(rising.places[0].wave)
            ),
        },
    ]
}

fn stand(units: UnitSystem, stands: &Stands) -> String {
    let rise = words::fine(units, stands.rise);
    if stands.flat() {
        return format!(
            "On a table its weight and stiffness keep it down (it stands off by {rise})."
        );
    }
    let ripple = words::fine(units, stands.ripple);
    let how = if stands.waves > 1 { "ruffles" } else { "bows" };
    let waves = match stands.waves {
        0 | 1 => format!("in one wave {ripple} high"),
        n => format!("in {n} waves of {}, up to {ripple} high,", units.length(stands.wavelength)),
    };
    format!(
        "On a table under its weight it {how}: it stands off by up to {rise}, {waves} {}.",
        stands.along
    )
}

/// The piece on a table, from above and from the front; none for a piece that stays flat.
pub fn rising_picture(prediction: &Prediction) -> Option<Picture> {
    let rising = prediction.rising.as_ref()?;
    let Stand::Settled(stands) = &rising.stands else { return None };
    if stands.flat() {
        return None;
    }
    let surface = Surface::hung(&stands.cells);
    let what = Seen { surface: &surface, palette: &prediction.palette, carriers: &[], held: &[] };
    let title = format!("{}: at rest on a table", prediction.title);
    let said = stand(prediction.units, stands);
    let svg = views(&what, &eyes(), [&title, &said], &said, prediction.units);
    Some(Picture { name: "on-a-table".into(), svg })
}
