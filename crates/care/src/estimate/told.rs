//! Which readings a figure stands on: each with what its method made of it, what time did to it, and whether it counts.

use super::timeline::Timeline;
use super::{EstimateError, readings, source};
use crate::case::{Case, Entry, When};
use crate::fuse::{self, Weighted};
use crate::method::Outcome;
use crate::quantity::Quantity as Q;

/// Whether a reading counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// It stands in the figure, or bounds it.
    Used,
    /// Its method could not tell anything.
    Void,
    /// Other evidence, of more weight, contradicts it.
    Contradicted,
    /// It was read too long ago to describe this water: before later readings of its quantity, or before doses that
    /// come to more than it was.
    Superseded,
}

/// A reading with what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Told<'a> {
    /// When it was made.
    pub at: When,
    /// As it was entered.
    pub entry: &'a Entry,
    /// Through its method, carried to now.
    pub weighted: Weighted,
    /// Whether it counts.
    pub stands: Stands,
}

/// The readings of a quantity since the last fill, oldest first.
///
/// # Errors
/// [`EstimateError`] if a reading cannot have come from its method.
pub fn readings_of(case: &Case, quantity: Q) -> Result<Vec<Told<'_>>, EstimateError> {
    let source = match &case.source_water {
        Some(s) => source::source_totals(s, case.units, &mut Vec::new())?,
        None => None,
    };
    let time = Timeline::new(case, source);
    let context = readings::rough_context(case, &time);
    let (mut all, _) = readings::interpret_each(case, &time, &context)?;
    all.retain(|each| each.weighted.interpreted.quantity == quantity);
    let current: Vec<bool> = readings::current(case, &all, &time, &context);
    let in_it: Vec<&Weighted> =
        all.iter().zip(&current).filter(|(_, current)| **current).map(|(each, _)| &each.weighted).collect();
    let mut kept = fuse::kept(&in_it).into_iter();
    let stands: Vec<Stands> = all
        .iter()
        .zip(&current)
        .map(|(each, current)| {
            let kept = if *current { kept.next().unwrap_or(false) } else { false };
            match (each.weighted.interpreted.outcome, current, kept) {
                (Outcome::Void, ..) => Stands::Void,
                (_, false, _) => Stands::Superseded,
                (_, true, true) => Stands::Used,
                (_, true, false) => Stands::Contradicted,
            }
        })
        .collect();
    Ok(all
        .into_iter()
        .zip(stands)
        .map(|(each, stands)| Told { at: each.at, entry: each.entry, weighted: each.weighted, stands })
        .collect())
}
