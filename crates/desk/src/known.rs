//! A tub as its pages start from it: its record read once, its case, its plan.
//!
//! What was read is kept for the next look, until something is recorded that bears on it or the minute is over (a plan
//! depends on how old the readings are). It is asked of the book each time, so that another program that writes to the
//! same book is heard too.
//!
//! There are two plans. The one for the moment takes a few milliseconds and knows the water of now: pages that show that
//! start from it. The one that looks ahead learns the tub from its entries, which takes a good part of a second: pages that
//! tell somebody what to do wait for it. It is kept for some minutes, and few are worked out at once, so that those who
//! only look do not wait behind it.

use crate::ctx::Ctx;
use crate::error::{PageError, Refusal};
use crate::state::App;
use crate::unit::Units;
use book::{BookError, Entry, Thing, Uuid};
use care::case::Case;
use care::learn::Learned;
use care::outlook::Outlook;
use care::plan::Plan;
use care::text::Text;
use lru::LruCache;
use serde_json::Value;
use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// So many tubs are kept: a firm's round of a day. Each takes some 100 KiB.
const KEPT: NonZeroUsize = NonZeroUsize::new(256).expect("not zero");
const MINUTE_US: i64 = 60_000_000;
/// What looks days ahead is not felt to age in so many minutes.
const COMING_MINUTES: i64 = 5;

/// A tub with its case and what the planner says of it.
#[derive(Debug)]
pub(crate) struct Known {
    pub(crate) thing: Thing,
    pub(crate) source_water: Option<Thing>,
    pub(crate) shelf: Option<Thing>,
    /// What happened in the case's reach, oldest first.
    pub(crate) happened: Vec<Entry>,
    /// The case as JSON; `null` where what is known makes none.
    pub(crate) json: Value,
    pub(crate) case: Result<Case, Text>,
    moment: OnceLock<Result<Plan, Text>>,
    coming: Arc<Coming>,
}

/// What looks ahead from a minute.
#[derive(Debug)]
struct Coming {
    minute: i64,
    plan: OnceLock<Result<Plan, Text>>,
    outlook: OnceLock<Result<Ahead, Text>>,
}

impl Coming {
    fn from(minute: i64) -> Arc<Coming> {
        Arc::new(Coming { minute, plan: OnceLock::new(), outlook: OnceLock::new() })
    }
}

/// A tub's outlook with what it was made from.
#[derive(Debug)]
pub(crate) struct Ahead {
    pub(crate) outlook: Outlook,
    pub(crate) learned: Learned,
}

/// Days that a tub's outlook reaches.
pub(crate) const DAYS_AHEAD: u32 = 14;
/// The draws' seed: the same entries have the same outlook.
pub(crate) const SEED: u64 = 1;

impl Known {
    /// The plan for the water of the moment, or why there is none. Worked out when it is first asked for, in milliseconds.
    pub(crate) fn moment(&self) -> &Result<Plan, Text> {
        self.moment.get_or_init(|| {
            let case = self.case.as_ref().map_err(Clone::clone)?;
            care::planner::plan(case).map_err(|e| e.said().capital())
        })
    }

    /// The plan that looks ahead, or why there is none. Worked out when it is first asked for: see [`planned`].
    pub(crate) fn plan(&self) -> &Result<Plan, Text> {
        self.coming.plan.get_or_init(|| {
            let case = self.case.as_ref().map_err(Clone::clone)?;
            care::ahead::plan_case(case, None, SEED).map_err(|e| e.said().capital())
        })
    }

    /// The plan that looks ahead where somebody has asked for it already, else the one for the moment, and whether it is the
    /// first.
    pub(crate) fn at_hand(&self) -> (&Result<Plan, Text>, bool) {
        self.coming.plan.get().map_or_else(|| (self.moment(), false), |plan| (plan, true))
    }

    /// The outlook, or why there is none. Worked out when it is first asked for.
    pub(crate) fn outlook(&self) -> &Result<Ahead, Text> {
        self.coming.outlook.get_or_init(|| {
            let case = self.case.as_ref().map_err(Clone::clone)?;
            care::outlook::outlook(case, DAYS_AHEAD, SEED)
                .map(|(outlook, learned)| Ahead { outlook, learned })
                .map_err(|e| e.said().capital())
        })
    }
}

