//! The salt cell: Faraday's numbers, and an acid balance that closes.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;

use common::{fill, filled, inert, mg_cl2, ph};
use tub::cell::{Cell, faraday_mol_s};
use tub::event::Event;
use tub::{Settings, Timed, Tub, follow};

/// 70.906 · 3600 / (2 · 96 485.332 12) = 1.3228 g of Cl2 an ampere-hour, and 0.018656 mol of H2 (CODATA 2018; arithmetic).
#[test]
fn faradays_numbers() {
    assert!((faraday_mol_s(1.0, 1.0) * 3600.0 * 70.906 - 1.322_8).abs() < 5e-5);
    assert!((faraday_mol_s(1.0, 1.0) * 3600.0 - 0.018_656).abs() < 1e-6);
    assert_eq!(faraday_mol_s(2.0, 3.0), 6.0 * faraday_mol_s(1.0, 1.0));
}

fn ideal() -> Cell {
    Cell {
        efficiency_max: 1.0,
        half_chloride_mol_kg: 1e-6,
        reversals_per_h: 0.0,
        plate_m2: 0.0,
        life_h: 1e6,
        ..Cell::default()
    }
}

/// A perfect cell of 5 A for ten hours makes 50 A·h · 1.3228 g.
#[test]
fn a_perfect_cell_makes_what_faraday_says() {
    let tub = Tub { cell: Some(Cell { current_a: 5.0, ..ideal() }), ..inert() };
    let settings = Settings { cell_duty: 1.0, ..Settings::default() };
    let end = follow(&tub, &filled(&tub, fill(7.4, 38.0), 38.0, settings), &[], &[10.0]).unwrap().end;
    let grams = mg_cl2(end.totals.free_chlorine) * end.water_kg / 1000.0;
    assert!((grams / (50.0 * 1.322_8) - 1.0).abs() < 1e-4, "{grams}");
}

/// Cl- + H2O → OCl- + H2: alkalinity rises by one equivalent a mole. When all of it is used (light, organic matter), chloride and
/// alkalinity are where they were.
#[test]
fn making_chlorine_and_using_it_leaves_no_base() {
    let mut tub = Tub { cell: Some(ideal()), ..inert() };
    let start = filled(&tub, fill(7.4, 38.0), 38.0, Settings { cell_duty: 1.0, ..Settings::default() });
    let made = follow(&tub, &start, &[], &[5.0]).unwrap().end;
    let mol = made.totals.free_chlorine * made.water_kg;
    let gained = made.totals.alkalinity * made.water_kg - start.totals.alkalinity * start.water_kg;
    assert!(mol > 0.3 && (gained / mol - 1.0).abs() < 1e-6, "{mol} {gained}");
    assert!(ph(&made) > ph(&start) + 0.2);

    tub.demand.background_per_day = 20.0;
    let off = Timed { at_h: 5.0, event: Event::CellDuty(0.0) };
    let used = follow(&tub, &made, &[off], &[48.0]).unwrap().end;
    assert!(used.totals.free_chlorine < 1e-9);
    // Amounts: a little water went through the cover's leak.
    let mol = |s: &tub::State, per_kg: f64| per_kg * s.water_kg;
    let alkalinity = mol(&used, used.totals.alkalinity) - mol(&start, start.totals.alkalinity);
    let chloride = mol(&used, used.totals.chloride) - mol(&start, start.totals.chloride);
    assert!(alkalinity.abs() < 1e-6 && chloride.abs() < 1e-6, "{alkalinity:e} {chloride:e}");
    assert!((ph(&used) - ph(&start)).abs() < 1e-3, "{} {}", ph(&used), ph(&start));
}

