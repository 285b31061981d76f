//! The owner's sheet: a plan in the owner's language and units, for the screen and for print alike.
//!
//! What `care` says (why, cautions) is taken over in full, in the owner's language; around it stand the catalogue's words.

use crate::ctx::Ctx;
use crate::page::outlook::{self, fan};
use crate::page::strip::Strip;
use crate::page::tub::{Known, decimals};
use crate::said::capital;
use crate::unit::{Units, with_unit};
use crate::words::{self, t};
use care::case::Happening;
use care::plan::{Cover, Estimate, Plan, Snapshot, Step, StepKind};
use care::quantity::Quantity as Q;
use care::text::Text;
use chart::Look;
use sheet::{Chart, Labels, Line, OwnerSheet};

/// The context with the owner's language, if the tub names one.
pub(crate) fn owners(ctx: &Ctx, known: &Known) -> Ctx {
    match known.thing.body["language"].as_str() {
        Some(tag) => Ctx { language: words::language(tag.get(..2).unwrap_or("en")), ..ctx.clone() },
        None => ctx.clone(),
    }
}

/// The sheet of a tub; what stands in the way if there is no plan.
pub(crate) fn of(ctx: &Ctx, known: &Known, link: Option<String>) -> Result<OwnerSheet, Text> {
    let plan = known.plan().as_ref().map_err(Clone::clone)?;
    let steps: Vec<&Step> = plan.steps.iter().filter(|s| s.kind != StepKind::KeepOut).collect();
    let shared = shared_cautions(&steps);
    Ok(OwnerSheet {
        lang: ctx.language.to_string(),
        title: t!(ctx, "sheet-title"),
        tub_name: known.thing.name.clone(),
        date_text: ctx.day_and_time(ctx.now.as_microsecond()),
        invented: ctx.demo,
        headline: ctx.care_plain(&plan.headline),
        do_not_bathe: keep_out(ctx, plan),
        quantities: plan.before.quantities.iter().filter_map(|e| line(ctx, e, plan)).collect(),
        charts: Vec::new(),
        steps: steps.iter().zip(1..).map(|(s, number)| step(ctx, s, number, &shared)).collect(),
        general_cautions: shared.iter().map(|c| ctx.care_plain(c)).collect(),
        next_look: next_look(ctx, plan),
        contact: None,
        link,
        labels: labels_of(ctx, known),
    })
}

/// Readings older than this no longer show the water of the hour, by so much as somebody would see.
const FRESH_US: i64 = 6 * 3_600_000_000;

/// Quantities whose course stands on a printed sheet.
const DRAWN: [Q; 2] = [Q::Ph, Q::FreeChlorine];

/// The sheet with the days ahead drawn, if there is an outlook. Works it out: a matter of a second.
pub(crate) fn with_charts(ctx: &Ctx, known: &Known, sheet: OwnerSheet) -> OwnerSheet {
    let Ok(ahead) = known.outlook() else { return sheet };
    let outlook = &ahead.outlook;
    let fans =
        outlook.fans.iter().enumerate().filter(|(_, f)| DRAWN.contains(&f.quantity) && f.band.is_some());
    let charts = fans.map(|(number, f)| Chart {
        name: quantity(ctx, f.quantity),
        words: f.leaves.as_ref().map_or(String::new(), |l| capital(&outlook::when(ctx, l))),
        svg: fan::svg(ctx, number, f, outlook, Look::Sheet),
        alt: fan::described(ctx, f, outlook),
    });
    let charts: Vec<Chart> = charts.collect();
    let key = fan::letters(ctx, outlook).filter(|_| !charts.is_empty());
    let mut sheet = OwnerSheet { charts, ..sheet };
    if let Some(letters) = key {
        sheet.labels.charts_key = format!("{} {letters}", sheet.labels.charts_key);
    }
    sheet
}

