//! Reads the reference tables in `tests/data`: CSV with '#' comment lines above the column names.

use std::collections::HashMap;

/// A reference table.
pub(crate) struct Table {
    name: String,
    columns: HashMap<String, usize>,
    rows: Vec<Vec<String>>,
}

/// Reads `tests/data/<name>`; panics if it is missing, malformed or has no rows.
pub(crate) fn read(name: &str) -> Table {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(&path)
        .unwrap_or_else(|e| panic!("{path}: {e}"));
    let header = reader.headers().unwrap_or_else(|e| panic!("{path}: {e}"));
    let columns = header
        .iter()
        .enumerate()
        .map(|(i, c)| (c.trim().to_owned(), i))
        .collect();
    let rows: Vec<Vec<String>> = reader
        .records()
        .map(|record| {
            let record = record.unwrap_or_else(|e| panic!("{path}: {e}"));
            record.iter().map(|cell| cell.trim().to_owned()).collect()
        })
        .collect();
    assert!(!rows.is_empty(), "{path} has no rows");
    Table {
        name: name.to_owned(),
        columns,
        rows,
    }
}

impl Table {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The text of a cell; panics if there is no such row or column.
    pub(crate) fn text(&self, row: usize, column: &str) -> &str {
        let index = self
            .columns
            .get(column)
            .unwrap_or_else(|| panic!("{} has no column {column}", self.name));
        &self.rows[row][*index]
    }

    /// The number in a cell, which may be `nan`; panics if it is not a number.
    pub(crate) fn f64(&self, row: usize, column: &str) -> f64 {
        let text = self.text(row, column);
        text.parse()
            .unwrap_or_else(|_| panic!("{} row {row} column {column}: {text:?}", self.name))
    }
}

#[test]
fn a_table_is_read_past_its_comments() {
    let table = read("c2_erbs.csv");
    assert_eq!(table.len(), 400);
    assert!((table.f64(0, "zenith_deg") - 82.4652).abs() < 1e-12);
    assert_eq!(table.text(1, "day_of_year"), "304");
}
