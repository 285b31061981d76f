//! Tubs with months of doses behind them: what a reading still says, and what it no longer does.
//!
//! The arithmetic beside each check is stoichiometry (molar masses as in `water`); that a day uses a day's chlorine, and
//! that a pH comes back within about a day of acid as carbon dioxide leaves, is common practice.

mod common;

use care::case::Case;
use care::estimate::{Estimated, Stands, estimate, readings_of};
use care::finding::Weight;
use care::plan::StepKind;
use care::planner;
use care::quantity::Quantity as Q;
use common::case;

const ACID: &str = "[[shelf]]\nchemical = \"sodium-bisulfate\"\nname = \"dry acid\"\npurity_percent = 93\n";
const BICARBONATE: &str =
    "[[shelf]]\nchemical = \"sodium-bicarbonate\"\nname = \"bicarbonate\"\npurity_percent = 99\n";
const BLEACH: &str =
    "[[shelf]]\nchemical = \"sodium-hypochlorite\"\nname = \"liquid chlorine\"\npurity_percent = 12.5\n";

/// An invented tub of 1000 L, last filled in January.
struct History(String);

impl History {
    fn new() -> Self {
        let head = "[tub]\nname = \"invented\"\nvolume_l = 1000\ntemperature_c = 38\nregime = \"chlorine\"\nplace = \"home\"\n\
             [source_water]\nname = \"tap (invented)\"\ntemperature_c = 12\nph = 7.6\ntotal_alkalinity_mg_l_caco3 = 90\n\
             calcium_hardness_mg_l_caco3 = 150\nsalt_mg_l = 30\n";
        History(format!("{head}{ACID}{BICARBONATE}{BLEACH}")).event("2026-01-02T08:00:00Z", "fill")
    }

    fn event(mut self, at: &str, kind: &str) -> Self {
        self.0 += &format!("[[event]]\nat = {at}\nkind = \"{kind}\"\n");
        self
    }

    fn read(mut self, at: &str, quantity: &str, method: &str, value: f64) -> Self {
        self.0 += &format!(
            "[[reading]]\nat = {at}\nquantity = \"{quantity}\"\nmethod = \"{method}\"\nvalue = {value:?}\n"
        );
        self
    }

    fn dosed(mut self, at: &str, chemical: &str, mass_g: f64) -> Self {
        self.0 += &format!("[[dose]]\nat = {at}\nchemical = \"{chemical}\"\nmass_g = {mass_g:?}\n");
        self
    }

    /// A pH and a free chlorine of today.
    fn read_today(self) -> Self {
        self.read("2026-04-10T18:00:00Z", "ph", "ph-electrode", 7.4).read(
            "2026-04-10T18:00:00Z",
            "free_chlorine",
            "fas-dpd-0.2",
            3.0,
        )
    }

    fn estimated(&self) -> (Case, Estimated) {
        let case = case(&self.0);
        let estimated = estimate(&case).unwrap_or_else(|e| panic!("{e}\n{}", self.0));
        (case, estimated)
    }
}

fn known(estimated: &Estimated, q: Q) -> Option<f64> {
    estimated.level(q).filter(|l| l.known).map(|l| l.value)
}

/// Dry acid every fourth day of February and March, 15 g at a time (93 % NaHSO4 of 120.06 g/mol): each takes 5.8 mg/L of
/// alkalinity, all fourteen 81 mg/L from the 80 that were read.
fn months_of_acid(mut history: History) -> History {
    history = history.read("2026-02-01T18:00:00Z", "total_alkalinity", "drop-titration-10", 80.0);
    for month in ["02", "03"] {
        for day in [2, 6, 10, 14, 18, 22, 26] {
            history = history.dosed(&format!("2026-{month}-{day:02}T18:00:00Z"), "sodium-bisulfate", 15.0);
        }
    }
    history
}

