//! From an estimate to the decision's numbers: which quantities ask for something, which products may serve.

use super::goal::{Goal, expected_levels};
use super::path::PH_FLOOR;
use super::problem::{Move, Problem, Role, Start};
use crate::band::{Band, BathingLimits, Regime};
use crate::case::{Bands, Case, MeasureKind, PlanKind, Product, Substance};
use crate::chem::{linear, per_gram};
use crate::estimate::{Estimated, HardnessOfFill, source_error};
use crate::plan::NotDone;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::units::{eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mol_kg_from_mg_l, molar_mass};
use water::{Chemical, Totals};

/// A unit is no finer than this share of what it serves (of the aim's width, or of the band's).
const FINEST: (f64, f64) = (1.0 / 6.0, 1.0 / 40.0);
/// Acid or base in portions of at least this much pH, as the water stands.
const FINEST_PH: f64 = 0.05;
/// Most units of a product that the search looks at; larger doses are measured more coarsely.
const MOST_UNITS: u32 = 48;
const MOST_UNITS_LAST: u32 = 96;
/// What a cubic metre of fresh, heated water counts in choosing where no price is given.
const NOMINAL_PRICE_PER_M3: f64 = 5.0;
/// A standard error of more than this share of the band's width says nothing (judgement).
const VAGUE: f64 = 0.75;
/// Chlorine only falls until the next look, so a dose goes this far into the aim.
const CHLORINE_AIM_SHARE: f64 = 0.4;
/// A new fill's pH climbs for a week or more (common practice), so it starts in the lower half of the aim.
const START_UP_PH_SHARE: f64 = 0.5;
/// … but no narrower than this.
const START_UP_PH_WIDTH: f64 = 0.2;
/// … and takes the saturation index up with it, about as much: a low index of a new fill mends itself.
const START_UP_INDEX_RISE: f64 = 0.5;
/// Carbon dioxide under a cover that is opened daily, atm (judgement between outdoor air and a closed cover).
pub(crate) const UNDER_COVER_CO2_ATM: f64 = 1e-3;

/// What a plan is asked to do, and why.
#[derive(Debug, Clone)]
pub(crate) struct Needs {
    /// Quantities outside their band by more than their error, or, for disinfectant, at all.
    pub(crate) act: Vec<Q>,
    /// Outside by less than their error: look again before dosing.
    pub(crate) unsure: Vec<Q>,
    /// Outside, but unknown, contradictory or beyond its test's scale: test first.
    pub(crate) test_first: Vec<Q>,
}

impl Needs {
    /// `towards`: where the plan is to leave each quantity, within the tub's own `bands`.
    pub(crate) fn of(est: &Estimated, towards: &Bands, bands: &Bands) -> Self {
        let mut needs = Needs { act: Vec::new(), unsure: Vec::new(), test_first: Vec::new() };
        for (q, band) in towards {
            let Some(level) = est.level(*q) else { continue };
            let miss = (band.low - level.value).max(level.value - band.high).max(0.0);
            let miss = if miss < 1e-6 { 0.0 } else { miss }; // rounding
            let start_up = est.kind == PlanKind::StartUp
                && (miss > 0.0 || (*q == Q::Ph && level.value > band.aim_high))
                && *q != Q::SaturationIndex;
            // Acid and base are dosed by pH and alkalinity together: unread, they are always tested first.
            let steers = matches!(q, Q::Ph | Q::TotalAlkalinity);
            // Known to no better than three quarters of its band: as good as unread (an old reading, a wild one).
            let width = band.high - band.low;
            let vague = level.known
                && width > 0.0
                && level.standard_error > VAGUE * width
                && miss < 2.0 * level.standard_error
                && *q != Q::SaturationIndex;
            let retest = est.retest.contains(q)
                || est.over_scale(*q).is_some()
                || (*q == Q::CalciumHardness
                    && fill_denies_hardness(est, band).is_some_and(|f| f.readings < 2));
            if !level.known || vague || retest {
                if miss > 0.0 || start_up || steers || vague || retest {
                    needs.test_first.push(*q);
                }
                continue;
            }
            let disinfectant_low = matches!(q, Q::FreeChlorine | Q::TotalBromine) && level.value < band.low;
            // A narrower band has the errors in it already: it is where the water comes through best, all told.
            let aimed = bands.iter().any(|(of, own)| of == q && (own.low, own.high) != (band.low, band.high));
            if miss > level.standard_error || (miss > 0.0 && (disinfectant_low || aimed)) || start_up {
                needs.act.push(*q);
            } else if miss > 0.0 {
                needs.unsure.push(*q);
            }
        }
        needs
    }
}

