//! A pH probe whose offset the kits have shown.

use super::{CALLED, share};
use crate::finding::{Finding, Weight};
use crate::learn::{Learned, three};
use crate::method;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// Offset of a pH probe from which it is spoken of: what a month's calibration is meant to keep it within (common practice).
const PROBE_PH: f64 = 0.1;

/// Probes whose offset the kits have shown, as it is now: what it has drifted since the start is in it.
pub(super) fn probes(learned: &Learned) -> Vec<Finding> {
    learned.kits_of(Q::Ph).filter(|kit| learned.drifts(*kit)).filter_map(|kit| probe(learned, kit)).collect()
}

fn probe(learned: &Learned, kit: usize) -> Option<Finding> {
    let (id, name, quantity) = learned.kit(kit)?;
    let offsets = learned.offsets(kit);
    let [low, middle, high] = three(&offsets);
    let beyond = share(&offsets, |o| o > PROBE_PH).max(share(&offsets, |o| o < -PROBE_PH));
    (beyond >= CALLED).then(|| {
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
