//! Who says otherwise: the conflicts between authorities and the trade, shown beside the default so that the user can
//! choose.

use super::{Place, Regime};
use crate::amount::Units;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// What somebody says a quantity should be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Said {
    /// Least, if they name one.
    pub low: Option<f64>,
    /// Most, if they name one.
    pub high: Option<f64>,
    /// Who.
    pub who: &'static str,
    /// Said of water above this temperature only, °C.
    pub above_c: Option<f64>,
    /// Counted from the source water's own figure.
    pub above_source: bool,
    /// In what, and how it was read.
    pub source: &'static str,
}

const fn said(low: Option<f64>, high: Option<f64>, who: &'static str, source: &'static str) -> Said {
    Said { low, high, who, above_c: None, above_source: false, source }
}

impl Said {
    /// Only above a temperature.
    const fn above(self, celsius: f64) -> Said {
        Said { above_c: Some(celsius), ..self }
    }

    /// Counted from the source water's own figure.
    const fn above_source(self) -> Said {
        Said { above_source: true, ..self }
    }

    /// Who says it, and of which water.
    pub fn whom(&self, units: Units) -> Text {
        match self.above_c {
            Some(c) => say!(
                "care-whom-above",
                "{who}, above {temperature}",
                who = self.who,
                temperature = Text::figures(units.temperature(c))
            ),
            None => Text::from(self.who),
        }
    }
}

const TRADE: &str = "common practice, no published source";

