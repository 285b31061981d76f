//! Why a tub could not be followed, said with the numbers that a person needs.

use water::WaterError;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TubError {
    /// A field lies outside what the model accepts.
    #[error("{field} is {value} {unit}; {low} to {high} {unit} is accepted")]
    OutOfRange {
        /// The field's name, with its unit.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least accepted value.
        low: f64,
        /// Greatest accepted value.
        high: f64,
    },
    /// A field is not a finite number.
    #[error("{field} is not a finite number")]
    NotANumber {
        /// The field's name.
        field: &'static str,
    },
    /// Events or sample times that are not in order of time.
    #[error("{field} number {place} is at {at_h} h, before {before_h} h: give them in order of time")]
    OutOfOrder {
        /// Which list.
        field: &'static str,
        /// Place in the list, from 1.
        place: usize,
        /// Its time, hours.
        at_h: f64,
        /// The time that it must not precede, hours.
        before_h: f64,
    },
    /// The water itself has no equilibrium.
    #[error("the water at {at_h:.3} h: {why}")]
    Water {
        /// Hours since the start.
        at_h: f64,
        /// What the equilibrium says.
        #[source]
        why: WaterError,
    },
    /// The integration did not get through.
    #[error("the integration stopped at {at_h:.6} h after {steps} steps: {why}")]
    Stopped {
        /// Hours since the start.
        at_h: f64,
        /// Steps done.
        steps: usize,
        /// What the solver says.
        why: String,
    },
}

impl TubError {
    /// The same, told in hours since the start of all and not of a stretch that began at `start_h`.
    pub(crate) fn later(self, start_h: f64) -> Self {
        match self {
            TubError::Stopped { at_h, steps, why } => TubError::Stopped { at_h: at_h + start_h, steps, why },
            other => other,
        }
    }
}

/// Accepts a finite value in a range, and names the field if it is not.
pub(crate) fn within(
    field: &'static str,
    value: f64,
    unit: &'static str,
    (low, high): (f64, f64),
) -> Result<(), TubError> {
    if !value.is_finite() {
        Err(TubError::NotANumber { field })
    } else if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(TubError::OutOfRange { field, value, unit, low, high })
    }
}
