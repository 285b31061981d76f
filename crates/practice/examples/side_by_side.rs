//! The plan beside the label rule on the same tubs: the numbers of docs/practice.md.
//!
//!     cargo run --release -p practice --example side_by_side -- WEEKS SEEDS [DIFFICULTY: 0, 1, 2]

use practice::policy::{ByLabel, ByPlan, usual_looks};
use practice::{DIFFICULTIES, Difficulty, Ended, Policy, PracticeError, Setup, Unsafe, play};

fn main() -> Result<(), PracticeError> {
    let mut arguments = std::env::args().skip(1).map(|a| a.parse().unwrap_or(8));
    let weeks = arguments.next().unwrap_or(8);
    let seeds = arguments.next().unwrap_or(20);
    let only = arguments.next();
    for (i, difficulty) in (0..).zip(DIFFICULTIES) {
        if only.is_some_and(|only| only != i) {
            continue;
        }
        let plan = all(difficulty, weeks, seeds, || Box::new(ByPlan::ahead()))?;
        let still = all(difficulty, weeks, seeds, || Box::new(ByPlan::as_it_stands()))?;
        let label = all(difficulty, weeks, seeds, || Box::new(ByLabel::default()))?;
        println!("{}, {seeds} tubs, {weeks} weeks", difficulty.id());
        for (name, games) in [("plan", &plan), ("still", &still), ("label", &label)] {
            let mean = |of: &dyn Fn(&Ended) -> f64| games.iter().map(of).sum::<f64>() / games.len() as f64;
            println!(
                "  {name:5} fit {:.3}  both {:.3}  all {:.3}  grams {:6.0}  visits {:.1}  readings {:.1}  baths {:.1} unsafe {:.2} extreme {:.2}  fresh {:.0} L",
                mean(&|e| e.score.fit_inside),
                mean(&|e| e.score.both_inside),
                mean(&|e| e.score.mean_inside()),
                mean(&|e| e.score.grams_without_salt()),
                mean(&|e| e.score.visits as f64),
                mean(&|e| e.score.readings as f64),
                mean(&|e| e.score.baths as f64),
                mean(&|e| e.score.unsafe_baths() as f64),
                mean(&|e| e
                    .score
                    .unsafe_moments
                    .iter()
                    .filter(|m| matches!(m, Unsafe::ExtremePh { .. }))
                    .count() as f64),
                mean(&|e| e.score.fresh_l),
            );
            let mut line = String::new();
            for q in practice::SCORED {
                let of: Vec<(f64, f64)> = games
                    .iter()
                    .filter_map(|e| e.score.in_band.iter().find(|b| b.quantity == q))
                    .map(|b| (b.inside, b.above))
                    .collect();
                if !of.is_empty() {
                    let n = of.len() as f64;
                    let (inside, above) = of.iter().fold((0.0, 0.0), |s, x| (s.0 + x.0 / n, s.1 + x.1 / n));
                    line += &format!("  {} {inside:.2} (+{above:.2})", q.id());
                }
            }
            println!("       {line}");
        }
        let better = plan.iter().zip(&label).filter(|(p, l)| p.score.fit_inside > l.score.fit_inside).count();
        println!("  plan better in {better} of {seeds}");
    }
    Ok(())
}

fn all(
    difficulty: Difficulty,
    weeks: u32,
    seeds: u32,
    policy: impl Fn() -> Box<dyn Policy>,
) -> Result<Vec<Ended>, PracticeError> {
    (1..=u64::from(seeds))
        .map(|seed| {
            play(
                Setup { seed, difficulty, weeks },
                policy().as_mut(),
                &usual_looks(Setup { seed, difficulty, weeks }),
            )
        })
        .collect()
}
