//! Data to stdout, talk to stderr, charts to files; neither panics when its reader has gone.

use crate::failure::Failure;
use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// Prints data.
pub(crate) fn data(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Says something to the person. A closed stderr is nobody to tell.
pub(crate) fn talk(text: &str) {
    let _nobody_listens = writeln!(io::stderr().lock(), "{text}");
}

/// Writes a file, and the folder that it stands in if that is not there.
pub(crate) fn file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty());
    let written = folder.map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(path, bytes));
    written.map_err(|e| Failure::Other(format!("{} cannot be written: {e}", path.display())))
}
