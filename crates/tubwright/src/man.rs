//! `tubwright man`.

use crate::cli::{Cli, ManArgs};
use crate::failure::Failure;
use crate::output;
use clap::CommandFactory;

pub(crate) fn run(args: &ManArgs) -> Result<(), Failure> {
    let mut whole = Cli::command();
    whole.build();
    let command = match &args.command {
        None => whole,
        Some(name) => whole.find_subcommand(name).cloned().ok_or_else(|| {
            let known: Vec<&str> = whole.get_subcommands().map(clap::Command::get_name).collect();
            Failure::input(format!("command is \"{name}\"; one of {} is accepted", known.join(", ")))
        })?,
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page)?;
    output::data(&String::from_utf8_lossy(&page))
}
