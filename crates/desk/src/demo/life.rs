//! One tub's months: the water moves, somebody reads it with a kit's errors, does most of what the plan says, and slips now
//! and then. A sketch to look around in, not a model of a tub.

use super::Scribe;
use book::{Kind, Uuid};
use care::plan::{Plan, Snapshot, StepKind};
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;
use serde_json::{Value, json};
use std::collections::BTreeMap;

const HOUR_US: i64 = 3_600_000_000;
const DAY_US: i64 = 24 * HOUR_US;

pub(super) struct Start {
    pub(super) tub: Uuid,
    pub(super) by: Uuid,
    /// Tub, source water, shelf.
    pub(super) case: Value,
    pub(super) filled: i64,
    pub(super) now_us: i64,
    pub(super) salt: bool,
}

/// What the book says of the tub so far, for the plan of the next visit.
#[derive(Default)]
struct Told {
    readings: Vec<Value>,
    doses: Vec<Value>,
    events: Vec<Value>,
}

/// What the water really is.
type Truth = BTreeMap<Q, f64>;

pub(super) fn live(scribe: &mut Scribe, start: &Start) {
    let source = &start.case["source_water"];
    let of = |field: &str| source[field].as_f64().unwrap_or(0.0);
    let mut truth: Truth = [
        (Q::Ph, of("ph") + 0.3),
        (Q::FreeChlorine, 0.0),
        (Q::TotalAlkalinity, of("total_alkalinity_mg_l_caco3")),
        (Q::CalciumHardness, of("calcium_hardness_mg_l_caco3")),
        (Q::Salt, 1.65 * of("chloride_mg_l")),
        (Q::CyanuricAcid, 0.0),
    ]
    .into();
    scribe.write(Kind::Event, start.tub, start.filled, Some(start.by), json!({"kind": "fill"}));
    // A few tubs have been left alone for too long.
    let end = start.now_us
        - if scribe.random.chance(0.12) {
            (scribe.random.between(10.0, 20.0) * DAY_US as f64) as i64
        } else {
            0
        };
    let demand = scribe.random.between(0.25, 0.7);
    let lift = scribe.random.between(9.0, 30.0);
    let mut at = start.filled + 2 * HOUR_US;
    let mut visit = 0;
    let mut told =
        Told { events: vec![json!({"at": time(start.filled), "kind": "fill"})], ..Told::default() };
    while at < end {
        visited(scribe, start, &mut truth, &mut told, at, visit);
        visit += 1;
        let days = if visit < 4 { scribe.random.between(1.0, 3.0) } else { scribe.random.between(4.0, 9.0) };
        pass(scribe, start, &mut truth, days, demand, lift);
        at += (days * DAY_US as f64) as i64;
    }
}

/// What days do: carbon dioxide leaves and the pH climbs, chlorine is used, water splashes out.
fn pass(scribe: &mut Scribe, start: &Start, truth: &mut Truth, days: f64, demand: f64, lift: f64) {
    let mut change = |q: Q, to: &dyn Fn(f64) -> f64| {
        if let Some(value) = truth.get_mut(&q) {
            *value = to(*value);
        }
    };
    change(Q::Ph, &|ph| 7.95 + (ph - 7.95) * (-days / lift).exp());
    // The cell makes chlorine; elsewhere the owner adds some most evenings.
    let kept = if start.salt { scribe.random.between(2.0, 5.5) } else { scribe.random.between(1.5, 6.5) };
    let kept = if scribe.random.chance(0.12) { 0.3 } else { kept };
    change(Q::FreeChlorine, &|fc| kept + (fc - kept) * (-demand * days).exp());
    let lost = 1.0 - 0.004 * days;
    change(Q::Salt, &|salt| salt * lost);
    change(Q::CyanuricAcid, &|cya| cya * lost);
}

/// A visit: readings, the plan, most of its doses.
fn visited(scribe: &mut Scribe, start: &Start, truth: &mut Truth, told: &mut Told, at: i64, visit: usize) {
    let mut readings = Vec::new();
    let asked: &[(Q, &str)] = match visit % 4 {
        0 => &[
            (Q::Ph, "comparator"),
            (Q::FreeChlorine, "dpd-comparator"),
            (Q::TotalAlkalinity, "drop-titration-10"),
            (Q::CalciumHardness, "drop-titration-10"),
            (Q::CyanuricAcid, "turbidity-tube"),
        ],
        2 => &[
            (Q::Ph, "comparator"),
            (Q::FreeChlorine, "dpd-comparator"),
            (Q::TotalAlkalinity, "drop-titration-10"),
        ],
        _ => &[(Q::Ph, "comparator"), (Q::FreeChlorine, "dpd-comparator")],
    };
    for (q, method) in asked {
        readings.push(reading(scribe, *q, method, truth));
    }
    if start.salt && visit.is_multiple_of(4) {
        readings.push(reading(scribe, Q::Salt, "salt-meter", truth));
    }
    for (i, body) in readings.iter().enumerate() {
        let id =
            scribe.write(Kind::Reading, start.tub, at + i as i64 * 1_000_000, Some(start.by), body.clone());
        // Slips of the pen, put right.
        if i == 0 && scribe.random.chance(0.03) {
            scribe.correct(id, Kind::Reading, start.tub, at, Some(start.by), body.clone());
        }
    }
    if scribe.random.chance(0.3) {
        let people = f64::from(1 + (scribe.random.bits() % 5) as u32);
        scribe.write(
            Kind::Event,
            start.tub,
            at - 12 * HOUR_US,
            Some(start.by),
            json!({"kind": "bathers", "people": people, "minutes": 40.0}),
        );
    }
    if scribe.random.chance(0.08) {
        let text = *scribe.random.pick(&[
            "Cover left open overnight.",
            "Filter rinsed.",
            "Owner says the water was cloudy on Sunday.",
            "New cover fitted.",
        ]);
        scribe.write(Kind::Note, start.tub, at + HOUR_US / 2, Some(start.by), json!({"text": text}));
    }
    told.readings.extend(readings.iter().map(|body| dated(body, at)));
    if let Some(plan) = plan(start, told, at, visit) {
        follow(scribe, start, truth, told, at, &plan);
    }
}

