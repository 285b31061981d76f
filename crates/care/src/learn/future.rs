//! What may come: each draw's tub followed on from now, with weeks and bathers that nobody has seen yet.

use super::chance::Chance;
use super::course::{Bursts, Course, IN_BURSTS, Now, Things};
use super::draws::Draw;
use super::history::{Act, Start};
use super::learned::Learned;
use super::parameter::{WEEK_H, WeekSpread};
use super::posterior::quantity;
use crate::quantity::Quantity as Q;
use water::{Equilibria, Ph, Totals};

/// The hour of the day that bathing falls on, counted from now (judgement: the evening; a day has one).
const BATHING_H: f64 = 20.0;
/// How much the use to come may differ from the use so far, ln (judgement).
const USE: f64 = 0.3;

/// Readings within so many hours are one look.
const SAME_LOOK_H: f64 = 8.0;

/// The quantities that are followed, in the order of a path's figures.
pub(crate) const FOLLOWED: [Q; 7] = [
    Q::Ph,
    Q::FreeChlorine,
    Q::TotalAlkalinity,
    Q::CalciumHardness,
    Q::Salt,
    Q::CyanuricAcid,
    Q::SaturationIndex,
];

/// A followed quantity's figure of a path at one of its hours.
pub(crate) fn figure_of(q: Q, figures: &[f64; FOLLOWED.len()]) -> Option<f64> {
    FOLLOWED.iter().position(|of| *of == q).and_then(|i| figures.get(i)).copied()
}

/// What the future is taken to hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// Person-hours of bathing a day.
    pub person_hours_per_day: f64,
    /// Whether they are from the tub's own entries.
    pub bathing_recorded: bool,
    /// The cell's output, share; `None` for as it was set last.
    pub cell_output: Option<f64>,
}

/// One draw's future: at each asked hour the followed quantities, in the order of `FOLLOWED`.
pub type Path = Vec<[f64; FOLLOWED.len()]>;

/// What keeping a tub inside its aims takes over some days, for one draw.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Kept {
    /// Chlorine added, mol (as Cl2).
    pub chlorine_mol: f64,
    /// Acid added, eq.
    pub acid_eq: f64,
    /// Base added, eq.
    pub base_eq: f64,
}

impl std::iter::Sum for Kept {
    fn sum<I: Iterator<Item = Kept>>(all: I) -> Kept {
        all.fold(Kept::default(), |a, b| Kept {
            chlorine_mol: a.chlorine_mol + b.chlorine_mol,
            acid_eq: a.acid_eq + b.acid_eq,
            base_eq: a.base_eq + b.base_eq,
        })
    }
}

/// One draw's tub at a look ahead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tended {
    /// The followed quantities as they are found.
    pub(crate) found: [f64; FOLLOWED.len()],
    /// What is dosed then.
    pub(crate) dosed: Kept,
}

/// Where a tub is kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Aims {
    /// Free chlorine that is restored each day, mg/L.
    pub(crate) chlorine_mg_l: f64,
    /// pH above which acid brings it back to the aim.
    pub(crate) ph_high: f64,
    /// pH below which base brings it back to the aim.
    pub(crate) ph_low: f64,
    /// The pH aimed at.
    pub(crate) ph_aim: f64,
}

impl Learned {
    /// What the entries let expect of the days to come.
    pub fn expected(&self) -> Expected {
        let hours: f64 =
            self.history.acts.iter().map(|(_, a)| if let Act::Bathers(h) = a { *h } else { 0.0 }).sum();
        let days = (self.history.now_h / 24.0).max(1.0);
        let recorded = hours > 0.0;
        Expected {
            person_hours_per_day: if recorded { hours / days } else { 0.0 },
            bathing_recorded: recorded,
            cell_output: None,
        }
    }

    /// Hours after the start at which it is now.
    pub(crate) fn now_h(&self) -> f64 {
        self.history.now_h
    }

    /// Follows every draw to each of `hours` from now (rising). `deeds`: what is done at hours from now. A draw whose water
    /// leaves what the chemistry covers keeps its last figures.
    pub(crate) fn paths(
        &self,
        hours: &[f64],
        expected: &Expected,
        deeds: &[(f64, Act)],
        seed: u64,
    ) -> Vec<Path> {
        let chance = &mut Chance::of(seed);
        let last = hours.last().copied().unwrap_or(0.0);
        let each = self.draws.iter().map(|draw| {
            let mut ahead = self.ahead(draw, expected, last, chance);
            ahead.plan(self.now_h(), deeds);
            let mut path: Path = Vec::with_capacity(hours.len());
            for hour in hours {
                let figures = self.pass(&mut ahead, *hour);
                path.push(figures.or(path.last().copied()).unwrap_or([f64::NAN; FOLLOWED.len()]));
            }
            path
        });
        each.filter(|p: &Path| p.iter().flatten().all(|x| x.is_finite())).collect()
    }

