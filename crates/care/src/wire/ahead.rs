//! Contract 5.2, the part of a plan that looks ahead. Names are a promise; a field may be added, none may change.

use crate::ahead::{Ahead, AtLook, Duty, Look, Target};
use crate::quantity::Quantity;
use crate::wire::outlook::{LookOut, NeedOut};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What is foreseen if the plan is done.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Ahead")]
pub struct AheadOut {
    /// Hours until the next look that the doses are made for.
    pub until_hours: f64,
    /// Whether the doses are aimed at where the water will go; not before somebody has looked twice.
    pub aimed: bool,
    /// Litres as the entries have taught, where that is better than the tub's own figure; null where it is not.
    pub learned_volume_l: Option<f64>,
    /// Where each quantity is best left for the days until then, by its id.
    pub targets: BTreeMap<&'static str, TargetOut>,
    /// The cell's duty until then; null without a cell.
    pub cell: Option<DutyOut>,
    /// Hours until the look that `at_look` is for: sooner than `until_hours` where the plan asks for one sooner.
    pub at_look_hours: f64,
    /// The water at that look, by quantity.
    pub at_look: BTreeMap<&'static str, AtLookOut>,
    /// When to look again if the plan is done.
    pub next_look: LookOut,
    /// The looks of a new fill's first two weeks; empty later.
    pub first_weeks: Vec<ScheduledOut>,
}

/// Where a quantity is best left.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Target")]
pub struct TargetOut {
    /// The best level.
    pub level: f64,
    /// Lowest level that is as good.
    pub low: f64,
    /// Highest level that is as good.
    pub high: f64,
    /// Where it will have gone from the best level by the next look (median).
    pub at_look: f64,
}

/// The cell's duty.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "CellDuty")]
pub struct DutyOut {
    /// As it was set last, percent of the full output; null if nobody wrote it down.
    pub from_percent: Option<f64>,
    /// As it should be.
    pub to_percent: f64,
    /// Person-hours of bathing a day that it is made for.
    pub person_hours_per_day: f64,
}

/// A quantity at a look to come.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "AtLook")]
pub struct AtLookOut {
    /// 5 % point.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// 95 % point.
    pub high: f64,
    /// Chance of lying outside its band; null without a band.
    pub outside: Option<f64>,
}

/// A look of a new fill's first weeks.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "ScheduledLook")]
pub struct ScheduledOut {
    /// Hours from now.
    pub after_hours: f64,
    /// What to measure: quantity ids, likeliest trouble first.
    pub quantities: Vec<&'static str>,
    /// What will be found, by quantity.
    pub found: BTreeMap<&'static str, AtLookOut>,
    /// What will probably be dosed then; the readings decide.
    pub doses: Vec<NeedOut>,
}

impl AheadOut {
    /// Of what a plan foresees.
    pub(crate) fn of(ahead: &Ahead) -> AheadOut {
        AheadOut {
            until_hours: ahead.until_h,
            aimed: ahead.aimed,
            learned_volume_l: ahead.volume_l,
            targets: ahead.targets.iter().map(|t| (t.quantity.id(), TargetOut::of(t))).collect(),
            cell: ahead.cell.as_ref().map(DutyOut::of),
            at_look_hours: ahead.at_look_h,
            at_look: by_quantity(&ahead.at_look),
            next_look: LookOut::of(&ahead.next_look),
            first_weeks: ahead.schedule.iter().map(ScheduledOut::of).collect(),
        }
    }
}

impl TargetOut {
    fn of(t: &Target) -> TargetOut {
        TargetOut { level: t.level, low: t.band.low, high: t.band.high, at_look: t.at_look }
    }
}

impl DutyOut {
    fn of(d: &Duty) -> DutyOut {
        DutyOut {
            from_percent: d.from.map(|share| 100.0 * share),
            to_percent: 100.0 * d.share,
            person_hours_per_day: d.person_hours_per_day,
        }
    }
}

impl ScheduledOut {
    fn of(look: &Look) -> ScheduledOut {
        ScheduledOut {
            after_hours: look.after_h,
            quantities: look.measure.iter().copied().map(Quantity::id).collect(),
            found: by_quantity(&look.found),
            doses: look.doses.iter().map(NeedOut::of).collect(),
        }
    }
}

fn by_quantity(all: &[AtLook]) -> BTreeMap<&'static str, AtLookOut> {
    let each = all.iter().map(|a| {
        let [low, median, high] = a.range;
        (a.quantity.id(), AtLookOut { low, median, high, outside: a.outside })
    });
    each.collect()
}
