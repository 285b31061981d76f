//! Which entries disagree with the rest, and what that points to: one check a file.
//!
//! Each check asks the draws how likely something is, speaks from [`CALLED`] on, and says that chance.

mod active;
mod cell;
mod demand;
mod leak;
mod probe;
mod salt;
mod unrecorded;

use crate::case::Case;
use crate::estimate::Timeline;
use crate::finding::Finding;
use crate::learn::{Learned, three};
use crate::quantity::Quantity as Q;
use crate::text::Text;
use crate::water_age;

/// Chance from which something is called.
const CALLED: f64 = 0.85;

pub(super) fn of(case: &Case, learned: &Learned) -> Vec<Finding> {
    let traits = learned.traits();
    let mut all = probe::probes(learned);
    all.extend(cell::cell(case, learned, &traits));
    all.extend(active::active(learned));
    all.extend(demand::demand(learned));
    all.extend(leak::leak(case, learned));
    all.extend(salt::kits(case, learned));
    all.extend(salt::conductivity(case, learned));
    let time = Timeline::new(case, None);
    all.extend(time.last_fill.and_then(|filled| water_age::yearly(filled, time.now)));
    all.extend(unrecorded::base(&traits));
    all.extend(learned.unrecorded().into_iter().map(unrecorded::unrecorded));
    all
}

/// Share of some figures of which something is true; 0 of none.
fn share(figures: &[f64], is_true: impl Fn(f64) -> bool) -> f64 {
    figures.iter().filter(|f| is_true(**f)).count() as f64 / figures.len().max(1) as f64
}

/// A chance in percent. More than 99 is more than some hundred draws can tell.
fn percent(chance: f64) -> Text {
    Text::figures(format!("{:.0}", (100.0 * chance).clamp(1.0, 99.0)))
}

/// How often a quantity was read from an hour on, and the hours between the first and the last time.
fn read(learned: &Learned, q: Q, from_h: f64) -> (usize, f64) {
    let hours: Vec<f64> =
        learned.seen().filter(|s| s.quantity == q && s.at_h >= from_h).map(|s| s.at_h).collect();
    let between = hours.last().zip(hours.first()).map_or(0.0, |(last, first)| last - first);
    (hours.len(), between)
}
