//! What a sweep's file says of itself at its head, so that rows of another are never taken for its
//! own.

use std::fmt::{self, Write as _};
use std::ops::Range;

use jiff::civil::DateTime;

use crate::house::HouseFile;
use crate::study::sweep::{Axis, Climate, Ground, Method, Order, Plan, Reading};

/// What a sweep was made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Version of this program.
    pub program: String,
    /// Digest of the house file's designs as they were read.
    pub house: u64,
    /// Name of the house.
    pub house_name: String,
    /// Design that was varied.
    pub design: String,
    /// Weather.
    pub weather: Vec<WeatherLine>,
    /// Axes and order.
    pub plan: Plan,
    /// Rows in the file, from 0.
    pub rows: Range<u64>,
}

/// Weather of a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherLine {
    /// Digest of the weather as it was read.
    pub digest: u64,
    /// Start of the period.
    pub from: DateTime,
    /// Its end.
    pub to: DateTime,
    /// Name.
    pub name: String,
}

/// Form of the file.
const FORM: &str = "# rafterheat sweep, form 1";
/// How moments are written.
const MOMENT: &str = "%Y-%m-%dT%H:%M";

impl Head {
    /// What a plan on some ground is made of.
    pub fn new(ground: &Ground<'_>, plan: &Plan, rows: Range<u64>) -> Self {
        let weather = |climate: &Climate| WeatherLine {
            digest: digest(|text| write!(text, "{:?}", climate.weather)),
            from: climate.weather.interval_start(climate.period.start),
            to: climate.weather.interval_start(climate.period.end),
            name: climate.name.clone(),
        };
        Self {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            house: house_digest(ground.file),
            house_name: one_line(&ground.file.base.name),
            design: one_line(&ground.design),
            weather: ground.climates.iter().map(weather).collect(),
            plan: plan.clone(),
            rows,
        }
    }

    /// The lines, each with a `#`.
    pub fn to_text(&self) -> String {
        let mut text = format!("{FORM}\n# program = {}\n", self.program);
        let _ = writeln!(text, "# house = {:016x} {}", self.house, self.house_name);
        let _ = writeln!(text, "# design = {}", self.design);
        for weather in &self.weather {
            let _ = writeln!(
                text,
                "# weather = {:016x} {} {} {}",
                weather.digest,
                weather.from.strftime(MOMENT),
                weather.to.strftime(MOMENT),
                weather.name
            );
        }
        for axis in self.plan.axes() {
            let _ = writeln!(text, "# vary = {}={}", axis.key, axis.typed);
        }
        let _ = match self.plan.order() {
            Order::Grid => writeln!(text, "# order = grid"),
            Order::Sample { rows, method, seed } => {
                writeln!(
                    text,
                    "# order = sample {rows} {} {seed}",
                    method_name(method)
                )
            }
        };
        let _ = writeln!(
            text,
            "# rows = {} to {} of {}",
            self.rows.start + 1,
            self.rows.end,
            self.plan.rows()
        );
        text
    }

    /// Reads what [`Head::to_text`] wrote; `None` if it is anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        if lines.next()? != FORM {
            return None;
        }
        let (mut program, mut house, mut design, mut order, mut rows) =
            (None, None, None, None, None);
        let (mut weather, mut typed) = (Vec::new(), Vec::new());
        for line in lines {
            let (key, value) = line.strip_prefix("# ")?.split_once(" = ")?;
            match key {
                "program" => program = Some(value.to_owned()),
                "house" => {
                    let (digest, name) = value.split_once(' ')?;
                    house = Some((u64::from_str_radix(digest, 16).ok()?, name.to_owned()));
                }
                "design" => design = Some(value.to_owned()),
                "weather" => weather.push(weather_line(value)?),
                "vary" => typed.push(value),
                "order" => order = Some(order_of(value)?),
                "rows" => {
                    let (from, rest) = value.split_once(" to ")?;
                    let (to, _) = rest.split_once(" of ")?;
                    let from: u64 = from.parse().ok()?;
                    rows = Some(from.checked_sub(1)?..to.parse().ok()?);
                }
                _ => return None,
            }
        }
        let order = order?;
        let reading = |_: &str| Reading {
            is_count: false,
            is_sampled: order != Order::Grid,
        };
        let axes: Option<Vec<Axis>> = typed
            .iter()
            .map(|text| match text.split_once('=') {
                Some((key @ ("design" | "weather"), names)) => Some(Axis::named(key, names)),
                _ => Axis::parse(text, reading).ok(),
            })
            .collect();
        let plan = Plan::new(axes?, order).ok()?;
        let (house, house_name) = house?;
        let rows: Range<u64> = rows?;
        let is_sound = rows.start <= rows.end && rows.end <= plan.rows();
        is_sound.then_some(Self {
            program: program?,
            house,
            house_name,
            design: design?,
            weather,
            plan,
            rows,
        })
    }

    /// What keeps rows of two files from being of one sweep.
    pub fn difference(&self, other: &Self) -> Option<Difference> {
        let weather = |head: &Self| -> Vec<u64> {
            head.weather.iter().map(|weather| weather.digest).collect()
        };
        let times = |head: &Self| -> Vec<(DateTime, DateTime)> {
            let weather = head.weather.iter();
            weather.map(|weather| (weather.from, weather.to)).collect()
        };
        if self.program != other.program {
            Some(Difference::Program)
        } else if self.house != other.house {
            Some(Difference::House)
        } else if self.design != other.design {
            Some(Difference::Design)
        } else if weather(self) != weather(other) {
            Some(Difference::Weather)
        } else if times(self) != times(other) {
            Some(Difference::Period)
        } else if self.plan.axes() != other.plan.axes() {
            Some(Difference::Axes)
        } else if self.plan.order() != other.plan.order() {
            Some(Difference::Order)
        } else {
            None
        }
    }
}

