//! Draws from the posterior: a chain that wanders over a cheap stand-in and asks the posterior now and then.
//!
//! Between two questions the chain takes many steps that leave the [`StandIn`] unchanged; where they lead is then taken or
//! refused by the ratio of the posterior to the stand-in, which makes the posterior the chain's own distribution whatever the
//! stand-in is worth (the surrogate transition method: Liu 2001, Monte Carlo Strategies in Scientific Computing, section
//! 9.4.3, from memory). How many steps lie between two questions is set, in a time thrown away, by how many are taken.
//! Half of the times they are fewer, now a little and now much: far out, where the stand-in is a poor guide, only a short way
//! is taken, and otherwise the chain would stay there for long.
//! Two kinds of steps wander: a preconditioned Crank–Nicolson one (Cotter, Roberts, Stuart & White 2013, Statist. Sci.
//! 28:424), which moves every score by the normal at the mode, and one along a single axis, or within the few that stand in for
//! each other.

use super::chance::Chance;
use super::course::Now;
use super::mode::Mode;
use super::parameter::{Name, Parameter};
use super::posterior::Posterior;
use super::stand_in::StandIn;
use nalgebra::{Cholesky, DVector};

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
/// Share of those other steps that move what uses and makes chlorine, all of it at once, and how far each, in prior standard
/// deviations: the one uses what the other is taken not to.
const TOGETHER: f64 = 0.4;
const EACH: f64 = 0.3;
/// Share of questions that are asked without the stand-in, and the length of such a step, in prior standard deviations.
const DIRECTLY: f64 = 0.2;
const ASKED: f64 = 0.5;
/// Questions to the posterior that are thrown away.
const SETTLING: usize = 200;
/// Steps between two questions: at least, at most, at first.
const BETWEEN: (f64, f64, f64) = (4.0, 150.0, 50.0);
/// Share of times that as many are taken, and the mean logarithm of how many fewer are the other times.
const IN_FULL: f64 = 0.5;
const FEWER: f64 = 2.5;
/// Fewest of those.
const FEWEST: f64 = 2.0;
/// Steps times readings between two questions at most: about what a question itself costs.
const STEPS_FOR_READINGS: f64 = 8000.0;
/// Draws that are tried for each that a rough look keeps, and the power of their weights.
const TRIED_FOR_EACH: usize = 2;
const TEMPERED: f64 = 0.5;
/// Share of questions answered yes that is aimed at.
const TAKEN: f64 = 0.4;

/// A draw with the water it leads to now.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    pub(super) scores: DVector<f64>,
    pub(super) now: Now,
    /// The water as the last look found it.
    pub(super) look: Option<Now>,
}

/// Where the chain is, in standard deviations from the mode, and how dense the stand-in is there.
#[derive(Clone)]
struct Place {
    away: DVector<f64>,
    ln_stand_in: f64,
}

/// One step over the stand-in.
fn wander(place: &mut Place, stand_in: &StandIn<'_, '_>, hidden: &[usize], chance: &mut Chance) {
    let n = place.away.len();
    let all_at_once = chance.unit() < ALL_AT_ONCE;
    let away = if all_at_once {
        let xi = DVector::from_fn(n, |_, _| chance.normal());
        &place.away * (1.0 - BETA * BETA).sqrt() + xi * (BETA * WIDER)
    } else {
        // Now a short step, now a long one: how far the posterior reaches along an axis is not known beforehand.
        let stretch = libm::exp(chance.normal());
        let mut away = place.away.clone();
        if chance.unit() < TOGETHER {
            for j in hidden {
                away.axpy(EACH * stretch * chance.normal(), &stand_in.inverse.column(*j), 1.0);
            }
        } else {
            // Along an axis of the normal, or of one parameter by itself.
            let (length, axis) = (stretch * chance.normal(), chance.below(n));
            if chance.unit() < 0.5 {
                away[axis] += ALONE * length;
            } else {
                away.axpy(OWN * length, &stand_in.inverse.column(axis), 1.0);
            }
        }
        away
    };
    // The first kind of step is reversible for the normal, the second for the flat measure.
    let normals = if all_at_once {
        0.5 * (away.norm_squared() - place.away.norm_squared()) / (WIDER * WIDER)
    } else {
        0.0
    };
    let ln_stand_in = stand_in.ln_density(&away);
    if libm::log(chance.unit()) < ln_stand_in - place.ln_stand_in + normals {
        *place = Place { away, ln_stand_in };
    }
}

/// What uses and makes chlorine: free chlorine that is used up hides how much more would have been.
fn hidden(parameters: &[Parameter]) -> Vec<usize> {
    let of_chlorine =
        |p: &Parameter| matches!(p.name, Name::Demand | Name::Bather | Name::BatherPace | Name::Cell);
    parameters.iter().enumerate().filter(|(_, p)| of_chlorine(p)).map(|(i, _)| i).collect()
}

/// A step that asks the posterior itself, along one parameter's own axis: where the stand-in is no guide. The hidden ones are
/// asked for half of the time. The axis, and the place.
fn ask(
    place: &Place,
    stand_in: &StandIn<'_, '_>,
    hidden: &[usize],
    chance: &mut Chance,
) -> (usize, DVector<f64>) {
    let axis = if chance.unit() < 0.5 {
        hidden.get(chance.below(hidden.len())).copied().unwrap_or(0)
    } else {
        chance.below(place.away.len())
    };
    let length = libm::exp(chance.normal()) * chance.normal();
    let mut away = place.away.clone();
    away.axpy(ASKED * length, &stand_in.inverse.column(axis), 1.0);
    (axis, away)
}

