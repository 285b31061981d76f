//! The scales of the built-in methods: range, marks, standard error. Where each figure comes from stands with its
//! method in `built_in`.

use std::borrow::Cow;

use super::{Reagent as R, Scale, Step};
use crate::quantity::Quantity as Q;

/// Relative error of a sample filled to a mark by eye, of the drops' size and of the reagent's strength together (from memory of
/// kits, which promise a drop or 5 %; hardness by EDTA in a laboratory's hands 2.9 %: Standard Methods 2340 C, from memory).
pub(super) const SAMPLE_ERROR: f64 = 0.05;

const fn even(quantity: Q, range: (f64, f64), step: f64, absolute: f64, relative: f64, reagent: R) -> Scale {
    Scale {
        quantity,
        low: range.0,
        high: range.1,
        step: Step::Even(step),
        absolute_error: absolute,
        relative_error: relative,
        reagent,
    }
}

const fn marks(quantity: Q, low: f64, at: &'static [f64], absolute: f64, relative: f64, reagent: R) -> Scale {
    Scale {
        quantity,
        low,
        high: at[at.len() - 1],
        step: Step::Marks(Cow::Borrowed(at)),
        absolute_error: absolute,
        relative_error: relative,
        reagent,
    }
}

const fn drops(quantity: Q, per_drop: f64, high: f64, reagent: R) -> Scale {
    even(quantity, (per_drop, high), 0.0, super::HALF_DROP * per_drop, SAMPLE_ERROR, reagent)
}

const fn balance_drops(per_drop: f64) -> [Scale; 3] {
    [
        drops(Q::TotalAlkalinity, per_drop, 600.0, R::Acid),
        drops(Q::CalciumHardness, per_drop, 1000.0, R::EdtaCalcium),
        drops(Q::TotalHardness, per_drop, 1000.0, R::EdtaTotal),
    ]
}

const fn fas_dpd(per_drop: f64) -> [Scale; 4] {
    [
        drops(Q::FreeChlorine, per_drop, 50.0, R::FasDpd),
        drops(Q::TotalChlorine, per_drop, 50.0, R::FasDpd),
        drops(Q::CombinedChlorine, per_drop, 50.0, R::FasDpd),
        // One mole of Br2 takes what one of Cl2 does: 159.808/70.906 = 2.2539 times the figure in mg/L.
        drops(Q::TotalBromine, 2.2539 * per_drop, 110.0, R::FasDpd),
    ]
}

pub(super) static DROPS_10: [Scale; 3] = balance_drops(10.0);
pub(super) static DROPS_25: [Scale; 3] = balance_drops(25.0);
pub(super) static FAS_02: [Scale; 4] = fas_dpd(0.2);
pub(super) static FAS_05: [Scale; 4] = fas_dpd(0.5);

static CHLORINE_STEPS: &[f64] = &[0.0, 0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0];
static PH_STEPS: &[f64] = &[6.8, 7.0, 7.2, 7.4, 7.6, 7.8, 8.0, 8.2];
static TUBE_MARKS: &[f64] = &[30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0];
static PAD_CHLORINE: &[f64] = &[0.0, 0.5, 1.0, 3.0, 5.0, 10.0, 20.0];

