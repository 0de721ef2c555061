//! From what the page states to the material: gauges, yarn, hand.

use std::collections::BTreeMap;

use crate::fabric::worked;
use crate::material::Counted;
use crate::material::Fibre;
use crate::material::GaugeInput;
use crate::material::GaugeOver;
use crate::material::GaugedIn;
use crate::material::HandSettings;
use crate::material::Material;
use crate::material::MaterialError;
use crate::material::MaterialInput;
use crate::material::PresetOverride;
use crate::material::SwatchRow;
use crate::material::Texture;
use crate::material::Worked;
use crate::material::YarnClass;
use crate::material::YarnInput;
use crate::pattern::Gauge;
use crate::pattern::GaugeState;
use crate::pattern::Header;
use crate::pattern::Terms;
use crate::pattern::Yarn;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::Post;
use crate::stitches::StitchKind;
use crate::units::Length;

/// Resolves the material of `piece` from the page's header and the user's preset values.
pub(super) fn material(
    header: &Header,
    piece: &Piece,
    overrides: &[PresetOverride],
) -> Result<Material, MaterialError> {
    let gauges = header.gauges.iter().filter_map(|g| gauge(g, header.terms.value, piece)).collect();
    Material::resolve(&MaterialInput {
        craft: piece.craft,
        gauges,
        yarn: header.yarns.first().map(yarn).unwrap_or_default(),
        // The command line prevails over the page.
        overrides: stated(header).into_iter().chain(overrides.iter().cloned()).collect(),
        texture: ground(piece),
        state: state(header),
    })
}

/// The state of the first gauge that states one.
fn state(header: &Header) -> GaugedIn {
    match header.gauges.iter().find(|g| g.state_stated).map(|g| g.state).unwrap_or_default() {
        GaugeState::Worked => GaugedIn::Worked,
        GaugeState::Washed => GaugedIn::Washed,
        GaugeState::Blocked => GaugedIn::Blocked,
    }
}

/// Values the page itself puts in the place of presets.
pub(super) fn stated(header: &Header) -> Vec<PresetOverride> {
    let own = |(key, value): &(String, f64)| PresetOverride { key: key.clone(), value: *value };
    header.presets.iter().map(own).collect()
}

/// The maker's hand: the page's own figures before the presets'. Noise enters only when asked for, by
/// the page or by a seed, since one random sample is no prediction.
pub(super) fn hand(header: &Header, material: &Material, seed: Option<u64>) -> (HandSettings, u64) {
    let maker = &header.maker;
    let mut settings = material.hand_settings();
    let seed = seed.or(maker.seed);
    if seed.is_none() && maker.noise.is_none() {
        (settings.stitch_noise, settings.row_noise) = (0.0, 0.0);
    }
    settings.overall = maker.hand.unwrap_or(settings.overall);
    settings.drift = maker.drift.unwrap_or(settings.drift);
    settings.stitch_noise = maker.noise.unwrap_or(settings.stitch_noise);
    (settings, seed.unwrap_or(0))
}

fn gauge(stated: &Gauge, terms: Terms, piece: &Piece) -> Option<GaugeInput> {
    let counted = |read: Option<(f64, Length)>| read.map(|(count, over)| Counted { count, over });
    if let Some((blocks, stitches)) = super::repeats::blocks(stated, piece) {
        let columns = stitches.len() as u32 + 1;
        let over = GaugeOver::Blocks(worked(piece)[stitches[0].0 as usize], columns);
        return Some(GaugeInput { over, stitches: counted(Some(blocks)), rows: None });
    }
    let over = match stitch_words(&stated.within, terms, piece.craft) {
        Some(worked) => GaugeOver::Stitch(worked),
        None => GaugeOver::Pattern(swatch_rows(piece)),
    };
    let read = super::repeats::plain(stated, piece);
    Some(GaugeInput { over, stitches: counted(read.stitches), rows: counted(read.rows) })
}

