//! One quantity: the days behind, now, what may come.

use crate::look::Look;
use crate::scale::{Scale, decimals_of, round_figures};
use care::method::Outcome;
use care::outlook::{Fan, Outlook, PastReading};
use care::text::Text;
use std::fmt::Write as _;

const WIDTH: f64 = 360.0;
const RIGHT: f64 = 352.0;
/// Above it, in a file: the title.
const HEAD: f64 = 24.0;
/// A line below it, in a file.
const LINE: f64 = 15.0;
/// In sizes of the type: room for figures at the left, for letters above and for the days below; what lies closer than this
/// would cover each other; about how wide a letter is.
const LEFT: f64 = 3.6;
const TOP: f64 = 2.0;
const FOOT: f64 = 2.6;
const APART: f64 = 1.2;
const LETTER: f64 = 0.62;
/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;

/// The words of a chart, in the reader's language.
pub struct Words<'a> {
    /// A number with so many decimals.
    pub number: &'a dyn Fn(f64, usize) -> String,
    /// The day that lies so many hours from now.
    pub day: &'a dyn Fn(f64) -> String,
    /// "today".
    pub now: String,
}

/// Which chart.
#[derive(Debug, Clone)]
pub struct Chart<'a> {
    /// The outlook.
    pub outlook: &'a Outlook,
    /// Which of its fans.
    pub fan: usize,
    /// What it shows, in words, for who does not see it.
    pub description: String,
    /// What stands above it, in a file.
    pub title: String,
    /// Lines below it, in a file: what the fields and letters mean.
    pub below: Vec<String>,
}

/// The letters by which the ticks of a chart name what went in.
pub fn keys(outlook: &Outlook) -> Vec<(char, &Text)> {
    let mut all: Vec<&Text> = Vec::new();
    for deed in &outlook.past.deeds {
        if !all.contains(&&deed.what) {
            all.push(&deed.what);
        }
    }
    ('a'..='z').zip(all).collect()
}

