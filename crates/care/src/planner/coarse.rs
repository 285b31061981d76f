//! A measure that is too coarse for the tub: its smallest amount overshoots the band, a few grams on a scale would do.
//!
//! In: a quantity that a plan leaves outside its band. Out: the product that could mend it, and the grams that would.
//! Left out: amounts for products that the plan uses, and for those that no scale would help (no stock, no safe path).

use super::path::ACID_FLOOR;
use super::problem::{Move, Role};
use super::report::{Report, value};
use crate::case::Product;
use crate::plan::Snapshot;
use crate::quantity::Quantity as Q;
use water::{Ph, Totals};

/// What would do, if it were weighed.
pub(crate) struct Coarse<'a> {
    pub(crate) product: &'a Product,
    /// The smallest amount of its measure.
    pub(crate) smallest_g: f64,
    /// Where that would take the quantity.
    pub(crate) would_be: f64,
    /// The amount that brings it to the middle of its aim.
    pub(crate) needed_g: f64,
}

impl Report<'_> {
    /// The product whose measure alone keeps it from mending a quantity; `None` if anything else does, too.
    pub(crate) fn too_coarse(&self, q: Q, end: &Snapshot) -> Option<Coarse<'_>> {
        let (_, band) = self.bands.iter().find(|(b, _)| *b == q)?;
        let (now, below) = (value(end, q), value(end, q) < band.low);
        if !self.needs.act.contains(&q) || (band.low..=band.high).contains(&now) {
            return None;
        }
        let role = if q == Q::Ph { Role::AcidBase } else { raised_by(q).filter(|_| below)? };
        if self.problem.used(self.choice).any(|(r, ..)| r == role) {
            return None;
        }
        let (_, moves) = self.problem.roles.iter().find(|(r, _)| *r == role)?;
        let aim = 0.5 * (band.aim_low + band.aim_high);
        let mut coarse = Vec::new();
        for m in moves {
            let product = self.case.shelf.get(m.product)?;
            let smallest_g = product.measure.smallest_g();
            let (would_be, needed_g) = match q {
                Q::Ph if (m.per_unit.alkalinity > 0.0) == below => {
                    self.by_acid_or_base(m, smallest_g, aim, end)?
                }
                Q::Ph => continue,
                _ => {
                    let per_g = m.effect.get(self.problem.goal(q)?)? / m.unit_g;
                    (now + per_g * smallest_g, (aim - now) / per_g)
                }
            };
            let overshoots = match (q, below) {
                (Q::Ph, false) => would_be < band.low.max(ACID_FLOOR),
                _ => would_be > band.high,
            };
            // One that is fine enough was left for another reason.
            if !overshoots {
                return None;
            }
            if needed_g > 0.0 && product.stock_g.is_none_or(|left| left >= needed_g) {
                coarse.push(Coarse { product, smallest_g, would_be, needed_g });
            }
        }
        coarse.into_iter().next()
    }

    /// pH after so many grams, and the grams that bring it to an aim.
    fn by_acid_or_base(&self, m: &Move, grams: f64, aim_ph: f64, end: &Snapshot) -> Option<(f64, f64)> {
        let per_g = Totals::default().plus(&m.per_unit, 1.0 / m.unit_g);
        let after = self.problem.at.solve(&end.totals.plus(&per_g, grams)).ok()?;
        let at_aim = self.problem.at.with_alkalinity_of(&end.totals, Ph(aim_ph)).ok()?;
        let needed = at_aim.totals.alkalinity - end.totals.alkalinity;
        Some((after.ph().0, needed / per_g.alkalinity))
    }
}

/// What a product that raises a quantity is for.
pub(crate) fn raised_by(q: Q) -> Option<Role> {
    Some(match q {
        Q::FreeChlorine | Q::TotalBromine => Role::Disinfect,
        Q::TotalAlkalinity => Role::Alkalinity,
        Q::CalciumHardness => Role::Calcium,
        Q::CyanuricAcid => Role::Stabilise,
        Q::Salt => Role::Salt,
        Q::Borate => Role::Borate,
        _ => return None,
    })
}
