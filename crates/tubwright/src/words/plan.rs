//! A plan as a page for people: what to do first, who stays out, the steps, the water after each, what is left.

use super::page::padded;
use super::strip::{self, status, strip};
use super::{Page, saturation, signed};
use care::amount::Units;
use care::case::{Bands, When};
use care::finding::Weight;
use care::plan::{Cover, Estimate, Plan, Risk, Snapshot, Step, StepKind};
use care::quantity::Quantity;
use care::text::Text;
use unicode_width::UnicodeWidthStr;

/// What the page says beside the plan itself.
pub(crate) struct Told<'a> {
    /// The tub's name.
    pub(crate) tub: &'a str,
    /// When the plan was made, if the case says so.
    pub(crate) now: Option<When>,
    /// Metric or US.
    pub(crate) units: Units,
    /// A made-up case: said in the title, so that nobody doses by it.
    pub(crate) invented: bool,
}

/// Quantities that are repeated after each step, with short names.
const AFTER: [(Quantity, &str); 4] = [
    (Quantity::Ph, "pH"),
    (Quantity::FreeChlorine, "free chlorine"),
    (Quantity::TotalBromine, "total bromine"),
    (Quantity::TotalAlkalinity, "alkalinity"),
];

/// The page.
pub(crate) fn page(plan: &Plan, told: &Told<'_>, mut page: Page) -> String {
    let at = told.units.temperature(plan.before.water.temperature.0);
    let invented = if told.invented { " (invented example)" } else { "" };
    page.title(&format!("{}{invented}: plan for {} at {at}", told.tub, told.units.volume(plan.volume_l)));
    page.gap();
    page.paragraph(&plan.headline);
    for step in plan.steps.iter().filter(|s| s.kind == StepKind::KeepOut) {
        page.gap();
        let said = sentence(&step.why, &step.measure_text);
        let said = said.strip_prefix("Keep out").map_or_else(|| format!(": {said}"), str::to_owned);
        page.hanging("", "  ", &format!("KEEP OUT{said}"));
    }
    findings(plan, &mut page);

    page.heading("The water now (mg/L unless said; in brackets where it is 9 times in 10)");
    quantities(&plan.before, &plan.bands, told.units, &mut page);

    let steps: Vec<&Step> = plan.steps.iter().filter(|s| s.kind != StepKind::KeepOut).collect();
    page.heading(if steps.is_empty() { "Nothing to do" } else { "What to do, in this order" });
    let shared = shared_cautions(&steps);
    for caution in &shared {
        page.hanging("  ! ", "    ", &format!("For every addition: {caution}"));
    }
    for (number, s) in steps.iter().enumerate() {
        if number > 0 || !shared.is_empty() {
            page.gap();
        }
        step(number + 1, s, &shared, told.units, &mut page);
    }

    if let Some(last) = steps.iter().rev().find(|s| changes_water(s.kind)) {
        page.heading("The water after all of it, as predicted (likewise)");
        quantities(&last.water_after, &plan.bands, told.units, &mut page);
    }
    left(plan, told.units, &mut page);
    look_again(plan, told, &mut page);
    super::ahead::told(plan, told.units, &mut page);
    list("Considered and not done", plan.not_done.iter().map(|n| sentence(&n.what, &n.why)), &mut page);
    rules(plan, &mut page);
    list("Taken for granted", plan.assumptions.iter().map(ToString::to_string), &mut page);
    page.gap();
    page.paragraph(
        "Each product's label, the local code and a licensed practitioner come before this sheet. Never mix chemicals, \
         dry or wet; add the chemical to the water, never water to the chemical; gloves and goggles on.",
    );
    page.finish()
}

fn changes_water(kind: StepKind) -> bool {
    matches!(kind, StepKind::Add | StepKind::ReplaceWater | StepKind::LeaveOpen | StepKind::Wait)
}

/// Cautions that every addition carries are said once, before the first.
fn shared_cautions<'a>(steps: &[&'a Step]) -> Vec<&'a str> {
    let additions: Vec<&'a Step> = steps.iter().copied().filter(|s| s.kind == StepKind::Add).collect();
    match additions[..] {
        [first, _, ..] => {
            let in_all = |c: &&Text| additions.iter().all(|s| s.cautions.contains(c));
            first.cautions.iter().filter(in_all).map(Text::as_str).collect()
        }
        _ => Vec::new(),
    }
}

