//! What raw readings say, against outside facts (named at each check) and properties.

use care::amount::Units;
use care::case::{Raw, Reading};
use care::finding::Weight;
use care::method::{
    self, BUILT_IN, ChlorideBasis, Context, ElectrodeCalibration, Interpreted, LotTable, Method, Outcome,
    ProbeCalibration, ProbeLaw, Wrong, active_chlorine_mg_l, interpret, salt_error_of_phenol_red,
};
use care::quantity::Quantity as Q;
use proptest::prelude::*;

fn reading(method: &Method, quantity: Q, raw: Raw) -> Reading {
    Reading { quantity, method: method.id.to_string(), raw, line: Some(7) }
}

fn try_read(id: &str, q: Q, raw: Raw, context: &Context) -> Result<Interpreted, method::MethodError> {
    let m = method::find(&[], id).unwrap_or_else(|| panic!("no method {id}"));
    interpret(m, &reading(m, q, raw), context)
}

fn read(id: &str, q: Q, raw: Raw, context: &Context) -> Interpreted {
    try_read(id, q, raw, context).expect("a reading")
}

fn value(i: &Interpreted) -> (f64, f64) {
    match i.outcome {
        Outcome::Value { value, standard_error } => (value, standard_error),
        other => panic!("{other:?}"),
    }
}

fn tub() -> Context {
    Context { ph: Some(7.4), ..Context::at(38.0) }
}

fn invented_lot() -> LotTable {
    // An invented lot; the figures serve the interpolation alone.
    let rows = [290.0, 600.0, 1010.0, 1540.0, 2230.0, 3180.0, 4600.0, 7060.0];
    let rows: Vec<_> = rows.iter().enumerate().map(|(i, y)| (1.0 + i as f64, *y)).collect();
    LotTable::new("invented", ChlorideBasis::SodiumChloride, &rows).expect("a table")
}

#[test]
fn built_in_methods_have_ids_of_their_own_scales_in_order_and_a_source() {
    for (i, m) in BUILT_IN.iter().enumerate() {
        assert!(!m.name.is_empty() && !m.error_source.is_empty(), "{}", m.id);
        assert!(BUILT_IN[..i].iter().all(|n| n.id != m.id), "{} twice", m.id);
        assert!(m.quantities().count() > 0, "{}", m.id);
        for s in m.scales.iter() {
            assert!(s.low < s.high, "{} {:?}", m.id, s.quantity);
            assert!(s.absolute_error > 0.0 || s.relative_error > 0.0, "{} {:?}", m.id, s.quantity);
        }
    }
    for id in [
        "drop-titration-10",
        "drop-titration-25ml-10",
        "comparator",
        "phenol-red",
        "dpd-comparator",
        "dpd-photometer",
        "fas-dpd-0.2",
        "fas-dpd-0.5",
        "strip",
        "chloride-strip",
        "turbidity-tube",
        "o-tolidine",
        "ph-electrode",
        "amperometric-probe",
        "redox-probe",
        "salt-meter",
        "conductivity-meter",
        "photometer",
        "laboratory",
        "display",
        "thermometer",
        "report",
    ] {
        assert!(method::find(&[], id).is_some(), "{id}");
    }
}

