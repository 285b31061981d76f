//! Contract 5.2, the way in: the plain structs of a case file. What they become is in `case`, `product` and `entry`.

use crate::quantity;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// One tub: its source water, what is on the shelf, and what happened. One TOML file. Every number is plain: its unit is
/// in the field's name.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Case")]
pub struct CaseIn {
    /// The vessel.
    pub tub: TubIn,
    /// The analysis of the water that it is filled and topped up with. What is left out is unknown, not zero.
    pub source_water: Option<SourceWaterIn>,
    /// What can be dosed: at least one product.
    #[serde(default)]
    #[schemars(length(min = 1))]
    pub shelf: Vec<ProductIn>,
    /// The user's own bands by quantity; what is left out stays as the default.
    #[serde(default)]
    #[schemars(extend("propertyNames" = { "enum": quantity_ids() }))]
    pub band: BTreeMap<String, BandIn>,
    /// Test kits of the user's own.
    #[serde(default)]
    pub method: Vec<MethodIn>,
    /// What the kits read.
    #[serde(default)]
    pub reading: Vec<ReadingIn>,
    /// What was added.
    #[serde(default)]
    pub dose: Vec<DoseIn>,
    /// What else happened.
    #[serde(default)]
    pub event: Vec<EventIn>,
    /// A file beside this one with a long history: the same readings, doses and events as JSON objects, one a line,
    /// each with its `type` (`reading`, `dose`, `event`).
    pub entries: Option<String>,
    /// When the plan is made (RFC 3339; UTC without an offset); the latest entry if absent.
    #[schemars(extend("format" = "date-time"))]
    pub now: Option<String>,
    /// Which plan; found from the entries if absent.
    #[schemars(extend("enum" = ["start-up", "correction"]))]
    pub plan: Option<String>,
}

/// The vessel. Give exactly one of `volume_l` and `volume_gal`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Tub")]
pub struct TubIn {
    /// What it is called.
    pub name: Option<String>,
    /// Litres of water in it.
    #[schemars(range(min = 50.0, max = 100000.0))]
    pub volume_l: Option<f64>,
    /// US gallons of water in it.
    #[schemars(range(min = 13.0, max = 26000.0))]
    pub volume_gal: Option<f64>,
    /// Standard error of the volume, percent; 10 if absent, 3 if it was measured.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub volume_error_percent: Option<f64>,
    /// True if the volume was measured (hose meter, salt step), false if it is the maker's figure.
    pub volume_measured: Option<bool>,
    /// Water temperature in use, °C.
    #[schemars(range(min = 0.0, max = 45.0))]
    pub temperature_c: Option<f64>,
    /// Water temperature in use, °F; instead of `temperature_c`.
    #[schemars(range(min = 32.0, max = 113.0))]
    pub temperature_f: Option<f64>,
    /// How it is disinfected: by a salt cell, by chlorine dosed by hand, by bromine.
    #[schemars(extend("enum" = ["salt-cell", "chlorine", "bromine"]))]
    pub regime: String,
    /// Where it stands; `home` if absent.
    #[schemars(extend("enum" = ["home", "rental", "public"]))]
    pub place: Option<String>,
    /// Lowest and highest salt that the fitted cell accepts, mg/L as NaCl.
    #[schemars(length(min = 2, max = 2), inner(range(min = 0.0, max = 40000.0)))]
    pub cell_window_mg_l: Option<Vec<f64>>,
    /// Minutes of one pump cycle of the jets; 20 if absent.
    #[schemars(range(min = 1.0, max = 240.0))]
    pub pump_cycle_min: Option<f64>,
}

