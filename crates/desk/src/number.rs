//! Numbers as a language writes them, and as people type them.

use fluent_templates::LanguageIdentifier;
use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_locale_core::Locale;
use std::cell::RefCell;
use std::collections::BTreeMap;

const MINUS: &str = "−";

thread_local! {
    static FORMATTERS: RefCell<BTreeMap<String, Option<DecimalFormatter>>> = const { RefCell::new(BTreeMap::new()) };
}

/// A number with so many decimals, in a language's own digits and marks, its sign a minus and no hyphen; "–" if there is none.
pub(crate) fn number(language: &LanguageIdentifier, value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_string();
    }
    // Minus zero reads as a slip.
    let plain = format!("{value:.decimals$}");
    let plain = if plain.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        plain.trim_start_matches('-').to_string()
    } else {
        plain
    };
    let Ok(decimal) = plain.parse::<Decimal>() else { return plain };
    FORMATTERS.with_borrow_mut(|made| {
        let code = language.to_string();
        // Made once a thread and language: it reads tables.
        let formatter = made.entry(code).or_insert_with_key(|code| {
            let locale = code.parse::<Locale>().ok()?;
            DecimalFormatter::try_new(locale.into(), Default::default()).ok()
        });
        formatter.as_ref().map_or(plain, |f| f.format(&decimal).to_string()).replace('-', MINUS)
    })
}

/// Whether a language marks decimals with a comma.
pub(crate) fn with_comma(language: &LanguageIdentifier) -> bool {
    number(language, 0.5, 1).contains(',')
}

/// Why what was typed is not taken for a number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Misread {
    NoNumber,
    /// "1.300" where decimals have a comma: thirteen hundred as it is printed there, or one and three tenths as a telephone's
    /// keypad has it. Each reading as it can be typed without doubt.
    TwoMeanings {
        thousands: String,
        decimal: String,
    },
}

/// A number as people type it, in a language that marks decimals with a comma or with a point. Spaces and "'" part thousands;
/// with both marks the last one parts the decimals. One mark alone that is not the language's own is taken for its decimal
/// mark, unless it stands as if it parted thousands: in English that is what a comma does, elsewhere the person is asked.
pub(crate) fn read(typed: &str, comma: bool) -> Result<f64, Misread> {
    let part = |c: char| c.is_whitespace() || matches!(c, '\'' | '’');
    let spaced = typed.trim().replace(part, " ").replace(MINUS, "-");
    let whole = spaced.split([',', '.']).next().unwrap_or_default();
    if whole.contains(' ') && !is_grouped(&whole.replace(' ', ",")) {
        return Err(Misread::NoNumber);
    }
    let text = spaced.replace(' ', "");
    let (own, other) = if comma { (',', '.') } else { ('.', ',') };
    let marks: Vec<char> = text.chars().filter(|c| matches!(c, ',' | '.')).collect();
    let mixed = marks.contains(&own) && marks.contains(&other);
    let plain = match marks.as_slice() {
        [] => text,
        [.., last] if mixed => {
            let (whole, decimals) = text.rsplit_once(*last).ok_or(Misread::NoNumber)?;
            if whole.contains(*last) || !is_grouped(whole) {
                return Err(Misread::NoNumber);
            }
            format!("{}.{decimals}", without_marks(whole))
        }
        [_, _, ..] if is_grouped(&text) => without_marks(&text),
        [mark] if *mark == other && is_grouped(&text) => {
            if comma {
                let decimal = text.trim_end_matches('0').replace(other, ",");
                // Whoever means three decimals says so with a fourth.
                let decimal = if decimal.len() == text.len() { decimal + "0" } else { decimal };
                return Err(Misread::TwoMeanings { thousands: without_marks(&text), decimal });
            }
            without_marks(&text)
        }
        [mark] => text.replace(*mark, "."),
        _ => return Err(Misread::NoNumber),
    };
    plain.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or(Misread::NoNumber)
}

