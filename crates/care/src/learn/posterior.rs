//! The posterior: readings against the water that a set of scores leads to.

use super::course::{Course, Now, Things};
use super::history::{Act, History, Observed};
use super::kits::Kits;
use super::likelihood::{By, Residual, residual};
use super::oxidant::Alone;
use super::parameter::{Name, Parameter, WEEK_H};
use crate::chem::linear;
use crate::quantity::Quantity as Q;
use nalgebra::DVector;
use water::Equilibria;
use water::units::{mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};

/// Everything that the density is made from.
pub(super) struct Posterior<'a> {
    pub(super) history: &'a History,
    pub(super) at: &'a Equilibria,
    pub(super) parameters: Vec<Parameter>,
    /// The history's acts and the suspected ones, in order of time.
    pub(super) acts: Vec<(f64, Act)>,
    /// How much larger than they are the readings' errors are taken: 1, but for the first look from afar.
    pub(super) blur: f64,
    /// Whether a climb leaves alone how far kits err.
    pub(super) holds_errors: bool,
    /// The first reading of the last look.
    pub(super) look: Option<usize>,
}

/// What one set of scores leads to.
#[derive(Clone)]
pub(super) struct Outcome {
    /// What a faultless kit would have read each time.
    pub(super) water: Vec<f64>,
    /// Where the following stood, about once a week.
    stops: Vec<Stop>,
    /// Each reading against the water.
    pub(super) residuals: Vec<Residual>,
    /// What each reading should have been.
    pub(super) expected: Vec<f64>,
    /// The water now.
    pub(super) now: Now,
    /// The water as the last look found it, if there was one.
    pub(super) look: Option<Now>,
    /// ln of the posterior density, without its constant.
    pub(super) ln_density: f64,
}

/// Where a following stood before a reading: scores that matter only later go on from there.
#[derive(Clone, Copy)]
struct Stop {
    now: Now,
    /// The reading, and the act that comes next.
    reading: usize,
    act: usize,
}

/// What following a tub leads to.
struct Followed {
    now: Now,
    look: Option<Now>,
    water: Vec<f64>,
    stops: Vec<Stop>,
}

/// A score of how far readings err: ln of the scale of those that are of it goes with it by `ln_sd`.
#[derive(Clone, Copy)]
pub(super) struct OfErrors {
    /// Its place among the scores.
    pub(super) score: usize,
    /// The kit whose it is; the hand's is on all kits.
    kit: Option<usize>,
    pub(super) ln_sd: f64,
}

impl OfErrors {
    /// Whether a reading errs by it.
    pub(super) fn is_of(&self, observed: &Observed) -> bool {
        self.kit.is_none_or(|kit| kit == observed.kit)
    }
}

/// Hours between two stops at least.
const STOP_H: f64 = 0.5 * WEEK_H;

/// A quantity of a water under way, as a faultless kit reads it.
pub(super) fn quantity(q: Q, now: &mut Now, at: &Equilibria) -> Option<f64> {
    match q {
        Q::Ph => now.carbonates(at).map(|c| c.ph),
        Q::TotalAlkalinity => now.titrated_eq_kg(at).map(mg_l_caco3_from_eq_kg),
        q => linear(q, &now.totals),
    }
}

impl<'a> Posterior<'a> {
    pub(super) fn new(history: &'a History, at: &'a Equilibria, parameters: Vec<Parameter>) -> Self {
        Posterior {
            history,
            at,
            parameters,
            acts: history.acts.clone(),
            blur: 1.0,
            holds_errors: false,
            look: history.last_look(),
        }
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
        self.go_on(scores, None)
    }

    /// As [`Self::follow`], to the last digit, where it is known what scores lead to that differ from these in nothing that
    /// matters before an hour (see [`Self::matters_from`]).
    pub(super) fn follow_from(&self, scores: &[f64], known: &Outcome, from_h: f64) -> Option<Outcome> {
        self.go_on(scores, Some((known, from_h)))
    }

    /// The hour from which each score matters to the water; none at all is infinity.
    pub(super) fn matters_from(&self) -> Vec<f64> {
        let first = |is: &dyn Fn(&Act) -> bool| {
            self.acts.iter().find(|(_, a)| is(a)).map_or(f64::INFINITY, |(at_h, _)| *at_h)
        };
        let each = self.parameters.iter().map(|p| match p.name {
            ref name if name.is_of_readings() => f64::INFINITY,
            Name::WeekDemand(week) | Name::WeekCarbon(week) => week as f64 * WEEK_H,
            Name::Measure(of) => first(&|a| matches!(a, Act::Dose { product, .. } if *product == of)),
            Name::Bather | Name::BatherPace => first(&|a| matches!(a, Act::Bathers(_))),
            Name::BathingLoss => first(&|a| matches!(a, Act::Bathers(_) | Act::Dose { .. })),
            Name::Unrecorded(of) => first(&|a| matches!(a, Act::Unrecorded { number, .. } if *number == of)),
            _ => 0.0,
        });
        each.collect()
    }

