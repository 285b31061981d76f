//! Alkalinity, hardness, cyanuric acid, salt: what else is in the way.

use super::error::Wrong;
use super::interpret::{Context, Draft, Outcome, within};
use super::on_scale::{beyond_table, half_tick_mg_l};
use super::{LotTable, Scale};
use crate::quantity::Quantity;
use crate::text::{Text, figures, say};

/// Standard error of a meter's temperature compensation per °C away from 25: ions differ between 1.8 and 2.2 % (from
/// memory).
const COMPENSATION_ERROR_PER_C: f64 = 0.002;
/// mg/L as CaCO3 of alkalinity per mg/L of chlorine, one equivalent a mole: 50.0435/70.906.
const ALKALINITY_PER_CHLORINE: f64 = water::units::CACO3_G_PER_EQ / water::units::molar_mass::CL2;
/// The reducing agent of an alkalinity kit makes up to +1 or takes up to 1.5 equivalents per mole of Cl2 (tetrathionate
/// or sulfate as its end): half the spread, over √3 for a standard error.
const REDUCER_SPREAD: f64 = 1.25 / 1.732_050_8;
/// Free chlorine above which that is worth saying, mg/L.
const MUCH_CHLORINE_MG_L: f64 = 5.0;
/// Magnesium above which a calcium end point fades, mg/L (from memory: mineral salts bring this much).
const MUCH_MAGNESIUM_MG_L: f64 = 60.0;
/// Sample temperature up to which the cloudiness of melamine cyanurate is as the tube's marks assume, °C (from memory).
const WARM_SAMPLE_C: f64 = 30.0;

/// Titrated alkalinity: the chlorine in the sample meets the kit's reducing agent.
pub(super) fn alkalinity(draft: &mut Draft, context: &Context) {
    let free = context.free_chlorine_mg_l.unwrap_or(0.0).max(0.0);
    let spread = ALKALINITY_PER_CHLORINE * REDUCER_SPREAD * free;
    draft.outcome = draft.outcome.map(|v| v, spread);
    if free > MUCH_CHLORINE_MG_L {
        draft.note(
            say!(
                "care-alkalinity-chlorine",
                "At {free} mg/L of free chlorine an alkalinity titration can be off by {low} to {high} mg/L, by the \
                 kit's reducing agent.",
                low = figures!("{:+.0}", -1.5 * ALKALINITY_PER_CHLORINE * free),
                high = figures!("{:+.0}", ALKALINITY_PER_CHLORINE * free),
                free = figures!("{free:.0}")
            ),
            say!(
                "care-alkalinity-chlorine-advice",
                "Test alkalinity again when free chlorine is below {much} mg/L.",
                much = figures!("{MUCH_CHLORINE_MG_L:.0}")
            ),
        );
    }
}

/// Calcium by EDTA: much magnesium makes the end point fade and the figure low.
pub(super) fn calcium(draft: &mut Draft, context: &Context) {
    if let Some(magnesium) = context.magnesium_mg_l
        && magnesium > MUCH_MAGNESIUM_MG_L
    {
        let figure = draft.outcome.figure().unwrap_or(0.0);
        draft.outcome = draft.outcome.map(|v| v, 0.1 * figure);
        draft.note(
            say!(
                "care-calcium-magnesium",
                "With {magnesium} mg/L of magnesium (mineral salts) the calcium end point fades and tends to read low.",
                magnesium = figures!("{magnesium:.0}")
            ),
            say!(
                "care-calcium-magnesium-advice",
                "Add the first drops before the indicator, or dilute the sample one to one."
            ),
        );
    }
}

/// Cyanuric acid by cloudiness.
pub(super) fn melamine(draft: &mut Draft, context: &Context) {
    if let Outcome::Below { limit } = draft.outcome {
        draft.note(
            say!(
                "care-melamine-clear",
                "Below {limit} mg/L the cloudiness cannot be told from none.",
                limit = figures!("{limit:.0}")
            ),
            say!(
                "care-melamine-clear-advice",
                "Take it as anything from none to that; a photometer or a laboratory can tell less."
            ),
        );
    } else if context.temperature_c > WARM_SAMPLE_C {
        draft.note(
            say!(
                "care-melamine-warm",
                "Read straight from a tub of {temperature}, the cloudiness comes out low.",
                temperature = Text::figures(context.units.temperature(context.temperature_c))
            ),
            say!("care-melamine-warm-advice", "Let the sample cool to room temperature before it is read."),
        );
    }
}

