//! What happens to a tub at a moment.

use crate::error::{TubError, within};
use crate::pool::ELEMENTS;
use crate::state::State;
use crate::vessel::{Jets, Surroundings};
use water::{Celsius, Chemical, Totals, addition};

/// Something that happens at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A chemical goes in, mol (as [`Chemical::per_mole`] counts them), and is mixed.
    Dose {
        /// Which.
        chemical: Chemical,
        /// How much.
        mol: f64,
    },
    /// Water goes in: source water, rain.
    TopUp {
        /// Its analysis.
        water: Totals,
        /// How much, kg.
        kg: f64,
        /// Its temperature, °C.
        temperature_c: f64,
    },
    /// Water is let out and as much put in.
    Replace {
        /// Analysis of what goes in.
        water: Totals,
        /// How much, kg.
        kg: f64,
        /// Its temperature, °C.
        temperature_c: f64,
    },
    /// Cover off (true) or on.
    CoverOff(bool),
    /// Jets.
    Jets(Jets),
    /// Share of the time that the filter pump runs.
    Circulation(f64),
    /// People in it from now on.
    Bathers(f64),
    /// Share of the time that the cell runs.
    CellDuty(f64),
    /// The cell's plates are freed of scale.
    CellCleaned,
    /// A new cell.
    CellReplaced,
    /// The air around it.
    Surroundings(Surroundings),
}

/// An event and its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timed {
    /// Hours since the start.
    pub at_h: f64,
    /// What happens.
    pub event: Event,
}

impl State {
    /// The tub just after an event.
    ///
    /// # Errors
    /// [`TubError`] naming what is out of range.
    pub fn after(&self, event: &Event) -> Result<State, TubError> {
        let before = self.elements();
        let mut s = *self;
        match *event {
            Event::Dose { chemical, mol } => {
                s.totals = addition::add(&s.totals, chemical, mol / s.water_kg)
                    .map_err(|why| TubError::Water { at_h: s.at_h, why })?;
            }
            Event::TopUp { ref water, kg, temperature_c } => s = s.with_water(water, kg, temperature_c)?,
            Event::Replace { ref water, kg, temperature_c } => {
                within("kg", kg, "kg", (0.0, 0.99 * s.water_kg))?;
                s.water_kg -= kg;
                s = s.with_water(water, kg, temperature_c)?;
            }
            Event::CoverOff(open) => s.settings.open = open,
            Event::Jets(jets) => s.settings.jets = jets,
            Event::Circulation(share) => s.settings.circulation = share,
            Event::Bathers(count) => s.settings.bathers = count,
            Event::CellDuty(share) => s.settings.cell_duty = share,
            Event::CellCleaned => s.plate_scale_mol = 0.0,
            Event::CellReplaced => (s.plate_scale_mol, s.cell_hours) = (0.0, 0.0),
            Event::Surroundings(air) => s.settings.surroundings = air,
        }
        s.check()?;
        // What an event brings or takes is the difference that it makes.
        let after = s.elements();
        for i in 0..ELEMENTS.len() {
            s.out[i] -= after[i] - before[i];
        }
        Ok(s)
    }

    fn with_water(&self, water: &Totals, kg: f64, temperature_c: f64) -> Result<State, TubError> {
        within("kg", kg, "kg", (0.0, 1e6))?;
        within("temperature_c", temperature_c, "°C", (0.0, 50.0))?;
        water.check().map_err(|why| TubError::Water { at_h: self.at_h, why })?;
        let all = self.water_kg + kg;
        let (old, new) = (self.water_kg / all, kg / all);
        let mut s = *self;
        s.water_kg = all;
        s.temperature = Celsius(self.temperature.0 * old + temperature_c * new);
        s.totals = self.totals.mixed_with(water, new);
        for x in [
            &mut s.chlorate,
            &mut s.monochloramine,
            &mut s.dichloramine,
            &mut s.trichloramine,
            &mut s.intermediate,
            &mut s.urea,
            &mut s.organic,
            &mut s.organic_chloramine,
        ] {
            *x *= old;
        }
        Ok(s)
    }
}
