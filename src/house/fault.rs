//! What is wrong with a house file, said so that its owner can mend it.

use std::fmt;
use std::path::PathBuf;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::catalog::nearest;
use crate::units::{Dimension, QuantityError, Reason};

use super::clash::Clash;
use super::written::{self, listed, row};

/// Why a house could not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum HouseError {
    /// The file cannot be opened.
    #[error("cannot read {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The file is not text.
    #[error("{} is not a text file: line {line} has bytes that are not UTF-8", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
        /// Line of the first such byte.
        line: usize,
    },
    /// The file is far larger than any house.
    #[error(
        "{} is not a house file: it has {size} bytes, and a house has fewer than {limit}",
        path.display()
    )]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size, bytes.
        size: u64,
        /// The limit, bytes.
        limit: u64,
    },
    /// The file has faults.
    #[error("{} has {}\n\n{}", path.display(), counted(faults.len()), rendered(faults))]
    Invalid {
        /// The file.
        path: PathBuf,
        /// Every fault, in the order of the file.
        faults: Vec<Fault>,
    },
}

impl HouseError {
    /// Of a sound file with settings laid over it: whether each setting is sound by itself, and
    /// only does not go with the rest of the house.
    pub fn is_misfit(&self) -> bool {
        self.is_all(|_| false)
    }

    /// As [`HouseError::is_misfit`], or a setting is out of its range.
    pub fn is_out_of_bounds(&self) -> bool {
        self.is_all(|kind| matches!(kind, FaultKind::OutOfRange { .. }))
    }

    /// Whether all faults are misfits or of some kinds.
    fn is_all(&self, or: impl Fn(&FaultKind) -> bool) -> bool {
        let Self::Invalid { path, faults } = self else {
            return false;
        };
        let file = path.display().to_string();
        faults.iter().all(|fault| match &fault.kind {
            FaultKind::Clash(Clash::Setting) => false,
            FaultKind::Clash(_) => true,
            // In the file, where nothing was wrong before.
            kind => fault.file == file || or(kind),
        })
    }
}

fn counted(count: usize) -> String {
    if count == 1 {
        "1 fault".to_owned()
    } else {
        format!("{count} faults")
    }
}

fn rendered(faults: &[Fault]) -> String {
    faults
        .iter()
        .map(Fault::to_string)
        .collect::<Vec<_>>()
        .join("\n\n")
}

/// One fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Key, such as `roof.pitch`; empty if the notation itself is broken.
    pub key: String,
    /// What is wrong.
    pub kind: FaultKind,
    /// Name of the file or setting.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// The design in which it shows, if the house as it stands does not have it.
    pub design: Option<String>,
    /// The line as typed.
    pub(super) source_line: String,
    /// The bytes of that line that are meant.
    pub(super) marked: (usize, usize),
}

/// Kinds of fault.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum FaultKind {
    /// The notation (TOML) is broken.
    Notation {
        /// What its reader says.
        message: String,
        /// What was probably meant.
        hint: Option<Hint>,
    },
    /// There is no such key or table.
    UnknownKey {
        /// The key that was probably meant.
        near: Option<String>,
        /// The table in which such a key belongs.
        elsewhere: Option<&'static str>,
        /// The keys that are known here.
        known: Vec<String>,
    },
    /// A name has characters that names cannot have.
    BadName {
        /// The name.
        name: String,
    },
    /// A table that needs a name of the owner's, and has keys instead.
    Unnamed,
    /// It is not of the kind that is needed.
    WrongKind {
        /// What it is.
        found: &'static str,
        /// What is accepted.
        accepts: String,
    },
    /// A quantity cannot be read.
    Quantity(QuantityError),
    /// A quantity is outside its range.
    OutOfRange {
        /// As typed.
        found: String,
        /// Least.
        low: String,
        /// Greatest.
        high: String,
        /// Why nothing outside makes sense, or how it should be written.
        note: Option<String>,
    },
    /// A word is not one of those known.
    UnknownWord {
        /// As typed.
        found: String,
        /// What it should name.
        what: &'static str,
        /// The word that was probably meant.
        near: Option<String>,
        /// The words that are known.
        known: Vec<String>,
    },
    /// "unknown" where an answer is needed.
    NotUnknowable {
        /// What the key is.
        help: &'static str,
        /// What is accepted.
        accepts: String,
    },
    /// A key is missing.
    Missing {
        /// What the key is.
        help: &'static str,
        /// What is accepted.
        accepts: String,
    },
    /// A table is missing.
    MissingTable {
        /// What the table is.
        help: &'static str,
    },
    /// It names something that the file does not define.
    Undefined {
        /// As typed.
        found: String,
        /// The tables in which it would be defined.
        group: &'static str,
        /// What is defined there.
        defined: Vec<String>,
        /// The name that was probably meant.
        near: Option<String>,
    },
    /// Answers do not fit together.
    Clash(Clash),
}

