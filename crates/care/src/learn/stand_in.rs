//! A cheap stand-in for the posterior: free chlorine as it is, because it asks nothing of the carbonates and can be followed by
//! itself, everything else that is read as a parabola; with the true prior and the true heavy-tailed errors. Some dozens of these
//! cost as much as following the tub once.
//!
//! The parabola is laid through the mode and the places one standard deviation away from it along each axis of the normal
//! there, both ways, and along those axes two by two that bend most: so it is right where the posterior is, not only at its top.

use super::history::Said;
use super::kits::Kits;
use super::likelihood::{Distances, residual, scale};
use super::mode::Mode;
use super::posterior::Posterior;
use crate::quantity::Quantity as Q;
use nalgebra::{Cholesky, DMatrix, DVector};

/// Axes whose twists with each other are looked at: those that bend most.
const BENT: usize = 12;

/// What bends no more than this, in the readings' own errors, squared and summed over them, is straight.
const STRAIGHT: f64 = 3e-3;

/// The stand-in.
pub(super) struct StandIn<'a, 'p> {
    posterior: &'a Posterior<'p>,
    mode: &'a Mode,
    /// Scores by standard deviations, and back.
    pub(super) lower: DMatrix<f64>,
    pub(super) inverse: DMatrix<f64>,
    /// What the water is there at the mode, and its first differences along each axis.
    here: DVector<f64>,
    slope: DMatrix<f64>,
    /// Its second and mixed differences, and along which two axes each is.
    bend: DMatrix<f64>,
    pairs: Vec<(usize, usize)>,
    /// Scores that are of the kits alone.
    of_kits: Vec<usize>,
}

impl<'a, 'p> StandIn<'a, 'p> {
    /// `None` if the curvature at the mode has no inverse.
    pub(super) fn new(posterior: &'a Posterior<'p>, mode: &'a Mode) -> Option<Self> {
        let lower = Cholesky::new(mode.precision.inverse())?.unpack();
        let inverse = lower.clone().try_inverse()?;
        let n = mode.slopes.ncols();
        let observed = &posterior.history.observed;
        let rows: Vec<usize> =
            (0..observed.len()).filter(|i| observed[*i].quantity != Q::FreeChlorine).collect();
        let of_rows = |water: &[f64]| DVector::from_iterator(rows.len(), rows.iter().map(|i| water[*i]));
        let here = of_rows(&mode.outcome.water);
        let at = |away: &[(usize, f64)]| {
            let mut scores = mode.scores.clone();
            for (axis, by) in away {
                scores.axpy(*by, &lower.column(*axis), 1.0);
            }
            Some(of_rows(&posterior.follow(scores.as_slice())?.water) - &here)
        };
        let of_kits: Vec<usize> = (0..n).filter(|j| posterior.is_of_readings(*j)).collect();
        // Where there is no water on both sides, the line at the mode has to do.
        let mut of_water = mode.slopes.select_rows(&rows);
        for j in &of_kits {
            of_water.fill_column(*j, 0.0);
        }
        let mut slope = of_water * &lower;
        let scales = of_rows(&mode.outcome.residuals.iter().map(|r| r.per_unit).collect::<Vec<_>>());
        // Each axis: how much it bends, in the readings' own errors; a step ahead along it; its second difference.
        let mut axes = Vec::with_capacity(n);
        let moves_water = |j: &usize| {
            lower.column(*j).iter().enumerate().any(|(i, x)| *x != 0.0 && !posterior.is_of_readings(i))
        };
        for j in (0..n).filter(moves_water) {
            if let (Some(up), Some(down)) = (at(&[(j, 1.0)]), at(&[(j, -1.0)])) {
                slope.set_column(j, &((&up - &down) * 0.5));
                let bend = &up + down;
                axes.push((bend.component_mul(&scales).norm_squared(), j, up, bend));
            }
        }
        axes.sort_by(|a, b| b.0.total_cmp(&a.0));
        let (mut pairs, mut bends) = (Vec::new(), Vec::new());
        let mut is_bent = |pair: (usize, usize), bend: DVector<f64>| {
            if bend.component_mul(&scales).norm_squared() > STRAIGHT {
                pairs.push(pair);
                bends.push(bend);
            }
        };
        for (a, (_, j, one, bend)) in axes.iter().enumerate() {
            is_bent((*j, *j), bend * 0.5);
            for (_, k, other, _) in axes.iter().take(BENT).skip(a + 1) {
                if let Some(both) = at(&[(*j, 1.0), (*k, 1.0)]) {
                    is_bent((*j, *k), both - one - other);
                }
            }
        }
        let bend =
            if bends.is_empty() { DMatrix::zeros(rows.len(), 0) } else { DMatrix::from_columns(&bends) };
        Some(StandIn { posterior, mode, lower, inverse, here, slope, bend, pairs, of_kits })
    }

    /// The scores at a place said in standard deviations from the mode.
    pub(super) fn scores(&self, away: &DVector<f64>) -> DVector<f64> {
        &self.mode.scores + &self.lower * away
    }

    /// ln of its density at such a place, without its constant.
    pub(super) fn ln_density(&self, away: &DVector<f64>) -> f64 {
        let history = self.posterior.history;
        let scores = self.scores(away);
        let chlorine = self.posterior.chlorine(scores.as_slice());
        let mut water = self.here.clone();
        water.gemv(1.0, &self.slope, away, 1.0);
        let products =
            DVector::from_iterator(self.pairs.len(), self.pairs.iter().map(|(j, k)| away[*j] * away[*k]));
        water.gemv(1.0, &self.bend, &products, 1.0);
        let of_kits = self.of_kits.iter().map(|j| (&self.posterior.parameters[*j], scores[*j]));
        let kits = Kits::of(history.kits.len(), of_kits);
        let (mut chlorine, mut water) = (chlorine.into_iter(), water.iter().copied());
        let (mut sum, mut distances) = (-0.5 * scores.norm_squared(), Distances::none());
        for o in &history.observed {
            let read = if o.quantity == Q::FreeChlorine { chlorine.next() } else { water.next() };
            let expected = read.unwrap_or(0.0) + kits.bias_of(o);
            match o.said {
                Said::Value { value, standard_error } => {
                    distances.add(expected - value, scale(standard_error, o.burst, kits.error(o.kit)).0);
                }
                _ => sum += residual(o, expected, self.posterior.by(o, &kits)).ln_density,
            }
        }
        sum + distances.ln_density()
    }
}
