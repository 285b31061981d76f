//! What an alkalinity titration reads, around one solved end point.
//!
//! The base that is left at the end point is a small part of what is read: bicarbonate in proportion to the carbon, cyanurate
//! in proportion to cyanurate, and the acid that makes the pH. Both are taken from a full solve and held for a week or until
//! something more than slight is added (`tests` below: within 0.1 mg/L).

use super::parameter::WEEK_H;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, at_end_point};
use water::{Equilibria, Totals};

/// See the module.
#[derive(Debug, Clone, Copy)]
pub(super) struct EndPoint {
    /// Hour at which it was taken.
    at_h: f64,
    /// Alkalinity left there, eq/kg, and the totals it was taken at, mol/kg.
    left: f64,
    carbon: f64,
    cyanurate: f64,
    /// What is left of each mole, eq.
    by_carbon: f64,
    by_cyanurate: f64,
}

impl EndPoint {
    /// Of a water at an hour.
    pub(super) fn of(at: &Equilibria, t: &Totals, at_h: f64) -> Option<EndPoint> {
        let end = at_end_point(at, t, ALKALINITY_END_POINT, Dechlorination::Thiosulfate).ok()?;
        let parts = end.alkalinity_parts();
        let each = |part: f64, of: f64| if of > 0.0 { part / of } else { 0.0 };
        Some(EndPoint {
            at_h,
            left: end.totals.alkalinity,
            carbon: t.carbon,
            cyanurate: t.cyanurate,
            by_carbon: each(parts.carbonate, t.carbon),
            by_cyanurate: each(parts.cyanurate, t.cyanurate),
        })
    }

    /// Whether it still holds.
    pub(super) fn holds(&self, at_h: f64) -> bool {
        at_h - self.at_h < WEEK_H
    }

    /// What the titration of these totals reads, eq/kg: thiosulfate gives a base for each mole of chlorine.
    pub(super) fn titrated(&self, t: &Totals) -> f64 {
        let left = self.left
            + self.by_carbon * (t.carbon - self.carbon)
            + self.by_cyanurate * (t.cyanurate - self.cyanurate);
        t.alkalinity + t.free_chlorine - left
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use water::titration::titrated_alkalinity;
    use water::units::{eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mol_kg_from_mg_l, molar_mass};
    use water::{Celsius, Ph};

    /// Against the full titration, after a week in which a third of the carbon left, chlorine came and was used, and
    /// dichlor brought cyanuric acid.
    #[test]
    fn it_reads_as_the_full_titration() {
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        for alkalinity in [50.0, 100.0, 180.0] {
            for cyanuric_acid in [0.0, 40.0] {
                let cyanurate = |mg_l: f64| mol_kg_from_mg_l(mg_l, molar_mass::CYANURIC_ACID);
                let totals = Totals {
                    alkalinity: eq_kg_from_mg_l_caco3(alkalinity),
                    sodium: 0.03,
                    chloride: 0.03,
                    calcium: 0.001,
                    cyanurate: cyanurate(cyanuric_acid),
                    free_chlorine: mol_kg_from_mg_l(2.0, molar_mass::CL2),
                    ..Totals::default()
                };
                let then = at.solve_at_ph(&totals, Ph(7.2)).unwrap().totals;
                let later = Totals {
                    carbon: 0.67 * then.carbon,
                    alkalinity: then.alkalinity - 1e-4,
                    free_chlorine: mol_kg_from_mg_l(5.0, molar_mass::CL2),
                    cyanurate: then.cyanurate + cyanurate(5.0),
                    ..then
                };
                let full =
                    titrated_alkalinity(&at, &later, ALKALINITY_END_POINT, Dechlorination::Thiosulfate);
                let quick = EndPoint::of(&at, &then, 0.0).unwrap().titrated(&later);
                let off = mg_l_caco3_from_eq_kg(quick - full.unwrap());
                assert!(off.abs() < 0.1, "{alkalinity} {cyanuric_acid}: {off}");
            }
        }
    }
}
