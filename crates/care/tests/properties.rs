//! What holds for every plan, on random cases: 100 000 in all (most with small shelves, which are quick).

#[allow(dead_code, reason = "shared with the unit tests and the benchmark")]
#[path = "support/random_case.rs"]
mod random_case;

use care::case::{Case, Product, Substance};
use care::chem::per_gram;
use care::estimate::{Estimated, estimate};
use care::plan::{Plan, Step, StepKind};
use care::planner::{Judged, judged, plan};
use care::quantity::Quantity as Q;
use care::wire::plan::PlanOut;
use random_case::{Random, Water, kit, random_case};
use water::{Chemical, Totals};

const WATERS: [Water; 3] = [Water::Plain, Water::AllOut, Water::Wild];

fn small_case(random: &mut Random, number: usize) -> Case {
    let products = random.below(5);
    random_case(random, WATERS[number % 3], products)
}

/// 60 000 cases in three parts, so that they run side by side: no step breaks a rule, nothing is lost or made, amounts
/// can be measured, figures are figures.
fn every_plan_is_sound(seed: u64) {
    let mut random = Random::seeded(seed);
    let (mut plans, mut additions, mut airings, mut replaced) = (0, 0, 0, 0);
    for number in 0..20_000 {
        let case = small_case(&mut random, number);
        let Ok(plan) = plan(&case) else { continue };
        // More carbon dioxide than at one atmosphere is soda water under pressure, not a tub: planned without a panic, no more.
        let Ok(est) = estimate(&case) else { continue };
        if est.at.co2_partial_pressure_atm(&est.water) > 1.0 {
            continue;
        }
        plans += 1;
        let at = format!("seed {seed}, case {number}");
        figures_are_figures(&plan, &at);
        follow(&case, &est, &plan, &at);
        additions += plan.steps.iter().filter(|s| dosed(s)).count();
        airings += plan.steps.iter().filter(|s| s.kind == StepKind::LeaveOpen).count();
        replaced += plan.steps.iter().filter(|s| s.kind == StepKind::ReplaceWater).count();
    }
    println!("{plans} plans, {additions} additions, {airings} airings, {replaced} with water replaced");
    assert!(plans > 15_000 && additions > 10_000 && airings > 100 && replaced > 500);
}

#[test]
fn every_plan_is_sound_1() {
    every_plan_is_sound(1);
}

#[test]
fn every_plan_is_sound_2() {
    every_plan_is_sound(2);
}

#[test]
fn every_plan_is_sound_3() {
    every_plan_is_sound(3);
}

fn dosed(step: &Step) -> bool {
    step.kind == StepKind::Add && step.mass_g.is_some()
}

fn figures_are_figures(plan: &Plan, at: &str) {
    assert!(plan.cost.is_finite() && plan.cost >= 0.0, "{at}: cost {}", plan.cost);
    for r in &plan.risks {
        assert!((0.0..=1.0).contains(&r.below) && (0.0..=1.0).contains(&r.above), "{at}: {r:?}");
        assert!(r.below + r.above <= 1.0 + 1e-9, "{at}: {r:?}");
    }
    for step in &plan.steps {
        assert!(step.wait_min.is_finite() && step.wait_min >= 0.0, "{at}");
        assert!(step.mass_g.is_none_or(|g| g.is_finite() && g > 0.0), "{at}: {:?}", step.mass_g);
        for e in &step.water_after.quantities {
            let figures = [e.value, e.standard_error, e.low, e.high];
            assert!(figures.iter().all(|f| f.is_finite()), "{at}: {e:?}");
            assert!(e.standard_error >= 0.0 && e.low <= e.high, "{at}: {e:?}");
        }
    }
}

