//! One tub: what does not change while it is followed.

use crate::bathers::Bather;
use crate::cell::Cell;
use crate::demand::Demand;
use crate::error::{TubError, within};
use crate::exchange::Exchange;

/// The vessel, its cover, heater and pumps, and the properties that are learnt of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tub {
    /// Open water surface, m².
    pub surface_m2: f64,
    /// Air under the closed cover, m³.
    pub headspace_m3: f64,
    /// Air changes an hour under the closed cover (judgement: a heavy cover that seals well; a warped one has 1 or more).
    pub cover_air_changes_per_h: f64,
    /// Air changes an hour of the same space with the cover off (judgement: hundreds; it only has to be many).
    pub open_air_changes_per_h: f64,
    /// Heater, W.
    pub heater_w: f64,
    /// Temperature that it keeps, °C.
    pub set_c: f64,
    /// Heat lost through walls and closed cover, W/K (judgement: 150–250 W at 20 K).
    pub loss_w_k: f64,
    /// Wetted surface on which scale can form, m².
    pub wetted_m2: f64,
    /// Gas exchange.
    pub exchange: Exchange,
    /// The salt cell, if there is one.
    pub cell: Option<Cell>,
    /// What uses chlorine.
    pub demand: Demand,
    /// What a bather brings and takes.
    pub bather: Bather,
}

impl Default for Tub {
    /// A family's tub of about a cubic metre. The numbers are judgement, as told at each.
    fn default() -> Self {
        Tub {
            surface_m2: 3.0,
            headspace_m3: 0.15,
            cover_air_changes_per_h: 0.1,
            open_air_changes_per_h: 200.0,
            heater_w: 3_000.0,
            set_c: 38.0,
            loss_w_k: 10.0,
            wetted_m2: 6.0,
            exchange: Exchange::default(),
            cell: None,
            demand: Demand::default(),
            bather: Bather::default(),
        }
    }
}

impl Tub {
    /// Checks every property.
    ///
    /// # Errors
    /// [`TubError`] naming the first that is no number or out of range.
    pub fn check(&self) -> Result<(), TubError> {
        within("surface_m2", self.surface_m2, "m²", (0.1, 1000.0))?;
        within("headspace_m3", self.headspace_m3, "m³", (0.001, 1000.0))?;
        within("cover_air_changes_per_h", self.cover_air_changes_per_h, "1/h", (0.0, 1000.0))?;
        within("open_air_changes_per_h", self.open_air_changes_per_h, "1/h", (0.0, 10_000.0))?;
        within("heater_w", self.heater_w, "W", (0.0, 1e6))?;
        within("set_c", self.set_c, "°C", (0.0, 42.0))?;
        within("loss_w_k", self.loss_w_k, "W/K", (0.0, 1e4))?;
        within("wetted_m2", self.wetted_m2, "m²", (0.0, 1e4))?;
        let x = &self.exchange;
        within("exchange.still_per_h", x.still_per_h, "1/h", (0.0, 100.0))?;
        within("exchange.circulation_per_h", x.circulation_per_h, "1/h", (0.0, 100.0))?;
        within("exchange.jets_per_h", x.jets_per_h, "1/h", (0.0, 100.0))?;
        within("exchange.air_per_h", x.air_per_h, "1/h", (0.0, 100.0))?;
        within("exchange.air_l_min", x.air_l_min, "L/min", (0.0, 10_000.0))?;
        within("exchange.bubble_saturation", x.bubble_saturation, "", (0.0, 1.0))?;
        let d = &self.demand;
        within("demand.background_per_day", d.background_per_day, "1/d", (0.0, 100.0))?;
        within("demand.activation_k", d.activation_k, "K", (0.0, 30_000.0))?;
        within("demand.organic_per_mol_s", d.organic_per_mol_s, "kg/(mol·s)", (0.0, 1e9))?;
        within(
            "demand.organic_chloramine_per_mol_s",
            d.organic_chloramine_per_mol_s,
            "kg/(mol·s)",
            (0.0, 1e6),
        )?;
        within("demand.monopersulfate_per_day", d.monopersulfate_per_day, "1/d", (0.0, 1000.0))?;
        within(
            "demand.monopersulfate_organic_per_mol_s",
            d.monopersulfate_organic_per_mol_s,
            "kg/(mol·s)",
            (0.0, 1e6),
        )?;
        within("demand.urea_to_trichloramine", d.urea_to_trichloramine, "", (0.0, 1.0))?;
        within("demand.ozone_g_h", d.ozone_g_h, "g/h", (0.0, 100.0))?;
        within("demand.ozone_decay_per_s", d.ozone_decay_per_s, "1/s", (1e-6, 10.0))?;
        let b = &self.bather;
        within("bather.sweat_l_h", b.sweat_l_h, "L/h", (0.0, 10.0))?;
        within("bather.urine_l_h", b.urine_l_h, "L/h", (0.0, 10.0))?;
        within("bather.splash_kg_h", b.splash_kg_h, "kg/h", (0.0, 1000.0))?;
        self.cell.as_ref().map_or(Ok(()), check_cell)
    }
}

