//! Every key of a house file: what it takes, its range, and what stands in for "unknown".

use crate::units::Dimension;

use super::names::Catalogue;

mod roof;
mod rooms;
mod vents;

use roof::{ATTIC, BARRIER, BATTENS, CEILING, MATERIAL, ROOF};
use rooms::{AIRING, COOLING, DUCTS, FLOOR, HEATING, HOUSE, SITE, WINDOW};
use vents::{CONTROL, FAN, FAN_HOLE, FITTED, OPENING, OPENING_HOLE, SENSOR};

/// What a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    /// A quantity with its unit; a bare number where the dimension has none.
    Quantity(Dimension),
    /// A number without a unit.
    Number,
    /// A thermal resistance, or `"none"`.
    Insulation,
    /// A blower-door result or a leakage area.
    Leakage,
    /// One of a few words.
    Words(&'static [&'static str]),
    /// A name from a catalogue or, for materials, from the file's own `[materials]`.
    Name(Catalogue),
    /// A name, or a list of layers.
    Layers(Catalogue),
    /// Any text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A compass direction.
    Direction,
    /// A compass direction, `"both"` long sides, or `"all"`.
    Faces,
    /// A direction of a line: `"east-west"`, `"80 deg"`.
    Line,
    /// Degrees with these letters for positive and negative.
    Degrees([char; 2]),
    /// A list of pairs of flow and pressure.
    Curve,
    /// A list of two times of day.
    Times,
    /// A list of names.
    Texts,
}

/// What happens without an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Need {
    /// There must be one.
    Required,
    /// There may be one.
    Optional,
    /// A plain default that leaves nothing uncertain.
    Default(f64),
    /// What is likely.
    Guess(Guess),
    /// What is likely, as words.
    GuessWord(GuessWord),
    /// What is likely is worked out from other answers.
    Derived,
    /// There must be one, though it may be "unknown": then this is likely.
    Stated(Guess),
    /// There must be one, though it may be "unknown": then one of these words is likely.
    StatedWord(GuessWord),
}

/// A value that stands in for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Guess {
    /// Value, least and most of what is likely, in the unit of the dimension.
    pub(super) likely: [f64; 3],
    /// Source.
    pub(super) source: &'static str,
}

/// A word that stands in for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct GuessWord {
    /// Word, and the two ends of what is likely.
    pub(super) likely: [&'static str; 3],
    /// Source.
    pub(super) source: &'static str,
}

/// A key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Field {
    /// Key.
    pub(super) key: &'static str,
    /// What it takes.
    pub(super) kind: Kind,
    /// Least value, in the unit of the dimension.
    pub(super) low: f64,
    /// Greatest value.
    pub(super) high: f64,
    /// What happens without an answer.
    pub(super) need: Need,
    /// What it is, in plain words.
    pub(super) help: &'static str,
    /// Why nothing outside the range makes sense.
    pub(super) why: Option<&'static str>,
}

impl Field {
    /// Whether `"unknown"` is an answer.
    pub(super) fn may_be_unknown(&self) -> bool {
        matches!(
            self.need,
            Need::Guess(_)
                | Need::GuessWord(_)
                | Need::Derived
                | Need::Stated(_)
                | Need::StatedWord(_)
        )
    }

    /// Whether the key may not be left out.
    pub(super) fn must_be_stated(&self) -> bool {
        matches!(
            self.need,
            Need::Required | Need::Stated(_) | Need::StatedWord(_)
        )
    }

