//! What a learner can do, and the words for it: one move a line, the same at the command line, in a script and on the page.

use crate::error::{PracticeError, shortened};
use care::quantity::Quantity as Q;
use std::fmt;

/// Most moves of one game.
pub const MOVES_MOST: usize = 400;
/// Longest wait, days.
pub const WAIT_DAYS_MOST: f64 = 28.0;
/// Longest airing, hours.
pub const AIR_HOURS_MOST: f64 = 24.0;

/// One thing that the learner does.
#[derive(Debug, Clone, PartialEq)]
pub enum Move {
    /// Reads a quantity, by a method of the kit box or by the usual one.
    Read {
        /// What.
        quantity: Q,
        /// With which kit.
        method: Option<String>,
    },
    /// Adds a product, in its own measures (capfuls, grams, millilitres); jets on, cover off, half an hour.
    Dose {
        /// The product's name on the shelf.
        product: String,
        /// How many of its measures.
        measures: f64,
    },
    /// Fills up to the mark.
    TopUp,
    /// Lets out a share of the water and fills up.
    Replace {
        /// 0 to 1.
        share: f64,
    },
    /// Sets the share of the time that the cell runs.
    Cell {
        /// 0 to 1.
        duty: f64,
    },
    /// Cover off, jets with air, for so many hours.
    Air {
        /// Hours.
        hours: f64,
    },
    /// Goes away for so many days.
    Wait {
        /// Days.
        days: f64,
    },
}

/// What is accepted.
pub const GRAMMAR: &str = "read QUANTITY [KIT], dose PRODUCT AMOUNT, top-up, replace SHARE, cell SHARE, air HOURS or wait \
                           DAYS is accepted";

impl Move {
    /// Reads one move. `place` names it in messages.
    ///
    /// # Errors
    /// [`PracticeError::Move`] saying what is wrong and what is accepted.
    pub fn parse(text: &str, place: usize) -> Result<Move, PracticeError> {
        let refuse = |wrong: &str, accepted: String| PracticeError::Move {
            place,
            given: shortened(text.trim()),
            wrong: wrong.to_string(),
            accepted,
        };
        let words: Vec<&str> = text.split_whitespace().collect();
        let number = |word: &str, (low, high): (f64, f64), unit: &str| {
            let accepted = || format!("a number from {low} to {high}{unit} is accepted");
            match word.parse::<f64>() {
                Ok(x) if (low..=high).contains(&x) => Ok(x),
                Ok(_) => Err(refuse("is out of range", accepted())),
                Err(_) => Err(refuse("is no number where one belongs", accepted())),
            }
        };
        match words.as_slice() {
            ["read", quantity] | ["read", quantity, _] => {
                let known = || {
                    let ids: Vec<&str> = crate::kit::KITS.iter().map(|k| k.quantity.id()).collect();
                    let mut ids: Vec<&str> = ids.into_iter().collect();
                    ids.sort_unstable();
                    ids.dedup();
                    format!("{} is accepted", ids.join(", "))
                };
                let quantity = quantity_of(quantity).ok_or_else(|| refuse("names no quantity", known()))?;
                let method = words.get(2).map(|m| (*m).to_string());
                if crate::kit::find(quantity, method.as_deref()).is_none() {
                    let kits: Vec<&str> = crate::kit::KITS
                        .iter()
                        .filter(|k| k.quantity == quantity)
                        .map(|k| k.method)
                        .collect();
                    let accepted =
                        if kits.is_empty() { known() } else { format!("{} is accepted", kits.join(" or ")) };
                    return Err(refuse("is not read by that kit", accepted));
                }
                Ok(Move::Read { quantity, method })
            }
            ["dose", product, amount] => Ok(Move::Dose {
                product: (*product).to_string(),
                measures: number(amount, (0.05, 20_000.0), " of its measures")?,
            }),
            ["top-up"] => Ok(Move::TopUp),
            ["replace", share] => Ok(Move::Replace { share: number(share, (0.05, 1.0), "")? }),
            ["cell", duty] => Ok(Move::Cell { duty: number(duty, (0.0, 1.0), "")? }),
            ["air", hours] => Ok(Move::Air { hours: number(hours, (0.25, AIR_HOURS_MOST), " hours")? }),
            ["wait", days] => Ok(Move::Wait { days: number(days, (0.01, WAIT_DAYS_MOST), " days")? }),
            _ => Err(refuse("is no move", GRAMMAR.to_string())),
        }
    }

    /// Reads a list: one a line, or separated by `;`. Empty ones and what follows `#` are passed over.
    ///
    /// # Errors
    /// As [`Self::parse`]; [`PracticeError::TooMany`].
    pub fn list(text: &str) -> Result<Vec<Move>, PracticeError> {
        let moves: Vec<&str> = text
            .split(['\n', ';'])
            .map(|line| line.split('#').next().unwrap_or("").trim())
            .filter(|line| !line.is_empty())
            .collect();
        if moves.len() > MOVES_MOST {
            return Err(PracticeError::TooMany { given: moves.len(), most: MOVES_MOST });
        }
        moves.into_iter().enumerate().map(|(i, text)| Move::parse(text, i + 1)).collect()
    }
}

/// A quantity by its id, or by a short word of the trade.
fn quantity_of(word: &str) -> Option<Q> {
    match word {
        "chlorine" => Some(Q::FreeChlorine),
        "combined" => Some(Q::CombinedChlorine),
        "alkalinity" => Some(Q::TotalAlkalinity),
        "hardness" => Some(Q::CalciumHardness),
        "cyanuric" => Some(Q::CyanuricAcid),
        id => Q::from_id(id),
    }
}

/// As it is written.
impl fmt::Display for Move {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Move::Read { quantity, method: None } => write!(f, "read {}", quantity.id()),
            Move::Read { quantity, method: Some(m) } => write!(f, "read {} {m}", quantity.id()),
            Move::Dose { product, measures } => write!(f, "dose {product} {measures}"),
            Move::TopUp => write!(f, "top-up"),
            Move::Replace { share } => write!(f, "replace {share}"),
            Move::Cell { duty } => write!(f, "cell {duty}"),
            Move::Air { hours } => write!(f, "air {hours}"),
            Move::Wait { days } => write!(f, "wait {days}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_comes_back_as_it_was_written() {
        let text = "read ph; read chlorine strip\n# a note\ndose acid 0.5; top-up;; replace 0.25; cell 0.3\nair 2; wait 3";
        let moves = Move::list(text).unwrap();
        assert_eq!(moves.len(), 8);
        let again: Vec<String> = moves.iter().map(Move::to_string).collect();
        assert_eq!(Move::list(&again.join(";")).unwrap(), moves);
    }

    #[test]
    fn what_is_wrong_is_named_with_what_is_accepted() {
        for (text, wrong, accepted) in [
            ("stir", "is no move", "read QUANTITY"),
            ("read iron", "is not read by that kit", "ph"),
            ("read ph photometer", "is not read by that kit", "comparator or strip"),
            ("wait long", "is no number", "0.01 to 28 days"),
            ("wait 1e9", "is out of range", "0.01 to 28 days"),
            ("replace nan", "is out of range", "0.05 to 1"),
            ("dose acid -1", "is out of range", "0.05"),
        ] {
            let said = Move::list(&format!("top-up;{text}")).unwrap_err().to_string();
            assert!(said.starts_with("move 2: "), "{said}");
            assert!(said.contains(wrong) && said.contains(accepted), "{text}: {said}");
        }
        let many = "top-up;".repeat(MOVES_MOST + 1);
        assert!(matches!(Move::list(&many), Err(PracticeError::TooMany { .. })));
    }
}
