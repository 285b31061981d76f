//! The label rule: what the labels of the trade's products say for so many litres of the maker's figure, whatever else the
//! water is. All rules are common practice, from memory; largest single doses as the trade gives them.

use super::{Learner, Policy, round};
use crate::error::PracticeError;
use crate::game::most_at_once_g;
use crate::moves::Move;
use care::quantity::Quantity as Q;

/// Doses by the chart.
#[derive(Debug, Clone, Default)]
pub struct ByLabel {
    cell: round::CellRule,
    filled: bool,
}

/// Grams a cubic metre of: bicarbonate for 10 mg/L of alkalinity; calcium chloride flake for 10 mg/L of hardness; dry acid
/// for 0.1 of pH, at most at once, and a portion against much alkalinity; soda ash for 0.1, and at most; salt of a new fill; quick chlorine when free chlorine
/// is low, and when it is nearly gone.
mod g_per_m3 {
    pub(super) const BICARBONATE_FOR_10: f64 = 18.0;
    pub(super) const BICARBONATE_MOST: f64 = 170.0;
    pub(super) const CALCIUM_FOR_10: f64 = 15.0;
    pub(super) const CALCIUM_MOST: f64 = 200.0;
    pub(super) const ACID_FOR_TENTH: f64 = 10.0;
    pub(super) const ACID_MOST: f64 = 35.0;
    pub(super) const ACID_FOR_ALKALINITY: f64 = 30.0;
    pub(super) const SODA_FOR_TENTH: f64 = 10.0;
    pub(super) const SODA_MOST: f64 = 10.0;
    pub(super) const SALT: f64 = 2300.0;
    pub(super) const CHLORINE_LOW: f64 = 10.0;
    pub(super) const CHLORINE_GONE: f64 = 20.0;
}
/// What the chart wants: low, high.
const PH: (f64, f64) = (7.2, 7.6);
const ALKALINITY: (f64, f64) = (80.0, 100.0);
/// From here on the chart lowers alkalinity too, a portion of acid a look.
const ALKALINITY_MUCH: f64 = 150.0;
const HARDNESS: (f64, f64) = (100.0, 150.0);
const FREE_CHLORINE: (f64, f64) = (1.0, 3.0);

impl Policy for ByLabel {
    fn id(&self) -> &'static str {
        "label"
    }

    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError> {
        round::top_up(at)?;
        round::read_due(at)?;
        let found = round::last_figure(at, Q::FreeChlorine);
        if !self.filled && round::has_cell(at) {
            dose(at, "salt", g_per_m3::SALT, g_per_m3::SALT)?;
        }
        self.filled = true;
        // Only what was read at this look is acted on: a figure of last week is no reason to dose again.
        if read_now(at, Q::TotalAlkalinity) {
            up(
                at,
                Q::TotalAlkalinity,
                ALKALINITY,
                "bicarbonate",
                g_per_m3::BICARBONATE_FOR_10,
                g_per_m3::BICARBONATE_MOST,
            )?;
        }
        if read_now(at, Q::CalciumHardness) {
            at.wait_hours(2.0)?;
            up(
                at,
                Q::CalciumHardness,
                HARDNESS,
                "calcium",
                g_per_m3::CALCIUM_FOR_10,
                g_per_m3::CALCIUM_MOST,
            )?;
        }
        let much = round::last_figure(at, Q::TotalAlkalinity).is_some_and(|a| a > ALKALINITY_MUCH);
        if let Some(ph) = round::last_figure(at, Q::Ph) {
            let tenths = 10.0 * (ph - 0.5 * (PH.0 + PH.1)).abs();
            if ph > PH.1 + 1e-9 {
                dose(at, "acid", tenths * g_per_m3::ACID_FOR_TENTH, g_per_m3::ACID_MOST)?;
            } else if ph < PH.0 - 1e-9 {
                dose(at, "soda-ash", tenths * g_per_m3::SODA_FOR_TENTH, g_per_m3::SODA_MOST)?;
            } else if much {
                dose(at, "acid", g_per_m3::ACID_FOR_ALKALINITY, g_per_m3::ACID_MOST)?;
            }
        }
        if let Some(free) = found {
            if free < FREE_CHLORINE.0 {
                dose(at, "chlorine", g_per_m3::CHLORINE_GONE, g_per_m3::CHLORINE_GONE)?;
            } else if free < FREE_CHLORINE.1 {
                dose(at, "chlorine", g_per_m3::CHLORINE_LOW, g_per_m3::CHLORINE_LOW)?;
            }
        }
        self.cell.set(at, found)
    }
}

/// Whether a quantity was read within this look.
fn read_now(at: &Learner<'_>, quantity: Q) -> bool {
    round::hours_since_read(at, quantity).is_some_and(|h| h < 6.0)
}

/// Raises a quantity to the upper end of the chart's range if it is below the lower.
fn up(
    at: &mut Learner<'_>,
    quantity: Q,
    (low, high): (f64, f64),
    product: &str,
    for_10: f64,
    most: f64,
) -> Result<(), PracticeError> {
    match round::last_figure(at, quantity) {
        Some(found) if found < low => dose(at, product, (high - found) / 10.0 * for_10, most),
        _ => Ok(()),
    }
}

/// So many grams a cubic metre, in whole smallest measures, half an hour and a rest.
fn dose(at: &mut Learner<'_>, name: &str, g_per_m3: f64, most: f64) -> Result<(), PracticeError> {
    let volume_l = at.case().tub.volume_l;
    let Some(product) = at.case().shelf.iter().find(|p| p.name == name) else { return Ok(()) };
    let wanted_g = (g_per_m3.min(most) * volume_l / 1000.0).min(most_at_once_g(product, volume_l));
    let measure = &product.measure;
    let measures = (wanted_g / measure.smallest_g()).round().max(1.0) * measure.smallest;
    at.wait_until_empty()?;
    at.make(&Move::Dose { product: name.to_string(), measures })?;
    Ok(())
}
