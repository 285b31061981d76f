//! The best decision, searched completely.
//!
//! Method: depth-first branch and bound over the roles, amounts in whole units, best-first within a role. A branch is
//! left when the least key it could still reach is not better than the best found: goals that are linear in the doses
//! are bounded by the interval that the remaining roles can reach, with the least error any plan can have; pH and
//! saturation index by zero until the last role. The last role is acid or base: pH and saturation index are monotone in
//! its amount, so an interval of amounts is bounded by its two ends and halved until it is decided. Nothing is
//! sampled: the result is the best there is for the stated objective (`tests::the_search_finds_what_brute_force_finds`).

use super::evaluate::{Dosed, End};
use super::goal::{band_levels, expected_levels};
use super::problem::{Choice, EFFORT_ADDITION, EFFORT_AIRING, EFFORT_PRODUCT, Key, Move, Problem, Start};
use crate::quantity::Quantity as Q;

/// What the search found.
#[derive(Debug, Clone)]
pub(crate) struct Found<P> {
    pub(crate) choice: Choice,
    pub(crate) key: Key,
    pub(crate) path: P,
    /// Decisions looked at, whole or partial.
    pub(crate) nodes: usize,
    /// Whether every decision was looked at or bounded away, so that this is the best there is.
    pub(crate) complete: bool,
}

/// The search gives up proving after so many nodes (some tenths of a second): the best so far then stands, and says so.
const MOST_NODES: usize = 200_000;

/// A safe way to carry a decision out, with its effort; `None` if there is none.
pub(crate) trait Paths {
    type Path;
    fn path(&self, choice: &Choice) -> Option<(Self::Path, u32)>;
    /// Whether there may be a path with what a choice does before its last role.
    fn begins(&self, choice: &Choice, stop: Option<f64>) -> bool;
    /// Beyond so many units of a move of the last role it is known that there is no path.
    fn most_units(&self, choice: &Choice, which: usize, stop: Option<f64>) -> u32;
}

/// The best decision with a safe path. Doing nothing is always among them.
pub(crate) fn search<J: Paths>(problem: &Problem, judge: &J) -> Option<Found<J::Path>> {
    let mut search =
        Search { problem, judge, best: None, best_key: Key::WORST, nodes: 0, reach: reach(problem) };
    for (i, start) in problem.starts.iter().enumerate() {
        let mut choice = Choice { start: i, used: vec![(0, 0); problem.roles.len()], stop: None };
        let mut values = start.values.clone();
        let bound = search.bound(start, 0, &values, start.effort, start.cost);
        if bound.better_than(&search.best_key) {
            search.descend(start, 0, &mut choice, &mut values, Dosed::of(start), start.effort, start.cost);
        }
    }
    let nodes = search.nodes;
    let complete = nodes < MOST_NODES;
    search.best.map(|(choice, path)| Found { choice, key: search.best_key, path, nodes, complete })
}

struct Search<'a, J: Paths> {
    problem: &'a Problem,
    judge: &'a J,
    best: Option<(Choice, J::Path)>,
    best_key: Key,
    nodes: usize,
    /// For each role and goal: how far this and the later roles can move it, down and up.
    reach: Vec<Vec<(f64, f64)>>,
}

/// What the roles from each one on can do to each goal.
fn reach(problem: &Problem) -> Vec<Vec<(f64, f64)>> {
    let mut reach = vec![vec![(0.0, 0.0); problem.goals.len()]; problem.roles.len() + 1];
    for r in (0..problem.roles.len()).rev() {
        for g in 0..problem.goals.len() {
            let (mut down, mut up) = (0.0_f64, 0.0_f64);
            for m in &problem.roles[r].1 {
                let most = m.effect[g] * f64::from(m.max_units);
                down = down.min(most);
                up = up.max(most);
            }
            let later = reach[r + 1][g];
            reach[r][g] = (later.0 + down, later.1 + up);
        }
    }
    reach
}

