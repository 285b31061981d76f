//! A safe way to carry a decision out: the order of the steps, big doses split, the water followed through each.
//!
//! Rules, by label practice and by the water's own response: no step of ours takes pH below 6.8 or above 8.2, nor the
//! saturation index above its threshold, nor free chlorine above the bathing limit without a wait; acid leaves a margin
//! of 0.1 for its own error; single additions stay below the largest that labels allow (common practice). Lowering
//! alkalinity goes in rounds of acid and airing.

use super::problem::{Choice, EFFORT_ADDITION, EFFORT_AIRING, EFFORT_PRODUCT, Move, Problem, Role};
use crate::chem::linear;
use crate::quantity::Quantity as Q;
use foldhash::fast::FixedState;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use water::{Ph, Speciation};

/// Our doing never takes pH below or above these.
pub(crate) const PH_FLOOR: f64 = 6.8;
pub(crate) const PH_CEILING: f64 = 8.2;
/// Margin that acid keeps above the floor, for its own error.
const ACID_MARGIN: f64 = 0.1;
pub(crate) const ACID_FLOOR: f64 = PH_FLOOR + ACID_MARGIN;
/// What salt alone may move the pH of a water that is low or high already.
const SALT_EFFECT: f64 = 0.12;
/// Between rounds of acid, airing goes on to the first of these that does not let the water scale.
const AIR_BETWEEN_ROUNDS_PH: [f64; 4] = [7.8, 7.6, 7.4, 7.2];
/// More rounds than this are not a plan for one visit.
const MOST_ROUNDS: usize = 8;
/// A water that is near its threshold already may move by this much and no more.
const INDEX_SLACK: f64 = 0.02;

/// By so much at most a foreseen index after airing is too high.
const INDEX_FORESIGHT: f64 = 0.15;

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

/// Largest single addition, grams of product for a tub (common practice), and for acid per mg/L of alkalinity.
fn largest_g(problem: &Problem, role: Role, m: &Move, alkalinity_mg_l: f64) -> f64 {
    let thousands_of_litres = problem.volume_l / 1000.0;
    // Equivalents of acid or base in a gram of product.
    let eq_per_g = m.per_unit.alkalinity.abs() * problem.volume_l / m.unit_g;
    let per_1000_l = match role {
        // 30-40 g of dry acid at a total alkalinity of 80, in proportion: 0.5 g for each mg/L at 7.7 mmol of acid a gram.
        Role::AcidBase if m.per_unit.alkalinity < 0.0 => {
            0.5 * alkalinity_mg_l.max(20.0) * 7.7e-3 / eq_per_g.max(1e-6)
        }
        Role::AcidBase => 10.0 * 18.7e-3 / eq_per_g.max(1e-6), // 10 g of soda ash
        Role::Alkalinity => 170.0,
        Role::Calcium => 200.0,
        Role::Salt => 850.0, // 2.5 kg in three pours
        Role::Stabilise | Role::Borate => 200.0,
        Role::Bromide | Role::Dechlorinate => 50.0,
        Role::Disinfect => {
            // +5 mg/L of free chlorine at a time, whatever the tub.
            let mg_l_per_g = linear(Q::FreeChlorine, &m.per_unit).unwrap_or(0.0) / m.unit_g;
            return if mg_l_per_g > 0.0 { 5.0 / mg_l_per_g } else { f64::INFINITY };
        }
    };
    per_1000_l * thousands_of_litres
}

/// Units of the largest single addition, at least one. Only acid's depends on the alkalinity.
pub(crate) fn units_at_once(problem: &Problem, role: Role, m: &Move, alkalinity_mg_l: f64) -> u32 {
    ((largest_g(problem, role, m, alkalinity_mg_l) / m.unit_g + 1e-9) as u32).max(1)
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

/// Walks through decisions. What many decisions begin with is walked once: everything before acid, and rounds of acid,
/// which begin alike whatever their sum.
pub(crate) struct Walks<'a> {
    problem: &'a Problem,
    /// What has been walked before acid, in each of the two orders.
    grounds: [RefCell<HashMap<Before, Ground<'a>, FixedState>>; 2],
}

/// A start and what is used of each role before acid.
type Before = (usize, [(usize, u32); BEFORE_ACID.len()]);

/// Why a walk cannot go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stuck {
    /// pH would fall below its floor.
    Low,
    /// The water would scale.
    Scale,
    /// Anything else.
    Other,
}

