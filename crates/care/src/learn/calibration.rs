//! Is the posterior what it says it is? Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari & Gelman 2018,
//! arXiv 1804.06788): parameters from the prior, entries from the parameters, draws from the posterior of those entries. The
//! rank of the true parameter among its draws must then be uniform, whatever the model is.

#![allow(clippy::disallowed_methods, reason = "a long test asks how long it may be")]

use super::chance::Chance;
use super::density::with_errors;
use super::draws;
use super::history::{Act, Held, History, Kit, Observed, Said, Start};
use super::mode;
use super::parameter::{Name, errors, parameters};
use super::posterior::Posterior;
use crate::case::When;
use crate::quantity::Quantity as Q;
use nalgebra::DVector;
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

/// Draws that a rank is counted among, and questions for each: draws that hardly hang together, for less than half of the questions that `learn` asks.
const DRAWS: usize = 99;
const THIN: usize = 12;

/// Four weeks of a hand-dosed tub on a common tap: two grams of chlorine a day, bathing and a test every third.
fn entries(at: &Equilibria) -> History {
    let tap = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(110.0),
        calcium: mol_kg_from_hardness_mg_l_caco3(150.0),
        ..Totals::default()
    };
    let tap = at.solve_at_ph(&tap, Ph(7.5)).unwrap().totals.closed_with_sodium_chloride();
    let kit = |quantity, bias_error| Kit {
        method: format!("{quantity:?}"),
        name: String::new(),
        quantity,
        bias: 0.0,
        bias_error,
        drift_error: 0.0,
        by_hand: true,
    };
    let kits = vec![
        kit(Q::Ph, 0.09),
        kit(Q::FreeChlorine, 0.15),
        kit(Q::TotalAlkalinity, 4.0),
        kit(Q::Salt, 60.0),
        kit(Q::CalciumHardness, 6.0),
    ];
    let errors = [0.1, 0.4, 6.0, 90.0, 9.0];
    let mut observed = Vec::new();
    for day in (1..28).step_by(3) {
        let at_h = 24.0 * f64::from(day) + 18.0;
        for (kit, standard_error) in errors.into_iter().enumerate() {
            let said = Said::Value { value: 0.0, standard_error };
            observed.push(Observed { at_h, quantity: kits[kit].quantity, said, kit, burst: 0.0 });
        }
    }
    let mut acts = vec![(
        1.0,
        Act::Dose { moles: Totals::default().plus(&Chemical::SodiumChloride.per_mole(), 30.0), product: 1 },
    )];
    for day in 0..28 {
        let moles = Totals::default().plus(&Chemical::SodiumHypochlorite.per_mole(), 0.03);
        acts.push((24.0 * f64::from(day) + 20.0, Act::Dose { moles, product: 0 }));
        if day % 3 == 2 {
            acts.push((24.0 * f64::from(day) + 19.0, Act::Bathers(1.5)));
        }
    }
    acts.sort_by(|a, b| a.0.total_cmp(&b.0));
    History {
        started: When(0),
        now_h: 28.0 * 24.0,
        start: Start::Filled(tap),
        source: Some(tap),
        volume_l: 1200.0,
        volume_error: 0.1,
        volume_measured: false,
        temperature_c: 38.0,
        has_cell: false,
        cell_is_told: false,
        acts,
        observed,
        kits,
        measures: vec![
            Held { middle: 1.04, error: 0.12, each: 0.0 },
            Held { middle: 1.0, error: 0.02, each: 0.0 },
        ],
        left_out: 0,
        before: None,
        base_mg_l_per_day: None,
    }
}

/// Student's t with four degrees of freedom: a normal over the root of a chi-square of four, which is twice the sum of two
/// exponentials, over its freedom.
fn student(chance: &mut Chance) -> f64 {
    let chi_square = 2.0 * (chance.exponential() + chance.exponential());
    chance.normal() / (chi_square / 4.0).sqrt()
}