/// Whether the user's band goes beyond its hard limits, which only `beyond_hard_limit` allows.
pub(crate) fn closed(band: &Band) -> bool {
    band.by_user
        && (band.hard_low.is_some_and(|h| band.low < h) || band.hard_high.is_some_and(|h| band.high > h))
}

/// The goals of a plan, bands in their order.
pub(crate) fn goals(
    case: &Case,
    est: &Estimated,
    bands: &Bands,
    needs: &Needs,
    limits: &BathingLimits,
) -> Vec<Goal> {
    let bromine = case.tub.regime == Regime::Bromine;
    bands
        .iter()
        // Nothing is decided on what nobody has read or analysed.
        .filter(|(q, _)| est.level(*q).is_some_and(|l| l.known))
        .filter(|(q, _)| {
            linear(*q, &Totals::default()).is_some()
                || matches!(q, Q::Ph | Q::SaturationIndex | Q::CombinedChlorine)
        })
        .map(|(q, band)| {
            let open = (f64::NEG_INFINITY, f64::INFINITY);
            let bathing = match q {
                // A band that the user has knowingly set beyond the limits is for a closed tub.
                Q::FreeChlorine | Q::Ph | Q::TotalBromine if closed(band) => open,
                Q::FreeChlorine if !bromine => limits.free_chlorine,
                Q::TotalBromine => limits.total_bromine,
                Q::Ph => limits.ph,
                Q::CombinedChlorine => (0.0, limits.combined_chlorine_high.unwrap_or(f64::INFINITY)),
                _ => open,
            };
            let asked = needs.act.contains(q);
            let aim = match q {
                Q::FreeChlorine | Q::TotalBromine if asked => {
                    Some((band.aim_low + CHLORINE_AIM_SHARE * (band.aim_high - band.aim_low), band.aim_high))
                }
                Q::Ph if est.kind == PlanKind::StartUp => {
                    let lower = START_UP_PH_SHARE * (band.aim_high - band.aim_low);
                    Some((band.aim_low, band.aim_low + lower.max(START_UP_PH_WIDTH)))
                }
                Q::Ph => Some((band.aim_low, band.aim_high)).filter(|_| asked),
                Q::SaturationIndex | Q::CombinedChlorine => None,
                _ if asked => Some((band.aim_low, band.aim_high)),
                // Left where it is: a dose meant for something else should not push it up beyond its aim.
                _ => Some((band.low, band.aim_high.max(est.value(*q)))),
            };
            let mut goal = Goal::new(*q, band, aim, bathing);
            if *q == Q::SaturationIndex && est.kind == PlanKind::StartUp {
                goal.low -= START_UP_INDEX_RISE;
            }
            goal
        })
        .collect()
}

