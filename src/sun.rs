//! Where the sun stands and what reaches a tilted plane.
