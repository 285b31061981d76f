//! A cell that makes less than it should.

use super::{percent, read, share};
use crate::case::Case;
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Name, Trait, three};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Chance from which a cell is said to make less than most.
const SURELY: f64 = 0.95;
/// Below this a cell makes little (common practice: many controllers stop it), °C.
const COLD_C: f64 = 15.0;

/// Readings of free chlorine from which a cell is spoken of (judgement).
const READINGS: usize = 4;

/// A cell that makes less than it should: salt and cold come before the cell itself. Of one that nobody said what it is set to, nothing is
/// known.
pub(super) fn cell(case: &Case, learned: &Learned, traits: &[Trait]) -> Option<Finding> {
    let most = traits.iter().find(|t| t.name == Name::Cell)?.prior[1];
    let made = learned.cell_g_per_day();
    let chance = share(&made, |g| g < most);
    let (count, _) = read(learned, Q::FreeChlorine, 0.0);
    if chance < SURELY || count < READINGS || !learned.cell_is_told() {
        return None;
    }
    let [low, middle, high] = three(&made);
    let what = say!(
        "care-check-cell",
        "The cell makes about {grams} g of chlorine a day at full output, less than most (chance {chance} %).",
        grams = Text::figures(format!("{middle:.1} ({low:.1} to {high:.1})")),
        chance = percent(chance)
    );
    let (salt_read, _) = read(learned, Q::Salt, 0.0);
    let advice = match (case.tub.cell_window_mg_l, learned.now(Q::Salt)) {
        (Some((low, _)), Some([_, middle, _])) if middle < low => say!(
            "care-check-cell-salt",
            "The salt is below the cell's window: raise the salt, wait 24 hours, look again, before the cell is blamed."
        ),
        _ if case.tub.temperature_c.is_some_and(|t| t < COLD_C) => {
            say!(
                "care-check-cell-cold",
                "The water is cold, in which a cell makes little: warm it and look again, before the cell is blamed."
            )
        }
        (Some((low, _)), Some([least, ..])) if salt_read > 0 && least >= low => say!(
            "care-check-cell-plates",
            "The salt is in the cell's window and the water is warm: with the power off at the breaker, look at the plates for scale; only then suspect the cell."
        ),
        _ => say!(
            "care-check-cell-itself",
            "Measure the salt first: if it is low, raise it, wait 24 hours and look again. Then, with the power off at the breaker, look at the plates for scale, and only then at the cell."
        ),
    };
    Some(Finding { weight: Weight::Note, quantities: vec![Q::FreeChlorine, Q::Salt], what, advice })
}
