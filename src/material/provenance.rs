//! What a piece's numbers rest on, for the report.

use super::gauge::{Anchor, Counted, GaugeOver};
use super::preset::preset;
use super::resolve::Material;
use super::worked::{Texture, Worked, post_key};
use crate::stitches::Craft;
use crate::stitches::Post;
use crate::stitches::StitchKind;
use crate::units::Length;
use crate::units::UnitSystem;

/// A number in force, with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Provenance {
    /// What it is, e.g. "row height of treble crochet".
    pub what: String,
    /// Its value with unit.
    pub value: String,
    /// "stated in the pattern", a citation, or "assumed: why".
    pub source: String,
    /// True when nobody stated or measured it for this piece.
    pub assumed: bool,
}

impl Material {
    /// What the sizes of the `used` stitches and the fabric's laws rest on, in the user's units:
    /// sizes first, then stiffness and edges, then any further value the piece replaces.
    pub fn provenance(&self, used: &[Worked], units: UnitSystem) -> Vec<Provenance> {
        let mut list = vec![self.gauge_line(units)];
        for &worked in used {
            // A knit and a purl of one ground read alike.
            let line = self.size_line(worked, units);
            if !list.contains(&line) {
                list.push(line);
            }
        }
        let mut keys = self.law_keys(used);
        for key in self.presets.replaced_keys() {
            if !keys.iter().any(|k| k == key) {
                keys.push(key.into());
            }
        }
        list.extend(keys.iter().filter_map(|key| self.preset_line(key)));
        list
    }

    /// What the strains at which loops lock rest on.
    pub fn locking_provenance(&self) -> Vec<Provenance> {
        self.locking_keys().iter().filter_map(|key| self.preset_line(key)).collect()
    }

    fn gauge_line(&self, units: UnitSystem) -> Provenance {
        if !self.anchors.is_empty() {
            let over: Vec<String> =
                self.anchors.iter().map(|anchor| stated_words(anchor, units)).collect();
            let (what, source) = ("gauge".into(), "stated in the pattern".into());
            return Provenance { what, value: over.join("; "), source, assumed: false };
        }
        let (class, stated) = self.yarn.resolved_class();
        let (stitch, key) = match self.craft {
            Craft::Crochet => ("single crochet", class.key("single_crochet")),
            Craft::Knit => ("stockinette stitches", class.key("stockinette")),
        };
        let why = if stated { "no gauge stated" } else { "neither gauge nor yarn stated" };
        let source = preset(&key).map_or_else(String::new, |entry| entry.source.clone());
        Provenance {
            what: "gauge".into(),
            value: format!("{} {stitch} over 4 in", self.presets.value(&key)),
            source: format!("assumed: {why}; {} yarn by the {source}", class.name()),
            assumed: true,
        }
    }

    fn size_line(&self, worked: Worked, units: UnitSystem) -> Provenance {
        let size = |length: Length| match units {
            UnitSystem::Metric => format!("{:.2} mm", length.to_mm()),
            UnitSystem::Imperial => format!("{:.3} in", length.to_inches()),
        };
        let along = self.basis(worked, |anchor| anchor.along);
        let up = self.basis(worked, |anchor| anchor.up);
        let source = match (&along, &up) {
            (Basis::Own, Basis::Own) => "stated in the pattern".into(),
            (Basis::Own, Basis::Other(_)) => {
                format!("width stated in the pattern; height by {}", self.ratio_words(worked))
            }
            (Basis::Own, Basis::None) => {
                format!("width stated; no row gauge, so height by {}", self.ratio_words(worked))
            }
            (Basis::Other(over), _) => {
                format!("weaker: from the gauge over {over} by {}", self.ratio_words(worked))
            }
            (Basis::None, Basis::None) => {
                format!("weaker: no gauge; by {}", self.ratio_words(worked))
            }
            (Basis::None, _) => {
                format!("weaker: no stitch gauge, so width by {}", self.ratio_words(worked))
            }
        };
        Provenance {
            what: format!("size of {}", worked.words()),
            value: match self.height_of(worked) {
                none if none.to_mm() == 0.0 => size(self.width_of(worked)),
                height => format!("{} x {}", size(self.width_of(worked)), size(height)),
            },
            assumed: !matches!((&along, &up), (Basis::Own, Basis::Own)),
            source,
        }
    }