/// "What. Why." with one full stop each.
fn sentence(what: &str, why: &str) -> String {
    let stop = |t: &str| {
        let t = capital(t.trim());
        if t.is_empty() || t.ends_with(['.', '!', '?']) { t } else { format!("{t}.") }
    };
    format!("{} {}", stop(what), stop(why)).trim().to_owned()
}

/// With a capital first letter, but for pH.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) if !text.starts_with("pH") => first.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

/// One row a quantity: name, figure, strip, status. Narrow pages put the strip on a line of its own.
fn quantities(s: &Snapshot, bands: &Bands, units: Units, page: &mut Page) {
    let banded = |q: Quantity| bands.iter().find(|(b, _)| *b == q).map(|(_, b)| (b.low, b.high));
    let rows: Vec<(&Estimate, [String; 2])> = s
        .quantities
        .iter()
        .filter(|e| e.value.is_finite() && (banded(e.quantity).is_some() || (e.known && e.value > 0.0)))
        .map(|e| (e, [e.quantity.name().to_owned(), page.plain(&figure(e, units))]))
        .collect();
    let widest = |i: usize| rows.iter().map(|(_, cells)| cells[i].width()).max().unwrap_or(0);
    let (name_width, figure_width) = (widest(0), widest(1));
    // Twenty-two columns hold "above its band by 0.25".
    let fits = 2 + name_width + 1 + figure_width + 1 + strip::WIDTH + 1 + 22 <= page.width;
    for (e, [name, figure]) in rows {
        let band = banded(e.quantity);
        let (drawn, mut said) = match band {
            Some(band) => (
                strip(e.value, (e.low, e.high), band, page.unicode),
                said_status(e.quantity, e.value, (e.low, e.high), band, units),
            ),
            None => (" ".repeat(strip::WIDTH), String::new()),
        };
        if !e.known {
            said = if said.is_empty() { "assumed".into() } else { format!("{said} (assumed)") };
        }
        let name = format!("  {} ", padded(&name, name_width));
        if fits {
            let first = format!("{name}{} {drawn} ", padded(&figure, figure_width));
            let indent = " ".repeat(first.width());
            page.hanging(&first, &indent, &said);
        } else {
            page.hanging(&name, &" ".repeat(name.width()), &figure);
            if band.is_some() {
                page.line(&format!("    {drawn}"));
            }
            if !said.is_empty() {
                page.hanging("    ", "    ", &said);
            }
        }
    }
}

/// "7.40 (7.25–7.55)"; the unit where it is not mg/L.
fn figure(e: &Estimate, units: Units) -> String {
    let unit = match units.unit(e.quantity) {
        "" | "mg/L" => String::new(),
        unit => format!(" {unit}"),
    };
    let d = e.quantity.decimals();
    if e.quantity == Quantity::SaturationIndex {
        return format!("{} (±{:.d$})", signed(e.value, d), 0.5 * (e.high - e.low));
    }
    let shown = |x: f64| units.number(e.quantity, x);
    let (low, high) = (shown(e.low), shown(e.high));
    let interval = if low == high { String::new() } else { format!(" ({low}–{high})") };
    format!("{}{interval}{unit}", shown(e.value))
}

/// Where a quantity is, in words and in the reader's units.
fn said_status(q: Quantity, value: f64, interval: (f64, f64), band: (f64, f64), units: Units) -> String {
    let of = |x: f64| units.value(q, x);
    let both = |(low, high): (f64, f64)| (of(low), of(high));
    status(of(value), both(interval), both(band), units.decimals(q))
}

fn step(number: usize, s: &Step, shared: &[&str], units: Units, page: &mut Page) {
    let first = format!("{number:>2}  ");
    let rest = "    ";
    page.hanging(&first, rest, &action(s, units));
    page.hanging(rest, rest, &s.why);
    let said_before = |c: &str| s.kind == StepKind::Add && shared.contains(&c);
    for caution in s.cautions.iter().filter(|c| !said_before(c)) {
        page.hanging("    ! ", "      ", caution);
    }
    let mut how = Vec::new();
    if s.pre_dissolve {
        how.push("dissolve it in a clean bucket of tub water first".to_owned());
    }
    if matches!(s.kind, StepKind::Add | StepKind::LeaveOpen | StepKind::Circulate) {
        how.push(if s.jets_on { "jets on" } else { "jets off" }.to_owned());
        how.push(if s.cover == Cover::Open { "cover fully off" } else { "cover on" }.to_owned());
    }
    if matches!(s.kind, StepKind::Add | StepKind::ReplaceWater | StepKind::Retest) && s.wait_min > 0.0 {
        how.push(format!("then wait {}", duration(s.wait_min)));
    }
    if !how.is_empty() {
        page.hanging(rest, rest, &sentence(&how.join(", "), ""));
    }
    if changes_water(s.kind) {
        page.hanging(rest, "      ", &format!("After it: {}.", after(&s.water_after)));
    }
}

