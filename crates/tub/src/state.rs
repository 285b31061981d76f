//! What a tub is like at one moment.

use crate::error::{TubError, within};
use crate::pool::{self, ALL, COUNT, ELEMENTS, OUT, Pool};
use crate::vessel::Settings;
use water::{Celsius, Equilibria, Speciation, Totals};

/// A tub at one moment. Concentrations are per kilogram of its water; pH is not among them: it follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Hours since the start.
    pub at_h: f64,
    /// Water, kg.
    pub water_kg: f64,
    /// Its temperature.
    pub temperature: Celsius,
    /// What is dissolved, chlorine and ammonia included.
    pub totals: Totals,
    /// Chlorate, mol/kg: part of `totals.inert_anion`.
    pub chlorate: f64,
    /// NH2Cl, mol/kg.
    pub monochloramine: f64,
    /// NHCl2, mol/kg.
    pub dichloramine: f64,
    /// NCl3, mol/kg.
    pub trichloramine: f64,
    /// The breakpoint's intermediate, mol/kg.
    pub intermediate: f64,
    /// Urea, mol/kg.
    pub urea: f64,
    /// Organic nitrogen that can take up chlorine, mol/kg.
    pub organic: f64,
    /// Organic chloramine, mol/kg.
    pub organic_chloramine: f64,
    /// Carbon dioxide in the air under the cover, mol.
    pub headspace_carbon_dioxide_mol: f64,
    /// Scale in the tub, mol of CaCO3.
    pub scale_mol: f64,
    /// Scale on the cell's plates, mol of CaCO3.
    pub plate_scale_mol: f64,
    /// Wear of the cell, h.
    pub cell_hours: f64,
    /// What has left less what came, mol (water: kg), in the order of [`ELEMENTS`].
    pub out: [f64; ELEMENTS.len()],
    /// What is set.
    pub settings: Settings,
}

impl State {
    /// A tub just filled: this water, nothing else in it, outside air under the cover.
    pub fn filled(
        water_kg: f64,
        temperature: Celsius,
        totals: Totals,
        headspace_m3: f64,
        settings: Settings,
    ) -> Self {
        let s = &settings.surroundings;
        State {
            at_h: 0.0,
            water_kg,
            temperature,
            totals,
            chlorate: 0.0,
            monochloramine: 0.0,
            dichloramine: 0.0,
            trichloramine: 0.0,
            intermediate: 0.0,
            urea: 0.0,
            organic: 0.0,
            organic_chloramine: 0.0,
            headspace_carbon_dioxide_mol: crate::exchange::mol_m3(s.carbon_dioxide_ppm * 1e-6, s.air_c)
                * headspace_m3,
            scale_mol: 0.0,
            plate_scale_mol: 0.0,
            cell_hours: 0.0,
            out: [0.0; ELEMENTS.len()],
            settings,
        }
    }

    /// pH and all else that follows.
    ///
    /// # Errors
    /// [`TubError::Water`] if the water has no equilibrium in the range of the constants.
    pub fn speciation(&self) -> Result<Speciation, TubError> {
        Equilibria::at(self.temperature)
            .and_then(|at| at.solve(&self.totals))
            .map_err(|why| TubError::Water { at_h: self.at_h, why })
    }

    /// Calcite saturation index.
    ///
    /// # Errors
    /// As [`Self::speciation`].
    pub fn calcite_saturation_index(&self) -> Result<f64, TubError> {
        let s = self.speciation()?;
        Equilibria::at(self.temperature)
            .map(|at| at.calcite_saturation_index(&s))
            .map_err(|why| TubError::Water { at_h: self.at_h, why })
    }

    /// Combined chlorine in truth, mol/kg as Cl2: chloramines and organic chloramine.
    pub fn combined_chlorine(&self) -> f64 {
        self.monochloramine + 2.0 * self.dichloramine + 3.0 * self.trichloramine + self.organic_chloramine
    }

    /// What a total-chlorine test reads, mol/kg as Cl2: monopersulfate sets free as much iodine as chlorine does, and so
    /// looks like combined chlorine.
    pub fn total_chlorine_reading(&self) -> f64 {
        self.totals.free_chlorine + self.combined_chlorine() + self.totals.monopersulfate
    }

