//! Where the water goes: a leak takes salt along, evaporation leaves it where it was (conservation of mass).

use super::{CALLED, percent, read, share, three};
use crate::amount::{LITRES_PER_GALLON, Units};
use crate::case::{Case, Happening};
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Name};
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};

/// Water lost with its salt from which a leak is spoken of, L/day (judgement: more than drips and an ordinary splash).
const LEAK_L: f64 = 3.0;
/// The same that would be seen without any reading (judgement: a bucket and more a day).
const UNSEEN_L: f64 = 15.0;
/// Days between the first and the last reading of salt from which a course is spoken of (judgement).
const APART_D: f64 = 3.0;
/// Water topped up from which it is asked where it went, L/day (about what one tub in eight evaporates by the prior).
const MUCH_L: f64 = 6.0;
/// Share of what was topped up that may have left with its salt, if evaporation is to be named.
const MOSTLY: f64 = 0.4;

pub(super) fn leak(case: &Case, learned: &Learned) -> Option<Finding> {
    let by_salt = read(learned, Q::Salt, 0.0);
    let by_cyanurate = read(learned, Q::CyanuricAcid, 0.0);
    let told = |(count, hours): (usize, f64)| count >= 2 && hours >= 24.0 * APART_D;
    let lost = learned.draws_of(&Name::Leak);
    if !told(by_salt) && !told(by_cyanurate) {
        return (share(&lost, |l| l > UNSEEN_L) >= CALLED).then(|| unlikely(case.units, &lost));
    }
    let said = |litres: f64| said(case.units, litres);
    let [low, middle, high] = three(&lost).map(said);
    let topped_up = topped_up_l_per_day(case, learned);
    let quantities = vec![if told(by_salt) { Q::Salt } else { Q::CyanuricAcid }];
    let chance = share(&lost, |l| l > LEAK_L);
    if chance >= CALLED {
        return Some(Finding {
            weight: Weight::Doubt,
            quantities,
            what: say!(
                "care-check-leak",
                "About {litres} a day leave together with their salt ({low} to {high}), beyond what bathers carry out: a leak, or splash that nobody wrote down. Evaporation would leave the salt where it was. Chance that it is more than {least}: {chance} %.",
                litres = middle,
                low = low,
                high = high,
                least = said(LEAK_L),
                chance = percent(chance)
            ),
            advice: say!(
                "care-check-leak-advice",
                "Mark the water line, and stand a pail of the same water on the step: a day later the pail has lost what evaporates, the tub more. Then look at seals, unions and the drain; test salt and cyanuric acid before either is dosed."
            ),
        });
    }
    let held = share(&lost, |l| l < MOSTLY * topped_up);
    (topped_up >= MUCH_L && held >= CALLED).then(|| Finding {
        weight: Weight::Note,
        quantities,
        what: say!(
            "care-check-evaporation",
            "About {litres} a day were topped up while the salt stayed: most of it evaporated (chance {chance} %), for a leak would have taken salt along. At most {high} a day left with their salt.",
            litres = said(topped_up),
            chance = percent(held),
            high = high
        ),
        advice: say!(
            "care-check-evaporation-advice",
            "Look at the cover: how it closes, and how long it is off. What is topped up brings its hardness and leaves it there: test calcium hardness now and then."
        ),
    })
}

/// So much would have to leave that somebody would have seen it: something else is not written down.
fn unlikely(units: Units, lost: &[f64]) -> Finding {
    Finding {
        weight: Weight::Doubt,
        quantities: vec![Q::CyanuricAcid, Q::Salt],
        what: say!(
            "care-check-unlikely-leak",
            "These entries and readings agree only if about {litres} a day leave and are made up, which nobody would miss. More likely something else was not written down, or a kit is wrong; what is said here of cyanuric acid and salt, which nobody read twice, is not to be relied on.",
            litres = said(units, three(lost)[1])
        ),
        advice: say!(
            "care-check-unlikely-leak-advice",
            "Test cyanuric acid and salt before any chlorine that carries cyanuric acid, or any salt, is dosed; ask what else went in."
        ),
    }
}

/// A few litres.
fn said(units: Units, litres: f64) -> Text {
    match units {
        Units::Metric => figures!("{litres:.1} L"),
        Units::Us => figures!("{:.1} US gal", litres / LITRES_PER_GALLON),
    }
}

/// Recorded top-ups since the start, L/day; 0 if there are fewer than two, for one says nothing of a rate.
fn topped_up_l_per_day(case: &Case, learned: &Learned) -> f64 {
    let litres: Vec<f64> = case
        .entries
        .iter()
        .filter(|e| e.at.is_none_or(|at| at > learned.started()))
        .filter_map(|e| if let Happening::TopUp { volume_l } = e.what { Some(volume_l) } else { None })
        .collect();
    let days = learned.until().hours_since(learned.started()) / 24.0;
    if litres.len() < 2 { 0.0 } else { litres.iter().sum::<f64>() / days.max(1.0) }
}
