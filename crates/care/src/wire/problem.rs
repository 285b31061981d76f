//! A fault in the input, said so that a person can mend it: where, which field, what it is, what is accepted.

use std::fmt;

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// File, or what else the text came from.
    pub file: String,
    /// Line, counted from 1; `None` where no line is to blame (an empty file).
    pub line: Option<usize>,
    /// The field's path: `tub.volume_l`, `shelf[2].purity_percent`.
    pub field: String,
    /// What is wrong, with the value.
    pub what: String,
    /// What would be right.
    pub accepted: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.file.is_empty() {
            write!(f, "{}", self.file)?;
            if let Some(line) = self.line {
                write!(f, ":{line}")?;
            }
            write!(f, ": ")?;
        }
        if !self.field.is_empty() {
            write!(f, "{} ", self.field)?;
        }
        write!(f, "{}", self.what)?;
        if !self.accepted.is_empty() {
            write!(f, "; {}", self.accepted)?;
        }
        Ok(())
    }
}

/// Faults found so far. Beyond [`Problems::MOST`] they are counted, not kept.
#[derive(Debug, Default)]
pub struct Problems {
    /// The file that is being read.
    pub file: String,
    found: Vec<Problem>,
    more: usize,
}

impl Problems {
    /// A file with more faults than this is not worth listing to the end.
    pub const MOST: usize = 50;

    /// None yet, in a file of this name.
    pub fn in_file(file: &str) -> Self {
        Problems { file: file.to_owned(), ..Problems::default() }
    }

    /// One more.
    pub fn add(
        &mut self,
        line: Option<usize>,
        field: impl Into<String>,
        what: impl Into<String>,
        accepted: impl Into<String>,
    ) {
        if self.found.len() < Self::MOST {
            self.found.push(Problem {
                file: self.file.clone(),
                line,
                field: field.into(),
                what: what.into(),
                accepted: accepted.into(),
            });
        } else {
            self.more += 1;
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.found.len() + self.more
    }

    /// Those kept, in the order of their lines.
    pub fn into_vec(mut self) -> Vec<Problem> {
        self.found.sort_by_key(|p| p.line);
        if self.more > 0 {
            self.found.push(Problem {
                file: self.file,
                line: None,
                field: String::new(),
                what: format!("{} more faults are not listed", self.more),
                accepted: "mend these first".into(),
            });
        }
        self.found
    }
}
