//! How hard a game is: how far the truth strays from what the learner is told. All figures are judgement.

use crate::error::PracticeError;

/// How hard a game is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Difficulty {
    /// A calm household, good kits, a volume near the maker's figure.
    Easy,
    /// What a technician usually meets.
    #[default]
    Usual,
    /// Bathing in bursts, worn kits, a volume well off, somebody who adds things without a note.
    Hard,
}

/// Every difficulty, easiest first.
pub const DIFFICULTIES: [Difficulty; 3] = [Difficulty::Easy, Difficulty::Usual, Difficulty::Hard];

/// What a difficulty comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spread {
    /// True volume over the maker's figure: least, most often, most (triangle). The maker's is often that to the brim.
    pub(crate) volume: (f64, f64, f64),
    /// Factor on a kit's own errors, and on what all its readings have in common.
    pub(crate) kit: f64,
    /// Chance that a reading is a slip: the wrong colour, the wrong line.
    pub(crate) slip: f64,
    /// How far the tap of the day is from its report (mean of a two-sided exponential, relative).
    pub(crate) tap: f64,
    /// How much more than level a capful is (mean of an exponential, relative).
    pub(crate) heap: f64,
    /// Chance a day that a quiet household turns busy, and a busy one quiet.
    pub(crate) turns: (f64, f64),
    /// Chance of a bath on a quiet day; mean number of baths on a busy one.
    pub(crate) baths: (f64, f64),
    /// Most people in a bath.
    pub(crate) people: usize,
    /// Chance a day that somebody adds chlorine without a note.
    pub(crate) unnoted: f64,
    /// Tub properties vary by this factor up and down.
    pub(crate) factor: f64,
}

impl Difficulty {
    /// Its word.
    pub fn id(self) -> &'static str {
        match self {
            Difficulty::Easy => "easy",
            Difficulty::Usual => "usual",
            Difficulty::Hard => "hard",
        }
    }

    /// By its word.
    ///
    /// # Errors
    /// [`PracticeError::Difficulty`] naming what is accepted.
    pub fn from_id(word: &str) -> Result<Self, PracticeError> {
        DIFFICULTIES
            .into_iter()
            .find(|d| d.id() == word)
            .ok_or_else(|| PracticeError::Difficulty { given: crate::error::shortened(word) })
    }

    pub(crate) fn spread(self) -> Spread {
        match self {
            Difficulty::Easy => Spread {
                volume: (0.95, 0.99, 1.02),
                kit: 0.6,
                slip: 0.0,
                tap: 0.03,
                heap: 0.03,
                turns: (0.05, 0.5),
                baths: (0.25, 0.5),
                people: 2,
                unnoted: 0.0,
                factor: 1.2,
            },
            Difficulty::Usual => Spread {
                volume: (0.82, 0.94, 1.03),
                kit: 1.0,
                slip: 0.015,
                tap: 0.07,
                heap: 0.08,
                turns: (0.12, 0.4),
                baths: (0.3, 0.8),
                people: 4,
                unnoted: 0.0,
                factor: 1.6,
            },
            Difficulty::Hard => Spread {
                volume: (0.72, 0.88, 1.08),
                kit: 1.6,
                slip: 0.04,
                tap: 0.12,
                heap: 0.15,
                turns: (0.15, 0.3),
                baths: (0.3, 1.5),
                people: 6,
                unnoted: 0.03,
                factor: 2.2,
            },
        }
    }
}
