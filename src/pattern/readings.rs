//! The `[readings]` table of the front matter: ambiguous words settled by the user.

use super::front::Front;
use super::front::Value;

/// Every choice: its key, the word that means yes, the word that means no.
const CHOICES: [(&str, &str, &str); 5] = [
    ("turning-chain", "counts", "beside"),
    ("repeats", "in all", "more"),
    ("chains", "stitches", "spaces"),
    ("numbers", "together", "one each"),
    ("endings", "within", "after"),
];

impl Front<'_> {
    /// Reads the table.
    pub(super) fn readings(&mut self, value: &Value<'_>) {
        let Some(table) = value.get_ref().as_table() else {
            return self.bad(
                value,
                "a table of readings",
                "write [readings] and lines such as turning-chain = \"counts\" below",
            );
        };
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            let Some(&(_, yes, no)) = CHOICES.iter().find(|c| c.0 == name) else {
                self.unknown(name, key.span(), &CHOICES.map(|c| c.0));
                continue;
            };
            let said = value.get_ref().as_str().unwrap_or_default();
            if said != yes && said != no {
                let expected = format!("`{yes}` or `{no}`");
                let fit = format!("write {name} = \"{yes}\" or {name} = \"{no}\"");
                self.bad(value, &expected, &fit);
                continue;
            }
            let chosen = Some(said == yes);
            let readings = &mut self.header.readings;
            match name {
                "turning-chain" => readings.turning_counts = chosen,
                "repeats" => readings.repeats_in_all = chosen,
                "chains" => readings.links_are_stitches = chosen,
                "numbers" => readings.numbers_together = chosen,
                _ => readings.endings_within = chosen,
            }
        }
    }
}