/// Goes through the steps and checks each against the water before it.
fn follow(case: &Case, est: &Estimated, plan: &Plan, at: &str) {
    let equilibria = &est.at;
    let threshold = plan.bands.iter().find(|(q, _)| *q == Q::SaturationIndex).map_or(0.3, |(_, b)| b.high);
    let mut before = &plan.before;
    let mut undisturbed = before.water;
    for step in &plan.steps {
        let after = &step.water_after;
        let (from, to) = (before.totals, after.totals);
        let (ph, ph_before) = (after.water.ph().0, before.water.ph().0);
        let index = |w: &water::Speciation| {
            if w.has_calcium() { equilibria.calcite_saturation_index(w) } else { -9.0 }
        };
        let at = format!("{at}, step {}", step.order);
        match step.kind {
            StepKind::Add => {
                let Some(mass_g) = step.mass_g else { continue }; // by its label: nothing is predicted
                let product = product(case, step);
                let units = mass_g / product.measure.smallest_g();
                assert!((units - units.round()).abs() < 1e-6 * units.max(1.0), "{at}: {units} measures");
                let added = effect(product, case, mass_g);
                close(&from.plus(&added, 1.0), &to, &at);
                // What our doing may not do to the water.
                let salt = matches!(
                    product.substance,
                    Substance::MineralSalt
                        | Substance::Chemical(
                            Chemical::SodiumChloride | Chemical::CalciumChloride | Chemical::SodiumBromide
                        )
                );
                let floor = if salt { ph_before.min(6.8) - 0.12 } else { 6.8 };
                assert!(ph >= floor - 1e-6 || ph >= ph_before - 1e-3, "{at}: pH {ph_before} to {ph}");
                let ceiling = if salt { ph_before.max(8.2) + 0.12 } else { 8.2 };
                assert!(ph <= ceiling + 1e-6 || ph <= ph_before + 1e-3, "{at}: pH {ph_before} to {ph}");
                let (i, i_before) = (index(&after.water), index(&before.water));
                assert!(
                    i <= threshold + 1e-6 || i <= i_before + 0.02 + 1e-6,
                    "{at}: index {i_before} to {i}"
                );
                let acid = per_gram(product, false).alkalinity < 0.0;
                if !acid {
                    undisturbed = after.water;
                }
            }
            StepKind::LeaveOpen => {
                assert!(to.carbon < from.carbon, "{at}: airing takes carbon away");
                close(&Totals { carbon: to.carbon, ..from }, &to, &at);
                assert!((ph - step.until_ph.expect("airing has a pH")).abs() < 1e-4, "{at}");
                assert!(equilibria.co2_partial_pressure_atm(&after.water) >= 4.24e-4, "{at}");
                let (i, i_before) = (index(&after.water), index(&undisturbed));
                assert!(
                    i <= threshold + 1e-6 || i <= i_before + 0.02 + 1e-6,
                    "{at}: index {i_before} to {i}"
                );
            }
            StepKind::ReplaceWater => {
                let share = step.share.expect("replacing has a share");
                close(&from.mixed_with(&est.source.expect("replacing has a source"), share), &to, &at);
                undisturbed = after.water;
                if share >= 1.0 {
                    // What follows is a new fill's plan, which starts from the source water itself.
                    return;
                }
            }
            _ => close(&from, &to, &at),
        }
        assert!(to.charge_imbalance().abs() < 1e-9, "{at}: charge {}", to.charge_imbalance());
        let solved = after.water.charge_imbalance_percent();
        assert!(solved.abs() < 1e-3, "{at}: charge of the species {solved} %");
        before = after;
    }
}

fn product<'a>(case: &'a Case, step: &Step) -> &'a Product {
    case.shelf.iter().find(|p| Some(&p.name) == step.product.as_ref()).expect("on the shelf")
}

/// What grams of a product do: their own substance, and for what takes chlorine away the chloride that is left of it.
fn effect(product: &Product, case: &Case, mass_g: f64) -> Totals {
    let bromine = case.tub.regime == care::band::Regime::Bromine;
    let per_kg = mass_g / case.tub.volume_l;
    let taken = product.active_mol_per_g * per_kg;
    let used_chlorine =
        Totals { alkalinity: -taken, free_chlorine: -taken, chloride: taken, ..Totals::default() };
    match product.substance {
        Substance::Chemical(Chemical::HydrogenPeroxide) => used_chlorine,
        // S2O3-2 + Cl2 → S + SO4-2 …: the sulfate keeps the charge of the thiosulfate.
        Substance::Chemical(Chemical::SodiumThiosulfate) => {
            Totals { sodium: 2.0 * taken, sulfate: taken, ..used_chlorine }
        }
        _ => Totals::default().plus(&per_gram(product, bromine), per_kg),
    }
}

fn close(expected: &Totals, actual: &Totals, at: &str) {
    for ((a, b), name) in expected.to_array().into_iter().zip(actual.to_array()).zip(Totals::FIELDS) {
        assert!((a - b).abs() < 1e-9 + 1e-9 * a.abs(), "{at}: {name} {a} expected, {b} predicted");
    }
}

fn not_worse(a: &Judged, b: &Judged) -> bool {
    let (a, b) = (a.plan, b.plan);
    a.ranks < b.ranks || (a.ranks == b.ranks && a.cost <= b.cost + 1e-6)
}

