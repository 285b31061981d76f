//! Water and heat that go into the air.
//!
//! In: temperatures, humidity, wind, area. Out: kg/s of water, W of heat.
//! The open surface follows the pool formula of the air-conditioning handbooks; what leaves under a cover or in bubbles
//! is humid air, so it needs no formula of its own. Left out: radiation to the sky, spray.
//! Checked: `tests/evaporation.rs` (a printed worked example of another formula, steam tables, measured pools).

/// Gas constant, J/(mol·K).
pub(crate) const GAS_CONSTANT: f64 = water::constants::GAS_CONSTANT;
/// Molar mass of water, kg/mol.
const WATER_KG_MOL: f64 = 0.018_015_3;
/// Air pressure, Pa: sea level; a tub in the mountains evaporates a little more.
pub const AIR_PRESSURE_PA: f64 = 101_325.0;
/// Heat capacity of water, J/(kg·K).
pub const WATER_HEAT_J_KG_K: f64 = 4_180.0;
/// Psychrometric constant at sea level, kPa/K, for the heat that goes with the vapour (Bowen's ratio; from memory).
const PSYCHROMETRIC_KPA_K: f64 = 0.066;

/// Vapour pressure of water, kPa, 0–50 °C.
///
/// # Source
/// Magnus' form with the coefficients of Alduchov & Eskridge 1996, J. Appl. Meteorol. 35:601 (from memory; checked
/// against steam tables).
pub fn vapour_pressure_kpa(t_c: f64) -> f64 {
    0.610_94 * (17.625 * t_c / (t_c + 243.04)).exp()
}

/// Heat of evaporation, kJ/kg: linear fit to the steam tables, 0–50 °C.
pub fn heat_of_evaporation_kj_kg(t_c: f64) -> f64 {
    2501.0 - 2.361 * t_c
}

/// Density of water vapour at a pressure and temperature, kg/m³.
pub fn vapour_density_kg_m3(kpa: f64, t_c: f64) -> f64 {
    1000.0 * kpa * WATER_KG_MOL / (GAS_CONSTANT * (t_c + 273.15))
}

/// Evaporation from an open water surface, kg/(m²·s), before any factor for how lively the surface is.
///
/// W = (0.089 + 0.0782·v)·(p_w − p_a)/Y with v in m/s, pressures in kPa, Y in kJ/kg.
///
/// # Source
/// Carrier 1918, as the ASHRAE Handbook (HVAC Applications, natatoriums) has it (from memory); its form in feet and
/// inches, (95 + 0.425·v)(p_w − p_a)/Y, was read in the abstract of ASHRAE Transactions 104-1A (1998).
pub fn open_surface_kg_m2_s(water_c: f64, air_vapour_kpa: f64, wind_m_s: f64) -> f64 {
    (0.089 + 0.0782 * wind_m_s) * (vapour_pressure_kpa(water_c) - air_vapour_kpa)
        / heat_of_evaporation_kj_kg(water_c)
}

/// Factor for a surface that nothing disturbs: 0.74 was measured (ASHRAE Transactions 104-1A, 1998, abstract).
pub const QUIET: f64 = 0.74;
/// Factor for a spa with its jets on: 1.0 is the handbook's for whirlpools (from memory).
pub const JETS: f64 = 1.0;
/// Factor more for each bather and square metre: 15–20 swimmers on 1000 ft² (93 m²) gave 1.26 in place of 0.74 in the same
/// measurements: 0.52 / 0.188 per m².
pub const PER_BATHER_M2: f64 = 2.8;

/// Convective heat that goes with evaporation from an open surface, as a multiple of the latent heat (Bowen's ratio).
pub fn bowen_ratio(water_c: f64, air_c: f64, air_vapour_kpa: f64) -> f64 {
    let drive = (vapour_pressure_kpa(water_c) - air_vapour_kpa).max(0.05);
    PSYCHROMETRIC_KPA_K * (water_c - air_c) / drive
}

/// Hours to heat water: no losses, `heater_w` steady. 1000 kg by 30 K with 3 kW: 11.6 h.
pub fn heating_time_h(water_kg: f64, from_c: f64, to_c: f64, heater_w: f64) -> f64 {
    if to_c <= from_c { 0.0 } else { water_kg * WATER_HEAT_J_KG_K * (to_c - from_c) / (heater_w * 3600.0) }
}