/// Everything that the search needs, and what was left out of it with the reason.
pub(crate) fn problem(
    case: &Case,
    est: &Estimated,
    bands: &Bands,
    needs: &Needs,
    limits: &BathingLimits,
) -> (Problem, Vec<NotDone>) {
    let goals = goals(case, est, bands, needs, limits);
    let mut not_done = Vec::new();
    let b = est.water.buffering();
    let error = |q: Q| est.level(q).map_or(0.0, |l| l.standard_error);
    let threshold = goals.iter().find(|g| g.quantity == Q::SaturationIndex).map_or(0.3, |g| g.high);
    let mut problem = Problem {
        at: est.at.clone(),
        starts: Vec::new(),
        roles: Vec::new(),
        stops: vec![None],
        volume_error: case.tub.volume_error,
        stop_error: error(Q::Ph).clamp(0.05, 0.15),
        ph_error: error(Q::Ph),
        alkalinity_error: eq_kg_from_mg_l_caco3(error(Q::TotalAlkalinity)),
        ph_slopes_now: (b.ph_per_alkalinity, b.ph_per_carbon),
        alkalinity_residue_mg_l: est.alkalinity_residue_mg_l,
        scaling_threshold: threshold,
        volume_l: case.tub.volume_l,
        bromine: case.tub.regime == Regime::Bromine,
        goals,
        bank: None,
    };
    if problem.bromine && est.water.totals.bromide < LEAST_BROMIDE_MOL_KG {
        problem.bank = bank(case, &problem);
        if problem.bank.is_none() {
            not_done.push(NotDone {
                what: say!("care-make-bromine", "Make bromine"),
                why: say!("care-make-bromine-why", "The water holds next to no bromide and the shelf has none: an oxidiser would make chlorine or nothing. Get sodium bromide, then \
                      plan again."),
            });
        }
    }
    for share in shares(est, &problem, needs, &mut not_done) {
        if let Some(start) = start(case, est, &problem, share) {
            problem.starts.push(start);
        }
    }
    stops(est, &mut problem, needs);
    roles(case, est, &mut problem, needs, &mut not_done);
    (problem, not_done)
}

/// A recent fill by whose analysis the hardness cannot be above its band, as it was read: one of the two is wrong, and the
/// same tap would not lower what the tap brought.
pub(crate) fn fill_denies_hardness(est: &Estimated, band: &Band) -> Option<HardnessOfFill> {
    let fill = est.hardness_of_fill?;
    (est.value(Q::CalciumHardness) > band.high && fill.by_analysis <= band.high).then_some(fill)
}

/// Whether the water of a recent fill has its hardness from the tap, so that the same tap would bring it back above its
/// band.
fn tap_brings_it_back(est: &Estimated, high: f64) -> bool {
    let Some(fill) = est.hardness_of_fill else { return false };
    est.value(Q::CalciumHardness) - fill.dosed > high
}

/// What fresh water is replaced for.
pub(crate) const LOWERED_BY_WATER: [Q; 6] = [
    Q::Salt,
    Q::CyanuricAcid,
    Q::CalciumHardness,
    Q::CombinedChlorine,
    Q::Borate,
    // Acid and airing lower it too; where the tap is soft, water may be the lighter way.
    Q::TotalAlkalinity,
];

/// Shares of the water that may be replaced: none; with something above its band that no product lowers, from a
/// twentieth to six tenths, or all (beyond that a full drain is simpler and cleans the pipes).
fn shares(est: &Estimated, problem: &Problem, needs: &Needs, not_done: &mut Vec<NotDone>) -> Vec<f64> {
    let above = |q: Q| {
        problem.goals.iter().any(|g| g.quantity == q && est.value(q) > g.high) && needs.act.contains(&q)
    };
    // Fresh water helps only where it holds less: by more than the reading's own error.
    let lower_in_source = |q: Q| match (q, &est.source) {
        (Q::CombinedChlorine, _) | (_, None) => true,
        (_, Some(source)) => {
            let error = est.level(q).map_or(0.0, |l| l.standard_error);
            linear(q, source).is_some_and(|fresh| fresh < est.value(q) - error)
        }
    };
    let mut wanted: Vec<Q> =
        LOWERED_BY_WATER.into_iter().filter(|q| above(*q) && lower_in_source(*q)).collect();
    let hardness = problem.goal(Q::CalciumHardness).map(|i| problem.goals[i].high);
    if wanted.contains(&Q::CalciumHardness)
        && est.kind != PlanKind::StartUp
        && hardness.is_some_and(|high| tap_brings_it_back(est, high))
    {
        wanted.retain(|q| *q != Q::CalciumHardness);
        not_done.push(NotDone {
            what: say!("care-water-for-hardness", "Replace water to lower the calcium hardness"),
            why: say!(
                "care-water-for-hardness-why",
                "This water came from the same tap not long ago, and nothing that was dosed since made it so hard: fresh water would read \
                 the same. Test the tap water's hardness."
            ),
        });
    }
    let mut shares = vec![0.0];
    if wanted.is_empty() || est.kind == PlanKind::StartUp {
        return shares;
    }
    if est.source.is_none() {
        not_done.push(NotDone {
            what: say!("care-replace-part-of", "Replace part of the water"),
            why: say!(
                "care-replace-part-of-why",
                "{quantity} comes down only with fresh water, but the source water is not known: give its pH, total alkalinity and calcium hardness.",
                quantity = wanted[0].said().capital()
            ),
        });
        return shares;
    }
    shares.extend((1..=12).map(|i| f64::from(i) * 0.05));
    shares.push(1.0);
    shares
}

