//! Practice: a simulated tub to dose, and the world that plans are judged in.
//!
//! A [`Game`] hides a true tub, made from a seed and a [`Difficulty`], and follows it with crate `tub`. The learner sees
//! what kits show and does what hands can do ([`Move`]); at the end the true water is revealed and scored. A [`Policy`]
//! plays the same tub at the same looks, with the same weather, bathers and noise: only what is done
//! differs.
//!
//! Nothing of how the world errs is shared with what `care` assumes: see `docs/practice.md`.
//! Pure: no files, no clock; randomness is a seed that is handed in.

mod chance;
mod difficulty;
mod error;
mod game;
mod kit;
mod moves;
pub mod policy;
mod score;
mod timetable;
mod told;
mod truth;
mod world;

pub use difficulty::{DIFFICULTIES, Difficulty};
pub use error::PracticeError;
pub use game::{Ended, Game, Line, Seen, Setup, WEEKS_MOST};
pub use kit::{KITS, Kit, figure};
pub use moves::{AIR_HOURS_MOST, GRAMMAR, MOVES_MOST, Move, WAIT_DAYS_MOST};
pub use policy::{Policy, play, play_on};
pub use score::{InBand, SCORED, Sample, Score, Unsafe, Used};
pub use told::FILLED;
pub use world::SAMPLE_H;
