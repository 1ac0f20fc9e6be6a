//! Integration tests, one file a capability.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
#![allow(clippy::disallowed_methods)] // Nothing here feeds a result.

mod advice;
mod agreement;
mod air_flow_tables;
mod architecture;
mod assumptions;
mod bad_houses;
mod bad_weather;
mod balance_from_files;
mod balances;
mod calibration;
mod cli;
mod doubt;
mod fit_page;
mod golden;
mod house_fans;
mod house_files;
mod houses;
mod integrators;
mod interview;
mod lanes;
mod laws;
mod limits;
mod physics_tables;
mod published_attics;
mod published_barriers;
mod published_fan_rules;
mod published_houses;
mod published_layers;
mod published_rules;
mod readings;
mod real_logs;
mod regressions;
mod report_page;
mod rooms_below;
mod scene;
mod steady_state;
mod sun_and_sky;
mod sweeps;
mod table;
mod twins;
mod verified;
mod weather_faults;
mod weather_files;
