//! A case: one tub, its source water, what is on the shelf, and what happened.
//!
//! Plain data, already checked for shape (`wire` reads it from text). Times are seconds since 1970 UTC, handed in.

use crate::amount::Units;
use crate::band::{Band, Place, Regime};
use crate::method::Method;
use crate::note::Note;
use crate::quantity::Quantity;
use water::Chemical;

/// A moment, in seconds since 1970-01-01T00:00:00Z.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct When(pub i64);

impl When {
    /// Hours from `earlier` to `self`.
    pub fn hours_since(self, earlier: When) -> f64 {
        (self.0 - earlier.0) as f64 / 3600.0
    }

    /// As a sentence names it: `2026-03-01 13:00 UTC`.
    pub(crate) fn to_the_minute(self) -> String {
        match jiff::Timestamp::from_second(self.0) {
            Ok(at) => at.strftime("%Y-%m-%d %H:%M UTC").to_string(),
            Err(_) => format!("{} s", self.0),
        }
    }
}

/// Which plan is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanKind {
    /// A new fill: source water to every quantity in its band.
    StartUp,
    /// Readings to a plan.
    Correction,
}

/// Everything that a plan is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The tub.
    pub tub: Tub,
    /// What it is filled and topped up with.
    pub source_water: Option<SourceWater>,
    /// What can be dosed.
    pub shelf: Vec<Product>,
    /// The user's own bands, by quantity.
    pub bands: Vec<(Quantity, BandOverride)>,
    /// Test methods that the case defines itself.
    pub methods: Vec<Method>,
    /// What happened, in any order.
    pub entries: Vec<Entry>,
    /// When the plan is made; the latest entry if absent.
    pub now: Option<When>,
    /// Which plan; if absent, a start-up when nothing has been read since the last fill.
    pub kind: Option<PlanKind>,
    /// What the reading of the case itself found worth saying (shown among the assumptions).
    pub notes: Vec<Note>,
    /// What the plan's sentences are said in.
    pub units: Units,
}

/// A band set by the user: what is absent stays as the default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BandOverride {
    /// Lower edge.
    pub low: Option<f64>,
    /// Lower end of the aim.
    pub aim_low: Option<f64>,
    /// Upper end of the aim.
    pub aim_high: Option<f64>,
    /// Upper edge.
    pub high: Option<f64>,
    /// The user knows that this goes beyond a hard limit and takes it on.
    pub beyond_hard_limit: bool,
}

/// The vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Tub {
    /// What it is called.
    pub name: String,
    /// Litres of water.
    pub volume_l: f64,
    /// Relative standard error of the volume (0.1 = 10 %).
    pub volume_error: f64,
    /// Whether the volume was measured (hose meter, salt step) rather than taken from a nameplate.
    pub volume_measured: bool,
    /// Water temperature in use, °C; `None` if the user did not say.
    pub temperature_c: Option<f64>,
    /// How it is disinfected.
    pub regime: Regime,
    /// Where it stands.
    pub place: Place,
    /// Salt window of the fitted cell, mg/L as NaCl: lowest, highest.
    pub cell_window_mg_l: Option<(f64, f64)>,
    /// Litres of bath water a full cycle of the jets lasts: minutes of one pump cycle.
    pub pump_cycle_min: f64,
}

/// Source water: an analysis. Absent figures are unknown, not zero.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SourceWater {
    /// What it is called.
    pub name: String,
    /// Temperature at which the pH was measured, °C.
    pub temperature_c: Option<f64>,
    /// pH.
    pub ph: Option<f64>,
    /// Total alkalinity, mg/L as CaCO3.
    pub total_alkalinity_mg_l_caco3: Option<f64>,
    /// Calcium hardness, mg/L as CaCO3.
    pub calcium_hardness_mg_l_caco3: Option<f64>,
    /// Magnesium, mg/L.
    pub magnesium_mg_l: Option<f64>,
    /// Sodium, mg/L.
    pub sodium_mg_l: Option<f64>,
    /// Potassium, mg/L.
    pub potassium_mg_l: Option<f64>,
    /// Chloride, mg/L.
    pub chloride_mg_l: Option<f64>,
    /// Salt, mg/L as NaCl by chloride.
    pub salt_mg_l: Option<f64>,
    /// Sulfate, mg/L.
    pub sulfate_mg_l: Option<f64>,
    /// Cyanuric acid, mg/L.
    pub cyanuric_acid_mg_l: Option<f64>,
    /// Boron, mg/L.
    pub boron_mg_l: Option<f64>,
    /// Free chlorine, mg/L as Cl2.
    pub free_chlorine_mg_l: Option<f64>,
    /// Iron, mg/L.
    pub iron_mg_l: Option<f64>,
    /// Copper, mg/L.
    pub copper_mg_l: Option<f64>,
    /// Price of a cubic metre filled and heated.
    pub price_per_m3: Option<f64>,
}

