//! What if: the water after amounts that somebody has in mind, by the exact equilibrium.
//!
//! In: a [`Case`] and grams of products of its shelf. Out: the water that results, with its errors, whether anybody should
//! do that or not: only [`crate::planner`] looks for a safe path. Everything goes in at once; nothing is lost to the air, and
//! no chlorine or monopersulfate is used yet, whose acid comes with the days.
//! Errors: those of the readings, and the volume's on everything that is dosed, as the planner has them.

use crate::band::Regime;
use crate::case::Case;
use crate::chem::{linear, per_gram};
use crate::estimate::{EstimateError, Estimated, estimate};
use crate::plan::{Estimate, Snapshot};
use crate::planner::interval;
use crate::quantity::Quantity as Q;
use water::units::{eq_kg_from_mg_l_caco3, hardness_mg_l_caco3_from_mol_kg};
use water::{Speciation, Totals, WaterError};

/// Why the water cannot be foretold.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PredictError {
    /// The water as it stands is not known.
    Estimate(#[from] EstimateError),
    /// A product that the shelf does not have.
    NoSuchProduct {
        /// What was asked for.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// An amount that cannot be.
    Amount {
        /// The product's name.
        product: String,
        /// What was asked for.
        grams: f64,
    },
    /// The water would be beyond what the chemistry covers.
    Water(#[from] WaterError),
}

/// The water before and after.
#[derive(Debug, Clone)]
pub struct Prediction {
    /// As it stands.
    pub before: Snapshot,
    /// With everything added and mixed in.
    pub after: Snapshot,
}

/// The water after so many grams of products, each by its place on the shelf.
///
/// # Errors
/// [`PredictError`] if the water is not known, a product or amount cannot be, or the result is outside the chemistry's
/// range.
pub fn predict(case: &Case, doses: &[(usize, f64)]) -> Result<Prediction, PredictError> {
    let est = estimate(case)?;
    let bromine = case.tub.regime == Regime::Bromine;
    let mut dosed = Totals::default();
    for (index, grams) in doses {
        let product = case
            .shelf
            .get(*index)
            .ok_or(PredictError::NoSuchProduct { index: *index, count: case.shelf.len() })?;
        if !grams.is_finite() || *grams < 0.0 {
            return Err(PredictError::Amount { product: product.name.clone(), grams: *grams });
        }
        dosed = dosed.plus(&per_gram(product, bromine), grams / case.tub.volume_l);
    }
    let after = est.at.solve(&est.water.totals.plus(&dosed, 1.0))?;
    Ok(Prediction {
        before: snapshot(case, &est, &est.water, &Totals::default()),
        after: snapshot(case, &est, &after, &dosed),
    })
}

fn snapshot(case: &Case, est: &Estimated, water: &Speciation, dosed: &Totals) -> Snapshot {
    let volume_error = case.tub.volume_error;
    let mut quantities: Vec<Estimate> = Vec::new();
    for level in &est.levels {
        let q = level.quantity;
        let (value, error) = match q {
            Q::Ph => (water.ph().0, ph_error(est, water, dosed, volume_error)),
            Q::SaturationIndex if water.has_calcium() => {
                (est.at.calcite_saturation_index(water), level.standard_error)
            }
            Q::SaturationIndex => continue,
            Q::Temperature | Q::Iron | Q::Copper | Q::CombinedChlorine => (level.value, level.standard_error),
            Q::TotalHardness => (
                hardness_mg_l_caco3_from_mol_kg(water.totals.calcium + water.totals.magnesium),
                level.standard_error,
            ),
            // What a probe or a meter would show is not foretold.
            _ => {
                let Some(value) = linear(q, &water.totals) else { continue };
                let residue = if q == Q::TotalAlkalinity { est.alkalinity_residue_mg_l } else { 0.0 };
                let change = linear(q, dosed).unwrap_or(0.0);
                (value + residue, level.standard_error.hypot(volume_error * change))
            }
        };
        quantities.push(interval(q, value, error, level.known));
    }
    quantities.sort_by_key(|e| e.quantity);
    Snapshot { water: *water, totals: water.totals, quantities }
}

/// The errors of pH, alkalinity and volume, carried to the new water by its own buffering.
fn ph_error(est: &Estimated, water: &Speciation, dosed: &Totals, volume_error: f64) -> f64 {
    let error = |q: Q| est.level(q).map_or(0.0, |l| l.standard_error);
    let (now, then) = (est.water.buffering(), water.buffering());
    let from_ph = error(Q::Ph) * then.ph_per_carbon / now.ph_per_carbon;
    let from_alkalinity = eq_kg_from_mg_l_caco3(error(Q::TotalAlkalinity))
        * (then.ph_per_alkalinity - then.ph_per_carbon * now.ph_per_alkalinity / now.ph_per_carbon);
    let from_volume =
        volume_error * (then.ph_per_alkalinity * dosed.alkalinity + then.ph_per_carbon * dosed.carbon);
    let all = from_ph.hypot(from_alkalinity).hypot(from_volume);
    if all.is_finite() { all } else { error(Q::Ph) }
}
