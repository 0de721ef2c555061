//! Stripe sequences: "2 rows A, 4 rows B, 2 rows C", "2 rows each in A, B and C".

use super::again::ROW;
use super::colour::colour_index;
use super::colour::is_letter_code;
use super::colour_changes::change_at;
use super::heading::count;
use super::row::RowReader;
use super::syntax::Content;
use super::syntax::Numbers;
use super::syntax::Stripes;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;

/// Bands of one sequence at most.
const MOST_BANDS: usize = 200;

/// A band being read: rows, its colour's name, one past its last token.
pub(super) type Band = (u32, String, usize);

/// Words for rows besides those worked.
const MORE: [&str; 3] = ["more", "further", "additional"];

/// Words for a stripe sequence.
const STRIPES: [&str; 4] = ["stripe", "stripes", "striping", "sequence"];

/// A stripe sequence is announced just before `k`.
fn announced(t: &[Token<'_>], k: usize) -> bool {
    t[k.saturating_sub(6)..k].iter().any(|t| t.any(&STRIPES))
}

/// "Repeat this 9-row sequence (3 rows each of A, B, C)": the bands in the bracket that begins before `k` are those
/// of the rows repeated.
fn told_again(t: &[Token<'_>], k: usize) -> bool {
    let open = k.checked_sub(1).filter(|&j| t[j].kind == Kind::Open);
    let words = open.map_or(&t[..0], |j| &t[j.saturating_sub(8)..j]);
    let rows =
        |w: &[Token<'_>]| w[0].number().is_some() && w[1].kind == Kind::Dash && w[2].any(&ROW);
    words.iter().any(|t| t.any(&["rep", "repeat"])) && words.windows(3).any(rows)
}

impl RowReader<'_> {
    /// Learns the stripe sequences of `t`, the whole page; `yarns` are those of its front matter.
    pub(super) fn learn_stripes(&mut self, t: &[Token<'_>], yarns: &[String]) {
        let mut k = 0;
        while k < t.len() {
            if told_again(t, k) {
                k += 1;
                continue;
            }
            let (mut bands, star) = self.bands(t, k);
            if bands.len() < 2 {
                bands = self.bands_alike(t, k);
            }
            if bands.len() < 2 && announced(t, k) {
                bands = self.bands_worked(t, k);
            }
            if bands.len() < 2 {
                bands = self.bands_numbered(t, k);
            }
            if bands.len() < 2 {
                bands = self.bands_every(t, k);
            }
            if bands.len() < 2 {
                bands = self.bands_between(t, k);
            }
            if bands.len() < 2 && announced(t, k) {
                bands = self.bands_labelled(t, k);
            }
            if bands.len() < 2
                && let Some(change) = change_at(t, k)
            {
                self.changes.push(t[k].span.to(t[change.end - 1].span));
                let names = self.yarns_to_change(t, k, yarns);
                let band = |name| (change.rows, name, change.end);
                bands = names.into_iter().map(band).collect();
            }
            let (Some(end), true) = (bands.last().map(|b| b.2), bands.len() > 1) else {
                k += 1;
                continue;
            };
            let colours = &mut self.colours;
            let bands: Vec<(u32, u16)> =
                bands.iter().map(|(n, name, _)| (*n, colour_index(colours, name))).collect();
            self.stripe_words.push(t[k].span.to(t[end - 1].span));
            let more = t[k..end].iter().take(3).any(|t| t.any(&MORE));
            // What was begun before is no part of what comes again and again.
            let again = star.unwrap_or(usize::from(more)).min(bands.len() - 1);
            self.rules.stripes.push(Stripes { from: t[k].span.start, bands, again, more });
            k = end;
        }
    }

    /// "Work the stripe pattern 6 times in total, then 4 rows in A": the rows that makes of the sequence told in
    /// the words at `span`.
    fn stripe_rows(&self, t: &[Token<'_>], span: crate::source::Span) -> Option<u32> {
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
            let j = j + 1 + t[j + 1..].iter().take_while(|t| t.any(&["work", "knit"])).count();
            count(t, j).filter(|&(_, used)| t.get(j + used).is_some_and(|t| t.any(&ROW)))
        });
        Some(n.saturating_mul(sum).saturating_add(more.map_or(0, |(m, _)| m)).min(20_000))
    }

    /// The words at `span` tell a stripe sequence, how often it is worked, and what comes after.
    pub(super) fn ends_stripes(&self, t: &[Token<'_>], span: crate::source::Span) -> bool {
        self.stripe_rows(t, span).is_some()
    }

    /// Rows worked again to the end of the stripe sequence that their own words tell.
    pub(super) fn ended_by_stripes(
        &self,
        content: &mut Content,
        t: &[Token<'_>],
        numbers: &Numbers,
        span: crate::source::Span,
    ) {
        let Content::Again(again) = content else { return };
        let loose = matches!(numbers, Numbers::Step | Numbers::Next);
        if let Some(n) = self.stripe_rows(t, span)
            && matches!(again.until, Until::Times(_) | Until::More(_) | Until::Rows(_))
        {
            // As many as the sequence has, less those of it worked before.
            again.until = Until::RowsInAll(n);
        } else if let Some(n) = self.stripes_thus(t, span)
            && again.until == Until::Heading
            && loose
        {
            again.until = Until::RowsInAll(n);
        }
    }

    /// "Rep rows 2 and 3, working colours thus: 60 rows A, 20 rows B": the rows of a sequence that is told once, in
    /// the words at `span`.
    fn stripes_thus(&self, t: &[Token<'_>], span: crate::source::Span) -> Option<u32> {
        let here = |s: &&Stripes| span.start <= s.from && s.from < span.end && s.again == 0;
        let stripes = self.rules.stripes.iter().find(here)?;
        let before = t.iter().take_while(|t| t.span.start < stripes.from);
        let mut thus = before.filter(|t| t.any(&["thus", "follows", "following", "foll"]));
        thus.next()?;
        let open = t
            .iter()
            .any(|t| t.any(&["throughout", "repeat", "until"]) && t.span.start > stripes.from);
        let sum = stripes.bands.iter().fold(0u32, |sum, band| sum.saturating_add(band.0));
        (!open).then_some(sum.min(20_000))
    }

    fn written(&self, token: &Token<'_>) -> &str {
        self.text.get(token.span.range()).unwrap_or_default()
    }

    pub(super) fn names_colour(&self, token: &Token<'_>) -> bool {
        token.kind == Kind::Word
            && (is_letter_code(self.written(token))
                || super::colour::plain(token.text)
                || self.cx.colours.iter().any(|c| c == token.text))
    }

    /// The colour at `k`, with its number ("CC1"), and its tokens.
    fn colour_at(&self, t: &[Token<'_>], k: usize) -> Option<(String, usize)> {
        let token = t.get(k).filter(|t| self.names_colour(t))?;
        super::colour::colour_at(t, k, self.text, &self.cx.colours)
            .or_else(|| Some((self.written(token).to_owned(), 1)))
    }

    /// "2 rows A, 4 rows in B" from `k` on, and the band before which a star stands.
    fn bands(&self, t: &[Token<'_>], mut k: usize) -> (Vec<Band>, Option<usize>) {
        let (mut bands, mut star): (Vec<Band>, _) = (Vec::new(), None);
        while let Some((n, used)) = t.get(k).and_then(|_| count(t, k)) {
            let more = k + used;
            let rows = more + usize::from(t.get(more).is_some_and(|t| t.any(&MORE)));
            if !t.get(rows).is_some_and(|t| t.any(&ROW)) || bands.len() >= MOST_BANDS {
                break;
            }
            let fill = ["in", "of", "with", "using", "colour", "color", "yarn"];
            let at = rows + 1 + t[rows + 1..].iter().take_while(|t| t.any(&fill)).count();
            let Some((colour, len)) = self.colour_at(t, at) else { break };
            let end = at + len;
            bands.push((n, colour, end));
            let starred = |t: &Token<'_>| matches!(t.kind, Kind::Star(_));
            let between = |t: &&Token<'_>| {
                t.is_stop() || t.any(&["and", "then"]) || t.kind == Kind::Dash || starred(t)
            };
            k = end + t[end..].iter().take_while(between).count();
            if t[end..k].iter().any(starred) {
                star = star.or(Some(bands.len()));
            }
        }
        (bands, star)
    }

    /// "With A, work 6 rows. With B, work 2 rows." from `k` on.
    fn bands_worked(&self, t: &[Token<'_>], mut k: usize) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
        let between = |t: &&Token<'_>| t.is_stop() || t.any(&["work", "knit", "and", "then"]);
        while t.get(k).is_some_and(|t| t.any(&["with", "using", "in"])) && bands.len() < MOST_BANDS
        {
            let Some((colour, len)) = self.colour_at(t, k + 1) else { break };
            let at = k + 1 + len;
            let at = at + t[at..].iter().take_while(between).count();
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
    fn bands_numbered(&self, t: &[Token<'_>], mut k: usize) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
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
            let Some((colour, len)) = self.colour_at(t, mark + lead) else { break };
            let end = mark + lead + len;
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

    /// "A: 20 rows, B: 4 rows" from `k` on.
    fn bands_labelled(&self, t: &[Token<'_>], mut k: usize) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
        while let Some((colour, len)) = self.colour_at(t, k).filter(|_| bands.len() < MOST_BANDS) {
            let mark = |t: &Token<'_>| {
                matches!(t.kind, Kind::Stop(':') | Kind::Other('=')) || t.kind == Kind::Dash
            };
            let at = k + len + 1;
            let Some((n, used)) = t.get(k + len).filter(|t| mark(t)).and_then(|_| count(t, at))
            else {
                break;
            };
            if !t.get(at + used).is_some_and(|t| t.any(&ROW)) {
                break;
            }
            bands.push((n, colour, at + used + 1));
            k = at + used + 1;
            k += t[k..].iter().take_while(|t| t.is_stop()).count();
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
    fn bands_alike(&self, t: &[Token<'_>], k: usize) -> Vec<Band> {
        let Some((n, used)) = count(t, k) else { return Vec::new() };
        let fill = ["in", "of", "with", "using", "colour", "color", "colours", "colors"];
        let at = k + used;
        if !t.get(at).is_some_and(|t| t.any(&ROW)) {
            return Vec::new();
        }
        let lead = t[at + 1..].iter().take_while(|t| t.any(&fill) || t.is("each")).count();
        if !t[at + 1..at + 1 + lead].iter().any(|t| t.is("each")) {
            return Vec::new();
        }
        self.bands_listed(t, at + 1 + lead, n)
    }

    /// "A, B and C" from `at` on, `n` rows of each.
    pub(super) fn bands_listed(&self, t: &[Token<'_>], mut at: usize, n: u32) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
        while let Some((colour, len)) = self.colour_at(t, at).filter(|_| bands.len() < MOST_BANDS) {
            at += len;
            bands.push((n, colour, at));
            let between = |t: &&Token<'_>| t.kind == Kind::Stop(',') || t.is("and");
            at += t[at..].iter().take_while(between).count();
        }
        bands
    }

    /// "changing colour every 2 rows (red, blue, green)", "every 4 rows in this order: A, B, C" from `k` on.
    fn bands_every(&self, t: &[Token<'_>], k: usize) -> Vec<Band> {
        const FILL: [&str; 9] =
            ["in", "this", "the", "following", "order", "sequence", "as", "follows", "from"];
        let after = k + 1;
        if !t[k].any(&["every", "each"]) {
            return Vec::new();
        }
        let (n, used) = match t.get(after) {
            // "every other row"
            Some(other) if other.any(&["other", "second"]) => (2, 1),
            _ => match count(t, after) {
                Some(found) => found,
                None => return Vec::new(),
            },
        };
        let rows = after + used;
        if !t.get(rows).is_some_and(|t| t.any(&ROW)) {
            return Vec::new();
        }
        let fill = |t: &&Token<'_>| {
            t.any(&FILL) || matches!(t.kind, Kind::Open | Kind::Dash | Kind::Stop(':' | ','))
        };
        let lead = t[rows + 1..].iter().take_while(fill).count();
        self.bands_listed(t, rows + 1 + lead, n)
    }
}
