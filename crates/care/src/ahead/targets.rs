//! Where to leave pH, free chlorine and alkalinity so that they stay in their bands until the next look.

use super::Ways;
use crate::band::Band;
use crate::learn::{Expected, Path, figure_of};
use crate::planner::Goal;
use crate::quantity::Quantity as Q;
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Ph, Totals};

/// Levels of a band that are tried.
const LEVELS: usize = 11;
/// Extra cost, in the plan's measure of a miss, at which a level is as good as the best: a mean shortfall of free chlorine
/// of a sixtieth of a milligram a litre.
const AS_GOOD: f64 = 0.05;
/// Cost of the best pH from which a lower alkalinity is looked for, and what it must gain.
const CLIMBS: f64 = 0.3;
const GAIN: f64 = 0.5;
/// Alkalinities that are tried lie this far apart, mg/L as CaCO3.
const ALKALINITY_STEP: f64 = 15.0;
/// … and no lower than this above the band's edge: below it pH is steadied by nothing.
const ALKALINITY_MARGIN: f64 = 10.0;
/// Climb of pH until the next look from which alkalinity is kept low in its band.
const CLIMB_PH: f64 = 0.1;
/// Half the width of an aim.
const AIM_PH: f64 = 0.1;
const AIM_CHLORINE_MG_L: f64 = 0.5;

/// Where one quantity is to be left.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Which.
    pub quantity: Q,
    /// The level that costs least until the next look.
    pub level: f64,
    /// The levels that are as good, with the aim about the best.
    pub band: Band,
    /// Where it will have gone by the next look from there: the middle draw.
    pub at_look: f64,
}

pub(super) fn choose(ways: &Ways<'_>) -> Vec<Target> {
    let mut all = Vec::new();
    let chlorine = chlorine(ways, &ways.expected).map(|(_, target)| target);
    let level = chlorine.as_ref().map(|t| t.level);
    all.extend(chlorine);
    all.extend(ph(ways, level));
    all
}

/// Levels across a band.
fn levels(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..LEVELS).map(move |i| low + (high - low) * i as f64 / (LEVELS - 1) as f64)
}

/// Mean cost of some quantities together over draws and hours.
fn cost(goals: &[Goal], paths: &[Path]) -> f64 {
    let count = paths.iter().map(Vec::len).sum::<usize>();
    let miss = |goal: &Goal| -> f64 {
        paths.iter().flatten().filter_map(|f| figure_of(goal.quantity, f)).map(|x| goal.band_miss(x)).sum()
    };
    if count == 0 { f64::INFINITY } else { goals.iter().map(miss).sum::<f64>() / count as f64 }
}

/// The goals of some quantities, as far as they have bands.
fn goals(ways: &Ways<'_>, of: &[Q]) -> Vec<Goal> {
    let each = of.iter().filter_map(|q| Some(Goal::new(*q, ways.band(*q)?, None, (0.0, f64::INFINITY))));
    each.collect()
}

fn last(q: Q, paths: &[Path]) -> f64 {
    let mut all: Vec<f64> = paths.iter().filter_map(|p| figure_of(q, p.last()?)).collect();
    all.sort_by(f64::total_cmp);
    crate::learn::quantile(&all, 0.5)
}

/// The best of some levels, with the interval about it whose levels are as good; the cost of the best first.
fn best(q: Q, band: &Band, half_aim: f64, tried: &[(f64, f64, f64)]) -> Option<(f64, Target)> {
    let (at, (level, least, at_look)) =
        tried.iter().enumerate().min_by(|a, b| a.1.1.total_cmp(&b.1.1)).map(|(i, t)| (i, *t))?;
    if !least.is_finite() {
        return None;
    }
    let good = |i: &usize| tried.get(*i).is_some_and(|t| t.1 <= least + AS_GOOD);
    let low = (0..=at).rev().take_while(good).last().map_or(level, |i| tried[i].0);
    let high = (at..tried.len()).take_while(good).last().map_or(level, |i| tried[i].0);
    // In a flat valley the middle of it.
    let level = level.clamp(low, high);
    let high = high.min(band.high);
    // Wide enough to be met with a capful, and never beyond the tub's own.
    let low = low.min(high - half_aim).max(band.low);
    let (aim_low, aim_high) = ((level - half_aim).max(low), (level + half_aim).min(high));
    let narrow = Band { low, aim_low, aim_high, high, ..band.clone() };
    Some((least, Target { quantity: q, level, band: narrow, at_look }))
}

/// More free chlorine, as hypochlorite: its own base is given back as it is used.
fn more_chlorine(mg_l: f64) -> Totals {
    let mol = mol_kg_from_mg_l(mg_l, molar_mass::CL2);
    Totals { free_chlorine: mol, sodium: 2.0 * mol, chloride: mol, alkalinity: mol, ..Totals::default() }
}

/// Free chlorine's target under what is expected, with its cost.
pub(super) fn chlorine(ways: &Ways<'_>, expected: &Expected) -> Option<(f64, Target)> {
    let band = ways.band(Q::FreeChlorine)?;
    let [_, now, _] = ways.learned.now(Q::FreeChlorine)?;
    let goals = goals(ways, &[Q::FreeChlorine]);
    let hours = ways.hours();
    let tried: Vec<(f64, f64, f64)> = levels(band.low, band.high)
        .map(|level| {
            // What is there already is not taken out again.
            let paths = ways.follow(&more_chlorine((level - now).max(0.0)), expected, &hours);
            (level, cost(&goals, &paths), last(Q::FreeChlorine, &paths))
        })
        .collect();
    best(Q::FreeChlorine, band, AIM_CHLORINE_MG_L, &tried)
}

