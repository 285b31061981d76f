//! An outlook as a page for people: when to look again, each quantity's course, what a week takes, what was learnt.

use super::page::padded;
use super::{Page, fan};
use care::amount::Units;
use care::case::Case;
use care::learn::Learned;
use care::outlook::{Fan, Leaves, NextLook, Outlook};
use care::wire::outlook::told as told_in;

/// What the page says beside the outlook itself.
pub(crate) struct Told<'a> {
    /// The case.
    pub(crate) case: &'a Case,
    /// Days ahead.
    pub(crate) days: u32,
    /// A made-up case: said in the title, so that nobody doses by it.
    pub(crate) invented: bool,
}

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
    fan::charts(outlook, units, &mut page);

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
        let learnt = told_in(t, learned, &products, units);
        let [low, middle, high] = learnt.now.map(significant);
        let [from, _, to] = learnt.prior.map(significant);
        let what = learnt.what;
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
