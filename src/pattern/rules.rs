//! Standing rules: what turning chains count as, loops taken throughout.

use super::reader::Reader;
use super::row::RowReader;
use super::row::sentences;
use super::syntax::Counts;
use super::syntax::Loop;
use super::syntax::TurningRule;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use super::vocabulary::height_at;
use crate::source::Span;

impl RowReader<'_> {
    /// A standing rule: what turning chains count as, loops throughout.
    pub(super) fn rule(&mut self, lower: &str, span: Span) -> bool {
        let tokens = cut(&lower[span.range()], span.start);
        let mut any = false;
        for sentence in sentences(&tokens) {
            any |= self.one_rule(sentence, span);
        }
        any
    }

    fn one_rule(&mut self, t: &[Token<'_>], span: Span) -> bool {
        let loops = t
            .windows(2)
            .any(|w| w[0].any(&["back", "front"]) && w[1].any(&["loop", "loops", "lp", "lps"]));
        if loops && t.iter().any(|t| t.is("throughout")) {
            let back = t.iter().any(|t| t.is("back"));
            self.rules.loops = Some(if back { Loop::Back } else { Loop::Front });
            return true;
        }
        if let Some(rule) = self.replaced_first(t, span) {
            self.rules.turning.push(rule);
            return true;
        }
        // "Stitch count: multiple of 2 + 1 for the foundation ch" tells a number and no rule.
        let noun = t
            .windows(2)
            .any(|w| w[0].any(&["st", "sts", "stitch", "stitches", "row"]) && w[1].is("count"));
        if noun || !t.iter().any(|t| t.any(&["count", "counts", "counted"])) {
            return false;
        }
        let chain = t.iter().position(|t| t.any(&["ch", "chain", "chains", "tch", "chs"]));
        let Some(chain) = chain else { return false };
        // "Ch-1 spaces count as stitches" speaks of spaces, not of turning chains.
        let turns = t.iter().any(|t| t.any(&["turning", "beg", "beginning", "start", "tch"]));
        let spaces = |t: &Token<'_>| t.any(&["sp", "sps", "space", "spaces"]);
        if !turns && t[chain + 1..].iter().take(3).take_while(|t| !t.is_stop()).any(spaces) {
            return false;
        }
        let reader = Reader::new(t, &self.cx, self.text, &mut self.colours);
        let said = t.iter().position(|t| t.any(&["count", "counts", "counted"])).unwrap_or(0);
        let counts = match reader.read_counts(said.saturating_sub(2), t.len()) {
            Counts::Stitch(h) | Counts::StitchAndSpace(h, _) if negated(t) => {
                let _ = h;
                Counts::No
            }
            counts => counts,
        };
        let told = each_chain(&t[..said]);
        if told.len() > 1 {
            // "Ch 1 of a sc row, ch 2 of a dc row and ch 3 of a tr row do not count": a rule for each.
            let each = told.into_iter().map(|links| TurningRule { links, counts, span });
            self.rules.turning.extend(each);
            return true;
        }
        let links = (chain.saturating_sub(2)..(chain + 4).min(t.len())).find_map(|k| t[k].number());
        self.rules.turning.push(TurningRule { links: links.unwrap_or(0), counts, span });
        true
    }

    /// "Replace first tr at the beginning of every row with 3 ch": that chain counts.
    fn replaced_first(&self, t: &[Token<'_>], span: Span) -> Option<TurningRule> {
        t.iter().take(5).find(|t| t.any(&["replace", "substitute"]))?;
        let with = t.iter().position(|t| t.any(&["with", "by"]))?;
        let height = (1..with).find_map(|k| height_at(&self.cx, t, k).map(|(h, _)| h));
        let near = &t[with + 1..];
        near.iter().find(|t| t.any(&["ch", "chain", "chains"]))?;
        let links = near.iter().find_map(|t| t.number()).filter(|n| (1..9).contains(n))?;
        Some(TurningRule { links, counts: Counts::Stitch(height), span })
    }

    /// Learns the standing rules among the sentences of a row.
    pub(super) fn learn(&mut self, tokens: &[Token<'_>], span: Span) {
        for sentence in sentences(tokens) {
            if is_rule(sentence) {
                self.one_rule(sentence, span);
            }
        }
    }
}

/// The links of all chains named in `t`.
fn each_chain(t: &[Token<'_>]) -> Vec<u32> {
    let links = |k: usize| {
        let dash = usize::from(t.get(k + 1).is_some_and(|t| t.kind == Kind::Dash));
        t.get(k + 1 + dash)?.number().filter(|n| (1..9).contains(n))
    };
    let chains = (0..t.len()).filter(|&k| t[k].any(&["ch", "chain"]));
    let mut all: Vec<u32> = chains.filter_map(links).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// "Ch 1 at the start of a sc row does not count as a st": about all rows, however like a step it begins.
pub(super) fn of_all_rows(t: &[Token<'_>]) -> bool {
    const BEGIN: [&str; 4] = ["start", "beginning", "beg", "begin"];
    let begins = t.iter().position(|t| t.any(&BEGIN));
    let rows = begins.is_some_and(|k| {
        t[k + 1..].iter().take(5).any(|t| t.any(&["row", "rows", "rnd", "rnds", "round", "rounds"]))
    });
    rows && t.first().is_some_and(|t| t.any(&["ch", "chain", "turning", "a", "the"]))
        && t.iter().any(|t| t.any(&["count", "counts", "counted"]))
}

/// A sentence of its own about what a chain counts as.
pub(super) fn is_rule(t: &[Token<'_>]) -> bool {
    let first = t.iter().find(|t| t.kind == Kind::Word);
    first.is_some_and(|t| {
        t.any(&[
            "the",
            "note",
            "turning",
            "beginning",
            "beg",
            "starting",
            "always",
            "all",
            "this",
            "here",
        ])
    }) && t.iter().any(|t| t.any(&["count", "counts", "counted"]))
        && t.iter().any(|t| t.any(&["ch", "chain", "chains", "chs", "tch"]))
        && !t.iter().any(|t| t.any(&["hook", "hk"]))
}

/// Words that deny, as the tokens before an apostrophe.
pub(super) const NOT: [&str; 8] =
    ["not", "never", "doesn", "don", "aren", "isn", "doesnt", "arent"];

fn negated(t: &[Token<'_>]) -> bool {
    t.iter().any(|t| t.any(&NOT))
}
