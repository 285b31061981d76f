//! Contract 5.1: one water a line in, what it is a line out.
//!
//! A litre counts as one kilogram of water (0.7 % at 38 °C, below every kit's error). A mixture keeps the temperature of
//! the water that is added to.

use crate::wire::node::{self, Node, Value};
use crate::wire::problem::{Problem, Problems};
use crate::wire::shape::Shape;
pub use crate::wire::water_out::WaterOut;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::LazyLock;
use water::units::{
    eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l as from_mg_l, molar_mass as m,
};
use water::{Celsius, Chemical, Equilibria, Ph, Speciation, Totals, WaterError, addition};

/// One water, as a line of newline-delimited JSON. Absent concentrations are 0. Give exactly one of `ph` and
/// `dic_mmol_l`, and at most one of `calcium_mg_l` and `calcium_hardness_mg_l_caco3`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WaterIn {
    /// Comes back unchanged: text or a number.
    #[schemars(extend("type" = ["string", "number"]))]
    pub id: Option<serde_json::Value>,
    /// Temperature, °C.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub temperature_c: f64,
    /// Acid-neutralising capacity to the CO2 equivalence point, mg/L as CaCO3: carbonate, hydroxide, borate, cyanurate
    /// and hypochlorite together.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub total_alkalinity_mg_l_caco3: f64,
    /// pH. One of `ph` and `dic_mmol_l` is needed.
    #[schemars(range(min = 4.0, max = 11.0))]
    pub ph: Option<f64>,
    /// Dissolved inorganic carbon, mmol/L. One of `ph` and `dic_mmol_l` is needed.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub dic_mmol_l: Option<f64>,
    /// Calcium, mg/L as Ca. Not together with `calcium_hardness_mg_l_caco3`.
    #[schemars(range(min = 0.0, max = 2000.0))]
    pub calcium_mg_l: Option<f64>,
    /// Calcium hardness, mg/L as CaCO3. Not together with `calcium_mg_l`.
    #[schemars(range(min = 0.0, max = 5000.0))]
    pub calcium_hardness_mg_l_caco3: Option<f64>,
    /// Magnesium, mg/L.
    #[schemars(range(min = 0.0, max = 5000.0))]
    pub magnesium_mg_l: Option<f64>,
    /// Sodium, mg/L.
    #[schemars(range(min = 0.0, max = 20000.0))]
    pub sodium_mg_l: Option<f64>,
    /// Potassium, mg/L.
    #[schemars(range(min = 0.0, max = 20000.0))]
    pub potassium_mg_l: Option<f64>,
    /// Chloride, mg/L.
    #[schemars(range(min = 0.0, max = 30000.0))]
    pub chloride_mg_l: Option<f64>,
    /// Sulfate, mg/L as SO4.
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub sulfate_mg_l: Option<f64>,
    /// Salt, mg/L as NaCl; adds to sodium and chloride.
    #[schemars(range(min = 0.0, max = 40000.0))]
    pub salt_mg_l: Option<f64>,
    /// Cyanuric acid in all its forms, mg/L.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub cyanuric_acid_mg_l: Option<f64>,
    /// Boron, mg/L as B.
    #[schemars(range(min = 0.0, max = 200.0))]
    pub boron_mg_l: Option<f64>,
    /// Free chlorine, mg/L as Cl2, with what cyanurate holds.
    #[schemars(range(min = 0.0, max = 200.0))]
    pub free_chlorine_mg_l: Option<f64>,
    /// Bromide, mg/L as Br.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub bromide_mg_l: Option<f64>,
    /// `"none"` leaves the charge as analysed; `"sodium-chloride"` closes it with sodium or chloride.
    #[schemars(extend("enum" = ["none", "sodium-chloride"]))]
    pub balance: Option<String>,
    /// Applied in order to one kilogram of this water, closed to the air. The output is the water after them.
    #[serde(default)]
    pub additions: Vec<AdditionIn>,
}

