//! The first two weeks of a new fill: when to look, what will probably be found, what will probably be dosed. Every reading
//! makes it anew.

use super::targets::Target;
use super::{AtLook, Ways, at_hour, hours};
use crate::case::Case;
use crate::learn::{Act, Aims, Kept, Tended};
use crate::outlook::{Need, doses, fans, next_look};
use crate::quantity::Quantity as Q;

/// How long a fill counts as new, days (common practice: pH climbs for 7 to 10 days and then settles).
pub(crate) const NEW_FILL_DAYS: f64 = 14.0;
/// Longest gap between two looks: at first (a day, then two), and later, days (common practice).
const LONGEST: [(f64, f64); 3] = [(1.0, 1.0), (5.0, 2.0), (NEW_FILL_DAYS, 4.0)];
/// Shortest time until the next look, and from there to each later one, hours: a day shows what the doses did; after that
/// every other day is what dosing by hand asks.
const SHORTEST_H: (f64, f64) = (24.0, 48.0);
/// No more looks than this in two weeks.
const LOOKS_MOST: usize = 10;

/// A look to come.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Hours from now.
    pub after_h: f64,
    /// What to measure, likeliest trouble first.
    pub measure: Vec<Q>,
    /// What will be found.
    pub found: Vec<AtLook>,
    /// What will be dosed, in the shelf's own products.
    pub doses: Vec<Need>,
}

/// What is shown of a look: what moves in these weeks.
const SHOWN: [Q; 3] = [Q::Ph, Q::FreeChlorine, Q::TotalAlkalinity];

/// The looks until a fill is no longer new. `age_h`: since the fill. `within_h`: the first look is no later.
pub(super) fn looks(
    case: &Case,
    ways: &Ways<'_>,
    targets: &[Target],
    deeds: &[(f64, Act)],
    age_h: f64,
    within_h: f64,
) -> Vec<Look> {
    let Some(aims) = aims(ways, targets) else { return Vec::new() };
    let end = 24.0 * NEW_FILL_DAYS - age_h;
    let mut at: Vec<f64> = Vec::new();
    let mut measures: Vec<Vec<Q>> = Vec::new();
    while at.len() < LOOKS_MOST {
        let from = at.last().copied().unwrap_or(0.0);
        let age_days = (age_h + from) / 24.0;
        let longest_h =
            24.0 * LONGEST.iter().find(|(until, _)| age_days < *until).map_or(4.0, |(_, gap)| *gap);
        let longest_h = if at.is_empty() { longest_h.min(within_h) } else { longest_h };
        // The looks so far, and after them the hours in which the next one may be due.
        let hours = hours(longest_h);
        let paths = ways.learned.tended_then(deeds, &at, &hours, &ways.expected, &aims, ways.seed);
        let next = next_look(case, &fans(ways.bands, &hours, &paths), &hours);
        let shortest_h = if at.is_empty() || age_days < 1.0 { SHORTEST_H.0 } else { SHORTEST_H.1 };
        let gap = next.after_h.clamp(shortest_h, longest_h);
        if from + gap > end {
            break;
        }
        at.push(from + gap);
        measures.push(next.measure);
    }
    let draws = ways.learned.tended(deeds, &at, &ways.expected, &aims, ways.seed);
    let of = |i: usize| -> Vec<Tended> { draws.iter().filter_map(|looks| looks.get(i)).copied().collect() };
    let each = at.iter().zip(measures).enumerate();
    each.map(|(i, (after_h, measure))| {
        let there = of(i);
        let figures: Vec<_> = there.iter().map(|t| t.found).collect();
        let dosed: Vec<Kept> = there.iter().map(|t| t.dosed).collect();
        Look {
            after_h: *after_h,
            measure,
            found: SHOWN.into_iter().filter_map(|q| at_hour(ways, q, &figures)).collect(),
            doses: doses(case, &dosed).into_iter().filter(|need| is_measured(case, need)).collect(),
        }
    })
    .collect()
}

/// Whether there is enough of it to measure.
fn is_measured(case: &Case, need: &Need) -> bool {
    let product = case.shelf.get(need.product);
    product.is_some_and(|p| need.grams[1] >= 0.5 * p.measure.smallest_g())
}

/// What each look brings the tub back to.
fn aims(ways: &Ways<'_>, targets: &[Target]) -> Option<Aims> {
    let target = |q: Q| targets.iter().find(|t| t.quantity == q);
    let (ph, chlorine) = (target(Q::Ph)?, target(Q::FreeChlorine));
    Some(Aims {
        chlorine_mg_l: chlorine.map_or(ways.band(Q::FreeChlorine)?.aim_low, |t| t.level),
        ph_high: ph.band.high,
        ph_low: ph.band.low,
        ph_aim: ph.level,
    })
}
