//! The carbonates around one solved water, in closed form.
//!
//! Constants with activities and ion pairs in them are taken from a full solve and held for a day or until something is
//! added; what else takes up acid is held too. Then pH and carbon dioxide at another carbon are the root of a quadratic:
//! many times quicker than a solve, within a hundredth of a pH (`tests` below). When it is
//! taken anew goes by the clock and the entries alone, never by the figures, so that the course stays smooth in its parameters.

use water::species::Id;
use water::{Speciation, Totals};

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
    /// CO2, a trace of it in pairs, mol/kg.
    pub(super) gas: f64,
    /// How CO2 follows carbon at constant alkalinity, mol/mol.
    pub(super) slope: f64,
}

/// a(H+) at a pH.
fn acid(ph: f64) -> f64 {
    libm::exp(-std::f64::consts::LN_10 * ph)
}

/// Alkalinity beside the carbonates, eq/kg.
fn beside(s: &Speciation) -> f64 {
    s.totals.alkalinity - s.alkalinity_parts().carbonate
}

/// Bicarbonate, carbonate, and their ion pairs.
const BICARBONATES: [Id; 4] =
    [Id::Bicarbonate, Id::CalciumBicarbonate, Id::MagnesiumBicarbonate, Id::SodiumBicarbonate];
const CARBONATES: [Id; 4] =
    [Id::Carbonate, Id::CalciumCarbonate, Id::MagnesiumCarbonate, Id::SodiumCarbonate];
/// Pairs of an acid and its base that share nothing with others.
const PAIRS: [(Id, Id); 2] = [(Id::BoricAcid, Id::Borate), (Id::Ammonium, Id::Ammonia)];
/// What gains or loses a proton alone, its partner being there in plenty.
const ALONE: [Id; 5] =
    [Id::Hydrogen, Id::Hydroxide, Id::HydrogenSulfate, Id::CalciumHydroxide, Id::MagnesiumHydroxide];
/// Chlorine and cyanurate, which share species: protons, chlorine, cyanurate of each.
const SHARED: [(Id, f64, f64, f64); 12] = [
    (Id::HypochlorousAcid, 0.0, 1.0, 0.0),
    (Id::Hypochlorite, -1.0, 1.0, 0.0),
    (Id::CyanuricAcid, 0.0, 0.0, 1.0),
    (Id::Cyanurate1, -1.0, 0.0, 1.0),
    (Id::Cyanurate2, -2.0, 0.0, 1.0),
    (Id::Cyanurate3, -3.0, 0.0, 1.0),
    (Id::MonochlorocyanuricAcid, 0.0, 1.0, 1.0),
    (Id::Monochlorocyanurate1, -1.0, 1.0, 1.0),
    (Id::Monochlorocyanurate2, -2.0, 1.0, 1.0),
    (Id::DichlorocyanuricAcid, 0.0, 2.0, 1.0),
    (Id::Dichlorocyanurate, -1.0, 2.0, 1.0),
    (Id::TrichlorocyanuricAcid, 0.0, 3.0, 1.0),
];

/// How the alkalinity beside the carbonates moves, by pH and by each mole of chlorine, activity coefficients held: the mass
/// balances' own differentials, a species' molality going with e to the sum of its parts' ln activities.
fn slopes(s: &Speciation) -> (f64, f64) {
    let m = |id: Id| s.molality(id);
    // By ln a(H+), what is taken up counted negative.
    let mut by_acid = -ALONE.iter().map(|id| m(*id)).sum::<f64>();
    for (acid, base) in PAIRS {
        let both = m(acid) + m(base);
        if both > 0.0 {
            by_acid -= m(acid) * m(base) / both;
        }
    }
    // Sums of molality times products of protons h, chlorine o and cyanurate c.
    let (mut hh, mut ho, mut hc, mut oo, mut oc, mut cc) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (id, h, o, c) in SHARED {
        let m = m(id);
        (hh, ho, hc) = (hh + m * h * h, ho + m * h * o, hc + m * h * c);
        (oo, oc, cc) = (oo + m * o * o, oc + m * o * c, cc + m * c * c);
    }
    // Of the two balances: what ln a(HOCl) and ln a(H3Cy) must do.
    let solve = |of_o: f64, of_c: f64| {
        let d = oo * cc - oc * oc;
        if oo <= 0.0 {
            (0.0, if cc > 0.0 { of_c / cc } else { 0.0 })
        } else if cc <= 0.0 {
            (of_o / oo, 0.0)
        } else {
            ((of_o * cc - of_c * oc) / d, (of_c * oo - of_o * oc) / d)
        }
    };
    let (o, c) = solve(-ho, -hc);
    by_acid -= hh + ho * o + hc * c;
    let (o, c) = solve(1.0, 0.0);
    let by_chlorine = if oo > 0.0 { -(ho * o + hc * c) } else { 0.5 };
    (-std::f64::consts::LN_10 * by_acid, by_chlorine)
}

