//! Hourly weather: readers, repairs, derived components, conditions inside the hour.
