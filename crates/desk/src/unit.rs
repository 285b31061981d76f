//! Units that a person reads in. Concentrations stay mg/L: every kit of the trade reads them so.

use crate::ctx::Ctx;
use care::amount::LITRES_PER_GALLON;
pub(crate) use care::amount::{G_PER_OZ, Units};
use care::quantity::Quantity::Temperature;

/// A figure with its unit, which no line parts from it.
pub(crate) fn with_unit(figure: &str, unit: &str) -> String {
    if unit.is_empty() { figure.to_owned() } else { format!("{figure}\u{a0}{unit}") }
}

impl Ctx {
    /// A tub's volume.
    pub(crate) fn volume(&self, litres: f64) -> String {
        match self.units {
            Units::Metric => format!("{}\u{a0}L", self.number(litres, 0)),
            Units::Us => format!("{}\u{a0}US gal", self.number(litres / LITRES_PER_GALLON, 0)),
        }
    }

    /// A mass.
    pub(crate) fn mass(&self, grams: f64) -> String {
        match self.units {
            Units::Metric if grams >= 1000.0 => format!("{}\u{a0}kg", self.number(grams / 1000.0, 2)),
            Units::Metric => format!("{}\u{a0}g", self.number(grams, if grams < 10.0 { 1 } else { 0 })),
            Units::Us => {
                format!("{}\u{a0}oz", self.number(grams / G_PER_OZ, if grams < G_PER_OZ { 2 } else { 1 }))
            }
        }
    }

    /// A temperature.
    pub(crate) fn temperature(&self, celsius: f64) -> String {
        let (units, decimals) = (self.units, self.units.decimals(Temperature));
        format!(
            "{}\u{a0}{}",
            self.number(units.value(Temperature, celsius), decimals),
            units.unit(Temperature)
        )
    }
}
