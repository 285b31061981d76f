//! A cheap stand-in for the posterior: free chlorine as it is, because it asks nothing of the carbonates and can be followed by
//! itself, everything else that is read as a parabola; with the true prior and the true heavy-tailed errors. Some dozens of these
//! cost as much as following the tub once.
//!
//! The parabola is laid through the mode and the places one standard deviation away from it along each axis of the normal
//! there, both ways, and along those axes two by two that bend most: so it is right where the posterior is, not only at its top.

use super::history::Said;
use super::likelihood::{Distances, residual};
use super::mode::Mode;
use super::posterior::Posterior;
use crate::quantity::Quantity as Q;
use nalgebra::{Cholesky, DMatrix, DVector};

/// Axes whose twists with each other are looked at.
const BENT: usize = 12;

/// The stand-in.
pub(super) struct StandIn<'a, 'p> {
    posterior: &'a Posterior<'p>,
    mode: &'a Mode,
    /// Scores by standard deviations, and back.
    pub(super) lower: DMatrix<f64>,
    pub(super) inverse: DMatrix<f64>,
    /// One over each reading's scale.
    per_unit: Vec<f64>,
    /// What the water is at the mode.
    here: DVector<f64>,
    /// Its first and second differences along each axis.
    slope: DMatrix<f64>,
    bend: DMatrix<f64>,
    /// Its mixed differences along pairs of axes, and which.
    twist: DMatrix<f64>,
    pairs: Vec<(usize, usize)>,
    /// What the kits' biases are at the mode, and along each axis.
    bias: DVector<f64>,
    bias_slope: DMatrix<f64>,
}

impl<'a, 'p> StandIn<'a, 'p> {
    /// `None` if the curvature at the mode has no inverse.
    pub(super) fn new(posterior: &'a Posterior<'p>, mode: &'a Mode) -> Option<Self> {
        let lower = Cholesky::new(mode.precision.inverse())?.unpack();
        let inverse = lower.clone().try_inverse()?;
        let (m, n) = mode.slopes.shape();
        let here = DVector::from_column_slice(&mode.outcome.water);
        let at = |away: &[(usize, f64)]| {
            let mut scores = mode.scores.clone();
            for (axis, by) in away {
                scores.axpy(*by, &lower.column(*axis), 1.0);
            }
            let there = posterior.follow(scores.as_slice())?;
            Some(DVector::from_vec(there.water) - &here)
        };
        let of_bias = |j: usize| posterior.is_of_readings(j);
        let along = DMatrix::from_fn(m, n, |i, j| if of_bias(j) { mode.slopes[(i, j)] } else { 0.0 });
        let bias_slope = &along * &lower;
        // Where there is no water on both sides, the line at the mode has to do.
        let mut slope = &mode.slopes * &lower - &bias_slope;
        let mut bend = DMatrix::zeros(m, n);
        let mut ahead = Vec::with_capacity(n);
        for j in 0..n {
            let there = at(&[(j, 1.0)]);
            if let (Some(up), Some(down)) = (&there, at(&[(j, -1.0)])) {
                slope.set_column(j, &((up - &down) * 0.5));
                bend.set_column(j, &(up + &down));
            }
            ahead.push(there);
        }
        // How much an axis bends what is not followed by itself, in the readings' own errors.
        let bends = |j: usize| -> f64 {
            let each = mode.outcome.residuals.iter().zip(&posterior.history.observed).enumerate();
            each.filter(|(_, (_, o))| o.quantity != Q::FreeChlorine)
                .map(|(i, (r, _))| (bend[(i, j)] * r.per_unit).powi(2))
                .sum()
        };
        let mut axes: Vec<(f64, usize)> = (0..n).map(|j| (bends(j), j)).collect();
        axes.sort_by(|a, b| b.0.total_cmp(&a.0));
        axes.truncate(BENT);
        let (mut pairs, mut twists) = (Vec::new(), Vec::new());
        for (a, (_, j)) in axes.iter().enumerate() {
            for (_, k) in axes.iter().skip(a + 1) {
                if let (Some(both), Some(one), Some(other)) =
                    (at(&[(*j, 1.0), (*k, 1.0)]), &ahead[*j], &ahead[*k])
                {
                    pairs.push((*j, *k));
                    twists.push(both - one - other);
                }
            }
        }
        let twist = if twists.is_empty() { DMatrix::zeros(m, 0) } else { DMatrix::from_columns(&twists) };
        let expected = DVector::from_column_slice(&mode.outcome.expected);
        let bias = expected - DVector::from_column_slice(&mode.outcome.water);
        let per_unit = mode.outcome.residuals.iter().map(|r| r.per_unit).collect();
        Some(StandIn {
            posterior,
            mode,
            lower,
            inverse,
            per_unit,
            here,
            slope,
            bend,
            twist,
            pairs,
            bias,
            bias_slope,
        })
    }

    /// The scores at a place said in standard deviations from the mode.
    pub(super) fn scores(&self, away: &DVector<f64>) -> DVector<f64> {
        &self.mode.scores + &self.lower * away
    }

    /// ln of its density at such a place, without its constant.
    pub(super) fn ln_density(&self, away: &DVector<f64>) -> f64 {
        let history = self.posterior.history;
        let mut water = self.here.clone();
        water.gemv(1.0, &self.slope, away, 1.0);
        water.gemv(0.5, &self.bend, &away.map(|x| x * x), 1.0);
        let products =
            DVector::from_iterator(self.pairs.len(), self.pairs.iter().map(|(j, k)| away[*j] * away[*k]));
        water.gemv(1.0, &self.twist, &products, 1.0);
        let mut bias = self.bias.clone();
        bias.gemv(1.0, &self.bias_slope, away, 1.0);
        let scores = self.scores(away);
        let Some(chlorine) = self.posterior.chlorine(scores.as_slice()) else { return f64::NEG_INFINITY };
        let mut chlorine = chlorine.into_iter();
        let (mut sum, mut distances) = (-0.5 * scores.norm_squared(), Distances::none());
        for (i, o) in history.observed.iter().enumerate() {
            let read = if o.quantity == Q::FreeChlorine { chlorine.next() } else { None };
            let water = read.unwrap_or(water[i]);
            let expected = water + bias[i];
            match o.said {
                Said::Value { value, .. } => distances.add((expected - value) * self.per_unit[i]),
                _ => sum += residual(o, expected, history.kits.get(o.kit), 1.0).ln_density,
            }
        }
        sum + distances.ln_density()
    }
}
