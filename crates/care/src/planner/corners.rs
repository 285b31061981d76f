//! pH and saturation index of a box, from its corners.
//!
//! Both are monotone in the amount of every product, so they lie between those of the box's corners, but for `SLACK`,
//! where a direction turns inside it. After airing the pH is the stop's but for what the disinfectant does. Neighbours in
//! the search share corners: each is solved once.

use super::evaluate::OUTDOOR_CO2_ATM;
use super::goal::Goal;
use super::node::{Levels, MOST_ROLES, Node};
use super::problem::{Problem, Role};
use super::reach::{By, Reach, ends, reaches};
use crate::quantity::Quantity as Q;
use foldhash::fast::FixedState;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use water::{Ph, Speciation, Totals};

/// What corners may be wrong by where a direction turns inside a box: a share of how far they lie apart …
const SLACK: f64 = 0.1;
/// … and what the solves leave.
pub(crate) const LEAST_SLACK: f64 = 1e-6;

/// For each role a move and its units, in one number each: quick to compare and to find again.
type Corner = [u32; MOST_ROLES];

fn amount(which: usize, units: u32) -> u32 {
    if units == 0 { 0 } else { ((which as u32) << 16) + units }
}

fn which_and_units(amount: u32) -> (usize, u32) {
    ((amount >> 16) as usize, amount & 0xffff)
}

/// A start, a stop, and what is added.
type Place = (usize, usize, Corner);

/// What is kept of a corner's water.
#[derive(Debug, Clone, Copy)]
struct Wet {
    ph: f64,
    index: f64,
    /// Of the pH, but for the volume's share.
    error: f64,
}

/// From and to.
#[derive(Debug, Clone, Copy)]
struct Range(f64, f64);

impl Range {
    const NOTHING: Range = Range(f64::INFINITY, f64::NEG_INFINITY);
    const ANYTHING: Range = Range(f64::NEG_INFINITY, f64::INFINITY);

    fn and(self, value: f64) -> Range {
        Range(self.0.min(value), self.1.max(value))
    }

    fn width(self) -> f64 {
        self.1 - self.0
    }
}

pub(crate) struct Corners<'a> {
    problem: &'a Problem,
    /// By role and move.
    pub(crate) reach: Vec<Vec<Reach>>,
    /// By start.
    near: Vec<Option<Speciation>>,
    solved: RefCell<HashMap<Place, Option<Wet>, FixedState>>,
    /// Before the disinfectant, aired to a stop.
    aired: RefCell<HashMap<Place, Option<Rc<Speciation>>, FixedState>>,
}

impl<'a> Corners<'a> {
    pub(crate) fn of(problem: &'a Problem) -> Self {
        let near: Vec<_> = problem.starts.iter().map(|s| problem.at.solve(&s.totals).ok()).collect();
        let reach = reaches(problem, &near);
        Corners { problem, reach, near, solved: RefCell::default(), aired: RefCell::default() }
    }

    /// Looks at the water of a box, for its bound and that of its parts; `None` if no decision of it can be carried out.
    pub(crate) fn look(&self, node: &Node) -> Option<Node> {
        let problem = self.problem;
        if node.rests || self.near[node.start].is_none() {
            return Some(Node { rests: false, ..*node });
        }
        let (ph, index, error) = match (problem.stops[node.stops.0], problem.stops[node.stops.1]) {
            (Some(first), Some(last)) => {
                let (ph, index) = self.aired(node, (first, last))?;
                (ph, index, problem.stop_error)
            }
            _ => self.still(node),
        };
        let mut seen = Levels::default();
        let mut count = |q: Q, Range(from, to): Range, slack: f64, error: f64| {
            if let Some(i) = problem.goal(q) {
                let goal: &Goal = &problem.goals[i];
                seen.count(goal, (from - slack, to + slack), error, problem.starts[node.start].best[i]);
            }
        };
        count(Q::Ph, ph, SLACK * ph.width() + LEAST_SLACK, error);
        count(Q::SaturationIndex, index, SLACK * (index.width() + ph.width()) + LEAST_SLACK, 0.0);
        let water = seen.at_least(node.water);
        Some(Node { water, rests: water == node.water, ..*node })
    }