struct Ground<'a> {
    walk: Result<Walk<'a>, Stuck>,
    /// By move of the last role, as far as they were asked for.
    rounds: Vec<Rounds<'a>>,
}

#[derive(Clone)]
struct Rounds<'a> {
    /// Units in all, and the walk after that round and its airing; the first is the ground itself.
    after: Vec<(u32, Walk<'a>)>,
    /// The most units that rounds can take, once it is known.
    most_units: Option<u32>,
    /// Whether it is scale that ends them.
    scales: bool,
}

impl<'a> Walks<'a> {
    pub(crate) fn of(problem: &'a Problem) -> Self {
        Walks { problem, grounds: [RefCell::default(), RefCell::default()] }
    }

    /// Does something on the ground of a choice, walking it first if nobody has.
    fn on_ground<R>(&self, order: usize, choice: &Choice, then: impl FnOnce(&mut Ground<'a>) -> R) -> R {
        let roles: &[Role] = if order == 0 { &BEFORE_ACID } else { &BEFORE_EARLY_ACID };
        let problem = self.problem;
        let mut used = [(0, 0); BEFORE_ACID.len()];
        for (place, role) in used.iter_mut().zip(roles) {
            if let Some(at) = problem.roles.iter().position(|(r, _)| r == role) {
                *place = choice.used[at];
            }
        }
        let mut grounds = self.grounds[order].borrow_mut();
        then(grounds.entry((choice.start, used)).or_insert_with(|| {
            let walk = Walk::new(problem, choice.start).and_then(|mut walk| {
                for role in roles {
                    walk.role(*role, choice)?;
                }
                Ok(walk)
            });
            let moves = problem.roles.last().map_or(0, |(_, moves)| moves.len());
            let rounds = match &walk {
                Ok(w) => {
                    vec![Rounds { after: vec![(0, w.clone())], most_units: None, scales: false }; moves]
                }
                Err(_) => Vec::new(),
            };
            Ground { walk, rounds }
        }))
    }

    fn aired(&self, choice: &Choice, stop: f64) -> Result<Walk<'a>, Stuck> {
        let acid = self.problem.used(choice).find(|(r, ..)| *r == Role::AcidBase);
        self.on_ground(0, choice, |ground| {
            let mut walk = ground.walk.clone()?;
            match acid {
                Some((_, m, units)) if m.per_unit.alkalinity < 0.0 => {
                    let which = choice.used.last().map_or(0, |(m, _)| *m);
                    ground.rounds[which].through(m, units, stop)
                }
                _ => {
                    walk.role(Role::AcidBase, choice)?;
                    walk.air(stop, true)?;
                    Ok(walk)
                }
            }
        })
    }

