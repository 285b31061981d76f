//! Are the draws the posterior's? Four invented cases whose posterior a general library has drawn from at length: the
//! No-U-Turn Sampler of `nuts-rs` on the same density (`reference/nuts`, whose figures stand in `reference/learn/nuts.csv`).
//!
//! Runs of our chain by other seeds are put together, and each statistic of each score and of the water now is held against
//! the library's. Both have a Monte Carlo error, ours from the spread of the runs, s/√runs, theirs from the spread of
//! twenty parts of its chains; what is allowed is five times the root of the sum of their squares. A Student's t of some
//! thirty degrees of freedom is beyond five about once in forty thousand, and there are some five hundred statistics.

#![allow(clippy::disallowed_methods, reason = "a test reads its reference")]

use super::chance::Chance;
use super::density::found;
use super::draws;
use super::history::History;
use super::learned::{DRAWS, quantile, thin};
use super::posterior::quantity;
use crate::case::Case;
use crate::quantity::Quantity as Q;
use crate::wire::case::CaseText;
use std::path::PathBuf;
use water::{Celsius, Equilibria};

const CASES: [&str; 4] = ["hand_dosed", "salt_cell_probe", "blunder_unrecorded", "bicarbonate_unwritten"];
/// Runs of our chain.
const RUNS: u64 = 16;
/// Standard errors that are allowed.
const ALLOWED: f64 = 5.0;
const WATER: [Q; 6] =
    [Q::Ph, Q::FreeChlorine, Q::TotalAlkalinity, Q::CalciumHardness, Q::Salt, Q::CyanuricAcid];

fn reference(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../reference/learn").join(file)
}

/// One of the committed cases.
pub(super) fn case(name: &str) -> Case {
    let text = std::fs::read(reference(&format!("{name}.toml"))).unwrap();
    let file = format!("{name}.ndjson");
    let entries = std::fs::read(reference(&file)).unwrap();
    CaseText::parse(&text, name).finish(Some((&file, &entries))).unwrap()
}

/// What the library found: the figure's name; mean, standard deviation, 5, 50 and 95 %; their errors.
fn library(case: &str) -> Vec<(String, [f64; 5], [f64; 5])> {
    let text = std::fs::read_to_string(reference("nuts.csv")).unwrap();
    let lines = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    let rows = lines.filter_map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let five = |from: usize| std::array::from_fn(|i| cells[from + i].parse().unwrap());
        (cells[0] == case).then(|| (cells[1].to_owned(), five(2), five(7)))
    });
    rows.collect()
}

/// Mean, standard deviation, 5, 50, 95 %.
fn five(figures: &[f64]) -> [f64; 5] {
    let count = figures.len() as f64;
    let mean = figures.iter().sum::<f64>() / count;
    let variance = figures.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let mut sorted = figures.to_vec();
    sorted.sort_by(f64::total_cmp);
    let [low, middle, high] = [0.05, 0.5, 0.95].map(|share| quantile(&sorted, share));
    [mean, variance.sqrt(), low, middle, high]
}

/// Every figure's name with its draws, run by run.
fn ours(case: &Case) -> Vec<(String, Vec<Vec<f64>>)> {
    let history = History::of(case).unwrap();
    let at = Equilibria::at(Celsius(history.temperature_c)).unwrap();
    let (posterior, mode, _) = found(&history, &at).unwrap();
    let runs: Vec<_> = (1..=RUNS)
        .map(|seed| draws::draw(&posterior, &mode, DRAWS, thin(&history), &mut Chance::of(seed)).unwrap())
        .collect();
    let mut all = Vec::new();
    for (i, p) in posterior.parameters.iter().enumerate() {
        let of_runs = runs.iter().map(|run| run.iter().map(|d| d.scores[i]).collect());
        all.push((format!("{:?}", p.name), of_runs.collect()));
    }
    for q in WATER {
        let of = |run: &Vec<draws::Draw>| {
            run.iter().map(|d| quantity(q, &mut d.now.clone(), &at).unwrap()).collect()
        };
        all.push((format!("{q:?}"), runs.iter().map(of).collect()));
    }
    all
}

/// The figures that it prints stand in `docs/learn.md` (`cargo test -p care --lib against_nuts -- --nocapture`).
#[test]
fn the_draws_are_a_general_librarys_too() {
    let mut beyond = Vec::new();
    for name in CASES {
        let (ours, library) = (ours(&case(name)), library(name));
        let names: Vec<&String> = ours.iter().map(|(n, _)| n).collect();
        assert_eq!(names, library.iter().map(|(n, ..)| n).collect::<Vec<_>>(), "{name}: to be drawn anew");
        // Of this case: farthest mean and standard deviation, in the library's; in standard errors; least effective run.
        let (mut mean_off, mut sd_off, mut worst, mut least) = (0.0f64, 0.0f64, 0.0f64, f64::INFINITY);
        for ((figure, runs), (_, theirs, their_errors)) in ours.into_iter().zip(library) {
            let together = five(&runs.concat());
            let each: Vec<[f64; 5]> = runs.iter().map(|r| five(r)).collect();
            for i in 0..5 {
                let spread = five(&each.iter().map(|s| s[i]).collect::<Vec<_>>())[1];
                let error = (spread.powi(2) / RUNS as f64 + their_errors[i].powi(2)).sqrt();
                let off = (together[i] - theirs[i]).abs();
                if off > ALLOWED * error + 1e-6 {
                    beyond.push(format!(
                        "{name}, {figure}, statistic {i}: {:.4} ± {:.4}, the library {:.4} ± {:.4}",
                        together[i],
                        spread / (RUNS as f64).sqrt(),
                        theirs[i],
                        their_errors[i]
                    ));
                }
                if theirs[1] > 1e-6 {
                    worst = worst.max(off / error);
                    match i {
                        0 => {
                            mean_off = mean_off.max(off / theirs[1]);
                            least = least.min((together[1] / spread).powi(2));
                            println!(
                                "{name} {figure}: mean {:.3} and {:.3}, sd {:.3} and {:.3}, effective {:.0}",
                                together[0],
                                theirs[0],
                                together[1],
                                theirs[1],
                                (together[1] / spread).powi(2)
                            );
                        }
                        1 => sd_off = sd_off.max(off / theirs[1]),
                        _ => (),
                    }
                }
            }
        }
        println!(
            "{name}: a mean is off by {mean_off:.3} sd at most, an sd by {:.1} %; at most {worst:.1} standard errors; \
             a run's least effective size {least:.0}",
            100.0 * sd_off
        );
    }
    assert!(beyond.is_empty(), "{beyond:#?}");
}

/// How far kits err is where the library has it in the mean, not at the very top of the density, where few readings that much is
/// fitted to seem to err little.
#[test]
fn the_mode_believes_of_kits_what_the_library_does() {
    for name in CASES {
        let history = History::of(&case(name)).unwrap();
        let at = Equilibria::at(Celsius(history.temperature_c)).unwrap();
        let (posterior, mode, _) = found(&history, &at).unwrap();
        let library = library(name);
        let errors = posterior.errors();
        assert!(errors.len() > 3, "{name}");
        for j in errors.iter().map(|e| e.score) {
            let (figure, [mean, sd, ..], _) = &library[j];
            let off = (mode.scores[j] - mean).abs() / sd;
            assert!(off < 0.5, "{name}, {figure}: {:.2} and {mean:.2} ± {sd:.2}", mode.scores[j]);
        }
    }
}
