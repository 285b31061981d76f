//! From a case's text to its plan, and what the tests ask of a plan.

#![allow(dead_code)] // each test file uses its own part of this

use care::case::Case;
use care::plan::{Plan, Snapshot, Step, StepKind};
use care::planner;
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;

/// The scenario files, by name.
pub(crate) const SCENARIOS: [(&str, &str); 8] = [
    ("k1-hillside-cabin", include_str!("../../../../reference/scenarios/k1-hillside-cabin.toml")),
    ("k2-harbour-studio", include_str!("../../../../reference/scenarios/k2-harbour-studio.toml")),
    ("k3-ferry-road-terrace", include_str!("../../../../reference/scenarios/k3-ferry-road-terrace.toml")),
    ("k4-birch-lane-refill", include_str!("../../../../reference/scenarios/k4-birch-lane-refill.toml")),
    (
        "k4-birch-lane-hyperchlorination",
        include_str!("../../../../reference/scenarios/k4-birch-lane-hyperchlorination.toml"),
    ),
    ("k5-lakeside-lodge", include_str!("../../../../reference/scenarios/k5-lakeside-lodge.toml")),
    ("k6-old-mill-hotel", include_str!("../../../../reference/scenarios/k6-old-mill-hotel.toml")),
    ("k6-old-mill-refill", include_str!("../../../../reference/scenarios/k6-old-mill-refill.toml")),
];

pub(crate) fn scenario(name: &str) -> (Case, Plan) {
    let (_, text) =
        SCENARIOS.iter().find(|(n, _)| *n == name).unwrap_or_else(|| panic!("no scenario {name}"));
    planned(text)
}

