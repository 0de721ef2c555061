//! Front matter: TOML between `+++` lines, every key and value with its place.

use super::facts;
use super::fault::fault;
use super::header::CraftWord;
use super::header::Gauge;
use super::header::GaugeState;
use super::header::Header;
use super::header::Origin;
use super::header::Stated;
use super::header::Terms;
use super::header::Yarn;
use super::quantity::quantities;
use super::vocabulary::Context;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::source::Span;
use crate::units::Angle;
use crate::units::Length;
use crate::units::Mass;
use crate::units::UnitSystem;
use std::ops::Range;
use toml::Spanned;
use toml::de::DeTable;
use toml::de::DeValue;

pub(super) type Value<'a> = Spanned<DeValue<'a>>;

/// Keys of the front matter.
const KEYS: [&str; 15] = [
    "title", "craft", "terms", "units", "gauge", "tension", "planned", "yarn", "hook", "needle",
    "blocking", "maker", "size", "presets", "readings",
];

pub(super) struct Front<'d> {
    base: u32,
    out: &'d mut Vec<Diagnostic>,
    pub(super) header: Header,
}

/// Reads the front matter at the start of `text`, if there is one.
pub(super) fn read(text: &str, out: &mut Vec<Diagnostic>) -> Header {
    let skip = text.len() - text.trim_start_matches(['\u{feff}', '\n', '\r', ' ']).len();
    let Some(rest) = text[skip..].strip_prefix("+++") else { return Header::default() };
    let open = skip + 3 + rest.find('\n').map_or(rest.len(), |n| n + 1);
    let Some(close) = closing(text, open) else {
        let span = Span::new(skip as u32, skip as u32 + 3);
        out.push(
            fault("front-matter", Severity::Error, span)
                .says("the front matter is not closed")
                .expects("a second line `+++`", "none", "put a line `+++` after the last key")
                .row("front matter")
                .done(),
        );
        return Header::default();
    };
    let body = &text[open..close];
    let mut front = Front { base: open as u32, out, header: Header::default() };
    match DeTable::parse(body) {
        Ok(table) => front.table(table.get_ref()),
        Err(error) => front.broken(&error),
    }
    let mut header = front.header;
    let end = text[close..].find('\n').map_or(text.len(), |n| close + n + 1);
    header.body_start = end as u32;
    header
}

fn closing(text: &str, open: usize) -> Option<usize> {
    let mut at = open;
    while at <= text.len() {
        if text[at..].starts_with("+++") {
            return Some(at);
        }
        at += text[at..].find('\n')? + 1;
    }
    None
}