/// What a product is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Substance {
    /// A chemical of the contract's list.
    Chemical(Chemical),
    /// A mineral bath salt of the Dead Sea kind.
    MineralSalt,
    /// A sequestrant for metals (phosphonate); dosed by its label.
    Sequestrant,
}

/// One product on the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// What the owner calls it.
    pub name: String,
    /// What it is.
    pub substance: Substance,
    /// Moles of active substance in a gram of product.
    pub active_mol_per_g: f64,
    /// Moles of sodium chloride that come along in a gram of product (liquid hypochlorite carries its own salt).
    pub companion_salt_mol_per_g: f64,
    /// Grams of a millilitre if it is a liquid.
    pub density_g_ml: Option<f64>,
    /// How the owner measures it.
    pub measure: Measure,
    /// Price of a kilogram.
    pub price_per_kg: Option<f64>,
    /// Grams left; `None` if plenty.
    pub stock_g: Option<f64>,
    /// Days since it was made or opened, where age weakens it (liquid hypochlorite).
    pub age_days: Option<f64>,
    /// What was assumed about it (purity, hydrate, age).
    pub assumed: Vec<Note>,
}

/// The owner's measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Its kind.
    pub kind: MeasureKind,
    /// Grams of product in one of it.
    pub grams_each: f64,
    /// The smallest part of it that the owner can measure: 0.25 for a quarter capful, 5 for 5 g, 1 for a tablet.
    pub smallest: f64,
}

/// What the owner measures with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasureKind {
    /// A level capful.
    Capful,
    /// A level scoop or spoon.
    Scoop,
    /// A tablet.
    Tablet,
    /// A kitchen scale, in grams.
    Scale,
    /// A measuring jug, in millilitres.
    Millilitres,
}

impl Measure {
    /// Grams of the smallest amount that can be measured.
    pub fn smallest_g(&self) -> f64 {
        self.grams_each * self.smallest
    }
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// When; `None` = at the time of the plan.
    pub at: Option<When>,
    /// What.
    pub what: Happening,
}

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Happening {
    /// A reading.
    Reading(Reading),
    /// A dose: index into the shelf, grams of product.
    Dose {
        /// The product.
        product: usize,
        /// Grams of product.
        mass_g: f64,
    },
    /// Filled with source water.
    Fill,
    /// Topped up with source water, litres (evaporation replaced: nothing but water was lost).
    TopUp {
        /// Litres.
        volume_l: f64,
    },
    /// Part of the water replaced with source water, share 0 to 1.
    Replaced {
        /// Share of the volume.
        share: f64,
    },
    /// Bathers: people times hours.
    Bathers {
        /// Person-hours.
        person_hours: f64,
    },
    /// The salt cell was set to a share of its output, 0 to 1.
    Cell {
        /// Share.
        output: f64,
    },
    /// Anything else worth keeping: its kind as written.
    Other {
        /// The kind: `cell`, `cover`, `jets`, `service`, `note`.
        kind: String,
    },
}

/// A raw reading, before its method has been applied.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub quantity: Quantity,
    /// By which method: an id of the built-in ones or of `Case::methods`.
    pub method: String,
    /// The figure, as the method gives it.
    pub raw: Raw,
    /// The line of the case that it stands in, to name it by.
    pub line: Option<usize>,
}

/// A figure as the method gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Raw {
    /// In the quantity's own unit.
    Value(f64),
    /// Drops counted.
    Drops(f64),
    /// Scale units of a capillary strip; the reading is void unless the signal band has changed colour.
    ScaleUnits {
        /// Where the white column ends.
        units: f64,
        /// Whether the signal band has changed colour; `None` if it was not noted.
        signal_changed: Option<bool>,
        /// Minutes until it was read.
        minutes: Option<f64>,
    },
    /// Below the method's least figure ("<").
    Below(f64),
    /// Above the method's greatest figure (">").
    Above(f64),
}

/// A band with the quantity it is for, after overrides.
pub type Bands = Vec<(Quantity, Band)>;
