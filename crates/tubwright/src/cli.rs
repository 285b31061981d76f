//! What can be typed.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  tubwright plan --example            a plan for an invented tub, to see what it does
  tubwright new my-tub.toml           write a commented case to start from
  tubwright plan my-tub.toml          the plan for that tub
  tubwright plan my-tub.toml --json   the same for a script

Exit codes: 0 done, 2 the input was wrong, 1 anything else.
A plan never replaces a product's label, local rules or a licensed practitioner: where they differ, they come first.";

/// The workbench of a hot-tub water-care technician: what the water is, and the safe plan for it.
#[derive(Debug, Parser)]
#[command(name = "tubwright", version, after_help = EXAMPLES, max_term_width = 100)]
pub(crate) struct Cli {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Make a plan: what to add, in which order, and the water after each step
    Plan(PlanArgs),
    /// Say what waters are: pH, saturation, active chlorine, every species
    Water(WaterArgs),
    /// Write a commented case to start from
    New(NewArgs),
    /// Print the JSON Schema of what is read and written
    Schema(SchemaArgs),
    /// Print a shell's completions
    Completions(CompletionsArgs),
    /// Print the manual page
    Man(ManArgs),
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  tubwright plan --example
  tubwright plan my-tub.toml --units us
  tubwright plan my-tub.toml --json | jq '.steps[] | {order, chemical, mass_g}'")]
pub(crate) struct PlanArgs {
    /// The case: tub, source water, shelf, readings (TOML; `tubwright new` writes one); `-` is stdin
    #[arg(value_name = "CASE.toml", required_unless_present = "example")]
    pub(crate) case: Option<PathBuf>,
    /// Use a built-in case: an invented tub on an invented tap
    #[arg(long, conflicts_with = "case")]
    pub(crate) example: bool,
    /// Print JSON alone on stdout
    #[arg(long)]
    pub(crate) json: bool,
    /// Units for people; JSON is always metric
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    pub(crate) units: Units,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// Grams, litres, °C
    Metric,
    /// Ounces, US gallons, °F
    Us,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Each line in is a JSON object with temperature_c, total_alkalinity_mg_l_caco3, one of ph and dic_mmol_l, and
whatever else is known; `tubwright schema water` has every field. A litre counts as one kilogram of water.

Examples:
  echo '{\"temperature_c\":38,\"total_alkalinity_mg_l_caco3\":80,\"ph\":7.5,\"calcium_mg_l\":60}' | tubwright water
  tubwright water waters.ndjson --json > answers.ndjson")]
pub(crate) struct WaterArgs {
    /// Newline-delimited JSON, one water a line; stdin if absent or `-`
    pub(crate) file: Option<PathBuf>,
    /// Print one line of JSON for each line in; a wrong line gives its id and error, and the exit is 2 at the end
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  tubwright new                        writes case.toml for a tub with a salt cell
  tubwright new --chlorine home.toml
  tubwright new -                      prints it")]
pub(crate) struct NewArgs {
    /// Where to write; an existing file is never overwritten. `-` prints
    #[arg(default_value = "case.toml")]
    pub(crate) file: PathBuf,
    /// A tub with a salt cell (default)
    #[arg(long, group = "regime")]
    pub(crate) salt_cell: bool,
    /// A tub with chlorine dosed by hand
    #[arg(long, group = "regime")]
    pub(crate) chlorine: bool,
    /// A tub with bromine
    #[arg(long, group = "regime")]
    pub(crate) bromine: bool,
}

#[derive(Debug, Args)]
pub(crate) struct SchemaArgs {
    /// Which shape
    #[arg(value_enum)]
    pub(crate) of: SchemaOf,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The case file of `plan`
    Case,
    /// The lines of `water`
    Water,
    /// The JSON of `plan --json`
    Plan,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  tubwright completions bash > ~/.local/share/bash-completion/completions/tubwright")]
pub(crate) struct CompletionsArgs {
    /// For which shell
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tubwright man plan | man -l -")]
pub(crate) struct ManArgs {
    /// Of one command alone
    pub(crate) command: Option<String>,
}
