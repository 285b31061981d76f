//! Gas between the water, the air under the cover, and outside.
//!
//! Two films in series with a mixed air space between: water → air under the cover by kLa, air under the cover → outside
//! by air changes. Bubbles (blower, hydrogen of the cell) leave in balance with the water as far as they get.
//! Carbon dioxide under the cover is followed; the chloramines, of which there is little, are taken to be in steady
//! passage. In: liquid transfer in 1/s, flows in m³/s. No chemical enhancement: below pH 9 it is nothing.
//! Checked: `tests/carbon_dioxide.rs`.

use crate::evaporation::{AIR_PRESSURE_PA, GAS_CONSTANT};

/// How fast gas crosses the water's surface, 1/h at [`Exchange::AT_C`], for carbon dioxide.
///
/// No measurement of carbon dioxide in a hot tub was found. The defaults lie in ranges estimated from pools and
/// bubble columns; they are judgement, and meant to be fitted to each tub.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// Still water, 1/h. 0.014 m/h was measured in a quiet pool for another liquid-film controlled gas (Schmalz et al.
    /// 2011, Water Res. 45:2681, depth assumed 2 m), which is 0.02 1/h in a tub 0.8 m deep.
    pub still_per_h: f64,
    /// More while the filter pump runs (times its duty), 1/h.
    pub circulation_per_h: f64,
    /// More while the jets run, 1/h.
    pub jets_per_h: f64,
    /// More while the jets run with air, beside what the bubbles themselves carry, 1/h.
    pub air_per_h: f64,
    /// Air that the jets or the blower draw in, L/min.
    pub air_l_min: f64,
    /// How near to balance a bubble gets before it leaves, 0 to 1.
    pub bubble_saturation: f64,
}

impl Exchange {
    /// Temperature at which the rates are given, °C.
    pub const AT_C: f64 = 38.0;
    /// Change with temperature: θ^(t − 38), θ = 1.024 (standard practice for oxygen transfer; from memory).
    pub const THETA: f64 = 1.024;

    /// The rate at a temperature, 1/s.
    pub(crate) fn per_s(&self, t_c: f64, circulation: f64, jets: bool, air: bool) -> f64 {
        let per_h = self.still_per_h
            + self.circulation_per_h * circulation
            + if jets || air { self.jets_per_h } else { 0.0 }
            + if air { self.air_per_h } else { 0.0 };
        per_h / 3600.0 * Self::THETA.powf(t_c - Self::AT_C)
    }

    /// Bubbles, m³/s.
    pub(crate) fn bubbles_m3_s(&self, air: bool) -> f64 {
        if air { self.air_l_min / 60_000.0 } else { 0.0 }
    }
}

impl Default for Exchange {
    fn default() -> Self {
        Exchange {
            still_per_h: 0.02,
            circulation_per_h: 0.1,
            jets_per_h: 0.5,
            air_per_h: 2.0,
            air_l_min: 50.0,
            bubble_saturation: 0.5,
        }
    }
}

/// mol/m³ of a gas at a pressure in atm.
pub(crate) fn mol_m3(atm: f64, t_c: f64) -> f64 {
    atm * AIR_PRESSURE_PA / (GAS_CONSTANT * (t_c + 273.15))
}

/// Dimensionless volatility (air over water, mol/L each) at 20 °C.
///
/// # Source
/// Holzwarth, Balmer & Soni 1984, Water Res. 18:1421, from memory: 0.45, 1.52 and 435 atm per mole fraction.
pub mod volatility {
    /// NH2Cl.
    pub const MONOCHLORAMINE: f64 = 3.4e-4;
    /// NHCl2.
    pub const DICHLORAMINE: f64 = 1.1e-3;
    /// NCl3.
    pub const TRICHLORAMINE: f64 = 0.33;
}

/// Ratio of the film coefficients, water over air: what the air's own film holds back (judgement; 0.005–0.02 is usual).
pub const FILM_RATIO: f64 = 0.01;

/// Share of the water's own transfer rate at which a gas really leaves: the air film and the air under the cover in
/// series with the water's film. `ventilation_m3_s` is the air that passes over the water.
pub(crate) fn passage(volatility: f64, transfer_per_s: f64, water_m3: f64, ventilation_m3_s: f64) -> f64 {
    let through_films = transfer_per_s / (1.0 + FILM_RATIO / volatility);
    let carried = ventilation_m3_s * volatility;
    let wanted = through_films * water_m3;
    if carried + wanted <= 0.0 { 0.0 } else { through_films * carried / (carried + wanted) }
}
