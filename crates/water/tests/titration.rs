//! Titrations: what a kit sees of cyanurate, borate, hypochlorite and magnesium, and the way back from a reading.
//!
//! The corrections of handbooks stand in `tests/compare/titration.rs` with their tolerances and reasons.

mod compare;

use compare::{chlorine, cyanurate};
use water::addition::{self, MINERAL_SALT};
use water::titration::{
    ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity, total_hardness_mol_kg, water_from_titration,
};
use water::units::{
    eq_kg_from_mg_l_caco3, hardness_mg_l_caco3_from_mol_kg, mg_l_caco3_from_eq_kg, molar_mass,
};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

fn at(t_c: f64) -> Equilibria {
    Equilibria::at(Celsius(t_c)).expect("in range")
}

/// A soft tub water with a little salt, 80 mg/L of alkalinity.
fn tub() -> Totals {
    Totals {
        alkalinity: eq_kg_from_mg_l_caco3(80.0),
        calcium: 1e-3,
        magnesium: 0.2e-3,
        sodium: 5e-3,
        sulfate: 0.3e-3,
        ..Totals::default()
    }
    .closed_with_sodium_chloride()
}

/// `tub` at a pH, its carbon filled in.
fn at_ph(at: &Equilibria, t: &Totals, ph: f64) -> Totals {
    at.solve_at_ph(t, Ph(ph)).expect("a tub water solves").totals
}

fn read(at: &Equilibria, t: &Totals, how: Dechlorination) -> f64 {
    mg_l_caco3_from_eq_kg(
        titrated_alkalinity(at, t, ALKALINITY_END_POINT, how).expect("the end point solves"),
    )
}

#[test]
fn handbook_corrections_for_cyanurate_and_borate() {
    compare::titration::corrections().assert();
}

/// The field rule takes off one third of the cyanuric acid whatever the pH; by equilibrium that is right at one pH only.
#[test]
fn the_one_third_rule_is_right_near_ph_7_5_and_wrong_by_half_at_6_8() {
    for (t_c, strength) in [(25.0, 0.01), (25.0, 0.06), (38.0, 0.01), (38.0, 0.06)] {
        let factor = |ph| compare::titration::cyanurate_factor(t_c, strength, ph);
        let right = (720..780).map(|ph| f64::from(ph) / 100.0).find(|ph| factor(*ph) >= 1.0 / 3.0).unwrap();
        assert!((7.3..=7.75).contains(&right), "{t_c} °C, {strength}: right at pH {right}");
    }
    assert!(compare::titration::cyanurate_factor(25.0, 0.01, 6.8) < 0.5 / 3.0);
}

#[test]
fn a_titration_reads_a_plain_water_less_the_acid_and_bicarbonate_left_at_its_end_point() {
    let at = at(25.0);
    let water = at_ph(&at, &tub(), 7.5);
    // Left at pH 4.5: H+ 10^-4.5/γ (1.6 mg/L CaCO3) goes beyond, bicarbonate of the kept carbon stays behind.
    let end = at.with_alkalinity_of(&water, ALKALINITY_END_POINT).unwrap();
    let left = end.alkalinity_parts();
    assert!((mg_l_caco3_from_eq_kg(-left.hydroxide) - 1.7).abs() < 0.1, "{left:?}");
    let expected = 80.0 - mg_l_caco3_from_eq_kg(left.carbonate + left.hydroxide);
    assert!((read(&at, &water, Dechlorination::None) - expected).abs() < 1e-6);
    assert!((expected - 80.0).abs() < 1.0);
}

/// Alkalinity by family sums to the whole: carbonate alkalinity is what is left after cyanurate and borate.
#[test]
fn the_parts_of_alkalinity_sum_to_the_whole() {
    let at = at(38.0);
    let t = Totals {
        boron: 2e-3,
        cyanurate: cyanurate(60.0),
        free_chlorine: chlorine(4.0),
        ammonia: 5e-5,
        bromide: 1e-4,
        ..tub()
    };
    let s = at.solve_at_ph(&t, Ph(7.6)).unwrap();
    let parts = s.alkalinity_parts();
    assert!((parts.sum() - t.alkalinity).abs() < 1e-10, "{parts:?}");
    assert!(parts.cyanurate > 0.0 && parts.borate > 0.0 && parts.hypohalite > 0.0 && parts.ammonia > 0.0);
}

