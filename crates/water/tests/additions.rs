//! Additions and mixing on random waters: exact in mass and charge, in any order where nothing reacts.

mod random;

use proptest::prelude::*;
use random::{Random, anything};
use water::Totals;
use water::addition::{self, add};
use water::chemical::{self, Chemical};

const CASES: u32 = 100_000;

/// Not numbers, not amounts, not possible.
const ABSURD: [f64; 7] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, -1.0, 1e6];

#[test]
fn using_up_more_than_there_is_or_nonsense_does_not_panic() {
    for there in [0.0, 1e-4, -1e-20, f64::NAN] {
        let t = Totals { free_chlorine: there, monopersulfate: there, ..Totals::default() };
        for absurd in ABSURD {
            let used = addition::use_chlorine(&t, absurd);
            let reduced = addition::use_monopersulfate(&t, absurd);
            if there > 0.0 && !absurd.is_nan() {
                assert!((0.0..=there).contains(&used.free_chlorine), "{there} {absurd}");
                assert!((0.0..=there).contains(&reduced.monopersulfate), "{there} {absurd}");
            }
        }
    }
}

/// Any chemical of the contract's list.
fn any_chemical() -> impl Strategy<Value = Chemical> {
    (0..chemical::ALL.len()).prop_map(|i| chemical::ALL[i])
}

/// Any that reacts with nothing.
fn any_inert_chemical() -> impl Strategy<Value = Chemical> {
    let inert: Vec<_> = chemical::ALL.into_iter().filter(|c| !reacts(*c)).collect();
    (0..inert.len()).prop_map(move |i| inert[i])
}

/// Totals of a random water, from a seed that proptest shrinks.
fn any_totals() -> impl Strategy<Value = Totals> {
    any::<u64>().prop_map(|seed| {
        let mut r = Random::seeded(seed);
        Totals { carbon: r.between(1e-4, 0.01), ..anything(&mut r).totals }
    })
}

/// Reacts at once with something that may be in the water.
fn reacts(c: Chemical) -> bool {
    c.active_chlorine() > 0.0 || matches!(c, Chemical::SodiumThiosulfate | Chemical::HydrogenPeroxide)
}

/// Two totals alike to the last digits of what was added up.
fn alike(a: &Totals, b: &Totals) -> bool {
    a.to_array().into_iter().zip(b.to_array()).all(|(x, y)| (x - y).abs() <= 1e-15 * (1.0 + x.abs()))
}

/// 100 000 cases each, no file written where one fails.
fn config() -> ProptestConfig {
    ProptestConfig {
        cases: CASES,
        failure_persistence: None,
        max_global_rejects: CASES,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn mixing_is_linear_and_it_does_not_matter_who_is_poured_into_whom(
        a in any_totals(), b in any_totals(), share in 0.0..=1.0f64
    ) {
        let mixed = a.mixed_with(&b, share);
        prop_assert!(alike(&mixed, &b.mixed_with(&a, 1.0 - share)));
        for ((x, y), z) in a.to_array().into_iter().zip(b.to_array()).zip(mixed.to_array()) {
            prop_assert!((z - (x + share * (y - x))).abs() < 1e-14);
        }
        let charge = a.charge_imbalance() * (1.0 - share) + b.charge_imbalance() * share;
        prop_assert!((mixed.charge_imbalance() - charge).abs() < 1e-14);
        prop_assert!(alike(&a.mixed_with(&b, 0.0), &a));
        prop_assert!(alike(&a.mixed_with(&b, 1.0), &b));
    }

    #[test]
    fn an_addition_is_exact_in_mass_and_charge(t in any_totals(), c in any_chemical(), mol in 0.0..0.01f64) {
        let after = add(&t, c, mol).unwrap();
        prop_assert!((after.charge_imbalance() - t.charge_imbalance()).abs() < 1e-14, "{}", c.id());
        let plain = t.plus(&c.per_mole(), mol);
        // Chlorine atoms, and every total that no reaction at once touches.
        let chlorine = |t: &Totals| t.chloride + t.free_chlorine;
        prop_assert!((chlorine(&after) - chlorine(&plain)).abs() < 1e-14, "{}", c.id());
        let untouched = |t: &Totals| Totals {
            alkalinity: 0.0, chloride: 0.0, free_chlorine: 0.0, sulfate: 0.0, thiosulfate: 0.0, hydrogen_peroxide: 0.0, ..*t
        };
        prop_assert!(alike(&untouched(&after), &untouched(&plain)), "{}", c.id());
        if !reacts(c) {
            prop_assert!(alike(&after, &plain), "{}", c.id());
        }
        // Nothing falls below zero, and where chlorine was added no reductant stays beside it.
        prop_assert!(after.to_array()[1..].iter().all(|x| *x >= 0.0), "{}: {after:?}", c.id());
        if reacts(c) {
            let both = after.free_chlorine.min(after.hydrogen_peroxide);
            prop_assert!(both < 1e-15, "{}: {after:?}", c.id());
        }
    }

    #[test]
    fn the_order_of_additions_that_do_not_react_does_not_matter(
        t in any_totals(), a in any_inert_chemical(), b in any_inert_chemical(), x in 0.0..0.01f64, y in 0.0..0.01f64
    ) {
        let ab = add(&add(&t, a, x).unwrap(), b, y).unwrap();
        let ba = add(&add(&t, b, y).unwrap(), a, x).unwrap();
        prop_assert!(alike(&ab, &ba), "{} {}", a.id(), b.id());
    }

    /// A dose in two halves is the dose, reacting or not, since what reacts goes to its end each time. Not so thiosulfate,
    /// whose product depends on how much chlorine it meets: it is left out of the water and is not the dose.
    #[test]
    fn a_dose_in_two_halves_is_the_same_dose(t in any_totals(), c in any_chemical(), mol in 0.0..0.01f64) {
        prop_assume!(c != Chemical::SodiumThiosulfate);
        let t = Totals { thiosulfate: 0.0, ..t };
        let once = add(&t, c, mol).unwrap();
        let twice = add(&add(&t, c, mol / 2.0).unwrap(), c, mol / 2.0).unwrap();
        prop_assert!(alike(&once, &twice), "{}", c.id());
    }
}
