//! Tables and paragraphs that fit 80 columns.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

/// Space at which no line is broken.
const NO_BREAK: char = '\u{a0}';

/// A quantity whose unit stays on the line of its number.
pub(super) fn unbroken(quantity: &str) -> String {
    quantity.replace(' ', &NO_BREAK.to_string())
}

/// Words whose numbers stay on the line of what follows them, such as their units.
pub(super) fn held(words: &str) -> String {
    let mut held = String::with_capacity(words.len());
    for word in words.split_inclusive(' ') {
        match word.strip_suffix(' ') {
            Some(number) if number.ends_with(|c: char| c.is_ascii_digit()) => {
                held.push_str(number);
                held.push(NO_BREAK);
            }
            _ => held.push_str(word),
        }
    }
    held
}

/// Widest line of any text, characters.
pub(super) const WIDTH: usize = 80;

/// Longest word of a table's first column that is never broken.
const LONGEST_WORD: usize = 30;

/// A table without frame whose first column is text and whose others are numbers.
pub(super) fn table(header: &[String], rows: &[Vec<String>]) -> String {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(WIDTH - 2).unwrap_or(78));
    if !header.is_empty() {
        table.set_header(header);
    }
    for row in rows {
        table.add_row(row);
    }
    let last = table.column_count().saturating_sub(1);
    for (index, column) in table.column_iter_mut().enumerate() {
        // What stands behind the last column would be taken from the first.
        column.set_padding((0, if index == last { 0 } else { 2 }));
        if index > 0 {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    // Names of keys are one word each and stay whole.
    let longest = rows.iter().filter_map(|row| row.first());
    let longest = longest.flat_map(|cell| cell.split_ascii_whitespace());
    let longest = longest.map(|word| word.chars().count()).max().unwrap_or(0);
    if let Some(first) = table.column_mut(0)
        && longest <= LONGEST_WORD
    {
        let width = Width::Fixed(u16::try_from(longest + 2).unwrap_or(0));
        first.set_constraint(ColumnConstraint::LowerBoundary(width));
    }
    let mut text = String::new();
    let lines: Vec<String> = table
        .lines()
        .map(|line| line.trim_end().to_owned())
        .collect();
    let head = header
        .iter()
        .map(|cell| cell.lines().count())
        .max()
        .unwrap_or(0);
    let widest = lines
        .iter()
        .map(|line| line.chars().count())
        .max()
        .unwrap_or(0);
    for (index, line) in lines.iter().enumerate() {
        text.push_str("  ");
        text.push_str(line);
        text.push('\n');
        if head > 0 && index + 1 == head {
            text.push_str("  ");
            text.push_str(&"─".repeat(widest));
            text.push('\n');
        }
    }
    text
}

/// A paragraph broken at spaces, each line indented; `first` stands in front of the first line in
/// place of the indent.
pub(super) fn paragraph(first: &str, indent: usize, text: &str) -> String {
    let margin = " ".repeat(indent);
    let mut out = String::new();
    let mut line = if first.is_empty() {
        margin.clone()
    } else {
        format!("{first:<indent$}")
    };
    let mut empty = true;
    // A no-break space holds a number and its unit together.
    for word in text.split_ascii_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            out.push_str(line.trim_end());
            out.push('\n');
            line.clone_from(&margin);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out.replace(NO_BREAK, " ")
}

/// A heading with an empty line before it.
pub(super) fn heading(text: &str) -> String {
    format!("\n{text}\n")
}

/// A field of CSV, quoted if it must be.
pub(super) fn csv_field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_break_before_the_edge() {
        let text = paragraph("- ", 2, &"word ".repeat(40));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH));
        assert!(text.starts_with("- word") && text.lines().nth(1).unwrap().starts_with("  word"));
    }

    #[test]
    fn names_of_keys_are_not_broken() {
        let header = ["", "before", "now", "from", "to", "doubt left"].map(str::to_owned);
        let rows: Vec<Vec<String>> = ["attic.gable_absorptance", "openings.soffit.net_area"]
            .iter()
            .map(|key| {
                let mut row = vec![(*key).to_owned()];
                row.extend(
                    [
                        "0.0929 m2 or more",
                        "0.0947 m2",
                        "0.0549 m2",
                        "0.163 m2",
                        "94 %",
                    ]
                    .map(str::to_owned),
                );
                row
            })
            .collect();
        let text = table(&header, &rows);
        assert!(
            text.contains("attic.gable_absorptance") && text.contains("openings.soffit.net_area"),
            "{text}"
        );
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
    }

    #[test]
    fn a_number_holds_its_unit() {
        assert_eq!(held("from 2.1 °F up to 3"), "from 2.1\u{a0}°F up to 3");
    }

    #[test]
    fn a_table_has_a_rule_under_its_header() {
        let header = ["design".to_owned(), "attic air\nhighest".to_owned()];
        let rows = [vec!["fans".to_owned(), "120.1".to_owned()]];
        assert_eq!(
            table(&header, &rows),
            "  design  attic air\n            highest\n  ─────────────────\n  fans        120.1\n"
        );
    }
}
