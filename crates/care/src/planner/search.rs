//! The best decision, searched completely.
//!
//! Method: branch and bound, best bound first. A node is a box: a start, a stop of airing, and for each role either still
//! every product or one product with a span of units. Its bound is the least key that any decision in it could have
//! (`bound`). A box that could still be better than the best found is split, first by product, then in the middle of the
//! span that moves the goals most; a box of one decision is judged and its path walked. Nothing is sampled: the result is
//! the best there is for the stated objective (`tests::the_search_finds_what_brute_force_finds`).

use super::bound::Bounds;
use super::node::{MOST_ROLES, Node};
use super::path::{Deed, Walks};
use super::problem::{Choice, Key, Problem};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// What the search found.
#[derive(Debug, Clone)]
pub(crate) struct Found {
    pub(crate) choice: Choice,
    pub(crate) key: Key,
    pub(crate) path: Vec<Deed>,
    /// Boxes looked at.
    pub(crate) nodes: usize,
    /// Whether every decision was looked at or bounded away, so that this is the best there is.
    pub(crate) complete: bool,
}

/// The search gives up proving after so many nodes (about a second): the best so far then stands, and says so.
const MOST_NODES: usize = 200_000;

/// How closely a node has been looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Look {
    /// Bounded by what is linear.
    Linear,
    /// Bounded by its water too.
    Full,
    /// One decision, judged.
    Judged,
}

struct Waiting {
    key: Key,
    look: Look,
    node: Node,
}

impl Ord for Waiting {
    /// The heap gives the greatest: the best key, then the one looked at most closely, then the smallest box.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .key
            .order(&self.key)
            .then(self.look.cmp(&other.look))
            .then(other.node.decisions.total_cmp(&self.node.decisions))
    }
}
impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Waiting {}

/// The best decision with a safe path. Doing nothing is always among them.
pub(crate) fn search(problem: &Problem, walks: &Walks<'_>) -> Option<Found> {
    if problem.roles.len() > MOST_ROLES {
        return None;
    }
    let bounds = Bounds::of(problem);
    let nothing = problem.nothing();
    let mut best_key = match (problem.judged(&nothing), walks.path(&nothing)) {
        (Some(worth), Some((_, effort))) => Key { effort, ..worth },
        _ => Key::WORST,
    };
    let mut best = (nothing, Vec::new());
    let mut nodes = 0;
    let mut heap = BinaryHeap::new();
    for start in 0..problem.starts.len() {
        for node in [false, true].into_iter().filter_map(|aired| Node::root(problem, start, aired)) {
            heap.push(Waiting { key: bounds.linear(&node), look: Look::Linear, node });
        }
    }
    while let Some(Waiting { key, look, node }) = heap.pop() {
        if !key.better_than(&best_key) || nodes >= MOST_NODES {
            break;
        }
        let one = node.is_one();
        match look {
            Look::Linear if one => {
                nodes += 1;
                // The effort of the way is at least that of the bound.
                if let Some(node) = bounds.look_at_path(&node, walks)
                    && let Some(worth) = problem.judged(&node.choice(problem))
                {
                    let key = bounds.linear(&node);
                    let key = Key { effort: key.effort, ..worth };
                    heap.push(Waiting { key, look: Look::Judged, node });
                }
            }
            Look::Linear => {
                nodes += 1;
                let looked = bounds.look_at_path(&node, walks).and_then(|node| bounds.look_at_water(&node));
                if let Some(node) = looked {
                    heap.push(Waiting { key: bounds.linear(&node), look: Look::Full, node });
                }
            }
            Look::Full => {
                for child in bounds.split(&node) {
                    let key = bounds.linear(&child);
                    if key.better_than(&best_key) {
                        heap.push(Waiting { key, look: Look::Linear, node: child });
                    }
                }
            }
            Look::Judged => {
                let choice = node.choice(problem);
                if let Some((path, effort)) = walks.path(&choice) {
                    let key = Key { effort, ..key };
                    if key.better_than(&best_key) {
                        best_key = key;
                        best = (choice, path);
                    }
                }
            }
        }
    }
    let complete = nodes < MOST_NODES;
    if best_key == Key::WORST {
        return None;
    }
    let (choice, path) = best;
    Some(Found { choice, key: best_key, path, nodes, complete })
}
