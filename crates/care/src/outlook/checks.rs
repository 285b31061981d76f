//! Which entries disagree with the rest, and what that points to.

use crate::case::Case;
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Name, Suspected, Trait};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Offset of a pH probe from which it is spoken of: what a month's calibration is meant to keep it within (common practice).
const PROBE_PH: f64 = 0.1;
/// Chance of lying beyond it from which it is called.
const CALLED: f64 = 0.85;
/// Below this a cell makes little (common practice: many controllers stop it), °C.
const COLD_C: f64 = 15.0;

pub(super) fn of(case: &Case, learned: &Learned) -> Vec<Finding> {
    let traits = learned.traits();
    let mut all = Vec::new();
    all.extend(traits.iter().filter_map(|t| probe(learned, t)));
    all.extend(cell(case, learned, &traits));
    all.extend(learned.unrecorded().into_iter().map(|u| {
        let [low, middle, high] = u.amount;
        let day = (u.between.1.hours_since(u.between.0) / 24.0).max(0.1);
        let (what, unit, quantity) = match u.suspected {
            Suspected::Chlorine => (say!("care-check-chlorine", "chlorine"), "mg/L", Q::FreeChlorine),
            Suspected::Alkalinity => (say!("care-check-alkalinity", "acid or base"), "mg/L as CaCO3", Q::TotalAlkalinity),
            Suspected::Salt => (say!("care-check-salt", "salt"), "mg/L", Q::Salt),
            Suspected::Replaced => (say!("care-check-water", "fresh water (a top-up, a drain or a leak)"), "%", Q::Salt),
        };
        Finding {
            weight: Weight::Doubt,
            quantities: vec![quantity],
            what: say!(
                "care-check-unrecorded",
                "The readings fit far better if {what} went in without an entry, within {days} days before a reading that stands apart: {amount} ({low} to {high}); chance {chance} %.",
                what = what,
                days = Text::figures(format!("{day:.1}")),
                amount = Text::figures(format!("{middle:.0} {unit}")),
                low = Text::figures(format!("{low:.0}")),
                high = Text::figures(format!("{high:.0}")),
                chance = Text::figures(format!("{:.0}", 100.0 * u.probability))
            ),
            advice: say!("care-check-ask", "Ask who was at the tub, and write it down; if nobody was, test again."),
        }
    }));
    all
}

/// A probe whose offset the kits have shown.
fn probe(learned: &Learned, t: &Trait) -> Option<Finding> {
    let Name::Bias(number) = t.name else { return None };
    let (_, name, quantity) = learned.kit(number)?;
    let [low, middle, high] = t.now;
    let beyond = learned.chance(&t.name, |b| b > PROBE_PH).max(learned.chance(&t.name, |b| b < -PROBE_PH));
    let called = quantity == Q::Ph && learned.drifts(number) && beyond >= CALLED;
    called.then(|| {
        let amount = Text::figures(format!(
            "{:.2} ({:.2} to {:.2})",
            middle.abs(),
            low.abs().min(high.abs()),
            low.abs().max(high.abs())
        ));
        let name = Text::name(name);
        Finding {
            weight: Weight::Doubt,
            quantities: vec![quantity],
            what: if middle > 0.0 {
                say!(
                    "care-check-probe-high",
                    "{name} reads pH too high by {amount}, by the other tests of this water.",
                    name = name,
                    amount = amount
                )
            } else {
                say!(
                    "care-check-probe-low",
                    "{name} reads pH too low by {amount}, by the other tests of this water.",
                    name = name,
                    amount = amount
                )
            },
            advice: say!("care-check-calibrate", "Calibrate it in fresh buffers; until then go by the kit."),
        }
    })
}

/// A cell that makes less than it should: salt and cold come before the cell itself.
fn cell(case: &Case, learned: &Learned, traits: &[Trait]) -> Option<Finding> {
    let made = traits.iter().find(|t| t.name == Name::Cell)?;
    // Known to make less than most do.
    if made.now[2] >= made.prior[1] {
        return None;
    }
    let salt = learned.now(Q::Salt);
    let grams = Text::figures(format!("{:.1} ({:.1} to {:.1})", made.now[1], made.now[0], made.now[2]));
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