    /// The same tub with so many of its draws, evenly taken.
    pub(crate) fn thinned(&self, count: usize) -> Learned {
        let every = (self.draws.len() / count.max(1)).max(1);
        let draws = self.draws.iter().step_by(every).cloned().collect();
        Learned { draws, ..self.clone() }
    }

    /// The water of the draw in the middle, by pH.
    pub(crate) fn middle(&self) -> Option<Totals> {
        let each = self.draws.iter().filter_map(|d| {
            let mut now = d.now;
            Some((now.solved(&self.at)?.ph().0, now.totals))
        });
        let mut all: Vec<(f64, Totals)> = each.collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.get(all.len() / 2).map(|(_, totals)| *totals)
    }

    /// Hours since the tub was filled, if the past begins there.
    pub(crate) fn hours_since_fill(&self) -> Option<f64> {
        matches!(self.history.start, Start::Filled(_)).then_some(self.history.now_h)
    }

    /// Chemistry at the tub's temperature.
    pub(crate) fn chemistry(&self) -> &Equilibria {
        &self.at
    }

    /// Hours between the looks at this tub, newest last: readings by hand that lie more than a few hours apart.
    pub(crate) fn between_looks_h(&self) -> Vec<f64> {
        let mut looks: Vec<f64> = Vec::new();
        for o in &self.history.observed {
            let by_hand = self.history.kits.get(o.kit).is_some_and(|k| k.drift_error == 0.0);
            if by_hand && looks.last().is_none_or(|last| o.at_h - last > SAME_LOOK_H) {
                looks.push(o.at_h);
            }
        }
        looks.windows(2).map(|w| w[1] - w[0]).collect()
    }

    /// What keeping each draw's tub inside its aims for some days takes, restored once a day.
    pub(crate) fn kept(&self, days: u32, expected: &Expected, aims: &Aims, seed: u64) -> Vec<Kept> {
        let mut looks: Vec<f64> = (0..days).map(|day| 24.0 * f64::from(day)).collect();
        looks.push(24.0 * f64::from(days));
        let tended = self.tended(&[], &looks, expected, aims, seed);
        // The last look ends the days; what it would dose is for the days after.
        tended.into_iter().map(|looks| looks.iter().rev().skip(1).map(|l| l.dosed).sum()).collect()
    }

    /// Each draw's tub at some looks ahead (hours from now, rising), each of which brings it back to its aims. `deeds`:
    /// what is done before.
    pub(crate) fn tended(
        &self,
        deeds: &[(f64, Act)],
        looks_h: &[f64],
        expected: &Expected,
        aims: &Aims,
        seed: u64,
    ) -> Vec<Vec<Tended>> {
        let chance = &mut Chance::of(seed);
        let last = looks_h.last().copied().unwrap_or(0.0);
        let each = self.draws.iter().filter_map(|draw| {
            let mut ahead = self.ahead(draw, expected, last, chance);
            ahead.plan(self.now_h(), deeds);
            looks_h.iter().map(|look| self.tend(&mut ahead, *look, aims)).collect()
        });
        each.collect()
    }

    /// Each draw's figures at some hours after the last of some looks.
    pub(crate) fn tended_then(
        &self,
        deeds: &[(f64, Act)],
        looks_h: &[f64],
        hours: &[f64],
        expected: &Expected,
        aims: &Aims,
        seed: u64,
    ) -> Vec<Path> {
        let chance = &mut Chance::of(seed);
        let from = looks_h.last().copied().unwrap_or(0.0);
        let last = from + hours.last().copied().unwrap_or(0.0);
        let each = self.draws.iter().filter_map(|draw| {
            let mut ahead = self.ahead(draw, expected, last, chance);
            ahead.plan(self.now_h(), deeds);
            for look in looks_h {
                self.tend(&mut ahead, *look, aims)?;
            }
            hours.iter().map(|hour| self.pass(&mut ahead, from + hour)).collect()
        });
        each.collect()
    }

    fn tend(&self, ahead: &mut Ahead<'_>, look_h: f64, aims: &Aims) -> Option<Tended> {
        let found = self.pass(ahead, look_h)?;
        let mut dosed = Kept::default();
        self.restore(&mut ahead.now, &ahead.course, aims, &mut dosed)?;
        Some(Tended { found, dosed })
    }

