//! Equilibrium solves per second on one thread, over the reference waters. Cold: constants made anew for each water's own
//! temperature (as the peer does), no start. Warm: constants at hand, started from a similar water (as a planner does).
//! Prints one JSON line for each. Run: `cargo bench -p water --bench solve`.

#![allow(clippy::disallowed_methods, reason = "a benchmark reads its cases and a clock")]

use std::hint::black_box;
use std::time::Instant;
use water::{Celsius, Equilibria, Speciation, Totals};

fn main() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/phreeqc_cases.json");
    let doc: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).expect("the reference cases")).expect("JSON");
    let f = |v: &serde_json::Value, k: &str| v[k].as_f64().expect("a number");
    let waters: Vec<(Celsius, Totals)> = doc["cases"]
        .as_array()
        .expect("cases")
        .iter()
        .map(|c| {
            let m = &c["water"]["mol_per_kgw"];
            let input = &c["given_dic"]["input"];
            let totals = Totals {
                alkalinity: f(input, "alkalinity_eq_per_kgw"),
                carbon: f(input, "dic_mol_per_kgw"),
                calcium: f(m, "Ca"),
                magnesium: f(m, "Mg"),
                sodium: f(m, "Na"),
                potassium: f(m, "K"),
                chloride: f(m, "Cl"),
                sulfate: f(m, "SO4"),
                boron: f(m, "B"),
                ..Totals::default()
            };
            (Celsius(f(&c["water"], "t_c")), totals)
        })
        .collect();
    let cold = best_of_rounds(|| {
        let mut sweeps = 0;
        for (t, totals) in &waters {
            let at = Equilibria::at(black_box(*t)).expect("in range");
            let solved = at.solve(black_box(totals)).expect("solves");
            sweeps += u64::from(solved.sweeps);
            black_box(solved);
        }
        sweeps
    });
    print_line("cold", waters.len(), cold);

    // As a planner does: the constants made once, a solved water at hand, and a small dose of soda and acid in it.
    let similar: Vec<(Equilibria, Speciation, Totals)> = waters
        .iter()
        .map(|(t, totals)| {
            let at = Equilibria::at(*t).expect("in range");
            let solved = at.solve(totals).expect("solves");
            let dosed = Totals {
                alkalinity: totals.alkalinity + 1e-4,
                carbon: totals.carbon + 5e-5,
                sodium: totals.sodium + 2e-4,
                chloride: totals.chloride + 1e-4,
                ..*totals
            };
            (at, solved, dosed)
        })
        .collect();
    let warm = best_of_rounds(|| {
        let mut sweeps = 0;
        for (at, solved, dosed) in &similar {
            let solved = at.solve_from(black_box(dosed), Some(solved)).expect("solves");
            sweeps += u64::from(solved.sweeps);
            black_box(solved);
        }
        sweeps
    });
    print_line("warm", similar.len(), warm);
}

const ROUNDS: usize = 40;
const REPEATS: usize = 100;

/// The best of many short rounds, in seconds, and all sweeps: a busy machine then flatters neither us nor the peer,
/// which is timed the same way.
fn best_of_rounds(mut solve_all: impl FnMut() -> u64) -> (f64, u64) {
    let (mut best, mut sweeps) = (f64::INFINITY, 0);
    for _ in 0..ROUNDS {
        let start = Instant::now();
        for _ in 0..REPEATS {
            sweeps += solve_all();
        }
        best = best.min(start.elapsed().as_secs_f64());
    }
    (best, sweeps)
}

fn print_line(start: &str, waters: usize, (best, sweeps): (f64, u64)) {
    let per_round = (REPEATS * waters) as f64;
    println!(
        "{{\"start\":\"{start}\",\"waters_per_round\":{per_round},\"best_seconds\":{best:.5},\"waters_per_second\":{:.0},\"sweeps_per_solve\":{:.2}}}",
        per_round / best,
        sweeps as f64 / (per_round * ROUNDS as f64)
    );
}