/// The source water's analysis.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "SourceWater")]
pub struct SourceWaterIn {
    /// What it is called, and who analysed it.
    pub name: Option<String>,
    /// Temperature at which the pH was measured, °C.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub temperature_c: Option<f64>,
    /// pH.
    #[schemars(range(min = 4.0, max = 11.0))]
    pub ph: Option<f64>,
    /// Dissolved inorganic carbon, mmol/L, instead of the pH.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub dic_mmol_l: Option<f64>,
    /// Total alkalinity, mg/L as CaCO3.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub total_alkalinity_mg_l_caco3: Option<f64>,
    /// Calcium, mg/L as Ca.
    #[schemars(range(min = 0.0, max = 1200.0))]
    pub calcium_mg_l: Option<f64>,
    /// Calcium hardness, mg/L as CaCO3, instead of `calcium_mg_l`.
    #[schemars(range(min = 0.0, max = 3000.0))]
    pub calcium_hardness_mg_l_caco3: Option<f64>,
    /// Magnesium, mg/L.
    #[schemars(range(min = 0.0, max = 2000.0))]
    pub magnesium_mg_l: Option<f64>,
    /// Sodium, mg/L.
    #[schemars(range(min = 0.0, max = 16000.0))]
    pub sodium_mg_l: Option<f64>,
    /// Potassium, mg/L.
    #[schemars(range(min = 0.0, max = 5000.0))]
    pub potassium_mg_l: Option<f64>,
    /// Chloride, mg/L.
    #[schemars(range(min = 0.0, max = 25000.0))]
    pub chloride_mg_l: Option<f64>,
    /// Sulfate, mg/L as SO4.
    #[schemars(range(min = 0.0, max = 5000.0))]
    pub sulfate_mg_l: Option<f64>,
    /// Salt, mg/L as NaCl by chloride.
    #[schemars(range(min = 0.0, max = 40000.0))]
    pub salt_mg_l: Option<f64>,
    /// Cyanuric acid, mg/L.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub cyanuric_acid_mg_l: Option<f64>,
    /// Boron, mg/L as B.
    #[schemars(range(min = 0.0, max = 200.0))]
    pub boron_mg_l: Option<f64>,
    /// Free chlorine, mg/L as Cl2.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub free_chlorine_mg_l: Option<f64>,
    /// Iron, mg/L.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub iron_mg_l: Option<f64>,
    /// Copper, mg/L.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub copper_mg_l: Option<f64>,
    /// Price of a cubic metre, filled and heated.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub price_per_m3: Option<f64>,
}

/// One product on the shelf.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Product")]
pub struct ProductIn {
    /// What it is.
    #[schemars(extend("enum" = shelf_ids()))]
    pub chemical: String,
    /// What the owner calls it; the chemical's name if absent.
    pub name: Option<String>,
    /// Percent by mass of the substance: of the form named in `form`, else of the form that the chemical's id means
    /// (calcium-chloride: CaCl2 without its water, as labels print it). Needed for liquid acid, alkali and peroxide.
    #[schemars(range(min = 0.1, max = 100.0))]
    pub purity_percent: Option<f64>,
    /// Crystal form, where there are several: `anhydrous`, `dihydrate`, `pentahydrate`, `hexahydrate`, `heptahydrate`,
    /// `decahydrate`.
    #[schemars(extend("enum" = FORMS))]
    pub form: Option<String>,
    /// Chlorine products: available chlorine, percent by mass, as the label prints it.
    #[schemars(range(min = 0.1, max = 100.0))]
    pub available_chlorine_percent: Option<f64>,
    /// Liquid chlorine products: available chlorine, g/L (12.5 % by volume is 125).
    #[schemars(range(min = 1.0, max = 300.0))]
    pub available_chlorine_g_l: Option<f64>,
    /// Liquids: grams of a millilitre.
    #[schemars(range(min = 0.7, max = 2.0))]
    pub density_g_ml: Option<f64>,
    /// How the owner measures it; a kitchen scale in steps of 5 g (a jug in steps of 5 mL for liquids) if absent.
    pub measure: Option<MeasureIn>,
    /// Price of a kilogram.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub price_per_kg: Option<f64>,
    /// Grams left; plenty if absent.
    #[schemars(range(min = 0.0, max = 10000000.0))]
    pub stock_g: Option<f64>,
    /// Days since liquid hypochlorite was made: it weakens with age.
    #[schemars(range(min = 0.0, max = 3650.0))]
    pub age_days: Option<f64>,
}