/// What was probably meant where the notation is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Hint {
    /// A quantity or word without quotes.
    Quotes,
    /// Curly quotes.
    CurlyQuotes,
    /// A key or table that is there twice.
    Twice,
    /// A decimal comma.
    Comma,
    /// Nothing after the equals sign.
    NoValue,
    /// No equals sign.
    NoEquals,
    /// A quote that is not closed.
    OpenQuote,
    /// A bracket that is not closed.
    Bracket,
}

impl Hint {
    /// A few words for the mark under the line.
    fn label(self) -> &'static str {
        match self {
            Self::Quotes => "words and quantities stand in quotes",
            Self::CurlyQuotes => "use straight quotes, not curly ones",
            Self::Twice => "this is in the file twice",
            Self::Comma => "write a decimal point, not a comma",
            Self::NoValue => "there is no value",
            Self::NoEquals => "there is no equals sign with a value",
            Self::OpenQuote => "the closing quote is missing",
            Self::Bracket => "the closing bracket is missing",
        }
    }

    /// How it should look.
    fn note(self) -> &'static str {
        match self {
            Self::Quotes | Self::CurlyQuotes | Self::OpenQuote => {
                "write it like length = \"50 ft\""
            }
            Self::Twice => "each key and each table may be there only once",
            Self::Comma => "write it like coverage = 0.9",
            Self::NoValue => {
                "write it like length = \"50 ft\"; put # before a line that has no answer"
            }
            Self::NoEquals => "write it like storeys = 1; put # before a line that is a remark",
            Self::Bracket => "write it like [roof]",
        }
    }
}

impl FaultKind {
    fn title(&self, key: &str) -> String {
        let key = &written::key(key);
        match self {
            Self::Clash(Clash::Setting) if key.is_empty() => "a setting needs a key".to_owned(),
            Self::Notation { .. } => "this line cannot be read".to_owned(),
            Self::UnknownKey { .. } => format!("`{key}` is not known"),
            Self::BadName { name } => format!("{name:?} cannot be a name"),
            Self::Unnamed => format!("[{key}] needs a name"),
            Self::WrongKind { found, .. } => format!("`{key}` cannot be {found}"),
            Self::Quantity(error) => {
                format!("`{key}` cannot be read as {}", error.dimension.expected())
            }
            Self::OutOfRange { found, .. } => format!("`{key}` is out of range: {found}"),
            Self::UnknownWord {
                found,
                what: "choice",
                ..
            } => format!("`{key}` cannot be {found:?}"),
            Self::UnknownWord { found, what, .. } => {
                format!("`{key}`: {found:?} is no {what} known here")
            }
            Self::NotUnknowable { .. } => format!("`{key}` must be known"),
            Self::Missing { .. } => format!("`{key}` is missing"),
            Self::MissingTable { .. } => format!("the table [{key}] is missing"),
            Self::Undefined { found, group, .. } => {
                format!(
                    "`{key}` names {found:?}, but there is no [{group}.{}]",
                    written::key(found)
                )
            }
            Self::Clash(clash) => format!("`{key}` {clash}"),
        }
    }

