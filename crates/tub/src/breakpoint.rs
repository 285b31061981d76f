//! Chlorine with ammonia: the chloramines and their breakpoint.
//!
//! The mechanism of Jafvert & Valentine 1992 with the revisions of Vikesland, Ozekin & Valentine 2001: fourteen
//! reactions between free chlorine, ammonia, mono-, di-, trichloramine and one unstable intermediate (taken as NOH).
//! In: concentrations in mol/kg (activity = concentration, as its authors have it). Out: rates in mol/(kg·s).
//! Left out: bromamines, organic nitrogen (see `demand`), pH change (here; the tub follows it).
//! Its authors tried it at 4–30 °C, pH 6.5–9.5, up to about 2 mol Cl2 per mol N; 38 °C is an extrapolation.
//! Checked: `tests/breakpoint.rs` (an independent integration, the published shape of the curve).

use crate::error::{TubError, within};
use crate::pool::Pool;
use crate::stiff::{self, System, Tolerance, Work};
use water::constants;
use water::units::Celsius;

/// Who meets whom: what a rate is a product of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Who {
    Hypochlorous,
    Hypochlorite,
    Ammonia,
    Mono,
    Di,
    Tri,
    Intermediate,
    One,
}
use Who::*;
const WHO: usize = 8;

/// What the rate constants depend on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// H+, mol/kg.
    pub hydrogen: f64,
    /// OH-, mol/kg.
    pub hydroxide: f64,
    /// CO2, mol/kg.
    pub carbon_dioxide: f64,
    /// HCO3-, mol/kg.
    pub bicarbonate: f64,
    /// CO3-2, mol/kg.
    pub carbonate: f64,
}

/// What meets: mol/kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reactants {
    /// HOCl.
    pub hypochlorous: f64,
    /// OCl-.
    pub hypochlorite: f64,
    /// NH3.
    pub ammonia: f64,
    /// NH2Cl.
    pub monochloramine: f64,
    /// NHCl2.
    pub dichloramine: f64,
    /// NCl3.
    pub trichloramine: f64,
    /// NOH.
    pub intermediate: f64,
}

impl Reactants {
    fn array(&self) -> [f64; WHO] {
        [
            self.hypochlorous,
            self.hypochlorite,
            self.ammonia,
            self.monochloramine,
            self.dichloramine,
            self.trichloramine,
            self.intermediate,
            1.0,
        ]
    }
}

/// How many reactions there are; the eleventh has two terms of different order, so it stands twice.
pub const REACTIONS: usize = 15;

/// What each reaction takes and makes, water and H+ left out (charge decides them). N2 leaves the water.
pub static STOICHIOMETRY: [&[(Pool, f64)]; REACTIONS] = {
    use Pool::*;
    [
        // 1: HOCl + NH3 → NH2Cl + H2O, and back (2)
        &[(FreeChlorine, -1.0), (Ammonia, -1.0), (Monochloramine, 1.0)],
        &[(FreeChlorine, 1.0), (Ammonia, 1.0), (Monochloramine, -1.0)],
        // 3: HOCl + NH2Cl → NHCl2 + H2O, and back (4)
        &[(FreeChlorine, -1.0), (Monochloramine, -1.0), (Dichloramine, 1.0)],
        &[(FreeChlorine, 1.0), (Monochloramine, 1.0), (Dichloramine, -1.0)],
        // 5: 2 NH2Cl → NHCl2 + NH3, and back (6)
        &[(Monochloramine, -2.0), (Dichloramine, 1.0), (Ammonia, 1.0)],
        &[(Monochloramine, 2.0), (Dichloramine, -1.0), (Ammonia, -1.0)],
        // 7: NHCl2 + H2O → NOH + 2 Cl- + 2 H+
        &[(Dichloramine, -1.0), (Intermediate, 1.0), (Chloride, 2.0)],
        // 8: NOH + NHCl2 → N2 + HOCl + Cl- + H+
        &[
            (Intermediate, -1.0),
            (Dichloramine, -1.0),
            (FreeChlorine, 1.0),
            (Chloride, 1.0),
            (NitrogenOut, 2.0),
        ],
        // 9: NOH + NH2Cl → N2 + Cl- + H+ + H2O
        &[(Intermediate, -1.0), (Monochloramine, -1.0), (Chloride, 1.0), (NitrogenOut, 2.0)],
        // 10: NH2Cl + NHCl2 → N2 + 3 Cl- + 3 H+
        &[(Monochloramine, -1.0), (Dichloramine, -1.0), (Chloride, 3.0), (NitrogenOut, 2.0)],
        // 11: HOCl + NHCl2 → NCl3 + H2O (helped by OH-, CO3-2; and by OCl-)
        &[(FreeChlorine, -1.0), (Dichloramine, -1.0), (Trichloramine, 1.0)],
        &[(FreeChlorine, -1.0), (Dichloramine, -1.0), (Trichloramine, 1.0)],
        // 12: NHCl2 + NCl3 + 2 H2O → N2 + 2 HOCl + 3 Cl- + 3 H+
        &[
            (Dichloramine, -1.0),
            (Trichloramine, -1.0),
            (FreeChlorine, 2.0),
            (Chloride, 3.0),
            (NitrogenOut, 2.0),
        ],
        // 13: NH2Cl + NCl3 + H2O → N2 + HOCl + 3 Cl- + 3 H+
        &[
            (Monochloramine, -1.0),
            (Trichloramine, -1.0),
            (FreeChlorine, 1.0),
            (Chloride, 3.0),
            (NitrogenOut, 2.0),
        ],
        // 14: NHCl2 + 2 HOCl + H2O → NO3- + 4 Cl- + 5 H+
        &[(Dichloramine, -1.0), (FreeChlorine, -2.0), (Nitrate, 1.0), (Chloride, 4.0)],
    ]
};

