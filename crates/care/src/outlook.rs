//! Outlook: what the water will do if nothing is dosed, when to look again, what a week needs.
//!
//! In: a [`Case`], days, a seed. Out: [`Outlook`]: for each quantity a fan of quantiles and the chance of having left its
//! band, from the draws of [`crate::learn`] followed on; the next look that costs least; what keeping the tub takes.
//! Assumes: use, weather and cell go on as they were; it says so. Left out: doses to come (a plan's part).

mod checks;
mod look;
mod needs;
mod past;

use crate::band::Band;
use crate::case::{Bands, Case, When};
use crate::finding::Finding;
use crate::learn::{self, LearnError, Learned, Trait, quantile};
use crate::planner::{PlanError, bands_of};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

pub use look::NextLook;
pub use needs::Need;
pub(crate) use needs::doses;
pub use past::{Deed, Past, PastReading};

/// Shares of the draws that a fan shows.
pub const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// Days that can be asked for.
pub const DAYS: (u32, u32) = (1, 60);
/// Hours between two figures of a fan.
pub const STEP_H: f64 = 6.0;

/// Why there is no outlook.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OutlookError {
    /// Nothing can be learnt.
    #[error(transparent)]
    Learn(#[from] LearnError),
    /// The bands are wrong.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// Days out of range.
    #[error("days is {0}: {low} to {high} is accepted", low = DAYS.0, high = DAYS.1)]
    Days(u32),
}

/// One quantity ahead.
#[derive(Debug, Clone)]
pub struct Fan {
    /// Which.
    pub quantity: Q,
    /// At each of the outlook's hours, the quantiles of [`SHARES`].
    pub quantiles: Vec<[f64; 5]>,
    /// Its band, if it has one.
    pub band: Option<Band>,
    /// When it leaves that band.
    pub leaves: Option<Leaves>,
}

/// When a quantity leaves its band.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaves {
    /// Chance of having left by the end of day 1, 2, …
    pub by_day: Vec<f64>,
    /// Day by which half of the draws have left; `None` if fewer do within the outlook.
    pub median_day: Option<f64>,
    /// Share of those that leave that do so through the lower edge.
    pub below: f64,
    /// Chance of being outside already.
    pub outside_now: f64,
}

/// What will come.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// Now.
    pub from: When,
    /// Hours from now at which the fans have figures; the first is 0.
    pub hours: Vec<f64>,
    /// The quantities, in the order of importance to a look.
    pub fans: Vec<Fan>,
    /// The days before.
    pub past: Past,
    /// The next look.
    pub look: NextLook,
    /// What a week takes.
    pub needs: Vec<Need>,
    /// What has been learnt of the tub.
    pub learned: Vec<Trait>,
    /// Which readings disagree with the rest, and what that points to.
    pub checks: Vec<Finding>,
    /// What it assumes, and why it is as wide as it is.
    pub assumptions: Vec<Text>,
}

/// The outlook of a case.
///
/// # Errors
/// [`OutlookError`] if nothing is known of the water, a reading cannot have come from its method, a band is wrong, or the
/// days are out of range.
pub fn outlook(case: &Case, days: u32, seed: u64) -> Result<(Outlook, Learned), OutlookError> {
    let learned = learn::learn(case, seed)?;
    let outlook = outlook_of(case, &learned, days, seed)?;
    Ok((outlook, learned))
}

/// The outlook of a case of which the entries have been learnt from already.
///
/// # Errors
/// As [`outlook()`].
pub fn outlook_of(case: &Case, learned: &Learned, days: u32, seed: u64) -> Result<Outlook, OutlookError> {
    if !(DAYS.0..=DAYS.1).contains(&days) {
        return Err(OutlookError::Days(days));
    }
    let (bands, _) = bands_of(case)?;
    let steps = (24.0 * f64::from(days) / STEP_H) as usize;
    let hours: Vec<f64> = (0..=steps).map(|i| STEP_H * i as f64).collect();
    let expected = learned.expected();
    let paths = learned.paths(&hours, &expected, &[], seed);
    if paths.is_empty() {
        return Err(LearnError::NoWater.into());
    }
    let fans = fans(&bands, &hours, &paths);
    Ok(Outlook {
        from: learned.until(),
        past: Past::of(case, learned, days, fans.len()),
        look: next_look(case, &fans, &hours),
        needs: needs::week(case, learned, &expected, &bands, seed),
        learned: learned.traits(),
        checks: checks::of(case, learned),
        assumptions: assumptions(case, learned, &expected),
        hours,
        fans,
    })
}

