//! What a plan may and may not do, case by case. The rules are the trade's (common practice) or the contract's; the
//! figures beside them are worked out at the check.

mod common;

use care::band::{Place, Regime, default_band};
use care::plan::{Cover, Plan, StepKind};
use care::planner;
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;
use common::*;

const ACID: &str = "chemical = \"sodium-bisulfate\"\nname = \"dry acid\"\npurity_percent = 93\n";
const SODA: &str = "chemical = \"sodium-carbonate\"\nname = \"soda ash\"\npurity_percent = 99\n";
const BICARBONATE: &str = "chemical = \"sodium-bicarbonate\"\nname = \"bicarbonate\"\npurity_percent = 99\n";
const CALCIUM: &str = "chemical = \"calcium-chloride\"\nname = \"calcium chloride\"\npurity_percent = 77\n";
const SALT: &str = "chemical = \"sodium-chloride\"\nname = \"salt\"\npurity_percent = 99.5\nmeasure = { kind = \"scale\", smallest = 50 }\n";
const HYPOCHLORITE: &str = "chemical = \"sodium-hypochlorite\"\nname = \"hypochlorite\"\navailable_chlorine_g_l = 125\n\
                            measure = { kind = \"millilitres\", smallest = 5 }\n";
const DICHLOR: &str = "chemical = \"dichlor\"\nname = \"dichlor\"\nform = \"dihydrate\"\navailable_chlorine_percent = 56\n\
                       measure = { kind = \"capful\", grams = 28, smallest = 0.25 }\n";
const TRICHLOR: &str = "chemical = \"trichlor\"\nname = \"trichlor\"\navailable_chlorine_percent = 90\nmeasure = { kind = \"tablet\", grams = 20, smallest = 1 }\n";
const THIOSULFATE: &str = "chemical = \"sodium-thiosulfate\"\nname = \"thiosulfate\"\nform = \"pentahydrate\"\nmeasure = { kind = \"scale\", smallest = 1 }\n";
const ALL: [&str; 7] = [ACID, SODA, BICARBONATE, CALCIUM, SALT, HYPOCHLORITE, DICHLOR];

const SOURCE: &str = "[source_water]\nname = \"tap (invented)\"\ntemperature_c = 12\nph = 7.6\ntotal_alkalinity_mg_l_caco3 = 90\n\
                      calcium_hardness_mg_l_caco3 = 150\nsalt_mg_l = 30\n";

/// A case in text: an invented tub of 1000 L at 38 °C.
struct Tub {
    regime: &'static str,
    place: &'static str,
    shelf: Vec<String>,
    more: String,
    day: u32,
}

impl Tub {
    fn chlorine() -> Tub {
        Tub { regime: "chlorine", place: "home", shelf: Vec::new(), more: String::new(), day: 14 }
    }

    fn salt_cell() -> Tub {
        Tub { regime: "salt-cell", ..Tub::chlorine() }
    }

    fn bromine() -> Tub {
        Tub { regime: "bromine", ..Tub::chlorine() }
    }

    fn at(self, place: &'static str) -> Tub {
        Tub { place, ..self }
    }

    fn shelf(mut self, products: &[&str]) -> Tub {
        self.shelf.extend(products.iter().map(ToString::to_string));
        self
    }

    fn source(mut self) -> Tub {
        self.more = format!("{SOURCE}{}", self.more);
        self
    }

    fn next_day(self) -> Tub {
        Tub { day: self.day + 1, ..self }
    }

    fn read(mut self, quantity: &str, method: &str, value: f64) -> Tub {
        self.more += &format!(
            "[[reading]]\nat = 2026-03-{}T18:00:00Z\nquantity = \"{quantity}\"\nmethod = \"{method}\"\nvalue = {value:?}\n",
            self.day
        );
        self
    }

    /// Alkalinity, hardness and free chlorine as they should be.
    fn otherwise_well(self) -> Tub {
        self.read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("free_chlorine", "fas-dpd-0.2", 4.0)
    }

    fn text(&self) -> String {
        let shelf: String = self.shelf.iter().map(|p| format!("[[shelf]]\n{p}")).collect();
        format!(
            "[tub]\nname = \"invented\"\nvolume_l = 1000\ntemperature_c = 38\nregime = \"{}\"\nplace = \"{}\"\n{}{shelf}",
            self.regime, self.place, self.more
        )
    }

    /// The plan, once it has kept what every plan keeps.
    fn plan(&self) -> Plan {
        let (case, plan) = planned(&self.text());
        assert_rules_of_every_plan(&case, &plan, &plan.headline);
        plan
    }
}

fn does_nothing(plan: &Plan) -> bool {
    plan.steps.iter().all(|s| !matches!(s.kind, StepKind::Add | StepKind::ReplaceWater | StepKind::LeaveOpen))
}

fn tests(plan: &Plan) -> String {
    steps_of(plan, StepKind::Retest).iter().map(|s| s.measure_text.as_str()).collect::<Vec<_>>().join("; ")
}

fn miss(plan: &Plan, q: Q) -> &str {
    plan.out_of_band_after.iter().find(|m| m.quantity == q).map_or("", |m| &m.why)
}

#[test]
fn with_everything_inside_its_band_nothing_is_done_and_the_headline_says_so() {
    let plan = Tub::chlorine().shelf(&ALL).read("ph", "comparator", 7.4).otherwise_well().plan();
    assert!(plan.headline.starts_with("Do nothing: everything"), "{}", plan.headline);
    assert!(plan.steps.is_empty() && plan.out_of_band_after.is_empty() && plan.cost == 0.0);
    assert_eq!(plan.look_again.after_hours, 72.0);
}

