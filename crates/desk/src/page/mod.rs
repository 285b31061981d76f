//! Pages: one file each, each with its routes and their rules.

pub(crate) mod access;
mod address;
pub(crate) mod bands;
pub(crate) mod fields;
pub(crate) mod log;
pub(crate) mod log_copy;
pub(crate) mod login;
pub(crate) mod lot_plot;
pub(crate) mod me;
pub(crate) mod methods;
pub(crate) mod outlook;
pub(crate) mod owner;
pub(crate) mod people;
pub(crate) mod plan;
pub(crate) mod practice;
pub(crate) mod qr;
pub(crate) mod reading;
pub(crate) mod setup;
pub(crate) mod sheet;
pub(crate) mod shell;
pub(crate) mod shelves;
pub(crate) mod strip;
pub(crate) mod things;
pub(crate) mod today;
pub(crate) mod tub;
pub(crate) mod typed;
pub(crate) mod waiting;
pub(crate) mod waters;
pub(crate) mod what_if;
pub(crate) mod why;

use crate::state::App;
use axum::Router;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .merge(bands::routes())
        .merge(log::routes())
        .merge(me::routes())
        .merge(methods::routes())
        .merge(owner::routes())
        .merge(people::routes())
        .merge(setup::routes())
        .merge(sheet::routes())
        .merge(shelves::routes())
        .merge(waters::routes())
        .merge(access::routes())
        .merge(login::routes())
        .merge(outlook::routes())
        .merge(plan::routes())
        .merge(practice::routes())
        .merge(reading::routes())
        .merge(today::routes())
        .merge(tub::routes())
        .merge(waiting::routes())
        .merge(what_if::routes())
        .merge(why::routes())
}
