//! What came of a game: the learner, a good plan and the label rule side by side, and the truth.

use super::told::when;
use crate::ctx::Ctx;
use crate::page::tub::{decimals, name};
use crate::unit::with_unit;
use crate::words::t;
use ::practice::policy::Beside;
use ::practice::{Ended, Game, SCORED, Score, Unsafe};
use care::quantity::Quantity as Q;
use maud::{Markup, html};

/// The whole comparison.
pub(super) fn side_by_side(ctx: &Ctx, game: &Game, you: &Ended, others: &Beside) -> Markup {
    let all = [&you.score, &others.plan.score, &others.label.score];
    let told_l = game.case().tub.volume_l;
    html! {
        section aria-labelledby="practice-came" {
            h2 #practice-came { (t!(ctx, "practice-came")) }
            p.lead { (t!(ctx, "practice-fit", you = percent(ctx, you.score.fit_inside), plan = percent(ctx, others.plan.score.fit_inside),
                label = percent(ctx, others.label.score.fit_inside))) }
            p { (t!(ctx, "practice-same")) }
            table.practice-table {
                caption { (t!(ctx, "practice-inside")) }
                (head(ctx))
                tbody {
                    @for band in &you.score.in_band {
                        (row(&name(ctx, band.quantity), &all, &|s: &Score| {
                            let found = s.in_band.iter().find(|b| b.quantity == band.quantity);
                            found.map_or_else(String::new, |b| percent(ctx, b.inside))
                        }))
                    }
                    (row(&t!(ctx, "practice-fit-row"), &all, &|s: &Score| percent(ctx, s.fit_inside)))
                }
            }
            table.practice-table {
                caption { (t!(ctx, "practice-effort")) }
                (head(ctx))
                tbody {
                    @for (i, used) in you.score.used.iter().enumerate() {
                        (row(&ctx.say(&format!("practice-product-{}", used.product), None), &all, &|s: &Score| {
                            let used = s.used.get(i).filter(|u| u.grams > 0.0);
                            used.map_or_else(|| "–".to_owned(), |u| ctx.mass(u.grams))
                        }))
                    }
                    (row(&t!(ctx, "practice-fresh"), &all, &|s: &Score| ctx.volume(s.fresh_l)))
                    (row(&t!(ctx, "practice-visits"), &all, &|s: &Score| ctx.number(s.visits as f64, 0)))
                    (row(&t!(ctx, "practice-readings"), &all, &|s: &Score| ctx.number(s.readings as f64, 0)))
                    (row(&t!(ctx, "practice-unsafe-baths"), &all, &|s: &Score| {
                        t!(ctx, "practice-of", n = ctx.number(s.unsafe_baths() as f64, 0), all = ctx.number(s.baths as f64, 0))
                    }))
                }
            }
            (course(ctx, you, others))
            @if !you.score.unsafe_moments.is_empty() {
                h3 { (t!(ctx, "practice-unsafe")) }
                ul { @for moment in &you.score.unsafe_moments { li { (unsafe_moment(ctx, moment)) } } }
            }
            p { (t!(ctx, "practice-truth", volume = ctx.volume(you.true_volume_l), percent = ctx.number(100.0 * you.true_volume_l / told_l, 0))) }
            p.caution { (t!(ctx, "practice-caution")) }
        }
    }
}

fn percent(ctx: &Ctx, share: f64) -> String {
    t!(ctx, "practice-percent", n = ctx.number(100.0 * share, 0))
}

fn head(ctx: &Ctx) -> Markup {
    html! {
        thead { tr {
            td {}
            th scope="col" { (t!(ctx, "practice-you")) }
            th scope="col" { (t!(ctx, "practice-plan")) }
            th scope="col" { (t!(ctx, "practice-label")) }
        } }
    }
}

fn row(title: &str, all: &[&Score; 3], figure: &dyn Fn(&Score) -> String) -> Markup {
    html! { tr { th scope="row" { (title) } @for score in all { td { (figure(score)) } } } }
}

/// Drawing units of a course; beside and below it there is room for figures and days.
const WIDTH: f64 = 480.0;
const HEIGHT: f64 = 150.0;
const LEFT: f64 = 44.0;
const TOP: f64 = 8.0;
const BOTTOM: f64 = HEIGHT - 26.0;
/// Figures that lie closer than this would cover each other.
const APART: f64 = 15.0;

