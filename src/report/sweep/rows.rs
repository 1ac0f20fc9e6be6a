//! Rows of a sweep as lines of CSV.

use std::fmt::Write as _;

use crate::study::sweep::{COLUMNS, Cell, Ending, Figures, Plan};

/// Names of the columns: the row's number, the axes, the results, and how it ended.
pub fn column_names(plan: &Plan) -> String {
    let mut line = String::from("row");
    for axis in plan.axes() {
        line.push(',');
        line.push_str(&field(&axis.key));
    }
    for column in COLUMNS {
        line.push(',');
        line.push_str(column.name);
    }
    line.push_str(",outcome\n");
    line
}

/// The line of a row: `ok` with its results, else `refused` (the house cannot be so) or `failed`.
pub fn row_line(index: u64, cells: &[Cell], ending: &Ending) -> String {
    let mut line = beginning(index, cells);
    push_ending(&mut line, ending);
    line.push('\n');
    line
}

/// The results alone, as they end a line, without the comma before them.
pub fn ending_line(ending: &Ending) -> String {
    let mut line = String::new();
    push_ending(&mut line, ending);
    line.remove(0);
    line
}

/// Number and values.
pub(super) fn beginning(index: u64, cells: &[Cell]) -> String {
    let mut line = format!("{}", index + 1);
    for cell in cells {
        line.push(',');
        line.push_str(&field(&cell.text));
    }
    line
}

fn push_ending(line: &mut String, ending: &Ending) {
    match ending {
        Ending::Done(Figures(values)) => {
            for (value, column) in values.iter().zip(COLUMNS) {
                let _ = write!(line, ",{value:.*}", column.decimals);
            }
            line.push_str(",ok");
        }
        Ending::Refused | Ending::Failed => {
            line.extend(std::iter::repeat_n(',', COLUMNS.len()));
            line.push(',');
            line.push_str(word(ending));
        }
    }
}

/// How a row ended, in a word.
pub(super) fn word(ending: &Ending) -> &'static str {
    match ending {
        Ending::Done(_) => "ok",
        Ending::Refused => "refused",
        Ending::Failed => "failed",
    }
}

/// Reads a line without its end; `None` if it is not the line of that row.
pub(super) fn read(line: &str, index: u64, cells: &[Cell]) -> Option<Ending> {
    let rest = line.strip_prefix(beginning(index, cells).as_str())?;
    let rest = rest.strip_prefix(',')?;
    let parts: Vec<&str> = rest.split(',').collect();
    let (outcome, values) = parts.split_last()?;
    if values.len() != COLUMNS.len() {
        return None;
    }
    let ending = match *outcome {
        "ok" => {
            let mut figures = [0.0; COLUMNS.len()];
            for (figure, text) in figures.iter_mut().zip(values) {
                *figure = text.parse().ok()?;
            }
            Ending::Done(Figures(figures))
        }
        "refused" => Ending::Refused,
        "failed" => Ending::Failed,
        _ => return None,
    };
    // Digits may be missing from a line that was cut and mended by hand.
    (row_line(index, cells, &ending).trim_end() == line).then_some(ending)
}

/// A field, in quotes where it must be (RFC 4180).
fn field(text: &str) -> String {
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
    fn a_line_is_read_back_and_nothing_else_is() {
        let cell = |text: &str| Cell {
            text: text.to_owned(),
            bin: 0,
            way: 0.0,
        };
        let cells = [cell("4"), cell("a, \"b\"")];
        let mut figures = Figures([0.0; COLUMNS.len()]);
        figures.0[0] = 51.25;
        figures.0[11] = -0.5;
        for ending in [Ending::Done(figures), Ending::Refused, Ending::Failed] {
            let line = row_line(6, &cells, &ending);
            let line = line.trim_end();
            assert!(line.starts_with("7,4,\"a, \"\"b\"\"\","), "{line}");
            assert_eq!(read(line, 6, &cells), Some(ending));
            assert_eq!(read(line, 5, &cells), None);
            for end in 1..line.len() {
                assert_eq!(read(&line[..end], 6, &cells), None, "{}", &line[..end]);
            }
        }
    }
}
