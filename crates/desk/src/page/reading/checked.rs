//! What the rows say, before anything is recorded: each by its method's physics, and all of them beside what is known.

use crate::page::reading::figure::Mistake;
use crate::page::reading::form::{Row, Sent};
use crate::page::reading::kit::Kit;
use care::case::{Case, Raw, Reading};
use care::estimate::estimate;
use care::finding::{Finding, Weight};
use care::method::{self, Context, Interpreted, Outcome};
use care::quantity::Quantity as Q;
use care::text::Text;
use care::wire::case::CaseText;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Where nothing says how warm the water is, °C.
const USUAL_TEMPERATURE_C: f64 = 38.0;
/// 9 times in 10 a figure lies within so many standard errors.
const NINE_IN_TEN: f64 = 1.645;

/// What one row says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Said {
    /// Nothing was read.
    Nothing,
    /// A value, by how much it may be off, 9 times in 10, and whether drops were counted for it.
    Value { quantity: Q, value: f64, off_by: f64, counted: bool },
    /// Less than the method can tell.
    Below { quantity: Q, limit: f64 },
    /// More than the method can tell.
    Above { quantity: Q, limit: f64 },
    /// The reading cannot be used.
    Void,
    /// What was entered is no reading.
    Mistake(Mistake),
}

/// What all rows say.
#[derive(Debug, Clone, Default)]
pub(crate) struct Checked {
    /// One for each row: what it says, and what is to be known of it.
    pub(crate) rows: Vec<(Option<Said>, Vec<Finding>)>,
    /// Of several together.
    pub(crate) together: Vec<Finding>,
}

impl Checked {
    /// Whether a row cannot be recorded as it stands.
    pub(crate) fn has_mistakes(&self) -> bool {
        self.rows.iter().any(|(said, _)| matches!(said, Some(Said::Mistake(_))))
    }
}

/// Works out what the rows say at a time (RFC 3339), as if they had been recorded.
pub(crate) fn check(kit: &Kit, sent: &Sent, at: &str) -> Checked {
    let bodies: Vec<Option<Result<Value, Mistake>>> =
        sent.rows.iter().map(|r| r.is_filled().then(|| r.body(sent.units))).collect();
    let readings: Vec<Value> = bodies.iter().flatten().filter_map(|b| b.as_ref().ok()).cloned().collect();
    let known_before: BTreeSet<String> = kit.case.as_ref().map(told).unwrap_or_default();
    let with_these = kit.case_json.as_ref().and_then(|case| with(case, &readings, at, &kit.thing.name));
    let estimated = with_these.as_ref().and_then(|case| estimate(case).ok());
    let level = |q: Q| estimated.as_ref().and_then(|e| e.level(q)).filter(|l| l.known).map(|l| l.value);
    let typed = |q: Q| {
        let of = |b: &Value| (b["quantity"] == q.id()).then(|| b["value"].as_f64()).flatten();
        readings.iter().find_map(of)
    };
    let about = |q: Q| typed(q).or_else(|| level(q));
    let context = Context {
        ph: about(Q::Ph),
        free_chlorine_mg_l: about(Q::FreeChlorine).or_else(|| typed(Q::TotalChlorine)),
        cyanuric_acid_mg_l: about(Q::CyanuricAcid),
        salt_mg_l: about(Q::Salt),
        total_alkalinity_mg_l_caco3: about(Q::TotalAlkalinity),
        ..Context::at(
            typed(Q::Temperature)
                .or_else(|| kit.case.as_ref().and_then(|c| c.tub.temperature_c))
                .unwrap_or(USUAL_TEMPERATURE_C),
        )
    };

    let mut rows: Vec<(Option<Said>, Vec<Finding>)> = Vec::new();
    for (row, body) in sent.rows.iter().zip(&bodies) {
        rows.push(match body {
            None => (Some(Said::Nothing), Vec::new()),
            Some(Err(mistake)) => (Some(Said::Mistake(mistake.clone())), Vec::new()),
            Some(Ok(body)) => match interpreted(kit, row, body, &context) {
                Ok(read) => (Some(said(&read, body["drops"].is_number())), read.findings),
                Err(mistake) => (Some(Said::Mistake(mistake)), Vec::new()),
            },
        });
    }
    // What they say together with all that was read before: contradictions above all.
    let mut together = Vec::new();
    let filled: Vec<Q> = sent.rows.iter().filter(|r| r.is_filled()).map(|r| r.quantity).collect();
    let of_rows: BTreeSet<String> = rows.iter().flat_map(|(_, f)| f).map(|f| f.what.to_string()).collect();
    for finding in estimated.into_iter().flat_map(|e| e.findings) {
        let concerns = finding.quantities.iter().any(|q| filled.contains(q));
        let is_new =
            !known_before.contains(finding.what.as_str()) && !of_rows.contains(finding.what.as_str());
        if finding.weight < Weight::Doubt || !concerns || !is_new {
            continue;
        }
        let own = sent.rows.iter().position(|r| finding.quantities == [r.quantity]);
        match own.and_then(|n| rows.get_mut(n)) {
            Some((_, findings)) => findings.push(finding),
            None => together.push(finding),
        }
    }
    Checked { rows, together }
}

