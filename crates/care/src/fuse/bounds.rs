//! Readings beyond a method's range: "less than", "more than".

use super::agree::Point;
use super::{CONTRADICTION, Fused, Weighted, as_read, at_line, by, figure, names};
use crate::amount::Units;
use crate::finding::{Finding, Weight};
use crate::method::Reagent;
use crate::quantity::Quantity;
use crate::text::{Text, say};

/// What readings beyond a method's range say together.
#[derive(Default)]
pub(super) struct Bounds<'a> {
    least: Option<(f64, f64, &'a Weighted)>,
    most: Option<(f64, f64, &'a Weighted)>,
    count: usize,
    units: Units,
}

impl<'a> Bounds<'a> {
    pub(super) fn said_in(units: Units) -> Self {
        Bounds { units, ..Bounds::default() }
    }

    pub(super) fn at_most(&mut self, limit: f64, extra: f64, reading: &'a Weighted) {
        self.count += 1;
        if self.most.is_none_or(|(m, e, _)| limit + extra < m + e) {
            self.most = Some((limit, extra, reading));
        }
    }

    pub(super) fn at_least(&mut self, limit: f64, extra: f64, reading: &'a Weighted) {
        self.count += 1;
        if self.least.is_none_or(|(l, e, _)| limit - extra > l - e) {
            self.least = Some((limit, extra, reading));
        }
    }

    pub(super) fn limits(&self) -> (Option<f64>, Option<f64>) {
        (self.least.map(|l| l.0), self.most.map(|m| m.0))
    }

    /// Finds a figure that lies beyond a bound by more than both errors allow.
    pub(super) fn against(
        &self,
        quantity: Quantity,
        value: f64,
        standard_error: f64,
        kept: &[Point<'_>],
        findings: &mut Vec<Finding>,
    ) -> bool {
        let below_least = self.least.filter(|(l, e, _)| l - value > CONTRADICTION * standard_error.hypot(*e));
        let above_most = self.most.filter(|(m, e, _)| value - m > CONTRADICTION * standard_error.hypot(*e));
        let more = below_least.iter().map(|b| (b, true)).chain(above_most.iter().map(|b| (b, false)));
        for ((limit, _, weighted), more) in more {
            let reading = &weighted.interpreted;
            let value = Text::figures(figure(self.units, quantity, value));
            let limit = as_read(self.units, quantity, *limit, weighted.shift, weighted.read);
            let (method, other, line) = (by(kept), reading.method_name.clone(), at_line(reading));
            let name = quantity.said().capital();
            let what = if more {
                say!(
                    "care-against-least",
                    "{quantity} is {value} by {method}, but more than {limit} by {other}{line}: they contradict each other.",
                    quantity = name,
                    value = value,
                    method = method,
                    limit = limit,
                    other = other,
                    line = line
                )
            } else {
                say!(
                    "care-against-most",
                    "{quantity} is {value} by {method}, but less than {limit} by {other}{line}: they contradict each other.",
                    quantity = name,
                    value = value,
                    method = method,
                    limit = limit,
                    other = other,
                    line = line
                )
            };
            findings.push(Finding {
                weight: Weight::Doubt,
                quantities: vec![quantity],
                what,
                advice: say!(
                    "care-test-third-way",
                    "Test {quantity} again by a third way before a dose stands on it.",
                    quantity = quantity.said()
                ),
            });
        }
        below_least.is_some() || above_most.is_some()
    }

    /// Bounds with nothing else: a value with a wide error.
    pub(super) fn alone(&self, quantity: Quantity, findings: &mut Vec<Finding>) -> Option<Fused> {
        let floor = quantity.possible().0;
        // Without an opposite bound: down to nothing, or half as much again; pH within half a unit (judgement).
        let reach = |limit: f64| if quantity == Quantity::Ph { 0.5 } else { (0.5 * limit.abs()).max(0.1) };
        let (mut low, mut high) = match (self.least, self.most) {
            (None, None) => return None,
            (Some((l, ..)), Some((m, ..))) => (l, m),
            (Some((l, ..)), None) => (l, l + reach(l)),
            (None, Some((m, ..))) if floor == 0.0 => (0.0, m.max(0.0)),
            (None, Some((m, ..))) => (m - reach(m), m),
        };
        if low > high {
            findings.push(Finding {
                weight: Weight::Doubt,
                quantities: vec![quantity],
                what: say!(
                    "care-bounds-contradict",
                    "One reading says {quantity} above {low}, another below {high}: they contradict each other.",
                    quantity = quantity.said(),
                    low = Text::figures(figure(self.units, quantity, low)),
                    high = Text::figures(figure(self.units, quantity, high))
                ),
                advice: say!("care-test-third-way", "Test {quantity} again by a third way before a dose stands on it.", quantity = quantity.said()),
            });
            (low, high) = (high, low);
        }
        let ends = [self.least, self.most];
        let readings = || ends.iter().flatten().map(|(.., w)| &w.interpreted);
        let extra = ends.iter().flatten().map(|(_, e, _)| *e).fold(0.0, f64::max);
        Some(Fused {
            quantity,
            value: 0.5 * (low + high),
            standard_error: ((high - low) / 12.0_f64.sqrt()).hypot(extra).max(0.01),
            bounds: self.limits(),
            over_scale: self.least.is_some() && self.most.is_none(),
            under_scale: self.least.is_none() && self.most.is_some(),
            used: self.count,
            method_ids: names(readings().map(|r| r.method_id.as_str())),
            only_display: readings().all(|r| r.is_display),
            only_orthotolidine: readings().all(|r| r.reagent == Reagent::Orthotolidine),
        })
    }
}
