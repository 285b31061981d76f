//! Test kits of the firm's own: a strip is read by the table of the lot that was in use that day.

use super::in_force;
use crate::entry::Entry;
use serde_json::Value;
use std::collections::BTreeMap;

/// Methods by id, each with its versions, oldest first.
#[derive(Default)]
pub(super) struct Methods {
    versions: BTreeMap<String, Vec<(i64, Value)>>,
    used: BTreeMap<String, Value>,
}

impl Methods {
    /// The versions of one thing. Two things with one id (two lots entered as two kits) are versions of one method.
    pub(super) fn add(&mut self, versions: &[Entry]) {
        for version in versions {
            if let Some(id) = version.body["id"].as_str() {
                let list = self.versions.entry(id.to_owned()).or_default();
                list.push((version.at_us, version.body.clone()));
                list.sort_by_key(|(at, _)| *at);
            }
        }
    }

    /// Makes the reading name the version that was in force at its time. The last version keeps the plain id.
    pub(super) fn name(&mut self, reading: &mut Value, at_us: i64) {
        let Some(id) = reading["method"].as_str().map(str::to_owned) else { return };
        let Some(versions) = self.versions.get(&id) else { return };
        let Some(which) = in_force(versions, at_us) else { return };
        let mut method = versions[which].1.clone();
        let name = if which + 1 == versions.len() { id } else { format!("{id}@{}", which + 1) };
        method["id"] = Value::from(name.as_str());
        reading["method"] = Value::from(name.as_str());
        self.used.insert(name, method);
    }

    /// Those that a reading names.
    pub(super) fn used(self) -> Vec<Value> {
        self.used.into_values().collect()
    }
}
