//! `slantwise lay` of a piece in closed rounds.

use slantwise::measure::Closed;
use slantwise::predict;
use slantwise::predict::ClosedPiece;
use slantwise::report;
use slantwise::source::Source;

use super::args::{LayFormat, LayOptions};
use super::files::{self, CannotRun};
use super::lay as flat;
use super::report as reports;
use super::{Exit, check, print};

/// The piece whole, on a table; it may not settle where the plane does. `opened`: how it lies cut open.
pub(super) fn rest(
    source: &Source,
    asked: &predict::Options,
    opened: Option<Closed>,
) -> Result<ClosedPiece, Box<predict::Refused>> {
    let bar = flat::progress_bar();
    let found = predict::rounds(source, asked, opened, &mut |step| flat::tell(&bar, step));
    bar.finish_and_clear();
    found
}

/// Tells of it, with a picture, numbers, a mesh and the reports asked for.
pub(super) fn lay(
    options: &LayOptions,
    source: &Source,
    found: &ClosedPiece,
) -> Result<Exit, CannotRun> {
    flat::complain(source, &found.diagnostics);
    if options.full_size.is_some() {
        let what = "rounds are closed, so there is no outline to print; leave out --full-size";
        return Err(CannotRun::Stage(format!("{}: {what}", source.name())));
    }
    let human = options.format == LayFormat::Human;
    let mut named = reports::laid_rounds(&options.reports, found)?;
    for path in &options.mesh {
        let Some(mesh) = reports::rounds_mesh(path, found) else {
            let what = "a tube lies double, which is no mesh; leave out --mesh";
            return Err(CannotRun::Stage(format!("{}: {what}", source.name())));
        };
        named.push(mesh);
    }
    let folder =
        options.out.clone().unwrap_or_else(|| flat::default_folder(&options.common.file, "laid"));
    if human || options.out.is_some() {
        files::write_all(&folder, &everything(found)?)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::rounds_text(found))?;
        print(&format!("\nPictures and numbers are in {}\n{said}", folder.display()))?;
    } else {
        print(&report::rounds_json(found))?;
    }
    Ok(check::exit(&found.diagnostics))
}

fn everything(found: &ClosedPiece) -> Result<Vec<(String, Vec<u8>)>, CannotRun> {
    let mut out = vec![("numbers.json".to_owned(), report::rounds_json(found).into_bytes())];
    if let Some(picture) = report::rounds_picture(found) {
        let png = report::png(&picture.svg).map_err(|e| CannotRun::Stage(e.to_string()))?;
        out.push((format!("{}.png", picture.name), png));
        out.push((format!("{}.svg", picture.name), picture.svg.into_bytes()));
    }
    out.extend(report::rounds_obj(found).map(|m| ("on-a-table.obj".into(), m.into_bytes())));
    Ok(out)
}
