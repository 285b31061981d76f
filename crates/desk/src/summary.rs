//! What a list shows of a tub, worked out once after each entry that bears on it: who needs a look, and why.

use crate::known::no_case;
use crate::state::App;
use book::{BookError, NewEntry, Receipt, Summary, Uuid};
use care::case::Case;
use care::finding::Weight;
use care::plan::{Plan, StepKind};
use care::text::Text;
use serde::{Deserialize, Serialize};

/// How much a tub needs a look, from most to least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Need {
    /// Nobody should bathe, or a finding bears on safety.
    Safety,
    /// Something is to be done.
    Act,
    /// A test would tell more.
    Test,
    /// All as it should be, until the next look is due.
    Rest,
    /// Nothing was read yet, or what is known makes no plan.
    Unknown,
}

impl Need {
    fn urgency(self) -> f64 {
        match self {
            Need::Safety => 4.0,
            Need::Act => 3.0,
            Need::Test => 2.0,
            Need::Unknown => 1.0,
            Need::Rest => 0.0,
        }
    }
}

/// The body of a summary.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Short {
    pub(crate) need: Need,
    /// What to do, or why there is no plan.
    pub(crate) headline: String,
    /// The same with its structure; older summaries have none.
    #[serde(default)]
    pub(crate) said: Option<Text>,
    /// When it was last read.
    pub(crate) last_reading_us: Option<i64>,
    pub(crate) volume_l: Option<f64>,
    pub(crate) place: Option<String>,
}

impl App {
    /// Records: the one door for pages, the interface and what devices send later. What lists show of the tubs that this
    /// bears on is worked out anew soon after (`worker`).
    pub(crate) async fn record(&self, entries: &[NewEntry]) -> Result<Vec<Receipt>, BookError> {
        let receipts = self.book().record(entries, self.now_us()).await?;
        // No room: the worker was told already and has not looked yet.
        _ = self.inner.recorded.try_send(());
        Ok(receipts)
    }

    /// Works out what lists show of a tub.
    pub(crate) async fn summary(&self, tub: Uuid) -> Summary {
        let case = match self.book().case(tub, self.now_us(), None).await {
            Ok(case) => case,
            Err(why @ BookError::Case(_)) => return unknown(tub, no_case(why), None),
            Err(why) => return unknown(tub, why.to_string().into(), None),
        };
        // Lists ask which water needs somebody now: the plan for the moment, a hundred times as quick as one that looks ahead.
        let worked = tokio::task::spawn_blocking(move || {
            (care::planner::plan(&case).map_err(|e| e.said().capital()), case)
        });
        match worked.await {
            Ok((Ok(plan), case)) => of_plan(tub, &plan, &case),
            Ok((Err(why), case)) => unknown(tub, why, Some(&case)),
            Err(why) => unknown(tub, why.to_string().into(), None),
        }
    }
}

fn of_plan(tub: Uuid, plan: &Plan, case: &Case) -> Summary {
    let has = |kinds: &[StepKind]| plan.steps.iter().any(|s| kinds.contains(&s.kind));
    let read = last_reading_us(case);
    let need = if has(&[StepKind::KeepOut]) || plan.findings.iter().any(|f| f.weight == Weight::Safety) {
        Need::Safety
    } else if has(&[StepKind::Add, StepKind::ReplaceWater, StepKind::LeaveOpen]) {
        Need::Act
    } else if read.is_none() {
        Need::Unknown
    } else if has(&[StepKind::Retest]) {
        Need::Test
    } else {
        Need::Rest
    };
    let due_us = read.map(|at| at + (plan.look_again.after_hours * 3.6e9) as i64);
    let short = Short {
        need,
        headline: plan.headline.to_string(),
        said: Some(plan.headline.clone()),
        last_reading_us: read,
        volume_l: Some(plan.volume_l),
        place: None,
    };
    summary(tub, due_us, &short)
}

fn unknown(tub: Uuid, why: Text, case: Option<&Case>) -> Summary {
    let short = Short {
        need: Need::Unknown,
        headline: why.to_string(),
        said: Some(why),
        last_reading_us: case.and_then(last_reading_us),
        volume_l: case.map(|c| c.tub.volume_l),
        place: None,
    };
    summary(tub, None, &short)
}

/// A summary; whoever writes it says how far the book was followed.
fn summary(tub: Uuid, due_us: Option<i64>, short: &Short) -> Summary {
    let body = serde_json::to_value(short).unwrap_or_default();
    Summary { tub, urgency: short.need.urgency(), due_us, body, seq: 0 }
}

/// When the tub was last read.
pub(crate) fn last_reading_us(case: &Case) -> Option<i64> {
    let read = |e: &&care::case::Entry| matches!(e.what, care::case::Happening::Reading(_));
    case.entries.iter().filter(read).filter_map(|e| e.at).map(|at| at.0 * 1_000_000).max()
}
