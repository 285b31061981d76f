//! Chance from a seed, so that the demonstration is the same every time.

/// SplitMix64 (public domain algorithm): small, and good enough to invent with.
#[derive(Debug, Clone)]
pub(super) struct Random(u64);

impl Random {
    pub(super) fn seeded(seed: u64) -> Random {
        Random(seed)
    }

    pub(super) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to 1.
    pub(super) fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub(super) fn chance(&mut self, of: f64) -> bool {
        self.share() < of
    }

    pub(super) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[(self.bits() % from.len() as u64) as usize]
    }

    /// About normal, with a standard error of one (a sum of twelve).
    pub(super) fn error(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}
