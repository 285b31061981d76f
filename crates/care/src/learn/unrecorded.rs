//! What nobody wrote down: a handful of chlorine, acid, salt, hardness, stabiliser, a part of the water changed.
//!
//! A hypothesis is one more act at one time with an amount to be found. It is taken up only if the readings become so much
//! more likely that its own improbability is paid for: the posterior odds by Laplace's approximation, with a prior chance
//! for each gap between readings.

use super::history::{Act, History, Said};
use super::mode::{self, Mode};
use super::parameter::{Name, Parameter};
use super::posterior::Posterior;
use crate::quantity::Quantity as Q;

/// What may have happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Suspected {
    /// Chlorine added, mg/L; taken away where negative.
    Chlorine,
    /// Alkalinity, mg/L as CaCO3: bicarbonate, or acid where negative.
    Alkalinity,
    /// Salt, mg/L. None is ever taken out but with the water.
    Salt,
    /// Calcium hardness, mg/L as CaCO3; less than nothing is what was laid down or taken out.
    Calcium,
    /// Cyanuric acid, mg/L: stabiliser, or what is left of chlorine that carries it. Nor is it taken out.
    Cyanurate,
    /// Water replaced with source water, percent.
    Replaced,
}

/// Hypotheses at most: with more the entries describe another tub.
const MOST: usize = 3;
/// Climbs for one more at most.
const CLIMBED: usize = 3;
/// Gaps of a quantity that are looked into.
const LEAPS: usize = 2;
/// Distance, in scales, from which a reading is worth a question.
const STRIKING: f64 = 3.0;

impl Suspected {
    /// Size of its amount before anything is known (judgement); a fill's worth is ten times as much ([`Parameter::wide`]).
    fn usual(self) -> f64 {
        match self {
            Suspected::Chlorine => 5.0,
            Suspected::Alkalinity => 40.0,
            Suspected::Salt => 500.0,
            Suspected::Calcium => 60.0,
            Suspected::Cyanurate => 20.0,
            Suspected::Replaced => 30.0,
        }
    }

    /// Chance that it happens between two readings and nobody writes it down (judgement: one gap in twenty; to let water out
    /// and fill it in again is an hour's work, which is forgotten more seldom).
    fn chance(self) -> f64 {
        match self {
            Suspected::Replaced => 0.01,
            _ => 0.05,
        }
    }

    /// Which ones a strange reading of a quantity points to.
    fn behind(q: Q) -> &'static [Suspected] {
        match q {
            Q::FreeChlorine => &[Suspected::Chlorine],
            Q::Ph | Q::TotalAlkalinity => &[Suspected::Alkalinity, Suspected::Replaced],
            Q::Salt => &[Suspected::Salt, Suspected::Replaced],
            Q::CalciumHardness => &[Suspected::Calcium, Suspected::Replaced],
            Q::CyanuricAcid => &[Suspected::Cyanurate, Suspected::Replaced],
            _ => &[],
        }
    }
}

/// A hypothesis taken up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hypothesis {
    pub(super) suspected: Suspected,
    /// Hours since the start.
    pub(super) at_h: f64,
    /// Between which readings.
    pub(super) between_h: (f64, f64),
    /// Its probability against nothing having happened.
    pub(super) probability: f64,
}

/// Takes up the likeliest hypotheses, one after the other, while they pay.
pub(super) fn search<'a>(
    mut posterior: Posterior<'a>,
    mut best: Mode,
) -> (Posterior<'a>, Mode, Vec<Hypothesis>) {
    let mut taken: Vec<Hypothesis> = Vec::new();
    while taken.len() < MOST {
        let Some((with, mode, hypothesis)) = one_more(&posterior, &best, &taken) else { break };
        taken.push(hypothesis);
        (posterior, best) = (with, mode);
    }
    (posterior, best, taken)
}

