//! Readings fused, contradictions pointed out.

use care::amount::Units;
use care::case::{Raw, Reading};
use care::fuse::{Fusion, Weighted, charge_balance, cross_check, derive_combined_chlorine, fuse};
use care::method::{self, Context, Interpreted, Outcome, Reagent};
use care::quantity::Quantity as Q;
use proptest::prelude::*;

fn weighted(id: &str, quantity: Q, raw: Raw) -> Weighted {
    let m = method::find(&[], id).expect("a method");
    let reading = Reading { quantity, method: id.to_string(), raw, line: None };
    let interpreted = method::interpret(m, &reading, &Context::at(38.0)).expect("a reading");
    Weighted { interpreted, extra_standard_error: 0.0, shift: 0.0, read: None }
}

fn point(id: &str, value: f64, standard_error: f64) -> Weighted {
    let interpreted = Interpreted {
        quantity: Q::TotalAlkalinity,
        outcome: Outcome::Value { value, standard_error },
        at_scale_end: false,
        findings: Vec::new(),
        method_id: id.to_string(),
        method_name: id.into(),
        line: None,
        reagent: Reagent::Other,
        is_display: false,
    };
    Weighted { interpreted, extra_standard_error: 0.0, shift: 0.0, read: None }
}

/// Conductivity of salt alone at 25 °C in mS/cm, for the checks only: 4.8 at 2 250 mg/L and 3.3 at 1 400, nearly linear
/// (the acceptance scenario's own figures, with 0.8 for the other ions).
fn expected_ms_cm(salt: f64) -> f64 {
    0.8 + 0.00178 * salt
}

#[test]
fn a_low_display_against_two_strips_and_a_conductivity_meter() {
    // Acceptance scenario K5: display 1 450, strips 2 250 and 2 300, 4.8 mS/cm: the salt is right, the display is not.
    let Fusion { fused, findings } = fuse(
        &[
            weighted("display", Q::Salt, Raw::Value(1450.0)),
            weighted("chloride-strip", Q::Salt, Raw::Value(2250.0)),
            weighted("chloride-strip", Q::Salt, Raw::Value(2300.0)),
            weighted("conductivity-meter", Q::Conductivity, Raw::Value(4.8)),
        ],
        Units::Metric,
    );
    let salt = fused.iter().find(|f| f.quantity == Q::Salt).unwrap();
    assert!((salt.value - 2275.0).abs() < 10.0 && salt.used == 2, "{salt:?}");
    assert_eq!(findings.len(), 1);
    let said = format!("{} {}", findings[0].what, findings[0].advice);
    assert!(said.contains("1450") && said.contains("2274") && said.contains("display"), "{said}");
    assert!(said.contains("Do not add salt"), "{said}");
    assert!(cross_check(&fused, &Context::at(37.0), expected_ms_cm).is_empty());
}

#[test]
fn a_display_alone_against_a_conductivity_meter() {
    let fused = fuse(
        &[
            weighted("display", Q::Salt, Raw::Value(1450.0)),
            weighted("conductivity-meter", Q::Conductivity, Raw::Value(4.8)),
        ],
        Units::Metric,
    )
    .fused;
    let findings = cross_check(&fused, &Context::at(37.0), expected_ms_cm);
    assert!(
        findings.iter().any(|f| f.advice.contains("Do not add salt on the display's word")),
        "{findings:?}"
    );
}

#[test]
fn what_cannot_be_both_true_is_pointed_out() {
    let free_above_total = fuse(
        &[
            weighted("dpd-photometer", Q::FreeChlorine, Raw::Value(4.0)),
            weighted("dpd-photometer", Q::TotalChlorine, Raw::Value(2.0)),
            weighted("drop-titration-10", Q::CalciumHardness, Raw::Drops(25.0)),
            weighted("drop-titration-10", Q::TotalHardness, Raw::Drops(15.0)),
        ],
        Units::Metric,
    )
    .fused;
    let findings = cross_check(&free_above_total, &Context::at(38.0), expected_ms_cm);
    assert_eq!(findings.len(), 2, "{findings:?}");
    assert!(findings[0].what.contains("Free chlorine (4.0 mg/L") && findings[0].what.contains("2.0 mg/L"));
    assert!(findings[1].what.contains("Calcium hardness (245 mg/L"));

    // Cyanuric acid alone holds about a third of its figure as alkalinity at pH 7.8 (the handbooks' factor 0.34-0.36).
    let no_room = fuse(
        &[
            weighted("ph-electrode", Q::Ph, Raw::Value(7.8)),
            weighted("drop-titration-10", Q::TotalAlkalinity, Raw::Drops(2.0)),
            weighted("laboratory", Q::CyanuricAcid, Raw::Value(200.0)),
        ],
        Units::Metric,
    )
    .fused;
    let findings = cross_check(&no_room, &Context::at(38.0), expected_ms_cm);
    assert!(findings.iter().any(|f| f.what.contains("Total alkalinity of 15")), "{findings:?}");
}

