//! The physical presets of `presets.toml`, and a piece's own values in their place.

use super::MaterialError;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// A physical number with where it comes from.
#[derive(Debug, Clone, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preset {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Least and most that is credible.
    pub range: [f64; 2],
    /// A citation, or "assumed: why".
    pub source: String,
    /// What it decides.
    pub used_by: String,
}

impl Preset {
    /// True when no published value stands behind it.
    pub fn assumed(&self) -> bool {
        self.source.starts_with("assumed")
    }
}

/// A designer's own value for a preset, e.g. from a home measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct PresetOverride {
    /// The preset's key, e.g. `crochet.ratio.treble`.
    pub key: String,
    /// The value, in the preset's unit.
    pub value: f64,
}

/// The preset called `key`.
pub fn preset(key: &str) -> Option<&'static Preset> {
    table().get(key)
}

/// All keys, sorted.
pub fn preset_keys() -> impl Iterator<Item = &'static str> {
    table().keys().map(String::as_str)
}

fn table() -> &'static BTreeMap<String, Preset> {
    static TABLE: OnceLock<BTreeMap<String, Preset>> = OnceLock::new();
    TABLE.get_or_init(|| {
        read_table(include_str!("presets.toml"))
            .expect("the built-in presets are checked by a test")
    })
}

fn read_table(text: &str) -> Result<BTreeMap<String, Preset>, String> {
    let tree: toml::Table = text.parse().map_err(|e: toml::de::Error| e.to_string())?;
    let mut found = BTreeMap::new();
    flatten("", tree, &mut found)?;
    Ok(found)
}

/// A table that has a `value` is a preset; any other only groups presets.
fn flatten(
    prefix: &str,
    tree: toml::Table,
    found: &mut BTreeMap<String, Preset>,
) -> Result<(), String> {
    for (name, value) in tree {
        let key = if prefix.is_empty() { name } else { format!("{prefix}.{name}") };
        let toml::Value::Table(inner) = value else {
            return Err(format!("`{key}` is neither a preset nor a group"));
        };
        if !inner.contains_key("value") {
            flatten(&key, inner, found)?;
            continue;
        }
        let entry: Preset =
            toml::Value::Table(inner).try_into().map_err(|e| format!("`{key}`: {e}"))?;
        check_entry(&key, &entry)?;
        found.insert(key, entry);
    }
    Ok(())
}

fn check_entry(key: &str, entry: &Preset) -> Result<(), String> {
    let [least, most] = entry.range;
    let why = entry.source.trim().strip_prefix("assumed");
    if entry.source.trim().is_empty()
        || why.is_some_and(|why| why.trim_matches([':', ' ']).is_empty())
    {
        return Err(format!("`{key}` has no source"));
    }
    if why.is_some_and(|why| !why.starts_with(": ")) {
        return Err(format!("`{key}` does not say why it is assumed"));
    }
    if entry.unit.trim().is_empty() || entry.used_by.trim().is_empty() {
        return Err(format!("`{key}` has no unit or no use"));
    }
    if !(least <= entry.value && entry.value <= most) {
        return Err(format!("`{key}` = {} lies outside {least} to {most}", entry.value));
    }
    Ok(())
}

/// The presets with a piece's own values in their place.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Presets {
    own: BTreeMap<String, f64>,
}

impl Presets {
    /// Checks every replaced value: a known key, a finite number, of a sign the range allows.
    pub(super) fn with(overrides: &[PresetOverride]) -> Result<Self, MaterialError> {
        let mut own = BTreeMap::new();
        for PresetOverride { key, value } in overrides {
            let entry = preset(key).ok_or_else(|| unknown(key))?;
            check_override(key, *value, entry)?;
            own.insert(key.clone(), *value);
        }
        Ok(Self { own })
    }

    /// The value in force. Keys are fixed in this module's code, so a missing one is a fault of the
    /// program that the test over all kinds of stitch finds.
    pub(super) fn value(&self, key: &str) -> f64 {
        match self.own.get(key) {
            Some(value) => *value,
            None => preset(key).map_or(f64::NAN, |entry| entry.value),
        }
    }

    /// True when the piece states its own value.
    pub(super) fn replaced(&self, key: &str) -> bool {
        self.own.contains_key(key)
    }

    /// Keys the piece replaces.
    pub(super) fn replaced_keys(&self) -> impl Iterator<Item = &str> {
        self.own.keys().map(String::as_str)
    }
}

/// Checks values meant to replace presets.
///
/// # Errors
/// The first key that is unknown or value that cannot be.
pub fn check_overrides(overrides: &[PresetOverride]) -> Result<(), MaterialError> {
    Presets::with(overrides).map(|_| ())
}

