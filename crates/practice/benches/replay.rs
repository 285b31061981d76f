//! How long a page waits: eight weeks played again from a learner's moves, and the two policies beside them.
//!
//!     cargo bench -p practice

#![allow(clippy::disallowed_methods, reason = "a benchmark needs the clock")]

use practice::policy::{beside, usual_looks};
use practice::{DIFFICULTIES, Game, Move, PracticeError, Setup};
use std::hint::black_box;
use std::time::{Duration, Instant};

const SEEDS: u64 = 10;
const WEEKS: u32 = 8;

/// A learner who looks twice a week, reads three quantities and doses two products.
fn moves() -> Result<Vec<Move>, PracticeError> {
    let look =
        "read ph; read chlorine; read alkalinity; top-up; dose acid 0.25; dose chlorine 0.5; wait 3.45";
    Move::list(&vec![look; 2 * WEEKS as usize].join(";"))
}

/// The least time of some rounds: other work on the machine only adds to it.
fn least(mut once: impl FnMut() -> Result<usize, PracticeError>) -> Result<Duration, PracticeError> {
    const ROUNDS: usize = 5;
    let mut least = Duration::MAX;
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        black_box(once()?);
        least = least.min(begun.elapsed());
    }
    Ok(least)
}

fn main() -> Result<(), PracticeError> {
    let moves = moves()?;
    for difficulty in DIFFICULTIES {
        let (mut replays, mut others) = (Vec::new(), Vec::new());
        for seed in 1..=SEEDS {
            let setup = Setup { seed, difficulty, weeks: WEEKS };
            replays.push(least(|| Ok(Game::replayed(setup, &moves)?.end()?.log.len()))?);
            others.push(least(|| Ok(beside(setup, &usual_looks(setup))?.plan.log.len()))?);
        }
        for (what, mut times) in [("a learner's moves again", replays), ("plan and label rule", others)] {
            times.sort();
            let worst = times.last().copied().unwrap_or(Duration::ZERO);
            println!("{}: {what}: median {:.0?}, worst {worst:.0?}", difficulty.id(), times[times.len() / 2]);
        }
    }
    Ok(())
}
