//! The tests of the sheet, one program: each would link the whole typesetting library again.

mod breaks;
mod common;
mod input;
mod page;
