//! From a figure to a place on the paper, and which figures stand at the edge.

/// From a range of figures to a range of places.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scale {
    from: (f64, f64),
    to: (f64, f64),
}

impl Scale {
    /// `from` may be empty or no range at all: then everything lies in the middle.
    pub(crate) fn new(from: (f64, f64), to: (f64, f64)) -> Scale {
        Scale { from, to }
    }

    /// The place of a figure; what lies beyond the range is placed at its end.
    pub(crate) fn place(&self, v: f64) -> f64 {
        let (low, high) = self.from;
        let share = if high > low { ((v - low) / (high - low)).clamp(0.0, 1.0) } else { 0.5 };
        let share = if share.is_finite() { share } else { 0.5 };
        self.to.0 + share * (self.to.1 - self.to.0)
    }
}

/// Round figures within a range, about `count` of them, and the decimals that they need.
pub(crate) fn round_figures((low, high): (f64, f64), count: f64) -> (Vec<f64>, usize) {
    let rough = (high - low) / count;
    if !(rough.is_finite() && rough > 0.0) {
        return (Vec::new(), 0);
    }
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * power).find(|s| *s >= rough).unwrap_or(rough);
    let first = (low / step).ceil();
    let last = (high / step).floor();
    let figures = (0..=(last - first).clamp(0.0, 50.0) as usize).map(|i| (first + i as f64) * step);
    let decimals = (-(step.log10() + 1e-9).floor()).clamp(0.0, 6.0) as usize;
    (figures.filter(|v| *v <= high + 1e-9 * step).collect(), decimals)
}

/// Decimals that a figure needs, so many at most.
pub(crate) fn decimals_of(v: f64, most: usize) -> usize {
    let exact = |d: &usize| {
        let scaled = v * 10f64.powi(*d as i32);
        (scaled - scaled.round()).abs() < 1e-6
    };
    (0..most).find(exact).unwrap_or(most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_figures_are_round() {
        assert_eq!(round_figures((7.13, 8.05), 4.0), (vec![7.5, 8.0], 1));
        assert_eq!(round_figures((0.0, 11.0), 4.0), (vec![0.0, 5.0, 10.0], 0));
        assert_eq!(round_figures((1980.0, 2420.0), 4.0), (vec![2000.0, 2200.0, 2400.0], 0));
        assert_eq!(round_figures((3.0, 3.0), 4.0).0, Vec::<f64>::new());
        assert_eq!(round_figures((f64::NAN, 3.0), 4.0).0, Vec::<f64>::new());
    }

    #[test]
    fn a_figure_has_the_decimals_that_it_needs() {
        assert_eq!([7.8, 7.0, -0.25, 200.0].map(|v| decimals_of(v, 2)), [1, 0, 2, 0]);
        assert_eq!(decimals_of(1.0 / 3.0, 2), 2);
    }

    #[test]
    fn a_scale_ends_at_its_ends() {
        let s = Scale::new((1.0, 3.0), (100.0, 0.0));
        assert_eq!([0.0, 1.0, 2.0, 3.0, 9.0].map(|v| s.place(v)), [100.0, 100.0, 50.0, 0.0, 0.0]);
        assert_eq!(Scale::new((1.0, 1.0), (0.0, 10.0)).place(1.0), 5.0);
        assert!(s.place(f64::NAN).is_finite());
    }
}
