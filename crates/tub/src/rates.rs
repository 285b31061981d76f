//! Everything that goes on between two events, as rates of the pools.
//!
//! Each process is a rate and a vector of pools and coefficients; nothing else changes a pool. The water's equilibrium is
//! solved anew at every evaluation.

use crate::bathers::{Fluid, SWEAT, URINE};
use crate::breakpoint::{Conditions, Kinetics, Reactants, STOICHIOMETRY};
use crate::cell::Cell;
use crate::demand::{self, CHLORINE_PER_UREA, NITRATE_PER_UREA};
use crate::error::TubError;
use crate::evaporation;
use crate::exchange::{self, mol_m3, volatility};
use crate::pool::{ALL, COUNT, OUT, Pool};
use crate::scale;
use crate::state::{State, Strong, totals_of};
use crate::stiff::System;
use crate::vessel::{Jets, Settings, Tub};
use water::species::Id;
use water::{Celsius, Equilibria, Speciation, Totals};

/// A process: what it takes and makes.
type Change = &'static [(Pool, f64)];

macro_rules! changes {
    ($($name:ident = $change:expr;)*) => {
        $(static $name: Change = { use Pool::*; &$change };)*
        #[cfg(test)]
        static CHANGES: &[(&str, Change)] = &[$((stringify!($name), $name)),*];
    };
}

// Water and H+ left out: charge decides them.
changes! {
    // (NH2)2CO + 4.875 HOCl → CO2 + 0.75 NO3- + 0.625 N2 + 4.875 Cl- …
    UREA = [(Urea, -1.0), (FreeChlorine, -CHLORINE_PER_UREA), (Carbon, 1.0), (Nitrate, NITRATE_PER_UREA), (NitrogenOut, 2.0 - NITRATE_PER_UREA), (Chloride, CHLORINE_PER_UREA)];
    // (NH2)2CO + 6 HOCl → CO2 + 2 NCl3 + 5 H2O
    UREA_TO_TRICHLORAMINE = [(Urea, -1.0), (FreeChlorine, -6.0), (Carbon, 1.0), (Trichloramine, 2.0)];
    CHLORINE_USED = [(FreeChlorine, -1.0), (Chloride, 1.0)];
    CHLORATE_MADE = [(FreeChlorine, -1.0), (Chlorate, 1.0)];
    // R-NH + HOCl → R-NCl + H2O
    ORGANIC_CHLORINATED = [(Organic, -1.0), (FreeChlorine, -1.0), (OrganicChloramine, 1.0)];
    ORGANIC_CHLORAMINE_SPENT = [(OrganicChloramine, -1.0), (FreeChlorine, -1.0), (Chloride, 2.0), (NitrogenOut, 1.0)];
    MONOPERSULFATE_USED = [(Monopersulfate, -1.0), (Sulfate, 1.0)];
    MONOPERSULFATE_ORGANIC = [(Monopersulfate, -1.0), (Sulfate, 1.0), (Organic, -1.0), (NitrogenOut, 1.0)];
    MONOPERSULFATE_ORGANIC_CHLORAMINE = [(Monopersulfate, -1.0), (Sulfate, 1.0), (OrganicChloramine, -1.0), (Chloride, 1.0), (NitrogenOut, 1.0)];
    OZONE_ORGANIC = [(Organic, -1.0), (NitrogenOut, 1.0)];
    OZONE_MONOCHLORAMINE = [(Monochloramine, -1.0), (Nitrate, 1.0), (Chloride, 1.0)];
    // Cl- + H2O → OCl- + H2
    CELL = [(Chloride, -1.0), (FreeChlorine, 1.0)];
    CARBON_TO_HEADSPACE = [(Carbon, -1.0), (HeadspaceCarbon, 1.0)];
    HEADSPACE_TO_OUTSIDE = [(HeadspaceCarbon, -1.0), (CarbonOut, 1.0)];
    MONOCHLORAMINE_STRIPPED = [(Monochloramine, -1.0), (NitrogenOut, 1.0), (ChlorineOut, 1.0)];
    DICHLORAMINE_STRIPPED = [(Dichloramine, -1.0), (NitrogenOut, 1.0), (ChlorineOut, 2.0)];
    TRICHLORAMINE_STRIPPED = [(Trichloramine, -1.0), (NitrogenOut, 1.0), (ChlorineOut, 3.0)];
    SCALE_FORMED = [(Calcium, -1.0), (Carbon, -1.0), (Scale, 1.0)];
    PLATE_SCALED = [(Calcium, -1.0), (Carbon, -1.0), (PlateScale, 1.0)];
    PLATE_SHED = [(PlateScale, -1.0), (Scale, 1.0)];
    UREA_BROUGHT = [(Urea, 1.0), (CarbonOut, -1.0), (NitrogenOut, -2.0)];
    // as ammonium chloride
    AMMONIA_BROUGHT = [(Ammonia, 1.0), (NitrogenOut, -1.0), (Chloride, 1.0), (ChlorineOut, -1.0)];
    ORGANIC_BROUGHT = [(Organic, 1.0), (NitrogenOut, -1.0)];
    WATER_LOST = [(Water, -1.0), (WaterOut, 1.0)];
}

