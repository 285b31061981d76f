//! The plan: what it says.

use crate::ahead::Ahead;
use crate::case::PlanKind;
use crate::finding::Finding;
use crate::quantity::Quantity;
use crate::text::Text;
use water::{Speciation, Totals};

/// A quantity with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Which.
    pub quantity: Quantity,
    /// Best figure.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// Whether anything was read or analysed for it; else it is an assumption, as is a figure beyond the end of a test's
    /// scale.
    pub known: bool,
}

/// The water at one moment of the plan.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// Equilibrium state.
    pub water: Speciation,
    /// Its totals.
    pub totals: Totals,
    /// Every quantity that can be said, with its interval.
    pub quantities: Vec<Estimate>,
}

/// What kind of step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKind {
    /// Add a chemical.
    Add,
    /// Replace part of the water.
    ReplaceWater,
    /// Circulate.
    Circulate,
    /// Wait.
    Wait,
    /// Test again.
    Retest,
    /// Leave the cover open with air on, so that carbon dioxide leaves.
    LeaveOpen,
    /// Keep people out.
    KeepOut,
}

/// Where the cover is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Fully off.
    Open,
    /// On.
    Closed,
}

/// One step.
#[derive(Debug, Clone)]
pub struct Step {
    /// Position, from 1.
    pub order: usize,
    /// Kind.
    pub kind: StepKind,
    /// The product's name on the shelf.
    pub product: Option<String>,
    /// The chemical's id.
    pub chemical: Option<&'static str>,
    /// Grams of product, for `Add`.
    pub mass_g: Option<f64>,
    /// Millilitres of product if it is a liquid.
    pub volume_ml: Option<f64>,
    /// Share of the water, for `ReplaceWater`.
    pub share: Option<f64>,
    /// The amount in the owner's measure ("2 capfuls and a quarter, level").
    pub measure_text: Text,
    /// Dissolve in a bucket of tub water first.
    pub pre_dissolve: bool,
    /// Jets on.
    pub jets_on: bool,
    /// Cover.
    pub cover: Cover,
    /// Minutes to wait after it.
    pub wait_min: f64,
    /// pH at which to stop, for `LeaveOpen`.
    pub until_ph: Option<f64>,
    /// Why, in one plain sentence.
    pub why: Text,
    /// Cautions.
    pub cautions: Vec<Text>,
    /// The water predicted after it.
    pub water_after: Snapshot,
}

/// A quantity that stays outside its band.
#[derive(Debug, Clone, PartialEq)]
pub struct Miss {
    /// Which.
    pub quantity: Quantity,
    /// Where it will be.
    pub value: f64,
    /// Band.
    pub low: f64,
    /// Band.
    pub high: f64,
    /// Why the plan leaves it.
    pub why: Text,
}

/// Something that was considered and not done.
#[derive(Debug, Clone, PartialEq)]
pub struct NotDone {
    /// What.
    pub what: Text,
    /// Why not.
    pub why: Text,
}

/// When to look again.
#[derive(Debug, Clone, PartialEq)]
pub struct LookAgain {
    /// Hours from the end of the plan.
    pub after_hours: f64,
    /// At what.
    pub quantities: Vec<Quantity>,
    /// Why then.
    pub why: Text,
    /// Further looks, in hours, for a new fill.
    pub then_hours: Vec<f64>,
}

/// How likely a quantity ends beyond its band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risk {
    /// Which.
    pub quantity: Quantity,
    /// Chance of ending below the band.
    pub below: f64,
    /// Chance of ending above it (overshoot).
    pub above: f64,
}

/// A rule of the trade beside the computation.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleBeside {
    /// The rule.
    pub rule: Text,
    /// By how much the computation differs.
    pub difference: Text,
}

/// A plan.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Which kind.
    pub kind: PlanKind,
    /// The one sentence that says what to do.
    pub headline: Text,
    /// Litres it is made for.
    pub volume_l: f64,
    /// The water now.
    pub before: Snapshot,
    /// What to do.
    pub steps: Vec<Step>,
    /// Where bands are not met after it.
    pub out_of_band_after: Vec<Miss>,
    /// Cost of chemicals and water, in the currency of the shelf's prices.
    pub cost: f64,
    /// Considered and not done.
    pub not_done: Vec<NotDone>,
    /// When to look again.
    pub look_again: LookAgain,
    /// What was assumed.
    pub assumptions: Vec<Text>,
    /// What the readings themselves say: void, contradictory, out of range.
    pub findings: Vec<Finding>,
    /// Chance of ending outside each band.
    pub risks: Vec<Risk>,
    /// Rules of the trade beside the computation.
    pub rules: Vec<RuleBeside>,
    /// The bands that were used.
    pub bands: crate::case::Bands,
    /// How many candidates the search looked at.
    pub search_nodes: usize,
    /// What it foresees; `None` of a plan for the water of the moment ([`crate::planner::plan`]).
    pub ahead: Option<Ahead>,
}
