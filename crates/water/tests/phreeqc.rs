//! The reference cases: 60 waters solved by IPhreeqc with phreeqc.dat (see `reference/README.md`), both ways round.
//!
//! Tolerances are the project's accuracy promise: pH 0.001, saturation index 0.002, ionic strength 0.1 %,
//! log10 γ 0.0005, carbon 0.02 %. The work that a solve takes is pinned here too.

mod compare;

use compare::{f, json, list, reference_file, totals};
use water::{Celsius, Equilibria};

#[test]
fn sixty_waters_agree_with_the_reference_library_both_ways_round() {
    compare::library::reference_waters().assert();
}

#[test]
fn the_independent_carbonate_solver_agrees() {
    compare::library::independent_carbonate_solver().assert();
}

/// Sweeps of a cold start, which the benchmark's speed rests on: half of the reference waters take no more than six.
#[test]
fn a_solve_takes_few_sweeps() {
    let doc = json(reference_file!("phreeqc_cases.json"));
    let mut sweeps: Vec<u32> = list(&doc, "cases")
        .iter()
        .map(|case| {
            let input = &case["given_dic"]["input"];
            let water = totals(
                &case["water"]["mol_per_kgw"],
                f(input, "alkalinity_eq_per_kgw"),
                f(input, "dic_mol_per_kgw"),
            );
            let at = Equilibria::at(Celsius(f(&case["water"], "t_c"))).unwrap();
            let solved = at.solve(&water).unwrap();
            let again = at.solve_from(&water, Some(&solved)).unwrap();
            assert!(again.sweeps <= 3, "{}: {} sweeps from its own answer", case["id"], again.sweeps);
            assert!((again.ph().0 - solved.ph().0).abs() < 1e-7, "{}", case["id"]);
            solved.sweeps
        })
        .collect();
    sweeps.sort_unstable();
    let (median, most) = (sweeps[sweeps.len() / 2], sweeps[sweeps.len() - 1]);
    assert!(median <= 6, "median {median} sweeps: {sweeps:?}");
    assert!(most <= 12, "at most {most} sweeps: {sweeps:?}");
}
