//! From a raw reading to what it says: value and standard error, a limit, or nothing.

use super::on_scale::{on_scale, over_range};
use super::{HALF_DROP, Kind, Method, MethodError, Reagent, Scale, Wrong, chlorine, other, ph};
use crate::amount::Units;
use crate::case::{Raw, Reading};
use crate::finding::{Finding, Weight};
use crate::quantity::Quantity;
use crate::text::{Text, figures, say};

/// What is known about the water beside the reading: interferences and compensations go by it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Context {
    /// Water temperature, °C.
    pub temperature_c: f64,
    /// pH.
    pub ph: Option<f64>,
    /// Free chlorine, mg/L as Cl2.
    pub free_chlorine_mg_l: Option<f64>,
    /// Cyanuric acid, mg/L.
    pub cyanuric_acid_mg_l: Option<f64>,
    /// Salt, mg/L as NaCl.
    pub salt_mg_l: Option<f64>,
    /// Magnesium, mg/L.
    pub magnesium_mg_l: Option<f64>,
    /// Total alkalinity, mg/L as CaCO3.
    pub total_alkalinity_mg_l_caco3: Option<f64>,
    /// What findings are said in.
    pub units: Units,
}

impl Context {
    /// Nothing known but the temperature; findings in metric units.
    pub fn at(temperature_c: f64) -> Context {
        Context {
            temperature_c,
            ph: None,
            free_chlorine_mg_l: None,
            cyanuric_acid_mg_l: None,
            salt_mg_l: None,
            magnesium_mg_l: None,
            total_alkalinity_mg_l_caco3: None,
            units: Units::Metric,
        }
    }

    /// Estimates may stray a little outside what is possible: brought back, so that no reading fails for it.
    fn within_the_possible(self) -> Result<Context, Wrong> {
        within("water temperature", self.temperature_c, "°C", water::equilibrium::TEMPERATURE_RANGE_C)?;
        let clamp = |figure: Option<f64>, q: Quantity| {
            let (low, high) = q.possible();
            figure.filter(|f| f.is_finite()).map(|f| f.clamp(low, high))
        };
        Ok(Context {
            temperature_c: self.temperature_c,
            ph: clamp(self.ph, Quantity::Ph),
            free_chlorine_mg_l: clamp(self.free_chlorine_mg_l, Quantity::FreeChlorine),
            cyanuric_acid_mg_l: clamp(self.cyanuric_acid_mg_l, Quantity::CyanuricAcid),
            salt_mg_l: clamp(self.salt_mg_l, Quantity::Salt),
            magnesium_mg_l: self.magnesium_mg_l.filter(|m| m.is_finite()),
            total_alkalinity_mg_l_caco3: clamp(self.total_alkalinity_mg_l_caco3, Quantity::TotalAlkalinity),
            units: self.units,
        })
    }
}

/// What a reading says.
#[derive(Debug, Clone, PartialEq)]
pub struct Interpreted {
    /// Of which quantity: not always the one it was filed under (o-tolidine).
    pub quantity: Quantity,
    /// What it says.
    pub outcome: Outcome,
    /// Whether it stands at an end of its scale or beyond: the water may lie further out.
    pub at_scale_end: bool,
    /// Interferences, limits, doubts.
    pub findings: Vec<Finding>,
    /// The method's id.
    pub method_id: String,
    /// The method's name, for sentences.
    pub method_name: Text,
    /// The line of the case.
    pub line: Option<usize>,
    /// What made the colour or signal.
    pub reagent: Reagent,
    /// Whether it is a controller's display, whose sensor may be in any state.
    pub is_display: bool,
}

/// What a reading says of its quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outcome {
    /// A value.
    Value {
        /// Best figure.
        value: f64,
        /// Standard error.
        standard_error: f64,
    },
    /// Less than the method can tell.
    Below {
        /// Its least figure.
        limit: f64,
    },
    /// More than the method can tell.
    Above {
        /// Its greatest figure.
        limit: f64,
    },
    /// Nothing: the reading is not usable.
    Void,
}

