//! An owner's sheet as the values that the template places: checked, made printable, strips in fractions of their width.

use crate::letters::{Use, breakable, needed, printable, shortened};
use crate::{Chart, Labels, Line, OwnerSheet, Paper, SheetError, Step, link};
use typst::foundations::{Array, Bytes, Dict, IntoValue, Value};

/// Everything the template asks for, under `sys.inputs`.
pub(crate) fn from_sheet(s: &OwnerSheet, paper: Paper, large_print: bool) -> Result<Dict, SheetError> {
    let (lang, region) = language(&s.lang)?;
    let mut d = Dict::new();
    put(&mut d, "paper", if paper == Paper::A4 { "a4" } else { "us-letter" });
    put(&mut d, "large", large_print);
    put(&mut d, "lang", lang);
    put(&mut d, "region", region);
    put(&mut d, "title", needed("title", &s.title, Use::Read)?);
    put(&mut d, "tub", needed("tub_name", &s.tub_name, Use::Name)?);
    put(&mut d, "date", needed("date_text", &s.date_text, Use::Read)?);
    put(&mut d, "running", running_head(s, large_print)?);
    put(&mut d, "invented", s.invented);
    put(&mut d, "headline", needed("headline", &s.headline, Use::Read)?);
    let closed = s.do_not_bathe.as_deref().map(|why| needed("do_not_bathe", why, Use::Read));
    put(&mut d, "closed", closed.transpose()?);
    put(&mut d, "lines", each(&s.quantities, line)?);
    put(&mut d, "charts", each(&s.charts, chart)?);
    put(&mut d, "steps", each(&s.steps, step)?);
    put(&mut d, "rules", texts("general_cautions", &s.general_cautions)?);
    put(&mut d, "next", needed("next_look", &s.next_look, Use::Read)?);
    let contact = s.contact.as_deref().map(|whom| needed("contact", whom, Use::Name));
    put(&mut d, "contact", contact.transpose()?);
    put(&mut d, "link", s.link.as_deref().map(private_link).transpose()?);
    put(&mut d, "label", labels(&s.labels)?);
    Ok(d)
}

/// What tells a loose page apart from the second on: on one line, so cut if need be.
fn running_head(s: &OwnerSheet, large_print: bool) -> Result<Dict, SheetError> {
    let most = if large_print { 24 } else { 44 };
    let mut d = Dict::new();
    put(&mut d, "tub", shortened(&needed("tub_name", &s.tub_name, Use::Name)?, most));
    put(&mut d, "date", shortened(&needed("date_text", &s.date_text, Use::Read)?, most));
    Ok(d)
}

fn put(dict: &mut Dict, key: &str, value: impl IntoValue) {
    dict.insert(key.into(), value.into_value());
}

fn each<T>(items: &[T], one: impl Fn(usize, &T) -> Result<Dict, SheetError>) -> Result<Array, SheetError> {
    items.iter().enumerate().map(|(i, item)| one(i, item).map(Value::Dict)).collect()
}

/// Cautions and the like: none of them may be empty.
fn texts(field: &str, list: &[String]) -> Result<Array, SheetError> {
    let one = |(i, text): (usize, &String)| needed(&format!("{field}[{i}]"), text, Use::Read);
    list.iter().enumerate().map(|item| one(item).map(IntoValue::into_value)).collect()
}

/// Language and, where there is one, country: the two parts of a tag that a PDF carries.
fn language(tag: &str) -> Result<(String, Option<String>), SheetError> {
    let wrong = || SheetError::Language { value: tag.to_owned() };
    let letters = |part: &str, least: usize, most: usize| {
        (least..=most).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphabetic())
    };
    let mut parts = tag.split(['-', '_']);
    let lang = parts.next().filter(|l| letters(l, 2, 3)).ok_or_else(wrong)?;
    let country = parts.next();
    if country.is_some_and(|c| !letters(c, 2, 2)) || parts.next().is_some() {
        return Err(wrong());
    }
    Ok((lang.to_ascii_lowercase(), country.map(str::to_ascii_uppercase)))
}