    /// Checks everything.
    ///
    /// # Errors
    /// [`TubError`] naming the first field that is no number or out of range.
    pub fn check(&self) -> Result<(), TubError> {
        within("at_h", self.at_h, "h", (-1e7, 1e7))?;
        within("water_kg", self.water_kg, "kg", (10.0, 1e6))?;
        within("temperature_c", self.temperature.0, "°C", (0.0, 50.0))?;
        self.totals.check().map_err(|why| TubError::Water { at_h: self.at_h, why })?;
        // A part of a sum, to rounding.
        within("chlorate", self.chlorate, "mol/kg", (0.0, self.totals.inert_anion * (1.0 + 1e-9)))?;
        for (name, value) in [
            ("monochloramine", self.monochloramine),
            ("dichloramine", self.dichloramine),
            ("trichloramine", self.trichloramine),
            ("intermediate", self.intermediate),
            ("urea", self.urea),
            ("organic", self.organic),
            ("organic_chloramine", self.organic_chloramine),
        ] {
            within(name, value, "mol/kg", (0.0, 0.1))?;
        }
        for (name, value) in [
            ("headspace_carbon_dioxide_mol", self.headspace_carbon_dioxide_mol),
            ("scale_mol", self.scale_mol),
            ("plate_scale_mol", self.plate_scale_mol),
        ] {
            within(name, value, "mol", (0.0, 1e6))?;
        }
        within("cell_hours", self.cell_hours, "h", (0.0, 1e7))?;
        self.settings.check()
    }

    /// Sums of the elements in the tub and gone from it, mol (water: kg): they never change.
    pub fn elements(&self) -> [f64; ELEMENTS.len()] {
        pool::elements(&self.amounts())
    }

    /// Charge that the analysis leaves unexplained, eq in the whole tub.
    pub fn charge_imbalance_eq(&self) -> f64 {
        self.totals.charge_imbalance() * self.water_kg
    }

    /// Amounts in the pools.
    pub(crate) fn amounts(&self) -> [f64; COUNT] {
        let t = &self.totals;
        let mut y = [0.0; COUNT];
        for (pool, per_kg) in [
            (Pool::Carbon, t.carbon),
            (Pool::Calcium, t.calcium),
            (Pool::Chloride, t.chloride),
            (Pool::FreeChlorine, t.free_chlorine),
            (Pool::Ammonia, t.ammonia),
            (Pool::Monochloramine, self.monochloramine),
            (Pool::Dichloramine, self.dichloramine),
            (Pool::Trichloramine, self.trichloramine),
            (Pool::Intermediate, self.intermediate),
            (Pool::Urea, self.urea),
            (Pool::Organic, self.organic),
            (Pool::OrganicChloramine, self.organic_chloramine),
            (Pool::Monopersulfate, t.monopersulfate),
            (Pool::Sulfate, t.sulfate),
            (Pool::Nitrate, t.inert_anion - self.chlorate),
            (Pool::Chlorate, self.chlorate),
        ] {
            y[pool as usize] = per_kg * self.water_kg;
        }
        for (pool, amount) in [
            (Pool::HeadspaceCarbon, self.headspace_carbon_dioxide_mol),
            (Pool::Scale, self.scale_mol),
            (Pool::PlateScale, self.plate_scale_mol),
            (Pool::Water, self.water_kg),
            (Pool::Temperature, self.temperature.0),
            (Pool::Kept, 1.0),
            (Pool::CellHours, self.cell_hours),
        ] {
            y[pool as usize] = amount;
        }
        for (pool, out) in OUT.iter().zip(self.out) {
            y[*pool as usize] = out;
        }
        y
    }

