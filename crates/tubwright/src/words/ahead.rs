//! What a plan foresees, for people: the water at the next look, the cell's duty, a new fill's looks.

use super::Page;
use super::plan::{chance, duration, joined};
use care::ahead::{AtLook, Duty, LEAST_HOURS, Look};
use care::amount::Units;
use care::plan::Plan;

/// A chance that is worth a word.
const WORTH_SAYING: f64 = 0.02;

pub(super) fn told(plan: &Plan, units: Units, page: &mut Page) {
    let Some(ahead) = &plan.ahead else { return };
    let sooner = ahead.at_look_h < ahead.until_h;
    if ahead.aimed && sooner {
        page.heading(&format!("Until the next look, in {}", duration(60.0 * ahead.at_look_h)));
    } else if ahead.aimed {
        page.heading(&format!("Until the next look, planned for {}", duration(60.0 * ahead.until_h)));
    } else {
        page.heading("Until the next look");
    }
    page.hanging(
        "  ",
        "  ",
        if ahead.aimed && sooner {
            "The doses are aimed at where the water will go by itself, as far as this tub has shown it."
        } else if ahead.aimed {
            "The doses are aimed at where the water will go until then, as far as this tub has shown it."
        } else {
            "Nobody has looked twice at this fill yet: the doses are for the water of the moment."
        },
    );
    if let Some(litres) = ahead.volume_l {
        let volume = units.volume(litres);
        page.hanging(
            "  ",
            "  ",
            &format!("Planned for {volume}: the entries tell that better than the tub's own figure."),
        );
    }
    if let Some(duty) = &ahead.cell {
        page.hanging("  ", "  ", &cell(duty));
    }
    // Of tubs in general it is too wide to be of use.
    if ahead.aimed && !ahead.at_look.is_empty() {
        page.hanging(
            "  ",
            "  ",
            "What is foreseen stands on all entries since the fill, the water above on the last readings: the two may differ.",
        );
    }
    for there in ahead.at_look.iter().filter(|_| ahead.aimed) {
        page.hanging("  - ", "    ", &found(there, units));
    }
    if !ahead.schedule.is_empty() {
        page.heading("The first two weeks: when to look, what it will probably take");
        for look in &ahead.schedule {
            scheduled(look, units, page);
        }
        page.hanging(
            "  ! ",
            "    ",
            "Expected amounts, not doses: the readings of each look make the plan anew. The product's label, local \
             rules and licensed practice come first.",
        );
    }
}

fn cell(duty: &Duty) -> String {
    if duty.share <= 0.0 {
        return "Leave the cell off until the salt reads inside its window.".to_owned();
    }
    let from = duty.from.map_or(String::new(), |from| format!(" (it is at {:.0} %)", 100.0 * from));
    let hours = duty.person_hours_per_day;
    let use_of_it = if hours >= LEAST_HOURS {
        format!("about {hours:.1} person-hours of bathing a day")
    } else {
        "what the tub has used so far".to_owned()
    };
    format!("Set the cell to {:.0} %{from}, for {use_of_it}.", 100.0 * duty.share)
}

/// "pH 7.45 (7.20 to 7.70), about 1 in 12 that it is outside its band".
fn found(there: &AtLook, units: Units) -> String {
    let [low, middle, high] = there.range.map(|v| units.number(there.quantity, v));
    let sure = match there.outside {
        Some(p) if p >= WORTH_SAYING => format!(", {} that it is outside its band", chance(p)),
        _ => String::new(),
    };
    format!("{} {middle} ({low} to {high}){sure}", there.quantity.name())
}

fn scheduled(look: &Look, units: Units, page: &mut Page) {
    let measure: Vec<&str> = look.measure.iter().map(|q| q.name()).collect();
    let found: Vec<String> = look.found.iter().map(|there| found(there, units)).collect();
    let doses: Vec<String> = look
        .doses
        .iter()
        .map(|need| {
            let [low, middle, high] = need.grams.map(|g| units.mass(g));
            format!("{}: {middle} ({low} to {high}), that is {}", need.name, need.measure_text)
        })
        .collect();
    let doses = if doses.is_empty() { "nothing to add".to_owned() } else { doses.join("; ") };
    page.hanging(
        "  - ",
        "    ",
        &format!("In {}: measure {}.", duration(60.0 * look.after_h), joined(&measure)),
    );
    page.hanging("    ", "    ", &format!("There: {}.", found.join("; ")));
    page.hanging("    ", "    ", &format!("Probably {doses}."));
}
