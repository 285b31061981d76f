//! How well a reading agrees with a water: Student's t with four degrees of freedom, so that one wrong reading is
//! outvoted instead of pulling everything with it.

use super::history::{Kit, Observed, Said};
use crate::quantity::Quantity as Q;

/// Degrees of freedom (judgement: heavy enough to let a blunder go, near enough to normal to count errors as errors).
pub(super) const FREEDOM: f64 = 4.0;
/// The scale at which t's quartiles are those of a normal with standard error 1: 0.6745/0.7407.
const SCALE: f64 = 0.911;

/// Distance of a reading from what the model says it should be, in scales; how it bears on the mode is [`Residual`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Residual {
    /// (expected − read)/scale.
    pub(super) z: f64,
    /// 1/scale: what z moves by for each unit of the quantity.
    pub(super) per_unit: f64,
    /// Its share in the curvature at the mode; 0 for a limit that is kept.
    pub(super) weight: f64,
    /// How ln of the scale follows ln of the kit's error; 0 for a limit, and for a kit that is taken at its word.
    pub(super) of_kit: f64,
    /// ln of the density, without its constant.
    pub(super) ln_density: f64,
}

/// Fisher's information of ln of the scale, for each reading: 2ν/(ν + 3) (Lange, Little & Taylor 1989, J. Am. Stat. Assoc.
/// 84:881, from memory).
pub(super) const OF_SCALE: f64 = 2.0 * FREEDOM / (FREEDOM + 3.0);

/// How a reading counts.
#[derive(Clone, Copy)]
pub(super) struct By<'a> {
    pub(super) kit: Option<&'a Kit>,
    /// The kit's errors as a multiple of what it promises.
    pub(super) error: f64,
    /// All errors taken so many times as large as they are.
    pub(super) blur: f64,
}

/// Standard error of a limit ("more than", "less than"): where between two marks the eye decides.
fn limit_error(q: Q, limit: f64, kit: Option<&Kit>) -> f64 {
    let own = kit.map_or(0.0, |k| k.bias_error);
    let usual = if q == Q::Ph { 0.15 } else { 0.1 * limit };
    own.max(usual).max(1e-6)
}

/// The scale of a reading's distance, and how its logarithm follows that of the kit's error.
pub(super) fn scale(standard_error: f64, burst: f64, error: f64) -> (f64, f64) {
    let kit = (error * standard_error).max(1e-6);
    if burst == 0.0 {
        return (SCALE * kit, 1.0);
    }
    let whole = kit * kit + burst * burst;
    (SCALE * whole.sqrt(), kit * kit / whole)
}

/// A reading against what it should be with the kit's bias in it.
pub(super) fn residual(observed: &Observed, expected: f64, by: By<'_>) -> Residual {
    let By { kit, error, blur } = by;
    match observed.said {
        Said::Value { value, standard_error } => {
            let (scale, of_kit) = scale(standard_error, observed.burst, error);
            let scale = blur * scale;
            let z = (expected - value) / scale;
            let spread = 1.0 + z * z / FREEDOM;
            Residual {
                z,
                per_unit: 1.0 / scale,
                weight: (FREEDOM + 1.0) / FREEDOM / spread,
                of_kit: if kit.is_some_and(|k| k.by_hand) { of_kit } else { 0.0 },
                ln_density: -0.5 * (FREEDOM + 1.0) * libm::log(spread) - libm::log(scale),
            }
        }
        Said::Below(limit) => beyond(expected, limit, blur * limit_error(observed.quantity, limit, kit), 1.0),
        Said::Above(limit) => {
            beyond(expected, limit, blur * limit_error(observed.quantity, limit, kit), -1.0)
        }
    }
}

/// The densities of many readings' distances: a logarithm of a product of many is one logarithm.
pub(super) struct Distances {
    product: f64,
    scales: f64,
    ln_density: f64,
}

impl Distances {
    pub(super) fn none() -> Self {
        Distances { product: 1.0, scales: 1.0, ln_density: 0.0 }
    }

    /// One more, of a scale.
    pub(super) fn add(&mut self, distance: f64, scale: f64) {
        let z = distance / scale;
        self.product *= 1.0 + z * z / FREEDOM;
        self.scales *= scale;
        if self.product > 1e150 || !(1e-150..1e150).contains(&self.scales) {
            self.ln_density = self.ln_density();
            (self.product, self.scales) = (1.0, 1.0);
        }
    }

    pub(super) fn ln_density(&self) -> f64 {
        self.ln_density - 0.5 * (FREEDOM + 1.0) * libm::log(self.product) - libm::log(self.scales)
    }
}

/// A limit: the density is the chance that the reading lies beyond it.
fn beyond(expected: f64, limit: f64, scale: f64, sign: f64) -> Residual {
    let z = (expected - limit) / scale;
    let chance = cumulative(-sign * z).max(1e-12);
    // Only a limit that is broken pulls at the mode.
    let broken = sign * z > 0.0;
    Residual {
        z: if broken { z } else { 0.0 },
        per_unit: 1.0 / scale,
        weight: if broken { (FREEDOM + 1.0) / FREEDOM / (1.0 + z * z / FREEDOM) } else { 0.0 },
        of_kit: 0.0,
        ln_density: libm::log(chance),
    }
}

/// Student's t distribution function for four degrees of freedom, in closed form.
fn cumulative(t: f64) -> f64 {
    let s = 1.0 + t * t / 4.0;
    0.5 + 0.375 * t / s.sqrt() * (1.0 - t * t / (12.0 * s))
}

#[cfg(test)]
mod tests {
    use super::*;

    const AS_PROMISED: By<'_> = By { kit: None, error: 1.0, blur: 1.0 };

    /// Table of Student's t, four degrees of freedom (any statistics handbook): 0.741, 2.132, 2.776, 4.604.
    #[test]
    fn the_distribution_is_students() {
        for (t, p) in [(0.0, 0.5), (0.741, 0.75), (2.132, 0.95), (2.776, 0.975), (4.604, 0.995)] {
            assert!((cumulative(t) - p).abs() < 1e-4, "{t}: {}", cumulative(t));
            assert!((cumulative(-t) - (1.0 - p)).abs() < 1e-4);
        }
    }

    #[test]
    fn many_distances_are_each_together() {
        let mut many = Distances::none();
        let mut each = 0.0;
        for i in 0..400 {
            let value = 0.1 * f64::from(i) - 20.0;
            let observed = Observed {
                at_h: 0.0,
                quantity: Q::Ph,
                said: Said::Value { value, standard_error: 1.0 },
                kit: 0,
                burst: 0.0,
            };
            let r = residual(&observed, 0.0, AS_PROMISED);
            many.add(value, 1.0 / r.per_unit);
            each += r.ln_density;
        }
        assert!((many.ln_density() - each).abs() < 1e-9, "{} {each}", many.ln_density());
    }

    #[test]
    fn a_blunder_is_let_go_and_a_kept_limit_says_little() {
        let observed = |said| Observed { at_h: 0.0, quantity: Q::Ph, said, kit: 0, burst: 0.0 };
        let value = observed(Said::Value { value: 7.4, standard_error: 0.1 });
        let near = residual(&value, 7.5, AS_PROMISED);
        let far = residual(&value, 9.4, AS_PROMISED);
        assert!(far.weight < 0.02 * near.weight, "{} {}", far.weight, near.weight);
        let above = observed(Said::Above(8.2));
        assert!(residual(&above, 9.0, AS_PROMISED).ln_density > -0.01);
        assert!(residual(&above, 7.4, AS_PROMISED).ln_density < -4.0);
    }
}
