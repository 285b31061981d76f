//! Who plays: anything that looks at a tub and does something, behind one trait, so that policies stand side by side in the
//! same world.

mod by_label;
mod by_plan;
mod round;

pub use by_label::ByLabel;
pub use by_plan::ByPlan;

use crate::error::PracticeError;
use crate::game::{Ended, Game, Seen, Setup};
use crate::moves::{Move, WAIT_DAYS_MOST};
use care::band::Regime;
use care::case::Case;

/// Somebody who cares for a tub.
pub trait Policy {
    /// Its word.
    fn id(&self) -> &'static str;

    /// One visit.
    ///
    /// # Errors
    /// [`PracticeError`] if a move is refused or the water cannot be followed.
    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError>;
}

/// A game as somebody at the tub sees it: nothing of the truth.
#[derive(Debug)]
pub struct Learner<'a> {
    game: &'a mut Game,
    next_look_h: Option<f64>,
}

impl Learner<'_> {
    /// What is known.
    pub fn case(&self) -> &Case {
        self.game.case()
    }

    /// Hours since the fill.
    pub fn at_h(&self) -> f64 {
        self.game.at_h()
    }

    /// When the next look is due, hours since the fill; `None` after the last.
    pub fn next_look_h(&self) -> Option<f64> {
        self.next_look_h
    }

    /// Whether the time is up.
    pub fn is_over(&self) -> bool {
        self.game.is_over()
    }

    /// Whether the water stands visibly below its mark.
    pub fn is_low(&self) -> bool {
        self.game.is_low()
    }

    /// Does something; nothing once the time is up.
    ///
    /// # Errors
    /// As [`Game::make`].
    pub fn make(&mut self, next: &Move) -> Result<Option<Seen>, PracticeError> {
        if self.is_over() { Ok(None) } else { self.game.make(next).map(|seen| Some(seen.clone())) }
    }

    /// Waits until nobody is in the water, as anybody would before adding something.
    ///
    /// # Errors
    /// As [`Game::make`].
    pub fn wait_until_empty(&mut self) -> Result<(), PracticeError> {
        while self.game.has_bathers() && !self.is_over() {
            self.wait_hours(0.25)?;
        }
        Ok(())
    }

    /// Lets hours go by.
    ///
    /// # Errors
    /// As [`Game::make`].
    pub fn wait_hours(&mut self, hours: f64) -> Result<(), PracticeError> {
        if hours > 0.0 {
            self.make(&Move::Wait { days: hours / 24.0 })?;
        }
        Ok(())
    }
}

/// Plays a game with looks at these hours since the fill, to its end. Where a look took longer than until the next one,
/// the next one follows at once.
///
/// # Errors
/// [`PracticeError`] as the game's own.
pub fn play(setup: Setup, policy: &mut dyn Policy, looks_h: &[f64]) -> Result<Ended, PracticeError> {
    play_on(Game::new(setup)?, policy, looks_h)
}

/// The same of a game that has begun.
///
/// # Errors
/// As [`play`].
pub fn play_on(mut game: Game, policy: &mut dyn Policy, looks_h: &[f64]) -> Result<Ended, PracticeError> {
    for (i, look_h) in looks_h.iter().enumerate() {
        while *look_h - game.at_h() > 1e-6 && !game.is_over() {
            let days = ((look_h - game.at_h()) / 24.0).min(WAIT_DAYS_MOST);
            game.make(&Move::Wait { days })?;
        }
        if game.is_over() {
            break;
        }
        let next_look_h = looks_h.get(i + 1).copied();
        policy.look(&mut Learner { game: &mut game, next_look_h })?;
    }
    game.end()
}

/// What others would have done of the same tub, at the same looks.
#[derive(Debug, Clone)]
pub struct Beside {
    /// A good plan.
    pub plan: Ended,
    /// The label rule.
    pub label: Ended,
}

/// Plays a good plan and the label rule at the looks that somebody made.
///
/// # Errors
/// As [`play`].
pub fn beside(setup: Setup, looks_h: &[f64]) -> Result<Beside, PracticeError> {
    Ok(Beside {
        plan: play(setup, &mut ByPlan::ahead(), looks_h)?,
        label: play(setup, &mut ByLabel::default(), looks_h)?,
    })
}

/// Looks as a technician would make them: the fill, a day and three days later; then twice a week where a cell makes the
/// chlorine, every other day where it is dosed by hand (common practice).
pub fn usual_looks(setup: Setup) -> Vec<f64> {
    let by_hand = crate::told::case(setup.seed).tub.regime != Regime::SaltCell;
    let days = f64::from(7 * setup.weeks);
    let mut looks = vec![0.0, 1.0, 3.0];
    let mut next = 5.0;
    while next < days {
        looks.push(next);
        next += if by_hand { 2.0 } else { 3.5 };
    }
    looks.retain(|d| *d < days);
    looks.into_iter().map(|d| 24.0 * d).collect()
}
