//! What every request shares.

use crate::clock::Clock;
use crate::doors::Doors;
use crate::doors::public::PublicUrl;
use crate::known::Kept;
use crate::worker::{self, Recorded};
use book::Book;
use jiff::tz::TimeZone;
use std::sync::Arc;
use tokio::sync::Semaphore;

/// The app: the book, the clock, and what is true of this server.
#[derive(Clone)]
pub struct App {
    pub(crate) inner: Arc<Inner>,
}

pub(crate) struct Inner {
    pub(crate) book: Book,
    pub(crate) clock: Arc<dyn Clock>,
    pub(crate) zone: TimeZone,
    /// Whether the data is the invented demonstration.
    pub(crate) demo: bool,
    /// Whether only this machine can reach the server: then one person needs no login.
    pub(crate) loopback: bool,
    pub(crate) doors: Doors,
    /// Tubs that were looked at of late.
    pub(crate) kept: Kept,
    /// Plans and outlooks under way: so many at once that a processor is left for those who only look.
    pub(crate) plans: Semaphore,
    /// To tell the worker that something was recorded.
    pub(crate) recorded: Recorded,
}

impl App {
    /// An app over an open book, with its worker beside it: to be made within a runtime.
    pub fn new(book: Book, clock: Arc<dyn Clock>, zone: TimeZone, demo: bool, loopback: bool) -> App {
        App::reached_at(book, clock, zone, demo, loopback, None)
    }

    /// The same, reached by people at another address.
    pub fn reached_at(
        book: Book,
        clock: Arc<dyn Clock>,
        zone: TimeZone,
        demo: bool,
        loopback: bool,
        public: Option<PublicUrl>,
    ) -> App {
        let processors = std::thread::available_parallelism().map_or(1, usize::from);
        let plans = Semaphore::new(processors.saturating_sub(1).max(1));
        let (doors, kept) = (Doors::new(public), Kept::new());
        let (recorded, others) = worker::channel();
        let inner = Arc::new(Inner { book, clock, zone, demo, loopback, doors, kept, plans, recorded });
        tokio::spawn(worker::run(Arc::downgrade(&inner), others));
        App { inner }
    }

    pub(crate) fn book(&self) -> &Book {
        &self.inner.book
    }

    /// Now, in microseconds since 1970 UTC.
    pub(crate) fn now_us(&self) -> i64 {
        self.inner.clock.now().as_microsecond()
    }
}
