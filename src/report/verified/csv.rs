//! Readings after a change and days on either side as CSV, so that charts can be drawn again.

use std::fmt::Write as _;

use crate::study::verify::Verified;
use crate::units::celsius;

use super::super::layout::csv_field;
use super::super::words::civil;

/// What the columns mean: goes with the files.
pub(super) const COLUMNS: &str = "\
In SI units whatever was asked for on the screen; times are local standard time.

after.csv: one row for each reading after the change.
  time        when it was taken
  column      name of the log's column
  logged_c    the reading, degrees Celsius
  without_c   what the house as it was would likeliest have read: worked out, less what it was off at
              that time of the day before the change
  from_c, to_c  limits between which nine in ten such readings would have lain, each by itself

days.csv: one row for each whole day.
  date        the day
  column      name of the log's column
  side        before or after the change
  drop_k      how much lower the day's high was than without the change, K; of days before, where
              nothing was changed, how far the fitted house was off beside its mean
  from_k, to_k  limits between which nine in ten lie, of that day by itself; days after only

The mean of drop_k over the days after is the drop of the daily highs that is told. Its limits are
narrower than those of a day, since days make up for one another.
";

/// Readings after the change.
pub(super) fn readings_csv(found: &Verified) -> String {
    let mut text = String::from("time,column,logged_c,without_c,from_c,to_c\n");
    for drop in &found.drops {
        let (name, all) = (csv_field(&drop.column), &drop.without);
        let values = all.logged_k.iter().zip(&all.likely_k).zip(&all.limits_k);
        for (at_s, ((logged_k, likely_k), [low_k, high_k])) in all.times_s.iter().zip(values) {
            let at = civil(*at_s).strftime("%Y-%m-%dT%H:%M:%S");
            let [logged, likely, low, high] =
                [logged_k, likely_k, low_k, high_k].map(|k| celsius(*k));
            let _ = writeln!(
                text,
                "{at},{name},{logged:.4},{likely:.4},{low:.4},{high:.4}"
            );
        }
    }
    text
}

/// Days on either side.
pub(super) fn days_csv(found: &Verified) -> String {
    let mut text = String::from("date,column,side,drop_k,from_k,to_k\n");
    for drop in &found.drops {
        let name = csv_field(&drop.column);
        for (date, drop_k) in &drop.days.before {
            let _ = writeln!(text, "{date},{name},before,{drop_k:.4},,");
        }
        for (date, told) in &drop.days.after {
            let [low, high] = told.interval;
            let _ = writeln!(
                text,
                "{date},{name},after,{:.4},{low:.4},{high:.4}",
                told.value
            );
        }
    }
    text
}
