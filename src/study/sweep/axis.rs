//! One field of a house that is varied, as typed and as values.

use crate::elementary::log10;

/// What an axis varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// A field of the house file.
    Field,
    /// Which design of the file.
    Design,
    /// Which weather.
    Weather,
}

/// A field that is varied.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Its key, such as `fans.gable.count`, or `design`, or `weather`.
    pub key: String,
    /// Values as typed, with a step of 1 written out where whole numbers were meant.
    pub typed: String,
    /// Values.
    pub values: Values,
}

/// Values of an axis.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// One by one, in their order.
    List {
        /// As a house file would have them.
        texts: Vec<String>,
        /// As numbers in one unit, if that is what they are.
        numbers: Option<Vec<f64>>,
    },
    /// Anything between two ends, for samples.
    Between {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// What stands before the number, such as `R-`.
        before: String,
        /// What stands after it, such as ` cfm`.
        after: String,
    },
}

/// Why an axis cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum AxisError {
    /// There is no key or no value.
    #[error("write it as KEY=VALUES, such as fans.gable.count=0..8 or barrier.place=none,rafters")]
    Form,
    /// A character that cannot be part of a line.
    #[error("it has a character that is not text")]
    Character,
    /// An empty value in a list.
    #[error("value {place} of the list is empty")]
    EmptyValue {
        /// Which, from 1.
        place: usize,
    },
    /// A value that is there twice.
    #[error("{value} is there twice")]
    Twice {
        /// The value.
        value: String,
    },
    /// What looks like a range and is none.
    #[error("{found} is not a range; ranges are written like 0..8, 0..1:0.1 or \"75..300 cfm:25\"")]
    Range {
        /// As typed.
        found: String,
    },
    /// The ends have different units.
    #[error("the ends of {found} are not in one unit")]
    Units {
        /// As typed.
        found: String,
    },
    /// The range ends before it starts.
    #[error("{found} ends below its start; write the smaller number first")]
    Backwards {
        /// As typed.
        found: String,
    },
    /// No step, or one that leads nowhere.
    #[error("the step of {found} must be a number above 0")]
    Step {
        /// As typed.
        found: String,
    },
    /// A range between fractions without a step.
    #[error("{found} needs a step, such as {found}:0.1")]
    NoStep {
        /// As typed.
        found: String,
    },
    /// More values than anyone could want.
    #[error("{found} has more than {most} values")]
    TooMany {
        /// As typed.
        found: String,
        /// Limit.
        most: usize,
    },
}

/// Most values of an axis.
const MOST: usize = 1_000_000;

/// How an axis is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reading {
    /// Whether the field takes whole numbers only.
    pub is_count: bool,
    /// Whether a range without a step means everything between its ends.
    pub is_sampled: bool,
}

impl Axis {
    /// Reads an axis such as `fans.gable.count=0..8`, `roof.pitch=20..45 deg:5` or
    /// `barrier.place=none,rafters`.
    ///
    /// # Errors
    /// [`AxisError`] with what is wrong with it.
    pub fn parse(text: &str, reading: impl Fn(&str) -> Reading) -> Result<Self, AxisError> {
        let (key, typed) = text.split_once('=').ok_or(AxisError::Form)?;
        let (key, typed) = (key.trim(), typed.trim());
        if key.is_empty() || typed.is_empty() {
            return Err(AxisError::Form);
        }
        if text.chars().any(char::is_control) {
            return Err(AxisError::Character);
        }
        let how = reading(key);
        let mut texts = Vec::new();
        let mut written = Vec::new();
        let items = split(typed);
        let only = items.len() == 1;
        for (place, item) in items.iter().enumerate() {
            if item.is_empty() {
                return Err(AxisError::EmptyValue { place: place + 1 });
            }
            let Some(range) = Range::parse(item)? else {
                texts.push((*item).to_owned());
                written.push((*item).to_owned());
                continue;
            };
            if how.is_sampled && only && range.step.is_none() && !how.is_count {
                return Ok(Self {
                    key: key.to_owned(),
                    typed: (*item).to_owned(),
                    values: Values::Between {
                        low: range.low,
                        high: range.high,
                        before: range.before,
                        after: range.after,
                    },
                });
            }
            let room = MOST.saturating_sub(texts.len());
            texts.extend(range.texts(item, room)?);
            let step = if range.step.is_none() { ":1" } else { "" };
            written.push(format!("{item}{step}"));
        }
        for (at, text) in texts.iter().enumerate().take(1000) {
            if texts[..at].contains(text) {
                let value = text.clone();
                return Err(AxisError::Twice { value });
            }
        }
        let numbers = numbers(&texts);
        Ok(Self {
            key: key.to_owned(),
            typed: written.join(","),
            values: Values::List { texts, numbers },
        })
    }