/// What each does is common practice (low salt, cold, age and scale lower the output); how much is judgement.
#[test]
fn little_salt_cold_age_and_scale_lower_the_output() {
    let c = Cell::default();
    let good = c.efficiency(0.05, 38.0, 0.0, 0.0);
    // Working range at 3 g/L of salt, from memory: 60–85 %.
    assert!((0.6..0.85).contains(&good), "{good}");
    for (name, worse) in [
        ("salt", c.efficiency(0.02, 38.0, 0.0, 0.0)),
        ("cold", c.efficiency(0.05, 8.0, 0.0, 0.0)),
        ("age", c.efficiency(0.05, 38.0, 7_500.0, 0.0)),
        ("scale", c.efficiency(0.05, 38.0, 0.0, 0.1)),
    ] {
        assert!(worse < 0.8 * good, "{name}: {worse} of {good}");
    }
}

/// Hard, high-pH water scales the plates; reversing the polarity sheds most of it; a clean-out ends it.
#[test]
fn reversing_keeps_the_plates_cleaner() {
    let after = |reversals_per_h| {
        let tub = Tub { cell: Some(Cell { reversals_per_h, plate_m2: 0.05, ..Cell::default() }), ..inert() };
        let start = filled(&tub, fill(7.8, 38.0), 38.0, Settings { cell_duty: 0.5, ..Settings::default() });
        let clean = Timed { at_h: 200.0, event: Event::CellCleaned };
        follow(&tub, &start, &[clean], &[199.0, 201.0]).unwrap().samples
    };
    let (never, often) = (after(0.0), after(0.5));
    assert!(never[0].plate_scale_mol > 5.0 * often[0].plate_scale_mol, "{never:?} {often:?}");
    assert!(never[1].plate_scale_mol < 0.05 * never[0].plate_scale_mol);
    assert!(never[0].totals.free_chlorine < often[0].totals.free_chlorine);
}

/// Scale on the plates by the saturation there: none at pH 6.6, more the higher the pH; a clean-out frees them, a new cell
/// has no hours behind it either.
#[test]
fn plates_scale_by_the_saturation_at_them() {
    let mut tub = Tub { cell: Some(Cell { reversals_per_h: 0.0, ..Cell::default() }), ..inert() };
    // What is made is used, so that the pH stays.
    tub.demand.background_per_day = 50.0;
    let settings = Settings { cell_duty: 1.0, ..Settings::default() };
    let after = |ph: f64, events: &[Timed]| {
        follow(&tub, &filled(&tub, fill(ph, 38.0), 38.0, settings), events, &[24.0]).unwrap().end
    };
    let scales = [6.6, 7.4, 7.8, 8.2].map(|ph| after(ph, &[]).plate_scale_mol);
    assert!(scales[0] < 1e-9, "{scales:?}");
    assert!(
        scales[1] > scales[0] && scales[2] > 1.5 * scales[1] && scales[3] > 1.5 * scales[2],
        "{scales:?}"
    );
    let at_end = |event| [Timed { at_h: 24.0, event }];
    let (cleaned, replaced) =
        (after(7.8, &at_end(Event::CellCleaned)), after(7.8, &at_end(Event::CellReplaced)));
    assert!(cleaned.plate_scale_mol == 0.0 && cleaned.cell_hours > 23.0, "{cleaned:?}");
    assert!(replaced.plate_scale_mol == 0.0 && replaced.cell_hours == 0.0, "{replaced:?}");
}

/// The cell's hydrogen carries next to no carbon dioxide out: 13 A·h a day in a cubic metre moves the pH by less than 0.01
/// (arithmetic: 0.0187 mol of H2 an A·h at the water's pressure of carbon dioxide is 1 % of the excess).
#[test]
fn hydrogen_hardly_strips_carbon_dioxide() {
    let after = |bubble_saturation| {
        let mut tub = Tub { cell: Some(Cell { current_a: 13.0 / 24.0, ..ideal() }), ..inert() };
        tub.exchange.bubble_saturation = bubble_saturation;
        tub.demand.background_per_day = 50.0;
        let start = filled(&tub, fill(7.4, 38.0), 38.0, Settings { cell_duty: 1.0, ..Settings::default() });
        ph(&follow(&tub, &start, &[], &[24.0]).unwrap().end)
    };
    let rise = after(1.0) - after(0.0);
    assert!(rise > 0.0 && rise < 0.01, "{rise}");
}
