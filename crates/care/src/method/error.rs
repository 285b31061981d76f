//! What can be wrong with a reading as it was entered: the method was not used as it works.

use crate::quantity::Quantity;

/// A reading that its method cannot have given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}the method \"{method}\" {wrong}", line.map_or(String::new(), |l| format!("line {l}: ")))]
pub struct MethodError {
    /// The line of the case, if it is known.
    pub line: Option<usize>,
    /// The method's id.
    pub method: String,
    /// The quantity.
    pub quantity: Option<Quantity>,
    /// What is wrong.
    pub wrong: Wrong,
}

/// What is wrong with a reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Wrong {
    /// No scale for the quantity.
    #[error("cannot read {quantity}: it reads {can}")]
    CannotRead {
        /// The quantity's name.
        quantity: &'static str,
        /// What it reads.
        can: String,
    },
    /// o-Tolidine.
    #[error(
        "answers to free and combined chlorine alike, so it cannot show combined chlorine: test free and total with DPD or FAS-DPD"
    )]
    CannotSeparate,
    /// The raw figure has another shape.
    #[error("was given {given}; it takes {wants}")]
    WrongRaw {
        /// What was given.
        given: String,
        /// What it takes.
        wants: &'static str,
    },
    /// A chloride strip's units without the table.
    #[error(
        "needs the table printed on the bottle of its lot to turn {units} scale units into mg/L: enter the table (units and mg/L, lowest first), or the figure in mg/L that you read from it"
    )]
    NoLotTable {
        /// Units that were read.
        units: f64,
    },
    /// A table that is no table.
    #[error("has a lot table whose {field} at row {row} is {value}: {accepted}")]
    LotTable {
        /// `units` or `mg_l`.
        field: &'static str,
        /// Row, from 1.
        row: usize,
        /// What stands there.
        value: f64,
        /// What is accepted.
        accepted: &'static str,
    },
    /// Too short a table.
    #[error("has a lot table of {rows} rows: at least 2 are needed")]
    LotTableTooShort {
        /// Rows given.
        rows: usize,
    },
    /// Not a number, negative where it can't be, or beyond what a tub can be.
    #[error("was given {field} = {value} {unit}; {low} to {high} {unit} is accepted")]
    OutOfRange {
        /// Which figure.
        field: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least accepted.
        low: f64,
        /// Greatest accepted.
        high: f64,
    },
    /// The water in which the probe stands cannot be solved.
    #[error("cannot be compensated: {0}")]
    Water(#[from] water::WaterError),
}
