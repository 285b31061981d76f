//! The default bands. Each row: low / aim low – aim high / high, hard limits, source.

use super::{Band, Place, Regime};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};

/// low, aim low, aim high, high.
type Edges = (f64, f64, f64, f64);

/// Its source is a message where it tells a practice; the names of codes and books stay as they are.
fn band(edges: Edges, hard: (Option<f64>, Option<f64>), source: impl Into<Text>) -> Option<Band> {
    let (low, aim_low, aim_high, high) = edges;
    let (hard_low, hard_high) = hard;
    Some(Band { low, aim_low, aim_high, high, hard_low, hard_high, source: source.into(), by_user: false })
}

const NONE: (Option<f64>, Option<f64>) = (None, None);

/// The default band of a quantity, `None` where it does not apply (chlorine in a bromine tub, salt without a cell) or
/// where no figure stands by itself (redox, dissolved solids).
pub fn default_band(quantity: Q, regime: Regime, place: Place) -> Option<Band> {
    match quantity {
        Q::FreeChlorine => free_chlorine(regime, place),
        Q::TotalBromine => total_bromine(regime, place),
        Q::CombinedChlorine => combined_chlorine(regime, place),
        Q::Ph => ph(place),
        Q::TotalAlkalinity => total_alkalinity(regime, place),
        Q::CalciumHardness => calcium_hardness(regime, place),
        Q::CyanuricAcid => cyanuric_acid(regime, place),
        Q::Salt => match regime {
            Regime::SaltCell => band(
                (2000.0, 2200.0, 2500.0, 3000.0),
                NONE,
                say!(
                    "care-band-salt-practice",
                    "common practice for salt systems; the fitted cell's own window overrides"
                ),
            ),
            Regime::HandDosedChlorine | Regime::Bromine => None,
        },
        Q::SaturationIndex => saturation_index(regime, place),
        Q::Temperature => band(
            (36.0, 36.0, 39.0, 40.0),
            (None, Some(40.0)),
            "upper edge: CDC user information, CPSC 1996, New York 6-1.25; lower edge by common practice",
        ),
        Q::Iron => band(
            (0.0, 0.0, 0.1, 0.3),
            NONE,
            say!("care-band-iron-practice", "common practice: stains from 0.1 to 0.3 mg/L"),
        ),
        Q::Copper => band(
            (0.0, 0.0, 0.1, 0.2),
            NONE,
            say!("care-band-copper-practice", "common practice: stains and tints from 0.2 mg/L"),
        ),
        Q::Turbidity if place == Place::Public => band(
            (0.0, 0.0, 0.5, 1.0),
            NONE,
            "Montana 37.115.1308 table 6 (superseded): at most 1.0, ideal below 0.5 NTU",
        ),
        Q::Turbidity => band(
            (0.0, 0.0, 0.5, 1.5),
            NONE,
            "EN 17125-type table in a consumer instruction: at most 1.5, better below 0.5 NTU",
        ),
        Q::TotalChlorine
        | Q::TotalHardness
        | Q::Borate
        | Q::Phosphate
        | Q::DissolvedSolids
        | Q::Conductivity
        | Q::Redox => None,
    }
}

fn free_chlorine(regime: Regime, place: Place) -> Option<Band> {
    if regime == Regime::Bromine {
        return None;
    }
    match place {
        Place::Home => band(
            (3.0, 3.0, 5.0, 8.0),
            (Some(1.0), Some(10.0)),
            "at least 3: CDC for hot tubs and HSG282, the safer figure; aim 3-5: handbooks; hard limits 1 (WHO 2007) and 10 \
             (Model Aquatic Health Code, from memory)",
        ),
        Place::Rental => band(
            (3.0, 3.0, 5.0, 5.0),
            (Some(3.0), Some(10.0)),
            "3-5: HSG282 (UK 2017), read in a trade note; 10 as the upper bathing limit: Model Aquatic Health Code, from memory",
        ),
        Place::Public => band(
            (3.0, 3.0, 6.0, 10.0),
            (Some(3.0), Some(10.0)),
            "3-10: CDC Legionella module for hot tubs (read in the trade press); aim by common practice",
        ),
    }
}

fn total_bromine(regime: Regime, place: Place) -> Option<Band> {
    if regime != Regime::Bromine {
        return None;
    }
    match place {
        Place::Home => band(
            (3.0, 4.0, 6.0, 8.0),
            (Some(2.0), Some(10.0)),
            "aim 4-6: HSG282 and WHO 2007; hard limits 2 and 10: EN 17125-type table and Montana table 6 (superseded)",
        ),
        Place::Rental => band(
            (4.0, 4.0, 6.0, 6.0),
            (Some(4.0), Some(8.0)),
            "4-6: HSG282 (UK 2017), read in a trade note; 8: Model Aquatic Health Code, from memory",
        ),
        Place::Public => band(
            (4.0, 4.0, 6.0, 8.0),
            (Some(4.0), Some(8.0)),
            "4-8: CDC Legionella module for hot tubs and Model Aquatic Health Code, from memory",
        ),
    }
}

fn combined_chlorine(regime: Regime, place: Place) -> Option<Band> {
    match (regime, place) {
        (Regime::Bromine, _) => None,
        (_, Place::Public) => band(
            (0.0, 0.0, 0.2, 0.4),
            (None, Some(1.0)),
            "at most 0.4: ANSI/APSP/ICC-11 2019 (trade news); closed above 1.0: New South Wales schedule 1",
        ),
        (_, Place::Home | Place::Rental) => band(
            (0.0, 0.0, 0.2, 0.5),
            NONE,
            "at most 0.5: Montana 37.115.1308 table 6 (superseded) and older handbooks",
        ),
    }
}

