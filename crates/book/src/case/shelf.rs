//! The shelf of a case: what stands there now, and what was dosed from it as it was then.

use super::in_force;
use crate::entry::Entry;
use crate::kind::Kind;
use crate::things::Thing;
use serde_json::Value;

/// Products of the tub's shelf through time, and of other shelves for what was dosed from those.
pub(super) struct Shelves {
    versions: Vec<(i64, Vec<Value>)>,
    now: Vec<Value>,
    /// What was dosed and does not stand on the shelf in that form now: none of it is left to plan with.
    gone: Vec<Value>,
    others: Vec<Value>,
}

impl Shelves {
    /// The versions of the tub's shelf, oldest first; "now" is the one in force at `until`.
    pub(super) fn new(versions: &[Entry], until: i64) -> Self {
        let versions: Vec<(i64, Vec<Value>)> =
            versions.iter().map(|v| (v.at_us, products_of(&v.body))).collect();
        let now = in_force(&versions, until).map(|i| versions[i].1.clone()).unwrap_or_default();
        Shelves { versions, now, gone: Vec::new(), others: Vec::new() }
    }

    /// Whether an entry doses something that the tub's shelf never held.
    pub(super) fn lacks(&self, entry: &Entry) -> bool {
        matches!(entry.kind, Kind::Dose | Kind::StepDone)
            && (entry.body.get("product").is_some() || entry.body.get("chemical").is_some())
            && self.find(&entry.body, entry.at_us).is_none()
    }

    /// The vans' shelves, from which it may have come. Another owner's product of that name may be of another strength.
    pub(super) fn also(&mut self, shelves: &[Thing]) {
        self.others =
            shelves.iter().filter(|s| s.body["of"] == "van").flat_map(|s| products_of(&s.body)).collect();
    }

    /// The product that a dose means, as it was at that time.
    fn find(&self, dose: &Value, at_us: i64) -> Option<&Value> {
        let then = in_force(&self.versions, at_us).map(|i| &self.versions[i].1);
        let any = self.versions.iter().rev().map(|(_, products)| products);
        then.into_iter()
            .chain([&self.now])
            .chain(any)
            .chain([&self.others])
            .find_map(|products| products.iter().find(|p| is_meant(p, dose)))
    }

    /// The dose with the name of its product in this case. One that is nowhere keeps what it says.
    pub(super) fn named(&mut self, mut dose: Value, at_us: i64) -> Value {
        let Some(product) = self.find(&dose, at_us).cloned() else { return dose };
        let name = self.name_in_case(&product);
        if let Some(fields) = dose.as_object_mut() {
            fields.remove("chemical");
            fields.insert("product".into(), Value::from(name));
        }
        dose
    }

    fn name_in_case(&mut self, product: &Value) -> String {
        if let Some(same) = self.now.iter().chain(&self.gone).find(|p| {
            same_stuff(p, product) && (name(p) == name(product) || p["was"].as_str() == Some(&name(product)))
        }) {
            return name(same);
        }
        let plain = name(product);
        let taken = |n: &str| self.now.iter().chain(&self.gone).any(|p| name(p) == n);
        let mut own = plain.clone();
        let mut number = 1;
        while taken(&own) {
            number += 1;
            own = format!("{plain} (as it was before, {number})");
        }
        let mut gone = product.clone();
        gone["name"] = Value::from(own.as_str());
        gone["stock_g"] = Value::from(0);
        gone["was"] = Value::from(plain);
        self.gone.push(gone);
        own
    }

    /// The shelf of the case.
    pub(super) fn products(&self) -> Vec<Value> {
        let gone = self.gone.iter().cloned().map(|mut p| {
            if let Some(fields) = p.as_object_mut() {
                fields.remove("was");
            }
            p
        });
        self.now.iter().cloned().chain(gone).collect()
    }
}

fn products_of(shelf: &Value) -> Vec<Value> {
    shelf["products"].as_array().cloned().unwrap_or_default()
}

/// What `care` calls it where the shelf gives no name.
fn name(product: &Value) -> String {
    match product["name"].as_str() {
        Some(name) => name.to_owned(),
        None => product["chemical"].as_str().unwrap_or_default().replace('-', " "),
    }
}

fn is_meant(product: &Value, dose: &Value) -> bool {
    match (dose["product"].as_str(), dose["chemical"].as_str()) {
        (Some(wanted), _) => name(product) == wanted,
        (None, Some(chemical)) => product["chemical"] == chemical,
        (None, None) => false,
    }
}

/// Whether a gram, and a measure, of the two are the same. Price, stock and name do not matter.
fn same_stuff(a: &Value, b: &Value) -> bool {
    let stuff = |p: &Value| {
        let mut p = p.clone();
        if let Some(fields) = p.as_object_mut() {
            for field in ["price_per_kg", "stock_g", "name", "was"] {
                fields.remove(field);
            }
        }
        p
    };
    stuff(a) == stuff(b)
}