pub(crate) const FORMS: [&str; 6] =
    ["anhydrous", "dihydrate", "pentahydrate", "hexahydrate", "heptahydrate", "decahydrate"];

/// The owner's measure.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Measure")]
pub struct MeasureIn {
    /// What it is.
    #[schemars(extend("enum" = ["capful", "scoop", "tablet", "scale", "millilitres"]))]
    pub kind: String,
    /// Grams of product in one, level.
    #[schemars(range(min = 0.01, max = 10000.0))]
    pub grams: Option<f64>,
    /// Millilitres that one holds, if its grams are not known.
    #[schemars(range(min = 0.1, max = 10000.0))]
    pub ml: Option<f64>,
    /// Smallest part that the owner can measure: 0.25 = a quarter capful, 5 = 5 g on a scale, 1 = a whole tablet.
    #[schemars(range(min = 0.001, max = 1000.0))]
    pub smallest: Option<f64>,
}

/// A band of the user's own.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Band")]
pub struct BandIn {
    /// Lower edge.
    pub low: Option<f64>,
    /// Lower end of what is aimed for.
    pub aim_low: Option<f64>,
    /// Upper end of what is aimed for.
    pub aim_high: Option<f64>,
    /// Upper edge.
    pub high: Option<f64>,
    /// True takes on knowingly that this goes beyond a safety limit.
    pub beyond_hard_limit: Option<bool>,
}

/// What a kit read. Give exactly one of `value`, `drops` and `scale_units`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Reading")]
pub struct ReadingIn {
    /// When (RFC 3339; UTC without an offset); the time of the plan if absent.
    #[schemars(extend("format" = "date-time"))]
    pub at: Option<String>,
    /// What was measured.
    #[schemars(extend("enum" = readable_ids()))]
    pub quantity: String,
    /// The method's id: one of the built-in ones or of `[[method]]`. If absent, the usual kit for the quantity, which the
    /// plan then says.
    #[serde(default)]
    pub method: Option<String>,
    /// The figure in the quantity's unit; `"<0.2"` or `">5"` beyond what the method can show.
    pub value: Option<NumberOrText>,
    /// Drops counted.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub drops: Option<f64>,
    /// Capillary strip: the scale unit at which the white column ends.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub scale_units: Option<f64>,
    /// Capillary strip: whether the signal band has changed colour. Without that the strip says nothing.
    pub signal_band_changed: Option<bool>,
    /// Capillary strip: minutes until it was read.
    #[schemars(range(min = 0.0, max = 120.0))]
    pub minutes: Option<f64>,
}

/// A number, or text such as `"<0.2"`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum NumberOrText {
    /// A figure.
    Number(f64),
    /// `"<0.2"` or `">5"`.
    Text(String),
}

/// What was added. Give exactly one of `chemical` and `product`, and exactly one of `mass_g`, `volume_ml` and `measures`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Dose")]
pub struct DoseIn {
    /// When (RFC 3339; UTC without an offset); the time of the plan if absent.
    #[schemars(extend("format" = "date-time"))]
    pub at: Option<String>,
    /// The chemical's id: the first product of the shelf that is it.
    #[schemars(extend("enum" = shelf_ids()))]
    pub chemical: Option<String>,
    /// The product's name on the shelf.
    pub product: Option<String>,
    /// Grams of product.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub mass_g: Option<f64>,
    /// Millilitres of a liquid product.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub volume_ml: Option<f64>,
    /// In the owner's measure: 2.25 = two capfuls and a quarter.
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub measures: Option<f64>,
}

/// What else happened.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Event")]
pub struct EventIn {
    /// When (RFC 3339; UTC without an offset); the time of the plan if absent.
    #[schemars(extend("format" = "date-time"))]
    pub at: Option<String>,
    /// What kind of thing.
    #[schemars(extend("enum" = EVENT_KINDS))]
    pub kind: String,
    /// `top-up`, `drain`: litres.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub volume_l: Option<f64>,
    /// `drain`: percent of the water replaced; all of it if neither this nor `volume_l` is given.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub share_percent: Option<f64>,
    /// `bathers`: how many.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub people: Option<f64>,
    /// `bathers`: how long each.
    #[schemars(range(min = 0.0, max = 1440.0))]
    pub minutes: Option<f64>,
    /// `cell`: output setting, percent.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub output_percent: Option<f64>,
    /// `cover`: whether it was open.
    pub open: Option<bool>,
    /// In words.
    pub text: Option<String>,
}