impl Near {
    /// Of a solved water; `None` if it has no carbonates to go by.
    pub(super) fn of(s: &Speciation, at_h: f64) -> Option<Near> {
        let t = &s.totals;
        let ph = s.ph().0;
        let h = acid(ph);
        let beside = beside(s);
        // Each summed, none taken as what the totals leave: at pH 6 carbonates are less than a solve is good to.
        let sum = |of: &[Id]| of.iter().map(|id| s.molality(*id)).sum::<f64>();
        let gas = s.molality(Id::CarbonDioxide) + 2.0 * s.molality(Id::CarbonDioxideDimer);
        let (bicarbonates, carbonates) = (sum(&BICARBONATES), sum(&CARBONATES));
        if gas <= 0.0 || bicarbonates <= 0.0 || carbonates <= 0.0 {
            return None;
        }
        let (by_ph, by_chlorine) = slopes(s);
        Some(Near {
            at_h,
            k1: h * bicarbonates / gas,
            k2: h * carbonates / bicarbonates,
            ph,
            chlorine: t.free_chlorine,
            beside,
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
        let next = |ph: f64| -libm::log(self.h(t, ph)) / std::f64::consts::LN_10;
        let one = next(self.ph);
        let two = next(one);
        let bend = two - 2.0 * one + self.ph;
        let ph = if bend.abs() > 1e-12 { self.ph - (one - self.ph) * (one - self.ph) / bend } else { two };
        let h = acid(ph);
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
    use water::addition::use_chlorine;
    use water::units::{
        eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass,
    };
    use water::{Celsius, Equilibria, Ph};

    /// Against the full solve, after a tenth of the carbon has left (more than goes in a day) and a milligram of chlorine
    /// has been used, at alkalinity 60–150 mg/L, with cyanuric acid and without.
    #[test]
    fn it_is_nearly_the_full_solve() {
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        for alkalinity in [60.0, 100.0, 150.0] {
            for cyanuric_acid in [0.0, 40.0] {
                for ph in [5.8, 6.4, 7.2, 7.6, 8.0] {
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
                    let near = Near::of(&solved, 0.0).unwrap();
                    let again = near.carbonates(&solved.totals).unwrap().ph;
                    assert!((again - ph).abs() < 1e-6, "{alkalinity} {cyanuric_acid} {ph}: {again}");
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
    /// The slopes against differences of full solves: with a thousandth less carbon, and with a hundredth of the chlorine
    /// used. Activity coefficients move a little in those.
    #[test]
    fn its_slopes_are_the_full_solves_own() {
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        for (cyanuric_acid, chlorine, boron) in
            [(0.0, 0.0, 0.0), (0.0, 5.0, 0.0), (50.0, 0.0, 0.0), (50.0, 5.0, 0.003), (8.0, 10.0, 0.0)]
        {
            for ph in [6.8, 7.6, 8.4] {
                let totals = Totals {
                    alkalinity: eq_kg_from_mg_l_caco3(90.0),
                    calcium: mol_kg_from_hardness_mg_l_caco3(150.0),
                    sodium: 0.03,
                    chloride: 0.03,
                    sulfate: 0.001,
                    boron,
                    cyanurate: mol_kg_from_mg_l(cyanuric_acid, molar_mass::CYANURIC_ACID),
                    free_chlorine: mol_kg_from_mg_l(chlorine, molar_mass::CL2),
                    ..Totals::default()
                };
                let s = at.solve_at_ph(&totals, Ph(ph)).unwrap();
                let (by_ph, by_chlorine) = slopes(&s);
                let aired = at.solve(&Totals { carbon: 0.999 * s.totals.carbon, ..s.totals }).unwrap();
                let difference = (beside(&aired) - beside(&s)) / (aired.ph().0 - ph);
                assert!(
                    (by_ph / difference - 1.0).abs() < 0.02,
                    "{cyanuric_acid} {ph}: {by_ph} {difference}"
                );
                if chlorine > 0.0 {
                    let used = at.solve(&use_chlorine(&s.totals, 0.01 * s.totals.free_chlorine)).unwrap();
                    let moved = beside(&used) - beside(&s) - by_ph * (used.ph().0 - ph);
                    let difference = moved / (used.totals.free_chlorine - s.totals.free_chlorine);
                    assert!((by_chlorine - difference).abs() < 0.02, "{ph}: {by_chlorine} {difference}");
                }
            }
        }
    }
}