pub(super) static COMPARATOR: [Scale; 9] = [
    even(Q::Ph, (6.8, 8.2), 0.1, 0.1, 0.0, R::PhDye),
    marks(Q::FreeChlorine, 0.2, CHLORINE_STEPS, 0.1, 0.15, R::Dpd),
    marks(Q::TotalChlorine, 0.2, CHLORINE_STEPS, 0.1, 0.15, R::Dpd),
    marks(Q::CombinedChlorine, 0.2, CHLORINE_STEPS, 0.15, 0.2, R::Dpd),
    marks(Q::TotalBromine, 0.5, &[0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 10.0, 20.0], 0.2, 0.15, R::Dpd),
    marks(Q::Iron, 0.1, &[0.0, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 5.0], 0.05, 0.2, R::Other),
    marks(Q::Copper, 0.1, &[0.0, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 5.0], 0.05, 0.2, R::Other),
    marks(Q::Phosphate, 0.1, &[0.0, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0], 0.05, 0.25, R::Other),
    marks(Q::Borate, 5.0, &[0.0, 15.0, 30.0, 50.0, 80.0], 3.0, 0.15, R::Other),
];
pub(super) static PHENOL_RED: [Scale; 1] = [marks(Q::Ph, 6.8, PH_STEPS, 0.1, 0.0, R::PhenolRed)];
pub(super) static DPD_COMPARATOR: [Scale; 4] = [
    marks(Q::FreeChlorine, 0.2, CHLORINE_STEPS, 0.1, 0.15, R::Dpd),
    marks(Q::TotalChlorine, 0.2, CHLORINE_STEPS, 0.1, 0.15, R::Dpd),
    marks(Q::CombinedChlorine, 0.2, CHLORINE_STEPS, 0.15, 0.2, R::Dpd),
    marks(Q::TotalBromine, 0.5, &[0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 10.0, 20.0], 0.2, 0.15, R::Dpd),
];
pub(super) static DPD_PHOTOMETER: [Scale; 4] = [
    even(Q::FreeChlorine, (0.05, 10.0), 0.01, 0.05, 0.05, R::Dpd),
    even(Q::TotalChlorine, (0.05, 10.0), 0.01, 0.05, 0.05, R::Dpd),
    even(Q::CombinedChlorine, (0.1, 10.0), 0.01, 0.08, 0.07, R::Dpd),
    even(Q::TotalBromine, (0.1, 22.0), 0.01, 0.1, 0.05, R::Dpd),
];
pub(super) static PHOTOMETER: [Scale; 15] = [
    even(Q::Ph, (6.5, 8.4), 0.01, 0.1, 0.0, R::PhenolRed),
    even(Q::FreeChlorine, (0.05, 10.0), 0.01, 0.05, 0.05, R::Dpd),
    even(Q::TotalChlorine, (0.05, 10.0), 0.01, 0.05, 0.05, R::Dpd),
    even(Q::CombinedChlorine, (0.1, 10.0), 0.01, 0.08, 0.07, R::Dpd),
    even(Q::TotalBromine, (0.1, 22.0), 0.01, 0.1, 0.05, R::Dpd),
    even(Q::TotalAlkalinity, (10.0, 200.0), 1.0, 5.0, 0.05, R::Other),
    even(Q::CalciumHardness, (20.0, 500.0), 1.0, 8.0, 0.08, R::Other),
    even(Q::TotalHardness, (20.0, 500.0), 1.0, 8.0, 0.08, R::Other),
    even(Q::CyanuricAcid, (5.0, 160.0), 1.0, 5.0, 0.1, R::Melamine),
    even(Q::Salt, (200.0, 10_000.0), 10.0, 50.0, 0.08, R::Other),
    even(Q::Borate, (1.0, 100.0), 1.0, 2.0, 0.08, R::Other),
    even(Q::Phosphate, (0.05, 4.0), 0.01, 0.05, 0.08, R::Other),
    even(Q::Iron, (0.02, 3.0), 0.01, 0.03, 0.08, R::Other),
    even(Q::Copper, (0.05, 5.0), 0.01, 0.05, 0.08, R::Other),
    even(Q::Turbidity, (0.1, 1000.0), 0.1, 0.1, 0.1, R::Other),
];
pub(super) static STRIP: [Scale; 10] = [
    marks(Q::Ph, 6.2, &[6.2, 6.8, 7.2, 7.8, 8.4], 0.2, 0.0, R::PhDye),
    marks(Q::FreeChlorine, 0.5, PAD_CHLORINE, 0.2, 0.4, R::ChlorinePad),
    marks(Q::TotalChlorine, 0.5, PAD_CHLORINE, 0.2, 0.4, R::ChlorinePad),
    marks(Q::TotalBromine, 1.0, &[0.0, 1.0, 2.0, 6.0, 10.0, 20.0], 0.4, 0.4, R::ChlorinePad),
    marks(Q::TotalAlkalinity, 20.0, &[0.0, 40.0, 80.0, 120.0, 180.0, 240.0, 360.0], 10.0, 0.15, R::Other),
    marks(Q::TotalHardness, 25.0, &[0.0, 50.0, 100.0, 250.0, 500.0, 1000.0], 20.0, 0.25, R::Other),
    marks(Q::CyanuricAcid, 30.0, &[0.0, 30.0, 50.0, 100.0, 150.0, 300.0], 10.0, 0.3, R::Other),
    marks(Q::Iron, 0.2, &[0.0, 0.2, 0.5, 1.0, 3.0, 5.0], 0.1, 0.3, R::Other),
    marks(Q::Copper, 0.2, &[0.0, 0.2, 0.5, 1.0, 3.0, 5.0], 0.1, 0.3, R::Other),
    marks(Q::Borate, 10.0, &[0.0, 15.0, 30.0, 50.0, 80.0], 5.0, 0.25, R::Other),
];
pub(super) static LABORATORY: [Scale; 18] = stated(0.05, 0.05, 0.03);
pub(super) static REPORT: [Scale; 18] = stated(0.1, 0.1, 0.08);

