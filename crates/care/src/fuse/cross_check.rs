//! Quantities held against each other: what cannot all be true is pointed out, never averaged.

use water::units::{mg_l_caco3_from_eq_kg, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Equilibria, Ph, Speciation, Totals};

use super::{CONTRADICTION, Fused};
use crate::amount::Units;
use crate::finding::{Finding, Weight};
use crate::method::Context;
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};

/// Share by which a natural water's conductivity differs from that of its salt alone, as estimated (judgement).
const EXPECTED_ERROR: f64 = 0.05;
/// Charge error above which an analysis is doubted, percent of all charges (a common rule of laboratories: 5 %).
const CHARGE_PERCENT: f64 = 5.0;

/// Checks fused quantities against each other: free within total chlorine, calcium within total hardness,
/// conductivity and salt, alkalinity and what pH and cyanurate already hold.
///
/// `expected_ms_cm` gives the conductivity at 25 °C of this water with so much salt (mg/L as NaCl).
pub fn cross_check(fused: &[Fused], context: &Context, expected_ms_cm: impl Fn(f64) -> f64) -> Vec<Finding> {
    let get = |q: Q| fused.iter().find(|f| f.quantity == q);
    let mut findings = Vec::new();
    if let (Some(free), Some(total)) = (get(Q::FreeChlorine), get(Q::TotalChlorine)) {
        findings.extend(part_of_whole(
            free,
            total,
            say!(
                "care-free-total-advice",
                "Test both again in one sample, total after free, with clean vials and fresh reagent."
            ),
        ));
    }
    if let (Some(combined), Some(total)) = (get(Q::CombinedChlorine), get(Q::TotalChlorine)) {
        findings.extend(part_of_whole(combined, total, test_one_sample()));
    }
    if let (Some(combined), Some(derived)) =
        (get(Q::CombinedChlorine), super::derive_combined_chlorine(fused).as_ref())
    {
        findings.extend(combined_against_difference(combined, derived));
    }
    if let (Some(calcium), Some(total)) = (get(Q::CalciumHardness), get(Q::TotalHardness)) {
        findings.extend(part_of_whole(
            calcium,
            total,
            say!(
                "care-calcium-total-advice",
                "Repeat both titrations; with mineral salts dilute the sample for the calcium end point."
            ),
        ));
    }
    if let (Some(salt), Some(conductivity)) = (get(Q::Salt), get(Q::Conductivity)) {
        findings.extend(salt_against_conductivity(salt, conductivity, expected_ms_cm));
    }
    if let (Some(ph), Some(alkalinity)) = (get(Q::Ph), get(Q::TotalAlkalinity)) {
        let cyanuric = get(Q::CyanuricAcid).map(|c| (c.value, c.standard_error));
        let free = get(Q::FreeChlorine).map_or(context.free_chlorine_mg_l.unwrap_or(0.0), |f| f.value);
        findings.extend(alkalinity_room(ph, alkalinity, cyanuric, free, context));
    }
    findings
}

/// What is compared here (mg/L, mS/cm) is said alike in all units.
fn figure(quantity: Q, value: f64) -> Text {
    Text::figures(super::figure(Units::default(), quantity, value))
}

/// By which methods, by their ids.
fn by(fused: &Fused) -> Text {
    Text::name(fused.method_ids.join(", "))
}

fn test_one_sample() -> Text {
    say!("care-one-sample-advice", "Test free and total chlorine again in one sample.")
}

fn apart(a: &Fused, b: &Fused) -> f64 {
    (a.value - b.value) / a.standard_error.hypot(b.standard_error)
}

fn doubt(quantities: Vec<Q>, what: Text, advice: Text) -> Finding {
    Finding { weight: Weight::Doubt, quantities, what, advice }
}

fn part_of_whole(part: &Fused, whole: &Fused, advice: Text) -> Option<Finding> {
    (apart(part, whole) > CONTRADICTION).then(|| {
        doubt(
            vec![part.quantity, whole.quantity],
            say!(
                "care-part-above-whole",
                "{part} ({value}, by {method}) is above {whole} ({most}, by {other}), which contains it: one of them is wrong.",
                value = figure(part.quantity, part.value),
                method = by(part),
                most = figure(whole.quantity, whole.value),
                other = by(whole),
                part = part.quantity.said().capital(),
                whole = whole.quantity.said()
            ),
            advice,
        )
    })
}

fn combined_against_difference(combined: &Fused, derived: &Fused) -> Option<Finding> {
    (apart(combined, derived).abs() > CONTRADICTION).then(|| {
        doubt(
            vec![Q::CombinedChlorine, Q::TotalChlorine, Q::FreeChlorine],
            say!(
                "care-combined-difference",
                "Combined chlorine was read as {read}, but total less free chlorine is {difference}.",
                read = figure(Q::CombinedChlorine, combined.value),
                difference = figure(Q::CombinedChlorine, derived.value)
            ),
            test_one_sample(),
        )
    })
}

