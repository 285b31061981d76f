//! Data to stdout, talk to stderr; neither panics when its reader has gone.

use crate::failure::Failure;
use std::io::{self, Write};

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