impl Front<'_> {
    fn span(&self, range: Range<usize>) -> Span {
        Span::new(self.base + range.start as u32, self.base + range.end as u32)
    }

    fn say(&mut self, code: &'static str, range: Range<usize>, message: &str, said: [&str; 3]) {
        let span = self.span(range);
        let severity = Severity::Error;
        self.out.push(
            fault(code, severity, span)
                .says(message)
                .expects(said[0], said[1], said[2])
                .row("front matter")
                .done(),
        );
    }

    fn broken(&mut self, error: &toml::de::Error) {
        let range = error.span().unwrap_or(0..1);
        let range = range.start..range.end.max(range.start + 1);
        let message = error.message().lines().next().unwrap_or("not TOML").to_owned();
        self.say(
            "front-matter",
            range,
            "the front matter is not TOML",
            [
                "keys and values such as `title = \"Wrap\"`",
                &message,
                "correct the line, or take the front matter out",
            ],
        );
    }

    pub(super) fn unknown(&mut self, key: &str, range: Range<usize>, keys: &[&str]) {
        let near = keys
            .iter()
            .max_by(|a, b| strsim::jaro_winkler(key, a).total_cmp(&strsim::jaro_winkler(key, b)));
        let fit = near
            .filter(|k| strsim::jaro_winkler(key, k) > 0.75)
            .map_or_else(|| "take the key out".to_owned(), |k| format!("did you mean `{k}`?"));
        self.say(
            "unknown-key",
            range,
            &format!("`{key}` is no key of the front matter"),
            [&format!("one of {}", keys.join(", ")), &format!("`{key}`"), &fit],
        );
    }

    pub(super) fn bad(&mut self, value: &Value<'_>, expected: &str, fit: &str) {
        let found = format!("a {} that does not read so", value.get_ref().type_str());
        self.say(
            "bad-value",
            value.span(),
            &format!("expected {expected}"),
            [expected, &found, fit],
        );
    }

    fn stated<T>(&self, value: T, at: &Value<'_>) -> Stated<T> {
        Stated { value, origin: Origin::FrontMatter, span: self.span(at.span()) }
    }

    fn table(&mut self, table: &DeTable<'_>) {
        let context = self.context(table);
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "title" => {
                    if let Some(title) = self.text(value) {
                        self.header.title = Some(self.stated(title, value));
                    }
                }
                "craft" | "terms" | "units" => self.choice(key.get_ref().as_ref(), value),
                "gauge" | "tension" => self.gauges(value, &context),
                "planned" => self.planned(value),
                "yarn" => self.yarns(value),
                "hook" | "needle" => {
                    if let Some(size) = self.length(value, Some(Length::mm)) {
                        self.header.tool = Some(self.stated(size, value));
                    }
                }
                "blocking" => {
                    if let Some(words) = self.text(value) {
                        self.header.blocking = Some(self.stated(words, value));
                    }
                }
                "maker" => self.maker(value),
                "size" => self.size(value),
                "presets" => self.presets("", value),
                "readings" => self.readings(value),
                other => self.unknown(other, key.span(), &KEYS),
            }
        }
    }

    /// Values in the place of presets; keys may be dotted, quoted or grouped in tables.
    fn presets(&mut self, prefix: &str, value: &Value<'_>) {
        let Some(table) = value.get_ref().as_table() else {
            if prefix.is_empty() {
                return self.bad(
                    value,
                    "a table of presets",
                    "write [presets] and lines such as \"selvage.lean\" = 0 below",
                );
            }
            if let Some(number) = self.number(value) {
                self.header.presets.push((prefix.to_owned(), number));
            }
            return;
        };
        for (key, value) in table {
            let key = key.get_ref();
            let name = if prefix.is_empty() { key.to_string() } else { format!("{prefix}.{key}") };
            self.presets(&name, value);
        }
    }

    /// Which column of the sizes a page prints as `60 (72, 84)`, from 1.
    fn size(&mut self, value: &Value<'_>) {
        let number = value.get_ref().as_integer().and_then(|n| n.as_str().parse::<u32>().ok());
        match number.filter(|n| (1..=40).contains(n)) {
            Some(n) => self.header.size = n - 1,
            None => self.bad(
                value,
                "the number of a size, from 1",
                "write size = 2 for the second size",
            ),
        }
    }

    /// Craft and terms first: gauge names depend on them.
    fn context(&self, table: &DeTable<'_>) -> Context {
        let is = |key: &str, word: &str| {
            table.iter().any(|(k, v)| {
                k.get_ref().as_ref() == key
                    && v.get_ref().as_str().is_some_and(|s| s.eq_ignore_ascii_case(word))
            })
        };
        Context {
            craft: if is("craft", "knit") { CraftWord::Knit } else { CraftWord::Crochet },
            terms: if is("terms", "uk") { Terms::Uk } else { Terms::Us },
            ..Context::default()
        }
    }

    fn choice(&mut self, key: &str, value: &Value<'_>) {
        let word = value.get_ref().as_str().unwrap_or("").to_ascii_lowercase();
        match (key, word.as_str()) {
            ("craft", "crochet") => self.header.craft = self.stated(CraftWord::Crochet, value),
            ("craft", "knit" | "knitting") => {
                self.header.craft = self.stated(CraftWord::Knit, value)
            }
            ("terms", "us") => self.header.terms = self.stated(Terms::Us, value),
            ("terms", "uk") => self.header.terms = self.stated(Terms::Uk, value),
            ("units", "metric" | "cm") => {
                self.header.units = self.stated(UnitSystem::Metric, value)
            }
            ("units", "imperial" | "in" | "inches") => {
                self.header.units = self.stated(UnitSystem::Imperial, value)
            }
            ("craft", _) => self.bad(
                value,
                "`crochet` or `knit`",
                "write craft = \"crochet\" or craft = \"knit\"",
            ),
            ("terms", _) => {
                self.bad(value, "`US` or `UK`", "write terms = \"US\" or terms = \"UK\"")
            }
            _ => self.bad(
                value,
                "`metric` or `imperial`",
                "write units = \"metric\" or units = \"imperial\"",
            ),
        }
        if key == "terms" {
            self.header.terms_why = "stated in the front matter".into();
        }
    }

    fn text(&mut self, value: &Value<'_>) -> Option<String> {
        let text = value.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.bad(value, "words in quotes", "put the words in quotes");
        }
        text
    }

    fn number(&mut self, value: &Value<'_>) -> Option<f64> {
        let number = plain_number(value.get_ref());
        if number.is_none() {
            self.bad(value, "a number", "write a number without quotes");
        }
        number
    }

    fn above_zero(&mut self, value: &Value<'_>) -> Option<f64> {
        let number = self.number(value)?;
        if number <= 0.0 {
            self.bad(value, "a number above zero", "count a swatch, or take the key out");
            return None;
        }
        Some(number)
    }

    /// A length with its unit; a bare number only where `bare` gives it one.
    fn length(&mut self, value: &Value<'_>, bare: Option<fn(f64) -> Length>) -> Option<Length> {
        if let (Some(n), Some(unit)) = (plain_number(value.get_ref()), bare) {
            return Some(unit(n));
        }
        let length = value
            .get_ref()
            .as_str()
            .and_then(|s| quantities(&s.to_ascii_lowercase()).first().and_then(|q| q.length()));
        if length.is_none() {
            self.bad(
                value,
                "a length with its unit",
                "write a number and a unit, such as \"30 cm\" or \"12 in\"",
            );
        }
        length.filter(|l| {
            l.to_mm() > 0.0 || {
                self.bad(value, "a length above zero", "write a length above zero");
                false
            }
        })
    }

    fn gauges(&mut self, value: &Value<'_>, cx: &Context) {
        match value.get_ref() {
            DeValue::Array(all) => {
                for one in all.iter() {
                    self.gauge(one, cx);
                }
            }
            _ => self.gauge(value, cx),
        }
    }

    fn gauge(&mut self, value: &Value<'_>, cx: &Context) {
        let span = self.span(value.span());
        let gauge = match value.get_ref() {
            DeValue::String(words) => {
                facts::gauge(&words.to_ascii_lowercase(), span, Origin::FrontMatter, cx)
            }
            DeValue::Table(table) => self.gauge_table(table, span),
            _ => None,
        };
        match gauge {
            Some(g) if g.stitches.is_some() || g.rows.is_some() => self.header.gauges.push(g),
            _ => self.bad(
                value,
                "a gauge such as \"16 sts and 20 rows = 10 cm in dc\", above zero",
                "give stitches, rows and a length, all above zero",
            ),
        }
    }

    fn gauge_table(&mut self, table: &DeTable<'_>, span: Span) -> Option<Gauge> {
        const GAUGE: [&str; 6] = ["stitches", "rows", "over", "rows_over", "in", "state"];
        let mut gauge = Gauge {
            stitches: None,
            stitches_over: Length::cm(10.0),
            rows: None,
            rows_over: Length::cm(10.0),
            within: "pattern".into(),
            unit: "sts".into(),
            state: GaugeState::Washed,
            state_stated: false,
            origin: Origin::FrontMatter,
            span,
        };
        let mut rows_over = None;
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "stitches" => gauge.stitches = self.above_zero(value),
                "rows" => gauge.rows = self.above_zero(value),
                "over" => gauge.stitches_over = self.length(value, None)?,
                "rows_over" => rows_over = self.length(value, None),
                "in" => gauge.within = self.text(value)?,
                "state" => {
                    let words = self.text(value)?.to_ascii_lowercase();
                    match words.as_str() {
                        "worked" | "as worked" => gauge.state = GaugeState::Worked,
                        "washed" => gauge.state = GaugeState::Washed,
                        "blocked" => gauge.state = GaugeState::Blocked,
                        _ => self.bad(
                            value,
                            "`worked`, `washed` or `blocked`",
                            "say which state the swatch was measured in",
                        ),
                    }
                    gauge.state_stated = true;
                }
                other => self.unknown(other, key.span(), &GAUGE),
            }
        }
        gauge.rows_over = rows_over.unwrap_or(gauge.stitches_over);
        Some(gauge)
    }

    fn planned(&mut self, value: &Value<'_>) {
        let span = self.span(value.span());
        match value.get_ref() {
            DeValue::String(words) => {
                facts::size_line(&mut self.header.planned, &words.to_ascii_lowercase(), span);
                let p = &self.header.planned;
                if p.square_to_edge.is_none() && p.along_edge.is_none() {
                    self.bad(value, "a size with its unit, such as \"12 x 60 in\"", "add the unit");
                }
            }
            DeValue::Table(table) => {
                for (key, value) in table {
                    self.planned_key(&key.get_ref().replace('_', "-"), key.span(), value);
                }
                self.agree(value.span());
            }
            _ => self.bad(value, "a size or a table of sizes", "write planned = \"12 x 60 in\""),
        }
    }

    /// One measurement of the plan.
    fn planned_key(&mut self, name: &str, range: Range<usize>, value: &Value<'_>) {
        const PLANNED: [&str; 4] = ["along-row", "square-to-edge", "along-edge", "slant"];
        match name {
            "along-row" | "along-rows" => {
                self.header.planned.along_row =
                    self.length(value, None).map(|v| self.stated(v, value))
            }
            "square-to-edge" | "square-to-edges" => {
                self.header.planned.square_to_edge =
                    self.length(value, None).map(|v| self.stated(v, value))
            }
            "along-edge" | "along-edges" => {
                self.header.planned.along_edge =
                    self.length(value, None).map(|v| self.stated(v, value))
            }
            "slant" => {
                let degrees = plain_number(value.get_ref()).or_else(|| {
                    value.get_ref().as_str().and_then(|s| {
                        quantities(s).first().map(|q| {
                            if s.trim_start().starts_with('-') { -q.value } else { q.value }
                        })
                    })
                });
                match degrees.filter(|d| d.abs() < 89.0) {
                    Some(d) => {
                        self.header.planned.slant = Some(self.stated(Angle::degrees(d), value))
                    }
                    None => {
                        self.bad(value, "a slant in degrees between -89 and 89", "write slant = 45")
                    }
                }
            }
            other => self.unknown(other, range, &PLANNED),
        }
    }

    /// Along the row, square to the edges and the slant fix one another:
    /// square-to-edge = along-row x cos(slant).
    fn agree(&mut self, range: Range<usize>) {
        let p = &self.header.planned;
        let (Some(row), Some(square), Some(slant)) = (&p.along_row, &p.square_to_edge, &p.slant)
        else {
            return;
        };
        let fits = row.value.to_mm() * libm::cos(slant.value.to_radians());
        let stated = square.value.to_mm();
        if (fits - stated).abs() <= 0.02 * fits.abs().max(1.0) {
            return;
        }
        let expected = format!(
            "{fits:.0} mm square to the edges ({:.0} mm along the row at {:.1} degrees)",
            row.value.to_mm(),
            slant.value.to_degrees()
        );
        let found = format!("{stated:.0} mm");
        self.say(
            "planned-disagrees",
            range,
            "the planned sizes contradict one another",
            [&expected, &found, "take one of the three out, or correct it"],
        );
    }

    fn yarns(&mut self, value: &Value<'_>) {
        match value.get_ref() {
            DeValue::Array(all) => {
                for one in all.iter() {
                    self.yarn(one);
                }
            }
            _ => self.yarn(value),
        }
    }

    fn yarn(&mut self, value: &Value<'_>) {
        const YARN: [&str; 10] = [
            "name", "letter", "colour", "per_100g", "ball", "weight", "fibre", "balls", "grams",
            "display",
        ];
        let mut yarn =
            Yarn { origin: Origin::FrontMatter, span: self.span(value.span()), ..Yarn::default() };
        let Some(table) = value.get_ref().as_table() else {
            return self.bad(
                value,
                "a table of the yarn's facts",
                "write [[yarn]] and its keys below",
            );
        };
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "name" | "letter" => yarn.name = self.text(value).unwrap_or_default(),
                "colour" | "color" => yarn.colour = self.text(value),
                "per_100g" => {
                    yarn.ball_length = self.length(value, Some(Length::m));
                    yarn.ball_mass = Some(Mass::grams(100.0));
                }
                "ball" => self.ball(&mut yarn, value),
                "weight" => yarn.weight = self.text(value),
                "fibre" | "fiber" => yarn.fibre = self.text(value),
                "balls" => yarn.balls = self.number(value).filter(|&n| n >= 0.0),
                "grams" => yarn.at_hand = self.number(value).filter(|&n| n >= 0.0).map(Mass::grams),
                "display" => {
                    yarn.display = value.get_ref().as_str().and_then(hex_colour);
                    if yarn.display.is_none() {
                        self.bad(
                            value,
                            "a colour such as \"#8a3b2e\"",
                            "write six hexadecimal digits after `#`",
                        );
                    }
                }
                other => self.unknown(other, key.span(), &YARN),
            }
        }
        self.header.yarns.push(yarn);
    }

    /// "50 g / 200 m".
    fn ball(&mut self, yarn: &mut Yarn, value: &Value<'_>) {
        let found = quantities(&value.get_ref().as_str().unwrap_or("").to_ascii_lowercase());
        yarn.ball_mass = found.iter().find_map(super::quantity::Quantity::mass);
        yarn.ball_length = found.iter().find_map(super::quantity::Quantity::length);
        if yarn.ball_mass.is_none() && yarn.ball_length.is_none() {
            self.bad(
                value,
                "the ball's weight and length, such as \"50 g / 200 m\"",
                "give both, or the one that is known, with the unit",
            );
        }
    }

    fn maker(&mut self, value: &Value<'_>) {
        const MAKER: [&str; 4] = ["hand", "drift", "noise", "seed"];
        let Some(table) = value.get_ref().as_table() else {
            return self.bad(
                value,
                "a table with hand, drift, noise and seed",
                "write [maker] and its keys below",
            );
        };
        for (key, value) in table {
            let number =
                if MAKER.contains(&key.get_ref().as_ref()) { self.number(value) } else { None };
            let sane = |least: f64, most: f64| number.filter(|n| (least..=most).contains(n));
            let kept = match key.get_ref().as_ref() {
                "hand" => {
                    self.header.maker.hand = sane(0.5, 2.0);
                    self.header.maker.hand.is_some()
                }
                "drift" => {
                    self.header.maker.drift = sane(-0.5, 0.5);
                    self.header.maker.drift.is_some()
                }
                "noise" => {
                    self.header.maker.noise = sane(0.0, 0.3);
                    self.header.maker.noise.is_some()
                }
                "seed" => {
                    self.header.maker.seed = sane(0.0, 9.0e15).map(|n| n as u64);
                    self.header.maker.seed.is_some()
                }
                other => {
                    self.unknown(other, key.span(), &MAKER);
                    true
                }
            };
            if !kept && number.is_some() {
                self.bad(
                    value,
                    "hand 0.5 to 2, drift -0.5 to 0.5, noise 0 to 0.3, seed a whole number",
                    "choose a value within these bounds",
                );
            }
        }
    }
}

fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|n| n as f64),
        DeValue::Float(n) => n.as_str().parse().ok(),
        _ => None,
    }
    .filter(|n: &f64| n.is_finite())
}

fn hex_colour(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#').filter(|d| d.len() == 6 && d.is_ascii())?;
    let part = |k: usize| u8::from_str_radix(&digits[k..k + 2], 16).ok();
    Some([part(0)?, part(2)?, part(4)?])
}
