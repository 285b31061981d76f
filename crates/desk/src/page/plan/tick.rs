//! Ticking a step: what was really done goes into the book, and with it into the water from which the plan is made again.

use super::{done_lately, page};
use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::known;
use crate::page::address::Path;
use crate::page::tub;
use crate::page::typed::{Typed, nth, record_typed};
use crate::state::App;
use crate::summary::last_reading_us;
use crate::unit::G_PER_OZ;
use crate::words::t;
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use book::{Kind, NewEntry, Uuid};
use care::case::Case;
use serde_json::{Value, json};

/// A step was done.
pub(super) async fn done(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let mut typed = Typed::from(sent);
    let known = known::read(&app, &ctx, tub).await?;
    // Sent before, perhaps when the shelf looked otherwise: done already.
    let before = app.book().entry(typed.id()).await.map_err(|e| PageError::from(e).at(&ctx))?;
    if before.is_some() {
        return Ok(Redirect::to(&format!("/tubs/{tub}/plan")).into_response());
    }
    let case = known.case.as_ref().map_err(|why| PageError::Unusable(vec![ctx.care_plain(why)]).at(&ctx))?;
    if let Some(entries) = entries(&ctx, tub, case, &mut typed)
        && record_typed(&app, &mut typed, &entries).await.map_err(|e| e.at(&ctx))?
    {
        return Ok(Redirect::to(&format!("/tubs/{tub}/plan")).into_response());
    }
    let known = tub::planned(&app, &ctx, tub).await?;
    let done = done_lately(&app, &ctx, tub).await.map_err(|e| e.at(&ctx))?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&ctx, &known, &done, &typed)).into_response())
}

/// What goes into the book; `None` if something typed cannot be used.
fn entries(ctx: &Ctx, tub: Uuid, case: &Case, typed: &mut Typed) -> Option<Vec<NewEntry>> {
    let id = typed.id();
    let at_us = after_reading(typed.happened_us(ctx), last_reading_us(case));
    let kind = typed.text("kind").unwrap_or("add").to_string();
    let mut body = json!({ "kind": kind });
    if let Some(step) = typed.text("step").and_then(|t| t.parse::<u32>().ok()) {
        body["step"] = step.into();
    }
    if let Some(wait) = typed.text("wait_min").and_then(|t| t.parse::<f64>().ok()).filter(|w| *w > 0.0) {
        body["wait_min"] = wait.into();
    }
    let mut refilled = false;
    match kind.as_str() {
        "add" => added(ctx, case, typed, &mut body),
        "replace-water" => match typed.number(ctx, "amount") {
            Some(percent) if (0.0..=100.0).contains(&percent) => {
                body["share_percent"] = percent.into();
                refilled = percent >= 100.0;
            }
            _ if typed.has_faults() => {}
            _ => typed.fault("amount", t!(ctx, "step-percent-wanted")),
        },
        _ => {}
    }
    if typed.has_faults() {
        return None;
    }
    let entry = |n: u128, kind: Kind, at_us: i64, body: Value| NewEntry {
        id: nth(id, n),
        kind,
        subject: Some(tub),
        at_us,
        by: ctx.who.person,
        corrects: None,
        body,
    };
    let mut all = vec![entry(0, Kind::StepDone, at_us, body)];
    if refilled {
        // All of the water is new: from here on nothing that was read before counts.
        all.push(entry(1, Kind::Event, at_us + 1_000_000, json!({ "kind": "fill" })));
    }
    Some(all)
}

/// A step that was done in the same minute as the last reading came after it: whoever doses has read before. Taken the
/// other way round, the reading would seem to hold the dose already, and the plan would ask for it again.
fn after_reading(at_us: i64, read_us: Option<i64>) -> i64 {
    const MINUTE_US: i64 = 60_000_000;
    const SECOND_US: i64 = 1_000_000;
    match read_us {
        Some(read) if at_us > read - MINUTE_US && at_us < read + SECOND_US => read + SECOND_US,
        _ => at_us,
    }
}

/// The product and its grams, from what was typed in its own unit.
fn added(ctx: &Ctx, case: &Case, typed: &mut Typed, body: &mut Value) {
    let Some(name) = typed.text("product").map(str::to_string) else {
        return typed.fault("amount", t!(ctx, "step-no-product"));
    };
    let Some(product) = case.shelf.iter().find(|p| p.name == name) else {
        return typed.fault("amount", t!(ctx, "step-product-gone", product = name));
    };
    let amount = typed.number(ctx, "amount").filter(|a| *a > 0.0);
    let Some(amount) = amount else {
        if !typed.has_faults() {
            typed.fault("amount", t!(ctx, "step-amount-wanted"));
        }
        return;
    };
    let grams = match typed.text("unit").unwrap_or("g") {
        "measure" => amount * product.measure.grams_each,
        "ml" => amount * product.density_g_ml.unwrap_or(1.0),
        "oz" => amount * G_PER_OZ,
        _ => amount,
    };
    // Tenths of a gram: nobody weighs finer, and the entry reads better.
    let grams = (grams * 10.0).round() / 10.0;
    body["product"] = name.into();
    body["mass_g"] = grams.into();
    body["amount_text"] = care::planner::amount_text(product, grams, ctx.units).as_str().into();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_in_the_minute_of_the_reading_came_after_it() {
        let read = 1_000_000_000;
        assert_eq!(after_reading(read, Some(read)), read + 1_000_000);
        assert_eq!(after_reading(read - 30_000_000, Some(read)), read + 1_000_000);
        assert_eq!(after_reading(read - 90_000_000, Some(read)), read - 90_000_000);
        assert_eq!(after_reading(read + 5_000_000, Some(read)), read + 5_000_000);
        assert_eq!(after_reading(read, None), read);
    }
}