fn salt_against_conductivity(
    salt: &Fused,
    conductivity: &Fused,
    expected: impl Fn(f64) -> f64,
) -> Option<Finding> {
    let expected_ms_cm = expected(salt.value);
    // The slope carries the salt's error over to conductivity.
    let step = salt.standard_error.max(1.0);
    let slope = (expected(salt.value + step) - expected_ms_cm) / step;
    let error = (slope * salt.standard_error)
        .hypot(EXPECTED_ERROR * expected_ms_cm)
        .hypot(conductivity.standard_error);
    let off = (conductivity.value - expected_ms_cm) / error;
    if !off.is_finite() || off.abs() <= CONTRADICTION {
        return None;
    }
    let what = say!(
        "care-salt-conductivity",
        "Salt of {value} (by {method}) would give {expected}, but the conductivity is {read} (by {other}).",
        value = figure(Q::Salt, salt.value),
        method = by(salt),
        expected = figure(Q::Conductivity, expected_ms_cm),
        read = figure(Q::Conductivity, conductivity.value),
        other = by(conductivity)
    );
    let quantities = vec![Q::Salt, Q::Conductivity];
    if salt.only_display {
        return Some(doubt(
            quantities,
            say!(
                "care-salt-display",
                "{what} The display or its cell is suspect (scaled, worn, cold or wrongly set).",
                what = what
            ),
            say!(
                "care-salt-display-advice",
                "Do not add salt on the display's word: confirm with a chloride strip or titration, then look at the cell."
            ),
        ));
    }
    Some(doubt(
        quantities,
        what,
        say!(
            "care-salt-conductivity-advice",
            "Repeat the chloride test with a new strip of a known lot, and check the meter in a standard solution."
        ),
    ))
}

/// Cyanurate and hypochlorite hold alkalinity by themselves at a pH; less than that cannot be titrated.
fn alkalinity_room(
    ph: &Fused,
    alkalinity: &Fused,
    cyanuric: Option<(f64, f64)>,
    free_chlorine: f64,
    context: &Context,
) -> Option<Finding> {
    let (cyanuric_acid, cyanuric_error) = cyanuric.or(context.cyanuric_acid_mg_l.map(|c| (c, 0.0)))?;
    let at = Equilibria::at(Celsius(context.temperature_c)).ok()?;
    let held = |ph: f64, cyanuric_acid: f64| -> Option<f64> {
        let salt = mol_kg_from_mg_l(context.salt_mg_l.unwrap_or(0.0), molar_mass::NACL);
        let totals = Totals {
            sodium: salt,
            chloride: salt,
            cyanurate: mol_kg_from_mg_l(cyanuric_acid.max(0.0), molar_mass::CYANURIC_ACID),
            free_chlorine: mol_kg_from_mg_l(free_chlorine.max(0.0), molar_mass::CL2),
            ..Totals::default()
        };
        let water = at.with_alkalinity_of(&totals, Ph(ph)).ok()?;
        Some(mg_l_caco3_from_eq_kg(water.totals.alkalinity))
    };
    let least = held(ph.value, cyanuric_acid)?;
    let by_cyanuric = held(ph.value, cyanuric_acid + cyanuric_error)? - least;
    let by_ph = held(ph.value + ph.standard_error, cyanuric_acid)? - least;
    let error = alkalinity.standard_error.hypot(by_cyanuric).hypot(by_ph);
    (least - alkalinity.value > CONTRADICTION * error).then(|| {
        doubt(
            vec![Q::TotalAlkalinity, Q::Ph, Q::CyanuricAcid],
            say!(
                "care-no-room",
                "Total alkalinity of {alkalinity} is less than cyanuric acid ({cyanuric}) and chlorine alone hold at pH {ph} ({least} mg/L): \
                 one of the three is wrong.",
                alkalinity = figure(Q::TotalAlkalinity, alkalinity.value),
                cyanuric = figure(Q::CyanuricAcid, cyanuric_acid),
                ph = figures!("{:.1}", ph.value),
                least = figures!("{least:.0}")
            ),
            say!(
                "care-no-room-advice",
                "Test cyanuric acid in a diluted sample, and pH and alkalinity by another kit."
            ),
        )
    })
}

/// Whether a complete analysis adds up: charges of cations and anions within 5 % of all charges.
/// Only for an analysis that names every major ion; an incomplete one never adds up.
pub fn charge_balance(analysis: &Speciation) -> Option<Finding> {
    let percent = analysis.charge_imbalance_percent();
    (percent.abs() > CHARGE_PERCENT).then(|| {
        let excess = figures!("{:.0}", percent.abs());
        let what = if percent > 0.0 {
            say!(
                "care-more-cations",
                "The analysis has {percent} % more charge of cations than of their counterpart.",
                percent = excess
            )
        } else {
            say!(
                "care-more-anions",
                "The analysis has {percent} % more charge of anions than of their counterpart.",
                percent = excess
            )
        };
        doubt(
            vec![Q::TotalAlkalinity, Q::CalciumHardness, Q::Salt],
            what,
            say!(
                "care-charge-advice",
                "Look for an ion that is missing or on another basis (as CaCO3, as N, as NaCl)."
            ),
        )
    })
}
