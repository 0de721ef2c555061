//! The rows of a piece on the page: numbered, their repeats folded.

use std::fmt::Write;

use super::Plainness;
use super::below::Met;
use super::below::Offered;
use super::below::foundation;
use super::edge::Stand;
use super::foundation::cast_on_after;
use super::names::Names;
use super::row::Sort;
use super::row::Words;
use super::row::words;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::Side;
use crate::stitches::Stitch;
use crate::stitches::StitchKind;

/// Longest block of rows looked for that repeats.
const LONGEST: usize = 120;
/// Counts of a growing block are listed up to this many.
const LISTED: usize = 60;
/// A chain of fewer links begins a piece only where the yarn before it is fastened off.
const SHORT: u32 = 8;

/// A numbered row.
struct Line {
    row: usize,
    number: u32,
    words: Words,
}

struct Sheet<'a> {
    piece: &'a Piece,
    text: String,
    colour: Option<u16>,
    /// Colours are named: there are several, or the one is not what goes without saying.
    coloured: bool,
}

/// The instructions, a line to a row. `yarn` is the first yarn listed: what is used when none is named.
pub(super) fn body(
    piece: &Piece,
    names: &Names<'_>,
    yarn: Option<&str>,
    plain: &[Plainness],
) -> String {
    let usual = yarn.filter(|y| !y.is_empty()).unwrap_or("MC");
    let coloured = piece.colours.iter().any(|c| !c.eq_ignore_ascii_case(usual));
    let mut sheet = Sheet { piece, text: String::new(), colour: None, coloured };
    let mut lines: Vec<Line> = Vec::new();
    let mut before = Offered::default();
    let (mut section, mut number) = (None, 0);
    for (r, row) in piece.rows.iter().enumerate() {
        let met = (r > 0).then(|| Met::new(piece, r, &before));
        let words = words(piece, r, met.as_ref(), names, plain[r]);
        if cuts_yarn(piece, &before, met.as_ref()) {
            sheet.flush(&mut lines);
            sheet.text += "Fasten off.\n";
        }
        before = before.after(piece, r, met.as_ref());
        if section != Some(row.section) {
            sheet.flush(&mut lines);
            sheet.section(row.section, section.is_some());
            section = Some(row.section);
            number = 0;
        }
        match words.sort {
            Sort::Row => {
                number += 1;
                lines.push(Line { row: r, number, words });
                let more = cast_on_after(piece, row);
                if more > 0 {
                    sheet.flush(&mut lines);
                    let _ = writeln!(sheet.text, "Cast on {more} more sts.");
                }
            }
            Sort::Step | Sort::Finish => {
                sheet.flush(&mut lines);
                if r > 0
                    && piece.craft == Craft::Crochet
                    && foundation(piece, r)
                    && row.made < SHORT
                {
                    sheet.text += "Fasten off.\n";
                }
                sheet.step(r, &words);
                number += u32::from(words.sort == Sort::Finish);
            }
        }
    }
    sheet.flush(&mut lines);
    if piece.craft == Craft::Crochet {
        sheet.text += "Fasten off.\n";
    }
    sheet.text
}

/// The last loop of the knitting before is left when loops are picked up.
fn cuts_yarn(piece: &Piece, before: &Offered, met: Option<&Met>) -> bool {
    let anew = met.is_some_and(|m| matches!(m.stand, Stand::Picked { live: 0 }));
    anew && piece.craft == Craft::Knit && !before.spots.is_empty()
}