/// How far ranks are from uniform: chi-square of `bins`, and the share of true values inside the middle 90 %.
fn uniformity(ranks: &[usize], bins: usize) -> (f64, f64) {
    let mut counts = vec![0.0; bins];
    for rank in ranks {
        counts[rank * bins / (DRAWS + 1)] += 1.0;
    }
    let expected = ranks.len() as f64 / bins as f64;
    let chi = counts.iter().map(|c: &f64| (c - expected).powi(2) / expected).sum();
    let inside = ranks.iter().filter(|r| (5..95).contains(*r)).count() as f64 / ranks.len() as f64;
    (chi, inside)
}

/// Runs the calibration; for every lasting parameter its name, chi-square of ten bins and coverage of its 90 % interval.
fn calibrate(runs: usize, seed: u64) -> Vec<(Name, f64, f64)> {
    let at = Equilibria::at(Celsius(38.0)).unwrap();
    let chance = &mut Chance::of(seed);
    let scheduled = entries(&at);
    let mut names: Vec<Name> = Vec::new();
    let mut ranks: Vec<Vec<usize>> = Vec::new();
    let mut done = 0;
    while done < runs {
        let mut history = scheduled.clone();
        let of_tub = parameters(&history);
        let all = [of_tub.clone(), errors(&history)].concat();
        let truth = DVector::from_fn(all.len(), |_, _| chance.normal());
        let prior = Posterior::new(&scheduled, &at, all.clone());
        let (kits, expected) = (prior.kits(&truth), prior.follow(truth.as_slice()));
        // A prior draw that no water follows from is no tub; the same draws are refused by the posterior.
        let Some(expected) = expected.map(|o| o.expected) else { continue };
        for (o, e) in history.observed.iter_mut().zip(expected) {
            if let Said::Value { value, standard_error } = &mut o.said {
                *value = e + 0.911 * kits.error(o.kit) * *standard_error * student(chance);
            }
        }
        let posterior = Posterior::new(&history, &at, of_tub);
        let Some(first) = mode::find_from_afar(&posterior) else {
            let first = posterior.follow(DVector::zeros(posterior.parameters.len()).as_slice()).is_some();
            panic!("run {done}: no mode; a water at the start: {first}; truth {truth:?}")
        };
        let (posterior, mode) = with_errors(posterior, first).unwrap();
        let draws = draws::draw(&posterior, &mode, DRAWS, THIN, chance).unwrap();
        if names.is_empty() {
            names = all.iter().map(|p| p.name.clone()).collect();
            ranks = vec![Vec::new(); names.len()];
        }
        for (i, of_parameter) in ranks.iter_mut().enumerate() {
            of_parameter.push(draws.iter().filter(|d| d.scores[i] < truth[i]).count());
        }
        done += 1;
    }
    let measured = names.into_iter().zip(ranks).map(|(name, r)| {
        let (chi, inside) = uniformity(&r, 10);
        (name, chi, inside)
    });
    measured.collect()
}

/// Chi-square with nine degrees of freedom: one in ten thousand lies above 33.7 (any statistics handbook), so that
/// none of some twenty parameters does by chance.
#[test]
fn ranks_are_uniform() {
    for (name, chi, inside) in calibrate(60, 1) {
        assert!(chi < 33.7, "{name:?}: chi-square {chi:.1}, {inside:.2} inside the 90 % interval");
    }
}

/// The long run, whose figures stand in `docs/learn.md`: `cargo test --release -p care -- --ignored long_calibration
/// --nocapture`; `TUBS=200` before it for fewer tubs.
#[test]
#[ignore = "some minutes"]
fn long_calibration() {
    let mut together = 0.0;
    let tubs = std::env::var("TUBS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000);
    let all = calibrate(tubs, 2);
    println!("{tubs} tubs");
    for (name, chi, inside) in &all {
        println!("{name:?}: chi-square {chi:.1}, {:.1} % inside the 90 % interval", 100.0 * inside);
        together += inside / all.len() as f64;
    }
    println!("together {:.1} %", 100.0 * together);
    for (name, chi, inside) in all {
        assert!(chi < 33.7 && (0.87..=0.93).contains(&inside), "{name:?}: {chi:.1}, {inside:.3}");
    }
}