#[test]
fn outside_by_less_than_the_error_is_tested_again_not_dosed() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "comparator", 7.4)
        .read("total_alkalinity", "drop-titration-10", 57.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 4.0)
        .plan();
    assert!(does_nothing(&plan), "{:?}", plan.headline);
    assert_eq!(tests(&plan), "total alkalinity");
    assert!(plan.steps[0].why.contains("less than its own error"), "{}", plan.steps[0].why);
    assert_eq!(plan.headline, "Do nothing yet: test total alkalinity again first.");
    assert!(miss(&plan, Q::TotalAlkalinity).contains("error"));
}

/// "Less than the first drop" again and again is as sure as it was today: it is no reason to test before chlorine goes in.
#[test]
fn none_of_a_quantity_read_again_is_not_tested_once_more() {
    let first = Tub::chlorine().shelf(&ALL).read("combined_chlorine", "fas-dpd-0.2", 0.0);
    let later = first.next_day().next_day().next_day().next_day().next_day().next_day();
    let plan = later
        .read("combined_chlorine", "fas-dpd-0.2", 0.0)
        .read("ph", "comparator", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 1.2)
        .plan();
    let first = plan.steps.iter().find(|s| matches!(s.kind, StepKind::Add | StepKind::Retest));
    assert!(first.is_some_and(|s| s.kind == StepKind::Add), "{}", plan.headline);
}

#[test]
fn contradictory_readings_are_repeated_before_anything_is_dosed_for_them() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "comparator", 7.4)
        .otherwise_well()
        .read("total_alkalinity", "laboratory", 220.0)
        .plan();
    assert!(tests(&plan).contains("total alkalinity"), "{}", tests(&plan));
    assert_eq!(grams(&plan, "sodium-bisulfate") + grams(&plan, "sodium-bicarbonate"), 0.0);
    assert!(plan.findings.iter().any(|f| f.what.contains("contradict")));
    assert!(plan.steps.iter().any(|s| s.why.contains("contradictory")));
}

#[test]
fn a_bleached_phenol_red_is_not_used_and_no_acid_or_base_follows_it() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .read("free_chlorine", "fas-dpd-0.2", 15.0)
        .read("ph", "phenol-red", 6.8)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .plan();
    let all = said(&plan);
    assert!(all.contains("bleached") && all.contains("ph was not read: 7.5 is assumed"), "{all}");
    assert_eq!(grams(&plan, "sodium-bisulfate") + grams(&plan, "sodium-carbonate"), 0.0);
    assert!(tests(&plan).contains("pH"));
}

#[test]
fn too_much_chlorine_keeps_people_out_and_is_left_to_go() {
    let over = || {
        Tub::chlorine().read("ph", "ph-electrode", 7.4).otherwise_well().read(
            "free_chlorine",
            "fas-dpd-0.2",
            14.0,
        )
    };
    let text = over().shelf(&ALL).text().replacen("value = 4.0\n", "value = 14.0\n", 1);
    let (case, plan) = planned(&text);
    assert_rules_of_every_plan(&case, &plan, "too much chlorine");
    assert_eq!(plan.steps[0].kind, StepKind::KeepOut);
    assert!(does_nothing(&plan), "{}", plan.headline);
    let [wait] = steps_of(&plan, StepKind::Wait)[..] else { panic!("one wait") };
    assert_eq!(wait.cover, Cover::Open);
    assert!(plan.headline.contains("free chlorine should come back without a dose"), "{}", plan.headline);

    // With thiosulfate at hand: down to the bathing limit, half first.
    let with = text.clone() + &format!("[[shelf]]\n{THIOSULFATE}");
    let (case, plan) = planned(&with);
    assert_rules_of_every_plan(&case, &plan, "thiosulfate");
    let dose = adds_of(&plan, "sodium-thiosulfate").next().expect("thiosulfate");
    assert!(value(end(&plan), Q::FreeChlorine) <= 10.0);
    assert!(dose.cautions.iter().any(|c| c.contains("Add half")));
    // No more than half, a test, and only then the rest.
    let portions: Vec<f64> = adds_of(&plan, "sodium-thiosulfate").filter_map(|s| s.mass_g).collect();
    let [first, rest] = portions[..] else { panic!("two portions: {portions:?}") };
    assert!(first <= rest && first >= rest - 2.0, "{portions:?}");
    let between = &plan.steps[dose.order];
    assert_eq!((between.kind, between.measure_text.as_str()), (StepKind::Retest, "free chlorine"));
    assert!(between.why.contains("only if free chlorine is still above 8 mg/L"), "{}", between.why);
    // 70.906 g of chlorine for 248.18 g of the pentahydrate, 99 % pure: 0.283 g a gram.
    assert!(said(&plan).contains("0.28 g of chlorine"), "{:?}", plan.assumptions);
    let taken = value(&plan.before, Q::FreeChlorine) - value(end(&plan), Q::FreeChlorine);
    assert!(
        (taken - 0.99 * 70.906 / 248.18 * (first + rest)).abs() < 0.02 * taken,
        "{taken} by {portions:?} g in 1000 L"
    );
}

