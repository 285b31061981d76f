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
    /// Say what the water will do, when to look again, and what the tub has taught
    Outlook(OutlookArgs),
    /// Say what waters are: pH, saturation, active chlorine, every species
    Water(WaterArgs),
    /// Write a commented case to start from
    New(NewArgs),
    /// Serve the app over a book
    Serve(ServeArgs),
    /// Say who can log in to a book that is served to others
    Account(AccountArgs),
    /// Dose a simulated tub, and see what a good plan would have done
    Practice(PracticeArgs),
    /// Print the JSON Schema of what is read and written
    Schema(SchemaArgs),
    /// Keep the record: back up, restore, verify, export, import
    Book(crate::book::BookArgs),
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
    /// Days until the next look, if that is settled; else the rhythm of the looks so far
    #[arg(long, value_name = "DAYS", value_parser = days, allow_negative_numbers = true)]
    pub(crate) next_look: Option<f64>,
    /// Seed of the draws that are followed ahead: the same seed gives the same answer
    #[arg(long, default_value_t = 1, value_parser = seed, allow_negative_numbers = true)]
    pub(crate) seed: u64,
    /// Print JSON alone on stdout
    #[arg(long)]
    pub(crate) json: bool,
    /// Units of the sentences; figures in JSON are always metric, as their names say
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    pub(crate) units: Units,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  tubwright outlook --example
  tubwright outlook my-tub.toml --days 21
  tubwright outlook my-tub.toml --json | jq '.quantities.ph.leaves_band'
  tubwright outlook my-tub.toml --svg charts --png charts")]
pub(crate) struct OutlookArgs {
    /// The case: tub, source water, shelf, entries (TOML, as for `tubwright plan`); `-` is stdin
    #[arg(value_name = "CASE.toml", required_unless_present = "example")]
    pub(crate) case: Option<PathBuf>,
    /// Use a built-in case: an invented tub with three invented weeks behind it
    #[arg(long, conflicts_with = "case")]
    pub(crate) example: bool,
    /// Days to look ahead
    #[arg(long, default_value_t = 14, value_parser = days_ahead, allow_negative_numbers = true)]
    pub(crate) days: u32,
    /// Seed of the draws: the same seed gives the same answer
    #[arg(long, default_value_t = 1, value_parser = seed, allow_negative_numbers = true)]
    pub(crate) seed: u64,
    /// Print JSON alone on stdout
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the charts into this folder too, one SVG a quantity (it is made if it is not there)
    #[arg(long, value_name = "FOLDER")]
    pub(crate) svg: Option<PathBuf>,
    /// The same as PNG
    #[arg(long, value_name = "FOLDER")]
    pub(crate) png: Option<PathBuf>,
    /// Units of the sentences; figures in JSON are always metric, as their names say
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

impl From<Units> for care::amount::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metric,
            Units::Us => Self::Us,
        }
    }
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
#[command(after_help = "\
Examples:
  tubwright serve                         the app on this machine alone, on the book of this account
  tubwright serve --book my.book --listen 127.0.0.1:0")]