/// Rate constants under some conditions: rate = k · x · y · z.
#[derive(Debug, Clone)]
pub struct Kinetics([(f64, Who, Who, Who); REACTIONS]);

impl Kinetics {
    /// Constants in mol, kg, s; T in kelvin.
    ///
    /// # Source
    /// Jafvert & Valentine 1992, Environ. Sci. Technol. 26:577; Vikesland et al. 2001, Water Res. 35:1766, as a general
    /// drinking-water package lists them (read there, not in the papers). Numbers without a temperature are 25 °C
    /// values used at every temperature. Bicarbonate's activation energy in the fifth is unphysically large (22 times from 25 to
    /// 38 °C); it is used as published, so monochloramine at 38 °C may decay too fast here. The third is also quoted with −2080 in place of −2010.
    pub fn under(c: &Conditions) -> Self {
        let t = Celsius(c.temperature_c).kelvin();
        let arrhenius = |a: f64, e: f64| a * (-e / t).exp();
        let disproportionation = arrhenius(1.05e7, 2169.0) * c.hydrogen
            + arrhenius(4.2e31, 22144.0) * c.bicarbonate
            + arrhenius(8.19e6, 4026.0) * c.carbon_dioxide;
        Kinetics([
            (arrhenius(6.6e8, 1510.0), Hypochlorous, Ammonia, One),
            (arrhenius(1.38e8, 8800.0), Mono, One, One),
            (arrhenius(3.0e5, 2010.0), Hypochlorous, Mono, One),
            (6.5e-7, Di, One, One),
            (disproportionation, Mono, Mono, One),
            (6.0e4 * c.hydrogen, Di, Ammonia, One),
            (1.1e2 * c.hydroxide, Di, One, One),
            (2.8e4, Intermediate, Di, One),
            (8.3e3, Intermediate, Mono, One),
            (1.5e-2, Mono, Di, One),
            (3.28e9 * c.hydroxide + 6.0e6 * c.carbonate, Hypochlorous, Di, One),
            (9.0e4, Hypochlorous, Di, Hypochlorite),
            (5.56e10 * c.hydroxide, Di, Tri, One),
            (1.39e9 * c.hydroxide, Mono, Tri, One),
            (2.31e2, Di, Hypochlorite, One),
        ])
    }

    /// Rates of all reactions, mol/(kg·s).
    pub fn rates(&self, reactants: &Reactants) -> [f64; REACTIONS] {
        let x = reactants.array();
        self.0.map(|(k, a, b, c)| k * x[a as usize] * x[b as usize] * x[c as usize])
    }

    /// How the rates move when the reactants move by `dx`.
    fn moved(&self, x: &[f64; WHO], dx: &[f64; WHO]) -> [f64; REACTIONS] {
        self.0.map(|(k, a, b, c)| {
            let (a, b, c) = (a as usize, b as usize, c as usize);
            k * (dx[a] * x[b] * x[c] + x[a] * dx[b] * x[c] + x[a] * x[b] * dx[c])
        })
    }
}

