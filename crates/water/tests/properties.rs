//! Properties that hold for every water: conservation, round trips, directions, derivatives, and that nothing in the domain
//! makes the solver panic, hang or return a number that is none. Seeds are fixed: the same waters on every machine.

mod random;

use random::{Random, Tub, anything, ordinary};
use water::addition::add;
use water::chemical::{self, Chemical};
use water::species::{Component, TABLE};
use water::titration::{Dechlorination, titrated_alkalinity, water_from_titration};
use water::{Celsius, Equilibria, Ph, Speciation, Totals, WaterError};

const CASES: u32 = 100_000;

/// Solves a random water at its pH; `None` where the pH leaves no room for carbonate.
fn solved(tub: &Tub) -> Option<(Equilibria, Speciation)> {
    let at = Equilibria::at(tub.t).expect("in range");
    match at.solve_at_ph(&tub.totals, tub.ph) {
        Ok(s) => Some((at, s)),
        Err(WaterError::NoRoomForCarbonate { .. } | WaterError::OutOfRange { .. }) => None,
        Err(e) => panic!("{tub:?}: {e}"),
    }
}

/// Totals of every component as the species hold them, the sums of their absolute parts, and the charge of the species.
fn sums(s: &Speciation) -> ([f64; 13], [f64; 13], f64, f64) {
    const COMPONENTS: [Component; 13] = [
        Component::Calcium,
        Component::Magnesium,
        Component::Sodium,
        Component::Potassium,
        Component::Boron,
        Component::Ammonium,
        Component::Bromide,
        Component::Chloride,
        Component::Cyanurate,
        Component::Oxidant,
        Component::Sulfate,
        Component::Carbon,
        Component::Hydrogen,
    ];
    let (mut held, mut size) = ([0.0; 13], [0.0; 13]);
    let (mut charge, mut ions) = (0.0, 0.0);
    let mut table = TABLE.iter();
    for (name, m, _) in s.species() {
        let spec = table.by_ref().find(|spec| spec.name == name).expect("in the order of the table");
        for (place, component) in COMPONENTS.into_iter().enumerate() {
            let part = f64::from(spec.coefficient(component)) * m;
            held[place] += part;
            size[place] += part.abs();
        }
        charge += f64::from(spec.charge) * m;
        ions += f64::from(spec.charge).abs() * m;
    }
    (held, size, charge, ions)
}

#[test]
fn mass_and_charge_of_the_species_are_those_of_the_totals() {
    let mut r = Random::seeded(1);
    let (mut checked, mut worst_mass, mut worst_charge) = (0, 0.0_f64, 0.0_f64);
    while checked < CASES {
        let tub = anything(&mut r);
        let Some((at, by_ph)) = solved(&tub) else { continue };
        let Ok(by_carbon) = at.solve(&by_ph.totals) else { continue };
        for s in [by_ph, by_carbon] {
            let t = &s.totals;
            let (held, size, charge, ions) = sums(&s);
            let given = [
                t.calcium,
                t.magnesium,
                t.sodium,
                t.potassium,
                t.boron,
                t.ammonia,
                t.bromide,
                t.chloride,
                t.cyanurate,
                t.free_chlorine,
                t.sulfate,
                t.carbon,
                -t.alkalinity,
            ];
            for ((held, size), given) in held.into_iter().zip(size).zip(given) {
                if size > 0.0 {
                    worst_mass = worst_mass.max(((held - given) / size).abs());
                } else {
                    assert_eq!(given, 0.0, "{tub:?}");
                }
            }
            // What the species carry, with the ions that have no chemistry, is what the analysis left unexplained.
            let inert = t.inert_cation - t.inert_anion - t.monopersulfate - 2.0 * t.thiosulfate;
            worst_charge = worst_charge.max(((charge + inert - t.charge_imbalance()) / ions).abs());
        }
        checked += 1;
    }
    println!("mass {worst_mass:e}, charge {worst_charge:e}, both relative");
    assert!(worst_mass < 1e-8, "mass: {worst_mass:e}");
    assert!(worst_charge < 1e-8, "charge: {worst_charge:e}");
}

#[test]
fn from_ph_to_carbon_and_back_is_the_same_ph() {
    let mut r = Random::seeded(2);
    let (mut checked, mut worst) = (0, (0.0_f64, None));
    while checked < CASES {
        let tub = ordinary(&mut r);
        let Some((at, s)) = solved(&tub) else { continue };
        let back = at.solve(&s.totals).unwrap();
        let again = at.with_alkalinity_of(&s.totals, tub.ph).unwrap();
        assert!((again.totals.alkalinity - s.totals.alkalinity).abs() < 1e-9, "{tub:?}");
        let off = (back.ph().0 - tub.ph.0).abs();
        if off > worst.0 {
            worst = (off, Some(tub));
        }
        checked += 1;
    }
    println!("round trip: {:e} pH at worst", worst.0);
    assert!(worst.0 < 1e-7, "{worst:?}");
}

