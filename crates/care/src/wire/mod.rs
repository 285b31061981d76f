//! The wire: text shapes that scripts rely on, and nothing else. Field names carry units and are a promise.
//!
//! In: text as bytes. Out: domain types, or every fault found, each with its line, field, value and what is accepted.
//! Each input shape is one plain struct: serde reads it, its JSON Schema is published, and the checker that names the
//! faults is built from that same schema, so that what is published is what is checked ([`shape`]). Domain types derive
//! nothing: they are converted by hand, so that a change inside cannot change the promise by accident.
//! Pure: bytes are handed in; opening files is the caller's.

pub mod ahead;
pub mod case;
mod case_shape;
mod entry;
pub mod node;
pub mod outlook;
mod own_method;
pub mod plan;
pub mod problem;
mod product;
pub mod schema;
pub mod shape;
mod suggest;
mod text;
mod vessel;
pub mod water;
mod water_out;
mod when;

pub use problem::{Problem, Problems};
