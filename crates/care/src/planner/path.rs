//! A safe way to carry a decision out: the order of the steps, big doses split, the water followed through each.
//!
//! Rules, by label practice and by the water's own response: no step of ours takes pH below 6.8 or above 8.2, nor the
//! saturation index above its threshold, nor free chlorine above the bathing limit without a wait; acid leaves a margin
//! of 0.1 for its own error; single additions stay below the largest that labels allow (common practice). Lowering
//! alkalinity goes in rounds of acid and airing.

use super::evaluate::OUTDOOR_CO2_ATM;
use super::problem::{Choice, EFFORT_ADDITION, EFFORT_AIRING, EFFORT_PRODUCT, Move, Problem, Role};
use super::search::Paths;
use crate::chem::linear;
use crate::quantity::Quantity as Q;
use water::{Speciation, Totals};

/// Our doing never takes pH below or above these.
pub(crate) const PH_FLOOR: f64 = 6.8;
pub(crate) const PH_CEILING: f64 = 8.2;
/// Margin that acid keeps above the floor, for its own error.
const ACID_MARGIN: f64 = 0.1;
/// What salt alone may take from the pH of a water that is low already.
const SALT_EFFECT: f64 = 0.12;
/// Between rounds of acid, airing goes on to this pH.
const AIR_BETWEEN_ROUNDS_PH: f64 = 7.8;
/// More rounds than this are not a plan for one visit.
const MOST_ROUNDS: usize = 8;
/// A water that is near its threshold already may move by this much and no more.
const INDEX_SLACK: f64 = 0.02;

/// One thing to do, and the water after it.
#[derive(Debug, Clone)]
pub(crate) struct Deed {
    pub(crate) what: What,
    pub(crate) water: Speciation,
    /// Alkalinity and carbon brought by doses so far, per kilogram.
    pub(crate) dosed: (f64, f64),
    /// Whether airing has set the pH by a reading.
    pub(crate) aired: bool,
}

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum What {
    /// Replace this share with source water.
    Replace(f64),
    /// Add so many units' grams of a product, in a role; the how-manieth of how many portions.
    Add { role: Role, product: usize, mass_g: f64, portion: usize, portions: usize },
    /// Leave open with air on until this pH.
    Air { until_ph: f64, last: bool },
}

/// Largest single addition, grams of product per 1000 L (common practice), and for acid per mg/L of alkalinity.
fn largest_per_1000_l(role: Role, m: &Move, alkalinity_mg_l: f64) -> f64 {
    let per_g_mol = m.per_unit.alkalinity.abs() / m.unit_g;
    match role {
        // 30-40 g of dry acid at a total alkalinity of 80, in proportion: 0.5 g for each mg/L at 7.7 mmol of acid a gram.
        Role::AcidBase if m.per_unit.alkalinity < 0.0 => {
            0.5 * alkalinity_mg_l.max(20.0) * 7.7e-6 / per_g_mol.max(1e-9)
        }
        Role::AcidBase => 10.0 * 18.7e-6 / per_g_mol.max(1e-9), // 10 g of soda ash
        Role::Alkalinity => 170.0,
        Role::Calcium => 200.0,
        Role::Salt => 850.0, // 2.5 kg in three pours
        Role::Stabilise | Role::Borate => 200.0,
        Role::Bromide | Role::Dechlorinate => 50.0,
        Role::Disinfect => {
            // +5 mg/L of free chlorine at a time.
            let mg_l_per_unit = linear(Q::FreeChlorine, &m.per_unit).unwrap_or(0.0);
            if mg_l_per_unit > 0.0 { 5.0 / mg_l_per_unit * m.unit_g } else { f64::INFINITY }
        }
    }
}

/// Orders that may be tried: everything before acid or base, or acid before what could scale. Airing ends with a
/// reading, so nothing but the disinfectant may come after it: then only the first order serves.
const ORDERS: [[Role; 8]; 2] = [
    [
        Role::Salt,
        Role::Bromide,
        Role::Alkalinity,
        Role::Calcium,
        Role::Stabilise,
        Role::Borate,
        Role::AcidBase,
        Role::Dechlorinate,
    ],
    [
        Role::Salt,
        Role::Bromide,
        Role::AcidBase,
        Role::Alkalinity,
        Role::Calcium,
        Role::Stabilise,
        Role::Borate,
        Role::Dechlorinate,
    ],
];

