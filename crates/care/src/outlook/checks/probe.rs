//! A pH probe whose offset the kits have shown.

use super::CALLED;
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, Name, Trait};
use crate::method;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Offset of a pH probe from which it is spoken of: what a month's calibration is meant to keep it within (common practice).
const PROBE_PH: f64 = 0.1;

/// A probe whose offset the kits have shown.
pub(super) fn probe(learned: &Learned, t: &Trait) -> Option<Finding> {
    let Name::Bias(number) = t.name else { return None };
    let (id, name, quantity) = learned.kit(number)?;
    let [low, middle, high] = t.now;
    let beyond = learned.chance(&t.name, |b| b > PROBE_PH).max(learned.chance(&t.name, |b| b < -PROBE_PH));
    let called = quantity == Q::Ph && learned.drifts(number) && beyond >= CALLED;
    called.then(|| {
        let amount = Text::figures(format!(
            "{:.2} ({:.2} to {:.2})",
            middle.abs(),
            low.abs().min(high.abs()),
            low.abs().max(high.abs())
        ));
        let name = method::said(id, name).capital();
        Finding {
            weight: Weight::Doubt,
            quantities: vec![quantity],
            what: if middle > 0.0 {
                say!(
                    "care-check-probe-high",
                    "{name} reads pH too high by {amount}, by the other tests of this water.",
                    name = name,
                    amount = amount
                )
            } else {
                say!(
                    "care-check-probe-low",
                    "{name} reads pH too low by {amount}, by the other tests of this water.",
                    name = name,
                    amount = amount
                )
            },
            advice: say!("care-check-calibrate", "Calibrate it in fresh buffers; until then go by the kit."),
        }
    })
}