/// A kit's reading of the truth, with its error and its steps.
fn reading(scribe: &mut Scribe, q: Q, method: &str, truth: &Truth) -> Value {
    let value = truth.get(&q).copied().unwrap_or(0.0);
    let error = scribe.random.error();
    match q {
        Q::Ph => {
            let seen = ((value + 0.08 * error) * 10.0).round() / 10.0;
            json!({"quantity": q.id(), "method": method, "value": seen.clamp(6.8, 8.2)})
        }
        Q::FreeChlorine => {
            let seen = ((value + 0.25 * error) * 2.0).round() / 2.0;
            json!({"quantity": q.id(), "method": method, "value": seen.clamp(0.5, 10.0)})
        }
        Q::TotalAlkalinity | Q::CalciumHardness => {
            let drops = (value / 10.0 + 0.4 * error).round().max(1.0);
            json!({"quantity": q.id(), "method": method, "drops": drops})
        }
        Q::CyanuricAcid if value < 20.0 => json!({"quantity": q.id(), "method": method, "value": "<20"}),
        _ => {
            json!({"quantity": q.id(), "method": method, "value": (value * (1.0 + 0.04 * error)).round().max(0.0)})
        }
    }
}

fn time(us: i64) -> String {
    jiff::Timestamp::from_microsecond(us).map(|t| t.to_string()).unwrap_or_default()
}

fn dated(body: &Value, at: i64) -> Value {
    let mut body = body.clone();
    body["at"] = json!(time(at));
    body
}

fn plan(start: &Start, told: &Told, at: i64, visit: usize) -> Option<Plan> {
    let mut case = start.case.clone();
    case["reading"] = json!(told.readings);
    case["dose"] = json!(told.doses);
    case["event"] = json!(told.events);
    case["now"] = json!(time(at + 60_000_000));
    case["plan"] = json!(if visit == 0 { "start-up" } else { "correction" });
    let case = CaseText::of_json(&case, "demonstration").finish(None).ok()?;
    care::planner::plan(&case).ok()
}

/// Does most of the plan, with a hand that is not a scale.
fn follow(scribe: &mut Scribe, start: &Start, truth: &mut Truth, told: &mut Told, at: i64, plan: &Plan) {
    let mut before = &plan.before;
    let mut minutes = 10;
    for step in &plan.steps {
        let ratio = 1.0 + 0.08 * scribe.random.error();
        if let (StepKind::Add, Some(mass_g), Some(product)) = (step.kind, step.mass_g, &step.product) {
            if scribe.random.chance(0.9) {
                let mass_g = (mass_g * ratio * 10.0).round() / 10.0;
                told.doses.push(dated(&json!({"product": product, "mass_g": mass_g}), at + 120_000_000));
                let body = json!({"step": step.order as f64, "kind": "add", "product": product,
                    "mass_g": mass_g, "amount_text": step.measure_text.to_string()});
                scribe.write(
                    Kind::StepDone,
                    start.tub,
                    at + i64::from(minutes) * 60_000_000,
                    Some(start.by),
                    body,
                );
                shift(truth, before, &step.water_after, ratio);
            }
        } else if let (StepKind::ReplaceWater, Some(share)) = (step.kind, step.share) {
            let event = match share {
                1.0.. => json!({"kind": "fill"}),
                _ => json!({"kind": "drain", "share_percent": 100.0 * share}),
            };
            told.events.push(dated(&event, at + 90_000_000));
            let when = at + i64::from(minutes) * 60_000_000;
            scribe.write(Kind::Event, start.tub, when, Some(start.by), event);
            shift(truth, before, &step.water_after, 1.0);
        } else if step.kind == StepKind::LeaveOpen {
            shift(truth, before, &step.water_after, 1.0);
        }
        minutes += 20;
        before = &step.water_after;
    }
}

/// Moves the truth as far as the plan's water moved, in proportion.
fn shift(truth: &mut Truth, before: &Snapshot, after: &Snapshot, ratio: f64) {
    for (q, value) in truth.iter_mut() {
        let of = |s: &Snapshot| s.quantities.iter().find(|e| e.quantity == *q).map(|e| e.value);
        if let (Some(from), Some(to)) = (of(before), of(after)) {
            *value = (*value + ratio * (to - from)).max(0.0);
        }
    }
}
