//! How much an amount matters to the objective, about: a box is split where that leaves most open.

use super::corners::{Corners, late};
use super::problem::{Move, Problem};
use crate::quantity::Quantity as Q;
use water::Ph;

/// Stops are split late: much is decided before them. (The figure by trial.)
const LATE_STOPS: f64 = 0.25;

pub(crate) struct Influence {
    /// By role and move: of a unit.
    still: Vec<Vec<f64>>,
    /// The same where airing sets the pH, so that what comes before it moves the saturation index alone.
    aired: Vec<Vec<f64>>,
    /// Of a pH at the end of airing.
    stop: f64,
}

impl Influence {
    pub(crate) fn of(problem: &Problem, corners: &Corners<'_>) -> Self {
        let slope = |q: Q| problem.goal(q).map_or(0.0, |g| problem.goals[g].slope());
        let (ph, index) = (slope(Q::Ph), slope(Q::SaturationIndex));
        let linear = |m: &Move| -> f64 {
            problem.goals.iter().zip(&m.effect).map(|(g, effect)| g.slope() * effect.abs()).sum()
        };
        let furthest = |(low, high): (f64, f64)| high.max(-low);
        let of_move = |role: usize, which: usize, aired: bool| {
            let (kind, moves) = &problem.roles[role];
            let (m, reach) = (&moves[which], &corners.reach[role][which]);
            let water = match aired && !late(*kind) {
                true => index * aired_index_change(problem, m),
                false => ph * furthest(reach.ph) + index * furthest(reach.index),
            };
            linear(m) + water / f64::from(m.max_units.max(1))
        };
        let each = |aired: bool| -> Vec<Vec<f64>> {
            let of_role = |role: usize| {
                (0..problem.roles[role].1.len()).map(|which| of_move(role, which, aired)).collect()
            };
            (0..problem.roles.len()).map(of_role).collect()
        };
        let (still, aired) = (each(false), each(true));
        // The index goes with the pH one to one.
        Influence { still, aired, stop: LATE_STOPS * (ph + index) }
    }

    pub(crate) fn of_unit(&self, aired: bool, role: usize, which: u8) -> f64 {
        let by_role = if aired { &self.aired } else { &self.still };
        by_role[role][usize::from(which)]
    }

    pub(crate) fn of_stop(&self) -> f64 {
        self.stop
    }
}

/// How far half of a move's range takes the saturation index at the first pH of airing, doubled.
fn aired_index_change(problem: &Problem, m: &Move) -> f64 {
    let (Some(start), Some(Some(stop))) = (problem.starts.first(), problem.stops.get(1)) else { return 0.0 };
    let index = |units: f64| {
        let dosed = start.totals.plus(&m.per_unit, units);
        problem.at.solve_at_ph(&dosed, Ph(*stop)).map(|s| problem.index_of(&s))
    };
    match (index(0.0), index(0.5 * f64::from(m.max_units))) {
        (Ok(before), Ok(after)) => 2.0 * (after - before).abs(),
        _ => 1.0,
    }
}
