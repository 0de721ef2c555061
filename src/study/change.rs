//! Changes to a worked piece: other stitches, other shaping, the rest of the pattern as it was.

use super::rows::{NoSuchRows, Rows};
use crate::material::PresetOverride;
use crate::material::preset;
use crate::predict::Options;
use crate::predict::Reading;
use crate::stitches::Anchor;
use crate::stitches::LoopTaken;
use crate::stitches::Piece;
use crate::stitches::Post;
use crate::stitches::StitchKind;

/// One thing done otherwise.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// The plain stitches of these rows are worked as this stitch; clusters and chains stay.
    Stitch(Rows, Post),
    /// Of the shaping rows among these, only every `n`-th shapes; 0: none does.
    ShapeEvery(Rows, u32),
    /// Of these rows this share is worked tall and the rest short, spread evenly.
    Tall(Rows, f64),
    /// Which loop of the row below is taken.
    Loop(Rows, LoopTaken),
    /// A preset has this value.
    Preset(String, f64),
    /// Every stitch this much larger than the gauge's.
    Hand(f64),
    /// Another class of yarn, where no gauge is stated.
    Yarn(String),
}

/// Posts from short to tall.
const POSTS: [Post; 6] = [
    Post::Single,
    Post::HalfDouble,
    Post::Double,
    Post::Treble,
    Post::DoubleTreble,
    Post::TripleTreble,
];

impl Change {
    /// Why the change may change nothing.
    pub(super) const fn idle(&self) -> &'static str {
        match self {
            Self::Stitch(..) | Self::ShapeEvery(..) | Self::Tall(..) | Self::Loop(..) => {
                "its rows are worked so already, or hold no stitch it speaks of"
            }
            Self::Yarn(_) => "the stated gauge sets the size of every stitch, whatever the yarn",
            Self::Preset(..) | Self::Hand(_) => "its figure is the one in use",
        }
    }

    /// Makes the change; true if anything changed.
    ///
    /// # Errors
    /// [`NoSuchRows`].
    pub fn apply(&self, reading: &mut Reading, options: &mut Options) -> Result<bool, NoSuchRows> {
        let piece = &mut reading.piece;
        Ok(match self {
            Self::Stitch(rows, post) => {
                let rows = rows.of(piece)?;
                rows.into_iter().fold(false, |any, row| set_post(piece, row, *post, options) | any)
            }
            Self::ShapeEvery(rows, every) => shape_every(piece, &rows.of(piece)?, *every),
            Self::Tall(rows, share) => tall_share(piece, &rows.of(piece)?, *share, options),
            Self::Loop(rows, taken) => {
                let rows = rows.of(piece)?;
                rows.into_iter().fold(false, |any, row| set_loop(piece, row, *taken) | any)
            }
            Self::Preset(key, value) => {
                options.overrides.retain(|o| o.key != *key);
                options.overrides.push(PresetOverride { key: key.clone(), value: *value });
                true
            }
            Self::Hand(size) => {
                reading.header.maker.hand = Some(*size);
                true
            }
            Self::Yarn(class) => {
                for yarn in &mut reading.header.yarns {
                    yarn.weight = Some(class.clone());
                }
                reading.header.gauges.is_empty()
            }
        })
    }
}

/// The tallest plain post of a row.
pub(super) fn post_of(piece: &Piece, row: usize) -> Option<Post> {
    let posts = piece.row_stitches(&piece.rows[row]).filter_map(|(_, s)| match s.kind {
        StitchKind::Plain(post) if !s.overlay => Some(post),
        _ => None,
    });
    posts.max()
}

/// The next shorter and the next taller post.
pub(super) fn neighbours(post: Post) -> [Option<Post>; 2] {
    let at = POSTS.iter().position(|p| *p == post).unwrap_or(0);
    [at.checked_sub(1).map(|i| POSTS[i]), POSTS.get(at + 1).copied()]
}