/// Thiosulfate may have taken anything: what is left is tested, not computed.
#[test]
fn chlorine_is_tested_after_something_was_added_that_takes_it() {
    let dose = "[[dose]]\nat = 2026-03-14T19:00:00Z\nchemical = \"sodium-thiosulfate\"\nmass_g = 10\n";
    let mut tub =
        Tub::chlorine().shelf(&[HYPOCHLORITE, THIOSULFATE]).read("ph", "ph-electrode", 7.4).otherwise_well();
    let before = tub.text().replacen("value = 4.0\n", "value = 14.0\n", 1);
    tub = tub.next_day().read("free_chlorine", "fas-dpd-0.2", 4.0);
    let (_, untested) = planned(&format!("{before}{dose}"));
    assert!(tests(&untested).contains("free chlorine"), "{}", untested.headline);
    assert_eq!(adds(&untested).count(), 0, "{}", untested.headline);
    let (_, tested) =
        planned(&format!("{}{dose}", tub.text().replacen("value = 4.0\n", "value = 14.0\n", 1)));
    assert!(!tests(&tested).contains("free chlorine"), "{}", tested.headline);
}

/// Borate at 50 mg/L as B makes the acid large: several portions.
#[test]
fn acid_against_a_ph_at_the_end_of_its_scale_is_tested_after_the_first_portion() {
    let plan_at = |ph: f64, method: &str| {
        Tub::chlorine()
            .shelf(&[ACID])
            .read("ph", method, ph)
            .read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 100.0)
            .read("free_chlorine", "fas-dpd-0.2", 4.0)
            .read("borate", "laboratory", 50.0)
            .plan()
    };
    for (ph, method) in [(8.2, "phenol-red"), (8.4, "strip")] {
        let plan = plan_at(ph, method);
        let acid: Vec<_> = adds_of(&plan, "sodium-bisulfate").collect();
        assert!(acid.len() >= 2, "{method}: {}", plan.headline);
        let after_first = &plan.steps[acid[0].order];
        assert_eq!(
            (after_first.kind, after_first.measure_text.as_str()),
            (StepKind::Retest, "pH"),
            "{method}"
        );
        assert!(after_first.why.contains("end of its scale"), "{}", after_first.why);
        assert_eq!(acid[1].order, after_first.order + 1, "{method}");
    }
    // Read on the scale, it needs none.
    let plan = plan_at(8.2, "ph-electrode");
    let acid: Vec<_> = adds_of(&plan, "sodium-bisulfate").collect();
    assert!(acid.len() >= 2 && acid[1].order == acid[0].order + 1, "{}", plan.headline);
}

/// A reading beyond its test's scale says which way, not how far.
#[test]
fn cyanuric_acid_beyond_the_tube_is_tested_in_a_diluted_sample_and_the_rest_is_planned() {
    let text = Tub::chlorine()
        .shelf(&[HYPOCHLORITE, ACID])
        .source()
        .read("ph", "comparator", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 1.0)
        .read("cyanuric_acid", "turbidity-tube", 100.5)
        .text()
        .replace("value = 100.5", "value = \">100\"");
    let (case, plan) = planned(&text);
    assert_rules_of_every_plan(&case, &plan, "over the scale");
    assert!(steps_of(&plan, StepKind::ReplaceWater).is_empty(), "no water is replaced on a guess");
    let test = steps_of(&plan, StepKind::Retest)[0];
    assert_eq!(test.measure_text, "cyanuric acid in a diluted sample");
    assert!(
        test.why.contains("1 part of tub water with 1 part of distilled or source water"),
        "{}",
        test.why
    );
    assert!(test.why.contains("double the result"), "{}", test.why);
    assert!(plan.headline.starts_with("Test cyanuric acid in a diluted sample"), "{}", plan.headline);
    // The rest: chlorine comes after the test.
    let chlorine = adds_of(&plan, "sodium-hypochlorite").next().expect("chlorine");
    assert!(chlorine.order > test.order);
    assert!(miss(&plan, Q::CyanuricAcid).contains("test it first"), "{}", miss(&plan, Q::CyanuricAcid));
    // Nothing says how much more than 100 it is.
    assert!(!said(&plan).contains("125"), "{}", said(&plan));

    // Known, the same figure is acted on.
    let (_, known) = planned(&text.replace("value = \">100\"", "value = 125.0"));
    assert!(!steps_of(&known, StepKind::ReplaceWater).is_empty(), "{}", known.headline);
}

#[test]
fn what_is_beyond_a_scale_is_never_dosed_for() {
    for (quantity, method, over) in [
        ("total_alkalinity", "strip", 360.0),
        ("salt", "salt-drop-titration-200", 9000.0),
        ("calcium_hardness", "photometer", 500.0),
        ("total_hardness", "strip", 1000.0),
        ("combined_chlorine", "dpd-comparator", 10.0),
    ] {
        let text = Tub::salt_cell()
            .shelf(&ALL)
            .source()
            .read("ph", "ph-electrode", 7.4)
            .read("free_chlorine", "fas-dpd-0.2", 4.0)
            .read(quantity, method, 123.0)
            .text()
            .replace("value = 123.0", &format!("value = \">{over}\""));
        let (case, plan) = planned(&text);
        assert_rules_of_every_plan(&case, &plan, quantity);
        let asked = if quantity == "total_hardness" { "calcium_hardness" } else { quantity };
        let name = Q::from_id(asked).unwrap().name();
        assert!(
            tests(&plan).contains(&format!("{name} in a diluted sample")),
            "{quantity}: {}",
            tests(&plan)
        );
        assert!(steps_of(&plan, StepKind::ReplaceWater).is_empty(), "{quantity}: {}", plan.headline);
        assert_eq!(grams(&plan, "sodium-bisulfate"), 0.0, "{quantity}: {}", plan.headline);
    }
}

