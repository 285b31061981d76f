//! What the learner is told: the maker's volume, the supplier's report of the tap, the shelf's labels.

use crate::chance::{Chance, For};
use care::case::{Case, Entry, Happening, When};
use care::wire::case::CaseText;

/// The moment of the fill: 1 March 2026, 10:00 UTC (invented; it only has to be one).
pub const FILLED: When = When(1_772_359_200);

const SALT_CELL: &str = include_str!("tubs/salt-cell.toml");
const BY_HAND: &str = include_str!("tubs/by-hand.toml");

/// The case as it stands at the fill, with nothing read or dosed.
pub(crate) fn case(seed: u64) -> Case {
    let mut chance = Chance::of(seed, For::Tub);
    let text = if chance.happens(0.5) { SALT_CELL } else { BY_HAND };
    let mut case = match CaseText::parse(text.as_bytes(), "the practice tub").finish(None) {
        Ok(case) => case,
        Err(faults) => unreachable!("a built-in case is wrong: {faults:?}"),
    };
    case.tub.volume_l = [900.0, 1050.0, 1200.0, 1350.0, 1500.0][chance.below(5)];
    if let Some(tap) = &mut case.source_water {
        let alkalinity = (chance.log_between(35.0, 220.0) / 5.0).round() * 5.0;
        let hardness = (chance.log_between(0.5, 1.6) * alkalinity / 5.0).round() * 5.0;
        tap.total_alkalinity_mg_l_caco3 = Some(alkalinity);
        tap.calcium_hardness_mg_l_caco3 = Some(hardness);
        // The softer a supply, the higher the pH that it is sent out with (common practice against corrosion).
        let ph = 8.2 - 0.9 * ((alkalinity - 35.0) / 185.0) + chance.between(-0.15, 0.15);
        tap.ph = Some((ph * 10.0).round() / 10.0);
        tap.chloride_mg_l = Some((chance.between(8.0, 60.0)).round());
    }
    case.entries.push(Entry { at: Some(FILLED), what: Happening::Fill });
    case.now = Some(FILLED);
    case
}

#[cfg(test)]
mod tests {
    use super::*;
    use care::band::Regime;

    #[test]
    fn both_kinds_of_tub_come_up_and_can_be_read() {
        let cells = (0..200).filter(|s| case(*s).tub.regime == Regime::SaltCell).count();
        assert!((70..130).contains(&cells), "{cells}");
    }
}
