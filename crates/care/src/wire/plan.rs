//! Contract 5.2, the way out: a plan as JSON. Names are a promise; a field may be added, none may change.

use crate::band::Band;
use crate::case::PlanKind;
use crate::finding::{Finding, Weight};
use crate::plan::{Cover, Estimate, Plan, Snapshot, StepKind};
use crate::quantity::Quantity;
use crate::wire::ahead::AheadOut;
use crate::wire::water::WaterOut;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use water::Equilibria;

/// A plan: what to do, in which order, and the water after each step.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Plan")]
pub struct PlanOut {
    /// `start-up` or `correction`.
    pub kind: &'static str,
    /// The one sentence that says what to do.
    pub headline: String,
    /// Litres that the plan is made for.
    pub volume_l: f64,
    /// The water before it.
    pub water_before: SnapshotOut,
    /// The steps, in order.
    pub steps: Vec<StepOut>,
    /// What is still outside its band after it.
    pub out_of_band_after: Vec<MissOut>,
    /// Cost of chemicals and water, in the currency of the shelf's prices.
    pub cost: f64,
    /// Considered and not done.
    pub not_done: Vec<NotDoneOut>,
    /// When to look again.
    pub look_again: LookAgainOut,
    /// What was assumed.
    pub assumptions: Vec<String>,
    /// What the readings themselves say: void, contradictory, beyond range.
    pub findings: Vec<FindingOut>,
    /// Chance of ending outside each band, by quantity.
    pub risks: BTreeMap<&'static str, RiskOut>,
    /// Rules of the trade beside the computation.
    pub rules_of_the_trade: Vec<RuleOut>,
    /// The bands used, by quantity.
    pub bands: BTreeMap<&'static str, BandOut>,
    /// What is foreseen if the plan is done; null of a plan for the water of the moment.
    pub ahead: Option<AheadOut>,
}

/// A water of the plan: the fields of `tubwright water`, and each quantity with its interval.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "WaterOfPlan")]
pub struct SnapshotOut {
    /// The fields of `tubwright water`.
    #[serde(flatten)]
    pub water: WaterOut,
    /// Temperature of the figures, °C.
    pub temperature_c: f64,
    /// Quantities as a kit would read them, by id.
    pub quantities: BTreeMap<&'static str, EstimateOut>,
}

/// A quantity with its interval.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Estimate")]
pub struct EstimateOut {
    /// Best figure.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// Unit; empty for pH and saturation index.
    pub unit: &'static str,
    /// Whether anything was read or analysed for it (else it is an assumption).
    pub known: bool,
}

/// One step.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Step")]
pub struct StepOut {
    /// Position, from 1.
    pub order: usize,
    /// `add`, `replace-water`, `circulate`, `wait`, `retest`, `leave-open` or `keep-out`.
    pub kind: &'static str,
    /// The chemical's id, for `add`.
    pub chemical: Option<&'static str>,
    /// The product's name on the shelf.
    pub product: Option<String>,
    /// Grams of product.
    pub mass_g: Option<f64>,
    /// Millilitres of a liquid product.
    pub volume_ml: Option<f64>,
    /// Percent of the water, for `replace-water`.
    pub share_percent: Option<f64>,
    /// The amount in the owner's measure.
    pub measure_text: String,
    /// Dissolve it in a bucket of tub water first.
    pub pre_dissolve: bool,
    /// Jets on.
    pub jets_on: bool,
    /// `open` or `closed`.
    pub cover: &'static str,
    /// Minutes to wait after it.
    pub wait_min: f64,
    /// pH at which to stop, for `leave-open`.
    pub until_ph: Option<f64>,
    /// Why, in one sentence.
    pub why: String,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The water predicted after it.
    pub water_after: SnapshotOut,
}

/// A quantity that stays outside its band.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Miss")]
pub struct MissOut {
    /// The quantity's id.
    pub quantity: &'static str,
    /// Where it will be.
    pub value: f64,
    /// Lower edge of its band.
    pub low: f64,
    /// Upper edge of its band.
    pub high: f64,
    /// Why the plan leaves it.
    pub why: String,
}

/// Considered and not done.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "NotDone")]
pub struct NotDoneOut {
    /// What.
    pub what: String,
    /// Why not.
    pub why: String,
}

/// When to look again.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "LookAgain")]
pub struct LookAgainOut {
    /// Hours from the end of the plan.
    pub after_hours: f64,
    /// At what: quantity ids.
    pub quantities: Vec<&'static str>,
    /// Why then.
    pub why: String,
    /// Further looks, hours.
    pub then_hours: Vec<f64>,
}

/// Something that the readings themselves tell.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Finding")]
pub struct FindingOut {
    /// `note`, `doubt` or `safety`.
    pub weight: &'static str,
    /// The quantities that it touches.
    pub quantities: Vec<&'static str>,
    /// What was found.
    pub what: String,
    /// What to do about it.
    pub advice: String,
}

/// Chance of ending outside a band.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Risk")]
pub struct RiskOut {
    /// Chance of ending below, 0 to 1.
    pub below: f64,
    /// Chance of ending above (overshoot), 0 to 1.
    pub above: f64,
}

/// A rule of the trade beside the computation.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Rule")]
pub struct RuleOut {
    /// The rule.
    pub rule: String,
    /// By how much the computation differs.
    pub difference: String,
}

