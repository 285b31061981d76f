//! Putting a question together: text of ours with numbered places, values beside it.

use sqlx::any::AnyArguments;
use sqlx::{Any, AssertSqlSafe, query::Query, query::QueryAs};

/// A value that goes into a question.
#[derive(Debug, Clone)]
pub(crate) enum Arg {
    Text(String),
    Int(i64),
}

/// A question under construction. Only our own text goes into `text`; what comes from outside goes into `args`.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sql {
    text: String,
    args: Vec<Arg>,
}

impl Sql {
    pub(crate) fn new(text: &str) -> Self {
        Sql { text: text.to_owned(), args: Vec::new() }
    }

    /// The question within other text of ours.
    pub(crate) fn within(&self, before: &str, after: &str) -> Sql {
        Sql { text: format!("{before}{}{after}", self.text), args: self.args.clone() }
    }

    /// Adds text of ours; each `?` in it is the place of the next value.
    pub(crate) fn add(&mut self, text: &str, args: impl IntoIterator<Item = Arg>) {
        let mut args = args.into_iter();
        for c in text.chars() {
            match c {
                '?' => {
                    self.args.extend(args.next());
                    self.text.push_str(&format!("${}", self.args.len()));
                }
                c => self.text.push(c),
            }
        }
        debug_assert!(args.next().is_none(), "a value without a place");
    }

    /// Adds `field IN (…)`; the list is not empty.
    pub(crate) fn one_of(&mut self, field: &str, values: impl IntoIterator<Item = String>) {
        self.text.push_str(field);
        self.text.push_str(" IN (");
        for (i, value) in values.into_iter().enumerate() {
            self.args.push(Arg::Text(value));
            self.text.push_str(&format!("{}${}", if i > 0 { ", " } else { "" }, self.args.len()));
        }
        self.text.push(')');
    }

    /// Adds a condition of ours once for each value, joined by OR; the list is not empty.
    pub(crate) fn any_of(&mut self, condition: &str, values: impl IntoIterator<Item = String>) {
        for (i, value) in values.into_iter().enumerate() {
            self.add(if i > 0 { " OR " } else { "" }, []);
            self.add(condition, [Arg::Text(value)]);
        }
    }

    pub(crate) fn rows<T>(&self) -> QueryAs<'static, Any, T, AnyArguments>
    where
        T: for<'r> sqlx::FromRow<'r, sqlx::any::AnyRow>,
    {
        let mut query = sqlx::query_as(AssertSqlSafe(self.text.clone()));
        for arg in &self.args {
            query = match arg {
                Arg::Text(t) => query.bind(t.clone()),
                Arg::Int(i) => query.bind(*i),
            };
        }
        query
    }

    pub(crate) fn command(&self) -> Query<'static, Any, AnyArguments> {
        let mut query = sqlx::query(AssertSqlSafe(self.text.clone()));
        for arg in &self.args {
            query = match arg {
                Arg::Text(t) => query.bind(t.clone()),
                Arg::Int(i) => query.bind(*i),
            };
        }
        query
    }
}

/// A LIKE pattern (with `ESCAPE '\'`) for text in small letters that holds this, whatever signs are in it.
pub(crate) fn holding(text: &str) -> String {
    holding_exactly(&text.to_lowercase())
}

/// The same, capital letters and all.
pub(crate) fn holding_exactly(text: &str) -> String {
    let mut pattern = String::from("%");
    for c in text.chars() {
        match c {
            '%' | '_' | '\\' => {
                pattern.push('\\');
                pattern.push(c);
            }
            '\0' => pattern.push(' '),
            c => pattern.push(c),
        }
    }
    pattern.push('%');
    pattern
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_take_their_numbered_places_and_signs_are_only_signs() {
        let mut sql = Sql::new("SELECT 1 WHERE a = 1");
        sql.add(" AND b = ? AND c < ?", [Arg::Text("x".into()), Arg::Int(3)]);
        sql.add(" AND ", []);
        sql.one_of("d", ["p".to_owned(), "q".to_owned()]);
        assert_eq!(sql.text, "SELECT 1 WHERE a = 1 AND b = $1 AND c < $2 AND d IN ($3, $4)");
        assert_eq!(sql.args.len(), 4);
        assert_eq!(holding("50 %_\\Ä"), "%50 \\%\\_\\\\ä%");
    }
}
