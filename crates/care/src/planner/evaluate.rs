//! What the water will be after a decision, and what that is worth.

use super::goal::{band_levels, expected_levels};
use super::problem::{Choice, Key, Problem, Role, Start};
use crate::quantity::Quantity as Q;
use water::{Ph, Speciation, Totals};

/// Carbon dioxide outdoors, atm (mid-2020s, agency records, from memory): airing ends there at the latest.
pub(crate) const OUTDOOR_CO2_ATM: f64 = 4.25e-4;

/// The dosed water, split where airing comes in between.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Dosed {
    /// Everything that is added before airing, on the start's water.
    pub(crate) before_airing: Totals,
    /// What is added after it (disinfectant).
    pub(crate) after_airing: Totals,
    /// Equivalents of alkalinity and moles of carbon that doses brought, per kilogram: the volume's error scales them.
    pub(crate) dosed_alkalinity: f64,
    pub(crate) dosed_carbon: f64,
}

/// The water at the end.
#[derive(Debug, Clone)]
pub(crate) struct End {
    pub(crate) water: Speciation,
    pub(crate) index: f64,
    pub(crate) ph_error: f64,
}

impl Dosed {
    pub(crate) fn of(start: &Start) -> Self {
        Dosed {
            before_airing: start.totals,
            after_airing: Totals::default(),
            dosed_alkalinity: 0.0,
            dosed_carbon: 0.0,
        }
    }

    pub(crate) fn with(mut self, role: Role, per_unit: &Totals, units: u32) -> Self {
        let units = f64::from(units);
        let late = matches!(role, Role::Disinfect | Role::Dechlorinate);
        let place = if late { &mut self.after_airing } else { &mut self.before_airing };
        *place = place.plus(per_unit, units);
        self.dosed_alkalinity += per_unit.alkalinity * units;
        self.dosed_carbon += per_unit.carbon * units;
        self
    }
}

impl Problem {
    /// The water at the end, by equilibrium; `None` if it cannot be (out of the chemistry's range, or airing that air
    /// cannot do).
    pub(crate) fn end_water(&self, dosed: &Dosed, stop: Option<f64>) -> Option<Speciation> {
        let Some(stop) = stop else {
            return self.at.solve(&dosed.before_airing.plus(&dosed.after_airing, 1.0)).ok();
        };
        let before = self.at.solve(&dosed.before_airing).ok()?;
        let aired = self.aired(&before, stop)?;
        self.at.solve_from(&aired.totals.plus(&dosed.after_airing, 1.0), Some(&aired)).ok()
    }

    /// The water once airing has brought it to a pH: alkalinity kept, carbon lost. `None` if it is there already or the
    /// outdoor air cannot bring it there.
    pub(crate) fn aired(&self, now: &Speciation, ph: f64) -> Option<Speciation> {
        if now.ph().0 >= ph {
            return None;
        }
        let aired = self.at.solve_at_ph(&now.totals, Ph(ph)).ok()?;
        let possible = aired.totals.carbon < now.totals.carbon
            && self.at.co2_partial_pressure_atm(&aired) >= OUTDOOR_CO2_ATM;
        possible.then_some(aired)
    }

    /// Standard error of the final pH: what is left of the reading's error, of the alkalinity's, and the volume's share
    /// in the doses (first order).
    pub(crate) fn ph_error_at(
        &self,
        dosed: &Dosed,
        start: &Start,
        stop: Option<f64>,
        water: &Speciation,
    ) -> f64 {
        if stop.is_some() {
            return self.stop_error;
        }
        let b = water.buffering();
        let from_volume = self.volume_error
            * (b.ph_per_alkalinity * dosed.dosed_alkalinity + b.ph_per_carbon * dosed.dosed_carbon);
        self.ph_error_but_for_volume(start, water).hypot(from_volume)
    }

    /// The part of it that comes from the readings.
    pub(crate) fn ph_error_but_for_volume(&self, start: &Start, water: &Speciation) -> f64 {
        let b = water.buffering();
        let (per_alkalinity_now, per_carbon_now) = self.ph_slopes_now;
        let kept = 1.0 - start.share;
        let from_alkalinity = self.alkalinity_error
            * (b.ph_per_alkalinity - b.ph_per_carbon * per_alkalinity_now / per_carbon_now)
            * kept;
        let from_ph = self.ph_error * b.ph_per_carbon / per_carbon_now * kept;
        from_alkalinity.hypot(from_ph)
    }

    /// Saturation index of a solved water; far below zero without calcium.
    pub(crate) fn index_of(&self, water: &Speciation) -> f64 {
        if water.has_calcium() { self.at.calcite_saturation_index(water).max(-9.0) } else { -9.0 }
    }

    /// Standard error of a goal after a change of `change` by doses.
    pub(crate) fn goal_error(&self, start: &Start, goal: usize, change: f64) -> f64 {
        start.errors[goal].hypot(self.volume_error * change)
    }

    /// Worth of a decision, but for effort and cost. The saturation index counts at its mean: its error is that of pH,
    /// alkalinity and calcium, which are counted already.
    pub(crate) fn worth(&self, start: &Start, values: &[f64], end: &End) -> Key {
        let mut key = Key { unsafe_ends: 0, band: 0, expected: 0, effort: 0, cost: 0.0 };
        for (i, goal) in self.goals.iter().enumerate() {
            let (value, error) = match goal.quantity {
                Q::Ph => (end.water.ph().0, end.ph_error),
                Q::SaturationIndex => (end.index, 0.0),
                _ => (values[i], self.goal_error(start, i, values[i] - start.values[i])),
            };
            key.unsafe_ends += u32::from(goal.unsafe_at(value));
            key.band += band_levels(goal.band_miss(value));
            key.expected += expected_levels(goal.expected_miss(value, error));
        }
        key
    }

    /// Values of the linear goals after a choice.
    pub(crate) fn values(&self, choice: &Choice) -> Vec<f64> {
        let mut values = self.starts[choice.start].values.clone();
        for (_, m, units) in self.used(choice) {
            for (v, e) in values.iter_mut().zip(&m.effect) {
                *v += e * f64::from(units);
            }
        }
        values
    }

    /// What a whole decision is worth, but for its effort, which its path tells; `None` if its water cannot be, or if it
    /// undoes itself.
    pub(crate) fn judged(&self, choice: &Choice) -> Option<Key> {
        if self.undoes_itself(choice) {
            return None;
        }
        let start = &self.starts[choice.start];
        let mut dosed = Dosed::of(start);
        let mut cost = start.cost;
        for (role, m, units) in self.used(choice) {
            dosed = dosed.with(role, &m.per_unit, units);
            cost += m.cost * f64::from(units);
        }
        let water = self.end_water(&dosed, choice.stop)?;
        let ph_error = self.ph_error_at(&dosed, start, choice.stop, &water);
        let end = End { index: self.index_of(&water), ph_error, water };
        Some(Key { cost, ..self.worth(start, &self.values(choice), &end) })
    }
}
