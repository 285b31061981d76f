//! Where does the sheet break, and can anything run off the paper?
//!
//! Debian package needed: poppler-utils. Without it these tests fail.

use crate::common;

use common::sample::{hillside, line, nothing_to_do};
use common::{Printed, print, squeeze};
use sheet::{OwnerSheet, Paper, Step};

/// The last page with this text; the first may name a step in its headline.
fn page_with(printed: &Printed, text: &str) -> Option<usize> {
    (1..=printed.pages()).rev().find(|n| printed.text_of_page(*n).contains(&squeeze(text)))
}

/// The tub's sheet with `count` quantities, so that its steps begin lower and lower.
fn pushed_down(count: usize) -> OwnerSheet {
    let mut s = hillside();
    s.quantities = (0..count)
        .map(|i| line(&format!("Quantity {i}"), "1 mg/L", (0.0, 2.0), 1.0, (0.5, 1.5), "inside its band"))
        .collect();
    s
}

#[test]
fn a_step_and_its_cautions_are_never_torn_apart() {
    let mut broken_between_steps = 0;
    for (paper, large, counts) in [(Paper::A4, false, 0..12), (Paper::Letter, true, 1..5)] {
        for count in counts {
            let s = pushed_down(count);
            let printed = print(&format!("torn-{large}-{count}"), &s, paper, large);
            let mut pages = Vec::new();
            for step in &s.steps {
                let page = page_with(&printed, &step.what).unwrap();
                let mut parts = vec![&step.amount_text, &step.how, &step.wait_text, &step.after_text];
                parts.extend(&step.cautions);
                for part in parts {
                    let there = printed.text_of_page(page).contains(&squeeze(part));
                    assert!(
                        there,
                        "{count} quantities, large {large}: {part:?} is not on page {page} with its step"
                    );
                }
                pages.push(page);
            }
            broken_between_steps += usize::from(pages[0] != pages[2]);
        }
    }
    assert!(broken_between_steps > 2, "the pages never broke near a step: nothing was tested");
}

#[test]
fn pages_are_numbered_when_there_are_several_and_only_then() {
    let one = print("one-page", &nothing_to_do(), Paper::A4, false);
    assert_eq!(one.pages(), 1);
    assert!(!one.text().contains("1 of 1"), "{}", one.text());

    let several = print("several-pages", &pushed_down(30), Paper::Letter, true);
    let count = several.pages();
    assert!(count > 3);
    for n in 1..=count {
        let text = several.text_of_page(n);
        assert!(text.contains(&format!("{n} of {count}")), "{text}");
        assert!(
            text.contains("Hillside cabin") && text.contains("26 November 2026"),
            "page {n} alone: {text}"
        );
    }
}

/// A step too long for any page may break; what must not happen is that its end is lost.
#[test]
fn a_step_longer_than_a_page_loses_nothing() {
    let caution =
        |i: usize| format!("Caution number {i}: acid goes into water, never water onto acid, at any time.");
    let mut s = hillside();
    s.steps = vec![Step {
        cautions: (0..90).map(caution).collect(),
        how: (0..400).map(|i| format!("w{i}")).collect::<Vec<_>>().join(" "),
        ..s.steps[0].clone()
    }];
    for (name, paper, large) in [("long", Paper::A4, false), ("long-large", Paper::Letter, true)] {
        let printed = print(name, &s, paper, large);
        let text = printed.text();
        for i in 0..90 {
            assert!(text.contains(&format!("Caution number {i}:")), "{name}: caution {i} is lost");
        }
        for i in 0..400 {
            assert!(text.contains(&format!("w{i} ")), "{name}: word {i} is lost");
        }
        inside_the_paper(&printed, paper);
    }
}

fn inside_the_paper(printed: &Printed, paper: Paper) {
    let (width, height) = if paper == Paper::A4 { (595.28, 841.89) } else { (612.0, 792.0) };
    // Half an inch: what home printers can be trusted to reach.
    let edge = 36.0;
    let words = printed.words();
    assert!(words.len() > 20);
    for (page, w) in words {
        let inside = w.left >= edge
            && w.right <= width - edge
            && w.top >= edge * 0.6
            && w.bottom <= height - edge * 0.6;
        assert!(inside, "page {page}: {w:?}");
    }
}

#[test]
fn very_long_words_break_and_stay_on_the_paper() {
    let word = "Natriumdichlorisocyanuratdihydratgranulatbehälterverschlusskappe".repeat(2);
    let mut s = hillside();
    s.tub_name = word.clone();
    s.headline = word.clone();
    s.do_not_bathe = Some(word.clone());
    s.date_text = "2026".repeat(20);
    s.next_look = word.clone();
    s.contact = Some("0".repeat(120));
    s.link = Some(format!("https://tub.example/{}", "x".repeat(250)));
    s.quantities[0].name = word.clone();
    s.quantities[0].words = word.clone();
    s.quantities[0].value_text = "9".repeat(60);
    s.steps[0].what = word.clone();
    s.steps[0].amount_text = word.clone();
    s.steps[0].cautions[0] = word.clone();
    s.general_cautions[0] = word;
    for (name, paper, large) in [("words", Paper::A4, false), ("words-large", Paper::Letter, true)] {
        inside_the_paper(&print(name, &s, paper, large), paper);
    }
}

#[test]
fn the_usual_sheet_stays_on_the_paper() {
    for (name, paper, large) in [("usual", Paper::A4, false), ("usual-large", Paper::Letter, true)] {
        inside_the_paper(&print(name, &hillside(), paper, large), paper);
    }
}