/// Untreated, hypochlorite takes up acid like any base. Without cyanurate all of it counts.
#[test]
fn hypochlorite_counts_fully_without_thiosulfate() {
    let at = at(25.0);
    let water = at_ph(&at, &Totals { free_chlorine: chlorine(10.0), ..tub() }, 7.8);
    let solved = at.solve(&water).unwrap();
    // The same carbon and pH without chlorine.
    let without = at.with_alkalinity_of(&Totals { free_chlorine: 0.0, ..water }, Ph(7.8)).unwrap().totals;
    let gained = read(&at, &water, Dechlorination::None) - read(&at, &without, Dechlorination::None);
    let hypochlorite = mg_l_caco3_from_eq_kg(solved.hypochlorite_mol_kg());
    assert!((gained - hypochlorite).abs() < 0.02 * hypochlorite, "{gained} {hypochlorite}");
}

/// 2 S2O3-2 + HOCl → S4O6-2 + Cl- + OH-: one equivalent of base per mole of chlorine, 3.5 mg/L CaCO3 at 5 mg/L (stoichiometry
/// from memory). The same comes out when thiosulfate in excess is added as a chemical.
#[test]
fn thiosulfate_in_the_kit_adds_one_equivalent_per_mole_of_chlorine() {
    let at = at(25.0);
    let water = at_ph(&at, &Totals { free_chlorine: chlorine(5.0), ..tub() }, 7.5);
    let plain = Totals { free_chlorine: 0.0, ..water };
    let gained = read(&at, &water, Dechlorination::Thiosulfate) - read(&at, &plain, Dechlorination::None);
    assert!((gained - 3.53).abs() < 0.01, "{gained}");
    let by_hand = addition::add(&water, Chemical::SodiumThiosulfate, 10.0 * water.free_chlorine).unwrap();
    assert_eq!(by_hand.free_chlorine, 0.0);
    let difference =
        read(&at, &by_hand, Dechlorination::None) - read(&at, &water, Dechlorination::Thiosulfate);
    assert!(difference.abs() < 0.02, "{difference}"); // the excess salt's ionic strength
}

#[test]
fn a_reading_leads_back_to_its_water() {
    let mut count = 0;
    for t_c in [15.0, 25.0, 38.0] {
        let at = at(t_c);
        for ph in [6.8, 7.2, 7.6, 8.2] {
            for (cya, boron, fc) in [(0.0, 0.0, 0.0), (80.0, 0.0, 5.0), (0.0, 3e-3, 2.0), (150.0, 2e-3, 10.0)]
            {
                for how in [Dechlorination::None, Dechlorination::Thiosulfate] {
                    for end_point in [Ph(4.3), ALKALINITY_END_POINT, Ph(4.9)] {
                        let t = Totals {
                            cyanurate: cyanurate(cya),
                            boron,
                            free_chlorine: chlorine(fc),
                            alkalinity: eq_kg_from_mg_l_caco3(140.0),
                            ..tub()
                        };
                        let water = at_ph(&at, &t, ph);
                        let reading = titrated_alkalinity(&at, &water, end_point, how).unwrap();
                        let unknown = Totals { alkalinity: 0.0, carbon: 0.0, ..water };
                        let back =
                            water_from_titration(&at, &unknown, Ph(ph), reading, end_point, how).unwrap();
                        assert!((back.totals.alkalinity - water.alkalinity).abs() < 1e-9, "{t_c} {ph} {t:?}");
                        assert!((back.totals.carbon - water.carbon).abs() < 1e-9, "{t_c} {ph} {t:?}");
                        count += 1;
                    }
                }
            }
        }
    }
    assert_eq!(count, 3 * 4 * 4 * 2 * 3);
}

/// A titration at pH 10 sees magnesium as hardness: 1.5 g/L of a carnallite-like bath salt (composition from memory) turns soft
/// water "very hard" while its calcium, which is what scales and what protects, has hardly moved.
#[test]
fn mineral_bath_salt_shows_as_total_hardness_but_not_as_calcium() {
    let before = tub();
    let after = before.plus(&MINERAL_SALT.per_gram(), 1.5);
    let total =
        hardness_mg_l_caco3_from_mol_kg(total_hardness_mol_kg(&after) - total_hardness_mol_kg(&before));
    let calcium = hardness_mg_l_caco3_from_mol_kg(after.calcium - before.calcium);
    // By arithmetic: MgCl2 0.32/95.211 and CaCl2 0.005/110.98 mol/g, 100.087 g CaCO3 a mole.
    assert!((total - 1.5 * (336.4 + 4.5)).abs() < 1.0, "{total}");
    assert!((calcium - 1.5 * 4.5).abs() < 0.1, "{calcium}");
    // The calcite index hardly moves for the worse: magnesium and strength take carbonate away.
    let at = at(38.0);
    let index = |t: &Totals| at.calcite_saturation_index(&at.solve_at_ph(t, Ph(7.4)).unwrap());
    assert!(index(&after) < index(&before));
    assert!((after.chloride - before.chloride) * 1000.0 * molar_mass::CL > 550.0);
}
