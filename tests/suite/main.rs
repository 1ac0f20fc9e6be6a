//! Integration tests, one file a capability.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

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
mod golden;
mod house_files;
mod houses;
mod integrators;
mod interview;
mod laws;
mod limits;
mod physics_tables;
mod published_attics;
mod published_barriers;
mod published_houses;
mod published_layers;
mod readings;
mod real_logs;
mod regressions;
mod report_page;
mod scene;
mod steady_state;
mod sun_and_sky;
mod sweeps;
mod table;
mod twins;
mod weather_faults;
mod weather_files;
