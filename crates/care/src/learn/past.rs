//! What was: some of the draws' tubs followed once more from their start, and what was read of them.

use super::future::FOLLOWED;
use super::history::{Act, Kit, SHARED, Said};
use super::learned::Learned;
use super::parameter::{Name, WEEK_H};
use crate::method::Outcome;
use crate::quantity::Quantity as Q;
use water::Speciation;

/// One draw's water at one hour.
#[derive(Debug, Clone)]
pub(crate) struct Was {
    /// The followed quantities.
    pub(crate) figures: [f64; FOLLOWED.len()],
    /// The water, solved at the tub's temperature.
    pub(crate) solved: Speciation,
}

/// A reading that was used (a probe's stream by its blocks).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Seen {
    /// Hours from the start.
    pub(crate) at_h: f64,
    /// Of what.
    pub(crate) quantity: Q,
    /// Number of its kit: as in [`Name::Bias`].
    pub(crate) kit: usize,
    /// What it says, with the whole error of its method.
    pub(crate) outcome: Outcome,
}

impl Learned {
    /// Every reading that was used, in order of time.
    pub(crate) fn seen(&self) -> impl Iterator<Item = Seen> {
        self.history.observed.iter().map(|o| {
            let kit = self.history.kits.get(o.kit);
            let outcome = match o.said {
                Said::Value { value, standard_error } => {
                    Outcome::Value { value, standard_error: whole_error(standard_error, kit) }
                }
                Said::Below(limit) => Outcome::Below { limit },
                Said::Above(limit) => Outcome::Above { limit },
            };
            Seen { at_h: o.at_h, quantity: o.quantity, kit: o.kit, outcome }
        })
    }

    /// What happened, with what probably did and nobody wrote down, in order of time.
    pub(super) fn acts(&self) -> Vec<(f64, Act)> {
        let mut acts = self.history.acts.clone();
        let unrecorded = self.hypotheses.iter().enumerate();
        acts.extend(
            unrecorded.map(|(number, h)| (h.at_h, Act::Unrecorded { suspected: h.suspected, number })),
        );
        acts.sort_by(|a, b| a.0.total_cmp(&b.0));
        acts
    }

    /// About `count` of the draws, evenly spread, at each of `hours` after the start (rising, up to now), before what
    /// happens at that hour. A draw whose water the chemistry does not cover is left out.
    pub(crate) fn back(&self, hours: &[f64], count: usize) -> Vec<Vec<Was>> {
        let acts = self.acts();
        let every = self.draws.len().div_ceil(count.max(1)).max(1);
        let of = |draw| -> Option<Vec<Was>> {
            let course = self.course(draw);
            let mut now = course.begin(&self.history.start)?;
            let mut acts = acts.iter().peekable();
            let mut all = Vec::with_capacity(hours.len());
            for hour in hours {
                while let Some((at_h, act)) = acts.next_if(|(at_h, _)| at_h < hour) {
                    course.pass(&mut now, *at_h)?;
                    course.act(&mut now, act)?;
                }
                course.pass(&mut now, *hour)?;
                all.push(Was { figures: self.figures(&mut now)?, solved: now.solved(&self.at)? });
            }
            Some(all)
        };
        self.draws.iter().step_by(every).filter_map(of).collect()
    }

    /// Of each draw: a parameter; nothing if there is no such parameter.
    pub(crate) fn draws_of(&self, name: &Name) -> Vec<f64> {
        let found = self.parameters.iter().position(|p| p.name == *name);
        found.map_or(Vec::new(), |i| self.draws.iter().map(|d| self.thing(i, d)).collect())
    }

    /// Of each draw: what a kit reads too much now.
    pub(crate) fn offsets(&self, kit: usize) -> Vec<f64> {
        self.draws.iter().map(|draw| self.kits(draw).bias(kit, self.history.now_h)).collect()
    }

    /// Of each draw: what the cell makes at full output now, g of chlorine a day, its decline in it.
    pub(crate) fn cell_g_per_day(&self) -> Vec<f64> {
        let now_h = self.history.now_h;
        self.draws.iter().map(|draw| self.course(draw).things.cell_g_per_day(now_h)).collect()
    }

    /// Whether anybody said what the cell is set to.
    pub(crate) fn cell_is_told(&self) -> bool {
        self.history.cell_is_told
    }

    /// Of each draw: the water's own demand for chlorine in the last `hours` against what it was before, as a ratio.
    /// Nothing if there is less than half as much time before.
    pub(crate) fn demand_against_before(&self, hours: f64) -> Vec<f64> {
        let (now_h, turn_h) = (self.history.now_h, self.history.now_h - hours);
        if turn_h < 0.5 * hours {
            return Vec::new();
        }
        let weeks: Vec<usize> = (0..=(now_h / WEEK_H) as usize).collect();
        // Hours that a week has in common with a stretch.
        let common = |week: usize, from: f64, to: f64| {
            let begin = WEEK_H * week as f64;
            ((begin + WEEK_H).min(to) - begin.max(from)).max(0.0)
        };
        let number = |week: usize| self.parameters.iter().position(|p| p.name == Name::WeekDemand(week));
        let places: Vec<Option<usize>> = weeks.iter().map(|w| number(*w)).collect();
        self.draws
            .iter()
            .map(|draw| {
                let factor = |week: usize| {
                    let place = places.get(week).copied().flatten();
                    place.map_or(1.0, |i| self.parameters[i].at(draw.scores[i]))
                };
                let mean = |from: f64, to: f64| {
                    weeks.iter().map(|w| common(*w, from, to) * factor(*w)).sum::<f64>() / (to - from)
                };
                mean(turn_h, now_h) / mean(0.0, turn_h)
            })
            .collect()
    }

    /// The kits that read a quantity, by their numbers.
    pub(crate) fn kits_of(&self, q: Q) -> impl Iterator<Item = usize> {
        self.history.kits.iter().enumerate().filter(move |(_, k)| k.quantity == q).map(|(i, _)| i)
    }
}

/// The error of a method as a whole: what one reading has of its own, and what all of the kit's share.
fn whole_error(own: f64, kit: Option<&Kit>) -> f64 {
    match kit {
        // A probe's offset has nothing to do with how its figures scatter.
        Some(kit) if kit.drift_error > 0.0 => own.hypot(kit.bias_error),
        _ => own / (1.0 - SHARED * SHARED).sqrt(),
    }
}