    fn still(&self, order: usize, choice: &Choice) -> Result<Walk<'a>, Stuck> {
        let mut walk = self.on_ground(order, choice, |ground| ground.walk.clone())?;
        walk.role(Role::AcidBase, choice)?;
        if order == 1 {
            for role in AFTER_EARLY_ACID {
                walk.role(role, choice)?;
            }
        }
        Ok(walk)
    }

    /// The steps of a decision with their effort, or `None` if no order of them is safe.
    pub(crate) fn path(&self, choice: &Choice) -> Option<(Vec<Deed>, u32)> {
        let late = |mut walk: Walk<'_>| {
            for role in LATE {
                walk.role(role, choice)?;
            }
            Ok((walk.deeds(), walk.effort))
        };
        match choice.stop {
            Some(stop) => self.aired(choice, stop).and_then(late).ok(),
            None => {
                let first = self.still(0, choice).and_then(late);
                first.or_else(|_| self.still(1, choice).and_then(late)).ok()
            }
        }
    }

    /// Why what a choice does before acid, in the first order, cannot be walked, if it cannot.
    pub(crate) fn stuck(&self, choice: &Choice) -> Option<Stuck> {
        self.on_ground(0, choice, |ground| ground.walk.as_ref().err().copied())
    }

    /// Whether it is scale that keeps rounds after what a choice does before from so many units.
    pub(crate) fn scale_ends_rounds(&self, choice: &Choice, which: usize, units: u32) -> bool {
        self.in_rounds(choice, which, |rounds, m| !rounds.reach(m, units) && rounds.scales).unwrap_or(false)
    }

    /// How many rounds so many units of acid need after what a choice does before; `None`: more than there may be.
    pub(crate) fn rounds_needed(&self, choice: &Choice, which: usize, units: u32) -> Option<u32> {
        let needed = |rounds: &mut Rounds<'_>, m: &Move| {
            let whole = |r: &Rounds<'_>| r.after.iter().filter(|(done, _)| *done < units).count() as u32;
            rounds.reach(m, units).then(|| whole(rounds))
        };
        self.in_rounds(choice, which, needed).unwrap_or(Some(1))
    }

    /// Does something with the rounds of an acid; `None` if what comes before cannot be walked.
    fn in_rounds<R>(
        &self,
        choice: &Choice,
        which: usize,
        then: impl FnOnce(&mut Rounds<'a>, &Move) -> R,
    ) -> Option<R> {
        let m = self.problem.roles.last()?.1.get(which)?;
        self.on_ground(0, choice, |ground| ground.rounds.get_mut(which).map(|rounds| then(rounds, m)))
    }
}

impl<'a> Rounds<'a> {
    /// Walks rounds until so many units are within one more; whether that can be.
    fn reach(&mut self, m: &Move, units: u32) -> bool {
        loop {
            let Some((done, walk)) = self.after.last() else { return false };
            if self.most_units.is_some_and(|most| units > most) {
                return false;
            }
            if self.most_units.is_some() || units <= *done {
                return true;
            }
            let most = walk.most_in_a_round(m);
            let done = *done + most;
            let rounds = self.after.len();
            let mut next = walk.clone();
            let walked = if most == 0 || rounds == MOST_ROUNDS {
                Err(Stuck::Other)
            } else {
                next.round(m, most, rounds - 1).and_then(|()| next.air_between_rounds())
            };
            match walked {
                Ok(()) => self.after.push((done, next)),
                Err(why) => {
                    self.most_units = Some(done);
                    self.scales = why == Stuck::Scale;
                }
            }
        }
    }

    /// So many units of acid in rounds, airing after each, the last one to the plan's pH.
    fn through(&mut self, m: &Move, units: u32, stop: f64) -> Result<Walk<'a>, Stuck> {
        if !self.reach(m, units) {
            return Err(Stuck::Other);
        }
        let before = self.after.iter().rposition(|(done, _)| *done < units).ok_or(Stuck::Other)?;
        let (done, walk) = &self.after[before];
        let mut walk = walk.clone();
        walk.round(m, units - done, before)?;
        walk.air(stop, true)?;
        walk.effort += EFFORT_PRODUCT;
        Ok(walk)
    }
}

/// A deed and those before it.
struct Trail {
    deed: Deed,
    before: Option<Rc<Trail>>,
}

#[derive(Clone)]
struct Walk<'a> {
    problem: &'a Problem,
    /// The saturation index before the last acid: airing may go back to it, not beyond.
    index_before_acid: f64,
    now: Speciation,
    trail: Option<Rc<Trail>>,
    dosed: (f64, f64),
    aired: bool,
    effort: u32,
}

