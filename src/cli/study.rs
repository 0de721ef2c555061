//! `slantwise mix` and `slantwise compare`: variants of a pattern, predictions side by side.

use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use indicatif::ProgressBar;
use slantwise::predict::{self, Options, Prediction, Reading};
use slantwise::report::{self, Picture, Study};
use slantwise::source::Source;
use slantwise::study::{self, Mix, Outcome, Variation};

use super::files::{self, CannotRun};
use super::report as reports;
use super::study_args::{CompareOptions, MixOptions, SpreadOptions, TraceOptions};
use super::{Exit, check, interrupt, lay, print};

/// Runs `mix`.
pub(super) fn mix(options: &MixOptions) -> Result<Exit, CannotRun> {
    let sources = sources(&options.files)?;
    for (_, source) in &sources {
        edged(source, "mix", "compare sets closed pieces side by side")?;
    }
    let asked = options.asked();
    let (mix, exit) = if sources.len() > 1 {
        if !options.vary.is_empty() {
            return Err(CannotRun::Stage(
                "--vary takes one pattern without choices; give the files alone, or one file"
                    .into(),
            ));
        }
        texts(&sources, &asked)?
    } else {
        let source = &sources[0].1;
        let reading = predict::read(source);
        lay::complain(source, &reading.diagnostics);
        (vary(source, &reading, &asked, &options.vary)?, check::exit(&reading.diagnostics))
    };
    let mut out = drawn(&[report::mix_picture(&mix), report::mix_outlines(&mix)])?;
    out.push(("mix.csv".into(), report::mix_csv(&mix).into_bytes()));
    let folder = folder(options.out.as_ref(), &options.files[0], "mix");
    let named = reports::studied(&options.study.reports, &Study::Mix(&mix))?;
    files::write_all(&folder, &out)?;
    let said = reports::write(named)?;
    print(&report::mix_text(&mix))?;
    print(&format!("\nPictures and numbers are in {}\n{said}", folder.display()))?;
    Ok(exit)
}

fn vary(
    source: &Source,
    reading: &Reading,
    asked: &Options,
    vary: &[Variation],
) -> Result<Mix, CannotRun> {
    let ranked = vary.is_empty();
    let variants = if ranked { study::plain_trials(&reading.piece) } else { study::variants(vary) };
    if variants.is_empty() {
        return Err(CannotRun::Stage(format!(
            "{}: no row of this pattern has a taller or shorter stitch or a shaping to leave out; say \
             what to vary with --vary",
            source.name()
        )));
    }
    let variable = vary.first().map_or(String::new(), |v| v.name.clone());
    let bar = counting(variants.len());
    let result =
        study::mix(reading, asked, &variants, &variable, ranked, &|done| count(&bar, done));
    clear(&bar);
    result.map_err(|failure| CannotRun::Stage(format!("{}: {failure}", source.name())))
}

/// Variants written out as patterns: the first is the one the others are held against.
fn texts(sources: &[(String, Source)], asked: &Options) -> Result<(Mix, Exit), CannotRun> {
    let (predictions, exit) = lay_all(sources, asked)?;
    let base = predictions[0].clone();
    let outcomes = sources.iter().zip(predictions).skip(1).map(|((name, _), prediction)| Outcome {
        name: name.clone(),
        number: None,
        result: Ok(prediction),
        idle: None,
    });
    let mix = Mix {
        title: base.title.clone(),
        variable: String::new(),
        outcomes: outcomes.collect(),
        base,
        ranked: false,
    };
    Ok((mix, exit))
}

/// Runs `compare`.
pub(super) fn compare(options: &CompareOptions) -> Result<Exit, CannotRun> {
    let sources = sources(&options.files)?;
    if sources.len() < 2 {
        return Err(CannotRun::Stage(
            "compare takes two or more patterns, or one with {name: words | name: words} choices"
                .into(),
        ));
    }
    let (predictions, exit) = lay_all(&sources, &options.asked())?;
    let names: Vec<String> = sources.into_iter().map(|s| s.0).collect();
    let lettered: Vec<String> =
        names.iter().enumerate().map(|(k, n)| format!("{} {n}", report::letter(k))).collect();
    let named: Vec<report::Variant<'_>> = lettered
        .iter()
        .zip(&predictions)
        .map(|(name, prediction)| report::Variant { name, prediction })
        .collect();
    let pictures = report::comparison_pictures(&named);
    let folder = folder(options.out.as_ref(), &options.files[0], "compared");
    let study = Study::Compare(&names, &predictions);
    let reported = reports::studied(&options.study.reports, &study)?;
    files::write_all(&folder, &drawn(&pictures)?)?;
    let said = reports::write(reported)?;
    print(&report::differences_text(&names, &predictions))?;
    print(&format!("The pictures are in {}\n{said}", folder.display()))?;
    Ok(exit)
}

fn lay_all(
    sources: &[(String, Source)],
    asked: &Options,
) -> Result<(Vec<Prediction>, Exit), CannotRun> {
    let mut exit = Exit::Fine;
    let mut predictions = Vec::new();
    let bar = counting(sources.len());
    for (k, (_, source)) in sources.iter().enumerate() {
        let laid = predict::lay(source, asked, &mut |_| interrupt::flow());
        let prediction = laid.map_err(|refused| lay::gave_up(source, &refused))?;
        lay::complain(source, &prediction.diagnostics);
        if check::exit(&prediction.diagnostics) == Exit::Faults {
            exit = Exit::Faults;
        }
        predictions.push(prediction);
        count(&bar, k + 1);
    }
    clear(&bar);
    Ok((predictions, exit))
}

