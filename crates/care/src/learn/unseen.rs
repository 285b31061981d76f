//! Bathing that nobody wrote down. The model spreads it evenly over a week, but it comes in bursts: after a quiet day there is more
//! free chlorine than the model believes, after a party less. So a reading of it has a further error against the model, and
//! what it shows of that is true of the water: the tub goes on from there, until the chlorine of that hour is used up.

use super::chance::Chance;
use super::history::{History, Observed, Said};
use super::learned::Learned;
use super::likelihood::{FREEDOM, residual};
use super::oxidant::Alone;
use super::posterior::bias;
use crate::quantity::Quantity as Q;
use water::units::{mg_l_from_mol_kg, mol_kg_from_mg_l, molar_mass};

/// Relative standard error that a burst makes of free chlorine, and what it makes of pH by the carbon dioxide that it lets out
/// (judgement, by coverage in the practice world: docs/learn.md).
pub(super) const BURST: f64 = 0.2;
pub(super) const BURST_PH: f64 = 0.07;

/// A reading of a kit, with the further error if bursts tell of it and no bath was written down.
pub(super) fn with_burst(history: &History, mut observed: Observed) -> Observed {
    if let (false, Said::Value { value, standard_error }) = (history.bathing_is_seen(), &mut observed.said) {
        *standard_error = match observed.quantity {
            Q::FreeChlorine => standard_error.hypot(BURST * *value),
            Q::Ph => standard_error.hypot(BURST_PH),
            _ => *standard_error,
        };
    }
    observed
}

/// The last reading of free chlorine by hand, if bursts tell of it. A probe's stream shows bursts as they come.
fn last_reading(history: &History) -> Option<&Observed> {
    let by_hand = |kit: usize| history.kits.get(kit).is_some_and(|k| k.drift_error == 0.0);
    let is_one = |o: &&Observed| {
        o.quantity == Q::FreeChlorine && matches!(o.said, Said::Value { .. }) && by_hand(o.kit)
    };
    history.observed.iter().rfind(is_one).filter(|_| !history.bathing_is_seen())
}

/// Free chlorine at a reading, mg/L, where the model believes `believed`: between the two by what a burst and what the kit may
/// be off. A great difference is a great burst rather than a slip: heavy tails are the burst's.
fn shown(history: &History, observed: &Observed, believed: f64, kit_bias: f64, chance: &mut Chance) -> f64 {
    let Said::Value { value, standard_error } = observed.said else { return believed };
    let away = value - kit_bias - believed;
    let z = residual(observed, believed + kit_bias, history.kits.get(observed.kit), 1.0).z;
    let burst = (BURST * value).powi(2) * (FREEDOM + z * z) / (FREEDOM + 1.0);
    let kit = (standard_error.powi(2) - (BURST * value).powi(2)).max(0.0);
    let weight = if burst + kit > 0.0 { burst / (burst + kit) } else { 0.0 };
    (believed + weight * away + (weight * kit).sqrt() * chance.normal()).max(0.0)
}

impl Learned {
    /// The draws' waters brought to what the last reading of free chlorine shows.
    pub(super) fn take_last_burst(&mut self, chance: &mut Chance) {
        let Some(observed) = last_reading(&self.history).copied() else { return };
        let all = self.acts();
        let mut draws = std::mem::take(&mut self.draws);
        for draw in &mut draws {
            let things = self.course(draw).things;
            let mut alone = Alone::begin(&things, &self.history.start);
            let mut acts = all.iter().peekable();
            alone.follow(&mut acts, observed.at_h);
            let mg_l = mg_l_from_mol_kg(alone.free, molar_mass::CL2);
            let shown = shown(&self.history, &observed, mg_l, bias(&things, &observed), chance);
            let mut other = alone.clone();
            other.free = mol_kg_from_mg_l(shown, molar_mass::CL2);
            for alone in [&mut alone, &mut other] {
                alone.follow(&mut acts.clone(), self.history.now_h);
            }
            draw.now.leave_unused(other.free - alone.free);
        }
        self.draws = draws;
    }

