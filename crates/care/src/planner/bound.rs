//! The least key that a box of decisions could have.
//!
//! Linear goals are bounded by the interval that the spans reach, with the least error any plan can have; pH and
//! saturation index by the box's corners (`corners`); effort by what its paths need at least, walked in the corners.

use super::corners::{Corners, LEAST_SLACK, late};
use super::influence::Influence;
use super::node::{Levels, NONE, Node, Span};
use super::path::{ACID_FLOOR, Stuck, Walks, units_at_once};
use super::problem::{Choice, EFFORT_ADDITION, EFFORT_AIRING, EFFORT_PRODUCT, Key, Move, Problem, Role};
use crate::chem::linear;
use crate::quantity::Quantity as Q;

pub(crate) struct Bounds<'a> {
    problem: &'a Problem,
    corners: Corners<'a>,
    influence: Influence,
    /// By role and move: units of a single addition; `None` where the water decides.
    at_once: Vec<Vec<Option<u32>>>,
}

impl<'a> Bounds<'a> {
    pub(crate) fn of(problem: &'a Problem) -> Self {
        let corners = Corners::of(problem);
        let influence = Influence::of(problem, &corners);
        let at_once = problem
            .roles
            .iter()
            .map(|(role, moves)| {
                let of = |m: &Move| {
                    let acid = *role == Role::AcidBase && m.per_unit.alkalinity < 0.0;
                    (!acid).then(|| units_at_once(problem, *role, m, 0.0))
                };
                moves.iter().map(of).collect()
            })
            .collect();
        Bounds { problem, corners, influence, at_once }
    }

