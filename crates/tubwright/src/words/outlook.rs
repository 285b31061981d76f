//! An outlook as a page for people: when to look again, each quantity's course, what a week takes, what was learnt.

use super::Page;
use super::page::padded;
use care::amount::Units;
use care::case::Case;
use care::learn::Learned;
use care::outlook::{Fan, Leaves, NextLook, Outlook, STEP_H};
use care::quantity::Quantity;
use care::wire::outlook::named;

/// What the page says beside the outlook itself.
pub(crate) struct Told<'a> {
    /// The case.
    pub(crate) case: &'a Case,
    /// Days ahead.
    pub(crate) days: u32,
    /// A made-up case: said in the title, so that nobody doses by it.
    pub(crate) invented: bool,
}

/// Columns and rows of a chart.
const COLUMNS: usize = 57;
const ROWS: usize = 9;
/// Those that get a chart; the rest a line.
const DRAWN: [Quantity; 2] = [Quantity::Ph, Quantity::FreeChlorine];

/// The page.
pub(crate) fn page(outlook: &Outlook, learned: &Learned, told: &Told<'_>, mut page: Page) -> String {
    let units = told.case.units;
    let invented = if told.invented { " (invented example)" } else { "" };
    page.title(&format!("{}{invented}: the next {} days if nothing is dosed", told.case.tub.name, told.days));
    page.gap();
    page.paragraph(&look(outlook));

    page.heading("What the water will do (in brackets where it is 9 times in 10)");
    for fan in &outlook.fans {
        page.hanging("  ", "      ", &line(fan, units));
    }
    for fan in outlook.fans.iter().filter(|f| DRAWN.contains(&f.quantity)) {
        page.gap();
        chart(fan, units, &mut page);
    }

    if !outlook.needs.is_empty() {
        page.heading("What a week takes to stay inside the aims");
        for need in &outlook.needs {
            let [low, middle, high] = need.grams.map(|g| units.mass(g));
            page.hanging(
                "  ",
                "      ",
                &format!("{}: {middle} ({low} to {high}), that is {}", need.name, need.measure_text),
            );
        }
        page.hanging("  ! ", "    ", "This is an amount to have at hand, not a dose: test, and make a plan (`tubwright plan`), before anything is added. The product's label, local rules and licensed practice come first.");
    }
    if !outlook.checks.is_empty() {
        page.heading("What does not fit");
        for check in &outlook.checks {
            page.hanging("  - ", "    ", &format!("{} {}", check.what, check.advice));
        }
    }
    page.heading("What this tub has taught (in brackets 9 times in 10; then what tubs are like in general)");
    let products: Vec<&str> = told.case.shelf.iter().map(|p| p.name.as_str()).collect();
    for t in &outlook.learned {
        let (_, what) = named(&t.name, learned, &products);
        let figure = |v: f64| significant(v);
        let [low, middle, high] = t.now.map(figure);
        let [from, _, to] = t.prior.map(figure);
        page.hanging("  ", "      ", &format!("{what}: {middle} ({low} to {high}); {from} to {to}"));
    }
    page.heading("What this assumes");
    for assumption in &outlook.assumptions {
        page.hanging("  - ", "    ", assumption);
    }
    page.finish()
}

/// A worth that is worth a word, visits.
const WORTH_SAYING: f64 = 0.05;

/// What to measure, with what it is worth; the unit is said once.
fn measured(look: &NextLook) -> Vec<String> {
    let mut unit_said = false;
    let each = look.measure.iter().zip(&look.worth);
    each.map(|(q, worth)| {
        if *worth < WORTH_SAYING {
            return q.name().to_owned();
        }
        let said =
            if unit_said { format!("({worth:.1})") } else { format!("(worth about {worth:.1} visits)") };
        unit_said = true;
        format!("{} {said}", q.name())
    })
    .collect()
}