    /// An axis of names, such as designs.
    pub fn of_names(key: &str, names: &[String]) -> Self {
        let quoted = |name: &String| {
            if name.contains([',', '[', ']', '{', '}']) {
                format!("\"{name}\"")
            } else {
                name.clone()
            }
        };
        Self {
            key: key.to_owned(),
            typed: names.iter().map(quoted).collect::<Vec<_>>().join(","),
            values: Values::List {
                texts: names.to_vec(),
                numbers: None,
            },
        }
    }

    /// An axis of names as [`Axis::of_names`] has typed them.
    pub fn named(key: &str, typed: &str) -> Self {
        let names = split(typed).into_iter();
        let names: Vec<String> = names
            .map(|name| name.trim_matches('"').to_owned())
            .collect();
        Self::of_names(key, &names)
    }

    /// What it varies.
    pub fn subject(&self) -> Subject {
        match self.key.as_str() {
            "design" => Subject::Design,
            "weather" => Subject::Weather,
            _ => Subject::Field,
        }
    }

    /// The values one by one; none where it takes anything between two ends.
    pub fn texts(&self) -> &[String] {
        match &self.values {
            Values::List { texts, .. } => texts,
            Values::Between { .. } => &[],
        }
    }

    /// The values as numbers in one unit, where they are numbers one by one.
    pub fn numbers(&self) -> Option<&[f64]> {
        match &self.values {
            Values::List { numbers, .. } => numbers.as_deref(),
            Values::Between { .. } => None,
        }
    }

    /// Whether its values go from less to more.
    pub fn is_ordered(&self) -> bool {
        match &self.values {
            Values::List { numbers, .. } => numbers.is_some(),
            Values::Between { .. } => true,
        }
    }

    /// Values to try before all others: each of a list, both ends of what lies between.
    pub fn trials(&self) -> Vec<String> {
        match &self.values {
            Values::List { texts, .. } => texts.clone(),
            Values::Between { .. } => vec![self.at(0.0), self.at(1.0)],
        }
    }

    /// The value at a share of the way between the ends, for a sample: of a list each has an equal
    /// part of the way.
    pub fn at(&self, share: f64) -> String {
        match &self.values {
            Values::List { texts, .. } => texts[self.index_at(share)].clone(),
            Values::Between {
                low,
                high,
                before,
                after,
            } => {
                let value = low + share * (high - low);
                format!("{before}{}{after}", six_figures(value, high - low))
            }
        }
    }

    /// Which of the values, or which fifth of the way, a share of the way falls into.
    pub fn index_at(&self, share: f64) -> usize {
        let count = self.bins();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and the number of values"
        )]
        let index = (share.clamp(0.0, 1.0) * count as f64) as usize;
        index.min(count - 1)
    }

    /// Share of the way from the least to the greatest of a value that is a number. What passes a
    /// resistance goes as its conductance, so that of resistances the way is counted in that.
    pub(super) fn way(&self, bin: usize, share: f64) -> f64 {
        let (low, high, value) = match &self.values {
            Values::Between { low, high, .. } => (*low, *high, low + share * (high - low)),
            Values::List { numbers, .. } => {
                let Some(numbers) = numbers else { return 0.0 };
                let Some(value) = numbers.get(bin) else {
                    return 0.0;
                };
                let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
                let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                (low, high, *value)
            }
        };
        if high <= low {
            return 0.0;
        }
        if self.is_resistance() && low > 0.0 {
            return (1.0 / low - 1.0 / value) / (1.0 / low - 1.0 / high);
        }
        (value - low) / (high - low)
    }

    /// Whether its values are thermal resistances, as typed.
    fn is_resistance(&self) -> bool {
        let first = self.at(0.0);
        let typed = Number::parse(&first);
        typed.is_some_and(|number| {
            let before = number.before.trim_end_matches('-').trim();
            let after: String = number.after.chars().filter(|c| *c != ' ').collect();
            ["R", "RSI"]
                .iter()
                .any(|name| before.eq_ignore_ascii_case(name))
                || ["m2K/W", "m²K/W"].contains(&after.as_str())
        })
    }

    /// Number of values, or of parts that what lies between two ends is cut into.
    pub fn bins(&self) -> usize {
        match &self.values {
            Values::List { texts, .. } => texts.len().max(1),
            Values::Between { .. } => PARTS,
        }
    }

    /// What a value, or a part of what lies between, is called.
    pub fn bin_name(&self, bin: usize) -> String {
        match &self.values {
            Values::List { texts, .. } => texts.get(bin).cloned().unwrap_or_default(),
            Values::Between { .. } => {
                let share = |at: usize| self.at(at as f64 / PARTS as f64);
                format!("{} to {}", share(bin), share(bin + 1))
            }
        }
    }
}