#[test]
fn an_analysis_whose_charges_do_not_add_up_is_doubted() {
    let at = water::Equilibria::at(water::Celsius(25.0)).unwrap();
    let analysis = |sodium| {
        let totals = water::Totals {
            alkalinity: 0.002,
            carbon: 0.0021,
            calcium: 0.001,
            sodium,
            chloride: 0.001,
            ..Default::default()
        };
        charge_balance(&at.solve(&totals).unwrap())
    };
    assert_eq!(analysis(0.001), None);
    // 1 meq/kg of sodium too much among 7 in all: 14 %.
    let found = analysis(0.002).unwrap();
    assert!(found.what.contains("14 % more charge of cations"), "{}", found.what);
}

#[test]
fn combined_chlorine_is_total_less_free_with_both_errors_unless_by_orthotolidine() {
    let fused = fuse(
        &[
            weighted("dpd-photometer", Q::FreeChlorine, Raw::Value(3.0)),
            weighted("dpd-photometer", Q::TotalChlorine, Raw::Value(3.6)),
        ],
        Units::Metric,
    )
    .fused;
    let combined = derive_combined_chlorine(&fused).unwrap();
    assert!((combined.value - 0.6).abs() < 1e-12);
    assert!((combined.standard_error - fused[0].standard_error.hypot(fused[1].standard_error)).abs() < 1e-12);
    let fused = fuse(
        &[
            weighted("dpd-photometer", Q::FreeChlorine, Raw::Value(2.0)),
            weighted("o-tolidine", Q::TotalChlorine, Raw::Value(3.0)),
        ],
        Units::Metric,
    )
    .fused;
    assert!(derive_combined_chlorine(&fused).is_none());
}

#[test]
fn orthotolidine_alone_bounds_free_chlorine_from_above() {
    let fusion = fuse(&[weighted("o-tolidine", Q::FreeChlorine, Raw::Value(2.0))], Units::Metric);
    let free = fusion.get(Q::FreeChlorine).unwrap();
    assert_eq!(free.bounds, (Some(0.0), Some(2.0)));
    assert!(free.value == 1.0 && free.standard_error > 0.5);
    assert!(derive_combined_chlorine(&fusion.fused).is_none());
    assert!(!fusion.findings.is_empty());
}

#[test]
fn readings_beyond_range_are_bounds_and_a_wide_value_when_alone() {
    let below = fuse(&[weighted("dpd-comparator", Q::FreeChlorine, Raw::Value(0.0))], Units::Metric).fused;
    assert_eq!(below[0].bounds, (None, Some(0.2)));
    assert!(below[0].value == 0.1 && below[0].standard_error > 0.05);
    let both = fuse(
        &[
            weighted("dpd-comparator", Q::FreeChlorine, Raw::Value(0.0)),
            weighted("fas-dpd-0.2", Q::FreeChlorine, Raw::Drops(15.0)),
        ],
        Units::Metric,
    );
    assert!((both.fused[0].value - 2.9).abs() < 1e-12);
    assert_eq!(both.findings.len(), 1, "a reading of none against 2.9 is pointed out");
}