#[test]
fn the_end_point_lies_within_the_last_drop() {
    let (v, se) = value(&read("drop-titration-25ml-10", Q::TotalAlkalinity, Raw::Drops(8.0), &tub()));
    assert_eq!(v, 75.0, "more than seven drops, not more than eight");
    // Half a drop, and 5 % of the 80 mg/L that were counted.
    assert!((se - 5f64.hypot(4.0)).abs() < 1e-9, "{se}");
    let (v, _) = value(&read("fas-dpd-0.2", Q::FreeChlorine, Raw::Drops(17.0), &tub()));
    assert!((v - 3.3).abs() < 1e-12);
    // A figure that was written down instead is taken as it stands.
    let (v, _) = value(&read("fas-dpd-0.2", Q::FreeChlorine, Raw::Value(3.4), &tub()));
    assert_eq!(v, 3.4);
    let (v, _) = value(&read("fas-dpd-0.2", Q::FreeChlorine, Raw::Drops(1.0), &tub()));
    assert!((v - 0.1).abs() < 1e-12);
    // A drop takes as many moles of bromine as of chlorine: 159.808/70.906 = 2.2539 times the figure (atomic weights).
    let (v, _) = value(&read("fas-dpd-0.2", Q::TotalBromine, Raw::Drops(10.0), &tub()));
    assert!((v - 9.5 * 0.2 * 2.2539).abs() < 1e-3, "{v}");
    // 25 mL and 0.2 mg/L a drop: a sample that stays colourless tells "below 0.2".
    let none = read("fas-dpd-0.2", Q::FreeChlorine, Raw::Drops(0.0), &tub());
    assert_eq!(none.outcome, Outcome::Below { limit: 0.2 });
}

#[test]
fn a_method_that_cannot_have_given_the_reading_is_named_with_what_would_be_right() {
    let message = |r: Result<Interpreted, method::MethodError>| r.unwrap_err().to_string();
    let m = message(try_read("dpd-photometer", Q::FreeChlorine, Raw::Drops(4.0), &tub()));
    assert!(m.contains("line 7") && m.contains("dpd-photometer") && m.contains("4 drops"), "{m}");
    let m = message(try_read("phenol-red", Q::Salt, Raw::Value(2000.0), &tub()));
    assert!(m.contains("cannot read salt: it reads pH"), "{m}");
    let strip = Raw::ScaleUnits { units: 5.0, signal_changed: Some(true), minutes: Some(3.0) };
    let m = message(try_read("chloride-strip", Q::Salt, strip, &tub()));
    assert!(m.contains("table printed on the bottle") && m.contains('5'), "{m}");
    let m = message(try_read("comparator", Q::Ph, strip, &tub()));
    assert!(m.contains("5 scale units"), "{m}");
    let m = message(try_read("comparator", Q::Ph, Raw::Value(74.0), &tub()));
    assert!(m.contains("pH = 74") && m.contains("4 to 11"), "{m}");
    assert!(try_read("comparator", Q::Ph, Raw::Value(f64::NAN), &tub()).is_err());
    assert!(try_read("drop-titration-10", Q::TotalAlkalinity, Raw::Drops(-1.0), &tub()).is_err());
}

#[test]
fn a_users_method_with_impossible_figures_is_refused() {
    let per_drop = |d| {
        let m = Method::drop_titration("own", "own", Q::TotalAlkalinity, 25.0, d);
        interpret(&m, &reading(&m, Q::TotalAlkalinity, Raw::Drops(4.0)), &tub())
    };
    assert_eq!(value(&per_drop(20.0).unwrap()).0, 70.0);
    for d in [0.0, -10.0, f64::NAN] {
        assert!(per_drop(d).unwrap_err().to_string().contains("per_drop"));
    }
    // An estimate that strays below nothing is no reason to refuse a reading.
    let stray = Context { free_chlorine_mg_l: Some(-0.2), salt_mg_l: Some(f64::NAN), ..tub() };
    assert_eq!(
        read("comparator", Q::Ph, Raw::Value(7.4), &stray),
        read("comparator", Q::Ph, Raw::Value(7.4), &tub())
    );
    let frozen = Context::at(f64::NAN);
    assert!(
        try_read("comparator", Q::Ph, Raw::Value(7.4), &frozen)
            .unwrap_err()
            .to_string()
            .contains("temperature")
    );
}

