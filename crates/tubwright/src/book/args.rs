//! What can be typed after `tubwright book`.

use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct BookArgs {
    #[command(subcommand)]
    pub(super) command: BookCommand,
}

#[derive(Debug, Subcommand)]
pub(super) enum BookCommand {
    /// Write the whole book to one file, while others go on working with it
    Backup(BackupArgs),
    /// Make a book at an empty place from a backup or an export, and verify it
    Restore(RestoreArgs),
    /// Find any entry that was altered, is missing or was moved
    Verify(VerifyArgs),
    /// Write everything as text: newline-delimited JSON, or the readings as CSV
    Export(ExportArgs),
    /// Record readings from a CSV table: all of them or none
    Import(ImportArgs),
}

#[derive(Debug, Args)]
pub(super) struct PlaceArgs {
    /// The book: a file, or postgres://user@host:5432/database; the user's own book if absent
    #[arg(long, value_name = "PATH|URL", env = "TUBWRIGHT_BOOK", hide_env_values = true)]
    pub(super) book: Option<String>,
    /// Print JSON alone on stdout
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "\
The backup of a book in a file is itself such a book; that of a PostgreSQL database is an export. Either can be
restored to either.

Example:
  tubwright book backup spas-2026-03-21.book")]
pub(super) struct BackupArgs {
    /// The new file; an existing one is never overwritten
    pub(super) to: PathBuf,
    #[command(flatten)]
    pub(super) place: PlaceArgs,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  tubwright book restore spas-2026-03-21.book --book postgres://ann@db.example/spas")]
pub(super) struct RestoreArgs {
    /// A backup, or an export as newline-delimited JSON
    pub(super) from: PathBuf,
    #[command(flatten)]
    pub(super) place: PlaceArgs,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Exit codes: 0 everything is sound, 1 something is not (it is named), 2 there is no such book.

Examples:
  tubwright book verify
  tubwright book verify --expect 5f0c…   with the head that was noted at the last inspection")]
pub(super) struct VerifyArgs {
    /// A head's hash noted earlier: it must still be that of an entry
    #[arg(long, value_name = "HASH")]
    pub(super) expect: Option<String>,
    #[command(flatten)]
    pub(super) place: PlaceArgs,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  tubwright book export everything.ndjson
  tubwright book export --format csv | head")]
pub(super) struct ExportArgs {
    /// The new file; an existing one is never overwritten. `-` is stdout
    #[arg(default_value = "-")]
    pub(super) to: PathBuf,
    /// What to write
    #[arg(long, value_enum, default_value_t = ExportForm::Ndjson)]
    pub(super) format: ExportForm,
    #[command(flatten)]
    pub(super) place: PlaceArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ExportForm {
    /// Every entry, one a line; can be restored
    Ndjson,
    /// The readings as a table
    Csv,
}

#[derive(Debug, Args)]
#[command(after_help = "\
The first line names the columns. Each is one of tub, at (or date and time), quantity, value, drops, scale_units,
signal_band_changed, minutes, method, ignore; or the id of a quantity (ph, free_chlorine, …), whose readings it
holds. Other names are mapped. A file that is imported twice is recorded once.

Examples:
  tubwright book import log.csv --tub \"Orchard Row\" --map \"pH value=ph\" --map \"Cl=free_chlorine\" --dry-run
  tubwright book import log.csv --map-file log.toml")]
pub(super) struct ImportArgs {
    /// The table (CSV in UTF-8); `-` is stdin
    pub(super) file: PathBuf,
    /// The tub of rows that name none: its id or its name
    #[arg(long)]
    pub(super) tub: Option<String>,
    /// What a column holds; may be given several times
    #[arg(long, value_name = "COLUMN=FIELD")]
    pub(super) map: Vec<String>,
    /// The same as a TOML file, with delimiter, decimal, offset and a table of methods
    #[arg(long, value_name = "FILE.toml")]
    pub(super) map_file: Option<PathBuf>,
    /// Check every row and record nothing
    #[arg(long)]
    pub(super) dry_run: bool,
    #[command(flatten)]
    pub(super) place: PlaceArgs,
}