#[test]
fn an_alkalinity_outlived_by_months_of_acid_is_not_known() {
    let (case, estimated) = months_of_acid(History::new()).read_today().estimated();
    assert_eq!(known(&estimated, Q::TotalAlkalinity), None);
    assert!(estimated.value(Q::TotalAlkalinity) > 20.0, "{}", estimated.value(Q::TotalAlkalinity));
    assert!(
        (estimated.water.ph().0 - 7.4).abs() < 0.001,
        "the pH was read today: {}",
        estimated.water.ph().0
    );
    assert!(estimated.retest.contains(&Q::TotalAlkalinity));
    let said = estimated.findings.iter().find(|f| f.quantities == [Q::TotalAlkalinity]).expect("said");
    assert_eq!(said.weight, Weight::Doubt);
    let told = readings_of(&case, Q::TotalAlkalinity).expect("told");
    assert_eq!(told.iter().map(|t| t.stands).collect::<Vec<_>>(), [Stands::Superseded]);

    let plan = planner::plan(&case).expect("planned");
    let test = plan.steps.iter().find(|s| s.kind == StepKind::Retest).expect("a test");
    assert!(test.measure_text.contains("total alkalinity"), "{}", test.measure_text);
    assert!(
        plan.steps.iter().all(|s| s.chemical != Some("sodium-bicarbonate")),
        "nothing is dosed for an alkalinity that nobody knows"
    );
}

#[test]
fn a_new_reading_of_the_alkalinity_ends_the_doubt() {
    let history = months_of_acid(History::new()).read_today().read(
        "2026-04-10T18:00:00Z",
        "total_alkalinity",
        "drop-titration-10",
        60.0,
    );
    let (case, estimated) = history.estimated();
    let alkalinity = known(&estimated, Q::TotalAlkalinity).expect("known");
    assert!((alkalinity - 60.0).abs() < 1.0, "{alkalinity}");
    assert!(!estimated.retest.contains(&Q::TotalAlkalinity));
    let told = readings_of(&case, Q::TotalAlkalinity).expect("told");
    assert_eq!(told.iter().map(|t| t.stands).collect::<Vec<_>>(), [Stands::Superseded, Stands::Used]);
}

#[test]
fn the_doses_of_one_visit_leave_its_readings_standing() {
    // 100 g of bicarbonate at 99 % are 1.178 mol, 59 mg/L as CaCO3 in 1000 L; 20 g of dry acid take 7.8.
    let (_, estimated) = History::new()
        .read("2026-04-10T17:00:00Z", "total_alkalinity", "drop-titration-10", 30.0)
        .read("2026-04-10T17:00:00Z", "ph", "ph-electrode", 7.4)
        .dosed("2026-04-10T17:10:00Z", "sodium-bicarbonate", 100.0)
        .dosed("2026-04-10T17:40:00Z", "sodium-bisulfate", 20.0)
        .read("2026-04-10T18:00:00Z", "calcium_hardness", "drop-titration-10", 180.0)
        .estimated();
    let alkalinity = known(&estimated, Q::TotalAlkalinity).expect("known");
    assert!((alkalinity - (30.0 + 59.0 - 7.8)).abs() < 1.0, "{alkalinity}");
    assert!(known(&estimated, Q::Ph).is_some());
    assert_eq!(estimated.retest, []);
}

#[test]
fn a_fill_outlived_by_acid_does_not_speak_for_its_alkalinity() {
    // 60 g of dry acid a day for four days take 93 mg/L from the tap's 90, ten days after the fill.
    let mut history = History::new().event("2026-04-01T08:00:00Z", "fill");
    for day in 3..7 {
        history = history.dosed(&format!("2026-04-{day:02}T18:00:00Z"), "sodium-bisulfate", 60.0);
    }
    let (_, estimated) = history.read_today().estimated();
    assert_eq!(known(&estimated, Q::TotalAlkalinity), None);
    assert!(estimated.retest.contains(&Q::TotalAlkalinity));
    assert!((estimated.water.ph().0 - 7.4).abs() < 0.001);
}

#[test]
fn a_fill_of_months_ago_does_not_speak_for_an_alkalinity_that_nobody_read() {
    let mut history = History::new();
    for day in 3..28 {
        history = history.dosed(&format!("2026-03-{day:02}T18:00:00Z"), "sodium-bisulfate", 10.0);
    }
    let (_, estimated) = history.read_today().estimated();
    assert_eq!(known(&estimated, Q::TotalAlkalinity), None);
    assert!(estimated.value(Q::TotalAlkalinity) > 20.0, "{}", estimated.value(Q::TotalAlkalinity));
}

