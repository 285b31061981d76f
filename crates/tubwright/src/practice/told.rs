//! A game told in text.

use crate::words::Page;
use care::band::Regime;
use care::case::{MeasureKind, Raw};
use care::quantity::Quantity;
use practice::policy::Beside;
use practice::{Ended, Game, KITS, Line, Score, Seen, Unsafe};

/// Days and hours since the fill.
pub(crate) fn when(at_h: f64) -> String {
    let minutes = (at_h * 60.0).round();
    let day = (minutes / 1440.0).floor();
    let of_day = minutes - 1440.0 * day + 600.0;
    // The fill is at 10:00.
    let (day, of_day) = if of_day >= 1440.0 { (day + 1.0, of_day - 1440.0) } else { (day, of_day) };
    format!("day {day:.0}, {:02.0}:{:02.0}", (of_day / 60.0).floor(), of_day % 60.0)
}

/// What the learner is told.
pub(crate) fn tub(page: &mut Page, game: &Game) {
    let setup = game.setup();
    let case = game.case();
    page.title(&format!(
        "Practice: an invented tub, seed {}, {}, {} week{}",
        setup.seed,
        setup.difficulty.id(),
        setup.weeks,
        if setup.weeks == 1 { "" } else { "s" }
    ));
    let regime =
        if case.tub.regime == Regime::SaltCell { "salt and a cell" } else { "chlorine dosed by hand" };
    page.paragraph(&format!(
        "Nothing here is real. The maker says {:.0} L; it is at 38 °C, just filled from the tap, disinfected by {regime}. \
         What it truly holds, how its people bathe and how far the kits are off is hidden until the end.",
        case.tub.volume_l
    ));
    if let Some(tap) = &case.source_water {
        page.heading("The tap, by the supplier's report");
        let figures = [
            ("pH", tap.ph, 1, ""),
            ("total alkalinity", tap.total_alkalinity_mg_l_caco3, 0, " mg/L"),
            ("calcium hardness", tap.calcium_hardness_mg_l_caco3, 0, " mg/L"),
        ];
        for (name, value, decimals, unit) in figures {
            if let Some(value) = value {
                page.pair(name, &format!("{value:.decimals$}{unit}"));
            }
        }
    }
    if let Ok(bands) = game.bands() {
        page.heading("What is wanted");
        for (q, band) in bands {
            let d = if matches!(q, Quantity::Ph | Quantity::SaturationIndex) { 1 } else { 0 };
            let d = if q == Quantity::CombinedChlorine { 1 } else { d };
            page.pair(q.name(), format!("{:.d$} to {:.d$} {}", band.low, band.high, q.unit()).trim());
        }
    }
    page.heading("The shelf");
    for product in &case.shelf {
        let measure = match product.measure.kind {
            MeasureKind::Scale => "by the gram".to_string(),
            MeasureKind::Millilitres => "by the millilitre".to_string(),
            _ => format!("a level capful is {:.0} g", product.measure.grams_each),
        };
        let chemical = match product.substance {
            care::case::Substance::Chemical(c) => c.id().replace('-', " "),
            _ => String::new(),
        };
        page.pair(&product.name, &format!("{chemical}, {measure}"));
    }
}

/// What can be typed, with this tub's words.
pub(crate) fn help(game: &Game) -> String {
    let mut page = Page::new();
    page.paragraph(&format!("One of: {}; \"end\".", super::grammar().trim_end_matches(" is accepted")));
    let mut kits: Vec<String> = Vec::new();
    for kit in &KITS {
        kits.push(format!("{} ({})", kit.quantity.id(), kit.method));
    }
    page.paragraph(&format!("Quantities and kits: {}.", kits.join(", ")));
    let shelf: Vec<&str> = game.case().shelf.iter().map(|p| p.name.as_str()).collect();
    page.paragraph(&format!("Products: {}.", shelf.join(", ")));
    page.finish()
}

/// What a kit shows.
pub(crate) fn reading(quantity: Quantity, method: &str, raw: &Raw) -> String {
    let decimals = if quantity == Quantity::Ph { 1 } else { quantity.decimals() };
    let figure = format!("{:.decimals$} {}", practice::figure(method, raw), quantity.unit());
    let figure = figure.trim();
    match raw {
        Raw::Drops(n) => format!("{figure} (drops: {n:.0})"),
        Raw::Below(_) => format!("less than {figure}"),
        Raw::Above(_) => format!("more than {figure}"),
        _ => figure.to_string(),
    }
}

