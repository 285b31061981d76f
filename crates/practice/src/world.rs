//! The hidden tub in time: what the learner's hands and the timetable do to it, followed by crate `tub`.

use crate::error::PracticeError;
use crate::kit::true_value;
use crate::score::{SCORED, Sample, Unsafe};
use crate::timetable::{FILLED_AT_HOUR, Timetable};
use crate::truth::Truth;
use care::band::BathingLimits;
use care::quantity::Quantity as Q;
use tub::run::follow_within;
use tub::{Event, Jets, State};
use water::Chemical;

/// How closely the tub is followed: a thousand times closer than any kit reads, and quick enough for a page.
pub(crate) const TOLERANCE: f64 = 1e-4;
/// Hours between two looks of the score at the water.
pub const SAMPLE_H: f64 = 4.0;
/// Level at which the household fills up by itself, for the skimmer draws air (judgement).
const LEAST_LEVEL: f64 = 0.88;

/// What the learner's hands have changed at the tub.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Hands {
    /// Cover off.
    pub(crate) open: bool,
    /// Jets.
    pub(crate) jets: Jets,
}

/// The hidden world.
#[derive(Debug, Clone)]
pub(crate) struct World {
    pub(crate) truth: Truth,
    pub(crate) timetable: Timetable,
    limits: BathingLimits,
    state: State,
    hands: Hands,
    duty: f64,
    pub(crate) samples: Vec<Sample>,
    pub(crate) unsafe_moments: Vec<Unsafe>,
}

/// What happens at one moment of the timetable.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Turn {
    Day(usize),
    BathBegins(usize),
    BathEnds,
    Unnoted(f64),
    Sample,
}

impl World {
    pub(crate) fn new(truth: Truth, days: u32, limits: BathingLimits) -> Self {
        let timetable = Timetable::of(&truth, days);
        let mut state = truth.start();
        if let Some(first) = timetable.weather.first() {
            state.settings.surroundings = *first;
        }
        World {
            truth,
            timetable,
            limits,
            state,
            hands: Hands::default(),
            duty: 0.0,
            samples: Vec::new(),
            unsafe_moments: Vec::new(),
        }
    }

    pub(crate) fn at_h(&self) -> f64 {
        self.state.at_h
    }

    pub(crate) fn state(&self) -> &State {
        &self.state
    }

    /// Water over what reaches the mark.
    pub(crate) fn level(&self) -> f64 {
        self.state.water_kg / self.truth.mark_kg
    }

    /// Whether anybody is in it.
    pub(crate) fn bathers(&self) -> f64 {
        self.bathing(self.at_h()).map_or(0.0, |i| self.timetable.baths[i].people)
    }

    fn bathing(&self, at_h: f64) -> Option<usize> {
        self.timetable.baths.iter().position(|b| b.from_h <= at_h && at_h < b.to_h)
    }

    /// Settings at a moment: what the hands did, and who bathes.
    fn set(&self, state: &mut State) {
        let bath = self.bathing(state.at_h).map(|i| self.timetable.baths[i]);
        state.settings.open = self.hands.open || bath.is_some();
        state.settings.bathers = bath.map_or(0.0, |b| b.people);
        state.settings.jets = match (self.hands.jets, bath) {
            (Jets::WithAir, _) => Jets::WithAir,
            (_, Some(b)) if b.air => Jets::WithAir,
            (Jets::Water, _) | (_, Some(_)) => Jets::Water,
            (Jets::Off, None) => Jets::Off,
        };
        state.settings.cell_duty = self.duty;
    }

    /// Turns of the timetable after `from`, up to `to`.
    fn turns(&self, from: f64, to: f64) -> Vec<(f64, Turn)> {
        let within = |at: f64| at > from && at <= to;
        let mut turns = Vec::new();
        for day in 1..self.timetable.weather.len() {
            turns.push((24.0 * day as f64 - FILLED_AT_HOUR, Turn::Day(day)));
        }
        for (i, bath) in self.timetable.baths.iter().enumerate() {
            turns.push((bath.from_h, Turn::BathBegins(i)));
            turns.push((bath.to_h, Turn::BathEnds));
        }
        turns.extend(self.timetable.unnoted.iter().map(|(at, grams)| (*at, Turn::Unnoted(*grams))));
        let mut next = (from / SAMPLE_H).floor() as i64 + 1;
        while next as f64 * SAMPLE_H <= to {
            turns.push((next as f64 * SAMPLE_H, Turn::Sample));
            next += 1;
        }
        turns.retain(|(at, _)| within(*at));
        turns.sort_by(|a, b| a.0.total_cmp(&b.0));
        turns
    }