#[test]
fn lot_tables_must_rise() {
    let new = |rows: &[(f64, f64)]| LotTable::new("x", ChlorideBasis::Chloride, rows).unwrap_err();
    assert!(matches!(new(&[(1.0, 100.0)]), Wrong::LotTableTooShort { rows: 1 }));
    let e = new(&[(1.0, 100.0), (2.0, 300.0), (3.0, 300.0)]);
    assert!(matches!(e, Wrong::LotTable { field: "mg_l", row: 3, .. }), "{e}");
    let e = new(&[(1.0, 100.0), (1.0, 300.0)]);
    assert!(matches!(e, Wrong::LotTable { field: "units", row: 2, .. }), "{e}");
    assert!(matches!(new(&[(1.0, f64::NAN), (2.0, 3.0)]), Wrong::LotTable { field: "mg_l", row: 1, .. }));
}

#[test]
fn interpolation_agrees_with_a_general_library() {
    // scipy.interpolate.PchipInterpolator, SciPy 1.17.1: values and slopes.
    let lot = invented_lot();
    for (units, y, slope) in [
        (1.3, 372.9375, 292.291667),
        (2.5, 791.339391, 411.151005),
        (4.4, 1792.467717, 665.854138),
        (5.2, 2394.693259, 849.053823),
        (6.75, 4178.275357, 1579.367034),
        (7.9, 6765.945567, 2899.694845),
    ] {
        let (v, s) = lot.salt_mg_l(units).unwrap();
        assert!((v - y).abs() < 1e-5 && (s - slope).abs() < 1e-5, "{units}: {v} {s}");
    }
    let rows = [(0.5, 10.0), (1.0, 200.0), (2.5, 210.0), (4.0, 900.0), (7.0, 5000.0)];
    let lot = LotTable::new("uneven", ChlorideBasis::SodiumChloride, &rows).unwrap();
    for (units, y) in
        [(0.6, 59.80347), (1.9, 205.88991), (3.3, 461.849658), (5.5, 2455.462465), (6.9, 4804.549653)]
    {
        assert!((lot.salt_mg_l(units).unwrap().0 - y).abs() < 1e-5, "{units}");
    }
}

#[test]
fn a_chloride_strip_counts_only_when_its_band_has_changed() {
    let m = Method::chloride_strip("my-strip", "my strip", invented_lot());
    let at = |signal_changed, minutes| {
        let raw = Raw::ScaleUnits { units: 5.0, signal_changed, minutes };
        interpret(&m, &reading(&m, Q::Salt, raw), &tub()).unwrap()
    };
    let good = at(Some(true), Some(3.0));
    let (v, se) = value(&good);
    assert!((v - 2230.0).abs() < 1e-9 && (se / v - 0.1).abs() < 1e-9 && good.findings.is_empty());
    for signal in [Some(false), None] {
        let void = at(signal, Some(3.0));
        assert_eq!(void.outcome, Outcome::Void);
        assert!(void.findings[0].what.contains("void"));
    }
    let (_, late) = value(&at(Some(true), Some(30.0)));
    assert!((late / se - 2.0).abs() < 1e-9);
    let beyond = Raw::ScaleUnits { units: 9.0, signal_changed: Some(true), minutes: None };
    let beyond = interpret(&m, &reading(&m, Q::Salt, beyond), &tub()).unwrap();
    assert_eq!(beyond.outcome, Outcome::Above { limit: 7060.0 });
    assert!(beyond.findings[0].advice.contains("Dilute"));
}

#[test]
fn a_table_in_chloride_is_turned_into_salt() {
    // NaCl = Cl · 1.6485 (molar masses, IUPAC 2021).
    let lot = LotTable::new("cl", ChlorideBasis::Chloride, &[(1.0, 200.0), (5.0, 2000.0)]).unwrap();
    assert!((lot.salt_mg_l(5.0).unwrap().0 / 2000.0 - 1.6485).abs() < 1e-4);
}

