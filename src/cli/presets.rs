//! `slantwise presets`: every physical number with unit, range and source; and the user's own in their
//! place.

use std::fmt::Write as _;

use clap::Args;
use serde::Serialize;
use slantwise::material::{self, Preset, PresetOverride};

use super::args::ListFormat;
use super::files::CannotRun;
use super::{Exit, print};

/// The user's own values, for every command that predicts.
#[derive(Debug, Clone, Args)]
pub(super) struct OwnPresets {
    /// Replace a preset, e.g. `--preset selvage.lean=0`; may be given more than once.
    #[arg(long, value_name = "KEY=VALUE", value_parser = super::args::preset)]
    preset: Vec<(String, f64)>,
    /// A file of presets of your own, in TOML: lines such as `crochet.yarn.single = 6.1`.
    #[arg(long, value_name = "FILE.toml", value_parser = own_file)]
    presets: Option<PresetFile>,
}

impl OwnPresets {
    /// The file's values, then those of single options, which prevail.
    pub(super) fn overrides(&self) -> Vec<PresetOverride> {
        let one = |(key, value): &(String, f64)| PresetOverride { key: key.clone(), value: *value };
        let file = self.presets.iter().flat_map(|file| file.0.iter().cloned());
        file.chain(self.preset.iter().map(one)).collect()
    }
}

/// What a file of presets holds.
#[derive(Debug, Clone)]
struct PresetFile(Vec<PresetOverride>);

fn own_file(path: &str) -> Result<PresetFile, String> {
    let source = super::files::read(std::path::Path::new(path)).map_err(|e| e.to_string())?;
    material::read_overrides(source.text()).map(PresetFile)
}

/// Options of `presets`.
#[derive(Debug, Args)]
pub(super) struct PresetsOptions {
    /// Only presets whose key or use holds this word, e.g. `yarn`, `double`, `blocking`.
    word: Option<String>,
    /// Only those no published value stands behind.
    #[arg(long)]
    assumed: bool,
    #[command(flatten)]
    own: OwnPresets,
    /// How to print.
    #[arg(long, value_enum, default_value_t = ListFormat::Human)]
    format: ListFormat,
}

/// One preset as printed.
#[derive(Debug, Serialize)]
struct Line {
    key: &'static str,
    value: f64,
    unit: &'static str,
    least: f64,
    most: f64,
    used_by: &'static str,
    source: String,
    own: bool,
}

/// Runs the command.
pub(super) fn presets(options: &PresetsOptions) -> Result<Exit, CannotRun> {
    let own = options.own.overrides();
    material::check_overrides(&own).map_err(|e| CannotRun::Stage(e.to_string()))?;
    let lines: Vec<Line> = material::preset_keys()
        .filter_map(|key| Some((key, material::preset(key)?)))
        .filter(|(key, entry)| asked(options, key, entry))
        .map(|(key, entry)| line(key, entry, &own))
        .collect();
    if lines.is_empty() {
        let word = options.word.as_deref().unwrap_or_default();
        return Err(CannotRun::Stage(format!(
            "no preset's key or use holds `{word}`; `slantwise presets` lists all"
        )));
    }
    print(&match options.format {
        ListFormat::Human => human(&lines),
        ListFormat::Csv => csv(&lines),
        ListFormat::Json => serde_json::to_string_pretty(&lines).unwrap_or_default() + "\n",
    })?;
    Ok(Exit::Fine)
}

fn asked(options: &PresetsOptions, key: &str, entry: &Preset) -> bool {
    let holds = |word: &String| {
        let word = word.to_lowercase();
        key.contains(&word) || entry.used_by.to_lowercase().contains(&word)
    };
    options.word.as_ref().is_none_or(holds) && (!options.assumed || entry.assumed())
}

fn line(key: &'static str, entry: &'static Preset, own: &[PresetOverride]) -> Line {
    let stated = own.iter().rev().find(|o| o.key == key);
    let source = match stated {
        Some(_) => format!("your own, in place of {}: {}", entry.value, entry.source),
        None => entry.source.clone(),
    };
    Line {
        key,
        value: stated.map_or(entry.value, |o| o.value),
        unit: &entry.unit,
        least: entry.range[0],
        most: entry.range[1],
        used_by: &entry.used_by,
        source,
        own: stated.is_some(),
    }
}

fn human(lines: &[Line]) -> String {
    let mut out = String::new();
    let mut group = "";
    for l in lines {
        let own_group = l.key.rsplit_once('.').map_or(l.key, |(group, _)| group);
        if own_group != group {
            let _ = writeln!(out, "{}[{own_group}]", if group.is_empty() { "" } else { "\n" });
            group = own_group;
        }
        let unit = if l.unit == "1" { String::new() } else { format!(" {}", l.unit) };
        let _ = writeln!(
            out,
            "{} = {}{unit}, range {} to {}\n    {}\n    {}",
            l.key, l.value, l.least, l.most, l.used_by, l.source
        );
    }
    let assumed = lines.iter().filter(|l| l.source.starts_with("assumed")).count();
    let _ = writeln!(
        out,
        "\n{} presets, {assumed} of them assumed. Put your own in a file and give it with --presets FILE.toml,\n\
         one with --preset KEY=VALUE, or write them under [presets] in the pattern's front matter.",
        lines.len()
    );
    out
}

fn csv(lines: &[Line]) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let mut out = String::from("key,value,unit,least,most,used_by,source\r\n");
    for l in lines {
        let _ = write!(
            out,
            "{},{},{},{},{},{},{}\r\n",
            l.key,
            l.value,
            quoted(l.unit),
            l.least,
            l.most,
            quoted(l.used_by),
            quoted(&l.source)
        );
    }
    out
}
