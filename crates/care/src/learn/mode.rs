//! The posterior's mode and the curvature there: Gauss and Newton with Levenberg's damping, readings weighed by their
//! distance (iteratively reweighted, as heavy tails ask).

use super::posterior::{Outcome, Posterior};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

const ROUNDS: usize = 40;
/// From afar the rough place is enough.
const ROUNDS_FROM_AFAR: usize = 8;
/// Step of the differences, in scores.
const DIFFERENCE: f64 = 1e-4;
/// Settled when no score moves by more.
const SETTLED: f64 = 1e-3;

/// The mode.
pub(super) struct Mode {
    pub(super) scores: DVector<f64>,
    pub(super) outcome: Outcome,
    /// The inverse covariance there, as its Cholesky factor.
    pub(super) precision: Cholesky<f64, Dyn>,
    /// What each reading should be by each score: the rows are readings.
    pub(super) slopes: DMatrix<f64>,
}

/// The posterior's shape at some scores.
struct Curvature {
    gradient: DVector<f64>,
    precision: DMatrix<f64>,
    slopes: DMatrix<f64>,
}

/// The blurs of the looks from afar. With heavy tails readings that lie many errors away hardly pull: seen with larger errors
/// they are near, and all of them show the way.
const FROM_AFAR: [f64; 2] = [8.0, 2.5];

/// Climbs from the prior's middle; `None` as in [`find`].
pub(super) fn find_from_afar(posterior: &Posterior<'_>) -> Option<Mode> {
    let mut scores = DVector::zeros(posterior.parameters.len());
    for blur in FROM_AFAR {
        scores = climb(&posterior.blurred(blur), scores, ROUNDS_FROM_AFAR)?.0;
    }
    find(posterior, scores)
}

/// Climbs from `start`; `None` if no water follows from the start, or the curvature has no factor.
pub(super) fn find(posterior: &Posterior<'_>, start: DVector<f64>) -> Option<Mode> {
    let (scores, outcome) = climb(posterior, start, ROUNDS)?;
    let Curvature { precision, slopes, .. } = curvature(posterior, &scores, &outcome);
    Some(Mode { precision: Cholesky::new(precision)?, slopes, scores, outcome })
}

/// Climbs for some rounds at most.
fn climb(posterior: &Posterior<'_>, start: DVector<f64>, rounds: usize) -> Option<(DVector<f64>, Outcome)> {
    let mut scores = start;
    let mut outcome = posterior.follow(scores.as_slice())?;
    let mut damping = 1e-2;
    for _ in 0..rounds {
        let Curvature { gradient, precision, .. } = curvature(posterior, &scores, &outcome);
        let mut moved = None;
        for _ in 0..8 {
            let mut m = precision.clone();
            for i in 0..m.nrows() {
                m[(i, i)] *= 1.0 + damping;
            }
            let step = Cholesky::new(m)?.solve(&gradient);
            // A score does not leap: far from the mode the linear picture is no guide.
            let longest = step.amax();
            let step = if longest > 2.0 { step * (2.0 / longest) } else { step };
            let there = &scores + &step;
            match posterior.follow(there.as_slice()) {
                Some(better) if better.ln_density >= outcome.ln_density => {
                    damping = (damping * 0.3).max(1e-6);
                    moved = Some((there, better, step.amax()));
                    break;
                }
                _ => damping = (damping * 6.0).min(1e6),
            }
        }
        let Some((there, better, longest)) = moved else { break };
        (scores, outcome) = (there, better);
        if longest < SETTLED {
            break;
        }
    }
    Some((scores, outcome))
}

/// Gradient of the ln density and the Gauss-Newton precision.
fn curvature(posterior: &Posterior<'_>, scores: &DVector<f64>, outcome: &Outcome) -> Curvature {
    let (n, m) = (scores.len(), outcome.residuals.len());
    let mut slopes = DMatrix::zeros(m, n);
    for j in 0..n {
        let step = |by: f64| {
            let mut moved = scores.clone();
            moved[j] += by;
            posterior.follow(moved.as_slice()).map(|there| (by, there))
        };
        // At the edge of what the chemistry covers there may be a water on one side only, or on neither.
        let inwards = if scores[j] > 0.0 { -DIFFERENCE } else { DIFFERENCE };
        let Some((by, there)) = step(inwards).or_else(|| step(-inwards)) else { continue };
        for i in 0..m {
            slopes[(i, j)] = (there.expected[i] - outcome.expected[i]) / by;
        }
    }
    let mut scaled = slopes.clone();
    for (i, r) in outcome.residuals.iter().enumerate() {
        scaled.row_mut(i).scale_mut(r.per_unit);
    }
    let mut weighted = scaled.clone();
    for (i, r) in outcome.residuals.iter().enumerate() {
        weighted.row_mut(i).scale_mut(r.weight);
    }
    let z = DVector::from_iterator(m, outcome.residuals.iter().map(|r| r.z));
    Curvature {
        gradient: -(weighted.tr_mul(&z)) - scores,
        precision: weighted.tr_mul(&scaled) + DMatrix::identity(n, n),
        slopes,
    }
}
