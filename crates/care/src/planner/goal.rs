//! What a plan is judged by: for each quantity its band, where to end in it, and what a miss costs.
//!
//! A miss is the distance from the band in half band widths, times the consequence of missing. Costs are counted in
//! whole levels, so that a plan is not made longer for a gain that nobody could measure.

use crate::band::Band;
use crate::quantity::Quantity as Q;

/// One level of a band miss, and of an expected miss: 0.08 is 1.4 mg/L of total alkalinity outside its aim (weight 2,
/// half band width 35), or a chance of about one in fifteen that pH ends above its band.
const BAND_LEVEL: f64 = 0.02;
const EXPECTED_LEVEL: f64 = 0.08;

/// What the arithmetic of an expected miss may leave.
const ROUNDING: f64 = 1e-9;

/// One quantity's goal.
#[derive(Debug, Clone)]
pub(crate) struct Goal {
    pub(crate) quantity: Q,
    pub(crate) low: f64,
    pub(crate) high: f64,
    /// Where to end: `None` if the quantity is left where it is inside its band.
    pub(crate) aim: Option<(f64, f64)>,
    /// Consequence of ending below or above the band.
    weight_below: f64,
    weight_above: f64,
    half_width: f64,
    /// Bathing limits; outside them the plan is unsafe.
    pub(crate) bathing: (f64, f64),
}

/// Consequence of missing a band, relative (judgement): disease first, then skin and eyes and the disinfectant's
/// strength, then scale and corrosion, then comfort. What only fresh water lowers weighs half as much again above.
fn weights(q: Q) -> (f64, f64) {
    match q {
        Q::FreeChlorine | Q::TotalBromine => (8.0, 4.0),
        Q::Ph => (6.0, 6.0),
        Q::CombinedChlorine => (4.0, 4.0),
        Q::CyanuricAcid => (2.0, 3.0),
        Q::SaturationIndex => (1.5, 3.0),
        Q::Salt => (2.0, 3.0),
        Q::CalciumHardness => (1.5, 2.25),
        _ => (2.0, 2.0),
    }
}

impl Goal {
    pub(crate) fn new(quantity: Q, band: &Band, aim: Option<(f64, f64)>, bathing: (f64, f64)) -> Self {
        let (weight_below, weight_above) = weights(quantity);
        let least_width = match quantity {
            Q::Ph => 0.2,
            Q::SaturationIndex => 0.2,
            Q::FreeChlorine | Q::TotalBromine => 1.0,
            Q::CombinedChlorine => 0.2,
            _ => 20.0,
        };
        Goal {
            quantity,
            low: band.low,
            high: band.high,
            aim,
            weight_below,
            weight_above,
            half_width: (0.5 * (band.high - band.low)).max(least_width),
            bathing,
        }
    }

    /// Cost of one unit of the quantity, about.
    pub(crate) fn slope(&self) -> f64 {
        self.weight_below.max(self.weight_above) / self.half_width
    }

    /// Cost of ending outside the band at `value`, no error counted.
    pub(crate) fn band_miss(&self, value: f64) -> f64 {
        (self.weight_below * (self.low - value).max(0.0) + self.weight_above * (value - self.high).max(0.0))
            / self.half_width
    }

    /// Expected cost under a normal error, and of ending outside the aim: convex in `value`, and it grows with the error.
    pub(crate) fn expected_miss(&self, value: f64, standard_error: f64) -> f64 {
        let band = self.weight_below * expected_excess(self.low - value, standard_error)
            + self.weight_above * expected_excess(value - self.high, standard_error);
        let aim = self.aim.map_or(0.0, |(low, high)| {
            self.weight_below * (low - value).max(0.0) + self.weight_above * (value - high).max(0.0)
        });
        (band + aim) / self.half_width
    }

    /// Where the expected cost is least, for this error: the cost is convex, so its least over any interval is at the
    /// point of the interval nearest to this.
    pub(crate) fn best_value(&self, standard_error: f64) -> f64 {
        let beyond = 2.0 * self.half_width + 2.0 * standard_error;
        let (mut a, mut b) = (self.low - beyond, self.high + beyond);
        for _ in 0..45 {
            let (p, q) = (a + (b - a) / 3.0, b - (b - a) / 3.0);
            if self.expected_miss(p, standard_error) <= self.expected_miss(q, standard_error) {
                b = q
            } else {
                a = p
            }
        }
        0.5 * (a + b)
    }

    /// Whole levels of the least expected cost between two values, for this error, looked for from `near`. The cost is
    /// convex, so a tangent bounds it from below: points are tried until that tells the level.
    pub(crate) fn least_levels(&self, from: f64, to: f64, standard_error: f64, near: f64) -> u32 {
        // Nothing is gained far out, where an interval has no end.
        let far = 100.0 * self.half_width;
        let from = if from.is_finite() { from } else { to.min(self.low) - far };
        let to = if to.is_finite() { to } else { from.max(self.high) + far };
        let (mut a, mut b) = (from.min(to), to);
        let mut at = near.clamp(a, b);
        let mut level = 0;
        // (Forty halvings are past every digit: reached only where a level's edge is met to its last one.)
        for _ in 0..40 {
            let cost = self.expected_miss(at, standard_error);
            let slope = self.slope_at(at, standard_error) / self.half_width;
            let end = if slope < 0.0 { b } else { a };
            let below = cost - slope.abs() * (end - at).abs() - ROUNDING;
            level = expected_levels(below.max(0.0));
            if level == expected_levels(cost) {
                break;
            }
            if slope < 0.0 {
                a = at
            } else {
                b = at
            }
            at = 0.5 * (a + b);
        }
        level
    }

