//! Draws from the posterior: a chain that wanders over a cheap stand-in and asks the posterior now and then.
//!
//! Between two questions the chain takes many steps that leave the [`StandIn`] unchanged; where they lead is then taken or
//! refused by the ratio of the posterior to the stand-in, which makes the posterior the chain's own distribution whatever the
//! stand-in is worth (the surrogate transition method: Liu 2001, Monte Carlo Strategies in Scientific Computing, section
//! 9.4.3, from memory). How many steps lie between two questions is set, in a time thrown away, by how many are taken.
//! Two kinds of steps wander: a preconditioned Crank–Nicolson one (Cotter, Roberts, Stuart & White 2013, Statist. Sci.
//! 28:424), which moves every score by the normal at the mode, and one along a single axis.

use super::chance::Chance;
use super::course::Now;
use super::mode::Mode;
use super::parameter::{Name, Parameter};
use super::posterior::Posterior;
use super::stand_in::StandIn;
use nalgebra::{Cholesky, DMatrix, DVector};

/// The normal is a little wider than the curvature says: heavy tails have heavy posteriors.
const WIDER: f64 = 1.15;
/// Share of steps that move every score at once.
const ALL_AT_ONCE: f64 = 0.4;
/// How far those go, 0 to 1.
const BETA: f64 = 0.4;
/// Length of the others, in standard deviations along the axis (the best for one dimension is 2.4).
const ALONE: f64 = 2.4;
/// The same along a parameter's own axis, as a share of its prior's standard deviation.
const OWN: f64 = 0.15;
/// Share of questions that are asked without the stand-in, and the length of such a step, in prior standard deviations.
const DIRECTLY: f64 = 0.4;
const ASKED: f64 = 0.5;
/// Questions to the posterior that are thrown away.
const SETTLING: usize = 200;
/// Steps between two questions: at least, at most, at first.
const BETWEEN: (f64, f64, f64) = (4.0, 150.0, 50.0);
/// Steps times readings between two questions at most: about what a question itself costs.
const STEPS_FOR_READINGS: f64 = 8000.0;
/// Share of questions answered yes that is aimed at.
const TAKEN: f64 = 0.4;

/// A draw with the water it leads to now.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    pub(super) scores: DVector<f64>,
    pub(super) now: Now,
}

/// The normal at the mode.
struct Normal {
    mean: DVector<f64>,
    /// Lower factor of the covariance, and of its inverse the upper one.
    lower: DMatrix<f64>,
    inverse: DMatrix<f64>,
}

impl Normal {
    fn at(mode: &Mode) -> Option<Normal> {
        let covariance = mode.precision.inverse() * (WIDER * WIDER);
        let lower = Cholesky::new(covariance)?.unpack();
        let inverse = lower.clone().try_inverse()?;
        Some(Normal { mean: mode.scores.clone(), lower, inverse })
    }

    /// Squared length in its own measure.
    fn length(&self, scores: &DVector<f64>) -> f64 {
        (&self.inverse * (scores - &self.mean)).norm_squared()
    }
}

/// Where the chain is, and what both densities are there.
#[derive(Clone)]
struct Place {
    scores: DVector<f64>,
    ln_stand_in: f64,
}

/// One step over the stand-in.
fn wander(place: &mut Place, stand_in: &StandIn<'_, '_>, normal: &Normal, chance: &mut Chance) {
    let n = place.scores.len();
    let all_at_once = chance.unit() < ALL_AT_ONCE;
    let proposed = if all_at_once {
        let xi = DVector::from_fn(n, |_, _| chance.normal());
        &normal.mean + (&place.scores - &normal.mean) * (1.0 - BETA * BETA).sqrt() + &normal.lower * xi * BETA
    } else {
        // Now a short step, now a long one: how far the posterior reaches along an axis is not known beforehand.
        let length = libm::exp(chance.normal()) * chance.normal();
        let axis = chance.below(n);
        let mut proposed = place.scores.clone();
        // Along an axis of the normal, or of one parameter by itself.
        if chance.unit() < 0.5 {
            proposed += normal.lower.column(axis) * (ALONE * length);
        } else {
            proposed[axis] += OWN * length;
        }
        proposed
    };
    // The first kind of step is reversible for the normal, the second for the flat measure.
    let normals =
        if all_at_once { 0.5 * (normal.length(&proposed) - normal.length(&place.scores)) } else { 0.0 };
    let ln_stand_in = stand_in.ln_density(&proposed);
    if libm::log(chance.unit()) < ln_stand_in - place.ln_stand_in + normals {
        *place = Place { scores: proposed, ln_stand_in };
    }
}