/// One addition: `mmol_l` of a chemical, or `litres_per_litre` of another water (`chemical = "water"`).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdditionIn {
    /// What is added.
    #[schemars(extend("enum" = addition_ids()))]
    pub chemical: String,
    /// Millimoles for each litre of the water; negative for `carbon-dioxide` alone (lost to the air).
    #[schemars(range(min = -100.0, max = 2000.0))]
    pub mmol_l: Option<f64>,
    /// For `water`: litres of the other water for each litre of this one.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub litres_per_litre: Option<f64>,
    /// Short for `litres_per_litre`.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub l_l: Option<f64>,
    /// For `water`: the other water; pure water if absent.
    pub source: Option<Box<WaterIn>>,
}

fn addition_ids() -> Vec<&'static str> {
    water::chemical::ALL.iter().map(|c| c.id()).chain(["water"]).collect()
}

/// Why a line got no answer.
#[derive(Debug)]
pub struct LineError {
    /// The line's id, if it could be read.
    pub id: Option<serde_json::Value>,
    /// Each fault.
    pub faults: Vec<String>,
}

/// The schema refers to itself where an addition holds a water; the shape leaves that free and `check_choices` holds
/// it against this shape again.
static SHAPE: LazyLock<Shape> = LazyLock::new(Shape::of::<WaterIn>);

/// One line to one water, checked.
///
/// # Errors
/// Every fault of the line, each naming its field.
pub fn read_line(text: &str, line: usize) -> Result<WaterIn, LineError> {
    let tree = node::from_json(text, line).map_err(|e| LineError { id: None, faults: vec![e] })?;
    let id = tree.get("id").filter(|n| matches!(n.value, Value::Text(_) | Value::Number(_)));
    let mut problems = Problems::default();
    SHAPE.check(&tree, "", &mut problems);
    if matches!(tree.value, Value::Table(_)) {
        check_choices(&tree, "", &mut problems);
    }
    let id = id.map(Node::to_json);
    if !problems.is_empty() {
        return Err(LineError { id, faults: problems.into_vec().iter().map(Problem::to_string).collect() });
    }
    serde_json::from_value(tree.to_json()).map_err(|e| LineError { id, faults: vec![e.to_string()] })
}

/// What a schema alone does not say: one of two, and what belongs to which chemical.
fn check_choices(tree: &Node, path: &str, problems: &mut Problems) {
    let at = |key: &str| crate::wire::shape::join(path, key);
    let line = Some(tree.line);
    match (tree.get("ph").is_some(), tree.get("dic_mmol_l").is_some()) {
        (true, true) => {
            problems.add(line, at("ph"), "and dic_mmol_l are both given", "exactly one of the two is accepted")
        }
        (false, false) => problems.add(
            line,
            at("ph"),
            "and dic_mmol_l are both missing",
            "exactly one of the two is needed: pH from 4 to 11, or dissolved inorganic carbon from 0 to 100 mmol/L",
        ),
        _ => {}
    }
    if tree.get("calcium_mg_l").is_some() && tree.get("calcium_hardness_mg_l_caco3").is_some() {
        problems.add(
            line,
            at("calcium_mg_l"),
            "and calcium_hardness_mg_l_caco3 are both given",
            "at most one of the two is accepted",
        );
    }
    for (i, a) in tree.get("additions").map(Node::items).unwrap_or_default().iter().enumerate() {
        let at = |key: &str| at(&format!("additions[{}].{key}", i + 1));
        let mixing = a.get("chemical").and_then(Node::text) == Some("water");
        let amounts = ["litres_per_litre", "l_l"].iter().filter(|k| a.get(k).is_some()).count();
        let negative = matches!(a.get("mmol_l").map(|n| &n.value), Some(Value::Number(n)) if *n < 0.0);
        if mixing {
            if amounts != 1 {
                let what = if amounts == 0 { "is missing" } else { "and l_l are both given" };
                problems.add(
                    line,
                    at("litres_per_litre"),
                    what,
                    "exactly one of the two is needed with \"water\"",
                );
            }
            if a.get("mmol_l").is_some() {
                problems.add(line, at("mmol_l"), "is given", "\"water\" takes litres_per_litre");
            }
            if let Some(source) = a.get("source") {
                SHAPE.check(source, &at("source"), problems);
                check_choices(source, &at("source"), problems);
            }
        } else {
            if a.get("mmol_l").is_none() {
                problems.add(line, at("mmol_l"), "is missing", "millimoles for each litre are needed");
            }
            for key in ["litres_per_litre", "l_l", "source"] {
                if a.get(key).is_some() {
                    problems.add(line, at(key), "is given", "it belongs to \"chemical\": \"water\" alone");
                }
            }
            if negative && a.get("chemical").and_then(Node::text) != Some("carbon-dioxide") {
                problems.add(
                    line,
                    at("mmol_l"),
                    format!("is {}", a.get("mmol_l").map(Node::shown).unwrap_or_default()),
                    "a number from 0 up is accepted (below 0 for carbon-dioxide alone)",
                );
            }
        }
    }
}

