//! The raw readings of this fill, each through its method and carried to now.

use super::false_combined::{self, Read};
use super::outlived::{self, Carried};
use super::timeline::Timeline;
use super::{CALCIUM_SHARE, EstimateError, USUAL_TEMPERATURE_C};
use crate::band::Regime;
use crate::case::{Case, Entry, Happening, Raw, Substance, When};
use crate::finding::{Finding, Weight};
use crate::fuse::{self, Fused, Weighted};
use crate::method::{self, Context};
use crate::quantity::Quantity as Q;
use crate::text::say;
use water::Chemical as C;

/// Growth of a figure's error with time: absolute per √day, and relative per day.
pub(super) fn drift(q: Q) -> (f64, f64) {
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
        units: case.units,
        ..Context::at(raw(Q::Temperature).or(case.tub.temperature_c).unwrap_or(USUAL_TEMPERATURE_C))
    }
}

/// A reading of this fill with where it stands.
pub(super) struct Each<'a> {
    pub(super) at: When,
    pub(super) entry: &'a Entry,
    pub(super) weighted: Weighted,
}

/// Every reading of this fill through its method and carried to now, oldest first; and for how many hours from now
/// monopersulfate still blurs combined chlorine, if it has blurred a reading.
pub(super) fn interpret_each<'a>(
    case: &Case,
    time: &Timeline<'a>,
    context: &Context,
) -> Result<(Vec<Each<'a>>, Option<f64>), EstimateError> {
    let (mut entries, mut read): (Vec<&'a Entry>, Vec<Read>) = Default::default();
    for (at, entry) in &time.entries {
        let Happening::Reading(reading) = &entry.what else { continue };
        if time.last_fill.is_some_and(|f| *at < f) {
            continue; // another water
        }
        let method = method::find(&case.methods, &reading.method)
            .ok_or_else(|| EstimateError::UnknownMethod { id: reading.method.clone(), line: reading.line })?;
        entries.push(entry);
        read.push((*at, method::interpret(method, reading, context)?));
    }
    let blurred_for_h = false_combined::widen(&mut read, time);
    let carried = entries.into_iter().zip(read).map(|(entry, (at, interpreted))| {
        let days = time.now.hours_since(at) / 24.0;
        let figure = interpreted.outcome.figure().unwrap_or(0.0);
        let (absolute, relative) = drift(interpreted.quantity);
        let q = interpreted.quantity;
        // Free chlorine that was dosed is in the total as well.
        let dosed = if q == Q::TotalChlorine { Q::FreeChlorine } else { q };
        let weighted = Weighted {
            extra_standard_error: (absolute * days.sqrt())
                .hypot(relative * days * figure)
                .hypot(outlived::dose_error(time, case.tub.volume_error, dosed, at)),
            shift: if q == Q::Ph { 0.0 } else { time.carry_figure(dosed, figure, at) - figure },
            read: Some(at),
            interpreted,
        };
        Each { at, entry, weighted }
    });
    Ok((carried.collect(), blurred_for_h))
}

/// Hours within which readings are one look, and may contradict each other.
const ONE_LOOK_HOURS: f64 = 1.0;
/// A method is as good as another if its error is no more than so many times the other's (judgement).
const AS_GOOD: f64 = 1.5;

/// Which readings still describe this water: not what the doses since have outlived, nor, of what goes by itself, what a
/// newer look has read as well; of pH, the latest hour of readings.
pub(super) fn current(case: &Case, all: &[Each<'_>], time: &Timeline, context: &Context) -> Vec<bool> {
    // From the newest back: of a stream the first that is asked is the one.
    let is_ended = |each| all.iter().rev().any(|newer| ends(case, newer, each));
    all.iter().map(|each| is_current(each, time, context) && !is_ended(each)).collect()
}

/// Whether a newer reading leaves an older one of its quantity nothing to say.
fn ends(case: &Case, newer: &Each<'_>, older: &Each<'_>) -> bool {
    let (new, old) = (&newer.weighted.interpreted, &older.weighted.interpreted);
    if new.quantity != old.quantity
        || !outlived::passes(old.quantity)
        || newer.at.hours_since(older.at) <= ONE_LOOK_HOURS
        || (new.is_display && !old.is_display)
    {
        return false;
    }
    let Some(figure) = new.outcome.figure() else { return false };
    let at_it = |id: &str| {
        let scale = method::find(&case.methods, id).and_then(|m| m.scale(old.quantity));
        scale.map_or(f64::INFINITY, |s| s.absolute_error.hypot(s.relative_error * figure))
    };
    // Compared at the newer figure: what was read as nearly none is no surer for it of what is there now.
    let become_of_old = at_it(&old.method_id).hypot(older.weighted.extra_standard_error);
    new.method_id == old.method_id
        || at_it(&new.method_id) <= (AS_GOOD * at_it(&old.method_id)).max(become_of_old)
}

/// Whether doses have left a reading anything to say; of pH, whether it is of the latest hour of readings.
fn is_current(each: &Each<'_>, time: &Timeline, context: &Context) -> bool {
    let weighted = &each.weighted;
    let q = weighted.interpreted.quantity;
    if q == Q::Ph
        && time.latest_reading_of(Q::Ph).is_some_and(|latest| latest.hours_since(each.at) > ONE_LOOK_HOURS)
    {
        return false;
    }
    let Some(figure) = weighted.interpreted.outcome.figure() else { return true };
    let carried =
        Carried { figure, shift: weighted.shift, extra_standard_error: weighted.extra_standard_error };
    !outlived::is_outlived(time, q, each.at, carried, context.total_alkalinity_mg_l_caco3)
}

/// Quantities whose every reading was outlived, each with the moment of its last one.
fn outlived_altogether(all: &[Each<'_>], current: &[bool]) -> Vec<(Q, When)> {
    let mut last: Vec<(Q, When, bool)> = Vec::new();
    for (each, current) in all.iter().zip(current) {
        let q = each.weighted.interpreted.quantity;
        match last.iter_mut().find(|(other, ..)| *other == q) {
            Some((_, at, any)) => (*at, *any) = (each.at, *any || *current),
            None => last.push((q, each.at, *current)),
        }
    }
    last.into_iter().filter(|(.., any)| !any).map(|(q, at, _)| (q, at)).collect()
}

/// What the readings of this fill come to.
pub(super) struct Standing {
    /// Those that count.
    pub(super) weighted: Vec<Weighted>,
    /// Quantities whose every reading was outlived, each with the moment of its last one.
    pub(super) outlived: Vec<(Q, When)>,
    /// For how many hours from now monopersulfate still blurs combined chlorine, if it has blurred a reading.
    pub(super) blurred_for_h: Option<f64>,
}

/// Every reading of this fill, and whether it counts.
pub(super) fn interpret_all(
    case: &Case,
    time: &Timeline,
    context: &Context,
    findings: &mut Vec<Finding>,
) -> Result<Standing, EstimateError> {
    let (all, blurred_for_h) = interpret_each(case, time, context)?;
    findings.extend(all.iter().flat_map(|each| each.weighted.interpreted.findings.iter().cloned()));
    let current: Vec<bool> = self::current(case, &all, time, context);
    let outlived = outlived_altogether(&all, &current);
    let kept = all.into_iter().zip(current).filter(|(_, current)| *current).map(|(each, _)| each.weighted);
    Ok(Standing { weighted: kept.collect(), outlived, blurred_for_h })
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

/// Whether every reading of the pH that counts stands at an end of its scale.
pub(super) fn ph_at_scale_end(weighted: &[Weighted]) -> bool {
    let mut of_ph = weighted
        .iter()
        .map(|w| &w.interpreted)
        .filter(|i| i.quantity == Q::Ph && i.outcome != method::Outcome::Void)
        .peekable();
    of_ph.peek().is_some() && of_ph.all(|i| i.at_scale_end)
}

/// The disinfectant, where thiosulfate or peroxide came after it was last read: how much a gram takes varies, so what is
/// left is known only by a test.
pub(super) fn dechlorinated_since_read(
    case: &Case,
    time: &Timeline,
    findings: &mut Vec<Finding>,
) -> Option<Q> {
    let q = if case.tub.regime == Regime::Bromine { Q::TotalBromine } else { Q::FreeChlorine };
    let takes_chlorine = |product: usize| {
        let substance = case.shelf.get(product).map(|p| p.substance);
        matches!(substance, Some(Substance::Chemical(C::SodiumThiosulfate | C::HydrogenPeroxide)))
    };
    let since = time.latest_reading_of(q).or(time.last_fill);
    let dosed = time.entries.iter().any(|(at, e)| {
        since.is_none_or(|s| *at > s)
            && matches!(e.what, Happening::Dose { product, .. } if takes_chlorine(product))
    });
    dosed.then(|| {
        findings.push(Finding {
            weight: Weight::Doubt,
            quantities: vec![q],
            what: say!(
                "care-dechlorinated",
                "Something that takes chlorine away was added after {quantity} was last read: how much a gram takes varies.",
                quantity = q.said()
            ),
            advice: say!("care-test-before-more", "Test {quantity} before anything more is added for it.", quantity = q.said()),
        });
        q
    })
}

/// Quantities of which only "more than" is known, with what follows from them; pH, which cannot be diluted, is left out.
pub(super) fn over_scale(fused: &[Fused]) -> Vec<(Q, f64)> {
    let read = |q: Q| fused.iter().any(|f| f.quantity == q);
    let mut over: Vec<(Q, f64)> = Vec::new();
    for f in fused.iter().filter(|f| f.over_scale && f.quantity != Q::Ph) {
        let Some(least) = f.bounds.0 else { continue };
        over.push((f.quantity, least));
        // Where calcium was not read it is taken from the total.
        if f.quantity == Q::TotalHardness && !read(Q::CalciumHardness) {
            over.push((Q::CalciumHardness, CALCIUM_SHARE.0 * least));
        }
    }
    over
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