/// A tub with its settings between two events.
pub(crate) struct Stretch<'a> {
    tub: &'a Tub,
    settings: Settings,
    strong: Strong,
    at_h: f64,
}

/// The rates being gathered, per second.
struct Flow<'a>(&'a mut [f64]);

impl Flow<'_> {
    fn goes(&mut self, change: &[(Pool, f64)], rate: f64) {
        for &(pool, n) in change {
            self.0[pool as usize] += n * rate;
        }
    }
}

/// What the processes ask of the water.
struct Now<'a> {
    y: &'a [f64; COUNT],
    t_c: f64,
    water_kg: f64,
    totals: Totals,
    at: Equilibria,
    s: Speciation,
    /// Forms of free chlorine, mol/kg.
    hypochlorous: f64,
    hypochlorite: f64,
    bound: f64,
    /// NH3, mol/kg.
    ammonia: f64,
}

/// Least free chlorine and ammonia that the equilibrium is asked about, mol/kg: below it their forms are shared out in the
/// same proportions, through zero. A solver that overshoots by a rounding then finds a rate that brings it back.
const TRACE_MOL_KG: f64 = 1e-12;

impl Now<'_> {
    /// Concentration of a pool, mol/kg; a rounding below zero is left, for the same reason.
    fn per_kg(&self, pool: Pool) -> f64 {
        self.y[pool as usize] / self.water_kg
    }

    /// Activity of a species.
    fn activity(&self, id: Id) -> f64 {
        10f64.powf(self.s.log10_activity(id))
    }
}

impl<'a> Stretch<'a> {
    pub(crate) fn of(tub: &'a Tub, state: &State) -> Self {
        Stretch { tub, settings: state.settings, strong: Strong::of(state), at_h: state.at_h }
    }

