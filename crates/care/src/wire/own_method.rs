//! Test kits of the user's own.

use crate::method::{ChlorideBasis, ElectrodeCalibration, LotTable, Method, ProbeCalibration, ProbeLaw};
use crate::quantity::Quantity;
use crate::wire::case_shape::MethodIn;
use crate::wire::product::Fault;

/// The method; a fault if its fields do not fit its kind.
pub(crate) fn method(m: &MethodIn) -> Result<Method, Fault> {
    belongs(m)?;
    let method = of_kind(m)?;
    method.check().map_err(|e| ("id", format!("\"{}\" {e}", m.id), String::new()))?;
    Ok(method)
}

fn of_kind(m: &MethodIn) -> Result<Method, Fault> {
    let name = m.name.clone().unwrap_or_else(|| m.id.replace('-', " "));
    let id = m.id.clone();
    match m.kind.as_str() {
        "drop-titration" => {
            let quantity = m.quantity.as_deref().and_then(Quantity::from_id);
            let quantity = quantity.ok_or_else(|| missing("quantity", "what it measures"))?;
            let per_drop = m.per_drop.ok_or_else(|| missing("per_drop", "what one drop stands for"))?;
            let sample_ml = m.sample_ml.ok_or_else(|| missing("sample_ml", "the sample's volume"))?;
            Ok(Method::drop_titration(id, name, quantity, sample_ml, per_drop))
        }
        "chloride-strip" => {
            let table =
                m.table.as_ref().ok_or_else(|| missing("table", "the lot's rows of [scale units, mg/L]"))?;
            let rows: Vec<(f64, f64)> =
                table.iter().filter_map(|r| Some((*r.first()?, *r.get(1)?))).collect();
            let basis = match m.basis.as_deref() {
                Some("chloride") => ChlorideBasis::Chloride,
                _ => ChlorideBasis::SodiumChloride,
            };
            let lot = LotTable::new(m.lot.clone().unwrap_or_default(), basis, &rows)
                .map_err(|e| ("table", format!("is not a strip's table: {e}"), String::new()))?;
            Ok(Method::chloride_strip(id, name, lot))
        }
        "ph-electrode" => Ok(Method::ph_electrode(
            id,
            name,
            ElectrodeCalibration {
                age_days: m
                    .calibration_age_days
                    .ok_or_else(|| missing("calibration_age_days", "days since its calibration"))?,
                offset_ph: m.offset_ph.unwrap_or(0.0),
                slope: m.slope_percent.unwrap_or(100.0) / 100.0,
            },
        )),
        kind => {
            let law = if kind == "redox-probe" { ProbeLaw::Redox } else { ProbeLaw::Amperometric };
            let calibration = ProbeCalibration {
                ph: m.set_at_ph.ok_or_else(|| missing("set_at_ph", "the pH in which it was set"))?,
                temperature_c: m.set_at_temperature_c.ok_or_else(|| {
                    missing("set_at_temperature_c", "the water temperature at which it was set")
                })?,
                free_chlorine_mg_l: m.set_at_free_chlorine_mg_l,
                cyanuric_acid_mg_l: m.set_at_cyanuric_acid_mg_l.unwrap_or(0.0),
            };
            Ok(Method::chlorine_probe(id, name, law, calibration))
        }
    }
}

fn missing(field: &'static str, what: &str) -> Fault {
    (field, "is missing".into(), format!("{what} is needed"))
}

/// Fields of another kind are a misunderstanding, not decoration.
fn belongs(m: &MethodIn) -> Result<(), Fault> {
    let fields: [(&'static str, bool, &str); 13] = [
        ("quantity", m.quantity.is_some(), "drop-titration"),
        ("sample_ml", m.sample_ml.is_some(), "drop-titration"),
        ("per_drop", m.per_drop.is_some(), "drop-titration"),
        ("lot", m.lot.is_some(), "chloride-strip"),
        ("basis", m.basis.is_some(), "chloride-strip"),
        ("table", m.table.is_some(), "chloride-strip"),
        ("calibration_age_days", m.calibration_age_days.is_some(), "ph-electrode"),
        ("offset_ph", m.offset_ph.is_some(), "ph-electrode"),
        ("slope_percent", m.slope_percent.is_some(), "ph-electrode"),
        ("set_at_ph", m.set_at_ph.is_some(), "probe"),
        ("set_at_temperature_c", m.set_at_temperature_c.is_some(), "probe"),
        ("set_at_free_chlorine_mg_l", m.set_at_free_chlorine_mg_l.is_some(), "probe"),
        ("set_at_cyanuric_acid_mg_l", m.set_at_cyanuric_acid_mg_l.is_some(), "probe"),
    ];
    match fields.iter().find(|(_, given, kind)| *given && !m.kind.ends_with(kind)) {
        Some((field, _, kind)) => {
            Err((field, format!("is given for kind = \"{}\"", m.kind), format!("it belongs to a {kind}")))
        }
        None => Ok(()),
    }
}
