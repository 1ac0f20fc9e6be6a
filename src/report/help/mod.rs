//! Pages of help: how to find out what a house file asks, and what results mean.

/// A page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Topic {
    /// Name by which it is asked for.
    pub name: &'static str,
    /// What it is about, in a few words.
    pub about: &'static str,
    /// The page.
    pub text: &'static str,
}

/// All pages, in the order in which a house is got to know.
pub const TOPICS: &[Topic] = &[
    Topic {
        name: "attic",
        about: "measure an attic, and stay well while you do",
        text: include_str!("attic.txt"),
    },
    Topic {
        name: "azimuth",
        about: "find a roof's direction on a map",
        text: include_str!("azimuth.txt"),
    },
    Topic {
        name: "fan-label",
        about: "read a fan's label",
        text: include_str!("fan-label.txt"),
    },
    Topic {
        name: "bag",
        about: "time a bag for a fan's air flow",
        text: include_str!("bag.txt"),
    },
    Topic {
        name: "amps",
        about: "meter a fan's amps",
        text: include_str!("amps.txt"),
    },
    Topic {
        name: "battery",
        about: "test a battery overnight",
        text: include_str!("battery.txt"),
    },
    Topic {
        name: "loggers",
        about: "place loggers",
        text: include_str!("loggers.txt"),
    },
    Topic {
        name: "results",
        about: "read results",
        text: include_str!("results.txt"),
    },
    Topic {
        name: "limits",
        about: "what the model does not see",
        text: include_str!("limits.txt"),
    },
];

/// The list of pages.
pub fn topics_text() -> String {
    let mut text = String::from("Pages of help, each shown by  rafterheat help TOPIC\n\n");
    for topic in TOPICS {
        text.push_str(&format_row(topic.name, topic.about));
    }
    text.push_str("\nThe commands and their options:  rafterheat --help\n");
    text
}

fn format_row(name: &str, about: &str) -> String {
    format!("  {name:<10} {about}\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_fit_the_screen_and_are_listed() {
        let list = topics_text();
        for topic in TOPICS {
            assert!(list.contains(topic.name) && list.contains(topic.about));
            assert!(topic.text.lines().count() <= 48, "{}", topic.name);
            for line in topic.text.lines().chain(list.lines()) {
                let width = line.chars().count();
                assert!(width <= 80, "{}: {width}: {line}", topic.name);
                assert_eq!(line, line.trim_end(), "{}", topic.name);
            }
        }
    }

    #[test]
    fn pages_that_other_pages_name_are_there_and_hot_places_carry_their_caution() {
        let named = |text: &str| -> Vec<String> {
            let words: Vec<&str> = text.split_whitespace().collect();
            words
                .windows(3)
                .filter(|three| three[1] == "(help" || three[..2] == ["`rafterheat", "help"])
                .map(|three| {
                    let plain = |c: char| !(c.is_alphanumeric() || c == '-');
                    three[2].trim_matches(plain).to_owned()
                })
                .filter(|word| !word.is_empty())
                .collect()
        };
        for topic in TOPICS {
            for name in named(topic.text) {
                let there = TOPICS.iter().any(|other| other.name == name);
                assert!(there || name == "TOPIC", "{} names {name}", topic.name);
            }
        }
        let text = |name: &str| {
            TOPICS
                .iter()
                .find(|t| t.name == name)
                .map_or("", |t| t.text)
        };
        for (name, words) in [
            ("attic", "heat stroke"),
            ("attic", "asbestos"),
            ("attic", "does not carry"),
            ("amps", "Do not open mains wires"),
            ("battery", "Fuse at the battery post"),
            ("bag", "calls for fall protection"),
            ("azimuth", "Do not trust a phone's compass"),
            ("limits", "Local codes"),
        ] {
            assert!(text(name).contains(words), "{name}: {words}");
        }
    }
}