impl WaterIn {
    /// The totals as analysed; carbon is 0 where the pH was given instead.
    pub fn totals(&self) -> Totals {
        let some = |x: Option<f64>| x.unwrap_or(0.0);
        let salt = from_mg_l(some(self.salt_mg_l), m::NACL);
        let totals = Totals {
            alkalinity: eq_kg_from_mg_l_caco3(self.total_alkalinity_mg_l_caco3),
            carbon: some(self.dic_mmol_l) / 1000.0,
            calcium: from_mg_l(some(self.calcium_mg_l), m::CA)
                + mol_kg_from_hardness_mg_l_caco3(some(self.calcium_hardness_mg_l_caco3)),
            magnesium: from_mg_l(some(self.magnesium_mg_l), m::MG),
            sodium: from_mg_l(some(self.sodium_mg_l), m::NA) + salt,
            potassium: from_mg_l(some(self.potassium_mg_l), m::K),
            chloride: from_mg_l(some(self.chloride_mg_l), m::CL) + salt,
            sulfate: from_mg_l(some(self.sulfate_mg_l), m::SO4),
            cyanurate: from_mg_l(some(self.cyanuric_acid_mg_l), m::CYANURIC_ACID),
            boron: from_mg_l(some(self.boron_mg_l), m::B),
            free_chlorine: from_mg_l(some(self.free_chlorine_mg_l), m::CL2),
            bromide: from_mg_l(some(self.bromide_mg_l), m::BR),
            ..Totals::default()
        };
        if self.balance.as_deref() == Some("sodium-chloride") {
            totals.closed_with_sodium_chloride()
        } else {
            totals
        }
    }

    /// The water before any addition, at its own temperature.
    fn solved(&self, at: &Equilibria) -> Result<Speciation, WaterError> {
        match self.ph {
            Some(ph) => at.solve_at_ph(&self.totals(), Ph(ph)),
            None => at.solve(&self.totals()),
        }
    }

    /// The water after its additions.
    ///
    /// # Errors
    /// What the chemistry cannot answer, naming the field.
    pub fn answer(&self) -> Result<WaterOut, WaterError> {
        let at = Equilibria::at(Celsius(self.temperature_c))?;
        let water = self.after_additions(&at)?;
        Ok(WaterOut::of(&at, &water))
    }

    fn after_additions(&self, at: &Equilibria) -> Result<Speciation, WaterError> {
        let water = self.solved(at)?;
        if self.additions.is_empty() {
            return Ok(water);
        }
        let mut totals = water.totals;
        for a in &self.additions {
            totals = match Chemical::from_id(&a.chemical) {
                Some(chemical) => addition::add(&totals, chemical, a.mmol_l.unwrap_or(0.0) / 1000.0)?,
                None => {
                    let other = match &a.source {
                        Some(source) => {
                            let at = Equilibria::at(Celsius(source.temperature_c))?;
                            source.after_additions(&at)?.totals
                        }
                        None => Totals::default(),
                    };
                    let litres = a.litres_per_litre.or(a.l_l).unwrap_or(0.0);
                    totals.mixed_with(&other, litres / (1.0 + litres))
                }
            };
        }
        at.solve(&totals)
    }
}
