//! Why there is no sheet.

/// Why a sheet could not be made; every message says where and what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SheetError {
    /// The language tag is not of a form that a PDF may carry.
    #[error("lang is {value:?}; a tag such as \"en\", \"de\" or \"pt-BR\" is accepted")]
    Language {
        /// What was given.
        value: String,
    },
    /// A text that the sheet cannot do without is empty.
    #[error("{field} is empty; the sheet needs a text there")]
    Empty {
        /// Path of the field, as `steps[0].what`.
        field: String,
    },
    /// A text that a person must be able to read has letters that the fonts lack.
    #[error("{field} has {characters:?}, which the built-in fonts (Latin, Greek, Cyrillic) cannot draw")]
    CannotBeDrawn {
        /// Path of the field.
        field: String,
        /// The characters in question, each once.
        characters: String,
    },
    /// A number is missing, infinite, or a range is the wrong way round.
    #[error("{field} is {low} to {high}; two finite numbers are needed, the lower first")]
    Range {
        /// Path of the field.
        field: String,
        /// The lower end as given.
        low: f64,
        /// The upper end as given.
        high: f64,
    },
    /// An estimate is not a number.
    #[error("{field} is {value}; a finite number is needed")]
    NotFinite {
        /// Path of the field.
        field: String,
        /// What was given.
        value: f64,
    },
    /// The link is no web address, or too long for a code that a phone reads from paper.
    #[error(
        "link is {value:?}; an http or https address of at most {most} characters without spaces is needed"
    )]
    Link {
        /// What was given.
        value: String,
        /// The longest that is accepted.
        most: usize,
    },
    /// The typesetting library refused; this is a fault of ours.
    #[error("the sheet could not be typeset: {message}")]
    Typesetting {
        /// What the library said.
        message: String,
    },
}
