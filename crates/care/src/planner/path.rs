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
use std::cell::RefCell;
use water::Speciation;

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

/// Before acid or base, in the first order: everything that it may have to make up for.
const BEFORE_ACID: [Role; 6] =
    [Role::Salt, Role::Bromide, Role::Alkalinity, Role::Calcium, Role::Stabilise, Role::Borate];
/// In the second order, where nothing is aired: acid comes before what could scale. (Airing ends with a reading, so
/// nothing but the disinfectant may come after it: then only the first order serves.)
const BEFORE_EARLY_ACID: [Role; 2] = [Role::Salt, Role::Bromide];
const AFTER_EARLY_ACID: [Role; 4] = [Role::Alkalinity, Role::Calcium, Role::Stabilise, Role::Borate];
/// Whatever was done, these come last.
const LATE: [Role; 2] = [Role::Dechlorinate, Role::Disinfect];

/// Walks through decisions. What many decisions begin with is walked once: the search goes through them so that
/// neighbours share everything before acid, and rounds of acid begin alike whatever their sum.
pub(crate) struct Walks<'a> {
    problem: &'a Problem,
    /// The ground before acid that was walked last, in each of the two orders.
    grounds: RefCell<[Option<Ground<'a>>; 2]>,
}

/// What has been walked before acid, and the rounds of acid from there.
struct Ground<'a> {
    start: usize,
    /// The used moves of the roles in it.
    used: Vec<Option<(usize, u32)>>,
    /// `None`: it cannot be walked safely.
    walk: Option<Walk<'a>>,
    /// By move of the last role: walks after each whole round, as far as they were asked for.
    rounds: Vec<Rounds<'a>>,
}

#[derive(Clone)]
struct Rounds<'a> {
    /// Units in all, and the walk after that round and its airing; the first is the ground itself.
    after: Vec<(u32, Walk<'a>)>,
    /// The most units that rounds can take, once it is known.
    most_units: Option<u32>,
}

impl<'a> Walks<'a> {
    pub(crate) fn of(problem: &'a Problem) -> Self {
        Walks { problem, grounds: RefCell::new([None, None]) }
    }

    /// Does something on the ground of a choice, walking it first if it was another's.
    fn on_ground<R>(&self, order: usize, choice: &Choice, then: impl FnOnce(&mut Ground<'a>) -> R) -> R {
        let roles: &[Role] = if order == 0 { &BEFORE_ACID } else { &BEFORE_EARLY_ACID };
        let problem = self.problem;
        let used_of = |role: &Role| {
            let at = problem.roles.iter().position(|(r, _)| r == role)?;
            Some(choice.used[at]).filter(|(_, units)| *units > 0)
        };
        let used: Vec<_> = roles.iter().map(used_of).collect();
        let mut grounds = self.grounds.borrow_mut();
        let place = &mut grounds[order];
        let same = place.as_ref().is_some_and(|g| g.start == choice.start && g.used == used);
        if !same {
            let walk = Walk::new(problem, choice.start).and_then(|mut walk| {
                for role in roles {
                    walk.role(*role, choice)?;
                }
                Some(walk)
            });
            let moves = problem.roles.last().map_or(0, |(_, moves)| moves.len());
            let rounds = match &walk {
                Some(w) => vec![Rounds { after: vec![(0, w.clone())], most_units: None }; moves],
                None => Vec::new(),
            };
            *place = Some(Ground { start: choice.start, used, walk, rounds });
        }
        match place {
            Some(ground) => then(ground),
            None => unreachable!("just put there"),
        }
    }

    fn aired(&self, choice: &Choice, stop: f64) -> Option<Walk<'a>> {
        let acid = self.problem.used(choice).find(|(r, ..)| *r == Role::AcidBase);
        self.on_ground(0, choice, |ground| {
            let walk = ground.walk.as_ref()?;
            match acid {
                Some((_, m, units)) if m.per_unit.alkalinity < 0.0 => {
                    let which = choice.used.last().map_or(0, |(m, _)| *m);
                    ground.rounds[which].through(m, units, stop)
                }
                _ => {
                    let mut walk = walk.clone();
                    walk.role(Role::AcidBase, choice)?;
                    walk.air(stop, true)?;
                    Some(walk)
                }
            }
        })
    }

    fn still(&self, order: usize, choice: &Choice) -> Option<Walk<'a>> {
        let mut walk = self.on_ground(order, choice, |ground| ground.walk.clone())?;
        walk.role(Role::AcidBase, choice)?;
        if order == 1 {
            for role in AFTER_EARLY_ACID {
                walk.role(role, choice)?;
            }
        }
        Some(walk)
    }
}

impl Paths for Walks<'_> {
    type Path = Vec<Deed>;

    fn path(&self, choice: &Choice) -> Option<(Vec<Deed>, u32)> {
        let late = |mut walk: Walk<'_>| {
            for role in LATE {
                walk.role(role, choice)?;
            }
            Some((walk.deeds, walk.effort))
        };
        match choice.stop {
            Some(stop) => self.aired(choice, stop).and_then(late),
            None => {
                self.still(0, choice).and_then(late).or_else(|| self.still(1, choice).and_then(late))
            }
        }
    }

    fn begins(&self, choice: &Choice, stop: Option<f64>) -> bool {
        let walks = |order| self.on_ground(order, choice, |ground| ground.walk.is_some());
        walks(0) || (stop.is_none() && walks(1))
    }

    fn most_units(&self, choice: &Choice, which: usize, stop: Option<f64>) -> u32 {
        let known = |ground: &mut Ground<'_>| ground.rounds.get(which).and_then(|r| r.most_units);
        stop.and_then(|_| self.on_ground(0, choice, known)).unwrap_or(u32::MAX)
    }
}

