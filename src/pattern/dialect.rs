//! Which craft and whose terms a page uses, from the words on it.

use super::header::CraftWord;
use super::header::Origin;
use super::header::Stated;
use super::header::Terms;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use crate::source::Span;
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// How often each telling word stands on the page.
pub(super) struct Evidence<'a> {
    words: BTreeMap<&'a str, u32>,
    us_said: Option<Span>,
    uk_said: Option<Span>,
}

impl<'a> Evidence<'a> {
    /// Counts the words of `lower` from byte `start` on.
    pub(super) fn gather(lower: &'a str, start: u32) -> Self {
        let tokens = cut(&lower[start as usize..], start);
        let mut words = BTreeMap::new();
        for token in tokens.iter().filter(|t| t.kind == Kind::Word) {
            *words.entry(token.text).or_insert(0) += 1;
        }
        let said = |land: &[&str]| {
            tokens
                .windows(2)
                .find(|w| w[0].any(land) && w[1].any(&TERMS))
                .map(|w: &[Token<'_>]| w[0].span.to(w[1].span))
        };
        Self { us_said: said(&["us", "american", "usa"]), uk_said: said(&["uk", "british"]), words }
    }

    fn count(&self, words: &[&str]) -> u32 {
        words.iter().map(|w| self.words.get(w).copied().unwrap_or(0)).sum()
    }

    /// Crochet or knitting.
    pub(super) fn craft(&self) -> Stated<CraftWord> {
        let crochet = self.count(&[
            "sc", "hdc", "dc", "tr", "ch", "chain", "crochet", "htr", "hook", "dtr", "treble",
            "slst",
        ]);
        let knit = self.count(&[
            "k", "knit", "purl", "p", "yo", "ssk", "kfb", "needles", "needle", "cast", "co", "skp",
            "psso",
        ]);
        let value = if knit > crochet { CraftWord::Knit } else { CraftWord::Crochet };
        let origin = if knit + crochet > 0 { Origin::Evidence } else { Origin::Default };
        Stated { value, origin, span: Span::default() }
    }

    /// US or UK terms, and why.
    pub(super) fn terms(&self) -> (Stated<Terms>, String) {
        let stated = |value, span| Stated { value, origin: Origin::Text, span };
        match (self.us_said, self.uk_said) {
            (Some(span), None) => return (stated(Terms::Us, span), "the page says so".into()),
            (None, Some(span)) => return (stated(Terms::Uk, span), "the page says so".into()),
            _ => {}
        }
        let us = self.count(&["sc", "hdc", "skip", "sk", "gauge"]);
        let posts = self.count(&["sc", "hdc"]) + self.count(&["single", "half"]) / 2;
        let htr = self.count(&["htr"]);
        let british =
            self.count(&["miss", "tension", "ss", "yoh", "yrh", "dtr", "colour", "metres"]);
        let no_single = self.count(&["sc"]) == 0;
        let both = self.count(&["dc"]) > 0 && self.count(&["tr"]) > 0;
        let evidence = |value, why: &str| {
            (Stated { value, origin: Origin::Evidence, span: Span::default() }, why.to_owned())
        };
        if htr > 0 && posts == 0 {
            return evidence(Terms::Uk, "`htr` is used and `sc` and `hdc` are not");
        }
        if posts > 0 {
            return evidence(Terms::Us, "`sc` or `hdc` is used");
        }
        if no_single && both && british > self.count(&["skip", "sk", "gauge"]) {
            return evidence(
                Terms::Uk,
                "`dc` and `tr` are used without `sc`, with UK words (miss, tension, ss)",
            );
        }
        if no_single
            && self.count(&["miss", "tension", "yoh", "yrh", "ss"])
                > self.count(&["skip", "sk", "gauge"])
        {
            return evidence(Terms::Uk, "UK words are used (miss, tension, ss)");
        }
        let origin = if us > 0 { Origin::Evidence } else { Origin::Default };
        (
            Stated { value: Terms::Us, origin, span: Span::default() },
            "nothing on the page speaks for UK terms".into(),
        )
    }

    /// Metric or imperial, by the units on the page.
    pub(super) fn units(&self, lower: &str) -> Stated<UnitSystem> {
        let metric = self.count(&["cm", "mm", "metres", "grams"]);
        let imperial = self.count(&["inches", "inch", "yards", "yds", "oz", "ins"])
            + lower.matches('"').count() as u32;
        let value = if imperial > metric { UnitSystem::Imperial } else { UnitSystem::Metric };
        let origin = if metric + imperial > 0 { Origin::Evidence } else { Origin::Default };
        Stated { value, origin, span: Span::default() }
    }
}

const TERMS: [&str; 8] =
    ["terms", "term", "terminology", "crochet", "abbreviations", "stitch", "stitches", "notation"];
