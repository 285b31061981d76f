//! Chlorine by DPD, o-tolidine and probes.

use super::active_chlorine::{Around, free_chlorine_from_active_mg_l};
use super::error::Wrong;
use super::interpret::{Context, Draft, Outcome};
use super::{ProbeCalibration, ProbeLaw, Scale};
use crate::quantity::Quantity;
use crate::text::{figures, say};

/// Free chlorine above which the red of DPD and the pads' colours fade, mg/L (from memory).
const BLEACHING_MG_L: f64 = 10.0;
/// Above this a FAS-DPD sample wants more powder, mg/L (from memory).
const MORE_POWDER_MG_L: f64 = 20.0;
/// Share of the pH compensation that stays uncertain: real sensors answer to hypochlorite a little too
/// (a trade article has "up to 20 % per pH unit" for practical sensors, far less than an ideal one).
const COMPENSATION_ERROR: f64 = 0.3;
/// Millivolts of Nernst's slope per decade for two electrons at 25 °C.
const NERNST_MV: f64 = 29.58;
/// Error of a probe whose setting is not known, relative (judgement).
const UNSET_ERROR: f64 = 0.35;

/// DPD by colour and pads: much chlorine bleaches them, and a colourless sample looks like none.
pub(super) fn bleaching(draft: &mut Draft, context: &Context) {
    let Some(expected) = context.free_chlorine_mg_l.filter(|f| *f > BLEACHING_MG_L) else { return };
    let of_chlorine = matches!(draft.quantity, Quantity::FreeChlorine | Quantity::TotalChlorine);
    let faded = match draft.outcome {
        Outcome::Value { value, .. } => value < 0.25 * expected,
        Outcome::Below { .. } => true,
        Outcome::Above { .. } | Outcome::Void => false,
    };
    if of_chlorine && faded {
        draft.outcome = Outcome::Void;
        draft.doubt(
            say!(
                "care-dpd-bleached",
                "The {quantity} reading is not used: {expected} mg/L of free chlorine is expected from the rest, and above \
                 {most} mg/L the colour is bleached and looks like little or none.",
                quantity = draft.quantity.said(),
                expected = figures!("{expected:.0}"),
                most = figures!("{BLEACHING_MG_L:.0}")
            ),
            say!(
                "care-dpd-bleached-advice",
                "Dilute the sample one to five with distilled water and repeat, or titrate by FAS-DPD. Keep people out \
                 until it is known."
            ),
        );
    }
}

/// FAS-DPD is not bleached, but needs powder in proportion.
pub(super) fn much_for_fas_dpd(draft: &mut Draft) {
    if draft.outcome.figure().is_some_and(|v| v > MORE_POWDER_MG_L) {
        draft.outcome = draft.outcome.widened(1.5);
        draft.note(
            say!(
                "care-fas-more-powder",
                "Above {most} mg/L the titration needs more DPD powder to stay red.",
                most = figures!("{MORE_POWDER_MG_L:.0}")
            ),
            say!(
                "care-fas-more-powder-advice",
                "Add a second scoop of powder, or dilute the sample and repeat."
            ),
        );
    }
}

/// o-Tolidine answers to all chlorine within minutes: whatever it was filed under, it says total chlorine.
pub(super) fn orthotolidine(draft: &mut Draft) {
    if draft.quantity == Quantity::FreeChlorine {
        draft.quantity = Quantity::TotalChlorine;
        draft.doubt(
            say!(
                "care-tolidine",
                "An o-tolidine reading was entered as free chlorine; it answers to combined chlorine too, so it is taken \
                 as total chlorine: free chlorine is at most that."
            ),
            say!("care-tolidine-advice", "Test free and total chlorine with DPD or FAS-DPD."),
        );
        if let Some(f) = draft.findings.last_mut() {
            f.quantities = vec![Quantity::FreeChlorine, Quantity::TotalChlorine];
        }
    }
}

/// A controller that shows free chlorine has a probe behind it, and nobody knows what it was set to.
pub(super) fn display(draft: &mut Draft) {
    if draft.quantity == Quantity::FreeChlorine {
        draft.doubt(
            say!(
                "care-display-chlorine",
                "A display's chlorine figure comes from a probe that follows active chlorine: it falls as pH rises while free \
                 chlorine stays. What it was set to is not known, so it is not compensated and its error is wide."
            ),
            say!("care-display-chlorine-advice", "Test free chlorine with DPD or FAS-DPD."),
        );
    }
}

