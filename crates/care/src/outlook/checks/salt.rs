//! Salt known from doses and chloride tests, against meters that tell it by conductivity.
//!
//! A meter counts every ion as sodium chloride. Other salts can only make it read high; a meter that reads low has itself to
//! blame. What the known ions conduct is worked out (`water::conductivity`) from the draws' own waters.

use super::{CALLED, percent, share, three};
use crate::case::{Case, Happening};
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Was};
use crate::method::{self, Context, Kind, Outcome};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::conductivity::specific_conductance_25c_us_cm;
use water::units::{mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Equilibria, Totals};

/// Share of the salt by which a kit has to be off before it is spoken of (judgement: what a strip or a meter is good to).
const OFF: f64 = 0.1;
/// What the conductivity of a known water is worked out to (`water::conductivity`: 2 %; ions nobody analysed: judgement).
const EXPECTED: f64 = 0.04;
/// Draws that are followed back, and readings of a conductivity meter that are looked at, the latest.
const DRAWS: usize = 40;
const READINGS: usize = 5;

/// Conductivity at 25 °C, µS/cm.
fn conductance(at_25: &Equilibria, totals: &Totals) -> Option<f64> {
    at_25.solve(totals).ok().map(|s| specific_conductance_25c_us_cm(&s))
}

/// Salt that a faultless meter shows beyond what there is, mg/L: what the other ions conduct, as sodium chloride.
fn other_ions(at_25: &Equilibria, was: &Was) -> Option<f64> {
    let salt = was.solved.totals.chloride.max(mol_kg_from_mg_l(50.0, molar_mass::NACL));
    let alone = Totals { sodium: salt, chloride: salt, ..Totals::default() };
    let ratio = conductance(at_25, &was.solved.totals)? / conductance(at_25, &alone)?;
    Some(water::units::mg_l_from_mol_kg(salt * (ratio - 1.0), molar_mass::NACL))
}

/// Kits that read salt, meters among them, and disagree with the rest.
pub(super) fn kits(case: &Case, learned: &Learned) -> Vec<Finding> {
    let Some([_, salt, _]) = learned.now(Q::Salt) else { return Vec::new() };
    learned.kits_of(Q::Salt).filter_map(|kit| one_kit(case, learned, kit, salt)).collect()
}

fn one_kit(case: &Case, learned: &Learned, kit: usize, salt: f64) -> Option<Finding> {
    let offsets = learned.offsets(kit);
    let (high, low) = (share(&offsets, |o| o > OFF * salt), share(&offsets, |o| o < -OFF * salt));
    let chance = high.max(low);
    if chance < CALLED {
        return None;
    }
    let (id, name, _) = learned.kit(kit)?;
    let kind = &method::find(&case.methods, id)?.kind;
    let by_conductivity = matches!(kind, Kind::Conductivity { .. } | Kind::Display);
    let ends = three(&offsets);
    let size = |o: f64| Text::figures(format!("{:.0}", o.abs()));
    let (least, most) = if high > low { (ends[0], ends[2]) } else { (ends[2], ends[0]) };
    let by = (method::said(id, name).capital(), size(ends[1]), size(least), size(most), percent(chance));
    let (name, amount, from, to, chance) = by;
    let what = if high > low {
        say!(
            "care-check-salt-high",
            "{name} shows about {amount} mg/L more salt than there is ({from} to {to}), by the doses and the other tests; chance {chance} %.",
            name = name,
            amount = amount,
            from = from,
            to = to,
            chance = chance
        )
    } else {
        say!(
            "care-check-salt-low",
            "{name} shows about {amount} mg/L less salt than there is ({from} to {to}), by the doses and the other tests; chance {chance} %.",
            name = name,
            amount = amount,
            from = from,
            to = to,
            chance = chance
        )
    };
    let explained = if by_conductivity && high > low {
        let at_25 = Equilibria::at(Celsius(25.0)).ok()?;
        let now = learned.back(&[learned.now_h()], DRAWS);
        let others: Vec<f64> = now.iter().flatten().filter_map(|w| other_ions(&at_25, w)).collect();
        Some(three(&others)[1])
    } else {
        None
    };
    let advice = match explained {
        Some(others) if ends[1] - others < OFF * salt => say!(
            "care-check-salt-other-ions",
            "Its conductivity may well be right: hardness, alkalinity and what acids and oxidisers leave conduct too, here like {others} mg/L of salt. Go by a chloride test, and set the meter to it.",
            others = size(others)
        ),
        Some(others) => say!(
            "care-check-salt-meter-off",
            "Other salts conduct too, but here only like {others} mg/L: the meter itself is likely off. Check it in a standard solution at its temperature; until then go by a chloride test.",
            others = size(others)
        ),
        None if by_conductivity => say!(
            "care-check-salt-meter-low",
            "Other salts can only make it read high, so the meter is likely at fault: dirty, cold or not calibrated. Clean it, check it in a standard solution, and add no salt on its word."
        ),
        None => say!(
            "care-check-salt-kit",
            "Repeat it with a fresh strip or reagent of a known lot; until then go by the others."
        ),
    };
    Some(Finding { weight: Weight::Doubt, quantities: vec![Q::Salt, Q::Conductivity], what, advice })
}

