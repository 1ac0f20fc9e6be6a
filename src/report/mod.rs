//! Results for people and for other programs: text, JSON, CSV, a page with charts, and the folder
//! that holds them.
//!
//! Nothing is computed here that a decision depends on; that is done in
//! [`assess`](crate::assess).

mod account;
mod advice;
mod calibration;
mod case;
mod cautions;
pub mod chart;
mod check;
mod clock;
mod compare;
mod document;
mod drawings;
mod figure;
mod fitted;
mod folder;
mod font;
mod help;
mod interview;
mod json;
mod layout;
mod notices;
pub mod page;
mod readings;
mod refusal;
mod results;
mod summary;
pub mod sweep;
mod timeline;
mod tomorrow;
mod trade_rules;
mod uncertain;
mod verified;
mod weather;
mod why;
mod words;

pub use account::account_text;
pub use advice::{advice_json, advice_text};
pub use calibration::{calibration_json, calibration_text};
pub use case::Case;
pub use cautions::{caution_text, cautions_text};
pub use check::check_text;
pub use clock::{clock_json, clock_text};
pub use compare::compare_text;
pub use drawings::{case_drawings, compare_drawings};
pub use fitted::{FitInput, fit_folder};
pub use folder::{Folder, FolderError};
pub use help::{TOPICS, Topic, topics_text};
pub use interview::{Interview, Reply, read_high_low};
pub use json::{case_json, check_json, compare_json, weather_json};
pub use notices::{notice_text, notices_text};
pub use readings::{guess_text, readings_text};
pub use refusal::exchanged_text;
pub use results::results_folder;
pub use summary::summary_text;
pub use timeline::{COLUMNS_NOTE, nodes_csv, timeline_csv};
pub use tomorrow::{tomorrow_json, tomorrow_text};
pub use verified::{
    LogInput, ProofInput, VERIFIED_FILES, refused_folder, refused_json, refused_text,
    verified_folder, verified_json, verified_text,
};
pub use weather::weather_text;
pub use why::why_text;
