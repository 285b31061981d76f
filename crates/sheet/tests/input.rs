//! What becomes of odd, hostile and wrong input?
//!
//! Debian package needed: poppler-utils. Without it these tests fail.

use crate::common;

use common::print;
use common::sample::hillside;
use sheet::{OwnerSheet, Paper, SheetError, pdf};

/// Changes one thing of the usual sheet and tells why it is refused.
fn refusal(change: impl FnOnce(&mut OwnerSheet)) -> SheetError {
    let mut s = hillside();
    change(&mut s);
    pdf(&s, Paper::A4, false).expect_err("a refusal")
}

#[test]
fn typed_text_is_never_taken_for_markup() {
    let hostile = [
        "#evil[boo] #panic(\"x\") #read(\"/etc/hostname\")",
        "*stars* _bars_ $x^2$ `code` <label> @reference",
        "= heading - item + item / term: text",
        "// comment /* comment */ \\ backslash ~tilde",
        "quote \" and ] and } and ) and ' and 'apostrophe'",
        "{page} of {pages} -- --- ... %s \\u{41}",
    ];
    for (i, text) in hostile.into_iter().enumerate() {
        let mut s = hillside();
        s.title = text.into();
        s.tub_name = text.into();
        s.headline = text.into();
        s.do_not_bathe = Some(text.into());
        s.quantities[0].name = text.into();
        s.quantities[0].words = text.into();
        s.quantities[0].strip_alt = text.into();
        s.steps[0].how = text.into();
        s.steps[0].cautions[0] = text.into();
        s.contact = Some(text.into());
        s.labels.water = text.into();
        let printed = print(&format!("markup-{i}"), &s, Paper::A4, false);
        // Without spaces, since a line may end anywhere. Ten places, and the running head where it fits.
        let close = |t: &str| t.replace(char::is_whitespace, "");
        let seen = close(&printed.text()).matches(&close(text)).count();
        let heads = if text.chars().count() <= 44 { printed.pages() - 1 } else { 0 };
        assert_eq!(seen, 10 + heads, "{text} in {}", printed.text());
        assert!(printed.structure().contains(text));
    }
}

#[test]
fn names_in_other_scripts_and_pictures_are_boxes_and_the_rest_stands() {
    let mut s = hillside();
    s.tub_name = "גקוזי Spa \u{1f6c1}\u{1f468}\u{200d}\u{1f469}\u{fe0f} 水".into();
    s.contact = Some("اتصل 555".into());
    s.steps[0].cautions[0] = "\u{26a0}\u{fe0f} Acid burns.".into();
    let text = print("scripts", &s, Paper::A4, false).text();
    for part in ["□□□□□ Spa □□□ □", "□□□□ 555", "□ Acid burns."] {
        assert!(text.contains(part), "no {part:?} in {text}");
    }
}

#[test]
fn accents_typed_in_two_parts_and_other_alphabets_are_drawn() {
    let mut s = hillside();
    s.tub_name = "Kübel Ελλάδα Баня Łódź cafe\u{301}".into();
    let text = print("accents", &s, Paper::A4, false).text();
    assert!(text.contains("Kübel Ελλάδα Баня Łódź caf"), "{text}");
    assert!(!text.contains('□'), "{text}");
}

#[test]
fn right_to_left_languages_do_not_upset_the_page() {
    let mut s = hillside();
    s.lang = "he".into();
    let text = print("right-to-left", &s, Paper::A4, false).text();
    assert!(text.contains("Hillside cabin"), "{text}");
}

#[test]
fn a_caution_that_could_not_be_read_is_refused() {
    let error = refusal(|s| s.steps[1].cautions[0] = "חומצה".into());
    let told = error.to_string();
    assert!(told.contains("steps[1].cautions[0]") && told.contains("חומצה"), "{told}");
}

#[test]
fn numbers_that_cannot_be_drawn_are_refused_with_their_place() {
    let told = refusal(|s| s.quantities[2].band = (7.8, 7.2)).to_string();
    assert_eq!(told, "quantities[2].band is 7.8 to 7.2; two finite numbers are needed, the lower first");
    let told = refusal(|s| s.quantities[0].value = f64::NAN).to_string();
    assert_eq!(told, "quantities[0].value is NaN; a finite number is needed");
    assert!(matches!(refusal(|s| s.quantities[0].interval.1 = f64::INFINITY), SheetError::Range { .. }));
    assert!(matches!(refusal(|s| s.quantities[0].scale = (1.0, 1.0)), SheetError::Range { .. }));
}

#[test]
fn numbers_far_off_the_strip_are_drawn_at_its_end() {
    let mut s = hillside();
    s.quantities[0].value = 1e300;
    s.quantities[0].interval = (-f64::MAX, f64::MAX);
    s.quantities[1].band = (-f64::MAX, f64::MAX);
    s.quantities[2].scale = (-f64::MAX, f64::MAX);
    s.quantities[3].scale = (0.0, f64::MIN_POSITIVE);
    s.quantities[4].band = (2000.0, 2000.0);
    assert!(pdf(&s, Paper::A4, false).is_ok());
}

#[test]
fn missing_texts_are_named() {
    assert_eq!(
        refusal(|s| s.headline = " \n ".into()).to_string(),
        "headline is empty; the sheet needs a text there"
    );
    assert_eq!(
        refusal(|s| s.steps[0].cautions.push("".into())),
        SheetError::Empty { field: "steps[0].cautions[1]".into() }
    );
    assert_eq!(refusal(|s| s.labels.caution.clear()), SheetError::Empty { field: "labels.caution".into() });
    assert_eq!(
        refusal(|s| s.do_not_bathe = Some("".into())),
        SheetError::Empty { field: "do_not_bathe".into() }
    );
}

#[test]
fn language_tags_are_checked() {
    for bad in ["", "e", "english", "en-", "en-USA", "en-US-x", "e1", "de CH"] {
        let error = refusal(|s| s.lang = bad.into());
        assert_eq!(error, SheetError::Language { value: bad.into() });
    }
}

#[test]
fn only_web_addresses_become_links() {
    for bad in ["javascript:alert(1)", "file:///etc/passwd", "https://", "", "https://tub.example/a b"] {
        assert!(matches!(refusal(|s| s.link = Some(bad.into())), SheetError::Link { .. }), "{bad}");
    }
}

#[test]
fn an_empty_sheet_still_says_what_it_must() {
    let mut s = hillside();
    s.quantities.clear();
    s.steps.clear();
    s.general_cautions.clear();
    s.do_not_bathe = None;
    s.contact = None;
    s.link = None;
    let printed = print("empty", &s, Paper::Letter, false);
    assert_eq!(printed.pages(), 1);
    for heading in [&s.labels.water, &s.labels.steps, &s.labels.contact, &s.labels.link] {
        assert!(!printed.text().contains(heading.as_str()), "{heading} heads nothing");
    }
    assert!(printed.text().contains(&s.labels.precedence));
}