#[test]
fn chlorine_beyond_its_scale_keeps_people_out_and_is_not_taken_away_on_a_guess() {
    let text = Tub::chlorine()
        .shelf(&[THIOSULFATE])
        .read("ph", "ph-electrode", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "dpd-comparator", 10.0)
        .text();
    let (case, plan) = planned(&text);
    assert_rules_of_every_plan(&case, &plan, "chlorine over the scale");
    assert_eq!(plan.steps[0].kind, StepKind::KeepOut);
    assert!(plan.steps[0].why.contains("free chlorine is above 10.0"), "{}", plan.steps[0].why);
    assert!(tests(&plan).contains("free chlorine in a diluted sample"), "{}", tests(&plan));
    assert!(does_nothing(&plan), "{}", plan.headline);
    let [wait] = steps_of(&plan, StepKind::Wait)[..] else { panic!("one wait") };
    assert_eq!(wait.cover, Cover::Open);
}

#[test]
fn a_low_ph_with_alkalinity_in_order_waits_a_day_instead_of_base() {
    for ph in [6.9, 6.8] {
        let plan = Tub::chlorine().shelf(&ALL).read("ph", "comparator", ph).otherwise_well().plan();
        assert!(does_nothing(&plan), "{ph}: {}", plan.headline);
        let all = said(&plan);
        assert!(all.contains("24 hours"), "{ph}: {all}");
        assert!(all.contains("carbon dioxide"), "{ph}");
    }
    let plan = Tub::chlorine().shelf(&ALL).read("ph", "laboratory", 6.8).otherwise_well().plan();
    assert_eq!(steps_of(&plan, StepKind::Wait)[0].wait_min, 1440.0);
}

#[test]
fn a_ph_that_stayed_low_for_a_day_may_have_base() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "laboratory", 6.8)
        .next_day()
        .read("ph", "laboratory", 6.8)
        .otherwise_well()
        .plan();
    let soda = grams(&plan, "sodium-carbonate");
    assert!(soda > 0.0, "{}", plan.headline);
    assert!(
        adds_of(&plan, "sodium-carbonate").all(|s| s.mass_g.unwrap() <= 10.0),
        "at most 10 g per 1000 L at a time"
    );
    assert_within(value(end(&plan), Q::Ph), (6.95, 7.7), "pH");
}

/// "above 3 000 some water is replaced" (common practice); 3300 to 2200-2500 with 30 in the tap: 1 - (2500 - 30)/(3300 - 30)
/// = 24 % at least, 34 % at most.
#[test]
fn salt_comes_down_only_with_water() {
    let over = || {
        Tub::salt_cell().shelf(&ALL).read("ph", "comparator", 7.4).otherwise_well().read(
            "salt",
            "laboratory",
            3300.0,
        )
    };
    let plan = over().source().plan();
    let [replaced] = steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("{}", plan.headline) };
    assert_within(replaced.share.unwrap(), (0.10, 0.36), "share");
    assert!(value(&replaced.water_after, Q::Salt) <= 3000.0);
    assert_eq!(grams(&plan, "sodium-chloride"), 0.0);
    assert!(!replaced.cautions.iter().any(|c| c.contains("Purge")), "a part needs no purge");
    assert!(replaced.cautions.iter().any(|c| c.contains("Breaker off")));
    // Without the source water's analysis: says why it cannot.
    let plan = over().plan();
    assert!(steps_of(&plan, StepKind::ReplaceWater).is_empty());
    assert!(plan.not_done.iter().any(|n| n.why.contains("source water is not known")), "{:?}", plan.not_done);
    assert!(plan.headline.contains("nothing here corrects salt"), "{}", plan.headline);
}

#[test]
fn cyanuric_acid_that_the_tube_cannot_see_is_none_where_nothing_brings_it() {
    // A turbidity tube tells nothing under 30 mg/L (common practice); half of that is no reason to replace water.
    let tub = |products: &[&str]| {
        let text = Tub::salt_cell()
            .source()
            .shelf(products)
            .read("ph", "ph-electrode", 7.4)
            .read("total_alkalinity", "drop-titration-10", 80.0)
            .read("calcium_hardness", "drop-titration-10", 150.0)
            .read("salt", "salt-drop-titration-200", 2000.0)
            .read("free_chlorine", "fas-dpd-0.2", 4.0)
            .text();
        let at = "at = 2026-03-14T18:00:00Z\n";
        planned(&format!(
            "{text}[[reading]]\n{at}quantity = \"cyanuric_acid\"\nmethod = \"turbidity-tube\"\nvalue = \"<30\"\n"
        ))
        .1
    };
    let plan = tub(&[ACID, HYPOCHLORITE]);
    assert!(value(&plan.before, Q::CyanuricAcid).abs() < 1e-9);
    assert_eq!(steps_of(&plan, StepKind::ReplaceWater).len(), 0, "{}", plan.headline);
    // With dichlor on the shelf some may have come that nobody wrote down.
    assert!((value(&tub(&[ACID, HYPOCHLORITE, DICHLOR]).before, Q::CyanuricAcid) - 15.0).abs() < 1e-9);
}

