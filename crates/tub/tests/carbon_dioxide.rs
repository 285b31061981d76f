//! Carbon dioxide: where it ends (the reference library), how fast it gets there (the trade).

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;

use common::{eq, f, fill, filled, inert, mg_cl2, ph, reference};
use tub::cell::Cell;
use tub::exchange::Exchange;
use tub::{Event, Jets, Settings, Surroundings, Timed, Tub, follow};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

/// Every pH within 0.0005 and carbon within 0.02 % of where IPhreeqc (phreeqc.dat) puts it in balance with the air, whatever
/// the tub and however fast: alkalinity 40–150 mg/L, 10–40 °C, with salt and with borate. `reference/tub_endpoints.py`.
#[test]
fn an_open_tub_ends_where_the_reference_library_says() {
    let doc = reference("tub_endpoints.json");
    let cases = doc["co2"].as_array().unwrap();
    assert_eq!(cases.len(), 60);
    for c in cases {
        let m = &c["mol_per_kgw"];
        let totals = Totals {
            alkalinity: f(c, "alkalinity_eq_per_kgw"),
            carbon: f(c, "start_dic"),
            calcium: f(m, "Ca"),
            sodium: f(m, "Na"),
            chloride: f(m, "Cl"),
            boron: m["B"].as_f64().unwrap_or(0.0),
            ..Totals::default()
        };
        let tub = Tub { exchange: Exchange { still_per_h: 2.0, ..inert().exchange }, ..inert() };
        let t_c = f(c, "t_c");
        // Damp air as warm as the water, so that hardly any water goes with the gas.
        let surroundings = Surroundings {
            carbon_dioxide_ppm: 1e6 * 10f64.powf(f(c, "log10_pco2_atm")),
            air_c: t_c,
            humidity: 1.0,
            wind_m_s: 0.0,
            sun: 0.0,
        };
        let settings = Settings { open: true, circulation: 0.0, surroundings, ..Settings::default() };
        let end = follow(&tub, &filled(&tub, totals, t_c, settings), &[], &[1000.0]).unwrap().end;
        assert!((end.temperature.0 - t_c).abs() < 1e-6 && (end.water_kg - 1000.0).abs() < 1e-6);
        assert!((ph(&end) - f(c, "end_pH")).abs() < 5e-4, "{c}: {}", ph(&end));
        let dic = end.totals.carbon / f(c, "end_dic") - 1.0;
        assert!(dic.abs() < 2e-4, "{c}: {dic:e}");
    }
}

/// Henry's constant against another measurement and another formula: ln K0 = −60.2409 + 93.4517 (100/T) + 23.3585 ln(T/100), mol/(kg·atm), in
/// fresh water at 0–40 °C (Weiss 1974, Mar. Chem. 2:203). Both say they are good to some thirds of a percent.
#[test]
fn carbon_dioxide_dissolves_as_published() {
    for t_c in [5.0, 15.0, 25.0, 35.0, 40.0] {
        let hundreds = (t_c + 273.15) / 100.0;
        let published = (-60.2409 + 93.4517 / hundreds + 23.3585 * f64::ln(hundreds)).exp();
        let ours = Equilibria::at(Celsius(t_c)).unwrap().co2_at_pressure_mol_kg(1.0);
        assert!((ours / published - 1.0).abs() < 0.01, "{t_c} °C: {ours} {published}");
    }
}

/// An ordinary evening: cover off for half an hour, jets for twenty minutes.
fn evening(at_h: f64) -> [Timed; 4] {
    [
        (0.0, Event::CoverOff(true)),
        (0.08, Event::Jets(Jets::Water)),
        (0.42, Event::Jets(Jets::Off)),
        (0.5, Event::CoverOff(false)),
    ]
    .map(|(after, event)| Timed { at_h: at_h + after, event })
}

fn days(tub: &Tub, start_ph: f64, count: i32) -> Vec<f64> {
    let events: Vec<Timed> = (0..count).flat_map(|d| evening(24.0 * f64::from(d) + 19.0)).collect();
    let hours: Vec<f64> = (0..=count).map(|d| 24.0 * f64::from(d)).collect();
    let start = filled(tub, fill(start_ph, 38.0), 38.0, Settings::default());
    follow(tub, &start, &events, &hours).unwrap().samples.iter().map(ph).collect()
}

/// Common practice: after a fill the pH climbs for seven to ten days and then settles. Here: nine tenths of the whole rise of
/// four weeks are done between day 4 and day 10, and after day 10 it moves less than 0.02 a day.
#[test]
fn after_a_fill_the_ph_climbs_for_about_a_week_and_then_settles() {
    let ph = days(&Tub::default(), 7.2, 28);
    let rise = ph[28] - ph[0];
    assert!(rise > 0.4, "{ph:?}");
    let nine_tenths = ph.iter().position(|p| p - ph[0] > 0.9 * rise).unwrap();
    assert!((4..=10).contains(&nine_tenths), "day {nine_tenths}: {ph:?}");
    assert!(ph[10..].windows(2).all(|w| (w[1] - w[0]).abs() < 0.02), "{ph:?}");
    // It stays below what outside air would give: the cover holds some back.
    assert!(ph[28] < 8.35);
}