    const fn because(mut self, why: &'static str) -> Self {
        self.why = Some(why);
        self
    }
    const fn required(mut self) -> Self {
        self.need = Need::Required;
        self
    }
    const fn or(mut self, value: f64) -> Self {
        self.need = Need::Default(value);
        self
    }
    const fn guess(mut self, likely: [f64; 3], source: &'static str) -> Self {
        self.need = Need::Guess(Guess { likely, source });
        self
    }
    const fn guess_word(mut self, likely: [&'static str; 3], source: &'static str) -> Self {
        self.need = Need::GuessWord(GuessWord { likely, source });
        self
    }
    const fn stated(mut self, likely: [f64; 3], source: &'static str) -> Self {
        self.need = Need::Stated(Guess { likely, source });
        self
    }
    const fn stated_word(mut self, likely: [&'static str; 3], source: &'static str) -> Self {
        self.need = Need::StatedWord(GuessWord { likely, source });
        self
    }
    const fn derived(mut self) -> Self {
        self.need = Need::Derived;
        self
    }
}

/// A table of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Section {
    /// Path; `*` stands for a name that the owner gives.
    pub(super) path: &'static str,
    /// Whether the file must have it.
    pub(super) required: bool,
    /// Its keys.
    pub(super) fields: &'static [Field],
    /// What it is, in plain words.
    pub(super) help: &'static str,
}

const fn quantity(
    key: &'static str,
    dimension: Dimension,
    low: f64,
    high: f64,
    help: &'static str,
) -> Field {
    Field {
        key,
        kind: Kind::Quantity(dimension),
        low,
        high,
        need: Need::Optional,
        help,
        why: None,
    }
}

const fn field(key: &'static str, kind: Kind, help: &'static str) -> Field {
    Field {
        key,
        kind,
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        need: Need::Optional,
        help,
        why: None,
    }
}

const fn share(key: &'static str, low: f64, high: f64, help: &'static str) -> Field {
    quantity(key, Dimension::Fraction, low, high, help)
}

/// R-1 in m² K/W.
const R: f64 = 0.176_110_18;
const COMMON: &str = "common practice, no source";

/// Key that a design has beside what it changes.
pub(super) const DESIGN_WITH: Field = field(
    "with",
    Kind::Texts,
    "other designs whose changes this one starts from",
);

/// Every table of a file but the root and the designs.
pub(super) const SECTIONS: &[Section] = &[
    SITE,
    HOUSE,
    FLOOR,
    WINDOW,
    AIRING,
    COOLING,
    HEATING,
    DUCTS,
    ROOF,
    BATTENS,
    ATTIC,
    CEILING,
    OPENING,
    OPENING_HOLE,
    FAN,
    FAN_HOLE,
    BARRIER,
    CONTROL,
    SENSOR,
    FITTED,
    MATERIAL,
];

/// The keys at the top of the file.
pub(super) const ROOT: Section = rooms::TOP;

/// The section that describes a path, in which `*` stands for any name.
pub(super) fn section<S: AsRef<str>>(path: &[S]) -> Option<&'static Section> {
    if path.is_empty() {
        return Some(&ROOT);
    }
    SECTIONS.iter().find(|section| fits(section.path, path))
}

/// Whether a key such as `fans.gable.count` takes whole numbers only.
pub fn is_count(key: &str) -> bool {
    let Some(mut path) = super::document::split_key(key) else {
        return false;
    };
    let last = path.pop().unwrap_or_default();
    let count = Kind::Quantity(Dimension::Count);
    let is = |field: &Field| field.key == last && field.kind == count;
    section(&path).is_some_and(|section| section.fields.iter().any(is))
}

/// The group of tables with names of the owner's that a key points into, and the name it has there:
/// `fans` and `gable` of `fans.gable.count`.
pub fn group_and_name(key: &str) -> Option<(String, String)> {
    let mut path = super::document::split_key(key)?;
    path.pop();
    let parts = section(&path)?.path.split('.');
    let at = parts.into_iter().position(|part| part == "*")?;
    Some((path.get(..at)?.join("."), path.get(at)?.clone()))
}

/// Whether a pattern describes a path or the beginning of one.
pub(super) fn begins(path: &[String]) -> bool {
    let goes_on = |section: &Section| rest(section.path, path)?.next();
    SECTIONS.iter().any(|section| goes_on(section).is_some())
}

