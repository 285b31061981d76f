//! Test methods: what a kit, strip, probe or meter can read, and what its raw figure means.
//!
//! A method is data: scales (range, marks, error) and the physics of its kind. [`interpret()`] turns a raw reading
//! into value, standard error, limits and findings.
//! Error model: variance = absolute² + (relative·value)² + gap²/12, the last for rounding to the nearest mark.
//! Left out: learning a person's own bias (that takes a history, see the outlook).

mod active_chlorine;
mod built_in;
mod chlorine;
mod error;
mod interpret;
mod lot_table;
mod on_scale;
mod other;
mod own;
mod ph;
mod scales;

use std::borrow::Cow;

use crate::quantity::Quantity;
use crate::text::Text;

pub use active_chlorine::{active_chlorine_mg_l, free_chlorine_from_active_mg_l};
pub use built_in::{BUILT_IN, usual};
pub use error::{MethodError, Wrong};
use interpret::within;
pub use interpret::{Context, Interpreted, Outcome, interpret};
pub use lot_table::{ChlorideBasis, LotTable};
pub(crate) use on_scale::capital;
pub use ph::salt_error_of_phenol_red;

/// A test method.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    /// Id, as a case names it.
    pub id: Cow<'static, str>,
    /// Its name in plain words.
    pub name: Cow<'static, str>,
    /// How it works.
    pub kind: Kind,
    /// One scale for each quantity that it reads.
    pub scales: Cow<'static, [Scale]>,
    /// Where its error figure comes from.
    pub error_source: Cow<'static, str>,
    /// How well that is known.
    pub standing: Standing,
}

/// How well an error figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Published, named in `error_source`.
    Published,
    /// Common practice of the trade.
    CommonPractice,
    /// From memory.
    FromMemory,
    /// Given by the user.
    User,
}

/// How a method works.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Drops of titrant into a sample until the colour changes.
    DropTitration {
        /// Sample, mL.
        sample_ml: f64,
        /// What one drop stands for, in the unit of the quantity it was made for (see [`Method::drop_of`]).
        per_drop: f64,
    },
    /// A colour held against standards.
    Comparator,
    /// A colour measured by an instrument.
    Photometer,
    /// A strip with colour pads.
    Strip,
    /// A capillary strip of silver chromate: the white column's height tells the chloride.
    ChlorideStrip {
        /// The table printed on the lot's bottle.
        lot: Option<LotTable>,
    },
    /// A tube that is filled until the mark at its bottom disappears.
    TurbidityTube,
    /// A glass electrode.
    PhElectrode {
        /// Its last calibration.
        calibration: Option<ElectrodeCalibration>,
    },
    /// A probe that follows active chlorine.
    ChlorineProbe {
        /// What its signal follows.
        law: ProbeLaw,
        /// What it was set to.
        calibration: Option<ProbeCalibration>,
    },
    /// A conductivity cell, whatever its display calls the figure.
    Conductivity {
        /// Whether the meter itself refers its figure to 25 °C.
        compensated: bool,
        /// Relative change of conductivity per °C.
        per_c: f64,
    },
    /// A thermometer.
    Thermometer,
    /// A figure from a laboratory or a supplier's report.
    Stated,
    /// The display of a controller, cell or topside: its sensor's state is unknown.
    Display,
}

/// What a chlorine probe's signal follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProbeLaw {
    /// The amount of hypochlorous acid.
    Amperometric,
    /// The potential of hypochlorous acid against chloride: also falls with pH by itself (one H+ per two electrons).
    Redox,
}

/// A pH electrode's last calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElectrodeCalibration {
    /// Days since.
    pub age_days: f64,
    /// What it shows too much in the pH 7 buffer.
    pub offset_ph: f64,
    /// Its slope as a fraction of the ideal one.
    pub slope: f64,
}

/// The water in which a chlorine probe was set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbeCalibration {
    /// pH then.
    pub ph: f64,
    /// Water temperature then, °C.
    pub temperature_c: f64,
    /// Free chlorine that it was set to, mg/L.
    pub free_chlorine_mg_l: Option<f64>,
    /// Cyanuric acid then, mg/L.
    pub cyanuric_acid_mg_l: f64,
}

/// One quantity as a method reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Which.
    pub quantity: Quantity,
    /// Least figure that it can tell; less is "below".
    pub low: f64,
    /// Greatest figure that it can tell.
    pub high: f64,
    /// Its marks.
    pub step: Step,
    /// Standard error, the part that does not grow.
    pub absolute_error: f64,
    /// Standard error, the part that grows with the value.
    pub relative_error: f64,
    /// What makes the colour or the signal.
    pub reagent: Reagent,
}

/// The marks of a scale.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Evenly spaced (0 for a scale without rounding).
    Even(f64),
    /// As printed.
    Marks(Cow<'static, [f64]>),
}