impl<J: Paths> Search<'_, J> {
    /// The least key that roles from `role` on could still reach.
    fn bound(&self, start: &Start, role: usize, values: &[f64], effort: u32, cost: f64) -> Key {
        let mut key = Key { unsafe_ends: 0, band: 0, expected: 0, effort, cost };
        for (i, goal) in self.problem.goals.iter().enumerate() {
            if matches!(goal.quantity, Q::Ph | Q::SaturationIndex) {
                continue;
            }
            let (down, up) = self.reach[role][i];
            let (from, to) = (values[i] + down, values[i] + up);
            let inside = from.max(goal.low).min(to);
            key.band += band_levels(goal.band_miss(inside));
            key.unsafe_ends += u32::from(to < goal.bathing.0 || from > goal.bathing.1);
            key.expected +=
                expected_levels(goal.expected_miss(start.best[i].clamp(from, to), start.errors[i]));
        }
        key
    }

    #[allow(clippy::too_many_arguments)] // one node's whole state, passed down one recursion
    fn descend(
        &mut self,
        start: &Start,
        role: usize,
        choice: &mut Choice,
        values: &mut [f64],
        dosed: Dosed,
        effort: u32,
        cost: f64,
    ) {
        let problem = self.problem;
        if self.nodes >= MOST_NODES {
            return;
        }
        let (kind, moves) = &problem.roles[role];
        if role + 1 == problem.roles.len() {
            self.acid_base(start, choice, values, dosed, effort, cost);
            return;
        }
        let mut children = Vec::new();
        let mut consider = |search: &Self, m: usize, units: u32, values: &mut [f64]| {
            let (child_effort, child_cost) = match units {
                0 => (effort, cost),
                _ => (effort + EFFORT_PRODUCT + EFFORT_ADDITION, cost + moves[m].cost * f64::from(units)),
            };
            shift(values, moves.get(m), units, 1.0);
            let key = search.bound(start, role + 1, values, child_effort, child_cost);
            shift(values, moves.get(m), units, -1.0);
            if key.better_than(&search.best_key) {
                children.push((key, m, units));
            }
        };
        consider(self, 0, 0, values);
        for (m, a_move) in moves.iter().enumerate() {
            for units in 1..=a_move.max_units {
                consider(self, m, units, values);
            }
        }
        self.nodes += children.len();
        children.sort_by(|(a, ..), (b, ..)| a.order(b));
        for (key, m, units) in children {
            if !key.better_than(&self.best_key) {
                break;
            }
            choice.used[role] = (m, units);
            shift(values, moves.get(m), units, 1.0);
            let child = match moves.get(m) {
                Some(a_move) if units > 0 => dosed.with(*kind, &a_move.per_unit, units),
                _ => dosed,
            };
            self.descend(start, role + 1, choice, values, child, key.effort, key.cost);
            shift(values, moves.get(m), units, -1.0);
        }
        choice.used[role] = (0, 0);
    }

    /// The last role: every product and every stop of airing, amounts by halving.
    fn acid_base(
        &mut self,
        start: &Start,
        choice: &mut Choice,
        values: &mut [f64],
        dosed: Dosed,
        effort: u32,
        cost: f64,
    ) {
        let last = self.problem.roles.len() - 1;
        let moves = &self.problem.roles[last].1;
        for stop in &self.problem.stops {
            if !self.judge.begins(choice, *stop) {
                continue;
            }
            let effort = effort + if stop.is_some() { EFFORT_AIRING } else { 0 };
            choice.stop = *stop;
            choice.used[last] = (0, 0);
            let base = Branch { start, dosed, stop: *stop, effort, cost };
            let none = self.leaf(&base, None, 0, choice, values);
            for (m, a_move) in moves.iter().enumerate() {
                if a_move.max_units == 0 {
                    continue;
                }
                let top = self.leaf(&base, Some((m, a_move)), a_move.max_units, choice, values);
                self.halve(&base, (m, a_move), (0, none.clone()), (a_move.max_units, top), choice, values);
            }
        }
        choice.used[last] = (0, 0);
        choice.stop = None;
    }

    /// Looks at one whole decision and keeps it if it is the best so far.
    fn leaf(
        &mut self,
        base: &Branch,
        a_move: Option<(usize, &Move)>,
        units: u32,
        choice: &mut Choice,
        values: &mut [f64],
    ) -> Option<End> {
        self.nodes += 1;
        let last = self.problem.roles.len() - 1;
        let (role, _) = self.problem.roles[last];
        let dosed = a_move.map_or(base.dosed, |(_, m)| base.dosed.with(role, &m.per_unit, units));
        let water = self.problem.end_water(&dosed, base.stop, None)?;
        let index = self.problem.index_of(&water);
        let mut end = End { water, index, ph_error: 0.0 };

        shift(values, a_move.map(|(_, m)| m), units, 1.0);
        let dear = |key: Key| Key {
            effort: base.effort + if units > 0 { EFFORT_PRODUCT + EFFORT_ADDITION } else { 0 },
            cost: base.cost + a_move.map_or(0.0, |(_, m)| m.cost * f64::from(units)),
            ..key
        };
        // Without pH's own error first: a lower bound that spares the derivatives.
        if dear(self.problem.worth(base.start, values, &end)).better_than(&self.best_key) {
            end.ph_error = self.problem.ph_error_at(&dosed, base.start, base.stop, &end.water);
            let mut key = dear(self.problem.worth(base.start, values, &end));
            if key.better_than(&self.best_key) {
                choice.used[last] = (a_move.map_or(0, |(m, _)| m), units);
                if let Some((path, path_effort)) = self.judge.path(choice) {
                    key.effort = path_effort;
                    if key.better_than(&self.best_key) {
                        self.best_key = key;
                        self.best = Some((choice.clone(), path));
                    }
                }
                choice.used[last] = (0, 0);
            }
        }
        shift(values, a_move.map(|(_, m)| m), units, -1.0);
        Some(end)
    }

    /// Amounts strictly between two that have been looked at.
    fn halve(
        &mut self,
        base: &Branch,
        a_move: (usize, &Move),
        low: (u32, Option<End>),
        high: (u32, Option<End>),
        choice: &mut Choice,
        values: &mut [f64],
    ) {
        if high.0 - low.0 < 2
            || self.nodes >= MOST_NODES
            || self.judge.most_units(choice, a_move.0, base.stop) <= low.0
        {
            return;
        }
        if !self.between(base, a_move.1, &low, &high, values).better_than(&self.best_key) {
            return;
        }
        let middle = low.0 + (high.0 - low.0) / 2;
        let end = self.leaf(base, Some(a_move), middle, choice, values);
        self.halve(base, a_move, low, (middle, end.clone()), choice, values);
        self.halve(base, a_move, (middle, end), high, choice, values);
    }

    /// The least key for amounts between two ends. An end that could not be solved bounds nothing.
    fn between(
        &self,
        base: &Branch,
        a_move: &Move,
        low: &(u32, Option<End>),
        high: &(u32, Option<End>),
        values: &[f64],
    ) -> Key {
        let mut key = Key {
            unsafe_ends: 0,
            band: 0,
            expected: 0,
            effort: base.effort + EFFORT_PRODUCT + EFFORT_ADDITION,
            cost: base.cost + a_move.cost * f64::from(low.0 + 1),
        };
        for (i, goal) in self.problem.goals.iter().enumerate() {
            let ends = match goal.quantity {
                Q::Ph | Q::SaturationIndex => match (&low.1, &high.1) {
                    (Some(a), Some(b)) if goal.quantity == Q::Ph => (a.water.ph().0, b.water.ph().0),
                    (Some(a), Some(b)) => (a.index, b.index),
                    _ => continue,
                },
                _ => {
                    let at = |units: u32| values[i] + a_move.effect[i] * f64::from(units);
                    (at(low.0), at(high.0))
                }
            };
            let (from, to) = (ends.0.min(ends.1), ends.0.max(ends.1));
            key.band += band_levels(goal.band_miss(from.max(goal.low).min(to)));
            key.unsafe_ends += u32::from(to < goal.bathing.0 || from > goal.bathing.1);
            // pH's error may be as small as nothing; its cost is then least inside the aim.
            let error = if goal.quantity == Q::Ph { 0.0 } else { base.start.errors[i] };
            key.expected += expected_levels(goal.expected_miss(base.start.best[i].clamp(from, to), error));
        }
        key
    }
}

/// A branch before its last role.
struct Branch<'a> {
    start: &'a Start,
    dosed: Dosed,
    stop: Option<f64>,
    effort: u32,
    cost: f64,
}

fn shift(values: &mut [f64], a_move: Option<&Move>, units: u32, sign: f64) {
    if let Some(a_move) = a_move
        && units > 0
    {
        for (v, e) in values.iter_mut().zip(&a_move.effect) {
            *v += sign * e * f64::from(units);
        }
    }
}