/// Runs `spread`.
pub(super) fn spread(options: &SpreadOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    let run = predict::run(&source, &options.asked(), &mut |_| interrupt::flow());
    let run = run.map_err(|refused| lay::gave_up(&source, &refused))?;
    lay::complain(&source, &run.prediction.diagnostics);
    let mut makers = predict::Makers::usual(&run, options.makers, options.seed, options.unswatched);
    makers.overall = options.differ.map_or(makers.overall, |percent| percent / 100.0);
    let bar = counting(options.makers as usize);
    let done = AtomicUsize::new(0);
    let result = study::spread(&run, &makers, options.straight, &|| {
        count(&bar, done.fetch_add(1, Ordering::Relaxed) + 1);
    });
    clear(&bar);
    let spread =
        result.map_err(|failure| CannotRun::Stage(format!("{}: {failure}", source.name())))?;
    let mut out = drawn(&[report::spread_picture(&spread)])?;
    out.push(("makers.csv".into(), report::spread_csv(&spread).into_bytes()));
    let folder = folder(options.out.as_ref(), &options.file, "spread");
    let named = reports::studied(&options.study.reports, &Study::Spread(&spread))?;
    files::write_all(&folder, &out)?;
    let said = reports::write(named)?;
    print(&report::spread_text(&spread))?;
    let place = folder.display();
    print(&format!("\nThe picture and every maker's figures are in {place}\n{said}"))?;
    Ok(check::exit(&run.prediction.diagnostics))
}

/// Runs `trace`.
pub(super) fn trace(options: &TraceOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    edged(&source, "trace", "spread tells how they move from maker to maker")?;
    let run = predict::run(&source, &options.asked(), &mut |_| interrupt::flow());
    let run = run.map_err(|refused| lay::gave_up(&source, &refused))?;
    lay::complain(&source, &run.prediction.diagnostics);
    let found = study::attribute(&run, options.of)
        .map_err(|e| CannotRun::Stage(format!("{}: {e}", source.name())))?;
    let mut out = drawn(&[report::trace_picture(&run.prediction, &found)])?;
    out.push(("trace.csv".into(), report::trace_csv(&found).into_bytes()));
    let folder = folder(options.out.as_ref(), &options.file, "trace");
    let study = Study::Trace(&run.prediction, &found);
    let named = reports::studied(&options.study.reports, &study)?;
    files::write_all(&folder, &out)?;
    let said = reports::write(named)?;
    print(&report::trace_text(&run.prediction, &found))?;
    print(&format!("\nThe map and every stitch's figures are in {}\n{said}", folder.display()))?;
    Ok(check::exit(&run.prediction.diagnostics))
}

/// Refuses closed rounds: laid cut open, the edges of the cut are no edges of the piece.
fn edged(source: &Source, command: &str, instead: &str) -> Result<(), CannotRun> {
    if !predict::read(source).piece.all_rounds() {
        return Ok(());
    }
    Err(CannotRun::Stage(format!(
        "{}: {command} speaks of the two edges of a piece worked in rows, and these rounds are closed; \
         lay tells round by round how they lie, and {instead}",
        source.name()
    )))
}

/// Patterns by name; a file with choices is as many patterns as it names.
fn sources(paths: &[PathBuf]) -> Result<Vec<(String, Source)>, CannotRun> {
    let mut list = Vec::new();
    for path in paths {
        let source = files::read(path)?;
        let choices = study::named_variants(&source)
            .map_err(|e| CannotRun::Stage(format!("{}: {e}", source.name())))?;
        if choices.is_empty() {
            let stem = path.file_stem().map(|s| s.to_string_lossy().into_owned());
            list.push((stem.unwrap_or_else(|| source.name().to_owned()), source));
        } else {
            list.extend(choices);
        }
    }
    Ok(list)
}

fn folder(out: Option<&PathBuf>, file: &Path, done: &str) -> PathBuf {
    out.cloned().unwrap_or_else(|| lay::default_folder(file, done))
}

/// Every picture as SVG and PNG, by file name.
pub(super) fn drawn(pictures: &[Picture]) -> Result<Vec<(String, Vec<u8>)>, CannotRun> {
    let mut out = Vec::new();
    for picture in pictures {
        let png = report::png(&picture.svg).map_err(|e| CannotRun::Stage(e.to_string()))?;
        out.push((format!("{}.svg", picture.name), picture.svg.clone().into_bytes()));
        out.push((format!("{}.png", picture.name), png));
    }
    Ok(out)
}

/// A bar that counts what is done.
pub(super) struct Counter(Mutex<ProgressBar>, usize);

pub(super) fn counting(of: usize) -> Counter {
    Counter(Mutex::new(lay::progress_bar()), of)
}

pub(super) fn count(counter: &Counter, done: usize) {
    if let Ok(bar) = counter.0.lock() {
        bar.set_message(format!("{done} of {}", counter.1));
        bar.tick();
    }
}

pub(super) fn clear(counter: &Counter) {
    if let Ok(bar) = counter.0.lock() {
        bar.finish_and_clear();
    }
}
