//! What a form was sent with: fields as text, read as numbers and times in the reader's own way, faults kept by field.

use crate::ctx::Ctx;
use crate::error::PageError;
use crate::number::Misread;
use crate::state::App;
use crate::words::t;
use book::{BookError, NewEntry, Refusal, Uuid};
use jiff::civil::DateTime;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// How late a form may be sent after it was filled in, and still give its own time: µs of a year.
const YEAR_US: i64 = 366 * 24 * 3600 * 1_000_000;

/// Fields of a form, with the faults found in them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Typed {
    fields: BTreeMap<String, String>,
    faults: Vec<(String, String)>,
}

impl From<Vec<(String, String)>> for Typed {
    fn from(pairs: Vec<(String, String)>) -> Typed {
        Typed { fields: pairs.into_iter().collect(), faults: Vec::new() }
    }
}

impl Typed {
    /// Sets what a form shows before anybody typed.
    pub(crate) fn set(&mut self, field: &str, value: impl Into<String>) {
        self.fields.insert(field.to_string(), value.into());
    }

    /// What was typed, trimmed; `None` if nothing was.
    pub(crate) fn text(&self, field: &str) -> Option<&str> {
        self.fields.get(field).map(|v| v.trim()).filter(|v| !v.is_empty())
    }

    /// Whether a box was ticked.
    pub(crate) fn ticked(&self, field: &str) -> bool {
        self.fields.contains_key(field)
    }

    /// Every field that begins so, with the rest of its name.
    pub(crate) fn beginning<'a>(&'a self, start: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> + 'a {
        self.fields.iter().filter_map(move |(k, v)| Some((k.strip_prefix(start)?, v.trim())))
    }

    pub(crate) fn fault(&mut self, field: &str, what: String) {
        self.faults.push((field.to_string(), what));
    }

    pub(crate) fn has_faults(&self) -> bool {
        !self.faults.is_empty()
    }

    /// A number that may be left out; what is no number is a fault.
    pub(crate) fn number(&mut self, ctx: &Ctx, field: &str) -> Option<f64> {
        let text = self.text(field)?.to_string();
        match ctx.read(&text) {
            Ok(number) => return Some(number),
            Err(Misread::NoNumber) => self.fault(field, t!(ctx, "form-no-number", text = text)),
            Err(Misread::TwoMeanings { thousands, decimal }) => {
                let said =
                    t!(ctx, "reading-two-meanings", typed = text, thousands = thousands, decimal = decimal);
                self.fault(field, said);
            }
        }
        None
    }

    /// A time of day and date that may be left out.
    pub(crate) fn when_us(&mut self, ctx: &Ctx, field: &str) -> Option<i64> {
        let text = self.text(field)?.to_string();
        let at = text.parse::<DateTime>().ok().and_then(|t| t.to_zoned(ctx.zone.clone()).ok());
        if at.is_none() {
            self.fault(field, t!(ctx, "form-no-time", text = text));
        }
        at.map(|at| at.timestamp().as_microsecond())
    }

    /// When something happened: as the device noted it (`at_us`), as typed (`when`), or now.
    pub(crate) fn happened_us(&mut self, ctx: &Ctx) -> i64 {
        let now = ctx.now.as_microsecond();
        let noted = self.text("at_us").and_then(|t| t.parse::<i64>().ok());
        let typed = self.when_us(ctx, "when");
        // The device knows its own time zone better than the server does.
        let noted = noted.filter(|at| (now - at).abs() < YEAR_US);
        noted.or(typed).unwrap_or(now)
    }

    /// The id that the form was made with, so that a doubled sending stays one entry.
    pub(crate) fn id(&self) -> Uuid {
        self.text("id").and_then(|t| Uuid::try_parse(t).ok()).unwrap_or_else(Uuid::now_v7)
    }

    /// Faults that the book found, each beside its field where the form has it.
    pub(crate) fn take_refusals(&mut self, refusals: &[Refusal]) {
        for problem in refusals.iter().flat_map(|r| &r.problems) {
            let field = problem.field.rsplit('.').next().unwrap_or_default();
            let accepted = if problem.accepted.is_empty() { "" } else { "; " };
            self.fault(field, format!("{} {}{accepted}{}", problem.field, problem.what, problem.accepted));
        }
    }

    /// Puts faults of the book's fields beside the form's: pairs of the form's and the book's name.
    pub(crate) fn place_faults(&mut self, names: &[(&str, &str)]) {
        for (field, _) in &mut self.faults {
            if let Some((own, _)) = names.iter().find(|(_, of_book)| field == of_book) {
                *field = (*own).to_string();
            }
        }
    }

    /// The faults of a field, beside it.
    pub(crate) fn said(&self, field: &str) -> Markup {
        html! {
            @for (_, what) in self.faults.iter().filter(|(f, _)| f == field) {
                p.fault id={ "fault-" (field) } { (what) }
            }
        }
    }

    /// Every fault, before the form, each leading to its field.
    pub(crate) fn summary(&self, ctx: &Ctx) -> Markup {
        self.listed(&html! { p { strong { (t!(ctx, "form-faults")) } } })
    }

    /// The same where nothing would have been recorded: what is wrong, and no more.
    pub(crate) fn wrong(&self) -> Markup {
        self.listed(&html! {})
    }

    fn listed(&self, heading: &Markup) -> Markup {
        html! {
            @if self.has_faults() {
                div.faults role="alert" {
                    (heading)
                    ul { @for (field, what) in &self.faults { li { a href={ "#" (element(field)) } { (what) } } } }
                }
            }
        }
    }

    /// A labelled line to type in. `kind` is the input's type.
    pub(crate) fn line(&self, field: &str, label: &str, kind: &str) -> Markup {
        let number = kind == "number";
        let wrong = self.faults.iter().any(|(f, _)| f == field);
        html! {
            label for={ "f-" (field) } { (label) }
            input id={ "f-" (field) } name=(field) type=(if number { "text" } else { kind }) inputmode=[number.then_some("decimal")]
                autocomplete="off" value=[self.text(field)] aria-invalid=[wrong.then_some("true")]
                aria-describedby=[wrong.then(|| format!("fault-{field}"))];
            (self.said(field))
        }
    }

    /// A labelled choice.
    pub(crate) fn choice(&self, field: &str, label: &str, options: &[(String, String)]) -> Markup {
        html! {
            label for={ "f-" (field) } { (label) }
            select id={ "f-" (field) } name=(field) {
                @for (value, words) in options {
                    option value=(value) selected[self.text(field).unwrap_or_default() == value] { (words) }
                }
            }
            (self.said(field))
        }
    }

    /// A labelled box to tick.
    pub(crate) fn tick(&self, field: &str, label: &str) -> Markup {
        html! {
            label.tick for={ "f-" (field) } {
                input id={ "f-" (field) } type="checkbox" name=(field) value="1" checked[self.ticked(field)];
                span { (label) }
            }
        }
    }
}

