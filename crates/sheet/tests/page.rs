//! Is the printed sheet what it should be: paper, text, print size, code, structure?
//!
//! The PDFs are read back by programs that are not ours. Debian packages needed: poppler-utils (pdfinfo, pdftotext,
//! pdftohtml, pdftoppm), zbar-tools (zbarimg). Without them these tests fail.

use crate::common;

use common::sample::{hillside, nothing_to_do};
use common::{print, squeeze};
use sheet::{OwnerSheet, Paper};

/// Both papers in both prints.
const ALL: [(&str, Paper, bool); 4] = [
    ("a4", Paper::A4, false),
    ("letter", Paper::Letter, false),
    ("a4-large", Paper::A4, true),
    ("letter-large", Paper::Letter, true),
];

/// Every text that a person must find on the paper.
fn texts(s: &OwnerSheet) -> Vec<String> {
    let mut all = vec![
        s.title.clone(),
        s.tub_name.clone(),
        s.date_text.clone(),
        s.headline.clone(),
        s.next_look.clone(),
    ];
    all.extend(s.do_not_bathe.clone());
    for q in &s.quantities {
        all.extend([
            q.name.clone(),
            q.value_text.clone(),
            q.words.clone(),
            q.band_text.0.clone(),
            q.band_text.1.clone(),
        ]);
    }
    for step in &s.steps {
        all.extend([step.number.to_string(), step.what.clone(), step.amount_text.clone(), step.how.clone()]);
        all.extend([step.wait_text.clone(), step.after_text.clone()]);
        all.extend(step.cautions.clone());
    }
    for chart in &s.charts {
        // Its own letters are text as well.
        all.extend([chart.name.clone(), chart.words.clone(), "3 December".into()]);
    }
    all.extend(s.general_cautions.clone());
    all.extend(s.contact.clone());
    all.push(s.labels.precedence.clone());
    all.iter().map(|t| squeeze(t)).filter(|t| !t.is_empty()).collect()
}

#[test]
fn every_text_is_on_the_paper_in_both_papers_and_prints() {
    for (name, paper, large) in ALL {
        for (kind, sheet) in [("hillside", hillside()), ("nothing", nothing_to_do())] {
            let text = print(&format!("texts-{kind}-{name}"), &sheet, paper, large).text();
            let missing: Vec<_> = texts(&sheet).into_iter().filter(|t| !text.contains(t.as_str())).collect();
            assert!(missing.is_empty(), "{kind} {name} lacks {missing:#?} in:\n{text}");
        }
    }
}

#[test]
fn the_warning_and_the_rules_come_before_the_steps_and_a_caution_before_its_how() {
    let s = hillside();
    let text = print("order", &s, Paper::A4, false).text();
    let order = [
        &s.headline,
        s.do_not_bathe.as_ref().unwrap(),
        &s.general_cautions[0],
        &s.steps[0].what,
        &s.steps[0].amount_text,
        &s.steps[0].cautions[0],
        &s.steps[0].how,
        &s.steps[1].cautions[0],
        &s.steps[1].cautions[1],
        &s.steps[1].how,
        &s.next_look,
        &s.labels.precedence,
    ];
    let places: Vec<usize> =
        order.iter().map(|t| text.rfind(&squeeze(t)).unwrap_or_else(|| panic!("{t}"))).collect();
    assert!(places.is_sorted(), "{places:?} in {text}");
}

/// ISO 216: A4 is 210 × 297 mm; US Letter is 8.5 × 11 in; a point is 1/72 in.
#[test]
fn the_paper_is_exact() {
    for (name, paper, large) in ALL {
        let size = print(&format!("paper-{name}"), &nothing_to_do(), paper, large).info("Page size");
        let numbers: Vec<f64> = size.split(' ').filter_map(|w| w.parse().ok()).collect();
        let (width, height) = match paper {
            Paper::A4 => (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0),
            Paper::Letter => (612.0, 792.0),
        };
        // The reader prints three decimals at most.
        assert!((numbers[0] - width).abs() < 0.01 && (numbers[1] - height).abs() < 0.01, "{name}: {size}");
    }
}