/// A limit that was read again is as sure as the new reading: the old one, whose error grew with time, says nothing more.
#[test]
fn a_fresh_limit_outlives_an_old_one() {
    let old = |extra| Weighted {
        extra_standard_error: extra,
        ..weighted("fas-dpd-0.2", Q::CombinedChlorine, Raw::Drops(0.0))
    };
    for readings in [[old(0.6), old(0.0)], [old(0.0), old(0.6)]] {
        let f = &fuse(&readings, Units::Metric).fused[0];
        assert!((f.standard_error - 0.2 / 12.0_f64.sqrt()).abs() < 1e-12, "{}", f.standard_error);
    }
    // The same from above: of two least figures the one that is surely the greater.
    let above = |limit, extra| Weighted {
        extra_standard_error: extra,
        ..weighted("dpd-comparator", Q::FreeChlorine, Raw::Above(limit))
    };
    let f = &fuse(&[above(10.0, 5.0), above(8.0, 0.0)], Units::Metric).fused[0];
    assert_eq!(f.bounds.0, Some(8.0));
}

#[test]
fn bounds_from_above_and_below() {
    let over = fuse(
        &[
            weighted("dpd-comparator", Q::FreeChlorine, Raw::Above(10.0)),
            weighted("fas-dpd-0.2", Q::FreeChlorine, Raw::Drops(15.0)),
        ],
        Units::Metric,
    );
    assert!(over.findings[0].what.contains("more than 10.0 mg/L"), "{:?}", over.findings);
    let between = fuse(
        &[
            weighted("turbidity-tube", Q::CyanuricAcid, Raw::Below(60.0)),
            weighted("turbidity-tube", Q::CyanuricAcid, Raw::Above(40.0)),
        ],
        Units::Metric,
    );
    let f = &between.fused[0];
    assert!(f.value == 50.0 && (f.standard_error - 20.0 / 12.0_f64.sqrt()).abs() < 1e-12);
    assert!(f.bounds == (Some(40.0), Some(60.0)) && between.findings.is_empty());
    let crossed = fuse(
        &[
            weighted("turbidity-tube", Q::CyanuricAcid, Raw::Below(40.0)),
            weighted("turbidity-tube", Q::CyanuricAcid, Raw::Above(60.0)),
        ],
        Units::Metric,
    );
    assert_eq!(crossed.findings.len(), 1);
    // Void readings leave nothing.
    let strip = Raw::ScaleUnits { units: 5.0, signal_changed: Some(false), minutes: None };
    let rows = [(1.0, 300.0), (9.0, 6000.0)];
    let lot = method::LotTable::new("x", method::ChlorideBasis::SodiumChloride, &rows).unwrap();
    let m = method::Method::chloride_strip("s", "s", lot);
    let reading = Reading { quantity: Q::Salt, method: "s".into(), raw: strip, line: None };
    let interpreted = method::interpret(&m, &reading, &Context::at(38.0)).unwrap();
    assert!(
        fuse(&[Weighted { interpreted, extra_standard_error: 0.0, shift: 0.0, read: None }], Units::Metric)
            .fused
            .is_empty()
    );
}

#[test]
fn shift_and_age_move_and_widen_a_reading() {
    let mut w = point("a", 80.0, 5.0);
    w.shift = 20.0;
    w.extra_standard_error = 12.0;
    let f = &fuse(&[w], Units::Metric).fused[0];
    assert!((f.value - 100.0).abs() < 1e-12 && (f.standard_error - 13.0).abs() < 1e-12);
}

#[test]
fn two_methods_outweigh_one_and_a_surer_one_a_lesser() {
    let f = fuse(&[point("a", 80.0, 4.0), point("b", 84.0, 6.0), point("c", 140.0, 3.0)], Units::Metric);
    assert!((80.0..84.0).contains(&f.fused[0].value) && f.findings.len() == 1);
    let f = fuse(&[point("a", 80.0, 4.0), point("c", 140.0, 10.0)], Units::Metric);
    assert!((f.fused[0].value - 80.0).abs() < 1e-12 && f.fused[0].standard_error >= 20.0 - 1e-9);
    let what = &f.findings[0].what;
    assert!(what.contains("80 mg/L by a") && what.contains("140 mg/L by c"), "{what}");
}

#[test]
fn a_display_that_claims_to_be_sure_does_not_outweigh_a_test() {
    let mut display = point("display", 140.0, 1.0);
    display.interpreted.is_display = true;
    let f = fuse(&[display.clone(), display, point("a", 80.0, 5.0)], Units::Metric);
    assert!((f.fused[0].value - 80.0).abs() < 1e-12 && !f.fused[0].only_display);
}

