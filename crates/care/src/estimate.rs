//! Know: from source water, entries and raw readings to one estimate of the whole water.
//!
//! In: a [`Case`]. Out: totals with an error for every quantity, findings, assumptions.
//! Model: each quantity is carried from its reading to now by the doses and replaced water since (exact) and by time
//! (its error grows); readings of one quantity are fused; pH and alkalinity together give the carbon; what nobody read
//! comes from the source water and the doses since the fill, or is assumed and said.
//! Left out: chlorine's decay, loss of carbon dioxide, evaporation between the entries: the tub in time.

use crate::case::{Case, Entry, Happening, PlanKind, Raw, SourceWater, When};
use crate::chem::{linear, per_gram};
use crate::finding::{Finding, Weight};
use crate::fuse::{self, Fused, Weighted};
use crate::method::{self, Context, MethodError};
use crate::quantity::Quantity as Q;
use crate::{band::Regime, case::Product};
use water::conductivity::specific_conductance_25c_us_cm;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity, water_from_titration};
use water::units::{
    eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l,
    molar_mass,
};
use water::{Celsius, Equilibria, Ph, Speciation, Totals, WaterError};

/// Water temperature where the user gave none, °C.
const USUAL_TEMPERATURE_C: f64 = 38.0;

/// Why nothing can be said of a case.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EstimateError {
    /// A method was not used as it works.
    #[error(transparent)]
    Method(#[from] MethodError),
    /// A reading names a method that does not exist.
    #[error("{}method \"{id}\" is not known: use a built-in one or define it under [[method]]", line.map_or(String::new(), |l| format!("line {l}: ")))]
    UnknownMethod {
        /// Its id.
        id: String,
        /// The line of the case.
        line: Option<usize>,
    },
    /// The water that the figures describe is outside what the chemistry covers.
    #[error("{what}: {error}")]
    Water {
        /// Which water.
        what: &'static str,
        /// What is wrong with it.
        error: WaterError,
    },
    /// Something without which there is no plan.
    #[error("{field} is missing: {why}")]
    Missing {
        /// The field.
        field: &'static str,
        /// What it is needed for.
        why: &'static str,
    },
}

/// A quantity as it stands now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Which.
    pub quantity: Q,
    /// Best figure.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Read or analysed; else assumed.
    pub known: bool,
}

/// The whole water as it stands now.
#[derive(Debug, Clone)]
pub struct Estimated {
    /// Which plan it is for.
    pub kind: PlanKind,
    /// Constants at the tub's temperature.
    pub at: Equilibria,
    /// The water.
    pub water: Speciation,
    /// Every quantity.
    pub levels: Vec<Level>,
    /// The source water as totals, if its analysis allows.
    pub source: Option<Totals>,
    /// Source water at the tub's temperature, solved.
    pub source_water: Option<Speciation>,
    /// What a titration reads beyond the linear part, mg/L as CaCO3 (see [`linear`]).
    pub alkalinity_residue_mg_l: f64,
    /// Quantities whose readings are void or contradict each other: tested again before anything is dosed for them.
    pub retest: Vec<Q>,
    /// Hours for which low pH has been read again and again, if it has.
    pub ph_low_for_hours: f64,
    /// What the entries tell.
    pub findings: Vec<Finding>,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

impl Estimated {
    /// A quantity's level.
    pub fn level(&self, q: Q) -> Option<&Level> {
        self.levels.iter().find(|l| l.quantity == q)
    }

