//! Chance, by seed and by what it is for: the same seed gives the same weather, bathers and noise whatever the learner
//! does, because no draw waits for another of a different kind.
//!
//! Each purpose is a stream of its own of one ChaCha generator, whose numbers are the same on every machine; what is made
//! of them goes through `libm`, not through the platform's mathematics.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// What a stream is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum For {
    /// What the learner is told of the tub.
    Tub,
    /// What the tub is like in truth.
    Truth,
    /// What the kits of this game have in common: the lot of their reagents, the eye that reads them.
    Kit(u8),
    /// A product of the shelf, by place: its lot, how its capful is filled.
    Product(u8),
    /// Days of weather.
    Weather,
    /// Who bathes when.
    Bathers,
    /// What somebody in the house does without a note.
    Household,
    /// One reading: minute, kit, how many before it in the same minute.
    Reading {
        /// Minutes since the fill.
        minute: u32,
        /// Quantity and method, by place in the kit box.
        kit: u8,
        /// How many before.
        nth: u8,
    },
    /// One dose, likewise.
    Dose {
        /// Minutes since the fill.
        minute: u32,
        /// The product, by place on the shelf.
        product: u8,
        /// How many before.
        nth: u8,
    },
    /// One top-up.
    TopUp {
        /// Minutes since the fill.
        minute: u32,
    },
}

impl For {
    fn stream(self) -> u64 {
        let (tag, key): (u64, u64) = match self {
            For::Tub => (1, 0),
            For::Truth => (2, 0),
            For::Kit(kit) => (3, kit.into()),
            For::Product(product) => (4, product.into()),
            For::Weather => (5, 0),
            For::Bathers => (6, 0),
            For::Household => (7, 0),
            For::Reading { minute, kit, nth } => {
                (8, u64::from(minute) << 16 | u64::from(kit) << 8 | u64::from(nth))
            }
            For::Dose { minute, product, nth } => {
                (9, u64::from(minute) << 16 | u64::from(product) << 8 | u64::from(nth))
            }
            For::TopUp { minute } => (10, minute.into()),
        };
        tag << 56 | key
    }
}

/// A stream of chance.
#[derive(Debug, Clone)]
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn of(seed: u64, purpose: For) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(purpose.stream());
        Chance(rng)
    }

    /// Evenly in 0 to 1, 1 excluded.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly in the logarithm.
    pub(crate) fn log_between(&mut self, low: f64, high: f64) -> f64 {
        low * libm::pow(high / low, self.unit())
    }

    pub(crate) fn happens(&mut self, chance: f64) -> bool {
        self.unit() < chance
    }

    /// 0 to n − 1.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }

    /// Two-sided exponential about 0; its mean distance from 0 is `mean`, its standard deviation √2 times that.
    pub(crate) fn laplace(&mut self, mean: f64) -> f64 {
        let u = self.unit() - 0.5;
        -mean * u.signum() * libm::log((1.0 - 2.0 * u.abs()).max(1e-300))
    }

    /// Exponential with this mean.
    pub(crate) fn exponential(&mut self, mean: f64) -> f64 {
        -mean * libm::log((1.0 - self.unit()).max(1e-300))
    }

    /// A triangle from `low` over `most_often` to `high`.
    pub(crate) fn triangle(&mut self, low: f64, most_often: f64, high: f64) -> f64 {
        let (u, width) = (self.unit(), high - low);
        let turn = (most_often - low) / width;
        if u < turn {
            low + libm::sqrt(u * width * (most_often - low))
        } else {
            high - libm::sqrt((1.0 - u) * width * (high - most_often))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const N: usize = 20_000;

    #[test]
    fn a_stream_is_the_same_every_time_and_no_other() {
        let draw = |seed, purpose| Chance::of(seed, purpose).unit();
        assert_eq!(draw(7, For::Weather), draw(7, For::Weather));
        assert_ne!(draw(7, For::Weather), draw(8, For::Weather));
        assert_ne!(draw(7, For::Weather), draw(7, For::Bathers));
        let reading = |minute, nth| draw(7, For::Reading { minute, kit: 1, nth });
        assert_ne!(reading(1, 0), reading(1, 1));
        assert_ne!(reading(1, 0), reading(2, 0));
    }

    /// Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions (from memory): mean and variance of each.
    #[test]
    fn distributions_have_their_moments() {
        let mut c = Chance::of(1, For::Truth);
        let mut moments = |draw: &mut dyn FnMut(&mut Chance) -> f64| {
            let x: Vec<f64> = (0..N).map(|_| draw(&mut c)).collect();
            let mean = x.iter().sum::<f64>() / N as f64;
            (mean, x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / N as f64)
        };
        let near = |(mean, variance): (f64, f64), (m, v): (f64, f64)| {
            assert!((mean - m).abs() < 5.0 * (v / N as f64).sqrt(), "mean {mean}, not {m}");
            assert!((variance / v - 1.0).abs() < 0.08, "variance {variance}, not {v}");
        };
        near(moments(&mut |c| c.unit()), (0.5, 1.0 / 12.0));
        near(moments(&mut |c| c.laplace(0.3)), (0.0, 2.0 * 0.09));
        near(moments(&mut |c| c.exponential(2.0)), (2.0, 4.0));
        let (a, m, b) = (-1.0, 0.5, 2.0);
        let variance = (a * a + b * b + m * m - a * b - a * m - b * m) / 18.0;
        near(moments(&mut |c| c.triangle(a, m, b)), ((a + b + m) / 3.0, variance));
    }
}