fn start(case: &Case, est: &Estimated, problem: &Problem, share: f64) -> Option<Start> {
    let fresh = est.source.unwrap_or_default();
    let totals = if share > 0.0 { est.water.totals.mixed_with(&fresh, share) } else { est.water.totals };
    let totals = problem.bank.as_ref().map_or(totals, |b| totals.plus(&b.per_unit, 1.0));
    let water = problem.at.solve(&totals).ok()?;
    let kept = 1.0 - share;
    let mut values = Vec::new();
    let mut errors = Vec::new();
    for goal in &problem.goals {
        let q = goal.quantity;
        let now = est.level(q)?;
        let (value, error) = match q {
            Q::Ph => (water.ph().0, now.standard_error),
            Q::SaturationIndex => (problem.index_of(&water), 0.0),
            Q::CombinedChlorine => (kept * now.value, kept * now.standard_error),
            _ => {
                let value = linear(q, &totals)?
                    + if q == Q::TotalAlkalinity { problem.alkalinity_residue_mg_l } else { 0.0 };
                (value, (kept * now.standard_error).hypot(share * source_error(q, linear(q, &fresh)?)))
            }
        };
        values.push(value);
        errors.push(error);
    }
    let best = problem
        .goals
        .iter()
        .zip(&errors)
        .map(|(g, e)| g.best_value(if g.quantity == Q::Ph { 0.0 } else { *e }))
        .collect();
    let per_m3 = case.source_water.as_ref().and_then(|s| s.price_per_m3).unwrap_or(NOMINAL_PRICE_PER_M3);
    let effort = match share {
        0.0 => 0,
        s if s >= 1.0 => 20,
        s => 6 + (10.0 * s) as u32,
    };
    Some(Start {
        share,
        totals,
        values,
        errors,
        best,
        cost: share * case.tub.volume_l / 1000.0 * per_m3,
        effort,
    })
}

/// Whether carbon dioxide alone, as it leaves, will bring pH into its aim.
pub(crate) fn carbon_dioxide_will_lift(est: &Estimated, aim_low_ph: f64, alkalinity_mg_l: f64) -> bool {
    let totals = Totals { alkalinity: eq_kg_from_mg_l_caco3(alkalinity_mg_l), ..est.water.totals };
    est.at
        .solve_at_ph(&totals, water::Ph(aim_low_ph))
        .is_ok_and(|s| est.at.co2_partial_pressure_atm(&s) > UNDER_COVER_CO2_ATM)
}

