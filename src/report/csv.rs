//! Rows, edges and yarn as CSV (RFC 4180: comma, CRLF, quotes doubled).

use crate::predict::Prediction;

/// A table with the name it should be saved under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// `rows`, `edges` or `yarn`.
    pub name: &'static str,
    /// The CSV text; the first line names columns and units.
    pub csv: String,
}

/// Row measures, edge deviations and yarn, in millimetres, degrees and grams.
pub fn tables(prediction: &Prediction) -> Vec<Table> {
    vec![
        Table { name: "rows", csv: rows(prediction) },
        Table { name: "edges", csv: edges(prediction) },
        Table { name: "yarn", csv: yarn(prediction) },
    ]
}

fn rows(prediction: &Prediction) -> String {
    let mut csv = String::from(
        "row,label,width_mm,height_mm,slant_left_deg,slant_right_deg,cumulative_left_deg,cumulative_right_deg\r\n",
    );
    for r in &prediction.measured.rows {
        let [left, right] = r.slant.map(|a| a.to_degrees());
        let [up_left, up_right] = r.cumulative.map(|a| a.to_degrees());
        csv += &format!(
            "{},{},{:.4},{:.4},{left:.4},{right:.4},{up_left:.4},{up_right:.4}\r\n",
            r.row,
            quoted(&r.label),
            r.width.to_mm(),
            r.height.to_mm()
        );
    }
    csv
}

fn edges(prediction: &Prediction) -> String {
    let mut csv = String::from("edge,row,along_mm,off_mm\r\n");
    for (name, edge) in ["left", "right"].iter().zip(&prediction.measured.edges) {
        for p in &edge.curve {
            csv += &format!("{name},{},{:.4},{:.4}\r\n", p.row, p.along, p.off);
        }
    }
    csv
}

fn yarn(prediction: &Prediction) -> String {
    let mut csv = String::from("colour,length_m,mass_g\r\n");
    for used in &prediction.measured.yarn {
        let mass = used.mass.map(|m| format!("{:.3}", m.to_grams())).unwrap_or_default();
        csv += &format!("{},{:.4},{mass}\r\n", quoted(&used.colour), used.length.to_m());
    }
    csv
}

/// A field with commas, quotes or breaks in it is quoted. A field that a spreadsheet would take for a
/// formula is set apart by a leading apostrophe, because labels come from pasted text.
pub(super) fn quoted(field: &str) -> String {
    let field = if field.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{field}")
    } else {
        field.to_owned()
    };
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field
    }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn fields_from_pasted_text_stay_fields() {
        assert_eq!(quoted("Wrap, row 7"), "\"Wrap, row 7\"");
        assert_eq!(quoted("the \"lace\""), "\"the \"\"lace\"\"\"");
        assert_eq!(quoted("=1+1"), "'=1+1");
    }
}