/// Conductivity, and salt by conductivity.
pub(super) fn conductivity(draft: &mut Draft, compensated: bool, per_c: f64, context: &Context) {
    let away = context.temperature_c - 25.0;
    let to_25 = if compensated { 1.0 } else { 1.0 / (1.0 + per_c * away).max(0.1) };
    let figure = draft.outcome.figure().unwrap_or(0.0) * to_25;
    let error = COMPENSATION_ERROR_PER_C * away.abs() * figure;
    draft.outcome = match draft.outcome {
        Outcome::Value { value, standard_error } => {
            Outcome::Value { value: value * to_25, standard_error: (standard_error * to_25).hypot(error) }
        }
        limit => limit.map(|v| v * to_25, 0.0),
    };
    let units = context.units;
    if !compensated {
        draft.note(
            say!(
                "care-conductivity-referred",
                "Referred to {standard} with {percent} % per {unit}: the meter's figure at {temperature} times {factor}.",
                standard = Text::figures(units.temperature(25.0)),
                percent = figures!("{:.1}", 100.0 * per_c / units.difference(Quantity::Temperature, 1.0)),
                unit = Text::name(units.unit(Quantity::Temperature)),
                temperature = Text::figures(units.temperature(context.temperature_c)),
                factor = figures!("{to_25:.3}")
            ),
            say!("care-none-needed", "None needed."),
        );
    }
    if draft.quantity == Quantity::Salt {
        draft.note(
            say!(
                "care-salt-meter",
                "A salt meter reads every ion as sodium chloride: alkalinity, hardness and acid residues count too."
            ),
            say!("care-salt-meter-advice", "Confirm with a chloride strip or titration before salt is added."),
        );
    }
}

/// A capillary strip: void without its signal, by the lot's table within two to five minutes.
pub(super) fn chloride_strip(
    draft: &mut Draft,
    scale: &Scale,
    lot: &LotTable,
    units: f64,
    signal_changed: Option<bool>,
    minutes: Option<f64>,
) -> Result<Outcome, Wrong> {
    within("scale units", units, "", (0.0, 100.0))?;
    if let Some(minutes) = minutes {
        within("minutes", minutes, "min", (0.0, 1440.0))?;
    }
    if signal_changed != Some(true) {
        let figure = figures!("{units:.1}");
        let what = match signal_changed {
            Some(_) => say!(
                "care-strip-unfinished",
                "The chloride strip at {units} units is void: its signal band had not changed colour, so the column had \
                 not come to its end.",
                units = figure
            ),
            None => say!(
                "care-strip-signal-unknown",
                "The chloride strip at {units} units is void: whether its signal band had changed colour was not noted.",
                units = figure
            ),
        };
        draft.doubt(
            what,
            say!(
                "care-strip-void-advice",
                "Take a new strip, wait two to five minutes until the band has changed colour, and read the top of the \
                 white column."
            ),
        );
        return Ok(Outcome::Void);
    }
    let Some((value, slope)) = lot.salt_mg_l(units) else {
        return Ok(beyond_table(draft, scale, lot, units));
    };
    let mut standard_error = (scale.relative_error * value).max(half_tick_mg_l(slope));
    if let Some(minutes) = minutes.filter(|m| !(2.0..=5.0).contains(m)) {
        standard_error *= 2.0;
        draft.doubt(
            say!(
                "care-strip-minutes",
                "The chloride strip was read after {minutes} minutes; two to five are right. Its error is doubled.",
                minutes = figures!("{minutes:.0}")
            ),
            say!("care-strip-minutes-advice", "Repeat with a new strip."),
        );
    }
    Ok(Outcome::Value { value, standard_error })
}
