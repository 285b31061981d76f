//! Two problems that `reference/beside_scipy.py` gives to SciPy and SUNDIALS as well: the breakpoint in a beaker, and two weeks
//! of a tub at constant temperature with a bath and a dose every evening. Prints one JSON line with each problem's whole
//! definition (so that the other side needs no copy of it), and one for each tolerance: answer, work, best time.
//! Run: `cargo bench -p tub --bench integrate`.

#![allow(clippy::disallowed_methods, reason = "a benchmark reads a clock")]

#[path = "../tests/common/two_weeks.rs"]
mod two_weeks;

use serde_json::{Value, json};
use std::hint::black_box;
use std::time::Instant;
use tub::breakpoint::Beaker;
use tub::evaporation::AIR_PRESSURE_PA;
use tub::exchange::{FILM_RATIO, volatility};
use tub::run::follow_within;
use tub::{Event, Jets, State, Timed, Tub, bathers, demand};
use two_weeks::{DAYS, T_C};
use water::activity::DebyeHuckel;
use water::species::{Gamma, Id, TABLE};
use water::{Celsius, Equilibria, Totals};

const TOLERANCES: [f64; 9] = [1e-6, 3e-7, 1e-7, 3e-8, 1e-8, 3e-9, 1e-9, 3e-10, 1e-10];

fn main() {
    breakpoint();
    follow_two_weeks();
}

/// Best of many short rounds, seconds: a busy machine then flatters neither side, which is timed the same way.
fn best<T>(rounds: usize, mut once: impl FnMut() -> T) -> f64 {
    (0..rounds)
        .map(|_| {
            let start = Instant::now();
            black_box(once());
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn breakpoint() {
    let (n, ratio, minutes) = (1.0 / 14_007.0, 7.6, 60.0);
    let beaker = Beaker {
        temperature_c: 25.0,
        ph: 7.5,
        alkalinity_eq_kg: 80.0 / 50_043.5,
        free_chlorine: ratio / 70_906.0,
        ammonia: n,
    };
    println!(
        "{}",
        json!({"problem": "breakpoint", "t_c": beaker.temperature_c, "pH": beaker.ph, "minutes": minutes,
            "alkalinity": beaker.alkalinity_eq_kg, "free_chlorine": beaker.free_chlorine, "ammonia": n})
    );
    for relative in TOLERANCES {
        let Ok(o) = beaker.after_within(minutes, relative) else { continue };
        let seconds = best(200, || beaker.after_within(minutes, relative));
        let answer = json!({"ammonia": o.ammonia, "free_chlorine": o.free_chlorine, "monochloramine": o.monochloramine,
            "dichloramine": o.dichloramine, "trichloramine": o.trichloramine});
        print_line("breakpoint", relative, seconds, o.work, answer);
    }
}

fn print_line(problem: &str, relative: f64, seconds: f64, work: tub::Work, answer: Value) {
    println!(
        "{}",
        json!({"answer_to": problem, "relative": relative, "best_seconds": seconds, "steps": work.steps,
            "rates": work.rates, "jacobians": work.jacobians, "answer": answer})
    );
}

fn follow_two_weeks() {
    let tub = two_weeks::tub();
    let (start, events) = (two_weeks::start(&tub), two_weeks::events());
    let end_h = [24.0 * f64::from(DAYS)];
    println!("{}", definition(&tub, &start, &events));
    for relative in TOLERANCES {
        let Ok(course) = follow_within(&tub, &start, &events, &end_h, relative) else { continue };
        let seconds = best(12, || follow_within(&tub, &start, &events, &end_h, relative));
        print_line("two weeks", relative, seconds, course.work, json!(two_weeks::answer(&course.end)));
    }
}

fn event(timed: &Timed) -> Value {
    let (what, value) = match timed.event {
        Event::CoverOff(open) => ("open", f64::from(u8::from(open))),
        Event::Bathers(count) => ("bathers", count),
        Event::Jets(jets) => ("jets", f64::from(u8::from(jets != Jets::Off))),
        Event::Dose { mol, .. } => ("hypochlorite", mol),
        _ => unreachable!("not in this problem"),
    };
    json!([timed.at_h, what, value])
}

/// Everything that another program needs to follow the same tub.
fn definition(tub: &Tub, start: &State, events: &[Timed]) -> Value {
    let t = Celsius(T_C);
    let k = t.kelvin();
    let terms = [1.0, k, 1.0 / k, k.log10(), 1.0 / (k * k), k * k];
    let solved = start.speciation().expect("solves");
    // With chlorine and ammonia, which the start lacks, every species that this water can have.
    let with = Totals { free_chlorine: 1e-5, ammonia: 1e-5, ..start.totals };
    let at = Equilibria::at(t).expect("in range");
    let present: Vec<&str> = at.solve(&with).expect("solves").species().map(|(name, _, _)| name).collect();
    let species: Vec<Value> = TABLE
        .iter()
        .filter(|s| present.contains(&s.name))
        .map(|s| {
            let made_of: Vec<Value> = s.made_of.iter().map(|(c, n)| json!([format!("{c:?}"), n])).collect();
            let gamma = match s.gamma {
                Gamma::DebyeHuckel { size, linear } => json!([size, linear]),
                Gamma::Davies => json!("davies"),
                Gamma::Neutral => json!("neutral"),
            };
            let log_k: f64 = s.log_k.iter().zip(terms).map(|(a, x)| a * x).sum();
            json!({"name": s.name, "charge": s.charge, "made_of": made_of, "water": s.water, "log_k": log_k,
                "gamma": gamma})
        })
        .collect();
    let dh = DebyeHuckel::at(t);
    let (x, d, b, totals) = (&tub.exchange, &tub.demand, &tub.bather, &start.totals);
    let amounts = json!({"carbon": totals.carbon, "calcium": totals.calcium, "chloride": totals.chloride,
        "sodium": totals.sodium});
    json!({"problem": "two weeks", "t_c": T_C, "days": DAYS, "species": species, "a": dh.a, "b": dh.b,
        "water_kg": start.water_kg, "per_kg": amounts, "start_hydrogen": 10f64.powf(solved.log10_activity(Id::Hydrogen)),
        "headspace_mol": start.headspace_carbon_dioxide_mol, "headspace_m3": tub.headspace_m3,
        "henry": at.co2_at_pressure_mol_kg(1.0), "outside_atm": start.settings.surroundings.carbon_dioxide_ppm * 1e-6,
        "circulation": start.settings.circulation,
        "changes_per_h": [tub.cover_air_changes_per_h, tub.open_air_changes_per_h],
        "exchange_per_h": [x.still_per_h, x.circulation_per_h, x.jets_per_h],
        "background_per_day": d.background_per_day, "organic": d.organic_per_mol_s,
        "organic_chloramine": d.organic_chloramine_per_mol_s, "urea": demand::urea_per_mol_s(T_C),
        "chlorine_per_urea": demand::CHLORINE_PER_UREA, "nitrate_per_urea": demand::NITRATE_PER_UREA,
        "volatility": [volatility::MONOCHLORAMINE, volatility::DICHLORAMINE, volatility::TRICHLORAMINE],
        "film_ratio": FILM_RATIO, "gas_mol_m3_atm": AIR_PRESSURE_PA / (water::constants::GAS_CONSTANT * t.kelvin()),
        "sweat_l_h": b.sweat_l_h, "splash_kg_h": b.splash_kg_h,
        "sweat": [bathers::SWEAT.urea_mol_l, bathers::SWEAT.ammonia_mol_l, bathers::SWEAT.organic_mol_l],
        "events": events.iter().map(event).collect::<Vec<_>>()})
}
