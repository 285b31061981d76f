//! Which quantities a tub's Reading page asks for, and by which methods: the tub's kit, or what was used last.

use crate::ctx::Ctx;
use crate::error::{PageError, Refusal};
use crate::known;
use crate::state::App;
use book::{BookError, Kind, Thing, ThingFilter, Uuid};
use care::band::Regime;
use care::case::Case;
use care::method::{self, BUILT_IN, Method};
use care::quantity::{ALL, Quantity as Q};
use care::wire::case::CaseText;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// How far back the last method is looked for, readings.
const LOOKED_BACK: usize = 80;
/// The most methods of the firm's own.
const METHODS_MOST: u32 = 500;

/// A tub with what it is read by.
pub(crate) struct Kit {
    pub(crate) thing: Thing,
    /// The tub's case as JSON, with every method of the firm's own; nothing where the book makes none.
    pub(crate) case_json: Option<Value>,
    pub(crate) case: Option<Case>,
    /// The method for each quantity, by id.
    by: BTreeMap<String, String>,
    /// The quantities asked for, in order.
    pub(crate) quantities: Vec<Q>,
}

impl Kit {
    /// Reads it from the book.
    pub(crate) async fn load(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Kit, Refusal> {
        let refuse = |e: BookError| PageError::from(e).at(ctx);
        let known = known::read(app, ctx, tub).await?;
        let thing = known.thing.clone();
        let own = own_methods(app).await.map_err(refuse)?;
        let case_json = known.case.is_ok().then(|| known.json.clone());
        let case_json = case_json.map(|case| with_methods(case, own));
        let case = case_json.as_ref().and_then(|json| CaseText::of_json(json, &thing.name).finish(None).ok());

        let past = known.happened.iter().rev().filter(|e| e.kind == Kind::Reading).take(LOOKED_BACK);
        let mut by: BTreeMap<String, String> = BTreeMap::new();
        let named = thing.body["kit"].as_object().into_iter().flatten();
        by.extend(named.filter_map(|(q, m)| Some((q.clone(), m.as_str()?.to_owned()))));
        let has_kit = !by.is_empty();
        let mut quantities: Vec<Q> = by.keys().filter_map(|q| Q::from_id(q)).collect();
        for entry in past {
            if let (Some(q), Some(m)) = (entry.body["quantity"].as_str(), entry.body["method"].as_str()) {
                by.entry(q.to_owned()).or_insert_with(|| m.to_owned());
                quantities.extend(Q::from_id(q).filter(|_| !has_kit));
            }
        }
        if !has_kit {
            quantities.extend(usual_quantities(case.as_ref().map(|c| c.tub.regime)));
        }
        let mut kit = Kit { thing, case_json, case, by, quantities };
        kit.in_order();
        Ok(kit)
    }

    /// The tub with the kit that its own version names and the firm's methods, and nothing of what was read before.
    /// `None` where it names none, or makes no case.
    pub(crate) async fn named(app: &App, tub: Uuid) -> Result<Option<Kit>, BookError> {
        let Some(thing) = app.book().thing(Kind::Tub, tub).await? else { return Ok(None) };
        let named = thing.body["kit"].as_object().into_iter().flatten();
        let by: BTreeMap<String, String> =
            named.filter_map(|(q, m)| Some((q.clone(), m.as_str()?.to_owned()))).collect();
        let mut vessel = thing.body["tub"].clone();
        vessel["name"] = Value::from(thing.name.as_str());
        let json = with_methods(json!({ "tub": vessel }), own_methods(app).await?);
        let case = CaseText::of_json(&json, &thing.name).finish(None).ok();
        let some = !by.is_empty() && case.is_some();
        Ok(some.then(|| Kit { thing, case_json: None, case, by, quantities: Vec::new() }))
    }

    /// Whether the tub's own version names this method for a quantity.
    pub(crate) fn names(&self, quantity: Q, method: &str) -> bool {
        self.by.get(quantity.id()).is_some_and(|named| named == method)
    }

    fn in_order(&mut self) {
        self.quantities.sort();
        self.quantities.dedup();
        self.quantities.retain(|q| *q != Q::SaturationIndex);
    }

    /// Asks for one more quantity.
    pub(crate) fn also(&mut self, quantity: Q) {
        self.quantities.push(quantity);
        self.in_order();
    }

    /// The firm's own methods.
    pub(crate) fn own(&self) -> &[Method] {
        self.case.as_ref().map_or(&[], |c| c.methods.as_slice())
    }

    /// A method by its id.
    pub(crate) fn method(&self, id: &str) -> Option<&Method> {
        method::find(self.own(), id)
    }

    /// The methods that can read a quantity, the firm's own first.
    pub(crate) fn methods_for(&self, quantity: Q) -> Vec<&Method> {
        let own = self.own();
        let all = own.iter().chain(BUILT_IN.iter().filter(|m| own.iter().all(|o| o.id != m.id)));
        all.filter(|m| m.scale(quantity).is_some()).collect()
    }

    /// The method that the tub is usually read by, for a quantity.
    pub(crate) fn usual(&self, quantity: Q) -> Option<&Method> {
        let can = |id: &str| self.method(id).filter(|m| m.scale(quantity).is_some());
        let named = self.by.get(quantity.id()).and_then(|id| can(id));
        named
            .or_else(|| can(method::usual(quantity)))
            .or_else(|| self.methods_for(quantity).into_iter().next())
    }

    /// Quantities that the page does not ask for but could.
    pub(crate) fn others(&self) -> Vec<Q> {
        let can = |q: &Q| !self.quantities.contains(q) && !self.methods_for(*q).is_empty();
        ALL.into_iter().filter(can).collect()
    }
}

/// What a tub is read for where nothing says so (common practice for a weekly visit).
fn usual_quantities(regime: Option<Regime>) -> Vec<Q> {
    let mut usual = vec![Q::Ph, Q::TotalAlkalinity, Q::CalciumHardness, Q::Temperature];
    usual.push(if regime == Some(Regime::Bromine) { Q::TotalBromine } else { Q::FreeChlorine });
    if regime == Some(Regime::SaltCell) {
        usual.push(Q::Salt);
    }
    usual
}

/// The firm's own methods in use.
async fn own_methods(app: &App) -> Result<Vec<Value>, BookError> {
    let filter = ThingFilter { archived: Some(false), limit: Some(METHODS_MOST), ..ThingFilter::default() };
    Ok(app.book().things(Kind::Method, &filter).await?.into_iter().map(|m| m.body).collect())
}

/// The case with every method of the firm's own, not only those that its readings name.
fn with_methods(mut case: Value, own: Vec<Value>) -> Value {
    let mut methods = case["method"].as_array().cloned().unwrap_or_default();
    for method in own {
        if methods.iter().all(|m| m["id"] != method["id"]) {
            methods.push(method);
        }
    }
    if !methods.is_empty() {
        case["method"] = json!(methods);
    }
    case
}