/// A step that asks the posterior itself, along one parameter's own axis: where the stand-in is no guide. Free chlorine that
/// is used up hides how much more would have been: what uses and makes it is asked for half of the time.
fn ask(place: &Place, parameters: &[Parameter], chance: &mut Chance) -> DVector<f64> {
    let of_chlorine = |p: &Parameter| matches!(p.name, Name::Demand | Name::Bather | Name::Cell);
    let hidden: Vec<usize> =
        parameters.iter().enumerate().filter(|(_, p)| of_chlorine(p)).map(|(i, _)| i).collect();
    let axis = if chance.unit() < 0.5 {
        hidden.get(chance.below(hidden.len())).copied().unwrap_or(0)
    } else {
        chance.below(place.scores.len())
    };
    let length = libm::exp(chance.normal()) * chance.normal();
    let mut proposed = place.scores.clone();
    proposed[axis] += ASKED * length;
    proposed
}

/// `count` draws, every `thin`-th question; `None` if the curvature at the mode has no inverse.
pub(super) fn draw(
    posterior: &Posterior<'_>,
    mode: &Mode,
    count: usize,
    thin: usize,
    chance: &mut Chance,
) -> Option<Vec<Draw>> {
    let normal = Normal::at(mode)?;
    let stand_in = StandIn::new(posterior, mode);
    let mut place = Place { ln_stand_in: stand_in.ln_density(&mode.scores), scores: mode.scores.clone() };
    let (mut now, mut ln_density) = (mode.outcome.now, mode.outcome.ln_density);
    // A step over the stand-in costs with the readings: where there are many, fewer are taken between two questions.
    let most =
        (STEPS_FOR_READINGS / posterior.history.observed.len().max(1) as f64).clamp(BETWEEN.0, BETWEEN.1);
    let mut between = BETWEEN.2.min(most);
    let mut draws = Vec::with_capacity(count);
    for question in 0..SETTLING + count * thin {
        let directly = chance.unit() < DIRECTLY;
        let mut proposed = place.clone();
        if directly {
            proposed.scores = ask(&place, &posterior.parameters, chance);
            proposed.ln_stand_in = stand_in.ln_density(&proposed.scores);
        } else {
            for _ in 0..between as usize {
                wander(&mut proposed, &stand_in, &normal, chance);
            }
        }
        let there = posterior.follow(proposed.scores.as_slice());
        // What wandered over the stand-in has to make good for the stand-in's own preferences.
        let wandered = if directly { 0.0 } else { proposed.ln_stand_in - place.ln_stand_in };
        let ln_ratio = there.as_ref().map_or(f64::NEG_INFINITY, |t| t.ln_density - ln_density - wandered);
        let taken = libm::log(chance.unit()) < ln_ratio;
        if let (true, Some(there)) = (taken, there) {
            (place, now, ln_density) = (proposed, there.now, there.ln_density);
        }
        if question < SETTLING && !directly {
            let by = 0.1 * (f64::from(u8::from(taken)) - TAKEN);
            between = (between * libm::exp(by)).clamp(BETWEEN.0, most);
        }
        if question >= SETTLING && (question - SETTLING) % thin == thin - 1 {
            draws.push(Draw { scores: place.scores.clone(), now });
        }
    }
    Some(draws)
}
