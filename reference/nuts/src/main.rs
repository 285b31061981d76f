//! Draws from a case's posterior by the No-U-Turn Sampler (Hoffman & Gelman 2014) of the library `nuts-rs`, which knows
//! nothing of the model but its density and gradient. It moves in standard deviations of the normal
//! at the mode, a linear map that makes its work easier and changes no draw's meaning.
//!
//! `cargo run --release --manifest-path reference/nuts/Cargo.toml -- CASE.toml [DRAWS] [CHAINS] [SPREAD]` prints the case's part of
//! `reference/learn/nuts.csv`: for each score (a standard normal number before anything is read) and for the water now mean,
//! standard deviation, 5, 50, 95 % quantiles, their Monte Carlo standard errors, R-hat and effective size.

mod statistics;

use care::learn::Density;
use care::quantity::Quantity;
use care::wire::case::CaseText;
use nuts_rs::{Chain, CpuLogpFunc, CpuMath, CpuMathError, HasDims, LogpError, LowRankNutsSettings, Settings};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use statistics::{Figures, figures};
use std::collections::HashMap;
use std::error::Error;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// Draws that adapt the sampler and are thrown away.
const TUNING: u64 = 300;
/// Batches of a chain, from whose spread a statistic's standard error is taken.
const BATCHES: usize = 5;
const QUANTITIES: [Quantity; 6] = [
    Quantity::Ph,
    Quantity::FreeChlorine,
    Quantity::TotalAlkalinity,
    Quantity::CalciumHardness,
    Quantity::Salt,
    Quantity::CyanuricAcid,
];

static ASKED: AtomicU64 = AtomicU64::new(0);

struct Asked<'a>(&'a Density);

#[derive(Debug, thiserror::Error)]
#[error("no water follows from these scores")]
struct NoWater;

impl LogpError for NoWater {
    fn is_recoverable(&self) -> bool {
        true
    }
}

impl HasDims for Asked<'_> {
    fn dim_sizes(&self) -> HashMap<String, u64> {
        HashMap::from([("unconstrained_parameter".to_owned(), self.0.parameters().len() as u64)])
    }
}

impl CpuLogpFunc for Asked<'_> {
    type LogpError = NoWater;
    type FlowParameters = ();
    type ExpandedVector = Vec<f64>;

    fn dim(&self) -> usize {
        self.0.parameters().len()
    }

    fn logp(&mut self, away: &[f64], gradient: &mut [f64]) -> Result<f64, NoWater> {
        ASKED.fetch_add(1, Ordering::Relaxed);
        let (here, by_scores) = self.0.with_gradient(&self.0.scores(away)).ok_or(NoWater)?;
        gradient.copy_from_slice(&self.0.gradient_away(&by_scores));
        Ok(here)
    }

    fn expand_vector<R: rand::Rng + ?Sized>(
        &mut self,
        _: &mut R,
        away: &[f64],
    ) -> Result<Vec<f64>, CpuMathError> {
        Ok(self.0.scores(away))
    }
}

fn chain(
    density: &Density,
    number: u64,
    draws: u64,
    spread: f64,
) -> Result<(Vec<Vec<f64>>, u64), Box<dyn Error>> {
    let rng = &mut ChaCha8Rng::seed_from_u64(number);
    let settings =
        LowRankNutsSettings { num_tune: TUNING, num_draws: draws, ..LowRankNutsSettings::default() };
    let mut chain = settings.new_chain(number, CpuMath::new(Asked(density)), rng)?;
    // From somewhere else each time.
    let start: Vec<f64> = density.parameters().iter().map(|_| spread * statistics::normal(rng)).collect();
    chain.set_position(&start)?;
    let (mut all, mut divergences) = (Vec::new(), 0);
    for _ in 0..TUNING + draws {
        let (draw, progress) = chain.draw()?;
        if !progress.tuning {
            divergences += u64::from(progress.diverging);
            all.push(density.scores(&draw));
        }
    }
    Ok((all, divergences))
}

fn row(case: &str, name: &str, f: &Figures) -> String {
    let five = |of: fn(&(f64, f64)) -> f64| {
        let all = [f.mean, f.sd, f.quantiles[0], f.quantiles[1], f.quantiles[2]];
        all.iter().map(|s| format!("{:.6}", of(s))).collect::<Vec<_>>().join(",")
    };
    format!("{case},{name},{},{},{:.4},{:.0}", five(|s| s.0), five(|s| s.1), f.r_hat, f.effective)
}