/// The likeliest further hypothesis that pays.
fn one_more<'a>(
    posterior: &Posterior<'a>,
    best: &Mode,
    taken: &[Hypothesis],
) -> Option<(Posterior<'a>, Mode, Hypothesis)> {
    // Each is first looked at with all else held; only the likeliest of each quantity that leaps is worth a climb.
    let mut likeliest: Vec<(Candidate, Posterior<'a>, f64)> = Vec::new();
    for candidate in candidates(posterior.history, best) {
        let Candidate { quantity, suspected, between_h, .. } = candidate;
        if taken.iter().any(|t| t.suspected == suspected && t.between_h == between_h) {
            continue;
        }
        let at_h = 0.5 * (between_h.0 + between_h.1);
        let with = posterior.with(suspected, at_h, taken.len());
        let tried = [1.0, -1.0, 0.4, -0.4].map(|part| {
            let score = part * candidate.score;
            let there = with.follow_from(best.scores.clone().push(score).as_slice(), &best.outcome, at_h);
            (score, there.map_or(f64::NEG_INFINITY, |t| t.ln_density))
        });
        let better = |a: &(f64, f64), b: &(f64, f64)| a.1.total_cmp(&b.1);
        let Some((score, ln_density)) = tried.into_iter().max_by(better) else { continue };
        let one = (Candidate { score, ..candidate }, with, ln_density);
        match likeliest.iter_mut().find(|(other, ..)| other.quantity == quantity) {
            Some(other) if other.2 >= ln_density => {}
            Some(other) => *other = one,
            None => likeliest.push(one),
        }
    }
    likeliest.sort_by(|a, b| b.2.total_cmp(&a.2));
    likeliest.into_iter().take(CLIMBED).find_map(|(candidate, with, _)| {
        let Candidate { suspected, between_h, score, .. } = candidate;
        let start = best.scores.clone().push(score);
        let lines = mode::with_more(&with, &start, &best.slopes, best.scores.len());
        let mode = mode::find(&with, start, lines)?;
        let ln_odds =
            evidence(&mode) - evidence(best) + (suspected.chance() / (1.0 - suspected.chance())).ln();
        let probability = 1.0 / (1.0 + libm::exp(-ln_odds));
        let at_h = 0.5 * (between_h.0 + between_h.1);
        (ln_odds > 0.0).then_some((with, mode, Hypothesis { suspected, at_h, between_h, probability }))
    })
}

/// A posterior without hypotheses, and then with these; its parameters are taken to hold theirs already.
pub(super) fn taken_up<'a>(mut posterior: Posterior<'a>, hypotheses: &[Hypothesis]) -> Posterior<'a> {
    for (number, h) in hypotheses.iter().enumerate() {
        posterior.suspect(h.suspected, h.at_h, number);
    }
    posterior
}

/// ln of the evidence by Laplace; the prior's own constants are the same for every score and cancel one to one with the
/// (2π)^½ of each dimension.
fn evidence(mode: &Mode) -> f64 {
    let half_ln_det: f64 = mode.precision.l().diagonal().iter().map(|d| libm::log(*d)).sum();
    mode.outcome.ln_density - half_ln_det
}

/// A hypothesis to be tried.
struct Candidate {
    /// Of which a reading leaps.
    quantity: Q,
    suspected: Suspected,
    between_h: (f64, f64),
    /// About how much, in prior standard deviations.
    score: f64,
}

/// Where the readings of a quantity leap away from the model, or back: the gaps with the greatest leaps.
fn candidates(history: &History, mode: &Mode) -> Vec<Candidate> {
    let mut all = Vec::new();
    let mut quantities: Vec<Q> = history.observed.iter().map(|o| o.quantity).collect();
    quantities.sort();
    quantities.dedup();
    for q in quantities {
        // From the start on, when the model was right by definition: hour, distance in scales, distance in the unit.
        let mut course = vec![(0.0, 0.0, 0.0)];
        for (o, r) in history.observed.iter().zip(&mode.outcome.residuals) {
            if o.quantity == q && matches!(o.said, Said::Value { .. }) {
                course.push((o.at_h, r.z, r.z / r.per_unit));
            }
        }
        if course.iter().all(|(_, z, _)| z.abs() < STRIKING) {
            continue;
        }
        let mut leaps: Vec<_> = course.windows(2).filter_map(|w| Some((*w.first()?, *w.get(1)?))).collect();
        leaps.sort_by(|a, b| (b.1.1 - b.0.1).abs().total_cmp(&(a.1.1 - a.0.1).abs()));
        for &suspected in Suspected::behind(q) {
            // Read in the unit that the amount is in.
            let direct = q != Q::Ph && suspected != Suspected::Replaced;
            for (from, to) in leaps.iter().take(LEAPS) {
                // Of a pH or a share of water only the order of size is known.
                let score = if direct { libm::asinh((from.2 - to.2) / suspected.usual()) } else { 1.0 };
                let between_h = (from.0, to.0);
                all.push(Candidate { quantity: q, suspected, between_h, score: score.clamp(-6.0, 6.0) });
            }
        }
    }
    all
}

impl<'a> Posterior<'a> {
    /// The same with one more act.
    fn with(&self, suspected: Suspected, at_h: f64, number: usize) -> Posterior<'a> {
        let mut with = Posterior { parameters: self.parameters.clone(), acts: self.acts.clone(), ..*self };
        with.parameters.push(Parameter::wide(Name::Unrecorded(number), suspected.usual()));
        with.suspect(suspected, at_h, number);
        with
    }

    fn suspect(&mut self, suspected: Suspected, at_h: f64, number: usize) {
        self.acts.push((at_h, Act::Unrecorded { suspected, number }));
        self.acts.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
}