static CHLORINE_SALT_CELL_HOME: &[Said] = &[
    said(Some(1.0), Some(3.0), "the trade, home tubs with a salt cell", TRADE),
    said(Some(3.0), Some(10.0), "CDC (USA), hot tubs", "Legionella module, read in the trade press 2023"),
    said(Some(3.0), Some(5.0), "HSG282 (UK)", "2017, read in a trade note"),
    said(
        Some(2.0),
        Some(3.0),
        "WHO, hot tubs",
        "Guidelines for safe recreational water, vol. 2, from memory",
    ),
    said(
        Some(0.3),
        Some(1.5),
        "EN 17125-type table (EU), home spas",
        "active chlorine without cyanurate; one consumer instruction",
    ),
];
static CHLORINE_HOME: &[Said] = &[
    said(Some(3.0), Some(10.0), "CDC (USA), hot tubs", "Legionella module, read in the trade press 2023"),
    said(Some(3.0), Some(5.0), "HSG282 (UK)", "2017, read in a trade note"),
    said(
        Some(2.0),
        Some(3.0),
        "WHO, hot tubs",
        "Guidelines for safe recreational water, vol. 2, from memory",
    ),
    said(Some(1.0), Some(3.0), "the trade, home tubs", TRADE),
    said(
        Some(0.3),
        Some(1.5),
        "EN 17125-type table (EU), home spas",
        "active chlorine without cyanurate; one consumer instruction",
    ),
];
static CHLORINE_PUBLIC: &[Said] = &[
    said(Some(3.0), Some(10.0), "CDC (USA), hot tubs", "Legionella module, read in the trade press 2023"),
    said(Some(3.0), Some(5.0), "HSG282 (UK), commercial and let", "2017, read in a trade note"),
    said(Some(2.0), Some(10.0), "ANSI/APSP/ICC-11 2019 (USA)", "from memory"),
    said(
        Some(2.0),
        Some(10.0),
        "New South Wales (Australia); 1.0 more above pH 7.6",
        "Public Health Regulation 2012, schedule 1",
    ),
    said(Some(1.5), Some(5.0), "New York (USA), in use", "6-1.25"),
    said(Some(2.0), Some(8.0), "Iowa (USA)", "641-15.51"),
    said(Some(2.0), Some(3.0), "Quebec (Canada)", "Q-2 r.39 s.6").above(35.0),
    said(
        Some(0.7),
        Some(1.0),
        "DIN 19643 (Germany)",
        "with flocculation, filtration and dilution, no cyanurate: not transferable to a portable tub",
    ),
];
static BROMINE: &[Said] = &[
    said(Some(4.0), Some(8.0), "CDC (USA), hot tubs", "Legionella module, from memory"),
    said(Some(4.0), Some(6.0), "HSG282 (UK)", "2017, read in a trade note"),
    said(Some(3.0), Some(6.0), "New York (USA)", "6-1.25"),
    said(Some(2.0), Some(10.0), "Montana (USA)", "37.115.1308 table 6, superseded"),
    said(Some(3.0), Some(5.0), "Quebec (Canada)", "Q-2 r.39 s.6").above(35.0),
    said(Some(2.0), Some(4.0), "EN 17125-type table (EU), home spas", "one consumer instruction"),
];
static COMBINED: &[Said] = &[
    said(None, Some(0.2), "DIN 19643 (Germany); Anne Arundel county (USA)", "limit tables"),
    said(None, Some(0.4), "ANSI/APSP/ICC-11 2019 (USA)", "trade news"),
    said(None, Some(0.5), "Montana (USA)", "37.115.1308 table 6, superseded"),
    said(None, Some(1.0), "New South Wales (Australia)", "Public Health Regulation 2012, schedule 1"),
];
static PH: &[Said] = &[
    said(Some(7.0), Some(7.8), "CDC (USA)", "operator page"),
    said(Some(7.0), Some(7.6), "HSG282 (UK)", "2017, read in a trade note"),
    said(Some(6.8), Some(7.6), "EN 17125-type table (EU); SIA 385/9 (Switzerland)", "limit tables"),
    said(Some(6.5), Some(7.2), "DIN 19643 (Germany), with aluminium flocculation", "limit table"),
    said(Some(7.4), Some(7.6), "handbooks, ideal", "Montana 37.115.1308 table 6, superseded"),
    said(Some(7.2), Some(7.2), "the trade, best figure for a salt cell", TRADE),
];
static ALKALINITY: &[Said] = &[
    said(Some(60.0), Some(180.0), "ANSI/APSP/ICC-11 2019 (USA)", "page 34"),
    said(
        Some(80.0),
        Some(100.0),
        "handbooks, ideal with hypochlorite or salt",
        "Montana 37.115.1308 table 6, superseded",
    ),
    said(Some(60.0), Some(120.0), "EN 17125-type table (EU)", "one consumer instruction"),
    said(Some(80.0), Some(200.0), "New South Wales (Australia)", "Public Health Regulation 2012, schedule 1"),
    said(Some(50.0), Some(80.0), "the trade, aerated salt tubs", "quieter pH; common practice"),
];
static CALCIUM: &[Said] = &[
    said(Some(100.0), Some(800.0), "ANSI/APSP/ICC-11 2019 (USA), spas", "page 34"),
    said(
        Some(150.0),
        Some(250.0),
        "EN 17125-type table (EU); ideal in ANSI/APSP/ICC-11",
        "one consumer instruction",
    ),
];
static CYANURIC: &[Said] = &[
    said(
        None,
        Some(0.0),
        "New South Wales (Australia) and Model Aquatic Health Code (USA), public spas",
        "schedule 1; the latter from memory",
    ),
    said(None, Some(0.0), "EN 17125-type table (EU): do not use", "one consumer instruction"),
    said(None, Some(150.0), "dichlor labels (USA)", "label text"),
];
static SALT: &[Said] = &[
    said(Some(2000.0), Some(3500.0), "the trade, salt cells of all kinds", TRADE),
    said(Some(2200.0), Some(2500.0), "the trade, home salt tubs; some water replaced above 3 000", TRADE),
];
static REDOX: &[Said] = &[
    said(
        Some(720.0),
        None,
        "New South Wales (Australia), automatic dosing",
        "never a proof that stands alone; against silver/silver chloride",
    ),
    said(Some(700.0), Some(880.0), "Iowa (USA)", "641-15.51"),
    said(Some(650.0), None, "Montana (USA)", "37.115.1308 table 6, superseded"),
    said(
        Some(750.0),
        None,
        "DIN 19643 (Germany), pH 6.5-7.3",
        "above 5 g/L of chloride find it by experiment",
    ),
];
static TEMPERATURE: &[Said] = &[
    said(None, Some(40.0), "CDC, CPSC, New York, Montana (USA)", "deaths at about 43 °C (CPSC)"),
    said(None, Some(38.0), "New South Wales (Australia)", "Public Health Regulation 2012, schedule 1"),
    said(None, Some(38.0), "the trade, in pregnancy and only after a doctor's advice", TRADE),
];
static SOLIDS: &[Said] = &[
    said(
        None,
        Some(1500.0),
        "Maine and Montana (USA)",
        "above the source water's; deliberate salt taken off first",
    )
    .above_source(),
    said(None, Some(1500.0), "Anchorage (USA), absolute", "16.15.260; without meaning in a salt tub"),
];

/// What authorities and the trade say of a quantity, the default among them.
pub fn also_said(quantity: Q, regime: Regime, place: Place) -> &'static [Said] {
    match (quantity, regime, place) {
        (Q::FreeChlorine | Q::CombinedChlorine, Regime::Bromine, _) => &[],
        (Q::FreeChlorine, Regime::SaltCell, Place::Home) => CHLORINE_SALT_CELL_HOME,
        (Q::FreeChlorine, _, Place::Home) => CHLORINE_HOME,
        (Q::FreeChlorine, _, _) => CHLORINE_PUBLIC,
        (Q::TotalBromine, Regime::Bromine, _) => BROMINE,
        (Q::CombinedChlorine, _, _) => COMBINED,
        (Q::Ph, _, _) => PH,
        (Q::TotalAlkalinity, _, _) => ALKALINITY,
        (Q::CalciumHardness, _, _) => CALCIUM,
        (Q::CyanuricAcid, _, _) => CYANURIC,
        (Q::Salt, Regime::SaltCell, _) => SALT,
        (Q::Redox, _, _) => REDOX,
        (Q::Temperature, _, _) => TEMPERATURE,
        (Q::DissolvedSolids, _, _) => SOLIDS,
        _ => &[],
    }
}