    fn label(&self, key: &str) -> String {
        let last = key.rsplit('.').next().unwrap_or(key);
        match self {
            Self::Notation {
                hint: Some(hint), ..
            } => hint.label().to_owned(),
            Self::Notation { message, .. } => message.clone(),
            Self::UnknownKey {
                near: Some(near), ..
            }
            | Self::UnknownWord {
                near: Some(near), ..
            }
            | Self::Undefined {
                near: Some(near), ..
            } => {
                format!("did you mean `{near}`?")
            }
            Self::UnknownKey {
                elsewhere: Some(""),
                ..
            } => "this belongs at the top of the file, above the first table".to_owned(),
            Self::UnknownKey {
                elsewhere: Some(home),
                ..
            } => format!("this belongs in [{}]", home.replace('*', "NAME")),
            Self::UnknownKey { .. } => "no such key here".to_owned(),
            Self::UnknownWord { .. } => "not known here".to_owned(),
            Self::Unnamed => "these keys stand in a table without a name of its own".to_owned(),
            Self::BadName { .. } => "a name has letters, digits, spaces and hyphens".to_owned(),
            Self::WrongKind { accepts, .. } | Self::NotUnknowable { accepts, .. } => {
                format!("accepts {accepts}")
            }
            Self::Quantity(error) => {
                if let Reason::OtherDimension { unit } = &error.reason
                    && let Some(near) = nearest(unit, error.accepted().iter().copied())
                {
                    return format!("{unit:?} is something else; did you mean `{near}`?");
                }
                let reason = error.reason.to_string();
                let reason = reason
                    .trim_start_matches([',', ':', ' '])
                    .trim_start_matches("which ");
                if reason.is_empty() {
                    "not written like one".to_owned()
                } else {
                    reason.to_owned()
                }
            }
            Self::OutOfRange { low, high, .. } => format!("accepts {low} to {high}"),
            Self::Missing { .. } => format!("`{last}` should be in this table"),
            Self::MissingTable { .. } => "it should be here".to_owned(),
            Self::Undefined { .. } => "not defined in this file".to_owned(),
            Self::Clash(clash) => clash.label(),
        }
    }

    fn notes(&self, key: &str) -> Vec<String> {
        let last = key.rsplit('.').next().unwrap_or(key);
        match self {
            Self::Notation {
                hint: Some(hint), ..
            } => vec![hint.note().to_owned()],
            Self::UnknownKey {
                near: None,
                elsewhere: None,
                known,
            } if !known.is_empty() => {
                vec![format!("known here: {}", row(known))]
            }
            Self::Unnamed => vec![format!(
                "write [{key}.NAME], with a name of your own for NAME"
            )],
            Self::OutOfRange {
                note: Some(note), ..
            } => vec![note.clone()],
            Self::Quantity(error) => {
                let [one, two] = error.dimension.examples();
                let mut notes = vec![match error.dimension {
                    Dimension::Count | Dimension::Fraction => {
                        format!("write it like {one} or {two}")
                    }
                    _ => format!("write it like \"{one}\" or \"{two}\""),
                }];
                if error.accepted().len() > 2 {
                    notes.push(format!("units: {}", error.accepted().join(", ")));
                }
                notes
            }
            Self::UnknownWord { known, .. } => vec![format!("accepts {}", listed(known))],
            Self::NotUnknowable { help, .. } => {
                vec![format!("it is the {help}", help = bare(help))]
            }
            Self::Missing { help, accepts } => vec![format!("{last}: {help}; accepts {accepts}")],
            Self::MissingTable { help } => {
                let mut notes = vec![format!("[{key}] describes {help}")];
                if key == "house" {
                    notes.push("`rafterheat new` writes a whole file to start from".to_owned());
                }
                notes
            }
            Self::Undefined { group, defined, .. } => vec![if defined.is_empty() {
                format!("there is no table in [{group}] at all")
            } else {
                format!("defined: {}", row(defined))
            }],
            Self::Clash(clash) => clash.note().into_iter().collect(),
            _ => Vec::new(),
        }
    }
}

/// A help text without an article at its head.
fn bare(help: &str) -> &str {
    help.trim_start_matches("the ").trim_start_matches("a ")
}

impl fmt::Display for Fault {
    /// The fault with its line, in plain text without colours.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let title = self.kind.title(&self.key);
        let label = self.kind.label(&self.key);
        let mut notes = self.kind.notes(&self.key);
        if let Some(design) = &self.design {
            notes.push(format!("this shows in the design {design:?}"));
        }
        let nowhere = matches!(self.kind, FaultKind::MissingTable { .. }) && self.line == 1;
        let mut group: Group<'_> = if nowhere {
            Level::ERROR
                .primary_title(title)
                .element(Origin::path(self.file.as_str()))
        } else if self.source_line.trim().is_empty() {
            let origin = Origin::path(self.file.as_str())
                .line(self.line)
                .char_column(self.column);
            notes.insert(0, label.clone());
            Level::ERROR.primary_title(title).element(origin)
        } else {
            let (start, end) = self.marked;
            let mark = AnnotationKind::Primary
                .span(start..end)
                .label(label.as_str());
            let snippet = Snippet::source(self.source_line.as_str())
                .line_start(self.line)
                .path(self.file.as_str())
                .annotation(mark);
            Level::ERROR.primary_title(title).element(snippet)
        };
        for note in &notes {
            group = group.element(Level::HELP.message(note.as_str()));
        }
        let text = Renderer::plain().term_width(100).render(&[group]);
        f.write_str(text.trim_end())
    }
}