/// A deed and what the plan says to it.
fn noted(deed: String, note: &str) -> String {
    if note.is_empty() { deed } else { format!("{deed}: {note}") }
}

/// What to do, in the owner's measure and in grams.
fn action(s: &Step, units: Units) -> String {
    let product = s.product.as_deref().unwrap_or("the product");
    match s.kind {
        StepKind::Add => {
            let mut amounts = Vec::new();
            let liquid = s.volume_ml.map(|ml| units.liquid(ml));
            let mass = s.mass_g.map(|g| units.mass(g));
            // "65 mL in the jug" needs no second "65 mL", nor grams on the scale.
            let told = |amount: &String| !s.measure_text.starts_with(amount.as_str());
            amounts.extend(liquid.into_iter().chain(mass).filter(told));
            match (s.measure_text.as_str(), amounts.join(", ").as_str()) {
                ("", exact) => format!("Add {exact} of {product}"),
                (measured, "") => format!("Add {product}: {measured}"),
                (measured, exact) => format!("Add {product}: {measured} ({exact})"),
            }
        }
        StepKind::ReplaceWater => {
            let share = s.share.map_or("part".into(), |share| format!("{:.0} %", 100.0 * share));
            noted(format!("Replace {share} of the water with source water"), &s.measure_text)
        }
        StepKind::LeaveOpen if s.measure_text.is_empty() => {
            let until = s.until_ph.map_or(String::new(), |ph| format!(", until the pH reads {ph:.1}"));
            format!("Leave the cover off with the air on, nobody in{until}")
        }
        StepKind::LeaveOpen => noted("Let carbon dioxide leave".into(), &s.measure_text),
        StepKind::Circulate => noted(format!("Circulate for {}", duration(s.wait_min)), &s.measure_text),
        StepKind::Wait => noted(format!("Wait {}", duration(s.wait_min)), &s.measure_text),
        StepKind::Retest => noted("Test again".into(), &s.measure_text),
        StepKind::KeepOut => "Keep out".into(),
    }
}

fn after(s: &Snapshot) -> String {
    let mut parts: Vec<String> = Vec::new();
    for (quantity, name) in AFTER {
        let Some(e) = s.quantities.iter().find(|e| e.quantity == quantity && e.value.is_finite()) else {
            continue;
        };
        let d = quantity.decimals();
        let absent = matches!(quantity, Quantity::TotalBromine) && e.value <= 0.0;
        if !absent {
            parts.push(format!("{name} {:.d$}", e.value));
        }
    }
    if let Some(e) =
        s.quantities.iter().find(|e| e.quantity == Quantity::SaturationIndex && e.value.is_finite())
    {
        parts.push(format!("saturation {} ({})", signed(e.value, 2), saturation(e.value)));
    }
    parts.join(", ")
}

fn findings(plan: &Plan, page: &mut Page) {
    if plan.findings.is_empty() {
        return;
    }
    page.heading("What the readings themselves say");
    let mut sorted: Vec<_> = plan.findings.iter().collect();
    sorted.sort_by_key(|f| std::cmp::Reverse(f.weight));
    for f in sorted {
        let mark = match f.weight {
            Weight::Safety => "  ! ",
            Weight::Doubt => "  ? ",
            Weight::Note => "  - ",
        };
        page.hanging(mark, "    ", &sentence(&f.what, &f.advice));
    }
}

fn left(plan: &Plan, units: Units, page: &mut Page) {
    list(
        "Still outside its band after it",
        plan.out_of_band_after.iter().map(|m| {
            let at = said_status(m.quantity, m.value, (m.value, m.value), (m.low, m.high), units);
            let figure = units.figure(m.quantity, m.value);
            sentence(&format!("{} at {figure}, {at}", m.quantity.name()), &m.why)
        }),
        page,
    );
    // Nothing is below a band that begins at zero.
    let from_zero = |q: Quantity| plan.bands.iter().any(|(b, band)| *b == q && band.low == 0.0);
    let below = |r: &Risk| if from_zero(r.quantity) { 0.0 } else { r.below };
    let worth_saying = plan.risks.iter().filter(|r| r.above >= 0.02 || below(r) >= 0.02);
    list(
        "How sure that is",
        worth_saying.map(|r| {
            let mut parts = Vec::new();
            if r.above >= 0.02 {
                parts.push(format!("{} that it ends above its band", chance(r.above)));
            }
            if below(r) >= 0.02 {
                parts.push(format!("{} that it ends below its band", chance(r.below)));
            }
            format!("{}: {}.", capital(r.quantity.name()), parts.join(", "))
        }),
        page,
    );
    if plan.cost > 0.0 {
        page.heading(&format!("Cost of chemicals and water: {:.2}, by the prices given", plan.cost));
    }
}