/// Common practice: a low pH rises by itself within about 24 hours.
#[test]
fn a_low_ph_is_back_in_its_range_after_a_day() {
    let ph = days(&Tub::default(), 7.0, 2);
    assert!((7.2..7.8).contains(&ph[1]), "{ph:?}");
    // And the lower it is, the faster it rises.
    let lower = days(&Tub::default(), 6.8, 1);
    assert!(lower[1] - lower[0] > 0.25, "{lower:?}");
}

/// A salt cell that makes what the tub uses adds nothing to the climb: after ten days the pH is that of a tub without one, within
/// 0.05, and once the chlorine there is used its alkalinity is the same.
#[test]
fn a_cell_adds_nothing_to_the_climb() {
    let after = |cell: Option<Cell>| {
        let mut tub = Tub { cell, wetted_m2: 0.0, ..Tub::default() };
        tub.demand.background_per_day = 2.0;
        let start = filled(&tub, fill(7.2, 38.0), 38.0, Settings { cell_duty: 0.1, ..Settings::default() });
        follow(&tub, &start, &[], &[24.0 * 10.0]).unwrap().end
    };
    let cell = Cell { plate_m2: 0.0, ..Cell::default() };
    let (with, without) = (after(Some(cell)), after(None));
    let chlorine = with.totals.free_chlorine;
    assert!(mg_cl2(chlorine) > 2.0, "{}", mg_cl2(chlorine));
    assert!(ph(&without) > 7.6 && (ph(&with) - ph(&without)).abs() < 0.05, "{} {}", ph(&with), ph(&without));
    let used = water::addition::use_chlorine(&with.totals, chlorine);
    let base = used.alkalinity * with.water_kg - without.totals.alkalinity * without.water_kg;
    assert!(base.abs() < 1e-6, "{base:e}");
}

/// Common practice: less alkalinity, less climb. And by the end points of the reference library: a lower pH to end at.
#[test]
fn less_alkalinity_climbs_less() {
    let after = |mg_l: f64| {
        let t = Totals { alkalinity: eq(mg_l), chloride: 0.03, ..Totals::default() }
            .closed_with_sodium_chloride();
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        let t = at.solve_at_ph(&t, Ph(7.4)).unwrap().totals;
        let tub = Tub::default();
        ph(&follow(&tub, &filled(&tub, t, 38.0, Settings::default()), &[], &[24.0 * 21.0]).unwrap().end)
    };
    let (low, usual, high) = (after(40.0), after(80.0), after(140.0));
    assert!(low < usual && usual < high && high - low > 0.3, "{low} {usual} {high}");
}

/// Only the carbon leaves: alkalinity stays.
#[test]
fn outgassing_leaves_the_alkalinity() {
    let tub = Tub { exchange: Exchange::default(), ..inert() };
    let settings = Settings { open: true, jets: Jets::WithAir, ..Settings::default() };
    let air = Surroundings { air_c: 38.0, humidity: 1.0, wind_m_s: 0.0, ..settings.surroundings };
    let start = filled(&tub, fill(7.2, 38.0), 38.0, Settings { surroundings: air, ..settings });
    let end = follow(&tub, &start, &[], &[2.0]).unwrap().end;
    assert!(ph(&end) > ph(&start) + 0.5);
    let drift = end.totals.alkalinity * end.water_kg / (start.totals.alkalinity * start.water_kg) - 1.0;
    assert!(drift.abs() < 1e-9, "{drift:e}");
}

/// Air, jets and an open cover each speed it up; a tight cover nearly stops it.
#[test]
fn what_stirs_and_what_opens_speeds_it_up() {
    let tub = Tub { heater_w: 0.0, loss_w_k: 0.0, ..Tub::default() };
    let after = |open, jets, leak| {
        let tub = Tub { cover_air_changes_per_h: leak, ..tub };
        let start = filled(&tub, fill(7.2, 38.0), 38.0, Settings { open, jets, ..Settings::default() });
        ph(&follow(&tub, &start, &[], &[1.0]).unwrap().end)
    };
    let tight = after(false, Jets::Off, 0.0);
    let covered = after(false, Jets::Off, 0.5);
    let open = after(true, Jets::Off, 0.5);
    let jets = after(true, Jets::Water, 0.5);
    let air = after(true, Jets::WithAir, 0.5);
    assert!(
        tight < covered && covered < open && open < jets && jets < air,
        "{tight} {covered} {open} {jets} {air}"
    );
    assert!(tight - 7.2 < 0.02, "{tight}");
}

/// A dose in the middle: carbon and alkalinity in it count at once.
#[test]
fn a_dose_at_its_time_is_in_the_water_from_then_on() {
    let tub = inert();
    let start = filled(&tub, fill(7.4, 38.0), 38.0, Settings::default());
    let dose = Timed { at_h: 5.0, event: Event::Dose { chemical: Chemical::SodiumBicarbonate, mol: 1.0 } };
    let course = follow(&tub, &start, &[dose], &[4.9, 5.0, 10.0]).unwrap();
    let alkalinity: Vec<f64> = course.samples.iter().map(|s| s.totals.alkalinity * s.water_kg).collect();
    assert!((alkalinity[0] - eq(80.0) * 1000.0).abs() < 1e-6);
    assert!((alkalinity[1] - alkalinity[0] - 1.0).abs() < 1e-9);
    assert!((alkalinity[2] - alkalinity[1]).abs() < 1e-9);
    assert_eq!(course.end.at_h, 10.0);
    assert_eq!(course.end.temperature, Celsius(course.samples[2].temperature.0));
}