/// The id of a field's element: a name may hold spaces, an id may not.
pub(crate) fn element(field: &str) -> String {
    format!("f-{}", field.replace(char::is_whitespace, "-"))
}

/// The n-th id after one: a form makes several entries and stays the same when it is sent again.
pub(crate) fn nth(id: Uuid, n: u128) -> Uuid {
    Uuid::from_u128(id.as_u128().wrapping_add(n))
}

/// A moment for a `datetime-local` field.
pub(crate) fn field_time(ctx: &Ctx, at_us: i64) -> String {
    ctx.local(at_us).strftime("%Y-%m-%dT%H:%M").to_string()
}

/// Hidden fields that keep a doubled sending one entry. A script may note the true time in `at_us`.
pub(crate) fn hidden_id(id: Uuid) -> Markup {
    html! { input type="hidden" name="id" value=(id); input type="hidden" name="at_us" value=""; }
}

/// Records; the same form sent again is done already.
pub(crate) async fn record_once(app: &App, entries: &[NewEntry]) -> Result<(), BookError> {
    let Some(first) = entries.first() else { return Ok(()) };
    if app.book().entry(first.id).await?.is_some() {
        return Ok(());
    }
    match app.record(entries).await {
        Ok(_) => Ok(()),
        // Two sendings at once: the other one was first.
        Err(BookError::Refused(_)) if app.book().entry(first.id).await?.is_some() => Ok(()),
        Err(why) => Err(why),
    }
}

/// The same, with the faults that the book found given to the form.
pub(crate) async fn record_typed(
    app: &App,
    typed: &mut Typed,
    entries: &[NewEntry],
) -> Result<bool, PageError> {
    match record_once(app, entries).await {
        Ok(()) => Ok(true),
        Err(BookError::Refused(refusals)) => {
            typed.take_refusals(&refusals);
            Ok(false)
        }
        Err(why) => Err(why.into()),
    }
}