/// A probe in the water follows hypochlorous acid, not free chlorine.
pub(super) fn probe(
    draft: &mut Draft,
    scale: &Scale,
    law: ProbeLaw,
    calibration: Option<&ProbeCalibration>,
    context: &Context,
) -> Result<(), Wrong> {
    if draft.quantity == Quantity::Redox {
        return redox(draft, calibration, context);
    }
    let (Some(set), Some(ph)) = (calibration, context.ph) else {
        let widened = figures!("{:.0}", 100.0 * UNSET_ERROR);
        let what = if calibration.is_none() {
            say!(
                "care-probe-not-set",
                "The probe follows active chlorine, which falls as pH rises while free chlorine stays; the pH and chlorine \
                 at which it was set are not known, so its figure is not compensated and its error is widened to {error} %.",
                error = widened
            )
        } else {
            say!(
                "care-probe-no-ph",
                "The probe follows active chlorine, which falls as pH rises while free chlorine stays; the water's pH is \
                 not known, so its figure is not compensated and its error is widened to {error} %.",
                error = widened
            )
        };
        let figure = draft.outcome.figure().unwrap_or(0.0);
        draft.outcome = draft.outcome.map(|v| v, UNSET_ERROR * figure);
        draft.doubt(
            what,
            say!(
                "care-probe-not-set-advice",
                "Test free chlorine with DPD or FAS-DPD and enter what the probe was set to."
            ),
        );
        return Ok(());
    };
    let salt_mg_l = context.salt_mg_l.unwrap_or(0.0);
    let then = Around {
        ph: set.ph,
        temperature_c: set.temperature_c,
        cyanuric_acid_mg_l: set.cyanuric_acid_mg_l,
        salt_mg_l,
    };
    let now = Around {
        ph,
        temperature_c: context.temperature_c,
        cyanuric_acid_mg_l: context.cyanuric_acid_mg_l.unwrap_or(set.cyanuric_acid_mg_l),
        salt_mg_l,
    };
    let Some(shown) = draft.outcome.figure() else { return Ok(()) };
    let compensated = free_chlorine_behind(shown, law, set, then, now, scale.high)?;
    let Some(free) = compensated else {
        draft.outcome = Outcome::Above { limit: scale.high };
        draft.doubt(
            say!(
                "care-probe-beyond",
                "The probe shows {shown} mg/L, which at pH {ph} would be more than {most} mg/L.",
                shown = figures!("{shown:.1}"),
                ph = figures!("{ph:.1}"),
                most = figures!("{:.0}", scale.high)
            ),
            say!(
                "care-probe-beyond-advice",
                "Test free chlorine with FAS-DPD; clean and set the probe. Keep people out until it is known."
            ),
        );
        return Ok(());
    };
    let factor = if shown > 0.0 { free / shown } else { 1.0 };
    draft.outcome = match draft.outcome {
        Outcome::Value { standard_error, .. } => Outcome::Value {
            value: free,
            standard_error: (standard_error * factor).hypot(COMPENSATION_ERROR * (free - shown)),
        },
        limit => limit.map(|v| v * factor, 0.0),
    };
    if (factor - 1.0).abs() >= 0.02 {
        draft.note(
            say!(
                "care-probe-compensated",
                "The probe shows {shown} mg/L; it follows active chlorine and was set at pH {then}. At pH {ph} \
                 that is {free} mg/L of free chlorine: the figure moved with the pH, not with the chlorine.",
                shown = figures!("{shown:.1}"),
                then = figures!("{:.1}", set.ph),
                ph = figures!("{ph:.1}"),
                free = figures!("{free:.1}")
            ),
            say!(
                "care-probe-compensated-advice",
                "Check with DPD or FAS-DPD before a dose stands on the probe."
            ),
        );
    }
    Ok(())
}

/// Free chlorine behind a probe's figure. Its signal is HOCl (times the activity of H+ for a redox probe), and the
/// display was set so that it showed the free chlorine of that day.
fn free_chlorine_behind(
    shown: f64,
    law: ProbeLaw,
    set: &ProbeCalibration,
    then: Around,
    now: Around,
    most: f64,
) -> Result<Option<f64>, Wrong> {
    let set_to = set.free_chlorine_mg_l.filter(|f| *f > 0.0).unwrap_or(shown);
    if shown <= 0.0 {
        return Ok(Some(0.0));
    }
    let own_ph = match law {
        ProbeLaw::Amperometric => 1.0,
        ProbeLaw::Redox => 10.0_f64.powf(now.ph - then.ph),
    };
    let active = shown / set_to * then.active(set_to)? * own_ph;
    Ok(free_chlorine_from_active_mg_l(
        active,
        now.ph,
        now.temperature_c,
        now.cyanuric_acid_mg_l,
        now.salt_mg_l,
        most,
    )?)
}

/// A potential stays a potential; what pH alone did to it since the probe was set is said.
fn redox(draft: &mut Draft, calibration: Option<&ProbeCalibration>, context: &Context) -> Result<(), Wrong> {
    let (Some(set), Some(ph), Some(shown)) = (calibration, context.ph, draft.outcome.figure()) else {
        return Ok(());
    };
    let free = context.free_chlorine_mg_l.or(set.free_chlorine_mg_l).unwrap_or(1.0).max(0.01);
    let around = |ph| Around {
        ph,
        temperature_c: context.temperature_c,
        cyanuric_acid_mg_l: context.cyanuric_acid_mg_l.unwrap_or(set.cyanuric_acid_mg_l),
        salt_mg_l: context.salt_mg_l.unwrap_or(0.0),
    };
    let decades = (around(ph).active(free)? / around(set.ph).active(free)?).log10() - (ph - set.ph);
    let moved_mv = NERNST_MV * (273.15 + context.temperature_c) / 298.15 * decades;
    if moved_mv.abs() >= 3.0 {
        draft.note(
            say!(
                "care-redox-moved",
                "Of {shown} mV, {moved} mV come from the pH being {ph} instead of {then}: the same free \
                 chlorine gives another potential.",
                shown = figures!("{shown:.0}"),
                moved = figures!("{moved_mv:+.0}"),
                ph = figures!("{ph:.1}"),
                then = figures!("{:.1}", set.ph)
            ),
            say!("care-redox-moved-advice", "Never judge free chlorine by the potential alone."),
        );
    }
    Ok(())
}