/// Parts that what lies between two ends is cut into where effects are told.
const PARTS: usize = 5;

/// A number to six figures of the span it lies in, without trailing noughts.
fn six_figures(value: f64, span: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0 to 12"
    )]
    let decimals = (5.0 - log10(span.abs().max(1e-12)).floor()).clamp(0.0, 12.0) as usize;
    plain(value, decimals)
}

fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

/// Parts a list at its commas; those inside quotes and brackets part nothing.
fn split(typed: &str) -> Vec<&str> {
    let mut items = Vec::new();
    let (mut start, mut depth, mut is_quoted) = (0, 0usize, false);
    for (at, letter) in typed.char_indices() {
        match letter {
            '"' => is_quoted = !is_quoted,
            '[' | '{' if !is_quoted => depth += 1,
            ']' | '}' if !is_quoted => depth = depth.saturating_sub(1),
            ',' if !is_quoted && depth == 0 => {
                items.push(typed[start..at].trim());
                start = at + 1;
            }
            _ => {}
        }
    }
    items.push(typed[start..].trim());
    items
}

/// A range as typed.
struct Range {
    low: f64,
    high: f64,
    step: Option<f64>,
    decimals: usize,
    before: String,
    after: String,
}

impl Range {
    /// Reads a range; `None` if it is plain text.
    fn parse(item: &str) -> Result<Option<Self>, AxisError> {
        let Some((from, to)) = item.split_once("..") else {
            return Ok(None);
        };
        // A path or a quoted text is no range.
        if from.is_empty() || item.contains(['"', '\\', '{', '[']) {
            return Ok(None);
        }
        let found = || item.to_owned();
        let ends = [from, to].map(|end| Number::parse(end.trim()));
        let [Some(low), Some(high)] = ends else {
            // A path has slashes, as has m3/h.
            if item.contains('/') {
                return Ok(None);
            }
            return Err(AxisError::Range { found: found() });
        };
        // The unit of the lower end, where it has one, may have a colon: 4:12..9:12.
        let rest = if low.after.is_empty() {
            high.after
        } else {
            high.after.strip_prefix(low.after).unwrap_or(high.after)
        };
        let (unit, step) = match rest.split_once(':') {
            Some((unit, step)) => (unit.trim_end(), Some(step.trim())),
            None => (rest.trim_end(), None),
        };
        let after = if low.after.is_empty() {
            // `75..300 cfm`: keeps the space.
            &high.after[..unit.len()]
        } else if unit.trim().is_empty() || unit.trim() == low.after.trim() {
            low.after
        } else {
            return Err(AxisError::Units { found: found() });
        };
        let before = if low.before.is_empty() {
            high.before
        } else {
            low.before
        };
        if !high.before.is_empty() && high.before != before {
            return Err(AxisError::Units { found: found() });
        }
        let step = step
            .map(|step| {
                let number = Number::parse(step).filter(|number| {
                    let unit = number.after.trim();
                    number.value > 0.0
                        && (number.before.is_empty() || number.before == before)
                        && (unit.is_empty() || unit == after.trim())
                });
                number.ok_or_else(|| AxisError::Step { found: found() })
            })
            .transpose()?;
        if high.value < low.value {
            return Err(AxisError::Backwards { found: found() });
        }
        let decimals = low
            .decimals
            .max(step.as_ref().map_or(high.decimals, |step| step.decimals));
        Ok(Some(Self {
            low: low.value,
            high: high.value,
            step: step.map(|step| step.value),
            decimals,
            before: before.to_owned(),
            after: after.to_owned(),
        }))
    }

