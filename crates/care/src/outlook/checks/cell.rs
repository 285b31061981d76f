//! A cell that makes less than it should.

use crate::case::Case;
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Name, Trait, three};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Below this a cell makes little (common practice: many controllers stop it), °C.
const COLD_C: f64 = 15.0;

/// A cell that makes less than it should: salt and cold come before the cell itself.
pub(super) fn cell(case: &Case, learned: &Learned, traits: &[Trait]) -> Option<Finding> {
    let most = traits.iter().find(|t| t.name == Name::Cell)?.prior[1];
    let [low, middle, high] = three(&learned.cell_g_per_day());
    // Known to make less than most do.
    if high >= most {
        return None;
    }
    let salt = learned.now(Q::Salt);
    let grams = Text::figures(format!("{middle:.1} ({low:.1} to {high:.1})"));
    let what = say!(
        "care-check-cell",
        "The cell makes about {grams} g of chlorine a day at full output, less than most.",
        grams = grams
    );
    let advice = match (case.tub.cell_window_mg_l, salt) {
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
        _ => say!(
            "care-check-cell-itself",
            "Measure the salt first: if it is low, raise it, wait 24 hours and look again. Then look at the plates for scale, and only then at the cell."
        ),
    };
    Some(Finding { weight: Weight::Note, quantities: vec![Q::FreeChlorine, Q::Salt], what, advice })
}
