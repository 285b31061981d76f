//! The owner's sheet: what should a hot tub's owner do, on one printed page or two?
//!
//! In: an [`OwnerSheet`], worded by the caller in the owner's language and units, a [`Paper`], and whether the print is
//! large. Out: the bytes of a PDF, the same for the same input. Tagged, and held to PDF/UA-1 (ISO 14289-1) by the
//! typesetting library, so that a screen reader can follow it.
//!
//! What is typed by people stays text: it is handed to the typesetter as values, never as source. A step and its
//! cautions stay on one page, unless they are longer than one. A character that the built-in fonts (Latin, Greek,
//! Cyrillic) lack is shown as a box in a name, and refused in what a person must be able to read
//! ([`SheetError::CannotBeDrawn`]).
//!
//! Left out on purpose: every judgement. Which steps, which cautions, which words are the caller's business.
//! No clock, no files, no network.
//!
//! Checked in `tests/`: real PDFs, read back by programs that are not ours.

mod error;
mod letters;
mod link;
mod owner;
mod typeset;
mod values;

pub use error::SheetError;
pub use owner::{Chart, Labels, Line, OwnerSheet, Step};

/// The paper that the sheet is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Paper {
    /// ISO 216 A4, 210 × 297 mm.
    A4,
    /// US Letter, 8.5 × 11 inches.
    Letter,
}

/// Sets the sheet and returns the bytes of the PDF.
///
/// `large_print` sets everything, small print included, in 18 points or more.
///
/// # Errors
/// [`SheetError`] names the field, what was wrong with it and what would be right. [`SheetError::Typesetting`] is a
/// fault of ours, not of the input.
pub fn pdf(sheet: &OwnerSheet, paper: Paper, large_print: bool) -> Result<Vec<u8>, SheetError> {
    let values = values::from_sheet(sheet, paper, large_print)?;
    typeset::pdf(values)
}