    /// The highest pH that the roles in `of` can bring a box to, by the likeliest corner, with some of acid or base.
    pub(crate) fn highest_ph(&self, node: &Node, of: fn(Role) -> bool, acid: (usize, u32)) -> Option<f64> {
        let mut corner = self.likeliest(node, of, |r| r.ph, true);
        corner[self.problem.roles.len() - 1] = amount(acid.0, acid.1);
        self.wet(node.start, 0, &corner).map(|w| w.ph)
    }

    /// What the roles in `of` add at the most of the saturation index, by the likeliest corner.
    pub(crate) fn richest(&self, node: &Node, of: fn(Role) -> bool) -> Totals {
        self.dose(&self.likeliest(node, of, |r| r.index, true), |_| true)
    }

    /// The corners that may be furthest in a direction, over the roles in `of`; the likeliest first.
    fn furthest(&self, node: &Node, of: fn(Role) -> bool, by: By, upward: bool) -> Vec<Corner> {
        let mut corners = vec![[0; MOST_ROLES]];
        for (role, (kind, moves)) in self.problem.roles.iter().enumerate() {
            if !of(*kind) {
                continue;
            }
            let ends = ends(node.spans[role], moves, &self.reach[role], by, upward);
            let so_far = corners.len();
            for (which, units) in ends.iter().skip(1) {
                for i in 0..so_far {
                    let mut corner = corners[i];
                    corner[role] = amount(*which, *units);
                    corners.push(corner);
                }
            }
            let (which, units) = ends[0];
            corners[..so_far].iter_mut().for_each(|c| c[role] = amount(which, units));
        }
        corners
    }

    fn likeliest(&self, node: &Node, of: fn(Role) -> bool, by: By, upward: bool) -> Corner {
        self.furthest(node, of, by, upward)[0]
    }

    /// What a corner adds in the roles of `of`.
    fn dose(&self, corner: &Corner, of: fn(Role) -> bool) -> Totals {
        let mut dose = Totals::default();
        for ((role, moves), amount) in self.problem.roles.iter().zip(corner) {
            let (which, units) = which_and_units(*amount);
            if units > 0 && of(*role) {
                dose = dose.plus(&moves[which].per_unit, f64::from(units));
            }
        }
        dose
    }

    /// A corner's water; without a stop as it comes, else aired to the stop before the disinfectant.
    fn wet(&self, start: usize, stop: usize, corner: &Corner) -> Option<Wet> {
        let place = (start, stop, *corner);
        if let Some(wet) = self.solved.borrow().get(&place) {
            return *wet;
        }
        let problem = self.problem;
        let of_start = &problem.starts[start];
        let water = match stop {
            0 => {
                let totals = of_start.totals.plus(&self.dose(corner, |_| true), 1.0);
                problem.at.solve_from(&totals, self.near[start].as_ref()).ok()
            }
            _ => self.aired_water(start, stop, &early(problem, corner)).and_then(|aired| {
                let dose = self.dose(corner, late);
                match dose == Totals::default() {
                    true => Some(*aired),
                    false => problem.at.solve_from(&aired.totals.plus(&dose, 1.0), Some(&*aired)).ok(),
                }
            }),
        };
        let wet = water.map(|s| Wet {
            ph: s.ph().0,
            index: problem.index_of(&s),
            error: if stop == 0 { problem.ph_error_but_for_volume(of_start, &s) } else { problem.stop_error },
        });
        self.solved.borrow_mut().insert(place, wet);
        wet
    }

    fn aired_water(&self, start: usize, stop: usize, corner: &Corner) -> Option<Rc<Speciation>> {
        let place = (start, stop, *corner);
        if let Some(water) = self.aired.borrow().get(&place) {
            return water.clone();
        }
        let totals = self.problem.starts[start].totals.plus(&self.dose(corner, |_| true), 1.0);
        let at_stop = |ph| self.problem.at.solve_at_ph(&totals, Ph(ph)).ok().map(Rc::new);
        let water = self.problem.stops[stop].and_then(at_stop);
        self.aired.borrow_mut().insert(place, water.clone());
        water
    }