#[test]
fn colour_ends_are_limits() {
    let zero = read("dpd-comparator", Q::FreeChlorine, Raw::Value(0.0), &tub());
    assert_eq!(zero.outcome, Outcome::Below { limit: 0.2 });
    let top = read("dpd-comparator", Q::FreeChlorine, Raw::Value(10.0), &tub());
    assert_eq!(top.outcome, Outcome::Above { limit: 10.0 });
    assert!(top.findings[0].advice.contains("Dilute"));
    let tube = read("turbidity-tube", Q::CyanuricAcid, Raw::Value(20.0), &tub());
    assert_eq!(tube.outcome, Outcome::Below { limit: 30.0 });
    // A tube's 65 in a sample diluted one to one is 130 ± 25 (handbook practice: about 20 %).
    let (v, se) = value(&read("turbidity-tube", Q::CyanuricAcid, Raw::Value(130.0), &tub()));
    assert!(v == 130.0 && (20.0..30.0).contains(&se), "{se}");
    let end = read("phenol-red", Q::Ph, Raw::Value(6.8), &tub());
    let inside = read("phenol-red", Q::Ph, Raw::Value(7.4), &tub());
    assert!(value(&end).1 > 1.9 * value(&inside).1 && !end.findings.is_empty());
    assert_eq!(read("phenol-red", Q::Ph, Raw::Value(8.4), &tub()).outcome, Outcome::Above { limit: 8.2 });
}

#[test]
fn much_chlorine_voids_a_ph_dye_and_bleaches_dpd() {
    let shocked = Context { free_chlorine_mg_l: Some(15.0), ..tub() };
    for id in ["phenol-red", "comparator", "strip"] {
        let ph = read(id, Q::Ph, Raw::Value(7.8), &shocked);
        assert_eq!(ph.outcome, Outcome::Void, "{id}");
        assert!(ph.findings[0].what.contains("not used") && ph.findings[0].weight >= Weight::Doubt);
    }
    assert_eq!(read("dpd-comparator", Q::FreeChlorine, Raw::Value(0.0), &shocked).outcome, Outcome::Void);
    // FAS-DPD is not bleached; an electrode has no dye.
    assert!(
        (value(&read("fas-dpd-0.5", Q::FreeChlorine, Raw::Drops(30.0), &shocked)).0 - 14.75).abs() < 1e-12
    );
    assert_eq!(value(&read("ph-electrode", Q::Ph, Raw::Value(7.4), &shocked)).0, 7.4);
}

#[test]
fn phenol_red_reads_high_in_salt_water() {
    // 3·A·(f(0.06) − f(0.01)), f by Davies, A = 0.509 at 25 °C (Robinson & Stokes 1959): 0.14 at 3 500 mg/L.
    let f = |i: f64| i.sqrt() / (1.0 + i.sqrt()) - 0.3 * i;
    let by_hand = 3.0 * 0.509 * (f(3.5 / 58.443) - f(0.01));
    assert!((salt_error_of_phenol_red(3500.0) - by_hand).abs() < 0.002);
    assert!((0.10..=0.15).contains(&salt_error_of_phenol_red(3500.0)));
    assert_eq!(salt_error_of_phenol_red(0.0), 0.0);
    let salty = Context { salt_mg_l: Some(3500.0), ..tub() };
    let i = read("phenol-red", Q::Ph, Raw::Value(7.6), &salty);
    assert!((value(&i).0 - (7.6 - salt_error_of_phenol_red(3500.0))).abs() < 1e-12);
    assert!(i.findings.iter().any(|f| f.what.contains("too high")));
    // A comparator whose dye was not named keeps its figure with a wider error.
    let unnamed = read("comparator", Q::Ph, Raw::Value(7.6), &salty);
    assert_eq!(value(&unnamed).0, 7.6);
    assert!(value(&unnamed).1 > value(&read("comparator", Q::Ph, Raw::Value(7.6), &tub())).1);
}

#[test]
fn orthotolidine_says_total_chlorine_and_never_combined() {
    let i = read("o-tolidine", Q::FreeChlorine, Raw::Value(2.0), &tub());
    assert_eq!(i.quantity, Q::TotalChlorine);
    assert!(i.findings[0].what.contains("total chlorine"));
    let e = try_read("o-tolidine", Q::CombinedChlorine, Raw::Value(0.5), &tub()).unwrap_err();
    assert_eq!(e.wrong, Wrong::CannotSeparate);
}