#[test]
fn cyanuric_acid_comes_down_only_with_water() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .source()
        .read("ph", "comparator", 7.4)
        .otherwise_well()
        .read("cyanuric_acid", "laboratory", 90.0)
        .plan();
    let [replaced] = steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("{}", plan.headline) };
    assert!(replaced.why.contains("nothing on the shelf takes that out"));
    assert!(value(&replaced.water_after, Q::CyanuricAcid) <= 50.0);
    assert!(value(end(&plan), Q::CyanuricAcid) <= 30.0, "back in the aim, whatever chlorine follows");
}

#[test]
fn an_empty_shelf_is_said() {
    let low = || {
        Tub::chlorine()
            .read("ph", "comparator", 7.4)
            .read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("free_chlorine", "fas-dpd-0.2", 0.4)
    };
    let plan = low().shelf(&[ACID]).plan();
    assert!(does_nothing(&plan));
    assert_eq!(plan.steps[0].kind, StepKind::KeepOut);
    assert!(miss(&plan, Q::FreeChlorine).contains("No product on the shelf raises free chlorine"));
    assert!(plan.headline.contains("nothing here corrects free chlorine"), "{}", plan.headline);
    // A bottle with 5 mL left gives what it has and says that it was not enough.
    let rest = format!("{HYPOCHLORITE}stock_g = 12\n");
    let plan = low().shelf(&[&rest]).plan();
    assert!(grams(&plan, "sodium-hypochlorite") <= 12.0);
    assert!(
        miss(&plan, Q::FreeChlorine).contains("not enough hypochlorite"),
        "{}",
        miss(&plan, Q::FreeChlorine)
    );
}

#[test]
fn acid_goes_in_before_chlorine_with_half_an_hour_between() {
    let plan = Tub::chlorine().shelf(&ALL).read("ph", "comparator", 8.1).otherwise_well().plan();
    assert!(grams(&plan, "sodium-bisulfate") > 0.0 && plan.steps[0].kind == StepKind::KeepOut);
    let low = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "comparator", 8.1)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 0.4)
        .plan();
    let acid = adds_of(&low, "sodium-bisulfate").last().expect("acid");
    let chlorine = adds(&low)
        .find(|s| s.chemical == Some("sodium-hypochlorite") || s.chemical == Some("dichlor"))
        .expect("chlorine");
    assert!(minutes_between(&low, acid, chlorine) >= 30.0);
    assert!(low.steps[0].why.contains("free chlorine is 0.4") && low.steps[0].why.contains("pH is 8.10"));
}

#[test]
fn people_are_kept_out_first_whenever_a_bathing_limit_is_broken() {
    for (what, ph, chlorine, temperature) in [
        ("pH", 8.2, 4.0, 38.0),
        ("pH", 6.6, 4.0, 38.0),
        ("free chlorine", 7.4, 0.5, 38.0),
        ("temperature", 7.4, 4.0, 41.5),
    ] {
        let plan = Tub::chlorine()
            .shelf(&ALL)
            .read("ph", "ph-electrode", ph)
            .read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("free_chlorine", "fas-dpd-0.2", chlorine)
            .read("temperature", "thermometer", temperature)
            .plan();
        assert_eq!(plan.steps[0].kind, StepKind::KeepOut, "{what}");
        assert!(plan.steps[0].why.contains(&format!("{what} is ")), "{}", plan.steps[0].why);
    }
}

/// A hot tub is no chemical's matter.
#[test]
fn a_hot_water_is_for_the_heater() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "comparator", 7.4)
        .otherwise_well()
        .read("temperature", "thermometer", 41.5)
        .plan();
    assert!(does_nothing(&plan) && plan.headline.contains("set the heater"), "{}", plan.headline);
}

#[test]
fn amounts_are_said_in_the_owners_measure() {
    let with = |product: &str| {
        let plan = Tub::chlorine()
            .shelf(&[product])
            .read("ph", "comparator", 7.4)
            .read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("free_chlorine", "fas-dpd-0.2", 0.4)
            .plan();
        let step = adds(&plan).next().unwrap_or_else(|| panic!("{product}: {}", plan.headline));
        (step.measure_text.clone(), step.mass_g.unwrap())
    };
    let (text, mass_g) = with(&DICHLOR.replace("grams = 28", "grams = 3"));
    assert!(text.contains("capful") && text.ends_with(", level"), "{text}");
    assert_within(mass_g, (4.5, 9.0), "dichlor for +2.6 to +4.6 mg/L in 1000 L at 56 %");
    let (text, _) =
        with(&DICHLOR.replace("measure = { kind = \"capful\", grams = 28, smallest = 0.25 }", ""));
    assert!(text.ends_with("g on the scale"), "{text}");
    let (text, _) = with(HYPOCHLORITE);
    assert!(text.ends_with("mL in the jug"), "{text}");
    let (text, _) = with(&DICHLOR.replace(
        "kind = \"capful\", grams = 28, smallest = 0.25",
        "kind = \"tablet\", grams = 2, smallest = 1",
    ));
    assert!(text.ends_with("tablets"), "{text}");
}

#[test]
fn what_nobody_read_is_not_dosed_for() {
    let plan = Tub::salt_cell()
        .shelf(&ALL)
        .read("ph", "comparator", 7.4)
        .read("free_chlorine", "fas-dpd-0.2", 4.0)
        .plan();
    for chemical in
        ["sodium-bicarbonate", "calcium-chloride", "sodium-chloride", "dichlor", "sodium-bisulfate"]
    {
        assert_eq!(grams(&plan, chemical), 0.0, "{chemical}");
    }
    assert!(tests(&plan).contains("salt"), "{}", tests(&plan));
    assert!(plan.steps[0].why.contains("not read by anybody"), "{}", plan.steps[0].why);
    for q in ["Total alkalinity", "Calcium hardness", "Salt"] {
        assert!(plan.assumptions.iter().any(|a| a.contains(q) && a.contains("assumed")), "{q}");
    }
}