    /// A quantity's figure, 0 if nothing is known of it.
    pub fn value(&self, q: Q) -> f64 {
        self.level(q).map_or(0.0, |l| l.value)
    }
}

/// A fill counts as new for so long, whether it has been read or not.
const NEW_FILL_HOURS: f64 = 48.0;

/// Standard error of a source-water figure (judgement): 5 % and 5 mg/L of a titration, 0.2 mg/L of chlorine; what no tap
/// holds has none.
pub(crate) fn source_error(q: Q, value: f64) -> f64 {
    match q {
        Q::CyanuricAcid | Q::Borate => 0.05 * value,
        Q::FreeChlorine | Q::TotalBromine => 0.2,
        _ => (0.05 * value).hypot(5.0),
    }
}

/// Growth of a reading's error with time: absolute per √day, and relative per day.
fn drift(q: Q) -> (f64, f64) {
    match q {
        Q::FreeChlorine | Q::TotalChlorine | Q::CombinedChlorine | Q::TotalBromine => (0.3, 0.3),
        Q::Ph => (0.08, 0.0),
        Q::TotalAlkalinity => (5.0, 0.0),
        Q::CalciumHardness | Q::TotalHardness => (4.0, 0.0),
        Q::Salt => (40.0, 0.0),
        Q::CyanuricAcid => (2.0, 0.0),
        Q::Temperature => (1.0, 0.0),
        _ => (0.0, 0.05),
    }
}

/// What each entry does to a quantity, as time goes on.
struct Timeline<'a> {
    case: &'a Case,
    entries: Vec<(When, &'a Entry)>,
    now: When,
    last_fill: Option<When>,
    source: Option<Totals>,
}

impl<'a> Timeline<'a> {
    fn new(case: &'a Case, source: Option<Totals>) -> Self {
        let latest = case.entries.iter().filter_map(|e| e.at).max();
        let now = case.now.or(latest).unwrap_or(When(0));
        let mut entries: Vec<_> =
            case.entries.iter().map(|e| (e.at.unwrap_or(now), e)).filter(|(at, _)| *at <= now).collect();
        entries.sort_by_key(|(at, _)| *at);
        let last_fill =
            entries.iter().filter(|(_, e)| e.what == Happening::Fill).map(|(at, _)| *at).next_back();
        Timeline { case, entries, now, last_fill, source }
    }

    fn after(&self, from: Option<When>) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(move |(at, _)| from.is_none_or(|f| *at > f)).map(|(_, e)| *e)
    }

    fn dose(&self, product: usize, mass_g: f64) -> Totals {
        let bromine = self.case.tub.regime == Regime::Bromine;
        let Some(product) = self.case.shelf.get(product) else { return Totals::default() };
        Totals::default().plus(&per_gram(product, bromine), mass_g / self.case.tub.volume_l)
    }

    /// Totals carried through the entries after `from`.
    fn carry(&self, mut totals: Totals, from: Option<When>) -> Totals {
        for entry in self.after(from) {
            match entry.what {
                Happening::Dose { product, mass_g } => totals = totals.plus(&self.dose(product, mass_g), 1.0),
                Happening::TopUp { volume_l } => {
                    if let Some(source) = &self.source {
                        totals = totals.plus(source, volume_l / self.case.tub.volume_l);
                    }
                }
                Happening::Replaced { share } => {
                    if let Some(source) = &self.source {
                        totals = totals.mixed_with(source, share);
                    }
                }
                _ => {}
            }
        }
        totals
    }

    /// A linear quantity's figure carried from a reading to now. Combined chlorine only thins out.
    fn carry_figure(&self, q: Q, figure: f64, from: When) -> f64 {
        let mut value = figure;
        for entry in self.after(Some(from)) {
            let of_source = |source: &Totals| linear(q, source).unwrap_or(0.0);
            match entry.what {
                Happening::Dose { product, mass_g } => {
                    value += linear(q, &self.dose(product, mass_g)).unwrap_or(0.0);
                }
                Happening::TopUp { volume_l } => {
                    value += self.source.as_ref().map_or(0.0, of_source) * volume_l / self.case.tub.volume_l;
                }
                Happening::Replaced { share } => {
                    value = (1.0 - share) * value + share * self.source.as_ref().map_or(0.0, of_source);
                }
                _ => {}
            }
        }
        value
    }
}

