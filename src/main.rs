//! The `rafterheat` command.

fn main() {}
