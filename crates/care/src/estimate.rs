//! Know: from source water, entries and raw readings to one estimate of the whole water.
//!
//! In: a [`Case`]. Out: totals with an error for every quantity, findings, assumptions.
//! Model: each quantity is carried from its reading to now by the doses and replaced water since (exact) and by time
//! (its error grows) until the doses have outlived it; readings of one quantity are fused; pH and alkalinity together give the carbon; what nobody read
//! comes from the source water and the doses since the fill, or is assumed and said.
//! Left out: chlorine's decay, loss of carbon dioxide, evaporation between the entries: the tub in time.

mod false_combined;
mod outlived;
mod readings;
mod solve;
mod source;
mod timeline;
mod told;

use crate::band::Regime;
use crate::case::{Case, Happening, PlanKind, Product, When};
use crate::chem::{linear, per_gram};
use crate::finding::{Finding, Weight};
use crate::fuse::{self, Fused};
use crate::method::{Context, MethodError};
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};
use crate::water_age;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity};
use water::units::{
    eq_kg_from_mg_l_caco3, mg_l_caco3_from_eq_kg, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l,
    molar_mass,
};
use water::{Celsius, Equilibria, Speciation, Totals, WaterError};

pub(crate) use source::{source_error, source_totals};
pub(crate) use timeline::Timeline;
pub use told::{Stands, Told, readings_of};

/// Water temperature where the user gave none, °C.
const USUAL_TEMPERATURE_C: f64 = 38.0;
/// Calcium's share of total hardness, and its standard error (natural waters, from memory).
const CALCIUM_SHARE: (f64, f64) = (0.75, 0.12);
/// A fill counts as new for so long, whether it has been read or not.
const NEW_FILL_HOURS: f64 = 48.0;
/// For so long the source water and the recorded doses speak for what nobody has read; after that too much has happened
/// that nobody wrote down.
const FILL_SPEAKS_HOURS: f64 = 14.0 * 24.0;

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
        why: Box<Text>,
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

/// Calcium hardness of a recent fill by the source water's analysis, beside the one that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HardnessOfFill {
    /// The source water's, with what came since, mg/L as CaCO3.
    pub by_analysis: f64,
    /// Of that, what doses brought.
    pub dosed: f64,
    /// When it was filled.
    pub filled: When,
    /// How many readings stand in the one that was read.
    pub readings: usize,
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
    /// Quantities of which only "more than" was read, and more than what: tested in a diluted sample before anything is
    /// dosed for them. pH is not among them; it cannot be diluted.
    pub over_scale: Vec<(Q, f64)>,
    /// For how many hours from now monopersulfate still reads as combined chlorine, if it has blurred a reading.
    pub combined_blurred_for_h: Option<f64>,
    /// What calcium hardness a fill of the last weeks should have, if the source water's analysis names it and the
    /// hardness was read.
    pub hardness_of_fill: Option<HardnessOfFill>,
    /// Whether all that is known of the pH was read at an end of its scale.
    pub ph_at_scale_end: bool,
    /// Hours for which low pH has been read again and again, if it has.
    pub ph_low_for_hours: f64,
    /// Whether the fill is so young that cloudiness may be its own.
    pub(crate) may_still_clear: bool,
    /// What the entries tell.
    pub findings: Vec<Finding>,
    /// What was assumed.
    pub assumptions: Vec<Text>,
}

impl Estimated {
    /// A quantity's level.
    pub fn level(&self, q: Q) -> Option<&Level> {
        self.levels.iter().find(|l| l.quantity == q)
    }

    /// What a quantity is more than, if nothing else is known of it.
    pub fn over_scale(&self, q: Q) -> Option<f64> {
        self.over_scale.iter().find(|(over, _)| *over == q).map(|(_, limit)| *limit)
    }

    /// A quantity's figure, 0 if nothing is known of it.
    pub fn value(&self, q: Q) -> f64 {
        self.level(q).map_or(0.0, |l| l.value)
    }
}

