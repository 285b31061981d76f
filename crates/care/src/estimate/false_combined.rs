//! Combined and total chlorine read while monopersulfate was in the water: it sets free as much iodine as chlorine does, so
//! that tests of total chlorine take it for combined chlorine (common practice; so has crate `tub` it).
//!
//! What of a reading may be monopersulfate leaves a span, and the reading counts as its middle with half of it as error: then
//! nothing is decided on it but what even its lower end asks for.
//! Left out: bromine tubs, where monopersulfate makes bromine at once; a kit's own reagent against it, which no entry tells.

use super::timeline::Timeline;
use crate::case::When;
use crate::finding::{Finding, Weight};
use crate::method::{Interpreted, Outcome};
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};
use water::units::{mg_l_from_mol_kg, molar_mass};

/// Share of monopersulfate that goes in a day, first order (judgement: hours to a day, as crate `tub` has it at 38 °C).
const USED_PER_DAY: f64 = 1.5;
/// Hours after which the rest of it, a twentieth, no longer counts (judgement).
const GONE_HOURS: f64 = 48.0;
/// A falsehood smaller than this is not told, mg/L: half a drop of the finest kit.
const LEAST_MG_L: f64 = 0.1;

/// A reading at its moment.
pub(super) type Read = (When, Interpreted);

/// Widens what was read of combined or total chlorine while monopersulfate was in the water, with a finding. Returns the
/// hours from now until a reading is free of it, if one had to be widened and they have not passed.
pub(super) fn widen(all: &mut [Read], time: &Timeline<'_>) -> Option<f64> {
    let free: Vec<(When, f64)> = all
        .iter()
        .filter(|(_, i)| i.quantity == Q::FreeChlorine)
        .filter_map(|(at, i)| Some((*at, i.outcome.figure()?)))
        .collect();
    let last = |q: Q| all.iter().filter(|(_, i)| i.quantity == q).map(|(at, _)| *at).max();
    let (last_combined, last_total) = (last(Q::CombinedChlorine), last(Q::TotalChlorine));
    let apart = |a: When, b: When| a.hours_since(b).abs();
    let mut blurred = false;
    for (at, read) in all {
        let least = match read.quantity {
            Q::CombinedChlorine => 0.0,
            // Without a figure of free chlorine nothing is made of the total but its most, which stays true.
            Q::TotalChlorine => {
                match free.iter().min_by(|a, b| apart(a.0, *at).total_cmp(&apart(b.0, *at))) {
                    Some((_, free)) => *free,
                    None => continue,
                }
            }
            _ => continue,
        };
        let Some((hours, left_mg_l)) = left(*at, time) else { continue };
        let Some((outcome, counts)) = widened(read.outcome, least, left_mg_l) else { continue };
        read.outcome = outcome;
        blurred = true;
        // What has been read again since needs no advice.
        let last = if read.quantity == Q::TotalChlorine { last_total } else { last_combined };
        if last == Some(*at) {
            read.findings.push(finding(read.quantity, hours, counts));
        }
    }
    left(time.now, time).filter(|_| blurred).map(|(hours, _)| GONE_HOURS - hours)
}

/// Hours since the last monopersulfate before a moment, and what may be left of all, mg/L as chlorine.
fn left(at: When, time: &Timeline<'_>) -> Option<(f64, f64)> {
    let dosed = time.monopersulfate_before(at);
    let recent = || dosed.iter().filter(|(hours, _)| *hours < GONE_HOURS);
    let mol_kg: f64 = recent().map(|(hours, mol)| mol * libm::exp(-USED_PER_DAY * hours / 24.0)).sum();
    let last = recent().map(|(hours, _)| *hours).min_by(f64::total_cmp)?;
    Some((last, mg_l_from_mol_kg(mol_kg, molar_mass::CL2)))
}

/// What a reading says if so much of it may be monopersulfate, and what it then counts as; `None` if that changes nothing.
fn widened(outcome: Outcome, least: f64, left_mg_l: f64) -> Option<(Outcome, Text)> {
    match outcome {
        Outcome::Value { value, standard_error } => {
            let low = (value - left_mg_l).max(least);
            if value - low < LEAST_MG_L {
                return None;
            }
            let half = 0.5 * (value - low);
            let outcome = Outcome::Value { value: low + half, standard_error: standard_error.hypot(half) };
            Some((
                outcome,
                say!(
                    "care-counts-between",
                    "anything from {low} to {high} mg/L",
                    low = figures!("{low:.1}"),
                    high = figures!("{value:.1}")
                ),
            ))
        }
        Outcome::Above { limit } if left_mg_l >= LEAST_MG_L => {
            let low = limit - left_mg_l;
            if low <= least {
                return Some((Outcome::Void, say!("care-counts-nothing", "no reading at all")));
            }
            Some((
                Outcome::Above { limit: low },
                say!("care-counts-above", "more than {low} mg/L", low = figures!("{low:.1}")),
            ))
        }
        Outcome::Above { .. } | Outcome::Below { .. } | Outcome::Void => None,
    }
}

fn finding(q: Q, hours: f64, counts: Text) -> Finding {
    Finding {
        weight: Weight::Doubt,
        quantities: vec![q],
        what: say!(
            "care-false-combined",
            "Monopersulfate was added {hours} h before {quantity} was read: what is left of it reads as combined chlorine. The reading counts as {counts}.",
            hours = figures!("{hours:.0}"),
            quantity = q.said(),
            counts = counts
        ),
        advice: say!(
            "care-false-combined-advice",
            "Read {quantity} again when {hours} h have passed since the monopersulfate, or with the kit's own reagent against it, by the kit's leaflet.",
            quantity = q.said(),
            hours = figures!("{GONE_HOURS:.0}")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rate is crate `tub`'s; after two days a twentieth is left.
    #[test]
    fn monopersulfate_goes_as_the_whole_physics_has_it() {
        assert_eq!(USED_PER_DAY, tub::demand::Demand::default().monopersulfate_per_day);
        assert!(libm::exp(-USED_PER_DAY * GONE_HOURS / 24.0) < 0.05);
    }

    /// A span's middle and half: a band's edge below its lower end is passed by more than the error, one within it is not.
    #[test]
    fn a_reading_counts_as_the_span_of_what_it_may_be() {
        let read = |value| Outcome::Value { value, standard_error: 0.0 };
        let of = |value, least, left| widened(read(value), least, left).map(|(outcome, _)| outcome);
        assert_eq!(of(3.0, 0.0, 2.0), Some(Outcome::Value { value: 2.0, standard_error: 1.0 }));
        assert_eq!(of(3.0, 0.0, 8.0), Some(Outcome::Value { value: 1.5, standard_error: 1.5 }));
        assert_eq!(of(4.0, 3.0, 8.0), Some(Outcome::Value { value: 3.5, standard_error: 0.5 }));
        assert_eq!(of(3.0, 0.0, 0.05), None);
        let above = |limit, left| widened(Outcome::Above { limit }, 0.0, left).map(|(outcome, _)| outcome);
        assert_eq!(above(5.0, 2.0), Some(Outcome::Above { limit: 3.0 }));
        assert_eq!(above(5.0, 6.0), Some(Outcome::Void));
        assert_eq!(widened(Outcome::Below { limit: 0.2 }, 0.0, 6.0), None);
    }
}
