//! Who did what, kept in the record itself: log-ins, failed ones, changes of accounts and tokens, exports.

use crate::state::App;
use book::{BookError, Kind, NewEntry, Uuid};
use serde_json::json;
use std::net::IpAddr;

impl App {
    /// Records who did what. `who` is in words: a name, "nobody". Never a secret.
    pub(crate) async fn audit(
        &self,
        what: &str,
        who: &str,
        person: Option<Uuid>,
        address: Option<IpAddr>,
    ) -> Result<(), BookError> {
        self.record(&[entry(what, who, person, address, self.now_us())]).await.map(drop)
    }
}

/// The entry for it.
pub(crate) fn entry(
    what: &str,
    who: &str,
    person: Option<Uuid>,
    address: Option<IpAddr>,
    now_us: i64,
) -> NewEntry {
    let who: String = if who.trim().is_empty() { "nobody".into() } else { who.chars().take(100).collect() };
    let mut body = json!({ "what": what, "who": who });
    if let Some(address) = address {
        body["address"] = address.to_string().into();
    }
    NewEntry {
        id: Uuid::now_v7(),
        kind: Kind::Audit,
        subject: None,
        at_us: now_us,
        by: person,
        corrects: None,
        body,
    }
}
