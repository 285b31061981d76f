//! What may come: each draw's tub followed on from now, with weeks and bathers that nobody has seen yet.

use super::chance::Chance;
use super::course::{Course, Now, Things};
use super::draws::Draw;
use super::history::Act;
use super::learned::Learned;
use super::parameter::{Name, Parameter, WEEK_CARBON, WEEK_DEMAND, WEEK_H};
use super::posterior::quantity;
use crate::quantity::Quantity as Q;
use water::{Ph, Totals};

/// The hour of the day that bathing falls on, counted from now (judgement: the evening; a day has one).
const BATHING_H: f64 = 20.0;
/// How much the use to come may differ from the use so far, ln (judgement).
const USE: f64 = 0.3;

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

    /// Follows every draw to each of `hours` from now (rising). `doses`: moles into the tub at hours from now. A draw whose
    /// water leaves what the chemistry covers keeps its last figures.
    pub(crate) fn paths(
        &self,
        hours: &[f64],
        expected: &Expected,
        doses: &[(f64, Totals)],
        seed: u64,
    ) -> Vec<Path> {
        let chance = &mut Chance::of(seed);
        let last = hours.last().copied().unwrap_or(0.0);
        let each = self.draws.iter().map(|draw| {
            let mut ahead = self.ahead(draw, expected, last, chance);
            let mut acts = ahead.acts.clone();
            acts.extend(
                doses
                    .iter()
                    .map(|(h, moles)| (self.now_h() + h, Act::Dose { moles: *moles, product: usize::MAX })),
            );
            acts.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut acts = acts.into_iter().peekable();
            let mut path: Path = Vec::with_capacity(hours.len());
            for hour in hours {
                let until = self.now_h() + hour;
                let mut passed = Some(());
                while let (Some(()), Some((at_h, act))) = (passed, acts.next_if(|(at_h, _)| *at_h <= until)) {
                    passed = ahead
                        .course
                        .pass(&mut ahead.now, at_h)
                        .and_then(|()| ahead.course.act(&mut ahead.now, &act));
                }
                let figures = passed
                    .and_then(|()| ahead.course.pass(&mut ahead.now, until))
                    .and_then(|()| self.figures(&mut ahead.now));
                path.push(figures.or(path.last().copied()).unwrap_or([f64::NAN; FOLLOWED.len()]));
            }
            path
        });
        each.filter(|p: &Path| p.iter().flatten().all(|x| x.is_finite())).collect()
    }

    /// What keeping each draw's tub inside its aims for some days takes, restored once a day.
    pub(crate) fn kept(&self, days: u32, expected: &Expected, aims: &Aims, seed: u64) -> Vec<Kept> {
        let chance = &mut Chance::of(seed);
        let each = self.draws.iter().filter_map(|draw| {
            let mut ahead = self.ahead(draw, expected, 24.0 * f64::from(days), chance);
            let mut acts = ahead.acts.clone().into_iter().peekable();
            let mut kept = Kept::default();
            for day in 0..days {
                self.restore(&mut ahead.now, &ahead.course, aims, &mut kept)?;
                let until = self.now_h() + 24.0 * f64::from(day + 1);
                while let Some((at_h, act)) = acts.next_if(|(at_h, _)| *at_h <= until) {
                    ahead.course.pass(&mut ahead.now, at_h)?;
                    ahead.course.act(&mut ahead.now, &act)?;
                }
                ahead.course.pass(&mut ahead.now, until)?;
            }
            Some(kept)
        });
        each.collect()
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
        }
        Some(())
    }

    /// A draw ready to go on: its coming weeks drawn from the prior, its bathing from the use so far.
    fn ahead(&self, draw: &Draw, expected: &Expected, last_h: f64, chance: &mut Chance) -> Ahead<'_> {
        let mut parameters = self.parameters.clone();
        let mut scores: Vec<f64> = draw.scores.as_slice().to_vec();
        let known = (self.history.now_h / WEEK_H) as usize + 1;
        let weeks = ((self.history.now_h + last_h) / WEEK_H) as usize + 1;
        for week in known..weeks {
            for p in [
                Parameter::log(Name::WeekDemand(week), 1.0, WEEK_DEMAND),
                Parameter::log(Name::WeekCarbon(week), 1.0, WEEK_CARBON),
            ] {
                parameters.push(p);
                scores.push(chance.normal());
            }
        }
        let things = Things::of(&self.history, &self.at, &parameters, &scores);
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
        Ahead { course: Course { at: &self.at, things }, now: draw.now, acts }
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
    acts: Vec<(f64, Act)>,
}
