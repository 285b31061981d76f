//! Contract 5.3, the way out: an outlook as JSON. Names are a promise; a field may be added, none may change.

use crate::amount::Units;
use crate::learn::{Learned, Name, Trait};
use crate::method;
use crate::outlook::{Fan, Leaves, Need, NextLook, Outlook, SHARES, STEP_H};
use crate::text::{Text, say};
use crate::wire::plan::{BandOut, FindingOut};
use crate::wire::when;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What the water will do if nothing is dosed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Outlook")]
pub struct OutlookOut {
    /// Now, RFC 3339.
    pub from: String,
    /// Hours between two figures.
    pub step_hours: f64,
    /// Hours from now at which there are figures; the first is 0.
    pub hours: Vec<f64>,
    /// Each quantity ahead, by its id.
    pub quantities: BTreeMap<&'static str, FanOut>,
    /// The next look.
    pub look_again: LookOut,
    /// What a week takes, if the tub is kept inside its aims.
    pub week_needs: Vec<NeedOut>,
    /// What has been learnt of the tub, by parameter.
    pub learned: BTreeMap<String, LearnedOut>,
    /// Which entries disagree with the rest, and what that points to.
    pub checks: Vec<FindingOut>,
    /// What it assumes, and why it is as wide as it is.
    pub assumptions: Vec<String>,
}

/// One quantity ahead.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Fan")]
pub struct FanOut {
    /// Unit; empty for pH and saturation index.
    pub unit: &'static str,
    /// Quantiles at each hour: `5`, `25`, `50`, `75`, `95` percent.
    pub quantiles: BTreeMap<&'static str, Vec<f64>>,
    /// Its band; none for what has no band here.
    pub band: Option<BandOut>,
    /// When it leaves that band.
    pub leaves_band: Option<LeavesOut>,
}

/// When a quantity leaves its band.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "LeavesBand")]
pub struct LeavesOut {
    /// Chance of having left by the end of day 1, 2, …
    pub probability_by_day: Vec<f64>,
    /// Day by which it has left with a chance of one half; null if not within the outlook.
    pub median_day: Option<f64>,
    /// Share of those that leave through the lower edge.
    pub below_share: f64,
    /// Chance of being outside already.
    pub outside_now: f64,
}

/// The next look.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "NextLook")]
pub struct LookOut {
    /// Hours from now.
    pub after_hours: f64,
    /// What to measure: quantity ids, likeliest trouble first.
    pub quantities: Vec<&'static str>,
    /// What a reading of each is expected to be worth until the look after, in visits, by quantity.
    pub worth_visits: BTreeMap<&'static str, f64>,
    /// What makes it necessary.
    pub because: Option<&'static str>,
    /// Chance that this is outside its band by then.
    pub chance: f64,
}

/// One product's part of a week, or of a look.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "WeekNeed")]
pub struct NeedOut {
    /// Its name on the shelf.
    pub product: String,
    /// Grams: 5 % point.
    pub low_g: f64,
    /// Grams: median.
    pub median_g: f64,
    /// Grams: 95 % point.
    pub high_g: f64,
    /// The median in the owner's measure.
    pub measure_text: String,
}

/// One thing learnt.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Learned")]
pub struct LearnedOut {
    /// What it is, with its unit.
    pub what: String,
    /// Median.
    pub median: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// Before anything was read.
    pub prior: PriorOut,
}

/// A parameter before anything was read.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Prior")]
pub struct PriorOut {
    /// Median.
    pub median: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
}

const SHARE_IDS: [&str; 5] = ["5", "25", "50", "75", "95"];

impl OutlookOut {
    /// Of an outlook and what it was made from. `products` are the shelf's names.
    pub fn of(outlook: &Outlook, learned: &Learned, products: &[&str]) -> OutlookOut {
        OutlookOut {
            from: when::written(outlook.from),
            step_hours: STEP_H,
            hours: outlook.hours.clone(),
            quantities: outlook.fans.iter().map(|f| (f.quantity.id(), FanOut::of(f))).collect(),
            look_again: LookOut::of(&outlook.look),
            week_needs: outlook.needs.iter().map(NeedOut::of).collect(),
            learned: outlook
                .learned
                .iter()
                .map(|t| {
                    let [low, median, high] = t.now;
                    let prior = PriorOut { median: t.prior[1], low: t.prior[0], high: t.prior[2] };
                    let (id, what) = named(&t.name, learned, products, Units::Metric);
                    (id, LearnedOut { what: what.to_string(), median, low, high, prior })
                })
                .collect(),
            checks: outlook.checks.iter().map(FindingOut::of).collect(),
            assumptions: outlook.assumptions.iter().map(ToString::to_string).collect(),
        }
    }
}

