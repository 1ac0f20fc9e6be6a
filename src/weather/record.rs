//! Weather as the engine sees it: a regular series with its place and its history.

use jiff::civil::{Date, DateTime};

use super::{Notice, Quantity, WeatherError};

/// Where the weather was.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Place {
    /// Name.
    pub name: String,
    /// Latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude, degrees, east positive.
    pub longitude_deg: f64,
    /// Local standard time less coordinated universal time, h.
    pub utc_offset_h: f64,
    /// Altitude above the sea, m.
    pub altitude_m: f64,
}

/// What sort of weather it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Recorded at the times shown.
    Measured,
    /// Months of several years put together to a typical one.
    Typical,
    /// Made from a few numbers.
    Made,
}

/// The air at the end of an interval; it varies along straight lines between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Dry-bulb temperature, K.
    pub dry_bulb_k: f64,
    /// Dew-point temperature, below freezing the frost point, K; never above the dry bulb.
    pub dew_point_k: f64,
    /// Station pressure, Pa.
    pub pressure_pa: f64,
    /// Wind speed, m/s.
    pub wind_speed_m_s: f64,
    /// Direction that the wind blows from, clockwise from north, rad.
    pub wind_direction_rad: f64,
}

/// Means over an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radiation {
    /// Global on the horizontal, W/m².
    pub global_w_m2: f64,
    /// Diffuse on the horizontal, W/m²; never above global. The rest of global is beam.
    pub diffuse_w_m2: f64,
    /// Infrared from the sky on the horizontal, W/m².
    pub infrared_down_w_m2: f64,
    /// Share of the sun's light that the ground reflects.
    pub albedo: f64,
}

/// A span that misses something for too long to be bridged. Its values are not numbers, so that a
/// run over it cannot pass unnoticed; [`Weather::span`] refuses it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Hole {
    /// First interval that is touched.
    pub first: usize,
    /// One past the last interval that is touched.
    pub end: usize,
    /// What is missing.
    pub quantity: Quantity,
}

/// Weather at a regular step in local standard time.
///
/// Temperature, humidity, pressure and wind are values at the ends of the intervals, radiation is
/// the mean over each interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    pub(super) place: Place,
    pub(super) kind: Kind,
    pub(super) source: String,
    pub(super) licence: String,
    pub(super) start: DateTime,
    pub(super) step_s: u32,
    pub(super) wind_height_m: f64,
    /// One more than there are intervals.
    pub(super) air: Vec<Air>,
    pub(super) radiation: Vec<Radiation>,
    /// Thermal resistance of snow on a roof at the ends of the intervals, m²K/W; empty where there is
    /// none.
    pub(super) snow_m2k_w: Vec<f64>,
    /// The sun over the place.
    pub(super) site: super::solar::Site,
    pub(super) holes: Vec<Hole>,
    pub(super) notices: Vec<Notice>,
}

impl Weather {
    /// Where it was.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// What sort of weather it is.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Who recorded or made it.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// The terms on which the data may be used; empty if the file does not say.
    pub fn licence(&self) -> &str {
        &self.licence
    }

    /// Start of the first interval, local standard time. A typical year is shown as
    /// [`super::TYPICAL_YEAR`].
    pub fn start(&self) -> DateTime {
        self.start
    }

    /// Length of an interval, s.
    pub fn step_s(&self) -> u32 {
        self.step_s
    }

    /// How many intervals there are.
    pub fn intervals(&self) -> usize {
        self.radiation.len()
    }

    /// Start of interval `i`, local standard time; `interval_start(intervals())` is the end.
    /// Intervals past the last civil year stand at its end.
    pub fn interval_start(&self, i: usize) -> DateTime {
        let ahead = i64::try_from(i)
            .unwrap_or(i64::MAX)
            .saturating_mul(i64::from(self.step_s));
        self.start
            .saturating_add(jiff::SignedDuration::from_secs(ahead))
    }

    /// End of the last interval, local standard time.
    pub fn end(&self) -> DateTime {
        self.interval_start(self.intervals())
    }

    /// Height above the ground at which the wind was measured, m.
    pub fn wind_height_m(&self) -> f64 {
        self.wind_height_m
    }

    /// The air at the ends of the intervals: entry 0 is the start of the first interval, and
    /// there is one entry more than there are intervals.
    pub fn air(&self) -> &[Air] {
        &self.air
    }

    /// Means over the intervals.
    pub fn radiation(&self) -> &[Radiation] {
        &self.radiation
    }

    /// Spans that cannot be simulated.
    pub fn holes(&self) -> &[Hole] {
        &self.holes
    }

    /// What was repaired, assumed or derived.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// Whether the first interval follows the last, as in a typical year.
    pub fn wraps(&self) -> bool {
        self.kind == Kind::Typical
            && u64::from(self.step_s) * self.intervals() as u64 == 365 * 86_400
    }

    /// The intervals from one instant to another, both in local standard time; the ends are moved
    /// outwards to whole intervals. For a typical year the year of the instants does not matter.
    ///
    /// # Errors
    /// [`WeatherError::Outside`] if the weather does not cover the period, [`WeatherError::Hole`]
    /// if it misses something inside it for too long.
    pub fn span(
        &self,
        from: DateTime,
        to: DateTime,
    ) -> Result<std::ops::Range<usize>, WeatherError> {
        let shift = if self.kind == Kind::Typical {
            self.start.year() - from.year()
        } else {
            0
        };
        let moved = |at: DateTime| {
            let date = Date::new(at.year() + shift, at.month(), at.day())
                .unwrap_or_else(|_| at.date().saturating_sub(jiff::Span::new().days(1)));
            date.to_datetime(at.time())
        };
        let seconds = |at: DateTime| at.duration_since(self.start).as_secs();
        let step = i64::from(self.step_s);
        let (first, end) = (
            seconds(moved(from)).div_euclid(step),
            -(-seconds(moved(to))).div_euclid(step),
        );
        let outside = |wanted| WeatherError::Outside {
            wanted,
            from: self.start,
            to: self.end(),
        };
        let first = usize::try_from(first).map_err(|_| outside(from))?;
        let end = usize::try_from(end).map_err(|_| outside(to))?;
        if first >= self.intervals() {
            return Err(outside(from));
        }
        if end > self.intervals() || end <= first {
            return Err(outside(to));
        }
        match self
            .holes
            .iter()
            .find(|hole| hole.first < end && hole.end > first)
        {
            Some(hole) => Err(WeatherError::Hole {
                from: self.interval_start(hole.first),
                to: self.interval_start(hole.end),
                quantity: hole.quantity,
            }),
            None => Ok(first..end),
        }
    }
}