/// The source water as totals with its own carbon, if pH, alkalinity and calcium are known.
fn source_totals(s: &SourceWater, assumptions: &mut Vec<String>) -> Result<Option<Totals>, EstimateError> {
    let (Some(ph), Some(alkalinity)) = (s.ph, s.total_alkalinity_mg_l_caco3) else { return Ok(None) };
    let t_c = s.temperature_c.unwrap_or_else(|| {
        assumptions.push("Source water: its pH counts as measured at 20 °C.".to_string());
        20.0
    });
    let calcium = s.calcium_hardness_mg_l_caco3.unwrap_or(0.0);
    let magnesium = s
        .magnesium_mg_l
        .map_or(0.2 * mol_kg_from_hardness_mg_l_caco3(calcium), |m| mol_kg_from_mg_l(m, molar_mass::MG));
    let sulfate = s.sulfate_mg_l.map_or(2e-4, |m| mol_kg_from_mg_l(m, molar_mass::SO4));
    let mut missing = Vec::new();
    if s.magnesium_mg_l.is_none() {
        missing.push("magnesium a fifth of calcium");
    }
    if s.sulfate_mg_l.is_none() {
        missing.push("sulfate 19 mg/L");
    }
    if !missing.is_empty() {
        assumptions.push(format!(
            "Source water, not analysed: {}; the charge is closed with sodium or chloride.",
            missing.join(", ")
        ));
    }
    let mg = |v: Option<f64>, m: f64| mol_kg_from_mg_l(v.unwrap_or(0.0), m);
    let salt = mg(s.salt_mg_l, molar_mass::NACL);
    let totals = Totals {
        calcium: mol_kg_from_hardness_mg_l_caco3(calcium),
        magnesium,
        sodium: mg(s.sodium_mg_l, molar_mass::NA),
        potassium: mg(s.potassium_mg_l, molar_mass::K),
        chloride: if s.chloride_mg_l.is_some() { mg(s.chloride_mg_l, molar_mass::CL) } else { salt },
        sulfate,
        boron: mg(s.boron_mg_l, molar_mass::B),
        cyanurate: mg(s.cyanuric_acid_mg_l, molar_mass::CYANURIC_ACID),
        free_chlorine: mg(s.free_chlorine_mg_l, molar_mass::CL2),
        ..Totals::default()
    };
    let wrong = |error| EstimateError::Water { what: "source water", error };
    let at = Equilibria::at(Celsius(t_c)).map_err(wrong)?;
    let end = |t: &Totals| {
        water_from_titration(
            &at,
            t,
            Ph(ph),
            eq_kg_from_mg_l_caco3(alkalinity),
            ALKALINITY_END_POINT,
            Dechlorination::Thiosulfate,
        )
    };
    let solved = end(&totals).map_err(wrong)?.totals;
    let excess = solved.charge_imbalance();
    if excess > 0.0 && (s.chloride_mg_l.is_some() || s.salt_mg_l.is_some()) {
        // The chloride is known, so what is missing is another anion (nitrate, sulfate).
        return Ok(Some(Totals { inert_anion: solved.inert_anion + excess, ..solved }));
    }
    Ok(Some(solved.closed_with_sodium_chloride()))
}

