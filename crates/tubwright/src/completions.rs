//! `tubwright completions`.

use crate::cli::{Cli, CompletionsArgs};
use crate::failure::Failure;
use crate::output;
use clap::CommandFactory;

pub(crate) fn run(args: &CompletionsArgs) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "tubwright", &mut script);
    output::data(&String::from_utf8_lossy(&script))
}