/// The water of a case as it stands now.
///
/// # Errors
/// [`EstimateError`] if a reading cannot have come from its method, nothing at all is known, or the figures describe
/// a water outside the chemistry's range.
pub fn estimate(case: &Case) -> Result<Estimated, EstimateError> {
    let mut draft = Draft::new(case)?;
    let at = draft.constants()?;
    let composition = draft.composition();
    let water = draft.carbonate(&at, composition)?;
    let water = draft.salt_by_conductivity(&at, water)?;
    let residue = draft.rest_of_levels(&at, &water)?;
    draft.cross_check(&water);
    Ok(draft.finish(at, water, residue))
}

fn wrong(error: WaterError) -> EstimateError {
    EstimateError::Water { what: "tub water", error }
}

/// What of a fill the doses since have outlived.
#[derive(Debug, Clone, Copy, Default)]
struct FillOutlived {
    alkalinity: bool,
    ph: bool,
}

impl FillOutlived {
    fn of(case: &Case, time: &Timeline<'_>, source: &Totals) -> Self {
        let Some(filled) = time.last_fill else { return FillOutlived::default() };
        let q = Q::TotalAlkalinity;
        let figure = linear(q, source).unwrap_or(0.0);
        let days = time.now.hours_since(filled) / 24.0;
        let carried = outlived::Carried {
            figure,
            shift: time.carry_figure(q, figure, filled) - figure,
            extra_standard_error: (readings::drift(q).0 * days.sqrt()).hypot(outlived::dose_error(
                time,
                case.tub.volume_error,
                q,
                filled,
            )),
        };
        let outlived = |q| outlived::is_outlived(time, q, filled, carried, Some(figure));
        FillOutlived { alkalinity: outlived(q), ph: outlived(Q::Ph) }
    }
}

/// The estimate as it grows.
struct Draft<'a> {
    case: &'a Case,
    time: Timeline<'a>,
    kind: PlanKind,
    source: Option<Totals>,
    /// The source water with everything since the fill, if it is known.
    from_fill: Option<Totals>,
    /// Whether that may stand for a reading.
    fill_speaks: bool,
    /// Whether doses since the fill have outlived what it had: its alkalinity, its pH.
    fill_outlived: FillOutlived,
    fused: Vec<Fused>,
    levels: Vec<Level>,
    retest: Vec<Q>,
    over_scale: Vec<(Q, f64)>,
    combined_blurred_for_h: Option<f64>,
    ph_at_scale_end: bool,
    findings: Vec<Finding>,
    assumptions: Vec<Text>,
}

