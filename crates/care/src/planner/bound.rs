//! The least key that a box of decisions could have.
//!
//! Linear goals are bounded by the interval that the spans reach, with the least error any plan can have. pH and
//! saturation index are monotone in the amount of every product, so they are bounded by the corners of the box; a
//! direction is found by trying the product (`Move`'s whole range) in several waters; a carbonate draws the pH to its own
//! from both sides, so both ends of its span are corners. After airing the pH is the stop's but
//! for what the disinfectant does, most in the least buffered corner.

use super::evaluate::OUTDOOR_CO2_ATM;
use super::goal::{Goal, band_levels, expected_levels};
use super::path::{ACID_FLOOR, Stuck, Walks, units_at_once};
use super::problem::{Choice, EFFORT_ADDITION, EFFORT_AIRING, EFFORT_PRODUCT, Key, Move, Problem, Role};
use crate::chem::linear;
use crate::quantity::Quantity as Q;
use water::{Ph, Speciation, Totals};

pub(crate) const MOST_ROLES: usize = 9;
/// What corners may be wrong by where a direction turns inside a box: a share of how far they lie apart …
const SLACK: f64 = 0.1;
/// … and what the solves leave.
const LEAST_SLACK: f64 = 1e-6;

/// A box is split where it moves its water rather than where it moves what is linear: that is bounded well already. (The
/// figure by trial: a quarter fewer nodes than with one.)
const WATER_FIRST: f64 = 5.0;

/// What a box leaves open of one role.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Span {
    /// Every product and none.
    Open,
    /// One product, units from–to; 0–0 is not used.
    Units { which: u8, low: u16, high: u16 },
}

const NONE: Span = Span::Units { which: 0, low: 0, high: 0 };

/// A box of decisions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Node {
    pub(crate) start: usize,
    /// Index into the problem's stops.
    pub(crate) stop: usize,
    pub(crate) spans: [Span; MOST_ROLES],
    /// How many there are in it.
    pub(crate) decisions: f64,
    /// What pH and saturation index cost at least, as far as a box around it has shown.
    water: Levels,
    /// Additions of acid at least.
    acid_additions: u32,
    /// Whether all of it is known to lie below the stop before it is aired.
    below_stop: bool,
}

impl Node {
    pub(crate) fn is_one(&self) -> bool {
        let one = |s: &Span| matches!(s, Span::Units { low, high, .. } if low == high);
        self.spans.iter().all(one)
    }

    #[cfg(test)]
    pub(crate) fn has(&self, choice: &Choice) -> bool {
        choice.used.iter().zip(&self.spans).all(|((m, units), span)| match *span {
            Span::Open => true,
            Span::Units { which, low, high } => {
                (u32::from(low)..=u32::from(high)).contains(units)
                    && (*units == 0 || usize::from(which) == *m)
            }
        })
    }

    /// Its first decision.
    pub(crate) fn choice(&self, problem: &Problem) -> Choice {
        let used = |s: &Span| match *s {
            Span::Units { which, low, .. } if low > 0 => (usize::from(which), u32::from(low)),
            _ => (0, 0),
        };
        let used = self.spans[..problem.roles.len()].iter().map(used).collect();
        Choice { start: self.start, used, stop: problem.stops[self.stop] }
    }
}

/// Levels of the first three ranks of a key.
#[derive(Debug, Clone, Copy, Default)]
struct Levels {
    unsafe_ends: u32,
    band: u32,
    expected: u32,
}

/// What a move does to the water over its whole range, least and most of several waters: as it stands, brought to the pH
/// of `TRIED_PH`, and with the most of it replaced. Bicarbonate lifts the one and lowers the other; then its direction is not known.
#[derive(Debug, Clone, Copy)]
struct Reach {
    ph: (f64, f64),
    index: (f64, f64),
}

/// The range that paths keep to, and beyond.
const TRIED_PH: [f64; 4] = [6.0, 6.8, 7.6, 8.4];

type By = fn(&Reach) -> (f64, f64);