pub(crate) const EVENT_KINDS: [&str; 9] =
    ["fill", "top-up", "drain", "bathers", "cell", "cover", "jets", "service", "note"];

fn quantity_ids() -> Vec<&'static str> {
    quantity::ALL.iter().map(|q| q.id()).collect()
}

fn readable_ids() -> Vec<&'static str> {
    quantity::ALL.iter().filter(|q| **q != quantity::Quantity::SaturationIndex).map(|q| q.id()).collect()
}

/// Everything that can stand on a shelf: the contract's chemicals but the gas, and the two mixtures.
pub(crate) fn shelf_ids() -> Vec<&'static str> {
    let gas = water::Chemical::CarbonDioxide;
    let chemicals = water::chemical::ALL.iter().filter(|c| **c != gas).map(|c| c.id());
    chemicals.chain(["mineral-salt", "sequestrant"]).collect()
}

/// A test kit of the user's own. Which fields belong to it depends on its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[schemars(rename = "Method")]
pub struct MethodIn {
    /// The id by which readings name it.
    pub id: String,
    /// What it is called.
    pub name: Option<String>,
    /// How it works.
    #[schemars(extend("enum" = METHOD_KINDS))]
    pub kind: String,
    /// `drop-titration`: what it measures.
    #[schemars(extend("enum" = readable_ids()))]
    pub quantity: Option<String>,
    /// `drop-titration`: the sample, mL.
    #[schemars(range(min = 1.0, max = 1000.0))]
    pub sample_ml: Option<f64>,
    /// `drop-titration`: what one drop stands for, in the quantity's unit.
    #[schemars(range(min = 0.001, max = 1000.0))]
    pub per_drop: Option<f64>,
    /// `chloride-strip`: the lot's number.
    pub lot: Option<String>,
    /// `chloride-strip`: what the table's mg/L are; sodium chloride if absent.
    #[schemars(extend("enum" = ["sodium-chloride", "chloride"]))]
    pub basis: Option<String>,
    /// `chloride-strip`: the table on the lot's bottle, rows of [scale units, mg/L], lowest first.
    #[schemars(length(min = 2), inner(length(min = 2, max = 2), inner(range(min = 0.0, max = 100000.0))))]
    pub table: Option<Vec<Vec<f64>>>,
    /// `ph-electrode`: days since its calibration.
    #[schemars(range(min = 0.0, max = 3650.0))]
    pub calibration_age_days: Option<f64>,
    /// `ph-electrode`: what it shows too much in the pH 7 buffer.
    #[schemars(range(min = -3.0, max = 3.0))]
    pub offset_ph: Option<f64>,
    /// `ph-electrode`: its slope, percent of the ideal one.
    #[schemars(range(min = 50.0, max = 120.0))]
    pub slope_percent: Option<f64>,
    /// Probes: the pH in which it was set.
    #[schemars(range(min = 4.0, max = 11.0))]
    pub set_at_ph: Option<f64>,
    /// Probes: the water temperature at which it was set, °C.
    #[schemars(range(min = 0.0, max = 45.0))]
    pub set_at_temperature_c: Option<f64>,
    /// Probes: the free chlorine to which it was set, mg/L.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub set_at_free_chlorine_mg_l: Option<f64>,
    /// Probes: the cyanuric acid when it was set, mg/L; 0 if absent.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub set_at_cyanuric_acid_mg_l: Option<f64>,
}

pub(crate) const METHOD_KINDS: [&str; 5] =
    ["drop-titration", "chloride-strip", "ph-electrode", "amperometric-probe", "redox-probe"];
