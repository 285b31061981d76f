//! A box of decisions: what the search has fixed, and what it has left open.

use super::goal::{Goal, band_levels};
use super::problem::{Choice, Problem};

pub(crate) const MOST_ROLES: usize = 9;

/// What a box leaves open of one role.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Span {
    /// Every product and none.
    Open,
    /// One product, units from–to; 0–0 is not used.
    Units { which: u8, low: u16, high: u16 },
}

pub(crate) const NONE: Span = Span::Units { which: 0, low: 0, high: 0 };

/// A box of decisions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Node {
    pub(crate) start: usize,
    /// From and to in the problem's stops: the first, no airing, is alone; those of airing go by pH.
    pub(crate) stops: (usize, usize),
    pub(crate) spans: [Span; MOST_ROLES],
    /// How many there are in it.
    pub(crate) decisions: f64,
    /// What pH and saturation index cost at least, as far as a box around it has shown.
    pub(crate) water: Levels,
    /// Additions of acid at least.
    pub(crate) acid_additions: u32,
    /// Whether the last look at its water showed nothing new: then the next is left out.
    pub(crate) rests: bool,
}

impl Node {
    /// Every decision with a start, aired or not; `None` if the problem has no airing.
    pub(crate) fn root(problem: &Problem, start: usize, aired: bool) -> Option<Node> {
        let last = problem.stops.len() - 1;
        let stops = if aired { (1, last) } else { (0, 0) };
        if stops.0 > last {
            return None;
        }
        let mut spans = [NONE; MOST_ROLES];
        let mut decisions = (stops.1 - stops.0 + 1) as f64;
        for (span, (_, moves)) in spans.iter_mut().zip(&problem.roles) {
            let units: u32 = moves.iter().map(|m| m.max_units).sum();
            if units > 0 {
                *span = Span::Open;
                decisions *= f64::from(1 + units);
            }
        }
        let water = Levels::default();
        Some(Node { start, stops, spans, decisions, water, acid_additions: 1, rests: false })
    }

    pub(crate) fn is_aired(&self) -> bool {
        self.stops.0 > 0
    }

    pub(crate) fn is_one(&self) -> bool {
        let one = |s: &Span| matches!(s, Span::Units { low, high, .. } if low == high);
        self.stops.0 == self.stops.1 && self.spans.iter().all(one)
    }

    #[cfg(test)]
    pub(crate) fn has(&self, choice: &Choice, problem: &Problem) -> bool {
        let stops = &problem.stops[self.stops.0..=self.stops.1];
        stops.contains(&choice.stop)
            && choice.used.iter().zip(&self.spans).all(|((m, units), span)| match *span {
                Span::Open => true,
                Span::Units { which, low, high } => {
                    (u32::from(low)..=u32::from(high)).contains(units)
                        && (*units == 0 || usize::from(which) == *m)
                }
            })
    }

    /// Its first decision.
    pub(crate) fn choice(&self, problem: &Problem) -> Choice {
        let used = |s: &Span| match *s {
            Span::Units { which, low, .. } if low > 0 => (usize::from(which), u32::from(low)),
            _ => (0, 0),
        };
        let used = self.spans[..problem.roles.len()].iter().map(used).collect();
        Choice { start: self.start, used, stop: problem.stops[self.stops.0] }
    }
}

/// Levels of the first three ranks of a key.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Levels {
    pub(crate) unsafe_ends: u32,
    pub(crate) band: u32,
    pub(crate) expected: u32,
}

impl Levels {
    /// Counts a goal that ends somewhere between two values with an error of at least so much; `near` is about where it
    /// costs least.
    pub(crate) fn count(&mut self, goal: &Goal, (from, to): (f64, f64), error: f64, near: f64) {
        self.band += band_levels(goal.band_miss(from.max(goal.low).min(to)));
        self.unsafe_ends += u32::from(to < goal.bathing.0 || from > goal.bathing.1);
        self.expected += goal.least_levels(from, to, error, near);
    }

    /// The worse of two in each rank.
    pub(crate) fn at_least(self, other: Levels) -> Levels {
        Levels {
            unsafe_ends: self.unsafe_ends.max(other.unsafe_ends),
            band: self.band.max(other.band),
            expected: self.expected.max(other.expected),
        }
    }
}