    /// pH and saturation index, from and to, and the least error of pH, where nothing is aired.
    fn still(&self, node: &Node) -> (Range, Range, f64) {
        let mut error = f64::INFINITY;
        let mut between = |by: By, of: fn(&Wet) -> f64| {
            let mut range = Range::NOTHING;
            for upward in [false, true] {
                for corner in self.furthest(node, |_| true, by, upward) {
                    match self.wet(node.start, 0, &corner) {
                        Some(wet) => {
                            range = range.and(of(&wet));
                            error = error.min(wet.error);
                        }
                        // Without an answer nothing is known of the corner.
                        None => {
                            range = Range::ANYTHING;
                            error = 0.0;
                        }
                    }
                }
            }
            range
        };
        let ph = between(|r| r.ph, |w| w.ph);
        let index = match self.problem.goal(Q::SaturationIndex) {
            None => Range(0.0, 0.0),
            Some(_) => between(|r| r.index, |w| w.index),
        };
        // The error goes with the buffering, which changes at most as the hydrogen ion does.
        let error = if ph.width() > 0.5 { 0.0 } else { error * 10f64.powf(-ph.width()) - LEAST_SLACK };
        (ph, index, error.max(0.0))
    }

    /// The same where airing ends at a pH between two; `None` if airing cannot bring any of the box there.
    fn aired(&self, node: &Node, stops: (f64, f64)) -> Option<(Range, Range)> {
        let problem = self.problem;
        let before_late = |r: Role| !late(r);
        // Airing lifts the pH, so what is above the stop already cannot be aired to it.
        let lowest = self.furthest(node, before_late, |r| r.ph, false).into_iter();
        let lowest = lowest.map(|c| self.wet(node.start, 0, &c).map_or(f64::NEG_INFINITY, |w| w.ph));
        if lowest.fold(f64::INFINITY, f64::min) > stops.1 + LEAST_SLACK {
            return None;
        }
        let of_index = |upward| self.likeliest(node, before_late, |r| r.index, upward);
        let (most, least) = (of_index(true), of_index(false));
        // Nor what acid has left no room for carbonate in, at the most alkalinity of the box.
        let (first, last) = node.stops;
        let richest = self.aired_water(node.start, first, &most)?;
        // Nor what would need less carbon dioxide than the air holds: it is most where alkalinity is, but for salts.
        let poorest = self.wet(node.start, first, &least).map_or(f64::NEG_INFINITY, |w| w.index);
        let apart = problem.index_of(&richest) - poorest;
        let but_for_salts = 10f64.powf(-SLACK * apart.min(1.0) - LEAST_SLACK);
        if problem.at.co2_partial_pressure_atm(&richest) < but_for_salts * OUTDOOR_CO2_ATM {
            return None;
        }
        let (mut ph, mut index) = (Range::NOTHING, Range::NOTHING);
        let before = if most == least { vec![most] } else { vec![most, least] };
        for (stop, upward) in [(first, false), (last, true)] {
            for after in self.furthest(node, late, |r| r.ph, upward) {
                for before in &before {
                    match self.wet(node.start, stop, &both(before, &after)) {
                        Some(wet) => (ph, index) = (ph.and(wet.ph), index.and(wet.index)),
                        None => (ph, index) = (Range::ANYTHING, Range::ANYTHING),
                    }
                }
            }
        }
        Some((ph, index))
    }
}

/// What comes after airing.
pub(crate) fn late(role: Role) -> bool {
    matches!(role, Role::Disinfect | Role::Dechlorinate)
}

/// A corner but for what comes after airing.
fn early(problem: &Problem, corner: &Corner) -> Corner {
    let mut early = *corner;
    for (place, (role, _)) in early.iter_mut().zip(&problem.roles) {
        if late(*role) {
            *place = 0;
        }
    }
    early
}

/// Two corners that use different roles.
fn both(a: &Corner, b: &Corner) -> Corner {
    let mut both = *a;
    for (place, other) in both.iter_mut().zip(b) {
        if *other > 0 {
            *place = *other;
        }
    }
    both
}