#[test]
fn a_bromine_tub_gets_its_bromine() {
    let low = |shelf: &[&str]| {
        Tub::bromine()
            .shelf(shelf)
            .read("ph", "comparator", 7.4)
            .read("total_alkalinity", "drop-titration-10", 100.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("total_bromine", "dpd-comparator", 1.0)
            .plan()
    };
    let oxidiser = "chemical = \"monopersulfate\"\nname = \"oxidiser\"\npurity_percent = 43\nmeasure = { kind = \"scale\", smallest = 1 }\n";
    for (shelf, chemical) in [([HYPOCHLORITE], "sodium-hypochlorite"), ([oxidiser], "monopersulfate")] {
        let plan = low(&shelf);
        assert!(grams(&plan, chemical) > 0.0, "{}", plan.headline);
        assert_within(value(end(&plan), Q::TotalBromine), (4.0, 6.0), chemical);
        assert!(adds_of(&plan, chemical).all(|s| s.why.contains("total bromine")));
        assert!(plan.steps[0].why.contains("total bromine is 1.0"), "{}", plan.steps[0].why);
    }
}

#[test]
fn a_new_bromine_tub_gets_its_bromide_bank_before_the_oxidiser() {
    let oxidiser = "chemical = \"monopersulfate\"\nname = \"oxidiser\"\npurity_percent = 43\nmeasure = { kind = \"scale\", smallest = 1 }\n";
    let bank = "chemical = \"sodium-bromide\"\nname = \"sodium bromide\"\npurity_percent = 99\n";
    let text = format!(
        "plan = \"start-up\"\n{}[[event]]\nat = 2026-03-14T08:00:00Z\nkind = \"fill\"\n",
        Tub::bromine().source().shelf(&[bank, oxidiser, ACID]).text()
    );
    let (case, plan) = planned(&text);
    assert_rules_of_every_plan(&case, &plan, "bromine start-up");
    let bromide = adds_of(&plan, "sodium-bromide").next().expect("bromide");
    let oxidised = adds_of(&plan, "monopersulfate").next().expect("oxidiser");
    assert!(bromide.order < oxidised.order);
    assert_within(value(end(&plan), Q::TotalBromine), (4.0, 6.0), "total bromine");
}

#[test]
fn each_place_has_its_bands() {
    let read = |place| Tub::chlorine().at(place).shelf(&ALL).read("ph", "ph-electrode", 7.4).otherwise_well();
    for (place, which) in [("home", Place::Home), ("rental", Place::Rental), ("public", Place::Public)] {
        let plan = read(place).plan();
        let band = |q: Q| plan.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b.clone());
        for q in [Q::FreeChlorine, Q::Ph, Q::TotalAlkalinity, Q::CyanuricAcid] {
            assert_eq!(band(q), default_band(q, Regime::HandDosedChlorine, which), "{place}");
        }
    }
    // 2 mg/L of free chlorine opens a home tub's water but closes a let's and a public one.
    for (place, closed) in [("home", false), ("rental", true), ("public", true)] {
        let text = read(place).text().replace("value = 4.0\n", "value = 2.0\n");
        let (_, plan) = planned(&text);
        let out = plan
            .steps
            .first()
            .is_some_and(|s| s.kind == StepKind::KeepOut && s.why.contains("free chlorine is 2.0"));
        assert_eq!(out, closed, "{place}");
    }
}

#[test]
fn dichlor_alone_adds_cyanuric_acid_and_the_plan_shows_it() {
    let plan = Tub::chlorine()
        .shelf(&[&DICHLOR.replace("grams = 28", "grams = 4")])
        .source()
        .read("ph", "comparator", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("cyanuric_acid", "laboratory", 20.0)
        .read("free_chlorine", "fas-dpd-0.2", 0.4)
        .plan();
    let chlorine = value(end(&plan), Q::FreeChlorine) - value(&plan.before, Q::FreeChlorine);
    let cyanuric = value(end(&plan), Q::CyanuricAcid) - value(&plan.before, Q::CyanuricAcid);
    assert!(chlorine > 2.0, "{}", plan.headline);
    // Stoichiometry: one mole of cyanuric acid (129.07) for two of chlorine (70.906): 0.910 mg a mg.
    assert!((cyanuric / chlorine - 129.07 / (2.0 * 70.906)).abs() < 0.005, "{cyanuric} for {chlorine}");
    assert!(adds_of(&plan, "dichlor").all(|s| s.why.contains("cyanuric acid from")));
}

/// Combined chlorine is the difference between total and free chlorine: with free chlorine in doubt it is too.
#[test]
fn a_test_that_may_spare_the_drain_comes_first_and_decides() {
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .source()
        .read("ph", "ph-electrode", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 7.0)
        .read("free_chlorine", "dpd-photometer", 4.0)
        .read("total_chlorine", "fas-dpd-0.2", 12.0)
        .plan();
    let replace = steps_of(&plan, StepKind::ReplaceWater);
    assert_eq!(replace.len(), 1, "{}", plan.headline);
    assert!(
        plan.headline.starts_with("Test free chlorine first; it decides whether to "),
        "{}",
        plan.headline
    );
    let test = steps_of(&plan, StepKind::Retest)[0];
    assert!(
        test.measure_text.contains("free chlorine") && test.order < replace[0].order,
        "{}",
        plan.headline
    );
    assert!(test.why.contains("plan again before any water goes"), "{}", test.why);

    // Cyanuric acid asks for the water whatever that test shows: nothing is tested of water that goes anyway.
    let plan = Tub::chlorine()
        .shelf(&ALL)
        .source()
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 4.0)
        .read("cyanuric_acid", "laboratory", 250.0)
        .plan();
    let [replace] = steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("{}", plan.headline) };
    assert_eq!(replace.share, Some(1.0), "{}", plan.headline);
    assert!(plan.headline.starts_with("Drain and refill"), "{}", plan.headline);
    assert!(plan.steps[..replace.order].iter().all(|s| s.kind != StepKind::Retest), "{}", plan.headline);
}