/// What two sweeps differ in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Difference {
    /// Versions of this program.
    Program,
    /// The house.
    House,
    /// The design that is varied.
    Design,
    /// The weather.
    Weather,
    /// The days that are run.
    Period,
    /// What is varied.
    Axes,
    /// Grid or sample, or how it is drawn.
    Order,
    /// Which of the rows.
    Rows,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Program => "with another version of this program",
            Self::House => "from another house file",
            Self::Design => "from another design",
            Self::Weather => "in other weather",
            Self::Period => "over other days",
            Self::Axes => "with other values varied",
            Self::Order => "in another order or with another sample",
            Self::Rows => "with another part of the rows",
        })
    }
}

fn weather_line(value: &str) -> Option<WeatherLine> {
    let mut parts = value.splitn(4, ' ');
    let digest = u64::from_str_radix(parts.next()?, 16).ok()?;
    let mut moment = || DateTime::strptime(MOMENT, parts.next()?).ok();
    let (from, to) = (moment()?, moment()?);
    let name = parts.next()?.to_owned();
    Some(WeatherLine {
        digest,
        from,
        to,
        name,
    })
}

fn order_of(value: &str) -> Option<Order> {
    let parts: Vec<&str> = value.split(' ').collect();
    match parts.as_slice() {
        ["grid"] => Some(Order::Grid),
        ["sample", rows, method, seed] => Some(Order::Sample {
            rows: rows.parse().ok()?,
            method: match *method {
                "latin-hypercube" => Method::LatinHypercube,
                "sobol" => Method::Sobol,
                _ => return None,
            },
            seed: seed.parse().ok()?,
        }),
        _ => None,
    }
}

/// What a method of sampling is called.
pub(super) fn method_name(method: Method) -> &'static str {
    match method {
        Method::LatinHypercube => "latin-hypercube",
        Method::Sobol => "sobol",
    }
}

/// Digest of a house and its designs as they were read; where the file lies does not matter.
fn house_digest(file: &HouseFile) -> u64 {
    digest(|text| {
        text.write_str(file.text())?;
        file.all().try_for_each(|house| write!(text, "{house:?}"))
    })
}

/// Fowler, Noll and Vo's 64-bit hash, variant 1a: against mistakes, not malice.
struct Fnv(u64);

impl fmt::Write for Fnv {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for byte in text.bytes() {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        Ok(())
    }
}

fn digest(write: impl FnOnce(&mut Fnv) -> fmt::Result) -> u64 {
    let mut hash = Fnv(0xcbf2_9ce4_8422_2325);
    // The hash takes any text.
    let _ = write(&mut hash);
    hash.0
}

fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_hash_is_the_published_one() {
        // From the test vectors that go with the definition.
        assert_eq!(digest(|text| text.write_str("")), 0xcbf2_9ce4_8422_2325);
        assert_eq!(digest(|text| text.write_str("a")), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(
            digest(|text| text.write_str("foobar")),
            0x8594_4171_f739_67e8
        );
    }

    fn head(order: Order, texts: &[&str]) -> Head {
        let reading = |key: &str| Reading {
            is_count: key.ends_with("count"),
            is_sampled: order != Order::Grid,
        };
        let parse = |text: &&str| Axis::parse(text, reading).unwrap();
        let mut axes = vec![Axis::of_names(
            "design",
            &["a, b".to_owned(), "c".to_owned()],
        )];
        axes.extend(texts.iter().map(parse));
        let plan = Plan::new(axes, order).unwrap();
        Head {
            program: "1.2.3".to_owned(),
            house: 0xff,
            house_name: "my house = fine".to_owned(),
            design: "as it stands".to_owned(),
            weather: vec![WeatherLine {
                digest: 7,
                from: date(2017, 6, 16).at(0, 0, 0, 0),
                to: date(2017, 6, 23).at(0, 0, 0, 0),
                name: "hot summer.csv".to_owned(),
            }],
            rows: 0..plan.rows(),
            plan,
        }
    }

    #[test]
    fn a_head_is_read_as_it_was_written() {
        let sample = Order::Sample {
            rows: 50,
            method: Method::Sobol,
            seed: 9,
        };
        for head in [
            head(
                Order::Grid,
                &["x.count=0..3", "y=1..2 cfm:0.5", "z=none,foil"],
            ),
            head(sample, &["x.count=0..3", "y=1..2 cfm", "z=none,foil"]),
        ] {
            let text = head.to_text();
            assert_eq!(Head::parse(&text).as_ref(), Some(&head), "{text}");
            assert!(Head::parse(&text.replace("form 1", "form 2")).is_none());
            assert!(Head::parse(&text.replace(" to ", " ")).is_none());
        }
    }
}
