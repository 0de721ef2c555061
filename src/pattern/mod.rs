//! Reading a written pattern: from text to a syntax tree with spans and diagnostics.
//!
//! Reading never fails: what instructs nothing becomes a remark with its place kept, what is wrong
//! becomes a diagnostic, and the tree holds the rest.

mod again;
mod bands;
mod block;
mod border_sides;
mod border_told;
mod called;
mod chain;
mod chart;
mod clauses;
mod colour;
mod colour_changes;
mod copied;
mod count;
mod define;
mod dialect;
mod each_time;
mod edging;
mod ending;
mod evenly;
mod fabric;
mod facts;
mod fault;
mod front;
mod header;
mod heading;
mod joins;
mod kept;
mod keyword;
mod labels;
mod last_pass;
mod lines;
mod loose_facts;
mod mended;
mod noun;
mod omission;
mod opening;
mod own_sentence;
mod own_shaping;
mod page;
mod part_edge;
mod parts;
mod passing;
mod picking;
mod place;
mod plainer;
mod quantity;
mod reader;
mod readings;
mod repeat;
mod row;
mod row_colours;
mod rows_after;
mod rows_named;
mod rules;
mod section;
mod shaping;
mod short_row;
mod sizes;
mod slips_across;
mod special;
mod stitch_pattern;
mod stretch;
mod stripes;
mod syntax;
mod tags;
mod token;
mod until;
mod vocabulary;
mod whole;
mod words;
mod worked_into;
mod yarn_after;

pub use header::{
    CraftWord, Gauge, GaugeState, Header, Maker, Origin, PlannedSize, ReadingChoices, Stated,
    Terms, Yarn,
};
pub use syntax::{
    Act, Again, AgainRows, Content, CountNote, Counts, Do, Edge, Evenly, Extent, Fabric, Heading,
    Height, Item, LeftOut, Loop, Macro, Noun, Numbers, Op, Part, Pattern, Reach, Repeat, Row,
    RowColour, Rules, Shaped, Stripes, Style, Target, Times, TurningRule, Until, Where,
};

use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::source::Source;
use crate::source::Span;
use fault::fault;

/// Longest text that is read, bytes. A pattern of 5000 rows is about 1 MB; more is no pattern.
pub const LONGEST: usize = 12 << 20;

/// Reads a pattern. The tree holds all that could be read; the diagnostics say what could not.
pub fn parse(source: &Source) -> (Pattern, Vec<Diagnostic>) {
    let text = source.text();
    if text.len() > LONGEST {
        let found = format!("{} bytes", text.len());
        let too_long = fault("text-too-long", Severity::Error, Span::new(0, 1))
            .says("the text is too long to be a pattern")
            .expects(&format!("at most {LONGEST} bytes"), &found, "keep one pattern to a file");
        return (Pattern::default(), vec![too_long.done()]);
    }
    let mut diagnostics = Vec::new();
    let lower = plainer::plainer(words::without_debris(text.to_ascii_lowercase()));
    let mut header = front::read(text, &mut diagnostics);
    let start = header.body_start;
    let lower = lines::joined(text, lower, start);
    let evidence = dialect::Evidence::gather(&lower, start);
    if header.craft.origin == Origin::Default {
        header.craft = evidence.craft();
    }
    if header.terms.origin == Origin::Default {
        (header.terms, header.terms_why) = evidence.terms();
    }
    if header.units.origin == Origin::Default {
        header.units = evidence.units(&lower[start as usize..]);
    }
    let mut rows = row::RowReader {
        text,
        size: header.size as usize,
        cx: vocabulary::Context {
            craft: header.craft.value,
            terms: header.terms.value,
            macros: Vec::new(),
            colours: header.yarns.iter().map(|y| y.name.to_ascii_lowercase()).collect(),
            called: Vec::new(),
            misses: false,
            inc: None,
            dec: None,
        },
        colours: Vec::new(),
        macros: Vec::new(),
        rules: Rules::default(),
        forms: Vec::new(),
        then: None,
        on_chain: false,
        too_deep: Vec::new(),
        starred_row: None,
        sections: Vec::new(),
        stripe_words: Vec::new(),
        changes: Vec::new(),
    };
    let words = token::cut(&lower[start as usize..], start);
    rows.cx.colours.extend(colour::names_in_use(&words, text));
    if header.craft.value == CraftWord::Crochet {
        rows.cx.colours.extend(colour::letters_in_use(&words, text));
    }
    rows.learn_in_passing(&words);
    rows.learn_shaping(&words);
    let yarns: Vec<String> = header.yarns.iter().map(|y| y.name.clone()).collect();
    rows.learn_stripes(&words, &yarns);
    rows.learn_row_colours(&words);
    let names = called::calls(&lower[start as usize..]);
    if !names.is_empty() {
        let (items, ..) = page::Page::new(&lower, text, rows.clone()).read(start);
        rows.cx.called = called::gather(&items, &names, &lower);
    }
    let (mut items, facts, rows) = page::Page::new(&lower, text, rows).read(start);
    called::set_aside(&mut items, &rows.cx.called);
    stitch_pattern::moved(&mut items, &lower);
    let aside: Vec<_> = rows.cx.called.iter().map(|c| c.span).collect();
    facts::read(&mut header, text, &lower, &facts, &rows.cx);
    loose_facts::read(&mut header, &lower, &items, &rows.cx);
    for &span in rows.too_deep.iter().take(1) {
        diagnostics.push(fault::nested(span));
    }
    let mut rules = Rules { tops: whole::works_on_turning(&items), ..rows.rules };
    row_colours::number_the_last(&mut rules.row_colours, &items);
    let pattern = Pattern { header, items, macros: rows.macros, rules, colours: rows.colours };
    fault::unread(&pattern, text, &mut diagnostics);
    fault::unread_repeats(&pattern, &lower, &mut diagnostics);
    fault::empty(&pattern, text, &mut diagnostics);
    fault::yarns(&pattern, text, &mut diagnostics);
    whole::judge(&pattern, text, &lower, &facts, &aside, &mut diagnostics);
    (pattern, diagnostics)
}