#[test]
fn the_start_of_the_search_does_not_change_the_answer() {
    let mut r = Random::seeded(3);
    let mut before: Option<Speciation> = None;
    let mut checked = 0;
    while checked < CASES {
        let tub = ordinary(&mut r);
        let Some((at, s)) = solved(&tub) else { continue };
        let from = at.solve_from(&s.totals, before.as_ref()).unwrap_or_else(|e| panic!("{tub:?}: {e}"));
        assert!((from.ph().0 - tub.ph.0).abs() < 1e-7, "{tub:?}: {:?}", from.ph());
        before = Some(s);
        checked += 1;
    }
}

#[test]
fn ph_rises_with_alkalinity_and_falls_with_carbon_and_acid() {
    let mut r = Random::seeded(4);
    let mut checked = 0;
    while checked < CASES {
        let tub = ordinary(&mut r);
        let Some((at, s)) = solved(&tub) else { continue };
        let ph = |t: &Totals| at.solve(t).unwrap_or_else(|e| panic!("{tub:?}: {e}")).ph().0;
        let (t, here) = (s.totals, ph(&s.totals));
        const STEP: f64 = 1e-5;
        assert!(ph(&Totals { alkalinity: t.alkalinity + STEP, ..t }) > here, "alkalinity: {tub:?}");
        assert!(ph(&Totals { carbon: t.carbon + STEP, ..t }) < here, "carbon: {tub:?}");
        for acid in [Chemical::HydrochloricAcid, Chemical::SodiumBisulfate] {
            assert!(ph(&add(&t, acid, STEP).unwrap()) < here, "{}: {tub:?}", acid.id());
        }
        checked += 1;
    }
}

/// In the range of a tub and without bromide. (Below pH 5 chlorine in salt water goes to Cl2, and beside bromide what there is
/// of HOCl follows HOBr, which Br2 gives back as the pH rises: both turn this round.)
#[test]
fn hypochlorous_acid_falls_as_ph_rises() {
    let mut r = Random::seeded(5);
    let mut checked = 0;
    while checked < CASES {
        let tub = ordinary(&mut r);
        if tub.totals.free_chlorine == 0.0 {
            continue;
        }
        let at = Equilibria::at(tub.t).unwrap();
        let t = Totals { carbon: 1e-3, bromide: 0.0, ..tub.totals };
        let at_ph = |ph| at.with_alkalinity_of(&t, Ph(ph)).unwrap().hypochlorous_mol_kg();
        assert!(at_ph(tub.ph.0 + 0.05) < at_ph(tub.ph.0), "{tub:?}");
        checked += 1;
    }
}

/// From a titration back to the water, at any pH that lies above the end point.
#[test]
fn a_titration_leads_back_to_its_water() {
    let mut r = Random::seeded(9);
    let (mut checked, mut worst) = (0, (0.0_f64, None));
    while checked < CASES / 4 {
        let tub = anything(&mut r);
        let Some((at, s)) = solved(&tub) else { continue };
        let end_point = Ph(r.between(4.3, 4.9).min(tub.ph.0 - 0.1));
        let how = Dechlorination::Thiosulfate;
        let read = titrated_alkalinity(&at, &s.totals, end_point, how).unwrap();
        let unknown = Totals { alkalinity: 0.0, carbon: 0.0, ..s.totals };
        let back = water_from_titration(&at, &unknown, tub.ph, read, end_point, how)
            .unwrap_or_else(|e| panic!("{tub:?} {end_point:?}: {e}"));
        let off = (back.totals.alkalinity - s.totals.alkalinity).abs();
        if off > worst.0 {
            worst = (off, Some((tub, end_point)));
        }
        checked += 1;
    }
    println!("titration and back: {:e} eq/kg at worst", worst.0);
    assert!(worst.0 < 2e-9, "{worst:?}");
}

