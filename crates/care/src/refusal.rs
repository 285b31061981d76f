//! Why there is no answer, for whoever reads pages: a text that can be said in other languages.
//!
//! In: the errors of estimate, plan, prediction, learning and outlook. Out: each as a text. Left out: lines and fields of
//! files, which an error's own English names for whoever wrote the file.

use crate::band::BandError;
use crate::estimate::EstimateError;
use crate::learn::LearnError;
use crate::method::{MethodError, Wrong};
use crate::outlook::{DAYS, OutlookError};
use crate::planner::PlanError;
use crate::predict::PredictError;
use crate::quantity::{ALL, Quantity as Q};
use crate::text::{Text, figures, say};
use std::fmt;
use water::WaterError;

/// What reads as its text: nothing of a file is in it.
macro_rules! reads_as_said {
    ($($error:ty),+) => { $(
        impl fmt::Display for $error {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.said())
            }
        }
    )+ };
}
reads_as_said!(Wrong, PredictError);

impl EstimateError {
    /// Why the water could not be estimated.
    pub fn said(&self) -> Text {
        match self {
            EstimateError::Method(e) => e.said(),
            EstimateError::UnknownMethod { id, .. } => say!(
                "care-no-such-method",
                "the method {method} is not known: use a built-in one, or define it",
                method = quoted(id)
            ),
            EstimateError::Water { what, error } => say!(
                "care-water-cannot-be",
                "{what} cannot be as it was entered: {error}",
                what = match *what {
                    "source water" => say!("care-the-source-water", "the source water"),
                    _ => say!("care-the-tub-water", "the tub's water"),
                },
                error = of_water(error)
            ),
            EstimateError::Missing { why, .. } => why.as_ref().clone(),
        }
    }
}

impl MethodError {
    /// Which method was not used as it works, and how.
    pub fn said(&self) -> Text {
        say!(
            "care-method-wrong",
            "the method {method} {wrong}",
            method = quoted(&self.method),
            wrong = self.wrong.said()
        )
    }
}

impl Wrong {
    /// What goes on after the method's name.
    pub fn said(&self) -> Text {
        match self {
            Wrong::CannotRead { quantity, can } => say!(
                "care-cannot-read",
                "cannot read {quantity}: it reads {can}",
                quantity = quantity.said(),
                can = Text::joined(can.iter().map(|q| q.said()).collect(), ", ")
            ),
            Wrong::CannotSeparate => say!(
                "care-cannot-separate",
                "answers to free and combined chlorine alike, so it cannot show combined chlorine: test free and total with \
                 DPD or FAS-DPD"
            ),
            Wrong::WrongRaw { given, wants } => {
                say!(
                    "care-wrong-raw",
                    "was given {given}; it takes {wants}",
                    given = given.as_ref().clone(),
                    wants = wants.as_ref().clone()
                )
            }
            Wrong::NoLotTable { units } => say!(
                "care-no-lot-table",
                "needs the table printed on the bottle of its lot to turn {units} scale units into mg/L: enter the table \
                 (units and mg/L, lowest first), or the figure in mg/L that you read from it",
                units = figures!("{units}")
            ),
            Wrong::LotTable { field, row, value, accepted } => say!(
                "care-lot-table",
                "has a lot table whose {field} at row {row} is {value}: {accepted}",
                field = Text::name(*field),
                row = figures!("{row}"),
                value = figures!("{value}"),
                accepted = accepted.as_ref().clone()
            ),
            Wrong::LotTableTooShort { rows } => say!(
                "care-lot-table-short",
                "has a lot table of {rows} rows: at least 2 are needed",
                rows = figures!("{rows}")
            ),
            Wrong::OutOfRange { field, value, unit, low, high } => say!(
                "care-was-given",
                "was given {field} = {value}; {low} to {high} is accepted",
                field = named(field),
                value = with_unit(*value, unit),
                low = figures!("{low}"),
                high = with_unit(*high, unit)
            ),
            Wrong::Water(error) => {
                say!("care-not-compensated", "cannot be compensated: {error}", error = of_water(error))
            }
        }
    }
}