#[test]
fn hypochlorous_acid_agrees_with_published_figures() {
    // CDC, Model Aquatic Health Code annex 5.7.3.1.2.2: 55 % at pH 7.5, 28 % at pH 8.0 (their pKa is 7.59).
    for (ph, percent) in [(7.5, 55.0), (8.0, 28.0)] {
        let ours = 100.0 * active_chlorine_mg_l(1.0, ph, 25.0, 0.0, 0.0).unwrap();
        assert!((ours - percent).abs() < 4.0, "{ph}: {ours}");
    }
    // Wahman & Alexander 2019 (abstract): 2.0 mg/L as Cl2 of dichlor at pH 7.0 leaves HOCl + OCl- of 0.90 mg/L at 25 °C and
    // 0.60 mg/L at 5 °C; dichlor brings one cyanurate per two chlorine: 1.82 mg/L.
    let cyanuric = 2.0 / 70.906 / 2.0 * 129.07;
    for (t, published) in [(25.0, 0.90), (5.0, 0.60)] {
        let acid = active_chlorine_mg_l(2.0, 7.0, t, cyanuric, 0.0).unwrap();
        let share = active_chlorine_mg_l(1.0, 7.0, t, 0.0, 0.0).unwrap();
        assert!((acid / share / published - 1.0).abs() < 0.05, "{t}: {}", acid / share);
    }
}

fn probe(law: ProbeLaw, set: ProbeCalibration) -> Method {
    Method::chlorine_probe("probe", "probe", law, set)
}

#[test]
fn a_probe_shows_less_as_ph_rises_while_free_chlorine_has_not_changed() {
    // Morris 1966: at 25 °C 68 % of free chlorine is HOCl at pH 7.2 and 35 % at pH 7.8.
    let set = ProbeCalibration {
        ph: 7.2,
        temperature_c: 25.0,
        free_chlorine_mg_l: Some(3.0),
        cyanuric_acid_mg_l: 0.0,
    };
    let m = probe(ProbeLaw::Amperometric, set);
    let now = Context { ph: Some(7.8), ..Context::at(25.0) };
    let shown = 3.0 * 35.3 / 68.5;
    let i = interpret(&m, &reading(&m, Q::FreeChlorine, Raw::Value(shown)), &now).unwrap();
    let (v, se) = value(&i);
    assert!((v - 3.0).abs() < 0.03 && se > 0.3, "{v} {se}");
    assert!(i.findings[0].what.contains("moved with the pH, not with the chlorine"));
    // Without the pH it was set at, no compensation and a wide error.
    let unset = read("amperometric-probe", Q::FreeChlorine, Raw::Value(shown), &now);
    assert!(value(&unset).0 == shown && value(&unset).1 > 0.3 * shown && !unset.findings.is_empty());
}

#[test]
fn an_electrode_is_corrected_by_its_calibration() {
    let new = |age_days, offset_ph, slope| {
        let m = Method::ph_electrode("e", "e", ElectrodeCalibration { age_days, offset_ph, slope });
        interpret(&m, &reading(&m, Q::Ph, Raw::Value(7.9)), &tub()).unwrap()
    };
    let (v, fresh) = value(&new(0.0, 0.1, 0.95));
    assert!((v - (7.0 + 0.8 / 0.95)).abs() < 1e-12);
    let (_, week) = value(&new(7.0, 0.1, 0.95));
    assert!((week - fresh.hypot(0.1)).abs() < 1e-12);
    assert!(new(1.0, 0.0, 0.7).findings[0].what.contains("worn"));
    assert!(!new(60.0, 0.0, 0.95).findings.is_empty());
}

