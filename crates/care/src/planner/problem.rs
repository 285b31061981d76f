//! The decision in numbers: which amounts of which products, how much water, whether to air.
//!
//! Products are grouped by what they are for (a [`Role`]); a plan uses at most one product for each role, in whole
//! units that the owner can measure. That is the trade's own rule, and it keeps the choice small enough to search
//! completely.

use super::goal::Goal;
use crate::quantity::Quantity as Q;
use water::{Equilibria, Totals};

/// What a product is for, in the order of the search: what comes before acid in every path first, so that neighbours in
/// the search share their path; acid last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Role {
    /// Raise salt.
    Salt,
    /// Fill the bromide bank.
    Bromide,
    /// Raise alkalinity.
    Alkalinity,
    /// Raise calcium hardness.
    Calcium,
    /// Raise cyanuric acid.
    Stabilise,
    /// Raise borate.
    Borate,
    /// Take excess chlorine away.
    Dechlorinate,
    /// Raise free chlorine or bromine.
    Disinfect,
    /// Lower pH and alkalinity, or raise pH. Searched last.
    AcidBase,
}

/// One product in one role.
#[derive(Debug, Clone)]
pub(crate) struct Move {
    /// Index into the shelf.
    pub(crate) product: usize,
    /// Grams of product in a unit.
    pub(crate) unit_g: f64,
    /// What one unit adds to each kilogram of water.
    pub(crate) per_unit: Totals,
    /// Its effect on each goal that is linear, in the order of the goals.
    pub(crate) effect: Vec<f64>,
    pub(crate) max_units: u32,
    /// What a unit costs, for choosing.
    pub(crate) cost: f64,
}

/// The water after replacing a share of it.
#[derive(Debug, Clone)]
pub(crate) struct Start {
    pub(crate) share: f64,
    pub(crate) totals: Totals,
    /// Value of each goal (pH and saturation index: as they stand).
    pub(crate) values: Vec<f64>,
    /// Standard error of each goal before dosing.
    pub(crate) errors: Vec<f64>,
    /// Where each goal's expected cost is least with that error.
    pub(crate) best: Vec<f64>,
    pub(crate) cost: f64,
    pub(crate) effort: u32,
}

/// Everything that the search needs.
#[derive(Debug)]
pub(crate) struct Problem {
    pub(crate) at: Equilibria,
    pub(crate) goals: Vec<Goal>,
    pub(crate) starts: Vec<Start>,
    /// Roles in the order of the search, `AcidBase` last and always there.
    pub(crate) roles: Vec<(Role, Vec<Move>)>,
    /// pH at which airing stops; `None` first: no airing.
    pub(crate) stops: Vec<Option<f64>>,
    /// Relative standard error of the volume, which every dose carries.
    pub(crate) volume_error: f64,
    /// Standard error of a pH reading that ends an airing.
    pub(crate) stop_error: f64,
    /// Sensitivity of the pH estimate now: its standard error and that of the alkalinity (eq/kg).
    pub(crate) ph_error: f64,
    pub(crate) alkalinity_error: f64,
    /// pH per alkalinity and per carbon of the water now.
    pub(crate) ph_slopes_now: (f64, f64),
    /// Alkalinity that a titration reads beyond the linear part.
    pub(crate) alkalinity_residue_mg_l: f64,
    /// Highest saturation index that a step may lead to.
    pub(crate) scaling_threshold: f64,
    /// Litres.
    pub(crate) volume_l: f64,
    /// Tub is disinfected with bromine.
    pub(crate) bromine: bool,
    /// The bromide that a bromine tub's water lacks: no quantity shows it, so it is not weighed but given with any plan.
    pub(crate) bank: Option<Move>,
}

/// Effort of using one more product at all, and of each addition.
pub(crate) const EFFORT_PRODUCT: u32 = 3;
/// Effort of one addition with its wait.
pub(crate) const EFFORT_ADDITION: u32 = 1;
/// Effort of airing once and testing.
pub(crate) const EFFORT_AIRING: u32 = 3;

/// A complete decision: start, for each role the move and its units, and where airing stops.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Choice {
    pub(crate) start: usize,
    /// By role: (index of the move, units); units 0 = not used.
    pub(crate) used: Vec<(usize, u32)>,
    pub(crate) stop: Option<f64>,
}

/// What a decision is worth: compared lexicographically, less is better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Key {
    /// Bathing limits broken at the end.
    pub(crate) unsafe_ends: u32,
    /// Levels of band misses.
    pub(crate) band: u32,
    /// Levels of expected misses under the readings' errors.
    pub(crate) expected: u32,
    /// Steps, products, retests.
    pub(crate) effort: u32,
    /// Cost for choosing.
    pub(crate) cost: f64,
}

impl Key {
    /// Worse than anything.
    pub(crate) const WORST: Key = Key {
        unsafe_ends: u32::MAX,
        band: u32::MAX,
        expected: u32::MAX,
        effort: u32::MAX,
        cost: f64::INFINITY,
    };

    pub(crate) fn whole(&self) -> (u32, u32, u32, u32) {
        (self.unsafe_ends, self.band, self.expected, self.effort)
    }

    /// Better by more than the rounding of a cost.
    pub(crate) fn better_than(&self, other: &Key) -> bool {
        self.whole() < other.whole() || (self.whole() == other.whole() && self.cost < other.cost - 1e-9)
    }

    /// Better keys first.
    pub(crate) fn order(&self, other: &Key) -> std::cmp::Ordering {
        self.whole().cmp(&other.whole()).then(self.cost.total_cmp(&other.cost))
    }
}

/// Roles that undo each other, so that a smaller plan does what one with both would: chlorine taken away and added; and,
/// where airing lifts the pH, alkalinity raised and taken by acid (or raised twice).
const UNDO: [(Role, Role, OnlyAired); 2] =
    [(Role::Dechlorinate, Role::Disinfect, false), (Role::Alkalinity, Role::AcidBase, true)];
type OnlyAired = bool;

impl Problem {
    /// The role that a plan with this one leaves out.
    pub(crate) fn undoes(&self, role: Role, aired: bool) -> Option<usize> {
        let other = UNDO
            .iter()
            .filter(|(.., only_aired)| aired || !only_aired)
            .find_map(|&(a, b, _)| if role == a { Some(b) } else { (role == b).then_some(a) })?;
        self.roles.iter().position(|(r, _)| *r == other)
    }

    /// Whether a choice undoes what it does.
    pub(crate) fn undoes_itself(&self, choice: &Choice) -> bool {
        let aired = choice.stop.is_some();
        let undone = |role| self.undoes(role, aired).is_some_and(|other| choice.used[other].1 > 0);
        self.used(choice).any(|(role, ..)| undone(role))
    }

    /// Index of a goal.
    pub(crate) fn goal(&self, q: Q) -> Option<usize> {
        self.goals.iter().position(|g| g.quantity == q)
    }

    /// The moves of a choice that are used: role, move, units.
    pub(crate) fn used<'a>(&'a self, choice: &'a Choice) -> impl Iterator<Item = (Role, &'a Move, u32)> {
        self.roles
            .iter()
            .zip(&choice.used)
            .filter(|(_, (_, units))| *units > 0)
            .map(|((role, moves), (m, units))| (*role, &moves[*m], *units))
    }
}