/// Reads a file of a designer's own presets: TOML, keys dotted or in tables, each a number.
///
/// # Errors
/// Words that say which line is no such preset and what would fit.
pub fn read_overrides(text: &str) -> Result<Vec<PresetOverride>, String> {
    fn flatten(
        prefix: &str,
        tree: toml::Table,
        out: &mut Vec<PresetOverride>,
    ) -> Result<(), String> {
        for (name, value) in tree {
            let key = if prefix.is_empty() { name } else { format!("{prefix}.{name}") };
            let value = match value {
                toml::Value::Table(inner) => {
                    flatten(&key, inner, out)?;
                    continue;
                }
                toml::Value::Float(value) => value,
                toml::Value::Integer(value) => value as f64,
                other => {
                    let found = other.type_str();
                    return Err(format!(
                        "`{key}` is a {found}; expected a number, as in {key} = 1.0"
                    ));
                }
            };
            out.push(PresetOverride { key, value });
        }
        Ok(())
    }
    let tree: toml::Table = text.parse().map_err(|e: toml::de::Error| e.to_string())?;
    let mut found = Vec::new();
    flatten("", tree, &mut found)?;
    check_overrides(&found).map_err(|e| e.to_string())?;
    Ok(found)
}

fn unknown(key: &str) -> MaterialError {
    let nearest = preset_keys()
        .max_by(|a, b| strsim::jaro_winkler(a, key).total_cmp(&strsim::jaro_winkler(b, key)))
        .unwrap_or_default();
    MaterialError::UnknownPreset { key: key.into(), nearest: nearest.into() }
}

