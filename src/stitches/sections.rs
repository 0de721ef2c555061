//! Whole sections worked again, by their names or as the last so many.

use super::maker::Body;
use super::maker::MakerAtWork;
use super::schedule::nameless;
use super::schedule::without_sides;
use crate::pattern::Part;
use crate::pattern::Until;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    /// Rows by their names, else the rows of a section by its name.
    pub(super) fn named_rows(&mut self, names: &[String], span: Span) -> Option<Vec<Body<'a>>> {
        let mut bodies = Vec::with_capacity(names.len());
        for name in names {
            let short = nameless(name);
            let shared = self.rows_sharing(&short);
            match (self.named.get(&short), self.section_rows(name)) {
                (Some(body), _) => bodies.push(*body),
                (None, _) if !shared.is_empty() => bodies.extend(shared),
                (None, Some(rows)) => bodies.extend(rows),
                (None, None) => {
                    self.undefined(&format!("row {name}"), span);
                    return None;
                }
            }
        }
        Some(without_sides(bodies))
    }

    /// Rows named alike but for a number: "rib row 1" and "rib row 2" by "rib".
    fn rows_sharing(&self, name: &str) -> Vec<Body<'a>> {
        let number = |own: &str| own.strip_prefix(name)?.strip_prefix(' ')?.parse::<u32>().ok();
        let mut rows: Vec<(u32, Body<'a>)> =
            self.named.iter().filter_map(|(own, body)| Some((number(own)?, *body))).collect();
        rows.sort_by_key(|(n, _)| *n);
        rows.into_iter().map(|(_, body)| body).collect()
    }

    /// The rows of a section by its name: of this very name, else of one that holds it as a whole word.
    fn section_rows(&self, name: &str) -> Option<Vec<Body<'a>>> {
        let short = name.trim_end_matches(" section");
        let all = &self.sections_begin;
        let holds = |own: &str| {
            let own = own.to_ascii_lowercase();
            own.match_indices(short).any(|(at, _)| {
                let next = own[at + short.len()..].chars().next();
                next.is_none_or(|c| !c.is_ascii_digit())
            })
        };
        let at = all
            .iter()
            .rposition(|(own, _)| own.eq_ignore_ascii_case(name))
            .or_else(|| all.iter().rposition(|(own, _)| holds(own)))?;
        let rows = self.section_at(at);
        (!rows.is_empty()).then(|| rows.to_vec())
    }

    /// The rows of section `at` of those begun so far.
    fn section_at(&self, at: usize) -> &[Body<'a>] {
        let begin = self.sections_begin[at].1;
        let end = self.sections_begin.get(at + 1).map_or(self.history.len(), |s| s.1);
        self.history.get(begin..end).unwrap_or(&[])
    }

    /// Works sections again by their names, or some of their rows.
    pub(super) fn parts_again(&mut self, parts: &'a [Part], row: &crate::pattern::Row) {
        self.fill_parity(None);
        for part in parts {
            let at = self.sections_begin.iter().position(|(own, _)| *own == part.name);
            let all = at.map(|at| self.section_at(at).to_vec()).unwrap_or_default();
            let rows = match part.rows {
                Some((a, b)) => all.get((a.max(1) - 1) as usize..b as usize).unwrap_or(&[]),
                None => &all,
            };
            if rows.is_empty() {
                return self.undefined(&format!("`{}`", part.name), row.span);
            }
            for time in 0..part.times {
                if time == 0 || part.rows.is_none() {
                    self.new_section(&part.name);
                }
                for (nth, body) in rows.iter().enumerate() {
                    if self.stopped || self.too_many(row.span) {
                        return;
                    }
                    let ends = time + 1 == part.times && nth + 1 == rows.len();
                    let count = part.count.as_ref().filter(|_| ends);
                    let body = Body { count, right_side: None, ..*body };
                    self.numbers.insert(self.next, body);
                    self.written = self.next;
                    self.next_row(body);
                }
            }
        }
    }

    /// The last `n` sections that have rows, with their names, the oldest first.
    pub(super) fn last_sections(&self, n: u32) -> Vec<(String, Vec<Body<'a>>)> {
        let worked =
            (0..self.sections_begin.len()).rev().filter(|&k| !self.section_at(k).is_empty());
        let mut last: Vec<_> = worked
            .take(n as usize)
            .map(|k| (self.sections_begin[k].0.clone(), self.section_at(k).to_vec()))
            .collect();
        last.reverse();
        last
    }

    /// Works the last `n` sections again. Told how often, each begins anew with its own row numbers;
    /// told how long, their rows are one block.
    pub(super) fn sections_again(&mut self, n: u32, until: Until, span: Span) {
        let sections = self.last_sections(n);
        if sections.is_empty() || (n != u32::MAX && sections.len() < n as usize) {
            return self.undefined(&format!("section {}", sections.len() + 1), span);
        }
        let times = match until {
            Until::Times(n) | Until::More(n) => n,
            Until::Heading => 1,
            _ => {
                let rows = sections.into_iter().flat_map(|(_, rows)| rows).collect();
                return self.block(&without_sides(rows), until, span);
            }
        };
        for _ in 0..times {
            for (name, rows) in &sections {
                if self.stopped || self.too_many(span) {
                    return;
                }
                self.new_section(name);
                for body in rows {
                    let body = Body { count: None, right_side: None, ..*body };
                    self.numbers.insert(self.next, body);
                    self.written = self.next;
                    self.next_row(body);
                }
            }
        }
    }
}
