//! Two weeks of everything that needs no cell and no scale, against a second program.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;
#[path = "common/two_weeks.rs"]
mod two_weeks;

use common::{f, reference};
use tub::run::follow_within;

/// `reference/beside_scipy.py` has the equations and the equilibrium written down a second time and integrated by SUNDIALS at 1e-10;
/// the species' constants are ours, handed over. Every quantity at the end within 1e-6 of it at a tolerance of 1e-8, and within 1e-4
/// at the usual one. Amounts below 1e-9 mol/kg (a ten-thousandth of a milligram a litre) count as that.
#[test]
fn two_weeks_end_where_a_second_program_says() {
    let doc = reference("tub_two_weeks.json");
    let tub = two_weeks::tub();
    let (start, events) = (two_weeks::start(&tub), two_weeks::events());
    for (relative, allowed) in [(1e-8, 1e-6), (tub::run::RELATIVE_TOLERANCE, 1e-4)] {
        let hours = [24.0 * f64::from(two_weeks::DAYS)];
        let end = follow_within(&tub, &start, &events, &hours, relative).unwrap().end;
        assert_eq!(end.temperature.0, two_weeks::T_C);
        for (name, ours) in two_weeks::answer(&end) {
            let theirs = f(&doc["answer"], name);
            let size = if name == "hydrogen" { theirs } else { theirs.abs().max(1e-9) };
            assert!(((ours - theirs) / size).abs() < allowed, "{name} at {relative:e}: {ours:e} {theirs:e}");
        }
    }
}