impl<'a> Rounds<'a> {
    /// So many units of acid in rounds, airing after each, the last one to the plan's pH.
    fn through(&mut self, m: &Move, units: u32, stop: f64) -> Option<Walk<'a>> {
        loop {
            if self.most_units.is_some_and(|most| units > most) {
                return None;
            }
            let rounds = self.after.len();
            let within = self.after.iter().rposition(|(done, _)| *done < units)?;
            let (done, walk) = &self.after[within];
            let most = if within + 1 < rounds { u32::MAX } else { walk.most_in_a_round(m) };
            if units - done <= most {
                let mut walk = walk.clone();
                walk.round(m, units - done, within)?;
                walk.air(stop, true)?;
                walk.effort += EFFORT_PRODUCT;
                walk.number_the_rounds();
                return Some(walk);
            }
            let done = *done;
            let mut next = walk.clone();
            let walked = most > 0
                && rounds < MOST_ROUNDS
                && next.round(m, most, within).is_some()
                && next.air(AIR_BETWEEN_ROUNDS_PH, false).is_some();
            if walked {
                self.after.push((done + most, next));
            } else {
                self.most_units = Some(done + most);
            }
        }
    }
}

#[derive(Clone)]
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
    fn new(problem: &'a Problem, start: usize) -> Option<Self> {
        let start = &problem.starts[start];
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

    /// Everything that a choice adds in a role.
    fn role(&mut self, role: Role, choice: &Choice) -> Option<()> {
        let problem = self.problem;
        match problem.used(choice).find(|(r, ..)| *r == role) {
            Some((_, m, units)) => self.portions(role, m, units),
            None => Some(()),
        }
    }

    /// All of a product, in as many portions as the largest single addition asks for.
    fn portions(&mut self, role: Role, m: &Move, units: u32) -> Option<()> {
        let units_at_once = self.units_at_once(role, m);
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

    fn units_at_once(&self, role: Role, m: &Move) -> u32 {
        let alkalinity = linear(Q::TotalAlkalinity, &self.now.totals).unwrap_or(0.0);
        let largest_g = largest_per_1000_l(role, m, alkalinity) * self.problem.volume_l / 1000.0;
        ((largest_g / m.unit_g) as u32).max(1)
    }

    /// One addition, if it is safe.
    fn add(&mut self, role: Role, m: &Move, units: u32, (portion, portions): (usize, usize)) -> Option<()> {
        let n = f64::from(units);
        let after = self.after(m, units)?;
        if !self.safe(&after, m, role) {
            return None;
        }
        self.now = after;
        self.dosed.0 += m.per_unit.alkalinity * n;
        self.dosed.1 += m.per_unit.carbon * n;
        self.note(What::Add { role, product: m.product, mass_g: m.unit_g * n, portion, portions });
        Some(())
    }

    fn after(&self, m: &Move, units: u32) -> Option<Speciation> {
        let totals = self.now.totals.plus(&m.per_unit, f64::from(units));
        self.problem.at.solve_from(&totals, Some(&self.now)).ok()
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

    /// How many units one round takes: as much as labels allow and as keeps pH above the floor with its margin.
    fn most_in_a_round(&self, m: &Move) -> u32 {
        let keeps_the_floor =
            |n: u32| self.after(m, n).is_some_and(|s| s.ph().0 >= PH_FLOOR + ACID_MARGIN);
        let allowed = self.units_at_once(Role::AcidBase, m);
        if keeps_the_floor(allowed) {
            return allowed;
        }
        // pH falls with every unit: find the most that keeps the floor.
        let (mut good, mut bad) = (0, allowed);
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if keeps_the_floor(middle) { good = middle } else { bad = middle }
        }
        good
    }

    fn round(&mut self, m: &Move, units: u32, rounds_before: usize) -> Option<()> {
        self.effort += EFFORT_ADDITION;
        self.add(Role::AcidBase, m, units, (rounds_before + 1, 0))
    }

    /// Tells every round how many there are.
    fn number_the_rounds(&mut self) {
        let rounds = self.deeds.iter().filter(|d| is_acid(d)).count();
        for deed in self.deeds.iter_mut().filter(|d| is_acid(d)) {
            if let What::Add { portions, .. } = &mut deed.what {
                *portions = rounds;
            }
        }
    }

    fn air(&mut self, until_ph: f64, last: bool) -> Option<()> {
        let aired = self.problem.aired(&self.now.totals, until_ph, Some(&self.now))?;
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
        self.deeds.iter().rev().find(|d| !is_acid(d)).map_or(&self.begin, |d| &d.water)
    }
}

fn is_acid(deed: &Deed) -> bool {
    matches!(deed.what, What::Add { role: Role::AcidBase, .. })
}
