//! The next look: when, and what to measure.
//!
//! Each day outside a band costs; so does a visit, after which all is well for a while. It is time to look when the next day
//! would cost more than a day of the usual rhythm, visits and losses together: the marginal rule for stopping (from memory:
//! any text on renewal theory; the same as least cost per day where visits put everything right).
//!
//! What to measure is where a reading is worth its trouble. Whoever looks doses towards the middle of the band, by a reading
//! or by what is foretold; with a reading the water then stays inside more surely. What that saves until the look after is the
//! reading's worth (the expected value of sample information for normal errors: Raiffa and Schlaifer 1961, from memory). What
//! is likely outside is read in any case: nobody doses what nobody has read (common practice).

use super::Fan;
use crate::case::{Case, Happening};
use crate::method;
use crate::quantity::Quantity as Q;

/// What one day outside its band costs, in visits (judgement: chlorine that bathers stand in first, then pH, then what
/// harms the tub slowly).
fn cost_per_day(q: Q) -> f64 {
    match q {
        Q::FreeChlorine => 2.0,
        Q::Ph => 1.0,
        Q::SaturationIndex | Q::TotalAlkalinity | Q::Salt => 0.2,
        _ => 0.1,
    }
}

/// Chance of being outside from which a quantity will probably be dosed, and so is measured.
const LIKELY: f64 = 0.5;
/// What a reading costs, in visits (judgement: two or three minutes of a visit of three quarters of an hour).
const READING: f64 = 0.05;
/// Standard error of a saturation index from readings: a pH by comparator (0.1), alkalinity and hardness by drops of 10 mg/L
/// (a tenth of each, 0.04 and 0.04 of the index).
const INDEX_ERROR: f64 = 0.12;
/// 5 % and 95 % of a normal lie so many standard deviations apart.
const WIDTH_90: f64 = 3.29;
/// What a day of the usual rhythm costs, in visits (judgement: a visit a week, and half as much again for what is lost
/// between visits).
const USUAL_PER_DAY: f64 = 0.2;

/// The next look.
#[derive(Debug, Clone, PartialEq)]
pub struct NextLook {
    /// Hours from now; 0 if a plan is due at once.
    pub after_h: f64,
    /// What to measure, what is worth most first.
    pub measure: Vec<Q>,
    /// What each of them is expected to be worth until the look after, visits; in their order.
    pub worth: Vec<f64>,
    /// What makes it necessary: what is most surely outside its band by then; where nothing is likely to be, the quantity that
    /// costs most, if any does.
    pub because: Option<Q>,
    /// Chance that this one is outside its band by then.
    pub chance: f64,
}

/// Share of the draws outside at each hour, read off the fan's quantiles: a look needs no more than that.
pub(super) fn outside(fan: &Fan) -> Vec<f64> {
    let Some(band) = &fan.band else { return vec![0.0; fan.quantiles.len()] };
    fan.quantiles.iter().map(|q| (1.0 - below(q, band.high) + below(q, band.low)).clamp(0.0, 1.0)).collect()
}

/// Share of the draws below a figure, between quantiles in proportion.
fn below(quantiles: &[f64; 5], x: f64) -> f64 {
    let shares = super::SHARES;
    if x <= quantiles[0] {
        return if x < quantiles[0] { 0.0 } else { shares[0] };
    }
    for i in 1..quantiles.len() {
        if x < quantiles[i] {
            let part = (x - quantiles[i - 1]) / (quantiles[i] - quantiles[i - 1]).max(1e-12);
            return shares[i - 1] + part * (shares[i] - shares[i - 1]);
        }
    }
    1.0
}

/// Standard error of a test of this case's own kit at a figure: the one that read the quantity last, or the usual one.
fn test_error(case: &Case, q: Q, at: f64) -> f64 {
    if q == Q::SaturationIndex {
        return INDEX_ERROR;
    }
    let read = case.entries.iter().rev().find_map(|e| match &e.what {
        Happening::Reading(r) if r.quantity == q => Some(r.method.as_str()),
        _ => None,
    });
    let kit = method::find(&case.methods, read.unwrap_or_else(|| method::usual(q)));
    let scale = kit.and_then(|m| m.scale(q));
    // Nobody knows: as good as none.
    scale.map_or(f64::INFINITY, |s| s.absolute_error.hypot(s.relative_error * at))
}

/// Chance of being outside a band after it was dosed to the middle of it, with this standard error.
fn outside_from_the_middle(width: f64, standard_error: f64) -> f64 {
    libm::erfc(0.5 * width / standard_error.max(1e-12) / std::f64::consts::SQRT_2)
}

/// What a reading at an hour of the fan is worth until the look after, visits.
fn worth(case: &Case, fan: &Fan, at: usize, days: f64) -> f64 {
    let (Some(band), Some(quantiles)) = (&fan.band, fan.quantiles.get(at)) else { return 0.0 };
    let [low, _, middle, _, high] = *quantiles;
    let foretold = (high - low) / WIDTH_90;
    let test = test_error(case, fan.quantity, middle);
    let with_both =
        if test.is_finite() { foretold * test / foretold.hypot(test).max(1e-12) } else { foretold };
    let width = band.high - band.low;
    let saved = outside_from_the_middle(width, foretold) - outside_from_the_middle(width, with_both);
    cost_per_day(fan.quantity) * days * saved.max(0.0)
}