pub(crate) struct Bounds<'a> {
    problem: &'a Problem,
    /// By role and move.
    reach: Vec<Vec<Reach>>,
    /// By role and move: how much a unit matters to the objective.
    influence: Vec<Vec<f64>>,
    /// By role and move: units of a single addition; `None` where the water decides.
    at_once: Vec<Vec<Option<u32>>>,
    /// By start.
    near: Vec<Option<Speciation>>,
    ph: Option<usize>,
    index: Option<usize>,
}

impl<'a> Bounds<'a> {
    pub(crate) fn of(problem: &'a Problem) -> Self {
        let near: Vec<_> = problem.starts.iter().map(|s| problem.at.solve(&s.totals).ok()).collect();
        let ph = problem.goal(Q::Ph);
        let index = problem.goal(Q::SaturationIndex);
        let first = near.first().copied().flatten();
        let tried: Vec<Speciation> = first
            .iter()
            .flat_map(|now| {
                let brought = |ph| problem.at.with_alkalinity_of(&now.totals, Ph(ph)).ok();
                TRIED_PH.into_iter().filter_map(brought).chain([*now])
            })
            .chain(near.iter().skip(1).flatten().last().copied())
            .collect();
        let reach_of = |m: &Move| {
            // Without calcium alkalinity tells the index's direction.
            let by_alkalinity = m.per_unit.alkalinity;
            let mut reach: Option<Reach> = None;
            for now in &tried {
                let after = now.totals.plus(&m.per_unit, f64::from(m.max_units));
                let Ok(s) = problem.at.solve_from(&after, Some(now)) else { continue };
                let ph = s.ph().0 - now.ph().0;
                let index = match s.has_calcium() && now.has_calcium() {
                    true => problem.index_of(&s) - problem.index_of(now),
                    false => by_alkalinity,
                };
                let so_far = reach.unwrap_or(Reach { ph: (ph, ph), index: (index, index) });
                reach = Some(Reach {
                    ph: (so_far.ph.0.min(ph), so_far.ph.1.max(ph)),
                    index: (so_far.index.0.min(index), so_far.index.1.max(index)),
                });
            }
            let by_alkalinity = (by_alkalinity, by_alkalinity);
            reach.unwrap_or(Reach { ph: by_alkalinity, index: by_alkalinity })
        };
        let reach: Vec<Vec<Reach>> =
            problem.roles.iter().map(|(_, moves)| moves.iter().map(reach_of).collect()).collect();
        let influence = problem
            .roles
            .iter()
            .zip(&reach)
            .map(|((_, moves), reach)| {
                let of = |(m, r): (&Move, &Reach)| {
                    let most = f64::from(m.max_units.max(1));
                    let linear: f64 =
                        problem.goals.iter().zip(&m.effect).map(|(g, e)| g.slope() * e.abs()).sum();
                    let water = |goal: Option<usize>, (low, high): (f64, f64)| {
                        goal.map_or(0.0, |g| problem.goals[g].slope() * high.max(-low) / most)
                    };
                    linear + WATER_FIRST * (water(ph, r.ph) + water(index, r.index))
                };
                moves.iter().zip(reach).map(of).collect()
            })
            .collect();
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
        Bounds { problem, reach, influence, at_once, near, ph, index }
    }

    /// Every decision with a start and a stop.
    pub(crate) fn root(&self, start: usize, stop: usize) -> Node {
        let mut spans = [NONE; MOST_ROLES];
        let mut decisions = 1.0;
        for (span, (_, moves)) in spans.iter_mut().zip(&self.problem.roles) {
            let units: u32 = moves.iter().map(|m| m.max_units).sum();
            if units > 0 {
                *span = Span::Open;
                decisions *= f64::from(1 + units);
            }
        }
        Node { start, stop, spans, decisions, water: Levels::default(), acid_additions: 1, below_stop: false }
    }