    /// The parts of a box; itself if it is one decision (its path may have left no more of it).
    pub(crate) fn split(&self, node: &Node) -> Vec<Node> {
        let roles = &self.problem.roles;
        let mut parts = Vec::new();
        if node.is_one() {
            return vec![*node];
        }
        if let Some(role) = node.spans.iter().position(|s| *s == Span::Open) {
            let moves = &roles[role].1;
            let units: u32 = moves.iter().map(|m| m.max_units).sum();
            let aired = node.is_aired();
            let undone = self.problem.undoes(roles[role].0, aired);
            let mut part = |span: Span, amounts: f64| {
                let mut child = *node;
                child.spans[role] = span;
                if let Some(other) = undone.filter(|_| span != NONE) {
                    child.spans[other] = NONE;
                }
                child.decisions *= amounts / f64::from(1 + units);
                parts.push(child);
            };
            part(NONE, 1.0);
            for (which, m) in moves.iter().enumerate().filter(|(_, m)| m.max_units > 0) {
                let span = Span::Units { which: which as u8, low: 1, high: m.max_units as u16 };
                part(span, f64::from(m.max_units));
            }
            return parts;
        }
        let widest = (0..roles.len())
            .filter_map(|role| match node.spans[role] {
                Span::Units { which, low, high } if high > low => {
                    let of_unit = self.influence.of_unit(node.is_aired(), role, which);
                    Some((role, f64::from(high - low) * of_unit))
                }
                _ => None,
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let (first, last) = node.stops;
        if let (Some(from), Some(to)) = (self.problem.stops[first], self.problem.stops[last])
            && (to - from) * self.influence.of_stop() > widest.map_or(0.0, |(_, w)| w)
        {
            let middle = first + (last - first) / 2;
            let share = 1.0 / (last - first + 1) as f64;
            for (a, b) in [(first, middle), (middle + 1, last)] {
                let decisions = node.decisions * share * (b - a + 1) as f64;
                parts.push(Node { stops: (a, b), decisions, ..*node });
            }
            return parts;
        }
        if let Some((role, _)) = widest
            && let Span::Units { which, low, high } = node.spans[role]
        {
            let middle = low + (high - low) / 2;
            let all = f64::from(high - low + 1);
            for (low, high) in [(low, middle), (middle + 1, high)] {
                let mut child = *node;
                child.spans[role] = Span::Units { which, low, high };
                child.decisions *= f64::from(high - low + 1) / all;
                parts.push(child);
            }
        }
        parts
    }

    /// Bound by what is linear in the amounts: effort, cost, and every goal but pH and saturation index.
    pub(crate) fn linear(&self, node: &Node) -> Key {
        let problem = self.problem;
        let start = &problem.starts[node.start];
        let aired = node.is_aired();
        let airing = if aired { EFFORT_AIRING } else { 0 };
        let mut levels = node.water;
        let (mut effort, mut cost) = (start.effort + airing, start.cost);
        for (role, (_, moves)) in problem.roles.iter().enumerate() {
            if let Span::Units { which, low, .. } = node.spans[role]
                && low > 0
            {
                let which = usize::from(which);
                effort += EFFORT_PRODUCT;
                effort += match self.at_once[role][which] {
                    Some(most) => EFFORT_ADDITION * u32::from(low).div_ceil(most),
                    // Each round but the first is aired once more.
                    None if aired => {
                        EFFORT_ADDITION * node.acid_additions + EFFORT_AIRING * (node.acid_additions - 1)
                    }
                    None => EFFORT_ADDITION * node.acid_additions,
                };
                cost += moves[which].cost * f64::from(low);
            }
        }
        for (i, goal) in problem.goals.iter().enumerate() {
            if matches!(goal.quantity, Q::Ph | Q::SaturationIndex) {
                continue;
            }
            let (down, up) = self.change(node, i);
            let (from, to) = (start.values[i] + down, start.values[i] + up);
            // Every dose brings the volume's error along.
            let change = down.max(-up).max(0.0);
            levels.count(goal, (from, to), problem.goal_error(start, i, change), start.best[i]);
        }
        let Levels { unsafe_ends, band, expected } = levels;
        Key { unsafe_ends, band, expected, effort, cost }
    }

    /// How far a box can move a linear goal, down and up.
    fn change(&self, node: &Node, goal: usize) -> (f64, f64) {
        let (mut down, mut up) = (0.0, 0.0);
        for (role, (_, moves)) in self.problem.roles.iter().enumerate() {
            match node.spans[role] {
                Span::Units { which, low, high } => {
                    if high > 0 {
                        let effect = moves[usize::from(which)].effect[goal];
                        let (a, b) = (effect * f64::from(low), effect * f64::from(high));
                        down += a.min(b);
                        up += a.max(b);
                    }
                }
                Span::Open => {
                    let ends = moves.iter().map(|m| m.effect[goal] * f64::from(m.max_units));
                    let (low, high) =
                        ends.fold((0.0_f64, 0.0_f64), |(low, high), e| (low.min(e), high.max(e)));
                    down += low;
                    up += high;
                }
            }
        }
        (down, up)
    }

    /// A box with what its paths need at least; `None` if none of its decisions has a safe path, as far as corners tell:
    /// what scales before acid in the corner that scales least, falls too low in the one with the highest pH, or needs more
    /// rounds of acid than there may be where alkalinity is most.
    pub(crate) fn look_at_path(&self, node: &Node, walks: &Walks<'_>) -> Option<Node> {
        let last = self.problem.roles.len() - 1;
        let Span::Units { which, low: units, .. } = node.spans[last] else { return Some(*node) };
        if node.spans.contains(&Span::Open) {
            return Some(*node);
        }
        let (which, units) = (usize::from(which), u32::from(units));
        let acid = self.problem.roles[last].1.get(which).filter(|m| units > 0 && m.per_unit.alkalinity < 0.0);
        let scales_least = self.at_corner(node, |role| matches!(role, Role::Salt | Role::Bromide));
        let highest = self.at_corner(node, |role| role == Role::Alkalinity);
        let one = scales_least == highest;
        let stuck = (walks.stuck(&scales_least), walks.stuck(&highest));
        let first_order =
            stuck.0 != Some(Stuck::Scale) && stuck.1 != Some(Stuck::Low) && !(one && stuck.0.is_some());
        if node.is_aired() {
            if !first_order {
                return None;
            }
            let mut node = *node;
            if acid.is_some() {
                // Less alkalinity takes no more acid in a round, and not more rounds; but where scale ends them they lie
                // between those of the corners, but for a tenth and one.
                let exact = one || !walks.scale_ends_rounds(&highest, which, units);
                let fewer =
                    if exact { units } else { ((0.9 * f64::from(units)) as u32).saturating_sub(1).max(1) };
                let of = |corner| walks.rounds_needed(corner, which, fewer);
                let least = of(&highest);
                let least = if exact { least } else { least.into_iter().chain(of(&scales_least)).min() };
                node.acid_additions = least?;
            }
            return Some(node);
        }
        let Some(acid) = acid else {
            // Without acid or base both orders are one.
            return (first_order || units > 0).then_some(*node);
        };
        // Acid last or first: its floor is asked of the highest pH that it can leave.
        let start = &self.problem.starts[node.start];
        let keeps_the_floor = |before: fn(Role) -> bool| {
            let ph = self.corners.highest_ph(node, before, (which, units));
            ph.is_some_and(|ph| ph >= ACID_FLOOR - LEAST_SLACK)
        };
        let early = |r: Role| !late(r) && r != Role::AcidBase;
        let last_may = first_order && keeps_the_floor(early);
        if !last_may && !keeps_the_floor(|r| matches!(r, Role::Salt | Role::Bromide)) {
            return None;
        }
        let most_alkalinity =
            linear(Q::TotalAlkalinity, &start.totals).unwrap_or(0.0) + self.change_of_alkalinity(node);
        let at_once = units_at_once(self.problem, Role::AcidBase, acid, most_alkalinity);
        Some(Node { acid_additions: units.div_ceil(at_once), ..*node })
    }

    /// What the alkalinity role may bring in a box, mg/L as CaCO3.
    fn change_of_alkalinity(&self, node: &Node) -> f64 {
        let dose = self.corners.richest(node, |r| r == Role::Alkalinity);
        linear(Q::TotalAlkalinity, &dose).unwrap_or(0.0)
    }

    /// The decision of a box with the most of some roles and the least of the others.
    fn at_corner(&self, node: &Node, most: fn(Role) -> bool) -> Choice {
        let mut choice = node.choice(self.problem);
        for (used, (span, (role, _))) in
            choice.used.iter_mut().zip(node.spans.iter().zip(&self.problem.roles))
        {
            if let Span::Units { which, high, .. } = *span
                && most(*role)
                && high > 0
            {
                *used = (usize::from(which), u32::from(high));
            }
        }
        choice
    }

    /// Looks at the water of a box; `None` if no decision of it can be carried out.
    pub(crate) fn look_at_water(&self, node: &Node) -> Option<Node> {
        self.corners.look(node)
    }
}