/// Readings of a conductivity meter against the waters that the draws had at those hours.
pub(super) fn conductivity(case: &Case, learned: &Learned) -> Option<Finding> {
    let context = Context { units: case.units, ..Context::at(case.tub.temperature_c.unwrap_or(38.0)) };
    let mut readings: Vec<(f64, f64, f64)> = Vec::new();
    for entry in &case.entries {
        let Happening::Reading(reading) = &entry.what else { continue };
        let at_h = entry.at.map_or(learned.now_h(), |at| at.hours_since(learned.started()));
        if reading.quantity != Q::Conductivity || at_h < 0.0 {
            continue;
        }
        let read = method::find(&case.methods, &reading.method)
            .and_then(|m| method::interpret(m, reading, &context).ok());
        if let Some(Outcome::Value { value, standard_error }) = read.map(|r| r.outcome)
            && value > 0.0
        {
            readings.push((at_h, value, standard_error / value));
        }
    }
    readings.sort_by(|a, b| b.0.total_cmp(&a.0));
    readings.truncate(READINGS);
    readings.reverse();
    let (_, last_read, _) = *readings.last()?;
    let at_25 = Equilibria::at(Celsius(25.0)).ok()?;
    let hours: Vec<f64> = readings.iter().map(|(at_h, ..)| *at_h).collect();
    let draws = learned.back(&hours, DRAWS);
    let mut ratios = Vec::with_capacity(draws.len());
    let mut expected_last = Vec::with_capacity(draws.len());
    for draw in &draws {
        let mut ln = 0.0;
        let mut last = None;
        for (was, (_, read, _)) in draw.iter().zip(&readings) {
            let expected = conductance(&at_25, &was.solved.totals)? / 1000.0;
            ln += libm::log(read / expected.max(1e-6));
            last = Some(expected);
        }
        expected_last.extend(last);
        ratios.push(ln / readings.len() as f64);
    }
    // A meter's error is the same each time: more readings do not lessen it.
    let own = readings.iter().map(|(.., e)| *e).fold(0.0, f64::max);
    let error = own.hypot(EXPECTED);
    let beyond = |sign: f64| {
        let each =
            ratios.iter().map(|r| 0.5 * libm::erfc((OFF - sign * r) / error / std::f64::consts::SQRT_2));
        each.sum::<f64>() / ratios.len().max(1) as f64
    };
    let (high, low) = (beyond(1.0), beyond(-1.0));
    let chance = high.max(low);
    if chance < CALLED {
        return None;
    }
    let by_chloride = learned.kits_of(Q::Salt).any(|kit| {
        let kind = learned.kit(kit).and_then(|(id, ..)| method::find(&case.methods, id)).map(|m| &m.kind);
        kind.is_some_and(|k| !matches!(k, Kind::Conductivity { .. } | Kind::Display))
    });
    let what = say!(
        "care-check-conductivity",
        "The meter reads {read} mS/cm; the salt known from doses and tests, with the hardness and alkalinity, would give {expected}. Chance that they are more than a tenth apart: {chance} %.",
        read = Text::figures(format!("{last_read:.2}")),
        expected = Text::figures(format!("{:.2}", three(&expected_last)[1])),
        chance = percent(chance)
    );
    let advice = match (high > low, by_chloride) {
        (true, true) => say!(
            "care-check-conductivity-high",
            "Chloride was tested, so the salt is likely right: either the meter is off, or salts that no entry has are dissolved (sulfate of acids and oxidisers, nitrate). Check the meter in a standard solution; if it is right, part of the water is due to be replaced."
        ),
        (true, false) => say!(
            "care-check-conductivity-high-untested",
            "The salt is known from doses only: more may have gone in than was written down, other salts conduct too, or the meter is off. A chloride test tells which."
        ),
        (false, true) => say!(
            "care-check-conductivity-low",
            "Other salts can only make it read high, and chloride was tested: the meter is likely at fault (dirty, or not calibrated). Check it in a standard solution, and add no salt on its word."
        ),
        (false, false) => say!(
            "care-check-conductivity-low-untested",
            "Other salts can only make it read high: either the meter is off, or less salt went in, or more water went out, than was written down. A chloride test tells which."
        ),
    };
    Some(Finding { weight: Weight::Doubt, quantities: vec![Q::Conductivity, Q::Salt], what, advice })
}