    /// The same where that reading is the one that was taken up just now.
    pub(super) fn take_burst_now(&mut self, chance: &mut Chance) {
        let newest = self.history.observed.last();
        let Some(observed) = last_reading(&self.history).filter(|o| newest == Some(*o)).copied() else {
            return;
        };
        let mut draws = std::mem::take(&mut self.draws);
        for draw in &mut draws {
            let kit_bias = bias(&self.course(draw).things, &observed);
            let believed = draw.now.totals.free_chlorine;
            let mg_l = mg_l_from_mol_kg(believed, molar_mass::CL2);
            let shown = shown(&self.history, &observed, mg_l, kit_bias, chance);
            draw.now.leave_unused(mol_kg_from_mg_l(shown, molar_mass::CL2) - believed);
        }
        self.draws = draws;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learn::learn;
    use crate::wire::case::CaseText;

    /// A tub whose 6 g of quick chlorine are gone two days later, look after look, and once are not.
    fn case(more: &str) -> crate::case::Case {
        let mut text = String::from(
            "[tub]\nvolume_l = 1200\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"dichlor\"\nname = \"quick\"\navailable_chlorine_percent = 56\n",
        );
        let reading = |text: &mut String, day: u32, quantity: &str, value: f64| {
            *text += &format!(
                "[[reading]]\nat = 2026-03-{day:02}T18:00:00Z\nquantity = \"{quantity}\"\nvalue = {value}\nmethod = \"photometer\"\n"
            );
        };
        for look in 0..7 {
            let day = 1 + 2 * look;
            reading(&mut text, day, "ph", 7.5);
            reading(&mut text, day, "free_chlorine", if look == 6 { 2.6 } else { 0.3 });
            if look < 6 {
                text +=
                    &format!("[[dose]]\nat = 2026-03-{day:02}T18:30:00Z\nproduct = \"quick\"\nmass_g = 6\n");
            }
        }
        text += more;
        CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case")
    }

    #[test]
    fn what_was_read_just_now_is_believed_after_quiet_days() {
        let [low, middle, high] = learn(&case(""), 1).unwrap().now(Q::FreeChlorine).unwrap();
        assert!((2.0..3.0).contains(&middle) && low > 1.2 && high < 3.4, "{low} {middle} {high}");
    }

    /// A few hours on, what was there is used at the usual pace, and doses count beside it.
    #[test]
    fn the_water_goes_on_from_what_was_read() {
        let now = |more: &str| learn(&case(more), 1).unwrap().now(Q::FreeChlorine).unwrap()[1];
        let later = now("[[event]]\nat = 2026-03-14T06:00:00Z\nkind = \"note\"\ntext = \"cover on\"\n");
        let there = now("");
        assert!(later < 0.9 * there && later > 0.3 * there, "{there}, then {later}");
        let dosed = now("[[dose]]\nat = 2026-03-13T18:10:00Z\nproduct = \"quick\"\nmass_g = 6\n");
        // 6 g of 56 % in 1200 L, or a little less water: 2.8 mg/L and some more.
        assert!((2.3..4.0).contains(&(dosed - there)), "{there}, then {dosed}");
    }

    #[test]
    fn a_probes_stream_is_no_last_reading() {
        let stream: String = (0..24)
            .map(|hour| {
                format!(
                    "[[reading]]\nat = 2026-03-14T{hour:02}:00:00Z\nquantity = \"free_chlorine\"\nvalue = 1.0\nmethod = \"amperometric-probe\"\n"
                )
            })
            .collect();
        let history = History::of(&case(&stream)).unwrap();
        let last = last_reading(&history).unwrap();
        assert!(matches!(last.said, Said::Value { value, .. } if (value - 2.6).abs() < 1e-9), "{last:?}");
        assert!(history.observed.last().unwrap().at_h > last.at_h, "the stream came later");
    }

    #[test]
    fn a_kit_that_errs_widely_moves_little_and_a_great_difference_is_a_burst() {
        let history = History::of(&case("")).unwrap();
        let at = |value: f64, kit_error: f64, believed: f64| {
            let said = Said::Value { value, standard_error: kit_error };
            let plain = Observed { at_h: 1.0, quantity: Q::FreeChlorine, said, kit: 0 };
            let observed = with_burst(&history, plain);
            let chance = &mut Chance::of(3);
            let all = (0..400).map(|_| shown(&history, &observed, believed, 0.0, chance));
            all.sum::<f64>() / 400.0
        };
        // Of equal errors half of the difference, of heavy tails a little more.
        assert!((at(4.0, 0.8, 4.8) - 4.4).abs() < 0.1, "{}", at(4.0, 0.8, 4.8));
        assert!((at(4.0, 4.0, 4.8) - 4.8).abs() < 0.2);
        assert!((at(4.0, 0.1, 0.5) - 4.0).abs() < 0.1);
    }
}
