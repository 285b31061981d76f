//! Follows the book beside the requests: works out anew what lists show of every tub that an entry bears on, whoever
//! recorded it (a page, the interface, another program). Whoever records waits for the record alone.

use crate::state::{App, Inner};
use book::{BookError, Summary, Uuid};
use std::collections::VecDeque;
use std::sync::Weak;
use std::time::{Duration, Instant};
use tokio::sync::mpsc::{Receiver, Sender, channel as bounded};
use tokio::time::{sleep, timeout};

/// How often the book is looked at when nobody here says that something was recorded.
const LOOK_AGAIN: Duration = Duration::from_secs(1);
/// How long it waits before it works: many often record in the same instant, and they come first.
const PATIENCE: Duration = Duration::from_millis(200);
/// How many summaries are written together: each writing waits for the disk.
const TOGETHER: usize = 8;

/// The way to the worker: something was recorded.
pub(crate) type Recorded = Sender<()>;

/// A channel to the worker, and its other end to start it with.
pub(crate) fn channel() -> (Recorded, Receiver<()>) {
    bounded(1)
}

/// How far the book was followed.
#[derive(Default)]
struct Follower {
    /// Up to this entry all were looked at.
    seen: i64,
    /// Up to this entry every summary is worked out. Each summary is written with it, so that the next start goes on here.
    done: i64,
    waiting: VecDeque<Uuid>,
}

/// Follows until the app is gone.
pub(crate) async fn run(app: Weak<Inner>, mut recorded: Receiver<()>) {
    let mut follower: Option<Follower> = None;
    loop {
        if follower.as_ref().is_some_and(|f| f.waiting.is_empty()) {
            match timeout(LOOK_AGAIN, recorded.recv()).await {
                Ok(None) => return,
                Ok(Some(())) => sleep(PATIENCE).await,
                Err(_) => {}
            }
        }
        let Some(inner) = app.upgrade() else { return };
        if let Err(why) = step(&App { inner }, &mut follower).await {
            // A summary is a cache: what was recorded stays recorded while it cannot be made.
            tracing::warn!(%why, "no summaries");
            sleep(LOOK_AGAIN).await;
        }
    }
}

/// Looks at what is new, and works out the next few.
async fn step(app: &App, follower: &mut Option<Follower>) -> Result<(), BookError> {
    let f = match follower {
        Some(follower) => follower,
        None => follower.insert(Follower::from(app.book().summarised_up_to().await?)),
    };
    let head = app.book().head().await?.count;
    if head > f.seen {
        let new = app.book().tubs_concerned(f.seen, head).await?;
        f.waiting.retain(|tub| !new.contains(tub));
        // What came in just now is what somebody looks for: first.
        for tub in new {
            f.waiting.push_front(tub);
        }
        f.seen = head;
    }
    let some: Vec<Uuid> = f.waiting.iter().take(TOGETHER).copied().collect();
    let up_to = if some.len() == f.waiting.len() { f.seen } else { f.done };
    let mut summaries: Vec<Summary> = Vec::with_capacity(some.len());
    for tub in some {
        let begun = Instant::now();
        let summary = app.summary(tub).await;
        summaries.push(Summary { seq: up_to, ..summary });
        // A third of the time at most: when many record at once, those who wait for an answer come first.
        sleep(2 * begun.elapsed()).await;
    }
    if !summaries.is_empty() {
        app.book().set_summaries(&summaries).await?;
        f.waiting.drain(..summaries.len());
    }
    f.done = up_to;
    Ok(())
}

impl From<i64> for Follower {
    fn from(done: i64) -> Follower {
        Follower { seen: done, done, waiting: VecDeque::new() }
    }
}