impl Paths for Problem {
    type Path = Vec<Deed>;

    fn path(&self, choice: &Choice) -> Option<(Vec<Deed>, u32)> {
        let orders = if choice.stop.is_some() { &ORDERS[..1] } else { &ORDERS[..] };
        orders.iter().find_map(|order| Walk::new(self, choice)?.through(order, choice))
    }
}

struct Walk<'a> {
    problem: &'a Problem,
    begin: Speciation,
    now: Speciation,
    deeds: Vec<Deed>,
    dosed: (f64, f64),
    aired: bool,
    effort: u32,
}

impl<'a> Walk<'a> {
    fn new(problem: &'a Problem, choice: &Choice) -> Option<Self> {
        let start = &problem.starts[choice.start];
        let now = problem.at.solve(&start.totals).ok()?;
        let mut walk = Walk {
            problem,
            begin: now,
            now,
            deeds: Vec::new(),
            dosed: (0.0, 0.0),
            aired: false,
            effort: start.effort,
        };
        if start.share > 0.0 {
            walk.note(What::Replace(start.share));
        }
        Some(walk)
    }

    fn note(&mut self, what: What) {
        self.deeds.push(Deed { what, water: self.now, dosed: self.dosed, aired: self.aired });
    }

    fn through(mut self, order: &[Role], choice: &Choice) -> Option<(Vec<Deed>, u32)> {
        let used: Vec<_> = self.problem.used(choice).collect();
        for role in order.iter().chain([&Role::Disinfect]) {
            let of_role = used.iter().find(|(r, ..)| r == role);
            if *role == Role::AcidBase {
                match (of_role, choice.stop) {
                    (acid, Some(stop)) => self.rounds(acid.map(|(_, m, units)| (*m, *units)), stop)?,
                    (Some((_, m, units)), None) => self.portions(*role, m, *units)?,
                    (None, None) => {}
                }
            } else if let Some((_, m, units)) = of_role {
                self.portions(*role, m, *units)?;
            }
        }
        Some((self.deeds, self.effort))
    }

    /// All of a product, in as many portions as the largest single addition asks for.
    fn portions(&mut self, role: Role, m: &Move, units: u32) -> Option<()> {
        let alkalinity = self.alkalinity_mg_l();
        let largest_g = largest_per_1000_l(role, m, alkalinity) * self.problem.volume_l / 1000.0;
        let units_at_once = ((largest_g / m.unit_g) as u32).max(1);
        let portions = units.div_ceil(units_at_once);
        self.effort += EFFORT_PRODUCT + EFFORT_ADDITION * portions;
        let mut left = units;
        for portion in 0..portions {
            let now = left.div_ceil(portions - portion);
            left -= now;
            let place = (portion as usize + 1, portions as usize);
            self.add(role, m, now, place)?;
        }
        Some(())
    }

    fn alkalinity_mg_l(&self) -> f64 {
        linear(Q::TotalAlkalinity, &self.now.totals).unwrap_or(0.0)
    }

    /// One addition, if it is safe.
    fn add(&mut self, role: Role, m: &Move, units: u32, (portion, portions): (usize, usize)) -> Option<()> {
        let n = f64::from(units);
        let after =
            self.problem.at.solve_from(&self.now.totals.plus(&m.per_unit, n), Some(&self.now)).ok()?;
        if !self.safe(&after, m, role) {
            return None;
        }
        self.now = after;
        self.dosed.0 += m.per_unit.alkalinity * n;
        self.dosed.1 += m.per_unit.carbon * n;
        self.note(What::Add { role, product: m.product, mass_g: m.unit_g * n, portion, portions });
        Some(())
    }

