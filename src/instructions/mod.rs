//! Writing a worked piece out again as instructions: trade prose in US or UK names, every row with its
//! count, rows and parts of rows that repeat folded.
//!
//! The text is read and worked before it is handed out. A row that reads back as other stitches is
//! written in plainer words and tried again; what still differs is named, never passed over.

mod below;
mod edge;
mod fold;
mod foundation;
mod head;
mod names;
mod oval;
mod prose;
mod row;
mod same;
mod sheet;
mod step;

pub use same::differing;

use crate::pattern;
use crate::pattern::Header;
use crate::pattern::Terms;
use crate::source::Source;
use crate::stitches;
use crate::stitches::Piece;
use crate::stitches::RowId;
use names::Names;

/// Rounds of writing and reading back.
const TRIES: usize = 6;

/// A piece in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The pattern: front matter, then sections and rows.
    pub text: String,
    /// Rows whose words, read again, do not give the same stitches.
    pub differing: Vec<RowId>,
}

/// How plainly a row is written; a plainer way is longer and leaves the reader less to decide.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
enum Plainness {
    /// "rep from * across".
    #[default]
    Usual,
    /// "rep from * 7 more times".
    Counted,
    /// "[...] 8 times".
    Bracketed,
    /// Stitch by stitch.
    Spelt,
}

impl Plainness {
    fn plainer(self) -> Self {
        match self {
            Self::Usual => Self::Counted,
            Self::Counted => Self::Bracketed,
            Self::Bracketed | Self::Spelt => Self::Spelt,
        }
    }
}

/// Writes `piece` in `terms`. `header` gives the front matter. `source` is the page the piece was read
/// from, if there is one: decreases of one kind keep the name the page gave them.
pub fn write(piece: &Piece, header: &Header, source: Option<&Source>, terms: Terms) -> Written {
    let names = Names { terms, craft: piece.craft, page: source.map_or("", Source::text) };
    let head = head::front_matter(piece, header, terms);
    let yarn = header.yarns.first().map(|y| y.name.as_str());
    let mut plain = vec![Plainness::Usual; piece.rows.len()];
    let mut written = Written { text: String::new(), differing: Vec::new() };
    for attempt in 0..TRIES {
        let text = head.clone() + &sheet::body(piece, &names, yarn, &plain);
        let differing = read_back(piece, &text);
        let better = attempt == 0 || differing.len() < written.differing.len();
        let plainest = differing.iter().all(|r| plain[r.0 as usize] == Plainness::Spelt);
        for row in &differing {
            let way = &mut plain[row.0 as usize];
            *way = way.plainer();
        }
        if better {
            written = Written { text, differing };
        }
        if plainest {
            break;
        }
    }
    written
}

/// Rows that `text` gives back as other stitches.
fn read_back(piece: &Piece, text: &str) -> Vec<RowId> {
    let source = Source::new("written", text.to_owned());
    let (pattern, _) = pattern::parse(&source);
    let (again, _) = stitches::work(&pattern);
    differing(piece, &again)
}