/// An unknown pH bars acid, so that water would be replaced for the alkalinity: with the pH acid may do.
#[test]
fn an_unknown_ph_decides_whether_water_goes_for_the_alkalinity() {
    let soft = SOURCE.replace("total_alkalinity_mg_l_caco3 = 90", "total_alkalinity_mg_l_caco3 = 30");
    let mut tub = Tub::chlorine().shelf(&ALL);
    tub.more = soft;
    let plan = tub
        .read("total_alkalinity", "drop-titration-10", 240.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 4.0)
        .plan();
    assert!(!steps_of(&plan, StepKind::ReplaceWater).is_empty(), "{}", plan.headline);
    assert!(plan.headline.starts_with("Test pH first; it decides whether to "), "{}", plan.headline);
}

#[test]
fn products_that_a_plan_never_chooses_are_named_once() {
    let oxidiser = |name: &str| format!("chemical = \"monopersulfate\"\nname = \"{name}\"\n");
    let of = |names: [&str; 2], cyanuric: f64| {
        let plan = Tub::chlorine()
            .shelf(&names.map(oxidiser).each_ref().map(String::as_str))
            .source()
            .read("ph", "ph-electrode", 7.4)
            .read("cyanuric_acid", "laboratory", cyanuric)
            .otherwise_well()
            .plan();
        let used = plan.not_done.iter().filter(|n| n.what.starts_with("Use "));
        used.map(|n| n.what.clone()).collect::<Vec<_>>()
    };
    assert_eq!(of(["oxidiser one", "oxidiser two"], 0.0), ["Use oxidiser one or oxidiser two"]);
    // The refill's plan would say it again.
    assert_eq!(of(["oxidiser one", "oxidiser two"], 250.0), ["Use oxidiser one or oxidiser two"]);
}

/// 28 g of dichlor at 56 % in 1000 L are 15.7 mg/L; from 1.0 to 4 mg/L take 5.4 g (3 · 1000 / 560).
#[test]
fn where_the_smallest_measure_overshoots_the_plan_says_what_to_weigh() {
    let plan_with = |product: &str, ph: f64, chlorine: f64| {
        Tub::chlorine()
            .shelf(&[product])
            .source()
            .read("ph", "ph-electrode", ph)
            .read("total_alkalinity", "drop-titration-10", 90.0)
            .read("calcium_hardness", "drop-titration-10", 180.0)
            .read("cyanuric_acid", "laboratory", 0.0)
            .read("free_chlorine", "fas-dpd-0.2", chlorine)
            .plan()
    };
    let coarse = DICHLOR.replace("smallest = 0.25", "smallest = 1");
    let plan = plan_with(&coarse, 7.4, 1.0);
    assert!(does_nothing(&plan), "{}", plan.headline);
    let why = miss(&plan, Q::FreeChlorine);
    assert!(why.contains("1 capful, level (28 g)") && why.contains("would take it to 16.7 mg/L"), "{why}");
    assert!(why.contains("Weigh 5.4 g on a fine scale") && why.contains("cautions"), "{why}");
    assert!(plan.headline.contains("dichlor is too coarse here, weigh 5.4 g"), "{}", plan.headline);
    // What it says to weigh is what a plan with that scale adds, but for the aim's own choice.
    let scale =
        DICHLOR.replace("kind = \"capful\", grams = 28, smallest = 0.25", "kind = \"scale\", smallest = 0.2");
    assert_within(grams(&plan_with(&scale, 7.4, 1.0), "dichlor"), (4.0, 7.5), "dichlor, g");

    // 300 g of dry acid in one scoop would take the pH far below its band.
    let scoop = format!("{ACID}measure = {{ kind = \"scoop\", grams = 300, smallest = 1 }}\n");
    let plan = plan_with(&scoop, 8.1, 4.0);
    let why = miss(&plan, Q::Ph);
    assert!(does_nothing(&plan) && why.contains("Weigh "), "{why}");
    let said: f64 = why.split("Weigh ").nth(1).and_then(|w| w.split(' ').next()).unwrap().parse().unwrap();
    let scale = format!("{ACID}measure = {{ kind = \"scale\", smallest = 1 }}\n");
    let weighed = grams(&plan_with(&scale, 8.1, 4.0), "sodium-bisulfate");
    assert_within(said, (0.7 * weighed, 1.4 * weighed), "dry acid, g");

    // A quarter of that capful is fine enough, and nothing is said of a scale.
    let fine = plan_with(&DICHLOR.replace("grams = 28", "grams = 20"), 7.4, 1.0);
    assert!(grams(&fine, "dichlor") > 0.0 && !fine.headline.contains("weigh"), "{}", fine.headline);
}