impl<'a> Draft<'a> {
    /// Source water, kind of plan, readings through their methods and fused.
    fn new(case: &'a Case) -> Result<Self, EstimateError> {
        let mut assumptions = Vec::new();
        let source = match &case.source_water {
            Some(s) => source::source_totals(s, case.units, &mut assumptions)?,
            None => None,
        };
        let time = Timeline::new(case, source);
        let read_since_fill = case.entries.iter().any(|e| {
            matches!(e.what, Happening::Reading(_))
                && e.at.is_none_or(|at| time.last_fill.is_none_or(|f| at > f))
        });
        if !read_since_fill && source.is_none() {
            return Err(EstimateError::Missing {
                field: "source_water.ph and source_water.total_alkalinity_mg_l_caco3 (or a [[reading]])",
                why: Box::new(say!(
                    "care-nothing-read",
                    "without the source water's analysis or a reading nothing is known of this water"
                )),
            });
        }
        let new_fill = time.last_fill.is_some_and(|f| time.now.hours_since(f) <= NEW_FILL_HOURS);
        let start_up = new_fill || !read_since_fill;
        let kind = case.kind.unwrap_or(if start_up { PlanKind::StartUp } else { PlanKind::Correction });

        let mut findings = Vec::new();
        let context = readings::rough_context(case, &time);
        let readings::Standing { weighted, outlived, blurred_for_h } =
            readings::interpret_all(case, &time, &context, &mut findings)?;
        let fusion = fuse::fuse(&weighted, case.units);
        let mut retest = readings::to_retest(&weighted, &fusion);
        for (q, at) in outlived {
            findings.push(outlived::finding(&time, q, at));
            retest.push(q);
        }
        retest.extend(readings::dechlorinated_since_read(case, &time, &mut findings));
        findings.extend(fusion.findings.iter().cloned());
        let mut fused = fusion.fused;
        if let Some(combined) = fuse::derive_combined_chlorine(&fused)
            && !fused.iter().any(|f| f.quantity == Q::CombinedChlorine)
        {
            fused.push(combined);
        }
        let over_scale = readings::over_scale(&fused);
        let from_fill = source.map(|s| time.carry(s, time.last_fill));
        let recent = time.last_fill.is_some_and(|f| time.now.hours_since(f) <= FILL_SPEAKS_HOURS);
        let fill_speaks = from_fill.is_some() && (recent || kind == PlanKind::StartUp);
        let fill_outlived = source.as_ref().map(|s| FillOutlived::of(case, &time, s)).unwrap_or_default();
        if fill_speaks && let Some(filled) = time.last_fill {
            for (q, gone) in [(Q::TotalAlkalinity, fill_outlived.alkalinity), (Q::Ph, fill_outlived.ph)] {
                let read = time.latest_reading_of(q).is_some_and(|at| at >= filled);
                if gone && !read {
                    findings.push(outlived::finding(&time, q, filled));
                    retest.push(q);
                }
            }
        }
        findings.extend(time.last_fill.and_then(|filled| water_age::yearly(filled, time.now)));
        if case.entries.iter().any(|e| matches!(e.what, Happening::Bathers { .. })) {
            assumptions.push(say!(
                "care-assume-bathers",
                "What bathers have used since the readings is not counted."
            ));
        }
        Ok(Draft {
            case,
            time,
            kind,
            source,
            from_fill,
            fill_speaks,
            fill_outlived,
            fused,
            levels: Vec::new(),
            retest,
            over_scale,
            combined_blurred_for_h: blurred_for_h,
            ph_at_scale_end: readings::ph_at_scale_end(&weighted),
            findings,
            assumptions,
        })
    }

    fn read(&self, q: Q) -> Option<&Fused> {
        self.fused.iter().find(|f| f.quantity == q)
    }

    fn level(&mut self, quantity: Q, value: f64, standard_error: f64, known: bool) {
        self.levels.push(Level { quantity, value, standard_error, known });
    }

    /// Constants at the tub's temperature.
    fn constants(&mut self) -> Result<Equilibria, EstimateError> {
        let given = self.read(Q::Temperature).map(|f| f.value).or(self.case.tub.temperature_c);
        if given.is_none() {
            let usual = self.case.units.temperature(USUAL_TEMPERATURE_C);
            self.assumptions.push(say!(
                "care-assume-temperature",
                "Water temperature not given: {temperature}.",
                temperature = Text::figures(usual)
            ));
        }
        let temperature_c = given.unwrap_or(USUAL_TEMPERATURE_C);
        self.level(Q::Temperature, temperature_c, 0.5, true);
        Equilibria::at(Celsius(temperature_c)).map_err(wrong)
    }

    /// What was not read: from the fill and the doses since, or a usual background.
    fn background(&self) -> Totals {
        self.from_fill.unwrap_or(Totals {
            magnesium: 2e-4,
            potassium: 1e-4,
            sulfate: 5e-4,
            chloride: mol_kg_from_mg_l(250.0, molar_mass::NACL),
            calcium: mol_kg_from_hardness_mg_l_caco3(150.0),
            bromide: if self.case.tub.regime == Regime::Bromine { 4e-4 } else { 0.0 },
            ..Totals::default()
        })
    }