    /// The parts of a box.
    pub(crate) fn split(&self, node: &Node) -> Vec<Node> {
        let roles = &self.problem.roles;
        let mut parts = Vec::new();
        if let Some(role) = node.spans.iter().position(|s| *s == Span::Open) {
            let moves = &roles[role].1;
            let units: u32 = moves.iter().map(|m| m.max_units).sum();
            let mut part = |span: Span, amounts: f64| {
                let mut child = *node;
                child.spans[role] = span;
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
                    Some((role, f64::from(high - low) * self.influence[role][usize::from(which)]))
                }
                _ => None,
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
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
        let aired = problem.stops[node.stop].is_some();
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
            levels.count(goal, from, to, problem.goal_error(start, i, change));
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
        if self.problem.stops[node.stop].is_some() {
            if !first_order {
                return None;
            }
            let acid_additions = match acid {
                Some(_) if one => walks.rounds_needed(&highest, which, units)?,
                // Less alkalinity takes no more acid in a round, and not more rounds, …
                Some(_)
                    if walks.rounds_needed(&highest, which, units).is_some()
                        || !walks.scale_ends_rounds(&highest, which) =>
                {
                    walks.rounds_needed(&highest, which, units)?
                }
                // … but where scale ends them: then they lie between those of the corners, but for a tenth and one.
                Some(_) => {
                    let fewer = (0.9 * f64::from(units)) as u32;
                    let fewer = fewer.saturating_sub(1).max(1);
                    let of = |corner| walks.rounds_needed(corner, which, fewer);
                    of(&highest).into_iter().chain(of(&scales_least)).min()?
                }
                None => 1,
            };
            return Some(Node { acid_additions, ..*node });
        }
        let Some(acid) = acid else {
            // Without acid or base both orders are one.
            return (first_order || units > 0).then_some(*node);
        };
        // Acid last or first: its floor is asked of the highest pH that it can leave.
        let start = &self.problem.starts[node.start];
        let near = self.near[node.start].as_ref();
        let keeps_the_floor = |before: fn(Role) -> bool| {
            let dose = self.corner(node, before, |r| r.ph, true).plus(&acid.per_unit, f64::from(units));
            let solved = self.problem.at.solve_from(&start.totals.plus(&dose, 1.0), near);
            solved.is_ok_and(|s| s.ph().0 >= ACID_FLOOR - LEAST_SLACK)
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
        let dose = self.corner(node, |r| r == Role::Alkalinity, |r| r.index, true);
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

    /// Looks at the water of a box, for its bound and that of its parts; `None` if no decision of it can be carried out.
    pub(crate) fn look_at_water(&self, node: &Node) -> Option<Node> {
        let problem = self.problem;
        let mut node = *node;
        let Some(near) = &self.near[node.start] else { return Some(node) };
        let (ph, index, error) = match problem.stops[node.stop] {
            Some(stop) => {
                let (ph, index) = self.aired(&mut node, near, stop)?;
                (ph, index, problem.stop_error)
            }
            None => self.still(&node, near),
        };
        let mut seen = Levels::default();
        if let Some(i) = self.ph {
            let slack = SLACK * (ph.1 - ph.0) + LEAST_SLACK;
            seen.count(&problem.goals[i], ph.0 - slack, ph.1 + slack, error);
        }
        if let Some(i) = self.index {
            let slack = SLACK * (index.1 - index.0 + ph.1 - ph.0) + LEAST_SLACK;
            seen.count(&problem.goals[i], index.0 - slack, index.1 + slack, 0.0);
        }
        let water = Levels {
            unsafe_ends: seen.unsafe_ends.max(node.water.unsafe_ends),
            band: seen.band.max(node.water.band),
            expected: seen.expected.max(node.water.expected),
        };
        Some(Node { water, ..node })
    }

    /// What a role may add where a measure (of a move's reach) is furthest up or down: one amount where directions are
    /// known, else every end; as (move, units), the likeliest first.
    fn ends(&self, span: Span, role: usize, by: By, upward: bool) -> Vec<(usize, u32)> {
        let reach = &self.reach[role];
        let either_way = |r: &Reach| by(r).0 < 0.0 && by(r).1 > 0.0;
        let far = |r: &Reach| if upward { by(r).1 } else { -by(r).0 };
        match span {
            Span::Units { high: 0, .. } => vec![(0, 0)],
            Span::Units { which, low, high } => {
                let (which, low, high) = (usize::from(which), u32::from(low), u32::from(high));
                if low == high {
                    vec![(which, low)]
                } else if either_way(&reach[which]) {
                    if upward { vec![(which, high), (which, low)] } else { vec![(which, low), (which, high)] }
                } else {
                    vec![(which, if far(&reach[which]) > 0.0 { high } else { low })]
                }
            }
            Span::Open => {
                let moves = &self.problem.roles[role].1;
                let known = |(which, r): (usize, &Reach)| (!either_way(r)).then(|| (which, far(r)));
                let furthest = reach
                    .iter()
                    .enumerate()
                    .filter_map(known)
                    .filter(|(_, far)| *far > 0.0)
                    .max_by(|a, b| a.1.total_cmp(&b.1))
                    .map_or((0, 0), |(which, _)| (which, moves[which].max_units));
                let unknown = reach.iter().enumerate().filter(|(_, r)| either_way(r));
                let mut ends = vec![furthest];
                ends.extend(unknown.map(|(which, _)| (which, moves[which].max_units)));
                if ends.len() > 1 && furthest.1 > 0 {
                    ends.push((0, 0));
                }
                ends
            }
        }
    }

    /// The corners that may be furthest in a direction, over the roles in `of`; the likeliest first.
    fn corners(&self, node: &Node, of: fn(Role) -> bool, by: By, upward: bool) -> Vec<Totals> {
        let mut corners = vec![Totals::default()];
        for (role, (kind, moves)) in self.problem.roles.iter().enumerate() {
            if !of(*kind) {
                continue;
            }
            let ends = self.ends(node.spans[role], role, by, upward);
            let with = |corner: &Totals, (which, units): (usize, u32)| match units {
                0 => *corner,
                _ => corner.plus(&moves[which].per_unit, f64::from(units)),
            };
            corners = ends.iter().flat_map(|end| corners.iter().map(|c| with(c, *end))).collect();
        }
        corners
    }

    /// The likeliest of them.
    fn corner(&self, node: &Node, of: fn(Role) -> bool, by: By, upward: bool) -> Totals {
        self.corners(node, of, by, upward)[0]
    }

    /// pH and saturation index, from and to, and the least error of pH, where nothing is aired.
    fn still(&self, node: &Node, near: &Speciation) -> ((f64, f64), (f64, f64), f64) {
        let problem = self.problem;
        let start = &problem.starts[node.start];
        let mut solved: Vec<(Totals, Option<Speciation>)> = Vec::with_capacity(8);
        let mut at = |dose: Totals| {
            if let Some((_, s)) = solved.iter().find(|(d, _)| *d == dose) {
                return *s;
            }
            let s = problem.at.solve_from(&start.totals.plus(&dose, 1.0), Some(near)).ok();
            solved.push((dose, s));
            s
        };
        let mut error = f64::INFINITY;
        let mut furthest = |upward: bool, by: By, of: &dyn Fn(&Speciation) -> f64| {
            let sign = if upward { 1.0 } else { -1.0 };
            let mut most = f64::NEG_INFINITY;
            for dose in self.corners(node, |_| true, by, upward) {
                match at(dose) {
                    Some(s) => {
                        most = most.max(sign * of(&s));
                        error = error.min(problem.ph_error_but_for_volume(start, &s));
                    }
                    None => {
                        most = f64::INFINITY;
                        error = 0.0;
                    }
                }
            }
            sign * most
        };
        let ph_of = |s: &Speciation| s.ph().0;
        let ph = (furthest(false, |r| r.ph, &ph_of), furthest(true, |r| r.ph, &ph_of));
        let index = match self.index {
            None => (0.0, 0.0),
            Some(_) => {
                let index_of = |s: &Speciation| problem.index_of(s);
                (furthest(false, |r| r.index, &index_of), furthest(true, |r| r.index, &index_of))
            }
        };
        // The error goes with the buffering, which changes at most as the hydrogen ion does.
        let range = (ph.1 - ph.0).max(0.0);
        let error = if range > 0.5 { 0.0 } else { error * 10f64.powf(-range) - LEAST_SLACK };
        (ph, index, error.max(0.0))
    }

    /// The same where airing ends at a pH; `None` if airing cannot bring any of the box there.
    fn aired(&self, seen: &mut Node, near: &Speciation, stop: f64) -> Option<((f64, f64), (f64, f64))> {
        let problem = self.problem;
        let node = *seen;
        let totals = &problem.starts[node.start].totals;
        let at = &problem.at;
        let early = |r: Role| !late(r);
        let dose = |reach: By, upward| totals.plus(&self.corner(&node, early, reach, upward), 1.0);
        // Airing lifts the pH, so what is above the stop already cannot be aired to it.
        let mut below_stop = node.below_stop;
        if !below_stop {
            let ph = |upward| {
                let sign = if upward { 1.0 } else { -1.0 };
                let corners = self.corners(&node, early, |r| r.ph, upward).into_iter();
                let each = corners.map(|dose| at.solve_from(&totals.plus(&dose, 1.0), Some(near)));
                let most = each.map(|s| s.map_or(f64::INFINITY, |s| sign * s.ph().0));
                sign * most.fold(f64::NEG_INFINITY, f64::max)
            };
            if ph(false) > stop + LEAST_SLACK {
                return None;
            }
            below_stop = ph(true) < stop - 0.1;
        }
        // Nor what acid has left no room for carbonate in, at the most alkalinity of the box.
        let richest = at.solve_at_ph(&dose(|r| r.index, true), Ph(stop)).ok()?;
        let (most_early, least_early) = (dose(|r| r.index, true), dose(|r| r.index, false));
        let poorest = match most_early == least_early {
            true => Some(richest),
            false => at.solve_at_ph(&least_early, Ph(stop)).ok(),
        };
        let mut ph = (stop, stop);
        let mut index =
            (poorest.as_ref().map_or(f64::NEG_INFINITY, |s| problem.index_of(s)), problem.index_of(&richest));
        // Nor what would need less carbon dioxide than the air holds: it is most where alkalinity is, but for salts.
        let but_for_salts = 10f64.powf(-SLACK * (index.1 - index.0).min(1.0) - LEAST_SLACK);
        if at.co2_partial_pressure_atm(&richest) < but_for_salts * OUTDOOR_CO2_ATM {
            return None;
        }
        let mut late_doses = self.corners(&node, late, |r| r.ph, false);
        for dose in self.corners(&node, late, |r| r.ph, true) {
            if !late_doses.contains(&dose) {
                late_doses.push(dose);
            }
        }
        if late_doses == [Totals::default()] {
            seen.below_stop = below_stop;
            return Some((ph, index));
        }
        (ph, index) = ((f64::INFINITY, f64::NEG_INFINITY), (f64::INFINITY, f64::NEG_INFINITY));
        for add in late_doses {
            let corners = [Some(&richest), poorest.as_ref()];
            for water in &corners[..if most_early == least_early { 1 } else { 2 }] {
                let late = |w: &Speciation| match add == Totals::default() {
                    true => Some(*w),
                    false => at.solve_from(&w.totals.plus(&add, 1.0), Some(w)).ok(),
                };
                match water.and_then(late) {
                    Some(s) => {
                        let i = problem.index_of(&s);
                        ph = (ph.0.min(s.ph().0), ph.1.max(s.ph().0));
                        index = (index.0.min(i), index.1.max(i));
                    }
                    None => {
                        ph = (f64::NEG_INFINITY, f64::INFINITY);
                        index = ph;
                    }
                }
            }
        }
        seen.below_stop = below_stop;
        Some((ph, index))
    }
}

fn late(role: Role) -> bool {
    matches!(role, Role::Disinfect | Role::Dechlorinate)
}

impl Levels {
    /// Counts a goal that ends somewhere between two values with an error of at least so much.
    fn count(&mut self, goal: &Goal, from: f64, to: f64, error: f64) {
        self.band += band_levels(goal.band_miss(from.max(goal.low).min(to)));
        self.unsafe_ends += u32::from(to < goal.bathing.0 || from > goal.bathing.1);
        self.expected += expected_levels(goal.least_miss(from, to, error));
    }
}
