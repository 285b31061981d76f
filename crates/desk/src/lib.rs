//! The app over the book: pages, and the HTTP interface. No chemistry and no rules of its own: those come from `care`.
//!
//! Pages are made on the server; everything essential works without script. One request: `doors` says who asks,
//! `policy` whether they may, a page module reads the book and asks `care`, `page::shell` draws.

mod api;
mod asset;
mod certificate;
mod clock;
mod config;
mod ctx;
mod demo;
mod doors;
mod error;
mod known;
mod number;
mod owner_sheet;
mod page;
mod policy;
mod said;
mod serve;
mod state;
mod summary;
mod unit;
mod words;
mod worker;

pub use certificate::{Certificate, CertificateError};
pub use clock::{Clock, SystemClock};
pub use config::Config;
pub use doors::account as accounts;
pub use doors::password::PasswordError;
pub use doors::public::PublicUrl;
pub use policy::{Role, Rule, rules};
pub use serve::{ServeError, app, serve};
pub use state::App;
