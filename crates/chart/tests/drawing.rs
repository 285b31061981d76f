//! Is the drawing what the figures say? It is read back by libraries that are not ours: the marks as XML, the picture as
//! pixels.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

use care::outlook::{Outlook, outlook};
use care::quantity::Quantity as Q;
use care::wire::case::CaseText;
use chart::{Chart, Look, Words, keys, png, svg};
use resvg::tiny_skia::Pixmap;
use roxmltree::{Document, Node};

const CASE: &str = r#"
[tub]
name = "Quay <&> \"invented\""
volume_l = 1200
temperature_c = 38
regime = "chlorine"
place = "home"

[source_water]
name = "tap (invented)"
ph = 7.6
temperature_c = 12
total_alkalinity_mg_l_caco3 = 100
calcium_hardness_mg_l_caco3 = 120

[[shelf]]
chemical = "dichlor"
name = "quick <chlorine>"
available_chlorine_percent = 56
measure = { kind = "scale", smallest = 1 }

[[shelf]]
chemical = "sodium-bisulfate"
name = "dry acid"
purity_percent = 93
measure = { kind = "scale", smallest = 1 }

[[event]]
at = 2026-03-01T08:00:00Z
kind = "fill"
[[dose]]
at = 2026-03-05T20:00:00Z
product = "quick <chlorine>"
mass_g = 6
[[dose]]
at = 2026-03-06T20:00:00Z
product = "dry acid"
mass_g = 15
[[dose]]
at = 2026-03-07T20:00:00Z
product = "quick <chlorine>"
mass_g = 6
[[reading]]
at = 2026-03-06T12:00:00Z
quantity = "ph"
method = "photometer"
value = 7.8
[[reading]]
at = 2026-03-08T12:00:00Z
quantity = "ph"
method = "photometer"
value = 7.5
[[reading]]
at = 2026-03-08T12:00:00Z
quantity = "free_chlorine"
method = "photometer"
value = 2.0
"#;

fn ahead() -> Outlook {
    let case = CaseText::parse(CASE.as_bytes(), "test").finish(None).unwrap();
    outlook(&case, 14, 1).unwrap().0
}

fn drawn(outlook: &Outlook, q: Q, look: Look) -> String {
    let fan = outlook.fans.iter().position(|f| f.quantity == q).unwrap();
    let number = |v: f64, decimals: usize| format!("{v:.decimals$}").replace('.', ",");
    let day = |hours: f64| format!("Tag {:.0}", hours / 24.0);
    let words = Words { number: &number, day: &day, now: "heute".into() };
    let chart = Chart {
        outlook,
        fan,
        description: "pH: \"7,5\" <now>".into(),
        title: "pH: Quay <&>".into(),
        below: vec!["a: quick <chlorine>".into()],
    };
    svg(&chart, &words, look)
}

/// Elements of a class.
fn of<'a>(document: &'a Document<'a>, class: &str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|n| n.attribute("class") == Some(class)).collect()
}

