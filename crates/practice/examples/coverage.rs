//! How often the 90 % intervals of what is learnt hold the true water of the practice world, whose errors, kits and household
//! are not the estimator's priors: the numbers of docs/learn.md.
//!
//!     cargo run --release -p practice --example coverage -- WEEKS SEEDS [DIFFICULTY: 0, 1, 2]
//!
//! Each tub is cared for by the label rule. From the end of the first week on, every fourth look is learnt from, within four
//! hours of its readings and doses; what is then said of the water is held against the true water of that hour.

use care::case::Case;
use care::learn::{Name, learn};
use care::quantity::Quantity as Q;
use practice::policy::{ByLabel, Learner, usual_looks};
use practice::{DIFFICULTIES, Ended, Policy, PracticeError, SAMPLE_H, SCORED, Setup, play};
use std::collections::BTreeMap;
use std::error::Error;

/// Quantities that are followed by both.
const OF: [Q; 6] = [Q::Ph, Q::FreeChlorine, Q::TotalAlkalinity, Q::CalciumHardness, Q::Salt, Q::CyanuricAcid];
const FROM_H: f64 = 7.0 * 24.0;
const EVERY: usize = 4;

/// Somebody who goes by the label; what was known after some looks is kept.
#[derive(Default)]
struct Watched {
    by: ByLabel,
    looks: usize,
    kept: Vec<(f64, Case)>,
}

impl Policy for Watched {
    fn id(&self) -> &'static str {
        self.by.id()
    }

    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError> {
        self.by.look(at)?;
        self.looks += 1;
        // Whoever looks waits until the true water is written down.
        if at.at_h() >= FROM_H && self.looks.is_multiple_of(EVERY) {
            at.wait_hours((at.at_h() / SAMPLE_H).ceil() * SAMPLE_H - at.at_h())?;
            self.kept.push((at.at_h(), at.case().clone()));
        }
        Ok(())
    }
}

/// Intervals that hold the truth, those that it is above of, those that it is below of.
#[derive(Default, Clone, Copy)]
struct Count([u32; 3]);

impl Count {
    fn add(&mut self, [low, high]: [f64; 2], truth: f64) {
        self.0[usize::from(truth > high) + 2 * usize::from(truth < low)] += 1;
    }

    fn said(&self) -> String {
        let all = f64::from(self.0.iter().sum::<u32>());
        let share = f64::from(self.0[0]) / all;
        format!(
            "{:5.1} % of {all:4} (± {:.1}), truth above {:3}, below {:3}",
            100.0 * share,
            100.0 * (share * (1.0 - share) / all).sqrt(),
            self.0[1],
            self.0[2]
        )
    }
}

/// The true water at an hour, as it was written down last.
fn truth(ended: &Ended, q: Q, at_h: f64) -> Option<f64> {
    let i = SCORED.iter().position(|s| *s == q)?;
    ended.course.iter().rfind(|s| s.at_h <= at_h + 1e-6)?.values[i]
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1).map(|a| a.parse().unwrap_or(4));
    let weeks = arguments.next().unwrap_or(4);
    let seeds = arguments.next().unwrap_or(20);
    let only = arguments.next();
    for (i, difficulty) in (0..).zip(DIFFICULTIES) {
        if only.is_some_and(|only| only != i) {
            continue;
        }
        let mut counts: BTreeMap<&str, Count> = BTreeMap::new();
        let mut together = Count::default();
        for seed in 1..=u64::from(seeds) {
            let setup = Setup { seed, difficulty, weeks };
            let mut watched = Watched::default();
            let ended = play(setup, &mut watched, &usual_looks(setup))?;
            for (at_h, case) in &watched.kept {
                let learned = learn(case, seed)?;
                for q in OF {
                    let Some(([low, _, high], truth)) = learned.now(q).zip(truth(&ended, q, *at_h)) else {
                        continue;
                    };
                    // Nothing can be wrong of what was never there.
                    if high - low > 1e-9 || truth > 1e-9 {
                        counts.entry(q.id()).or_default().add([low, high], truth);
                        together.add([low, high], truth);
                    }
                }
                if let Some(volume) = learned.traits().iter().find(|t| t.name == Name::Volume) {
                    let [low, _, high] = volume.now;
                    counts.entry("volume").or_default().add([low, high], ended.true_volume_l);
                    together.add([low, high], ended.true_volume_l);
                }
            }
        }
        println!("{}, {seeds} tubs, {weeks} weeks: together {}", difficulty.id(), together.said());
        for (name, count) in counts {
            println!("  {name:18} {}", count.said());
        }
    }
    Ok(())
}