fn check_override(key: &str, value: f64, entry: &Preset) -> Result<(), MaterialError> {
    let [least, most] = entry.range;
    let expected = match least {
        _ if !value.is_finite() => "a finite number",
        least if least > 0.0 && value <= 0.0 => "a number above zero",
        0.0 if value < 0.0 => "zero or more",
        // A share of a whole or a factor on squeeze cannot exceed the whole.
        _ if most == 1.0 && entry.unit == "1" && value > 1.0 => "at most 1",
        _ => return Ok(()),
    };
    let unit = entry.unit.clone();
    Err(MaterialError::ImpossiblePreset { key: key.into(), value, expected, least, most, unit })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_table_reads() {
        let found = read_table(include_str!("presets.toml")).unwrap();
        assert!(found.len() > 80, "{}", found.len());
    }

    #[test]
    fn an_entry_without_source_or_outside_its_range_is_refused() {
        let entry = |source: &str, value: f64| {
            format!(
                "[a.b]\nvalue = {value}\nunit = \"N/m\"\nrange = [1.0, 3.0]\n\
                 source = \"{source}\"\nused_by = \"x\"\n"
            )
        };
        assert!(read_table(&entry("a page", 2.0)).is_ok());
        assert_eq!(read_table(&entry(" ", 2.0)).unwrap_err(), "`a.b` has no source");
        assert_eq!(read_table(&entry("a page", 4.0)).unwrap_err(), "`a.b` = 4 lies outside 1 to 3");
        assert!(read_table("[a.b]\nvalue = 1.0\n").unwrap_err().contains("missing field"));
        let refused = |source: &str| read_table(&entry(source, 2.0)).unwrap_err();
        assert_eq!(refused("assumed: "), "`a.b` has no source");
        assert_eq!(refused("assumed by us"), "`a.b` does not say why it is assumed");
        for field in ["unit = \"N/m\"", "range = [1.0, 3.0]", "source = \"x\"", "used_by = \"x\""] {
            let without = entry("x", 2.0).replace(field, "");
            assert!(read_table(&without).unwrap_err().contains("missing field"), "{field}");
        }
        let bare = entry("x", 2.0).replace("N/m", " ");
        assert_eq!(read_table(&bare).unwrap_err(), "`a.b` has no unit or no use");
        let turned = entry("x", 2.0).replace("[1.0, 3.0]", "[3.0, 1.0]");
        assert!(read_table(&turned).unwrap_err().contains("outside"));
    }

    /// Yarn weights, fibres, stitches, loops, foundations, turning chains, fabrics and tools: every one
    /// that the program knows has its entries.
    #[test]
    fn every_kind_of_thing_has_its_presets() {
        let has = |key: String| assert!(preset(&key).is_some(), "{key}");
        for class in crate::material::YarnClass::ALL {
            for what in ["stockinette", "single_crochet", "tex", "needle", "hook"] {
                has(class.key(what));
            }
        }
        for fibre in crate::material::Fibre::ALL {
            for what in ["density", "regain"] {
                has(format!("fibre.{}.{what}", fibre.name()));
            }
        }
        for post in ["single", "half_double", "double", "treble", "double_treble", "triple_treble"]
        {
            for group in ["crochet.width", "crochet.ratio", "crochet.yarn", "turning_chain"] {
                has(format!("{group}.{post}"));
            }
        }
        for loops in ["back_loop_taller", "front_loop_taller", "third_loop_taller"] {
            has(format!("crochet.{loops}"));
        }
        for foundation in ["foundation_chain", "foundation_stitches", "cast_on"] {
            has(format!("strand.{foundation}"));
        }
        for fabric in ["stockinette", "garter", "rib", "seed"] {
            has(format!("knit.width.{fabric}"));
            has(format!("knit.ratio.{fabric}"));
        }
    }

    /// Height over width inside the published bands, each named by who published it.
    #[test]
    fn heights_over_widths_lie_in_published_bands() {
        let bands = [
            // Seven makers' gauges in rows (interweave.com, joann.com, learn2knit.co.uk, ...).
            ("crochet.ratio.single", 0.81, 1.00),
            // Six makers' gauges in rows; 1.27 by the flat-round rule of eight increases.
            ("crochet.ratio.half_double", 1.17, 1.44),
            // Ten to twelve increases a round lie flat (mkcarroll.com) up to solid squares (2.0,
            // needleworkersroom.blogspot.com).
            ("crochet.ratio.double", 1.59, 2.0),
            // Twelve increases a round up to the edge rule of three stitches a row end.
            ("crochet.ratio.treble", 1.9, 3.0),
            // Rule of 3 for 4 rows (knotions.com) and Munden's R = 1.31, within 3 %.
            ("knit.ratio.stockinette", 0.75 * 0.97, 0.763 * 1.03),
            // 20 stitches x 40 rows are square (gettinghookedagain.blogspot.com), within 3 %.
            ("knit.ratio.garter", 0.5 * 0.97, 0.5 * 1.03),
        ];
        for (key, least, most) in bands {
            let value = preset(key).unwrap().value;
            assert!((least..=most).contains(&value), "{key} = {value}, published {least}..{most}");
        }
    }

    /// Yarn per area, single : half double : double crochet 1 : 0.85-1.02 : 0.84-1.01 (windchilde.com,
    /// thesnugglery.net, interweave.com), each to 10 %.
    #[test]
    fn yarn_per_area_of_crochet_posts_lies_in_published_bands() {
        let per_area = |post: &str| {
            let value = |group: &str| preset(&format!("crochet.{group}.{post}")).unwrap().value;
            value("yarn") / value("ratio") / value("width")
        };
        let single = per_area("single");
        for (post, least, most) in [("half_double", 0.85, 1.02), ("double", 0.84, 1.01)] {
            let ratio = per_area(post) / single;
            assert!((least * 0.9..=most * 1.1).contains(&ratio), "{post}: {ratio}");
        }
    }

    /// The default gauge of each class lies in the row the Craft Yarn Council prints (2018 edition),
    /// and a single crochet is 1.1 to 1.55 times as wide as a knit stitch from class 1 to 6.
    #[test]
    fn default_gauges_lie_in_the_craft_yarn_councils_table() {
        let table = [
            ("lace", 33.0, 40.0, 32.0, 42.0),
            ("super_fine", 27.0, 32.0, 21.0, 32.0),
            ("fine", 23.0, 26.0, 16.0, 20.0),
            ("light", 21.0, 24.0, 12.0, 17.0),
            ("medium", 16.0, 20.0, 11.0, 14.0),
            ("bulky", 12.0, 15.0, 8.0, 11.0),
            ("super_bulky", 6.0, 11.0, 5.0, 9.0),
        ];
        for (class, knit_least, knit_most, hook_least, hook_most) in table {
            let value = |what: &str| preset(&format!("yarn_class.{class}.{what}")).unwrap().value;
            let (knit, hook) = (value("stockinette"), value("single_crochet"));
            assert!((knit_least..=knit_most).contains(&knit), "{class}: {knit}");
            assert!((hook_least..=hook_most).contains(&hook), "{class}: {hook}");
            if class != "lace" {
                assert!((1.1..=1.56).contains(&(knit / hook)), "{class}: {}", knit / hook);
            }
        }
    }

    #[test]
    fn overrides_are_checked() {
        let one = |key: &str, value| Presets::with(&[PresetOverride { key: key.into(), value }]);
        assert_eq!(one("crochet.ratio.treble", 2.5).unwrap().value("crochet.ratio.treble"), 2.5);
        let error = one("crochet.ratio.trebel", 2.5).unwrap_err().to_string();
        assert_eq!(
            error,
            "no preset is called `crochet.ratio.trebel`; nearest is `crochet.ratio.treble`"
        );
        assert!(one("strand.edge_stiffness", 0.0).unwrap_err().to_string().contains("above zero"));
        assert!(one("crochet.membrane.squeeze", 1.5).is_err());
        assert!(one("crochet.ratio.treble", f64::NAN).is_err());
    }
}