/// A probability as a person says it.
pub(super) fn chance(p: f64) -> String {
    match p {
        p if p > 0.95 => "almost certain".into(),
        p if p > 0.55 => format!("about {:.0} in 10", (10.0 * p).round().min(9.0)),
        p if p > 0.45 => "about even".into(),
        p => format!("about 1 in {:.0}", 1.0 / p),
    }
}

fn look_again(plan: &Plan, told: &Told<'_>, page: &mut Page) {
    let look = &plan.look_again;
    let names: Vec<&str> = look.quantities.iter().map(|q| q.name()).collect();
    let when = told.now.map_or(String::new(), |_| " from the end of the plan".to_owned());
    let at = if names.is_empty() { String::new() } else { format!(" at {}", joined(&names)) };
    page.heading("Look again");
    let first = format!("In {}{when}{at}", duration(look.after_hours * 60.0));
    page.hanging("  ", "  ", &sentence(&first, &look.why));
    if !look.then_hours.is_empty() {
        let then: Vec<String> = look.then_hours.iter().map(|h| duration(h * 60.0)).collect();
        let then: Vec<&str> = then.iter().map(String::as_str).collect();
        page.hanging("  ", "  ", &format!("Then after {}.", joined(&then)));
    }
}

/// Rules to which the plan's own figure compares in the same words stand together.
fn rules(plan: &Plan, page: &mut Page) {
    if plan.rules.is_empty() {
        return;
    }
    page.heading("Other rules, and what this plan does");
    let mut told: Vec<&str> = Vec::new();
    for r in &plan.rules {
        if told.contains(&r.difference.as_str()) {
            continue;
        }
        told.push(&r.difference);
        for same in plan.rules.iter().filter(|s| s.difference == r.difference) {
            page.hanging("  - ", "    ", &sentence(&same.rule, ""));
        }
        page.hanging("    ", "    ", &sentence(&r.difference, ""));
    }
}

fn list(heading: &str, items: impl Iterator<Item = String>, page: &mut Page) {
    let items: Vec<String> = items.filter(|i| !i.is_empty()).collect();
    if items.is_empty() {
        return;
    }
    page.heading(heading);
    for item in items {
        page.hanging("  - ", "    ", &item);
    }
}