/// `count` draws, every `thin`-th question; `None` if the curvature at the mode has no inverse.
pub(super) fn draw(
    posterior: &Posterior<'_>,
    mode: &Mode,
    count: usize,
    thin: usize,
    chance: &mut Chance,
) -> Option<Vec<Draw>> {
    let stand_in = StandIn::new(posterior, mode)?;
    let hidden = hidden(&posterior.parameters);
    let matters_from = posterior.matters_from();
    let away = DVector::zeros(mode.scores.len());
    let mut place = Place { ln_stand_in: stand_in.ln_density(&away), away };
    let mut here = mode.outcome.clone();
    // A step over the stand-in costs with the readings: where there are many, fewer are taken between two questions.
    let most =
        (STEPS_FOR_READINGS / posterior.history.observed.len().max(1) as f64).clamp(BETWEEN.0, BETWEEN.1);
    let mut between = BETWEEN.2.min(most);
    let mut draws = Vec::with_capacity(count);
    for question in 0..SETTLING + count * thin {
        let directly = chance.unit() < DIRECTLY;
        let mut proposed = place.clone();
        let there = if directly {
            let (axis, away) = ask(&place, &stand_in, &hidden, chance);
            proposed = Place { ln_stand_in: stand_in.ln_density(&away), away };
            let scores = stand_in.scores(&proposed.away);
            posterior.follow_from(scores.as_slice(), &here, matters_from[axis])
        } else {
            let fewer = if chance.unit() < IN_FULL { 0.0 } else { FEWER * chance.exponential() };
            for _ in 0..(between * libm::exp(-fewer)).max(FEWEST) as usize {
                wander(&mut proposed, &stand_in, &hidden, chance);
            }
            posterior.follow(stand_in.scores(&proposed.away).as_slice())
        };
        // What wandered over the stand-in has to make good for the stand-in's own preferences.
        let wandered = if directly { 0.0 } else { proposed.ln_stand_in - place.ln_stand_in };
        let ln_ratio =
            there.as_ref().map_or(f64::NEG_INFINITY, |t| t.ln_density - here.ln_density - wandered);
        let taken = libm::log(chance.unit()) < ln_ratio;
        if let (true, Some(there)) = (taken, there) {
            (place, here) = (proposed, there);
        }
        if question < SETTLING && !directly {
            let by = 0.1 * (f64::from(u8::from(taken)) - TAKEN);
            between = (between * libm::exp(by)).clamp(BETWEEN.0, most);
        }
        if question >= SETTLING && (question - SETTLING) % thin == thin - 1 {
            draws.push(Draw { scores: stand_in.scores(&place.away), now: here.now, look: here.look });
        }
    }
    Some(draws)
}

/// Draws from the normal at the mode, in pairs on its two sides, of which those remain that the posterior itself makes
/// likelier: as far as its curvature tells, for a fraction of a chain's questions. `None` if the curvature has no inverse.
///
/// Weighed in full (importance resampling) a handful would outweigh all others in so many dimensions, so that the weights are
/// tempered.
pub(super) fn near_mode(
    posterior: &Posterior<'_>,
    mode: &Mode,
    count: usize,
    chance: &mut Chance,
) -> Option<Vec<Draw>> {
    let lower = Cholesky::new(mode.precision.inverse())?.unpack();
    let mut tried: Vec<(f64, Draw)> = Vec::with_capacity(TRIED_FOR_EACH * count);
    for _ in 0..TRIED_FOR_EACH * count / 2 {
        let z = DVector::from_fn(mode.scores.len(), |_, _| chance.normal());
        let away = &lower * &z;
        for scores in [&mode.scores + &away, &mode.scores - &away] {
            // Where no water follows there is no tub to plan for.
            if let Some(there) = posterior.follow(scores.as_slice()) {
                let ln_weight = there.ln_density + 0.5 * z.norm_squared();
                tried.push((ln_weight, Draw { scores, now: there.now, look: there.look }));
            }
        }
    }
    let most = tried.iter().map(|(w, _)| *w).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = tried.iter().map(|(w, _)| libm::exp(TEMPERED * (w - most))).collect();
    let kept = resampled(&weights, count, chance).into_iter();
    let draws: Vec<Draw> = kept.filter_map(|i| tried.get(i)).map(|(_, draw)| draw.clone()).collect();
    (!draws.is_empty()).then_some(draws)
}

/// Systematic resampling: places among some weights, each about as often as it weighs, by one random number and evenly spaced.
pub(super) fn resampled(weights: &[f64], count: usize, chance: &mut Chance) -> Vec<usize> {
    let sum: f64 = weights.iter().sum();
    let (mut places, mut i, mut passed, offset) = (Vec::with_capacity(count), 0, 0.0, chance.unit());
    for k in 0..count {
        let place = (k as f64 + offset) / count as f64 * sum;
        while i + 1 < weights.len() && passed + weights[i] < place {
            passed += weights[i];
            i += 1;
        }
        places.push(i);
    }
    places
}
