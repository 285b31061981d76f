//! The posterior: readings against the water that a set of scores leads to.

use super::course::{Course, Now, Things};
use super::history::{Act, History, Observed};
use super::likelihood::{Residual, residual};
use super::parameter::Parameter;
use crate::chem::linear;
use crate::quantity::Quantity as Q;
use water::Equilibria;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity};
use water::units::mg_l_caco3_from_eq_kg;

/// Everything that the density is made from.
pub(super) struct Posterior<'a> {
    pub(super) history: &'a History,
    pub(super) at: &'a Equilibria,
    pub(super) parameters: Vec<Parameter>,
    /// The history's acts and the suspected ones, in order of time.
    pub(super) acts: Vec<(f64, Act)>,
    /// How much larger than they are the readings' errors are taken: 1, but for the first look from afar.
    pub(super) blur: f64,
}

/// What one set of scores leads to.
pub(super) struct Outcome {
    /// Each reading against the water.
    pub(super) residuals: Vec<Residual>,
    /// What each reading should have been.
    pub(super) expected: Vec<f64>,
    /// The water now.
    pub(super) now: Now,
    /// ln of the posterior density, without its constant.
    pub(super) ln_density: f64,
}

/// A quantity of a water under way, as a faultless kit reads it.
pub(super) fn quantity(q: Q, now: &mut Now, at: &Equilibria) -> Option<f64> {
    match q {
        Q::Ph => now.carbonates(at).map(|c| c.ph),
        Q::TotalAlkalinity => {
            titrated_alkalinity(at, &now.totals, ALKALINITY_END_POINT, Dechlorination::Thiosulfate)
                .ok()
                .map(mg_l_caco3_from_eq_kg)
        }
        q => linear(q, &now.totals),
    }
}

/// What a kit reads too much at an hour.
pub(super) fn bias(things: &Things, observed: &Observed) -> f64 {
    let of = |list: &[f64]| list.get(observed.kit).copied().unwrap_or(0.0);
    of(&things.bias) + of(&things.drift) * observed.at_h / (30.0 * 24.0)
}

impl<'a> Posterior<'a> {
    pub(super) fn new(history: &'a History, at: &'a Equilibria, parameters: Vec<Parameter>) -> Self {
        Posterior { history, at, parameters, acts: history.acts.clone(), blur: 1.0 }
    }

    /// The same with larger errors.
    pub(super) fn blurred(&self, blur: f64) -> Posterior<'a> {
        Posterior { parameters: self.parameters.clone(), acts: self.acts.clone(), blur, ..*self }
    }

    /// The course that a set of scores describes.
    pub(super) fn course(&self, scores: &[f64]) -> Course<'a> {
        Course { at: self.at, things: Things::of(self.history, self.at, &self.parameters, scores) }
    }

    /// Follows the tub from its start to now; `None` if the water leaves what the chemistry covers.
    pub(super) fn follow(&self, scores: &[f64]) -> Option<Outcome> {
        let course = self.course(scores);
        let mut now = course.begin(&self.history.start)?;
        let mut residuals = Vec::with_capacity(self.history.observed.len());
        let mut expected = Vec::with_capacity(self.history.observed.len());
        let mut acts = self.acts.iter().peekable();
        let mut ln_density = -0.5 * scores.iter().map(|s| s * s).sum::<f64>();
        for observed in &self.history.observed {
            // Who reads and doses in the same minute has read first.
            while let Some((at_h, act)) = acts.next_if(|(at_h, _)| *at_h < observed.at_h) {
                course.pass(&mut now, *at_h)?;
                course.act(&mut now, act)?;
            }
            course.pass(&mut now, observed.at_h)?;
            let should = quantity(observed.quantity, &mut now, self.at)? + bias(&course.things, observed);
            let r = residual(observed, should, self.history.kits.get(observed.kit), self.blur);
            ln_density += r.ln_density;
            residuals.push(r);
            expected.push(should);
        }
        for (at_h, act) in acts {
            course.pass(&mut now, *at_h)?;
            course.act(&mut now, act)?;
        }
        course.pass(&mut now, self.history.now_h)?;
        ln_density.is_finite().then_some(Outcome { residuals, expected, now, ln_density })
    }
}
