//! From a tub's record to its case, which `care` makes an estimate and a plan of.
//!
//! What happened is read as it was meant when it happened: a dose by the product as it stood on the shelf that day, a
//! strip by the table of its lot. What cannot be understood is left out and said, so that one slip of the pen does not
//! keep a tub from its plan.

mod methods;
mod shelf;

use crate::entry::Entry;
use crate::error::BookError;
use crate::kind::Kind;
use crate::open::Book;
use crate::things::{Thing, ThingFilter};
use care::case::Case;
use care::wire::case::CaseText;
use care::wire::{Problem, node};
use methods::Methods;
use serde_json::{Map, Value, json};
use shelf::Shelves;
use std::collections::BTreeSet;
use uuid::Uuid;

/// How far back a case reaches, µs: 120 days. What is older says nothing of today's water; the last fill always counts.
const REACH_US: i64 = 120 * 24 * 3600 * 1_000_000;
/// The kinds that tell something of the water.
const OF_WATER: [Kind; 4] = [Kind::Reading, Kind::Dose, Kind::Event, Kind::StepDone];
/// That an event is a fill: bodies are kept in one canonical form, so their text can be asked. Not a bound value, for
/// which SQLite would prepare the question anew each time.
const IS_FILL: &str = r#" AND e.body LIKE '%"kind":"fill"%'"#;
/// How many old readings stand in where the reach holds none.
const OLD_READINGS: usize = 20;
/// The most things of one kind that are looked through for a name.
const THINGS_MOST: u32 = 1000;

/// A tub as the book knows it: everything that its pages and its plan start from, read once.
#[derive(Debug, Clone)]
pub struct Dossier {
    /// The tub.
    pub thing: Thing,
    /// Its source water, if it has one, as it is now.
    pub source_water: Option<Thing>,
    /// Its shelf, if it has one, as it is now.
    pub shelf: Option<Thing>,
    /// What happened in the case's reach, oldest first, and what of older stands in for it.
    pub happened: Vec<Entry>,
    /// The case as JSON and ready for the planner, or why what is known makes none.
    pub case: Result<(Value, Case), Vec<Problem>>,
}

/// A case with what is worth saying of it.
struct Assembled {
    case: Map<String, Value>,
    notes: Vec<String>,
}

impl Book {
    /// The case of a tub as JSON, in the shape of a case file: what happened in the 120 days before `until_us` (now, if
    /// absent), the last fill, and the things that the tub uses.
    ///
    /// # Errors
    /// [`BookError::Question`] if there is no such tub; [`BookError::Case`] if what is known of it makes no case.
    pub async fn case_json(&self, tub: Uuid, now_us: i64, until_us: Option<i64>) -> Result<Value, BookError> {
        Ok(self.sound_case(tub, now_us, until_us).await?.0)
    }

    /// The case of a tub, ready for the planner.
    ///
    /// # Errors
    /// As [`Book::case_json`].
    pub async fn case(&self, tub: Uuid, now_us: i64, until_us: Option<i64>) -> Result<Case, BookError> {
        Ok(self.sound_case(tub, now_us, until_us).await?.1)
    }

    async fn sound_case(
        &self,
        tub: Uuid,
        now_us: i64,
        until_us: Option<i64>,
    ) -> Result<(Value, Case), BookError> {
        match self.dossier(tub, now_us, until_us).await? {
            Some(dossier) => dossier.case.map_err(BookError::Case),
            None => Err(BookError::Question {
                field: "tub",
                what: format!("{tub} is not in this book"),
                accepted: "the id of a tub that was recorded is accepted".into(),
            }),
        }
    }

