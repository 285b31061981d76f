//! A game as JSON.

use crate::failure::Failure;
use crate::output;
use care::band::Regime;
use care::case::Raw;
use practice::policy::Beside;
use practice::{Ended, Game, Line, SCORED, Score, Seen, Unsafe};
use serde_json::{Map, Value, json};

/// Prints it. `watched` is the game whose moves are told; `you` is absent when a policy was watched.
pub(crate) fn print(
    game: &Game,
    watched: &Ended,
    you: Option<&Ended>,
    others: &Beside,
) -> Result<(), Failure> {
    let setup = game.setup();
    let case = game.case();
    let mut result = Map::new();
    if let Some(you) = you {
        result.insert("you".into(), score(&you.score));
    }
    result.insert("good_plan".into(), score(&others.plan.score));
    result.insert("label_rule".into(), score(&others.label.score));
    let cell = case.tub.regime == Regime::SaltCell;
    let all = json!({
        "invented": true,
        "seed": setup.seed,
        "difficulty": setup.difficulty.id(),
        "weeks": setup.weeks,
        "tub": {
            "volume_l": case.tub.volume_l,
            "regime": if cell { "salt-cell" } else { "chlorine" },
        },
        "moves": watched.log.iter().map(line).collect::<Vec<_>>(),
        "result": result,
        "truth": {
            "volume_l": watched.true_volume_l,
            "course": watched.course.iter().map(|s| {
                let mut at = Map::new();
                at.insert("at_h".into(), json!(s.at_h));
                for (q, value) in SCORED.iter().zip(s.values) {
                    if let Some(value) = value {
                        at.insert(q.id().into(), json!(value));
                    }
                }
                Value::Object(at)
            }).collect::<Vec<_>>(),
        },
    });
    let text = serde_json::to_string_pretty(&all).map_err(|e| Failure::Other(e.to_string()))?;
    output::data(&format!("{text}\n"))
}

fn line(line: &Line) -> Value {
    let seen = match &line.seen {
        Seen::Read { quantity, method, raw } => {
            let mut seen = Map::new();
            seen.insert("quantity".into(), json!(quantity.id()));
            seen.insert("method".into(), json!(method));
            let (field, figure) = match raw {
                Raw::Drops(n) => ("drops", *n),
                Raw::Below(v) => ("below", *v),
                Raw::Above(v) => ("above", *v),
                Raw::Value(v) => ("value", *v),
                Raw::ScaleUnits { units, .. } => ("scale_units", *units),
            };
            seen.insert(field.into(), json!(figure));
            Value::Object(seen)
        }
        Seen::Dosed { product, grams, amount, cautions } => json!({
            "product": product,
            "mass_g": grams,
            "measure_text": amount.to_string(),
            "cautions": cautions.iter().map(ToString::to_string).collect::<Vec<_>>(),
        }),
        Seen::ToppedUp { litres } => json!({ "volume_l": litres }),
        Seen::Replaced { share } => json!({ "share": share }),
        Seen::CellSet { duty } => json!({ "duty": duty }),
        Seen::Aired { hours } => json!({ "hours": hours }),
        Seen::Waited { days, baths } => json!({ "days": days, "baths": baths }),
    };
    json!({ "at_h": line.at_h, "move": line.made.to_string(), "seen": seen })
}

fn score(score: &Score) -> Value {
    let mut in_band = Map::new();
    for b in &score.in_band {
        in_band.insert(
            b.quantity.id().into(),
            json!({
                "low": b.band.low, "high": b.band.high,
                "inside_share": b.inside, "below_share": b.below, "above_share": b.above, "last": b.last,
            }),
        );
    }
    let used: Map<String, Value> = score.used.iter().map(|u| (u.product.clone(), json!(u.grams))).collect();
    json!({
        "in_band": in_band,
        "ph_and_free_chlorine_inside_share": score.both_inside,
        "what_bathers_meet_inside_share": score.fit_inside,
        "used_g": used,
        "visits": score.visits,
        "readings": score.readings,
        "fresh_water_l": score.fresh_l,
        "baths": score.baths,
        "unsafe_baths": score.unsafe_baths(),
        "unsafe_moments": score.unsafe_moments.iter().map(unsafe_moment).collect::<Vec<_>>(),
    })
}

fn unsafe_moment(moment: &Unsafe) -> Value {
    match moment {
        Unsafe::Bath { at_h, quantity, value, low, high, people } => json!({
            "kind": "bath", "at_h": at_h, "quantity": quantity.id(), "value": value, "low": low, "high": high,
            "people": people,
        }),
        Unsafe::DosedAmongPeople { at_h } => json!({ "kind": "dosed-among-people", "at_h": at_h }),
        Unsafe::ExtremePh { at_h, ph } => json!({ "kind": "extreme-ph", "at_h": at_h, "ph": ph }),
    }
}
