//! The posterior's mode and the curvature there.
//!
//! Each reading is taken as a straight line in the scores; the mode that these lines have is found by weighing them by their
//! distance again and again, as heavy tails ask (it costs no water), and the tub is followed there. What it shows beside
//! the lines mends them (Broyden 1965, Math. Comp. 19:577); they are drawn anew, one following a score, when they no longer
//! lead on, and at the mode.

use super::likelihood::{OF_SCALE, residual};
use super::parameter::Name;
use super::posterior::{Outcome, Posterior};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Followings at most.
const ROUNDS: usize = 60;
/// The same from afar.
const ROUNDS_FROM_AFAR: usize = 12;
/// Step of the differences, in scores.
const DIFFERENCE: f64 = 1e-4;
/// Settled when lines drawn anew promise, or give, no more than this, ln: draws and odds ask for no more.
const SETTLED: f64 = 0.05;
/// Lines that gave less than this share of what they promised are drawn anew.
const KEPT: f64 = 0.3;
/// Longest step of a score: far from the mode the lines are no guide.
const LONGEST: f64 = 2.0;
/// Parts of a step that are tried.
const PARTS: [f64; 4] = [1.0, 0.4, 0.15, 0.03];
/// Turns between how far kits err and all else.
const TURNS: usize = 2;
/// Weighings of the lines at most, and the step at which they have settled.
const WEIGHINGS: usize = 12;
const WEIGHED: f64 = 0.01;

/// The mode.
pub(super) struct Mode {
    pub(super) scores: DVector<f64>,
    pub(super) outcome: Outcome,
    /// The inverse covariance there, as its Cholesky factor.
    pub(super) precision: Cholesky<f64, Dyn>,
    /// What each reading should be by each score: the rows are readings.
    pub(super) slopes: DMatrix<f64>,
}

/// How near a climb has to come.
#[derive(Clone, Copy, PartialEq)]
enum Aim {
    /// The rough place will do: where the lines lead no further it ends, however old they are.
    Roughly,
    /// The place itself, which lines drawn anew must confirm.
    Precisely,
}

/// A place on the way.
struct Place {
    scores: DVector<f64>,
    outcome: Outcome,
    slopes: DMatrix<f64>,
}

/// The blurs of the looks from afar. With heavy tails readings that lie many errors away hardly pull: seen with larger errors
/// they are near, and all of them show the way.
const FROM_AFAR: [f64; 2] = [8.0, 2.5];

/// A place from which water follows: the prior's middle, or, where that uses more alkalinity than there was because nobody wrote
/// down what went in, a tub that uses little.
pub(super) fn start_from_afar(posterior: &Posterior<'_>) -> Option<DVector<f64>> {
    let middle = DVector::zeros(posterior.parameters.len());
    let frugal = DVector::from_iterator(middle.len(), posterior.parameters.iter().map(|p| frugal(&p.name)));
    [middle, frugal].into_iter().find(|s| posterior.follow(s.as_slice()).is_some())
}

/// Climbs from afar; `None` as in [`find`].
pub(super) fn find_from_afar(posterior: &Posterior<'_>) -> Option<Mode> {
    let mut scores = start_from_afar(posterior)?;
    let mut slopes = None;
    for blur in FROM_AFAR {
        let there = climb(&posterior.blurred(blur), scores, slopes, Aim::Roughly)?;
        (scores, slopes) = (there.scores, Some(there.slopes));
    }
    find(posterior, scores, slopes)
}

/// The score of a tub with much water that uses little chlorine, and with it little alkalinity.
fn frugal(name: &Name) -> f64 {
    match name {
        Name::Demand | Name::Bather | Name::Measure(_) => -2.0,
        Name::SourceAlkalinity | Name::StartAlkalinity | Name::Volume => 1.0,
        _ => 0.0,
    }
}

/// Climbs from `start`, with the lines there if something near to them is known; `None` if no water follows from the start,
/// or the curvature has no factor.
pub(super) fn find(
    posterior: &Posterior<'_>,
    start: DVector<f64>,
    slopes: Option<DMatrix<f64>>,
) -> Option<Mode> {
    let Place { scores, outcome, slopes } = climb(posterior, start, slopes, Aim::Precisely)?;
    let (_, precision) = curvature(posterior, &slopes, &outcome.expected, &scores);
    Some(Mode { precision: Cholesky::new(precision)?, slopes, scores, outcome })
}

