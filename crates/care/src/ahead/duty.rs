//! The cell's duty for the bathing to come.

use super::Ways;
use super::targets;
use crate::band::Regime;
use crate::case::{Case, Happening};
use crate::learn::{Expected, Name};
use crate::quantity::Quantity as Q;

/// Person-hours of bathing a day below which there are none to speak of: nobody wrote a bath down.
pub const LEAST_HOURS: f64 = 0.05;
/// Duties that are tried, each about a quarter more than the one before.
const TRIED: [f64; 16] =
    [0.0, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.15, 0.19, 0.24, 0.30, 0.40, 0.55, 0.75, 1.0];
/// A change of less than this share is not worth a walk to the panel.
const WORTH: f64 = 0.15;

/// The cell's duty until the next look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    /// As it is, share of the full output; `None` if nobody wrote it down.
    pub from: Option<f64>,
    /// As it should be.
    pub share: f64,
    /// Person-hours of bathing a day that it is made for.
    pub person_hours_per_day: f64,
}

/// The duty with which free chlorine costs least; `None` where there is no cell, or nothing is learnt of it.
pub(super) fn choose(case: &Case, ways: &Ways<'_>) -> Option<Duty> {
    if case.tub.regime != Regime::SaltCell || !ways.learned.traits().iter().any(|t| t.name == Name::Cell) {
        return None;
    }
    let salt = ways.learned.now(Q::Salt).map_or(0.0, |s| s[1]);
    let (low, high) = case.tub.cell_window_mg_l.or_else(|| ways.band(Q::Salt).map(|b| (b.low, b.high)))?;
    let from = case.entries.iter().rev().find_map(|e| match e.what {
        Happening::Cell { output } => Some(output),
        _ => None,
    });
    let person_hours_per_day = ways.expected.person_hours_per_day;
    if !(low..=high).contains(&salt) {
        return Some(Duty { from, share: 0.0, person_hours_per_day });
    }
    let cost = |share: f64| {
        let expected = Expected { cell_output: Some(share), ..ways.expected.clone() };
        targets::chlorine(ways, &expected).map_or(f64::INFINITY, |(cost, _)| cost)
    };
    let best = valley(&TRIED, cost)?;
    let share = match from {
        Some(from) if from > 0.0 && (best / from - 1.0).abs() < WORTH => from,
        _ => best,
    };
    Some(Duty { from, share, person_hours_per_day })
}

/// The least of a cost that falls and then rises over some values (too little chlorine, then too much).
fn valley(tried: &[f64], cost: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (0, tried.len().checked_sub(1)?);
    while high > low {
        let middle = low + (high - low) / 2;
        // Of equals the lower: a cell lives by the hours that it works.
        if cost(*tried.get(middle)?) <= cost(*tried.get(middle + 1)?) + 1e-9 {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    tried.get(low).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_a_valley_is_found() {
        for least in TRIED {
            assert_eq!(valley(&TRIED, |x| (x - least).abs()), Some(least));
        }
        assert_eq!(valley(&TRIED, |_| 1.0), Some(0.0), "of equals the lowest");
        assert_eq!(valley(&[], |x| x), None);
    }
}
