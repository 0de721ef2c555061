//! What changes each time rows are worked again: "one more block in every row", "cont to dec in this way".

use super::again::GROUPS;
use super::token::Token;

/// "one more block in every row", "1 st fewer before and after the decrease": the change each time.
pub(super) fn step(t: &[Token<'_>]) -> i32 {
    let each = t.iter().any(|t| t.any(&["every", "each"]));
    let adds = t.windows(2).any(|w| {
        w[0].any(&["adding", "increasing", "add"])
            && w[1].any(&["a", "an", "one", "another", "by"]) | (w[1].number() == Some(1))
    });
    let change = t.windows(3).find_map(|w| {
        let n = |t: &Token<'_>| t.number().or_else(|| super::reader::number_word(t.text));
        if w[1].any(&["more", "additional"]) && !w[2].any(&["time", "times", "row", "rows"]) {
            n(&w[0]).map(|n| n.min(99) as i32)
        } else if w[2].any(&["fewer", "less"]) {
            n(&w[0]).map(|n| -(n.min(99) as i32))
        } else {
            None
        }
    });
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    if has(&["increasing"]) && has(&["way", "manner", "fashion"]) && has(&GROUPS) {
        // "Continue increasing in this way until you have 10 blocks"
        return 1;
    }
    let set = if decreasing(t) { -1 } else { 0 };
    change.or(adds.then_some(1)).filter(|_| each).unwrap_or(set)
}

/// "Cont to dec 4 sts every RS row in this way": long runs are one stitch shorter each time.
pub(super) fn decreasing(t: &[Token<'_>]) -> bool {
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    has(&["dec", "decrease", "decreasing"]) && has(&["way", "manner", "set", "established"])
}