    /// The state with these amounts, `seconds` later; what the pools do not name was kept in the share that they say.
    pub(crate) fn moved_to(&self, y: &[f64; COUNT], seconds: f64) -> State {
        let y = &without_deficits(y);
        let at = |pool: Pool| y[pool as usize].max(0.0);
        let water_kg = y[Pool::Water as usize];
        State {
            at_h: self.at_h + seconds / 3600.0,
            water_kg,
            temperature: Celsius(y[Pool::Temperature as usize]),
            totals: totals_of(y, &Strong::of(self)),
            chlorate: at(Pool::Chlorate) / water_kg,
            monochloramine: at(Pool::Monochloramine) / water_kg,
            dichloramine: at(Pool::Dichloramine) / water_kg,
            trichloramine: at(Pool::Trichloramine) / water_kg,
            intermediate: at(Pool::Intermediate) / water_kg,
            urea: at(Pool::Urea) / water_kg,
            organic: at(Pool::Organic) / water_kg,
            organic_chloramine: at(Pool::OrganicChloramine) / water_kg,
            headspace_carbon_dioxide_mol: at(Pool::HeadspaceCarbon),
            scale_mol: at(Pool::Scale),
            plate_scale_mol: at(Pool::PlateScale),
            cell_hours: at(Pool::CellHours),
            out: OUT.map(|pool| y[pool as usize]),
            settings: self.settings,
        }
    }
}

/// Amounts with every trace below zero (the integrator's rounding) made up from where its atoms are plentiful, so that no
/// element is gained.
fn without_deficits(y: &[f64; COUNT]) -> [f64; COUNT] {
    const PLENTY: [Pool; ELEMENTS.len()] =
        [Pool::Carbon, Pool::NitrogenOut, Pool::Chloride, Pool::Calcium, Pool::Sulfate, Pool::WaterOut];
    let mut y = *y;
    for pool in ALL.iter().filter(|p| !OUT.contains(p)) {
        let deficit = -y[*pool as usize];
        if deficit > 0.0 {
            y[*pool as usize] = 0.0;
            for (from, n) in PLENTY.iter().zip(pool.made_of()) {
                y[*from as usize] -= n * deficit;
            }
        }
    }
    y
}

/// What does not react: amounts at the start of a stretch, mol, and the charge that goes with them, eq.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Strong {
    amounts: Totals,
    charge_eq: f64,
}

impl Strong {
    pub(crate) fn of(state: &State) -> Self {
        let t = &state.totals;
        let moving =
            t.ammonia + 2.0 * t.calcium - t.chloride - t.inert_anion - 2.0 * t.sulfate - t.monopersulfate;
        Strong {
            amounts: Totals::default().plus(t, state.water_kg),
            charge_eq: (t.alkalinity - moving) * state.water_kg,
        }
    }
}

/// Totals per kilogram of these amounts. Alkalinity follows from the strong ions.
pub(crate) fn totals_of(y: &[f64; COUNT], strong: &Strong) -> Totals {
    let per_kg = 1.0 / y[Pool::Water as usize];
    let at = |pool: Pool| y[pool as usize].max(0.0) * per_kg;
    let kept = y[Pool::Kept as usize] * per_kg;
    let [ammonia, calcium, chloride, sulfate, monopersulfate] =
        [Pool::Ammonia, Pool::Calcium, Pool::Chloride, Pool::Sulfate, Pool::Monopersulfate].map(at);
    let inert_anion = at(Pool::Nitrate) + at(Pool::Chlorate);
    let s = &strong.amounts;
    Totals {
        alkalinity: strong.charge_eq * kept + ammonia + 2.0 * calcium
            - chloride
            - inert_anion
            - 2.0 * sulfate
            - monopersulfate,
        carbon: at(Pool::Carbon),
        calcium,
        magnesium: s.magnesium * kept,
        sodium: s.sodium * kept,
        potassium: s.potassium * kept,
        sulfate,
        chloride,
        boron: s.boron * kept,
        cyanurate: s.cyanurate * kept,
        free_chlorine: at(Pool::FreeChlorine),
        ammonia,
        bromide: s.bromide * kept,
        inert_cation: s.inert_cation * kept,
        inert_anion,
        monopersulfate,
        thiosulfate: s.thiosulfate * kept,
        hydrogen_peroxide: s.hydrogen_peroxide * kept,
    }
}