/// Why nobody may bathe, with the cautions that belong to it.
fn keep_out(ctx: &Ctx, plan: &Plan) -> Option<String> {
    let said: Vec<String> = plan
        .steps
        .iter()
        .filter(|s| s.kind == StepKind::KeepOut)
        .flat_map(|s| [&s.why, &s.measure_text].into_iter().chain(&s.cautions))
        .filter(|text| !text.is_empty())
        .map(|text| ctx.care_plain(text))
        .collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Cautions that every addition carries are said once, before the first.
fn shared_cautions(steps: &[&Step]) -> Vec<Text> {
    let additions: Vec<&&Step> = steps.iter().filter(|s| s.kind == StepKind::Add).collect();
    match additions[..] {
        [first, _, ..] => {
            let in_all = |c: &&Text| additions.iter().all(|s| s.cautions.contains(c));
            first.cautions.iter().filter(in_all).cloned().collect()
        }
        _ => Vec::new(),
    }
}

fn line(ctx: &Ctx, e: &Estimate, plan: &Plan) -> Option<Line> {
    let (_, band) = plan.bands.iter().find(|(q, _)| *q == e.quantity)?;
    if [e.value, e.low, e.high, band.low, band.high].iter().any(|v| !v.is_finite()) {
        return None;
    }
    let fahrenheit = e.quantity == Q::Temperature && ctx.units == Units::Us;
    let shown = |v: f64| if fahrenheit { v * 1.8 + 32.0 } else { v };
    let unit = if fahrenheit { "°F" } else { e.quantity.unit() };
    let d = if fahrenheit { 0 } else { decimals(e.quantity) };
    let strip = Strip {
        value: shown(e.value),
        interval: (shown(e.low), shown(e.high)),
        band: (shown(band.low), shown(band.high)),
        decimals: d,
    };
    let width = if band.high > band.low {
        shown(band.high) - shown(band.low)
    } else {
        shown(band.high).abs().max(1.0)
    };
    let number = |v: f64| ctx.number(v, d);
    let (name, mut words) = (quantity(ctx, e.quantity), strip.status(ctx));
    if !e.known {
        words = format!("{words} · {}", t!(ctx, "status-assumed"));
    }
    Some(Line {
        name,
        value_text: with_unit(&number(strip.value), unit),
        band: strip.band,
        band_text: (number(strip.band.0), number(strip.band.1)),
        value: strip.value,
        interval: strip.interval,
        scale: (strip.band.0 - 0.65 * width, strip.band.1 + 0.65 * width),
        words,
        strip_alt: t!(
            ctx,
            "sheet-strip-alt",
            low = number(strip.band.0),
            high = number(strip.band.1),
            from = number(strip.interval.0),
            to = number(strip.interval.1)
        ),
    })
}

/// A quantity by its name.
pub(crate) fn quantity(ctx: &Ctx, q: Q) -> String {
    ctx.say(&q.id().replace('_', "-"), None)
}

fn step(ctx: &Ctx, s: &Step, number: u32, shared: &[Text]) -> sheet::Step {
    let product = s.product.clone().or_else(|| s.chemical.map(|c| c.replace('-', " "))).unwrap_or_default();
    let what = match s.kind {
        StepKind::Add => t!(ctx, "sheet-add", product = product),
        StepKind::ReplaceWater if s.share.is_some_and(|share| share >= 1.0) => t!(ctx, "sheet-refill"),
        StepKind::ReplaceWater => {
            t!(ctx, "sheet-replace", percent = ctx.number(100.0 * s.share.unwrap_or(0.0), 0))
        }
        StepKind::Circulate => t!(ctx, "sheet-circulate", time = minutes(ctx, s.wait_min)),
        StepKind::Wait => t!(ctx, "sheet-wait", time = minutes(ctx, s.wait_min)),
        StepKind::Retest => t!(ctx, "sheet-retest"),
        StepKind::LeaveOpen => t!(ctx, "sheet-leave-open"),
        StepKind::KeepOut => t!(ctx, "sheet-keep-out"),
    };
    let weight = s.mass_g.map(|g| ctx.mass(g));
    // On a scale the measure is the weight already.
    let weight = weight.filter(|_| !s.measure_text.contains(" on the scale") || ctx.units == Units::Us);
    let measure = ctx.care_plain(&s.measure_text);
    let amount_text = match (measure.is_empty(), weight) {
        (false, Some(weight)) => format!("{measure} ({weight})"),
        (true, Some(weight)) => weight,
        (_, None) => measure,
    };
    let mut how = Vec::new();
    if s.pre_dissolve {
        how.push(t!(ctx, "sheet-dissolve"));
    }
    if matches!(s.kind, StepKind::Add | StepKind::LeaveOpen | StepKind::Circulate) {
        how.push(if s.jets_on { t!(ctx, "sheet-jets-on") } else { t!(ctx, "sheet-jets-off") });
        how.push(if s.cover == Cover::Open { t!(ctx, "sheet-cover-off") } else { t!(ctx, "sheet-cover-on") });
    }
    if let Some(ph) = s.until_ph {
        how.push(t!(ctx, "sheet-until-ph", ph = ctx.number(ph, 1)));
    }
    how.push(ctx.care_plain(&s.why));
    let waits =
        matches!(s.kind, StepKind::Add | StepKind::ReplaceWater | StepKind::Retest) && s.wait_min > 0.0;
    let said_before = |c: &&Text| s.kind == StepKind::Add && shared.contains(c);
    let changes =
        matches!(s.kind, StepKind::Add | StepKind::ReplaceWater | StepKind::LeaveOpen | StepKind::Wait);
    sheet::Step {
        number,
        what,
        amount_text,
        how: how.into_iter().filter(|h| !h.is_empty()).collect::<Vec<_>>().join(" "),
        wait_text: if waits { minutes(ctx, s.wait_min) } else { String::new() },
        cautions: s.cautions.iter().filter(|c| !said_before(c)).map(|c| ctx.care_plain(c)).collect(),
        after_text: if changes { after(ctx, &s.water_after) } else { String::new() },
    }
}

fn minutes(ctx: &Ctx, minutes: f64) -> String {
    if minutes >= 120.0 {
        t!(ctx, "sheet-hours", n = ctx.number(minutes / 60.0, if minutes % 60.0 == 0.0 { 0 } else { 1 }))
    } else {
        t!(ctx, "sheet-minutes", n = ctx.number(minutes, 0))
    }
}

fn after(ctx: &Ctx, snapshot: &Snapshot) -> String {
    let shown = [Q::Ph, Q::FreeChlorine, Q::TotalBromine, Q::TotalAlkalinity];
    let of = |q: Q| {
        let e = snapshot.quantities.iter().find(|e| e.quantity == q && e.value.is_finite())?;
        if q == Q::TotalBromine && e.value <= 0.0 {
            return None;
        }
        Some(
            format!("{} {} {}", quantity(ctx, q), ctx.number(e.value, decimals(q)), q.unit())
                .trim()
                .to_owned(),
        )
    };
    shown.into_iter().filter_map(of).collect::<Vec<_>>().join(" · ")
}

fn next_look(ctx: &Ctx, plan: &Plan) -> String {
    let look = &plan.look_again;
    let at = ctx.now.as_microsecond() + (look.after_hours * 3.6e9) as i64;
    let what: Vec<String> = look.quantities.iter().map(|q| ctx.care_plain(&q.said())).collect();
    let first = if what.is_empty() {
        t!(ctx, "sheet-look", ahead = ctx.ago(at), day = ctx.day(at))
    } else {
        t!(ctx, "sheet-look-at", ahead = ctx.ago(at), day = ctx.day(at), what = what.join(", "))
    };
    format!("{} {}", capital(&first), ctx.care_plain(&look.why))
}

/// The labels; the water is not called that of now where its readings are old, and is told by when it was read.
fn labels_of(ctx: &Ctx, known: &Known) -> Labels {
    let labels = labels(ctx);
    let entries = known.case.as_ref().map_or(&[][..], |case| &case.entries);
    let read = entries.iter().filter(|e| matches!(e.what, Happening::Reading(_)));
    let last_us = read.filter_map(|e| e.at).map(|at| at.0 * 1_000_000).max();
    match last_us.filter(|us| ctx.now.as_microsecond() - us > FRESH_US) {
        Some(us) => Labels {
            water: t!(ctx, "sheet-water-read"),
            strip: format!("{} {}", labels.strip, t!(ctx, "sheet-as-read", at = ctx.day_and_time(us))),
            ..labels
        },
        None => labels,
    }
}

fn labels(ctx: &Ctx) -> Labels {
    let say = |id: &str| ctx.say(id, None);
    Labels {
        invented: say("invented"),
        do_not_bathe: say("sheet-keep-out"),
        water: say("tub-water-now"),
        strip: say("sheet-strip"),
        charts: say("sheet-charts"),
        charts_key: say("sheet-charts-key"),
        steps: say("sheet-steps"),
        general_cautions: say("sheet-before"),
        caution: say("sheet-caution"),
        wait: say("sheet-then-wait"),
        after: say("sheet-after"),
        next_look: say("sheet-next-look"),
        contact: say("sheet-contact"),
        link: say("sheet-your-page"),
        qr_alt: say("sheet-qr"),
        page_of: say("sheet-page-of").replace("<page>", "{page}").replace("<pages>", "{pages}"),
        precedence: say("sheet-precedence"),
    }
}