/// Climbs for some followings at most.
fn climb(
    posterior: &Posterior<'_>,
    start: DVector<f64>,
    slopes: Option<DMatrix<f64>>,
    aim: Aim,
) -> Option<Place> {
    let rounds = if aim == Aim::Precisely { ROUNDS } else { ROUNDS_FROM_AFAR };
    let outcome = posterior.follow(start.as_slice())?;
    let mut fresh = slopes.is_none();
    let slopes = slopes.unwrap_or_else(|| draw_lines(posterior, &start, &outcome));
    let mut place = Place { scores: start, outcome, slopes };
    let mut followed = 0;
    while followed < rounds {
        let (step, promised) = lines_mode(posterior, &place)?;
        let mut gained = 0.0;
        if promised > SETTLED {
            for part in PARTS {
                followed += 1;
                let by = &step * part;
                let there = &place.scores + &by;
                let Some(outcome) = posterior.follow(there.as_slice()) else { continue };
                // What the lines had not foreseen, wherever the step led.
                let was = &place.outcome.expected;
                let seen = DVector::from_fn(was.len(), |i, _| outcome.expected[i] - was[i]);
                let missed = (seen - &place.slopes * &by) / by.norm_squared();
                place.slopes.ger(1.0, &missed, &by, 1.0);
                if outcome.ln_density > place.outcome.ln_density {
                    gained = outcome.ln_density - place.outcome.ln_density;
                    (place.scores, place.outcome) = (there, outcome);
                    break;
                }
            }
        }
        if (fresh || aim == Aim::Roughly) && gained <= SETTLED {
            break;
        }
        fresh = gained < KEPT * promised || gained <= SETTLED;
        if fresh {
            place.slopes = draw_lines(posterior, &place.scores, &place.outcome);
        }
    }
    Some(place)
}

/// The step to the mode of the lines, and how much it promises, ln.
fn lines_mode(posterior: &Posterior<'_>, place: &Place) -> Option<(DVector<f64>, f64)> {
    let Place { scores, outcome, slopes } = place;
    let mut step: DVector<f64> = DVector::zeros(scores.len());
    let mut expected = DVector::from_column_slice(&outcome.expected);
    for _ in 0..WEIGHINGS {
        let (gradient, precision) = curvature(posterior, slopes, expected.as_slice(), &(scores + &step));
        let more = Cholesky::new(precision)?.solve(&gradient);
        step += &more;
        let longest = step.amax();
        if longest > LONGEST {
            step *= LONGEST / longest;
        }
        expected = DVector::from_column_slice(&outcome.expected) + slopes * &step;
        if more.amax() < WEIGHED || longest > LONGEST {
            break;
        }
    }
    let kits = posterior.kits(&(scores + &step));
    let readings = posterior.history.observed.iter().zip(expected.iter());
    let there: f64 = readings.map(|(o, e)| residual(o, *e, posterior.by(o, &kits)).ln_density).sum::<f64>()
        - 0.5 * (scores + &step).norm_squared();
    Some((step, there - outcome.ln_density))
}

/// What each reading should be by each score, by differences.
pub(super) fn draw_lines(
    posterior: &Posterior<'_>,
    scores: &DVector<f64>,
    outcome: &Outcome,
) -> DMatrix<f64> {
    let mut slopes = DMatrix::zeros(outcome.expected.len(), scores.len());
    for (j, from_h) in posterior.matters_from().into_iter().enumerate() {
        draw_line(posterior, scores, outcome, from_h, &mut slopes, j);
    }
    slopes
}

/// The column of one score, which matters from an hour on.
fn draw_line(
    posterior: &Posterior<'_>,
    scores: &DVector<f64>,
    outcome: &Outcome,
    from_h: f64,
    slopes: &mut DMatrix<f64>,
    j: usize,
) {
    let step = |by: f64| {
        let mut moved = scores.clone();
        moved[j] += by;
        posterior.follow_from(moved.as_slice(), outcome, from_h).map(|there| (by, there))
    };
    // At the edge of what the chemistry covers there may be a water on one side only, or on neither.
    let inwards = if scores[j] > 0.0 { -DIFFERENCE } else { DIFFERENCE };
    let Some((by, there)) = step(inwards).or_else(|| step(-inwards)) else { return };
    for (i, (there, here)) in there.expected.iter().zip(&outcome.expected).enumerate() {
        slopes[(i, j)] = (there - here) / by;
    }
}

/// The lines with those drawn that are not known yet: of the scores from `known` on. `None` if no water follows there.
pub(super) fn with_more(
    posterior: &Posterior<'_>,
    scores: &DVector<f64>,
    slopes: &DMatrix<f64>,
    known: usize,
) -> Option<DMatrix<f64>> {
    let outcome = posterior.follow(scores.as_slice())?;
    let mut all = slopes.clone().resize_horizontally(scores.len(), 0.0);
    for (j, from_h) in posterior.matters_from().into_iter().enumerate().skip(known) {
        draw_line(posterior, scores, &outcome, from_h, &mut all, j);
    }
    Some(all)
}