#[test]
fn conductivity_is_referred_to_25_degrees() {
    // ISO 7888:1985, KCl 0.01 mol/L: 1.278 mS/cm at 20 °C, 1.413 at 25 °C (from memory).
    let i = read("conductivity-meter-uncompensated", Q::Conductivity, Raw::Value(1.278), &Context::at(20.0));
    assert!((value(&i).0 / 1.413 - 1.0).abs() < 0.01, "{:?}", i.outcome);
    let m = read("salt-meter", Q::Salt, Raw::Value(2300.0), &tub());
    assert!(m.findings.iter().any(|f| f.what.contains("every ion")));
}

#[test]
fn a_potential_falls_with_ph_by_nernst_and_by_the_loss_of_active_chlorine() {
    // 25 °C, no cyanurate, pH 7.2 to 7.8: log10(35.3/68.5) − 0.6 = −0.89 decades of 29.6 mV (Nernst, two electrons): −26 mV.
    let set =
        ProbeCalibration { ph: 7.2, temperature_c: 25.0, free_chlorine_mg_l: None, cyanuric_acid_mg_l: 0.0 };
    let m = probe(ProbeLaw::Redox, set);
    let now = Context { ph: Some(7.8), ..Context::at(25.0) };
    let i = interpret(&m, &reading(&m, Q::Redox, Raw::Value(700.0)), &now).unwrap();
    assert_eq!(value(&i).0, 700.0);
    assert!(i.findings[0].what.contains("-26 mV"), "{}", i.findings[0].what);
}

#[test]
fn chlorine_in_an_alkalinity_sample_and_magnesium_in_a_calcium_sample_widen_the_error() {
    let plain = read("drop-titration-10", Q::TotalAlkalinity, Raw::Drops(8.0), &tub());
    let chlorinated = Context { free_chlorine_mg_l: Some(10.0), ..tub() };
    let i = read("drop-titration-10", Q::TotalAlkalinity, Raw::Drops(8.0), &chlorinated);
    // At 10 mg/L between −10.6 and +7.1 mg/L as CaCO3: a rectangle of 17.6 has a standard error of 17.6/√12 = 5.1.
    assert!((value(&i).1 - value(&plain).1.hypot(17.64 / 12.0_f64.sqrt())).abs() < 0.01);
    assert!(i.findings[0].what.contains("-11 to +7"), "{}", i.findings[0].what);
    let mineral = Context { magnesium_mg_l: Some(200.0), ..tub() };
    let with = read("drop-titration-10", Q::CalciumHardness, Raw::Drops(15.0), &mineral);
    let without = read("drop-titration-10", Q::CalciumHardness, Raw::Drops(15.0), &tub());
    assert!((value(&with).1 - value(&without).1.hypot(14.5)).abs() < 1e-9);
    assert!(with.findings[0].what.contains("magnesium") && without.findings.is_empty());
}

fn contexts() -> impl Strategy<Value = Context> {
    let some = |high| prop::option::of(0.0..high);
    (5.0..42.0, prop::option::of(6.0..9.0), some(30.0), some(200.0), some(8000.0), some(300.0), some(300.0))
        .prop_map(|(temperature_c, ph, free, cyanuric, salt, magnesium, alkalinity)| Context {
            temperature_c,
            ph,
            free_chlorine_mg_l: free,
            cyanuric_acid_mg_l: cyanuric,
            salt_mg_l: salt,
            magnesium_mg_l: magnesium,
            total_alkalinity_mg_l_caco3: alkalinity,
            units: Units::Metric,
        })
}

