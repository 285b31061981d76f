//! Following a tub through time.

use crate::error::{TubError, within};
use crate::event::Timed;
use crate::pool::{ALL, COUNT};
use crate::rates::{Stretch, smallest};
use crate::state::State;
use crate::stiff::{self, Tolerance, Work};
use crate::vessel::Tub;

/// How closely a tub is followed: relative error a step.
pub const RELATIVE_TOLERANCE: f64 = 1e-6;

/// A tub's course.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The tub at the times asked for.
    pub samples: Vec<State>,
    /// The tub at the end.
    pub end: State,
    /// Work done.
    pub work: Work,
}

/// Follows a tub from `start` through its events, and says what it is like at `sample_h` (hours, in order of time). An
/// event at the time of a sample comes first. Events before the start are refused.
///
/// # Errors
/// [`TubError`] naming the property, setting, event or time that is wrong, or where the integration stopped.
pub fn follow(tub: &Tub, start: &State, events: &[Timed], sample_h: &[f64]) -> Result<Course, TubError> {
    follow_within(tub, start, events, sample_h, RELATIVE_TOLERANCE)
}

/// As [`follow`], with a relative tolerance of its own.
///
/// # Errors
/// As [`follow`]; [`TubError::OutOfRange`] for a tolerance outside 1e-12 to 1e-2.
pub fn follow_within(
    tub: &Tub,
    start: &State,
    events: &[Timed],
    sample_h: &[f64],
    relative_tolerance: f64,
) -> Result<Course, TubError> {
    within("relative_tolerance", relative_tolerance, "", (1e-12, 1e-2))?;
    tub.check()?;
    start.check()?;
    in_order("event", start.at_h, events.iter().map(|e| e.at_h))?;
    in_order("sample", start.at_h, sample_h.iter().copied())?;

    let mut now = *start;
    let mut work = Work::default();
    let mut samples = Vec::with_capacity(sample_h.len());
    let (mut events, mut sample_h) = (events.iter().peekable(), sample_h.iter().peekable());
    loop {
        let next_event = events.peek().map(|e| e.at_h);
        let next_sample = sample_h.peek().map(|h| **h);
        let is_event = match (next_event, next_sample) {
            (Some(event), Some(sample)) => event <= sample,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => break,
        };
        let at_h = if is_event { next_event } else { next_sample }.unwrap_or(now.at_h);
        now = advance(tub, &now, at_h, relative_tolerance, &mut work)?;
        if is_event {
            if let Some(timed) = events.next() {
                now = now.after(&timed.event)?;
            }
        } else {
            sample_h.next();
            samples.push(now);
        }
    }
    Ok(Course { samples, end: now, work })
}

fn in_order(field: &'static str, start_h: f64, times: impl Iterator<Item = f64>) -> Result<(), TubError> {
    let mut before_h = start_h;
    for (i, at_h) in times.enumerate() {
        within("at_h", at_h, "h", (-1e7, 1e7))?;
        if at_h < before_h {
            return Err(TubError::OutOfOrder { field, place: i + 1, at_h, before_h });
        }
        before_h = at_h;
    }
    Ok(())
}

fn advance(tub: &Tub, now: &State, to_h: f64, relative: f64, work: &mut Work) -> Result<State, TubError> {
    let seconds = (to_h - now.at_h) * 3600.0;
    if seconds <= 0.0 {
        return Ok(*now);
    }
    let mut y: [f64; COUNT] = now.amounts();
    // What matters shrinks with the tolerance, so that a closer look is closer everywhere.
    let finer = relative / RELATIVE_TOLERANCE;
    let absolute = ALL.iter().map(|pool| finer * smallest(*pool, now.water_kg)).collect();
    let stretch = Stretch::of(tub, now);
    let done = stiff::integrate(&stretch, &mut y, seconds, &Tolerance { relative, absolute });
    work.add(done.map_err(|e| e.later(now.at_h))?);
    let mut then = now.moved_to(&y, seconds);
    then.at_h = to_h;
    Ok(then)
}