    /// A linear quantity's figure: read, analysed, or assumed with this error.
    fn settle(&mut self, q: Q, assumed_error: f64) -> f64 {
        if let Some(f) = self.read(q) {
            let counted = self.counted_under_scale(q, f);
            let (value, error) = (counted.unwrap_or(f.value.max(0.0)), f.standard_error);
            self.level(q, value, error, true);
            return value;
        }
        let value = linear(q, &self.background()).unwrap_or(0.0);
        if q == Q::Borate && value == 0.0 {
            return 0.0; // nobody speaks of it
        }
        let analysed = self.fill_speaks && source::source_names(self.case.source_water.as_ref(), q);
        if !analysed && assumed_error > 0.0 {
            self.assumptions.push(say!(
                "care-assume-level",
                "{quantity} was neither read nor analysed: {value} is assumed, and nothing is dosed for it.",
                quantity = q.said().capital(),
                value = figures!("{value:.0} {} ± {assumed_error:.0}", q.unit())
            ));
        }
        self.level(q, value, if analysed { source_error(q, value) } else { assumed_error }, analysed);
        value
    }

    /// Where only "less than" was read of what comes by doses alone: the figure that the fill and the doses come to, if it
    /// is less than that and nothing can have come unwritten.
    fn counted_under_scale(&self, q: Q, read: &Fused) -> Option<f64> {
        if !read.under_scale || !matches!(q, Q::CyanuricAcid | Q::Borate) {
            return None;
        }
        let brings = |p: &Product| linear(q, &per_gram(p, false)).is_some_and(|brought| brought > 0.0);
        if self.case.shelf.iter().any(brings) && !self.fill_speaks {
            return None;
        }
        let counted = linear(q, &self.background())?;
        read.bounds.1.is_some_and(|most| counted <= most).then_some(counted)
    }

    /// Everything but alkalinity and carbon.
    fn composition(&mut self) -> Totals {
        let background = self.background();
        let bromine = self.case.tub.regime == Regime::Bromine;
        let calcium = match (self.read(Q::CalciumHardness), self.read(Q::TotalHardness).map(|f| f.value)) {
            (None, Some(total)) => {
                let calcium = CALCIUM_SHARE.0 * total;
                self.level(Q::CalciumHardness, calcium, CALCIUM_SHARE.1 * total, true);
                self.assumptions.push(say!(
                    "care-assume-calcium",
                    "Calcium hardness was not read: {share} of the total hardness is taken.",
                    share = figures!("{:.0} % ± {:.0} %", 100.0 * CALCIUM_SHARE.0, 100.0 * CALCIUM_SHARE.1)
                ));
                calcium
            }
            _ => self.settle(Q::CalciumHardness, 80.0),
        };
        let may_hold_cyanurate = holds_cyanurate(self.case) && !self.fill_speaks;
        if may_hold_cyanurate && self.read(Q::CyanuricAcid).is_none() {
            self.findings.push(Finding {
                weight: Weight::Doubt,
                quantities: vec![Q::CyanuricAcid, Q::FreeChlorine],
                what: say!("care-cyanuric-unread", "Cyanuric acid was not read, and a product that brings it is on the shelf or was dosed: free chlorine may be in its band and \
                       hardly disinfect."),
                advice: say!("care-test-cyanuric", "Test cyanuric acid."),
            });
        }
        let cyanuric = self.settle(Q::CyanuricAcid, if may_hold_cyanurate { 30.0 } else { 0.0 });
        let borate = self.settle(Q::Borate, 0.0);
        let oxidant = if bromine {
            mol_kg_from_mg_l(self.settle(Q::TotalBromine, 2.0), molar_mass::BR2)
        } else {
            mol_kg_from_mg_l(self.settle(Q::FreeChlorine, 1.0), molar_mass::CL2)
        };
        let salt = if self.salt_is_by_conductivity() { 0.0 } else { self.settle(Q::Salt, 150.0) };
        if self.from_fill.is_none() {
            self.assumptions.push(
                say!("care-assume-ions", "Ions that nobody read (magnesium, potassium, sulfate) count with usual figures; sodium closes the charge."),
            );
        }
        if bromine && self.from_fill.is_none() {
            self.assumptions.push(say!("care-assume-bromide", "A bromide bank of about 30 mg/L is assumed."));
        }
        let total_hardness = self.read(Q::TotalHardness).map(|f| f.value);
        Totals {
            calcium: mol_kg_from_hardness_mg_l_caco3(calcium),
            cyanurate: mol_kg_from_mg_l(cyanuric, molar_mass::CYANURIC_ACID),
            boron: mol_kg_from_mg_l(borate, molar_mass::B),
            free_chlorine: oxidant,
            chloride: mol_kg_from_mg_l(salt, molar_mass::NACL),
            bromide: if bromine { background.bromide.max(oxidant * 1.2) } else { background.bromide },
            magnesium: total_hardness
                .map_or(background.magnesium, |t| mol_kg_from_hardness_mg_l_caco3((t - calcium).max(0.0))),
            ..background
        }
    }

