//! Forms from a list of fields: what is typed becomes a body, and the record's own faults stand beside their fields.
//!
//! A field is named by its place in the body ("measure.grams"), which is how faults name it too.

use crate::ctx::Ctx;
use crate::number::{Misread, read, with_comma};
use crate::words::t;
use care::wire::Problem;
use maud::{Markup, html};
use serde_json::{Map, Value};

/// How a field is filled in.
pub(crate) enum Input {
    Text,
    /// A number; it is kept as typed if it is none, for the record to refuse.
    Number,
    /// One of these: word of the body, what is shown.
    Choice(Vec<(String, String)>),
    Tick,
}

/// One field.
pub(crate) struct Field {
    pub(crate) path: String,
    pub(crate) label: String,
    pub(crate) hint: String,
    pub(crate) input: Input,
}

impl Field {
    pub(crate) fn new(path: &str, label: String, input: Input) -> Field {
        Field { path: path.to_owned(), label, hint: String::new(), input }
    }

    pub(crate) fn hint(self, hint: String) -> Field {
        Field { hint, ..self }
    }
}

/// What was typed, by the fields' names.
#[derive(Debug, Clone, Default)]
pub(crate) struct Typed(pub(crate) Vec<(String, String)>);

impl Typed {
    pub(crate) fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }

    /// A body as it would have been typed.
    pub(crate) fn of_body(ctx: &Ctx, fields: &[Field], body: &Value) -> Typed {
        let text = |f: &Field| match at(body, &f.path)? {
            Value::String(text) => Some(text.clone()),
            Value::Number(n) => Some(mark(ctx, &n.as_f64().map_or_else(|| n.to_string(), |n| n.to_string()))),
            Value::Bool(true) => Some("true".to_owned()),
            _ => None,
        };
        Typed(fields.iter().filter_map(|f| Some((f.path.clone(), text(f)?))).collect())
    }

    /// The body with these fields as typed; what else it holds stays. An empty field is left out.
    pub(crate) fn fill_body(&self, ctx: &Ctx, fields: &[Field], body: Value) -> Value {
        self.fill(with_comma(&ctx.language), fields, body)
    }

    fn fill(&self, comma: bool, fields: &[Field], mut body: Value) -> Value {
        for field in fields {
            let typed = self.get(&field.path);
            let value = match field.input {
                _ if typed.is_empty() => None,
                Input::Number => Some(number(typed, comma)),
                Input::Tick => Some(Value::Bool(true)),
                Input::Text | Input::Choice(_) => Some(Value::from(typed)),
            };
            put(&mut body, &field.path, value);
        }
        body
    }
}

/// A number as typed; what is none, or may be two, stays text with its readings, for the record to refuse.
pub(crate) fn number(typed: &str, comma: bool) -> Value {
    match read(typed, comma) {
        Ok(number) => Value::from(number),
        Err(Misread::NoNumber) => Value::from(typed),
        Err(Misread::TwoMeanings { thousands, decimal }) => {
            Value::from(format!("{typed} ({thousands}? {decimal}?)"))
        }
    }
}

fn mark(ctx: &Ctx, plain: &str) -> String {
    if ctx.number(0.5, 1).contains(',') { plain.replace('.', ",") } else { plain.to_owned() }
}

fn at<'a>(body: &'a Value, path: &str) -> Option<&'a Value> {
    path.split('.').try_fold(body, |value, key| value.get(key))
}

fn put(body: &mut Value, path: &str, value: Option<Value>) {
    if !body.is_object() {
        *body = Value::Object(Map::new());
    }
    let Some(map) = body.as_object_mut() else { return };
    match (path.split_once('.'), value) {
        (None, Some(value)) => _ = map.insert(path.to_owned(), value),
        (None, None) => _ = map.shift_remove(path),
        (Some((key, rest)), value) => {
            if value.is_none() && !map.contains_key(key) {
                return;
            }
            let inner = map.entry(key.to_owned()).or_insert_with(|| Value::Object(Map::new()));
            put(inner, rest, value);
            if inner.as_object().is_some_and(Map::is_empty) {
                map.shift_remove(key);
            }
        }
    }
}