#[test]
fn many_readings_by_one_method_share_its_bias() {
    let same: Vec<_> = (0..50).map(|_| point("a", 80.0, 6.0)).collect();
    let f = &fuse(&same, Units::Metric).fused[0];
    assert!((f.standard_error - 6.0 / 2.0_f64.sqrt()).abs() < 1e-9 && f.used == 50);
    let two = fuse(&[point("a", 80.0, 6.0), point("b", 80.0, 6.0)], Units::Metric);
    assert!((two.fused[0].standard_error - 6.0 / 2.0_f64.sqrt()).abs() < 1e-9);
}

proptest! {
    #[test]
    fn consistent_readings_are_never_less_sure_than_the_best_and_lie_between(
        figures in prop::collection::vec((-1.0..1.0, 1.0..20.0, 0..3usize), 1..8),
    ) {
        let ids = ["a", "b", "c"];
        // Each within its own standard error of 100: consistent by construction.
        let readings: Vec<_> = figures.iter().map(|(z, se, id)| point(ids[*id], 100.0 + z * se, *se)).collect();
        let fusion = fuse(&readings, Units::Metric);
        let f = &fusion.fused[0];
        prop_assert!(fusion.findings.is_empty());
        prop_assert_eq!(f.used, readings.len());
        let best = figures.iter().map(|(_, se, _)| *se).fold(f64::INFINITY, f64::min);
        prop_assert!(f.standard_error <= best * (1.0 + 1e-12));
        let values = readings.iter().filter_map(|r| r.interpreted.outcome.figure());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        prop_assert!(low - 1e-9 <= f.value && f.value <= high + 1e-9);
    }

    #[test]
    fn order_does_not_matter(figures in prop::collection::vec((50.0..150.0, 1.0..20.0, 0..3usize), 2..7)) {
        let ids = ["a", "b", "c"];
        let readings: Vec<_> = figures.iter().map(|(v, se, id)| point(ids[*id], *v, *se)).collect();
        let mut reversed = readings.clone();
        reversed.reverse();
        let (a, b) = (&fuse(&readings, Units::Metric).fused[0], &fuse(&reversed, Units::Metric).fused[0]);
        prop_assert!((a.value - b.value).abs() < 1e-9 && (a.standard_error - b.standard_error).abs() < 1e-9);
        prop_assert_eq!(a.used, b.used);
    }
}

/// A chlorine tub with these lines, an hour after the last of them.
fn chlorine_tub(lines: &str) -> care::estimate::Estimated {
    let text = format!(
        "now = 2026-03-03T15:00:00Z\n[tub]\nvolume_l = 1300\ntemperature_c = 38\nregime = \"chlorine\"\nplace = \"home\"\n\
         [[shelf]]\nchemical = \"dichlor\"\nname = \"quick chlorine\"\navailable_chlorine_percent = 56\n{lines}"
    );
    let case = care::wire::case::CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case");
    care::estimate::estimate(&case).expect("an estimate")
}

fn read(at: &str, quantity: &str, method: &str, value: f64) -> String {
    format!("[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nmethod = \"{method}\"\nvalue = {value:?}\n")
}

fn dosed(at: &str, mass_g: f64) -> String {
    format!("[[dose]]\nat = {at}\nproduct = \"quick chlorine\"\nmass_g = {mass_g:?}\n")
}

fn told(est: &care::estimate::Estimated, q: Q) -> Vec<String> {
    let of_it = est.findings.iter().filter(|f| f.quantities == [q]);
    of_it.map(|f| f.what.to_string()).filter(|what| what.contains("contradict")).collect()
}

/// Chlorine is used and dosed: what it was before a dose says nothing against what it is after.
#[test]
fn a_days_use_of_chlorine_is_no_contradiction() {
    for method in ["dpd-comparator", "fas-dpd-0.2"] {
        let est = chlorine_tub(
            &[
                read("2026-03-01T13:00:00Z", "free_chlorine", method, 0.4),
                dosed("2026-03-01T15:00:00Z", 10.0),
                read("2026-03-02T14:00:00Z", "free_chlorine", method, 4.0),
                read("2026-03-03T14:00:00Z", "free_chlorine", method, 3.0),
            ]
            .concat(),
        );
        assert!(told(&est, Q::FreeChlorine).is_empty(), "{:?}", est.findings);
        let level = est.level(Q::FreeChlorine).expect("a level");
        assert!((level.value - 3.0).abs() < 0.15, "{level:?}");
        assert!(!est.retest.contains(&Q::FreeChlorine));
    }
}