    fn salt_is_by_conductivity(&self) -> bool {
        self.read(Q::Salt).is_none() && self.read(Q::Conductivity).is_some()
    }

    /// pH and alkalinity together give the carbon, at the moment of the pH reading; later doses come on top.
    fn carbonate(&mut self, at: &Equilibria, mut totals: Totals) -> Result<Speciation, EstimateError> {
        let (ph_read, alkalinity_read) =
            (self.read(Q::Ph).map(|f| f.value), self.read(Q::TotalAlkalinity).map(|f| f.value));
        let gone = self.fill_outlived;
        if let (None, None, Some(fill), false) =
            (ph_read, alkalinity_read, self.from_fill, gone.ph || gone.alkalinity)
        {
            if self.fused.is_empty() {
                return solve::closed_and_solved(at, fill).map_err(wrong); // the filled water itself, to the last ion
            }
            totals.alkalinity = fill.alkalinity;
            totals.carbon = fill.carbon;
            return solve::closed_and_solved(at, totals).map_err(wrong);
        }
        let fill = self.from_fill;
        let fill_ph = fill
            .filter(|_| !gone.ph && !gone.alkalinity)
            .and_then(|f| solve::closed_and_solved(at, f).ok())
            .map(|s| s.ph().0);
        let ph = ph_read.or(fill_ph).unwrap_or_else(|| {
            self.assumptions.push(say!(
                "care-assume-ph",
                "pH was not read: 7.5 is assumed, and no acid or base is dosed."
            ));
            7.5
        });
        let fill_alkalinity = fill.filter(|_| !gone.alkalinity).and_then(|f| linear(Q::TotalAlkalinity, &f));
        let alkalinity = alkalinity_read.or(fill_alkalinity).unwrap_or_else(|| {
            self.assumptions.push(say!(
                "care-assume-alkalinity",
                "Total alkalinity was not read: 100 mg/L is assumed, and nothing is dosed for it."
            ));
            100.0
        });
        // Back to the moment of the pH reading: without the later doses, with the water that was replaced since.
        let read_at = ph_read.and_then(|_| self.time.latest_reading_of(Q::Ph)).unwrap_or(self.time.now);
        let later = self.time.carry(Totals::default(), Some(read_at));
        let kept = self.time.kept_since(read_at).max(1e-3);
        let before = solve::clamp_to_possible(Totals::default().plus(&totals.plus(&later, -1.0), 1.0 / kept));
        let later_alkalinity = linear(Q::TotalAlkalinity, &later).unwrap_or(0.0);
        let read = eq_kg_from_mg_l_caco3((alkalinity - later_alkalinity) / kept);
        let solved = solve::solve_titrated(at, &before, ph, read, &mut self.findings, &mut self.retest)
            .map_err(wrong)?;
        totals.alkalinity = kept * solved.totals.alkalinity + later.alkalinity;
        totals.carbon = kept * solved.totals.carbon + later.carbon;
        solve::closed_and_solved(at, totals).map_err(wrong)
    }