/// 20 000 cases: by the plan's own objective.
#[test]
fn a_plan_is_never_worse_than_doing_nothing() {
    let mut random = Random::seeded(4);
    let mut better = 0;
    for number in 0..20_000 {
        let case = small_case(&mut random, number);
        let Ok(Some(judged)) = judged(&case) else { continue };
        let (plan, nothing) = (judged.plan, judged.nothing);
        assert!(plan.ranks < nothing.ranks || plan == nothing, "case {number}: {judged:?}");
        better += usize::from(plan.ranks < nothing.ranks);
    }
    assert!(better > 5_000, "{better}");
}

/// 5 000 cases, each planned twice: the same text to the last digit.
#[test]
fn the_same_input_gives_the_same_plan() {
    let mut random = Random::seeded(5);
    for number in 0..5_000 {
        let case = small_case(&mut random, number);
        let text = |case: &Case| {
            let plan = plan(case).ok()?;
            Some(serde_json::to_string(&PlanOut::of(&plan).ok()?).unwrap())
        };
        assert_eq!(text(&case), text(&case.clone()), "case {number}");
    }
}

/// 5 000 cases, each with a product more.
#[test]
fn more_on_the_shelf_never_gives_a_worse_plan() {
    let mut random = Random::seeded(6);
    let mut better = 0;
    for number in 0..5_000 {
        let products = 2 + random.below(4);
        let more = random_case(&mut random, WATERS[number % 3], products);
        let mut less = more.clone();
        less.shelf.remove(random.below(products));
        let (Ok(Some(more)), Ok(Some(less))) = (judged(&more), judged(&less)) else { continue };
        assert!(not_worse(&more, &less), "case {number}: {less:?} became {more:?}");
        better += usize::from(more.plan.ranks < less.plan.ranks);
    }
    assert!(better > 500, "{better}");
}

/// 5 000 cases, read with a kit and with one of half its errors (the volume's error halved too). Certainty is the third
/// rank: the levels of expected misses under the errors, given the two before it. It is compared where both plans act for
/// the same quantities with the same products: a better kit may see a miss that the other could not, and may see that
/// nothing is low where the other had to reckon with it.
#[test]
fn a_smaller_error_never_gives_a_less_certain_plan() {
    let mut random = Random::seeded(7);
    let (mut compared, mut better) = (0, 0);
    for number in 0..5_000 {
        let rough = small_case(&mut random, number);
        let factor = random.between(0.6, 2.0);
        let rough = Case { methods: vec![kit(factor)], ..rough };
        let mut fine = Case { methods: vec![kit(0.5 * factor)], ..rough.clone() };
        fine.tub.volume_error *= 0.5;
        let (Ok(Some(rough)), Ok(Some(fine))) = (judged(&rough), judged(&fine)) else { continue };
        let same = rough.act == fine.act && rough.test_first == fine.test_first;
        if !same || rough.products != fine.products {
            continue;
        }
        compared += 1;
        assert!(fine.plan.ranks[..3] <= rough.plan.ranks[..3], "case {number}: {rough:?} became {fine:?}");
        better += usize::from(fine.plan.ranks[..3] < rough.plan.ranks[..3]);
    }
    assert!(compared > 2_000 && better > 500, "{compared} {better}");
}

/// 5 000 cases: twice the water and measures of twice the size are twice the doses, exactly.
#[test]
fn twice_the_volume_takes_twice_the_doses() {
    let mut random = Random::seeded(8);
    let mut doses = 0;
    for number in 0..5_000 {
        let one = small_case(&mut random, number);
        let mut two = one.clone();
        two.tub.volume_l *= 2.0;
        for product in &mut two.shelf {
            product.measure.grams_each *= 2.0;
            product.stock_g = product.stock_g.map(|g| 2.0 * g);
        }
        let (Ok(one), Ok(two)) = (plan(&one), plan(&two)) else { continue };
        let masses =
            |p: &Plan| p.steps.iter().map(|s| (s.kind, s.product.clone(), s.mass_g)).collect::<Vec<_>>();
        let doubled: Vec<_> = masses(&one).into_iter().map(|(k, p, g)| (k, p, g.map(|g| 2.0 * g))).collect();
        assert_eq!(doubled, masses(&two), "case {number}");
        doses += doubled.iter().filter(|(.., g)| g.is_some()).count();
    }
    assert!(doses > 3_000, "{doses}");
}
