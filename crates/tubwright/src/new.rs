//! `tubwright new`: a commented case to start from.

use crate::cli::NewArgs;
use crate::failure::Failure;
use crate::output;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

pub(crate) const SALT_CELL: &str = include_str!("cases/new-salt-cell.toml");
pub(crate) const CHLORINE: &str = include_str!("cases/new-chlorine.toml");
pub(crate) const BROMINE: &str = include_str!("cases/new-bromine.toml");

pub(crate) fn run(args: &NewArgs) -> Result<(), Failure> {
    let text = match (args.chlorine, args.bromine) {
        (true, _) => CHLORINE,
        (_, true) => BROMINE,
        _ => SALT_CELL,
    };
    if args.file == Path::new("-") {
        return output::data(text);
    }
    let shown = args.file.display();
    let mut file =
        OpenOptions::new().write(true).create_new(true).open(&args.file).map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => Failure::input(format!(
                "{shown}: is there already; a name that is free is accepted (nothing was written)"
            )),
            _ => Failure::input(format!("{shown}: cannot be written: {e}")),
        })?;
    file.write_all(text.as_bytes())
        .map_err(|e| Failure::Other(format!("{shown}: cannot be written: {e}")))?;
    output::talk(&format!("Wrote {shown}. Put your own figures in, then: tubwright plan {shown}"));
    Ok(())
}
