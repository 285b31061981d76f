//! What is wrong with what was asked, and what is accepted.

use care::planner::PlanError;
use tub::TubError;

/// Why a game cannot be set up or a move cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PracticeError {
    /// No such difficulty.
    #[error("difficulty: \"{given}\" is not known; easy, usual or hard is accepted")]
    Difficulty {
        /// What was given.
        given: String,
    },
    /// Too long or too short.
    #[error("weeks: {given} cannot be played; 1 to {most} is accepted")]
    Weeks {
        /// What was given.
        given: u32,
        /// Most.
        most: u32,
    },
    /// A line that is no move.
    #[error("move {place}: \"{given}\": {wrong}; {accepted}")]
    Move {
        /// Place in the list, from 1.
        place: usize,
        /// What was given.
        given: String,
        /// What is wrong with it.
        wrong: String,
        /// What is accepted.
        accepted: String,
    },
    /// More moves than a game has.
    #[error("{given} moves are too many; at most {most} are accepted")]
    TooMany {
        /// How many there were.
        given: usize,
        /// Most.
        most: usize,
    },
    /// A move that cannot be made now.
    #[error("{wrong}; {accepted}")]
    NotNow {
        /// What is wrong with it.
        wrong: String,
        /// What is accepted.
        accepted: String,
    },
    /// The tub could not be followed further.
    #[error("the simulated water cannot be followed any further: {0}")]
    World(#[from] TubError),
    /// A water beyond the chemistry.
    #[error("the simulated water is beyond what can be computed: {0}")]
    Water(#[from] water::WaterError),
    /// No plan could be made of the readings.
    #[error("no plan can be made of the readings: {0}")]
    Plan(#[from] PlanError),
}

/// A text short enough to stand in a message.
pub(crate) fn shortened(text: &str) -> String {
    const MOST: usize = 40;
    let short: String = text.chars().take(MOST).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}
