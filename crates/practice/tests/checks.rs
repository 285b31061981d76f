//! What an outlook's checks say of tubs that nobody made for them: misspecified in volume, kits, caps and household, without
//! leak, meter or dirt. Whatever is called there is a false alarm, but for a pH that truly rose and baths that nobody wrote down.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

use care::case::Case;
use practice::policy::{ByPlan, Learner, Policy, play, usual_looks};
use practice::{Difficulty, PracticeError, Setup};

/// Plays on as another does, and keeps the book of the last look.
struct Kept {
    player: ByPlan,
    case: Option<Case>,
}

impl Policy for Kept {
    fn id(&self) -> &'static str {
        "kept"
    }

    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError> {
        self.player.look(at)?;
        self.case = Some(at.case().clone());
        Ok(())
    }
}

/// `cargo test --release -p practice --test checks -- --ignored --nocapture`; the figures stand in `docs/learn.md`.
#[test]
#[ignore = "some minutes"]
fn false_alarms_among_strange_tubs() {
    const WORDS: [&str; 6] = [
        "leave together with their salt",
        "most of it evaporated",
        "salt than there is",
        "would give",
        "Of the free chlorine only",
        "times as fast this week",
    ];
    let mut called = [0; 6];
    let mut tubs = 0;
    for seed in 1..=40 {
        let setup = Setup { seed, difficulty: Difficulty::Usual, weeks: 4 };
        let mut kept = Kept { player: ByPlan::as_it_stands(), case: None };
        play(setup, &mut kept, &usual_looks(setup)).unwrap();
        let Ok((ahead, _)) = care::outlook::outlook(&kept.case.unwrap(), 7, 1) else { continue };
        tubs += 1;
        for (n, words) in called.iter_mut().zip(WORDS) {
            let found = ahead.checks.iter().find(|c| c.what.contains(words));
            *n += usize::from(found.is_some());
            if let Some(found) = found {
                println!("{seed}: {}", found.what);
            }
        }
    }
    println!("of {tubs} tubs: {WORDS:?} {called:?}");
    assert!(tubs >= 36, "{tubs} tubs were learnt");
    assert!(called[0] <= 2 && called[2] <= 2 && called[3] == 0, "{called:?}");
}