/// One move.
pub(crate) fn line(page: &mut Page, line: &Line) {
    let said = match &line.seen {
        Seen::Read { quantity, method, raw } => {
            format!("{} ({method}): {}", quantity.name(), reading(*quantity, method, raw))
        }
        Seen::Dosed { product, grams, amount, .. } => format!("added {product}: {amount} ({grams:.0} g)"),
        Seen::ToppedUp { litres } => format!("filled up: about {litres:.0} L"),
        Seen::Replaced { share } => format!("replaced {:.0} % of the water", 100.0 * share),
        Seen::CellSet { duty } => format!("cell on {:.0} % of the time", 100.0 * duty),
        Seen::Aired { hours } => format!("aired {hours} h, cover off"),
        Seen::Waited { days, baths } if *days < 1.0 => {
            format!("hours gone by: {:.1}; baths: {baths}", 24.0 * days)
        }
        Seen::Waited { days, baths } => format!("days gone by: {days:.1}; baths: {baths}"),
    };
    let first = format!("  {}  ", when(line.at_h));
    let rest = " ".repeat(first.chars().count());
    page.hanging(&first, &rest, &said);
    if let Seen::Dosed { cautions, .. } = &line.seen {
        for caution in cautions {
            page.hanging(&format!("{rest}! "), &format!("{rest}  "), &caution.to_string());
        }
    }
}

/// What came of it, side by side.
pub(crate) fn end(page: &mut Page, game: &Game, you: Option<&Ended>, others: &Beside) {
    let mut columns: Vec<(&str, &Score)> = Vec::new();
    if let Some(you) = you {
        columns.push(("you", &you.score));
    }
    columns.push(("good plan", &others.plan.score));
    columns.push(("label rule", &others.label.score));
    page.heading("What came of it, by the true water: share of the time inside its band");
    let row = |page: &mut Page, name: &str, figure: &dyn Fn(&Score) -> Option<String>| {
        let cells: Vec<String> =
            columns.iter().map(|(_, s)| format!("{:>11}", figure(s).unwrap_or_else(|| "-".into()))).collect();
        page.line(&format!("  {name:<20}{}", cells.concat()));
    };
    let heads: String = columns.iter().map(|(name, _)| format!("{name:>11}")).collect();
    page.line(&format!("  {:<20}{heads}", ""));
    let percent = |x: f64| format!("{:.0} %", 100.0 * x);
    let first = columns[0].1;
    for band in &first.in_band {
        row(page, band.quantity.name(), &|s| {
            s.in_band.iter().find(|b| b.quantity == band.quantity).map(|b| percent(b.inside))
        });
    }
    row(page, "what bathers meet", &|s| Some(percent(s.fit_inside)));
    page.gap();
    row(page, "visits", &|s| Some(s.visits.to_string()));
    row(page, "readings", &|s| Some(s.readings.to_string()));
    for (i, used) in first.used.iter().enumerate() {
        row(page, &format!("{}, g", used.product), &|s| s.used.get(i).map(|u| format!("{:.0}", u.grams)));
    }
    row(page, "fresh water, L", &|s| Some(format!("{:.0}", s.fresh_l)));
    row(page, "baths", &|s| Some(s.baths.to_string()));
    row(page, "unsafe baths", &|s| Some(s.unsafe_baths().to_string()));
    page.gap();
    page.paragraph(
        "\"What bathers meet\" is pH, free chlorine, combined chlorine and cyanuric acid all inside at once. An unsafe bath \
         began in water outside a bathing limit.",
    );
    if let Some(you) = you {
        for moment in &you.score.unsafe_moments {
            page.hanging("  ! ", "    ", &unsafe_moment(moment));
        }
        let truth = you.true_volume_l;
        page.paragraph(&format!(
            "In truth the tub holds {truth:.0} L, {:.0} % of the maker's figure.",
            100.0 * truth / game.case().tub.volume_l
        ));
    }
    page.paragraph(
        "The good plan looked when you did, came back within the day where its steps asked for it, read the same kits, and \
         knew no more than they showed. Practice water is invented: on a real tub the product's label, local rules and a \
         licensed practitioner come first.",
    );
}

fn unsafe_moment(moment: &Unsafe) -> String {
    match moment {
        Unsafe::Bath { at_h, quantity, value, low, high, people } => format!(
            "{}: {people:.0} bathed at {} {value:.1} {}; {low} to {high} is the limit.",
            when(*at_h),
            quantity.name(),
            quantity.unit()
        ),
        Unsafe::DosedAmongPeople { at_h } => {
            format!("{}: a product was added with people in the water.", when(*at_h))
        }
        Unsafe::ExtremePh { at_h, ph } => format!("{}: a dose took the pH to {ph:.1}.", when(*at_h)),
    }
}
