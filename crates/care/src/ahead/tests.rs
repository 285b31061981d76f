//! The plan ahead against the draws that it is made for, and against the plan for the water of the moment.

use super::*;
use crate::case::{Entry, Happening, Raw, Reading, When};
use crate::learn::learn;
use crate::wire::case::CaseText;

/// An invented tub, dosed by hand, whose pH climbs and whose chlorine goes.
const TUB: &str = r#"
[tub]
name = "Willow Row (invented)"
volume_l = 1300
temperature_c = 38
regime = "chlorine"
place = "home"

[source_water]
name = "town supply (invented)"
ph = 7.6
total_alkalinity_mg_l_caco3 = 140
calcium_hardness_mg_l_caco3 = 150
sodium_mg_l = 15
chloride_mg_l = 25
sulfate_mg_l = 30

[[shelf]]
chemical = "sodium-bisulfate"
name = "dry acid"
purity_percent = 93
measure = { kind = "scale", smallest = 1 }

[[shelf]]
chemical = "sodium-bicarbonate"
name = "alkalinity up"
purity_percent = 99
measure = { kind = "scale", smallest = 1 }

[[shelf]]
chemical = "sodium-hypochlorite"
name = "liquid chlorine"
available_chlorine_percent = 12
density_g_ml = 1.2
measure = { kind = "millilitres", smallest = 1 }
"#;

fn case(entries: &str) -> Case {
    let text = format!("{TUB}\n{entries}");
    CaseText::parse(text.as_bytes(), "test").finish(None).unwrap_or_else(|p| panic!("{p:?}"))
}

fn reading(day: u32, quantity: &str, value: f64) -> String {
    let at = format!("2026-05-{:02}T08:00:00Z", 1 + day);
    format!("[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nvalue = {value}\n")
}

/// A fill, and looks every other day: pH climbs by a third between them, free chlorine falls to a half.
fn climbing(days: u32) -> Case {
    let mut all = "[[event]]\nat = 2026-05-01T08:00:00Z\nkind = \"fill\"\n".to_owned();
    all += &reading(0, "total_alkalinity", 138.0);
    for day in (2..=days).step_by(2) {
        let at = format!("2026-05-{:02}T08:10:00Z", 1 + day);
        all += &reading(day, "ph", 7.85);
        all += &reading(day, "free_chlorine", 2.4);
        all += &format!("[[dose]]\nat = {at}\nproduct = \"dry acid\"\nmass_g = 32\n");
        all += &format!("[[dose]]\nat = {at}\nproduct = \"liquid chlorine\"\nmass_g = 35\n");
    }
    let mut case = case(&all);
    case.now = case.entries.iter().filter_map(|e| e.at).max().map(|at| When(at.0 + 60));
    case
}

/// Mean miss of pH and free chlorine over the draws until the next look, in the plan's own measure.
fn miss(case: &Case, learned: &Learned, plan: &Plan, until_h: f64) -> f64 {
    let bands = bands_of(case).expect("bands").0;
    let paths = learned.paths(&hours(until_h), &learned.expected(), &deeds(case, plan), 7);
    let count: usize = paths.iter().map(Vec::len).sum();
    let of = |q: Q| -> f64 {
        let band = &bands.iter().find(|(b, _)| *b == q).expect("a band").1;
        let goal = crate::planner::Goal::new(q, band, None, (0.0, f64::INFINITY));
        paths.iter().flatten().filter_map(|f| figure_of(q, f)).map(|x| goal.band_miss(x)).sum()
    };
    (of(Q::Ph) + of(Q::FreeChlorine)) / count as f64
}

#[test]
fn doses_aimed_ahead_miss_less_until_the_next_look() {
    let case = climbing(12);
    let learned = learn(&case, 1).expect("learnt");
    let aimed = plan(&case, &learned, Some(48.0), 1).expect("a plan");
    let still = crate::planner::plan(&case).expect("a plan");
    let ahead = aimed.ahead.as_ref().expect("it looks ahead");
    assert!(ahead.aimed && (ahead.until_h - 48.0).abs() < 1e-9);
    // Other chance than the plan's own: it must not only fit the draws that it chose by.
    let (with, without) = (miss(&case, &learned, &aimed, 48.0), miss(&case, &learned, &still, 48.0));
    assert!(with < 0.8 * without, "ahead {with:.3}, for the moment {without:.3}");
    let target = ahead.targets.iter().find(|t| t.quantity == Q::Ph).expect("pH has a target");
    assert!(
        target.level < 7.5 && target.at_look > target.level + 0.05,
        "a little low where it climbs: {target:?}"
    );
}

#[test]
fn the_further_the_next_look_the_more_is_laid_in() {
    let case = climbing(12);
    let learned = learn(&case, 1).expect("learnt");
    let level = |look_h: f64| {
        let ahead = plan(&case, &learned, Some(look_h), 1).expect("a plan").ahead.expect("ahead");
        let of = |q: Q| ahead.targets.iter().find(|t| t.quantity == q).expect("a target").level;
        (of(Q::Ph), of(Q::FreeChlorine))
    };
    let (soon, late) = (level(24.0), level(96.0));
    assert!(late.0 <= soon.0 && late.1 >= soon.1, "{soon:?} {late:?}");
    assert!(late.1 > soon.1, "{soon:?} {late:?}");
}