fn check_cell(c: &Cell) -> Result<(), TubError> {
    within("cell.current_a", c.current_a, "A", (0.0, 1000.0))?;
    within("cell.gaps", c.gaps, "", (0.0, 100.0))?;
    within("cell.efficiency_max", c.efficiency_max, "", (0.0, 1.0))?;
    within("cell.half_chloride_mol_kg", c.half_chloride_mol_kg, "mol/kg", (1e-6, 10.0))?;
    within("cell.life_h", c.life_h, "h", (1.0, 1e6))?;
    within("cell.plate_m2", c.plate_m2, "m²", (0.0, 100.0))?;
    within("cell.half_scale_mol", c.half_scale_mol, "mol", (1e-6, 1e3))?;
    within("cell.plate_saturation_rise", c.plate_saturation_rise, "", (0.0, 4.0))?;
    within("cell.reversals_per_h", c.reversals_per_h, "1/h", (0.0, 100.0))?;
    within("cell.shed_share", c.shed_share, "", (0.0, 1.0))?;
    within("cell.pause_s", c.pause_s, "s", (0.0, 3600.0))?;
    within("cell.wear_h_per_reversal", c.wear_h_per_reversal, "h", (0.0, 100.0))
}

/// The air around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Air temperature, °C.
    pub air_c: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
    /// Wind at the water, m/s.
    pub wind_m_s: f64,
    /// Carbon dioxide, ppm by volume (outdoors about 425 in the mid-2020s; indoors 600–1200).
    pub carbon_dioxide_ppm: f64,
    /// Light, as a share of a clear summer noon.
    pub sun: f64,
}

impl Default for Surroundings {
    fn default() -> Self {
        Surroundings { air_c: 15.0, humidity: 0.7, wind_m_s: 0.5, carbon_dioxide_ppm: 425.0, sun: 0.0 }
    }
}

/// What the jets do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Jets {
    /// Off.
    #[default]
    Off,
    /// Water alone.
    Water,
    /// Water and air.
    WithAir,
}

/// What is set at the tub; an event changes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Cover off.
    pub open: bool,
    /// Jets.
    pub jets: Jets,
    /// Share of the time that the filter pump runs. Short cycles are averaged.
    pub circulation: f64,
    /// People in it.
    pub bathers: f64,
    /// Share of the time that the cell runs. Short cycles are averaged.
    pub cell_duty: f64,
    /// The air around it.
    pub surroundings: Surroundings,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            open: false,
            jets: Jets::Off,
            circulation: 0.25,
            bathers: 0.0,
            cell_duty: 0.0,
            surroundings: Surroundings::default(),
        }
    }
}

impl Settings {
    /// Checks every setting.
    ///
    /// # Errors
    /// [`TubError`] naming the first that is no number or out of range.
    pub fn check(&self) -> Result<(), TubError> {
        within("circulation", self.circulation, "", (0.0, 1.0))?;
        within("bathers", self.bathers, "", (0.0, 1000.0))?;
        within("cell_duty", self.cell_duty, "", (0.0, 1.0))?;
        let s = &self.surroundings;
        within("air_c", s.air_c, "°C", (-40.0, 55.0))?;
        within("humidity", s.humidity, "", (0.0, 1.0))?;
        within("wind_m_s", s.wind_m_s, "m/s", (0.0, 40.0))?;
        within("carbon_dioxide_ppm", s.carbon_dioxide_ppm, "ppm", (0.0, 50_000.0))?;
        within("sun", s.sun, "", (0.0, 1.5))
    }
}
