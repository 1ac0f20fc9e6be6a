//! What the benches against other integrators share.
#![allow(clippy::expect_used, clippy::missing_panics_doc)]

pub mod debug_json;
pub mod scene;