/// Where the usual gap is longer than the plan's own next look, the water is foreseen for that look; where somebody has told
/// when the next look will be, for then.
#[test]
fn what_is_foreseen_is_the_water_of_the_look_that_the_plan_asks_for() {
    let mut all = "[[event]]\nat = 2026-05-01T08:00:00Z\nkind = \"fill\"\n".to_owned();
    all += &reading(0, "total_alkalinity", 138.0);
    for day in [8, 16, 24] {
        all += &reading(day, "ph", 7.85);
        all += &reading(day, "free_chlorine", 2.4);
    }
    let mut case = case(&all);
    case.now = case.entries.iter().filter_map(|e| e.at).max();
    let learned = learn(&case, 1).expect("learnt");
    let own = plan(&case, &learned, None, 1).expect("a plan");
    let ahead = own.ahead.expect("ahead");
    assert!(ahead.aimed && ahead.until_h > 150.0, "{}", ahead.until_h);
    assert!(own.look_again.after_hours < ahead.until_h);
    assert_eq!(ahead.at_look_h, own.look_again.after_hours);
    let told = plan(&case, &learned, Some(192.0), 1).expect("a plan").ahead.expect("ahead");
    assert_eq!((told.at_look_h, told.until_h), (192.0, 192.0));
    let chlorine =
        |a: &Ahead| a.at_look.iter().find(|l| l.quantity == Q::FreeChlorine).expect("chlorine").range[1];
    assert!(chlorine(&ahead) > chlorine(&told) + 0.1, "less of it is gone sooner");
}

/// The look that the plan asks for is the first of those laid out, and the later ones are the same.
fn one_next_look(plan: &Plan) {
    let laid_out = &plan.ahead.as_ref().expect("ahead").schedule;
    let (first, later) = laid_out.split_first().expect("a new fill");
    assert_eq!((first.after_h, &first.measure), (plan.look_again.after_hours, &plan.look_again.quantities));
    assert_eq!(later.iter().map(|l| l.after_h).collect::<Vec<_>>(), plan.look_again.then_hours);
}

#[test]
fn until_somebody_has_looked_twice_the_doses_are_for_the_moment() {
    let case = climbing(0);
    let plan = plan_case(&case, None, 1).expect("a plan");
    let still = crate::planner::plan(&case).expect("a plan");
    let ahead = plan.ahead.as_ref().expect("tubs in general");
    assert!(!ahead.aimed && ahead.volume_l.is_none());
    let grams = |p: &Plan| p.steps.iter().map(|s| (s.product.clone(), s.mass_g)).collect::<Vec<_>>();
    assert_eq!(grams(&plan), grams(&still));
    let (look, own) = (&plan.look_again, &still.look_again);
    assert_eq!((look.after_hours, &look.quantities, &look.why), (own.after_hours, &own.quantities, &own.why));
    one_next_look(&plan);
}

#[test]
fn a_new_fill_has_its_looks_and_every_reading_makes_them_anew() {
    let case = climbing(4);
    let plan = plan_case(&case, None, 1).expect("a plan");
    one_next_look(&plan);
    let first = plan.ahead.expect("ahead").schedule;
    assert!(!first.is_empty());
    let ends_h = 24.0 * schedule::NEW_FILL_DAYS - 4.0 * 24.0;
    let mut last = 0.0;
    for look in &first {
        let gap = look.after_h - last;
        let shortest = if last == 0.0 { 24.0 } else { 48.0 };
        assert!((shortest - 1e-9..=96.0 + 1e-9).contains(&gap) && look.after_h <= ends_h + 1.0, "{look:?}");
        assert!(look.measure.contains(&Q::Ph) && look.measure.contains(&Q::FreeChlorine));
        last = look.after_h;
    }
    // Free chlorine read far lower than it should be: more of it will be needed.
    let mut hungry = case.clone();
    for e in &mut hungry.entries {
        if let Happening::Reading(r) = &mut e.what
            && r.quantity == Q::FreeChlorine
        {
            r.raw = Raw::Value(0.4);
        }
    }
    let then = plan_case(&hungry, None, 1).expect("a plan").ahead.expect("ahead").schedule;
    let chlorine = |looks: &[Look]| -> f64 {
        let doses = looks.iter().flat_map(|l| &l.doses).filter(|n| n.name == "liquid chlorine");
        doses.map(|n| n.grams[1]).sum::<f64>() / looks.len() as f64
    };
    assert!(chlorine(&then) > 1.2 * chlorine(&first), "{} {}", chlorine(&then), chlorine(&first));
}

#[test]
fn within_a_look_the_targets_stay() {
    let case = climbing(12);
    let first = plan_case(&case, Some(48.0), 1).expect("a plan");
    let ahead = first.ahead.as_ref().expect("ahead");
    let mut later = case.clone();
    let at = case.now.map(|now| When(now.0 + 1800));
    let what = Happening::Reading(Reading { raw: Raw::Value(7.3), ..reading_of_ph(&case) });
    later.entries.push(Entry { at, what });
    later.now = at;
    let again = plan_again(&later, ahead).expect("a plan");
    assert_eq!(again.ahead.as_ref().map(|a| &a.targets), Some(&ahead.targets));
}

fn reading_of_ph(case: &Case) -> Reading {
    let of = |e: &Entry| match &e.what {
        Happening::Reading(r) if r.quantity == Q::Ph => Some(r.clone()),
        _ => None,
    };
    case.entries.iter().find_map(of).expect("pH was read")
}
