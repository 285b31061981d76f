//! The tub in time: what the water will do.
//!
//! A [`Tub`] and its [`State`] go in, with what happens to it ([`Event`]); [`follow`] gives the state at any hour. Between
//! events everything goes on at once: carbon dioxide leaves, the cell makes chlorine, light, people and ammonia use it, water
//! evaporates, scale forms. The state is amounts, conserved and in charge balance; pH and all else follow from them through
//! [`water`].
//!
//! Pure: no files, no clock, no randomness. Knows nothing of readings, plans or records.
//! The model, its sources, what is judgement in it and how it is checked: `docs/tub.md`.

pub mod bathers;
pub mod breakpoint;
pub mod cell;
pub mod demand;
pub mod error;
pub mod evaporation;
pub mod event;
pub mod exchange;
pub mod pool;
mod rates;
pub mod run;
pub mod scale;
pub mod state;
mod stiff;
pub mod vessel;

pub use error::TubError;
pub use event::{Event, Timed};
pub use run::{Course, follow};
pub use state::State;
pub use stiff::Work;
pub use vessel::{Jets, Settings, Surroundings, Tub};