    /// Sign and size of the expected cost's slope, in the cost of half a band width.
    fn slope_at(&self, value: f64, standard_error: f64) -> f64 {
        let (below, above) = self.risk(value, standard_error);
        let aim = self.aim.map_or(0.0, |(low, high)| {
            self.weight_above * f64::from(value > high) - self.weight_below * f64::from(value < low)
        });
        self.weight_above * above - self.weight_below * below + aim
    }

    /// Chance of ending below and above the band.
    pub(crate) fn risk(&self, value: f64, standard_error: f64) -> (f64, f64) {
        let above = |excess: f64| {
            let certain = excess.abs() >= CERTAIN * standard_error;
            if certain { f64::from(excess > 0.0) } else { normal_cdf(excess / standard_error) }
        };
        (above(self.low - value), above(value - self.high))
    }

    /// Whether bathing limits are broken.
    pub(crate) fn unsafe_at(&self, value: f64) -> bool {
        value < self.bathing.0 || value > self.bathing.1
    }
}

/// Whole levels of a band miss.
pub(crate) fn band_levels(miss: f64) -> u32 {
    (miss / BAND_LEVEL + 1e-9) as u32
}

/// Whole levels of an expected miss.
pub(crate) fn expected_levels(miss: f64) -> u32 {
    (miss / EXPECTED_LEVEL + 1e-9) as u32
}

/// So many standard errors off nothing is left to chance: 1e-9.
const CERTAIN: f64 = 6.0;

/// E[(x + ε)+] for a normal ε.
fn expected_excess(x: f64, sigma: f64) -> f64 {
    if sigma <= 0.0 {
        return x.max(0.0);
    }
    let z = x / sigma;
    if z.abs() >= CERTAIN {
        return x.max(0.0);
    }
    let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    (x * normal_cdf(z) + sigma * density).max(0.0)
}

/// The normal distribution function.
pub(crate) fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::{Place, Regime, default_band};

    fn chlorine() -> Goal {
        let band = default_band(Q::FreeChlorine, Regime::HandDosedChlorine, Place::Home).unwrap();
        Goal::new(Q::FreeChlorine, &band, Some((3.8, 5.0)), (1.0, 10.0))
    }

    #[test]
    fn a_larger_error_never_costs_less() {
        let goal = chlorine();
        for i in 0..100 {
            let value = f64::from(i) * 0.1;
            let mut last = 0.0;
            for s in 0..40 {
                let cost = goal.expected_miss(value, f64::from(s) * 0.05);
                assert!(cost >= last - 1e-12, "{value} {s}");
                last = cost;
            }
        }
    }

    /// Standard normal: E[(ε)+] = 1/√(2π); Φ(1.96) = 0.975.
    #[test]
    fn normal_tables_are_met() {
        assert!((expected_excess(0.0, 1.0) - 0.398_942).abs() < 1e-6);
        assert!((normal_cdf(1.959_964) - 0.975).abs() < 1e-6);
    }

    #[test]
    fn the_least_miss_of_an_interval_is_the_least_of_its_points() {
        let goal = chlorine();
        let inf = f64::INFINITY;
        for (from, to) in
            [(0.0, 1.0), (2.0, 3.5), (3.0, 5.0), (6.0, 9.0), (-inf, inf), (-inf, 2.0), (7.0, inf)]
        {
            for error in [0.0, 0.05, 0.4, 3.0] {
                let bound = goal.least_levels(from, to, error, goal.best_value(0.3));
                let points = (0..=2000).map(|i| -5.0 + f64::from(i) * 0.01);
                let least = points
                    .filter(|v| (from..=to).contains(v))
                    .map(|v| goal.expected_miss(v, error))
                    .fold(inf, f64::min);
                // The points lie a hundredth apart, a cost of less than one level.
                let least = expected_levels(least);
                assert!(bound <= least && bound + 1 >= least, "{from} {to} {error}: {bound} {least}");
            }
        }
    }

    #[test]
    fn the_point_nearest_to_the_best_value_is_the_least_of_its_interval() {
        let goal = chlorine();
        let best = goal.best_value(0.4);
        for (from, to) in [(0.0, 1.0), (2.0, 3.5), (3.0, 5.0), (6.0, 9.0)] {
            let bound = goal.expected_miss(best.clamp(from, to), 0.4);
            for i in 0..=100 {
                let v = from + (to - from) * f64::from(i) / 100.0;
                assert!(goal.expected_miss(v, 0.4) >= bound - 1e-9, "{v}");
            }
        }
    }
}