impl PlanError {
    /// Why there is no plan.
    pub fn said(&self) -> Text {
        match self {
            PlanError::Estimate(e) => e.said(),
            PlanError::Band(e) => e.said(),
            PlanError::BandIncomplete { quantity } => say!(
                "care-band-incomplete",
                "{quantity} has no band by default in this tub: give its low and its high edge",
                quantity = of_id(quantity)
            ),
        }
    }
}

impl BandError {
    /// Which band cannot be.
    pub fn said(&self) -> Text {
        match self {
            BandError::OutOfRange { quantity, field, value, low, high } => say!(
                "care-edge-out-of-range",
                "the band of {quantity}: {edge} is {value}; {low} to {high} is accepted",
                quantity = of_id(quantity),
                edge = edge(field),
                value = figures!("{value}"),
                low = figures!("{low}"),
                high = figures!("{high}")
            ),
            BandError::Order { quantity, field, value, below_field, below_value } => say!(
                "care-edge-order",
                "the band of {quantity}: {edge} is {value}, less than {other}, which is {other_value}",
                quantity = of_id(quantity),
                edge = edge(field),
                value = figures!("{value}"),
                other = edge(below_field),
                other_value = figures!("{below_value}")
            ),
            BandError::BeyondHardLimit { quantity, field, value, limit, source_text } => say!(
                "care-edge-beyond",
                "the band of {quantity}: {edge} is {value}, beyond the hard limit of {limit} ({source}): stay within it, or \
                 allow it expressly if a code or doctor that you answer to says so",
                quantity = of_id(quantity),
                edge = edge(field),
                value = figures!("{value}"),
                limit = figures!("{limit}"),
                source = source_text.as_ref().clone()
            ),
        }
    }
}

impl PredictError {
    /// Why nothing is foretold.
    pub fn said(&self) -> Text {
        match self {
            PredictError::Estimate(e) => e.said(),
            PredictError::NoSuchProduct { index, count } => say!(
                "care-no-such-product",
                "product {index} is not on the shelf, which has {count} (counted from 0)",
                index = figures!("{index}"),
                count = figures!("{count}")
            ),
            PredictError::Amount { product, grams } => say!(
                "care-amount-cannot-be",
                "{grams} g of {product} cannot be added; 0 g or more is accepted",
                grams = figures!("{grams}"),
                product = Text::name(product)
            ),
            PredictError::Water(error) => {
                say!("care-so-much", "so much leaves what can be computed: {error}", error = of_water(error))
            }
        }
    }
}

impl LearnError {
    /// Why nothing can be learnt.
    pub fn said(&self) -> Text {
        match self {
            LearnError::Estimate(e) => e.said(),
            LearnError::Nothing => say!(
                "care-nothing-known",
                "nothing is known of this water: a reading, or a fill with the source water's analysis, is needed"
            ),
            LearnError::TooMuch { product, days_ago } => say!(
                "care-too-much",
                "the {product} dosed {days} days ago leads to no water that the chemistry covers: its amount or the volume must be wrong",
                product = Text::name(product.clone()),
                days = Text::figures(format!("{days_ago:.1}"))
            ),
            LearnError::LongAgo(days) => say!(
                "care-long-ago",
                "the last entry is {days} days old: what a water was like more than 120 days ago says nothing of today; test it",
                days = Text::figures(format!("{days:.0}"))
            ),
            LearnError::NoWater => say!(
                "care-no-water",
                "the entries lead to no water that the chemistry covers: an amount or a volume among them must be wrong"
            ),
        }
    }
}

impl OutlookError {
    /// Why nothing is said of the days to come.
    pub fn said(&self) -> Text {
        match self {
            OutlookError::Learn(e) => e.said(),
            OutlookError::Plan(e) => e.said(),
            OutlookError::Days(days) => say!(
                "care-days-ahead",
                "an outlook of {days} days cannot be made: {low} to {high} is accepted",
                days = figures!("{days}"),
                low = figures!("{}", DAYS.0),
                high = figures!("{}", DAYS.1)
            ),
        }
    }
}