    fn now<'y>(&self, y: &'y [f64; COUNT]) -> Result<Now<'y>, TubError> {
        let wrong = |why| TubError::Water { at_h: self.at_h, why };
        let t_c = y[Pool::Temperature as usize];
        let water_kg = y[Pool::Water as usize];
        let totals = totals_of(y, &self.strong);
        let at = Equilibria::at(Celsius(t_c)).map_err(wrong)?;
        let asked = Totals {
            free_chlorine: totals.free_chlorine.max(TRACE_MOL_KG),
            ammonia: totals.ammonia.max(TRACE_MOL_KG),
            ..totals
        };
        let s = at.solve(&asked).map_err(wrong)?;
        let of_chlorine = y[Pool::FreeChlorine as usize] / water_kg / asked.free_chlorine;
        let of_ammonia = y[Pool::Ammonia as usize] / water_kg / asked.ammonia;
        Ok(Now {
            y,
            t_c,
            water_kg,
            totals,
            at,
            hypochlorous: s.hypochlorous_mol_kg() * of_chlorine,
            hypochlorite: s.hypochlorite_mol_kg() * of_chlorine,
            bound: s.cyanurate_bound_chlorine_mol_kg() * of_chlorine,
            ammonia: s.molality(Id::Ammonia) * of_ammonia,
            s,
        })
    }

    fn air(&self) -> bool {
        self.settings.jets == Jets::WithAir
    }

    fn transfer_per_s(&self, t_c: f64) -> f64 {
        let s = &self.settings;
        self.tub.exchange.per_s(t_c, s.circulation, s.jets != Jets::Off, self.air())
    }

    /// Air that passes under the cover (or over the open water), m³/s.
    fn ventilation_m3_s(&self) -> f64 {
        let changes = if self.settings.open {
            self.tub.open_air_changes_per_h
        } else {
            self.tub.cover_air_changes_per_h
        };
        changes * self.tub.headspace_m3 / 3600.0 + self.tub.exchange.bubbles_m3_s(self.air())
    }

    fn cell(&self) -> Option<(&Cell, f64)> {
        let duty = self.settings.cell_duty;
        self.tub.cell.as_ref().filter(|_| duty > 0.0).map(|cell| (cell, duty))
    }

    /// Bubbles of the cell's hydrogen, m³/s.
    fn hydrogen_m3_s(&self, t_c: f64) -> f64 {
        self.cell()
            .map_or(0.0, |(cell, duty)| cell.hydrogen_mol_s() * duty * cell.on_share() / mol_m3(1.0, t_c))
    }

    fn carbon_dioxide(&self, now: &Now, flow: &mut Flow) {
        let tub = self.tub;
        let in_water_atm = now.at.co2_partial_pressure_atm(&now.s);
        let under_cover_mol_m3 = now.y[Pool::HeadspaceCarbon as usize] / tub.headspace_m3;
        let under_cover_atm = under_cover_mol_m3 / mol_m3(1.0, now.t_c);
        let henry = now.at.co2_at_pressure_mol_kg(1.0);
        let surface = self.transfer_per_s(now.t_c) * now.water_kg * henry * (in_water_atm - under_cover_atm);
        let outside_atm = self.settings.surroundings.carbon_dioxide_ppm * 1e-6;
        let hydrogen = self.hydrogen_m3_s(now.t_c);
        let bubbles = tub.exchange.bubble_saturation
            * (tub.exchange.bubbles_m3_s(self.air()) * mol_m3(in_water_atm - outside_atm, now.t_c)
                + hydrogen * mol_m3(in_water_atm, now.t_c));
        flow.goes(CARBON_TO_HEADSPACE, surface + bubbles);
        let outside_mol_m3 = mol_m3(outside_atm, now.t_c);
        let out =
            self.ventilation_m3_s() * (under_cover_mol_m3 - outside_mol_m3) + hydrogen * under_cover_mol_m3;
        flow.goes(HEADSPACE_TO_OUTSIDE, out);
    }

    fn stripping(&self, now: &Now, flow: &mut Flow) {
        let transfer = self.transfer_per_s(now.t_c);
        let (air, water_m3) = (self.ventilation_m3_s(), now.water_kg / 1000.0);
        for (pool, change, volatility) in [
            (Pool::Monochloramine, MONOCHLORAMINE_STRIPPED, volatility::MONOCHLORAMINE),
            (Pool::Dichloramine, DICHLORAMINE_STRIPPED, volatility::DICHLORAMINE),
            (Pool::Trichloramine, TRICHLORAMINE_STRIPPED, volatility::TRICHLORAMINE),
        ] {
            let per_s = exchange::passage(volatility, transfer, water_m3, air);
            flow.goes(change, per_s * now.y[pool as usize]);
        }
    }

    fn chloramines(&self, now: &Now, flow: &mut Flow) {
        let s = &now.s;
        let kinetics = Kinetics::under(&Conditions {
            temperature_c: now.t_c,
            hydrogen: now.activity(Id::Hydrogen),
            hydroxide: s.molality(Id::Hydroxide),
            carbon_dioxide: s.molality(Id::CarbonDioxide),
            bicarbonate: s.molality(Id::Bicarbonate),
            carbonate: s.molality(Id::Carbonate),
        });
        let rates = kinetics.rates(&Reactants {
            hypochlorous: now.hypochlorous,
            hypochlorite: now.hypochlorite,
            ammonia: now.ammonia,
            monochloramine: now.per_kg(Pool::Monochloramine),
            dichloramine: now.per_kg(Pool::Dichloramine),
            trichloramine: now.per_kg(Pool::Trichloramine),
            intermediate: now.per_kg(Pool::Intermediate),
        });
        for (change, rate) in STOICHIOMETRY.iter().zip(rates) {
            flow.goes(change, rate * now.water_kg);
        }
    }

    fn demand(&self, now: &Now, flow: &mut Flow) {
        let d = &self.tub.demand;
        let warmth = d.arrhenius(now.t_c);
        let per_day = warmth / 86_400.0;
        let kg = now.water_kg;
        let (hypochlorous, hypochlorite) = (now.hypochlorous, now.hypochlorite);
        flow.goes(CHLORINE_USED, d.background_per_day * per_day * now.y[Pool::FreeChlorine as usize]);
        if self.settings.open && self.settings.surroundings.sun > 0.0 {
            let depth_m = kg / 1000.0 / self.tub.surface_m2;
            let sun = self.settings.surroundings.sun;
            flow.goes(
                CHLORINE_USED,
                kg * demand::sun_mol_kg_s(hypochlorous, hypochlorite, now.bound, depth_m, sun),
            );
        }
        let urea = demand::urea_per_mol_s(now.t_c) * hypochlorous * now.per_kg(Pool::Urea) * kg;
        flow.goes(UREA, urea * (1.0 - d.urea_to_trichloramine));
        flow.goes(UREA_TO_TRICHLORAMINE, urea * d.urea_to_trichloramine);
        let organic = now.per_kg(Pool::Organic);
        let organic_chloramine = now.per_kg(Pool::OrganicChloramine);
        flow.goes(ORGANIC_CHLORINATED, d.organic_per_mol_s * warmth * hypochlorous * organic * kg);
        flow.goes(
            ORGANIC_CHLORAMINE_SPENT,
            d.organic_chloramine_per_mol_s * warmth * hypochlorous * organic_chloramine * kg,
        );
        let monopersulfate = now.per_kg(Pool::Monopersulfate);
        flow.goes(MONOPERSULFATE_USED, d.monopersulfate_per_day * per_day * monopersulfate * kg);
        let k = d.monopersulfate_organic_per_mol_s * warmth * monopersulfate * kg;
        flow.goes(MONOPERSULFATE_ORGANIC, k * organic);
        flow.goes(MONOPERSULFATE_ORGANIC_CHLORAMINE, k * organic_chloramine);
        self.ozone(now, hypochlorite, organic, flow);
    }

    fn ozone(&self, now: &Now, hypochlorite: f64, organic: f64, flow: &mut Flow) {
        use demand::ozone::{HYPOCHLORITE_TO_CHLORATE, HYPOCHLORITE_TO_CHLORIDE, MONOCHLORAMINE, ORGANIC};
        if self.tub.demand.ozone_g_h <= 0.0 || self.settings.circulation <= 0.0 {
            return;
        }
        let monochloramine = now.per_kg(Pool::Monochloramine);
        let others = (HYPOCHLORITE_TO_CHLORIDE + HYPOCHLORITE_TO_CHLORATE) * hypochlorite
            + MONOCHLORAMINE * monochloramine
            + ORGANIC * organic;
        let ozone =
            self.settings.circulation * self.tub.demand.ozone_mol_kg(now.water_kg, others) * now.water_kg;
        flow.goes(CHLORINE_USED, HYPOCHLORITE_TO_CHLORIDE * ozone * hypochlorite);
        flow.goes(CHLORATE_MADE, HYPOCHLORITE_TO_CHLORATE * ozone * hypochlorite);
        flow.goes(OZONE_MONOCHLORAMINE, MONOCHLORAMINE * ozone * monochloramine);
        flow.goes(OZONE_ORGANIC, ORGANIC * ozone * organic);
    }

    fn scale(&self, now: &Now, flow: &mut Flow) {
        if now.totals.calcium <= 0.0 || now.totals.carbon <= 0.0 {
            return;
        }
        let index = now.at.calcite_saturation_index(&now.s);
        let growth = |index: f64| {
            scale::growth_mol_m2_s(
                now.t_c,
                now.activity(Id::Hydrogen),
                now.activity(Id::CarbonDioxide),
                now.s.water_activity,
                index,
            )
        };
        let lying = now.y[Pool::Scale as usize].max(0.0);
        if index > scale::THRESHOLD {
            flow.goes(SCALE_FORMED, scale::begun(index) * growth(index) * self.tub.wetted_m2);
        } else if index < 0.0 && lying > 0.0 {
            // The last of it, less than covers the walls, goes in proportion.
            let covered = lying / (lying + 0.01 * self.tub.wetted_m2);
            flow.goes(SCALE_FORMED, growth(index) * self.tub.wetted_m2 * covered);
        }
        if let Some((cell, duty)) = self.cell() {
            let at_plate = index + cell.plate_saturation_rise;
            if at_plate > scale::THRESHOLD {
                let rate = scale::begun(at_plate) * growth(at_plate);
                flow.goes(PLATE_SCALED, rate * cell.plate_m2 * duty);
            }
            let lying = now.y[Pool::PlateScale as usize].max(0.0);
            flow.goes(PLATE_SHED, cell.reversals_per_h / 3600.0 * cell.shed_share * duty * lying);
        }
    }

    fn electrolysis(&self, now: &Now, flow: &mut Flow) {
        if let Some((cell, duty)) = self.cell() {
            let efficiency = cell.efficiency(
                now.totals.chloride,
                now.t_c,
                now.y[Pool::CellHours as usize],
                now.y[Pool::PlateScale as usize].max(0.0),
            );
            flow.goes(CELL, cell.hydrogen_mol_s() * duty * cell.on_share() * efficiency);
            let wear = duty * (1.0 + cell.reversals_per_h * cell.wear_h_per_reversal) / 3600.0;
            flow.0[Pool::CellHours as usize] += wear;
        }
    }

    fn bathers(&self, now: &Now, flow: &mut Flow) {
        let (count, b) = (self.settings.bathers, &self.tub.bather);
        if count <= 0.0 {
            return;
        }
        for (l_h, fluid) in [(b.sweat_l_h, &SWEAT), (b.urine_l_h, &URINE)] {
            let l_s = count * l_h / 3600.0;
            let Fluid { urea_mol_l, ammonia_mol_l, organic_mol_l } = fluid;
            flow.goes(UREA_BROUGHT, l_s * urea_mol_l);
            flow.goes(AMMONIA_BROUGHT, l_s * ammonia_mol_l);
            flow.goes(ORGANIC_BROUGHT, l_s * organic_mol_l);
            flow.goes(WATER_LOST, -l_s);
        }
        let splash = count * b.splash_kg_h / 3600.0;
        flow.goes(WATER_LOST, splash);
        let share = splash / now.water_kg;
        for pool in ALL.iter().filter(|p| p.dissolved()) {
            let amount = share * now.y[*pool as usize];
            flow.0[*pool as usize] -= amount;
            for (out, n) in OUT.iter().zip(pool.made_of()) {
                flow.0[*out as usize] += n * amount;
            }
        }
        flow.0[Pool::Kept as usize] -= share * now.y[Pool::Kept as usize];
    }

    fn water_and_heat(&self, now: &Now, flow: &mut Flow) {
        let (tub, air) = (self.tub, &self.settings.surroundings);
        let air_kpa = air.humidity * evaporation::vapour_pressure_kpa(air.air_c);
        let saturated = evaporation::vapour_density_kg_m3(evaporation::vapour_pressure_kpa(now.t_c), now.t_c);
        let moist = saturated - evaporation::vapour_density_kg_m3(air_kpa, air.air_c);
        let mut lost_w = tub.loss_w_k * (now.t_c - air.air_c);
        let evaporated = if self.settings.open {
            let still = self.settings.jets == Jets::Off;
            let lively = (if still { evaporation::QUIET } else { evaporation::JETS })
                + evaporation::PER_BATHER_M2 * self.settings.bathers / tub.surface_m2;
            let surface =
                lively * tub.surface_m2 * evaporation::open_surface_kg_m2_s(now.t_c, air_kpa, air.wind_m_s);
            let latent_w = 1000.0 * surface * evaporation::heat_of_evaporation_kj_kg(now.t_c);
            lost_w += latent_w * evaporation::bowen_ratio(now.t_c, air.air_c, air_kpa);
            surface + tub.exchange.bubbles_m3_s(self.air()) * moist
        } else {
            self.ventilation_m3_s() * moist
        };
        flow.goes(WATER_LOST, evaporated);
        lost_w += 1000.0 * evaporated * evaporation::heat_of_evaporation_kj_kg(now.t_c);
        // The thermostat: full power from 0.2 K below.
        let heated_w = tub.heater_w * ((tub.set_c - now.t_c) / 0.2).clamp(0.0, 1.0);
        flow.0[Pool::Temperature as usize] +=
            (heated_w - lost_w) / (now.water_kg * evaporation::WATER_HEAT_J_KG_K);
    }
}