/// pH's target, and where it climbs out of its band whatever is done, alkalinity's.
fn ph(ways: &Ways<'_>, chlorine_mg_l: Option<f64>) -> Vec<Target> {
    let Some(band) = ways.band(Q::Ph) else { return Vec::new() };
    let Some(middle) = ways.learned.middle() else { return Vec::new() };
    let now = ways.learned.now(Q::FreeChlorine).map_or(0.0, |n| n[1]);
    let dose = more_chlorine(chlorine_mg_l.map_or(0.0, |level| (level - now).max(0.0)));
    let dosed = middle.plus(&dose, 1.0);
    let Some((cost, target)) = ph_from(ways, band, &middle, &dosed) else { return Vec::new() };
    let lower = (cost > CLIMBS).then(|| alkalinity(ways, band, &middle, &dosed, cost)).flatten();
    match lower {
        Some((ph, alkalinity)) => vec![ph, alkalinity],
        None => {
            let climb = target.at_look - target.level;
            let low = ways.band(Q::TotalAlkalinity).filter(|_| climb > CLIMB_PH).map(low_in_its_band);
            [Some(target), low].into_iter().flatten().collect()
        }
    }
}

/// Where pH climbs, acid takes alkalinity at every look: it is kept in the lower part of its band, clear of the edge.
fn low_in_its_band(band: &Band) -> Target {
    let (low, level) = (band.low + ALKALINITY_MARGIN, band.low + 2.0 * ALKALINITY_MARGIN);
    let narrow = Band {
        low: low.min(band.high),
        aim_low: (low + 0.5 * ALKALINITY_MARGIN).min(band.high),
        aim_high: (low + 2.0 * ALKALINITY_MARGIN).min(band.high),
        ..band.clone()
    };
    Target { quantity: Q::TotalAlkalinity, level, band: narrow, at_look: level }
}

/// The best pH of a water that is to be brought there by acid or base.
fn ph_from(ways: &Ways<'_>, band: &Band, middle: &Totals, dosed: &Totals) -> Option<(f64, Target)> {
    let at = ways.learned.chemistry();
    let there = |level: f64| {
        let end = at.with_alkalinity_of(dosed, Ph(level)).ok()?.totals;
        Some(balanced(dosed, &end))
    };
    tried_ph(ways, band, middle, there)
}

fn tried_ph(
    ways: &Ways<'_>,
    band: &Band,
    middle: &Totals,
    there: impl Fn(f64) -> Option<Totals>,
) -> Option<(f64, Target)> {
    let goals = goals(ways, &[Q::Ph]);
    let hours = ways.hours();
    // Not at the very edge: what is dosed is never quite what was meant.
    let tried: Vec<(f64, f64, f64)> = levels((band.low + AIM_PH).min(band.high), band.high)
        .filter_map(|level| {
            let change = there(level)?.plus(middle, -1.0);
            let paths = ways.follow(&change, &ways.expected, &hours);
            Some((level, cost(&goals, &paths), last(Q::Ph, &paths)))
        })
        .collect();
    best(Q::Ph, band, AIM_PH, &tried)
}

/// A water whose alkalinity was changed, with the ions that do it.
fn balanced(before: &Totals, after: &Totals) -> Totals {
    let more = after.alkalinity - before.alkalinity;
    Totals { sodium: after.sodium + more.max(0.0), sulfate: after.sulfate - 0.5 * more.min(0.0), ..*after }
}

/// The highest alkalinity, by acid and airing, at which pH climbs clearly less; pH's own target then.
fn alkalinity(
    ways: &Ways<'_>,
    ph_band: &Band,
    middle: &Totals,
    dosed: &Totals,
    cost: f64,
) -> Option<(Target, Target)> {
    let band = ways.band(Q::TotalAlkalinity)?;
    let [_, now, _] = ways.learned.now(Q::TotalAlkalinity)?;
    let at = ways.learned.chemistry();
    let mut found: Option<(f64, Target, f64)> = None;
    let mut lower = now.min(band.high) - ALKALINITY_STEP;
    while lower >= band.low + ALKALINITY_MARGIN {
        let less = Totals { alkalinity: dosed.alkalinity + eq_kg_from_mg_l_caco3(lower - now), ..*dosed };
        let less = balanced(dosed, &less);
        let there = |level: f64| Some(at.solve_at_ph(&less, Ph(level)).ok()?.totals);
        if let Some((then, target)) = tried_ph(ways, ph_band, middle, there)
            && found.as_ref().is_none_or(|(least, ..)| then < least - AS_GOOD)
        {
            found = Some((then, target, lower));
        }
        lower -= ALKALINITY_STEP;
    }
    let (_, ph, level) = found.filter(|(then, ..)| *then < cost - GAIN)?;
    let high = level + ALKALINITY_STEP;
    let narrow = Band {
        low: band.low,
        aim_low: level - ALKALINITY_MARGIN,
        aim_high: level + 5.0,
        high,
        ..band.clone()
    };
    Some((ph, Target { quantity: Q::TotalAlkalinity, level, band: narrow, at_look: level }))
}