    /// Salt from a conductivity, where nothing else tells it.
    fn salt_by_conductivity(
        &mut self,
        at: &Equilibria,
        water: Speciation,
    ) -> Result<Speciation, EstimateError> {
        if !self.salt_is_by_conductivity() {
            return Ok(water);
        }
        let (ms_cm, error) = self.read(Q::Conductivity).map_or((0.0, 0.0), |f| (f.value, f.standard_error));
        let solved = solve::with_salt_from_conductivity(at, &water.totals, ms_cm).map_err(wrong)?;
        let salt = linear(Q::Salt, &solved.totals).unwrap_or(0.0);
        self.level(Q::Salt, salt, (salt * error / ms_cm.max(0.1)).hypot(0.07 * salt), true);
        self.assumptions.push(say!("care-assume-salt", "Salt is taken from the conductivity."));
        Ok(solved)
    }

    /// The quantities that follow from the solved water, and those that were only read. Returns what a titration reads
    /// beyond the linear part.
    fn rest_of_levels(&mut self, at: &Equilibria, water: &Speciation) -> Result<f64, EstimateError> {
        // Salt that nobody read is what the closed charge makes of it.
        let by_charge = linear(Q::Salt, &water.totals).unwrap_or(0.0);
        if self.read(Q::Salt).is_none()
            && let Some(salt) = self.levels.iter_mut().find(|l| l.quantity == Q::Salt)
        {
            salt.value = by_charge;
        }
        let titrated =
            titrated_alkalinity(at, &water.totals, ALKALINITY_END_POINT, Dechlorination::Thiosulfate)
                .map_err(wrong)?;
        let reads = mg_l_caco3_from_eq_kg(titrated);
        // Without a reading or an analysis: the errors of the assumed 100 mg/L and 7.5.
        let standing = |read: Option<&Fused>, filled: bool, of_fill: f64, assumed: f64| match read {
            Some(f) => (f.standard_error, true),
            None if filled => (of_fill, true),
            None => (assumed, false),
        };
        let gone = self.fill_outlived;
        let filled = self.fill_speaks && !gone.alkalinity;
        let of_fill = source_error(Q::TotalAlkalinity, reads);
        let (error, known) = standing(self.read(Q::TotalAlkalinity), filled, of_fill, 40.0);
        self.level(Q::TotalAlkalinity, reads, error, known);
        let (error, known) = standing(self.read(Q::Ph), filled && !gone.ph, 0.15, 0.4);
        self.level(Q::Ph, water.ph().0, error, known);
        for q in [
            Q::CombinedChlorine,
            Q::Iron,
            Q::Copper,
            Q::Redox,
            Q::Turbidity,
            Q::Conductivity,
            Q::TotalHardness,
            Q::TotalChlorine,
            Q::DissolvedSolids,
        ] {
            if let Some((value, error)) = self.read(q).map(|f| (f.value, f.standard_error)) {
                self.level(q, value, error, true);
            }
        }
        if self.kind == PlanKind::StartUp {
            let source = self.case.source_water.as_ref();
            for (q, figure) in
                [(Q::Iron, source.and_then(|s| s.iron_mg_l)), (Q::Copper, source.and_then(|s| s.copper_mg_l))]
            {
                if let (None, Some(value)) = (self.read(q), figure) {
                    self.level(q, value, 0.1 * value, true);
                }
            }
        }
        let index = at.calcite_saturation_index(water);
        if index.is_finite() {
            let of = |q: Q| self.levels.iter().find(|l| l.quantity == q);
            let error = |q: Q| of(q).map_or(0.0, |l| l.standard_error);
            let relative =
                |q: Q| std::f64::consts::LOG10_E * error(q) / of(q).map_or(5.0, |l| l.value.max(5.0));
            let total = error(Q::Ph).hypot(relative(Q::CalciumHardness)).hypot(relative(Q::TotalAlkalinity));
            let known = [Q::Ph, Q::TotalAlkalinity, Q::CalciumHardness]
                .into_iter()
                .all(|q| of(q).is_some_and(|l| l.known));
            self.level(Q::SaturationIndex, index, total, known);
        }
        Ok(reads - linear(Q::TotalAlkalinity, &water.totals).unwrap_or(0.0))
    }

