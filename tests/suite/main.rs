//! Integration tests, one file a capability.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod table;
