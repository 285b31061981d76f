//! How an amount is said to a person: metric or US.
//!
//! In: an amount in the unit that its name carries. Out: a figure with its unit. Everything computed stays metric;
//! mg/L stays mg/L in either (a litre counting as a kilogram, it is the same figure as parts per million).
//! Left out on purpose: reading amounts (that is `wire`), and the names of kits and authorities' texts, which are quoted.

use crate::quantity::Quantity;

/// Grams in an avoirdupois ounce (exact).
pub const G_PER_OZ: f64 = 28.349_523_125;
/// Millilitres in a US fluid ounce (exact).
pub const ML_PER_FL_OZ: f64 = 29.573_529_562_5;
/// Litres in a US gallon (exact).
pub const LITRES_PER_GALLON: f64 = 3.785_411_784;
const OZ_PER_LB: f64 = 16.0;
/// What is so near to a whole number is said as one.
const NEARLY_WHOLE: f64 = 0.05;

/// The units that whoever reads a plan thinks in. They change words alone, never what is decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Units {
    /// Grams, litres, °C.
    #[default]
    Metric,
    /// Ounces, US gallons, °F.
    Us,
}

impl Units {
    /// A mass.
    pub fn mass(self, grams: f64) -> String {
        match self {
            Units::Metric if grams >= 999.5 => format!("{:.2} kg", grams / 1000.0),
            Units::Metric => format!("{} g", trimmed(grams)),
            Units::Us => {
                // Rounded first, so that no remainder reads "16.0 oz".
                let tenths = (grams / G_PER_OZ * 10.0).round() / 10.0;
                let pounds = (tenths / OZ_PER_LB).floor();
                match (pounds >= 1.0, tenths < 1.0) {
                    (true, _) => format!("{pounds:.0} lb {:.1} oz", tenths - OZ_PER_LB * pounds),
                    (false, true) => format!("{:.2} oz", grams / G_PER_OZ),
                    (false, false) => format!("{tenths:.1} oz"),
                }
            }
        }
    }

    /// A liquid's volume.
    pub fn liquid(self, ml: f64) -> String {
        match self {
            Units::Metric if ml >= 999.5 => format!("{:.2} L", ml / 1000.0),
            Units::Metric => format!("{} mL", trimmed(ml)),
            Units::Us if ml < ML_PER_FL_OZ => format!("{:.2} US fl oz", ml / ML_PER_FL_OZ),
            Units::Us => format!("{:.1} US fl oz", ml / ML_PER_FL_OZ),
        }
    }

    /// A tub's volume.
    pub fn volume(self, litres: f64) -> String {
        match self {
            Units::Metric => format!("{litres:.0} L"),
            Units::Us => format!("{:.0} US gal", litres / LITRES_PER_GALLON),
        }
    }

    /// A temperature, to a degree.
    pub fn temperature(self, celsius: f64) -> String {
        format!("{:.0} {}", self.value(Quantity::Temperature, celsius), self.unit(Quantity::Temperature))
    }

    /// A quantity's value as its reader counts it: °C become °F, all else stays.
    pub fn value(self, quantity: Quantity, value: f64) -> f64 {
        match (self, quantity) {
            (Units::Us, Quantity::Temperature) => value * 1.8 + 32.0,
            _ => value,
        }
    }

    /// A difference or an error of a quantity likewise.
    pub fn difference(self, quantity: Quantity, difference: f64) -> f64 {
        self.value(quantity, difference) - self.value(quantity, 0.0)
    }

    /// A quantity's unit; empty for pH and saturation index.
    pub fn unit(self, quantity: Quantity) -> &'static str {
        match (self, quantity) {
            (Units::Us, Quantity::Temperature) => "°F",
            _ => quantity.unit(),
        }
    }

    /// Decimals that a person needs: a °F is fine enough without any.
    pub fn decimals(self, quantity: Quantity) -> usize {
        match (self, quantity) {
            (Units::Us, Quantity::Temperature) => 0,
            _ => quantity.decimals(),
        }
    }

    /// A quantity's figure without its unit.
    pub fn number(self, quantity: Quantity, value: f64) -> String {
        format!("{:.*}", self.decimals(quantity), self.value(quantity, value))
    }

    /// A quantity's figure with its unit.
    pub fn figure(self, quantity: Quantity, value: f64) -> String {
        let number = self.number(quantity, value);
        match self.unit(quantity) {
            "" => number,
            unit => format!("{number} {unit}"),
        }
    }

    /// An error of a quantity's figure, after "±".
    pub fn error(self, quantity: Quantity, error: f64) -> String {
        format!("{:.*}", self.decimals(quantity), self.difference(quantity, error))
    }
}

/// Whole if it nearly is or is large, else one decimal.
fn trimmed(v: f64) -> String {
    if v >= 100.0 || (v - v.round()).abs() < NEARLY_WHOLE { format!("{v:.0}") } else { format!("{v:.1}") }
}

#[cfg(test)]
mod tests {
    use super::Units::{Metric, Us};
    use super::*;

    /// By the definitions: a pound is 453.59237 g, a gallon 231 cubic inches, 38 °C 100.4 °F.
    #[test]
    fn amounts_read_as_a_person_would_write_them() {
        assert_eq!(Metric.mass(2600.0), "2.60 kg");
        assert_eq!(Metric.mass(999.8), "1.00 kg");
        assert_eq!(Metric.mass(85.0), "85 g");
        assert_eq!(Metric.mass(7.5), "7.5 g");
        assert_eq!(Us.mass(453.592_37), "1 lb 0.0 oz");
        assert_eq!(Us.mass(907.0), "2 lb 0.0 oz");
        assert_eq!(Us.mass(453.0), "1 lb 0.0 oz");
        assert_eq!(Us.mass(85.0), "3.0 oz");
        assert_eq!(Us.mass(28.3), "1.0 oz");
        assert_eq!(Us.mass(5.0), "0.18 oz");
        assert_eq!(Metric.liquid(40.0), "40 mL");
        assert_eq!(Metric.liquid(1200.0), "1.20 L");
        assert_eq!(Us.liquid(40.0), "1.4 US fl oz");
        assert_eq!(Us.liquid(5.0), "0.17 US fl oz");
        assert_eq!(Us.volume(1250.0), "330 US gal");
        assert_eq!(Us.temperature(38.0), "100 °F");
        assert_eq!(Us.figure(Quantity::Temperature, 41.0), "106 °F");
        assert_eq!(Us.error(Quantity::Temperature, 0.5), "1");
        assert_eq!(Us.figure(Quantity::TotalAlkalinity, 90.0), "90 mg/L");
        assert_eq!(Metric.figure(Quantity::Ph, 7.4), "7.40");
    }
}