impl System for Stretch<'_> {
    fn rates(&self, y: &[f64], dy: &mut [f64]) -> Result<(), TubError> {
        dy.fill(0.0);
        let Ok(y) = <&[f64; COUNT]>::try_from(y) else {
            return Err(TubError::NotANumber { field: "pools" });
        };
        let now = self.now(y)?;
        let mut flow = Flow(dy);
        self.chloramines(&now, &mut flow);
        self.carbon_dioxide(&now, &mut flow);
        self.stripping(&now, &mut flow);
        self.demand(&now, &mut flow);
        self.electrolysis(&now, &mut flow);
        self.scale(&now, &mut flow);
        self.bathers(&now, &mut flow);
        self.water_and_heat(&now, &mut flow);
        Ok(())
    }

    /// By differences, column by column; what left and the cell's hours move nothing worth a column.
    fn jacobian(&self, y: &[f64], columns: &mut [f64]) -> Result<(), TubError> {
        let mut here = [0.0; COUNT];
        self.rates(y, &mut here)?;
        let mut at: [f64; COUNT] = std::array::from_fn(|i| y[i]);
        for (i, column) in columns.chunks_exact_mut(COUNT).enumerate().take(Pool::CellHours as usize) {
            let step = 1e-5 * y[i].abs() + smallest(ALL[i], y[Pool::Water as usize]);
            at[i] = y[i] + step;
            let real_step = at[i] - y[i];
            self.rates(&at, column)?;
            for (column, here) in column.iter_mut().zip(here) {
                *column = (*column - here) / real_step;
            }
            at[i] = y[i];
        }
        Ok(())
    }
}

