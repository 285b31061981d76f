//! Bands.
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
    pub source: String,
    /// Set by the user.
    pub by_user: bool,
}
