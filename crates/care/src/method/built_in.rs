//! The methods that everyone has, as data. Error figures are standard errors, each method's source beside them.

use std::borrow::Cow;

use super::scales::*;
use super::{Kind, Method, ProbeLaw, Scale, Standing};
use crate::quantity::Quantity;

/// Murray & Lantagne 2015, J. Water Health 13:79: mean error over 0-4 mg/L from 5.1 % (photometer) to 40.5 % (strips).
const MURRAY: &str = "Murray & Lantagne 2015, J. Water Health 13:79 (abstract): mean error from 5.1 % for a photometer \
                      to 40.5 % for strips, over 0 to 4 mg/L of chlorine; the other quantities from memory";
const DROPS: &str = "half a drop about the middle of the last one, and 5 % for the sample's volume and the reagent (from memory of kits)";
const MEMORY: &str = "from memory of kits and handbooks";
const PRACTICE: &str = "common practice";

const fn method(
    id: &'static str,
    name: &'static str,
    kind: Kind,
    scales: &'static [Scale],
    error_source: &'static str,
    standing: Standing,
) -> Method {
    Method {
        id: Cow::Borrowed(id),
        name: Cow::Borrowed(name),
        kind,
        scales: Cow::Borrowed(scales),
        error_source: Cow::Borrowed(error_source),
        standing,
    }
}

