//! What the form of the Reading page sends, and what it means: one row for each quantity, all of one time.

use crate::page::reading::figure::{Figure, Mistake, figure};
use crate::unit::Units;
use book::Uuid;
use care::method::{Kind, Method};
use care::quantity::Quantity as Q;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde_json::{Map, Value, json};

/// The most rows that one form may send.
const ROWS_MOST: usize = 40;

/// How a method's raw figure is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// Drops counted.
    Drops,
    /// Scale units of a capillary strip whose lot's table is known.
    ScaleUnits,
    /// The figure in the quantity's own unit.
    Value,
}

impl Shape {
    /// The shape that a method takes.
    pub(crate) fn of(method: &Method) -> Shape {
        match method.kind {
            Kind::DropTitration { .. } => Shape::Drops,
            Kind::ChlorideStrip { lot: Some(_) } => Shape::ScaleUnits,
            _ => Shape::Value,
        }
    }

    pub(crate) fn id(self) -> &'static str {
        match self {
            Shape::Drops => "drops",
            Shape::ScaleUnits => "units",
            Shape::Value => "value",
        }
    }

    fn from_id(id: &str) -> Shape {
        [Shape::Drops, Shape::ScaleUnits].into_iter().find(|s| s.id() == id).unwrap_or(Shape::Value)
    }
}

/// One row as it was sent.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// The entry's id, made with the form or on the device.
    pub(crate) id: Uuid,
    pub(crate) quantity: Q,
    pub(crate) method: String,
    /// The shape in which the row was asked, which a method chosen since does not change.
    pub(crate) shape: Shape,
    /// What was typed.
    pub(crate) typed: String,
    /// The colour step that was chosen; counts where nothing was typed.
    pub(crate) step: String,
    /// `<`, `>` or nothing.
    pub(crate) sign: String,
    /// Whether the strip's signal band had changed colour.
    pub(crate) changed: Option<bool>,
    /// Minutes until the strip was read.
    pub(crate) minutes: String,
    /// Whether the person who typed marks decimals with a comma.
    pub(crate) comma: bool,
}

impl Row {
    /// A row with nothing in it.
    pub(crate) fn empty(id: Uuid, quantity: Q, method: &Method) -> Row {
        Row {
            id,
            quantity,
            method: method.id.to_string(),
            shape: Shape::of(method),
            typed: String::new(),
            step: String::new(),
            sign: String::new(),
            changed: None,
            minutes: String::new(),
            comma: false,
        }
    }

    /// Whether anything was read.
    pub(crate) fn is_filled(&self) -> bool {
        !self.typed.trim().is_empty() || !self.step.trim().is_empty()
    }

    /// The body of the reading, in the shape of a case's readings.
    pub(crate) fn body(&self, units: Units) -> Result<Value, Mistake> {
        let chosen = self.typed.trim().is_empty();
        // A step is as the page has it: with a point.
        let Figure { sign, mut value } =
            if chosen { figure(&self.step, false)? } else { figure(&self.typed, self.comma)? };
        let sign = if chosen { sign } else { sign.or(self.sign.chars().next()) };
        let mut body = Map::new();
        body.insert("quantity".into(), self.quantity.id().into());
        body.insert("method".into(), self.method.as_str().into());
        if self.quantity == Q::Temperature && units == Units::Us {
            // To a hundredth: the same figure sent twice must be the same entry.
            value = ((value - 32.0) / 1.8 * 100.0).round() / 100.0;
        }
        match (sign, self.shape) {
            (Some(sign), Shape::Value) => _ = body.insert("value".into(), format!("{sign}{value}").into()),
            (Some(sign), _) => return Err(Mistake::SignNotHere(sign)),
            (None, Shape::Value) => _ = body.insert("value".into(), json!(value)),
            (None, Shape::Drops) => _ = body.insert("drops".into(), json!(value)),
            (None, Shape::ScaleUnits) => {
                body.insert("scale_units".into(), json!(value));
                if let Some(changed) = self.changed {
                    body.insert("signal_band_changed".into(), changed.into());
                }
                if !self.minutes.trim().is_empty() {
                    body.insert("minutes".into(), json!(figure(&self.minutes, self.comma)?.value));
                }
            }
        }
        Ok(Value::Object(body))
    }
}

/// The form as it was sent.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sent {
    pub(crate) rows: Vec<Row>,
    /// The time as the person sees it, and as it was first shown.
    pub(crate) at: String,
    pub(crate) shown: String,
    /// The exact moment: of the page, or of the device when the form was sent.
    pub(crate) moment: String,
    /// The units in which the form was shown.
    pub(crate) units: Units,
    /// Only to look at the results.
    pub(crate) only_check: bool,
}