/// Chlorine and ammonia in a beaker at constant pH: what a breakpoint curve is made in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beaker {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// pH, kept constant.
    pub ph: f64,
    /// Carbonate alkalinity, eq/kg.
    pub alkalinity_eq_kg: f64,
    /// Free chlorine at the start, mol/kg as Cl2.
    pub free_chlorine: f64,
    /// Ammonia nitrogen at the start, mol/kg.
    pub ammonia: f64,
}

/// What is in the beaker afterwards, mol/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Free chlorine, as Cl2.
    pub free_chlorine: f64,
    /// Ammonia nitrogen.
    pub ammonia: f64,
    /// NH2Cl.
    pub monochloramine: f64,
    /// NHCl2.
    pub dichloramine: f64,
    /// NCl3.
    pub trichloramine: f64,
    /// Nitrate.
    pub nitrate: f64,
    /// Nitrogen that left as N2, mol of N.
    pub nitrogen_gas: f64,
    /// Chloride made.
    pub chloride: f64,
    /// Work of the integration.
    pub work: Work,
}

impl Outcome {
    /// Combined chlorine, mol/kg as Cl2.
    pub fn combined_chlorine(&self) -> f64 {
        self.monochloramine + 2.0 * self.dichloramine + 3.0 * self.trichloramine
    }
}

/// The beaker's pools, in its order of unknowns.
const BEAKER: [Pool; 6] = [
    Pool::Ammonia,
    Pool::FreeChlorine,
    Pool::Monochloramine,
    Pool::Dichloramine,
    Pool::Trichloramine,
    Pool::Intermediate,
];
const UNKNOWNS: usize = BEAKER.len();

/// The reactions as changes of the beaker's unknowns: (reaction, unknown, coefficient). What they end as (chloride,
/// nitrate, N2) are no unknowns: they follow.
static CHANGES: [(usize, usize, f64); CHANGE_COUNT] = {
    let mut all = [(0, 0, 0.0); CHANGE_COUNT];
    let (mut count, mut reaction) = (0, 0);
    while reaction < REACTIONS {
        let mut i = 0;
        while i < STOICHIOMETRY[reaction].len() {
            let (pool, n) = STOICHIOMETRY[reaction][i];
            let mut unknown = 0;
            while unknown < UNKNOWNS {
                if BEAKER[unknown] as usize == pool as usize {
                    all[count] = (reaction, unknown, n);
                    count += 1;
                }
                unknown += 1;
            }
            i += 1;
        }
        reaction += 1;
    }
    assert!(count == CHANGE_COUNT);
    all
};
const CHANGE_COUNT: usize = 41;

struct InBeaker {
    kinetics: Kinetics,
    /// Share of free chlorine that is HOCl.
    hypochlorous: f64,
    /// Share of ammonia nitrogen that is NH3.
    ammonia: f64,
}

impl InBeaker {
    fn reactants(&self, y: &[f64]) -> [f64; WHO] {
        let (n, fc) = (y[0], y[1]);
        [
            self.hypochlorous * fc,
            (1.0 - self.hypochlorous) * fc,
            self.ammonia * n,
            y[2],
            y[3],
            y[4],
            y[5],
            1.0,
        ]
    }

    fn spread(rates: &[f64; REACTIONS], dy: &mut [f64]) {
        dy.fill(0.0);
        for (reaction, unknown, n) in CHANGES {
            dy[unknown] += n * rates[reaction];
        }
    }
}

impl System for InBeaker {
    fn rates(&self, y: &[f64], dy: &mut [f64]) -> Result<(), TubError> {
        let x = self.reactants(y);
        let v = self.kinetics.0.map(|(k, a, b, c)| k * x[a as usize] * x[b as usize] * x[c as usize]);
        Self::spread(&v, dy);
        Ok(())
    }

    fn jacobian(&self, y: &[f64], columns: &mut [f64]) -> Result<(), TubError> {
        let x = self.reactants(y);
        for (unknown, column) in columns.chunks_exact_mut(UNKNOWNS).enumerate() {
            let mut unit = [0.0; UNKNOWNS];
            unit[unknown] = 1.0;
            let mut dx = self.reactants(&unit);
            dx[One as usize] = 0.0;
            Self::spread(&self.kinetics.moved(&x, &dx), column);
        }
        Ok(())
    }
}

