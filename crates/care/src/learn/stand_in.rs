//! A cheap stand-in for the posterior near its mode: what each reading should be, as a straight line in the scores (its
//! logarithm for free chlorine, which is a product of things and never below nothing), with the true prior and the true
//! heavy-tailed errors. A thousand of these cost as much as following the tub once or twice.

use super::likelihood::residual;
use super::mode::Mode;
use super::parameter::Name;
use super::posterior::Posterior;
use crate::quantity::Quantity as Q;
use nalgebra::{DMatrix, DVector};

/// Free chlorine below which its logarithm is no longer a straight line in anything, mg/L.
const LEAST_MG_L: f64 = 0.05;

/// The stand-in.
pub(super) struct StandIn<'a, 'p> {
    posterior: &'a Posterior<'p>,
    mode: &'a Mode,
    /// Slopes of the water itself, and of the kits' biases.
    of_water: DMatrix<f64>,
    of_bias: DMatrix<f64>,
    /// What the water itself is at the mode, where it goes by its logarithm.
    by_logarithm: Vec<Option<f64>>,
}

impl<'a, 'p> StandIn<'a, 'p> {
    pub(super) fn new(posterior: &'a Posterior<'p>, mode: &'a Mode) -> Self {
        let mut of_water = mode.slopes.clone();
        let mut of_bias = mode.slopes.clone();
        for (j, p) in posterior.parameters.iter().enumerate() {
            let other =
                if matches!(p.name, Name::Bias(_) | Name::Drift(_)) { &mut of_water } else { &mut of_bias };
            other.column_mut(j).fill(0.0);
        }
        let bias = &of_bias * &mode.scores;
        let observed = posterior.history.observed.iter().zip(&mode.outcome.expected).enumerate();
        let by_logarithm = observed
            .map(|(i, (o, expected))| {
                let water = expected - bias[i];
                (o.quantity == Q::FreeChlorine && water > LEAST_MG_L).then_some(water)
            })
            .collect();
        StandIn { posterior, mode, of_water, of_bias, by_logarithm }
    }

    /// ln of its density, without the posterior's constant.
    pub(super) fn ln_density(&self, scores: &DVector<f64>) -> f64 {
        let away = scores - &self.mode.scores;
        let (water, bias) = (&self.of_water * &away, &self.of_bias * &away);
        let history = self.posterior.history;
        let mut sum = -0.5 * scores.norm_squared();
        for (i, o) in history.observed.iter().enumerate() {
            let at_mode = self.mode.outcome.expected[i];
            let expected = match self.by_logarithm[i] {
                Some(here) => {
                    at_mode - here + here * libm::exp((water[i] / here).clamp(-20.0, 5.0)) + bias[i]
                }
                None => at_mode + water[i] + bias[i],
            };
            sum += residual(o, expected, history.kits.get(o.kit), 1.0).ln_density;
        }
        sum
    }
}