/// The derivatives that a plan's search follows, against finite differences. They hold the activity coefficients fixed, which
/// costs up to 2 % in the pH and 10 % in the saturation index.
#[test]
fn buffering_agrees_with_finite_differences() {
    let mut r = Random::seeded(6);
    let (mut checked, mut worst) = (0, [0.0_f64; 4]);
    while checked < CASES {
        let tub = ordinary(&mut r);
        let Some((at, s)) = solved(&tub) else { continue };
        let t = s.totals;
        let both = |t: &Totals| {
            let s = at.solve(t).unwrap();
            (s.ph().0, at.calcite_saturation_index(&s))
        };
        let b = s.buffering();
        // A step that moves the pH by 0.001.
        let step = 0.001 * b.capacity_eq_kg_per_ph;
        let slope = |up: Totals, down: Totals| {
            let ((p, i), (q, j)) = (both(&up), both(&down));
            ((p - q) / (2.0 * step), (i - j) / (2.0 * step))
        };
        let by_alkalinity = slope(
            Totals { alkalinity: t.alkalinity + step, ..t },
            Totals { alkalinity: t.alkalinity - step, ..t },
        );
        let by_carbon =
            slope(Totals { carbon: t.carbon + step, ..t }, Totals { carbon: t.carbon - step, ..t });
        let mut see = |which: usize, ours: f64, theirs: f64, size: f64| {
            worst[which] = worst[which].max(((ours - theirs) / size).abs());
        };
        see(0, b.ph_per_alkalinity, by_alkalinity.0, by_alkalinity.0);
        see(1, b.ph_per_carbon, by_carbon.0, by_carbon.0);
        if s.has_calcium() {
            // Beside the pH's own slope, since the index can stand still.
            see(2, b.saturation_per_alkalinity, by_alkalinity.1, by_alkalinity.0);
            see(3, b.saturation_per_carbon, by_carbon.1, by_carbon.0);
        }
        checked += 1;
    }
    let [ph_by_alkalinity, ph_by_carbon, index_by_alkalinity, index_by_carbon] = worst;
    assert!(ph_by_alkalinity < 0.02 && ph_by_carbon < 0.02, "{worst:?}");
    // Calcium and carbonate both carry the fourfold coefficient: it tells where alkalinity is most of the ionic strength.
    assert!(index_by_alkalinity < 0.1 && index_by_carbon < 0.02, "{worst:?}");
}

/// A solved water has nothing but numbers in it.
fn assert_finite(at: &Equilibria, s: &Speciation, tub: &Tub) {
    let fine = s.ph().0.is_finite()
        && s.ionic_strength.is_finite()
        && s.water_activity.is_finite()
        && s.totals.to_array().iter().all(|x| x.is_finite())
        && s.species().all(|(_, m, gamma)| m.is_finite() && gamma.is_finite())
        && !at.calcite_saturation_index(s).is_nan()
        && !at.gypsum_saturation_index(s).is_nan()
        && at.co2_partial_pressure_atm(s).is_finite();
    assert!(fine, "{tub:?}\n{s:?}");
}

/// An error that says which field, or that there is no room for carbonate.
fn assert_says_why(e: &WaterError, tub: &Tub) {
    match e {
        WaterError::NoRoomForCarbonate { given, without_carbon, .. } => {
            assert!(without_carbon > given, "{tub:?}: {e}");
        }
        WaterError::OutOfRange { field, value, low, high, .. } => {
            assert!(!field.is_empty() && !(*low..=*high).contains(value), "{tub:?}: {e}");
        }
        other => panic!("{tub:?}: {other}"),
    }
}

#[test]
fn a_million_random_waters_solve_or_say_why() {
    let halves: Vec<_> =
        [7, 8].map(|seed| std::thread::spawn(move || half_a_million(seed))).into_iter().collect();
    let counts: Vec<_> = halves.into_iter().map(|h| h.join().unwrap()).collect();
    let (by_ph, refused, by_carbon) =
        counts.iter().fold((0, 0, 0), |sum, c| (sum.0 + c.0, sum.1 + c.1, sum.2 + c.2));
    println!(
        "{by_ph} solved at their pH, {refused} refused with a reason, {by_carbon} solved from their carbon"
    );
    assert_eq!(by_ph + refused, 1_000_000);
    assert!(by_ph > 500_000 && by_carbon > 900_000, "{counts:?}");
}

fn half_a_million(seed: u64) -> (u32, u32, u32) {
    let mut r = Random::seeded(seed);
    let (mut by_ph, mut refused, mut by_carbon) = (0, 0, 0);
    for _ in 0..500_000 {
        let mut tub = anything(&mut r);
        let carbon = r.amount(0.02);
        let at = Equilibria::at(tub.t).expect("in range");
        match at.solve_at_ph(&tub.totals, tub.ph) {
            Ok(s) => {
                assert_finite(&at, &s, &tub);
                by_ph += 1;
            }
            Err(e) => {
                assert_says_why(&e, &tub);
                refused += 1;
            }
        }
        tub.totals.carbon = carbon;
        match at.solve(&tub.totals) {
            Ok(s) => {
                assert_finite(&at, &s, &tub);
                by_carbon += 1;
            }
            Err(e) => assert_says_why(&e, &tub),
        }
    }
    (by_ph, refused, by_carbon)
}

