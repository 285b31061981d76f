//! Why a command ended early, and the exit code for it: the one place that knows them.

use care::wire::Problem;
use std::io;
use std::process::ExitCode;

#[derive(Debug)]
pub(crate) enum Failure {
    /// The input was wrong: every fault, each with file, line, field, value and what is accepted.
    Input(Vec<String>),
    /// Anything else.
    Other(String),
    /// Whoever read our output has seen enough.
    Closed,
}

impl Failure {
    pub(crate) fn input(message: impl Into<String>) -> Self {
        Failure::Input(vec![message.into()])
    }

    pub(crate) fn problems(problems: &[Problem]) -> Self {
        Failure::Input(problems.iter().map(Problem::to_string).collect())
    }

    /// Says it on stderr and gives the exit code.
    pub(crate) fn tell(self) -> ExitCode {
        match self {
            Failure::Input(messages) => {
                for m in messages {
                    crate::output::talk(&m);
                }
                ExitCode::from(2)
            }
            Failure::Other(message) => {
                crate::output::talk(&message);
                ExitCode::from(1)
            }
            Failure::Closed => ExitCode::SUCCESS,
        }
    }
}

/// Errors of *writing*: reading faults are turned into [`Failure::Input`] where the file is known.
impl From<io::Error> for Failure {
    fn from(e: io::Error) -> Self {
        match e.kind() {
            io::ErrorKind::BrokenPipe => Failure::Closed,
            _ => Failure::Other(format!("the output cannot be written: {e}")),
        }
    }
}
