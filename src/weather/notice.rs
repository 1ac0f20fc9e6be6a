//! What was repaired, assumed or derived, with the uncertainty that it brings.

use jiff::civil::{Date, DateTime};

use super::Quantity;

/// Something that a user of the weather should know. Data only: words are made elsewhere.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(tag = "notice", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Notice {
    /// Short gaps were bridged by straight lines (radiation: by the clearness of the sky).
    GapsBridged {
        /// What was missing.
        quantity: Quantity,
        /// How many gaps.
        gaps: usize,
        /// How many values.
        values: usize,
    },
    /// Longer gaps were filled with the same hours of the days before and after.
    GapsFromNeighbourDays {
        /// What was missing.
        quantity: Quantity,
        /// How many gaps.
        gaps: usize,
        /// How many values.
        values: usize,
    },
    /// A span misses something for too long: it is not simulated.
    Hole {
        /// First instant that misses something.
        #[serde(serialize_with = "as_text")]
        from: DateTime,
        /// Last instant that misses something.
        #[serde(serialize_with = "as_text")]
        to: DateTime,
        /// What is missing.
        quantity: Quantity,
    },
    /// Values measured at the house stand in place of the file's.
    MeasuredAtHouse {
        /// What was measured.
        quantity: Quantity,
        /// How many values.
        values: usize,
        /// How many there could be.
        of: usize,
    },
    /// Values outside the believable range were taken as missing.
    UnbelievableDropped {
        /// What they were of.
        quantity: Quantity,
        /// How many.
        values: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// Small negative radiation (the zero offset of instruments at night) was set to zero.
    NightOffsetsClipped {
        /// Which radiation.
        quantity: Quantity,
        /// How many values.
        values: usize,
        /// The lowest, W/m².
        lowest_w_m2: f64,
    },
    /// Radiation was recorded while the sun is below the horizon, and dropped. Many such hours
    /// point to a wrong offset from UTC or a wrong stamp convention.
    SunBelowHorizon {
        /// How many intervals.
        intervals: usize,
        /// The largest mean that was dropped, W/m².
        highest_w_m2: f64,
    },
    /// Global radiation above what the sun gives outside the air: brought down to 1.5 times that.
    BrighterThanPossible {
        /// How many intervals.
        intervals: usize,
        /// The largest excess, W/m².
        highest_w_m2: f64,
    },
    /// Global, direct and diffuse radiation do not agree with one another; global and diffuse
    /// are used.
    ComponentsDisagree {
        /// Mean of global − (direct on the horizontal + diffuse) with the sun up, W/m².
        mean_w_m2: f64,
        /// Root of the mean square of the same, W/m².
        rms_w_m2: f64,
    },
    /// Global radiation is the sum of direct and diffuse.
    GlobalFromComponents,
    /// Global radiation was derived from cloud cover (Kasten & Czeplak 1980).
    GlobalFromCloud {
        /// Uncertainty of an hour, %.
        hour_percent: f64,
        /// Uncertainty of a day, %.
        day_percent: f64,
    },
    /// Global radiation was derived from each day's temperature range (Allen et al. 1998,
    /// FAO-56 eq. 50), shaped by the clear-sky curve and by how warm and damp each hour was.
    GlobalFromTemperatureRange {
        /// The coefficient, 1/√K.
        coefficient: f64,
        /// Uncertainty of a day, %.
        day_percent: f64,
        /// Uncertainty of a month, %.
        month_percent: f64,
    },
    /// Direct and diffuse radiation were split from global (Erbs et al. 1982).
    DiffuseFromGlobal,
    /// Diffuse radiation is what direct leaves of global.
    DiffuseFromDirect,
    /// Infrared was derived from dew point and cloud cover (Berdahl & Martin 1984).
    InfraredFromCloud {
        /// Uncertainty of the clear sky, W/m²: its daytime bias and spread.
        uncertainty_w_m2: f64,
    },
    /// Infrared was derived from dew point and a cloud cover that was itself estimated from the
    /// clearness of the sky by day and carried over the night.
    InfraredFromClearness {
        /// Uncertainty, W/m².
        uncertainty_w_m2: f64,
    },
    /// In gaps too long to be bridged a quantity was derived from the others.
    DerivedWhereMissing {
        /// What was missing.
        quantity: Quantity,
        /// How many intervals.
        intervals: usize,
    },
    /// Dew point was derived from relative humidity.
    DewPointFromRelativeHumidity,
    /// There was no humidity: the dew point is each day's lowest temperature (Allen et al. 1998,
    /// FAO-56 eq. 48). In dry places the true dew point is some kelvins lower.
    DewPointFromDailyLow {
        /// Uncertainty, K.
        uncertainty_k: f64,
    },
    /// There was no pressure: that of the standard atmosphere at the altitude is used.
    PressureFromAltitude,
    /// There was no wind speed: a steady wind is used.
    WindSpeedAssumed {
        /// The speed, m/s.
        speed_m_s: f64,
    },
    /// There was no wind direction: a steady one is used.
    WindDirectionAssumed {
        /// The direction it blows from, degrees.
        direction_deg: f64,
    },
    /// The ground's reflectance was not recorded.
    AlbedoAssumed {
        /// The value used.
        albedo: f64,
    },
    /// Rows of a finer step were averaged.
    Averaged {
        /// Step of the file, s.
        from_step_s: u32,
        /// Step used, s.
        to_step_s: u32,
    },
    /// The intervals of the file do not begin on the clock's steps; they were moved there by the
    /// clearness of the sky.
    Realigned {
        /// By how much, s.
        by_s: i64,
    },
    /// The months come from different years and are put together to one.
    MonthsFromDifferentYears {
        /// The year that stands for them.
        shown_as: i16,
    },
    /// Rows of the 29th of February of a typical year were left out.
    LeapDayLeftOut {
        /// How many rows.
        rows: usize,
    },
    /// Everything was made from a few numbers: this is no measurement.
    Made {
        /// First day.
        #[serde(serialize_with = "as_text")]
        from: Date,
        /// How many days.
        days: usize,
    },
}

fn as_text<T: std::fmt::Display, S: serde::Serializer>(
    value: &T,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_str(value)
}