impl Outcome {
    /// The value changed by a function, its standard error joined by another independent one.
    pub(super) fn map(self, f: impl Fn(f64) -> f64, more_error: f64) -> Outcome {
        match self {
            Outcome::Value { value, standard_error } => {
                Outcome::Value { value: f(value), standard_error: standard_error.hypot(more_error) }
            }
            Outcome::Below { limit } => Outcome::Below { limit: f(limit) },
            Outcome::Above { limit } => Outcome::Above { limit: f(limit) },
            Outcome::Void => Outcome::Void,
        }
    }

    /// The value with its standard error multiplied.
    pub(super) fn widened(self, factor: f64) -> Outcome {
        match self {
            Outcome::Value { value, standard_error } => {
                Outcome::Value { value, standard_error: factor * standard_error }
            }
            limit => limit,
        }
    }

    /// The figure that stands in it, if any.
    pub fn figure(self) -> Option<f64> {
        match self {
            Outcome::Value { value, .. } => Some(value),
            Outcome::Below { limit } | Outcome::Above { limit } => Some(limit),
            Outcome::Void => None,
        }
    }
}

/// A reading under way: outcome and findings so far.
pub(super) struct Draft {
    pub(super) quantity: Quantity,
    pub(super) outcome: Outcome,
    pub(super) at_scale_end: bool,
    pub(super) findings: Vec<Finding>,
}

impl Draft {
    pub(super) fn note(&mut self, what: Text, advice: Text) {
        self.find(Weight::Note, what, advice);
    }

    pub(super) fn doubt(&mut self, what: Text, advice: Text) {
        self.find(Weight::Doubt, what, advice);
    }

    fn find(&mut self, weight: Weight, what: Text, advice: Text) {
        let quantities = vec![self.quantity];
        self.findings.push(Finding { weight, quantities, what, advice });
    }
}

/// What a raw reading by a method says.
///
/// # Errors
/// [`MethodError`] if the method cannot have given this reading: it does not read the quantity, takes another kind of
/// figure, lacks its lot table, or the figure is impossible.
pub fn interpret(method: &Method, reading: &Reading, context: &Context) -> Result<Interpreted, MethodError> {
    let wrong = |wrong: Wrong| MethodError {
        line: reading.line,
        method: method.id.to_string(),
        quantity: Some(reading.quantity),
        wrong,
    };
    method.check().map_err(wrong)?;
    let context = &context.within_the_possible().map_err(wrong)?;
    let scale = scale_for(method, reading.quantity).map_err(wrong)?;
    let mut draft = Draft {
        quantity: reading.quantity,
        outcome: Outcome::Void,
        at_scale_end: false,
        findings: Vec::new(),
    };
    draft.outcome = outcome(method, scale, &reading.raw, &mut draft).map_err(wrong)?;
    draft.at_scale_end |= matches!(draft.outcome, Outcome::Above { .. } | Outcome::Below { .. });

    match (&method.kind, scale.reagent) {
        (Kind::PhElectrode { calibration }, _) => {
            ph::electrode(&mut draft, calibration.as_ref()).map_err(wrong)?;
        }
        (Kind::ChlorineProbe { law, calibration }, _) => {
            chlorine::probe(&mut draft, scale, *law, calibration.as_ref(), context).map_err(wrong)?;
        }
        (Kind::Conductivity { compensated, per_c }, _) => {
            other::conductivity(&mut draft, *compensated, *per_c, context);
        }
        (Kind::Display, _) => chlorine::display(&mut draft),
        (_, Reagent::PhenolRed | Reagent::PhDye) => ph::dye(&mut draft, scale, context),
        (_, Reagent::Dpd | Reagent::ChlorinePad) => chlorine::bleaching(&mut draft, context),
        (_, Reagent::FasDpd) => chlorine::much_for_fas_dpd(&mut draft),
        (_, Reagent::Orthotolidine) => chlorine::orthotolidine(&mut draft),
        (_, Reagent::Acid) => other::alkalinity(&mut draft, context),
        (_, Reagent::EdtaCalcium) => other::calcium(&mut draft, context),
        (_, Reagent::Melamine) => other::melamine(&mut draft, context),
        _ => {}
    }
    Ok(Interpreted {
        quantity: draft.quantity,
        outcome: draft.outcome,
        at_scale_end: draft.at_scale_end,
        findings: draft.findings,
        method_id: method.id.to_string(),
        method_name: method.said(),
        line: reading.line,
        reagent: scale.reagent,
        is_display: method.kind == Kind::Display,
    })
}

