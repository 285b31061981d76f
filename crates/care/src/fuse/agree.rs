//! Which readings of one quantity agree.

use super::CONTRADICTION;
use crate::case::When;
use crate::method::Interpreted;

/// A reading as a point with its error.
#[derive(Debug, Clone)]
pub(super) struct Point<'a> {
    pub(super) value: f64,
    pub(super) standard_error: f64,
    /// How much of the value came since it was read.
    pub(super) shift: f64,
    pub(super) read: Option<When>,
    pub(super) reading: &'a Interpreted,
}

impl Point<'_> {
    fn agrees_with(&self, other: &Point<'_>) -> bool {
        (self.value - other.value).abs() <= CONTRADICTION * self.standard_error.hypot(other.standard_error)
    }
}

/// Splits readings into the body of evidence that is kept and the rest.
///
/// A body is grown from each reading in turn, the surest first, by every reading that agrees with all in it. The best
/// has a method that is no display, then the most independent methods, then the greatest weight (sum of inverse
/// variances).
pub(super) fn largest_agreement(mut points: Vec<Point<'_>>) -> (Vec<Point<'_>>, Vec<Point<'_>>) {
    points.sort_by(|a, b| a.standard_error.total_cmp(&b.standard_error).then(a.value.total_cmp(&b.value)));
    let mut best: Vec<usize> = Vec::new();
    for seed in 0..points.len() {
        let mut body = vec![seed];
        for i in 0..points.len() {
            if i != seed && body.iter().all(|b| points[*b].agrees_with(&points[i])) {
                body.push(i);
            }
        }
        if best.is_empty() || score(&points, &body) > score(&points, &best) {
            best = body;
        }
    }
    let mut kept = Vec::with_capacity(best.len());
    let mut rejected = Vec::new();
    for (i, p) in points.into_iter().enumerate() {
        if best.contains(&i) { kept.push(p) } else { rejected.push(p) }
    }
    (kept, rejected)
}

/// Compared in order: independent methods that are no display (none is least), then the weight.
fn score(points: &[Point<'_>], body: &[usize]) -> (usize, f64) {
    let mut methods: Vec<&str> = body
        .iter()
        .filter(|i| !points[**i].reading.is_display)
        .map(|i| points[*i].reading.method_id.as_str())
        .collect();
    methods.sort_unstable();
    methods.dedup();
    (methods.len(), body.iter().map(|i| points[*i].standard_error.powi(-2)).sum())
}