fn look(outlook: &Outlook) -> String {
    let measure = measured(&outlook.look);
    let hours = outlook.look.after_h;
    let when = if hours < 36.0 { format!("{hours:.0} hours") } else { format!("{:.1} days", hours / 24.0) };
    let why = outlook.look.because.map_or(String::new(), |q| {
        format!(
            " By then {} is outside its band with a chance of {:.0} %.",
            q.name(),
            100.0 * outlook.look.chance
        )
    });
    if hours <= 0.0 {
        return format!(
            "Make a plan now (tubwright plan): {} is outside its band with a chance of {:.0} %. Measure {}.",
            outlook.look.because.map_or("the water", |q| q.name()),
            100.0 * outlook.look.chance,
            measure.join(", ")
        );
    }
    format!("Look again in {when}, and measure {}.{why}", measure.join(", "))
}

/// Three figures that count.
fn significant(v: f64) -> String {
    let decimals = match v.abs() {
        a if a >= 100.0 => 0,
        a if a >= 10.0 => 1,
        a if a >= 0.995 || a == 0.0 => 2,
        _ => 3,
    };
    format!("{v:.decimals$}")
}

fn line(fan: &Fan, units: Units) -> String {
    let at = |row: &[f64; 5]| {
        let n = |v: f64| units.number(fan.quantity, v);
        format!("{} ({} to {})", n(row[2]), n(row[0]), n(row[4]))
    };
    let (Some(first), Some(last)) = (fan.quantiles.first(), fan.quantiles.last()) else {
        return String::new();
    };
    let name = padded(fan.quantity.name(), 18);
    let band = match (&fan.band, &fan.leaves) {
        (Some(_), Some(leaves)) => format!("; {}", when(leaves)),
        _ => String::new(),
    };
    format!("{name} now {}, at the end {}{band}", at(first), at(last))
}

/// When it leaves its band, in words.
fn when(leaves: &Leaves) -> String {
    let last = leaves.by_day.last().copied().unwrap_or(0.0);
    let edge = if leaves.below >= 0.5 { "below" } else { "above" };
    match leaves.median_day {
        _ if leaves.outside_now > 0.5 => "outside its band now".to_owned(),
        Some(day) if day < 1.0 => format!("leaves its band ({edge}) today"),
        Some(day) => format!("leaves its band ({edge}) about day {day:.0}"),
        None if last >= 0.05 => format!("leaves its band ({edge}) with a chance of {:.0} %", 100.0 * last),
        None => "stays inside its band".to_owned(),
    }
}

/// A fan in text: the middle half as blocks, nine in ten as shade, the band's edges as dashes.
fn chart(fan: &Fan, units: Units, page: &mut Page) {
    let values = || fan.quantiles.iter().flat_map(|q| [q[0], q[4]]);
    let edges = fan.band.as_ref().map(|b| (b.low, b.high));
    let (mut low, mut high) = edges.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
    (low, high) = values().fold((low, high), |(l, h), v| (l.min(v), h.max(v)));
    let row_of = |v: f64| ((high - v) / (high - low).max(1e-9) * (ROWS - 1) as f64).round() as usize;
    let mut cells = vec![vec![' '; COLUMNS]; ROWS];
    for edge in edges.into_iter().flat_map(|(l, h)| [l, h]) {
        cells[row_of(edge).min(ROWS - 1)].fill('-');
    }
    let count = fan.quantiles.len().max(2);
    for column in 0..COLUMNS {
        let Some(q) = fan.quantiles.get(column * (count - 1) / (COLUMNS - 1)) else { continue };
        let mut fill = |from: f64, to: f64, mark: char| {
            for row in row_of(to)..=row_of(from) {
                if let Some(cell) = cells.get_mut(row).and_then(|r| r.get_mut(column)) {
                    *cell = mark;
                }
            }
        };
        fill(q[0], q[4], ':');
        fill(q[1], q[3], '#');
    }
    page.line(&format!(
        "  {} (# half of the chances, : nine in ten, - the band's edges)",
        fan.quantity.name()
    ));
    for (i, row) in cells.into_iter().enumerate() {
        let value = high - (high - low) * i as f64 / (ROWS - 1) as f64;
        let label = if i % 4 == 0 { units.number(fan.quantity, value) } else { String::new() };
        page.line(&format!("  {label:>6} |{}", row.into_iter().collect::<String>()));
    }
    let days = STEP_H * (count - 1) as f64 / 24.0;
    page.line(&format!("         0{:>width$}", format!("{days:.0} days"), width = COLUMNS));
}
