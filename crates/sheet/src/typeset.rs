//! Values and a template become a PDF.
//!
//! The template (`typeset/sheet.typ`) is ours and fixed; what differs from sheet to sheet reaches it as values under
//! `sys.inputs`. It can open no file, load no package and ask for no date.

pub(crate) mod fonts;

use crate::SheetError;
use std::fmt::Display;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Dict, Duration, Smart};
use typst::syntax::{FileId, Source};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

static TEMPLATE: LazyLock<Source> = LazyLock::new(|| Source::detached(include_str!("typeset/sheet.typ")));

/// What the typesetter may know: the template, our fonts, this sheet's values.
struct Desk {
    library: LazyHash<Library>,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        fonts::book()
    }

    fn main(&self) -> FileId {
        TEMPLATE.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == TEMPLATE.id() { Ok(TEMPLATE.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, _: FileId) -> FileResult<Bytes> {
        Err(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        fonts::all().get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// The PDF of these values.
pub(crate) fn pdf(values: Dict) -> Result<Vec<u8>, SheetError> {
    let desk = Desk { library: LazyHash::new(Library::builder().with_inputs(values).build()) };
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(|e| fault(&e))?;
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|e| typesetting(e.message()))?;
    let options = PdfOptions { creator: Smart::Custom(None), standards, ..PdfOptions::default() };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|e| fault(&e));
    // The library remembers what it has laid out; no sheet is like the last, and a server runs for months.
    typst::comemo::evict(0);
    bytes
}

fn fault(diagnostics: &[SourceDiagnostic]) -> SheetError {
    let messages: Vec<&str> = diagnostics.iter().map(|d| d.message.as_str()).collect();
    typesetting(messages.join("; "))
}

fn typesetting(message: impl Display) -> SheetError {
    SheetError::Typesetting { message: message.to_string() }
}
