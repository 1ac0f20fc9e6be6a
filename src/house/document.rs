//! A house file as typed: a tree of values that know where they stand.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A place in one of the texts that a house is made of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Spot {
    /// Index of the text; 0 is the file, others are single settings given beside it.
    pub(super) text: usize,
    /// Bytes of the text.
    pub(super) range: Range2,
}

/// A byte range that can be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Range2 {
    /// First byte.
    pub(super) start: usize,
    /// Byte after the last.
    pub(super) end: usize,
}

impl From<Range<usize>> for Range2 {
    fn from(range: Range<usize>) -> Self {
        Self {
            start: range.start,
            end: range.end.max(range.start),
        }
    }
}

impl Spot {
    /// A spot in a text.
    pub(super) fn new(text: usize, range: Range<usize>) -> Self {
        Self {
            text,
            range: range.into(),
        }
    }
}

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    /// Where the value stands; of a table, its header or key.
    pub(super) spot: Spot,
    /// 0 for the house, higher for the designs and settings laid over it.
    pub(super) layer: u32,
    /// The value.
    pub(super) value: Value,
}

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// Text in quotes.
    Text(String),
    /// A number, as typed.
    Number(String),
    /// `true` or `false`.
    Flag(bool),
    /// A date or time without quotes, as typed.
    Date(String),
    /// A list.
    List(Vec<Node>),
    /// A table.
    Table(Vec<Entry>),
}

impl Value {
    /// What it is, for a message.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Text(_) => "text",
            Self::Number(_) => "a number",
            Self::Flag(_) => "true or false",
            Self::Date(_) => "a date or time without quotes",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
        }
    }
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    /// Key.
    pub(super) key: String,
    /// Where the key stands.
    pub(super) key_spot: Spot,
    /// Value.
    pub(super) node: Node,
}

/// A fault of the notation itself.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SyntaxFault {
    /// Where.
    pub(super) spot: Spot,
    /// What the reader of the notation says.
    pub(super) message: String,
}

/// Reads a text as far as it can be read.
pub(super) fn read(text: &str, index: usize) -> (Node, Vec<SyntaxFault>) {
    let (table, errors) = DeTable::parse_recoverable(text);
    let faults = errors
        .iter()
        .map(|error| SyntaxFault {
            spot: Spot::new(index, error.span().unwrap_or(0..0)),
            message: error.message().to_owned(),
        })
        .collect();
    let span = table.span();
    let value = Value::Table(entries(table.get_ref(), index, 0));
    (
        Node {
            spot: Spot::new(index, span.start..span.start),
            layer: 0,
            value,
        },
        faults,
    )
}

/// Reads what stands to the right of the equals sign in a setting such as `fans.gable.count=4`:
/// a value of the notation if it is one, else plain text.
pub(super) fn read_setting(text: &str, from: usize, index: usize, layer: u32) -> Node {
    let typed = text.get(from..).unwrap_or_default();
    let spot = Spot::new(index, from..text.len());
    let value = DeValue::parse(typed.trim())
        .ok()
        .map(|value| convert(value.get_ref(), index, layer))
        .filter(|value| !matches!(value, Value::Date(_)))
        .unwrap_or_else(|| Value::Text(typed.trim().to_owned()));
    let mut node = Node {
        spot: spot.clone(),
        layer,
        value,
    };
    place(&mut node, &spot, layer);
    node
}

fn entries(table: &DeTable<'_>, index: usize, layer: u32) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| {
            let spot = if matches!(value.get_ref(), DeValue::Table(_)) {
                key.span()
            } else {
                value.span()
            };
            Entry {
                key: key.get_ref().to_string(),
                key_spot: Spot::new(index, key.span()),
                node: Node {
                    spot: Spot::new(index, spot),
                    layer,
                    value: convert(value.get_ref(), index, layer),
                },
            }
        })
        .collect();
    entries.sort_by(|a, b| a.key_spot.cmp(&b.key_spot));
    entries
}

fn convert(value: &DeValue<'_>, index: usize, layer: u32) -> Value {
    match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => Value::Number(plain_integer(number.as_str(), number.radix())),
        DeValue::Float(number) => Value::Number(number.as_str().to_owned()),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Array(items) => Value::List(
            items
                .iter()
                .map(|item: &Spanned<DeValue<'_>>| Node {
                    spot: Spot::new(index, item.span()),
                    layer,
                    value: convert(item.get_ref(), index, layer),
                })
                .collect(),
        ),
        DeValue::Table(table) => Value::Table(entries(table, index, layer)),
    }
}

/// An integer in decimal; one that is too large stays as typed and is refused as a quantity.
fn plain_integer(digits: &str, radix: u32) -> String {
    if radix == 10 {
        return digits.to_owned();
    }
    i64::from_str_radix(digits, radix).map_or_else(|_| digits.to_owned(), |value| value.to_string())
}

/// Gives a node and all below it one spot and layer.
fn place(node: &mut Node, spot: &Spot, layer: u32) {
    node.spot = spot.clone();
    node.layer = layer;
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(|item| place(item, spot, layer)),
        Value::Table(entries) => {
            for entry in entries {
                entry.key_spot = spot.clone();
                place(&mut entry.node, spot, layer);
            }
        }
        _ => {}
    }
}

