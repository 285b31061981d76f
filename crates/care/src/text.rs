//! A sentence in English with its structure, so that whoever shows it can say it in another language.
//!
//! In: a message's id, its English and its named parts, by `say!`. Out: a text that reads as its English everywhere.
//! Left out: every other language. Those live in catalogues, by the ids, beside the pages.

use std::borrow::{Borrow, Cow};
use std::cmp::Ordering;
use std::fmt;
use std::ops::Deref;

/// A text; compared by its English.
#[derive(Debug, Clone)]
pub struct Text {
    english: String,
    form: Form,
}

/// What a text is made of.
#[derive(Debug, Clone)]
pub enum Form {
    /// English alone: nobody can translate it yet.
    English,
    /// The same in every language: a product's name, a source's title.
    Name,
    /// Figures and units of measurement: digits with a point for the decimals.
    Figures,
    /// A message of the catalogues.
    Message {
        /// Its id.
        id: Cow<'static, str>,
        /// Its named parts.
        parts: Vec<(Cow<'static, str>, Text)>,
    },
    /// Its part with a capital letter.
    Capital(Box<Text>),
    /// Parts with a separator between them, one of [`SEPARATORS`].
    Joined {
        /// Between two parts.
        separator: Cow<'static, str>,
        /// Each of them.
        parts: Vec<Text>,
    },
}

/// What may stand between joined parts, each with the id of the message that says it.
pub const SEPARATORS: [(&str, &str); 6] = [
    (" ", "care-join-space"),
    (", ", "care-join-comma"),
    ("; ", "care-join-semicolon"),
    (" and ", "care-join-and"),
    (", and ", "care-join-and-also"),
    (", then ", "care-join-then"),
];

impl Text {
    /// What is the same in every language.
    pub fn name(name: impl Into<String>) -> Text {
        Text { english: name.into(), form: Form::Name }
    }

    /// Figures with their units.
    pub fn figures(figures: impl Into<String>) -> Text {
        Text { english: figures.into(), form: Form::Figures }
    }

    /// A message: what `say!` makes.
    pub fn message(
        id: impl Into<Cow<'static, str>>,
        english: String,
        parts: Vec<(&'static str, Text)>,
    ) -> Text {
        let parts = parts.into_iter().map(|(name, part)| (Cow::Borrowed(name), part)).collect();
        Text { english, form: Form::Message { id: id.into(), parts } }
    }

    /// The text with a capital letter.
    #[must_use]
    pub fn capital(self) -> Text {
        let english = crate::method::capital(&self.english);
        Text { english, form: Form::Capital(Box::new(self)) }
    }

    /// Parts with a separator between them.
    pub fn joined(parts: Vec<Text>, separator: &'static str) -> Text {
        let english = parts.iter().map(Text::as_str).collect::<Vec<_>>().join(separator);
        Text { english, form: Form::Joined { separator: Cow::Borrowed(separator), parts } }
    }

    /// "a, b and c", with this before the last.
    pub fn listed(mut parts: Vec<Text>, last: &'static str) -> Text {
        match parts.pop() {
            Some(end) if !parts.is_empty() => Text::joined(vec![Text::joined(parts, ", "), end], last),
            end => end.unwrap_or_default(),
        }
    }

    /// A text that was kept.
    pub(crate) fn kept(english: String, form: Form) -> Text {
        Text { english, form }
    }

    /// Its English.
    pub fn as_str(&self) -> &str {
        &self.english
    }

    /// What it is made of.
    pub fn form(&self) -> &Form {
        &self.form
    }
}

impl Default for Text {
    fn default() -> Text {
        Text::name("")
    }
}

/// English alone.
impl From<&str> for Text {
    fn from(english: &str) -> Text {
        Text { english: english.to_owned(), form: Form::English }
    }
}

/// English alone.
impl From<String> for Text {
    fn from(english: String) -> Text {
        Text { english, form: Form::English }
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.english)
    }
}

impl Deref for Text {
    type Target = str;

    fn deref(&self) -> &str {
        &self.english
    }
}

impl Borrow<str> for Text {
    fn borrow(&self) -> &str {
        &self.english
    }
}

impl PartialEq for Text {
    fn eq(&self, other: &Text) -> bool {
        self.english == other.english
    }
}

impl Eq for Text {}

impl PartialEq<str> for Text {
    fn eq(&self, other: &str) -> bool {
        self.english == other
    }
}

impl PartialEq<&str> for Text {
    fn eq(&self, other: &&str) -> bool {
        self.english == *other
    }
}

impl PartialOrd for Text {
    fn partial_cmp(&self, other: &Text) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Text {
    fn cmp(&self, other: &Text) -> Ordering {
        self.english.cmp(&other.english)
    }
}

/// A message with its English and named parts: `say!("id", "English with {part}", part = text, …)`.
macro_rules! say {
    ($id:literal, $english:literal $(,)?) => {
        $crate::text::Text::message($id, $english.to_string(), Vec::new())
    };
    ($id:literal, $english:literal, $($name:ident = $value:expr),+ $(,)?) => {{
        // All at once: no part's name hides what another is made from.
        let ($($name,)+) = ($($crate::text::Text::from($value),)+);
        let english = format!($english);
        $crate::text::Text::message($id, english, vec![$((stringify!($name), $name)),+])
    }};
}
pub(crate) use say;

/// Figures, written as `format!` writes them.
macro_rules! figures {
    ($($format:tt)+) => { $crate::text::Text::figures(format!($($format)+)) };
}
pub(crate) use figures;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_reads_as_its_english() {
        let value = 7.4;
        let name = Text::joined(vec!["pH".into(), say!("b", "salt")], " and ");
        let text = say!("a", "{name} of {value}", value = figures!("{value:.2}"), name = name);
        assert_eq!(text, "pH and salt of 7.40");
        assert_eq!(Text::listed(vec!["a".into(), "b".into(), "c".into()], " and "), "a, b and c");
        assert_eq!(Text::listed(Vec::new(), " and "), "");
    }
}
