//! Chlorine that goes faster than it did: something burns it.

use super::{CALLED, percent, read, share, three};
use crate::finding::{Finding, Weight};
use crate::learn::Learned;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Hours that are held against what was before: a week.
const LATELY_H: f64 = 7.0 * 24.0;
/// Rise of the demand from which it is spoken of (judgement: a usual week differs by a quarter).
const ROSE: f64 = 1.4;
/// Readings of free chlorine in that week without which nothing is said.
const LEAST: usize = 3;

pub(super) fn demand(learned: &Learned) -> Option<Finding> {
    let ratios = learned.demand_against_before(LATELY_H);
    let chance = share(&ratios, |r| r > ROSE);
    let (count, _) = read(learned, Q::FreeChlorine, learned.now_h() - LATELY_H);
    if chance < CALLED || count < LEAST {
        return None;
    }
    let [low, middle, high] = three(&ratios).map(|r| Text::figures(format!("{r:.1}")));
    Some(Finding {
        weight: Weight::Doubt,
        quantities: vec![Q::FreeChlorine],
        what: say!(
            "care-check-demand",
            "The water used chlorine {times} times as fast this week as before ({low} to {high}), beyond what recorded bathing and the pH explain; chance that it really rose {chance} %.",
            times = middle,
            low = low,
            high = high,
            chance = percent(chance)
        ),
        advice: say!(
            "care-check-demand-advice",
            "Find what burns it: bathing that nobody wrote down, a dirty filter, film in the pipes. Read free chlorine in the evening and again in the morning, cover shut and nobody in: more than a quarter gone is the water itself. Then clean the filter and oxidise by the product's label; if it stays so, purge and refill."
        ),
    })
}
