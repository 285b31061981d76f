//! What has been learnt of a tub.

use super::chance::Chance;
use super::course::{Course, Things};
use super::density;
use super::draws::{self, Draw};
use super::history::{self, History, Observed};
use super::kits::Kits;
use super::likelihood::{By, residual};
use super::mode::Mode;
use super::parameter::{Name, Parameter};
use super::posterior::{Posterior, quantity};
use super::unrecorded::{Hypothesis, Suspected};
use super::unseen;
use crate::case::{Case, Reading, When};
use crate::estimate::EstimateError;
use crate::quantity::Quantity;
use water::Equilibria;

/// Draws kept.
pub(super) const DRAWS: usize = 300;
/// Questions for each: fewest and most, and hours of the past for which so many times the fewest cost about as much (a question
/// costs with what is followed).
const THIN: (usize, usize) = (3, 9);
const THIN_H: f64 = 90.0 * 24.0;
/// Draws that a new reading must leave in effect; with fewer all is learnt anew.
const EFFECTIVE_LEAST: f64 = 60.0;

/// Draws of a rough look.
const ROUGH_DRAWS: usize = 100;

/// Why nothing can be learnt.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LearnError {
    /// A reading is wrong, or the water is outside the chemistry.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// Neither a reading nor a fill with an analysed source water.
    #[error(
        "nothing is known of this water: a [[reading]], or a fill with the source water's analysis, is needed"
    )]
    Nothing,
    /// The entries lead to no water at all.
    #[error(
        "the entries lead to no water that the chemistry covers: an amount or a volume among them must be wrong"
    )]
    NoWater,
    /// There is water until a dose.
    #[error(
        "the {product} dosed {days_ago:.1} days ago leads to no water that the chemistry covers: its amount or the volume must be wrong"
    )]
    TooMuch {
        /// The product's name.
        product: String,
        /// How long ago, days.
        days_ago: f64,
    },
    /// All that is known is older than what is looked at.
    #[error(
        "the last entry is {0:.0} days old: what a water was like more than 120 days ago says nothing of today; test it"
    )]
    LongAgo(f64),
}

/// One thing learnt, beside what was known of it before.
#[derive(Debug, Clone, PartialEq)]
pub struct Trait {
    /// What it is.
    pub name: Name,
    /// 5 %, 50 % and 95 % now.
    pub now: [f64; 3],
    /// 5 %, 50 % and 95 % before anything was read.
    pub prior: [f64; 3],
}

/// Something that probably happened and nobody wrote down.
#[derive(Debug, Clone, PartialEq)]
pub struct Unrecorded {
    /// What.
    pub suspected: Suspected,
    /// Between when and when.
    pub between: (When, When),
    /// How much, in its kind's own unit: 5 %, 50 %, 95 %.
    pub amount: [f64; 3],
    /// Its probability against nothing having happened.
    pub probability: f64,
}

/// A tub as its entries have taught it: draws from the posterior.
#[derive(Debug, Clone)]
pub struct Learned {
    pub(super) history: History,
    pub(super) at: Equilibria,
    pub(super) parameters: Vec<Parameter>,
    pub(super) draws: Vec<Draw>,
    pub(super) hypotheses: Vec<Hypothesis>,
}

/// Learns a tub from its case; the same seed gives the same answer.
///
/// # Errors
/// [`LearnError`] if a reading cannot have come from its method, or nothing is known at all.
pub fn learn(case: &Case, seed: u64) -> Result<Learned, LearnError> {
    learn_by(case, seed, |posterior, mode, chance| {
        draws::draw(posterior, mode, DRAWS, thin(posterior.history), chance)
    })
}

/// Questions to the posterior for each draw: a short past costs little, so that more can be asked of it.
pub(super) fn thin(history: &History) -> usize {
    let by_cost = THIN.0 as f64 * THIN_H / history.now_h.max(1.0);
    (by_cost as usize).clamp(THIN.0, THIN.1)
}

/// The same from the posterior's mode and its curvature alone: in a fraction of the time, with tails and bends left out. What a
/// plan asks are means.
///
/// # Errors
/// As [`learn()`].
pub fn learn_roughly(case: &Case, seed: u64) -> Result<Learned, LearnError> {
    learn_by(case, seed, |posterior, mode, chance| draws::near_mode(posterior, mode, ROUGH_DRAWS, chance))
}