/// Lays one table over another: tables are joined key by key, anything else is replaced.
pub(super) fn overlay(base: &mut Vec<Entry>, over: &[Entry], layer: u32) {
    for entry in over {
        let mut node = entry.node.clone();
        raise(&mut node, layer);
        match base.iter_mut().find(|present| present.key == entry.key) {
            Some(present) => match (&mut present.node.value, node.value) {
                (Value::Table(below), Value::Table(above)) => overlay(below, &above, layer),
                (_, value) => {
                    present.node = Node { value, ..node };
                    present.key_spot = entry.key_spot.clone();
                }
            },
            None => base.push(Entry {
                key: entry.key.clone(),
                key_spot: entry.key_spot.clone(),
                node,
            }),
        }
    }
}

fn raise(node: &mut Node, layer: u32) {
    node.layer = layer;
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(|item| raise(item, layer)),
        Value::Table(entries) => entries
            .iter_mut()
            .for_each(|entry| raise(&mut entry.node, layer)),
        _ => {}
    }
}

/// A table that holds one value at the end of a path of keys.
pub(super) fn nest(path: &[String], spot: &Spot, node: Node) -> Vec<Entry> {
    let mut inner = node;
    for key in path.iter().skip(1).rev() {
        let entry = Entry {
            key: key.clone(),
            key_spot: spot.clone(),
            node: inner,
        };
        inner = Node {
            spot: spot.clone(),
            layer: entry.node.layer,
            value: Value::Table(vec![entry]),
        };
    }
    path.first()
        .map(|key| Entry {
            key: key.clone(),
            key_spot: spot.clone(),
            node: inner,
        })
        .into_iter()
        .collect()
}

/// The keys of the tables in a table, named by its dotted path.
pub(super) fn tables<'a>(root: &'a [Entry], path: &str) -> Vec<&'a str> {
    let mut entries = root;
    for part in path.split('.') {
        let entry = entries.iter().find(|entry| entry.key == part);
        match entry.map(|entry| &entry.node.value) {
            Some(Value::Table(inner)) => entries = inner,
            _ => return Vec::new(),
        }
    }
    let tables = entries.iter();
    let tables = tables.filter(|entry| matches!(entry.node.value, Value::Table(_)));
    tables.map(|entry| entry.key.as_str()).collect()
}

/// Takes a dotted key apart; parts may be in quotes. `None` if it is not one.
pub(super) fn split_key(key: &str) -> Option<Vec<String>> {
    let mut parts = Vec::new();
    let mut rest = key.trim();
    loop {
        if let Some(quoted) = rest.strip_prefix('"') {
            let end = quoted.find('"')?;
            parts.push(quoted.get(..end)?.to_owned());
            rest = quoted.get(end + 1..)?.trim_start();
        } else {
            let end = rest.find('.').unwrap_or(rest.len());
            let part = rest.get(..end)?.trim();
            if part.is_empty() || part.contains(['"', '=', '[', ']']) {
                return None;
            }
            parts.push(part.to_owned());
            rest = rest.get(end..)?;
        }
        match rest.strip_prefix('.') {
            Some(more) => rest = more.trim_start(),
            None => return rest.is_empty().then_some(parts),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Vec<Entry> {
        match read(text, 0).0.value {
            Value::Table(entries) => entries,
            _ => unreachable!(),
        }
    }

    fn at<'a>(entries: &'a [Entry], path: &[&str]) -> Option<&'a Node> {
        let entry = entries.iter().find(|entry| entry.key == path[0])?;
        match (&entry.node.value, path.len()) {
            (_, 1) => Some(&entry.node),
            (Value::Table(inner), _) => at(inner, &path[1..]),
            _ => None,
        }
    }

    #[test]
    fn an_overlay_joins_tables_and_replaces_values() {
        let mut base = table("[a]\nx = 1\ny = 2\n[b]\nz = 3");
        overlay(&mut base, &table("a.x = 5\nb.q = {r = 1}\nc = 7"), 1);
        let number = |path: &[&str]| match &at(&base, path).unwrap().value {
            Value::Number(text) => text.clone(),
            other => panic!("{other:?}"),
        };
        assert_eq!(number(&["a", "x"]), "5");
        assert_eq!(number(&["a", "y"]), "2");
        assert_eq!(number(&["b", "q", "r"]), "1");
        assert_eq!(number(&["c"]), "7");
        assert_eq!(at(&base, &["a", "x"]).unwrap().layer, 1);
        assert_eq!(at(&base, &["a", "y"]).unwrap().layer, 0);
    }

    #[test]
    fn dotted_keys_come_apart() {
        assert_eq!(
            split_key("fans.gable.count").unwrap(),
            ["fans", "gable", "count"]
        );
        assert_eq!(
            split_key("designs.\"a. b\".x").unwrap(),
            ["designs", "a. b", "x"]
        );
        assert_eq!(split_key("fans..count"), None);
        assert_eq!(split_key(""), None);
    }

    #[test]
    fn a_setting_is_a_value_or_plain_text() {
        let value = |text: &str| read_setting(text, 2, 1, 1).value;
        assert_eq!(value("a=4"), Value::Number("4".into()));
        assert_eq!(value("a=4:12"), Value::Text("4:12".into()));
        assert_eq!(value("a=75 cfm"), Value::Text("75 cfm".into()));
        assert_eq!(value("a=\"75 cfm\""), Value::Text("75 cfm".into()));
        assert_eq!(value("a=true"), Value::Flag(true));
    }
}
