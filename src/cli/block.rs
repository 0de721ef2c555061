//! `slantwise block`: blocking allowances compared.

use slantwise::predict::{self, Allowance, BlockPlan, Blocks, HeldOut, RoundBlocks};
use slantwise::report;
use slantwise::source::Source;

use super::args::{BlockOptions, LayFormat, Size};
use super::files::{self, CannotRun};
use super::report as reports;
use super::study::drawn;
use super::{Exit, check, lay, print};

/// Tried when no allowance is given, per cent each way.
const USUAL: [f64; 3] = [2.0, 5.0, 10.0];

/// Runs the command.
pub(super) fn block(options: &BlockOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.common.file)?;
    let plan = plan(options)?;
    if predict::in_rounds(&source) {
        return in_rounds(options, &source, &plan);
    }
    let sure = !options.reports.report.is_empty();
    let asked = predict::Options { sure, ..lay::asked(&options.common) };
    let bar = lay::progress_bar();
    let result = predict::block(&source, &asked, &plan, &mut |step| lay::tell(&bar, step));
    bar.finish_and_clear();
    let blocks = match result {
        Ok(blocks) => blocks,
        Err(refused) => return Err(lay::gave_up(&source, &refused)),
    };
    lay::complain(&source, &blocks.washed.diagnostics);
    let human = options.format == LayFormat::Human;
    let folder =
        options.out.clone().unwrap_or_else(|| lay::default_folder(&options.common.file, "blocked"));
    let named = reports::blocked(&options.reports, &blocks)?;
    if human || options.out.is_some() {
        files::write_all(&folder, &everything(&blocks)?)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::blocking_text(&blocks))?;
        let place = folder.display();
        print(&format!("\nThe picture, pin lists, meshes and numbers are in {place}\n{said}"))?;
    } else {
        print(&report::blocking_json(&blocks))?;
    }
    Ok(check::exit(&blocks.washed.diagnostics))
}

/// The same for a piece worked in closed rounds.
fn in_rounds(options: &BlockOptions, source: &Source, plan: &BlockPlan) -> Result<Exit, CannotRun> {
    let bar = lay::progress_bar();
    let asked = lay::asked(&options.common);
    let result = predict::block_rounds(source, &asked, plan, &mut |step| lay::tell(&bar, step));
    bar.finish_and_clear();
    let blocks = result.map_err(|refused| lay::gave_up(source, &refused))?;
    lay::complain(source, &blocks.washed.diagnostics);
    let human = options.format == LayFormat::Human;
    let folder =
        options.out.clone().unwrap_or_else(|| lay::default_folder(&options.common.file, "blocked"));
    let named = reports::blocked_rounds(&options.reports, &blocks)?;
    if human || options.out.is_some() {
        files::write_all(&folder, &everything_round(&blocks)?)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::rounds_blocking_text(&blocks))?;
        let place = folder.display();
        print(&format!("\nThe picture, pin lists, meshes and numbers are in {place}\n{said}"))?;
    } else {
        print(&report::rounds_blocking_json(&blocks))?;
    }
    Ok(check::exit(&blocks.washed.diagnostics))
}

fn everything_round(blocks: &RoundBlocks) -> Result<Vec<(String, Vec<u8>)>, CannotRun> {
    let mut out = drawn(&[report::rounds_blocking_picture(blocks)])?;
    for (k, trial) in blocks.trials.iter().enumerate() {
        let nth = k + 1;
        let pins = report::rounds_pin_list(blocks, trial);
        out.push((format!("pins-{nth}.csv"), pins.into_bytes()));
        let mesh = report::rounds_blocking_obj(trial);
        out.push((format!("released-{nth}.obj"), mesh.into_bytes()));
        let scene = report::rounds_blocking_gltf(blocks, trial);
        out.push((format!("released-{nth}.gltf"), scene.into_bytes()));
    }
    out.push(("numbers.json".into(), report::rounds_blocking_json(blocks).into_bytes()));
    out.push(("trials.csv".into(), report::rounds_blocking_csv(blocks).into_bytes()));
    Ok(out)
}

/// Every file the command writes, by name.
fn everything(blocks: &Blocks) -> Result<Vec<(String, Vec<u8>)>, CannotRun> {
    let mut out = drawn(&[report::blocking_picture(blocks)])?;
    for (k, trial) in blocks.trials.iter().enumerate() {
        let nth = k + 1;
        out.push((format!("pins-{nth}.csv"), report::pin_list(blocks, trial).into_bytes()));
        out.push((format!("released-{nth}.obj"), report::blocking_obj(trial).into_bytes()));
        let scene = report::blocking_gltf(blocks, trial);
        out.push((format!("released-{nth}.gltf"), scene.into_bytes()));
    }
    out.push(("numbers.json".into(), report::blocking_json(blocks).into_bytes()));
    out.push(("trials.csv".into(), report::blocking_csv(blocks).into_bytes()));
    Ok(out)
}

fn plan(options: &BlockOptions) -> Result<BlockPlan, CannotRun> {
    let mut allowances: Vec<Allowance> =
        options.allow.iter().map(|p| Allowance::PerCent(*p)).collect();
    allowances.extend(options.to.iter().map(|size| match *size {
        Size::Both(along, edge) => Allowance::Size(along, edge, None),
        Size::Across(wide) => Allowance::Across(wide),
    }));
    if allowances.is_empty() {
        allowances.extend(USUAL.map(|p| Allowance::PerCent([p, p])));
    }
    if let Some(set) = options.set.filter(|s| !(0.0..=1.0).contains(s)) {
        return Err(CannotRun::Stage(format!("--set {set}: expected a share from 0 to 1")));
    }
    Ok(BlockPlan {
        allowances,
        held: match options.pins {
            _ if options.wires => HeldOut::Wires,
            Some(apart) => HeldOut::Pins(apart),
            None => HeldOut::UsualPins,
        },
        fibre: options.fibre.clone(),
        set: options.set,
    })
}
