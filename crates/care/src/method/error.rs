//! What can be wrong with a reading as it was entered: the method was not used as it works.

use crate::quantity::Quantity;
use crate::text::Text;

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
    CannotRead {
        /// The quantity.
        quantity: Quantity,
        /// What it reads.
        can: Vec<Quantity>,
    },
    /// o-Tolidine.
    CannotSeparate,
    /// The raw figure has another shape.
    WrongRaw {
        /// What was given.
        given: Box<Text>,
        /// What it takes.
        wants: Box<Text>,
    },
    /// A chloride strip's units without the table.
    NoLotTable {
        /// Units that were read.
        units: f64,
    },
    /// A table that is no table.
    LotTable {
        /// `units` or `mg_l`.
        field: &'static str,
        /// Row, from 1.
        row: usize,
        /// What stands there.
        value: f64,
        /// What is accepted.
        accepted: Box<Text>,
    },
    /// Too short a table.
    LotTableTooShort {
        /// Rows given.
        rows: usize,
    },
    /// Not a number, negative where it can't be, or beyond what a tub can be.
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
    Water(#[from] water::WaterError),
}