fn figure(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

#[test]
fn marks_lie_where_their_figures_say_left_and_right_of_now() {
    let outlook = ahead();
    let text = drawn(&outlook, Q::Ph, Look::Page);
    let page = Document::parse(&text).unwrap();
    assert_eq!(page.root_element().attribute("role"), Some("img"));
    assert_eq!(page.root_element().attribute("aria-label"), Some("pH: \"7,5\" <now>"));
    let now = figure(of(&page, "now")[0], "x1");
    let rings = of(&page, "read");
    // Both readings of pH, none of chlorine; the later one at now, higher pH higher up.
    assert_eq!(rings.len(), 2);
    let (first, last) = (rings[0], rings[1]);
    assert!(figure(first, "cx") < figure(last, "cx") && (figure(last, "cx") - now).abs() < 0.2);
    assert!(figure(first, "cy") < figure(last, "cy"), "7.8 is drawn above 7.5");
    assert_eq!(of(&page, "whisker").len(), 2);
    // The scale by the band's edges: a reading lies in proportion between them.
    let band = of(&page, "band")[0];
    let edges = outlook.fans[0].band.as_ref().unwrap();
    let (top, height) = (figure(band, "y"), figure(band, "height"));
    let y = |v: f64| top + (edges.high - v) / (edges.high - edges.low) * height;
    assert!((figure(first, "cy") - y(7.8)).abs() < 0.3 && (figure(last, "cy") - y(7.5)).abs() < 0.3);
    // Time is even: two days behind lie as far apart as two days ahead.
    let deeds = of(&page, "deed");
    assert_eq!(deeds.len(), 3);
    let day = (figure(deeds[2], "x1") - figure(deeds[0], "x1")) / 2.0;
    assert!((352.0 - now - 14.0 * day).abs() < 0.7, "{now} {day}");
    let ahead = of(&page, "middle ahead")[0].attribute("d").unwrap();
    assert!(ahead.starts_with(&format!("M{now:.1} ")), "the fan begins at now");
}

#[test]
fn words_are_the_readers_and_letters_name_what_went_in() {
    let outlook = ahead();
    let named: Vec<(char, String)> = keys(&outlook).into_iter().map(|(c, t)| (c, t.to_string())).collect();
    assert_eq!(named, [('a', "quick <chlorine>".to_owned()), ('b', "dry acid".to_owned())]);
    let text = drawn(&outlook, Q::Ph, Look::Page);
    let page = Document::parse(&text).unwrap();
    let texts: Vec<&str> = of(&page, "edge").iter().filter_map(|n| n.text()).collect();
    for word in ["a", "b", "heute", "Tag 14", "7,8"] {
        assert!(texts.contains(&word), "{word} in {texts:?}");
    }
    // No two labels of a line of figures cover each other.
    let mut at: Vec<f64> = of(&page, "edge")
        .iter()
        .filter(|n| n.attribute("text-anchor") == Some("end") && figure(**n, "x") < 60.0)
        .map(|n| figure(*n, "y"))
        .collect();
    at.sort_by(f64::total_cmp);
    assert!(at.len() >= 3 && at.windows(2).all(|w| w[1] - w[0] > 11.0), "{at:?}");
}

/// What has no band has figures at its edge too.
#[test]
fn a_quantity_without_a_band_has_figures_at_its_edge() {
    let mut outlook = ahead();
    outlook.fans[0].band = None;
    let text = drawn(&outlook, Q::Ph, Look::Page);
    let page = Document::parse(&text).unwrap();
    assert!(of(&page, "band").is_empty());
    assert!(of(&page, "rule").len() >= 2, "{text}");
}

#[test]
fn a_picture_shows_the_file() {
    let outlook = ahead();
    let text = drawn(&outlook, Q::Ph, Look::File);
    let file = Document::parse(&text).unwrap();
    assert!(file.descendants().any(|n| n.text() == Some("pH: Quay <&>")));
    let picture = Pixmap::decode_png(&png(&text, 720).unwrap()).unwrap();
    assert_eq!(picture.width(), 720);
    // Paper in the corner, the middle's blue and the letters' ink somewhere.
    let pixels = picture.pixels();
    let rgb = |p: &resvg::tiny_skia::PremultipliedColorU8| (p.red(), p.green(), p.blue());
    assert_eq!(rgb(&pixels[0]), (0xfb, 0xf9, 0xf4));
    let near = |p: &&resvg::tiny_skia::PremultipliedColorU8, to: (u8, u8, u8)| {
        let (r, g, b) = rgb(p);
        r.abs_diff(to.0) < 24 && g.abs_diff(to.1) < 24 && b.abs_diff(to.2) < 24
    };
    assert!(pixels.iter().filter(|p| near(p, (0x17, 0x50, 0x6b))).count() > 200, "the middle line");
    // The title is drawn in letters: ink within its line, left of the middle.
    let title = (10..40).flat_map(|y| (16..240).map(move |x| y * 720 + x));
    assert!(title.filter(|i| near(&&pixels[*i], (0x1b, 0x20, 0x24))).count() > 100, "the title's letters");
}

#[test]
fn what_is_no_picture_is_told() {
    assert!(png("no drawing", 100).unwrap_err().to_string().contains("no drawing"));
    let said = png("<svg xmlns=\"http://www.w3.org/2000/svg\"/>", 0).unwrap_err().to_string();
    assert!(said.contains("0 pixels") && said.contains("4096"), "{said}");
    assert_eq!(drawn(&ahead(), Q::Ph, Look::Sheet).matches("<svg").count(), 1);
}

/// Figures that are none, or no days at all, make a drawing still.
#[test]
fn strange_figures_are_drawn_without_panic() {
    let mut outlook = ahead();
    outlook.fans[0].quantiles = vec![[f64::NAN; 5]; 57];
    outlook.past.quantiles.clear();
    outlook.past.readings[0].outcome = care::method::Outcome::Above { limit: f64::INFINITY };
    let text = drawn(&outlook, Q::Ph, Look::File);
    assert!(Document::parse(&text).is_ok() && !text.contains("NaN"), "{text}");
    outlook.hours.clear();
    outlook.past.hours.clear();
    assert!(Document::parse(&drawn(&outlook, Q::Ph, Look::Page)).is_ok());
}
