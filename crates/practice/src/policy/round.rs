//! What every policy does alike at a look, so that only the dosing differs: fill up, read what is due, set the cell.

use super::Learner;
use crate::error::PracticeError;
use crate::kit::{KITS, figure};
use crate::moves::Move;
use care::band::Regime;
use care::case::Happening;
use care::quantity::Quantity as Q;

/// How often each quantity is read, days: free chlorine and pH each time, the rest more seldom (common practice).
const DUE_DAYS: [(Q, f64); 7] = [
    (Q::Ph, 0.0),
    (Q::FreeChlorine, 0.0),
    (Q::TotalAlkalinity, 6.9),
    (Q::CombinedChlorine, 6.9),
    (Q::CyanuricAcid, 13.9),
    (Q::Salt, 13.9),
    (Q::CalciumHardness, 27.9),
];

pub(crate) fn has_cell(at: &Learner<'_>) -> bool {
    at.case().tub.regime == Regime::SaltCell
}

/// Fills up if the level is visibly low.
pub(crate) fn top_up(at: &mut Learner<'_>) -> Result<(), PracticeError> {
    if at.is_low() {
        at.make(&Move::TopUp)?;
    }
    Ok(())
}

/// Reads what is due.
pub(crate) fn read_due(at: &mut Learner<'_>) -> Result<(), PracticeError> {
    for (quantity, days) in DUE_DAYS {
        if quantity == Q::Salt && !has_cell(at) {
            continue;
        }
        let last_h = hours_since_read(at, quantity);
        if last_h.is_none_or(|h| h >= 24.0 * days) {
            read(at, quantity)?;
        }
    }
    Ok(())
}

/// Reads a quantity by its usual kit.
pub(crate) fn read(at: &mut Learner<'_>, quantity: Q) -> Result<(), PracticeError> {
    if KITS.iter().any(|k| k.quantity == quantity) {
        at.make(&Move::Read { quantity, method: None })?;
    }
    Ok(())
}

/// Hours since a quantity was read in this fill.
pub(crate) fn hours_since_read(at: &Learner<'_>, quantity: Q) -> Option<f64> {
    let now = at.case().now?;
    let read = |e: &care::case::Entry| match &e.what {
        Happening::Reading(r) if r.quantity == quantity => e.at,
        _ => None,
    };
    at.case().entries.iter().rev().find_map(read).map(|when| now.hours_since(when))
}

/// The last figure that a kit showed of a quantity, as it stands on the kit.
pub(crate) fn last_figure(at: &Learner<'_>, quantity: Q) -> Option<f64> {
    at.case().entries.iter().rev().find_map(|e| match &e.what {
        Happening::Reading(r) if r.quantity == quantity => Some(figure(&r.method, &r.raw)),
        _ => None,
    })
}

/// Cell by the free chlorine of the look: a third less when it is high, a third more when low (common practice; judgement as
/// to the step), off while the salt is out of its window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CellRule {
    duty: f64,
}

impl Default for CellRule {
    fn default() -> Self {
        CellRule { duty: FIRST_DUTY }
    }
}

/// For a household of two or three (judgement).
const FIRST_DUTY: f64 = 0.12;

impl CellRule {
    pub(crate) fn set(&mut self, at: &mut Learner<'_>, found_mg_l: Option<f64>) -> Result<(), PracticeError> {
        if !has_cell(at) {
            return Ok(());
        }
        match found_mg_l {
            Some(free) if at.at_h() > 12.0 && free > 5.0 => self.duty *= 0.67,
            Some(free) if at.at_h() > 12.0 && free < 3.0 => self.duty *= 1.33,
            _ => {}
        }
        self.duty = self.duty.clamp(0.03, 1.0);
        self.set_to(at, self.duty)
    }

    /// Sets the cell to a share of its full output; the rule goes on from there.
    pub(crate) fn set_to(&mut self, at: &mut Learner<'_>, share: f64) -> Result<(), PracticeError> {
        self.duty = share;
        if has_cell(at) {
            at.make(&Move::Cell { duty: (share * 100.0).round() / 100.0 })?;
        }
        Ok(())
    }
}