/// Whether every row that is filled is a reading of the kit that the tub's own version names, without a mistake.
pub(crate) fn plain(kit: &Kit, sent: &Sent) -> bool {
    let warm = kit.case.as_ref().and_then(|c| c.tub.temperature_c).unwrap_or(USUAL_TEMPERATURE_C);
    let context = Context::at(warm);
    let fine = |row: &Row| {
        let body = row.body(sent.units);
        kit.names(row.quantity, &row.method)
            && body.is_ok_and(|b| interpreted(kit, row, &b, &context).is_ok())
    };
    sent.rows.iter().any(Row::is_filled) && sent.rows.iter().filter(|r| r.is_filled()).all(fine)
}

/// What the readings of a case say already.
fn told(case: &Case) -> BTreeSet<String> {
    estimate(case).map(|e| e.findings.into_iter().map(|f| f.what.to_string()).collect()).unwrap_or_default()
}

/// The case as it would be with these readings.
fn with(case: &Value, readings: &[Value], at: &str, name: &str) -> Option<Case> {
    let mut case = case.clone();
    let mut all = case["reading"].as_array().cloned().unwrap_or_default();
    all.extend(readings.iter().map(|r| {
        let mut r = r.clone();
        r["at"] = at.into();
        r
    }));
    case["reading"] = json!(all);
    CaseText::of_json(&case, name).finish(None).ok()
}

fn interpreted(kit: &Kit, row: &Row, body: &Value, context: &Context) -> Result<Interpreted, Mistake> {
    let method =
        kit.method(&row.method).ok_or_else(|| Mistake::NoMethod(row.method.chars().take(60).collect()))?;
    let reading = Reading { quantity: row.quantity, method: row.method.clone(), raw: raw(body), line: None };
    method::interpret(method, &reading, context)
        .map_err(|e| Mistake::Refused(Text::joined(vec![method.said().capital(), e.wrong.said()], " ")))
}

fn raw(body: &Value) -> Raw {
    if let Some(drops) = body["drops"].as_f64() {
        return Raw::Drops(drops);
    }
    if let Some(units) = body["scale_units"].as_f64() {
        let signal_changed = body["signal_band_changed"].as_bool();
        return Raw::ScaleUnits { units, signal_changed, minutes: body["minutes"].as_f64() };
    }
    if let Some(text) = body["value"].as_str() {
        let limit = text.trim_start_matches(['<', '>']).parse().unwrap_or(f64::NAN);
        return if text.starts_with('<') { Raw::Below(limit) } else { Raw::Above(limit) };
    }
    Raw::Value(body["value"].as_f64().unwrap_or(f64::NAN))
}

fn said(read: &Interpreted, counted: bool) -> Said {
    let quantity = read.quantity;
    match read.outcome {
        Outcome::Value { value, standard_error } => {
            Said::Value { quantity, value, off_by: NINE_IN_TEN * standard_error, counted }
        }
        Outcome::Below { limit } => Said::Below { quantity, limit },
        Outcome::Above { limit } => Said::Above { quantity, limit },
        Outcome::Void => Said::Void,
    }
}
