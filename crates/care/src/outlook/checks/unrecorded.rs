//! What probably happened and nobody wrote down.

use crate::finding::{Finding, Weight};
use crate::learn::{Suspected, Unrecorded};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

pub(super) fn unrecorded(u: Unrecorded) -> Finding {
    let [low, middle, high] = u.amount;
    let day = (u.between.1.hours_since(u.between.0) / 24.0).max(0.1);
    let (what, unit, quantity) = match u.suspected {
        Suspected::Chlorine => (say!("care-check-chlorine", "chlorine"), "mg/L", Q::FreeChlorine),
        Suspected::Alkalinity => {
            (say!("care-check-alkalinity", "acid or base"), "mg/L as CaCO3", Q::TotalAlkalinity)
        }
        Suspected::Salt => (say!("care-check-salt", "salt"), "mg/L", Q::Salt),
        Suspected::Replaced => {
            (say!("care-check-water", "fresh water (a top-up, a drain or a leak)"), "%", Q::Salt)
        }
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
        advice: say!(
            "care-check-ask",
            "Ask who was at the tub, and write it down; if nobody was, test again."
        ),
    }
}