/// The chart as SVG; empty if the outlook has no such fan.
pub fn svg(chart: &Chart<'_>, words: &Words<'_>, look: Look) -> String {
    let Some(fan) = chart.outlook.fans.get(chart.fan) else { return String::new() };
    let head = if look == Look::File { HEAD } else { 0.0 };
    let below = if look == Look::File { chart.below.as_slice() } else { &[] };
    let height = head + look.height() + LINE * below.len() as f64;
    let mut out = String::new();
    let size = match look {
        Look::Page => r#" class="chart""#.to_owned(),
        Look::File | Look::Sheet => {
            format!(
                r#" xmlns="http://www.w3.org/2000/svg" width="{}" height="{}""#,
                2.0 * WIDTH,
                2.0 * height
            )
        }
    };
    _ = write!(
        out,
        r#"<svg{size} viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{}">"#,
        escaped(&chart.description)
    );
    out += &look.style();
    if look == Look::File {
        _ = write!(out, r#"<rect class="paper" width="{WIDTH}" height="{height}"/>"#);
        _ = write!(out, r#"<text class="title" x="8" y="20">{}</text>"#, escaped(&chart.title));
    }
    let paper = Paper::new(chart, fan, head, look);
    paper.draw(&mut out, words);
    for (i, line) in below.iter().enumerate() {
        let y = head + look.height() + LINE * i as f64 + 4.0;
        _ = write!(out, r#"<text x="8" y="{y}">{}</text>"#, escaped(line));
    }
    out += "</svg>";
    out
}

/// A fan with its scales.
struct Paper<'a> {
    outlook: &'a Outlook,
    fan: &'a Fan,
    number: usize,
    /// Size of the type.
    size: f64,
    left: f64,
    top: f64,
    bottom: f64,
    range: (f64, f64),
    x: Scale,
    y: Scale,
}

impl<'a> Paper<'a> {
    fn new(chart: &Chart<'a>, fan: &'a Fan, head: f64, look: Look) -> Paper<'a> {
        let (outlook, number, size) = (chart.outlook, chart.fan, look.type_size());
        let (left, top, bottom) = (LEFT * size, head + TOP * size, head + look.height() - FOOT * size);
        let begin = outlook.past.hours.first().copied().unwrap_or(0.0).min(0.0);
        let end = outlook.hours.last().copied().unwrap_or(1.0);
        let range = range(outlook, fan, number);
        let (x, y) = (Scale::new((begin, end), (left, RIGHT)), Scale::new(range, (bottom, top)));
        Paper { outlook, fan, number, size, left, top, bottom, range, x, y }
    }

    fn past(&self) -> &'a [[f64; 3]] {
        self.outlook.past.quantiles.get(self.number).map_or(&[], Vec::as_slice)
    }

    fn readings(&self) -> impl Iterator<Item = &'a PastReading> {
        self.outlook.past.readings.iter().filter(|r| r.quantity == self.fan.quantity)
    }

    fn draw(&self, out: &mut String, words: &Words<'_>) {
        if let Some(band) = &self.fan.band {
            let (low, high) = (self.y.place(band.low), self.y.place(band.high));
            _ = write!(
                out,
                r#"<rect class="band" x="{}" width="{}" y="{high:.1}" height="{:.1}"/>"#,
                self.left,
                RIGHT - self.left,
                low - high
            );
        }
        self.figures(out, words);
        self.deeds(out);
        self.fields(out);
        self.axis(out, words);
        for reading in self.readings() {
            self.reading(out, reading);
        }
    }

    /// Figures at the edge: those of the band, and round ones where there is room.
    fn figures(&self, out: &mut String, words: &Words<'_>) {
        let left = self.left;
        let mut placed: Vec<f64> = Vec::new();
        let edges = self.fan.band.as_ref().map_or(Vec::new(), |b| vec![b.low, b.high]);
        let (round, round_decimals) = round_figures(self.range, 4.0);
        // As many decimals as the figures need, and the same for all.
        let needed = edges.iter().map(|v| decimals_of(*v, self.fan.quantity.decimals()));
        let decimals = needed.chain([round_decimals]).max().unwrap_or(0);
        let all = edges.iter().map(|v| (*v, true)).chain(round.iter().map(|v| (*v, false)));
        for (value, edge) in all {
            let y = self.y.place(value);
            if placed.iter().any(|p| (p - y).abs() < APART * self.size) || !value.is_finite() {
                continue;
            }
            placed.push(y);
            if !edge {
                _ = write!(out, r#"<line class="rule" x1="{left}" x2="{RIGHT}" y1="{y:.1}" y2="{y:.1}"/>"#);
            }
            label(out, left - 4.0, y + 0.36 * self.size, "end", &(words.number)(value, decimals));
        }
    }

    /// What was put in, each with its letter where there is room for it.
    fn deeds(&self, out: &mut String) {
        let keys = keys(self.outlook);
        // What went in at about the same time shares a place: its letters stand side by side.
        let mut groups: Vec<(f64, String)> = Vec::new();
        for deed in &self.outlook.past.deeds {
            let x = self.x.place(deed.hours);
            let (from, to) = (self.top - 0.55 * self.size, self.bottom);
            _ = write!(out, r#"<line class="deed" x1="{x:.1}" x2="{x:.1}" y1="{from:.1}" y2="{to:.1}"/>"#);
            let Some((letter, _)) = keys.iter().find(|(_, what)| **what == deed.what) else { continue };
            match groups.last_mut() {
                Some((begin, letters)) if x - *begin < 0.9 * self.size => {
                    if !letters.contains(*letter) {
                        letters.push(*letter);
                    }
                }
                _ => groups.push((x, letter.to_string())),
            }
        }
        for (x, letters) in groups {
            label(out, x, self.top - 0.8 * self.size, "middle", &letters);
        }
    }

    /// Where it was and where it may be.
    fn fields(&self, out: &mut String) {
        let (was, hours) = (self.past(), &self.outlook.past.hours);
        let back: Vec<(f64, &[f64; 3])> = hours.iter().map(|h| self.x.place(*h)).zip(was).collect();
        let ahead: Vec<(f64, &[f64; 5])> =
            self.outlook.hours.iter().map(|h| self.x.place(*h)).zip(&self.fan.quantiles).collect();
        let points = |all: &[(f64, f64)]| {
            let each = all.iter().map(|(x, v)| format!("{x:.1} {:.1}", self.y.place(*v)));
            each.collect::<Vec<_>>().join("L")
        };
        let mut field = |class: &str, upper: Vec<(f64, f64)>, lower: Vec<(f64, f64)>| {
            let outline: Vec<(f64, f64)> = upper.into_iter().chain(lower.into_iter().rev()).collect();
            if outline.len() > 2 {
                _ = write!(out, r#"<path class="{class}" d="M{}Z"/>"#, points(&outline));
            }
        };
        let column = |i: usize| back.iter().map(|(x, q)| (*x, q[i])).collect::<Vec<_>>();
        field("most", column(2), column(0));
        let share = |i: usize| ahead.iter().map(|(x, q)| (*x, q[i])).collect::<Vec<_>>();
        field("most", share(4), share(0));
        field("half", share(3), share(1));
        for (class, line) in [("middle", column(1)), ("middle ahead", share(2))] {
            if line.len() > 1 {
                _ = write!(out, r#"<path class="{class}" d="M{}"/>"#, points(&line));
            }
        }
    }

    /// The days, and the line at now.
    fn axis(&self, out: &mut String, words: &Words<'_>) {
        let (left, bottom) = (self.left, self.bottom);
        _ = write!(out, r#"<line class="axis" x1="{left}" x2="{RIGHT}" y1="{bottom}" y2="{bottom}"/>"#);
        let begin = self.outlook.past.hours.first().copied().unwrap_or(0.0);
        let end = self.outlook.hours.last().copied().unwrap_or(0.0);
        let now = self.x.place(0.0);
        _ = write!(
            out,
            r#"<line class="now" x1="{now:.1}" x2="{now:.1}" y1="{:.1}" y2="{:.1}"/>"#,
            self.top - 0.55 * self.size,
            bottom + 4.0
        );
        // Now first, then the ends, then what has room between them.
        let marks = [
            (0.0, words.now.clone(), "middle"),
            (end, (words.day)(end), "end"),
            (begin, (words.day)(begin), "start"),
            (0.5 * end, (words.day)(0.5 * end), "middle"),
        ];
        let mut taken: Vec<(f64, f64)> = Vec::new();
        for (hours, said, anchor) in marks {
            let (x, width) = (self.x.place(hours), LETTER * self.size * said.chars().count() as f64);
            let from = match anchor {
                "start" => x,
                "end" => x - width,
                _ => x - 0.5 * width,
            };
            let span = (from - 4.0, from + width + 4.0);
            if taken.iter().any(|(a, b)| span.0 < *b && *a < span.1) {
                continue;
            }
            taken.push(span);
            _ = write!(
                out,
                r#"<line class="axis" x1="{x:.1}" x2="{x:.1}" y1="{bottom}" y2="{}"/>"#,
                bottom + 4.0
            );
            label(out, x, bottom + 1.55 * self.size, anchor, &said);
        }
    }

    fn reading(&self, out: &mut String, reading: &PastReading) {
        let x = self.x.place(reading.hours);
        match reading.outcome {
            Outcome::Value { value, standard_error } => {
                let y = |v: f64| self.y.place(v);
                let (low, high) = (y(value - Z_90 * standard_error), y(value + Z_90 * standard_error));
                _ = write!(
                    out,
                    r#"<line class="whisker" x1="{x:.1}" x2="{x:.1}" y1="{low:.1}" y2="{high:.1}"/>"#
                );
                _ = write!(out, r#"<circle class="read" cx="{x:.1}" cy="{:.1}" r="3"/>"#, y(value));
            }
            // A limit points to where the truth is.
            Outcome::Below { limit } => {
                let y = self.y.place(limit);
                _ = write!(out, r#"<path class="limit" d="M{x:.1} {y:.1}m-4 0h8m-4 0v9m-3 -3l3 3l3 -3"/>"#);
            }
            Outcome::Above { limit } => {
                let y = self.y.place(limit);
                _ = write!(out, r#"<path class="limit" d="M{x:.1} {y:.1}m-4 0h8m-4 0v-9m-3 3l3 -3l3 3"/>"#);
            }
            Outcome::Void => {}
        }
    }
}

/// Lowest and highest figure that has to be on the paper: band, fan, what was and what was read; a reading's interval may
/// reach beyond.
fn range(outlook: &Outlook, fan: &Fan, number: usize) -> (f64, f64) {
    let mut all: Vec<f64> = fan.band.as_ref().map_or(Vec::new(), |b| vec![b.low, b.high]);
    all.extend(fan.quantiles.iter().flat_map(|q| [q[0], q[4]]));
    all.extend(outlook.past.quantiles.get(number).into_iter().flatten().flat_map(|q| [q[0], q[2]]));
    all.extend(
        outlook
            .past
            .readings
            .iter()
            .filter(|r| r.quantity == fan.quantity)
            .filter_map(|r| r.outcome.figure()),
    );
    all.retain(|v| v.is_finite());
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low > high {
        return (0.0, 1.0);
    }
    // At least some steps of the last decimal high, and no lower than nothing where there is no less.
    let high = high.max(low + 4.0 * 10f64.powi(-(fan.quantity.decimals() as i32)));
    let margin = 0.06 * (high - low);
    (if low >= 0.0 { (low - margin).max(0.0) } else { low - margin }, high + margin)
}

fn label(out: &mut String, x: f64, y: f64, anchor: &str, said: &str) {
    _ = write!(
        out,
        r#"<text class="edge" x="{x:.1}" y="{y:.1}" text-anchor="{anchor}">{}</text>"#,
        escaped(said)
    );
}

/// As text of XML; what XML knows no way to write is left out.
fn escaped(text: &str) -> String {
    let mut all = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => all += "&amp;",
            '<' => all += "&lt;",
            '>' => all += "&gt;",
            '"' => all += "&quot;",
            c if c.is_control() => all.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c => all.push(c),
        }
    }
    all
}