/// The true water of the learner and of the good plan over time, with the band; the same is said in the table.
fn course(ctx: &Ctx, you: &Ended, others: &Beside) -> Markup {
    html! {
        h3 { (t!(ctx, "practice-course")) }
        p.hint { (t!(ctx, "practice-course-hint")) }
        @for q in [Q::Ph, Q::FreeChlorine] {
            @if let Some(band) = you.score.in_band.iter().find(|b| b.quantity == q) {
                @let (low, high) = (band.band.low, band.band.high);
                @let scale = Scale::of(&[you, &others.plan], q, (low, high));
                figure.practice-course {
                    figcaption { (name(ctx, q)) ", " (with_unit(&ctx.range(low, high, decimals(q)), q.unit())) }
                    svg viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } aria-hidden="true" focusable="false" {
                        @for edge in [low, high] {
                            line.practice-edge x1=(LEFT) x2=(WIDTH) y1=(one(scale.y(edge))) y2=(one(scale.y(edge))) {}
                        }
                        @for value in scale.figures((low, high)) {
                            text x=(LEFT - 6.0) y=(one(scale.y(value) + 5.0)) text-anchor="end" { (ctx.number(value, decimals(q))) }
                        }
                        line.practice-edge x1=(LEFT) x2=(WIDTH) y1=(BOTTOM) y2=(BOTTOM) {}
                        @for (day, anchor) in scale.days() {
                            @let x = one(scale.x(24.0 * day));
                            line.practice-edge x1=(x) x2=(x) y1=(BOTTOM) y2=(BOTTOM + 4.0) {}
                            text x=(x) y=(BOTTOM + 20.0) text-anchor=(anchor) { (t!(ctx, "practice-day", day = ctx.number(day, 0))) }
                        }
                        path.practice-plan d=(scale.path(&others.plan, q)) {}
                        path.practice-you d=(scale.path(you, q)) {}
                    }
                }
            }
        }
    }
}

/// Hours and values to drawing units.
struct Scale {
    hours: f64,
    low: f64,
    high: f64,
}

fn values(ended: &Ended, q: Q) -> impl Iterator<Item = (f64, f64)> + '_ {
    let place = SCORED.iter().position(|s| *s == q);
    ended.course.iter().filter_map(move |s| Some((s.at_h, s.values[place?]?)))
}

impl Scale {
    fn of(all: &[&Ended], q: Q, band: (f64, f64)) -> Scale {
        let mut scale = Scale { hours: 1.0, low: band.0, high: band.1 };
        for (at_h, value) in all.iter().flat_map(|e| values(e, q)) {
            scale.hours = scale.hours.max(at_h);
            scale.low = scale.low.min(value);
            scale.high = scale.high.max(value);
        }
        scale
    }

    fn y(&self, value: f64) -> f64 {
        let span = (self.high - self.low).max(1e-9);
        TOP + (BOTTOM - TOP) * (1.0 - (value - self.low) / span)
    }

    fn x(&self, at_h: f64) -> f64 {
        LEFT + (WIDTH - LEFT) * at_h / self.hours
    }

    /// Figures at the edge: the band's, and the lowest and highest where there is room for them.
    fn figures(&self, (low, high): (f64, f64)) -> Vec<f64> {
        let mut all: Vec<f64> = Vec::new();
        for value in [low, high, self.low, self.high] {
            if all.iter().all(|v| (self.y(*v) - self.y(value)).abs() >= APART) {
                all.push(value);
            }
        }
        all
    }

    /// Whole weeks from the fill, four at most between its ends, each with the side at which its words stand.
    fn days(&self) -> Vec<(f64, &'static str)> {
        let weeks = (self.hours / 168.0).round().max(1.0);
        let step = (weeks / 4.0).ceil();
        let marks = (0..=(weeks / step) as u32).map(|i| step * f64::from(i));
        let anchor = |week: f64| match week {
            0.0 => "start",
            w if w >= weeks => "end",
            _ => "middle",
        };
        marks.map(|week| ((7.0 * week).min(self.hours / 24.0), anchor(week))).collect()
    }

    fn path(&self, ended: &Ended, q: Q) -> String {
        let mut path = String::new();
        for (at_h, value) in values(ended, q) {
            path += if path.is_empty() { "M" } else { "L" };
            path += &format!("{} {}", one(self.x(at_h)), one(self.y(value)));
        }
        path
    }
}

fn one(x: f64) -> String {
    format!("{x:.1}")
}

fn unsafe_moment(ctx: &Ctx, moment: &Unsafe) -> String {
    match moment {
        Unsafe::Bath { at_h, quantity, value, low, high, people } => {
            let d = decimals(*quantity);
            t!(
                ctx,
                "practice-unsafe-bath",
                when = when(ctx, *at_h),
                people = *people,
                quantity = name(ctx, *quantity),
                value = ctx.number(*value, d),
                low = ctx.number(*low, d),
                high = ctx.number(*high, d)
            )
        }
        Unsafe::DosedAmongPeople { at_h } => t!(ctx, "practice-unsafe-dose", when = when(ctx, *at_h)),
        Unsafe::ExtremePh { at_h, ph } => {
            t!(ctx, "practice-unsafe-ph", when = when(ctx, *at_h), ph = ctx.number(*ph, 1))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_course_has_its_bands_figures_its_ends_where_there_is_room_and_its_weeks() {
        let scale = Scale { hours: 672.0, low: 6.5, high: 7.85 };
        // The highest lies too close to the band's edge.
        assert_eq!(scale.figures((7.0, 7.8)), [7.0, 7.8, 6.5]);
        let days: Vec<f64> = scale.days().iter().map(|d| d.0).collect();
        assert_eq!(days, [0.0, 7.0, 14.0, 21.0, 28.0]);
        assert_eq!((scale.x(0.0), scale.x(672.0)), (LEFT, WIDTH));
        assert_eq!((scale.y(6.5), scale.y(7.85)), (BOTTOM, TOP));
        let long = Scale { hours: 8.0 * 168.0, low: 0.0, high: 1.0 };
        assert_eq!(long.days().len(), 5);
    }
}