/// What is measured for a quantity: an index is not measured, its parts are.
fn measured_for(q: Q) -> Vec<Q> {
    match q {
        Q::SaturationIndex => vec![Q::Ph, Q::TotalAlkalinity, Q::CalciumHardness],
        q => vec![q],
    }
}

/// What a look is named by: of what is outside more likely than not the surest, to a percent, and of those what costs most;
/// else what costs most.
fn because(lost: &[f64], chance: impl Fn(usize) -> f64) -> Option<usize> {
    let sure = |i: usize| if chance(i) >= LIKELY { (100.0 * chance(i)).round() } else { 0.0 };
    (0..lost.len())
        .max_by(|a, b| sure(*a).total_cmp(&sure(*b)).then(lost[*a].total_cmp(&lost[*b])))
        .filter(|worst| lost[*worst] > 0.0)
}

pub(super) fn next(case: &Case, fans: &[Fan], hours: &[f64]) -> NextLook {
    let outside: Vec<(Q, Vec<f64>)> = fans.iter().map(|f| (f.quantity, outside(f))).collect();
    let share = |of: usize, at: usize| outside.get(of).and_then(|(_, s)| s.get(at)).copied().unwrap_or(0.0);
    let cost = |of: usize, at: usize| cost_per_day(outside[of].0) * share(of, at);
    let all = |at: usize| (0..outside.len()).map(|of| cost(of, at)).sum::<f64>();
    let at = (0..hours.len()).find(|at| all(*at) >= USUAL_PER_DAY).unwrap_or(hours.len().saturating_sub(1));
    let after_h = hours.get(at).copied().unwrap_or(0.0);
    let lost: Vec<f64> = (0..outside.len()).map(|of| cost(of, at)).collect();
    let chance = |of: usize| share(of, at);
    let worst = because(&lost, chance);
    let days = after_h.max(24.0) / 24.0;
    let worth: Vec<f64> = fans.iter().map(|fan| worth(case, fan, at, days)).collect();
    let gain = |i: usize| worth[i] + if chance(i) >= LIKELY { lost[i] * days } else { 0.0 };
    let mut order: Vec<usize> = (0..outside.len()).filter(|i| gain(*i) >= READING).collect();
    order.sort_by(|a, b| gain(*b).total_cmp(&gain(*a)));
    let mut measure: Vec<Q> = Vec::new();
    for i in order {
        let parts = measured_for(outside[i].0);
        measure.extend(parts.iter().filter(|p| !measure.contains(p)).copied().collect::<Vec<_>>());
    }
    // No look without these two (common practice).
    measure.extend([Q::Ph, Q::FreeChlorine].into_iter().filter(|q| !measure.contains(q)).collect::<Vec<_>>());
    // What serves an index as well has its share of what the index is worth.
    let of = |q: &Q| -> f64 {
        let serves = (0..outside.len()).map(|i| (i, measured_for(outside[i].0)));
        serves.filter(|(_, parts)| parts.contains(q)).map(|(i, parts)| gain(i) / parts.len() as f64).sum()
    };
    let mut each: Vec<(Q, f64)> = measure.iter().map(|q| (*q, of(q))).collect();
    each.sort_by(|a, b| b.1.total_cmp(&a.1));
    let (measure, worth) = each.into_iter().unzip();
    NextLook {
        after_h,
        measure,
        worth,
        because: worst.and_then(|w| outside.get(w)).map(|(q, _)| *q),
        chance: worst.map_or(0.0, chance),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Band;
    use crate::wire::case::CaseText;

    fn case() -> Case {
        let text = "[tub]\nvolume_l = 1300\nregime = \"chlorine\"\nplace = \"home\"\n\
                    [[shelf]]\nchemical = \"sodium-bisulfate\"\n\
                    [[reading]]\nat = 2026-05-01T08:00:00Z\nquantity = \"ph\"\nvalue = 7.4\nmethod = \"laboratory\"\n";
        CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case")
    }

    /// A fan of one moment: normal about a middle.
    fn fan(quantity: Q, middle: f64, standard_error: f64, (low, high): (f64, f64)) -> Fan {
        let quantiles = vec![[-1.645, -0.674, 0.0, 0.674, 1.645].map(|z| middle + z * standard_error)];
        let band = Some(Band {
            low,
            aim_low: low,
            aim_high: high,
            high,
            hard_low: None,
            hard_high: None,
            source: "a test".into(),
            by_user: true,
        });
        Fan { quantity, quantiles, band, leaves: None }
    }

    #[test]
    fn what_was_dosed_to_the_middle_is_outside_as_tables_of_the_normal_have_it() {
        // 68.27, 95.45, 99.73 % within one, two, three standard deviations.
        for (sds, inside) in [(1.0, 0.682_689), (2.0, 0.954_500), (3.0, 0.997_300)] {
            assert!((outside_from_the_middle(2.0 * sds, 1.0) - (1.0 - inside)).abs() < 1e-6, "{sds}");
        }
    }

    #[test]
    fn a_reading_is_worth_what_it_tells() {
        let case = case();
        let ph = |standard_error| worth(&case, &fan(Q::Ph, 7.4, standard_error, (7.0, 7.8)), 0, 3.0);
        assert!(ph(0.0) < 1e-12, "nothing where it is known");
        assert!(ph(0.1) < ph(0.2) && ph(0.2) < ph(0.4), "more the less is known: {} {}", ph(0.1), ph(0.4));
        assert!(ph(0.4) < 3.0 * cost_per_day(Q::Ph), "never more than what can be lost");
        // The kit of this tub is what counts: a laboratory, not the usual comparator.
        let bare = Case { entries: Vec::new(), ..case.clone() };
        assert!(test_error(&case, Q::Ph, 7.4) < test_error(&bare, Q::Ph, 7.4));
        let index =
            |standard_error| worth(&case, &fan(Q::SaturationIndex, 0.0, standard_error, (-0.4, 0.3)), 0, 3.0);
        assert!(index(0.5) > index(0.2) && index(0.5) < ph(0.4), "an index harms slowly");
    }

    #[test]
    fn the_look_measures_what_is_worth_it_and_always_what_bathers_meet() {
        let case = case();
        let fans = [
            fan(Q::Ph, 7.7, 0.15, (7.0, 7.8)),
            fan(Q::FreeChlorine, 2.0, 1.0, (3.0, 5.0)),
            fan(Q::TotalAlkalinity, 90.0, 4.0, (50.0, 120.0)),
            fan(Q::CalciumHardness, 20.0, 4.0, (50.0, 250.0)),
        ];
        let look = next(&case, &fans, &[0.0]);
        // Chlorine is outside with five chances in six, hardness surely; to read the chlorine is worth most.
        assert_eq!(look.because, Some(Q::CalciumHardness));
        assert_eq!(look.measure.first(), Some(&Q::FreeChlorine), "{:?}", look.measure);
        assert!(look.measure.contains(&Q::Ph));
        assert!(!look.measure.contains(&Q::TotalAlkalinity), "known well and inside");
        assert!(look.measure.contains(&Q::CalciumHardness), "known well and outside: it will be dosed");
    }

    #[test]
    fn a_look_is_named_by_what_is_surely_outside_not_by_what_would_cost_most() {
        let case = case();
        // Chlorine outside with about one chance in seven costs 0.28 a day, alkalinity that is surely outside 0.2.
        let fans =
            [fan(Q::FreeChlorine, 4.07, 1.0, (3.0, 8.0)), fan(Q::TotalAlkalinity, 161.0, 8.0, (50.0, 120.0))];
        let look = next(&case, &fans, &[0.0]);
        assert_eq!(look.because, Some(Q::TotalAlkalinity));
        assert!(look.chance > 0.99, "{}", look.chance);
        // With nothing likely outside it is what costs most.
        let look = next(&case, &fans[..1], &[0.0]);
        assert_eq!(look.because, Some(Q::FreeChlorine));
        assert!((look.chance - 0.14).abs() < 0.04, "{}", look.chance);
    }

    #[test]
    fn each_measured_quantity_has_its_worth() {
        let case = case();
        let fans = [
            fan(Q::Ph, 7.4, 0.4, (7.0, 7.8)),
            fan(Q::TotalAlkalinity, 161.0, 1.0, (50.0, 120.0)),
            fan(Q::SaturationIndex, 0.0, 0.3, (-0.4, 0.3)),
        ];
        let look = next(&case, &fans, &[24.0]);
        assert_eq!(look.worth.len(), look.measure.len());
        let of = |q: Q| look.measure.iter().zip(&look.worth).find(|(m, _)| **m == q).map(|(_, w)| *w);
        let index = worth(&case, &fans[2], 0, 1.0) / 3.0;
        // A day of surely too much alkalinity costs 0.2 visits; it serves the index as well.
        let alkalinity = of(Q::TotalAlkalinity).expect("measured");
        assert!((alkalinity - 0.2 - index).abs() < 1e-6, "{alkalinity}");
        let ph = of(Q::Ph).expect("measured");
        assert!((ph - worth(&case, &fans[0], 0, 1.0) - index).abs() < 1e-12, "{ph}");
        // Read by custom alone: nothing is known of its worth.
        assert_eq!(of(Q::FreeChlorine), Some(0.0));
    }

    #[test]
    fn shares_below_follow_the_quantiles() {
        let q = [1.0, 2.0, 3.0, 4.0, 5.0];
        for (x, share) in [(0.5, 0.0), (2.0, 0.25), (3.0, 0.5), (3.5, 0.625), (6.0, 1.0)] {
            assert!((below(&q, x) - share).abs() < 1e-12, "{x}");
        }
    }
}