    /// A tub with its case and what that was made of; `None` if there is no such tub.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read.
    pub async fn dossier(
        &self,
        tub: Uuid,
        now_us: i64,
        until_us: Option<i64>,
    ) -> Result<Option<Dossier>, BookError> {
        let Some(thing) = self.thing(Kind::Tub, tub).await? else { return Ok(None) };
        // Phones run ahead by minutes: what was recorded counts, so there is no upper end unless one is asked for.
        let until = until_us.unwrap_or(i64::MAX);
        let from = now_us.min(until) - REACH_US;
        let mut happened = self.history_of(tub, &OF_WATER, from, until).await?;
        self.add_older(tub, from, &mut happened).await?;
        let used = ["source_water", "shelf"].map(|field| reference(&thing.body, field));
        let mut used = self.things_named(used.into_iter().flatten().collect()).await?;
        let mut take = |kind, field| {
            let id = reference(&thing.body, field)?;
            let place = used.iter().position(|t| t.kind == kind && t.id == id)?;
            Some(used.swap_remove(place))
        };
        let (source_water, shelf) = (take(Kind::SourceWater, "source_water"), take(Kind::Shelf, "shelf"));
        let made = self.assemble(&thing, source_water.as_ref(), &happened, now_us, until).await?;
        let case = sound(made, &thing.name);
        Ok(Some(Dossier { thing, source_water, shelf, happened, case }))
    }

    /// The last fill, and the last readings if the reach holds none: without them an old tub would look like a new fill.
    async fn add_older(&self, tub: Uuid, from_us: i64, happened: &mut Vec<Entry>) -> Result<(), BookError> {
        let mut older = Vec::new();
        if !happened.iter().any(|e| e.kind == Kind::Reading) {
            older = self.last_before(tub, Kind::Reading, "", from_us, OLD_READINGS).await?;
        }
        if !happened.iter().any(|e| e.kind == Kind::Event && e.body["kind"] == "fill") {
            older.extend(self.last_before(tub, Kind::Event, IS_FILL, from_us, 1).await?);
        }
        older.sort_by_key(|e| (e.at_us, e.id));
        older.append(happened);
        *happened = older;
        Ok(())
    }

    async fn assemble(
        &self,
        tub: &Thing,
        source_water: Option<&Thing>,
        happened: &[Entry],
        now_us: i64,
        until: i64,
    ) -> Result<Assembled, BookError> {
        let mut case = Map::new();
        let mut notes = Vec::new();
        let mut vessel = tub.body["tub"].clone();
        vessel["name"] = Value::from(tub.name.as_str());
        case.insert("tub".into(), vessel);
        if let Some(band) = tub.body.get("band") {
            case.insert("band".into(), band.clone());
        }
        match source_water {
            Some(water) => _ = case.insert("source_water".into(), water.body.clone()),
            None if reference(&tub.body, "source_water").is_some() => {
                notes.push("The tub's source water is not in the book: it is taken as unknown.".into());
            }
            None => {}
        }
        let own = match reference(&tub.body, "shelf") {
            Some(id) => self.versions(Kind::Shelf, id).await?,
            None => Vec::new(),
        };
        if own.is_empty() {
            notes.push("The tub has no shelf in the book: nothing can be planned to be dosed.".into());
        }
        let mut shelves = Shelves::new(&own, until);
        if happened.iter().any(|e| shelves.lacks(e)) {
            let filter = ThingFilter { limit: Some(THINGS_MOST), ..ThingFilter::default() };
            shelves.also(&self.things(Kind::Shelf, &filter).await?);
        }
        let mut methods = self.methods(happened).await?;

        let (mut readings, mut doses, mut events) = (Vec::new(), Vec::new(), Vec::new());
        let mut latest = now_us;
        for entry in happened {
            let mut body = entry.body.clone();
            body["at"] = Value::from(written(entry.at_us));
            match entry.kind {
                Kind::Reading => {
                    methods.name(&mut body, entry.at_us);
                    readings.push(body);
                }
                Kind::Dose => doses.push(shelves.named(body, entry.at_us)),
                Kind::Event => events.push(body),
                Kind::StepDone => match step(&body) {
                    Some((true, dose)) => doses.push(shelves.named(dose, entry.at_us)),
                    Some((false, event)) => events.push(event),
                    None => continue,
                },
                _ => continue,
            }
            latest = latest.max(entry.at_us);
        }
        let products = shelves.products();
        for (field, list) in [
            ("shelf", products),
            ("method", methods.used()),
            ("reading", readings),
            ("dose", doses),
            ("event", events),
        ] {
            if !list.is_empty() {
                case.insert(field.into(), Value::Array(list));
            }
        }
        case.insert("now".into(), Value::from(written(latest)));
        Ok(Assembled { case, notes })
    }

