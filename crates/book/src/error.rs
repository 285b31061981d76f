//! What can go wrong with a book, said so that a person can mend it.

use care::wire::Problem;
use std::fmt;

/// Why a book did not do what was asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BookError {
    /// The place that was named cannot be one.
    #[error("the book's place {what}; {accepted}")]
    Place {
        /// What is wrong with it.
        what: String,
        /// What would be right.
        accepted: String,
    },
    /// There is no book where one was expected.
    #[error("{place}: there is no book here; `tubwright serve` or `tubwright book restore` makes one")]
    NotThere {
        /// The place.
        place: String,
    },
    /// There is something where an empty place is needed.
    #[error("{place}: holds {count} entries already; an empty place is needed (nothing was changed)")]
    NotEmpty {
        /// The place.
        place: String,
        /// How many entries it holds.
        count: i64,
    },
    /// Some of the entries are wrong, so none was recorded.
    #[error("{}", told(.0))]
    Refused(Vec<Refusal>),
    /// A question that cannot be answered as it was put.
    #[error("{field} {what}; {accepted}")]
    Question {
        /// What was asked with.
        field: &'static str,
        /// What is wrong with it.
        what: String,
        /// What would be right.
        accepted: String,
    },
    /// A tub's record makes no case.
    #[error("{}", listed(.0))]
    Case(Vec<Problem>),
    /// A file that was to be read is wrong.
    #[error("{}", listed(.0))]
    File(Vec<Problem>),
    /// Somebody else holds the book.
    #[error(
        "{place}: another program holds the book and did not let go within {seconds} s; close it or try again \
         (nothing was changed)"
    )]
    Locked {
        /// The place.
        place: String,
        /// How long we waited.
        seconds: u64,
    },
    /// The book may only be read.
    #[error(
        "{place}: the book cannot be written: the file or its folder is read-only; give this user the right to \
         write there, or name another place (nothing was changed)"
    )]
    ReadOnly {
        /// The place.
        place: String,
    },
    /// No room left.
    #[error(
        "{place}: the disk is full, or a limit for files is reached; make room and send it again (nothing of it \
         was recorded, what was there before is intact)"
    )]
    Full {
        /// The place.
        place: String,
    },
    /// The file is not a sound book.
    #[error(
        "{place}: the file is damaged or is no book ({said}); keep it as it is and restore the last backup to \
         another place with `tubwright book restore`"
    )]
    Damaged {
        /// The place.
        place: String,
        /// What the engine says.
        said: String,
    },
    /// The file or its folder cannot be opened.
    #[error(
        "{place}: cannot be opened ({said}); a file in a folder that exists and may be written is accepted"
    )]
    CannotOpen {
        /// The place.
        place: String,
        /// What the engine says.
        said: String,
    },
    /// The book was written by a later release.
    #[error(
        "{place}: was made by a newer release (its form is {found}, this release knows {known}); use the newer one"
    )]
    Newer {
        /// The place.
        place: String,
        /// The form found.
        found: i64,
        /// The newest form that we know.
        known: i64,
    },
    /// The server does not answer.
    #[error("{place}: the database does not answer ({said}); start it, or name another place")]
    Unreachable {
        /// The place, without its password.
        place: String,
        /// What the network says.
        said: String,
    },
    /// A file beside the book (a backup, an export) cannot be read or written.
    #[error("{path}: {what}")]
    Beside {
        /// The file.
        path: String,
        /// What happened.
        what: String,
        /// What the system calls it, where it was the system.
        kind: Option<std::io::ErrorKind>,
    },
    /// Anything else that the engine says.
    #[error("{place}: {said}")]
    Engine {
        /// The place, without its password.
        place: String,
        /// What it says.
        said: String,
    },
}

/// One entry that was refused.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// Which one of those handed in, from 0.
    pub index: usize,
    /// Its id.
    pub id: String,
    /// Its kind's word.
    pub kind: String,
    /// Every fault of it.
    pub problems: Vec<Problem>,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "entry {} ({}): ", self.id, self.kind)?;
        for (i, problem) in self.problems.iter().enumerate() {
            write!(f, "{}{problem}", if i > 0 { "; also: " } else { "" })?;
        }
        Ok(())
    }
}

fn told(refusals: &[Refusal]) -> String {
    let lines: Vec<String> = refusals.iter().map(Refusal::to_string).collect();
    format!("{}\nNothing was recorded.", lines.join("\n"))
}

fn listed(problems: &[Problem]) -> String {
    problems.iter().map(Problem::to_string).collect::<Vec<_>>().join("\n")
}

impl BookError {
    /// Whether what was handed in is at fault, rather than the place or us.
    pub fn is_input(&self) -> bool {
        matches!(
            self,
            BookError::Place { .. }
                | BookError::NotThere { .. }
                | BookError::NotEmpty { .. }
                | BookError::Refused(_)
                | BookError::Question { .. }
                | BookError::Case(_)
                | BookError::File(_)
                | BookError::Beside { kind: None | Some(std::io::ErrorKind::NotFound), .. }
        )
    }

    /// What the database library says, in our words. `place` holds no password.
    pub(crate) fn of_engine(e: &sqlx::Error, place: &str, waited_s: u64) -> BookError {
        let place = place.to_owned();
        let said = plain(e);
        match e {
            sqlx::Error::Database(d) => {
                let code = d.code().unwrap_or_default();
                // SQLite's codes are numbers (the lower byte is the class), PostgreSQL's five letters and digits.
                match code.parse::<i64>() {
                    Ok(n) if code.len() < 5 => match n & 0xff {
                        5 | 6 => BookError::Locked { place, seconds: waited_s },
                        8 => BookError::ReadOnly { place },
                        13 => BookError::Full { place },
                        // The write itself failed: in practice a limit for the file or the disk's end.
                        10 if n == 778 || n == 1290 => BookError::Full { place },
                        11 | 26 => BookError::Damaged { place, said },
                        14 => BookError::CannotOpen { place, said },
                        _ => BookError::Engine { place, said },
                    },
                    _ => match code.as_ref() {
                        "53100" => BookError::Full { place },
                        "25006" => BookError::ReadOnly { place },
                        "55P03" => BookError::Locked { place, seconds: waited_s },
                        "XX001" | "XX002" => BookError::Damaged { place, said },
                        c if c.starts_with("08") || c.starts_with("57P") => {
                            BookError::Unreachable { place, said }
                        }
                        _ => BookError::Engine { place, said },
                    },
                }
            }
            // What no release of ours writes: text that is no text, a number that is none.
            sqlx::Error::Decode(_) | sqlx::Error::ColumnDecode { .. } => BookError::Damaged { place, said },
            sqlx::Error::Io(_)
            | sqlx::Error::Tls(_)
            | sqlx::Error::PoolTimedOut
            | sqlx::Error::PoolClosed => BookError::Unreachable { place, said },
            _ => BookError::Engine { place, said },
        }
    }
}

/// The library's message on one line.
fn plain(e: &sqlx::Error) -> String {
    match e {
        sqlx::Error::Database(d) => d.message().to_owned(),
        other => other.to_string(),
    }
    .replace(['\n', '\r'], " ")
}
