//! Many who record at the same moment go to the disk together: one transaction, one wait for the disk.
//!
//! Each still stands by itself: what one hands in is recorded as a whole or refused as a whole, and nobody hears "recorded"
//! before it is on the disk. If the transaction of all fails, each is tried alone and hears its own reason.

use crate::entry::{NewEntry, Receipt};
use crate::error::BookError;
use crate::open::Book;
use crate::record::Prepared;
use sqlx::Executor;
use tokio::sync::oneshot;

/// The most that go together.
const TOGETHER_MOST: usize = 256;

type Outcome = Result<Vec<Receipt>, BookError>;

/// What somebody handed in and waits for.
pub(crate) struct Waiting {
    entries: Vec<NewEntry>,
    prepared: Vec<Prepared>,
    answer: oneshot::Sender<Outcome>,
}

impl std::fmt::Debug for Waiting {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Waiting").field("entries", &self.entries.len()).finish_non_exhaustive()
    }
}

impl Book {
    /// Hands in, and waits until it is on the disk. Whoever stops waiting does not take it back.
    pub(crate) async fn record_with_others(
        &self,
        entries: Vec<NewEntry>,
        prepared: Vec<Prepared>,
    ) -> Outcome {
        let (answer, answered) = oneshot::channel();
        self.in_line().push(Waiting { entries, prepared, answer });
        let book = self.clone();
        // A task of its own: a caller who goes away in the middle must not leave others without an answer.
        tokio::spawn(async move { book.record_waiting().await });
        answered.await.unwrap_or_else(|_| {
            Err(BookError::Engine { place: self.shown(), said: "the writer ended without an answer".into() })
        })
    }

    fn in_line(&self) -> std::sync::MutexGuard<'_, Vec<Waiting>> {
        // Nothing is done under this lock that could leave the list half-made.
        self.waiting.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// Records whoever waits by now; nobody may, if another has taken them along.
    async fn record_waiting(&self) {
        let _turn = self.writer.lock().await;
        let group: Vec<Waiting> = {
            let mut waiting = self.in_line();
            let most = waiting.len().min(TOGETHER_MOST);
            waiting.drain(..most).collect()
        };
        if group.is_empty() {
            return;
        }
        let together = if group.len() > 1 { self.record_together(&group).await.ok() } else { None };
        let mut together = together.map(Vec::into_iter);
        for waiting in group {
            let outcome = match together.as_mut().and_then(Iterator::next) {
                Some(outcome) => outcome,
                None => self.record_alone(&waiting.entries, &waiting.prepared, &mut |_| ()).await,
            };
            // Whoever went away has no ear for it; what was recorded stays recorded.
            let _ = waiting.answer.send(outcome);
        }
    }

    /// One transaction for all, with a point to go back to before each.
    async fn record_together(&self, group: &[Waiting]) -> Result<Vec<Outcome>, BookError> {
        let mut tx = self.pool.begin().await.map_err(|e| self.failed(e))?;
        let mut head = self.lock(&mut tx).await?;
        let mut outcomes = Vec::with_capacity(group.len());
        for waiting in group {
            tx.execute("SAVEPOINT one").await.map_err(|e| self.failed(e))?;
            match self.append(&mut tx, &waiting.entries, &waiting.prepared, head.clone(), &mut |_| ()).await {
                Ok((receipts, after)) => {
                    head = after;
                    outcomes.push(Ok(receipts));
                }
                Err(refused @ BookError::Refused(_)) => {
                    tx.execute("ROLLBACK TO SAVEPOINT one").await.map_err(|e| self.failed(e))?;
                    outcomes.push(Err(refused));
                }
                Err(other) => return Err(other),
            }
            tx.execute("RELEASE SAVEPOINT one").await.map_err(|e| self.failed(e))?;
        }
        tx.commit().await.map_err(|e| self.failed(e))?;
        Ok(outcomes)
    }
}