impl<'a> Walk<'a> {
    fn new(problem: &'a Problem, start: usize) -> Result<Self, Stuck> {
        let start = &problem.starts[start];
        let now = problem.at.solve(&start.totals).map_err(|_| Stuck::Other)?;
        let mut walk = Walk {
            problem,
            index_before_acid: problem.index_of(&now),
            now,
            trail: None,
            dosed: (0.0, 0.0),
            aired: false,
            effort: start.effort,
        };
        let bank = problem.bank.as_ref();
        if start.share > 0.0 {
            // The start's water holds the bromide bank already, which is the next step.
            let replaced = bank.map_or(start.totals, |b| start.totals.plus(&b.per_unit, -1.0));
            walk.now = problem.at.solve(&replaced).map_err(|_| Stuck::Other)?;
            walk.note(What::Replace(start.share));
            walk.now = now;
        }
        if let Some(bank) = bank {
            let (product, mass_g) = (bank.product, bank.unit_g);
            walk.note(What::Add { role: Role::Bromide, product, mass_g, portion: 1, portions: 1 });
        }
        Ok(walk)
    }

    fn note(&mut self, what: What) {
        if !matches!(what, What::Add { role: Role::AcidBase, .. }) {
            self.index_before_acid = self.problem.index_of(&self.now);
        }
        let deed = Deed { what, water: self.now, dosed: self.dosed, aired: self.aired };
        self.trail = Some(Rc::new(Trail { deed, before: self.trail.take() }));
    }

    /// Every deed in its order; rounds learn how many they are.
    fn deeds(&self) -> Vec<Deed> {
        let mut deeds = Vec::new();
        let mut at = &self.trail;
        while let Some(trail) = at {
            deeds.push(trail.deed.clone());
            at = &trail.before;
        }
        deeds.reverse();
        let rounds = deeds.iter().filter(|d| is_round(d)).count();
        for deed in &mut deeds {
            if let What::Add { portions: portions @ 0, .. } = &mut deed.what {
                *portions = rounds;
            }
        }
        deeds
    }

    /// Everything that a choice adds in a role.
    fn role(&mut self, role: Role, choice: &Choice) -> Result<(), Stuck> {
        let problem = self.problem;
        match problem.used(choice).find(|(r, ..)| *r == role) {
            Some((_, m, units)) => self.portions(role, m, units),
            None => Ok(()),
        }
    }

    /// All of a product, in as many portions as the largest single addition asks for.
    fn portions(&mut self, role: Role, m: &Move, units: u32) -> Result<(), Stuck> {
        let units_at_once = self.units_at_once(role, m);
        let portions = units.div_ceil(units_at_once);
        // Chlorine is taken away by halves, with a test between them: the yield varies.
        let by_halves = role == Role::Dechlorinate;
        let portions = if by_halves { portions.max(2).min(units) } else { portions };
        self.effort += EFFORT_PRODUCT + EFFORT_ADDITION * portions;
        let mut left = units;
        for portion in 0..portions {
            let of_the_rest = portions - portion;
            let now = if by_halves { left / of_the_rest } else { left.div_ceil(of_the_rest) };
            left -= now;
            let place = (portion as usize + 1, portions as usize);
            self.add(role, m, now, place)?;
        }
        Ok(())
    }

    fn units_at_once(&self, role: Role, m: &Move) -> u32 {
        let alkalinity = linear(Q::TotalAlkalinity, &self.now.totals).unwrap_or(0.0);
        units_at_once(self.problem, role, m, alkalinity)
    }

    /// One addition, if it is safe.
    fn add(
        &mut self,
        role: Role,
        m: &Move,
        units: u32,
        (portion, portions): (usize, usize),
    ) -> Result<(), Stuck> {
        let n = f64::from(units);
        let after = self.after(m, units).ok_or(Stuck::Other)?;
        self.safe(&after, m, role)?;
        self.now = after;
        self.dosed.0 += m.per_unit.alkalinity * n;
        self.dosed.1 += m.per_unit.carbon * n;
        self.note(What::Add { role, product: m.product, mass_g: m.unit_g * n, portion, portions });
        Ok(())
    }

    fn after(&self, m: &Move, units: u32) -> Option<Speciation> {
        let totals = self.now.totals.plus(&m.per_unit, f64::from(units));
        self.problem.at.solve_from(&totals, Some(&self.now)).ok()
    }

