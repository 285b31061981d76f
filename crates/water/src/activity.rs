//! Activity coefficients: how much of a dissolved ion acts.
//!
//! In: temperature, ionic strength. Out: Debye-Hückel A and B, log10 γ of each species.
//! Model: extended Debye-Hückel in the WATEQ form, Davies for ions without fitted parameters, 0.1·I for neutral
//! species; the activity of water is 1 − 0.017·Σm. A and B come from the dielectric constant (Bradley & Pitzer
//! 1979) and density (Wagner & Pruss 2002) of water at 1 atm.
//! Left out: specific ion interaction (Pitzer), which starts to matter above seawater's strength.
//! Checked: `tests/phreeqc.rs` to 0.0005 in log10 γ.

use crate::species::{COUNT, Gamma, Species, TABLE};
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

/// Room for the classes of activity coefficient: species of the same charge and parameters share one.
pub(crate) const CLASSES: usize = 32;
/// How many there are.
const CLASS_COUNT: usize = count_classes();

/// A class is named by the first species in it; its number counts the classes before.
pub(crate) const fn class_of(species: &Species) -> usize {
    let mut class = 0;
    let mut s = 0;
    while s < COUNT {
        if first_of_class(s) {
            if same_class(&TABLE[s], species) {
                return class;
            }
            class += 1;
        }
        s += 1;
    }
    class
}

const fn same_class(a: &Species, b: &Species) -> bool {
    let same_charge = a.charge == b.charge || a.charge == -b.charge;
    match (a.gamma, b.gamma) {
        (Gamma::Neutral, Gamma::Neutral) => true,
        (Gamma::Davies, Gamma::Davies) => same_charge,
        (Gamma::DebyeHuckel { size: p, linear: q }, Gamma::DebyeHuckel { size: r, linear: s }) => {
            same_charge && p == r && q == s
        }
        _ => false,
    }
}

const fn first_of_class(s: usize) -> bool {
    let mut before = 0;
    while before < s {
        if same_class(&TABLE[before], &TABLE[s]) {
            return false;
        }
        before += 1;
    }
    true
}

const fn count_classes() -> usize {
    let mut count = 0;
    let mut s = 0;
    while s < COUNT {
        count += first_of_class(s) as usize;
        s += 1;
    }
    assert!(count <= CLASSES);
    count
}

/// For every class: (charge², model), the charge by its square.
static CLASS_MODELS: [(f64, Gamma); CLASS_COUNT] = {
    let mut models = [(0.0, Gamma::Neutral); CLASS_COUNT];
    let (mut s, mut class) = (0, 0);
    while s < COUNT {
        if first_of_class(s) {
            models[class] = ((TABLE[s].charge * TABLE[s].charge) as f64, TABLE[s].gamma);
            class += 1;
        }
        s += 1;
    }
    models
};

/// All classes at one temperature, in one form: ln γ = −limit·√I/(1 + rate·√I) + linear·I.
#[derive(Debug, Clone)]
pub(crate) struct ActivityClasses {
    rate: [f64; CLASS_COUNT],
    limit: [f64; CLASS_COUNT],
    linear: [f64; CLASS_COUNT],
}

/// ln γ of every class and its slope d(ln γ)/dI.
pub(crate) struct ClassGammas {
    pub(crate) ln: [f64; CLASSES],
    pub(crate) slope: [f64; CLASSES],
}

impl ActivityClasses {
    pub(crate) fn new(dh: &DebyeHuckel) -> Self {
        let ln_10 = std::f64::consts::LN_10;
        let mut classes =
            Self { rate: [1.0; CLASS_COUNT], limit: [0.0; CLASS_COUNT], linear: [0.0; CLASS_COUNT] };
        for (i, (z2, model)) in CLASS_MODELS.iter().enumerate() {
            let a = dh.a * ln_10 * z2;
            (classes.rate[i], classes.limit[i], classes.linear[i]) = match model {
                Gamma::Neutral => (1.0, 0.0, 0.1 * ln_10),
                Gamma::Davies => (1.0, a, 0.3 * a),
                Gamma::DebyeHuckel { size, linear } => (size * dh.b, a, linear * ln_10),
            };
        }
        classes
    }

    pub(crate) fn at(&self, strength: f64) -> ClassGammas {
        let root = strength.sqrt().max(1e-9);
        let half_over_root = 0.5 / root;
        let mut gammas = ClassGammas { ln: [0.0; CLASSES], slope: [0.0; CLASSES] };
        for i in 0..CLASS_COUNT {
            let shrink = 1.0 / (1.0 + self.rate[i] * root);
            let limit = self.limit[i] * shrink;
            gammas.ln[i] = self.linear[i] * strength - limit * root;
            gammas.slope[i] = self.linear[i] - limit * shrink * half_over_root;
        }
        gammas
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

    #[test]
    fn the_classes_give_the_same_coefficients_as_the_formulas() {
        let dh = DebyeHuckel::at(Celsius(38.0));
        let classes = ActivityClasses::new(&dh);
        for i in [1e-4, 0.01, 0.7] {
            let gammas = classes.at(i);
            for s in &TABLE {
                let formula = dh.log10_gamma(s.gamma, s.charge, i);
                let ours = gammas.ln[class_of(s)] / std::f64::consts::LN_10;
                assert!((formula - ours).abs() < 1e-12, "{}: {formula} {ours}", s.name);
            }
        }
    }
}
