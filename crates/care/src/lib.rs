//! Decisions of water care: what a reading says, where each quantity should be, what to do.
//!
//! Pure: no files, no clock, no randomness. Text shapes live in `wire` alone.

// The tests of this crate share their random cases with those outside of it.
#[cfg(test)]
extern crate self as care;

pub mod ahead;
pub mod amount;
pub mod band;
pub mod case;
pub mod chem;
pub mod estimate;
pub mod finding;
pub mod fuse;
pub mod learn;
pub mod method;
pub mod note;
pub mod outlook;
pub mod plan;
pub mod planner;
pub mod predict;
pub mod quantity;
mod refusal;
pub mod text;
mod water_age;
pub mod wire;