/// Pure water, and water of neutral things only: pH is half of pKw (13.995 at 25 °C, phreeqc.dat), or the acid's own.
#[test]
fn water_without_ions_solves() {
    let at = Equilibria::at(Celsius(25.0)).unwrap();
    let pure = at.solve(&Totals::default()).unwrap();
    assert!((pure.ph().0 - 6.997).abs() < 0.001, "{:?}", pure.ph());
    let bleach = at.solve(&Totals { free_chlorine: 1e-4, ..Totals::default() }).unwrap();
    assert!((4.0..7.0).contains(&bleach.ph().0), "{:?}", bleach.ph());
    let carbonic = at.solve(&Totals { carbon: 1e-4, ..Totals::default() }).unwrap();
    // √(K1·C) less what is dissociated, K1 = 10^-6.352.
    assert!((carbonic.ph().0 - 5.19).abs() < 0.02, "{:?}", carbonic.ph());
    at.solve_at_ph(&Totals { boron: 1e-3, ..Totals::default() }, Ph(5.5)).unwrap();
}

const ABSURD: [f64; 7] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, -1.0, 1e6];

#[test]
fn absurd_totals_are_refused_by_name() {
    let at = Equilibria::at(Celsius(38.0)).unwrap();
    let good = Totals { alkalinity: 2e-3, carbon: 2e-3, sodium: 5e-3, chloride: 3e-3, ..Totals::default() };
    for (place, field) in Totals::FIELDS.iter().enumerate() {
        for absurd in ABSURD {
            let mut a = good.to_array();
            a[place] = absurd;
            let bad = Totals::from_array(a);
            let mut refusals = vec![
                at.solve(&bad).unwrap_err(),
                at.with_alkalinity_of(&bad, Ph(7.5)).unwrap_err(),
                titrated_alkalinity(&at, &bad, Ph(4.5), Dechlorination::None).unwrap_err(),
            ];
            // These two ignore the carbon, the last one the alkalinity too.
            if *field != "dissolved inorganic carbon" {
                refusals.push(at.solve_at_ph(&bad, Ph(7.5)).unwrap_err());
                if *field != "alkalinity" {
                    let from =
                        water_from_titration(&at, &bad, Ph(7.5), 2e-3, Ph(4.5), Dechlorination::Thiosulfate);
                    refusals.push(from.unwrap_err());
                }
            }
            for refusal in refusals {
                assert!(refusal.to_string().contains(field), "{field} = {absurd}: {refusal}");
            }
        }
    }
}

#[test]
fn absurd_temperatures_ph_doses_and_readings_are_refused() {
    let at = Equilibria::at(Celsius(38.0)).unwrap();
    let good = Totals { alkalinity: 2e-3, carbon: 2e-3, sodium: 5e-3, chloride: 3e-3, ..Totals::default() };
    for absurd in ABSURD {
        let e = Equilibria::at(Celsius(absurd)).unwrap_err();
        assert!(e.to_string().contains("temperature_c"), "{e}");
        for e in [
            at.solve_at_ph(&good, Ph(absurd)).unwrap_err(),
            at.with_alkalinity_of(&good, Ph(absurd)).unwrap_err(),
            titrated_alkalinity(&at, &good, Ph(absurd), Dechlorination::None).unwrap_err(),
        ] {
            assert!(e.to_string().starts_with("ph "), "{e}");
        }
        assert!(
            water_from_titration(&at, &good, Ph(7.5), absurd, Ph(4.5), Dechlorination::None).is_err(),
            "{absurd}"
        );
        let hypochlorous = &water::constants::HYPOCHLOROUS;
        assert!(water::chlorine::protonated_fraction(hypochlorous, Ph(7.0), Celsius(absurd)).is_err());
        if !absurd.is_finite() {
            assert!(water::chlorine::protonated_fraction(hypochlorous, Ph(absurd), Celsius(25.0)).is_err());
        }
        for c in chemical::ALL {
            let e = add(&good, c, absurd).unwrap_err();
            assert!(
                matches!(
                    e,
                    WaterError::OutOfRange { .. }
                        | WaterError::NotANumber { .. }
                        | WaterError::Exhausted { .. }
                ),
                "{e}"
            );
        }
    }
}