pub(crate) fn case(text: &str) -> Case {
    CaseText::parse(text.as_bytes(), "case.toml").finish(None).unwrap_or_else(|problems| {
        panic!("{}\n{text}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    })
}

pub(crate) fn planned(text: &str) -> (Case, Plan) {
    let case = case(text);
    let plan = planner::plan(&case).unwrap_or_else(|e| panic!("{e}\n{text}"));
    (case, plan)
}

pub(crate) fn adds(plan: &Plan) -> impl Iterator<Item = &Step> {
    plan.steps.iter().filter(|s| s.kind == StepKind::Add)
}

/// The additions of one chemical.
pub(crate) fn adds_of<'a>(plan: &'a Plan, chemical: &'a str) -> impl Iterator<Item = &'a Step> {
    adds(plan).filter(move |s| s.chemical == Some(chemical))
}

pub(crate) fn grams(plan: &Plan, chemical: &str) -> f64 {
    adds_of(plan, chemical).filter_map(|s| s.mass_g).sum()
}

pub(crate) fn millilitres(plan: &Plan, chemical: &str) -> f64 {
    adds_of(plan, chemical).filter_map(|s| s.volume_ml).sum()
}

pub(crate) fn value(snapshot: &Snapshot, q: Q) -> f64 {
    let found = snapshot.quantities.iter().find(|e| e.quantity == q);
    found.unwrap_or_else(|| panic!("no {} in the snapshot", q.name())).value
}

/// The water at the end.
pub(crate) fn end(plan: &Plan) -> &Snapshot {
    plan.steps.last().map_or(&plan.before, |s| &s.water_after)
}

/// Minutes from the end of one step to the start of another.
pub(crate) fn minutes_between(plan: &Plan, from: &Step, to: &Step) -> f64 {
    assert!(from.order < to.order, "{} is not before {}", from.order, to.order);
    plan.steps.iter().filter(|s| (from.order..to.order).contains(&s.order)).map(|s| s.wait_min).sum()
}

pub(crate) fn steps_of(plan: &Plan, kind: StepKind) -> Vec<&Step> {
    plan.steps.iter().filter(|s| s.kind == kind).collect()
}

/// Every sentence of a plan with the place it stands in.
pub(crate) fn sentences(plan: &Plan) -> Vec<(String, String)> {
    let mut all = vec![("headline".to_string(), plan.headline.to_string())];
    let mut say = |place: &str, text: &str| all.push((place.to_string(), text.to_string()));
    for s in &plan.steps {
        say(&format!("step {} why", s.order), &s.why);
        for c in &s.cautions {
            say(&format!("step {} caution", s.order), c);
        }
    }
    for m in &plan.out_of_band_after {
        say(&format!("miss of {}", m.quantity.name()), &m.why);
    }
    for n in &plan.not_done {
        say(&format!("not done: {}", n.what), &n.why);
    }
    say("look again", &plan.look_again.why);
    for a in &plan.assumptions {
        say("assumption", a);
    }
    for f in &plan.findings {
        say("finding", &f.what);
        say("advice", &f.advice);
    }
    all.retain(|(_, text)| !text.is_empty());
    all
}

/// Everything that a plan says, in one lower-case text.
pub(crate) fn said(plan: &Plan) -> String {
    let rest = plan
        .steps
        .iter()
        .map(|s| s.measure_text.as_str())
        .chain(plan.not_done.iter().map(|n| n.what.as_str()));
    let sentences = sentences(plan).into_iter().map(|(_, text)| text);
    sentences.chain(rest.map(str::to_string)).collect::<Vec<_>>().join("\n").to_lowercase()
}

pub(crate) fn assert_within(value: f64, (low, high): (f64, f64), what: &str) {
    assert!((low..=high).contains(&value), "{what}: {value} is not within {low} to {high}");
}

/// What every plan must keep, whatever the case.
pub(crate) fn assert_rules_of_every_plan(case: &Case, plan: &Plan, name: &str) {
    for (i, step) in plan.steps.iter().enumerate() {
        let place = format!("{name}, step {}", step.order);
        assert_eq!(step.order, i + 1, "{place}");
        assert!(step.wait_min.is_finite() && step.wait_min >= 0.0, "{place}");
        if step.kind != StepKind::Add {
            continue;
        }
        assert!(step.jets_on, "{place}: an addition without jets");
        assert!(
            step.cautions.iter().any(|c| c.contains("label") && c.contains("local code")),
            "{place}: no caution that defers to label and code"
        );
        assert!(step.wait_min >= case.tub.pump_cycle_min, "{place}: less than one pump cycle");
        let of_this_name: Vec<_> =
            case.shelf.iter().filter(|p| Some(p.name.as_str()) == step.product.as_deref()).collect();
        let [product] = of_this_name[..] else { panic!("{place}: {:?} is not one product", step.product) };
        if let Some(mass_g) = step.mass_g {
            let measures = mass_g / product.measure.smallest_g();
            assert!(
                measures > 0.5 && (measures - measures.round()).abs() < 1e-6,
                "{place}: {measures} measures"
            );
        }
        if let Some(chemical) = step.chemical.filter(|c| OXIDISERS.contains(c)) {
            assert_eq!(step.cover, care::plan::Cover::Open, "{place}: {chemical} with the cover on");
            assert!(step.wait_min >= 20.0, "{place}");
        }
    }
    acid_and_chlorine_keep_apart(plan, name);
    our_doing_keeps_ph(plan, name);
    let volume = format!("{:.0} L", case.tub.volume_l);
    assert!(
        plan.assumptions.iter().any(|a| a.contains(&volume) && a.contains('%')),
        "{name}: volume and its error are not among the assumptions"
    );
    for (place, text) in sentences(plan) {
        for bad in ["NaN", "inf ", "  ", "..", "-0.0 ", " ,", "()"] {
            assert!(!text.contains(bad), "{name}, {place}: {bad:?} in {text}");
        }
        assert!(text.ends_with(['.', ')']) || place == "assumption", "{name}, {place}: no full stop: {text}");
        let small = text.chars().next().is_some_and(char::is_lowercase);
        assert!(!small || text.starts_with("pH"), "{name}, {place}: small letter: {text}");
    }
}

const OXIDISERS: [&str; 5] =
    ["sodium-hypochlorite", "calcium-hypochlorite", "dichlor", "trichlor", "monopersulfate"];
const ACIDS: [&str; 2] = ["sodium-bisulfate", "hydrochloric-acid"];

fn acid_and_chlorine_keep_apart(plan: &Plan, name: &str) {
    let is = |s: &Step, of: &[&str]| s.kind == StepKind::Add && s.chemical.is_some_and(|c| of.contains(&c));
    for acid in plan.steps.iter().filter(|s| is(s, &ACIDS)) {
        for oxidiser in plan.steps.iter().filter(|s| is(s, &OXIDISERS)) {
            assert!(acid.order < oxidiser.order, "{name}: acid after chlorine");
            assert!(minutes_between(plan, acid, oxidiser) >= 30.0, "{name}: acid and chlorine too near");
        }
    }
}

/// No addition of ours takes pH below 6.8 or above 8.2; salts may lower it by their ionic strength, 0.12 at most.
fn our_doing_keeps_ph(plan: &Plan, name: &str) {
    let mut before = value(&plan.before, Q::Ph);
    for step in &plan.steps {
        let after = value(&step.water_after, Q::Ph);
        if step.kind == StepKind::Add {
            let salt = step.chemical.is_some_and(|c| {
                ["sodium-chloride", "calcium-chloride", "magnesium-chloride", "sodium-bromide"].contains(&c)
            });
            let floor = if salt { 6.8_f64.min(before) - 0.12 } else { 6.8 };
            assert!(
                after >= floor - 1e-6 || after >= before - 1e-6,
                "{name}, step {}: pH {before} to {after}",
                step.order
            );
            assert!(
                after <= 8.2 + 1e-6 || after <= before + 1e-6,
                "{name}, step {}: pH {before} to {after}",
                step.order
            );
        }
        before = after;
    }
}

/// A compact page of a plan: what is done, how much, and the water after each step.
pub(crate) fn page(plan: &Plan) -> String {
    let mut out = format!("{}\n", plan.headline);
    let water = |s: &Snapshot| {
        let of = |q: Q, decimals: usize| {
            let found = s.quantities.iter().find(|e| e.quantity == q);
            found.map_or("-".to_string(), |e| format!("{:.decimals$}", e.value))
        };
        let chlorine = match s.quantities.iter().any(|e| e.quantity == Q::TotalBromine) {
            true => format!("total bromine {}", of(Q::TotalBromine, 1)),
            false => format!("free chlorine {}", of(Q::FreeChlorine, 1)),
        };
        format!(
            "pH {}, {chlorine}, alkalinity {}, hardness {}, saturation {}",
            of(Q::Ph, 2),
            of(Q::TotalAlkalinity, 0),
            of(Q::CalciumHardness, 0),
            of(Q::SaturationIndex, 2)
        )
    };
    out += &format!("   now: {}\n", water(&plan.before));
    for s in &plan.steps {
        let product = s.product.as_deref().map_or(String::new(), |p| format!(" {p}"));
        let mass = s.mass_g.map_or(String::new(), |g| format!(" ({g:.0} g)"));
        let text = if s.measure_text.is_empty() { String::new() } else { format!(": {}", s.measure_text) };
        out += &format!("{:2} {:?}{product}{text}{mass}; wait {:.0} min\n", s.order, s.kind, s.wait_min);
        out += &format!("   {}\n", s.why);
        if s.kind == StepKind::Add || s.kind == StepKind::LeaveOpen || s.kind == StepKind::ReplaceWater {
            out += &format!("   after: {}\n", water(&s.water_after));
        }
    }
    for m in &plan.out_of_band_after {
        out += &format!("outside: {} {:.2}. {}\n", m.quantity.name(), m.value, m.why);
    }
    for n in &plan.not_done {
        out += &format!("not done: {}. {}\n", n.what, n.why);
    }
    for f in &plan.findings {
        out += &format!("found: {} {}\n", f.what, f.advice);
    }
    let then: Vec<String> = plan.look_again.then_hours.iter().map(|h| format!("{h:.0} h")).collect();
    let names: Vec<&str> = plan.look_again.quantities.iter().map(|q| q.name()).collect();
    out += &format!(
        "look again: {:.0} h at {}, then {}. {}\n",
        plan.look_again.after_hours,
        names.join(", "),
        then.join(", "),
        plan.look_again.why
    );
    out
}
