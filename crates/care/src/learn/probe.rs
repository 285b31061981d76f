//! A probe's stream of figures, a few minutes apart, as blocks: the median of half a day, which an outlier does not move.
//!
//! A probe's figures err together (offset, drift: parameters) far more than one by one, and the model of the water is no
//! better than some hundredths of a pH from hour to hour. Blocks with an error floor say what the stream knows, and no
//! more; thousands of figures with independent errors would claim a certainty that nothing has.

use super::history::{Observed, Said};
use super::learned::quantile;
use crate::quantity::Quantity as Q;
use std::collections::BTreeMap;

/// Hours that one block spans (judgement: half a day tells the night from the day with its bathing).
const BLOCK_H: f64 = 12.0;
/// What the model itself misses from block to block: pH, and relative for the rest (judgement).
const FLOOR_PH: f64 = 0.04;
const FLOOR_RELATIVE: f64 = 0.05;

/// The figures of a stream that fall into one block.
#[derive(Default)]
struct Block {
    at_h: Vec<f64>,
    figures: Vec<f64>,
    standard_error: f64,
}

/// Streams, by kit and block.
#[derive(Default)]
pub(super) struct Probes(BTreeMap<(usize, u32), (Q, Block)>);

impl Probes {
    pub(super) fn add(&mut self, kit: usize, at_h: f64, q: Q, value: f64, standard_error: f64) {
        let number = (at_h.max(0.0) / BLOCK_H) as u32;
        let (_, block) = self.0.entry((kit, number)).or_insert_with(|| (q, Block::default()));
        block.at_h.push(at_h);
        block.figures.push(value);
        block.standard_error = block.standard_error.max(standard_error);
    }

    pub(super) fn blocks(self) -> impl Iterator<Item = Observed> {
        self.0.into_iter().map(|((kit, _), (quantity, mut block))| {
            let count = block.figures.len() as f64;
            let value = median(&mut block.figures);
            let floor = if quantity == Q::Ph { FLOOR_PH } else { FLOOR_RELATIVE * value };
            let standard_error = (block.standard_error / count.sqrt()).hypot(floor);
            Observed {
                at_h: median(&mut block.at_h),
                quantity,
                said: Said::Value { value, standard_error },
                kit,
                burst: 0.0,
            }
        })
    }
}

/// The middle figure; 0 of none.
fn median(figures: &mut [f64]) -> f64 {
    figures.sort_by(f64::total_cmp);
    quantile(figures, 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_is_its_median_and_an_outlier_does_not_move_it() {
        let mut probes = Probes::default();
        for (i, value) in [7.41, 7.40, 7.42, 3.0, 7.41].into_iter().enumerate() {
            probes.add(0, 0.1 * i as f64, Q::Ph, value, 0.02);
        }
        probes.add(0, 12.5, Q::Ph, 7.6, 0.02);
        let blocks: Vec<Observed> = probes.blocks().collect();
        assert_eq!(blocks.len(), 2);
        let Said::Value { value, standard_error } = blocks[0].said else { panic!("a value") };
        assert!((value - 7.41).abs() < 1e-9 && standard_error >= FLOOR_PH);
        assert!((blocks[1].at_h - 12.5).abs() < 1e-9);
    }
}
