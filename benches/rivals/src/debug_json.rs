//! What `{:?}` says of a value, as JSON: a way to write out all of a network, with the parts that are
//! nobody's business in ordinary use, without adding to the library.
//!
//! A struct becomes an object with its name under `is`, a variant with values an object with its name
//! under `is` and the values under `of`, a variant without values its name.

use serde_json::{Map, Value, json};

/// Reads what `{:?}` wrote.
///
/// # Panics
/// If the text is none.
pub fn parse(text: &str) -> Value {
    let mut reader = Reader { text, at: 0 };
    let value = reader.value();
    reader.space();
    assert_eq!(reader.at, text.len(), "{} is left", &text[reader.at..]);
    value
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl Reader<'_> {
    fn space(&mut self) {
        let rest = &self.text[self.at..];
        self.at += rest.len() - rest.trim_start().len();
    }

    fn next(&mut self) -> Option<char> {
        self.space();
        self.text[self.at..].chars().next()
    }

    fn take(&mut self, wanted: char) -> bool {
        let found = self.next() == Some(wanted);
        if found {
            self.at += wanted.len_utf8();
        }
        found
    }

    fn value(&mut self) -> Value {
        match self.next() {
            Some('[') => Value::Array(self.list('[', ']')),
            Some('(') => Value::Array(self.list('(', ')')),
            Some('"') => self.string(),
            _ => self.word(),
        }
    }

    fn list(&mut self, open: char, close: char) -> Vec<Value> {
        assert!(self.take(open));
        let mut values = Vec::new();
        while !self.take(close) {
            values.push(self.value());
            self.take(',');
        }
        values
    }

    fn string(&mut self) -> Value {
        assert!(self.take('"'));
        let rest = &self.text[self.at..];
        let end = rest.find('"').expect("an end");
        assert!(!rest[..end].contains('\\'), "plain names only");
        self.at += end + 1;
        json!(rest[..end])
    }

    /// A number, a name, or a name with what belongs to it.
    fn word(&mut self) -> Value {
        let rest = &self.text[self.at..];
        let end = rest
            .find([',', '[', ']', '(', ')', '{', '}', ' ', '\n'])
            .unwrap_or(rest.len());
        let word = &rest[..end];
        assert!(
            !word.is_empty(),
            "nothing at {}",
            &rest[..rest.len().min(60)]
        );
        self.at += end;
        match self.next() {
            Some('{') => {
                self.take('{');
                let mut map = Map::new();
                map.insert("is".to_owned(), json!(word));
                while !self.take('}') {
                    self.space();
                    let rest = &self.text[self.at..];
                    let colon = rest.find(':').expect("a field");
                    let name = rest[..colon].to_owned();
                    self.at += colon + 1;
                    map.insert(name, self.value());
                    self.take(',');
                }
                Value::Object(map)
            }
            Some('(') => {
                let mut values = self.list('(', ')');
                match (word, values.len()) {
                    ("Some", 1) => values.remove(0),
                    _ => json!({"is": word, "of": values}),
                }
            }
            _ => match word {
                "None" => Value::Null,
                "true" => json!(true),
                "false" => json!(false),
                _ => match (word.parse::<u64>(), word.parse::<f64>()) {
                    (Ok(whole), _) => json!(whole),
                    (_, Ok(number)) if number.is_finite() => json!(number),
                    _ => json!(word),
                },
            },
        }
    }
}