/// From the mode where kits err as they promise to one where they err as far as the readings say.
///
/// Not the highest place of all: the more is fitted to few readings, the smaller their errors seem at the very top. How far kits err
/// is taken where the density is greatest once all else is integrated over (by the normal that the curvature says), and all else
/// where it is greatest then.
pub(super) fn find_errors(
    posterior: &mut Posterior<'_>,
    start: DVector<f64>,
    slopes: DMatrix<f64>,
) -> Option<Mode> {
    let mut place = Place { outcome: posterior.follow(start.as_slice())?, scores: start, slopes };
    for _ in 0..TURNS {
        let scores = errors_there(posterior, &place)?;
        posterior.holds_errors = true;
        let there = climb(posterior, scores, Some(place.slopes), Aim::Precisely);
        posterior.holds_errors = false;
        place = there?;
    }
    let Place { scores, outcome, slopes } = place;
    let (_, precision) = curvature(posterior, &slopes, &outcome.expected, &scores);
    Some(Mode { precision: Cholesky::new(precision)?, slopes, scores, outcome })
}

/// A place's scores with those of the errors moved to where the lines have them.
fn errors_there(posterior: &Posterior<'_>, place: &Place) -> Option<DVector<f64>> {
    let Place { scores, outcome, slopes } = place;
    let errors = posterior.errors();
    let of: Vec<usize> = errors.iter().map(|e| e.score).collect();
    let mut step: DVector<f64> = DVector::zeros(scores.len());
    for _ in 0..WEIGHINGS {
        let there = scores + &step;
        let expected = DVector::from_column_slice(&outcome.expected) + slopes * &step;
        let (mut gradient, precision) = curvature(posterior, slopes, expected.as_slice(), &there);
        let block = DMatrix::from_fn(of.len(), of.len(), |a, b| precision[(of[a], of[b])]);
        let factor = Cholesky::new(precision)?.l();
        let kits = posterior.kits(&there);
        for (i, (o, e)) in posterior.history.observed.iter().zip(expected.iter()).enumerate() {
            let r = residual(o, *e, posterior.by(o, &kits));
            // What z² lacks where all else was fitted to the readings: the spread of what is expected, in scales.
            let row = slopes.row(i).transpose() * (r.weight.sqrt() * r.per_unit);
            let lacks = factor.solve_lower_triangular(&row)?.norm_squared();
            for of_this in errors.iter().filter(|e| e.is_of(o)) {
                gradient[of_this.score] += lacks * r.of_kit * of_this.ln_sd;
            }
        }
        let by = DVector::from_iterator(of.len(), of.iter().map(|j| gradient[*j]));
        let more = Cholesky::new(block)?.solve(&by);
        for (j, more) in of.iter().zip(more.iter()) {
            step[*j] = (step[*j] + more).clamp(-LONGEST, LONGEST);
        }
        if more.amax() < WEIGHED {
            break;
        }
    }
    Some(scores + step)
}

/// Gradient of the ln density and the Gauss-Newton precision, where readings should be as `expected` says.
fn curvature(
    posterior: &Posterior<'_>,
    slopes: &DMatrix<f64>,
    expected: &[f64],
    scores: &DVector<f64>,
) -> (DVector<f64>, DMatrix<f64>) {
    let kits = posterior.kits(scores);
    let errors = posterior.errors();
    let (m, n) = slopes.shape();
    let (mut pull, mut root) = (DVector::zeros(m), DVector::zeros(m));
    let (mut of_scales, mut known) = (DVector::zeros(n), DMatrix::identity(n, n));
    for (i, (o, e)) in posterior.history.observed.iter().zip(expected).enumerate() {
        let r = residual(o, *e, posterior.by(o, &kits));
        pull[i] = -r.weight * r.z * r.per_unit;
        root[i] = r.weight.sqrt() * r.per_unit;
        if r.of_kit > 0.0 {
            let of_this = || errors.iter().filter(|e| e.is_of(o));
            for one in of_this() {
                of_scales[one.score] += (r.weight * r.z * r.z - 1.0) * r.of_kit * one.ln_sd;
                for other in of_this() {
                    known[(one.score, other.score)] +=
                        OF_SCALE * r.of_kit * r.of_kit * one.ln_sd * other.ln_sd;
                }
            }
        }
    }
    let mut weighted = slopes.clone();
    for mut column in weighted.column_iter_mut() {
        column.component_mul_assign(&root);
    }
    let (mut gradient, mut precision) =
        (slopes.tr_mul(&pull) + of_scales - scores, weighted.tr_mul(&weighted) + known);
    if posterior.holds_errors {
        for j in errors.iter().map(|e| e.score) {
            gradient[j] = 0.0;
            precision.row_mut(j).fill(0.0);
            precision.column_mut(j).fill(0.0);
            precision[(j, j)] = 1.0;
        }
    }
    (gradient, precision)
}
