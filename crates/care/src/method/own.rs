//! Methods that a user defines: a built-in one with a lot table, a calibration or another factor.

use std::borrow::Cow;

use super::scales::SAMPLE_ERROR;
use super::{
    ElectrodeCalibration, HALF_DROP, Kind, LotTable, Method, ProbeCalibration, ProbeLaw, Reagent, Scale,
    Standing, Step, find,
};
use crate::quantity::Quantity;

impl Method {
    /// A capillary chloride strip with the table of its lot.
    pub fn chloride_strip(id: impl Into<String>, name: impl Into<String>, lot: LotTable) -> Method {
        Method::like("chloride-strip", id, name, Kind::ChlorideStrip { lot: Some(lot) })
    }

    /// A pH electrode with its calibration.
    pub fn ph_electrode(
        id: impl Into<String>,
        name: impl Into<String>,
        calibration: ElectrodeCalibration,
    ) -> Method {
        Method::like("ph-electrode", id, name, Kind::PhElectrode { calibration: Some(calibration) })
    }

    /// A chlorine probe with the water in which it was set.
    pub fn chlorine_probe(
        id: impl Into<String>,
        name: impl Into<String>,
        law: ProbeLaw,
        calibration: ProbeCalibration,
    ) -> Method {
        let base = match law {
            ProbeLaw::Amperometric => "amperometric-probe",
            ProbeLaw::Redox => "redox-probe",
        };
        Method::like(base, id, name, Kind::ChlorineProbe { law, calibration: Some(calibration) })
    }

    /// A drop titration of one quantity with the user's own sample and factor.
    pub fn drop_titration(
        id: impl Into<String>,
        name: impl Into<String>,
        quantity: Quantity,
        sample_ml: f64,
        per_drop: f64,
    ) -> Method {
        let reagent = match quantity {
            Quantity::TotalAlkalinity => Reagent::Acid,
            Quantity::CalciumHardness => Reagent::EdtaCalcium,
            Quantity::TotalHardness => Reagent::EdtaTotal,
            Quantity::FreeChlorine | Quantity::TotalChlorine | Quantity::CombinedChlorine => Reagent::FasDpd,
            Quantity::TotalBromine => Reagent::FasDpd,
            Quantity::Salt => Reagent::Silver,
            _ => Reagent::Other,
        };
        Method {
            id: Cow::Owned(id.into()),
            name: Cow::Owned(name.into()),
            kind: Kind::DropTitration { sample_ml, per_drop },
            scales: Cow::Owned(vec![Scale {
                quantity,
                low: per_drop,
                high: quantity.possible().1,
                step: Step::Even(0.0),
                absolute_error: HALF_DROP * per_drop,
                relative_error: SAMPLE_ERROR,
                reagent,
            }]),
            error_source: Cow::Borrowed(
                "half a drop about the middle of the last one, and 5 % for the sample's volume and the reagent",
            ),
            standing: Standing::CommonPractice,
        }
    }

    fn like(base: &str, id: impl Into<String>, name: impl Into<String>, kind: Kind) -> Method {
        let (scales, error_source, standing) = find(&[], base)
            .map_or((Cow::Borrowed(&[][..]), Cow::Borrowed(""), Standing::User), |m| {
                (m.scales.clone(), m.error_source.clone(), m.standing)
            });
        Method {
            id: Cow::Owned(id.into()),
            name: Cow::Owned(name.into()),
            kind,
            scales,
            error_source,
            standing,
        }
    }
}
