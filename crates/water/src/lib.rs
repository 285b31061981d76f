//! Aqueous chemistry of tub water.
//!
//! State is component totals per kilogram of water ([`Totals`], conserved and linear under mixing and dosing) and a
//! temperature; one equilibrium solve ([`Equilibria`]) derives pH and all else. Nothing stores a pH as truth.
//! Pure: no files, no clock, no randomness.

pub mod activity;
pub mod addition;
pub mod chemical;
pub mod chlorine;
pub mod conductivity;
pub mod constants;
pub mod equilibrium;
pub mod error;
mod exponential;
mod linear;
pub mod saturation;
pub mod sources;
pub mod species;
pub mod titration;
pub mod totals;
pub mod units;

pub use chemical::Chemical;
pub use equilibrium::{Equilibria, Hint, Speciation};
pub use error::WaterError;
pub use totals::Totals;
pub use units::{Celsius, Ph};