impl LookOut {
    /// Of a look.
    pub(crate) fn of(look: &NextLook) -> LookOut {
        LookOut {
            after_hours: look.after_h,
            quantities: look.measure.iter().map(|q| q.id()).collect(),
            worth_visits: look.measure.iter().map(|q| q.id()).zip(look.worth.iter().copied()).collect(),
            because: look.because.map(|q| q.id()),
            chance: look.chance,
        }
    }
}

impl NeedOut {
    /// Of a product's part.
    pub(crate) fn of(need: &Need) -> NeedOut {
        NeedOut {
            product: need.name.clone(),
            low_g: need.grams[0],
            median_g: need.grams[1],
            high_g: need.grams[2],
            measure_text: need.measure_text.to_string(),
        }
    }
}

/// Something learnt as its reader counts it.
#[derive(Debug, Clone)]
pub struct Told {
    /// What it is, with its unit.
    pub what: Text,
    /// 5 %, 50 %, 95 %.
    pub now: [f64; 3],
    /// The same before anything was read.
    pub prior: [f64; 3],
}

/// Something learnt in these units, with the kit or product that it belongs to.
pub fn told(of: &Trait, learned: &Learned, products: &[&str], units: Units) -> Told {
    let kit = match &of.name {
        Name::Bias(i) | Name::Drift(i) => learned.kit(*i).map(|(_, _, q)| q),
        _ => None,
    };
    let figure = |v: f64| match kit {
        // What a kit reads too much is a difference.
        Some(q) => units.difference(q, v),
        None => of.name.figure_in(units, v),
    };
    let (_, what) = named(&of.name, learned, products, units);
    Told { what, now: of.now.map(figure), prior: of.prior.map(figure) }
}

/// A parameter's id and what it is, with the kit or product that it belongs to.
fn named(name: &Name, learned: &Learned, products: &[&str], units: Units) -> (String, Text) {
    match name {
        Name::KitError(i) => match learned.kit(*i) {
            Some((method, called, q)) => (
                format!("{}.{method}.{}", name.id(), q.id()),
                say!(
                    "care-learnt-of-kit-alone",
                    "{kit}: {quantity}, {what}",
                    kit = method::said(method, called),
                    quantity = q.said(),
                    what = name.said()
                ),
            ),
            None => (format!("{}.{i}", name.id()), name.said()),
        },
        Name::Bias(i) | Name::Drift(i) => match learned.kit(*i) {
            Some((method, called, q)) => (
                format!("{}.{method}.{}", name.id(), q.id()),
                say!(
                    "care-learnt-of-kit",
                    "{kit}: {quantity} {what}, {unit}",
                    kit = method::said(method, called),
                    quantity = q.said(),
                    what = name.said(),
                    unit = Text::name(if q.unit().is_empty() { "pH" } else { units.unit(q) })
                ),
            ),
            None => (format!("{}.{i}", name.id()), name.said()),
        },
        Name::Measure(i) => {
            let product = products.get(*i).copied().unwrap_or("?");
            let of = say!(
                "care-learnt-of-product",
                "{product}: {what}",
                product = Text::name(product),
                what = name.said()
            );
            (format!("{}.{}", name.id(), i + 1), of)
        }
        name => (name.id().to_owned(), name.said_in(units)),
    }
}

impl FanOut {
    fn of(fan: &Fan) -> FanOut {
        let column = |i: usize| fan.quantiles.iter().map(|q| q[i]).collect();
        FanOut {
            unit: fan.quantity.unit(),
            quantiles: (0..SHARES.len()).map(|i| (SHARE_IDS[i], column(i))).collect(),
            band: fan.band.as_ref().map(|b| BandOut::of(fan.quantity, b)),
            leaves_band: fan.leaves.as_ref().map(LeavesOut::of),
        }
    }
}

impl LeavesOut {
    fn of(leaves: &Leaves) -> LeavesOut {
        LeavesOut {
            probability_by_day: leaves.by_day.clone(),
            median_day: leaves.median_day,
            below_share: leaves.below,
            outside_now: leaves.outside_now,
        }
    }
}