/// The piece's own rows as a swatch, foundation and finishing left out.
fn swatch_rows(piece: &Piece) -> Vec<SwatchRow> {
    let grounds = worked(piece);
    let rows = piece.rows.iter().skip(1).filter(|r| !r.finish);
    rows.map(|row| {
        let mut counts: BTreeMap<Worked, u32> = BTreeMap::new();
        for i in row.stitches.0..row.stitches.1 {
            let stitch = &piece.stitches[i as usize];
            if !stitch.overlay {
                *counts.entry(grounds[i as usize]).or_default() += u32::from(stitch.links.max(1));
            }
        }
        SwatchRow { stitches: counts.into_iter().collect(), lift: super::traced::lift(piece, row) }
    })
    .filter(|row| !row.stitches.is_empty())
    .collect()
}

/// Ground most of the piece's stitches stand in.
fn ground(piece: &Piece) -> Texture {
    let mut counts: BTreeMap<Texture, u32> = BTreeMap::new();
    for w in worked(piece) {
        *counts.entry(w.texture).or_default() += 1;
    }
    counts.into_iter().max_by_key(|&(_, n)| n).map_or(Texture::Stockinette, |(t, _)| t)
}

/// A stitch named in a gauge or by the user; `None` for "pattern" and names that are no single stitch.
pub fn stitch_words(words: &str, terms: Terms, craft: Craft) -> Option<Worked> {
    let lower = words.to_lowercase();
    if craft == Craft::Knit {
        let texture = if lower.contains("garter") {
            Texture::Garter
        } else if lower.contains("rib") {
            Texture::Rib
        } else if lower.contains("seed") || lower.contains("moss") {
            Texture::Seed
        } else if ["st st", "stock", "plain", "knit"].iter().any(|w| lower.contains(w)) {
            Texture::Stockinette
        } else {
            return None;
        };
        let kind = StitchKind::Knit { purl: false, twisted: false };
        return Some(Worked { texture, ..Worked::plain(kind) });
    }
    let post = post_words(&lower, terms)?;
    Some(Worked::plain(StitchKind::Plain(post)))
}

/// The post a crochet name stands for. UK names (dc, htr, tr, dtr, trtr) are one step above the US
/// names of the same stitches (sc, hdc, dc, tr, dtr).
fn post_words(lower: &str, terms: Terms) -> Option<Post> {
    const NAMES: [(&str, &str, Post, Post); 7] = [
        ("htr", "half treble", Post::HalfDouble, Post::HalfDouble),
        ("hdc", "half double", Post::HalfDouble, Post::HalfDouble),
        ("trtr", "triple treble", Post::TripleTreble, Post::DoubleTreble),
        ("dtr", "double treble", Post::DoubleTreble, Post::Treble),
        ("sc", "single", Post::Single, Post::Single),
        ("dc", "double", Post::Double, Post::Single),
        ("tr", "treble", Post::Treble, Post::Double),
    ];
    let word = |w: &str| lower.split(|c: char| !c.is_alphanumeric()).any(|part| part == w);
    let found = NAMES.iter().find(|(short, long, ..)| word(short) || lower.contains(long));
    found.map(|&(_, _, us, uk)| if terms == Terms::Uk { uk } else { us })
}

/// Linear density (g/km) of a stated yarn, by its ball or by its weight class.
pub(super) fn tex(stated: &Yarn) -> Option<f64> {
    let input = yarn(stated);
    input.tex.or_else(|| input.class.map(YarnClass::usual_tex))
}

fn yarn(yarn: &Yarn) -> YarnInput {
    let tex = match (yarn.ball_length, yarn.ball_mass) {
        (Some(length), Some(mass)) if length.to_m() > 0.0 => {
            Some(mass.to_grams() * 1000.0 / length.to_m())
        }
        _ => None,
    };
    YarnInput {
        class: yarn.weight.as_deref().and_then(YarnClass::from_name),
        tex,
        fibre: yarn.fibre.as_deref().and_then(Fibre::from_words),
    }
}