/// The newest look counts also where doses of the day are in what an older one is carried to.
#[test]
fn the_newest_look_counts_and_not_what_doses_have_made_of_an_older_one() {
    let est = chlorine_tub(
        &[
            read("2026-03-03T08:00:00Z", "free_chlorine", "dpd-comparator", 0.5),
            dosed("2026-03-03T09:00:00Z", 10.0),
            read("2026-03-03T14:00:00Z", "free_chlorine", "dpd-comparator", 2.5),
        ]
        .concat(),
    );
    assert!(told(&est, Q::FreeChlorine).is_empty(), "{:?}", est.findings);
    assert!((est.value(Q::FreeChlorine) - 2.5).abs() < 0.05, "{}", est.value(Q::FreeChlorine));
    // A temperature of the morning is not today's at noon.
    let est = chlorine_tub(
        &[
            read("2026-03-03T08:00:00Z", "temperature", "thermometer", 30.0),
            read("2026-03-03T14:00:00Z", "temperature", "thermometer", 38.0),
        ]
        .concat(),
    );
    assert!((est.value(Q::Temperature) - 38.0).abs() < 1e-9, "{}", est.value(Q::Temperature));
}

/// At one look two that differ still contradict, and so does what stays in the water; then what was read is named.
#[test]
fn a_contradiction_names_what_was_read() {
    let one_look = chlorine_tub(
        &[
            read("2026-03-03T14:00:00Z", "free_chlorine", "dpd-comparator", 0.5),
            read("2026-03-03T14:20:00Z", "free_chlorine", "fas-dpd-0.2", 5.0),
        ]
        .concat(),
    );
    assert_eq!(told(&one_look, Q::FreeChlorine).len(), 1, "{:?}", one_look.findings);
    assert!(!told(&one_look, Q::FreeChlorine)[0].contains("read as"), "nothing came between");

    // 100 g of dichlor bring 44 mg/L of cyanuric acid: read as 100 before, a laboratory finds 20 after.
    let stays = chlorine_tub(
        &[
            read("2026-03-01T13:00:00Z", "cyanuric_acid", "laboratory", 100.0),
            dosed("2026-03-02T10:00:00Z", 100.0),
            read("2026-03-03T14:00:00Z", "cyanuric_acid", "laboratory", 20.0),
        ]
        .concat(),
    );
    let [what] = &told(&stays, Q::CyanuricAcid)[..] else { panic!("{:?}", stays.findings) };
    assert!(what.contains("read as 100 mg/L on 2026-03-01 13:00 UTC"), "{what}");
    assert!(what.contains("doses and water since then are counted"), "{what}");
}

/// A poor kit does not end what a good one read hours before; time does.
#[test]
fn a_poor_kit_does_not_end_a_good_reading_of_the_same_day() {
    let both = |at: &str| {
        let est = chlorine_tub(
            &[
                read(at, "free_chlorine", "fas-dpd-0.2", 4.0),
                read("2026-03-03T14:00:00Z", "free_chlorine", "strip", 2.0),
            ]
            .concat(),
        );
        est.value(Q::FreeChlorine)
    };
    assert!(both("2026-03-03T11:00:00Z") > 3.0, "{}", both("2026-03-03T11:00:00Z"));
    assert!(both("2026-02-26T11:00:00Z") < 2.5, "{}", both("2026-02-26T11:00:00Z"));
}

/// What a dose left grows unsure with its age, and with how much it was.
#[test]
fn a_dose_since_makes_a_reading_unsure() {
    let error = |dose: f64, at: &str| {
        let est = chlorine_tub(
            &[read("2026-03-03T06:00:00Z", "free_chlorine", "fas-dpd-0.2", 2.0), dosed(at, dose)].concat(),
        );
        est.level(Q::FreeChlorine).expect("a level").standard_error
    };
    let (fresh, old, large) = (
        error(5.0, "2026-03-03T14:00:00Z"),
        error(5.0, "2026-03-03T07:00:00Z"),
        error(10.0, "2026-03-03T07:00:00Z"),
    );
    assert!(fresh < old && old < large, "{fresh} {old} {large}");
}
