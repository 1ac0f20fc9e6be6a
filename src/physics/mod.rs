//! One file a mechanism: formulas with their sources, `f64` in and `f64` out.