    /// The methods of the firm's own that these readings name.
    async fn methods(&self, happened: &[Entry]) -> Result<Methods, BookError> {
        let named: BTreeSet<String> = happened
            .iter()
            .filter(|e| e.kind == Kind::Reading)
            .filter_map(|e| e.body["method"].as_str())
            .filter(|id| care::method::find(&[], id).is_none())
            .map(str::to_owned)
            .collect();
        let mut methods = Methods::default();
        if named.is_empty() {
            return Ok(methods);
        }
        let filter = ThingFilter { limit: Some(THINGS_MOST), ..ThingFilter::default() };
        for thing in self.things(Kind::Method, &filter).await? {
            if thing.body["id"].as_str().is_some_and(|id| named.contains(id)) {
                methods.add(&self.versions(Kind::Method, thing.id).await?);
            }
        }
        Ok(methods)
    }
}

/// The case of what was put together, without what cannot be understood.
fn sound(mut made: Assembled, name: &str) -> Result<(Value, Case), Vec<Problem>> {
    let read = |made: &Assembled| CaseText::of_json(&Value::Object(made.case.clone()), name).finish(None);
    let mut case = match read(&made) {
        Ok(case) => case,
        Err(problems) => {
            made.leave_out(problems)?;
            read(&made)?
        }
    };
    case.notes.extend(made.notes.into_iter().map(care::note::Note::from));
    Ok((Value::Object(made.case), case))
}

impl Assembled {
    /// Takes out the readings, doses and events that are at fault, and says so. A fault elsewhere is the tub's.
    fn leave_out(&mut self, problems: Vec<Problem>) -> Result<(), Vec<Problem>> {
        let mut out: BTreeSet<(&'static str, usize)> = BTreeSet::new();
        for problem in &problems {
            let Some(place) = ["reading", "dose", "event"].into_iter().find_map(|list| {
                let number = problem.field.strip_prefix(list)?.strip_prefix('[')?.split(']').next()?;
                Some((list, number.parse::<usize>().ok()?.checked_sub(1)?))
            }) else {
                return Err(problems);
            };
            if out.insert(place) {
                let at = self.case[place.0][place.1]["at"].as_str().unwrap_or("?").to_owned();
                let field = problem.field.split_once("].").map_or("", |(_, field)| field);
                let accepted = if problem.accepted.is_empty() { "" } else { "; " };
                self.notes.push(format!(
                    "Left out, because it cannot be understood: the {} of {at} ({field} {}{accepted}{}). Correct it in \
                     the book.",
                    place.0,
                    node::shortened(&problem.what),
                    problem.accepted
                ));
            }
        }
        for (list, index) in out.into_iter().rev() {
            if let Some(items) = self.case.get_mut(list).and_then(Value::as_array_mut) {
                items.remove(index);
            }
        }
        Ok(())
    }
}

/// A step that was done, as what it did to the water: a dose (`true`) or an event.
fn step(body: &Value) -> Option<(bool, Value)> {
    let pick = |fields: &[&str]| -> Map<String, Value> {
        fields.iter().filter_map(|f| Some(((*f).to_owned(), body.get(f)?.clone()))).collect()
    };
    match body.get("kind").and_then(Value::as_str).unwrap_or("add") {
        "add" => Some((true, Value::Object(pick(&["at", "product", "chemical", "mass_g"])))),
        "replace-water" => {
            let mut event = Value::Object(pick(&["at", "share_percent"]));
            event["kind"] = json!("drain");
            Some((false, event))
        }
        _ => None,
    }
}

fn reference(body: &Value, field: &str) -> Option<Uuid> {
    Uuid::try_parse(body.get(field)?.as_str()?).ok()
}

/// RFC 3339 in UTC.
fn written(at_us: i64) -> String {
    jiff::Timestamp::from_microsecond(at_us).map_or_else(|_| format!("{at_us} µs"), |t| t.to_string())
}

/// Which of several versions, oldest first, was in force: the last not later, or the first of all.
fn in_force<T>(versions: &[(i64, T)], at_us: i64) -> Option<usize> {
    let before = versions.partition_point(|(from, _)| *from <= at_us);
    if versions.is_empty() { None } else { Some(before.saturating_sub(1)) }
}