/// "a, b and c".
pub(super) fn joined(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// Minutes as a person says them.
pub(super) fn duration(minutes: f64) -> String {
    let count = |n: f64, unit: &str| format!("{n:.0} {unit}{}", if n.round() == 1.0 { "" } else { "s" });
    match minutes {
        m if m < 120.0 => count(m, "minute"),
        m if m < 72.0 * 60.0 => count(m / 60.0, "hour"),
        m => count(m / 1440.0, "day"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use care::band::Band;
    use care::case::PlanKind;
    use care::plan::{LookAgain, Miss};
    use water::{Celsius, Equilibria, Ph, Totals};

    fn estimate(quantity: Quantity, value: f64, error: f64) -> Estimate {
        Estimate {
            quantity,
            value,
            standard_error: error,
            low: value - 1.64 * error,
            high: value + 1.64 * error,
            known: true,
        }
    }

    fn snapshot(ph: f64, alkalinity: f64, chlorine: f64) -> Snapshot {
        let totals =
            Totals { alkalinity: alkalinity / 50043.5, sodium: 0.05, chloride: 0.048, ..Totals::default() };
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        let water = at.solve_at_ph(&totals, Ph(ph)).unwrap();
        Snapshot {
            water,
            totals: water.totals,
            quantities: vec![
                estimate(Quantity::Ph, ph, 0.1),
                estimate(Quantity::FreeChlorine, chlorine, 0.2),
                estimate(Quantity::TotalAlkalinity, alkalinity, 5.0),
                estimate(Quantity::SaturationIndex, -0.4, 0.1),
            ],
        }
    }

    fn band(low: f64, high: f64) -> Band {
        Band {
            low,
            aim_low: low,
            aim_high: high,
            high,
            hard_low: None,
            hard_high: None,
            source: "test".into(),
            by_user: false,
        }
    }

    fn step(order: usize, kind: StepKind) -> Step {
        Step {
            order,
            kind,
            product: Some("dry acid".into()),
            chemical: Some("sodium-bisulfate"),
            mass_g: Some(18.0),
            volume_ml: None,
            share: None,
            measure_text: "half a capful, level".into(),
            pre_dissolve: true,
            jets_on: true,
            cover: Cover::Open,
            wait_min: 20.0,
            until_ph: None,
            why: "The pH is above its band.".into(),
            cautions: vec!["Acid into water, never water onto acid; goggles and gloves on.".into()],
            water_after: snapshot(7.5, 104.0, 0.8),
        }
    }

    fn plan() -> Plan {
        Plan {
            kind: PlanKind::Correction,
            headline: "Add half a capful of dry acid, then wait 20 minutes.".into(),
            volume_l: 1200.0,
            before: snapshot(8.0, 110.0, 0.8),
            steps: vec![
                Step {
                    measure_text: Text::default(),
                    why: "Keep out until a test shows pH 7.0-7.8: it is 8.00".into(),
                    ..step(1, StepKind::KeepOut)
                },
                step(2, StepKind::Add),
            ],
            out_of_band_after: vec![Miss {
                quantity: Quantity::FreeChlorine,
                value: 0.8,
                low: 2.0,
                high: 8.0,
                why: "No chlorine on the shelf".into(),
            }],
            cost: 0.0,
            not_done: Vec::new(),
            look_again: LookAgain {
                after_hours: 24.0,
                quantities: vec![Quantity::Ph, Quantity::FreeChlorine],
                why: "The pH climbs as carbon dioxide leaves".into(),
                then_hours: vec![72.0],
            },
            assumptions: vec!["The volume is right within 10 %.".into()],
            findings: Vec::new(),
            risks: vec![Risk { quantity: Quantity::Ph, below: 0.0, above: 0.12 }],
            rules: Vec::new(),
            bands: vec![
                (Quantity::Ph, band(7.0, 7.8)),
                (Quantity::FreeChlorine, band(2.0, 8.0)),
                (Quantity::TotalAlkalinity, band(50.0, 120.0)),
            ],
            search_nodes: 0,
            ahead: None,
        }
    }

    fn told(units: Units) -> Told<'static> {
        Told { tub: "Test tub", now: None, units, invented: true }
    }

    #[test]
    fn the_first_lines_say_what_to_do_and_who_stays_out() {
        let text = page(&plan(), &told(Units::Metric), Page::with(80, true));
        let lines: Vec<&str> = text.lines().filter(|l| !l.is_empty()).collect();
        assert_eq!(lines[0], "Test tub (invented example): plan for 1200 L at 38 °C");
        assert_eq!(lines[2], "Add half a capful of dry acid, then wait 20 minutes.");
        assert_eq!(lines[3], "KEEP OUT until a test shows pH 7.0-7.8: it is 8.00.");
        for part in [
            " 1  Add dry acid: half a capful, level (18 g)",
            "    ! Acid into water, never water onto acid; goggles and gloves on.",
            "    Dissolve it in a clean bucket of tub water first, jets on, cover fully off,",
            "After it: pH 7.50, free chlorine 0.8, alkalinity 104, saturation −0.40",
            "  - Free chlorine at 0.8 mg/L, below its band by 1.2. No chlorine on the shelf.",
            "  - pH: about 1 in 8 that it ends above its band.",
            "  In 24 hours at pH and free chlorine. The pH climbs as carbon dioxide leaves.",
            "  Then after 3 days.",
        ] {
            assert!(text.contains(part), "{part}\nis not in\n{text}");
        }
        let ph = text.lines().find(|l| l.trim_start().starts_with("pH ")).unwrap();
        assert!(
            ph.contains("8.00 (7.84–8.16)") && ph.contains(']') && ph.ends_with("above its band by 0.20"),
            "{ph}"
        );
    }

    #[test]
    fn no_line_is_wider_than_the_page_and_ascii_stays_ascii() {
        for (width, unicode) in [(40, true), (60, false), (80, true), (80, false), (100, true)] {
            let text = page(&plan(), &told(Units::Us), Page::with(width, unicode));
            for line in text.lines() {
                assert!(line.width() <= width, "{width}: {} columns: {line}", line.width());
            }
            assert!(unicode || text.is_ascii(), "{text}");
            assert!(text.contains("0.63 oz") && text.contains("317 US gal"), "{text}");
        }
    }
}