fn roles(case: &Case, est: &Estimated, problem: &mut Problem, needs: &Needs, not_done: &mut Vec<NotDone>) {
    let lows: Vec<Q> =
        problem.goals.iter().map(|g| g.quantity).filter(|q| is_low(*q, problem, needs)).collect();
    let low = |q: Q| lows.contains(&q);
    // Disinfectant, alkalinity and pH are steadied by the way; the rest only if it lies below its band, now or once water
    // has been replaced.
    let falls_low = |q: Q| {
        problem.goal(q).is_some_and(|i| problem.starts.iter().any(|s| s.values[i] < problem.goals[i].low))
    };
    let falling: Vec<Q> = lows.iter().copied().filter(|q| falls_low(*q)).collect();
    let asked = |q: Q| low(q) && (needs.act.contains(&q) || falling.contains(&q));
    let disinfectant = if problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
    let may_oxidise =
        !problem.bromine || problem.bank.is_some() || est.water.totals.bromide >= LEAST_BROMIDE_MOL_KG;
    let ph_known = !needs.test_first.contains(&Q::Ph) && !needs.test_first.contains(&Q::TotalAlkalinity);
    let over_bathing =
        problem.goal(disinfectant).is_some_and(|i| est.value(disinfectant) > problem.goals[i].bathing.1);
    let base_may_help = base_may_help(est, problem, not_done, low(Q::Ph));
    let mut candidates: Vec<(Role, usize, &Product)> = Vec::new();
    for (index, product) in case.shelf.iter().enumerate() {
        match role_of(product, problem.bromine) {
            Some(role) => candidates.push((role, index, product)),
            None => explain_unused(product, not_done),
        }
    }
    // Acid last: how much of it may be needed depends on what the disinfectant brings.
    candidates.sort_by_key(|(role, ..)| *role);
    for (role, index, product) in candidates {
        let base = role == Role::AcidBase && per_gram(product, problem.bromine).alkalinity > 0.0;
        let open = match role {
            Role::Disinfect => low(disinfectant) && may_oxidise,
            Role::Dechlorinate => over_bathing && !needs.test_first.contains(&disinfectant),
            Role::Stabilise => asked(Q::CyanuricAcid),
            Role::Borate => asked(Q::Borate),
            Role::Calcium => asked(Q::CalciumHardness) || low(Q::SaturationIndex),
            Role::Salt => asked(Q::Salt),
            Role::Bromide => false, // the bank
            Role::Alkalinity => ph_known && low(Q::TotalAlkalinity),
            Role::AcidBase if base => ph_known && base_may_help,
            Role::AcidBase => ph_known && !needs.act.is_empty(),
        };
        if !open {
            continue;
        }
        if let Some(a_move) = a_move(index, product, role, problem) {
            match problem.roles.last_mut().filter(|(r, _)| *r == role) {
                Some((_, moves)) => moves.push(a_move),
                None => problem.roles.push((role, vec![a_move])),
            }
        }
    }
    if problem.roles.last().is_none_or(|(r, _)| *r != Role::AcidBase) {
        problem.roles.push((Role::AcidBase, Vec::new()));
    }
}

/// Whether a quantity asks to be raised, from any start.
fn is_low(q: Q, problem: &Problem, needs: &Needs) -> bool {
    let Some(i) = problem.goal(q) else { return false };
    if needs.test_first.contains(&q) || needs.act.is_empty() {
        return false;
    }
    let goal = &problem.goals[i];
    problem
        .starts
        .iter()
        .any(|s| expected_levels(goal.expected_miss(s.values[i], s.errors[i])) > 0 && s.values[i] < s.best[i])
}

/// Base only where carbon dioxide's leaving cannot lift the pH, or has had a day and did not.
fn base_may_help(est: &Estimated, problem: &Problem, not_done: &mut Vec<NotDone>, ph_low: bool) -> bool {
    let Some(ph) = problem.goal(Q::Ph).filter(|_| ph_low) else { return false };
    let aim_low = problem.goals[ph].aim.map_or(problem.goals[ph].low, |a| a.0);
    let alkalinity = problem
        .goal(Q::TotalAlkalinity)
        .map_or(0.0, |i| est.value(Q::TotalAlkalinity).max(problem.goals[i].low));
    if carbon_dioxide_will_lift(est, aim_low, alkalinity) && est.ph_low_for_hours < 20.0 {
        not_done.push(NotDone {
            what: say!("care-add-base", "Add soda ash or another base for the low pH"),
            why: say!("care-add-base-why", "The pH is low because of dissolved carbon dioxide, which leaves by itself (common practice: wait 24 hours, then look at \
                  the alkalinity); base would overshoot once it has gone."),
        });
        return false;
    }
    true
}

