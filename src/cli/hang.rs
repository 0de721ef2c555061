//! `slantwise hang`: the piece under its own weight.

use slantwise::predict::{self, HangPlan};
use slantwise::report;
use slantwise::source::Source;
use slantwise::state::{Hang, Shoulders, SideOf};

use super::args::LayFormat;
use super::files::{self, CannotRun};
use super::hang_args::{By, HangOptions, Side, SpecimenOptions};
use super::report as reports;
use super::study::drawn;
use super::{Exit, check, lay, print};

/// Runs the command.
pub(super) fn hang(options: &HangOptions) -> Result<Exit, CannotRun> {
    let plan = plan(options)?;
    let source = files::read(&options.common.file)?;
    if predict::in_rounds(&source) {
        return in_rounds(options, &source, &plan);
    }
    let sure = !options.reports.report.is_empty();
    let asked = predict::Options { sure, ..lay::asked(&options.common) };
    let bar = lay::progress_bar();
    let result = predict::hang(&source, &asked, &plan, &mut |step| lay::tell(&bar, step));
    bar.finish_and_clear();
    let hung = match result {
        Ok(hung) => hung,
        Err(refused) => return Err(lay::gave_up(&source, &refused)),
    };
    lay::complain(&source, &hung.laid.diagnostics);
    let human = options.format == LayFormat::Human;
    let mut named = reports::hung(&options.reports, &hung)?;
    named.extend(options.mesh.iter().map(|path| reports::hung_mesh(path, &hung)));
    let folder =
        options.out.clone().unwrap_or_else(|| lay::default_folder(&options.common.file, "hung"));
    if human || options.out.is_some() {
        let mut out = drawn(&[report::hanging_picture(&hung), report::growth_picture(&hung)])?;
        out.push(("hung.obj".into(), report::hanging_obj(&hung).into_bytes()));
        out.push(("hung.gltf".into(), report::hanging_gltf(&hung).into_bytes()));
        out.push(("numbers.json".into(), report::hanging_json(&hung).into_bytes()));
        out.push(("rows.csv".into(), report::hanging_csv(&hung).into_bytes()));
        files::write_all(&folder, &out)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::hanging_text(&hung))?;
        let place = folder.display();
        print(&format!("\nPictures, meshes and numbers are in {place}\n{said}"))?;
    } else {
        print(&report::hanging_json(&hung))?;
    }
    Ok(check::exit(&hung.laid.diagnostics))
}

/// The same for a piece worked in closed rounds.
fn in_rounds(options: &HangOptions, source: &Source, plan: &HangPlan) -> Result<Exit, CannotRun> {
    if options.side.is_some() {
        return Err(CannotRun::Stage(
            "--side: the sides of closed rounds are alike and have no names; leave it out".into(),
        ));
    }
    let bar = lay::progress_bar();
    let asked = lay::asked(&options.common);
    let result = predict::hang_rounds(source, &asked, plan, &mut |step| lay::tell(&bar, step));
    bar.finish_and_clear();
    let hung = result.map_err(|refused| lay::gave_up(source, &refused))?;
    lay::complain(source, &hung.laid.diagnostics);
    let human = options.format == LayFormat::Human;
    let mut named = reports::hung_rounds(&options.reports, &hung)?;
    named.extend(options.mesh.iter().map(|path| reports::hung_rounds_mesh(path, &hung)));
    let folder =
        options.out.clone().unwrap_or_else(|| lay::default_folder(&options.common.file, "hung"));
    if human || options.out.is_some() {
        let pictures =
            [report::rounds_hanging_picture(&hung), report::rounds_growth_picture(&hung)];
        let mut out = drawn(&pictures)?;
        out.push(("hung.obj".into(), report::rounds_hanging_obj(&hung).into_bytes()));
        out.push(("hung.gltf".into(), report::rounds_hanging_gltf(&hung).into_bytes()));
        out.push(("numbers.json".into(), report::rounds_hanging_json(&hung).into_bytes()));
        out.push(("rounds.csv".into(), report::rounds_hanging_csv(&hung).into_bytes()));
        files::write_all(&folder, &out)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::rounds_hanging_text(&hung))?;
        let place = folder.display();
        print(&format!("\nPictures, meshes and numbers are in {place}\n{said}"))?;
    } else {
        print(&report::rounds_hanging_json(&hung))?;
    }
    Ok(check::exit(&hung.laid.diagnostics))
}

fn plan(options: &HangOptions) -> Result<HangPlan, CannotRun> {
    let usual = if options.by == By::Shoulders { Side::Left } else { Side::Foundation };
    let side = match options.side.unwrap_or(usual) {
        Side::Foundation => SideOf::Foundation,
        Side::Right => SideOf::Right,
        Side::LastRow => SideOf::LastRow,
        Side::Left => SideOf::Left,
    };
    let share = |name: &str, value: f64, least: f64, most: f64| {
        if (least..=most).contains(&value) {
            return Ok(value / 100.0);
        }
        let expected = format!("--{name} {value}: expected {least} to {most} per cent");
        Err(CannotRun::Stage(expected))
    };
    let how = match options.by {
        By::Point => Hang::Point { side },
        By::Edge => Hang::Edge { side, spacing: options.pegs.to_m() },
        By::Corners => Hang::Corners { side, apart: share("apart", options.apart, 20.0, 100.0)? },
        By::Rail => Hang::Rail {
            radius: options.rail.to_m() / 2.0,
            at: share("at", options.at, 0.0, 100.0)?,
        },
        By::TableEdge => Hang::TableEdge { side, over: options.over.to_m() },
        By::Shoulders => Hang::Shoulders {
            side,
            body: Shoulders {
                breadth: options.breadth.to_m(),
                neck: options.neck.to_m(),
                slope: options.slope.to_radians(),
                depth: options.chest.to_m(),
            },
        },
        By::Disc => Hang::Disc { radius: options.disc.to_m() / 2.0 },
    };
    Ok(HangPlan { how, water: share("water", options.water, 0.0, 1000.0)? })
}

/// Pulled when no angle is given, degrees to the rows.
const USUAL: [f64; 5] = [0.0, 30.0, 45.0, 60.0, 90.0];

/// Runs `slantwise specimen`.
pub(super) fn specimen(options: &SpecimenOptions) -> Result<Exit, CannotRun> {
    let angles = if options.angle.is_empty() { USUAL.to_vec() } else { options.angle.clone() };
    if let Some(angle) = angles.iter().find(|a| !(-90.0..=90.0).contains(*a)) {
        return Err(CannotRun::Stage(format!("--angle {angle}: expected -90 to 90 degrees")));
    }
    let source = files::read(&options.common.file)?;
    let tests = predict::Tests { angles, stitch: options.stitch.clone() };
    match predict::specimen(&source, &lay::asked(&options.common), &tests) {
        Ok(found) => {
            lay::complain(&source, &found.diagnostics);
            print(&report::specimen_text(&found))?;
            Ok(check::exit(&found.diagnostics))
        }
        Err(refused) => Err(lay::gave_up(&source, &refused)),
    }
}
