//! What bears on what: which tubs look different after some entries, whoever recorded them.
//!
//! What happened to a tub, and the tub's own versions (its bands among them), bear on that tub; a source water and a shelf
//! on the tubs that name it; a van's shelf on those that were dosed from it; a kit of the firm's own on those that were read
//! with it. A correction is of the same kind and subject as what it corrects, so it bears on the same tubs. Sets of bands,
//! sites and people bear on none: a tub takes a set over into its own version.

use crate::entry::Filter;
use crate::error::BookError;
use crate::kind::{ALL as KINDS, Kind};
use crate::open::Book;
use crate::sql::{Arg, Sql, holding, holding_exactly};
use std::collections::BTreeSet;
use uuid::Uuid;

/// How many entries are looked through for one that bears on a tub.
const LOOKED_THROUGH: i64 = 2000;
/// How many texts are looked for at once.
const AT_ONCE: usize = 50;
/// The most versions of one thing that are looked through for what it was called.
const VERSIONS_MOST: u32 = 1000;

impl Kind {
    /// A thing that tubs use: another version of it may change what their water is taken to be, or their plan.
    const fn is_used_by_tubs(self) -> bool {
        matches!(self, Kind::SourceWater | Kind::Shelf | Kind::Method)
    }
}

impl Book {
    /// Whether anything from one entry (not counted) to another bears on a tub. Any thing that tubs use counts, and where
    /// the entries are many they are not looked through: `true`.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn concerns(&self, tub: Uuid, after_seq: i64, to_seq: i64) -> Result<bool, BookError> {
        if to_seq - after_seq > LOOKED_THROUGH {
            return Ok(true);
        }
        let mut sql = Sql::new("SELECT COALESCE(MAX(CASE WHEN e.subject = ");
        sql.add("? OR ", [Arg::Text(tub.to_string())]);
        sql.one_of("e.kind", KINDS.iter().filter(|k| k.is_used_by_tubs()).map(|k| k.id().to_owned()));
        sql.add(
            " THEN 1 ELSE 0 END), 0) FROM entry e WHERE e.seq > ? AND e.seq <= ?",
            [Arg::Int(after_seq), Arg::Int(to_seq)],
        );
        let found: Vec<(i64,)> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        Ok(found.first().is_none_or(|(any,)| *any != 0))
    }

    /// The tubs that anything from one entry (not counted) to another bears on; from the beginning, every tub.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn tubs_concerned(&self, after_seq: i64, to_seq: i64) -> Result<BTreeSet<Uuid>, BookError> {
        let mut tubs = BTreeSet::new();
        if after_seq == 0 {
            self.add_subjects(&Sql::new("SELECT id FROM thing WHERE kind = 'tub'"), &mut tubs).await?;
            return Ok(tubs);
        }
        let mut sql = Sql::new("SELECT DISTINCT e.kind, e.subject FROM entry e");
        sql.add(
            " WHERE e.seq > ? AND e.seq <= ? AND e.subject IS NOT NULL",
            [Arg::Int(after_seq), Arg::Int(to_seq)],
        );
        let rows: Vec<(String, String)> =
            sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        let mut named = Vec::new();
        let (mut dosed, mut read) = (BTreeSet::new(), BTreeSet::new());
        for (kind, subject) in &rows {
            let (Some(kind), Ok(id)) = (Kind::from_id(kind), Uuid::try_parse(subject)) else { continue };
            match kind {
                Kind::SourceWater => named.push(subject.clone()),
                Kind::Shelf => {
                    named.push(subject.clone());
                    dosed.extend(self.ever_on_shelf(id).await?);
                }
                Kind::Method => read.extend(self.ever_called(id).await?),
                Kind::Tub => _ = tubs.insert(id),
                other if other.is_happening() => _ = tubs.insert(id),
                _ => {}
            }
        }
        for some in named.chunks(AT_ONCE) {
            let mut sql = Sql::new("SELECT t.id FROM thing t WHERE t.kind = 'tub' AND (");
            // An id in a body may stand in capital letters.
            sql.any_of("LOWER(t.body) LIKE ? ESCAPE '\\'", some.iter().map(|id| holding(id)));
            sql.add(")", []);
            self.add_subjects(&sql, &mut tubs).await?;
        }
        self.add_saying(&["dose", "step-done"], dosed, &mut tubs).await?;
        self.add_saying(&["reading"], read, &mut tubs).await?;
        Ok(tubs)
    }

    /// How doses name what a van's shelf held in any of its versions.
    async fn ever_on_shelf(&self, id: Uuid) -> Result<BTreeSet<String>, BookError> {
        let mut names = BTreeSet::new();
        for version in self.ever(Kind::Shelf, id).await? {
            let products = version["products"].as_array().filter(|_| version["of"] == "van");
            for product in products.into_iter().flatten() {
                let chemical = product["chemical"].as_str().unwrap_or_default();
                let name = product["name"].as_str().map_or_else(|| chemical.replace('-', " "), str::to_owned);
                names.insert(said("product", &name));
                names.insert(said("chemical", chemical));
            }
        }
        Ok(names)
    }

    /// How readings name a kit in any of its versions.
    async fn ever_called(&self, id: Uuid) -> Result<BTreeSet<String>, BookError> {
        let versions = self.ever(Kind::Method, id).await?;
        Ok(versions.iter().filter_map(|v| v["id"].as_str()).map(|name| said("method", name)).collect())
    }

    /// What every version of a thing says, those that were corrected too: a tub may still be as one of them made it.
    async fn ever(&self, kind: Kind, id: Uuid) -> Result<Vec<serde_json::Value>, BookError> {
        let limit = Some(VERSIONS_MOST);
        let filter =
            Filter { subject: Some(id), kinds: vec![kind], newest_first: true, limit, ..Filter::default() };
        Ok(self.entries(&filter).await?.into_iter().map(|e| e.body).collect())
    }

    /// Adds the tubs with an entry of these kinds that says any of these.
    async fn add_saying(
        &self,
        kinds: &[&str],
        said: BTreeSet<String>,
        tubs: &mut BTreeSet<Uuid>,
    ) -> Result<(), BookError> {
        let said: Vec<String> = said.into_iter().collect();
        for some in said.chunks(AT_ONCE) {
            let mut sql = Sql::new("SELECT DISTINCT e.subject FROM entry e WHERE ");
            sql.one_of("e.kind", kinds.iter().map(|k| (*k).to_owned()));
            sql.add(" AND (", []);
            sql.any_of("e.body LIKE ? ESCAPE '\\'", some.iter().map(|text| holding_exactly(text)));
            sql.add(")", []);
            self.add_subjects(&sql, tubs).await?;
        }
        Ok(())
    }

    async fn add_subjects(&self, sql: &Sql, tubs: &mut BTreeSet<Uuid>) -> Result<(), BookError> {
        let rows: Vec<(String,)> = sql.rows().fetch_all(&self.pool).await.map_err(|e| self.failed(e))?;
        tubs.extend(rows.iter().filter_map(|(id,)| Uuid::try_parse(id).ok()));
        Ok(())
    }
}

/// A field with its text as it stands in a body: bodies are kept in one canonical form, so their text can be asked.
fn said(field: &str, text: &str) -> String {
    format!("\"{field}\":{}", serde_json::Value::from(text))
}
