//! A plan's sentences in the reader's units: every amount in them, and nothing of what is decided.

mod common;

use care::amount::Units;
use care::plan::Plan;
use care::planner;
use common::*;

/// Invented, so that as many sentences with amounts as can be come together: a hot public tub, thermometers that
/// contradict each other, meters and tubes that go by the temperature, products with assumed strengths and measures.
const MANY_AMOUNTS: &str = r#"
[tub]
name = "invented"
volume_l = 1000
regime = "chlorine"
place = "public"

[source_water]
name = "tap (invented)"
ph = 7.6
total_alkalinity_mg_l_caco3 = 90
calcium_hardness_mg_l_caco3 = 60

[band.temperature]
high = 41
beyond_hard_limit = true

[[shelf]]
chemical = "sodium-hypochlorite"
name = "liquid chlorine"
age_days = 30

[[shelf]]
chemical = "sodium-bisulfate"
name = "dry acid"
measure = { kind = "capful", ml = 30 }

[[shelf]]
chemical = "sodium-bicarbonate"
name = "bicarbonate"

[[shelf]]
chemical = "calcium-chloride"
name = "calcium"
measure = { kind = "millilitres" }

[[dose]]
at = 2026-03-10T18:00:00Z
chemical = "borax"
mass_g = 20

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "temperature"
method = "thermometer"
value = 42.5

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "temperature"
method = "display"
value = 30

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "conductivity"
method = "conductivity-meter-uncompensated"
value = 1.5

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "cyanuric_acid"
method = "turbidity-tube"
value = 40

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "ph"
method = "comparator"
value = 8.0

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "total_alkalinity"
method = "drop-titration-10"
drops = 4

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "calcium_hardness"
method = "drop-titration-10"
drops = 6

[[reading]]
at = 2026-03-14T18:00:00Z
quantity = "free_chlorine"
method = "fas-dpd-0.2"
value = 0.4
"#;

fn everything_said(plan: &Plan) -> Vec<String> {
    let mut all: Vec<String> = sentences(plan).into_iter().map(|(_, text)| text).collect();
    all.extend(plan.steps.iter().map(|s| s.measure_text.to_string()));
    all.extend(plan.not_done.iter().map(|n| n.what.to_string()));
    all.extend(plan.rules.iter().flat_map(|r| [r.rule.to_string(), r.difference.to_string()]));
    all
}

/// Words as a reader splits them: "1300 L," holds "L", and "mg/L" is a word of its own.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphanumeric() || matches!(c, '/' | '°'))).filter(|w| !w.is_empty())
}

const METRIC: [&str; 11] = ["g", "kg", "mL", "L", "°C", "g/mL", "g/L", "gram", "grams", "litre", "litres"];
const US: [&str; 7] = ["oz", "lb", "fl", "gal", "gallon", "°F", "pounds"];

fn cases() -> Vec<(&'static str, &'static str)> {
    SCENARIOS.into_iter().chain([("many amounts", MANY_AMOUNTS)]).collect()
}

#[test]
fn no_sentence_mixes_the_units_of_two_readers() {
    for (name, text) in cases() {
        for (units, foreign) in [(Units::Us, &METRIC[..]), (Units::Metric, &US[..])] {
            let mut case = case(text);
            case.units = units;
            let plan = planner::plan(&case).expect("a plan");
            for said in everything_said(&plan) {
                let found = words(&said).find(|w| foreign.contains(w));
                assert_eq!(found, None, "{name}, {units:?}: {said}");
            }
        }
    }
}

/// 1000 L are 264.17 US gal; 41 °C are 105.8 °F, 40 °C are 104 °F; 30 mL are 1.01 US fl oz; 1000 L of water 8.35 lb a gallon.
#[test]
fn amounts_are_said_in_ounces_gallons_and_fahrenheit() {
    let mut case = case(MANY_AMOUNTS);
    case.units = Units::Us;
    let plan = planner::plan(&case).expect("a plan");
    let all = everything_said(&plan).join("\n");
    for part in [
        "The volume is 264 US gal",
        "A US gallon counts as 8 lb 5.5 oz of water.",
        "Quebec (Canada), above 95 °F",
        "the water at most 104 °F",
        "105.8 °F, goes beyond the hard limit of 104 °F",
        "but 86 °F by",
        "Referred to 77 °F with 1.1 % per °F",
        "a level capful of 1.0 US fl oz holds",
        "68–77 °F",
        "12.5 % by volume available chlorine",
        "measured in a jug, to 0.17 US fl oz",
        "weighed on a kitchen scale, to 0.18 oz",
        "counts as measured at 68 °F",
    ] {
        assert!(all.contains(part), "{part:?} is not in\n{all}");
    }
}

#[test]
fn units_change_words_and_no_dose() {
    for (name, text) in cases() {
        let metric = case(text);
        let mut us = metric.clone();
        us.units = Units::Us;
        let (a, b) = (planner::plan(&metric).expect("a plan"), planner::plan(&us).expect("a plan"));
        let figures = |p: &Plan| {
            let steps =
                p.steps.iter().map(|s| (s.kind, s.product.clone(), s.mass_g, s.volume_ml, s.wait_min));
            steps.collect::<Vec<_>>()
        };
        assert_eq!(figures(&a), figures(&b), "{name}");
        assert_eq!((a.volume_l, a.cost, a.headline), (b.volume_l, b.cost, b.headline), "{name}");
        assert_eq!(a.findings.len(), b.findings.len(), "{name}");
    }
}