fn without_marks(text: &str) -> String {
    text.replace([',', '.'], "")
}

/// Whether the marks in a number stand as if they parted thousands: one to three digits, not 0 first, then threes.
fn is_grouped(text: &str) -> bool {
    let mut groups = text.trim_start_matches(['-', '+']).split([',', '.']);
    let digits = |g: &str| g.bytes().all(|b| b.is_ascii_digit());
    let first = groups.next().unwrap_or_default();
    (1..=3).contains(&first.len())
        && digits(first)
        && !first.starts_with('0')
        && groups.all(|g| g.len() == 3 && digits(g))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        let (with_point, with_comma) = (false, true);
        for (typed, comma, number) in [
            ("7.4", with_point, Some(7.4)),
            ("7,4", with_point, Some(7.4)),
            ("1,300", with_point, Some(1300.0)),
            ("1.300", with_point, Some(1.3)),
            ("1,300.5", with_point, Some(1300.5)),
            ("1.300,5", with_point, Some(1300.5)),
            ("1,300,000", with_point, Some(1_300_000.0)),
            ("0,125", with_point, Some(0.125)),
            ("7,4", with_comma, Some(7.4)),
            ("7.4", with_comma, Some(7.4)),
            ("1,300", with_comma, Some(1.3)),
            ("1.300,5", with_comma, Some(1300.5)),
            ("1,300.5", with_comma, Some(1300.5)),
            ("1.300.000", with_comma, Some(1_300_000.0)),
            ("1 300", with_comma, Some(1300.0)),
            ("1\u{202f}300,5", with_comma, Some(1300.5)),
            ("1\u{a0}300", with_comma, Some(1300.0)),
            ("1'300", with_comma, Some(1300.0)),
            ("0.125", with_comma, Some(0.125)),
            ("-0.300", with_comma, Some(-0.3)),
            ("−0,3", with_comma, Some(-0.3)),
            ("1.30", with_comma, Some(1.3)),
            ("1.3000", with_comma, Some(1.3)),
            ("13.00.000", with_comma, None),
            ("1.30,5", with_comma, None),
            ("1,3,5", with_point, None),
            ("7 6", with_comma, None),
            ("", with_point, None),
            ("nan", with_point, None),
            ("inf", with_comma, None),
            ("seven", with_point, None),
        ] {
            assert_eq!(read(typed, comma).ok(), number, "{typed}, comma: {comma}");
        }
    }

    #[test]
    fn where_a_point_may_part_thousands_or_decimals_both_readings_are_named_and_either_can_be_typed() {
        for (typed, thousands, decimal, values) in [
            ("1.300", "1300", "1,3", (1300.0, 1.3)),
            ("12.345", "12345", "12,3450", (12345.0, 12.345)),
            ("-2.100", "-2100", "-2,1", (-2100.0, -2.1)),
        ] {
            let two = Misread::TwoMeanings { thousands: thousands.into(), decimal: decimal.into() };
            assert_eq!(read(typed, true), Err(two), "{typed}");
            assert_eq!((read(thousands, true), read(decimal, true)), (Ok(values.0), Ok(values.1)));
        }
        for (language, comma) in [("en", false), ("de", true), ("fr", true)] {
            assert_eq!(with_comma(&crate::words::language(language)), comma, "{language}");
        }
    }
    use crate::words::language;

    #[test]
    fn each_language_has_its_own_marks() {
        assert_eq!(number(&language("en"), 1234.5, 1), "1,234.5");
        assert_eq!(number(&language("de"), 1234.5, 1), "1.234,5");
        assert_eq!(number(&language("fr"), 0.25, 2), "0,25");
        assert_eq!(number(&language("en"), -0.001, 2), "0.00");
        assert_eq!(number(&language("de"), -1234.5, 1), "−1.234,5");
        assert_eq!(number(&language("en"), f64::NAN, 2), "–");
    }
}