/// A fan for each quantity that is followed.
pub(crate) fn fans(bands: &Bands, hours: &[f64], paths: &[learn::Path]) -> Vec<Fan> {
    let band = |q: Q| bands.iter().find(|(of, _)| *of == q).map(|(_, b)| b.clone());
    learn::FOLLOWED.iter().enumerate().map(|(i, q)| fan(*q, band(*q), hours, paths, i)).collect()
}

/// When to look next, by these fans.
pub(crate) fn next_look(case: &Case, fans: &[Fan], hours: &[f64]) -> NextLook {
    look::next(case, fans, hours)
}

fn fan(quantity: Q, band: Option<Band>, hours: &[f64], paths: &[learn::Path], i: usize) -> Fan {
    let figure = |path: &learn::Path, hour: usize| path.get(hour).map_or(0.0, |all| all[i]);
    let quantiles = (0..hours.len())
        .map(|hour| {
            let mut all: Vec<f64> = paths.iter().map(|p| figure(p, hour)).collect();
            all.sort_by(f64::total_cmp);
            SHARES.map(|share| quantile(&all, share))
        })
        .collect();
    let leaves = band.as_ref().map(|band| leaves(band, hours, paths, figure));
    Fan { quantity, quantiles, band, leaves }
}

fn leaves(
    band: &Band,
    hours: &[f64],
    paths: &[learn::Path],
    figure: impl Fn(&learn::Path, usize) -> f64,
) -> Leaves {
    let mut first: Vec<(f64, bool)> = Vec::new();
    for path in paths {
        let left = (0..hours.len()).find(|h| !(band.low..=band.high).contains(&figure(path, *h)));
        if let Some(h) = left {
            first.push((hours.get(h).copied().unwrap_or(0.0), figure(path, h) < band.low));
        }
    }
    first.sort_by(|a, b| a.0.total_cmp(&b.0));
    let count = paths.len().max(1) as f64;
    let share = |until_h: f64| first.iter().filter(|(h, _)| *h <= until_h).count() as f64 / count;
    let days = (hours.last().copied().unwrap_or(0.0) / 24.0) as usize;
    let below = first.iter().filter(|(_, below)| *below).count() as f64;
    Leaves {
        by_day: (1..=days).map(|d| share(24.0 * d as f64)).collect(),
        median_day: first.get((0.5 * count) as usize).map(|(h, _)| h / 24.0),
        below: if first.is_empty() { 0.0 } else { below / first.len() as f64 },
        outside_now: share(0.0),
    }
}

fn assumptions(case: &Case, learned: &Learned, expected: &learn::Expected) -> Vec<Text> {
    let mut all = vec![say!(
        "care-outlook-nothing-dosed",
        "Nothing is dosed and no water is replaced; what evaporates is made up with source water."
    )];
    all.push(if expected.bathing_recorded {
        say!(
            "care-outlook-bathing",
            "Bathing goes on as the entries have it: about {hours} person-hours a day, in bursts.",
            hours = Text::figures(format!("{:.1}", expected.person_hours_per_day))
        )
    } else {
        say!(
            "care-outlook-no-bathing",
            "No bathing was written down: it counts within the tub's own use of chlorine, as it was so far."
        )
    });
    all.push(say!("care-outlook-weather", "Weather, cover and jets are as they were on average."));
    let (readings, _) = learned.readings();
    if readings < 4 {
        all.push(say!(
            "care-outlook-little-history",
            "Readings since the fill: {count}. The width is mostly what tubs in general do, not this one. Every reading narrows it.",
            count = Text::figures(readings.to_string())
        ));
    }
    if case.source_water.is_none() {
        all.push(say!(
            "care-outlook-no-source",
            "The source water is not known: what is made up counts as pure water."
        ));
    }
    all.push(say!("care-outlook-followed", "Combined chlorine, scale and metals are not followed."));
    all
}
