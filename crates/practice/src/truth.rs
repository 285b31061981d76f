//! What the tub is like in truth, by seed and difficulty: hidden until the end.
//!
//! Starts from crate `tub`'s default tub and strays from it; nothing here is shared with what `care` assumes of a volume,
//! a kit, a capful or a household.

use crate::chance::{Chance, For};
use crate::difficulty::Spread;
use crate::error::PracticeError;
use care::band::Regime;
use care::case::{Case, Substance};
use tub::cell::Cell;
use tub::{Settings, State, Surroundings, Tub};
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

/// The hidden tub.
#[derive(Debug, Clone)]
pub(crate) struct Truth {
    pub(crate) seed: u64,
    pub(crate) spread: Spread,
    /// Water at the mark, kg.
    pub(crate) mark_kg: f64,
    /// What comes out of the tap.
    pub(crate) tap: Totals,
    pub(crate) tap_c: f64,
    pub(crate) tub: Tub,
    /// For each product of the shelf: moles in a gram that its label promises, over what it holds; grams that a level
    /// measure of this owner holds, over what the label says.
    pub(crate) products: Vec<(f64, f64)>,
}

impl Truth {
    pub(crate) fn of(seed: u64, spread: Spread, told: &Case) -> Result<Self, PracticeError> {
        let mut chance = Chance::of(seed, For::Truth);
        let (low, often, high) = spread.volume;
        let mark_kg = told.tub.volume_l * chance.triangle(low, often, high);
        let (tap, tap_c) = tap(told, &spread, &mut chance)?;
        let mut about = |factor: f64| chance.log_between(1.0 / factor, factor);
        let f = spread.factor;
        let mut tub = Tub::default();
        tub.exchange.still_per_h *= about(f);
        tub.exchange.circulation_per_h *= about(f);
        tub.exchange.jets_per_h *= about(f);
        tub.cover_air_changes_per_h *= about(f * f);
        tub.demand.background_per_day *= about(f);
        tub.bather.sweat_l_h *= about(f);
        tub.bather.splash_kg_h *= about(f);
        tub.loss_w_k *= about(1.3);
        tub.surface_m2 = 3.0 * libm::pow(mark_kg / 1200.0, 2.0 / 3.0);
        tub.wetted_m2 = 2.0 * tub.surface_m2;
        tub.set_c = told.tub.temperature_c.unwrap_or(38.0) + 0.8 * (about(f) - 1.0).clamp(-1.0, 1.0);
        tub.cell =
            (told.tub.regime == Regime::SaltCell).then(|| Cell { current_a: about(f), ..Cell::default() });
        let products = told
            .shelf
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let mut chance = Chance::of(seed, For::Product(u8::try_from(i).unwrap_or(u8::MAX)));
                // What ages loses strength: what took up moisture a little, liquid chlorine much.
                let aged = match p.substance {
                    Substance::Chemical(Chemical::SodiumHypochlorite) => chance.triangle(0.7, 0.95, 1.05),
                    _ => chance.triangle(0.9, 0.98, 1.02),
                };
                (aged, 1.0 + chance.exponential(spread.heap))
            })
            .collect();
        Ok(Truth { seed, spread, mark_kg, tap, tap_c, tub, products })
    }

    /// The tub just filled to its mark and heated; what left while it was heated is left out.
    pub(crate) fn start(&self) -> State {
        let settings = Settings { surroundings: Surroundings::default(), ..Settings::default() };
        State::filled(self.mark_kg, Celsius(self.tub.set_c), self.tap, self.tub.headspace_m3, settings)
    }
}

/// The tap on the day of the fill: near its report.
fn tap(told: &Case, spread: &Spread, chance: &mut Chance) -> Result<(Totals, f64), PracticeError> {
    let report = told.source_water.clone().unwrap_or_default();
    let mut near = |figure: Option<f64>| figure.unwrap_or(0.0) * libm::exp(chance.laplace(spread.tap));
    let alkalinity = near(report.total_alkalinity_mg_l_caco3).clamp(15.0, 400.0);
    let hardness = near(report.calcium_hardness_mg_l_caco3).clamp(5.0, 600.0);
    let chloride = near(report.chloride_mg_l);
    let temperature_c = report.temperature_c.unwrap_or(12.0);
    let ph = (report.ph.unwrap_or(7.6) + chance.laplace(spread.tap)).clamp(6.4, 8.9);
    let strong = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(alkalinity),
        calcium: mol_kg_from_hardness_mg_l_caco3(hardness),
        chloride: mol_kg_from_mg_l(chloride, molar_mass::CL),
        ..Totals::default()
    };
    let mut tap = Equilibria::at(Celsius(temperature_c))?.solve_at_ph(&strong, Ph(ph))?.totals;
    // What the report leaves open is sodium, or, where there is more hardness than alkalinity, sulfate. It tells the chloride.
    let open = tap.charge_imbalance();
    tap.sulfate += 0.5 * open.max(0.0);
    tap.sodium += (-open).max(0.0);
    Ok((tap, temperature_c))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difficulty::Difficulty;
    use crate::told;
    use water::units::mg_l_from_mol_kg;

    /// Hard or soft, the tap is neutral and its chloride is the report's but for the day's error.
    #[test]
    fn the_tap_has_the_chloride_that_its_report_tells() {
        let mut harder = 0;
        for seed in 1..=60 {
            let told = told::case(seed);
            let report = told.source_water.clone().unwrap();
            let truth = Truth::of(seed, Difficulty::Easy.spread(), &told).unwrap();
            assert!(truth.tap.charge_imbalance().abs() < 1e-9, "{seed}");
            let off = mg_l_from_mol_kg(truth.tap.chloride, molar_mass::CL) / report.chloride_mg_l.unwrap();
            // Eight times the mean of the day's error: one in three thousand is beyond.
            assert!(libm::log(off).abs() < 8.0 * 0.03, "{seed}: {off}");
            harder += usize::from(report.calcium_hardness_mg_l_caco3 > report.total_alkalinity_mg_l_caco3);
        }
        assert!(harder > 10, "some are harder than alkaline: {harder}");
    }
}