impl Sent {
    /// Reads the fields: `quantity.0`, `figure.0` and so on for each row.
    ///
    /// # Errors
    /// The name of the field that this form does not have, or that holds no such thing.
    pub(crate) fn parse(fields: &[(String, String)], comma: bool) -> Result<Sent, String> {
        let get = |name: &str| fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.as_str());
        let mut rows = Vec::new();
        for n in 0..ROWS_MOST {
            let of = |name: &str| get(&format!("{name}.{n}"));
            if of("quantity").is_empty() {
                break;
            }
            let wrong =
                |name: &str| format!("{name}.{n} = \"{}\"", of(name).chars().take(60).collect::<String>());
            rows.push(Row {
                id: Uuid::try_parse(of("id")).map_err(|_| wrong("id"))?,
                quantity: Q::from_id(of("quantity"))
                    .filter(|q| *q != Q::SaturationIndex)
                    .ok_or_else(|| wrong("quantity"))?,
                method: of("method").to_owned(),
                shape: Shape::from_id(of("shape")),
                typed: of("figure").to_owned(),
                step: of("step").to_owned(),
                sign: of("sign").to_owned(),
                changed: match of("changed") {
                    "yes" => Some(true),
                    "no" => Some(false),
                    _ => None,
                },
                minutes: of("minutes").to_owned(),
                comma,
            });
        }
        Ok(Sent {
            rows,
            at: get("at").to_owned(),
            shown: get("shown").to_owned(),
            moment: get("moment").to_owned(),
            units: if get("units") == "us" { Units::Us } else { Units::Metric },
            only_check: get("do") == "check",
        })
    }

    /// When it was read, µs: the exact moment, unless the person set another time.
    pub(crate) fn at_us(&self, zone: &TimeZone) -> Option<i64> {
        if self.at == self.shown {
            return self.moment.parse::<Timestamp>().ok().map(Timestamp::as_microsecond);
        }
        let at: DateTime = self.at.parse().ok()?;
        Some(at.to_zoned(zone.clone()).ok()?.timestamp().as_microsecond())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(shape: Shape, typed: &str) -> Row {
        let method = care::method::find(&[], "strip").expect("a built-in method");
        Row { shape, typed: typed.into(), ..Row::empty(Uuid::nil(), Q::FreeChlorine, method) }
    }

    #[test]
    fn a_row_becomes_a_reading_in_its_methods_own_raw_unit() {
        let body = |row: Row| row.body(Units::Metric).expect("a body");
        assert_eq!(body(row(Shape::Value, "3"))["value"], json!(3.0));
        assert_eq!(body(row(Shape::Value, "< 0,2"))["value"], json!("<0.2"));
        assert_eq!(body(Row { sign: ">".into(), ..row(Shape::Value, "10") })["value"], json!(">10"));
        assert_eq!(body(row(Shape::Drops, "11"))["drops"], json!(11.0));
        let strip = body(Row { changed: Some(true), minutes: "3".into(), ..row(Shape::ScaleUnits, "5.4") });
        assert_eq!(strip["scale_units"], json!(5.4));
        assert_eq!(strip["signal_band_changed"], json!(true));
        assert_eq!(strip["minutes"], json!(3.0));
        // What was typed counts before the step that was chosen.
        assert_eq!(body(Row { step: "5".into(), ..row(Shape::Value, "3.5") })["value"], json!(3.5));
        assert_eq!(body(Row { step: "5".into(), ..row(Shape::Value, " ") })["value"], json!(5.0));
    }

    #[test]
    fn a_sign_belongs_to_figures_only() {
        assert_eq!(row(Shape::Drops, "<3").body(Units::Metric), Err(Mistake::SignNotHere('<')));
    }

    #[test]
    fn fahrenheit_becomes_celsius() {
        let row = Row { quantity: Q::Temperature, ..row(Shape::Value, "100.4") };
        assert_eq!(row.body(Units::Us).expect("a body")["value"], json!(38.0));
    }

    #[test]
    fn the_exact_moment_counts_unless_another_time_was_set() {
        let sent = |at: &str| Sent {
            rows: vec![],
            at: at.into(),
            shown: "2026-11-26T14:05".into(),
            moment: "2026-11-26T13:05:09.123Z".into(),
            units: Units::Metric,
            only_check: false,
        };
        let zone = TimeZone::fixed(jiff::tz::offset(1));
        let at = |text: &str| text.parse::<Timestamp>().ok().map(Timestamp::as_microsecond);
        assert_eq!(sent("2026-11-26T14:05").at_us(&zone), at("2026-11-26T13:05:09.123Z"));
        assert_eq!(sent("2026-11-26T09:30").at_us(&zone), at("2026-11-26T08:30:00Z"));
        assert_eq!(sent("yesterday").at_us(&zone), None);
    }
}
