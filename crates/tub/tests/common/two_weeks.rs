//! Two weeks of a tub at constant temperature with a bath and a dose every evening: the problem that another program follows as
//! well (`reference/beside_scipy.py`). Used by a test and by the benchmark.

use std::collections::BTreeMap;
use tub::exchange::Exchange;
use tub::{Event, Jets, Settings, State, Surroundings, Timed, Tub};
use water::{Celsius, Chemical, Equilibria, Ph, Totals};

pub(crate) const T_C: f64 = 38.0;
pub(crate) const DAYS: u32 = 14;

/// The tub of the second problem: nothing but gas exchange, demand and bathers.
pub(crate) fn tub() -> Tub {
    Tub { heater_w: 0.0, loss_w_k: 0.0, wetted_m2: 0.0, exchange: Exchange::default(), ..Tub::default() }
}

pub(crate) fn start(tub: &Tub) -> State {
    let water = Totals { alkalinity: 80.0 / 50_043.5, calcium: 1.5e-3, chloride: 0.03, ..Totals::default() };
    let at = Equilibria::at(Celsius(T_C)).expect("in range");
    let water = at.solve_at_ph(&water.closed_with_sodium_chloride(), Ph(7.2)).expect("solves").totals;
    // Damp air as warm as the water: none evaporates and the temperature stays.
    let surroundings = Surroundings { air_c: T_C, humidity: 1.0, wind_m_s: 0.0, ..Surroundings::default() };
    let settings = Settings { surroundings, ..Settings::default() };
    State::filled(1000.0, Celsius(T_C), water, tub.headspace_m3, settings)
}

pub(crate) fn events() -> Vec<Timed> {
    (0..DAYS)
        .flat_map(|day| {
            let dose = Event::Dose { chemical: Chemical::SodiumHypochlorite, mol: 0.06 };
            [
                (19.0, Event::CoverOff(true)),
                (19.05, Event::Bathers(2.0)),
                (19.1, Event::Jets(Jets::Water)),
                (19.4, Event::Jets(Jets::Off)),
                (19.5, Event::Bathers(0.0)),
                (19.6, Event::CoverOff(false)),
                (20.0, dose),
            ]
            .map(|(h, event)| Timed { at_h: 24.0 * f64::from(day) + h, event })
        })
        .collect()
}

/// What is compared at the end, per kilogram (head space: mol).
pub(crate) fn answer(s: &State) -> BTreeMap<&'static str, f64> {
    let solved = s.speciation().expect("solves");
    BTreeMap::from([
        ("hydrogen", 10f64.powf(-solved.ph().0)),
        ("carbon", s.totals.carbon),
        ("alkalinity", s.totals.alkalinity),
        ("chloride", s.totals.chloride),
        ("free_chlorine", s.totals.free_chlorine),
        ("monochloramine", s.monochloramine),
        ("trichloramine", s.trichloramine),
        ("urea", s.urea),
        ("organic_chloramine", s.organic_chloramine),
        ("nitrate", s.totals.inert_anion),
        ("headspace", s.headspace_carbon_dioxide_mol),
        ("water_kg", s.water_kg),
    ])
}
