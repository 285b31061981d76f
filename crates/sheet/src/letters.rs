//! Which characters can be printed, and what becomes of the others?
//!
//! In: a text as people type it. Out: one line without control characters, with places to break very long words.
//! A character that no font here has becomes a box, or an error where a person must be able to read the text.

use crate::SheetError;
use crate::typeset::fonts;

/// What a text is for, which decides about characters without a glyph.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Use {
    /// Instructions, cautions, figures: letters and digits must be readable.
    Read,
    /// A name, an address: a box for what is missing still tells the rest.
    Name,
}

/// Stands for a character that cannot be drawn.
const BOX: char = '\u{25a1}';
/// Words longer than this may be broken; the longest chemical names in German stay whole.
const LONG_WORD: usize = 28;
/// How often a long word may be broken.
const BREAK_EVERY: usize = 9;

/// The text as it goes to the page.
pub(crate) fn printable(field: &str, text: &str, purpose: Use) -> Result<String, SheetError> {
    let mut missing = String::new();
    let mut drawn = String::with_capacity(text.len());
    for c in text.chars().filter(|c| c.is_whitespace() || !is_unseen(*c)) {
        if c.is_whitespace() && !is_no_break_space(c) {
            drawn.push(' ');
        } else if fonts::can_draw(c) {
            drawn.push(c);
        } else if c.is_alphanumeric() && purpose == Use::Read {
            if !missing.contains(c) {
                missing.push(c);
            }
        } else {
            drawn.push(BOX);
        }
    }
    if !missing.is_empty() {
        return Err(SheetError::CannotBeDrawn { field: field.to_owned(), characters: missing });
    }
    let words: Vec<String> = drawn.split(' ').filter(|w| !w.is_empty()).map(breakable).collect();
    Ok(words.join(" "))
}

/// Like [`printable`], where nothing to print is an error.
pub(crate) fn needed(field: &str, text: &str, purpose: Use) -> Result<String, SheetError> {
    let text = printable(field, text, purpose)?;
    if text.is_empty() { Err(SheetError::Empty { field: field.to_owned() }) } else { Ok(text) }
}

/// The beginning of a text, for a place that has one line only.
pub(crate) fn shortened(text: &str, most: usize) -> String {
    let seen: Vec<char> = text.chars().filter(|c| !is_unseen(*c)).collect();
    if seen.len() <= most {
        seen.iter().collect()
    } else {
        seen.iter().take(most - 1).chain(&['…']).collect()
    }
}

/// A very long word with places where a line may end: with a hyphen between letters, else without.
pub(crate) fn breakable(word: &str) -> String {
    if word.chars().count() <= LONG_WORD {
        return word.to_owned();
    }
    let characters: Vec<char> = word.chars().collect();
    let mut broken = String::with_capacity(word.len() * 2);
    for (i, &c) in characters.iter().enumerate() {
        if i > 0 && i % BREAK_EVERY == 0 {
            let between_letters = characters[i - 1].is_alphabetic() && c.is_alphabetic();
            broken.push(if between_letters { '\u{ad}' } else { '\u{200b}' });
        }
        broken.push(c);
    }
    broken
}

/// Spaces that hold a number and its unit together.
fn is_no_break_space(c: char) -> bool {
    matches!(c, '\u{a0}' | '\u{202f}')
}

/// Controls, joiners, directional marks, variation selectors and tags: never drawn by themselves.
fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(text: &str) -> String {
        printable("tub_name", text, Use::Name).unwrap()
    }

    #[test]
    fn white_space_and_controls_become_single_spaces() {
        assert_eq!(name(" a\n\tb\u{7}  \u{2068}c\u{2069} "), "a b c");
    }

    #[test]
    fn a_space_that_holds_a_unit_stays() {
        assert_eq!(name("38\u{a0}°C, 2\u{202f}140"), "38\u{a0}°C, 2\u{202f}140");
    }

    #[test]
    fn what_no_font_has_is_a_box_in_a_name() {
        assert_eq!(name("Spa \u{1f6c1}\u{fe0f} \u{5d2}"), "Spa □ □");
    }

    #[test]
    fn a_caution_that_cannot_be_read_is_refused_and_named() {
        let error = printable("steps[0].cautions[1]", "חומצה: acid", Use::Read).unwrap_err();
        let SheetError::CannotBeDrawn { field, characters } = error else { panic!("{error:?}") };
        assert_eq!((field.as_str(), characters.as_str()), ("steps[0].cautions[1]", "חומצה"));
    }

    #[test]
    fn a_caution_may_carry_a_sign_that_no_font_has() {
        assert_eq!(printable("c", "\u{26a0}\u{fe0f} acid", Use::Read).unwrap(), "□ acid");
    }

    #[test]
    fn a_running_head_is_cut_and_says_so() {
        assert_eq!(shortened("Hütte am Hang", 13), "Hütte am Hang");
        assert_eq!(shortened("Hütte am Hang", 6), "Hütte…");
    }

    #[test]
    fn long_words_can_be_broken_and_others_are_left() {
        assert_eq!(name("Trichlorisocyanursäure"), "Trichlorisocyanursäure");
        let broken = name(&"x".repeat(40));
        assert_eq!(broken.matches('\u{ad}').count(), 4);
        assert_eq!(name(&"1".repeat(40)).matches('\u{200b}').count(), 4);
    }
}