pub(crate) struct ServeArgs {
    /// The book: a file, or a postgres:// URL; the platform's data directory if absent
    #[arg(long, value_name = "PATH|URL")]
    pub(crate) book: Option<String>,
    /// Where to listen; port 0 picks a free one
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8080")]
    pub(crate) listen: std::net::SocketAddr,
    /// Show an invented firm with some months of entries
    #[arg(long)]
    pub(crate) demo: bool,
    /// The address that people use, where a proxy with the certificate stands in front (see docs/serving.md)
    #[arg(long, value_name = "https://HOST")]
    pub(crate) public_url: Option<String>,
    /// The server's own certificate with its chain, as PEM: instead of a proxy
    #[arg(long, value_name = "PATH", requires = "key", requires = "public_url")]
    pub(crate) certificate: Option<std::path::PathBuf>,
    /// The certificate's private key, as PEM
    #[arg(long, value_name = "PATH", requires = "certificate")]
    pub(crate) key: Option<std::path::PathBuf>,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Passwords are asked for without showing them, or read from the first line of stdin with --password-stdin.

Examples:
  tubwright account add ana --name 'Ana (lead)' --role lead
  tubwright account role ben viewer
  tubwright account token ana --name 'nightly export' --reads-only")]
pub(crate) struct AccountArgs {
    /// The book: a file, or a postgres:// URL; the platform's data directory if absent
    #[arg(long, value_name = "PATH|URL", global = true)]
    pub(crate) book: Option<String>,
    #[command(subcommand)]
    pub(crate) what: AccountCommand,
}

#[derive(Debug, Subcommand)]
pub(crate) enum AccountCommand {
    /// Make a person who can log in
    Add {
        /// The name that is typed to log in
        login: String,
        /// What the person is called; the log-in name if absent
        #[arg(long)]
        name: Option<String>,
        /// lead, technician or viewer
        #[arg(long, default_value = "technician")]
        role: String,
        /// Somebody who is in the book already, by id, with the name and role that they have there
        #[arg(long, value_name = "ID", conflicts_with_all = ["name", "role"])]
        person: Option<book::Uuid>,
        /// Read the password from stdin
        #[arg(long)]
        password_stdin: bool,
    },
    /// Name every account with its role
    List {
        /// Print JSON alone on stdout
        #[arg(long)]
        json: bool,
    },
    /// Give somebody another role
    Role {
        /// Whose
        login: String,
        /// lead, technician or viewer
        role: String,
    },
    /// Give somebody another password; every session and token of theirs ends
    Password {
        /// Whose
        login: String,
        /// Read the password from stdin
        #[arg(long)]
        password_stdin: bool,
    },
    /// Close an account at once; what its person recorded stays
    Disable {
        /// Whose
        login: String,
    },
    /// Open a closed account again
    Enable {
        /// Whose
        login: String,
    },
    /// Make a token for somebody's scripts; it is printed this once
    Token {
        /// Whose
        login: String,
        /// What it is for
        #[arg(long)]
        name: String,
        /// Days until it ends
        #[arg(long, default_value_t = 90, allow_negative_numbers = true)]
        days: i64,
        /// It can only read
        #[arg(long)]
        reads_only: bool,
    },
}

#[derive(Debug, Args)]
#[command(after_help = "\
The water is invented and simulated. One move a line, typed, piped or from a file:
  read ph                 read a quantity with the usual kit; `read ph strip` with another
  dose acid 0.5           half a capful; of salt and of liquid chlorine in grams and millilitres
  top-up                  fill up to the mark
  replace 0.3             let a share of the water out, and fill up
  cell 0.15               share of the time that the cell runs
  air 2                   cover off, jets with air, for hours
  wait 3                  go away for days
  end                     see what came of it, beside a good plan and the label rule on the same tub

Examples:
  tubwright practice
  tubwright practice --seed 7 --difficulty hard --weeks 4
  printf 'read ph\\ndose acid 0.25\\nwait 3\\n' | tubwright practice --seed 7 --json
  tubwright practice --seed 7 --play plan          watch a good plan

On a real tub the product's label, local rules and a licensed practitioner come first.")]
pub(crate) struct PracticeArgs {
    /// Which tub, tap, weather and household; a new one if absent
    #[arg(long, value_name = "N", value_parser = seed, allow_negative_numbers = true)]
    pub(crate) seed: Option<u64>,
    /// How far the truth strays from what you are told: easy, usual or hard
    #[arg(long, default_value = "usual")]
    pub(crate) difficulty: String,
    /// How long, 1 to 8
    #[arg(long, default_value_t = 4, value_parser = weeks, allow_negative_numbers = true)]
    pub(crate) weeks: u32,
    /// Moves from a file, one a line; `-` is stdin
    #[arg(long, value_name = "FILE|-")]
    pub(crate) script: Option<PathBuf>,
    /// Watch instead of dosing
    #[arg(long, value_enum, conflicts_with = "script")]
    pub(crate) play: Option<Play>,
    /// Print JSON alone on stdout
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Play {
    /// A good plan
    Plan,
    /// Doses by the labels' chart
    Label,
}

#[derive(Debug, Args)]
pub(crate) struct SchemaArgs {
    /// Which shape; without one, all are listed
    #[arg(value_enum)]
    pub(crate) of: Option<SchemaOf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The case file of `plan`
    Case,
    /// The lines of `water`
    Water,
    /// The JSON of `plan --json`
    Plan,
    /// The JSON of `outlook --json`
    Outlook,
    /// A tub of the book: its vessel, and what it uses
    Tub,
    /// A site of the book
    Site,
    /// A shelf of the book: an owner's or a van's
    Shelf,
    /// A set of bands of the book
    Band,
    /// A person of the book
    Person,
    /// A step of a plan that was done
    StepDone,
    /// A note about a tub
    Note,
    /// A picture of a tub
    Photo,
    /// Who did what with the program
    Audit,
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

/// Days between two looks.
fn days(text: &str) -> Result<f64, String> {
    let days: f64 = text.parse().map_err(|_| format!("{text:?} is no number of days"))?;
    if (0.5..=14.0).contains(&days) { Ok(days) } else { Err("0.5 to 14 days is accepted".to_owned()) }
}

/// A tub's number, or that of the draws.
fn seed(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("a whole number from 0 to {} is accepted", u64::MAX))
}

/// Days of an outlook.
fn days_ahead(text: &str) -> Result<u32, String> {
    whole(text, care::outlook::DAYS, "days")
}

/// Weeks of practice.
fn weeks(text: &str) -> Result<u32, String> {
    whole(text, (1, practice::WEEKS_MOST), "weeks")
}

fn whole(text: &str, (least, most): (u32, u32), what: &str) -> Result<u32, String> {
    let fits = text.parse().ok().filter(|n| (least..=most).contains(n));
    fits.ok_or_else(|| format!("{least} to {most} whole {what} are accepted"))
}