impl Step {
    /// The gap between marks around a value.
    pub fn gap(&self, value: f64) -> f64 {
        match self {
            Step::Even(gap) => *gap,
            Step::Marks(marks) => {
                let above = marks.partition_point(|m| *m < value).clamp(1, marks.len().max(2) - 1);
                match (marks.get(above - 1), marks.get(above)) {
                    (Some(a), Some(b)) => b - a,
                    _ => 0.0,
                }
            }
        }
    }
}

/// What makes the colour or the signal: interferences go by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reagent {
    /// Diethyl-p-phenylenediamine, read by colour: bleached by much chlorine.
    Dpd,
    /// The same titrated with ferrous ammonium sulfate: not bleached.
    FasDpd,
    /// o-Tolidine: total chlorine only.
    Orthotolidine,
    /// Syringaldazine or another pad that answers to chlorine.
    ChlorinePad,
    /// Phenol red.
    PhenolRed,
    /// A pH dye that was not named.
    PhDye,
    /// Acid against a mixed indicator, end point near pH 4.5.
    Acid,
    /// EDTA at pH 10: calcium and magnesium.
    EdtaTotal,
    /// EDTA at pH 12 to 13: calcium alone.
    EdtaCalcium,
    /// Melamine: cloudiness with cyanuric acid.
    Melamine,
    /// Silver against chromate: chloride.
    Silver,
    /// Any other, or none.
    Other,
}

/// A method's name by its id and English: a message where it is built in, the user's own words where it is theirs.
pub(crate) fn said(id: &str, name: &str) -> Text {
    if BUILT_IN.iter().any(|m| m.id == id && m.name == name) {
        Text::message(format!("care-method-{}", id.replace('.', "-")), name.to_string(), Vec::new())
    } else {
        Text::name(name)
    }
}

impl Method {
    /// Its name: a message where it is built in, the user's own words where it is theirs.
    pub fn said(&self) -> Text {
        said(&self.id, &self.name)
    }

    /// The scale for a quantity.
    pub fn scale(&self, quantity: Quantity) -> Option<&Scale> {
        self.scales.iter().find(|s| s.quantity == quantity)
    }

    /// The quantities that it can read.
    pub fn quantities(&self) -> impl Iterator<Item = Quantity> + '_ {
        self.scales.iter().map(|s| s.quantity)
    }

    /// What one drop stands for, in a quantity's own unit; `None` if it does not count drops, or cannot read that.
    pub fn drop_of(&self, quantity: Quantity) -> Option<f64> {
        match self.kind {
            // The least that it can tell is one drop.
            Kind::DropTitration { .. } => self.scale(quantity).map(|s| s.low),
            _ => None,
        }
    }

    /// Checks the figures that a user may have given.
    ///
    /// # Errors
    /// [`Wrong::OutOfRange`] naming the field.
    pub fn check(&self) -> Result<(), Wrong> {
        match self.kind {
            Kind::DropTitration { sample_ml, per_drop } => {
                within("sample_ml", sample_ml, "mL", (0.1, 1000.0))?;
                within("per_drop", per_drop, "a drop", (1e-3, 1e4))?;
            }
            Kind::Conductivity { per_c, .. } => within("per_c", per_c, "per °C", (0.0, 0.05))?,
            Kind::ChlorineProbe { calibration: Some(set), .. } => {
                within("calibration ph", set.ph, "", Quantity::Ph.possible())?;
                within("calibration temperature_c", set.temperature_c, "°C", (0.0, 50.0))?;
                within("calibration cyanuric_acid_mg_l", set.cyanuric_acid_mg_l, "mg/L", (0.0, 500.0))?;
                let set_to = set.free_chlorine_mg_l.unwrap_or(1.0);
                within("calibration free_chlorine_mg_l", set_to, "mg/L", (0.01, 100.0))?;
            }
            _ => {}
        }
        for s in self.scales.iter() {
            within("absolute_error", s.absolute_error, s.quantity.unit(), (0.0, 1e6))?;
            within("relative_error", s.relative_error, "of the value", (0.0, 10.0))?;
            within("low", s.low, s.quantity.unit(), (-1e6, 1e6))?;
            within("high", s.high, s.quantity.unit(), (s.low, 1e6))?;
        }
        Ok(())
    }
}

/// The end point lies within the last drop: so much is taken off a count, and so much is its standard error, as a person may
/// add one too many besides.
pub const HALF_DROP: f64 = 0.5;

/// The method with this id: the user's own first, so that they may refine a built-in one.
pub fn find<'a>(own: &'a [Method], id: &str) -> Option<&'a Method> {
    own.iter().find(|m| m.id == id).or_else(|| BUILT_IN.iter().find(|m| m.id == id))
}
