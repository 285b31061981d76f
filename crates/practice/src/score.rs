//! What came of it: time in band, chemicals, visits, unsafe moments. Looks at the true water, and so only at the end.

use care::band::Band;
use care::case::{Bands, Case};
use care::quantity::Quantity as Q;

/// The quantities that are scored, where the tub has a band for them.
pub const SCORED: [Q; 8] = [
    Q::Ph,
    Q::FreeChlorine,
    Q::CombinedChlorine,
    Q::TotalAlkalinity,
    Q::CalciumHardness,
    Q::CyanuricAcid,
    Q::Salt,
    Q::SaturationIndex,
];

/// The true water at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Hours since the fill.
    pub at_h: f64,
    /// In the order of [`SCORED`].
    pub values: [Option<f64>; SCORED.len()],
}

/// Something that should not have been.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unsafe {
    /// People got in while the true water was outside a bathing limit.
    Bath {
        /// Hours since the fill.
        at_h: f64,
        /// Which.
        quantity: Q,
        /// What it was.
        value: f64,
        /// Limit.
        low: f64,
        /// Limit.
        high: f64,
        /// How many people.
        people: f64,
    },
    /// A product was added with people in the water.
    DosedAmongPeople {
        /// Hours since the fill.
        at_h: f64,
    },
    /// A dose took the true pH beyond what a plan would ever allow.
    ExtremePh {
        /// Hours since the fill.
        at_h: f64,
        /// pH after the dose.
        ph: f64,
    },
}

/// A quantity over the whole time.
#[derive(Debug, Clone, PartialEq)]
pub struct InBand {
    /// Which.
    pub quantity: Q,
    /// Its band.
    pub band: Band,
    /// Share of the time in which it was inside.
    pub inside: f64,
    /// Share below.
    pub below: f64,
    /// Share above.
    pub above: f64,
    /// What it was at the end.
    pub last: f64,
}

/// A product over the whole time.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    /// Its name.
    pub product: String,
    /// Grams as measured (what was truly in the capful differs).
    pub grams: f64,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Each quantity that has a band.
    pub in_band: Vec<InBand>,
    /// Share of the time in which pH and free chlorine were both inside.
    pub both_inside: f64,
    /// Share of the time in which everything that bathers meet was inside: those two, combined chlorine, and the cyanuric
    /// acid that holds chlorine back.
    pub fit_inside: f64,
    /// Products, in the order of the shelf; those that were not used too.
    pub used: Vec<Used>,
    /// Separate moments at which somebody was at the tub.
    pub visits: usize,
    /// Readings made.
    pub readings: usize,
    /// Litres of fresh water, the first fill aside.
    pub fresh_l: f64,
    /// Baths that there were.
    pub baths: usize,
    /// What should not have been.
    pub unsafe_moments: Vec<Unsafe>,
}

impl Score {
    /// Mean share of time in band, over the quantities that have one.
    pub fn mean_inside(&self) -> f64 {
        self.in_band.iter().map(|b| b.inside).sum::<f64>() / self.in_band.len().max(1) as f64
    }

    /// Grams of everything but salt (which is a fill's, not a week's).
    pub fn grams_without_salt(&self) -> f64 {
        self.used.iter().filter(|u| u.product != "salt").map(|u| u.grams).sum()
    }

    /// Baths in water outside a bathing limit, each counted once.
    pub fn unsafe_baths(&self) -> usize {
        let mut at: Vec<f64> = self
            .unsafe_moments
            .iter()
            .filter_map(|m| if let Unsafe::Bath { at_h, .. } = m { Some(*at_h) } else { None })
            .collect();
        at.dedup();
        at.len()
    }
}

/// Times in band over the samples.
pub(crate) fn in_band(samples: &[Sample], bands: &Bands) -> Vec<InBand> {
    let mut all = Vec::new();
    for (i, quantity) in SCORED.into_iter().enumerate() {
        let Some((_, band)) = bands.iter().find(|(q, _)| *q == quantity) else { continue };
        let values: Vec<f64> = samples.iter().filter_map(|s| s.values[i]).collect();
        let Some(last) = values.last().copied() else { continue };
        let share = |n: usize| n as f64 / values.len() as f64;
        all.push(InBand {
            quantity,
            band: band.clone(),
            inside: share(values.iter().filter(|v| band.contains(**v)).count()),
            below: share(values.iter().filter(|v| **v < band.low).count()),
            above: share(values.iter().filter(|v| **v > band.high).count()),
            last,
        });
    }
    all
}

/// What [`Score::both_inside`] is about.
pub(crate) const BOTH: &[Q] = &[Q::Ph, Q::FreeChlorine];
/// What [`Score::fit_inside`] is about.
pub(crate) const FIT: &[Q] = &[Q::Ph, Q::FreeChlorine, Q::CombinedChlorine, Q::CyanuricAcid];

/// Share of the samples in which all of these are inside at once.
pub(crate) fn together(which: &[Q], samples: &[Sample], bands: &Bands) -> f64 {
    let inside = |q: &Q, s: &Sample| {
        let place = SCORED.iter().position(|x| x == q);
        let value = place.and_then(|i| s.values[i]);
        let band = bands.iter().find(|(b, _)| b == q);
        value.zip(band).is_some_and(|(v, (_, b))| b.contains(v))
    };
    let all = samples.iter().filter(|s| which.iter().all(|q| inside(q, s))).count();
    all as f64 / samples.len().max(1) as f64
}

/// Grams by product.
pub(crate) fn used(case: &Case, grams: &[f64]) -> Vec<Used> {
    case.shelf.iter().zip(grams).map(|(p, g)| Used { product: p.name.clone(), grams: *g }).collect()
}
