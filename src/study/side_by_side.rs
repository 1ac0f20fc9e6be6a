//! Houses that are run side by side though some of them could not be made.

use std::ops::Range;

use crate::house::House;
use crate::run::{Outcome, RunError, RunOptions, simulate_each};
use crate::weather::Weather;

/// Runs those houses that could be made, each in its weather, and hands each outcome to `take`; what
/// that made of them, or why there is nothing, in the order of the houses.
pub(super) fn run_made<T: Send, E: From<RunError>>(
    houses: Vec<Result<House, E>>,
    weather: &[&Weather],
    period: &Range<usize>,
    options: &RunOptions,
    take: impl Fn(Outcome) -> T + Sync,
) -> Vec<Result<T, E>> {
    let pairs = houses.iter().zip(weather);
    let made: Vec<(&House, &Weather)> = pairs
        .filter_map(|(house, weather)| Some((house.as_ref().ok()?, *weather)))
        .collect();
    let outcomes = simulate_each(&made, period, options, |_, outcome| outcome.map(&take));
    let mut outcomes = outcomes.into_iter();
    houses
        .into_iter()
        .filter_map(|house| match house {
            Ok(_) => outcomes.next().map(|outcome| outcome.map_err(E::from)),
            Err(error) => Some(Err(error)),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{HouseFile, STARTER};
    use crate::weather::MadeWeek;

    #[test]
    fn a_house_that_cannot_be_made_leaves_its_place_to_its_error() {
        let house = HouseFile::from_text(STARTER, "house.toml").unwrap().base;
        let weather = MadeWeek::default().weather().unwrap();
        let options = RunOptions {
            warm_up_days: 0,
            ..RunOptions::default()
        };
        let houses = vec![Ok(house.clone()), Err(RunError::EmptyPeriod), Ok(house)];
        let told = run_made(houses, &[&weather; 3], &(0..2), &options, |outcome| {
            outcome.design
        });
        assert!(told[0].is_ok() && told[0] == told[2]);
        assert_eq!(told[1], Err(RunError::EmptyPeriod));
    }
}
