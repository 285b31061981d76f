//! Is the reduced course good enough? The whole physics of crate `tub` plays the tub; the course has to find parameters
//! with which it goes through that tub's pH and chlorine within 0.06 pH and 0.3 mg/L: less than a comparator can tell.

use super::course::MORE_ACID;
use super::history::{Act, Held, History, Kit, Observed, Said, Start};
use super::mode;
use super::parameter::parameters;
use super::posterior::Posterior;
use crate::case::When;
use crate::quantity::Quantity as Q;
use tub::{Event, Jets, Settings, State, Timed, Tub, follow};
use water::units::{eq_kg_from_mg_l_caco3, mg_l_from_mol_kg, mol_kg_from_hardness_mg_l_caco3, molar_mass};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

const DAYS: u32 = 14;
const LITRES: f64 = 1200.0;
/// Hour of the day at which the chlorine goes in.
const DOSE_H: f64 = 20.0;
/// Moles of hypochlorite a day: 1.8 mg/L.
const DOSE_MOL: f64 = 0.03;

/// An ordinary evening: cover off for half an hour, one person with jets for twenty minutes, then the day's chlorine.
fn evening(day: u32) -> [Timed; 7] {
    let at = 24.0 * f64::from(day) + 19.0;
    [
        (0.0, Event::CoverOff(true)),
        (0.08, Event::Jets(Jets::Water)),
        (0.08, Event::Bathers(1.0)),
        (0.42, Event::Bathers(0.0)),
        (0.42, Event::Jets(Jets::Off)),
        (0.5, Event::CoverOff(false)),
        (1.0, Event::Dose { chemical: Chemical::SodiumHypochlorite, mol: DOSE_MOL }),
    ]
    .map(|(after, event)| Timed { at_h: at + after, event })
}

/// pH and free chlorine once a day, at noon, of the whole physics and of the reduced course at its best.
fn both(alkalinity_mg_l: f64, start_ph: f64) -> Vec<(f64, f64, f64, f64)> {
    let at = Equilibria::at(Celsius(38.0)).unwrap();
    let fill = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(alkalinity_mg_l),
        calcium: mol_kg_from_hardness_mg_l_caco3(80.0),
        ..Totals::default()
    };
    let fill = at.solve_at_ph(&fill, Ph(start_ph)).unwrap().totals.closed_with_sodium_chloride();
    let tub = Tub::default();
    let start = State::filled(LITRES, Celsius(38.0), fill, tub.headspace_m3, Settings::default());
    let events: Vec<Timed> = (0..DAYS).flat_map(evening).collect();
    let noons: Vec<f64> = (0..DAYS).map(|d| 24.0 * f64::from(d) + 12.0).collect();
    let samples = follow(&tub, &start, &events, &noons).unwrap().samples;

    let kit = |quantity| Kit {
        method: String::new(),
        name: String::new(),
        quantity,
        bias: 0.0,
        bias_error: 0.0,
        drift_error: 0.0,
        by_hand: false,
    };
    let truth: Vec<(f64, f64)> = samples
        .iter()
        .map(|s| (s.speciation().unwrap().ph().0, mg_l_from_mol_kg(s.totals.free_chlorine, molar_mass::CL2)))
        .collect();
    let observed = noons.iter().zip(&truth).flat_map(|(at_h, (ph, chlorine))| {
        let said = |value, standard_error| Said::Value { value, standard_error };
        [
            Observed { at_h: *at_h, quantity: Q::Ph, said: said(*ph, 0.03), kit: 0, burst: 0.0 },
            Observed {
                at_h: *at_h,
                quantity: Q::FreeChlorine,
                said: said(*chlorine, 0.1),
                kit: 1,
                burst: 0.0,
            },
        ]
    });
    let acts = (0..DAYS).flat_map(|d| {
        let moles = Totals::default().plus(&Chemical::SodiumHypochlorite.per_mole(), DOSE_MOL);
        let day = 24.0 * f64::from(d);
        [(day + DOSE_H - 0.58, Act::Bathers(0.34)), (day + DOSE_H, Act::Dose { moles, product: 0 })]
    });
    let history = History {
        started: When(0),
        now_h: 24.0 * f64::from(DAYS),
        start: Start::Filled(fill),
        source: Some(fill),
        volume_l: LITRES,
        volume_error: 0.05,
        volume_measured: true,
        temperature_c: 38.0,
        has_cell: false,
        cell_is_told: false,
        acts: acts.collect(),
        observed: observed.collect(),
        kits: vec![kit(Q::Ph), kit(Q::FreeChlorine)],
        measures: vec![Held { middle: 1.0, error: 0.05, each: 0.0 }],
        left_out: 0,
        before: None,
        base_mg_l_per_day: None,
    };
    let posterior = Posterior::new(&history, &at, parameters(&history));
    let mode = mode::find_from_afar(&posterior).unwrap();
    let pairs = mode.outcome.expected.chunks(2).zip(truth);
    pairs.map(|(e, (ph, chlorine))| (ph, e[0], chlorine, e[1])).collect()
}

#[test]
fn the_reduced_course_goes_where_the_whole_physics_goes() {
    for (alkalinity, start_ph) in [(60.0, 7.2), (80.0, 7.2), (120.0, 7.5)] {
        let all = both(alkalinity, start_ph);
        let climbed = all[13].0 - all[0].0;
        assert!(climbed > 0.2, "there is a climb to follow: {climbed}");
        for (day, (ph, reduced_ph, chlorine, reduced_chlorine)) in all.into_iter().enumerate() {
            assert!(
                (ph - reduced_ph).abs() < 0.06,
                "{alkalinity}, day {day}: pH {ph:.3}, reduced {reduced_ph:.3}"
            );
            assert!(
                (chlorine - reduced_chlorine).abs() < 0.3,
                "{alkalinity}, day {day}: chlorine {chlorine:.2}, reduced {reduced_chlorine:.2}"
            );
        }
    }
}

/// What a litre of sweat makes of acid in the end, an equivalent for each mole of chlorine apart, by the whole physics' own products.
#[test]
fn the_acid_of_bathers_chlorine_is_that_of_its_products() {
    let sweat = tub::bathers::SWEAT;
    let (per_urea, nitrate) = (tub::demand::CHLORINE_PER_UREA, tub::demand::NITRATE_PER_UREA);
    // Chloride and nitrate made; ammonia comes as its chloride and leaves as nitrogen.
    let anions =
        sweat.urea_mol_l * (per_urea + nitrate) + 2.5 * sweat.ammonia_mol_l + 2.0 * sweat.organic_mol_l;
    let more = anions / sweat.chlorine_mol_l() - 1.0;
    assert!((more - MORE_ACID).abs() < 0.01, "{more}");
}