fn ph(place: Place) -> Option<Band> {
    // Hard limits: within the Model Aquatic Health Code's closing figures (below 6.5, above 8.0, from memory).
    let hard = (Some(6.8), Some(8.0));
    match place {
        Place::Home | Place::Public => band(
            (7.0, 7.2, 7.6, 7.8),
            hard,
            "7.0-7.8: CDC operator page; aim by handbooks; hard limits 6.8 (EN 17125-type table) and 8.0 (Model Aquatic Health \
             Code, from memory)",
        ),
        Place::Rental => band(
            (7.0, 7.2, 7.4, 7.6),
            hard,
            "7.0-7.6: HSG282 (UK 2017), read in a trade note; hard limits 6.8 (EN 17125-type table) and 8.0 (Model Aquatic \
             Health Code, from memory)",
        ),
    }
}

fn total_alkalinity(regime: Regime, place: Place) -> Option<Band> {
    let salt_cell = say!(
        "care-band-alkalinity-practice",
        "common practice for salt cells: low, because the cathode scales first and high alkalinity drives pH up"
    );
    let handbooks = say!("care-band-handbooks", "handbooks, upper edge by common practice");
    match (regime, place) {
        (Regime::SaltCell, Place::Home) => band((50.0, 60.0, 80.0, 120.0), NONE, salt_cell),
        (Regime::SaltCell, Place::Rental) => band((60.0, 60.0, 80.0, 120.0), NONE, salt_cell),
        (Regime::HandDosedChlorine, Place::Home) => band((60.0, 80.0, 100.0, 150.0), NONE, handbooks),
        (Regime::Bromine, Place::Home) => band((60.0, 80.0, 120.0, 150.0), NONE, handbooks),
        (Regime::HandDosedChlorine | Regime::Bromine, Place::Rental) => {
            band((60.0, 80.0, 120.0, 180.0), NONE, "60-180: ANSI/APSP/ICC-11 2019, page 34")
        }
        (_, Place::Public) => {
            band((60.0, 80.0, 100.0, 180.0), NONE, "60-180: ANSI/APSP/ICC-11 2019, page 34; aim by handbooks")
        }
    }
}

fn calcium_hardness(regime: Regime, place: Place) -> Option<Band> {
    match (regime, place) {
        (_, Place::Public) => {
            band((100.0, 150.0, 250.0, 800.0), NONE, "ANSI/APSP/ICC-11 2019, page 34 (spas)")
        }
        (Regime::SaltCell, Place::Home | Place::Rental) => band(
            (50.0, 100.0, 175.0, 250.0),
            NONE,
            say!("care-band-calcium-practice", "common practice for salt cells: the cathode scales first"),
        ),
        (Regime::HandDosedChlorine | Regime::Bromine, Place::Home | Place::Rental) => {
            band((75.0, 125.0, 250.0, 400.0), NONE, say!("care-band-practice", "common practice"))
        }
    }
}

fn cyanuric_acid(regime: Regime, place: Place) -> Option<Band> {
    match (regime, place) {
        (_, Place::Public) => band(
            (0.0, 0.0, 0.0, 0.0),
            NONE,
            "none in public spas: New South Wales schedule 1; Model Aquatic Health Code, from memory",
        ),
        (_, Place::Rental) | (Regime::Bromine, Place::Home) => band(
            (0.0, 0.0, 0.0, 0.0),
            NONE,
            say!(
                "care-band-no-cyanuric",
                "none: common practice (holds chlorine back, does nothing for bromine)"
            ),
        ),
        (Regime::SaltCell, Place::Home) => band(
            (0.0, 0.0, 20.0, 30.0),
            NONE,
            say!(
                "care-band-cyanuric-cell",
                "common practice: at 30 mg/L hypochlorous acid is some thirty times less than without"
            ),
        ),
        (Regime::HandDosedChlorine, Place::Home) => band(
            (0.0, 0.0, 30.0, 50.0),
            NONE,
            say!("care-band-cyanuric-hand", "common practice: warn from 30, replace water from 50 mg/L"),
        ),
    }
}

fn saturation_index(regime: Regime, place: Place) -> Option<Band> {
    match (regime, place) {
        (_, Place::Public) => band(
            (-0.3, -0.3, 0.5, 0.5),
            NONE,
            say!("care-band-operators", "operators' handbooks, from memory"),
        ),
        (Regime::SaltCell, _) => band(
            (-0.4, -0.3, 0.1, 0.3),
            NONE,
            say!(
                "care-band-index-cell",
                "common practice for salt cells, calcite index at the tub's temperature"
            ),
        ),
        (Regime::HandDosedChlorine | Regime::Bromine, _) => band(
            (-0.5, -0.3, 0.3, 0.3),
            NONE,
            say!("care-band-index", "common practice, calcite index at the tub's temperature"),
        ),
    }
}

/// The salt band of a fitted cell: its window (lowest, highest, mg/L as NaCl), the aim between a quarter and five
/// eighths of it (2000-2800 gives 2200-2500): salt only goes down by replacing water.
pub fn salt_band(window_mg_l: (f64, f64)) -> Band {
    let (low, high) = window_mg_l;
    let width = high - low;
    Band {
        low,
        aim_low: low + 0.25 * width,
        aim_high: low + 0.625 * width,
        high,
        hard_low: None,
        hard_high: None,
        source: say!("care-band-cell", "the fitted cell's own window; aim in its lower middle"),
        by_user: false,
    }
}