fn rising_rows() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((0.01..3.0, 0.5..3000.0), 2..12).prop_map(|steps| {
        let (mut u, mut y) = (0.0, 0.0);
        steps
            .into_iter()
            .map(|(du, dy)| {
                (u, y) = (u + du, y + dy);
                (u, y)
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn interpolation_rises_strictly_and_passes_through_its_rows(rows in rising_rows(), a in 0.0..1.0, b in 0.0..1.0) {
        let lot = LotTable::new("x", ChlorideBasis::SodiumChloride, &rows).unwrap();
        for (u, y) in &rows {
            prop_assert!((lot.salt_mg_l(*u).unwrap().0 - y).abs() <= 1e-9 * y);
        }
        let (first, last) = lot.range_units();
        let at = |share: f64| lot.salt_mg_l((first + share * (last - first)).min(last)).unwrap().0;
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        if high - low > 1e-6 {
            prop_assert!(at(low) < at(high));
        }
    }

    #[test]
    fn no_reading_panics_and_every_error_is_positive(
        m in 0..BUILT_IN.len(),
        q in prop::sample::select(care::quantity::ALL.to_vec()),
        shape in 0..5,
        figure in prop_oneof![-5.0..20.0, 0.0..5000.0, Just(f64::NAN), Just(f64::INFINITY)],
        context in contexts(),
    ) {
        let raw = match shape {
            0 => Raw::Value(figure),
            1 => Raw::Drops(figure),
            2 => Raw::ScaleUnits { units: figure, signal_changed: Some(true), minutes: Some(figure) },
            3 => Raw::Below(figure),
            _ => Raw::Above(figure),
        };
        let m = &BUILT_IN[m];
        match interpret(m, &reading(m, q, raw), &context) {
            Ok(i) => {
                if let Outcome::Value { value, standard_error } = i.outcome {
                    prop_assert!(value.is_finite() && standard_error.is_finite() && standard_error > 0.0);
                }
                prop_assert!(m.id != "o-tolidine" || i.quantity == Q::TotalChlorine);
                prop_assert!(i.findings.iter().all(|f| !f.what.is_empty() && !f.advice.is_empty()));
            }
            Err(e) => prop_assert!(e.to_string().contains(m.id.as_ref())),
        }
    }

    #[test]
    fn a_strip_without_its_signal_never_gives_a_value(units in 0.0..10.0, minutes in 0.0..60.0, noted in any::<bool>()) {
        let m = Method::chloride_strip("s", "s", invented_lot());
        let signal_changed = if noted { Some(false) } else { None };
        let raw = Raw::ScaleUnits { units, signal_changed, minutes: Some(minutes) };
        let i = interpret(&m, &reading(&m, Q::Salt, raw), &tub()).unwrap();
        prop_assert_eq!(i.outcome, Outcome::Void);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// A sensor simulated from the equilibrium shows less or more as pH moves; its interpretation does not.
    #[test]
    fn compensation_keeps_free_chlorine_as_ph_moves(
        free in 0.3..9.0, set_to in 0.5..6.0, ph in 6.8..8.4, set_ph in 6.8..8.2,
        cyanuric in 0.0..80.0, salt in 0.0..4000.0, t in 15.0..40.0, redox in any::<bool>(),
    ) {
        let set = ProbeCalibration { ph: set_ph, temperature_c: t, free_chlorine_mg_l: Some(set_to), cyanuric_acid_mg_l: cyanuric };
        let law = if redox { ProbeLaw::Redox } else { ProbeLaw::Amperometric };
        let own = |ph: f64| if redox { 10.0_f64.powf(-ph) } else { 1.0 };
        let signal = |free, ph| active_chlorine_mg_l(free, ph, t, cyanuric, salt).unwrap() * own(ph);
        let shown = set_to * signal(free, ph) / signal(set_to, set_ph);
        prop_assume!(shown > 0.11 && shown < 49.0);
        let context = Context { ph: Some(ph), cyanuric_acid_mg_l: Some(cyanuric), salt_mg_l: Some(salt), ..Context::at(t) };
        let m = probe(law, set);
        let i = interpret(&m, &reading(&m, Q::FreeChlorine, Raw::Value(shown)), &context).unwrap();
        prop_assert!((value(&i).0 / free - 1.0).abs() < 1e-6, "{} {free}", value(&i).0);
    }
}
