//! What probably happened and nobody wrote down.

use crate::finding::{Finding, Weight};
use crate::learn::{Name, Suspected, Trait, Unrecorded};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

pub(super) fn unrecorded(u: Unrecorded) -> Finding {
    let [low, middle, high] = u.amount;
    let lost = middle < 0.0;
    // Of what was lost, how much: the ends change places.
    let [low, middle, high] = if lost { [-high, -middle, -low] } else { [low, middle, high] };
    let day = (u.between.1.hours_since(u.between.0) / 24.0).max(0.1);
    let (what, unit, quantity) = match u.suspected {
        Suspected::Chlorine => (say!("care-check-chlorine", "chlorine"), "mg/L", Q::FreeChlorine),
        Suspected::Alkalinity if lost => {
            (say!("care-check-acid", "acid"), "mg/L as CaCO3", Q::TotalAlkalinity)
        }
        Suspected::Alkalinity => {
            (say!("care-check-base", "bicarbonate or another base"), "mg/L as CaCO3", Q::TotalAlkalinity)
        }
        Suspected::Salt => (say!("care-check-salt", "salt"), "mg/L", Q::Salt),
        Suspected::Calcium => {
            (say!("care-check-hardness", "calcium hardness"), "mg/L as CaCO3", Q::CalciumHardness)
        }
        Suspected::Cyanurate => (
            say!("care-check-stabiliser", "cyanuric acid (stabiliser, or chlorine that carries it)"),
            "mg/L",
            Q::CyanuricAcid,
        ),
        Suspected::Replaced => {
            (say!("care-check-water", "fresh water (a top-up, a drain or a leak)"), "%", Q::Salt)
        }
    };
    let days = Text::figures(format!("{day:.1}"));
    let amount = Text::figures(format!("{middle:.0} {unit}"));
    let [low, high] = [low, high].map(|x| Text::figures(format!("{x:.0}")));
    let chance = Text::figures(format!("{:.0}", 100.0 * u.probability));
    Finding {
        weight: Weight::Doubt,
        quantities: vec![quantity],
        what: if lost && u.suspected != Suspected::Alkalinity {
            say!(
                "care-check-lost",
                "The readings fit far better if {what} was lost without an entry, within {days} days before a reading that stands apart: {amount} ({low} to {high}); chance {chance} %.",
                what = what,
                days = days,
                amount = amount,
                low = low,
                high = high,
                chance = chance
            )
        } else {
            say!(
                "care-check-unrecorded",
                "The readings fit far better if {what} went in without an entry, within {days} days before a reading that stands apart: {amount} ({low} to {high}); chance {chance} %.",
                what = what,
                days = days,
                amount = amount,
                low = low,
                high = high,
                chance = chance
            )
        },
        advice: say!(
            "care-check-ask",
            "Ask who was at the tub, and write it down; if nobody was, test again."
        ),
    }
}

/// The base that was given against chlorine's acid, where without any the entries lead to no water.
pub(super) fn base(traits: &[Trait]) -> Option<Finding> {
    let [low, middle, high] =
        traits.iter().find(|t| t.name == Name::Base)?.now.map(|x| Text::figures(format!("{x:.1}")));
    Some(Finding {
        weight: Weight::Doubt,
        quantities: vec![Q::TotalAlkalinity],
        what: say!(
            "care-check-no-base",
            "By the entries no alkalinity could be left by now: bicarbonate or another base must have gone in without an entry, about {amount} mg/L of alkalinity a day ({low} to {high}).",
            amount = middle,
            low = low,
            high = high
        ),
        advice: say!(
            "care-check-no-base-advice",
            "Write down every addition of bicarbonate or soda ash, and every change of water."
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::When;

    fn said(suspected: Suspected, amount: [f64; 3]) -> String {
        let between = (When(0), When(36 * 3600));
        unrecorded(Unrecorded { suspected, between, amount, probability: 0.8 }).what.to_string()
    }

    #[test]
    fn what_went_is_not_said_to_have_come() {
        let lost = said(Suspected::Chlorine, [-9.0, -3.0, -1.0]);
        assert!(lost.contains("chlorine was lost") && lost.contains("3 mg/L (1 to 9)"), "{lost}");
        let added = said(Suspected::Chlorine, [1.0, 4.0, 8.0]);
        assert!(added.contains("chlorine went in") && added.contains("4 mg/L (1 to 8)"), "{added}");
        let acid = said(Suspected::Alkalinity, [-40.0, -30.0, -20.0]);
        assert!(acid.contains("if acid went in") && acid.contains("30 mg/L as CaCO3 (20 to 40)"), "{acid}");
        let base = said(Suspected::Alkalinity, [20.0, 30.0, 40.0]);
        assert!(base.contains("bicarbonate or another base went in"), "{base}");
    }
}
