//! Free chlorine by itself: used in first order, made by the cell, taken by what bathers brought. It asks nothing of the
//! carbonates, so it can be followed alone, many times quicker than the water that it is in ([`Alone`]).

use super::course::{Bursts, STEP_H, Things};
use super::history::{Act, CELL_UNTOLD, Start};
use super::parameter::WEEK_H;
use super::unrecorded::Suspected;
use std::iter::Peekable;
use water::units::{mol_kg_from_mg_l, molar_mass};

/// What bathers' leavings still want, mol/kg, below which nothing of it is felt: a thousandth of a milligram a litre of chlorine.
const FORGOTTEN: f64 = 1.4e-8;

/// e^−x, known for the last x that was asked: a rate and a step stay as they are for many steps.
#[derive(Debug, Clone, Copy)]
pub(super) struct Remains {
    of: f64,
    share: f64,
}

impl Remains {
    pub(super) const NOTHING_GONE: Remains = Remains { of: 0.0, share: 1.0 };

    pub(super) fn after(&mut self, x: f64) -> f64 {
        if x != self.of {
            *self = Remains { of: x, share: libm::exp(-x) };
        }
        self.share
    }
}

/// What uses and makes chlorine over a step.
pub(super) struct Rates {
    /// First-order use, per hour.
    demand_per_h: f64,
    /// How fast what bathers brought meets its chlorine, per hour.
    pace_per_h: f64,
    /// What the cell makes, mol/kg in an hour.
    made_per_h: f64,
    /// Share of the first-order use that is bathers' whom nobody wrote down.
    unseen: f64,
}

impl Things {
    /// What the cell makes at full output at an hour, mol an hour.
    fn cell_mol_per_h_at(&self, at_h: f64) -> f64 {
        self.cell_mol_per_h * (1.0 - self.decline_per_h * at_h).max(0.0)
    }

    /// The same, g of chlorine a day.
    pub(super) fn cell_g_per_day(&self, at_h: f64) -> f64 {
        24.0 * molar_mass::CL2 * self.cell_mol_per_h_at(at_h)
    }

    /// The rates over a step, when the cell runs at a share of its full output.
    pub(super) fn rates(&self, at_h: f64, hours: f64, cell: f64) -> Rates {
        let middle_h = at_h + 0.5 * hours;
        Rates {
            demand_per_h: self.demand_per_h
                * Things::week(&self.week_demand, middle_h)
                * self.bursts.at(middle_h),
            pace_per_h: self.pace_per_h,
            made_per_h: self.cell_mol_per_h_at(at_h) * cell / self.volume_l,
            unseen: self.unseen,
        }
    }
}

/// What goes on beside the free chlorine that is there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Oxidant {
    /// Chlorine that bathers' leavings still want, mol/kg.
    pub(super) debt: f64,
    /// The cell's output, share of its full output.
    pub(super) cell: f64,
    remains: [Remains; 2],
}

impl Oxidant {
    /// At hour 0.
    pub(super) const FIRST: Oxidant =
        Oxidant { debt: 0.0, cell: CELL_UNTOLD, remains: [Remains::NOTHING_GONE; 2] };

    /// Free chlorine after a step, mol/kg, of what there was before, and how much of it bathers' leavings took.
    pub(super) fn step(&mut self, before: f64, rates: &Rates, hours: f64) -> (f64, f64) {
        let Rates { demand_per_h, pace_per_h, made_per_h, .. } = *rates;
        let kept = self.remains[0].after(demand_per_h * hours);
        let made = if demand_per_h * hours > 1e-9 {
            made_per_h * (1.0 - kept) / demand_per_h
        } else {
            made_per_h * hours
        };
        let there = before * kept + made;
        let wants =
            if self.debt > 0.0 { self.debt * (1.0 - self.remains[1].after(pace_per_h * hours)) } else { 0.0 };
        // All that is wanted where there is plenty, all that is there where there is little.
        let takes = if wants > 0.0 { wants * there / (wants + there) } else { 0.0 };
        self.debt -= takes;
        let unseen = rates.unseen * (before + made_per_h * hours - there).max(0.0);
        // Never below nothing, not by a rounding either: there would be no such water.
        ((there - takes).max(0.0), takes + unseen)
    }
}

/// A tub's free chlorine under way, and nothing else of it: as the whole course has it but for what evaporates and for the
/// length of steps.
#[derive(Clone)]
pub(super) struct Alone<'a> {
    things: &'a Things,
    at_h: f64,
    /// Free chlorine, mol/kg.
    pub(super) free: f64,
    oxidant: Oxidant,
    leak: Remains,
}

impl<'a> Alone<'a> {
    pub(super) fn begin(things: &'a Things, start: &Start) -> Self {
        let free = match start {
            Start::Filled(_) => things.source.free_chlorine,
            Start::Unknown => things.start_chlorine_mol_kg(),
        };
        Alone { things, at_h: 0.0, free, oxidant: Oxidant::FIRST, leak: Remains::NOTHING_GONE }
    }

    /// Lets time pass until `until_h`.
    fn pass(&mut self, until_h: f64) {
        while until_h - self.at_h > 1e-9 {
            // Where nothing but first-order use goes on a step of any length is exact, within a week that is like itself.
            let longest = if self.oxidant.debt > FORGOTTEN || self.things.bursts != Bursts::default() {
                STEP_H
            } else {
                ((self.at_h / WEEK_H).floor() + 1.0) * WEEK_H - self.at_h
            };
            let hours = (until_h - self.at_h).min(longest.max(1e-6));
            let rates = self.things.rates(self.at_h, hours, self.oxidant.cell);
            (self.free, _) = self.oxidant.step(self.free, &rates, hours);
            if self.things.leak_l_per_h > 0.0 {
                let stays = self.leak.after(self.things.leak_l_per_h * hours / self.things.volume_l);
                self.replace(1.0 - stays);
            }
            self.at_h += hours;
        }
    }

    /// Lets time pass until `until_h` with what happens before that hour, which is taken off `acts`.
    pub(super) fn follow<'b>(
        &mut self,
        acts: &mut Peekable<impl Iterator<Item = &'b (f64, Act)>>,
        until_h: f64,
    ) {
        while let Some((at_h, act)) = acts.next_if(|(at_h, _)| *at_h < until_h) {
            self.pass(*at_h);
            self.act(act);
        }
        self.pass(until_h);
    }

    /// Something happens.
    fn act(&mut self, act: &Act) {
        let t = self.things;
        match *act {
            Act::Dose { moles, product } => {
                self.free = (self.free + moles.free_chlorine * t.held(product) / t.volume_l).max(0.0);
            }
            Act::Replaced(share) => self.replace(share),
            Act::LetOut(_) => {}
            Act::Bathers(person_hours) => {
                self.oxidant.debt += t.bather_mol * person_hours / t.volume_l;
                self.replace(t.splashed(person_hours));
            }
            Act::Cell(output) => self.oxidant.cell = output,
            Act::Unrecorded { suspected: Suspected::Chlorine, number } => {
                let mol = mol_kg_from_mg_l(t.amount(number), molar_mass::CL2);
                self.free = (self.free + mol).max(0.0);
            }
            Act::Unrecorded { suspected: Suspected::Replaced, number } => {
                self.replace((t.amount(number) / 100.0).clamp(0.0, 1.0));
            }
            Act::Unrecorded { .. } => {}
        }
    }

    fn replace(&mut self, share: f64) {
        self.free += (self.things.source.free_chlorine - self.free) * share;
        self.oxidant.debt *= 1.0 - share;
    }
}
