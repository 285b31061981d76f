//! The whole search against looking at everything.

use super::bound::Bounds;
use super::node::Node;
use super::path::Walks;
use super::problem::{Choice, Key, Move, Problem};
use super::search::search;
use super::setup::{self, Needs};
use super::{bands_of, bathing_limits};
use crate::case::Case;
use crate::estimate::estimate;
use random_case::{Random, Water, random_case};

#[allow(dead_code, reason = "shared with the other tests and the benchmark")]
#[path = "../../tests/support/random_case.rs"]
mod random_case;

/// The problem of a case, `None` if the case cannot be planned or asks for nothing.
fn problem_of(case: &Case) -> Option<Problem> {
    let est = estimate(case).ok()?;
    let (bands, _) = bands_of(case).ok()?;
    let limits = bathing_limits(case.tub.regime, case.tub.place);
    let needs = Needs::of(&est, &bands, &bands);
    if needs.act.is_empty() {
        return None;
    }
    Some(setup::problem(case, &est, &bands, &needs, &limits).0)
}

/// The same problem with measures so coarse, and starts and stops so few, that everything can be looked at.
fn coarse(mut problem: Problem, random: &mut Random) -> Problem {
    let amounts = 2 + random.below(4) as u32;
    for m in problem.roles.iter_mut().flat_map(|(_, moves)| moves) {
        let amounts = if random.chance(0.3) { 3 * amounts } else { amounts };
        coarsen(m, m.max_units.div_ceil(amounts).max(1));
    }
    while problem.starts.len() > 3 {
        let at = 1 + random.below(problem.starts.len() - 1);
        problem.starts.remove(at);
    }
    let stops = 2 + random.below(3);
    while problem.stops.len() > stops {
        let at = 1 + random.below(problem.stops.len() - 1);
        problem.stops.remove(at);
    }
    problem
}

fn coarsen(m: &mut Move, factor: u32) {
    let f = f64::from(factor);
    m.unit_g *= f;
    m.per_unit = water::Totals::default().plus(&m.per_unit, f);
    m.effect.iter_mut().for_each(|e| *e *= f);
    m.cost *= f;
    m.max_units /= factor;
}

fn decisions(problem: &Problem) -> usize {
    let of_role = |moves: &Vec<Move>| 1 + moves.iter().map(|m| m.max_units as usize).sum::<usize>();
    let amounts: usize = problem.roles.iter().map(|(_, moves)| of_role(moves)).product();
    amounts * problem.starts.len() * problem.stops.len()
}

/// The best key of all, by looking at every decision; nothing is bounded away and no walk is shared.
fn brute_force(problem: &Problem) -> (Key, Option<Choice>) {
    let mut best = (Key::WORST, None);
    for start in 0..problem.starts.len() {
        for stop in &problem.stops {
            let mut choice = Choice { start, used: vec![(0, 0); problem.roles.len()], stop: *stop };
            every(problem, 0, &mut choice, &mut best);
        }
    }
    best
}

fn every(problem: &Problem, role: usize, choice: &mut Choice, best: &mut (Key, Option<Choice>)) {
    let Some((_, moves)) = problem.roles.get(role) else {
        if let Some(key) = judged(problem, choice)
            && key.better_than(&best.0)
        {
            *best = (key, Some(choice.clone()));
        }
        return;
    };
    choice.used[role] = (0, 0);
    every(problem, role + 1, choice, best);
    for (m, a_move) in moves.iter().enumerate() {
        for units in 1..=a_move.max_units {
            choice.used[role] = (m, units);
            every(problem, role + 1, choice, best);
        }
    }
    choice.used[role] = (0, 0);
}

/// The key of one decision, from the beginning.
fn judged(problem: &Problem, choice: &Choice) -> Option<Key> {
    let worth = problem.judged(choice)?;
    let (_, effort) = Walks::of(problem).path(choice)?;
    Some(Key { effort, ..worth })
}

/// Where the bounds lose a decision: the first box around it that is bounded worse than it is.
fn lost(problem: &Problem, choice: &Choice, key: &Key) -> String {
    let (bounds, walks) = (Bounds::of(problem), Walks::of(problem));
    let mut node = Node::root(problem, choice.start, choice.stop.is_some()).unwrap();
    loop {
        let Some(walked) = bounds.look_at_path(&node, &walks) else { return format!("path: {node:?}") };
        if key.better_than(&bounds.linear(&walked)) {
            return format!("linear {:?}: {walked:?}", bounds.linear(&walked));
        }
        let Some(wet) = bounds.look_at_water(&walked) else { return format!("water: {walked:?}") };
        if key.better_than(&bounds.linear(&wet)) {
            return format!("water {:?}: {wet:?}", bounds.linear(&wet));
        }
        if wet.is_one() {
            return "nowhere".to_string();
        }
        node = bounds.split(&wet).into_iter().find(|n| n.has(choice, problem)).unwrap();
    }
}

#[test]
fn the_search_finds_what_brute_force_finds() {
    let mut random = Random::seeded(2024);
    let (mut cases, mut looked_at, mut nodes, mut tried, mut gaps) = (0, 0, 0, 0, Vec::new());
    while cases < 1500 {
        tried += 1;
        let water = [Water::Plain, Water::AllOut, Water::Wild][tried % 3];
        let products = 2 + random.below(4);
        let case = random_case(&mut random, water, products);
        let Some(problem) = problem_of(&case).map(|p| coarse(p, &mut random)) else { continue };
        let all = decisions(&problem);
        if !(8..=20_000).contains(&all) {
            continue;
        }
        let Some(found) = search(&problem, &Walks::of(&problem)) else { continue };
        let (best, best_choice) = brute_force(&problem);
        assert!(found.complete);
        let worth = judged(&problem, &found.choice);
        assert_eq!(worth.map(|k| k.whole()), Some(found.key.whole()), "case {tried}: {:?}", found.choice);
        if best.better_than(&found.key) {
            let where_lost = best_choice.map(|c| lost(&problem, &c, &best));
            gaps.push(format!(
                "case {tried}: {best:?} by brute force, {:?} found; {where_lost:?}",
                found.key
            ));
        }
        cases += 1;
        looked_at += all;
        nodes += found.nodes;
    }
    println!(
        "{cases} cases of {tried}: {looked_at} decisions by brute force, {nodes} nodes searched, {} gaps",
        gaps.len()
    );
    assert!(gaps.is_empty(), "{} of {cases}:\n{}", gaps.len(), gaps.join("\n"));
}