/// The water of a case as it stands now.
///
/// # Errors
/// [`EstimateError`] if a reading cannot have come from its method, nothing at all is known, or the figures describe
/// a water outside the chemistry's range.
pub fn estimate(case: &Case) -> Result<Estimated, EstimateError> {
    let mut assumptions = Vec::new();
    let source = match &case.source_water {
        Some(s) => source_totals(s, &mut assumptions)?,
        None => None,
    };
    let time = Timeline::new(case, source);
    let read_since_fill = case.entries.iter().any(|e| {
        matches!(e.what, Happening::Reading(_)) && e.at.is_none_or(|at| time.last_fill.is_none_or(|f| at > f))
    });
    let new_fill = time.last_fill.is_some_and(|f| time.now.hours_since(f) <= NEW_FILL_HOURS);
    let start_up = new_fill || !read_since_fill;
    let kind = case.kind.unwrap_or(if start_up { PlanKind::StartUp } else { PlanKind::Correction });
    if !read_since_fill && source.is_none() {
        return Err(EstimateError::Missing {
            field: "source_water.ph and source_water.total_alkalinity_mg_l_caco3 (or a [[reading]])",
            why: "without the source water's analysis or a reading nothing is known of this water",
        });
    }

    let mut findings = Vec::new();
    let context = rough_context(case, &time);
    let weighted = interpret_all(case, &time, &context, &mut findings)?;
    let fusion = fuse::fuse(&weighted);
    let mut retest = to_retest(&weighted, &fusion);
    findings.extend(fusion.findings.iter().cloned());
    let mut fused = fusion.fused;
    if let Some(combined) = fuse::derive_combined_chlorine(&fused)
        && !fused.iter().any(|f| f.quantity == Q::CombinedChlorine)
    {
        fused.push(combined);
    }
    let get = |q: Q| fused.iter().find(|f| f.quantity == q);

    let temperature_c = match get(Q::Temperature).map(|f| f.value).or(case.tub.temperature_c) {
        Some(t) => t,
        None => {
            assumptions.push(format!("Water temperature not given: {USUAL_TEMPERATURE_C:.0} °C."));
            USUAL_TEMPERATURE_C
        }
    };
    let wrong = |error| EstimateError::Water { what: "tub water", error };
    let at = Equilibria::at(Celsius(temperature_c)).map_err(wrong)?;

    // Everything that was not read: from the fill and the doses since, or a usual background.
    let from_fill = source.map(|s| time.carry(s, time.last_fill));
    let background = from_fill.unwrap_or(Totals {
        magnesium: 2e-4,
        potassium: 1e-4,
        sulfate: 5e-4,
        chloride: mol_kg_from_mg_l(250.0, molar_mass::NACL),
        calcium: mol_kg_from_hardness_mg_l_caco3(150.0),
        bromide: if case.tub.regime == Regime::Bromine { 4e-4 } else { 0.0 },
        ..Totals::default()
    });
    let mut levels = Vec::new();
    let mut settle = |q: Q, assumed_error: f64, assumptions: &mut Vec<String>| -> f64 {
        if let Some(f) = get(q) {
            levels.push(Level {
                quantity: q,
                value: f.value.max(0.0),
                standard_error: f.standard_error,
                known: true,
            });
            return f.value.max(0.0);
        }
        let value = linear(q, &background).unwrap_or(0.0);
        if q == Q::Borate && value == 0.0 {
            return 0.0; // nobody speaks of it
        }
        let analysed = from_fill.is_some() && source_names(case.source_water.as_ref(), q);
        let standard_error = if analysed { source_error(q, value) } else { assumed_error };
        if !analysed && assumed_error > 0.0 {
            assumptions.push(format!(
                "{} was neither read nor analysed: {value:.0} {} ± {assumed_error:.0} is assumed, and nothing is dosed for it.",
                capital(q.name()),
                q.unit()
            ));
        }
        levels.push(Level { quantity: q, value, standard_error, known: analysed });
        value
    };
    let calcium = settle(Q::CalciumHardness, 80.0, &mut assumptions);
    let cyanuric = settle(Q::CyanuricAcid, if dosed_cyanurate(case) { 30.0 } else { 0.0 }, &mut assumptions);
    let borate = settle(Q::Borate, 0.0, &mut assumptions);
    let bromine = case.tub.regime == Regime::Bromine;
    let oxidant = if bromine {
        settle(Q::TotalBromine, 2.0, &mut assumptions) / molar_mass::BR2
    } else {
        settle(Q::FreeChlorine, 1.0, &mut assumptions) / molar_mass::CL2
    } / 1000.0;
    let salt_known = get(Q::Salt).is_some() || get(Q::Conductivity).is_none();
    let salt = if salt_known { settle(Q::Salt, 150.0, &mut assumptions) } else { 0.0 };

    let total_hardness = get(Q::TotalHardness).map(|f| f.value);
    let mut totals = Totals {
        calcium: mol_kg_from_hardness_mg_l_caco3(calcium),
        cyanurate: mol_kg_from_mg_l(cyanuric, molar_mass::CYANURIC_ACID),
        boron: mol_kg_from_mg_l(borate, molar_mass::B),
        free_chlorine: oxidant,
        chloride: mol_kg_from_mg_l(salt, molar_mass::NACL),
        bromide: if bromine { background.bromide.max(oxidant * 1.2) } else { background.bromide },
        magnesium: total_hardness
            .map_or(background.magnesium, |t| mol_kg_from_hardness_mg_l_caco3((t - calcium).max(0.0))),
        ..background
    };
    if from_fill.is_none() {
        assumptions.push(
            "Ions that nobody read (magnesium, potassium, sulfate) count with usual figures; sodium closes the charge.".to_string(),
        );
    }

    // pH and alkalinity together give the carbon, at the moment of the pH reading; later doses come on top.
    let ph_read_at = latest_reading_of(&time, Q::Ph);
    let later = time.carry(Totals::default(), Some(ph_read_at.unwrap_or(time.now)));
    let alkalinity_read = get(Q::TotalAlkalinity);
    let water = match (get(Q::Ph), from_fill) {
        (None, Some(fill)) if alkalinity_read.is_none() => {
            totals.alkalinity = fill.alkalinity;
            totals.carbon = fill.carbon;
            closed_and_solved(&at, totals).map_err(wrong)?
        }
        (ph, fill) => {
            let fill_ph =
                fill.and_then(|f| at.solve(&f.closed_with_sodium_chloride()).ok()).map(|s| s.ph().0);
            let ph = ph.map(|f| f.value).or(fill_ph).unwrap_or_else(|| {
                assumptions
                    .push("pH was not read: 7.5 is assumed, and no acid or base is dosed.".to_string());
                7.5
            });
            let alkalinity = alkalinity_read
                .map(|f| f.value)
                .or(fill.and_then(|f| linear(Q::TotalAlkalinity, &f)))
                .unwrap_or_else(|| {
                    assumptions.push(
                        "Total alkalinity was not read: 100 mg/L is assumed, and nothing is dosed for it."
                            .to_string(),
                    );
                    100.0
                });
            let before = totals.plus(&Totals { alkalinity: 0.0, carbon: 0.0, ..later }, -1.0);
            let before = clamp_to_possible(before);
            let read = eq_kg_from_mg_l_caco3(alkalinity - linear(Q::TotalAlkalinity, &later).unwrap_or(0.0));
            let solved = solve_titrated(&at, &before, ph, read, &mut findings, &mut retest).map_err(wrong)?;
            totals.alkalinity = solved.totals.alkalinity + later.alkalinity;
            totals.carbon = solved.totals.carbon + later.carbon;
            closed_and_solved(&at, totals).map_err(wrong)?
        }
    };
    let water = if salt_known {
        water
    } else {
        let f = get(Q::Conductivity).map_or((0.0, 0.0), |f| (f.value, f.standard_error));
        let solved = with_salt_from_conductivity(&at, &water.totals, f.0).map_err(wrong)?;
        let salt = linear(Q::Salt, &solved.totals).unwrap_or(0.0);
        let error = (salt * f.1 / f.0.max(0.1)).hypot(0.07 * salt);
        levels.push(Level { quantity: Q::Salt, value: salt, standard_error: error, known: true });
        assumptions.push("Salt is taken from the conductivity.".to_string());
        solved
    };

    let titrated = titrated_alkalinity(&at, &water.totals, ALKALINITY_END_POINT, Dechlorination::Thiosulfate)
        .map_err(wrong)?;
    let reads = mg_l_caco3_from_eq_kg(titrated);
    let residue = reads - linear(Q::TotalAlkalinity, &water.totals).unwrap_or(0.0);
    levels.push(Level {
        quantity: Q::TotalAlkalinity,
        value: reads,
        standard_error: match (alkalinity_read, from_fill) {
            (Some(f), _) => f.standard_error,
            (None, Some(_)) => source_error(Q::TotalAlkalinity, reads),
            (None, None) => 40.0,
        },
        known: alkalinity_read.is_some() || from_fill.is_some(),
    });
    levels.push(Level {
        quantity: Q::Ph,
        value: water.ph().0,
        standard_error: match (get(Q::Ph), from_fill) {
            (Some(f), _) => f.standard_error,
            (None, Some(_)) => 0.15,
            (None, None) => 0.4,
        },
        known: get(Q::Ph).is_some() || from_fill.is_some(),
    });
    if let Some(cc) = get(Q::CombinedChlorine) {
        levels.push(level_of(cc));
    }
    for q in [
        Q::Iron,
        Q::Copper,
        Q::Redox,
        Q::Conductivity,
        Q::TotalHardness,
        Q::TotalChlorine,
        Q::DissolvedSolids,
    ] {
        if let Some(f) = get(q) {
            levels.push(level_of(f));
        }
    }
    for (q, figure) in [
        (Q::Iron, case.source_water.as_ref().and_then(|s| s.iron_mg_l)),
        (Q::Copper, case.source_water.as_ref().and_then(|s| s.copper_mg_l)),
    ] {
        if let (None, Some(value), PlanKind::StartUp) = (get(q), figure, kind) {
            levels.push(Level { quantity: q, value, standard_error: 0.1 * value, known: true });
        }
    }
    levels.push(Level { quantity: Q::Temperature, value: temperature_c, standard_error: 0.5, known: true });
    let index = at.calcite_saturation_index(&water);
    if index.is_finite() {
        let error = |q: Q| levels.iter().find(|l| l.quantity == q).map_or(0.0, |l| l.standard_error);
        let relative = |q: Q, v: f64| std::f64::consts::LOG10_E * error(q) / v.max(5.0);
        levels.push(Level {
            quantity: Q::SaturationIndex,
            value: index,
            standard_error: error(Q::Ph)
                .hypot(relative(Q::CalciumHardness, calcium))
                .hypot(relative(Q::TotalAlkalinity, reads)),
            known: levels
                .iter()
                .all(|l| l.known || !matches!(l.quantity, Q::Ph | Q::TotalAlkalinity | Q::CalciumHardness)),
        });
    }

    let checked = Context {
        temperature_c,
        ph: Some(water.ph().0),
        free_chlorine_mg_l: Some(linear(Q::FreeChlorine, &water.totals).unwrap_or(0.0)),
        cyanuric_acid_mg_l: Some(cyanuric),
        salt_mg_l: linear(Q::Salt, &water.totals),
        magnesium_mg_l: Some(water.totals.magnesium * molar_mass::MG * 1000.0),
        total_alkalinity_mg_l_caco3: Some(reads),
    };
    findings.extend(fuse::cross_check(&fused, &checked, |salt| expected_conductivity(&water.totals, salt)));
    assumptions.extend(case.notes.iter().cloned());
    assumptions.push(format!(
        "The volume is {:.0} L, good to {:.0} %{}.",
        case.tub.volume_l,
        100.0 * case.tub.volume_error,
        if case.tub.volume_measured { " (measured)" } else { " (not measured)" }
    ));
    let ph_low_for_hours = low_ph_hours(&time);
    let source_water = source.and_then(|s| closed_and_solved(&at, s).ok());
    Ok(Estimated {
        kind,
        at,
        water,
        levels,
        source: source_water.map(|s| s.totals),
        source_water,
        alkalinity_residue_mg_l: residue,
        retest,
        ph_low_for_hours,
        findings,
        assumptions,
    })
}

