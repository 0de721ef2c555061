//! The usual cautions, where a piece gives reason for one.

use crate::material::Material;
use crate::pattern::Header;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::StitchKind;
use crate::units::Length;

/// Longer than this a loose end can reach machinery or wheels, mm.
const LONG: f64 = 1200.0;

/// Words that say a piece is for a small child.
const CHILD: [&str; 8] = ["baby", "infant", "newborn", "cot", "crib", "pram", "toddler", "child"];

/// Cautions for `piece`; `words` are its title and whatever else says what it is for,
/// `longest` the longest it reaches when it lies.
pub(super) fn cautions(piece: &Piece, words: &str, longest: Length) -> Vec<String> {
    let mut cautions = Vec::new();
    let open = piece.stitches.iter().any(|s| {
        !s.overlay
            && row_of_work(piece, s.row.0)
            && matches!(s.kind, StitchKind::YarnOver | StitchKind::Chain)
    });
    let lower = words.to_lowercase();
    let child = lower.split(|c: char| !c.is_alphabetic()).any(|w| CHILD.contains(&w));
    if child && open {
        cautions.push(
            "For a baby: the open mesh can catch fingers and toes; keep holes closed or small, never \
             leave a baby asleep with a loose blanket, and follow local rules on nursery textiles."
                .into(),
        );
    } else if child {
        cautions.push(
            "For a baby: never leave a baby asleep with a loose blanket; follow local rules on \
             nursery textiles."
                .into(),
        );
    }
    if longest.to_mm() > LONG {
        cautions.push(
            "Long ends can catch in wheels, lifts and machinery: keep them tucked in there.".into(),
        );
    }
    cautions.push(
        "No replacement for a swatch of your own. Wash, steam and block only as the yarn's care label \
         allows."
            .into(),
    );
    cautions
}

/// Where the page's hook or needles are far from what its yarn is usually worked with.
pub(super) fn tool(header: &Header, material: &Material) -> Option<String> {
    let size = header.tool.as_ref()?.value;
    let (class, [least, most]) = material.usual_tool()?;
    if (least..=most).contains(&size) {
        return None;
    }
    let tool = match material.craft() {
        Craft::Crochet => "hook",
        Craft::Knit => "needles",
    };
    let are = if tool == "hook" { "is" } else { "are" };
    Some(format!(
        "The {tool} of {} mm {are} outside the {} to {} mm usual for {} yarn (presets yarn_class): presets of \
         yarn and stiffness were taken nearer to these.",
        size.to_mm(),
        least.to_mm(),
        most.to_mm(),
        class.name()
    ))
}

fn row_of_work(piece: &Piece, row: u32) -> bool {
    row > 0 && !piece.rows[row as usize].finish
}
