//! An invented tub's sheet in English and one in German, and helpers to make worse ones.

use sheet::{Chart, Labels, Line, OwnerSheet, Step};

/// The fixed words in English.
pub(crate) fn english() -> Labels {
    Labels {
        invented: "Invented example: no such tub exists".into(),
        do_not_bathe: "Nobody in the water".into(),
        water: "The water now".into(),
        strip: "Bracket: where it should be. Dot: where it is. Bar: where it may be, 9 times in 10.".into(),
        charts: "The days ahead, if nothing is added".into(),
        charts_key: "Line: the middle of what may come. Ring: a reading. Shaded: where it should be.".into(),
        steps: "What to do, in this order".into(),
        general_cautions: "Before you start".into(),
        caution: "Caution".into(),
        wait: "Then wait".into(),
        after: "Afterwards".into(),
        next_look: "Look again".into(),
        contact: "Questions".into(),
        link: "Your page".into(),
        qr_alt: "QR code that opens the address beside it".into(),
        page_of: "{page} of {pages}".into(),
        precedence:
            "Each product's label, the local code and a licensed practitioner come before this sheet. \
                     If somebody may have been ill from the tub, close it and ask the health authority."
                .into(),
    }
}

/// One quantity, its strip drawn from `low` to `high` around its band.
pub(crate) fn line(
    name: &str,
    value_text: &str,
    band: (f64, f64),
    value: f64,
    interval: (f64, f64),
    words: &str,
) -> Line {
    let width = band.1 - band.0;
    Line {
        name: name.into(),
        value_text: value_text.into(),
        band,
        band_text: (band.0.to_string(), band.1.to_string()),
        value,
        interval,
        scale: (band.0 - 0.8 * width, band.1 + 0.8 * width),
        words: words.into(),
        strip_alt: format!("band {} to {}, probably {} to {}", band.0, band.1, interval.0, interval.1),
    }
}

/// A drawing with letters in it, as the caller would make one.
pub(crate) fn chart(name: &str, words: &str) -> Chart {
    Chart {
        name: name.into(),
        words: words.into(),
        svg: "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"720\" height=\"320\" viewBox=\"0 0 360 160\">\
              <rect x=\"54\" y=\"40\" width=\"298\" height=\"50\" fill=\"#efeade\"/>\
              <path d=\"M54 70L150 60L352 30\" fill=\"none\" stroke=\"#17506b\"/>\
              <text x=\"352\" y=\"146\" text-anchor=\"end\" font-family=\"Source Sans 3\" font-size=\"15\">3 December</text>\
              </svg>"
            .into(),
        alt: format!("{name}: now 7.5, in 14 days 7.9 (7.6 to 8.2)"),
    }
}

/// A usual sheet: six quantities, three steps, bathing closed.
pub(crate) fn hillside() -> OwnerSheet {
    OwnerSheet {
        lang: "en".into(),
        title: "Water care sheet".into(),
        tub_name: "Hillside cabin".into(),
        date_text: "26 November 2026".into(),
        invented: true,
        headline: "Add dry acid, then chlorine, in this order, and test again before anybody bathes.".into(),
        do_not_bathe: Some(
            "pH is 8.0 and free chlorine 1.0 mg/L. Keep out until a test, not the clock, shows free chlorine \
             3 to 8 mg/L and pH 7.0 to 7.8."
                .into(),
        ),
        quantities: vec![
            line("pH", "8.01", (7.2, 7.8), 8.01, (7.8, 8.22), "above its band by 0.21"),
            line("Free chlorine", "1.0 mg/L", (3.0, 8.0), 1.0, (0.6, 1.4), "below its band by 2.0"),
            line("Total alkalinity", "110 mg/L", (50.0, 120.0), 110.0, (100.0, 120.0), "inside its band"),
            line("Calcium hardness", "220 mg/L", (75.0, 250.0), 220.0, (206.0, 234.0), "inside its band"),
            line("Salt", "2050 mg/L", (2000.0, 2400.0), 2050.0, (1692.0, 2408.0), "inside, perhaps below"),
            line("Saturation index", "+0.58", (-0.3, 0.3), 0.58, (0.37, 0.79), "above its band: scale can form"),
        ],
        charts: vec![chart("pH", "leaves its band about day 4"), chart("Free chlorine", "")],
        steps: vec![
            Step {
                number: 1,
                what: "Add dry acid".into(),
                amount_text: "half a capful, level (21 g)".into(),
                how: "Dissolve it in a clean bucket of tub water first. Pour it in slowly, jets on, cover fully off."
                    .into(),
                wait_text: "30 minutes, jets on".into(),
                cautions: vec![
                    "Acid: wear goggles and gloves. Acid goes into water, never water onto acid. Never near chlorine \
                     products: they make chlorine gas together."
                        .into(),
                ],
                after_text: "pH 7.5, alkalinity 104 mg/L".into(),
            },
            Step {
                number: 2,
                what: "Add quick chlorine".into(),
                amount_text: "a quarter of a capful, level (7 g)".into(),
                how: "Sprinkle it over the moving water, jets on.".into(),
                wait_text: "20 minutes, jets on".into(),
                cautions: vec![
                    "Oxidiser: use a dry scoop, wear goggles and gloves, raise no dust. Never with another chlorine \
                     product, acid or ammonia: fire, toxic gas."
                        .into(),
                    "Leave the cover fully off for at least 20 minutes: the vapour harms cover, pillows and lungs."
                        .into(),
                ],
                after_text: "free chlorine 4.0 mg/L, pH 7.4".into(),
            },
            Step {
                number: 3,
                what: "Test pH and free chlorine".into(),
                amount_text: String::new(),
                how: "Only a test opens bathing. If a reading is not as above, ask before you add more.".into(),
                wait_text: String::new(),
                cautions: vec![],
                after_text: String::new(),
            },
        ],
        general_cautions: vec![
            "Read and follow each product's label. It and the local code come first.".into(),
            "Nobody in the water. Keep products dry, apart, and away from children; one scoop for each, never two \
             products in one bucket."
                .into(),
        ],
        next_look: "Tomorrow, Friday 27 November, at pH and free chlorine; then after 48 hours and 3 days.".into(),
        contact: Some("Your technician: telephone 555 0100 (invented)".into()),
        link: Some("https://tub.example/s/7Yk3pQx9Vd2mRb6TzC4wNa8e".into()),
        labels: english(),
    }
}

/// A short sheet with nothing to do, bathing open, decimal commas.
pub(crate) fn nothing_to_do() -> OwnerSheet {
    OwnerSheet {
        lang: "de-AT".into(),
        title: "Pflegeblatt".into(),
        tub_name: "Hütte am Hang".into(),
        date_text: "26. November 2026".into(),
        headline: "Heute ist nichts zu tun.".into(),
        do_not_bathe: None,
        quantities: vec![Line {
            band_text: ("7,2".into(), "7,8".into()),
            ..line("pH-Wert", "7,45", (7.2, 7.8), 7.45, (7.35, 7.55), "im Bereich")
        }],
        charts: vec![],
        steps: vec![],
        general_cautions: vec![],
        next_look: "In drei Tagen pH-Wert und freies Chlor messen.".into(),
        contact: None,
        link: None,
        ..hillside()
    }
}
