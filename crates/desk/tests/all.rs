//! The tests of the app, one program: each would link the whole typesetting library again.

mod api;
mod certificate;
mod doors;
mod house;
mod kept;
mod links;
mod matrix;
mod practice;
mod reading;
mod renewed;
mod things;
mod tub;
mod words;