/// 18 points is the size at which the guides of libraries for the blind begin to speak of large print (from memory).
#[test]
fn large_print_has_nothing_below_18_points() {
    for (name, paper, large) in ALL {
        let sizes = print(&format!("size-{name}"), &hillside(), paper, large).font_sizes();
        let least = sizes.iter().min().unwrap();
        assert!(*least >= if large { 18 } else { 9 }, "{name}: {sizes:?}");
        assert!(large || sizes.contains(&11), "{name}: {sizes:?}");
    }
}

#[test]
fn the_code_opens_the_private_link() {
    let mut s = hillside();
    for (name, paper, large) in ALL {
        assert_eq!(
            print(&format!("code-{name}"), &s, paper, large).scanned(),
            *s.link.as_ref().unwrap(),
            "{name}"
        );
    }
    s.link = Some(format!("https://tub.example/{}", "a-long-path/".repeat(23)));
    assert_eq!(print("code-long", &s, Paper::A4, false).scanned(), s.link.unwrap());
}

#[test]
fn a_screen_reader_finds_title_language_headings_and_the_strips_in_words() {
    let s = hillside();
    let page = print("tagged", &s, Paper::A4, false);
    assert_eq!(page.info("Tagged"), "yes");
    assert_eq!(page.info("Title"), "Hillside cabin · Water care sheet");
    let metadata = page.metadata();
    assert!(metadata.contains("pdfuaid:part>1<"), "{metadata}");
    assert!(metadata.contains("<rdf:li>en</rdf:li>"), "{metadata}");
    let structure = page.structure();
    for part in ["H1", "H2", "H3", "Figure"] {
        assert!(structure.contains(part), "no {part} in {structure}");
    }
    assert!(structure.contains("Hillside cabin"), "{structure}");
    for alt in s.quantities.iter().map(|q| &q.strip_alt).chain([&s.labels.qr_alt]) {
        assert!(page.has_bytes(&format!("/Alt({alt})")), "no {alt:?}");
    }
    assert!(page.has_bytes("/Lang(en)"));
    let german = print("tagged-german", &nothing_to_do(), Paper::A4, false).metadata();
    assert!(german.contains("<rdf:li>de-AT</rdf:li>"), "{german}");
}

#[test]
fn the_same_sheet_is_the_same_file_whatever_was_printed_between() {
    let (a, b) = (hillside(), nothing_to_do());
    let first = sheet::pdf(&a, Paper::A4, false).unwrap();
    let between = sheet::pdf(&b, Paper::Letter, true).unwrap();
    assert_ne!(first, between);
    assert_eq!(first, sheet::pdf(&a, Paper::A4, false).unwrap());
    let other_thread = std::thread::spawn(move || sheet::pdf(&a, Paper::A4, false).unwrap());
    assert_eq!(first, other_thread.join().unwrap());
}

#[test]
fn no_date_and_no_maker_is_written_that_was_not_asked_for() {
    let page = print("quiet", &hillside(), Paper::A4, false);
    let metadata = page.metadata();
    for unasked in ["CreateDate", "ModifyDate", "CreatorTool"] {
        assert!(!metadata.contains(unasked), "{unasked} in {metadata}");
    }
}

#[test]
fn invented_data_is_marked_on_every_page_and_real_data_nowhere() {
    let mut s = hillside();
    let page = print("invented", &s, Paper::A4, true);
    assert!(page.pages() > 1);
    for n in 1..=page.pages() {
        assert!(page.text_of_page(n).contains(&s.labels.invented), "page {n}");
    }
    s.invented = false;
    assert!(!print("real", &s, Paper::A4, true).text().contains(&s.labels.invented));
}