#[test]
fn trichlor_is_never_chosen() {
    let plan = Tub::chlorine()
        .shelf(&[TRICHLOR])
        .read("ph", "comparator", 7.4)
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("free_chlorine", "fas-dpd-0.2", 0.4)
        .plan();
    assert_eq!(grams(&plan, "trichlor"), 0.0);
    assert!(plan.not_done.iter().any(|n| n.what == "Use trichlor"));
    assert!(miss(&plan, Q::FreeChlorine).contains("No product"), "{}", miss(&plan, Q::FreeChlorine));
}

#[test]
fn a_slip_of_the_thumb_is_refused_with_its_line() {
    let text = Tub::chlorine().shelf(&ALL).read("ph", "comparator", 77.0).text();
    let problems = CaseText::parse(text.as_bytes(), "case.toml").finish(None).expect_err("pH 77");
    let line = text.lines().position(|l| l == "value = 77.0").unwrap() + 1;
    assert!(problems.iter().any(|p| p.line == Some(line) && p.to_string().contains("77")), "{problems:?}");
}

#[test]
fn the_same_case_gives_the_same_plan() {
    for (name, text) in SCENARIOS {
        let case = case(text);
        let (a, b) = (planner::plan(&case).unwrap(), planner::plan(&case).unwrap());
        assert_eq!((a.headline, a.cost), (b.headline, b.cost), "{name}");
        let doses = |steps: &[care::plan::Step]| {
            steps.iter().map(|s| (s.product.clone(), s.mass_g)).collect::<Vec<_>>()
        };
        assert_eq!(doses(&a.steps), doses(&b.steps), "{name}");
    }
}

/// A tub filled on 10 March with a tap of 236 mg/L of hardness by its analysis, read as 295 once or twice.
fn hard_after_a_fill(tests: u32, more: &str) -> Plan {
    let hard = "[source_water]\nname = \"tap (invented)\"\ntemperature_c = 12\nph = 7.6\ntotal_alkalinity_mg_l_caco3 = 90\n\
                calcium_hardness_mg_l_caco3 = 236\nsalt_mg_l = 30\n";
    let mut tub = Tub::salt_cell().shelf(&ALL).read("ph", "ph-electrode", 7.4);
    tub = tub
        .read("total_alkalinity", "drop-titration-10", 90.0)
        .read("free_chlorine", "fas-dpd-0.2", 4.0)
        .read("salt", "laboratory", 2400.0);
    for _ in 0..tests {
        tub = tub.read("calcium_hardness", "drop-titration-10", 300.0);
    }
    tub.more = format!("{hard}{}[[event]]\nat = 2026-03-10T08:00:00Z\nkind = \"fill\"\n{more}", tub.more);
    tub.plan()
}

fn finds(plan: &Plan, part: &str) -> bool {
    plan.findings.iter().any(|f| f.what.contains(part))
}

#[test]
fn hardness_that_a_recent_fill_cannot_have_is_tested_again_and_no_water_replaced() {
    let once = hard_after_a_fill(1, "");
    assert!(steps_of(&once, StepKind::ReplaceWater).is_empty(), "{}", once.headline);
    assert!(tests(&once).contains("calcium hardness"), "{}", once.headline);
    assert!(
        finds(&once, "the fill of 2026-03-10 08:00 UTC and the doses since come to 236"),
        "{:?}",
        once.findings
    );

    // Read twice: then the tap is so hard, whatever its analysis says.
    let twice = hard_after_a_fill(2, "");
    assert!(steps_of(&twice, StepKind::ReplaceWater).is_empty(), "{}", twice.headline);
    assert!(twice.not_done.iter().any(|n| n.what == "Replace water to lower the calcium hardness"));

    // 110 g of 77 % calcium chloride bring 76 mg/L in 1000 L: what was overdosed, fresh water takes out again.
    let dosed = "[[dose]]\nat = 2026-03-11T08:00:00Z\nproduct = \"calcium chloride\"\nmass_g = 110\n";
    let overdosed = hard_after_a_fill(2, dosed);
    assert_eq!(steps_of(&overdosed, StepKind::ReplaceWater).len(), 1, "{}", overdosed.headline);
}

#[test]
fn what_rises_with_fresh_water_is_not_said_to_fall() {
    // Cyanuric acid asks for water, the tap's alkalinity is higher than what is in the tub.
    let tub = Tub::chlorine()
        .shelf(&ALL)
        .read("ph", "ph-electrode", 7.4)
        .read("total_alkalinity", "drop-titration-10", 180.0)
        .read("calcium_hardness", "drop-titration-10", 180.0)
        .read("cyanuric_acid", "laboratory", 150.0)
        .read("free_chlorine", "fas-dpd-0.2", 4.0);
    let hard = SOURCE.replace("caco3 = 90", "caco3 = 280");
    let plan = Tub { more: format!("{hard}{}", tub.more), ..tub }.plan();
    let [step] = &steps_of(&plan, StepKind::ReplaceWater)[..] else { panic!("{}", plan.headline) };
    assert!(step.why.contains("Cyanuric acid falls from 150"), "{}", step.why);
    assert!(
        step.why.contains("Total alkalinity rises from 1") && !step.why.contains("lkalinity falls"),
        "{}",
        step.why
    );
}