const PRACTICED: Standing = Standing::CommonPractice;
const DROP_KIT_10: Kind = Kind::DropTitration { sample_ml: 25.0, per_drop: 10.0 };
/// Every built-in method.
pub static BUILT_IN: &[Method] = &[
    method("drop-titration-10", "drop titration, 10 mg/L a drop", DROP_KIT_10, &DROPS_10, DROPS, PRACTICED),
    method(
        "drop-titration-25ml-10",
        "drop titration of 25 mL, 10 mg/L a drop",
        DROP_KIT_10,
        &DROPS_10,
        DROPS,
        PRACTICED,
    ),
    method(
        "drop-titration-10ml-25",
        "drop titration of 10 mL, 25 mg/L a drop",
        Kind::DropTitration { sample_ml: 10.0, per_drop: 25.0 },
        &DROPS_25,
        DROPS,
        PRACTICED,
    ),
    method(
        "salt-drop-titration-200",
        "drop titration of chloride, 200 mg/L of salt a drop",
        Kind::DropTitration { sample_ml: 10.0, per_drop: 200.0 },
        &SALT_DROPS,
        DROPS,
        PRACTICED,
    ),
    method(
        "fas-dpd-0.2",
        "FAS-DPD drop titration of 25 mL, 0.2 mg/L a drop",
        Kind::DropTitration { sample_ml: 25.0, per_drop: 0.2 },
        &FAS_02,
        DROPS,
        PRACTICED,
    ),
    method(
        "fas-dpd-0.5",
        "FAS-DPD drop titration of 10 mL, 0.5 mg/L a drop",
        Kind::DropTitration { sample_ml: 10.0, per_drop: 0.5 },
        &FAS_05,
        DROPS,
        PRACTICED,
    ),
    method(
        "comparator",
        "colour comparator",
        Kind::Comparator,
        &COMPARATOR,
        "pH 0.1 and chlorine 15 % for a practised eye (from memory)",
        Standing::FromMemory,
    ),
    method(
        "phenol-red",
        "phenol red comparator",
        Kind::Comparator,
        &PHENOL_RED,
        "pH 0.1 for a practised eye, 0.2 for any other (from memory)",
        Standing::FromMemory,
    ),
    method(
        "dpd-comparator",
        "DPD colour comparator",
        Kind::Comparator,
        &DPD_COMPARATOR,
        "15 % for a practised eye, between the photometer's and the strips' figures of Murray & Lantagne 2015 (from memory)",
        Standing::FromMemory,
    ),
    method(
        "dpd-photometer",
        "DPD photometer",
        Kind::Photometer,
        &DPD_PHOTOMETER,
        MURRAY,
        Standing::Published,
    ),
    method("photometer", "photometer", Kind::Photometer, &PHOTOMETER, MURRAY, Standing::Published),
    method("strip", "test strip with colour pads", Kind::Strip, &STRIP, MURRAY, Standing::Published),
    method(
        "chloride-strip",
        "capillary chloride strip",
        Kind::ChlorideStrip { lot: None },
        &CHLORIDE_STRIP,
        "10 %, or half a tick of the scale if that is more (common practice)",
        PRACTICED,
    ),
    method(
        "turbidity-tube",
        "turbidity tube (melamine)",
        Kind::TurbidityTube,
        &TUBE,
        "10 to 15 mg/L, about 20 % (from memory); Downes et al. 1984, Water Res. 18:277 finds turbidimetry less precise than other methods",
        Standing::FromMemory,
    ),
    method(
        "o-tolidine",
        "o-tolidine comparator",
        Kind::Comparator,
        &ORTHOTOLIDINE,
        "20 to 40 % (from memory)",
        Standing::FromMemory,
    ),
    method(
        "ph-electrode",
        "glass pH electrode",
        Kind::PhElectrode { calibration: None },
        &PH_ELECTRODE,
        "0.05 after two buffers, 0.1 a week of drift (from memory)",
        Standing::FromMemory,
    ),
    method(
        "amperometric-probe",
        "amperometric chlorine probe",
        Kind::ChlorineProbe { law: ProbeLaw::Amperometric, calibration: None },
        &AMPEROMETRIC,
        "2 to 5 % after setting against DPD (from memory)",
        Standing::FromMemory,
    ),
    method(
        "redox-probe",
        "redox probe",
        Kind::ChlorineProbe { law: ProbeLaw::Redox, calibration: None },
        &REDOX,
        "sensors of one kind differ by 5 mV (Steininger & Pareja 1996, abstract); 15 mV with its setting and film, of which 9 mV are a factor of 2 in chlorine by Nernst's slope (from memory)",
        Standing::FromMemory,
    ),
    method(
        "salt-meter",
        "salt meter (conductivity)",
        Kind::Conductivity { compensated: true, per_c: 0.02 },
        &SALT_METER,
        "10 % as sodium chloride in mixed ions (from memory)",
        Standing::FromMemory,
    ),
    method(
        "conductivity-meter",
        "conductivity meter with temperature compensation",
        Kind::Conductivity { compensated: true, per_c: 0.02 },
        &CONDUCTIVITY,
        "1 % of the instrument, 0.2 % per °C of its compensation (from memory)",
        Standing::FromMemory,
    ),
    method(
        "conductivity-meter-uncompensated",
        "conductivity meter without temperature compensation",
        Kind::Conductivity { compensated: false, per_c: 0.02 },
        &CONDUCTIVITY,
        "1 % of the instrument, 0.2 % per °C of the compensation done here (from memory)",
        Standing::FromMemory,
    ),
    method("thermometer", "thermometer", Kind::Thermometer, &THERMOMETER, PRACTICE, PRACTICED),
    method(
        "report",
        "supplier's report",
        Kind::Stated,
        &REPORT,
        "8 %: a yearly mean against the water of the day (common practice)",
        PRACTICED,
    ),
    method(
        "laboratory",
        "laboratory",
        Kind::Stated,
        &LABORATORY,
        "3 %; relative standard deviation 2.9 % for hardness by EDTA (Standard Methods 2340 C, from memory)",
        Standing::FromMemory,
    ),
    method(
        "display",
        "the controller's display",
        Kind::Display,
        &DISPLAY,
        "15 %: its cell may be scaled, worn or cold (common practice)",
        PRACTICED,
    ),
    method("visual", "by eye", Kind::Comparator, &VISUAL, MEMORY, Standing::FromMemory),
];

/// The id of the kit that most owners would use for a quantity, where nobody says which (common practice).
pub fn usual(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => "comparator",
        Quantity::FreeChlorine
        | Quantity::CombinedChlorine
        | Quantity::TotalChlorine
        | Quantity::TotalBromine => "dpd-comparator",
        Quantity::TotalAlkalinity | Quantity::CalciumHardness | Quantity::TotalHardness => {
            "drop-titration-10"
        }
        Quantity::CyanuricAcid => "turbidity-tube",
        Quantity::Salt => "salt-meter",
        Quantity::Conductivity => "conductivity-meter",
        Quantity::Redox => "redox-probe",
        Quantity::Temperature => "thermometer",
        _ => "laboratory",
    }
}