/// A band as used.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "BandUsed")]
pub struct BandOut {
    /// Lower edge.
    pub low: f64,
    /// Lower end of the aim.
    pub aim_low: f64,
    /// Upper end of the aim.
    pub aim_high: f64,
    /// Upper edge.
    pub high: f64,
    /// Below this nobody bathes.
    pub hard_low: Option<f64>,
    /// Above this nobody bathes.
    pub hard_high: Option<f64>,
    /// Unit; empty for pH and saturation index.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: String,
    /// Set by the user.
    pub by_user: bool,
}

/// A step's kind as the contract spells it.
pub fn kind_id(kind: StepKind) -> &'static str {
    match kind {
        StepKind::Add => "add",
        StepKind::ReplaceWater => "replace-water",
        StepKind::Circulate => "circulate",
        StepKind::Wait => "wait",
        StepKind::Retest => "retest",
        StepKind::LeaveOpen => "leave-open",
        StepKind::KeepOut => "keep-out",
    }
}

impl PlanOut {
    /// Of a plan.
    ///
    /// # Errors
    /// If a water of the plan is at a temperature that the constants do not cover.
    pub fn of(plan: &Plan) -> Result<PlanOut, water::WaterError> {
        Ok(PlanOut {
            kind: match plan.kind {
                PlanKind::StartUp => "start-up",
                PlanKind::Correction => "correction",
            },
            headline: plan.headline.to_string(),
            volume_l: plan.volume_l,
            water_before: SnapshotOut::of(&plan.before)?,
            steps: plan.steps.iter().map(StepOut::of).collect::<Result<_, _>>()?,
            out_of_band_after: plan
                .out_of_band_after
                .iter()
                .map(|m| MissOut {
                    quantity: m.quantity.id(),
                    value: m.value,
                    low: m.low,
                    high: m.high,
                    why: m.why.to_string(),
                })
                .collect(),
            cost: plan.cost,
            not_done: plan
                .not_done
                .iter()
                .map(|n| NotDoneOut { what: n.what.to_string(), why: n.why.to_string() })
                .collect(),
            look_again: LookAgainOut {
                after_hours: plan.look_again.after_hours,
                quantities: plan.look_again.quantities.iter().map(|q| q.id()).collect(),
                why: plan.look_again.why.to_string(),
                then_hours: plan.look_again.then_hours.clone(),
            },
            assumptions: plan.assumptions.iter().map(ToString::to_string).collect(),
            findings: plan.findings.iter().map(FindingOut::of).collect(),
            risks: plan
                .risks
                .iter()
                .map(|r| (r.quantity.id(), RiskOut { below: r.below, above: r.above }))
                .collect(),
            rules_of_the_trade: plan
                .rules
                .iter()
                .map(|r| RuleOut { rule: r.rule.to_string(), difference: r.difference.to_string() })
                .collect(),
            bands: plan.bands.iter().map(|(q, b)| (q.id(), BandOut::of(*q, b))).collect(),
            ahead: plan.ahead.as_ref().map(AheadOut::of),
        })
    }
}

impl FindingOut {
    /// Of a finding.
    pub(crate) fn of(f: &Finding) -> FindingOut {
        FindingOut {
            weight: match f.weight {
                Weight::Note => "note",
                Weight::Doubt => "doubt",
                Weight::Safety => "safety",
            },
            quantities: f.quantities.iter().map(|q| q.id()).collect(),
            what: f.what.to_string(),
            advice: f.advice.to_string(),
        }
    }
}

impl BandOut {
    /// Of a quantity's band.
    pub(crate) fn of(q: Quantity, b: &Band) -> BandOut {
        BandOut {
            low: b.low,
            aim_low: b.aim_low,
            aim_high: b.aim_high,
            high: b.high,
            hard_low: b.hard_low,
            hard_high: b.hard_high,
            unit: q.unit(),
            source: b.source.to_string(),
            by_user: b.by_user,
        }
    }
}

impl SnapshotOut {
    fn of(s: &Snapshot) -> Result<SnapshotOut, water::WaterError> {
        let at = Equilibria::at(s.water.temperature)?;
        Ok(SnapshotOut {
            water: WaterOut::of(&at, &s.water),
            temperature_c: s.water.temperature.0,
            quantities: s.quantities.iter().map(|e| (e.quantity.id(), EstimateOut::of(e))).collect(),
        })
    }
}

impl EstimateOut {
    fn of(e: &Estimate) -> EstimateOut {
        EstimateOut {
            value: e.value,
            standard_error: e.standard_error,
            low: e.low,
            high: e.high,
            unit: e.quantity.unit(),
            known: e.known,
        }
    }
}

impl StepOut {
    fn of(s: &crate::plan::Step) -> Result<StepOut, water::WaterError> {
        Ok(StepOut {
            order: s.order,
            kind: kind_id(s.kind),
            chemical: s.chemical,
            product: s.product.clone(),
            mass_g: s.mass_g,
            volume_ml: s.volume_ml,
            share_percent: s.share.map(|share| 100.0 * share),
            measure_text: s.measure_text.to_string(),
            pre_dissolve: s.pre_dissolve,
            jets_on: s.jets_on,
            cover: match s.cover {
                Cover::Open => "open",
                Cover::Closed => "closed",
            },
            wait_min: s.wait_min,
            until_ph: s.until_ph,
            why: s.why.to_string(),
            cautions: s.cautions.iter().map(ToString::to_string).collect(),
            water_after: SnapshotOut::of(&s.water_after)?,
        })
    }
}
