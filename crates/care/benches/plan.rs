//! Time of one whole plan (readings in, steps out) on one thread, over random cases with eight and with sixteen products
//! on the shelf: start-ups, corrections, and corrections with everything out of band.
//! Prints one JSON line for each. Run: `cargo bench -p care --bench plan`.

#![allow(clippy::disallowed_methods, reason = "a benchmark reads a clock")]

#[allow(dead_code, reason = "shared with the tests")]
#[path = "../tests/support/random_case.rs"]
mod random_case;

use random_case::{Random, Water, random_case};
use std::hint::black_box;
use std::time::Instant;

const CASES: usize = 600;
/// Each case is timed so often and its least time counts: what else the machine does is not the plan's.
const REPEATS: usize = 3;

fn main() {
    for products in [8, 16] {
        for water in [Water::Plain, Water::AllOut] {
            measure(products, water);
        }
    }
}

fn measure(products: usize, water: Water) {
    let mut random = Random::seeded(products as u64);
    let (mut times_ms, mut nodes, mut incomplete, mut refused) = (Vec::new(), Vec::new(), 0, 0);
    let mut slowest = (0.0, 0, 0);
    let mut number = 0;
    while times_ms.len() < CASES {
        let case = random_case(&mut random, water, products);
        number += 1;
        let mut best_ms = f64::INFINITY;
        let mut last = None;
        for _ in 0..REPEATS {
            let start = Instant::now();
            let plan = care::planner::plan(black_box(&case));
            best_ms = f64::min(best_ms, start.elapsed().as_secs_f64() * 1e3);
            last = plan.ok();
        }
        let Some(plan) = last else {
            refused += 1;
            continue;
        };
        incomplete += usize::from(plan.assumptions.iter().any(|a| a.starts_with("The search stopped")));
        times_ms.push(best_ms);
        nodes.push(plan.search_nodes as f64);
        if best_ms > slowest.0 {
            slowest = (best_ms, number, plan.search_nodes);
        }
    }
    let t = Spread::of(&mut times_ms);
    let n = Spread::of(&mut nodes);
    println!(
        "{{\"bench\":\"plan\",\"water\":\"{water:?}\",\"products\":{products},\"cases\":{CASES},\"refused\":{refused},\
         \"median_ms\":{:.3},\"p99_ms\":{:.3},\"worst_ms\":{:.3},\"slowest_case\":{},\"nodes_median\":{},\"nodes_p99\":{},\
         \"nodes_worst\":{},\"incomplete\":{incomplete}}}",
        t.median, t.p99, t.worst, slowest.1, n.median, n.p99, n.worst
    );
}

struct Spread {
    median: f64,
    p99: f64,
    worst: f64,
}

impl Spread {
    fn of(values: &mut [f64]) -> Self {
        values.sort_by(f64::total_cmp);
        let at = |share: f64| values[((values.len() - 1) as f64 * share).round() as usize];
        Spread { median: at(0.5), p99: at(0.99), worst: at(1.0) }
    }
}
