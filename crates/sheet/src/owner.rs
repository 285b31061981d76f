//! What stands on a sheet: plain data, worded by the caller.

/// One tub's sheet for its owner.
///
/// Everything is worded by the caller in the owner's language and units. Line breaks and runs of spaces in a text count
/// as one space. An empty optional part is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnerSheet {
    /// Language tag: `en`, `de`, `pt-BR`.
    pub lang: String,
    /// What this page is, for example "Owner's sheet".
    pub title: String,
    /// The tub's name.
    pub tub_name: String,
    /// The day it was made, in the owner's words.
    pub date_text: String,
    /// Whether the data is invented; the page then says so at the top and in every page's foot.
    pub invented: bool,
    /// The sentence that says what to do.
    pub headline: String,
    /// Why nobody may bathe, and what ends that; nothing if bathing is open.
    pub do_not_bathe: Option<String>,
    /// The water now.
    pub quantities: Vec<Line>,
    /// How it goes on, drawn; may be empty.
    pub charts: Vec<Chart>,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// What holds for every step; stands before the first.
    pub general_cautions: Vec<String>,
    /// When to look again, and at what.
    pub next_look: String,
    /// Whom to ask.
    pub contact: Option<String>,
    /// The private page of this sheet; printed, and as a QR code.
    pub link: Option<String>,
    /// The fixed words of the page.
    pub labels: Labels,
}

/// One quantity of the water: its name, its value, and a strip with band, estimate and interval.
///
/// The numbers draw the strip and are in one unit; the texts are what is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The quantity, written out: "Free chlorine".
    pub name: String,
    /// The value with its unit.
    pub value_text: String,
    /// Where the quantity should be, lower edge first.
    pub band: (f64, f64),
    /// The edges of the band as printed over the strip.
    pub band_text: (String, String),
    /// The estimate.
    pub value: f64,
    /// Where the quantity probably is, lower end first.
    pub interval: (f64, f64),
    /// The ends of the strip; what lies beyond is shown at the end with an arrow.
    pub scale: (f64, f64),
    /// Where the estimate stands, in words: "a little above its band".
    pub words: String,
    /// The strip in words, for those who hear the page: "band 7.2 to 7.6, probably 7.5 to 7.7".
    pub strip_alt: String,
}

/// A quantity in time, drawn by the caller.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The quantity, written out: "Free chlorine".
    pub name: String,
    /// What the drawing shows, in words: "leaves its band about day 4".
    pub words: String,
    /// The drawing: SVG by itself, its letters in the sheet's own sans.
    pub svg: String,
    /// The drawing in words, for those who hear the page.
    pub alt: String,
}

/// One step of what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its number on the page.
    pub number: u32,
    /// What: "Add dry acid".
    pub what: String,
    /// How much, in the owner's measures: "half a capful, level"; may be empty.
    pub amount_text: String,
    /// How it is done; may be empty.
    pub how: String,
    /// How long to wait afterwards; may be empty.
    pub wait_text: String,
    /// What can hurt, and how to be safe; stands before `how`.
    pub cautions: Vec<String>,
    /// What the water should be afterwards; may be empty.
    pub after_text: String,
}

/// The fixed words of the page, in the owner's language.
#[derive(Debug, Clone, PartialEq)]
pub struct Labels {
    /// Says that the data is invented.
    pub invented: String,
    /// Heads the reason why nobody may bathe: "Nobody in the water".
    pub do_not_bathe: String,
    /// Heads the quantities: "The water now".
    pub water: String,
    /// Explains the strip: "bracket: where it should be; dot: where it is; bar: how sure that is".
    pub strip: String,
    /// Heads the charts: "The days ahead, if nothing is added".
    pub charts: String,
    /// Explains the charts: "Line: the middle of what may come …".
    pub charts_key: String,
    /// Heads the steps: "What to do, in this order".
    pub steps: String,
    /// Heads what holds for every step: "Before you start".
    pub general_cautions: String,
    /// Stands before a step's caution: "Caution".
    pub caution: String,
    /// Stands before the wait: "Then wait".
    pub wait: String,
    /// Stands before the predicted water: "Afterwards".
    pub after: String,
    /// Heads the next look: "Look again".
    pub next_look: String,
    /// Heads whom to ask: "Questions".
    pub contact: String,
    /// Heads the private link: "Your page".
    pub link: String,
    /// The QR code in words: "QR code that opens the address beside it".
    pub qr_alt: String,
    /// The page number, where there are several: "{page} of {pages}".
    pub page_of: String,
    /// The last word, on every sheet: that label, local code and licensed practice come first.
    pub precedence: String,
}