/// Seconds for each effective draw of `learn`, by the slowest lasting trait and by the middle one: runs by other seeds, the
/// effective size of one from the spread of its medians (a median's standard error is 1.2533 sd/√n, the sd a 90 % interval over
/// 3.29).
fn ours(case: &care::case::Case) -> Result<(f64, f64), Box<dyn Error>> {
    const RUNS: u64 = 16;
    let started = Instant::now();
    let runs = (1..=RUNS).map(|seed| care::learn::learn(case, seed)).collect::<Result<Vec<_>, _>>()?;
    let seconds = started.elapsed().as_secs_f64() / RUNS as f64;
    let traits: Vec<_> = runs.iter().map(|r| r.traits()).collect();
    // Those of one sign, by their logarithms: biases may be on either side of nothing.
    let of_one_sign = |i: &usize| traits.iter().all(|t| t[*i].now[0] > 0.0);
    let effective = (0..traits[0].len()).filter(of_one_sign).map(|i| {
        let medians: Vec<f64> = traits.iter().map(|t| t[i].now[1].ln()).collect();
        let sds: Vec<f64> = traits.iter().map(|t| (t[i].now[2] / t[i].now[0]).ln() / 3.29).collect();
        (1.2533 * statistics::mean(&sds)).powi(2) / statistics::variance(&medians)
    });
    let mut effective: Vec<f64> = effective.filter(|e| e.is_finite()).collect();
    effective.sort_by(f64::total_cmp);
    Ok((seconds / effective[0], seconds / effective[effective.len() / 2]))
}

/// Where each chain was, for the two parameters on which they agree least: chains that stay apart are in different modes.
fn where_each_chain_was(density: &Density, all: &[Vec<Vec<f64>>]) {
    let mut apart: Vec<(f64, usize)> = (0..density.parameters().len())
        .map(|i| {
            let chains: Vec<Vec<f64>> = all.iter().map(|c| c.iter().map(|d| d[i]).collect()).collect();
            (figures(&chains, BATCHES).r_hat, i)
        })
        .collect();
    apart.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (r_hat, i) in apart.into_iter().take(2) {
        eprintln!("{:?}, R-hat {r_hat:.3}", density.parameters()[i].name);
        for (number, chain) in all.iter().enumerate() {
            let of: Vec<f64> = chain.iter().map(|d| d[i]).collect();
            let sd = statistics::variance(&of).sqrt();
            eprintln!("  chain {number}: mean {:.3}, sd {sd:.3}", statistics::mean(&of));
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or("a case is needed")?;
    let draws: u64 = arguments.next().map_or(Ok(1000), |a| a.parse())?;
    let chains: u64 = arguments.next().map_or(Ok(4), |a| a.parse())?;
    // How far from the mode a chain begins, in standard deviations there.
    let spread: f64 = arguments.next().map_or(Ok(1.0), |a| a.parse())?;
    let text = CaseText::parse(&std::fs::read(&path)?, &path);
    let entries = match text.entries() {
        Some((name, _)) => Some((name.to_owned(), std::fs::read(Path::new(&path).with_file_name(name))?)),
        None => None,
    };
    let case = text.finish(entries.as_ref().map(|(name, bytes)| (name.as_str(), bytes.as_slice())));
    let case = case.map_err(|problems| format!("{problems:?}"))?;
    let data = case;
    let density = Density::of(&data)?;
    let started = Instant::now();
    let (mut all, mut divergences) = (Vec::new(), 0);
    for number in 0..chains {
        let (draws, diverged) = chain(&density, number, draws, spread)?;
        all.push(draws);
        divergences += diverged;
    }
    let seconds = started.elapsed().as_secs_f64();
    where_each_chain_was(&density, &all);
    let of = |figure: &dyn Fn(&[f64]) -> f64| -> Figures {
        let chains: Vec<Vec<f64>> = all.iter().map(|c| c.iter().map(|d| figure(d)).collect()).collect();
        figures(&chains, BATCHES)
    };
    let scores: Vec<(String, Figures)> = density
        .parameters()
        .iter()
        .enumerate()
        .map(|(i, p)| (format!("{:?}", p.name), of(&|d| d[i])))
        .collect();
    let water: Vec<(String, Figures)> = QUANTITIES
        .iter()
        .map(|q| {
            let now = |d: &[f64]| density.now(d, &[*q]).map_or(f64::NAN, |now| now[0]);
            (format!("{q:?}"), of(&now))
        })
        .collect();
    let every = || scores.iter().chain(&water);
    let case = Path::new(&path).file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    println!(
        "# {case}: nuts-rs 0.19.1, low-rank metric, {chains} chains of {draws} draws after {TUNING}; {divergences} divergences; \
         R-hat at most {:.4}, effective size at least {:.0}; {} gradients, {seconds:.0} s",
        every().map(|(_, f)| f.r_hat).fold(0.0, f64::max),
        every().map(|(_, f)| f.effective).fold(f64::INFINITY, f64::min),
        ASKED.load(Ordering::Relaxed),
    );
    for (name, f) in every() {
        println!("{}", row(&case, name, f));
    }
    let mut effective: Vec<f64> = scores.iter().map(|(_, f)| f.effective).collect();
    effective.sort_by(f64::total_cmp);
    let theirs = (seconds / effective[0], seconds / effective[effective.len() / 2]);
    let ours = ours(&data)?;
    eprintln!(
        "seconds for each effective draw, worst and middle parameter: ours {:.4} and {:.4}, the library's {:.4} and {:.4}; \
         ratio {:.1} and {:.1}",
        ours.0,
        ours.1,
        theirs.0,
        theirs.1,
        theirs.0 / ours.0,
        theirs.1 / ours.1
    );
    Ok(())
}
