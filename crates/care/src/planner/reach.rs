//! Which way each product moves pH and saturation index, found by trying it in several waters.

use super::node::Span;
use super::problem::{Move, Problem};
use water::{Ph, Speciation};

/// What a move does to the water over its whole range, least and most of several waters: as it stands, brought to the pH
/// of `TRIED_PH`, and with the most of it replaced. Bicarbonate lifts the one and lowers the other; then its direction is
/// not known.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reach {
    pub(crate) ph: (f64, f64),
    pub(crate) index: (f64, f64),
}

/// The range that paths keep to, and beyond.
const TRIED_PH: [f64; 4] = [6.0, 6.8, 7.6, 8.4];

/// The one or the other of a move's reach.
pub(crate) type By = fn(&Reach) -> (f64, f64);

/// By role and move; `near`: the start waters.
pub(crate) fn reaches(problem: &Problem, near: &[Option<Speciation>]) -> Vec<Vec<Reach>> {
    let first = near.first().copied().flatten();
    let brought = |now: &Speciation, ph| problem.at.with_alkalinity_of(&now.totals, Ph(ph)).ok();
    let tried: Vec<Speciation> = first
        .iter()
        .flat_map(|now| TRIED_PH.into_iter().filter_map(|ph| brought(now, ph)).chain([*now]))
        .chain(near.iter().skip(1).flatten().last().copied())
        .collect();
    let of_role = |moves: &Vec<Move>| moves.iter().map(|m| reach(problem, &tried, m)).collect();
    problem.roles.iter().map(|(_, moves)| of_role(moves)).collect()
}

fn reach(problem: &Problem, tried: &[Speciation], m: &Move) -> Reach {
    // Without calcium alkalinity tells the index's direction.
    let by_alkalinity = m.per_unit.alkalinity;
    let mut reach: Option<Reach> = None;
    for now in tried {
        let after = now.totals.plus(&m.per_unit, f64::from(m.max_units));
        let Ok(s) = problem.at.solve_from(&after, Some(now)) else { continue };
        let ph = s.ph().0 - now.ph().0;
        let index = match s.has_calcium() && now.has_calcium() {
            true => problem.index_of(&s) - problem.index_of(now),
            false => by_alkalinity,
        };
        let so_far = reach.unwrap_or(Reach { ph: (ph, ph), index: (index, index) });
        reach = Some(Reach {
            ph: (so_far.ph.0.min(ph), so_far.ph.1.max(ph)),
            index: (so_far.index.0.min(index), so_far.index.1.max(index)),
        });
    }
    let by_alkalinity = (by_alkalinity, by_alkalinity);
    reach.unwrap_or(Reach { ph: by_alkalinity, index: by_alkalinity })
}

/// What a role may add where a measure is furthest up or down: one amount where directions are known, else every end; as
/// (move, units), the likeliest first.
pub(crate) fn ends(span: Span, moves: &[Move], reach: &[Reach], by: By, upward: bool) -> Vec<(usize, u32)> {
    let either_way = |r: &Reach| by(r).0 < 0.0 && by(r).1 > 0.0;
    let far = |r: &Reach| if upward { by(r).1 } else { -by(r).0 };
    match span {
        Span::Units { high: 0, .. } => vec![(0, 0)],
        Span::Units { which, low, high } => {
            let (which, low, high) = (usize::from(which), u32::from(low), u32::from(high));
            if low == high {
                vec![(which, low)]
            } else if either_way(&reach[which]) {
                if upward { vec![(which, high), (which, low)] } else { vec![(which, low), (which, high)] }
            } else {
                vec![(which, if far(&reach[which]) > 0.0 { high } else { low })]
            }
        }
        Span::Open => {
            let known = |(which, r): (usize, &Reach)| (!either_way(r)).then(|| (which, far(r)));
            let furthest = reach
                .iter()
                .enumerate()
                .filter_map(known)
                .filter(|(_, far)| *far > 0.0)
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map_or((0, 0), |(which, _)| (which, moves[which].max_units));
            let unknown = reach.iter().enumerate().filter(|(_, r)| either_way(r));
            let mut ends = vec![furthest];
            ends.extend(unknown.map(|(which, _)| (which, moves[which].max_units)));
            if ends.len() > 1 && furthest.1 > 0 {
                ends.push((0, 0));
            }
            ends
        }
    }
}
