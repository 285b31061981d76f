//! Free, combined and total chlorine among each other.

use super::{Fused, Fusion};
use crate::finding::{Finding, Weight};
use crate::quantity::Quantity;
use crate::text::{figures, say};

fn get(fused: &[Fused], quantity: Quantity) -> Option<&Fused> {
    fused.iter().find(|f| f.quantity == quantity)
}

/// Total less free chlorine with its error, if both were read and the total by a method that can tell them apart.
/// A negative difference within the error is none; where free chlorine is beyond its scale there is no difference.
pub fn derive_combined_chlorine(fused: &[Fused]) -> Option<Fused> {
    let free = get(fused, Quantity::FreeChlorine)?;
    let total = get(fused, Quantity::TotalChlorine)?;
    // What is beyond its scale takes any difference with it.
    if total.only_orthotolidine || free.only_orthotolidine || free.over_scale {
        return None;
    }
    let mut method_ids = free.method_ids.clone();
    method_ids.extend(total.method_ids.iter().filter(|m| !free.method_ids.contains(m)).cloned());
    Some(Fused {
        quantity: Quantity::CombinedChlorine,
        value: (total.value - free.value).max(0.0),
        standard_error: free.standard_error.hypot(total.standard_error),
        bounds: (
            total.bounds.0.filter(|_| total.over_scale).map(|least| (least - free.value).max(0.0)),
            None,
        ),
        over_scale: total.over_scale,
        under_scale: false,
        used: free.used + total.used,
        method_ids,
        only_display: free.only_display && total.only_display,
        only_orthotolidine: false,
    })
}

/// Free chlorine that was not read lies between none and the total.
pub(super) fn free_from_total(fusion: &mut Fusion) {
    if fusion.get(Quantity::FreeChlorine).is_some() {
        return;
    }
    let Some(total) = fusion.get(Quantity::TotalChlorine).cloned() else { return };
    let most = total.value.max(0.0);
    fusion.findings.push(Finding {
        weight: Weight::Doubt,
        quantities: vec![Quantity::FreeChlorine, Quantity::TotalChlorine],
        what: say!("care-free-from-total", "Free chlorine was not read; total chlorine is {most} mg/L, so free chlorine is anything up to that.", most = figures!("{most:.1}")),
        advice: say!("care-test-free-dpd", "Test free chlorine with DPD or FAS-DPD before anybody bathes."),
    });
    fusion.fused.push(Fused {
        quantity: Quantity::FreeChlorine,
        value: 0.5 * most,
        standard_error: (most / 12.0_f64.sqrt()).hypot(total.standard_error),
        bounds: (Some(0.0), Some(most)),
        over_scale: false,
        under_scale: false,
        ..total
    });
}