/// US abbreviation (Craft Yarn Council).
pub(super) fn abbreviation(post: Post) -> &'static str {
    match post {
        Post::Single => "sc",
        Post::HalfDouble => "hdc",
        Post::Double => "dc",
        Post::Treble => "tr",
        Post::DoubleTreble => "dtr",
        Post::TripleTreble => "trtr",
    }
}

/// Links of the turning chain that stands for a post: presets `turning_chain`.
fn turning_chain(post: Post, options: &Options) -> u16 {
    let key = format!("turning_chain.{}", post.key());
    let own = options.overrides.iter().rfind(|o| o.key == key).map(|o| o.value);
    own.or_else(|| Some(preset(&key)?.value)).map_or(0, |links| links.round() as u16)
}

fn set_post(piece: &mut Piece, row: usize, to: Post, options: &Options) -> bool {
    let (from, end) = piece.rows[row].stitches;
    let mut changed = false;
    for stitch in &mut piece.stitches[from as usize..end as usize] {
        if let StitchKind::Plain(post) = &mut stitch.kind
            && !stitch.overlay
            && *post != to
        {
            *post = to;
            if stitch.links > 0 {
                stitch.links = turning_chain(to, options);
            }
            changed = true;
        }
    }
    changed
}

fn set_loop(piece: &mut Piece, row: usize, taken: LoopTaken) -> bool {
    let (from, end) = piece.rows[row].stitches;
    let mut changed = false;
    for i in from..end {
        let (a, b) = piece.stitches[i as usize].legs;
        for anchor in &mut piece.anchors[a as usize..b as usize] {
            changed |= anchor.taken != taken;
            anchor.taken = taken;
        }
    }
    changed
}

/// The row worked one stitch into each place it uses; `None` when it does not shape, or when it makes
/// more or fewer stitches than it uses, so that the rows above would no longer fit.
fn unshaped(piece: &Piece, row: usize) -> Option<Vec<(u32, Anchor)>> {
    let mut places: Vec<Anchor> = Vec::new();
    let mut tops = Vec::new();
    let mut shapes = false;
    for (id, stitch) in piece.row_stitches(&piece.rows[row]) {
        let legs = piece.legs(stitch);
        if stitch.overlay {
            continue;
        }
        if legs.is_empty() {
            return None;
        }
        tops.push(id.0);
        shapes |= legs.len() > 1;
        for leg in legs {
            if places.last().is_none_or(|last| last.place != leg.place) {
                places.push(*leg);
            }
        }
    }
    (shapes && tops.len() == places.len()).then(|| tops.into_iter().zip(places).collect())
}

/// True if the row shapes and could be worked without shaping.
pub(super) fn shapes(piece: &Piece, row: usize) -> bool {
    unshaped(piece, row).is_some()
}

fn shape_every(piece: &mut Piece, rows: &[usize], every: u32) -> bool {
    let mut count = 0;
    let mut changed = false;
    for &row in rows {
        let Some(plain) = unshaped(piece, row) else { continue };
        count += 1;
        if every > 0 && count % every == 0 {
            continue;
        }
        for (stitch, anchor) in plain {
            let at = piece.anchors.len() as u32;
            piece.anchors.push(anchor);
            piece.stitches[stitch as usize].legs = (at, at + 1);
        }
        changed = true;
    }
    changed
}

fn tall_share(piece: &mut Piece, rows: &[usize], share: f64, options: &Options) -> bool {
    let with_posts: Vec<(usize, Post)> =
        rows.iter().filter_map(|&r| post_of(piece, r).map(|p| (r, p))).collect();
    let (Some(short), Some(tall)) =
        (with_posts.iter().map(|r| r.1).min(), with_posts.iter().map(|r| r.1).max())
    else {
        return false;
    };
    // One height only: the next taller stitch is tried against it.
    let tall = if tall == short { neighbours(short)[1].unwrap_or(short) } else { tall };
    let mut changed = false;
    for (k, &(row, _)) in with_posts.iter().enumerate() {
        let tall_rows = |n: usize| (share * n as f64 + 1e-9).floor();
        let post = if tall_rows(k + 1) > tall_rows(k) { tall } else { short };
        changed |= set_post(piece, row, post, options);
    }
    changed
}
