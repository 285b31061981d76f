//! What happens at the tub whoever cares for it: weather, baths, what the household does. Made whole at the start, from the
//! seed alone, so that it is the same whatever the learner does.
//!
//! Baths come in bursts: a household is quiet or busy, and stays so for some days.

use crate::chance::{Chance, For};
use crate::truth::Truth;
use tub::Surroundings;

/// A bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bath {
    /// From, hours since the fill.
    pub(crate) from_h: f64,
    /// To.
    pub(crate) to_h: f64,
    /// How many people.
    pub(crate) people: f64,
    /// With air in the jets.
    pub(crate) air: bool,
}

/// Everything that comes from outside.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Timetable {
    /// One a day, from midnight.
    pub(crate) weather: Vec<Surroundings>,
    pub(crate) baths: Vec<Bath>,
    /// Grams of quick chlorine that somebody adds without a note, and when.
    pub(crate) unnoted: Vec<(f64, f64)>,
}

/// Hour of the day at the fill.
pub(crate) const FILLED_AT_HOUR: f64 = 10.0;

impl Timetable {
    pub(crate) fn of(truth: &Truth, days: u32) -> Self {
        Timetable { weather: weather(truth, days), baths: baths(truth, days), unnoted: unnoted(truth, days) }
    }
}

/// Days from the middle of winter to the fill, for the season.
const FILL_DAY: f64 = 45.0;

fn weather(truth: &Truth, days: u32) -> Vec<Surroundings> {
    let mut chance = Chance::of(truth.seed, For::Weather);
    let mut off_c: f64 = 0.0;
    (0..=days)
        .map(|day| {
            // Weather keeps for days: seven tenths of yesterday's, and something new.
            off_c = 0.7 * off_c + chance.laplace(2.0);
            let season = -libm::cos(2.0 * std::f64::consts::PI * (f64::from(day) + FILL_DAY) / 365.0);
            let clear = chance.unit();
            Surroundings {
                air_c: (10.0 + 9.0 * season + off_c).clamp(-20.0, 38.0),
                humidity: 0.9 - 0.4 * clear,
                wind_m_s: chance.exponential(0.8).min(8.0),
                // Over a day: a bath in the evening has little of it.
                sun: 0.15 * clear * (0.6 + 0.4 * season),
                ..Surroundings::default()
            }
        })
        .collect()
}

fn baths(truth: &Truth, days: u32) -> Vec<Bath> {
    let mut chance = Chance::of(truth.seed, For::Bathers);
    let spread = &truth.spread;
    let mut busy = chance.happens(0.3);
    let mut baths = Vec::new();
    for day in 0..days {
        let (turns, calms) = spread.turns;
        busy = if busy { !chance.happens(calms) } else { chance.happens(turns) };
        let (one, many) = spread.baths;
        let count = if busy {
            1 + (chance.exponential(many) as usize).min(3)
        } else {
            usize::from(chance.happens(one))
        };
        // Hours from 16:00 on, one bath after the other.
        let mut hour = 16.0 - FILLED_AT_HOUR + 24.0 * f64::from(day);
        for _ in 0..count {
            hour += chance.between(0.5, 2.0);
            let people = (1 + chance.below(spread.people)) as f64;
            let hours = chance.triangle(0.2, 0.4, 1.0);
            let air = chance.happens(0.4);
            baths.push(Bath { from_h: hour, to_h: hour + hours, people, air });
            hour += hours;
        }
    }
    baths
}

fn unnoted(truth: &Truth, days: u32) -> Vec<(f64, f64)> {
    let mut chance = Chance::of(truth.seed, For::Household);
    let mut added = Vec::new();
    for day in 0..days {
        let (happens, hour, grams) = (
            chance.happens(truth.spread.unnoted),
            chance.between(8.0, 13.0),
            chance.triangle(4.0, 8.0, 25.0),
        );
        if happens {
            added.push((24.0 * f64::from(day) + hour, grams));
        }
    }
    added
}