    /// On to a moment.
    pub(crate) fn advance(&mut self, to_h: f64) -> Result<(), PracticeError> {
        let mut state = self.state;
        self.set(&mut state);
        for (at_h, turn) in self.turns(state.at_h, to_h) {
            state = self.followed(&state, at_h)?;
            match turn {
                Turn::Day(day) => state.settings.surroundings = self.timetable.weather[day],
                Turn::Sample => self.samples.push(sample(&state)?),
                Turn::Unnoted(grams) => {
                    let mol = grams * UNNOTED_MOL_PER_G;
                    state = state.after(&Event::Dose { chemical: Chemical::Dichlor, mol })?;
                }
                Turn::BathBegins(i) => {
                    self.judge_bath(&state, i)?;
                    state = self.filled_up(state)?;
                }
                Turn::BathEnds => {}
            }
            self.set(&mut state);
        }
        self.state = self.followed(&state, to_h)?;
        Ok(())
    }

    /// Where so coarse a step leaves the chemistry (chlorine dosed onto chloramines), a finer one is taken.
    fn followed(&self, from: &State, to_h: f64) -> Result<State, PracticeError> {
        let within = |tolerance| follow_within(&self.truth.tub, from, &[], &[to_h], tolerance);
        let end =
            within(TOLERANCE).or_else(|_| within(1e-2 * TOLERANCE)).or_else(|_| within(1e-4 * TOLERANCE));
        Ok(end?.end)
    }

    /// The household fills up when the skimmer draws air.
    fn filled_up(&self, state: State) -> Result<State, PracticeError> {
        let lacking = self.truth.mark_kg - state.water_kg;
        if state.water_kg >= LEAST_LEVEL * self.truth.mark_kg {
            return Ok(state);
        }
        Ok(state.after(&self.fresh(lacking))?)
    }

    fn fresh(&self, kg: f64) -> Event {
        Event::TopUp { water: self.truth.tap, kg, temperature_c: self.truth.tap_c }
    }

    /// People get in: is the water within the bathing limits?
    fn judge_bath(&mut self, state: &State, bath: usize) -> Result<(), PracticeError> {
        let figure = |q: Q| true_value(q, state).map(|v| v.unwrap_or(0.0));
        let checks = [
            (Q::FreeChlorine, figure(Q::FreeChlorine)?, self.limits.free_chlorine),
            (Q::Ph, figure(Q::Ph)?, self.limits.ph),
            (Q::Temperature, figure(Q::Temperature)?, (0.0, self.limits.temperature_high_c)),
        ];
        for (quantity, value, (low, high)) in checks {
            if !(low..=high).contains(&value) {
                let people = self.timetable.baths[bath].people;
                self.unsafe_moments.push(Unsafe::Bath {
                    at_h: state.at_h,
                    quantity,
                    value,
                    low,
                    high,
                    people,
                });
            }
        }
        Ok(())
    }

    /// The learner's hands: cover, jets.
    pub(crate) fn hands(&mut self, hands: Hands) {
        self.hands = hands;
    }

    pub(crate) fn set_duty(&mut self, duty: f64) {
        self.duty = duty;
    }

    /// Something happens at once.
    pub(crate) fn event(&mut self, event: &Event) -> Result<(), PracticeError> {
        self.state = self.state.after(event)?;
        Ok(())
    }

    /// Filled up to the mark; kilograms that it took.
    pub(crate) fn top_up(&mut self) -> Result<f64, PracticeError> {
        let kg = (self.truth.mark_kg - self.state.water_kg).max(0.0);
        let event = self.fresh(kg);
        self.event(&event)?;
        Ok(kg)
    }

    /// A share of the water let out, and filled up to the mark.
    pub(crate) fn replace(&mut self, share: f64) -> Result<(), PracticeError> {
        let kg = share * self.truth.mark_kg;
        let let_out = kg.min(0.98 * self.state.water_kg);
        let event = Event::Replace { water: self.truth.tap, kg: let_out, temperature_c: self.truth.tap_c };
        self.event(&event)?;
        self.top_up().map(|_| ())
    }
}