/// Smallest amount of a pool that matters; errors below it are not looked at.
pub(crate) fn smallest(pool: Pool, water_kg: f64) -> f64 {
    use Pool::*;
    match pool {
        Carbon | Calcium | Chloride | Sulfate | Nitrate | Chlorate => 1e-9 * water_kg,
        Water | WaterOut => 1e-4,
        Temperature => 1e-5,
        Kept => 1e-9,
        CellHours => 1e-4,
        HeadspaceCarbon => 1e-8,
        Scale | PlateScale | CarbonOut | NitrogenOut | ChlorineOut | CalciumOut | SulfurOut => 1e-6,
        Intermediate => 1e-13 * water_kg,
        FreeChlorine | Ammonia | Monochloramine | Dichloramine | Trichloramine | Urea | Organic
        | OrganicChloramine | Monopersulfate => 1e-11 * water_kg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_process_keeps_every_element() {
        for (name, change) in CHANGES {
            assert!(crate::pool::keeps_elements(change), "{name}");
        }
        // The check does check.
        assert!(!crate::pool::keeps_elements(&[(Pool::Urea, -1.0), (Pool::Ammonia, 2.0)]));
    }

    /// The rates and their Jacobian touch no heap (the integrator's own vectors aside); so a tub costs what its equilibria cost.
    #[test]
    fn the_rates_allocate_nothing() {
        let tub = Tub { cell: Some(Cell::default()), ..Tub::default() };
        let water =
            Totals { alkalinity: 2e-3, carbon: 2e-3, calcium: 1e-3, chloride: 0.03, ..Totals::default() };
        let water = Totals { free_chlorine: 4e-5, cyanurate: 2e-4, ..water }.closed_with_sodium_chloride();
        let settings =
            Settings { open: true, jets: Jets::WithAir, bathers: 2.0, cell_duty: 0.5, ..Settings::default() };
        let state = State::filled(1000.0, Celsius(38.0), water, 0.15, settings);
        let (y, mut columns) = (state.amounts(), [0.0; COUNT * COUNT]);
        let stretch = Stretch::of(&tub, &state);
        let mut outcome = Ok(());
        let counted = allocation_counter::measure(|| outcome = stretch.jacobian(&y, &mut columns));
        assert!(outcome.is_ok() && columns.iter().any(|x| *x != 0.0));
        assert_eq!(counted.count_total, 0, "{counted:?}");
    }
}
