//! What the entries themselves tell: void, contradictory, beyond range. Findings are data beside the result, not errors.

use crate::quantity::Quantity;
use crate::text::Text;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Worth knowing.
    Note,
    /// A reading is not used, or two disagree.
    Doubt,
    /// It bears on safety.
    Safety,
}

/// Something found in the entries.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// Which quantities it touches.
    pub quantities: Vec<Quantity>,
    /// What was found, in one sentence with its numbers.
    pub what: Text,
    /// What to do about it.
    pub advice: Text,
}