/// Dichlor as its dihydrate, 56 % of available chlorine: 2 mol of Cl2 a mole.
const UNNOTED_MOL_PER_G: f64 = 0.56 / (2.0 * water::units::molar_mass::CL2);

fn sample(state: &State) -> Result<Sample, PracticeError> {
    let mut values = [None; SCORED.len()];
    for (value, q) in values.iter_mut().zip(SCORED) {
        *value = true_value(q, state)?;
    }
    Ok(Sample { at_h: state.at_h, values })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difficulty::Difficulty;
    use crate::told;
    use care::band::bathing_limits;
    use tub::pool::ELEMENTS;

    fn world(seed: u64) -> World {
        let case = told::case(seed);
        let truth = Truth::of(seed, Difficulty::Hard.spread(), &case).unwrap();
        World::new(truth, 29, bathing_limits(case.tub.regime, case.tub.place))
    }

    /// Nature: what is in the tub and what has left it add up to the same, for each element.

    #[test]
    fn four_weeks_of_a_busy_household_lose_no_atom() {
        for seed in 1..=4 {
            let mut world = world(seed);
            let before = world.state().elements();
            world.set_duty(0.2);
            world.advance(200.0).unwrap();
            world.event(&Event::Dose { chemical: Chemical::SodiumBisulfate, mol: 0.3 }).unwrap();
            world.replace(0.3).unwrap();
            world.hands(Hands { open: true, jets: Jets::WithAir });
            world.advance(220.0).unwrap();
            world.hands(Hands::default());
            world.advance(672.0).unwrap();
            world.top_up().unwrap();
            let after = world.state().elements();
            for i in 0..ELEMENTS.len() {
                let off = (after[i] - before[i]).abs() / before[i].abs().max(0.1);
                assert!(off < 1e-9, "{:?}: {} became {}", ELEMENTS[i], before[i], after[i]);
            }
        }
    }

    /// Coarser than the tub's own tolerance, and yet far finer than any kit.
    #[test]
    fn the_tolerance_is_far_finer_than_any_kit() {
        for seed in 1..=4 {
            let mut coarse = world(seed);
            let fine_end = {
                let mut state = coarse.state;
                coarse.set(&mut state);
                let mut fine = state;
                for (at_h, turn) in coarse.turns(0.0, 168.0) {
                    fine = follow_within(&coarse.truth.tub, &fine, &[], &[at_h], 1e-8).unwrap().end;
                    match turn {
                        Turn::Day(day) => fine.settings.surroundings = coarse.timetable.weather[day],
                        Turn::Unnoted(grams) => {
                            let mol = grams * UNNOTED_MOL_PER_G;
                            fine = fine.after(&Event::Dose { chemical: Chemical::Dichlor, mol }).unwrap();
                        }
                        Turn::BathBegins(_) => fine = coarse.filled_up(fine).unwrap(),
                        Turn::Sample | Turn::BathEnds => {}
                    }
                    coarse.set(&mut fine);
                }
                follow_within(&coarse.truth.tub, &fine, &[], &[168.0], 1e-8).unwrap().end
            };
            coarse.advance(168.0).unwrap();
            for (q, within) in [(Q::Ph, 0.002), (Q::TotalAlkalinity, 0.05), (Q::CombinedChlorine, 0.005)] {
                let of = |s: &State| true_value(q, s).unwrap().unwrap();
                let off = (of(coarse.state()) - of(&fine_end)).abs();
                assert!(off < within, "seed {seed}, {}: off by {off}", q.id());
            }
        }
    }

    #[test]
    fn bathers_sit_in_an_open_tub_with_jets_and_no_longer() {
        let mut world = world(2);
        let bath = world.timetable.baths[0];
        world.advance(bath.from_h + 0.01).unwrap();
        let s = world.state.settings;
        assert!(s.open && s.bathers == bath.people && s.jets != Jets::Off);
        world.advance(bath.to_h + 0.001).unwrap();
        let s = world.state.settings;
        assert!(!s.open && s.bathers == 0.0 && s.jets == Jets::Off);
    }
}