struct Seen {
    /// The number of the book's last entry when it was read, or when it was last found to be unchanged.
    seq: i64,
    minute: i64,
    known: Arc<Known>,
}

/// A place for what was read of a tub. Whoever looks holds it: another look at the same tub waits and finds it there.
type Held = Arc<tokio::sync::Mutex<Option<Seen>>>;

/// What was read of late.
pub(crate) struct Kept(Mutex<LruCache<(Uuid, Units), Held>>);

impl Kept {
    pub(crate) fn new() -> Kept {
        Kept(Mutex::new(LruCache::new(KEPT)))
    }

    fn with<T>(&self, f: impl FnOnce(&mut LruCache<(Uuid, Units), Held>) -> T) -> T {
        f(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// That a record makes no case: which fields of it are wrong is said in English only.
pub(crate) fn no_case(why: BookError) -> Text {
    let english = why.to_string();
    let whole = format!("The record of this tub makes no plan: {english}");
    Text::message("tub-no-case", whole, vec![("why", Text::from(english))])
}

/// Reads a tub and works out what is to be done at this moment.
pub(crate) async fn known(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Arc<Known>, Refusal> {
    let known = read(app, ctx, tub).await?;
    if known.moment.get().is_none() {
        off_the_answering_threads(ctx, &known, |known| _ = known.moment()).await?;
    }
    Ok(known)
}

/// Reads a tub and works out the plan that looks ahead, when it is its turn.
pub(crate) async fn planned(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Arc<Known>, Refusal> {
    let known = read(app, ctx, tub).await?;
    if known.coming.plan.get().is_none() {
        in_turn(app, ctx, &known, |known| _ = known.plan()).await?;
    }
    Ok(known)
}

/// The same with its outlook and without a plan.
pub(crate) async fn foreseen(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Arc<Known>, Refusal> {
    let known = read(app, ctx, tub).await?;
    if known.coming.outlook.get().is_none() {
        in_turn(app, ctx, &known, |known| _ = known.outlook()).await?;
    }
    Ok(known)
}

/// Work that takes a good part of a second: when it is its turn, and off the threads that answer.
pub(crate) async fn in_turn<T: Send + 'static>(
    app: &App,
    ctx: &Ctx,
    known: &Arc<Known>,
    work: impl FnOnce(&Known) -> T + Send + 'static,
) -> Result<T, Refusal> {
    let _turn = app.inner.plans.acquire().await;
    off_the_answering_threads(ctx, known, work).await
}

async fn off_the_answering_threads<T: Send + 'static>(
    ctx: &Ctx,
    known: &Arc<Known>,
    work: impl FnOnce(&Known) -> T + Send + 'static,
) -> Result<T, Refusal> {
    let known = known.clone();
    let done = tokio::task::spawn_blocking(move || work(&known)).await;
    done.map_err(|e| PageError::Unusable(vec![e.to_string()]).at(ctx))
}

/// Reads a tub; its plans are worked out if somebody asks for them.
pub(crate) async fn read(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Arc<Known>, Refusal> {
    let read = of(app, tub, ctx.units).await.map_err(|e| PageError::from(e).at(ctx))?;
    read.ok_or_else(|| PageError::Missing("tub").at(ctx))
}

/// The same, of a reader in these units.
pub(crate) async fn of(app: &App, tub: Uuid, units: Units) -> Result<Option<Arc<Known>>, BookError> {
    let key = (tub, units);
    let now_us = app.now_us();
    let minute = now_us.div_euclid(MINUTE_US);
    let held = app.inner.kept.with(|kept| kept.get_or_insert(key, Held::default).clone());
    let mut held = held.lock().await;
    // Asked before the tub is read: what comes in meanwhile is looked for again next time.
    let seq = app.book().head().await?.count;
    let mut coming = None;
    if let Some(seen) = held.as_mut()
        && (seen.seq >= seq || !app.book().concerns(tub, seen.seq, seq).await?)
    {
        if seen.minute == minute {
            seen.seq = seen.seq.max(seq);
            return Ok(Some(seen.known.clone()));
        }
        let kept = &seen.known.coming;
        coming = (0..COMING_MINUTES).contains(&(minute - kept.minute)).then(|| kept.clone());
    }
    let Some(dossier) = app.book().dossier(tub, now_us, None).await? else {
        // Ids of nothing would push out what is known.
        app.inner.kept.with(|kept| kept.pop(&key));
        return Ok(None);
    };
    let (json, case) = match dossier.case {
        Ok((json, case)) => (json, Ok(Case { units, ..case })),
        Err(problems) => (Value::Null, Err(no_case(BookError::Case(problems)))),
    };
    let known = Arc::new(Known {
        thing: dossier.thing,
        source_water: dossier.source_water,
        shelf: dossier.shelf,
        happened: dossier.happened,
        json,
        case,
        moment: OnceLock::new(),
        coming: coming.unwrap_or_else(|| Coming::from(minute)),
    });
    *held = Some(Seen { seq, minute, known: known.clone() });
    Ok(Some(known))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::SystemClock;
    use book::{Book, Kind, NewEntry, Place};
    use jiff::tz::TimeZone;
    use serde_json::json;

    fn entry(kind: Kind, subject: Uuid, body: Value) -> NewEntry {
        let at_us = jiff::Timestamp::now().as_microsecond();
        NewEntry { id: Uuid::now_v7(), kind, subject: Some(subject), at_us, by: None, corrects: None, body }
    }

    #[tokio::test]
    async fn looks_at_the_same_moment_are_one_reading_of_the_book() {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(&Place::file(&folder.path().join("t.book")).unwrap()).await.unwrap();
        let app = App::new(book, Arc::new(SystemClock), TimeZone::UTC, false, true);
        let tub = Uuid::now_v7();
        let vessel =
            json!({ "name": "one", "tub": { "volume_l": 1000, "regime": "chlorine", "place": "home" } });
        app.record(&[entry(Kind::Tub, tub, vessel)]).await.unwrap();
        let looks = || async {
            let minute = app.now_us().div_euclid(MINUTE_US);
            let all = futures_util::future::join_all((0..20).map(|_| of(&app, tub, Units::Metric))).await;
            let all: Vec<Arc<Known>> = all.into_iter().map(|k| k.unwrap().unwrap()).collect();
            let one = all.iter().all(|k| Arc::ptr_eq(k, &all[0]));
            one || app.now_us().div_euclid(MINUTE_US) != minute // then two are right
        };
        assert!(looks().await);
        let nobody = of(&app, Uuid::now_v7(), Units::Metric).await.unwrap();
        assert!(
            nobody.is_none() && app.inner.kept.with(|kept| kept.len()) == 1,
            "nothing is kept of nothing"
        );
    }

    #[tokio::test]
    async fn a_second_look_reads_nothing_until_something_bears_on_the_tub() {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(&Place::file(&folder.path().join("t.book")).unwrap()).await.unwrap();
        let app = App::new(book, Arc::new(SystemClock), TimeZone::UTC, false, true);
        let (tub, other) = (Uuid::now_v7(), Uuid::now_v7());
        let vessel = |name| json!({ "name": name, "tub": { "volume_l": 1000, "regime": "chlorine", "place": "home" } });
        let tubs = [entry(Kind::Tub, tub, vessel("one")), entry(Kind::Tub, other, vessel("other"))];
        app.record(&tubs).await.unwrap();
        let app = &app;
        let look = || async { of(app, tub, Units::Metric).await.unwrap().unwrap() };
        let ph = |tub| entry(Kind::Reading, tub, json!({ "quantity": "ph", "value": 7.4 }));

        let mut first = look().await;
        let mut second = look().await;
        if !Arc::ptr_eq(&first, &second) {
            (first, second) = (second, look().await); // the minute was over just then
        }
        assert!(Arc::ptr_eq(&first, &second), "kept");
        app.record(&[ph(other)]).await.unwrap();
        let concerned = |since: i64| async move {
            app.book().concerns(tub, since, app.book().count().await.unwrap()).await.unwrap()
        };
        assert!(!concerned(2).await, "another tub's reading");
        app.record(&[ph(tub)]).await.unwrap();
        assert!(concerned(2).await);
        assert!(!Arc::ptr_eq(&first, &look().await), "read again");
        let before = app.book().head().await.unwrap().count;
        app.record(&[entry(Kind::Shelf, other, json!({ "name": "s", "of": "van", "products": [] }))])
            .await
            .unwrap();
        assert!(concerned(before).await, "a thing that tubs use");
    }
}