impl Beaker {
    /// Conditions in the beaker at zero ionic strength.
    ///
    /// # Errors
    /// [`TubError`] naming the field that is out of range.
    pub fn conditions(&self) -> Result<Conditions, TubError> {
        within("temperature_c", self.temperature_c, "°C", (0.0, 50.0))?;
        within("ph", self.ph, "", (4.0, 11.0))?;
        within("alkalinity_eq_kg", self.alkalinity_eq_kg, "eq/kg", (0.0, 0.2))?;
        within("free_chlorine", self.free_chlorine, "mol/kg", (0.0, 0.01))?;
        within("ammonia", self.ammonia, "mol/kg", (0.0, 0.01))?;
        let t = Celsius(self.temperature_c);
        let hydrogen = 10f64.powf(-self.ph);
        let hydroxide = 10f64.powf(constants::WATER.at(t)) / hydrogen;
        let to_bicarbonate = 10f64.powf(constants::BICARBONATE.at(t) - constants::CARBON_DIOXIDE.at(t));
        let to_carbonate = 10f64.powf(-constants::BICARBONATE.at(t));
        let held = (self.alkalinity_eq_kg - hydroxide + hydrogen).max(0.0);
        let bicarbonate = held / (1.0 + 2.0 * to_carbonate / hydrogen);
        Ok(Conditions {
            temperature_c: self.temperature_c,
            hydrogen,
            hydroxide,
            carbon_dioxide: bicarbonate * hydrogen / to_bicarbonate,
            bicarbonate,
            carbonate: bicarbonate * to_carbonate / hydrogen,
        })
    }

    /// What is in it after `minutes`.
    ///
    /// # Errors
    /// [`TubError`] naming the field that is out of range, or saying where the integration stopped.
    pub fn after(&self, minutes: f64) -> Result<Outcome, TubError> {
        self.after_within(minutes, 1e-9)
    }

    /// As [`Self::after`], with a relative tolerance of its own.
    ///
    /// # Errors
    /// As [`Self::after`].
    pub fn after_within(&self, minutes: f64, relative_tolerance: f64) -> Result<Outcome, TubError> {
        within("relative_tolerance", relative_tolerance, "", (1e-12, 1e-2))?;
        within("minutes", minutes, "min", (0.0, 1e6))?;
        let conditions = self.conditions()?;
        let t = Celsius(self.temperature_c);
        let protonated = |log_k: f64| 1.0 / (1.0 + 10f64.powf(log_k) / conditions.hydrogen);
        let system = InBeaker {
            kinetics: Kinetics::under(&conditions),
            hypochlorous: protonated(constants::HYPOCHLOROUS.at(t)),
            ammonia: 1.0 - protonated(constants::AMMONIA.at(t)),
        };
        let mut y = [0.0; UNKNOWNS];
        (y[0], y[1]) = (self.ammonia, self.free_chlorine);
        let tolerance =
            Tolerance { relative: relative_tolerance, absolute: vec![1e-6 * relative_tolerance; UNKNOWNS] };
        let work = stiff::integrate(&system, &mut y, 60.0 * minutes, &tolerance)?;
        let [ammonia, free_chlorine, monochloramine, dichloramine, trichloramine, intermediate] = y;
        let chlorine_held = free_chlorine + monochloramine + 2.0 * dichloramine + 3.0 * trichloramine;
        let nitrogen_held = ammonia + monochloramine + dichloramine + trichloramine + intermediate;
        // What has reacted to the end: chlorine as chloride, nitrogen as nitrate (takes 4 chlorines) or N2 (1.5); an intermediate
        // has taken 2.
        let chloride = self.free_chlorine - chlorine_held;
        let ended = self.ammonia - nitrogen_held;
        let nitrate = (chloride - 2.0 * intermediate - 1.5 * ended) / 2.5;
        let nitrogen_gas = ended - nitrate;
        Ok(Outcome {
            free_chlorine,
            ammonia,
            monochloramine,
            dichloramine,
            trichloramine,
            nitrate,
            nitrogen_gas,
            chloride,
            work,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reaction_keeps_nitrogen_and_chlorine() {
        for (number, change) in STOICHIOMETRY.iter().enumerate() {
            assert!(crate::pool::keeps_elements(change), "reaction {} of the list", number + 1);
        }
    }
}