#[test]
fn a_ph_outlived_by_acid_is_not_known() {
    // Three days of acid, 30 g each: 35 mg/L in all from an alkalinity of 80. Whatever carbon dioxide it made has left.
    let mut history = History::new().read("2026-04-05T18:00:00Z", "ph", "ph-electrode", 7.8).read(
        "2026-04-10T18:00:00Z",
        "total_alkalinity",
        "drop-titration-10",
        80.0,
    );
    for day in 6..9 {
        history = history.dosed(&format!("2026-04-{day:02}T18:00:00Z"), "sodium-bisulfate", 30.0);
    }
    let (case, estimated) = history.estimated();
    assert_eq!(known(&estimated, Q::Ph), None);
    assert!(estimated.retest.contains(&Q::Ph));
    assert!(estimated.water.ph().0 > 7.0, "{}", estimated.water.ph().0);
    let plan = planner::plan(&case).expect("planned");
    assert!(plan.steps.iter().all(|s| s.chemical != Some("sodium-bisulfate")), "no acid on an unknown pH");
}

#[test]
fn chlorine_of_days_ago_is_used_and_leaves_no_alkalinity() {
    // 25 g of 12.5 % bleach a day bring 3.1 mg/L of chlorine; a titration reads 2 equivalents a mole of it, 4.4 mg/L as
    // CaCO3, until it is used: thirty days would be 130 mg/L that are not there.
    let mut history =
        History::new().read("2026-03-10T18:00:00Z", "total_alkalinity", "drop-titration-10", 80.0);
    for day in 11..31 {
        history = history.dosed(&format!("2026-03-{day:02}T18:00:00Z"), "sodium-hypochlorite", 25.0);
    }
    let (_, estimated) = history.read_today().estimated();
    let alkalinity = known(&estimated, Q::TotalAlkalinity).expect("known");
    assert!((alkalinity - 80.0).abs() < 1.0, "{alkalinity}");
}

#[test]
fn chlorine_dosed_since_is_counted_for_a_day() {
    let of = |dosed_at: &str| {
        let (_, estimated) = History::new()
            .read("2026-04-07T18:00:00Z", "free_chlorine", "fas-dpd-0.2", 2.0)
            .dosed(dosed_at, "sodium-hypochlorite", 25.0)
            .read("2026-04-10T18:00:00Z", "ph", "ph-electrode", 7.4)
            .estimated();
        estimated.value(Q::FreeChlorine)
    };
    // 25 g at 12.5 % as available chlorine: 3.1 mg/L, or what the shelf says of it.
    assert!(of("2026-04-10T12:00:00Z") > 4.5);
    assert!((of("2026-04-08T12:00:00Z") - 2.0).abs() < 0.05);
}

#[test]
fn months_of_every_dose_never_show_an_impossible_water() {
    // A dose of each kind each third day, nothing read but the pH and chlorine of today and an alkalinity in January.
    for chemical in ["sodium-bisulfate", "sodium-bicarbonate", "sodium-hypochlorite"] {
        for grams in [5.0, 20.0, 80.0] {
            let mut history =
                History::new().read("2026-01-05T18:00:00Z", "total_alkalinity", "drop-titration-10", 100.0);
            for month in 1..4 {
                for day in (6..28).step_by(3) {
                    history = history.dosed(&format!("2026-{month:02}-{day:02}T18:00:00Z"), chemical, grams);
                }
            }
            let (_, estimated) = history.read_today().estimated();
            let what = format!("{grams} g of {chemical}");
            assert!((estimated.water.ph().0 - 7.4).abs() < 0.001, "{what}: pH {}", estimated.water.ph().0);
            let alkalinity = estimated.value(Q::TotalAlkalinity);
            // 24 doses of bicarbonate, each 0.59 mg/L a gram; nothing else here brings any that stays.
            let brought = if chemical == "sodium-bicarbonate" { 24.0 * 0.59 * grams } else { 0.0 };
            assert!(alkalinity > 0.0 && alkalinity < 101.0 + brought, "{what}: {alkalinity}");
        }
    }
}