/// The fields with what was typed and what is wrong with it.
pub(crate) fn draw(ctx: &Ctx, fields: &[Field], typed: &Typed, faults: &[Problem]) -> Markup {
    let elsewhere = |p: &&Problem| !fields.iter().any(|f| f.path == p.field);
    html! {
        @if !faults.is_empty() {
            div.faults role="alert" {
                p { strong { (t!(ctx, "fields-faults")) } }
                @let others: Vec<&Problem> = faults.iter().filter(elsewhere).collect();
                @if !others.is_empty() { ul lang="en" { @for p in others { li { (p.to_string()) } } } }
            }
        }
        (inputs(fields, typed, faults))
    }
}

/// The fields alone.
pub(crate) fn inputs(fields: &[Field], typed: &Typed, faults: &[Problem]) -> Markup {
    html! { @for field in fields { (one(field, typed, faults)) } }
}

fn one(field: &Field, typed: &Typed, faults: &[Problem]) -> Markup {
    let Field { path, label, hint, input } = field;
    let wrong: Vec<&Problem> = faults.iter().filter(|p| p.field == *path).collect();
    let value = typed.get(path);
    let mut described = Vec::new();
    if !hint.is_empty() {
        described.push(format!("{path}-hint"));
    }
    if !wrong.is_empty() {
        described.push(format!("{path}-fault"));
    }
    let described = (!described.is_empty()).then(|| described.join(" "));
    let invalid = (!wrong.is_empty()).then_some("true");
    let said = html! {
        @if !hint.is_empty() { p.hint id={ (path) "-hint" } { (hint) } }
        @if !wrong.is_empty() {
            p.fault id={ (path) "-fault" } lang="en" {
                @for p in &wrong { (label) " " (p.what) @if !p.accepted.is_empty() { "; " (p.accepted) } ". " }
            }
        }
    };
    html! {
        div.field {
            @match input {
                Input::Tick => {
                    label.tick {
                        input type="checkbox" name=(path) value="true" checked[!value.is_empty()] aria-describedby=[described];
                        span { (label) }
                    }
                    (said)
                }
                Input::Choice(choices) => {
                    label for=(path) { (label) }
                    (said)
                    select id=(path) name=(path) aria-describedby=[described] aria-invalid=[invalid] {
                        @for (word, shown) in choices { option value=(word) selected[word == value] { (shown) } }
                    }
                }
                Input::Text | Input::Number => {
                    label for=(path) { (label) }
                    (said)
                    input type="text" id=(path) name=(path) value=(value) autocomplete="off" aria-describedby=[described]
                        aria-invalid=[invalid] inputmode=[matches!(input, Input::Number).then_some("decimal")];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_number_that_may_be_two_is_kept_with_both_for_the_record_to_refuse() {
        assert_eq!(number("1.234,5", true), json!(1234.5));
        assert_eq!(number("1.300", true), json!("1.300 (1300? 1,3?)"));
        assert_eq!(number("half", true), json!("half"));
    }

    #[test]
    fn typing_changes_its_fields_and_leaves_the_rest() {
        let fields = [
            Field::new("name", String::new(), Input::Text),
            Field::new("measure.grams", String::new(), Input::Number),
            Field::new("measure.kind", String::new(), Input::Text),
            Field::new("archived", String::new(), Input::Tick),
        ];
        let typed = |pairs: &[(&str, &str)]| {
            Typed(pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect())
        };
        let before =
            json!({ "name": "a", "archived": true, "kept": 1, "measure": { "grams": 3.0, "kind": "scoop" } });
        let body = typed(&[("name", " b "), ("measure.grams", "4,5"), ("measure.kind", "capful")]).fill(
            false,
            &fields,
            before.clone(),
        );
        assert_eq!(body, json!({ "name": "b", "kept": 1, "measure": { "grams": 4.5, "kind": "capful" } }));
        assert_eq!(typed(&[]).fill(false, &fields, before), json!({ "kept": 1 }));
        let wrong = typed(&[("measure.grams", "much")]).fill(false, &fields, json!({}));
        assert_eq!(wrong, json!({ "measure": { "grams": "much" } }));
    }
}