/// Why a water could not be solved.
fn of_water(error: &WaterError) -> Text {
    match error {
        WaterError::OutOfRange { field, value, unit, low, high } => say!(
            "care-water-out-of-range",
            "{field} is {value}; {low} to {high} is accepted",
            field = named(field),
            value = with_unit(*value, unit),
            low = figures!("{low}"),
            high = with_unit(*high, unit)
        ),
        WaterError::NotANumber { field } => {
            say!("care-water-no-number", "{field} is not a finite number", field = named(field))
        }
        WaterError::NoRoomForCarbonate { given, without_carbon, ph } => say!(
            "care-water-no-room",
            "total alkalinity is {given} mg/L, but at pH {ph} this water holds {without} mg/L without any carbonate \
             (hydroxide, borate, cyanurate, hypochlorite, less acid): one of the figures is wrong",
            given = figures!("{given:.0}"),
            ph = figures!("{ph:.2}"),
            without = figures!("{without_carbon:.0}")
        ),
        WaterError::NotSettled { .. } => say!("care-water-not-settled", "no equilibrium was found"),
        WaterError::Exhausted { component, .. } => say!(
            "care-water-exhausted",
            "more is taken out than there is of {component}",
            component = Text::name(*component)
        ),
        other => Text::from(other.to_string()),
    }
}

fn quoted(id: &str) -> Text {
    Text::name(format!("\"{id}\""))
}

/// A quantity by its id.
fn of_id(id: &str) -> Text {
    Q::from_id(id).map_or_else(|| Text::name(id), Q::said)
}

/// An edge of a band by its field.
fn edge(field: &str) -> Text {
    match field {
        "low" => say!("care-edge-low", "the low edge"),
        "aim_low" => say!("care-edge-aim-low", "the low end of the aim"),
        "aim_high" => say!("care-edge-aim-high", "the high end of the aim"),
        "high" => say!("care-edge-high", "the high edge"),
        other => Text::name(other),
    }
}

/// A figure by its field: a quantity, or what a kit shows; the field itself where only files have it.
fn named(field: &str) -> Text {
    match field {
        "drops" => say!("care-field-drops", "drops"),
        "scale units" => say!("care-field-scale-units", "scale units"),
        "minutes" => say!("care-field-minutes", "minutes"),
        "water temperature" | "temperature_c" => Q::Temperature.said(),
        "ph" | "ph (as it results)" => Q::Ph.said(),
        other => ALL.into_iter().find(|q| q.name() == other).map_or_else(|| Text::name(other), Q::said),
    }
}

fn with_unit(value: f64, unit: &str) -> Text {
    Text::figures(format!("{value} {unit}").trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_names_no_file_and_a_file_is_told_its_line() {
        let wrong = Wrong::CannotRead { quantity: Q::Salt, can: vec![Q::Ph, Q::FreeChlorine] };
        let e = MethodError { line: Some(7), method: "dye".into(), quantity: Some(Q::Salt), wrong };
        let plan = PlanError::from(EstimateError::from(e));
        assert_eq!(plan.said(), "the method \"dye\" cannot read salt: it reads pH, free chlorine");
        assert_eq!(plan.to_string(), format!("line 7: {}", plan.said()));
        let nothing = OutlookError::from(LearnError::Nothing);
        assert!(nothing.to_string().contains("[[reading]]") && !nothing.said().contains('['));
    }

    #[test]
    fn figures_keep_their_units_and_fields_of_the_chemistry_read_as_quantities() {
        let error =
            WaterError::OutOfRange { field: "temperature_c", value: 55.5, unit: "°C", low: 0.0, high: 50.0 };
        assert_eq!(
            EstimateError::Water { what: "tub water", error }.said(),
            "the tub's water cannot be as it was entered: temperature is 55.5 °C; 0 to 50 °C is accepted"
        );
        let error = WaterError::OutOfRange { field: "ph", value: 12.0, unit: "", low: 2.0, high: 11.0 };
        assert_eq!(of_water(&error), "pH is 12; 2 to 11 is accepted");
    }
}
