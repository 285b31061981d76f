//! A figure as people type it: with a comma or a point, with a sign for "less than" or "more than".

use crate::number::{Misread, read};
use care::text::Text;

/// What was typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Figure {
    /// `<` or `>`.
    pub(crate) sign: Option<char>,
    pub(crate) value: f64,
}

/// Why it is no figure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Mistake {
    /// It is no number.
    NoNumber(String),
    /// "2,100" may mean two thousand one hundred, or two and a tenth.
    TwoMeanings { typed: String, thousands: String, decimal: String },
    /// Drops and scale units are counted: they have no "less than".
    SignNotHere(char),
    /// There is no method with this id.
    NoMethod(String),
    /// The method cannot have given it.
    Refused(Text),
}

/// Reads a figure, as typed in a language that marks decimals with a comma or with a point. Here "2,100" is asked about in
/// English too: a kit's figure is copied in haste, and either reading may be dosed by.
pub(crate) fn figure(typed: &str, comma: bool) -> Result<Figure, Mistake> {
    let text = typed.trim().replace('\u{2212}', "-");
    let sign = text.chars().next().filter(|c| matches!(c, '<' | '>'));
    let number = text.trim_start_matches(['<', '>']).trim();
    let no_number = || Mistake::NoNumber(typed.trim().chars().take(40).collect());
    // "inf", "nan" and "1e3" are numbers to a machine, not to a person with a kit.
    if number.chars().any(char::is_alphabetic) {
        return Err(no_number());
    }
    let two =
        |thousands, decimal| Mistake::TwoMeanings { typed: typed.trim().to_owned(), thousands, decimal };
    if let (1, Err(Misread::TwoMeanings { thousands, decimal })) =
        (number.matches(',').count(), read(&number.replace(',', "."), true))
    {
        let decimal = if comma { decimal } else { decimal.replace(',', ".") };
        return Err(two(thousands, decimal));
    }
    match read(number, comma) {
        Ok(value) => Ok(Figure { sign, value }),
        Err(Misread::NoNumber) => Err(no_number()),
        Err(Misread::TwoMeanings { thousands, decimal }) => Err(two(thousands, decimal)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn point_and_comma_both_divide() {
        for (typed, value) in
            [("7.6", 7.6), (" 7,6 ", 7.6), ("2100", 2100.0), ("0,125", 0.125), ("\u{2212}50", -50.0)]
        {
            assert_eq!(figure(typed, false), Ok(Figure { sign: None, value }), "{typed}");
        }
        assert_eq!(figure("1\u{202f}300,5", true), Ok(Figure { sign: None, value: 1300.5 }));
        assert_eq!(figure("2.100", false), Ok(Figure { sign: None, value: 2.1 }));
        assert_eq!(figure("<0,2", false), Ok(Figure { sign: Some('<'), value: 0.2 }));
        assert_eq!(figure("> 10", false), Ok(Figure { sign: Some('>'), value: 10.0 }));
    }

    #[test]
    fn what_may_mean_two_things_is_asked_about() {
        let Err(Mistake::TwoMeanings { thousands, decimal, .. }) = figure("2,100", false) else {
            panic!("2,100 was taken for one of its two meanings")
        };
        assert_eq!((thousands.as_str(), decimal.as_str()), ("2100", "2.1"));
        for typed in ["2,100", "2.100", "<2.100"] {
            let Err(Mistake::TwoMeanings { thousands, decimal, .. }) = figure(typed, true) else {
                panic!("{typed} was taken for one of its two meanings")
            };
            assert_eq!((thousands.as_str(), decimal.as_str()), ("2100", "2,1"));
        }
    }

    #[test]
    fn what_is_no_number_is_said() {
        for typed in ["", "seven", "7.6.1", "1,2,3", "inf", "NaN", "1e3", "<", "7 6"] {
            assert!(matches!(figure(typed, false), Err(Mistake::NoNumber(_))), "{typed}");
        }
    }
}
