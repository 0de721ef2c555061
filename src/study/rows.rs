//! Which rows of a piece are meant, and which rows are alike.

use crate::stitches::Piece;
use crate::stitches::StitchKind;

/// Rows named the way a maker would: a section, rows in it, and every so many rows after them.
///
/// Written `SECTION`, `SECTION:3`, `SECTION:3-6`, `3-6`, each with `/12` added for "and every 12th row
/// after it in the same section".
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rows {
    /// Section name, any case; none: every section.
    pub section: Option<String>,
    /// First and last row number in the section; none: all its rows.
    pub range: Option<(u32, u32)>,
    /// Repeats after so many rows.
    pub every: Option<u32>,
}

/// Rows that the piece does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no rows `{asked}` in this pattern; its sections are {there}")]
pub struct NoSuchRows {
    /// What was asked for.
    pub asked: String,
    /// Sections with their rows.
    pub there: String,
}

impl Rows {
    /// Reads the notation above; `None` when it is not that.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let (text, every) = match text.rsplit_once('/') {
            Some((before, n)) => (before, Some(n.trim().parse().ok().filter(|n| *n > 0)?)),
            None => (text, None),
        };
        let (section, rows) = match text.split_once(':') {
            Some((section, rows)) => (Some(section.trim()), Some(rows.trim())),
            None if text.starts_with(|c: char| c.is_ascii_digit()) => (None, Some(text)),
            None => (Some(text), None),
        };
        let number = |t: &str| t.trim().parse::<u32>().ok();
        let range = match rows {
            None => None,
            Some(rows) => Some(match rows.split_once('-') {
                Some((a, b)) => (number(a)?, number(b)?),
                None => (number(rows)?, number(rows)?),
            }),
        };
        let section = section.filter(|s| !s.is_empty()).map(str::to_owned);
        (every.is_none() || range.is_some()).then_some(Self { section, range, every })
    }

    /// Indices in `piece.rows`, foundation and finishing left out.
    ///
    /// # Errors
    /// [`NoSuchRows`] when there are none.
    pub fn of(&self, piece: &Piece) -> Result<Vec<usize>, NoSuchRows> {
        let chosen: Vec<usize> = fabric_rows(piece)
            .filter(|&(i, number)| self.takes(piece, i, number))
            .map(|r| r.0)
            .collect();
        if chosen.is_empty() {
            return Err(NoSuchRows { asked: self.to_string(), there: there(piece) });
        }
        Ok(chosen)
    }

    fn takes(&self, piece: &Piece, row: usize, number: u32) -> bool {
        let section = section(piece, row);
        if self.section.as_ref().is_some_and(|s| !s.eq_ignore_ascii_case(section)) {
            return false;
        }
        match (self.range, self.every) {
            (None, _) => true,
            (Some((a, b)), None) => (a..=b).contains(&number),
            (Some((a, b)), Some(n)) => number >= a && (number - a) % n <= b.saturating_sub(a),
        }
    }
}

impl std::fmt::Display for Rows {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut parts = Vec::new();
        if let Some(section) = &self.section {
            parts.push(section.clone());
        }
        match self.range {
            Some((a, b)) if a == b => parts.push(format!("row {a}")),
            Some((a, b)) => parts.push(format!("rows {a}-{b}")),
            None if self.section.is_none() => parts.push("all rows".into()),
            None => {}
        }
        if let Some(n) = self.every {
            parts.push(format!("and every {n} rows on"));
        }
        f.write_str(&parts.join(" "))
    }
}

/// Rows that make fabric, each with its number within its section, from 1.
pub(super) fn fabric_rows(piece: &Piece) -> impl Iterator<Item = (usize, u32)> {
    let mut numbers = vec![0; piece.sections.len().max(1)];
    piece.rows.iter().enumerate().skip(1).filter(|(_, row)| !row.finish).map(move |(i, row)| {
        let at = usize::from(row.section).min(numbers.len() - 1);
        numbers[at] += 1;
        (i, numbers[at])
    })
}

pub(super) fn section(piece: &Piece, row: usize) -> &str {
    piece.sections.get(usize::from(piece.rows[row].section)).map_or("", String::as_str)
}

fn there(piece: &Piece) -> String {
    let mut counts = vec![0; piece.sections.len().max(1)];
    for (i, _) in fabric_rows(piece) {
        let last = counts.len() - 1;
        counts[usize::from(piece.rows[i].section).min(last)] += 1;
    }
    let named = |(i, n): (usize, &u32)| match piece.sections.get(i).map(String::as_str) {
        None | Some("") => format!("one without a name ({n} rows)"),
        Some(name) => format!("{name} ({n} rows)"),
    };
    let list: Vec<String> = counts.iter().enumerate().filter(|(_, n)| **n > 0).map(named).collect();
    list.join(", ")
}

/// What a row does, wherever it stands: kind and number of legs of every stitch.
fn signature(piece: &Piece, row: usize) -> Vec<(StitchKind, u32)> {
    piece.row_stitches(&piece.rows[row]).map(|(_, s)| (s.kind, s.legs.1 - s.legs.0)).collect()
}

/// The longest section's rows, and the number of rows after which they are worked alike (at least
/// twice); all of them when they never are.
pub(super) fn repeat(piece: &Piece) -> (Vec<usize>, usize) {
    let mut by_section: Vec<Vec<usize>> = vec![Vec::new(); piece.sections.len().max(1)];
    for (i, _) in fabric_rows(piece) {
        let at = usize::from(piece.rows[i].section).min(by_section.len() - 1);
        by_section[at].push(i);
    }
    let rows = by_section.into_iter().rev().max_by_key(Vec::len).unwrap_or_default();
    let signatures: Vec<_> = rows.iter().map(|&r| signature(piece, r)).collect();
    let n = rows.len();
    let alike = |p: usize, from: usize| (from..n - p).all(|i| signatures[i] == signatures[i + p]);
    let period = (1..=n / 2).find(|&p| alike(p, 0));
    let period = period.or_else(|| (1..=n / 3).find(|&p| alike(p, p.min(n / 8))));
    (rows, period.unwrap_or(n))
}

#[cfg(test)]
mod tests {
    use super::Rows;

    #[test]
    fn rows_are_read_as_written() {
        let rows = |t| Rows::parse(t).map(|r| r.to_string());
        assert_eq!(rows("WRAP:3/12").as_deref(), Some("WRAP row 3 and every 12 rows on"));
        assert_eq!(rows("3-6").as_deref(), Some("rows 3-6"));
        assert_eq!(rows("Last band").as_deref(), Some("Last band"));
        assert_eq!(rows("WRAP:x"), None);
        assert_eq!(rows("WRAP/3"), None);
    }
}