    fn safe(&self, after: &Speciation, m: &Move, role: Role) -> Result<(), Stuck> {
        let (before, ph) = (self.now.ph().0, after.ph().0);
        let acid = role == Role::AcidBase && m.per_unit.alkalinity < 0.0;
        let (floor, ceiling) = match role {
            _ if acid => (ACID_FLOOR, PH_CEILING),
            // Salts move the pH by their ionic strength alone, a few hundredths: neither acid nor base, so no harm.
            Role::Salt | Role::Calcium | Role::Bromide => {
                (PH_FLOOR.min(before) - SALT_EFFECT, PH_CEILING.max(before) + SALT_EFFECT)
            }
            _ => (PH_FLOOR, PH_CEILING),
        };
        let index = self.problem.index_of(after);
        let scales =
            index > self.problem.scaling_threshold && index > self.problem.index_of(&self.now) + INDEX_SLACK;
        if scales {
            Err(Stuck::Scale)
        } else if ph < floor && (acid || ph < before - 1e-3) {
            Err(Stuck::Low)
        } else if ph > ceiling && ph > before + 1e-3 {
            Err(Stuck::Other)
        } else {
            Ok(())
        }
    }

    /// How many units one round takes: as much as labels allow and as keeps pH above the floor with its margin.
    fn most_in_a_round(&self, m: &Move) -> u32 {
        let keeps_the_floor = |n: u32| self.after(m, n).is_some_and(|s| s.ph().0 >= ACID_FLOOR);
        let allowed = self.units_at_once(Role::AcidBase, m);
        if keeps_the_floor(allowed) {
            return allowed;
        }
        // pH falls with every unit: find the most that keeps the floor, from where its alkalinity lies.
        let (mut good, mut bad) = (0, allowed);
        let mut n = self.units_to_floor(m).clamp(1, allowed.max(2) - 1);
        while bad - good > 1 {
            if keeps_the_floor(n) {
                good = n
            } else {
                bad = n
            }
            n = if n == good { n + 1 } else { n - 1 };
            if n <= good || n >= bad {
                n = good + (bad - good) / 2;
            }
        }
        good
    }

    /// Units of acid that bring the pH about to its floor.
    fn units_to_floor(&self, m: &Move) -> u32 {
        let at_floor = self.problem.at.with_alkalinity_of(&self.now.totals, Ph(ACID_FLOOR));
        let room = at_floor.map_or(0.0, |s| self.now.totals.alkalinity - s.totals.alkalinity);
        (room / m.per_unit.alkalinity.abs()).max(0.0) as u32
    }

    /// One round's acid; how many rounds there are is told at the end (`deeds`).
    fn round(&mut self, m: &Move, units: u32, rounds_before: usize) -> Result<(), Stuck> {
        self.effort += EFFORT_ADDITION;
        self.add(Role::AcidBase, m, units, (rounds_before + 1, 0))
    }

    /// Airs to the first pH that does not let the water scale.
    fn air_between_rounds(&mut self) -> Result<(), Stuck> {
        let mut stuck = Stuck::Other;
        let index = self.problem.index_of(&self.now);
        for ph in AIR_BETWEEN_ROUNDS_PH {
            // With alkalinity kept the index rises as the pH does: what is far above need not be solved.
            let rise = ph - self.now.ph().0;
            let surely = index + rise - INDEX_FORESIGHT;
            if rise > 0.0 && self.scales_after_airing(surely) {
                stuck = Stuck::Scale;
                continue;
            }
            match self.air(ph, false) {
                Err(why) => stuck = why,
                done => return done,
            }
        }
        Err(stuck)
    }

    fn scales_after_airing(&self, index: f64) -> bool {
        index > self.problem.scaling_threshold && index > self.index_before_acid + INDEX_SLACK
    }

    fn air(&mut self, until_ph: f64, last: bool) -> Result<(), Stuck> {
        let after = self.problem.aired(&self.now, until_ph).ok_or(Stuck::Other)?;
        if self.scales_after_airing(self.problem.index_of(&after)) {
            return Err(Stuck::Scale);
        }
        self.now = after;
        self.aired = true;
        self.effort += EFFORT_AIRING;
        self.note(What::Air { until_ph, last });
        Ok(())
    }
}

fn is_round(deed: &Deed) -> bool {
    matches!(deed.what, What::Add { portions: 0, .. })
}
