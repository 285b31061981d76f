//! Bands: where each quantity should be, as data with a source for each; the user's own; bathing limits.
//!
//! Where authorities differ the default is the safer figure, and [`also_said`] gives the others to choose from.
//! A local code that binds the tub beats everything here.

mod bathing;
mod chosen;
mod defaults;
mod said;

use crate::text::Text;
pub use bathing::{BathingLimits, bathing_limits};
pub use chosen::{BandError, with_override};
pub use defaults::{default_band, salt_band};
pub use said::{Said, also_said};

/// How the tub is disinfected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// Salt and an electrolytic cell.
    SaltCell,
    /// Chlorine by hand.
    HandDosedChlorine,
    /// Bromine.
    Bromine,
}

/// Where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A home.
    Home,
    /// A let.
    Rental,
    /// A public spa.
    Public,
}

/// A band.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Lower edge.
    pub low: f64,
    /// Lower end of the aim.
    pub aim_low: f64,
    /// Upper end of the aim.
    pub aim_high: f64,
    /// Upper edge.
    pub high: f64,
    /// Below or above this nobody bathes; no silent override goes beyond.
    pub hard_low: Option<f64>,
    /// See `hard_low`.
    pub hard_high: Option<f64>,
    /// Where it comes from.
    pub source: Text,
    /// Set by the user.
    pub by_user: bool,
}

impl Band {
    /// Whether a value lies within the edges.
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}