impl Sheet<'_> {
    fn section(&mut self, section: u16, later: bool) {
        let name = self.piece.sections.get(usize::from(section)).map_or("", String::as_str);
        if later || !name.is_empty() {
            self.text.push('\n');
        }
        if !name.is_empty() {
            // "Increase rows:" would be the heading of a row.
            let word = name.rsplit(' ').next().unwrap_or_default().to_ascii_lowercase();
            let rows = ["row", "rows", "rnd", "rnds", "round", "rounds"].contains(&word.as_str());
            let _ = writeln!(self.text, "{name}{}", if rows { "" } else { ":" });
        }
    }

    /// The yarn in work when the row has been worked.
    fn ends_in(&self, row: usize) -> u16 {
        let row = &self.piece.rows[row];
        let leads = |s: &Stitch| s.kind == StitchKind::SlipStitch && s.legs.0 < s.legs.1;
        let last = self.piece.row_stitches(row).filter(|(_, s)| !s.overlay || leads(s)).last();
        last.map_or(row.colour, |(_, s)| s.colour)
    }

    /// "With B, " when the colour is new to what comes before.
    fn colour(&mut self, row: usize, told: bool) -> String {
        let colour = self.piece.rows[row].colour;
        let new = self.colour != Some(colour);
        self.colour = Some(self.ends_in(row));
        let name = self.piece.colours.get(usize::from(colour)).map_or("", String::as_str);
        if self.coloured && (new || told) { format!("with {name}, ") } else { String::new() }
    }

    /// A foundation or an end, on a line of its own.
    fn step(&mut self, row: usize, words: &Words) {
        if words.text.is_empty() {
            return;
        }
        let text = self.colour(row, false) + &words.text;
        let _ = writeln!(self.text, "{}.", capital(&text));
    }

    fn flush(&mut self, lines: &mut Vec<Line>) {
        let all = std::mem::take(lines);
        self.rows(&all, true, None);
    }

    /// Rows with what repeats folded. `tagged`: sides are said. `told`: this row names its colour.
    fn rows(&mut self, lines: &[Line], tagged: bool, told: Option<usize>) {
        let mut i = 0;
        while i < lines.len() {
            let Some((period, times)) = self.block(lines, i) else {
                self.row(&lines[i], tagged, told == Some(lines[i].row));
                i += 1;
                continue;
            };
            let block = &lines[i..i + period];
            let (first, last) = (&block[0], &block[period - 1]);
            let wraps = self.piece.rows[first.row].colour != self.ends_in(last.row);
            let told = if wraps { Some(first.row) } else { told };
            self.rows(block, tagged && period.is_multiple_of(2), told);
            self.again(block, &lines[i + period..i + period * times]);
            i += period * times;
        }
    }

    /// The block at `i` that repeats most: its rows and how often.
    fn block(&self, lines: &[Line], i: usize) -> Option<(usize, usize)> {
        let mut best: Option<(usize, usize)> = None;
        let alike = |a: &Line, b: &Line| {
            let (x, y) = (&self.piece.rows[a.row], &self.piece.rows[b.row]);
            a.words.text == b.words.text && x.colour == y.colour && x.round == y.round
        };
        let most = LONGEST.min((lines.len() - i) / 2);
        for period in 1..=most {
            let run = (i + period..lines.len())
                .take_while(|&k| alike(&lines[k], &lines[k - period]))
                .count();
            let times = run / period + 1;
            let saves = |(p, t): (usize, usize)| p * (t - 1);
            if times > 1 && best.is_none_or(|b| saves((period, times)) > saves(b)) {
                best = Some((period, times));
            }
        }
        best
    }

    fn row(&mut self, line: &Line, tagged: bool, told: bool) {
        let row = &self.piece.rows[line.row];
        let first = (0..line.row).all(|r| foundation(self.piece, r));
        let word = if row.round { "Rnd" } else { "Row" };
        let side = match row.side {
            // The side of the first row goes by none before it.
            _ if row.round || !tagged && !first => "",
            Side::Right => " (RS)",
            Side::Wrong => " (WS)",
        };
        let text = capital(&(self.colour(line.row, told) + &line.words.text));
        let count = match line.words.count.as_str() {
            "" => String::new(),
            count => format!(" ({count})"),
        };
        let _ = writeln!(self.text, "{word} {}{side}: {text}.{count}", line.number);
    }

    /// "Rows 13-300: Rep Rows 1-12, 24 times more."
    fn again(&mut self, block: &[Line], rows: &[Line]) {
        let (Some(first), Some(last), Some(from), Some(to)) =
            (block.first(), block.last(), rows.first(), rows.last())
        else {
            return;
        };
        let round = self.piece.rows[first.row].round;
        let (one, many) = if round { ("Rnd", "Rnds") } else { ("Row", "Rows") };
        let heading = if from.number == to.number {
            format!("{one} {}", from.number)
        } else {
            format!("{many} {}-{}", from.number, to.number)
        };
        let what = if first.number == last.number {
            format!("{one} {}", first.number)
        } else {
            format!("{many} {}-{}", first.number, last.number)
        };
        let times = rows.len() / block.len();
        let often = match times {
            _ if block.len() == 1 || times == 1 => String::new(),
            n => format!(", {n} times more"),
        };
        let count = self.counts(block, rows);
        let _ = writeln!(self.text, "{heading}: Rep {what}{often}.{count}");
        self.colour = rows.last().map(|l| self.ends_in(l.row));
    }

    /// Counts of rows worked again: once when they are those of the block, else all of them.
    fn counts(&self, block: &[Line], rows: &[Line]) -> String {
        let Some(last) = rows.last() else { return String::new() };
        let made = |line: &Line| self.piece.rows[line.row].made;
        let steady = rows.iter().enumerate().all(|(k, l)| made(l) == made(&block[k % block.len()]));
        if last.words.count.is_empty() {
            return String::new();
        }
        if steady || rows.len() > LISTED || rows.len() == 1 {
            return format!(" ({})", last.words.count);
        }
        let chains = rows.iter().any(|l| {
            let row = &self.piece.rows[l.row];
            self.piece.row_stitches(row).any(|(_, s)| s.kind == StitchKind::Chain)
        });
        if chains {
            return format!(" ({})", last.words.count);
        }
        let all: Vec<String> = rows.iter().map(|l| made(l).to_string()).collect();
        format!(" ({} sts)", all.join(", "))
    }
}

/// With its first letter a capital, be it behind an asterisk or a bracket.
fn capital(text: &str) -> String {
    let at = text.find(|c| !matches!(c, '*' | '[' | '(')).unwrap_or(0);
    let (marks, words) = text.split_at(at);
    let mut chars = words.chars();
    let first = chars.next().into_iter().flat_map(char::to_uppercase);
    marks.chars().chain(first).chain(chars.as_str().chars()).collect()
}
