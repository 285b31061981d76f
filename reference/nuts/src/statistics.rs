//! What draws say, and how sure that is.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// Of one figure over all chains: a statistic and its standard error.
pub struct Figures {
    pub mean: (f64, f64),
    pub sd: (f64, f64),
    /// 5, 50, 95 %.
    pub quantiles: [(f64, f64); 3],
    /// Split R-hat (Gelman et al., Bayesian Data Analysis, 3rd edition, section 11.4).
    pub r_hat: f64,
    /// Effective size, by autocorrelations summed as in that book's section 11.5.
    pub effective: f64,
}

/// Standard normal (Box and Muller).
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let mut unit = || (rng.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
    let radius = (-2.0 * (1.0 - unit()).ln()).sqrt();
    radius * (std::f64::consts::TAU * unit()).cos()
}

pub fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

pub fn variance(x: &[f64]) -> f64 {
    let m = mean(x);
    x.iter().map(|x| (x - m).powi(2)).sum::<f64>() / (x.len() as f64 - 1.0)
}

fn quantile(x: &[f64], share: f64) -> f64 {
    let mut sorted = x.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = share * (sorted.len() - 1) as f64;
    let below = place as usize;
    let above = sorted[(below + 1).min(sorted.len() - 1)];
    sorted[below] + place.fract() * (above - sorted[below])
}

/// Everything of some chains of one figure; standard errors from the spread of `batches` parts of each chain.
pub fn figures(chains: &[Vec<f64>], batches: usize) -> Figures {
    let whole: Vec<f64> = chains.concat();
    let length = chains[0].len() / batches;
    let parts: Vec<&[f64]> = chains.iter().flat_map(|c| c.chunks_exact(length).take(batches)).collect();
    let with_error = |statistic: &dyn Fn(&[f64]) -> f64| {
        let each: Vec<f64> = parts.iter().map(|p| statistic(p)).collect();
        (statistic(&whole), (variance(&each) / each.len() as f64).sqrt())
    };
    let halves: Vec<&[f64]> = chains.iter().flat_map(|c| c.chunks_exact(c.len() / 2).take(2)).collect();
    let n = halves[0].len();
    let means: Vec<f64> = halves.iter().map(|h| mean(h)).collect();
    let within = mean(&halves.iter().map(|h| variance(h)).collect::<Vec<_>>());
    let together = within * (n as f64 - 1.0) / n as f64 + variance(&means);
    // Autocorrelation by variogram, in pairs while they are positive.
    let correlation = |lag: usize| {
        let apart: Vec<f64> = halves
            .iter()
            .map(|h| h.windows(lag + 1).map(|w| (w[lag] - w[0]).powi(2)).sum::<f64>() / (n - lag) as f64)
            .collect();
        1.0 - mean(&apart) / (2.0 * together)
    };
    let (mut sum, mut lag) = (0.0, 1);
    while lag + 1 < n {
        let pair = correlation(lag) + correlation(lag + 1);
        if pair.is_nan() || pair < 0.0 {
            break;
        }
        sum += pair;
        lag += 2;
    }
    Figures {
        mean: with_error(&mean),
        sd: with_error(&|x| variance(x).sqrt()),
        quantiles: [0.05, 0.5, 0.95].map(|share| with_error(&|x| quantile(x, share))),
        r_hat: (together / within).sqrt(),
        effective: (halves.len() * n) as f64 / (1.0 + 2.0 * sum),
    }
}
