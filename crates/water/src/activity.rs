//! Activity coefficients: how much of a dissolved ion acts.
//!
//! In: temperature, ionic strength. Out: Debye-Hückel A and B, log10 γ of each species.
//! Model: extended Debye-Hückel in the WATEQ form, Davies for ions without fitted parameters, 0.1·I for neutral
//! species; the activity of water is 1 − 0.017·Σm. A and B come from the dielectric constant (Bradley & Pitzer
//! 1979) and density (Wagner & Pruss 2002) of water at 1 atm.
//! Left out: specific ion interaction (Pitzer), which starts to matter above seawater's strength.
//! Checked: `tests/phreeqc.rs` to 0.0005 in log10 γ.

use crate::species::Gamma;
use crate::units::Celsius;

/// Density of pure water at 1 atm in kg/L, 0–100 °C (Wagner & Pruss 2002, eq. 2.6, plus 4.6e-5 per atm).
pub fn water_density_kg_l(t: Celsius) -> f64 {
    // Reduced temperature distance from the critical point, 647.096 K; critical density 322 kg/m³.
    let cube_root = (1.0 - t.kelvin() / 647.096).cbrt();
    let theta = cube_root * cube_root * cube_root;
    let theta_5 = theta.powi(5);
    let relative = 1.0 + 1.992_740_64 * cube_root + 1.099_653_42 * cube_root.powi(2)
        - 0.510_839_303 * cube_root.powi(5)
        - 1.754_934_79 * theta_5 * cube_root
        - 45.517_035_2 * theta_5 * theta_5 * theta.powi(4) * cube_root
        - 6.746_944_5e5 * theta_5.powi(7) * theta * cube_root.powi(2);
    0.322 * relative * (1.0 + 4.6e-5)
}

/// Relative dielectric constant of water at 1 atm (Bradley & Pitzer 1979).
pub fn dielectric_constant(t: Celsius) -> f64 {
    const U: [f64; 9] =
        [3.4279e2, -5.0866e-3, 9.4690e-7, -2.0525, 3.1159e3, -1.8289e2, -8.0325e3, 4.2142e6, 2.1417];
    let k = t.kelvin();
    let at_1000_bar = U[0] * (k * (U[1] + k * U[2])).exp();
    let c = U[3] + U[4] / (U[5] + k);
    let b = U[6] + U[7] / k + U[8] * k;
    at_1000_bar + c * ((b + 1.01325) / (b + 1000.0)).ln()
}

/// Debye-Hückel A in kg^½·mol^-½ and B in kg^½·mol^-½·Å^-1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DebyeHuckel {
    /// A of log10 γ = −A z² √I …
    pub a: f64,
    /// B of 1 + å B √I.
    pub b: f64,
}

impl DebyeHuckel {
    /// At a temperature and 1 atm.
    pub fn at(t: Celsius) -> Self {
        // Gaussian units: e = 4.803204e-10 esu, k = 1.380649e-16 erg/K, N = 6.02214076e23 (CODATA).
        const ELECTRON_SQUARED_OVER_K: f64 = 4.803_204e-10 * 4.803_204e-10 / 1.380_649e-16;
        const AVOGADRO: f64 = 6.022_140_76e23;
        let bjerrum_cm = ELECTRON_SQUARED_OVER_K / (dielectric_constant(t) * t.kelvin());
        let inverse_debye_cm =
            (8.0 * std::f64::consts::PI * AVOGADRO * bjerrum_cm * water_density_kg_l(t) / 1000.0).sqrt();
        DebyeHuckel {
            a: inverse_debye_cm * bjerrum_cm / (2.0 * std::f64::consts::LN_10),
            b: inverse_debye_cm * 1e-8,
        }
    }

    /// log10 of the activity coefficient at ionic strength `i` (mol/kg).
    pub fn log10_gamma(&self, gamma: Gamma, charge: i8, i: f64) -> f64 {
        let root = i.sqrt();
        let z2 = f64::from(charge) * f64::from(charge);
        match gamma {
            Gamma::Neutral => 0.1 * i,
            Gamma::Davies => -self.a * z2 * (root / (1.0 + root) - 0.3 * i),
            Gamma::DebyeHuckel { size, linear } => {
                -self.a * z2 * root / (1.0 + size * self.b * root) + linear * i
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Density: CRC Handbook values (from memory) 0.99984 at 0 °C, 0.99705 at 25 °C, 0.99222 at 40 °C. Dielectric constant:
    /// 78.38 at 25 °C and 73.84 at 38 °C, the values the reference library computes.
    #[test]
    fn density_and_dielectric_constant_agree_with_tables() {
        for (t, rho) in [(0.0, 0.99984), (25.0, 0.99705), (40.0, 0.99222)] {
            assert!(
                (water_density_kg_l(Celsius(t)) - rho).abs() < 1e-4,
                "{t}: {}",
                water_density_kg_l(Celsius(t))
            );
        }
        for (t, eps) in [(25.0, 78.38), (38.0, 73.84)] {
            assert!((dielectric_constant(Celsius(t)) - eps).abs() < 0.01);
        }
    }
}
