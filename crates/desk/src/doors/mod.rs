//! The doors: who asks. Passwords, sessions, tokens, limits, and the headers that every answer carries.
//!
//! On this machine alone and without accounts there is one person, and no login stands in the way. As soon as there is
//! an account, or the server listens elsewhere, everybody comes in by name. What they may do is `policy`'s matter.

pub mod account;
pub(crate) mod address;
pub(crate) mod audit;
pub(crate) mod headers;
pub(crate) mod identify;
pub(crate) mod limit;
pub(crate) mod login;
pub(crate) mod password;
pub(crate) mod public;
pub(crate) mod secret;

use limit::Buckets;
use public::PublicUrl;
use std::sync::atomic::{AtomicBool, AtomicI64};
use tokio::sync::Semaphore;

/// What the doors remember while the server runs.
pub(crate) struct Doors {
    /// The address that people use, where it is not this machine's own.
    pub(crate) public: Option<PublicUrl>,
    /// Somebody has an account (and accounts are never taken away, only closed).
    pub(crate) has_accounts: AtomicBool,
    /// When that was last looked up, µs.
    pub(crate) looked_us: AtomicI64,
    /// Tries at the login page, by address.
    pub(crate) logins: Buckets,
    /// Requests to the interface, by person or address.
    pub(crate) requests: Buckets,
    /// A password takes 19 MiB to check: so many at once and no more.
    pub(crate) checks: Semaphore,
}

impl Doors {
    pub(crate) fn new(public: Option<PublicUrl>) -> Doors {
        Doors {
            public,
            has_accounts: AtomicBool::new(false),
            looked_us: AtomicI64::new(i64::MIN),
            logins: Buckets::new(10.0, 1.0 / 6.0),
            requests: Buckets::new(1000.0, 50.0),
            checks: Semaphore::new(2),
        }
    }
}