/// What a product is for; `None` if a plan never chooses it.
pub(crate) fn role_of(product: &Product, bromine: bool) -> Option<Role> {
    use Chemical as C;
    Some(match product.substance {
        Substance::Sequestrant => return None,
        Substance::MineralSalt => Role::Salt,
        Substance::Chemical(c) => match c {
            C::SodiumBisulfate | C::HydrochloricAcid | C::SodiumCarbonate | C::SodiumHydroxide | C::Borax => {
                Role::AcidBase
            }
            C::SodiumBicarbonate | C::SodiumSesquicarbonate => Role::Alkalinity,
            C::CalciumChloride => Role::Calcium,
            C::SodiumChloride => Role::Salt,
            C::SodiumHypochlorite | C::CalciumHypochlorite | C::Dichlor => Role::Disinfect,
            C::Monopersulfate if bromine => Role::Disinfect,
            C::CyanuricAcid => Role::Stabilise,
            C::BoricAcid => Role::Borate,
            C::SodiumThiosulfate | C::HydrogenPeroxide => Role::Dechlorinate,
            C::SodiumBromide => Role::Bromide,
            C::Monopersulfate
            | C::Trichlor
            | C::MagnesiumChloride
            | C::PotassiumChloride
            | C::SodiumSulfate
            | C::MagnesiumSulfate
            | C::CarbonDioxide => return None,
        },
    })
}

fn explain_unused(product: &Product, not_done: &mut Vec<NotDone>) {
    let why = match product.substance {
        Substance::Chemical(Chemical::Trichlor) => {
            say!(
                "care-trichlor",
                "Trichlor is strongly acid and dissolves for days: it bleaches and corrodes a hot tub, and its cyanuric acid stays."
            )
        }
        Substance::Chemical(Chemical::Monopersulfate) => {
            say!(
                "care-monopersulfate",
                "Monopersulfate oxidises bather waste but adds no chlorine, lowers pH and makes total chlorine tests read high; \
             use it by its label after bathing, not to correct a reading."
            )
        }
        _ => return,
    };
    // Said once, of all of them.
    match not_done.iter_mut().find(|n| n.why == why) {
        Some(said) if said.what.split(" or ").any(|n| n.trim_start_matches("Use ") == product.name) => {}
        Some(said) => {
            let what = std::mem::take(&mut said.what);
            let product = Text::name(product.name.clone());
            said.what = say!("care-or-use", "{use_it} or {product}", use_it = what, product = product);
        }
        None => not_done.push(NotDone {
            what: say!("care-use", "Use {product}", product = Text::name(product.name.clone())),
            why,
        }),
    }
}

/// What one gram adds, as the plan counts it: thiosulfate and peroxide with the chlorine they take. `water::addition`
/// follows the equations instead: with chlorine in excess four moles of it for one of thiosulfate (to sulfate), with
/// little down to a half (to tetrathionate). What a tub does lies between; the plan counts the usual yield and, since a
/// gram may take up to four times as much, adds half, has it tested, and then the rest.
fn effect_per_gram(product: &Product, bromine: bool) -> Totals {
    let active = product.active_mol_per_g;
    match product.substance {
        // One mole of chlorine a mole of thiosulfate, to sulfur and sulfate: the usual yield (from memory).
        Substance::Chemical(Chemical::SodiumThiosulfate) => Totals {
            alkalinity: -active,
            free_chlorine: -active,
            chloride: active,
            sodium: 2.0 * active,
            sulfate: active,
            ..Totals::default()
        },
        Substance::Chemical(Chemical::HydrogenPeroxide) => {
            Totals { alkalinity: -active, free_chlorine: -active, chloride: active, ..Totals::default() }
        }
        _ => per_gram(product, bromine),
    }
}