/// The keys that may follow a path as tables.
pub(super) fn tables_below(path: &[String]) -> Vec<&'static str> {
    let next = SECTIONS
        .iter()
        .filter_map(|section| rest(section.path, path)?.next());
    let mut keys: Vec<&'static str> = next.filter(|key| *key != "*").collect();
    keys.dedup();
    keys
}

/// Whether the names of a table are the owner's.
pub(super) fn is_group(path: &[String]) -> bool {
    SECTIONS.iter().any(|section| {
        section
            .path
            .strip_suffix(".*")
            .is_some_and(|group| fits(group, path))
    })
}

/// Where else a key belongs.
pub(super) fn elsewhere(key: &str) -> Option<&'static str> {
    let mut homes = SECTIONS
        .iter()
        .chain([&ROOT])
        .filter(|s| s.fields.iter().any(|f| f.key == key))
        .map(|s| s.path);
    let first = homes.next()?;
    homes.next().is_none().then_some(first)
}

fn fits<S: AsRef<str>>(pattern: &str, path: &[S]) -> bool {
    rest(pattern, path).is_some_and(|mut parts| !path.is_empty() && parts.next().is_none())
}

/// What a pattern has beyond a path that it begins with.
fn rest<'p, S: AsRef<str>>(pattern: &'p str, path: &[S]) -> Option<std::str::Split<'p, char>> {
    // Most begin otherwise, which shows without a look for their parts.
    let begins = |key: &S| pattern.starts_with('*') || pattern.starts_with(key.as_ref());
    if !path.first().is_none_or(begins) {
        return None;
    }
    let mut parts = pattern.split('.');
    let matches = |key: &S| {
        let part = parts.next();
        part.is_some_and(|part| part == "*" || part == key.as_ref())
    };
    path.iter().all(matches).then_some(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_explained_and_its_guess_is_within_its_range() {
        for section in SECTIONS.iter().chain([&ROOT]) {
            assert!(section.help.len() > 5, "{}", section.path);
            for field in section.fields {
                assert!(field.help.len() > 5, "{}.{}", section.path, field.key);
                assert!(field.low < field.high);
                let twins = section
                    .fields
                    .iter()
                    .filter(|other| other.key == field.key)
                    .count();
                assert_eq!(twins, 1, "{}.{}", section.path, field.key);
                if let Need::Guess(Guess {
                    likely: [value, low, high],
                    source,
                })
                | Need::Stated(Guess {
                    likely: [value, low, high],
                    source,
                }) = field.need
                {
                    assert!(
                        low <= value && value <= high,
                        "{}.{}",
                        section.path,
                        field.key
                    );
                    assert!(
                        field.low <= low && high <= field.high,
                        "{}.{}",
                        section.path,
                        field.key
                    );
                    assert!(source.len() > 15);
                }
                if let (
                    Need::GuessWord(guess) | Need::StatedWord(guess),
                    Kind::Name(names) | Kind::Layers(names),
                ) = (field.need, field.kind)
                {
                    for word in guess.likely {
                        assert!(names.has(word), "{}.{}: {word}", section.path, field.key);
                    }
                }
            }
        }
    }

    #[test]
    fn paths_find_their_sections() {
        let path = |text: &str| text.split('.').map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(
            section(&path("fans.gable.hole")).unwrap().path,
            "fans.*.hole"
        );
        assert_eq!(section(&path("fans.gable")).unwrap().path, "fans.*");
        assert!(section(&path("fans")).is_none() && begins(&path("fans")));
        assert!(section(&path("gans")).is_none() && !begins(&path("gans")));
        assert!(
            is_group(&path("fans"))
                && is_group(&path("house.windows"))
                && !is_group(&path("house"))
        );
        assert_eq!(
            tables_below(&path("house")),
            ["floor", "windows", "airing", "cooling", "heating", "ducts"]
        );
        assert_eq!(elsewhere("pitch"), Some("roof"));
        assert_eq!(elsewhere("area"), None);
    }
}
