//! How fast calcium carbonate is laid down or taken up.
//!
//! In: activities and the calcite saturation index. Out: mol/(m²·s) of CaCO3 (positive: laid down).
//! Below the threshold nothing forms, because nuclei and traces of inhibitors hold it back; what lies there dissolves below
//! balance. Left out: inhibitors as a quantity, magnesium in the crystal, softening by boiling at the heater.
//! Checked: `tests/scale.rs` (the reference library's own kinetics).

/// Saturation index below which no scale forms: about +0.3 (trade and reference practice; the true value depends on
/// surfaces and inhibitors).
pub const THRESHOLD: f64 = 0.3;

/// Growth sets in over this much above the threshold, so that it is continuous.
const ONSET: f64 = 0.05;

/// Share of the growth rate at a saturation index: 0 below [`THRESHOLD`], 1 from just above.
pub fn begun(saturation_index: f64) -> f64 {
    ((saturation_index - THRESHOLD) / ONSET).clamp(0.0, 1.0)
}

/// Rate of calcite growth, mol/(m²·s); negative where it dissolves. No threshold here.
///
/// # Source
/// Plummer, Wigley & Parkhurst 1978, Am. J. Sci. 278:179, with 1 − Ω^(2/3) for the back reaction as the reference database
/// (phreeqc.dat, RATES Calcite; read there) has it.
pub fn growth_mol_m2_s(
    t_c: f64,
    hydrogen: f64,
    carbon_dioxide: f64,
    water: f64,
    saturation_index: f64,
) -> f64 {
    let t = t_c + 273.15;
    let k1 = 10f64.powf(0.198 - 444.0 / t);
    let k2 = 10f64.powf(2.84 - 2177.0 / t);
    let k3 = 10f64.powf(if t_c <= 25.0 { -5.86 - 317.0 / t } else { -1.1 - 1737.0 / t });
    // mmol/(cm²·s) to mol/(m²·s): 10.
    -10.0
        * (k1 * hydrogen + k2 * carbon_dioxide + k3 * water)
        * (1.0 - 10f64.powf(2.0 / 3.0 * saturation_index))
}