    /// Its values from end to end.
    fn texts(&self, item: &str, room: usize) -> Result<Vec<String>, AxisError> {
        let found = || item.to_owned();
        let step = match self.step {
            Some(step) => step,
            None if self.decimals == 0 => 1.0,
            None => return Err(AxisError::NoStep { found: found() }),
        };
        let steps = ((self.high - self.low) / step + 1e-9).floor();
        if steps + 1.0 > room as f64 {
            return Err(AxisError::TooMany {
                found: found(),
                most: MOST,
            });
        }
        let mut texts = Vec::new();
        let mut at = 0.0;
        while at <= steps {
            let number = plain(self.low + at * step, self.decimals);
            texts.push(format!("{}{number}{}", self.before, self.after));
            at += 1.0;
        }
        Ok(texts)
    }
}

/// A number between what stands before and after it.
struct Number<'a> {
    before: &'a str,
    value: f64,
    decimals: usize,
    after: &'a str,
}

impl<'a> Number<'a> {
    /// `R-19`, `75 cfm`, `-0.5`.
    fn parse(text: &'a str) -> Option<Self> {
        let start = text.find(|c: char| c.is_ascii_digit() || c == '.')?;
        let (mut before, mut rest) = text.split_at(start);
        if let Some(ahead) = before.strip_suffix(['-', '+'])
            && ahead.trim().is_empty()
        {
            (before, rest) = ("", &text[ahead.len()..]);
        }
        if !before
            .chars()
            .all(|c| c.is_ascii_alphabetic() || c == '-' || c == ' ')
        {
            return None;
        }
        let signed = usize::from(rest.starts_with(['-', '+']));
        let body = &rest[signed..];
        let end = body.find(|c: char| !(c.is_ascii_digit() || c == '.'));
        let end = end.unwrap_or(body.len()) + signed;
        let (digits, mut after) = rest.split_at(end);
        let mut value: f64 = digits.parse().ok()?;
        let mut decimals = digits.split_once('.').map_or(0, |(_, part)| part.len());
        // 1e3 is a number, 1 em a unit.
        let power = after.strip_prefix(['e', 'E']).unwrap_or("");
        let digits_of_power = power.trim_start_matches(['-', '+']);
        let count = digits_of_power.find(|c: char| !c.is_ascii_digit());
        let count = count.unwrap_or(digits_of_power.len());
        let length = power.len() - digits_of_power.len() + count;
        if count > 0
            && let Ok(shift) = power[..length].parse::<i32>()
        {
            value = rest[..end + 1 + length].parse().ok()?;
            let places = i64::try_from(decimals).unwrap_or(0) - i64::from(shift);
            decimals = usize::try_from(places.max(0)).unwrap_or(0);
            after = &power[length..];
        }
        value.is_finite().then_some(Self {
            before,
            value,
            decimals,
            after,
        })
    }
}