fn a_move(index: usize, product: &Product, role: Role, problem: &Problem) -> Option<Move> {
    let per_gram = effect_per_gram(product, problem.bromine);
    let smallest_g = product.measure.smallest_g();
    if !(smallest_g.is_finite() && smallest_g > 0.0) {
        return None;
    }
    let per_kg = |grams: f64| Totals::default().plus(&per_gram, grams / problem.volume_l);
    let target = match role {
        Role::Disinfect | Role::Dechlorinate if problem.bromine => Q::TotalBromine,
        Role::Disinfect | Role::Dechlorinate => Q::FreeChlorine,
        Role::Stabilise => Q::CyanuricAcid,
        Role::Borate => Q::Borate,
        Role::Calcium => Q::CalciumHardness,
        Role::Salt => Q::Salt,
        Role::Alkalinity | Role::AcidBase => Q::TotalAlkalinity,
        Role::Bromide => return None,
    };
    let goal = &problem.goals[problem.goal(target)?];
    let effect = linear(target, &per_kg(1.0))?;
    // How far a product may move its quantity: to the band's far edge from anywhere it may start.
    let values = || problem.starts.iter().map(|s| s.values[problem.goal(target).unwrap_or(0)]);
    let highest = values().fold(f64::NEG_INFINITY, f64::max);
    let lowest = values().fold(f64::INFINITY, f64::min);
    let range = match (role, effect < 0.0) {
        (Role::AcidBase, true) => acid_range_mg_l(problem, highest),
        (Role::Dechlorinate, _) => highest - goal.low,
        (Role::AcidBase, false) => goal.high - lowest,
        // No further than the aim: a dose is not a lever for another quantity.
        _ => goal.aim.map_or(goal.high, |(_, high)| high) - lowest,
    };
    let room_g = (range / effect.abs()).max(0.0).min(product.stock_g.unwrap_or(f64::INFINITY));
    let width = match goal.aim {
        // Acid and base no finer than what a colour comparator could show.
        _ if role == Role::AcidBase => {
            mg_l_caco3_from_eq_kg(FINEST_PH / problem.ph_slopes_now.0.abs().max(1.0))
        }
        Some((low, high)) => (FINEST.0 * (high - low)).max(FINEST.1 * (goal.high - goal.low)),
        None => 0.0,
    };
    let most = if role == Role::AcidBase { MOST_UNITS_LAST } else { MOST_UNITS };
    let finest_g = (width / effect.abs()).max(room_g / f64::from(most));
    let unit_g = smallest_g * multiple(product.measure.kind, finest_g / smallest_g);
    let max_units = (room_g / unit_g + 1e-9) as u32;
    // A measure too coarse for the aim may still end inside the band.
    let one_fits = unit_g * effect.abs() <= goal.high - lowest && product.stock_g.is_none_or(|s| s >= unit_g);
    let max_units = if max_units == 0 && one_fits && role != Role::AcidBase { 1 } else { max_units };
    Some(finish(index, product, per_kg(unit_g), unit_g, max_units, problem))
}

/// Alkalinity that acid may take, mg/L as CaCO3: with airing nearly all of it, without only as much as keeps the pH at
/// its floor once the disinfectant has lifted it.
fn acid_range_mg_l(problem: &Problem, alkalinity_mg_l: f64) -> f64 {
    if problem.stops.len() > 1 {
        return 0.9 * alkalinity_mg_l.max(10.0) + 20.0;
    }
    let to_floor = problem.starts.iter().filter_map(|s| {
        let end = problem.at.with_alkalinity_of(&s.totals, water::Ph(PH_FLOOR)).ok()?;
        Some(mg_l_caco3_from_eq_kg(s.totals.alkalinity - end.totals.alkalinity))
    });
    to_floor.fold(0.0, f64::max) + disinfectant_alkalinity_mg_l(problem)
}

/// Alkalinity that the strongest dose of a disinfectant may bring (hypochlorite, one equivalent a mole), whatever is on
/// the shelf: a product more must not change what the others can be measured by.
fn disinfectant_alkalinity_mg_l(problem: &Problem) -> f64 {
    let (q, molar_mass) = match problem.bromine {
        true => (Q::TotalBromine, molar_mass::BR2),
        false => (Q::FreeChlorine, molar_mass::CL2),
    };
    let Some(i) = problem.goal(q) else { return 0.0 };
    let lowest = problem.starts.iter().map(|s| s.values[i]).fold(f64::INFINITY, f64::min);
    mg_l_caco3_from_eq_kg(mol_kg_from_mg_l((problem.goals[i].high - lowest).max(0.0), molar_mass))
}

/// Bromide below this is no bank: 16 mg/L.
const LEAST_BROMIDE_MOL_KG: f64 = 2e-4;

