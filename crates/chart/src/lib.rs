//! Charts: what an outlook says of one quantity, drawn once for the page, for files and for the printed sheet.
//!
//! In: an [`Outlook`](care::outlook::Outlook), which of its fans, and the words ([`Words`]) in the reader's language. Out: SVG
//! ([`svg`]), for a page (coloured by the page's style sheet) or for itself ([`Look`]); PNG ([`png`]) of the latter.
//! The days behind lie left of a line at now, what may come right of it; the band is shaded. Readings are rings with the
//! interval in which they are 9 times in 10; doses are ticks with a letter for what went in ([`keys`]).
//! Nothing is told by colour alone. Left out on purpose: every judgement and every word; no clock, no files.
//!
//! Checked in `tests/`: the drawing is read back as XML by a library that is not ours, marks are looked for where the
//! figures say, and a PNG's pixels are counted.

mod fan;
mod look;
mod picture;
mod scale;

pub use fan::{Chart, Words, keys, svg};
pub use look::Look;
pub use picture::{PictureError, png};