    fn safe(&self, after: &Speciation, m: &Move, role: Role) -> bool {
        let (before, ph) = (self.now.ph().0, after.ph().0);
        let floor = match role {
            Role::AcidBase if m.per_unit.alkalinity < 0.0 => PH_FLOOR + ACID_MARGIN,
            // Salts lower the pH by their ionic strength alone, a few hundredths: no acid, so no harm.
            Role::Salt | Role::Calcium | Role::Bromide => PH_FLOOR.min(before) - SALT_EFFECT,
            _ => PH_FLOOR,
        };
        let low = ph < floor && ph < before - 1e-3;
        let high = ph > PH_CEILING && ph > before + 1e-3;
        let index = self.problem.index_of(after);
        let scale =
            index > self.problem.scaling_threshold && index > self.problem.index_of(&self.now) + INDEX_SLACK;
        !(low || high || scale)
    }

    /// Acid in rounds, airing after each, the last one to the plan's pH; or airing alone.
    fn rounds(&mut self, acid: Option<(&Move, u32)>, stop: f64) -> Option<()> {
        let Some((m, units)) = acid.filter(|(m, _)| m.per_unit.alkalinity < 0.0) else {
            if let Some((m, units)) = acid {
                self.portions(Role::AcidBase, m, units)?;
            }
            return self.air(stop, true);
        };
        self.effort += EFFORT_PRODUCT;
        let mut left = units;
        let plan = self.round_sizes(m, units, stop)?;
        for (round, size) in plan.iter().enumerate() {
            self.effort += EFFORT_ADDITION;
            self.add(Role::AcidBase, m, *size, (round + 1, plan.len()))?;
            left -= size;
            let last = left == 0;
            self.air(if last { stop } else { AIR_BETWEEN_ROUNDS_PH }, last)?;
        }
        Some(())
    }

    /// How many units each round takes: as much as keeps pH above the floor with its margin.
    fn round_sizes(&self, m: &Move, units: u32, stop: f64) -> Option<Vec<u32>> {
        let mut sizes = Vec::new();
        let mut totals = self.now.totals;
        let mut left = units;
        while left > 0 {
            if sizes.len() == MOST_ROUNDS {
                return None;
            }
            let alkalinity = linear(Q::TotalAlkalinity, &totals).unwrap_or(0.0);
            let largest_g =
                largest_per_1000_l(Role::AcidBase, m, alkalinity) * self.problem.volume_l / 1000.0;
            let allowed = ((largest_g / m.unit_g) as u32).max(1).min(left);
            // pH falls with every unit: find the most that keeps the floor.
            let ok = |n: u32| {
                self.problem
                    .at
                    .solve(&totals.plus(&m.per_unit, f64::from(n)))
                    .is_ok_and(|s| s.ph().0 >= PH_FLOOR + ACID_MARGIN)
            };
            let (mut good, mut bad) = (0, allowed + 1);
            while bad - good > 1 {
                let middle = good + (bad - good) / 2;
                if ok(middle) { good = middle } else { bad = middle }
            }
            if good == 0 {
                return None;
            }
            sizes.push(good);
            left -= good;
            totals = totals.plus(&m.per_unit, f64::from(good));
            let to = if left == 0 { stop } else { AIR_BETWEEN_ROUNDS_PH };
            totals = self.problem.aired(&totals, to, None)?;
        }
        Some(sizes)
    }

    fn air(&mut self, until_ph: f64, last: bool) -> Option<()> {
        let aired: Totals = self.problem.aired(&self.now.totals, until_ph, Some(&self.now))?;
        let after = self.problem.at.solve_from(&aired, Some(&self.now)).ok()?;
        debug_assert!(self.problem.at.co2_partial_pressure_atm(&after) >= 0.999 * OUTDOOR_CO2_ATM);
        let index = self.problem.index_of(&after);
        if index > self.problem.scaling_threshold
            && index > self.problem.index_of(self.before_acid()) + INDEX_SLACK
        {
            return None;
        }
        self.now = after;
        self.aired = true;
        self.effort += EFFORT_AIRING;
        self.note(What::Air { until_ph, last });
        Some(())
    }

    /// The water before the last acid: airing may go back to its saturation, not beyond.
    fn before_acid(&self) -> &Speciation {
        let other = |d: &&Deed| !matches!(d.what, What::Add { role: Role::AcidBase, .. });
        self.deeds.iter().rev().find(other).map_or(&self.begin, |d| &d.water)
    }
}
