//! The raw readings of this fill, each through its method and carried to now.

use super::timeline::Timeline;
use super::{EstimateError, USUAL_TEMPERATURE_C};
use crate::case::{Case, Happening, Raw, When};
use crate::finding::{Finding, Weight};
use crate::fuse::{self, Weighted};
use crate::method::{self, Context};
use crate::quantity::Quantity as Q;

/// Growth of a reading's error with time: absolute per √day, and relative per day.
fn drift(q: Q) -> (f64, f64) {
    match q {
        Q::FreeChlorine | Q::TotalChlorine | Q::CombinedChlorine | Q::TotalBromine => (0.3, 0.3),
        Q::Ph => (0.08, 0.0),
        Q::TotalAlkalinity => (5.0, 0.0),
        Q::CalciumHardness | Q::TotalHardness => (4.0, 0.0),
        Q::Salt => (40.0, 0.0),
        Q::CyanuricAcid => (2.0, 0.0),
        Q::Temperature => (1.0, 0.0),
        _ => (0.0, 0.05),
    }
}

/// What the raw figures say, before any method: enough to judge interferences by.
pub(super) fn rough_context(case: &Case, time: &Timeline) -> Context {
    let raw = |q: Q| {
        time.entries.iter().rev().find_map(|(_, e)| match &e.what {
            Happening::Reading(r) if r.quantity == q => match r.raw {
                Raw::Value(v) | Raw::Below(v) | Raw::Above(v) => Some(v),
                Raw::Drops(_) | Raw::ScaleUnits { .. } => None,
            },
            _ => None,
        })
    };
    Context {
        ph: raw(Q::Ph),
        free_chlorine_mg_l: raw(Q::FreeChlorine).or(raw(Q::TotalChlorine)),
        cyanuric_acid_mg_l: raw(Q::CyanuricAcid),
        salt_mg_l: raw(Q::Salt),
        magnesium_mg_l: case.source_water.as_ref().and_then(|s| s.magnesium_mg_l),
        total_alkalinity_mg_l_caco3: raw(Q::TotalAlkalinity),
        ..Context::at(raw(Q::Temperature).or(case.tub.temperature_c).unwrap_or(USUAL_TEMPERATURE_C))
    }
}

pub(super) fn interpret_all(
    case: &Case,
    time: &Timeline,
    context: &Context,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Weighted>, EstimateError> {
    let mut all = Vec::new();
    for (at, entry) in &time.entries {
        let Happening::Reading(reading) = &entry.what else { continue };
        if time.last_fill.is_some_and(|f| *at < f) {
            continue; // another water
        }
        let method = method::find(&case.methods, &reading.method)
            .ok_or_else(|| EstimateError::UnknownMethod { id: reading.method.clone(), line: reading.line })?;
        let interpreted = method::interpret(method, reading, context)?;
        findings.extend(interpreted.findings.iter().cloned());
        let days = time.now.hours_since(*at) / 24.0;
        let figure = interpreted.outcome.figure().unwrap_or(0.0);
        let (absolute, relative) = drift(interpreted.quantity);
        all.push(Weighted {
            extra_standard_error: (absolute * days.sqrt()).hypot(relative * days * figure),
            shift: if interpreted.quantity == Q::Ph {
                0.0
            } else {
                time.carry_figure(interpreted.quantity, figure, *at) - figure
            },
            interpreted,
        });
    }
    // Of pH only the readings since the last acid, base or other dose describe one water: keep the latest hour.
    if let Some(latest) = time.latest_reading_of(Q::Ph) {
        let mut times = time.entries.iter().filter_map(|(at, e)| match &e.what {
            Happening::Reading(_) if time.last_fill.is_none_or(|f| *at >= f) => Some(*at),
            _ => None,
        });
        all.retain(|w| {
            let at = times.next();
            w.interpreted.quantity != Q::Ph || at.is_some_and(|at| latest.hours_since(at) <= 1.0)
        });
    }
    Ok(all)
}

/// Hours between the first and the last of an unbroken run of pH readings below 7.2 up to now.
pub(super) fn low_ph_hours(time: &Timeline) -> f64 {
    let mut run: Option<(When, When)> = None;
    for (at, entry) in &time.entries {
        let Happening::Reading(r) = &entry.what else { continue };
        if r.quantity != Q::Ph {
            continue;
        }
        run = match r.raw {
            Raw::Value(v) if v < 7.2 => Some(run.map_or((*at, *at), |(first, _)| (first, *at))),
            Raw::Below(_) => Some(run.map_or((*at, *at), |(first, _)| (first, *at))),
            _ => None,
        };
    }
    run.map_or(0.0, |(first, last)| last.hours_since(first))
}

/// Void readings without another of their quantity, and quantities whose readings contradict each other.
pub(super) fn to_retest(weighted: &[Weighted], fusion: &fuse::Fusion) -> Vec<Q> {
    let mut retest: Vec<Q> = weighted
        .iter()
        .filter(|w| matches!(w.interpreted.outcome, method::Outcome::Void))
        .map(|w| w.interpreted.quantity)
        .filter(|q| fusion.get(*q).is_none())
        .collect();
    for finding in fusion.findings.iter().filter(|f| f.weight >= Weight::Doubt) {
        if let [only] = finding.quantities[..]
            // Two that agree against a third, a controller's display, settle it.
            && !fusion.get(only).is_some_and(|f| f.used >= 2 && !f.only_display)
        {
            retest.push(only);
        }
    }
    retest.sort();
    retest.dedup();
    retest
}
