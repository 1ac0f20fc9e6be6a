//! When a fan runs or a window stands open.

/// All conditions must hold; each is a switch with its own memory.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Control {
    /// Conditions; none at all is always on.
    pub all_of: Vec<Condition>,
}

/// One switch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Condition {
    /// On when the attic air at a height rises to `on_k`, off when it falls to `off_k`.
    AtticAbove {
        /// Switches on at, K.
        on_k: f64,
        /// Switches off at, K; below `on_k`.
        off_k: f64,
        /// Height of the sensor above the attic floor, m.
        height_m: f64,
    },
    /// On when the rooms rise to `on_k`, off when they fall to `off_k`.
    LivingAbove {
        /// Switches on at, K.
        on_k: f64,
        /// Switches off at, K; below `on_k`.
        off_k: f64,
    },
    /// On when outdoors is cooler than the attic air by `margin_k`, off when it is not cooler.
    OutdoorsCoolerThanAttic {
        /// Margin, K, above zero.
        margin_k: f64,
    },
    /// On when outdoors is cooler than the rooms by `margin_k`, off when it is not cooler.
    OutdoorsCoolerThanLiving {
        /// Margin, K, above zero.
        margin_k: f64,
    },
    /// On between two times of day, local standard time; over midnight if `from_s > to_s`.
    Daily {
        /// From, s of the day.
        from_s: f64,
        /// To, s of the day.
        to_s: f64,
    },
}
