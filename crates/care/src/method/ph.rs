//! pH by dye and by electrode.

use water::Celsius;
use water::activity::DebyeHuckel;

use super::error::Wrong;
use super::interpret::{Context, Draft, Outcome, within};
use super::{ElectrodeCalibration, Reagent, Scale};
use crate::text::{figures, say};

/// Free chlorine above which a pH dye is bleached or turns to another colour, mg/L (from memory).
const BLEACHING_MG_L: f64 = 10.0;
/// Ionic strength of the buffers by which colour standards are made, mol/kg.
const STANDARD_STRENGTH: f64 = 0.01;
/// Standard error of the salt correction: the standards' own strength is not known.
const SALT_CORRECTION_ERROR: f64 = 0.05;
/// Alkalinity below which the dye's own acid moves the sample, mg/L as CaCO3 (from memory).
const WEAK_BUFFER_MG_L: f64 = 40.0;
/// Drift of a glass electrode, pH per day (0.1 a week, from memory).
const DRIFT_PER_DAY: f64 = 0.1 / 7.0;

/// How much phenol red reads too high in a salt water: the dye's second dissociation (HIn- to In-2) has
/// pK' = pK − 3·A·f(I) by Davies, f(I) = √I/(1+√I) − 0.3·I, against standards at I = 0.01 mol/kg.
///
/// `salt_mg_l` as NaCl; 0.14 at 3 500 mg/L, nothing below the standards' own strength.
pub fn salt_error_of_phenol_red(salt_mg_l: f64) -> f64 {
    let davies = |i: f64| i.sqrt() / (1.0 + i.sqrt()) - 0.3 * i;
    let strength = (salt_mg_l / (1000.0 * water::units::molar_mass::NACL)).clamp(STANDARD_STRENGTH, 0.5);
    // The sample has cooled to the room by the time its colour is compared.
    let a = DebyeHuckel::at(Celsius(25.0)).a;
    3.0 * a * (davies(strength) - davies(STANDARD_STRENGTH))
}

/// A pH dye: bleached by chlorine, shifted by salt, weak in soft water.
pub(super) fn dye(draft: &mut Draft, scale: &Scale, context: &Context) {
    if let Some(free) = context.free_chlorine_mg_l
        && free > BLEACHING_MG_L
    {
        draft.outcome = Outcome::Void;
        draft.doubt(
            say!(
                "care-ph-dye-bleached",
                "The pH reading is not used: at {free} mg/L of free chlorine the dye is bleached or shifts towards \
                 purple (above {most} mg/L).",
                free = figures!("{free:.1}"),
                most = figures!("{BLEACHING_MG_L:.0}")
            ),
            say!(
                "care-ph-dye-bleached-advice",
                "Test the pH again when free chlorine is below {most} mg/L, or with an electrode.",
                most = figures!("{BLEACHING_MG_L:.0}")
            ),
        );
        return;
    }
    let shift = context.salt_mg_l.map_or(0.0, salt_error_of_phenol_red);
    if shift >= 0.02 {
        if scale.reagent == Reagent::PhenolRed {
            let before = draft.outcome.figure().unwrap_or(0.0);
            draft.outcome = draft.outcome.map(|ph| ph - shift, SALT_CORRECTION_ERROR);
            draft.note(
                say!(
                    "care-phenol-red-salt",
                    "In this salt water phenol red reads about {shift} too high; pH {before} is taken as {taken}.",
                    taken = figures!("{:.2}", before - shift),
                    shift = figures!("{shift:.2}"),
                    before = figures!("{before:.1}")
                ),
                say!(
                    "care-phenol-red-salt-advice",
                    "None needed; an electrode set near the tub's temperature has no such error."
                ),
            );
        } else {
            draft.outcome = draft.outcome.map(|ph| ph, shift);
            draft.note(
                say!(
                    "care-ph-dye-salt",
                    "If its dye is phenol red, it reads about {shift} too high in this salt water; not taken off, \
                     the error is widened by as much.",
                    shift = figures!("{shift:.2}")
                ),
                say!("care-ph-dye-salt-advice", "Name the method `phenol-red` if that is the dye."),
            );
        }
    }
    if let Some(alkalinity) = context.total_alkalinity_mg_l_caco3
        && alkalinity < WEAK_BUFFER_MG_L
    {
        draft.outcome = draft.outcome.widened(1.5);
        draft.note(
            say!(
                "care-ph-weak-buffer",
                "At {alkalinity} mg/L of total alkalinity the dye itself can move the sample's pH.",
                alkalinity = figures!("{alkalinity:.0}")
            ),
            say!(
                "care-ph-weak-buffer-advice",
                "Trust an electrode more, or wait until alkalinity is in its band."
            ),
        );
    }
}

/// A glass electrode: offset and slope taken out, drift since its calibration added to the error.
pub(super) fn electrode(draft: &mut Draft, calibration: Option<&ElectrodeCalibration>) -> Result<(), Wrong> {
    let Some(c) = calibration else {
        draft.outcome = draft.outcome.map(|ph| ph, 0.2);
        draft.note(
            say!(
                "care-electrode-unknown",
                "The electrode's calibration was not given: an error of {error} is assumed.",
                error = figures!("0.2")
            ),
            say!(
                "care-electrode-unknown-advice",
                "Calibrate in pH 7 and pH 10 buffers near the tub's temperature and enter the day."
            ),
        );
        return Ok(());
    };
    within("calibration age_days", c.age_days, "days", (0.0, 3650.0))?;
    within("calibration offset_ph", c.offset_ph, "", (-2.0, 2.0))?;
    within("calibration slope", c.slope, "of the ideal slope", (0.5, 1.2))?;
    let drift = (DRIFT_PER_DAY * c.age_days).min(0.5);
    draft.outcome = draft.outcome.map(|ph| 7.0 + (ph - c.offset_ph - 7.0) / c.slope, drift);
    // Common practice: a slope from 85 to 105 % and an offset within 30 mV (half a pH) are a sound electrode.
    if !(0.85..=1.05).contains(&c.slope) || c.offset_ph.abs() > 0.5 {
        draft.outcome = draft.outcome.widened(2.0);
        draft.doubt(
            say!(
                "care-electrode-worn",
                "The electrode is worn or fouled: slope {slope} % and offset {offset} pH at its calibration.",
                slope = figures!("{:.0}", 100.0 * c.slope),
                offset = figures!("{:+.2}", c.offset_ph)
            ),
            say!(
                "care-electrode-worn-advice",
                "Clean it and calibrate again; replace it if the slope stays outside 85 to 105 %."
            ),
        );
    } else if c.age_days > 30.0 {
        draft.doubt(
            say!(
                "care-electrode-old",
                "The electrode was calibrated {days} days ago; it may have drifted by {drift}.",
                days = figures!("{:.0}", c.age_days),
                drift = figures!("{drift:.1}")
            ),
            say!("care-electrode-old-advice", "Calibrate it before a dose stands on it."),
        );
    }
    Ok(())
}
