//! Chlorine that is there but acts less, because the pH rose: more chlorine is not what helps.

use super::{CALLED, percent, read, share, three};
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Was};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::units::{mg_l_from_mol_kg, molar_mass};

/// Days before now among which the water is looked for whose chlorine acted best.
const DAYS: std::ops::RangeInclusive<u32> = 2..=14;
/// The active share of the free chlorine has fallen to less than this part of what it was (judgement).
const FELL: f64 = 0.6;
/// pH from which it is spoken of: below, the active share is ample whatever it was (judgement: the usual upper edge).
const HIGH_PH: f64 = 7.6;
/// Free chlorine that must be there for certain, mg/L: with less it is chlorine that is missing, whatever the pH (the lowest of
/// the authorities' limits: WHO 2006, vol. 2).
const THERE_MG_L: f64 = 1.0;
/// Draws that are followed back.
const DRAWS: usize = 40;

/// Free chlorine, mg/L as Cl2, and the active part of it.
fn chlorine(was: &Was) -> (f64, f64) {
    let mg_l = |mol: f64| mg_l_from_mol_kg(mol, molar_mass::CL2);
    (mg_l(was.solved.totals.free_chlorine), mg_l(was.solved.hypochlorous_mol_kg()))
}

/// pH, and which part of the free chlorine acts, percent; no part of what is not there.
fn ph_and_share(was: &Was) -> (f64, f64) {
    let (free, active) = chlorine(was);
    (was.solved.ph().0, if free < THERE_MG_L { 0.0 } else { 100.0 * active / free })
}

pub(super) fn active(learned: &Learned) -> Option<Finding> {
    let now_h = learned.now_h();
    let days: Vec<u32> = DAYS.rev().filter(|d| 24.0 * f64::from(*d) <= now_h).collect();
    let from_h = now_h - 24.0 * f64::from(*days.first()?);
    // What a fill does unread is the outlook's business: this is about readings.
    let (ph_read, _) = read(learned, Q::Ph, from_h);
    let (chlorine_read, _) = read(learned, Q::FreeChlorine, from_h);
    if ph_read < 2 || chlorine_read == 0 {
        return None;
    }
    if learned.now(Q::FreeChlorine)?[0] < THERE_MG_L {
        return None;
    }
    let mut hours: Vec<f64> = days.iter().map(|d| now_h - 24.0 * f64::from(*d)).collect();
    hours.push(now_h);
    let draws: Vec<Vec<(f64, f64)>> =
        learned.back(&hours, DRAWS).iter().map(|d| d.iter().map(ph_and_share).collect()).collect();
    let share_on = |day: usize| three(&draws.iter().map(|d| d[day].1).collect::<Vec<_>>())[1];
    let best = (0..days.len()).max_by(|a, b| share_on(*a).total_cmp(&share_on(*b)))?;
    let pairs = draws.iter().map(|d| (d[best], d[days.len()]));
    let all: Vec<(f64, f64, f64, f64)> = pairs.map(|(then, now)| (then.0, now.0, then.1, now.1)).collect();
    let ratio: Vec<f64> = all
        .iter()
        .map(|(_, ph, then, now)| if *ph > HIGH_PH && *now > 0.0 && *then > 0.0 { now / then } else { 1.0 })
        .collect();
    let chance = share(&ratio, |r| r < FELL);
    if chance < CALLED {
        return None;
    }
    let middle = |f: fn(&(f64, f64, f64, f64)) -> f64| three(&all.iter().map(f).collect::<Vec<_>>())[1];
    Some(Finding {
        weight: Weight::Doubt,
        quantities: vec![Q::Ph, Q::FreeChlorine],
        what: say!(
            "care-check-active",
            "Of the free chlorine only {now} % acts now; {days} days ago it was {then} %. That is the pH, which went from {from} to {to}, and not a greater demand; chance {chance} %.",
            now = Text::figures(format!("{:.0}", middle(|a| a.3))),
            days = Text::figures(days.get(best)?.to_string()),
            then = Text::figures(format!("{:.0}", middle(|a| a.2))),
            from = Text::figures(format!("{:.1}", middle(|a| a.0))),
            to = Text::figures(format!("{:.1}", middle(|a| a.1))),
            chance = percent(chance)
        ),
        advice: say!(
            "care-check-active-advice",
            "Lower the pH first, by the plan: that gives the chlorine its strength back. Free chlorine itself is kept in its band as always."
        ),
    })
}
