//! Readings outlived by what was dosed since: the doses were never weighed and much happens that nobody writes down, so a
//! reading carried through more of them than it was itself tells nothing any more.

use super::timeline::Timeline;
use crate::case::When;
use crate::finding::{Finding, Weight};
use crate::quantity::Quantity as Q;
use crate::text::{figures, say};

/// Standard error of a dose by scoop or capful, relative (judgement).
const DOSE_ERROR: f64 = 0.10;
/// Standard error of what is left of a dose of disinfectant after a day, as a share of it: anything between none and all.
const GONE_PER_DAY: f64 = 0.29;
/// From this share of a reading on, what was dosed since has more to say than the reading (judgement).
const MOVED_SHARE: f64 = 0.5;
/// A carried figure that is so many of its standard errors from nothing cannot be told from nothing.
const FROM_NOTHING: f64 = 2.0;
/// From this share of the alkalinity on, settled acid or base has made another pH (judgement).
const BUFFER_SHARE: f64 = 0.25;
/// The alkalinity that acid and base are held against where none was read, mg/L as CaCO3.
const USUAL_ALKALINITY_MG_L: f64 = 100.0;

/// A figure of an earlier moment, carried to now.
#[derive(Debug, Clone, Copy)]
pub(super) struct Carried {
    /// As it was.
    pub(super) figure: f64,
    /// What doses and replaced water have changed since.
    pub(super) shift: f64,
    /// Standard error that came with time and doses.
    pub(super) extra_standard_error: f64,
}

/// Standard error of what the doses since `from` brought: the volume's and the doses' own, and how much of a dosed
/// disinfectant has gone by itself.
pub(super) fn dose_error(time: &Timeline<'_>, volume_error: f64, q: Q, from: When) -> f64 {
    let brought = DOSE_ERROR.hypot(volume_error) * time.moved_since(q, from, false);
    let gone = match q {
        Q::FreeChlorine | Q::TotalBromine => time
            .dosed_since(q, from)
            .map(|(days, by)| {
                // Most unsure after a day, when it may be anything between none and all; long after it is gone.
                GONE_PER_DAY * days.min(1.0 / days.max(1e-9)) * by.abs()
            })
            .sum(),
        _ => 0.0,
    };
    brought.hypot(gone)
}

/// Whether a quantity goes, or is made, by itself within hours: a reading of it speaks for its own moment.
pub(super) fn passes(q: Q) -> bool {
    matches!(
        q,
        Q::FreeChlorine
            | Q::TotalChlorine
            | Q::CombinedChlorine
            | Q::TotalBromine
            | Q::Ph
            | Q::Temperature
            | Q::Redox
            | Q::Turbidity
    )
}

/// Whether a figure of `from` no longer tells what its quantity is.
pub(super) fn is_outlived(
    time: &Timeline<'_>,
    q: Q,
    from: When,
    carried: Carried,
    alkalinity: Option<f64>,
) -> bool {
    if q == Q::Ph {
        let moved = time.moved_since(Q::TotalAlkalinity, from, true);
        return moved > 0.0 && moved >= BUFFER_SHARE * alkalinity.unwrap_or(USUAL_ALKALINITY_MG_L);
    }
    let moved = time.moved_since(q, from, false);
    moved > 0.0
        && moved >= MOVED_SHARE * carried.figure
        && FROM_NOTHING * carried.extra_standard_error >= carried.figure + carried.shift
}

/// What is said of a quantity whose last figure, of `from`, was outlived.
pub(super) fn finding(time: &Timeline<'_>, q: Q, from: When) -> Finding {
    let days = (time.now.hours_since(from) / 24.0).round();
    let ago = match days {
        ..1.0 => say!("care-today", "today"),
        1.0 => say!("care-a-day-ago", "a day ago"),
        _ => say!("care-days-ago", "{days} days ago", days = figures!("{days:.0}")),
    };
    let moved_q = if q == Q::Ph { Q::TotalAlkalinity } else { q };
    let moved = time.moved_since(moved_q, from, q == Q::Ph);
    let by = figures!("{moved:.0} {}", moved_q.unit());
    let what = if q == Q::Ph {
        say!(
            "care-outlived-ph",
            "pH was last known {ago}; the acid and base since then would move the alkalinity by {by} in all. What it is now cannot be told \
             from that.",
            ago = ago,
            by = by
        )
    } else {
        say!(
            "care-outlived",
            "{quantity} was last known {ago}; the doses since then come to {by} in all. What it is now cannot be told from that.",
            quantity = q.said().capital(),
            ago = ago,
            by = by
        )
    };
    Finding {
        weight: Weight::Doubt,
        quantities: vec![q],
        what,
        advice: say!(
            "care-test-before-dosing",
            "Test {quantity} before anything is dosed for it.",
            quantity = q.said()
        ),
    }
}
