//! A figure against its scale: rounding to marks, and what lies beyond the ends.

use super::interpret::{Draft, Outcome};
use super::{Kind, LotTable, Scale};
use crate::quantity::Quantity;
use crate::text::{Text, figures, say};

/// A figure against the ends and marks of its scale.
pub(super) fn on_scale(kind: &Kind, scale: &Scale, value: f64, draft: &mut Draft) -> Outcome {
    let q = scale.quantity;
    let rounding = scale.step.gap(value) / 12.0_f64.sqrt();
    let standard_error =
        scale.absolute_error.hypot(scale.relative_error * value).hypot(rounding).max(f64::MIN_POSITIVE);
    let by_colour = matches!(kind, Kind::Comparator | Kind::Strip);
    if value < scale.low {
        return Outcome::Below { limit: scale.low };
    }
    if matches!(kind, Kind::TurbidityTube) && value > scale.high {
        // The tube has no mark there: the figure can only come from a diluted sample, whose error grows with it.
        draft.note(
            say!(
                "care-tube-diluted",
                "{value} mg/L is above the tube's last mark ({last}): taken as read in a diluted sample and multiplied.",
                value = figures!("{value:.0}"),
                last = figures!("{:.0}", scale.high)
            ),
            say!("care-tube-diluted-advice", "Enter the dilution with the reading."),
        );
        return Outcome::Value { value, standard_error };
    }
    if value > scale.high || (by_colour && value >= scale.high && q != Quantity::Ph) {
        over_range(draft, scale, scale.high);
        return Outcome::Above { limit: scale.high };
    }
    let at_end = by_colour && q == Quantity::Ph && (value <= scale.low || value >= scale.high);
    if at_end {
        draft.at_scale_end = true;
        draft.note(
            say!(
                "care-ph-last-colour",
                "pH {value} is the last colour of the scale: the water may lie beyond it.",
                value = figures!("{value:.1}")
            ),
            say!("care-ph-last-colour-advice", "Test the pH by another method before a large dose."),
        );
        return Outcome::Value { value, standard_error: 2.0 * standard_error };
    }
    Outcome::Value { value, standard_error }
}

pub(super) fn over_range(draft: &mut Draft, scale: &Scale, limit: f64) {
    let q = scale.quantity;
    let what = say!(
        "care-over-range",
        "{quantity} is over range: the method tells no more than {limit} {unit}.",
        quantity = q.said().capital(),
        limit = figures!("{limit:.*}", q.decimals()),
        unit = Text::name(q.unit())
    );
    let advice = match q {
        Quantity::Ph => say!("care-over-range-ph-advice", "Test the pH by another method."),
        Quantity::Temperature | Quantity::Redox => {
            say!("care-over-range-reach-advice", "Read it again with an instrument that reaches further.")
        }
        _ => say!(
            "care-over-range-dilute-advice",
            "Dilute the sample one to one with distilled water, repeat, and double the figure."
        ),
    };
    draft.doubt(what, advice);
}

/// A name at the start of a sentence ("pH" stays as it is).
pub(crate) fn capital(name: &str) -> String {
    let mut letters = name.chars();
    match letters.next() {
        Some(first) if !name.starts_with("pH") => first.to_uppercase().chain(letters).collect(),
        _ => name.to_string(),
    }
}

/// mg/L of salt per scale unit times half a tick of a fifth of a unit: how finely a strip can be read.
pub(super) fn half_tick_mg_l(slope: f64) -> f64 {
    /// Ticks of a capillary strip's scale, in units (from memory).
    const TICK_UNITS: f64 = 0.2;
    0.5 * TICK_UNITS * slope
}

/// Used by the strip's interpretation: a table end is a limit.
pub(super) fn beyond_table(draft: &mut Draft, scale: &Scale, lot: &LotTable, units: f64) -> Outcome {
    let (first, last) = lot.range_units();
    if units < first {
        let limit = lot.salt_mg_l(first).map_or(scale.low, |s| s.0);
        return Outcome::Below { limit };
    }
    let limit = lot.salt_mg_l(last).map_or(scale.high, |s| s.0);
    over_range(draft, scale, limit);
    Outcome::Above { limit }
}