fn line(i: usize, q: &Line) -> Result<Dict, SheetError> {
    let at = |field: &str| format!("quantities[{i}].{field}");
    range(at("band"), q.band)?;
    range(at("interval"), q.interval)?;
    range(at("scale"), q.scale)?;
    let (left, right) = q.scale;
    if left >= right {
        return Err(SheetError::Range { field: at("scale"), low: left, high: right });
    }
    if !q.value.is_finite() {
        return Err(SheetError::NotFinite { field: at("value"), value: q.value });
    }
    // Halved first: the difference of two finite numbers need not be finite.
    let place = |v: f64| ((v / 2.0 - left / 2.0) / (right / 2.0 - left / 2.0)).clamp(0.0, 1.0);
    let mut d = Dict::new();
    put(&mut d, "name", needed(&at("name"), &q.name, Use::Read)?);
    put(&mut d, "value", needed(&at("value_text"), &q.value_text, Use::Read)?);
    put(&mut d, "words", needed(&at("words"), &q.words, Use::Read)?);
    put(&mut d, "alt", needed(&at("strip_alt"), &q.strip_alt, Use::Read)?);
    put(&mut d, "low", printable(&at("band_text[0]"), &q.band_text.0, Use::Read)?);
    put(&mut d, "high", printable(&at("band_text[1]"), &q.band_text.1, Use::Read)?);
    put(&mut d, "band-from", place(q.band.0));
    put(&mut d, "band-to", place(q.band.1));
    put(&mut d, "band-starts", q.band.0 >= left);
    put(&mut d, "band-ends", q.band.1 <= right);
    put(&mut d, "from", place(q.interval.0));
    put(&mut d, "to", place(q.interval.1));
    put(&mut d, "dot", place(q.value));
    put(&mut d, "beyond-left", q.value < left || q.interval.0 < left);
    put(&mut d, "beyond-right", q.value > right || q.interval.1 > right);
    Ok(d)
}

fn chart(i: usize, c: &Chart) -> Result<Dict, SheetError> {
    let at = |field: &str| format!("charts[{i}].{field}");
    let mut d = Dict::new();
    put(&mut d, "name", needed(&at("name"), &c.name, Use::Read)?);
    put(&mut d, "words", printable(&at("words"), &c.words, Use::Read)?);
    put(&mut d, "alt", needed(&at("alt"), &c.alt, Use::Read)?);
    put(&mut d, "svg", Bytes::new(c.svg.clone().into_bytes()));
    Ok(d)
}

fn range(field: String, (low, high): (f64, f64)) -> Result<(), SheetError> {
    if low.is_finite() && high.is_finite() && low <= high {
        Ok(())
    } else {
        Err(SheetError::Range { field, low, high })
    }
}

fn step(i: usize, s: &Step) -> Result<Dict, SheetError> {
    let at = |field: &str| format!("steps[{i}].{field}");
    let mut d = Dict::new();
    put(&mut d, "number", s.number.to_string());
    put(&mut d, "what", needed(&at("what"), &s.what, Use::Read)?);
    put(&mut d, "amount", printable(&at("amount_text"), &s.amount_text, Use::Read)?);
    put(&mut d, "how", printable(&at("how"), &s.how, Use::Read)?);
    put(&mut d, "wait", printable(&at("wait_text"), &s.wait_text, Use::Read)?);
    put(&mut d, "cautions", texts(&at("cautions"), &s.cautions)?);
    put(&mut d, "after", printable(&at("after_text"), &s.after_text, Use::Read)?);
    Ok(d)
}

fn private_link(address: &str) -> Result<Dict, SheetError> {
    let code = link::code(address)?;
    let run = |(x, y, length): (usize, usize, usize)| {
        [x, y, length].into_iter().map(|n| Value::Float(n as f64)).collect::<Array>().into_value()
    };
    let mut d = Dict::new();
    put(&mut d, "address", address);
    put(&mut d, "printed", breakable(address));
    put(&mut d, "side", code.side as f64);
    put(&mut d, "runs", code.runs.into_iter().map(run).collect::<Array>());
    Ok(d)
}

fn labels(l: &Labels) -> Result<Dict, SheetError> {
    let all = [
        ("invented", &l.invented),
        ("do_not_bathe", &l.do_not_bathe),
        ("water", &l.water),
        ("strip", &l.strip),
        ("charts", &l.charts),
        ("charts_key", &l.charts_key),
        ("steps", &l.steps),
        ("general_cautions", &l.general_cautions),
        ("caution", &l.caution),
        ("wait", &l.wait),
        ("after", &l.after),
        ("next_look", &l.next_look),
        ("contact", &l.contact),
        ("link", &l.link),
        ("qr_alt", &l.qr_alt),
        ("page_of", &l.page_of),
        ("precedence", &l.precedence),
    ];
    let mut d = Dict::new();
    for (key, text) in all {
        put(&mut d, key, needed(&format!("labels.{key}"), text, Use::Read)?);
    }
    Ok(d)
}
