//! `slantwise lay` of a piece in closed rounds.

use slantwise::measure::Closed;
use slantwise::predict;
use slantwise::predict::ClosedPiece;
use slantwise::report;
use slantwise::source::Source;

use super::args::LayOptions;
use super::files::{self, CannotRun};
use super::lay as flat;
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

/// Tells of it in words, with a picture and a mesh.
pub(super) fn lay(
    options: &LayOptions,
    source: &Source,
    found: &ClosedPiece,
) -> Result<Exit, CannotRun> {
    flat::complain(source, &found.diagnostics);
    print(&report::rounds_text(found))?;
    if let (Some(picture), Some(mesh)) = (report::rounds_picture(found), report::rounds_obj(found))
    {
        let png = report::png(&picture.svg).map_err(|e| CannotRun::Stage(e.to_string()))?;
        let out = vec![
            (format!("{}.png", picture.name), png),
            (format!("{}.svg", picture.name), picture.svg.into_bytes()),
            ("on-a-table.obj".to_owned(), mesh.into_bytes()),
        ];
        let folder = options
            .out
            .clone()
            .unwrap_or_else(|| flat::default_folder(&options.common.file, "laid"));
        files::write_all(&folder, &out)?;
        print(&format!("\nThe picture and the mesh are in {}\n", folder.display()))?;
    }
    Ok(check::exit(&found.diagnostics))
}
