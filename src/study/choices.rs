//! Variants written into one file: `{short: sc | tall: dc}` wherever they differ.

use crate::source::Source;

/// Choices that cannot be told apart.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: `{found}`: expected {{name: words | name: words}}, each name once")]
pub struct Unclear {
    /// Line, from 1.
    pub line: u32,
    /// The words in braces.
    pub found: String,
}

/// A place with choices.
struct Slot<'a> {
    start: usize,
    end: usize,
    choices: Vec<(&'a str, &'a str)>,
}

/// The variants of a text: for every name used in a choice, the text with that choice made in every
/// place that offers it, and the first choice in the others. Empty when the text offers none.
///
/// # Errors
/// [`Unclear`] for braces with a bar whose choices have no names, or the same name twice.
pub fn named_variants(source: &Source) -> Result<Vec<(String, Source)>, Unclear> {
    let text = source.text();
    let slots = slots(source)?;
    let mut names: Vec<&str> = Vec::new();
    for (name, _) in slots.iter().flat_map(|s| &s.choices) {
        if !names.contains(name) {
            names.push(name);
        }
    }
    let variant = |name: &&str| {
        let mut out = String::with_capacity(text.len());
        let mut from = 0;
        for slot in &slots {
            out.push_str(&text[from..slot.start]);
            let own = slot.choices.iter().find(|c| c.0 == *name);
            out.push_str(own.or(slot.choices.first()).map_or("", |c| c.1));
            from = slot.end;
        }
        out.push_str(&text[from..]);
        ((*name).to_owned(), Source::new(format!("{} ({name})", source.name()), out))
    };
    Ok(names.iter().map(variant).collect())
}

fn slots(source: &Source) -> Result<Vec<Slot<'_>>, Unclear> {
    let text = source.text();
    let mut slots = Vec::new();
    let mut from = 0;
    while let Some(open) = text[from..].find('{').map(|i| from + i) {
        let Some(close) = text[open..].find(['}', '\n']).map(|i| open + i) else { break };
        from = close + 1;
        let inside = &text[open + 1..close];
        if !text[close..].starts_with('}') || !inside.contains('|') {
            continue;
        }
        let choices: Option<Vec<(&str, &str)>> = inside
            .split('|')
            .map(|c| c.split_once(':').map(|(name, words)| (name.trim(), words.trim())))
            .collect();
        let named = choices.filter(|list| {
            list.iter()
                .enumerate()
                .all(|(i, c)| !c.0.is_empty() && list[..i].iter().all(|earlier| earlier.0 != c.0))
        });
        let choices = named.ok_or_else(|| Unclear {
            line: source.line_column(open as u32).0 as u32,
            found: text[open..=close].to_owned(),
        })?;
        slots.push(Slot { start: open, end: close + 1, choices });
    }
    Ok(slots)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_choice_is_made_everywhere_it_is_offered() {
        let source = Source::new(
            "p",
            "Row 1: {short: sc | tall: dc} in each st.\nRow 2: {tall: tr|x: hdc}.",
        );
        let texts: Vec<_> = named_variants(&source)
            .unwrap()
            .into_iter()
            .map(|(n, s)| (n, s.text().replace('\n', " ")))
            .collect();
        assert_eq!(texts[0], ("short".into(), "Row 1: sc in each st. Row 2: tr.".into()));
        assert_eq!(texts[1], ("tall".into(), "Row 1: dc in each st. Row 2: tr.".into()));
        assert_eq!(texts[2], ("x".into(), "Row 1: sc in each st. Row 2: hdc.".into()));
    }

    #[test]
    fn braces_without_a_bar_are_left_alone_and_nameless_choices_refused() {
        assert!(named_variants(&Source::new("p", "{ stitches = 22 }")).unwrap().is_empty());
        let fault = named_variants(&Source::new("p", "a\n{sc | dc}")).unwrap_err();
        assert_eq!((fault.line, fault.found.as_str()), (2, "{sc | dc}"));
    }
}
