//! The user's own band, within hard limits that no silent override passes.

use super::Band;
use crate::amount::Units;
use crate::case::BandOverride;
use crate::finding::{Finding, Weight};
use crate::quantity::Quantity;
use crate::text::{Text, figures, say};

/// A band that cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BandError {
    /// Not a number, or beyond what a tub can be.
    #[error("band.{quantity}.{field} is {value}; {low} to {high} is accepted")]
    OutOfRange {
        /// The quantity's id.
        quantity: &'static str,
        /// The field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// Least accepted.
        low: f64,
        /// Greatest accepted.
        high: f64,
    },
    /// Edges out of order.
    #[error(
        "band.{quantity}.{field} is {value}, below {below_field} = {below_value}: low ≤ aim_low ≤ aim_high ≤ high is accepted"
    )]
    Order {
        /// The quantity's id.
        quantity: &'static str,
        /// The field that is too low.
        field: &'static str,
        /// Its value.
        value: f64,
        /// The field that it may not be below.
        below_field: &'static str,
        /// Its value.
        below_value: f64,
    },
    /// Beyond a hard limit without saying so.
    #[error(
        "band.{quantity}.{field} is {value}, beyond the hard limit of {limit} ({source_text}): stay within it, or set \
         beyond_hard_limit = true in band.{quantity} if a code or doctor that you answer to says so"
    )]
    BeyondHardLimit {
        /// The quantity's id.
        quantity: &'static str,
        /// The field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// The limit.
        limit: f64,
        /// Where the limit comes from.
        source_text: Box<Text>,
    },
}

/// A band with the user's figures in place of the default's. An aim that the user did not give
/// stays if it lies within the edges; else it becomes their middle half. Findings are said in `units`.
///
/// # Errors
/// [`BandError`] naming field and value: impossible, out of order, or beyond a hard limit without
/// `beyond_hard_limit`.
pub fn with_override(
    quantity: Quantity,
    band: Band,
    o: &BandOverride,
    units: Units,
) -> Result<(Band, Vec<Finding>), BandError> {
    let id = quantity.id();
    let given = [("low", o.low), ("aim_low", o.aim_low), ("aim_high", o.aim_high), ("high", o.high)];
    if given.iter().all(|(_, v)| v.is_none()) {
        return Ok((band, Vec::new()));
    }
    let (least, most) = quantity.possible();
    for (field, value) in given {
        if let Some(value) = value
            && !(least..=most).contains(&value)
        {
            return Err(BandError::OutOfRange { quantity: id, field, value, low: least, high: most });
        }
    }
    let low = o.low.unwrap_or(band.low);
    let high = o.high.unwrap_or(band.high);
    in_order(
        id,
        &[("low", Some(low)), ("aim_low", o.aim_low), ("aim_high", o.aim_high), ("high", Some(high))],
    )?;
    let (aim_low, aim_high) = aim(&band, o, low, high);

    let mut findings = Vec::new();
    let beyond = [
        band.hard_low.filter(|limit| low < *limit).map(|limit| ("low", low, limit)),
        band.hard_high.filter(|limit| high > *limit).map(|limit| ("high", high, limit)),
    ];
    for (field, value, limit) in beyond.into_iter().flatten() {
        if !o.beyond_hard_limit {
            return Err(BandError::BeyondHardLimit {
                quantity: id,
                field,
                value,
                limit,
                source_text: Box::new(band.source.clone()),
            });
        }
        findings.push(Finding {
            weight: Weight::Safety,
            quantities: vec![quantity],
            what: beyond_limit(field == "low", quantity, band.source.clone(), {
                let figure = |v| Text::figures(units.value(quantity, v).to_string());
                (figure(value), figure(limit), Text::name(units.unit(quantity)))
            }),
            advice: say!(
                "care-follow-the-code",
                "Follow the local code and the product's label; nobody bathes outside the bathing limits."
            ),
        });
    }
    let source = say!(
        "care-band-yours",
        "yours, in place of {low} to {high} ({source})",
        low = figures!("{}", band.low),
        high = figures!("{}", band.high),
        source = band.source
    );
    Ok((Band { low, aim_low, aim_high, high, source, by_user: true, ..band }, findings))
}

/// The user's edge lies beyond a hard limit: edge, limit and their unit.
fn beyond_limit(low: bool, quantity: Quantity, source: Text, figures: (Text, Text, Text)) -> Text {
    let (value, limit, unit) = figures;
    let quantity = quantity.said();
    if low {
        say!(
            "care-beyond-low",
            "Your low edge for {quantity}, {value} {unit}, goes beyond the hard limit of {limit} {unit} ({source}); you \
             set it so knowingly.",
            quantity = quantity,
            value = value,
            limit = limit,
            unit = unit,
            source = source
        )
    } else {
        say!(
            "care-beyond-high",
            "Your high edge for {quantity}, {value} {unit}, goes beyond the hard limit of {limit} {unit} ({source}); you \
             set it so knowingly.",
            quantity = quantity,
            value = value,
            limit = limit,
            unit = unit,
            source = source
        )
    }
}

/// The user's aim; what is absent stays as the default if that lies within the edges, else the middle half of them.
fn aim(band: &Band, o: &BandOverride, low: f64, high: f64) -> (f64, f64) {
    let quarter = 0.25 * (high - low);
    let fits = low <= band.aim_low && band.aim_high <= high;
    let (default_low, default_high) =
        if fits { (band.aim_low, band.aim_high) } else { (low + quarter, high - quarter) };
    match (o.aim_low, o.aim_high) {
        (Some(a), Some(b)) => (a, b),
        (Some(a), None) => (a, default_high.max(a)),
        (None, Some(b)) => (default_low.min(b), b),
        (None, None) => (default_low, default_high),
    }
}

/// The fields that are there, each not below the one before.
fn in_order(quantity: &'static str, fields: &[(&'static str, Option<f64>)]) -> Result<(), BandError> {
    let mut before: Option<(&'static str, f64)> = None;
    for &(field, value) in fields {
        let Some(value) = value else { continue };
        if let Some((below_field, below_value)) = before
            && value < below_value
        {
            return Err(BandError::Order { quantity, field, value, below_field, below_value });
        }
        before = Some((field, value));
    }
    Ok(())
}
