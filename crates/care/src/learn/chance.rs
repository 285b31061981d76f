//! Chance by seed: the same seed gives the same numbers on every machine. The generator is a library's; the shapes are by the
//! textbook, because the library of shapes would bring the operating system's chance along.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of numbers.
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    pub(super) fn of(seed: u64) -> Chance {
        Chance(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly in 0 to 1, 1 excluded.
    pub(super) fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number below `count`; 0 if there is none.
    pub(super) fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// Exponential with mean 1.
    pub(super) fn exponential(&mut self) -> f64 {
        -libm::log(1.0 - self.unit())
    }

    /// Standard normal (Box and Muller 1958).
    pub(super) fn normal(&mut self) -> f64 {
        (2.0 * self.exponential()).sqrt() * libm::cos(std::f64::consts::TAU * self.unit())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Means and spreads over 20 000 numbers, within four of their standard errors.
    #[test]
    fn shapes_have_their_moments() {
        let chance = &mut Chance::of(1);
        let count = 20_000;
        let mut moments = |f: fn(&mut Chance) -> f64| {
            let all: Vec<f64> = (0..count).map(|_| f(chance)).collect();
            let mean = all.iter().sum::<f64>() / f64::from(count);
            (mean, all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(count))
        };
        let near = |a: f64, b: f64| (a - b).abs() < 4.0 * 1.7 / f64::from(count).sqrt();
        let (mean, spread) = moments(Chance::normal);
        assert!(near(mean, 0.0) && near(spread, 1.0), "{mean} {spread}");
        let (mean, spread) = moments(Chance::exponential);
        assert!(near(mean, 1.0) && (spread - 1.0).abs() < 0.1, "{mean} {spread}");
        let (mean, spread) = moments(Chance::unit);
        assert!(near(mean, 0.5) && near(spread, 1.0 / 12.0), "{mean} {spread}");
        assert!((0..1000).all(|_| chance.below(3) < 3) && chance.below(0) == 0);
    }
}
