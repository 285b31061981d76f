//! The next look: when, and what to measure.
//!
//! Each day outside a band costs; so does a visit, after which all is well for a while. It is time to look when the next day
//! would cost more than a day of the usual rhythm, visits and losses together: the marginal rule for stopping (from memory:
//! any text on renewal theory; the same as least cost per day where visits put everything right). What to measure is what may
//! by then be outside its band.

use super::Fan;
use crate::quantity::Quantity as Q;

/// What one day outside its band costs, in visits (judgement: chlorine that bathers stand in first, then pH, then what
/// harms the tub slowly).
fn cost_per_day(q: Q) -> f64 {
    match q {
        Q::FreeChlorine => 2.0,
        Q::Ph => 1.0,
        Q::SaturationIndex | Q::TotalAlkalinity | Q::Salt => 0.2,
        _ => 0.1,
    }
}

/// Chance of being outside from which a quantity is measured at the next look.
const WORTH_MEASURING: f64 = 0.05;
/// What a day of the usual rhythm costs, in visits (judgement: a visit a week, and half as much again for what is lost
/// between visits).
const USUAL_PER_DAY: f64 = 0.2;

/// The next look.
#[derive(Debug, Clone, PartialEq)]
pub struct NextLook {
    /// Hours from now; 0 if a plan is due at once.
    pub after_h: f64,
    /// What to measure, likeliest trouble first.
    pub measure: Vec<Q>,
    /// What makes it necessary: the quantity that costs most until then, if any does.
    pub because: Option<Q>,
    /// Chance that this one is outside its band by then.
    pub chance: f64,
}

/// Share of the draws outside at each hour, read off the fan's quantiles: a look needs no more than that.
pub(super) fn outside(fan: &Fan) -> Vec<f64> {
    let Some(band) = &fan.band else { return vec![0.0; fan.quantiles.len()] };
    fan.quantiles.iter().map(|q| (1.0 - below(q, band.high) + below(q, band.low)).clamp(0.0, 1.0)).collect()
}

/// Share of the draws below a figure, between quantiles in proportion.
fn below(quantiles: &[f64; 5], x: f64) -> f64 {
    let shares = super::SHARES;
    if x <= quantiles[0] {
        return if x < quantiles[0] { 0.0 } else { shares[0] };
    }
    for i in 1..quantiles.len() {
        if x < quantiles[i] {
            let part = (x - quantiles[i - 1]) / (quantiles[i] - quantiles[i - 1]).max(1e-12);
            return shares[i - 1] + part * (shares[i] - shares[i - 1]);
        }
    }
    1.0
}

pub(super) fn next(fans: &[Fan], hours: &[f64]) -> NextLook {
    let outside: Vec<(Q, Vec<f64>)> = fans.iter().map(|f| (f.quantity, outside(f))).collect();
    let share = |of: usize, at: usize| outside.get(of).and_then(|(_, s)| s.get(at)).copied().unwrap_or(0.0);
    let cost = |of: usize, at: usize| cost_per_day(outside[of].0) * share(of, at);
    let all = |at: usize| (0..outside.len()).map(|of| cost(of, at)).sum::<f64>();
    let at = (0..hours.len()).find(|at| all(*at) >= USUAL_PER_DAY).unwrap_or(hours.len().saturating_sub(1));
    let after_h = hours.get(at).copied().unwrap_or(0.0);
    let lost: Vec<f64> = (0..outside.len()).map(|of| cost(of, at)).collect();
    let chance = |of: usize| share(of, at);
    let worst = (0..lost.len()).max_by(|a, b| lost[*a].total_cmp(&lost[*b])).filter(|w| lost[*w] > 0.0);
    let mut order: Vec<usize> = (0..outside.len()).filter(|i| chance(*i) >= WORTH_MEASURING).collect();
    order.sort_by(|a, b| lost[*b].total_cmp(&lost[*a]));
    let mut measure: Vec<Q> = Vec::new();
    for i in order {
        // An index is not measured: its parts are.
        let parts = match outside[i].0 {
            Q::SaturationIndex => vec![Q::Ph, Q::TotalAlkalinity, Q::CalciumHardness],
            q => vec![q],
        };
        measure.extend(parts.into_iter().filter(|p| !measure.contains(p)).collect::<Vec<_>>());
    }
    // No look without these two (common practice).
    measure.extend([Q::Ph, Q::FreeChlorine].into_iter().filter(|q| !measure.contains(q)).collect::<Vec<_>>());
    NextLook {
        after_h,
        measure,
        because: worst.and_then(|w| outside.get(w)).map(|(q, _)| *q),
        chance: worst.map_or(0.0, chance),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_below_follow_the_quantiles() {
        let q = [1.0, 2.0, 3.0, 4.0, 5.0];
        for (x, share) in [(0.5, 0.0), (2.0, 0.25), (3.0, 0.5), (3.5, 0.625), (6.0, 1.0)] {
            assert!((below(&q, x) - share).abs() < 1e-12, "{x}");
        }
    }
}
