//! Bathing that nobody wrote down. The model spreads it evenly over a week, but it comes in bursts: after a quiet day there is more
//! free chlorine than the model believes and more carbon dioxide, after a party less of both. So a reading of chlorine or pH has a
//! further error against the model, and what it shows of that is true of the water (`last_look`).

use super::chance::Chance;
use super::history::{History, Observed, Said};
use super::kits::Kits;
use super::likelihood::{FREEDOM, scale};
use crate::quantity::Quantity as Q;

/// Relative standard error that a burst makes of free chlorine, and what it makes of pH by the carbon dioxide that it lets out
/// (judgement, by coverage in the practice world: docs/learn.md).
pub(super) const BURST: f64 = 0.2;
pub(super) const BURST_PH: f64 = 0.07;

/// A reading of a kit, with the further error if bursts tell of it and no bath was written down.
pub(super) fn with_burst(history: &History, mut observed: Observed) -> Observed {
    if let (false, Said::Value { value, .. }) = (history.bathing_is_seen(), observed.said) {
        observed.burst = match observed.quantity {
            Q::FreeChlorine => BURST * value,
            Q::Ph => BURST_PH,
            _ => 0.0,
        };
    }
    observed
}

/// What the water is at a reading where the model believes `believed`: between the two by what a burst and what the kit may
/// be off. A great difference is a great burst rather than a slip: heavy tails are the burst's.
pub(super) fn shown(observed: &Observed, believed: f64, kits: &Kits, chance: &mut Chance) -> f64 {
    let Said::Value { value, standard_error } = observed.said else { return believed };
    let (kit_bias, error) = (kits.bias_of(observed), kits.error(observed.kit));
    let away = value - kit_bias - believed;
    let (scale, _) = scale(standard_error, observed.burst, error);
    let z = away / scale;
    let burst = observed.burst.powi(2) * (FREEDOM + z * z) / (FREEDOM + 1.0);
    let kit = (error * standard_error).powi(2);
    let weight = if burst + kit > 0.0 { burst / (burst + kit) } else { 0.0 };
    (believed + weight * away + (weight * kit).sqrt() * chance.normal()).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::case::CaseText;

    /// A tub without a bath in its entries.
    fn history() -> History {
        let text = "[tub]\nvolume_l = 1200\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"dichlor\"\nname = \"quick\"\navailable_chlorine_percent = 56\n\
             [[reading]]\nat = 2026-03-01T18:00:00Z\nquantity = \"ph\"\nvalue = 7.5\nmethod = \"photometer\"\n";
        History::of(&CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case")).unwrap()
    }

    #[test]
    fn a_ph_is_believed_by_what_its_kit_errs() {
        let of = |last: f64, error: f64| {
            let history = history();
            let said = Said::Value { value: last, standard_error: error };
            let plain = Observed { at_h: 1.0, quantity: Q::Ph, said, kit: 0, burst: 0.0 };
            let kits = Kits::of(1, std::iter::empty());
            let chance = &mut Chance::of(5);
            let all = (0..400).map(|_| shown(&with_burst(&history, plain), 7.5, &kits, chance));
            all.sum::<f64>() / 400.0
        };
        assert!((of(7.8, 0.02) - 7.8).abs() < 0.05, "{}", of(7.8, 0.02));
        assert!((of(7.8, 0.3) - 7.5).abs() < 0.07, "{}", of(7.8, 0.3));
    }

    #[test]
    fn a_kit_that_errs_widely_moves_little_and_a_great_difference_is_a_burst() {
        let history = history();
        let at = |value: f64, kit_error: f64, believed: f64| {
            let said = Said::Value { value, standard_error: kit_error };
            let plain = Observed { at_h: 1.0, quantity: Q::FreeChlorine, said, kit: 0, burst: 0.0 };
            let observed = with_burst(&history, plain);
            let chance = &mut Chance::of(3);
            let kits = Kits::of(1, std::iter::empty());
            let all = (0..400).map(|_| shown(&observed, believed, &kits, chance));
            all.sum::<f64>() / 400.0
        };
        // Of equal errors half of the difference, of heavy tails a little more.
        assert!((at(4.0, 0.8, 4.8) - 4.4).abs() < 0.1, "{}", at(4.0, 0.8, 4.8));
        assert!((at(4.0, 4.0, 4.8) - 4.8).abs() < 0.2);
        assert!((at(4.0, 0.1, 0.5) - 4.0).abs() < 0.1);
    }
}
