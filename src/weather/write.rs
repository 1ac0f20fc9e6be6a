//! Weather as a file that describes itself and can be read again.

use std::fmt::Write as _;
use std::path::Path;

use crate::units::celsius;

use super::dew_point;
use super::{Kind, Weather, WeatherError};

impl Weather {
    /// Writes a file that [`Weather::read`] reads without further description; whole or not at
    /// all.
    ///
    /// # Errors
    /// [`WeatherError::Write`] if the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), WeatherError> {
        let failed = |source| WeatherError::Write {
            path: path.into(),
            source,
        };
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(".part");
        let part = path.with_file_name(name);
        std::fs::write(&part, self.to_text()).map_err(failed)?;
        std::fs::rename(&part, path).map_err(failed)
    }

    /// The text of that file. The first row tells the air at the start and has no radiation; each
    /// other row ends an interval. Temperatures have three digits after the point, radiation two.
    pub fn to_text(&self) -> String {
        let mut text = self.head();
        for i in 0..=self.intervals() {
            let at = self.interval_start(i);
            let air = self.air[i];
            let _ = write!(
                text,
                "{},{:.3},{:.3},{:.1},{:.3},{:.2}",
                at.strftime("%Y-%m-%d %H:%M"),
                celsius(air.dry_bulb_k),
                celsius(dew_point::recorded_k(air.dew_point_k)),
                air.pressure_pa,
                air.wind_speed_m_s,
                air.wind_direction_rad.to_degrees(),
            );
            let _ = match i
                .checked_sub(1)
                .and_then(|before| self.radiation.get(before))
            {
                Some(mean) => writeln!(
                    text,
                    ",{:.2},{:.2},{:.2},{:.3}",
                    mean.global_w_m2, mean.diffuse_w_m2, mean.infrared_down_w_m2, mean.albedo
                ),
                None => writeln!(text, ",,,,"),
            };
        }
        text.replace("NaN", "")
    }

    fn head(&self) -> String {
        let place = &self.place;
        let kind = match self.kind {
            Kind::Measured => "measured",
            Kind::Typical => "typical",
            Kind::Made => "made",
        };
        format!(
            "# Weather, {kind}.\n\
             # Source: {source}\n\
             # Place: {name}, {latitude} N, {longitude} E, {altitude} m\n\
             # Licence: {licence}\n\
             # Units: those in the column names; local standard time (UTC{offset:+}), rows end their intervals\n\
             #: place = {name_text}\n\
             #: latitude_deg = {latitude}\n\
             #: longitude_deg = {longitude}\n\
             #: altitude_m = {altitude}\n\
             #: utc_offset_h = {offset}\n\
             #: kind = \"{kind}\"\n\
             #: source = {source_text}\n\
             #: licence = {licence_text}\n\
             #: stamp = \"end\"\n\
             #: readings = \"instant\"\n\
             #: wind_height_m = {wind_height}\n\
             #: time = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n\
             #: [columns]\n\
             #: dry_bulb = {{ column = \"dry_bulb_c\", unit = \"C\" }}\n\
             #: dew_point = {{ column = \"dew_point_c\", unit = \"C\" }}\n\
             #: pressure = {{ column = \"pressure_pa\", unit = \"Pa\" }}\n\
             #: wind_speed = {{ column = \"wind_speed_m_s\", unit = \"m/s\" }}\n\
             #: wind_direction = {{ column = \"wind_from_deg\", unit = \"deg\" }}\n\
             #: global = {{ column = \"global_w_m2\", unit = \"W/m2\" }}\n\
             #: diffuse = {{ column = \"diffuse_w_m2\", unit = \"W/m2\" }}\n\
             #: infrared_down = {{ column = \"infrared_down_w_m2\", unit = \"W/m2\" }}\n\
             #: albedo = {{ column = \"albedo\", unit = \"1\" }}\n\
             time,dry_bulb_c,dew_point_c,pressure_pa,wind_speed_m_s,wind_from_deg,global_w_m2,diffuse_w_m2,infrared_down_w_m2,albedo\n",
            source = one_line(&self.source),
            name = one_line(&place.name),
            licence = if self.licence.is_empty() {
                "none stated".into()
            } else {
                one_line(&self.licence)
            },
            name_text = quoted(&place.name),
            source_text = quoted(&self.source),
            licence_text = quoted(&self.licence),
            latitude = place.latitude_deg,
            longitude = place.longitude_deg,
            altitude = place.altitude_m,
            offset = place.utc_offset_h,
            wind_height = self.wind_height_m,
        )
    }
}

fn one_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// A TOML string.
fn quoted(text: &str) -> String {
    format!(
        "\"{}\"",
        one_line(text).replace('\\', "\\\\").replace('"', "\\\"")
    )
}
