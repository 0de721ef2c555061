//! Stripe sequences: "2 rows A, 4 rows B, 2 rows C", "2 rows each in A, B and C".

use super::again::ROW;
use super::colour::colour_index;
use super::colour::is_letter_code;
use super::heading::count;
use super::row::RowReader;
use super::syntax::Stripes;
use super::token::Kind;
use super::token::Token;

/// Bands of one sequence at most.
const MOST_BANDS: usize = 200;

/// A band being read: rows, the word for its colour, one past its last token.
type Band<'t> = (u32, &'t Token<'t>, usize);

/// Words for a stripe sequence.
const STRIPES: [&str; 4] = ["stripe", "stripes", "striping", "sequence"];

/// A stripe sequence is announced just before `k`.
fn announced(t: &[Token<'_>], k: usize) -> bool {
    t[k.saturating_sub(6)..k].iter().any(|t| t.any(&STRIPES))
}

impl RowReader<'_> {
    /// Learns the stripe sequences of `t`, the whole page.
    pub(super) fn learn_stripes(&mut self, t: &[Token<'_>]) {
        let mut k = 0;
        while k < t.len() {
            let mut bands = self.bands(t, k);
            if bands.len() < 2 {
                bands = self.bands_alike(t, k);
            }
            if bands.len() < 2 && announced(t, k) {
                bands = self.bands_worked(t, k);
            }
            if bands.len() < 2 {
                bands = self.bands_numbered(t, k);
            }
            let (Some(last), true) = (bands.last().copied(), bands.len() > 1) else {
                k += 1;
                continue;
            };
            let names = bands.iter().map(|&(n, token, _)| (n, self.written(token).to_owned()));
            let names: Vec<(u32, String)> = names.collect();
            let colours = &mut self.colours;
            let bands = names.iter().map(|(n, name)| (*n, colour_index(colours, name))).collect();
            self.stripe_words.push(t[k].span.to(t[last.2 - 1].span));
            self.rules.stripes.push(Stripes { from: t[k].span.start, bands });
            k = last.2;
        }
    }

    /// "Work the stripe pattern 6 times in total, then 4 rows in A": the rows that makes of the sequence told in
    /// the words at `span`.
    pub(super) fn stripe_rows(&self, t: &[Token<'_>], span: crate::source::Span) -> Option<u32> {
        let here = |s: &&Stripes| span.start <= s.from && s.from < span.end;
        let stripes = self.rules.stripes.iter().find(here)?;
        let sum = stripes.bands.iter().fold(0u32, |sum, band| sum.saturating_add(band.0));
        let at = t.iter().position(|t| t.span.start > stripes.from)?;
        let named = (at..t.len()).find(|&k| t[k].any(&STRIPES))?;
        let times = (named..t.len()).find_map(|k| match t[k].text {
            "twice" => Some((2, k)),
            _ => count(t, k)
                .filter(|&(_, used)| t.get(k + used).is_some_and(|t| t.any(&["times", "time"])))
                .map(|(n, _)| (n, k)),
        });
        let (n, k) = times?;
        let then = (k..t.len()).find(|&j| t[j].is("then"));
        let more = then.and_then(|j| {
            count(t, j + 1).filter(|&(_, used)| t.get(j + 1 + used).is_some_and(|t| t.any(&ROW)))
        });
        Some(n.saturating_mul(sum).saturating_add(more.map_or(0, |(m, _)| m)).min(20_000))
    }

    fn written(&self, token: &Token<'_>) -> &str {
        self.text.get(token.span.range()).unwrap_or_default()
    }

    fn names_colour(&self, token: &Token<'_>) -> bool {
        token.kind == Kind::Word
            && (is_letter_code(self.written(token))
                || self.cx.colours.iter().any(|c| c == token.text))
    }

    /// "2 rows A, 4 rows in B" from `k` on.
    fn bands<'t>(&self, t: &'t [Token<'t>], mut k: usize) -> Vec<Band<'t>> {
        let mut bands: Vec<Band<'t>> = Vec::new();
        while let Some((n, used)) = t.get(k).and_then(|_| count(t, k)) {
            let rows = k + used;
            if !t.get(rows).is_some_and(|t| t.any(&ROW)) || bands.len() >= MOST_BANDS {
                break;
            }
            let fill = ["in", "of", "with", "using", "colour", "color", "yarn"];
            let at = rows + 1 + t[rows + 1..].iter().take_while(|t| t.any(&fill)).count();
            let Some(colour) = t.get(at).filter(|t| self.names_colour(t)) else { break };
            bands.push((n, colour, at + 1));
            let between =
                |t: &&Token<'_>| t.is_stop() || t.any(&["and", "then"]) || t.kind == Kind::Dash;
            k = at + 1 + t[at + 1..].iter().take_while(between).count();
        }
        bands
    }

    /// "With A, work 6 rows. With B, work 2 rows." from `k` on.
    fn bands_worked<'t>(&self, t: &'t [Token<'t>], mut k: usize) -> Vec<Band<'t>> {
        let mut bands: Vec<Band<'t>> = Vec::new();
        let between = |t: &&Token<'_>| t.is_stop() || t.any(&["work", "knit", "and", "then"]);
        while t.get(k).is_some_and(|t| t.any(&["with", "using", "in"])) && bands.len() < MOST_BANDS
        {
            let Some(colour) = t.get(k + 1).filter(|t| self.names_colour(t)) else { break };
            let at = k + 2 + t[k + 2..].iter().take_while(between).count();
            let Some((n, used)) = t.get(at).and_then(|_| count(t, at)) else { break };
            if !t.get(at + used).is_some_and(|t| t.any(&ROW)) {
                break;
            }
            bands.push((n, colour, at + used + 1));
            k = at + used + 1 + t[at + used + 1..].iter().take_while(between).count();
        }
        bands
    }

    /// "Rows 1-4: A", "Rows 5-8: B", each on a line of its own, from `k` on: one repeat of the sequence.
    fn bands_numbered<'t>(&self, t: &'t [Token<'t>], mut k: usize) -> Vec<Band<'t>> {
        let mut bands: Vec<Band<'t>> = Vec::new();
        let mut next = 1;
        while t.get(k).is_some_and(|t| t.any(&ROW)) && bands.len() < MOST_BANDS {
            let Some(from) = t.get(k + 1).and_then(|t| t.number()) else { break };
            let ranged = t.get(k + 2).is_some_and(|t| t.kind == Kind::Dash || t.is("to"));
            let to = t.get(k + 3).and_then(|t| t.number()).filter(|_| ranged);
            let mark = k + if to.is_some() { 4 } else { 2 };
            let to = to.unwrap_or(from);
            let set_off = |t: &&Token<'_>| {
                matches!(t.kind, Kind::Stop(':') | Kind::Dash | Kind::Other('='))
                    || t.any(&["in", "with", "colour", "color", "yarn"])
            };
            let lead = t[mark.min(t.len())..].iter().take_while(set_off).count();
            let Some(colour) = t.get(mark + lead).filter(|t| self.names_colour(t)) else { break };
            let end = mark + lead + 1;
            let alone = t.get(end).is_none_or(|t| t.is_stop() || t.kind == Kind::Dash);
            if from != next || to < from || lead == 0 || !alone {
                break;
            }
            bands.push((to - from + 1, colour, end));
            next = to + 1;
            let line = |t: &&Token<'_>| *t.text != *"\n";
            k = end + t[end..].iter().take_while(line).count();
            k += t[k.min(t.len())..].iter().take_while(|t| t.is_stop()).count();
        }
        bands
    }

    /// The line tells a stripe sequence by its name and works nothing.
    pub(super) fn tells_stripes(&self, t: &[Token<'_>]) -> bool {
        let named = t.iter().take(4).any(|t| t.any(&STRIPES));
        let colon = t.iter().take(5).any(|t| matches!(t.kind, Kind::Stop(':') | Kind::Dash));
        let (Some(first), Some(last)) = (t.first(), t.last()) else { return false };
        let within = first.span.start..last.span.end;
        named && colon && self.rules.stripes.iter().any(|s| within.contains(&s.from))
    }

    /// "2 rows in each of A, B and C", "2 rows each A, B, C" from `k` on.
    fn bands_alike<'t>(&self, t: &'t [Token<'t>], k: usize) -> Vec<Band<'t>> {
        let Some((n, used)) = count(t, k) else { return Vec::new() };
        let fill = ["in", "of", "with", "using", "colour", "color", "colours", "colors"];
        let mut at = k + used;
        if !t.get(at).is_some_and(|t| t.any(&ROW)) {
            return Vec::new();
        }
        let lead = t[at + 1..].iter().take_while(|t| t.any(&fill) || t.is("each")).count();
        if !t[at + 1..at + 1 + lead].iter().any(|t| t.is("each")) {
            return Vec::new();
        }
        at += 1 + lead;
        let mut bands: Vec<Band<'t>> = Vec::new();
        while let Some(colour) = t.get(at).filter(|t| self.names_colour(t)) {
            bands.push((n, colour, at + 1));
            let between = |t: &&Token<'_>| t.kind == Kind::Stop(',') || t.is("and");
            at += 1 + t[at + 1..].iter().take_while(between).count();
        }
        bands
    }
}