/// A laboratory's or a report's figures: pH and temperature by absolute error, the rest mostly relative.
const fn stated(ph: f64, chlorine: f64, relative: f64) -> [Scale; 18] {
    [
        even(Q::Ph, (4.0, 11.0), 0.0, ph, 0.0, R::Other),
        even(Q::FreeChlorine, (0.0, 100.0), 0.0, chlorine, relative, R::Other),
        even(Q::CombinedChlorine, (0.0, 100.0), 0.0, chlorine, relative, R::Other),
        even(Q::TotalChlorine, (0.0, 100.0), 0.0, chlorine, relative, R::Other),
        even(Q::TotalBromine, (0.0, 200.0), 0.0, 2.0 * chlorine, relative, R::Other),
        even(Q::TotalAlkalinity, (0.0, 1000.0), 0.0, 2.0, relative, R::Other),
        even(Q::CalciumHardness, (0.0, 3000.0), 0.0, 2.0, relative, R::Other),
        even(Q::TotalHardness, (0.0, 3000.0), 0.0, 2.0, relative, R::Other),
        even(Q::CyanuricAcid, (0.0, 500.0), 0.0, 2.0, relative, R::Other),
        even(Q::Salt, (0.0, 40_000.0), 0.0, 5.0, relative, R::Other),
        even(Q::Borate, (0.0, 200.0), 0.0, 0.1, relative, R::Other),
        even(Q::Phosphate, (0.0, 50.0), 0.0, 0.02, relative, R::Other),
        even(Q::Iron, (0.0, 50.0), 0.0, 0.01, relative, R::Other),
        even(Q::Copper, (0.0, 50.0), 0.0, 0.01, relative, R::Other),
        even(Q::DissolvedSolids, (0.0, 40_000.0), 0.0, 10.0, relative, R::Other),
        even(Q::Conductivity, (0.0, 60.0), 0.0, 0.01, relative, R::Other),
        even(Q::Turbidity, (0.0, 1000.0), 0.0, 0.1, relative, R::Other),
        even(Q::Temperature, (0.0, 45.0), 0.0, 0.3, 0.0, R::Other),
    ]
}

pub(super) static SALT_DROPS: [Scale; 1] = [drops(Q::Salt, 200.0, 10_000.0, R::Silver)];
pub(super) static CHLORIDE_STRIP: [Scale; 1] = [even(Q::Salt, (0.0, 20_000.0), 0.0, 0.0, 0.1, R::Silver)];
pub(super) static TUBE: [Scale; 1] = [marks(Q::CyanuricAcid, 30.0, TUBE_MARKS, 8.0, 0.18, R::Melamine)];
pub(super) static ORTHOTOLIDINE: [Scale; 2] = [
    marks(Q::TotalChlorine, 0.3, &[0.0, 0.3, 0.6, 1.0, 1.5, 2.0, 3.0, 5.0], 0.1, 0.3, R::Orthotolidine),
    marks(Q::FreeChlorine, 0.3, &[0.0, 0.3, 0.6, 1.0, 1.5, 2.0, 3.0, 5.0], 0.1, 0.3, R::Orthotolidine),
];
pub(super) static PH_ELECTRODE: [Scale; 1] = [even(Q::Ph, (2.0, 12.0), 0.01, 0.05, 0.0, R::Other)];
pub(super) static AMPEROMETRIC: [Scale; 1] =
    [even(Q::FreeChlorine, (0.02, 50.0), 0.01, 0.05, 0.05, R::Other)];
pub(super) static REDOX: [Scale; 2] = [
    even(Q::Redox, (-500.0, 1200.0), 1.0, 15.0, 0.0, R::Other),
    even(Q::FreeChlorine, (0.1, 50.0), 0.01, 0.2, 0.5, R::Other),
];
pub(super) static SALT_METER: [Scale; 1] = [even(Q::Salt, (50.0, 20_000.0), 10.0, 50.0, 0.1, R::Other)];
pub(super) static THERMOMETER: [Scale; 1] = [even(Q::Temperature, (0.0, 45.0), 0.1, 0.5, 0.0, R::Other)];
pub(super) static VISUAL: [Scale; 1] = [even(Q::Turbidity, (0.5, 100.0), 0.0, 1.0, 0.5, R::Other)];
pub(super) static CONDUCTIVITY: [Scale; 2] = [
    even(Q::Conductivity, (0.0, 60.0), 0.01, 0.01, 0.01, R::Other),
    even(Q::DissolvedSolids, (0.0, 40_000.0), 1.0, 20.0, 0.1, R::Other),
];
pub(super) static DISPLAY: [Scale; 5] = [
    even(Q::Salt, (100.0, 20_000.0), 10.0, 50.0, 0.15, R::Other),
    even(Q::Temperature, (0.0, 45.0), 0.5, 1.0, 0.0, R::Other),
    even(Q::Ph, (2.0, 12.0), 0.1, 0.25, 0.0, R::Other),
    even(Q::FreeChlorine, (0.1, 20.0), 0.1, 0.3, 0.35, R::Other),
    even(Q::Redox, (-500.0, 1200.0), 1.0, 30.0, 0.0, R::Other),
];
