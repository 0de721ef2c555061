//! `slantwise block`: blocking allowances compared.

use slantwise::predict::{self, Allowance, BlockPlan};
use slantwise::report;

use super::args::BlockOptions;
use super::files::{self, CannotRun};
use super::report as reports;
use super::{Exit, check, lay, print};

/// Tried when no allowance is given, per cent each way.
const USUAL: [f64; 3] = [2.0, 5.0, 10.0];

/// Runs the command.
pub(super) fn block(options: &BlockOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.common.file)?;
    let plan = plan(options)?;
    let bar = lay::progress_bar();
    let result = predict::block(&source, &lay::asked(&options.common), &plan, &mut |step| {
        lay::tell(&bar, step)
    });
    bar.finish_and_clear();
    let blocks = match result {
        Ok(blocks) => blocks,
        Err(refused) => return Err(lay::gave_up(&source, &refused)),
    };
    lay::complain(&source, &blocks.washed.diagnostics);
    let picture = report::blocking_picture(&blocks);
    let png = report::png(&picture.svg).map_err(|e| CannotRun::Stage(e.to_string()))?;
    let mut out = vec![
        (format!("{}.png", picture.name), png),
        (format!("{}.svg", picture.name), picture.svg.into_bytes()),
    ];
    for (k, trial) in blocks.trials.iter().enumerate() {
        out.push((format!("pins-{}.csv", k + 1), report::pin_list(&blocks, trial).into_bytes()));
    }
    let folder =
        options.out.clone().unwrap_or_else(|| lay::default_folder(&options.common.file, "blocked"));
    let named = reports::blocked(&options.reports, &blocks)?;
    files::write_all(&folder, &out)?;
    let said = reports::write(named)?;
    print(&report::blocking_text(&blocks))?;
    print(&format!("\nThe picture and the pin lists are in {}\n{said}", folder.display()))?;
    Ok(check::exit(&blocks.washed.diagnostics))
}

fn plan(options: &BlockOptions) -> Result<BlockPlan, CannotRun> {
    let mut allowances: Vec<Allowance> =
        options.allow.iter().map(|p| Allowance::PerCent(*p)).collect();
    allowances.extend(options.to.iter().map(|[a, e]| Allowance::Size(*a, *e, None)));
    if allowances.is_empty() {
        allowances.extend(USUAL.map(|p| Allowance::PerCent([p, p])));
    }
    if let Some(set) = options.set.filter(|s| !(0.0..=1.0).contains(s)) {
        return Err(CannotRun::Stage(format!("--set {set}: expected a share from 0 to 1")));
    }
    Ok(BlockPlan {
        allowances,
        spacing: (!options.wires).then_some(options.pins),
        fibre: options.fibre.clone(),
        set: options.set,
    })
}
