//! Conductivity at 25 °C: what a salt meter sees of a water.
//!
//! Method: Σ λ·|z|·m over the ions of the water solved at 25 °C, each ion's equivalent conductivity
//! λ = λ° − (0.2289·|z|·λ° + 30.16·|z|)·√I/(1 + B·å·√I) with å = 4 Å: Onsager's limiting law with an ion-size
//! denominator, its relaxation term scaled with the ion's charge. A salt meter shows this, compensated from the
//! temperature of the sample at about 2 % per °C, as if all of it were sodium chloride.
//! Left out: specific interactions; ion pairs that carry charge (NaSO4-, CaHCO3+ …) count with 40 S·cm²/eq.
//! Checked: `tests/conductivity.rs`: printed KCl and NaCl standards within 0.2 %, the reference library's diffusion-based
//! figure (itself 0.9–2.6 % low for KCl) within 2 %. A real meter's cell and temperature compensation are worse than that.

use crate::activity::water_density_kg_l;
use crate::equilibrium::Speciation;
use crate::species::{Id, TABLE};
use crate::units::Celsius;

/// Limiting equivalent conductivities at 25 °C, S·cm²/eq (Robinson & Stokes 1959, appendix 6.1, from memory).
const LIMITING: [(Id, f64); 15] = [
    (Id::Hydrogen, 349.8),
    (Id::Hydroxide, 198.3),
    (Id::Bicarbonate, 44.5),
    (Id::Carbonate, 69.3),
    (Id::Calcium, 59.5),
    (Id::Magnesium, 53.0),
    (Id::Sodium, 50.1),
    (Id::Potassium, 73.5),
    (Id::Sulfate, 80.0),
    (Id::HydrogenSulfate, 52.0),
    (Id::Chloride, 76.35),
    (Id::Ammonium, 73.5),
    (Id::Bromide, 78.1),
    (Id::Hypochlorite, 52.0),
    (Id::Borate, 35.0),
];
/// For every other charged species: ion pairs, cyanurates, inert ions.
const OTHER: f64 = 40.0;

/// Specific conductance in µS/cm of a water solved at 25 °C.
pub fn specific_conductance_25c_us_cm(s: &Speciation) -> f64 {
    let root = s.ionic_strength.sqrt();
    let factor = root / (1.0 + 0.3285 * 4.0 * root);
    let per_eq = |limiting: f64, z: f64| (limiting - (0.2289 * z * limiting + 30.16 * z) * factor).max(0.0);
    let listed = |id: usize| LIMITING.iter().find(|(i, _)| *i as usize == id).map_or(OTHER, |(_, l)| *l);
    let ions: f64 = TABLE
        .iter()
        .zip(s.molality)
        .enumerate()
        .filter(|(_, (spec, m))| spec.charge != 0 && *m > 0.0)
        .map(|(i, (spec, m))| {
            let z = f64::from(spec.charge.abs());
            per_eq(listed(i), z) * z * m
        })
        .sum();
    let t = &s.totals;
    let inert = per_eq(OTHER, 1.0) * (t.inert_cation + t.monopersulfate)
        + per_eq(71.4, 1.0) * t.inert_anion // as nitrate
        + per_eq(80.0, 2.0) * 2.0 * t.thiosulfate;
    // S·cm²/eq · eq/kg = S·cm²/kg; a kilogram of water fills 1000 cm³ / density (the salt's own volume, 0.2 % at 6 g/L,
    // is left out), so that is mS/cm times the density, and 1000 µS/cm.
    1000.0 * water_density_kg_l(Celsius(25.0)) * (ions + inert)
}
