//! The carbonates around one solved water, in closed form.
//!
//! Constants with activities and ion pairs in them are taken from a full solve and held for a day or until something is
//! added; what else takes up acid is held too. Then pH and carbon dioxide at another carbon are the root of a quadratic:
//! many times quicker than a solve, within a hundredth of a pH (`tests` below). When it is
//! taken anew goes by the clock and the entries alone, never by the figures, so that the course stays smooth in its parameters.

use water::addition::use_chlorine;
use water::species::Id;
use water::{Equilibria, Speciation, Totals};

/// See the module.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// Hour at which it was taken.
    pub(super) at_h: f64,
    /// a(H+)·bicarbonates/CO2 and a(H+)·carbonates/bicarbonates, ion pairs included.
    k1: f64,
    k2: f64,
    /// Where it was taken: pH, free chlorine in mol/kg.
    ph: f64,
    chlorine: f64,
    /// Alkalinity that is not the carbonates', eq/kg: there, by pH, and by each mole of chlorine.
    beside: f64,
    by_ph: f64,
    by_chlorine: f64,
}

/// The carbonates of a water.
#[derive(Debug, Clone, Copy)]
pub(super) struct Carbonates {
    pub(super) ph: f64,
    /// CO2, mol/kg.
    pub(super) gas: f64,
    /// How CO2 follows carbon at constant alkalinity, mol/mol.
    pub(super) slope: f64,
}

/// Alkalinity beside the carbonates, eq/kg.
fn beside(s: &Speciation) -> f64 {
    s.totals.alkalinity - s.alkalinity_parts().carbonate
}

impl Near {
    /// Of a solved water; `None` if it has no carbonates to go by.
    pub(super) fn of(at: &Equilibria, s: &Speciation, at_h: f64) -> Option<Near> {
        let t = &s.totals;
        let (ph, gas) = (s.ph().0, s.molality(Id::CarbonDioxide));
        let h = libm::pow(10.0, -ph);
        // Bicarbonates count once, carbonates twice.
        let carbonates = s.alkalinity_parts().carbonate - (t.carbon - gas);
        let bicarbonates = (t.carbon - gas) - carbonates;
        if gas <= 0.0 || bicarbonates <= 0.0 || carbonates <= 0.0 {
            return None;
        }
        // Two more solves tell how what stands beside them moves: with less carbon, and with a third of the chlorine gone.
        let aired = at.solve_from(&Totals { carbon: 0.97 * t.carbon, ..*t }, Some(s)).ok()?;
        let by_ph = (beside(&aired) - beside(s)) / (aired.ph().0 - ph);
        let used = at.solve_from(&use_chlorine(t, t.free_chlorine / 3.0), Some(s)).ok()?;
        let fewer = used.totals.free_chlorine - t.free_chlorine;
        let by_chlorine =
            if fewer < 0.0 { (beside(&used) - beside(s) - by_ph * (used.ph().0 - ph)) / fewer } else { 0.5 };
        Some(Near {
            at_h,
            k1: h * bicarbonates / gas,
            k2: h * carbonates / bicarbonates,
            ph,
            chlorine: t.free_chlorine,
            beside: beside(s),
            by_ph,
            by_chlorine,
        })
    }

    /// a(H+) of these totals if the water's pH, as far as what stands beside goes, is `ph`.
    fn h(&self, t: &Totals, ph: f64) -> f64 {
        let beside =
            self.beside + self.by_chlorine * (t.free_chlorine - self.chlorine) + self.by_ph * (ph - self.ph);
        // alkalinity·(h² + k1·h + k1·k2) = carbon·(k1·h + 2·k1·k2)
        let (carbon, alkalinity) = (t.carbon, t.alkalinity - beside);
        let b = self.k1 * (alkalinity - carbon);
        let c = self.k1 * self.k2 * (alkalinity - 2.0 * carbon);
        ((b * b - 4.0 * alkalinity * c).sqrt() - b) / (2.0 * alkalinity)
    }

    /// The carbonates of these totals; `None` where no pH gives them.
    pub(super) fn carbonates(&self, t: &Totals) -> Option<Carbonates> {
        // Substitution nears the pH by an even share each time: where it leads follows from two of them (Aitken).
        let next = |ph: f64| -libm::log10(self.h(t, ph));
        let one = next(self.ph);
        let two = next(one);
        let bend = two - 2.0 * one + self.ph;
        let ph = if bend.abs() > 1e-12 { self.ph - (one - self.ph) * (one - self.ph) / bend } else { two };
        let h = libm::pow(10.0, -ph);
        let Near { k1, k2, .. } = *self;
        let gas = t.carbon * h * h / (h * h + k1 * h + k1 * k2);
        let (bi, carbonate) = (gas * k1 / h, gas * k1 * k2 / (h * h));
        // Of alkalinity d(bi) = −2·d(carbonate); see the quotients' own differentials.
        let slope = 1.0 / (1.0 + bi * carbonate / (gas * (4.0 * carbonate + bi)));
        (ph.is_finite() && gas > 0.0 && (4.0..11.0).contains(&ph)).then_some(Carbonates { ph, gas, slope })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use water::units::{
        eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass,
    };
    use water::{Celsius, Ph};

    /// Against the full solve, after a tenth of the carbon has left (more than goes in a day) and a milligram of chlorine
    /// has been used, at alkalinity 60–150 mg/L, with cyanuric acid and without.
    #[test]
    fn it_is_nearly_the_full_solve() {
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        for alkalinity in [60.0, 100.0, 150.0] {
            for cyanuric_acid in [0.0, 40.0] {
                for ph in [7.2, 7.6, 8.0] {
                    let totals = Totals {
                        alkalinity: eq_kg_from_mg_l_caco3(alkalinity),
                        calcium: mol_kg_from_hardness_mg_l_caco3(150.0),
                        sodium: 0.03,
                        chloride: 0.03,
                        cyanurate: mol_kg_from_mg_l(cyanuric_acid, molar_mass::CYANURIC_ACID),
                        free_chlorine: mol_kg_from_mg_l(3.0, molar_mass::CL2),
                        ..Totals::default()
                    };
                    let solved = at.solve_at_ph(&totals, Ph(ph)).unwrap();
                    let near = Near::of(&at, &solved, 0.0).unwrap();
                    assert!((near.carbonates(&solved.totals).unwrap().ph - ph).abs() < 1e-6);
                    let used = mol_kg_from_mg_l(1.0, molar_mass::CL2);
                    let t = &solved.totals;
                    let later = Totals {
                        carbon: t.carbon - 0.1 * (t.carbon - 0.97 * t.alkalinity).max(0.1 * t.carbon),
                        free_chlorine: t.free_chlorine - used,
                        chloride: t.chloride + used,
                        alkalinity: t.alkalinity - used,
                        ..*t
                    };
                    let (quick, full) =
                        (near.carbonates(&later).unwrap().ph, at.solve(&later).unwrap().ph().0);
                    assert!((quick - full).abs() < 0.01, "{alkalinity} {cyanuric_acid} {ph}: {quick} {full}");
                }
            }
        }
    }
}