fn learn_by(
    case: &Case,
    seed: u64,
    draw: impl FnOnce(&Posterior<'_>, &Mode, &mut Chance) -> Option<Vec<Draw>>,
) -> Result<Learned, LearnError> {
    let (history, at) = density::past(case)?;
    let chance = &mut Chance::of(seed);
    let (parameters, draws, hypotheses) = {
        let (posterior, mode, hypotheses) = density::found(&history, &at)?;
        let draws = draw(&posterior, &mode, chance).ok_or(LearnError::NoWater)?;
        (posterior.parameters, draws, hypotheses)
    };
    let mut learned = Learned { history, at, parameters, draws, hypotheses };
    learned.go_on_from_last_look(chance);
    Ok(learned)
}

/// 5 %, 50 %, 95 % of some figures.
pub(crate) fn three(figures: &[f64]) -> [f64; 3] {
    let mut sorted = figures.to_vec();
    sorted.sort_by(f64::total_cmp);
    [0.05, 0.5, 0.95].map(|share| quantile(&sorted, share))
}

/// A quantile of sorted figures, between neighbours in proportion; 0 of none.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * sorted.len().saturating_sub(1) as f64;
    let (below, part) = (place as usize, place.fract());
    let at = |i: usize| sorted.get(i).or(sorted.last()).copied().unwrap_or(0.0);
    at(below) + part * (at(below + 1) - at(below))
}

impl Learned {
    /// What was learnt of each lasting trait; weeks' own swings are left out.
    pub fn traits(&self) -> Vec<Trait> {
        let lasting =
            |name: &Name| !matches!(name, Name::WeekDemand(_) | Name::WeekCarbon(_) | Name::Unrecorded(_));
        let all = self.parameters.iter().enumerate().filter(|(_, p)| lasting(&p.name));
        // A bias is as large as the kit's errors are, before anything is read as large as they usually are.
        let middle = Kits::of(self.history.kits.len(), self.parameters.iter().map(|p| (p, 0.0)));
        let usual = |name: &Name| if let Name::Bias(kit) = name { middle.error(*kit) } else { 1.0 };
        all.map(|(i, p)| Trait {
            name: p.name.clone(),
            now: self.of_parameter(i),
            prior: [-1.644_854, 0.0, 1.644_854].map(|score| p.at(score) * usual(&p.name)),
        })
        .collect()
    }

    fn of_parameter(&self, i: usize) -> [f64; 3] {
        three(&self.draws.iter().map(|d| self.thing(i, d)).collect::<Vec<_>>())
    }

    /// A parameter's own figure of a draw; 0 if there is no such parameter.
    pub(super) fn thing(&self, i: usize, draw: &Draw) -> f64 {
        match self.parameters.get(i) {
            // A bias is as large as the kit's errors are.
            Some(Parameter { name: Name::Bias(kit), .. }) => self.kits(draw).bias(*kit, 0.0),
            Some(p) => p.at(draw.scores[i]),
            None => 0.0,
        }
    }

    /// The kits as a draw has them.
    pub(super) fn kits(&self, draw: &Draw) -> Kits {
        Kits::of(self.history.kits.len(), self.parameters.iter().zip(draw.scores.iter().copied()))
    }

    /// The method's id, its name and the quantity of a kit that a [`Name::Bias`] or [`Name::Drift`] numbers.
    pub fn kit(&self, number: usize) -> Option<(&str, &str, Quantity)> {
        self.history.kits.get(number).map(|k| (k.method.as_str(), k.name.as_str(), k.quantity))
    }

    /// What probably happened and nobody wrote down.
    pub fn unrecorded(&self) -> Vec<Unrecorded> {
        let of = |number: usize| self.parameters.iter().position(|p| p.name == Name::Unrecorded(number));
        let all = self.hypotheses.iter().enumerate();
        all.filter_map(|(number, h)| {
            let moment = |at_h: f64| When(self.history.started.0 + (at_h * 3600.0) as i64);
            Some(Unrecorded {
                suspected: h.suspected,
                between: (moment(h.between_h.0), moment(h.between_h.1)),
                amount: self.of_parameter(of(number)?),
                probability: h.probability,
            })
        })
        .collect()
    }