/// A bank of 30 mg/L bromide, where a bromine tub lacks it and the shelf has it.
fn bank(case: &Case, problem: &Problem) -> Option<Move> {
    let of_bromide = |p: &&Product| p.substance == Substance::Chemical(Chemical::SodiumBromide);
    let index = case.shelf.iter().position(|p| of_bromide(&p))?;
    let product = &case.shelf[index];
    let per_g = Totals::default().plus(&per_gram(product, true), 1.0 / problem.volume_l);
    let needed_g = mol_kg_from_mg_l(30.0, molar_mass::BR) / per_g.bromide;
    let smallest_g = product.measure.smallest_g();
    let unit_g = smallest_g * (needed_g / smallest_g).round().max(1.0);
    (unit_g.is_finite() && product.stock_g.is_none_or(|s| s >= unit_g))
        .then(|| finish(index, product, Totals::default().plus(&per_g, unit_g), unit_g, 1, problem))
}

fn finish(
    index: usize,
    product: &Product,
    per_unit: Totals,
    unit_g: f64,
    max_units: u32,
    problem: &Problem,
) -> Move {
    let effect = problem.goals.iter().map(|g| lasting_effect(g.quantity, &per_unit)).collect();
    let price = product.price_per_kg.unwrap_or_else(|| nominal_price_per_kg(product));
    Move { product: index, unit_g, per_unit, effect, max_units, cost: price * unit_g / 1000.0 }
}

/// What a dose does to a goal. Alkalinity is judged by what stays once the dose's chlorine has been used: hypochlorite
/// lifts it for a day and gives it back, dichlor takes some.
fn lasting_effect(q: Q, dose: &Totals) -> f64 {
    match q {
        Q::TotalAlkalinity => mg_l_caco3_from_eq_kg(dose.alkalinity - dose.free_chlorine),
        _ => linear(q, dose).unwrap_or(0.0),
    }
}

/// What an unpriced kilogram counts in choosing between equals (judgement, relative).
fn nominal_price_per_kg(product: &Product) -> f64 {
    match product.substance {
        Substance::Chemical(Chemical::SodiumChloride) => 1.0,
        Substance::Chemical(Chemical::SodiumBicarbonate | Chemical::SodiumHypochlorite) => 3.0,
        Substance::Chemical(Chemical::Dichlor | Chemical::CalciumHypochlorite | Chemical::CyanuricAcid) => {
            10.0
        }
        _ => 5.0,
    }
}

/// The next handy multiple of the smallest measure: doubling for capfuls, 1-2-5 for scale and jug.
fn multiple(kind: MeasureKind, at_least: f64) -> f64 {
    let steps: &[f64] = match kind {
        MeasureKind::Scale | MeasureKind::Millilitres => &[1.0, 2.0, 5.0],
        MeasureKind::Capful | MeasureKind::Scoop | MeasureKind::Tablet => &[1.0, 2.0, 4.0],
    };
    let factor = if steps[2] == 5.0 { 10.0 } else { 8.0 };
    let mut scale = 1.0;
    for _ in 0..12 {
        for step in steps {
            if scale * step >= at_least * (1.0 - 1e-9) {
                return scale * step;
            }
        }
        scale *= factor;
    }
    scale
}

/// pH at which airing may stop: the aim's lower end, middle and upper end, where airing is any use.
fn stops(est: &Estimated, problem: &mut Problem, needs: &Needs) {
    let Some(ph) = problem.goal(Q::Ph) else { return };
    if needs.test_first.contains(&Q::Ph) {
        return;
    }
    let goal = &problem.goals[ph];
    let (aim_low, aim_high) = goal.aim.unwrap_or((goal.low, goal.high));
    // A little low, it mends itself within a day (common practice); airing is for a pH that closes the tub.
    let low_ph = needs.act.contains(&Q::Ph) && est.value(Q::Ph) < goal.bathing.0.max(PH_FLOOR);
    let start_up = est.kind == PlanKind::StartUp && est.value(Q::Ph) < aim_low;
    let lower_alkalinity = problem.goal(Q::TotalAlkalinity).is_some_and(|i| {
        needs.act.contains(&Q::TotalAlkalinity) && est.value(Q::TotalAlkalinity) > problem.goals[i].high
    });
    if low_ph || start_up || lower_alkalinity {
        let middle = 0.5 * (aim_low + aim_high);
        problem.stops.extend([aim_low, middle, aim_high].map(|p| Some((p * 10.0).round() / 10.0)));
        problem.stops.dedup();
    }
}