/// Texts as numbers, if they are all in one unit.
fn numbers(texts: &[String]) -> Option<Vec<f64>> {
    let first = Number::parse(texts.first()?)?;
    texts
        .iter()
        .map(|text| {
            let number = Number::parse(text)?;
            let alike = number.before == first.before && number.after == first.after;
            alike.then_some(number.value)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Axis, AxisError> {
        Axis::parse(text, |_| Reading::default())
    }

    fn texts(text: &str) -> Vec<String> {
        parse(text).unwrap().texts().to_vec()
    }

    #[test]
    fn the_way_of_resistances_is_that_of_their_conductances() {
        let how = |_: &str| Reading {
            is_count: false,
            is_sampled: true,
        };
        let axis = |text| Axis::parse(text, how).unwrap();
        // R-20 passes half of a quarter.
        let insulation = axis("ceiling.insulation=R-10..R-40");
        assert!((insulation.way(0, 1.0 / 3.0) - 2.0 / 3.0).abs() < 1e-12);
        let metric = axis("ceiling.insulation=1 m2K/W,2 m2K/W,4 m2K/W");
        assert!((metric.way(1, 0.0) - 2.0 / 3.0).abs() < 1e-12);
        let plain = axis("roof.absorptance=0.1..0.4");
        assert!((plain.way(0, 1.0 / 3.0) - 1.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn ranges_and_lists_become_values_as_a_person_would_type_them() {
        assert_eq!(texts("a=0..3"), ["0", "1", "2", "3"]);
        assert_eq!(texts("a=0..1:0.25"), ["0", "0.25", "0.5", "0.75", "1"]);
        assert_eq!(texts("a=0..40 deg:20"), ["0 deg", "20 deg", "40 deg"]);
        assert_eq!(texts("a=75 cfm..100 cfm:25"), ["75 cfm", "100 cfm"]);
        assert_eq!(texts("a=R-11..R-19:4"), ["R-11", "R-15", "R-19"]);
        assert_eq!(texts("a=R-11..19:R-8"), ["R-11", "R-19"]);
        assert_eq!(texts("a=4:12..6:12"), ["4:12", "5:12", "6:12"]);
        assert_eq!(texts("a=4:12..6:12:2"), ["4:12", "6:12"]);
        assert_eq!(texts("a=-1..1"), ["-1", "0", "1"]);
        assert_eq!(texts("a=0..10:4"), ["0", "4", "8"]);
        assert_eq!(texts("a=none, rafters,deck"), ["none", "rafters", "deck"]);
        assert_eq!(texts("a=0..2,8"), ["0", "1", "2", "8"]);
        assert_eq!(
            texts("a=[[\"0 cfm\", \"9 Pa\"]],\"a, b\""),
            ["[[\"0 cfm\", \"9 Pa\"]]", "\"a, b\""]
        );
        assert_eq!(texts("a=../rooms.csv"), ["../rooms.csv"]);
        assert_eq!(texts("a=up/..rooms/1.csv"), ["up/..rooms/1.csv"]);
        assert_eq!(
            texts("a=75..225 m3/h:75"),
            ["75 m3/h", "150 m3/h", "225 m3/h"]
        );
        assert_eq!(
            texts("a=1 m2K/W..2 m2K/W:0.5"),
            ["1 m2K/W", "1.5 m2K/W", "2 m2K/W"]
        );
        assert_eq!(texts("a=0..1e2:50"), ["0", "50", "100"]);
        assert_eq!(texts("a=0..1:5e-1"), ["0", "0.5", "1"]);
        assert_eq!(parse("a=0..3").unwrap().typed, "0..3:1");
        assert_eq!(
            parse("a=R-11,R-30").unwrap().numbers(),
            Some([11.0, 30.0].as_slice())
        );
        assert_eq!(parse("a=none,R-30").unwrap().numbers(), None);
    }

    #[test]
    fn steps_of_tenths_have_no_tail() {
        assert_eq!(texts("a=0..1:0.1").len(), 11);
        assert_eq!(texts("a=0..1:0.1")[3], "0.3");
        assert_eq!(texts("a=0.3..0.9:0.2"), ["0.3", "0.5", "0.7", "0.9"]);
    }

    #[test]
    fn what_cannot_be_read_is_told() {
        for (text, error) in [
            ("a", "write it as KEY=VALUES"),
            ("=3", "write it as KEY=VALUES"),
            ("a=", "write it as KEY=VALUES"),
            ("a=1,,2", "value 2"),
            ("a=1,1", "1 is there twice"),
            ("a=3..1", "ends below"),
            ("a=0..1:0", "step"),
            ("a=0..1:x", "step"),
            ("a=low..high", "not a range"),
            ("a=0.5..0.9", "needs a step"),
            ("a=1 cfm..3 Pa", "one unit"),
            ("a=0..9999999", "more than"),
            ("a=1\n2", "not text"),
        ] {
            let told = parse(text).unwrap_err().to_string();
            assert!(told.contains(error), "{text}: {told}");
        }
    }

    #[test]
    fn a_sample_takes_what_lies_between_and_each_of_a_list_alike() {
        let sampled = |_: &str| Reading {
            is_count: false,
            is_sampled: true,
        };
        let axis = Axis::parse("a=75..300 cfm", sampled).unwrap();
        assert_eq!(axis.at(0.0), "75 cfm");
        assert_eq!(axis.at(0.5), "187.5 cfm");
        assert_eq!(axis.at(1.0 / 3.0), "150 cfm");
        let list = Axis::parse("a=x,y,z", sampled).unwrap();
        assert_eq!([0.1, 0.4, 0.9].map(|u| list.at(u)), ["x", "y", "z"]);
        let count = |_: &str| Reading {
            is_count: true,
            is_sampled: true,
        };
        let axis = Axis::parse("a=0..8", count).unwrap();
        assert_eq!(axis.texts().len(), 9);
        // What is written down means the same without knowing the field.
        let again = Axis::parse(&format!("a={}", axis.typed), sampled).unwrap();
        assert_eq!(again, axis);
    }
}