    /// Free chlorine, mg/L, each time that it was read.
    pub(super) fn chlorine(&self, scores: &[f64]) -> Vec<f64> {
        let things = self.course(scores).things;
        let mut alone = Alone::begin(&things, &self.history.start);
        let mut acts = self.acts.iter().peekable();
        let read = self.history.observed.iter().filter(|o| o.quantity == Q::FreeChlorine);
        let each = read.map(|o| {
            alone.follow(&mut acts, o.at_h);
            mg_l_from_mol_kg(alone.free, molar_mass::CL2)
        });
        each.collect()
    }

    /// Whether a score is of the kits alone and leaves the water as it is.
    pub(super) fn is_of_readings(&self, j: usize) -> bool {
        self.parameters.get(j).is_some_and(|p| p.name.is_of_readings())
    }

    /// How a reading counts, as these scores have its kit.
    pub(super) fn by(&self, observed: &Observed, kits: &Kits) -> By<'_> {
        By { kit: self.history.kits.get(observed.kit), error: kits.error(observed.kit), blur: self.blur }
    }

    /// The kits as these scores have them.
    pub(super) fn kits(&self, scores: &DVector<f64>) -> Kits {
        Kits::of(self.history.kits.len(), self.parameters.iter().zip(scores.iter().copied()))
    }

    /// The scores of how far kits err.
    pub(super) fn errors(&self) -> Vec<OfErrors> {
        let all = self.parameters.iter().enumerate();
        let errors = all.filter_map(|(score, p)| match p.name {
            Name::Hand => Some(OfErrors { score, kit: None, ln_sd: p.ln_sd() }),
            Name::KitError(kit) => Some(OfErrors { score, kit: Some(kit), ln_sd: p.ln_sd() }),
            _ => None,
        });
        errors.collect()
    }

    fn go_on(&self, scores: &[f64], known: Option<(&Outcome, f64)>) -> Option<Outcome> {
        let course = self.course(scores);
        let observed = &self.history.observed;
        let Followed { now, look, water, stops } = match known {
            Some((known, f64::INFINITY)) => Followed {
                now: known.now,
                look: known.look,
                water: known.water.clone(),
                stops: known.stops.clone(),
            },
            Some((known, from_h)) => self.water(&course, known, from_h)?,
            None => self.on(&course, None, Vec::with_capacity(observed.len()), Vec::new())?,
        };
        let mut ln_density = -0.5 * scores.iter().map(|s| s * s).sum::<f64>();
        let mut residuals = Vec::with_capacity(observed.len());
        let mut expected = Vec::with_capacity(observed.len());
        for (observed, water) in observed.iter().zip(&water) {
            let should = water + course.things.kits.bias_of(observed);
            let r = residual(observed, should, self.by(observed, &course.things.kits));
            ln_density += r.ln_density;
            residuals.push(r);
            expected.push(should);
        }
        ln_density.is_finite().then_some(Outcome { water, stops, residuals, expected, now, look, ln_density })
    }

    /// The water from an hour on, as it is known before.
    fn water(&self, course: &Course<'_>, known: &Outcome, from_h: f64) -> Option<Followed> {
        let count = known.stops.iter().take_while(|s| s.now.at_h < from_h).count();
        let stops = known.stops.get(..count).unwrap_or_default().to_vec();
        let stop = stops.last().copied();
        let mut water = Vec::with_capacity(self.history.observed.len());
        water.extend_from_slice(known.water.get(..stop.map_or(0, |s| s.reading)).unwrap_or_default());
        let followed = self.on(course, stop, water, stops)?;
        // A look before the stop is as it was.
        Some(Followed { look: followed.look.or(known.look), ..followed })
    }

    fn on(
        &self,
        course: &Course<'_>,
        from: Option<Stop>,
        mut water: Vec<f64>,
        mut stops: Vec<Stop>,
    ) -> Option<Followed> {
        let mut look = None;
        let (mut now, first, mut act) = match from {
            Some(Stop { now, reading, act }) => (now, reading, act),
            None => (course.begin(&self.history.start)?, 0, 0),
        };
        for (reading, observed) in self.history.observed.iter().enumerate().skip(first) {
            if now.at_h - stops.last().map_or(0.0, |s| s.now.at_h) >= STOP_H {
                stops.push(Stop { now, reading, act });
            }
            // Who reads and doses in the same minute has read first.
            while let Some((at_h, what)) = self.acts.get(act).filter(|(at_h, _)| *at_h < observed.at_h) {
                course.pass(&mut now, *at_h)?;
                course.act(&mut now, what)?;
                act += 1;
            }
            course.pass(&mut now, observed.at_h)?;
            if self.look == Some(reading) {
                look = Some(now);
            }
            water.push(quantity(observed.quantity, &mut now, self.at)?);
        }
        for (at_h, what) in self.acts.get(act..).unwrap_or_default() {
            course.pass(&mut now, *at_h)?;
            course.act(&mut now, what)?;
        }
        course.pass(&mut now, self.history.now_h)?;
        Some(Followed { now, look, water, stops })
    }
}
