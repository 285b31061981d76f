//! Learn: from a tub's entries to what this tub is like, and how sure that is.
//!
//! In: a case and a seed. Out: [`Learned`], draws from the posterior of parameters and water together.
//! Model: the water is carried from the last fill by what happened (doses, bathers, cell, replaced water) and by what
//! goes on by itself (carbon dioxide leaves, chlorine is used, water evaporates and is made up): `course`. What is not
//! known of it is a list of parameters with priors: `parameter`. The water itself follows from them, so there is one
//! posterior. Readings count with heavy tails and each kit with a bias of its own: `likelihood`. The mode and its
//! curvature come first (`mode`); draws move around it by a chain that leaves the posterior itself unchanged (`draws`).
//! What was is told by the draws as well: `past`.
//! Left out: chloramines, scale, light, temperature's changes: `docs/learn.md`.

mod chance;
mod course;
mod density;
mod draws;
mod end_point;
mod future;
mod history;
mod kits;
mod last_look;
mod learned;
mod likelihood;
mod mode;
mod near;
mod oxidant;
mod parameter;
mod past;
mod posterior;
mod probe;
mod stand_in;
mod unrecorded;
mod unseen;

pub use density::Density;
pub(crate) use future::{Aims, FOLLOWED, Tended, figure_of};
pub use future::{Expected, Kept, Path};
pub(crate) use history::Act;
pub use learned::{LearnError, Learned, Trait, Unrecorded, learn, learn_roughly};
pub(crate) use learned::{quantile, three};
pub use parameter::{Name, Parameter};
pub(crate) use past::Was;
pub use unrecorded::Suspected;

#[cfg(test)]
mod against_nuts;
#[cfg(test)]
mod against_physics;
#[cfg(test)]
mod calibration;