    /// Quantities held against each other, at the water as it now stands.
    fn cross_check(&mut self, water: &Speciation) {
        let totals = &water.totals;
        let value = |q: Q| self.levels.iter().find(|l| l.quantity == q).map(|l| l.value);
        let context = Context {
            temperature_c: water.temperature.0,
            ph: Some(water.ph().0),
            free_chlorine_mg_l: linear(Q::FreeChlorine, totals),
            cyanuric_acid_mg_l: linear(Q::CyanuricAcid, totals),
            salt_mg_l: linear(Q::Salt, totals),
            magnesium_mg_l: Some(totals.magnesium * molar_mass::MG * 1000.0),
            total_alkalinity_mg_l_caco3: value(Q::TotalAlkalinity),
            units: self.case.units,
        };
        let expected = |salt| solve::expected_conductivity(totals, salt);
        let found = fuse::cross_check(&self.fused, &context, expected);
        let chlorine_doubted =
            found.iter().any(|f| f.weight >= Weight::Doubt && f.quantities.contains(&Q::TotalChlorine));
        if chlorine_doubted {
            self.retest.push(Q::FreeChlorine);
        }
        self.findings.extend(
            found.into_iter().filter(|f| !self.findings.iter().any(|g| g.what == f.what)).collect::<Vec<_>>(),
        );
    }

    fn hardness_of_fill(&self) -> Option<HardnessOfFill> {
        let q = Q::CalciumHardness;
        let filled = self.time.last_fill.filter(|_| self.fill_speaks)?;
        let readings = self.read(q).or_else(|| self.read(Q::TotalHardness))?.used;
        if !source::source_names(self.case.source_water.as_ref(), q) {
            return None;
        }
        Some(HardnessOfFill {
            by_analysis: linear(q, self.from_fill.as_ref()?)?,
            dosed: self.time.moved_since(q, filled, false),
            filled,
            readings,
        })
    }

    fn finish(mut self, at: Equilibria, water: Speciation, alkalinity_residue_mg_l: f64) -> Estimated {
        let tub = &self.case.tub;
        self.assumptions.extend(self.case.notes.iter().map(|n| n.said(self.case.units)));
        self.assumptions.push({
            let volume = Text::figures(self.case.units.volume(tub.volume_l));
            let percent = figures!("{:.0}", 100.0 * tub.volume_error);
            if tub.volume_measured {
                say!(
                    "care-volume-measured",
                    "The volume is {volume}, good to {percent} % (measured).",
                    volume = volume,
                    percent = percent
                )
            } else {
                say!(
                    "care-volume-not-measured",
                    "The volume is {volume}, good to {percent} % (not measured).",
                    volume = volume,
                    percent = percent
                )
            }
        });
        let hardness_of_fill = self.hardness_of_fill();
        let source_water = self.source.and_then(|s| solve::closed_and_solved(&at, s).ok());
        Estimated {
            kind: self.kind,
            at,
            water,
            levels: self.levels,
            source: source_water.map(|s| s.totals),
            source_water,
            alkalinity_residue_mg_l,
            retest: self.retest,
            over_scale: self.over_scale,
            combined_blurred_for_h: self.combined_blurred_for_h,
            hardness_of_fill,
            ph_at_scale_end: self.ph_at_scale_end,
            ph_low_for_hours: readings::low_ph_hours(&self.time),
            may_still_clear: self
                .time
                .last_fill
                .is_some_and(|f| water_age::may_still_clear(f, self.time.now)),
            findings: self.findings,
            assumptions: self.assumptions,
        }
    }
}

/// Whether a product that brings cyanuric acid is on the shelf (what was dosed is there too).
fn holds_cyanurate(case: &Case) -> bool {
    case.shelf.iter().any(|p: &Product| per_gram(p, false).cyanurate > 0.0)
}
