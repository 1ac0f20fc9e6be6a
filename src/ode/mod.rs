//! Continuous-time solvers for networks of stores and flows; no physics.
