//! The quantities that are read, banded and predicted, each with its unit and basis.

use crate::text::Text;

/// A quantity of tub water by its id in the machine contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// pH.
    Ph,
    /// Free chlorine, mg/L as Cl2, with what cyanurate holds.
    FreeChlorine,
    /// Combined chlorine, mg/L as Cl2.
    CombinedChlorine,
    /// Total chlorine, mg/L as Cl2.
    TotalChlorine,
    /// Total bromine, mg/L as Br2.
    TotalBromine,
    /// Total alkalinity as titrated, mg/L as CaCO3.
    TotalAlkalinity,
    /// Calcium hardness, mg/L as CaCO3.
    CalciumHardness,
    /// Calcium and magnesium hardness, mg/L as CaCO3.
    TotalHardness,
    /// Cyanuric acid, mg/L.
    CyanuricAcid,
    /// Salt by chloride, mg/L as NaCl.
    Salt,
    /// Borate, mg/L as B.
    Borate,
    /// Phosphate, mg/L as PO4.
    Phosphate,
    /// Iron, mg/L.
    Iron,
    /// Copper, mg/L.
    Copper,
    /// Dissolved solids, mg/L.
    DissolvedSolids,
    /// Conductivity at 25 °C, mS/cm.
    Conductivity,
    /// Redox potential against silver/silver chloride, mV.
    Redox,
    /// Turbidity, NTU.
    Turbidity,
    /// Water temperature, °C.
    Temperature,
    /// Calcite saturation index at the tub's temperature. Derived, never read.
    SaturationIndex,
}
use Quantity as Q;

/// Every quantity, readable ones first.
pub const ALL: [Quantity; 20] = [
    Q::Ph,
    Q::FreeChlorine,
    Q::CombinedChlorine,
    Q::TotalChlorine,
    Q::TotalBromine,
    Q::TotalAlkalinity,
    Q::CalciumHardness,
    Q::TotalHardness,
    Q::CyanuricAcid,
    Q::Salt,
    Q::Borate,
    Q::Phosphate,
    Q::Iron,
    Q::Copper,
    Q::DissolvedSolids,
    Q::Conductivity,
    Q::Redox,
    Q::Turbidity,
    Q::Temperature,
    Q::SaturationIndex,
];

impl Quantity {
    /// Its id in the machine contract.
    pub fn id(self) -> &'static str {
        match self {
            Q::Ph => "ph",
            Q::FreeChlorine => "free_chlorine",
            Q::CombinedChlorine => "combined_chlorine",
            Q::TotalChlorine => "total_chlorine",
            Q::TotalBromine => "total_bromine",
            Q::TotalAlkalinity => "total_alkalinity",
            Q::CalciumHardness => "calcium_hardness",
            Q::TotalHardness => "total_hardness",
            Q::CyanuricAcid => "cyanuric_acid",
            Q::Salt => "salt",
            Q::Borate => "borate",
            Q::Phosphate => "phosphate",
            Q::Iron => "iron",
            Q::Copper => "copper",
            Q::DissolvedSolids => "dissolved_solids",
            Q::Conductivity => "conductivity",
            Q::Redox => "redox",
            Q::Turbidity => "turbidity",
            Q::Temperature => "temperature",
            Q::SaturationIndex => "saturation_index",
        }
    }

    /// The quantity with this id.
    pub fn from_id(id: &str) -> Option<Quantity> {
        ALL.into_iter().find(|q| q.id() == id)
    }

    /// Its name in words.
    pub fn name(self) -> &'static str {
        match self {
            Q::Ph => "pH",
            Q::FreeChlorine => "free chlorine",
            Q::CombinedChlorine => "combined chlorine",
            Q::TotalChlorine => "total chlorine",
            Q::TotalBromine => "total bromine",
            Q::TotalAlkalinity => "total alkalinity",
            Q::CalciumHardness => "calcium hardness",
            Q::TotalHardness => "total hardness",
            Q::CyanuricAcid => "cyanuric acid",
            Q::Salt => "salt",
            Q::Borate => "borate",
            Q::Phosphate => "phosphate",
            Q::Iron => "iron",
            Q::Copper => "copper",
            Q::DissolvedSolids => "dissolved solids",
            Q::Conductivity => "conductivity",
            Q::Redox => "redox potential",
            Q::Turbidity => "turbidity",
            Q::Temperature => "temperature",
            Q::SaturationIndex => "saturation index",
        }
    }

    /// Its name for a sentence in any language.
    pub fn said(self) -> Text {
        Text::message(format!("care-q-{}", self.id().replace('_', "-")), self.name().to_string(), Vec::new())
    }

    /// Its unit, empty for pH and saturation index.
    pub fn unit(self) -> &'static str {
        match self {
            Q::Ph | Q::SaturationIndex => "",
            Q::Conductivity => "mS/cm",
            Q::Redox => "mV",
            Q::Turbidity => "NTU",
            Q::Temperature => "°C",
            _ => "mg/L",
        }
    }

    /// Decimals that a person needs.
    pub fn decimals(self) -> usize {
        match self {
            Q::Ph | Q::SaturationIndex | Q::Iron | Q::Copper | Q::Phosphate => 2,
            Q::FreeChlorine | Q::CombinedChlorine | Q::TotalChlorine | Q::TotalBromine => 1,
            Q::Conductivity | Q::Turbidity | Q::Temperature => 1,
            _ => 0,
        }
    }

    /// What is physically possible in a tub, lowest and highest: beyond it the entry is a slip of the pen.
    pub fn possible(self) -> (f64, f64) {
        match self {
            Q::Ph => (4.0, 11.0),
            Q::FreeChlorine | Q::CombinedChlorine | Q::TotalChlorine => (0.0, 100.0),
            Q::TotalBromine => (0.0, 200.0),
            Q::TotalAlkalinity => (0.0, 1000.0),
            Q::CalciumHardness | Q::TotalHardness => (0.0, 3000.0),
            Q::CyanuricAcid => (0.0, 500.0),
            Q::Salt | Q::DissolvedSolids => (0.0, 40_000.0),
            Q::Borate => (0.0, 200.0),
            Q::Phosphate | Q::Iron | Q::Copper => (0.0, 50.0),
            Q::Conductivity => (0.0, 60.0),
            Q::Redox => (-500.0, 1200.0),
            Q::Turbidity => (0.0, 1000.0),
            Q::Temperature => (0.0, 45.0),
            Q::SaturationIndex => (-10.0, 10.0),
        }
    }
}
