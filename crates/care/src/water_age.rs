//! How long a water has been in use, and what the trade does about it.

use crate::case::When;
use crate::finding::{Finding, Weight};
use crate::text::{Text, say};

/// Age from which the yearly change is spoken of, days: a month before it is due, to plan it.
const YEARLY_D: f64 = 335.0;
/// Hours after a fill within which cloudiness is usual: a day, and the look on the next.
const CLEARS_H: f64 = 36.0;

/// A water that is due for its yearly change (common practice: once a year, late in autumn).
pub(crate) fn yearly(filled: When, now: When) -> Option<Finding> {
    let days = now.hours_since(filled) / 24.0;
    (days >= YEARLY_D).then(|| Finding {
        weight: Weight::Note,
        quantities: Vec::new(),
        what: say!(
            "care-yearly",
            "This water was filled {days} days ago. Drain and refill once a year, most do it late in autumn before the frost (common practice): what no dose takes out has gathered in it.",
            days = Text::figures(format!("{days:.0}"))
        ),
        advice: say!(
            "care-yearly-advice",
            "Plan the change. Power off at the breaker before the level falls; let the chlorine run out first, and let the water go only where the local code allows. Until then go by the readings."
        ),
    })
}

/// Whether cloudiness may still be a fill's own (common practice: it clears within about 24 hours).
pub(crate) fn may_still_clear(filled: When, now: When) -> bool {
    (0.0..=CLEARS_H).contains(&now.hours_since(filled))
}
