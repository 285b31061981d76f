//! A cheap stand-in for the posterior: what each reading should be, as a parabola (of its logarithm for free chlorine, which
//! is a product of things and never below nothing), with the true prior and the true heavy-tailed errors. A hundred of these
//! cost as much as following the tub once or twice.
//!
//! It is laid through the mode and the places one standard deviation away from it along each axis of the normal there, both ways,
//! and along those axes two by two that bend most: so it is right where the posterior is, not only at its top.

use super::likelihood::residual;
use super::mode::Mode;
use super::posterior::Posterior;
use crate::quantity::Quantity as Q;
use nalgebra::{Cholesky, DMatrix, DVector};

/// Free chlorine below which its logarithm is no longer a smooth line in anything, mg/L.
const LEAST_MG_L: f64 = 0.05;
/// Axes whose twists with each other are looked at.
const BENT: usize = 12;

/// The stand-in.
pub(super) struct StandIn<'a, 'p> {
    posterior: &'a Posterior<'p>,
    mode: &'a Mode,
    /// Scores by standard deviations, and back.
    pub(super) lower: DMatrix<f64>,
    pub(super) inverse: DMatrix<f64>,
    /// What the water is at the mode, as a line or its logarithm.
    here: DVector<f64>,
    is_logarithm: Vec<bool>,
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
        let readings = &posterior.history.observed;
        let is_logarithm: Vec<bool> = readings
            .iter()
            .zip(&mode.outcome.water)
            .map(|(o, water)| o.quantity == Q::FreeChlorine && *water > LEAST_MG_L)
            .collect();
        let form = |water: &[f64]| {
            DVector::from_fn(m, |i, _| {
                if is_logarithm[i] { libm::log(water[i].max(0.2 * LEAST_MG_L)) } else { water[i] }
            })
        };
        let here = form(&mode.outcome.water);
        let at = |away: &[(usize, f64)]| {
            let mut scores = mode.scores.clone();
            for (axis, by) in away {
                scores.axpy(*by, &lower.column(*axis), 1.0);
            }
            posterior.follow(scores.as_slice()).map(|there| form(&there.water) - &here)
        };
        let of_bias = |j: usize| posterior.is_of_readings(j);
        let along = DMatrix::from_fn(m, n, |i, j| if of_bias(j) { mode.slopes[(i, j)] } else { 0.0 });
        let bias_slope = &along * &lower;
        // Where there is no water on both sides, the line at the mode has to do.
        let mut slope = &mode.slopes * &lower - &bias_slope;
        for i in (0..m).filter(|i| is_logarithm[*i]) {
            slope.row_mut(i).unscale_mut(mode.outcome.water[i]);
        }
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
        // How much an axis bends, in the readings' own errors.
        let bends = |j: usize| -> f64 {
            let each = mode.outcome.residuals.iter().enumerate();
            each.map(|(i, r)| {
                let unit = if is_logarithm[i] { mode.outcome.water[i] } else { 1.0 };
                (bend[(i, j)] * unit * r.per_unit).powi(2)
            })
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
        Some(StandIn {
            posterior,
            mode,
            lower,
            inverse,
            here,
            is_logarithm,
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

    /// ln of its density at such a place, without the posterior's constant.
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
        let mut sum = -0.5 * self.scores(away).norm_squared();
        for (i, o) in history.observed.iter().enumerate() {
            let water = if self.is_logarithm[i] { libm::exp(water[i].clamp(-20.0, 5.0)) } else { water[i] };
            sum += residual(o, water + bias[i], history.kits.get(o.kit), 1.0).ln_density;
        }
        sum
    }
}