fn level_of(f: &Fused) -> Level {
    Level { quantity: f.quantity, value: f.value, standard_error: f.standard_error, known: true }
}

pub(crate) fn capital(s: &str) -> String {
    if s.starts_with("pH") {
        return s.to_string();
    }
    let mut letters = s.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

fn closed_and_solved(at: &Equilibria, totals: Totals) -> Result<Speciation, WaterError> {
    // Sodium closes the charge; it is what nobody measures.
    at.solve(&Totals { sodium: 0.0, ..totals }.closed_with_sodium_chloride())
}

/// The readings' totals just before the later doses; rounding must not leave a trace below zero.
fn clamp_to_possible(t: Totals) -> Totals {
    let alkalinity = t.alkalinity;
    let mut a = t.to_array().map(|x| x.max(0.0));
    a[0] = alkalinity;
    Totals::from_array(a)
}

/// Carbon from pH and a titration. Where the two cannot both be true, alkalinity gives way and a finding says so.
fn solve_titrated(
    at: &Equilibria,
    totals: &Totals,
    ph: f64,
    read_eq_kg: f64,
    findings: &mut Vec<Finding>,
    retest: &mut Vec<Q>,
) -> Result<Speciation, WaterError> {
    let closed = Totals { sodium: 0.0, alkalinity: read_eq_kg, ..*totals }.closed_with_sodium_chloride();
    let solve = |read: f64| {
        water_from_titration(at, &closed, Ph(ph), read, ALKALINITY_END_POINT, Dechlorination::Thiosulfate)
    };
    match solve(read_eq_kg) {
        Err(WaterError::NoRoomForCarbonate { without_carbon, given, .. }) => {
            findings.push(Finding {
                weight: Weight::Doubt,
                quantities: vec![Q::Ph, Q::TotalAlkalinity],
                what: format!(
                    "At pH {ph:.1} cyanurate, borate, hypochlorite and hydroxide alone make {without_carbon:.0} mg/L of alkalinity, \
                     but {given:.0} was read: one of the readings is wrong."
                ),
                advice: "Test pH, total alkalinity and cyanuric acid again before dosing acid or base.".to_string(),
            });
            retest.extend([Q::Ph, Q::TotalAlkalinity]);
            solve(eq_kg_from_mg_l_caco3(without_carbon + 5.0) + totals.free_chlorine)
        }
        other => other,
    }
}

fn expected_conductivity(totals: &Totals, salt_mg_l: f64) -> f64 {
    let with = Totals { chloride: mol_kg_from_mg_l(salt_mg_l, molar_mass::NACL), sodium: 0.0, ..*totals };
    Equilibria::at(Celsius(25.0))
        .and_then(|at| at.solve(&with.closed_with_sodium_chloride()))
        .map_or(f64::NAN, |s| specific_conductance_25c_us_cm(&s) / 1000.0)
}

fn with_salt_from_conductivity(
    at: &Equilibria,
    totals: &Totals,
    ms_cm: f64,
) -> Result<Speciation, WaterError> {
    let (mut low, mut high) = (0.0, 40_000.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if expected_conductivity(totals, middle) < ms_cm { low = middle } else { high = middle }
    }
    closed_and_solved(at, Totals { chloride: mol_kg_from_mg_l(low, molar_mass::NACL), ..*totals })
}

/// What the raw figures say, before any method: enough to judge interferences by.
fn rough_context(case: &Case, time: &Timeline) -> Context {
    let raw = |q: Q| {
        time.entries.iter().rev().find_map(|(_, e)| match &e.what {
            Happening::Reading(r) if r.quantity == q => match r.raw {
                Raw::Value(v) | Raw::Below(v) | Raw::Above(v) => Some(v),
                Raw::Drops(_) | Raw::ScaleUnits { .. } => None,
            },
            _ => None,
        })
    };
    Context {
        ph: raw(Q::Ph),
        free_chlorine_mg_l: raw(Q::FreeChlorine).or(raw(Q::TotalChlorine)),
        cyanuric_acid_mg_l: raw(Q::CyanuricAcid),
        salt_mg_l: raw(Q::Salt),
        magnesium_mg_l: case.source_water.as_ref().and_then(|s| s.magnesium_mg_l),
        total_alkalinity_mg_l_caco3: raw(Q::TotalAlkalinity),
        ..Context::at(raw(Q::Temperature).or(case.tub.temperature_c).unwrap_or(USUAL_TEMPERATURE_C))
    }
}

fn interpret_all(
    case: &Case,
    time: &Timeline,
    context: &Context,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Weighted>, EstimateError> {
    let mut all = Vec::new();
    for (at, entry) in &time.entries {
        let Happening::Reading(reading) = &entry.what else { continue };
        if time.last_fill.is_some_and(|f| *at < f) {
            continue; // another water
        }
        let method = method::find(&case.methods, &reading.method)
            .ok_or_else(|| EstimateError::UnknownMethod { id: reading.method.clone(), line: reading.line })?;
        let interpreted = method::interpret(method, reading, context)?;
        findings.extend(interpreted.findings.iter().cloned());
        let days = time.now.hours_since(*at) / 24.0;
        let figure = interpreted.outcome.figure().unwrap_or(0.0);
        let (absolute, relative) = drift(interpreted.quantity);
        all.push(Weighted {
            extra_standard_error: (absolute * days.sqrt()).hypot(relative * days * figure),
            shift: if interpreted.quantity == Q::Ph {
                0.0
            } else {
                time.carry_figure(interpreted.quantity, figure, *at) - figure
            },
            interpreted,
        });
    }
    // Of pH only the readings since the last acid, base or other dose describe one water: keep the latest hour.
    if let Some(latest) = latest_reading_of(time, Q::Ph) {
        let mut times = time.entries.iter().filter_map(|(at, e)| match &e.what {
            Happening::Reading(_) if time.last_fill.is_none_or(|f| *at >= f) => Some(*at),
            _ => None,
        });
        all.retain(|w| {
            let at = times.next();
            w.interpreted.quantity != Q::Ph || at.is_some_and(|at| latest.hours_since(at) <= 1.0)
        });
    }
    Ok(all)
}

fn latest_reading_of(time: &Timeline, q: Q) -> Option<When> {
    time.entries
        .iter()
        .rev()
        .find(|(_, e)| matches!(&e.what, Happening::Reading(r) if r.quantity == q))
        .map(|(at, _)| *at)
}

/// Hours between the first and the last of an unbroken run of pH readings below 7.2 up to now.
fn low_ph_hours(time: &Timeline) -> f64 {
    let mut run: Option<(When, When)> = None;
    for (at, entry) in &time.entries {
        let Happening::Reading(r) = &entry.what else { continue };
        if r.quantity != Q::Ph {
            continue;
        }
        run = match r.raw {
            Raw::Value(v) if v < 7.2 => Some(run.map_or((*at, *at), |(first, _)| (first, *at))),
            Raw::Below(_) => Some(run.map_or((*at, *at), |(first, _)| (first, *at))),
            _ => None,
        };
    }
    run.map_or(0.0, |(first, last)| last.hours_since(first))
}

/// Void readings without another of their quantity, and quantities whose readings contradict each other.
fn to_retest(weighted: &[Weighted], fusion: &fuse::Fusion) -> Vec<Q> {
    let mut retest: Vec<Q> = weighted
        .iter()
        .filter(|w| matches!(w.interpreted.outcome, method::Outcome::Void))
        .map(|w| w.interpreted.quantity)
        .filter(|q| fusion.get(*q).is_none())
        .collect();
    for finding in fusion.findings.iter().filter(|f| f.weight >= Weight::Doubt) {
        if let [only] = finding.quantities[..]
            // Two that agree against a third, a controller's display, settle it.
            && !fusion.get(only).is_some_and(|f| f.used >= 2 && !f.only_display)
        {
            retest.push(only);
        }
    }
    retest.sort();
    retest.dedup();
    retest
}

fn source_names(source: Option<&SourceWater>, q: Q) -> bool {
    let Some(s) = source else { return false };
    match q {
        Q::CalciumHardness => s.calcium_hardness_mg_l_caco3.is_some(),
        Q::Salt => s.salt_mg_l.is_some() || s.chloride_mg_l.is_some(),
        // Not in tap water unless somebody says so.
        Q::CyanuricAcid | Q::Borate | Q::TotalBromine | Q::FreeChlorine => true,
        _ => false,
    }
}

fn dosed_cyanurate(case: &Case) -> bool {
    let carries = |p: &Product| per_gram(p, false).cyanurate > 0.0;
    case.entries.iter().any(|e| match e.what {
        Happening::Dose { product, .. } => case.shelf.get(product).is_some_and(carries),
        _ => false,
    })
}