fn scale_for(method: &Method, quantity: Quantity) -> Result<&Scale, Wrong> {
    method.scale(quantity).ok_or_else(|| {
        let by_orthotolidine = method.scales.iter().any(|s| s.reagent == Reagent::Orthotolidine);
        if by_orthotolidine && quantity == Quantity::CombinedChlorine {
            return Wrong::CannotSeparate;
        }
        Wrong::CannotRead { quantity, can: method.quantities().collect() }
    })
}

fn outcome(method: &Method, scale: &Scale, raw: &Raw, draft: &mut Draft) -> Result<Outcome, Wrong> {
    let q = scale.quantity;
    match (*raw, &method.kind) {
        (Raw::Value(value), kind) => {
            let value = possible(q, value)?;
            if matches!(kind, Kind::ChlorideStrip { .. }) {
                draft.note(
                    say!(
                        "care-strip-as-salt",
                        "The chloride strip was entered as {value} mg/L of salt: whether its signal band had \
                         changed colour and which table was used cannot be checked.",
                        value = figures!("{value:.0}")
                    ),
                    say!(
                        "care-strip-as-salt-advice",
                        "Enter the scale units, the band's colour and the lot's table."
                    ),
                );
            }
            Ok(on_scale(kind, scale, value, draft))
        }
        (Raw::Drops(drops), Kind::DropTitration { per_drop, .. }) => {
            let each = method.drop_of(q).unwrap_or(*per_drop);
            let most = q.possible().1 / each;
            if !(0.0..=most).contains(&drops) {
                return Err(Wrong::OutOfRange {
                    field: "drops",
                    value: drops,
                    unit: "",
                    low: 0.0,
                    high: most,
                });
            }
            // The last drop turned the colour: the end point lies within it, in the middle half a drop below the count. A figure
            // that somebody wrote down instead is taken as it stands.
            Ok(match on_scale(&method.kind, scale, drops * each, draft) {
                Outcome::Value { value, standard_error } => {
                    Outcome::Value { value: value - HALF_DROP * each, standard_error }
                }
                limit => limit,
            })
        }
        (Raw::ScaleUnits { units, signal_changed, minutes }, Kind::ChlorideStrip { lot }) => {
            let lot = lot.as_ref().ok_or(Wrong::NoLotTable { units })?;
            other::chloride_strip(draft, scale, lot, units, signal_changed, minutes)
        }
        (Raw::Below(limit), _) => {
            // A method cannot tell less than its least figure, whatever was written down.
            Ok(Outcome::Below { limit: possible(q, limit)?.max(scale.low) })
        }
        (Raw::Above(limit), _) => {
            let limit = possible(q, limit)?;
            over_range(draft, scale, limit);
            Ok(Outcome::Above { limit })
        }
        (Raw::Drops(drops), kind) => {
            let given = say!("care-given-drops", "{n} drops", n = figures!("{drops}"));
            Err(Wrong::WrongRaw { given: Box::new(given), wants: Box::new(wants(kind)) })
        }
        (Raw::ScaleUnits { units, .. }, kind) => {
            let given = say!("care-given-scale-units", "{n} scale units", n = figures!("{units}"));
            Err(Wrong::WrongRaw { given: Box::new(given), wants: Box::new(wants(kind)) })
        }
    }
}

fn wants(kind: &Kind) -> Text {
    match kind {
        Kind::DropTitration { .. } => {
            say!("care-wants-drops", "drops, or a figure in the quantity's own unit")
        }
        Kind::ChlorideStrip { .. } => {
            say!("care-wants-scale-units", "scale units with its lot's table, or a figure in mg/L")
        }
        _ => say!("care-wants-figure", "a figure in the quantity's own unit"),
    }
}

fn possible(quantity: Quantity, value: f64) -> Result<f64, Wrong> {
    within(quantity.name(), value, quantity.unit(), quantity.possible())?;
    Ok(value)
}

/// That a figure lies within limits.
pub(super) fn within(
    field: &'static str,
    value: f64,
    unit: &'static str,
    (low, high): (f64, f64),
) -> Result<(), Wrong> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(Wrong::OutOfRange { field, value, unit, low, high })
    }
}