    /// Which gauge a size comes from.
    fn basis(&self, worked: Worked, figure: impl Fn(&Anchor) -> Option<Length>) -> Basis {
        let height = self.relative(worked).height;
        let nearest = self
            .anchors
            .iter()
            .filter(|anchor| figure(anchor).is_some())
            .min_by(|a, b| a.distance(worked, height).total_cmp(&b.distance(worked, height)));
        match nearest {
            None => Basis::None,
            Some(anchor) if anchor.distance(worked, height) == 0.0 => match anchor.stated.over {
                GaugeOver::Stitch(_) => Basis::Own,
                GaugeOver::Pattern(_) => Basis::Other("the pattern".into()),
                GaugeOver::Blocks(..) => Basis::Other("the blocks".into()),
            },
            Some(anchor) => Basis::Other(gauge_words(anchor)),
        }
    }

    /// The height ratio a size rests on, with its source.
    fn ratio_words(&self, worked: Worked) -> String {
        let key = ratio_key(worked);
        let value = self.presets.value(&key);
        if self.presets.replaced(&key) {
            return format!("height/width {value}, set for this piece");
        }
        let source = preset(&key).map_or("", |entry| entry.source.as_str());
        format!("height/width {value} ({source})")
    }

    fn law_keys(&self, used: &[Worked]) -> Vec<String> {
        let has = |test: fn(StitchKind) -> bool| used.iter().any(|worked| test(worked.kind));
        let group = match self.craft {
            Craft::Crochet => "crochet",
            Craft::Knit => "knit",
        };
        let mut keys: Vec<String> = ["e1", "e2", "nu12", "g", "squeeze"]
            .iter()
            .map(|name| format!("{group}.membrane.{name}"))
            .collect();
        keys.extend(self.locking_keys());
        if has(|kind| matches!(kind, StitchKind::Chain | StitchKind::YarnOver)) {
            keys.push("membrane.open_share".into());
        }
        let low = |kind: StitchKind| {
            matches!(kind, StitchKind::Plain(Post::Single) | StitchKind::SlipStitch)
        };
        if has(|kind| kind == StitchKind::Chain) && has(low) {
            keys.push("membrane.arch_share".into());
        }
        keys.push(
            match self.craft {
                Craft::Crochet => "strand.foundation_chain",
                Craft::Knit => "strand.cast_on",
            }
            .into(),
        );
        if has(|kind| kind == StitchKind::BindOff) {
            keys.push("strand.bind_off".into());
        }
        keys.push("strand.edge_stiffness".into());
        keys.push("selvage.lean".into());
        for key in used.iter().flat_map(|worked| yarn_keys(*worked)) {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        keys
    }

    fn preset_line(&self, key: &str) -> Option<Provenance> {
        let entry = preset(key)?;
        let value = self.presets.value(key);
        let own = self.presets.replaced(key);
        let [least, most] = entry.range;
        let outside = own && !(least..=most).contains(&value);
        let source = match (own, outside) {
            (true, false) => "set for this piece".into(),
            (true, true) => format!("set for this piece, outside the usual {least} to {most}"),
            (false, _) => entry.source.clone(),
        };
        // A bare number of unit 1 reads better without it.
        let unit = if entry.unit == "1" { String::new() } else { format!(" {}", entry.unit) };
        Some(Provenance {
            what: format!("{} ({key})", entry.used_by),
            value: format!("{value}{unit}"),
            source,
            assumed: !own && entry.assumed(),
        })
    }
}

enum Basis {
    /// A gauge over this very stitch.
    Own,
    /// A gauge over something else.
    Other(String),
    /// No gauge.
    None,
}

fn gauge_words(anchor: &Anchor) -> String {
    let counts = match (anchor.along, anchor.up) {
        (Some(_), Some(_)) => "stitches and rows",
        (Some(_), None) => "stitches",
        _ => "rows",
    };
    match &anchor.stated.over {
        GaugeOver::Stitch(worked) => format!("{counts} of {}", worked.words()),
        GaugeOver::Pattern(_) => format!("{counts} of the pattern"),
        GaugeOver::Blocks(..) => "the blocks".into(),
    }
}

/// A gauge with its counts, e.g. "14 stitches over 10.0 cm and 8 rows over 10.0 cm in double crochet".
fn stated_words(anchor: &Anchor, units: UnitSystem) -> String {
    let stated = &anchor.stated;
    if let (GaugeOver::Blocks(worked, n), Some(c)) = (&stated.over, stated.stitches) {
        let size = units.length(c.over);
        let blocks = if c.count == 1.0 { "block" } else { "blocks" };
        return format!("{} {blocks} of {n} columns of {} over {size}", c.count, worked.words());
    }
    let count = |what: &str, counted: Option<Counted>| {
        counted.map(|c| format!("{} {what} over {}", c.count, units.length(c.over)))
    };
    let counts: Vec<String> = [count("stitches", stated.stitches), count("rows", stated.rows)]
        .into_iter()
        .flatten()
        .collect();
    let over = match &stated.over {
        GaugeOver::Stitch(worked) | GaugeOver::Blocks(worked, _) => worked.words(),
        GaugeOver::Pattern(_) => "the pattern".into(),
    };
    format!("{} in {over}", counts.join(" and "))
}

/// Key of the ratio that decides a stitch's height.
fn ratio_key(worked: Worked) -> String {
    let name = match worked.kind {
        StitchKind::Chain => "chain",
        StitchKind::SlipStitch => "slip",
        StitchKind::ReverseSingle => "reverse_single",
        StitchKind::Plain(post)
        | StitchKind::Extended(post)
        | StitchKind::Cluster { post, .. }
        | StitchKind::Popcorn { post, .. } => post_key(post),
        StitchKind::Puff { .. } => "half_double",
        StitchKind::BindOff => return "knit.ratio.bind_off".into(),
        _ => return format!("knit.ratio.{}", worked.texture.key()),
    };
    format!("crochet.ratio.{name}")
}

/// Keys of the presets that decide a stitch's yarn.
fn yarn_keys(worked: Worked) -> Vec<String> {
    let crochet = |name: &str| format!("crochet.yarn.{name}");
    match worked.kind {
        StitchKind::Chain => vec![crochet("chain")],
        StitchKind::SlipStitch => vec![crochet("slip")],
        StitchKind::ReverseSingle => vec![crochet("reverse_single")],
        StitchKind::Plain(post) | StitchKind::Extended(post) => vec![crochet(post_key(post))],
        StitchKind::Popcorn { post, .. } => vec![crochet(post_key(post))],
        StitchKind::Cluster { post, .. } => {
            vec![crochet(post_key(post)), crochet("further_leg")]
        }
        StitchKind::Puff { .. } => vec![crochet("half_double"), crochet("further_leg")],
        StitchKind::CastOn => vec!["knit.yarn.cast_on".into()],
        StitchKind::BindOff => vec!["knit.yarn.bind_off".into()],
        StitchKind::YarnOver => vec!["knit.yarn.yarn_over".into()],
        StitchKind::Slipped => vec!["knit.yarn.slipped".into()],
        StitchKind::Knit { .. } | StitchKind::MakeOne => match worked.texture {
            Texture::Stockinette => vec!["knit.yarn.ks".into()],
            other => vec!["knit.yarn.ks".into(), format!("knit.yarn.{}", other.key())],
        },
    }
}
