//! Definitions of the page's own stitches: "Shell: 5 dc in indicated st", "V-st = (dc, ch 1, dc)".

use super::header::CraftWord;
use super::row::RowReader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Height;
use super::syntax::Macro;
use super::syntax::Op;
use super::syntax::Style;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use super::vocabulary::Context;
use super::vocabulary::height_at;
use super::vocabulary::stitch_at;
use crate::source::Span;

/// Designer-defined stitches beyond this many are not looked up (a bound on hostile pages).
const MOST_MACROS: usize = 64;

impl RowReader<'_> {
    /// A definition: "Shell: 5 dc in indicated st", "V-st = (dc, ch 1, dc)".
    pub(super) fn define(&mut self, lower: &str, span: Span) -> bool {
        let t = cut(&lower[span.range()], span.start);
        let ends = |k: &usize| t[*k].kind == Kind::Stop(';');
        let equals = t.iter().filter(|t| t.kind == Kind::Other('=')).count();
        let stops: Vec<usize> = (0..t.len()).filter(ends).collect();
        if equals < 2 || stops.len() + 1 < equals {
            return self.define_one(&t, span);
        }
        // A list on one line: "tr = treble; rtrf = raised treble front".
        let mut any = false;
        for part in t.split(|t| t.kind == Kind::Stop(';')).filter(|part| !part.is_empty()) {
            any |= self.define_one(part, part[0].span.to(part[part.len() - 1].span));
        }
        any
    }

    fn define_one(&mut self, t: &[Token<'_>], span: Span) -> bool {
        let Some(mark) = t.iter().position(|t| {
            matches!(t.kind, Kind::Stop(':') | Kind::Other('='))
                || (t.kind == Kind::Dash && !t.glued)
        }) else {
            return false;
        };
        let mut name: Vec<&str> = Vec::new();
        for token in &t[..mark] {
            match token.kind {
                Kind::Word | Kind::Number(_) => name.push(token.text),
                Kind::Open => break,
                _ => {}
            }
        }
        if name.is_empty()
            || name.len() > 4
            || self.macros.len() >= MOST_MACROS
            || name[0].len() < 2 && name.len() == 1
        {
            return false;
        }
        let (name, alias) = (name.join(" "), bracketed_name(&t[..mark]));
        // "1 box = ch 3 + 3 dc" tells what rows are counted in.
        // An open or closed square of filet is a stitch to make.
        let filet =
            ["open", "closed", "solid", "filled", "empty"].iter().any(|w| name.starts_with(w));
        let told = super::block::names_block(&name) && !filet && !super::block::defines_block(t);
        if told || known_standard(&self.cx, &name) {
            return false;
        }
        let mut read = self.trial(&t[mark + 1..]);
        let stitches = read
            .ops
            .iter()
            .any(|op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_)));
        let own = Context { macros: Vec::new(), ..self.cx.clone() };
        let known = stitch_at(&own, &cut(&name, 0), 0).is_some();
        if let Some(act) = by_hook(&self.cx, t, mark).filter(|_| !known && !stitches) {
            let work = Do::Work { act, each: 1, place: Where::of(Extent::Bare(1)) };
            read.ops = vec![Op { act: work, span }];
        } else if !stitches || read.unread.len() > 2 + read.ops.len() {
            return false;
        } else {
            read = self.read(&t[mark + 1..]);
        }
        let loops = ["bl", "fl", "blo", "flo"].contains(&alias.as_str());
        if !alias.is_empty() && !loops && alias != name && !known_standard(&self.cx, &alias) {
            self.cx.macros.push(alias.clone());
            self.macros.push(Macro { name: alias, ops: read.ops.clone(), span });
        }
        self.cx.macros.push(name.clone());
        self.macros.push(Macro { name, ops: read.ops, span });
        true
    }

    /// The page or the trade has a stitch of this name.
    pub(super) fn names(&self, name: &str) -> bool {
        self.cx.macros.len() >= MOST_MACROS
            || self.cx.macros.iter().any(|m| m == name)
            || known_standard(&self.cx, name)
    }
}

/// "Bean stitch: insert hook in st and pull up a loop, (yo, ...) twice, pull through all loops": a stitch told by
/// what the hook does. Several loops drawn up in one place make a puff; else it is a stitch of the height its
/// name says, or a half double.
fn by_hook(cx: &Context, t: &[Token<'_>], mark: usize) -> Option<Act> {
    let words = &t[mark + 1..];
    let says = |list: &[&str]| words.iter().any(|t| t.any(list));
    let hooked = words.iter().take(8).any(|t| t.any(&["insert", "inserting"]))
        && says(&["pull", "draw"])
        && says(&["through", "thru"]);
    if !hooked || cx.craft == CraftWord::Knit {
        return None;
    }
    if says(&["same"]) && says(&["times", "twice", "again", "repeat", "rep", "more"]) {
        return Some(Act::Puff(3));
    }
    let named = (0..mark).find_map(|k| height_at(cx, t, k));
    Some(Act::Post(named.map_or(Height::HalfDouble, |(height, _)| height), Style::Plain))
}

/// The short name in brackets after a long one: "V-stitch (V-st)".
fn bracketed_name(t: &[Token<'_>]) -> String {
    let Some(open) = t.iter().position(|t| t.kind == Kind::Open) else { return String::new() };
    let words = t[open + 1..].iter().filter(|t| matches!(t.kind, Kind::Word | Kind::Number(_)));
    words.map(|t| t.text).collect::<Vec<_>>().join(" ")
}

/// A name the shipped vocabulary reads already, and a page need not define.
fn known_standard(cx: &Context, name: &str) -> bool {
    let together = name.replace(' ', "");
    let tokens = cut(if together.starts_with("sl1yo") { &together } else { name }, 0);
    let bare = Context { macros: Vec::new(), colours: Vec::new(), ..cx.clone() };
    match stitch_at(&bare, &tokens, 0) {
        Some(found) if tokens[found.len..].iter().all(|t| t.number().is_some()) => {
            use super::syntax::Act;
            !matches!(found.act, Act::Cluster(..) | Act::Puff(_) | Act::Popcorn(..) | Act::Picot(_))
        }
        _ => matches!(
            name,
            "ch" | "st" | "sts" | "sp" | "sk" | "rep" | "yo" | "rs" | "ws" | "chain" | "skip"
        ),
    }
}