    /// Goes on to an hour from now, and says what is there.
    fn pass(&self, ahead: &mut Ahead<'_>, hour: f64) -> Option<[f64; FOLLOWED.len()]> {
        let until = self.now_h() + hour;
        while let Some((at_h, act)) = ahead.acts.get(ahead.done).copied().filter(|(at_h, _)| *at_h <= until) {
            ahead.done += 1;
            ahead.course.pass(&mut ahead.now, at_h)?;
            ahead.course.act(&mut ahead.now, &act)?;
        }
        ahead.course.pass(&mut ahead.now, until)?;
        self.figures(&mut ahead.now)
    }

    fn restore(&self, now: &mut Now, course: &Course<'_>, aims: &Aims, kept: &mut Kept) -> Option<()> {
        let litres = course.things.volume_l;
        let short = aims.chlorine_mg_l - quantity(Q::FreeChlorine, now, &self.at)?;
        if short > 0.0 {
            // As hypochlorite, whose base its own use takes back.
            let mol = short / (1000.0 * water::units::molar_mass::CL2);
            let t = &mut now.totals;
            (t.free_chlorine, t.sodium, t.chloride, t.alkalinity) =
                (t.free_chlorine + mol, t.sodium + 2.0 * mol, t.chloride + mol, t.alkalinity + mol);
            kept.chlorine_mol += mol * litres;
        }
        let ph = now.solved(&self.at)?.ph().0;
        if ph > aims.ph_high || ph < aims.ph_low {
            let there = self.at.with_alkalinity_of(&now.totals, Ph(aims.ph_aim)).ok()?.totals.alkalinity;
            let eq = (now.totals.alkalinity - there) * litres;
            (kept.acid_eq, kept.base_eq) = (kept.acid_eq + eq.max(0.0), kept.base_eq - eq.min(0.0));
            now.totals.alkalinity = there;
            now.forget();
        }
        Some(())
    }

    /// A draw ready to go on: its coming weeks drawn from the prior, its bathing from the use so far.
    fn ahead(&self, draw: &Draw, expected: &Expected, last_h: f64, chance: &mut Chance) -> Ahead<'_> {
        let mut parameters = self.parameters.clone();
        let mut scores: Vec<f64> = draw.scores.as_slice().to_vec();
        let known = (self.history.now_h / WEEK_H) as usize + 1;
        let weeks = ((self.history.now_h + last_h) / WEEK_H) as usize + 1;
        let spread = WeekSpread::of(&self.history);
        for week in known..weeks {
            for p in spread.parameters(week) {
                parameters.push(p);
                scores.push(chance.normal());
            }
        }
        let mut things = Things::of(&self.history, &self.at, &parameters, &scores);
        let use_now = expected.person_hours_per_day * libm::exp(USE * chance.normal());
        let mut acts = Vec::new();
        if let Some(output) = expected.cell_output {
            acts.push((self.history.now_h, Act::Cell(output)));
        }
        let days = (last_h / 24.0).ceil() as usize;
        for day in 0..days {
            // Use comes in bursts: a day's is spread as widely as its mean.
            let hours = use_now * chance.exponential();
            if hours > 0.0 {
                acts.push((self.history.now_h + 24.0 * day as f64 + BATHING_H, Act::Bathers(hours)));
            }
        }
        if !expected.bathing_recorded {
            let each = (0..days).map(|_| 1.0 - IN_BURSTS + IN_BURSTS * chance.exponential()).collect();
            things.bursts = Bursts { from_h: self.history.now_h, days: each };
        }
        Ahead { course: Course { at: &self.at, things }, now: draw.now, acts, done: 0 }
    }

    pub(super) fn figures(&self, now: &mut Now) -> Option<[f64; FOLLOWED.len()]> {
        let mut all = [0.0; FOLLOWED.len()];
        for (place, q) in all.iter_mut().zip(FOLLOWED) {
            *place = match q {
                Q::SaturationIndex => self.at.calcite_saturation_index(&now.solved(&self.at)?),
                q => quantity(q, now, &self.at)?,
            };
        }
        Some(all)
    }
}

struct Ahead<'a> {
    course: Course<'a>,
    now: Now,
    /// What will happen, in order, and how much of it has.
    acts: Vec<(f64, Act)>,
    done: usize,
}

impl Ahead<'_> {
    /// Takes up what is done at hours from now.
    fn plan(&mut self, now_h: f64, deeds: &[(f64, Act)]) {
        self.acts.extend(deeds.iter().map(|(h, act)| (now_h + h, *act)));
        self.acts.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
}
