//! How often: a bucket of tokens for each asker, filled again at an even rate.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

/// Askers remembered at most; beyond, those with a full bucket are forgotten, which changes nothing for them.
const ASKERS_MOST: usize = 10_000;

/// Buckets by asker.
pub(crate) struct Buckets {
    size: f64,
    per_second: f64,
    left: Mutex<HashMap<String, (f64, i64)>>,
}

impl Buckets {
    /// So many at once, and so many a second in the long run.
    pub(crate) fn new(size: f64, per_second: f64) -> Buckets {
        Buckets { size, per_second, left: Mutex::new(HashMap::new()) }
    }

    /// Takes one.
    ///
    /// # Errors
    /// Whole seconds until there is one again.
    pub(crate) fn take(&self, asker: &str, now_us: i64) -> Result<(), u64> {
        let mut left = self.left.lock().unwrap_or_else(PoisonError::into_inner);
        let filled = |(tokens, at_us): (f64, i64)| {
            let seconds = (now_us.saturating_sub(at_us)).max(0) as f64 / 1e6;
            (tokens + seconds * self.per_second).min(self.size)
        };
        if left.len() >= ASKERS_MOST && !left.contains_key(asker) {
            left.retain(|_, bucket| filled(*bucket) < self.size);
            if left.len() >= ASKERS_MOST {
                left.clear();
            }
        }
        let tokens = left.get(asker).copied().map_or(self.size, filled);
        if tokens < 1.0 {
            return Err(((1.0 - tokens) / self.per_second).ceil() as u64);
        }
        left.insert(asker.to_owned(), (tokens - 1.0, now_us));
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_asker_has_so_many_at_once_and_waits_for_the_next() {
        let buckets = Buckets::new(3.0, 0.5);
        for _ in 0..3 {
            assert_eq!(buckets.take("a", 0), Ok(()));
        }
        assert_eq!(buckets.take("a", 0), Err(2));
        assert_eq!(buckets.take("b", 0), Ok(()), "another asker has a bucket of their own");
        assert_eq!(buckets.take("a", 2_000_000), Ok(()));
        assert_eq!(buckets.take("a", 2_000_000), Err(2));
        assert_eq!(buckets.take("a", 1_000_000), Err(2), "a clock that goes back gives nothing");
    }

    #[test]
    fn memory_is_bounded() {
        let buckets = Buckets::new(1.0, 0.001);
        for i in 0..ASKERS_MOST + 50 {
            let _first = buckets.take(&i.to_string(), 0);
        }
        assert!(buckets.left.lock().unwrap().len() <= ASKERS_MOST);
    }
}
