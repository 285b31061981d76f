//! The command line: one file per command. Data goes to stdout, talk to stderr.
//!
//! Exit codes: 0 done, 2 the input was wrong, 1 anything else. No chemistry and no rules of its own: they come from
//! `care` and `water`.

mod account;
mod book;
mod cli;
mod completions;
mod failure;
mod input;
mod man;
mod new;
mod outlook;
mod output;
mod plan;
mod practice;
mod schema;
mod serve;
mod water;
mod words;

use clap::Parser;
use cli::{Cli, Command};
use std::process::ExitCode;

fn main() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Water(args) => water::run(&args),
        Command::Plan(args) => plan::run(&args),
        Command::Outlook(args) => outlook::run(&args),
        Command::Practice(args) => practice::run(&args),
        Command::Schema(args) => schema::run(&args),
        Command::New(args) => new::run(&args),
        Command::Serve(args) => serve::run(&args),
        Command::Book(args) => book::run(&args),
        Command::Account(args) => account::run(args),
        Command::Completions(args) => completions::run(&args),
        Command::Man(args) => man::run(&args),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.tell(),
    }
}