    /// Of one quantity now: 5 %, 50 %, 95 % over the draws; `None` if the model does not follow it.
    pub fn now(&self, q: Quantity) -> Option<[f64; 3]> {
        let figures: Option<Vec<f64>> =
            self.draws.iter().map(|d| quantity(q, &mut d.now.clone(), &self.at)).collect();
        figures.map(|figures| three(&figures))
    }

    /// Folds in one more reading, taken after all that is known already, by weighing the draws anew.
    ///
    /// Returns whether that is enough; if not (the reading is too great a surprise, or there is too little left of the
    /// draws), nothing is changed and the tub is to be learnt anew from its entries.
    pub fn fold(&mut self, reading: &Reading, at: When, case: &Case, seed: u64) -> Result<bool, LearnError> {
        let at_h = at.hours_since(self.history.started);
        let (quantity_read, outcome, kit) = self.history.read(reading, case)?;
        let Some(kit) = kit.filter(|_| at_h >= self.history.now_h) else { return Ok(false) };
        let Some(said) = history::said(quantity_read, outcome) else { return Ok(true) };
        let observed = Observed { at_h, quantity: quantity_read, said, kit, burst: 0.0 };
        let observed = unseen::with_burst(&self.history, observed);
        let chance = &mut Chance::of(seed);
        let mut there = Vec::with_capacity(self.draws.len());
        let mut ln_weights = Vec::with_capacity(self.draws.len());
        for draw in &self.draws {
            let course = self.course(draw);
            let mut now = draw.now;
            let expected = course
                .pass(&mut now, at_h)
                .and_then(|()| quantity(observed.quantity, &mut now, &self.at))
                .map(|q| q + course.things.kits.bias_of(&observed));
            let error = course.things.kits.error(observed.kit);
            let by = By { kit: self.history.kits.get(observed.kit), error, blur: 1.0 };
            ln_weights.push(expected.map_or(f64::NEG_INFINITY, |e| residual(&observed, e, by).ln_density));
            there.push(now);
        }
        let most = ln_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = ln_weights.iter().map(|w| libm::exp(w - most)).collect();
        let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        let effective = sum * sum / squares;
        if effective.is_nan() || effective < EFFECTIVE_LEAST {
            return Ok(false);
        }
        self.draws = draws::resampled(&weights, self.draws.len(), chance)
            .into_iter()
            .map(|i| Draw { scores: self.draws[i].scores.clone(), now: there[i], look: None })
            .collect();
        self.history.now_h = at_h;
        self.history.observed.push(observed);
        self.take_burst_now(chance);
        Ok(true)
    }

    pub(super) fn course(&self, draw: &Draw) -> Course<'_> {
        Course {
            at: &self.at,
            things: Things::of(&self.history, &self.at, &self.parameters, draw.scores.as_slice()),
        }
    }

    /// Chance that something is true of a parameter; 0 if there is no such parameter.
    pub fn chance(&self, name: &Name, is_true: impl Fn(f64) -> bool) -> f64 {
        let Some(i) = self.parameters.iter().position(|p| p.name == *name) else { return 0.0 };
        let count = self.draws.iter().filter(|d| is_true(self.thing(i, d))).count();
        count as f64 / self.draws.len().max(1) as f64
    }

    /// Whether a kit drifts: a probe.
    pub fn drifts(&self, number: usize) -> bool {
        self.history.kits.get(number).is_some_and(|k| k.drift_error > 0.0)
    }

    /// The moment of [`Learned::now`].
    pub fn until(&self) -> When {
        When(self.history.started.0 + (self.history.now_h * 3600.0) as i64)
    }

    /// When the past that was looked at begins.
    pub fn started(&self) -> When {
        self.history.started
    }

    /// Readings that were used (a probe's stream counts by blocks), and those that say nothing here.
    pub fn readings(&self) -> (usize, usize) {
        (self.history.observed.len(), self.history.left_out)
    }
}
