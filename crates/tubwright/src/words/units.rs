//! Amounts for people, metric or US.

use crate::cli::Units;

/// Grams in an avoirdupois ounce (exact).
const G_PER_OZ: f64 = 28.349_523_125;
/// Millilitres in a US fluid ounce (exact).
const ML_PER_FL_OZ: f64 = 29.573_529_562_5;

impl Units {
    /// A mass.
    pub(crate) fn mass(self, grams: f64) -> String {
        match self {
            Units::Metric if grams >= 1000.0 => format!("{:.2} kg", grams / 1000.0),
            Units::Metric if grams < 10.0 || (grams < 100.0 && (grams - grams.round()).abs() > 0.05) => {
                format!("{grams:.1} g")
            }
            Units::Metric => format!("{grams:.0} g"),
            Units::Us => {
                let oz = grams / G_PER_OZ;
                let pounds = (oz / 16.0).floor();
                if pounds >= 1.0 {
                    // Rounded first, so that no remainder reads "16.0 oz".
                    let tenths = (oz * 10.0).round() / 10.0;
                    let pounds = (tenths / 16.0).floor();
                    format!("{pounds:.0} lb {:.1} oz", tenths - 16.0 * pounds)
                } else if oz < 1.0 {
                    format!("{oz:.2} oz")
                } else {
                    format!("{oz:.1} oz")
                }
            }
        }
    }

    /// A liquid's volume.
    pub(crate) fn liquid(self, ml: f64) -> String {
        match self {
            Units::Metric => format!("{ml:.0} mL"),
            Units::Us => format!("{:.1} US fl oz", ml / ML_PER_FL_OZ),
        }
    }

    /// A tub's volume.
    pub(crate) fn volume(self, litres: f64) -> String {
        match self {
            Units::Metric => format!("{litres:.0} L"),
            Units::Us => format!("{:.0} US gal", litres / care::wire::case::LITRES_PER_GALLON),
        }
    }

    /// A temperature.
    pub(crate) fn temperature(self, celsius: f64) -> String {
        format!("{:.0}{}", self.of_celsius(celsius), self.degree())
    }

    /// A temperature without its unit: to a tenth of a °C, or to a °F.
    pub(crate) fn degrees(self, celsius: f64) -> String {
        let decimals = if self == Units::Metric { 1 } else { 0 };
        format!("{:.decimals$}", self.of_celsius(celsius))
    }

    /// The unit of temperature, after a space.
    pub(crate) fn degree(self) -> &'static str {
        match self {
            Units::Metric => " °C",
            Units::Us => " °F",
        }
    }

    fn of_celsius(self, celsius: f64) -> f64 {
        match self {
            Units::Metric => celsius,
            Units::Us => celsius * 1.8 + 32.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Units::{Metric, Us};

    #[test]
    fn amounts_read_as_a_person_would_write_them() {
        assert_eq!(Metric.mass(2600.0), "2.60 kg");
        assert_eq!(Metric.mass(85.0), "85 g");
        assert_eq!(Us.mass(453.592_37), "1 lb 0.0 oz");
        assert_eq!(Us.mass(907.0), "2 lb 0.0 oz");
        assert_eq!(Us.mass(85.0), "3.0 oz");
        assert_eq!(Us.liquid(40.0), "1.4 US fl oz");
        assert_eq!(Us.volume(1250.0), "330 US gal");
        assert_eq!(Us.temperature(38.0), "100 °F");
    }
}
