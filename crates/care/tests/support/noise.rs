//! Errors by chance, for tests and the benchmark.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// Evenly from 0 to 1.
pub(crate) fn unit(rng: &mut ChaCha8Rng) -> f64 {
    (rng.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// Standard normal (Box and Muller).
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let radius = (-2.0 * (1.0 - unit(rng)).ln()).sqrt();
    radius * (std::f64::consts::TAU * unit(rng)).cos()
}
