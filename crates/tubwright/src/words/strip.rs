//! A quantity in one line of text: its band as a bracket, the estimate as a dot, its interval as a whisker.
//!
//! ```text
//! ●─ [         ]    below its band by 12
//!    [  ──●──  ]    inside
//! ```

/// Columns of a strip.
pub(crate) const WIDTH: usize = 17;
/// Columns of the band's edges.
const EDGES: (usize, usize) = (3, 13);

/// The strip. The band takes the middle; what lies further out than the strip reaches is drawn as an arrow at its end.
pub(crate) fn strip(value: f64, interval: (f64, f64), band: (f64, f64), unicode: bool) -> String {
    let (dot, whisker, left, right) =
        if unicode { ('●', '─', '‹', '›') } else { ('o', '-', '<', '>') };
    let (low, high) = band;
    let span = if high > low { high - low } else { high.abs().max(1.0) };
    let column = |x: f64| EDGES.0 as f64 + (x - low) / span * (EDGES.1 - EDGES.0) as f64;
    let inside = |c: f64| c.round().clamp(0.0, (WIDTH - 1) as f64) as usize;

    let mut cells = [' '; WIDTH];
    let (from, to) = (column(interval.0), column(interval.1));
    if from.is_finite() && to.is_finite() && to > -0.5 && from < WIDTH as f64 - 0.5 {
        cells[inside(from)..=inside(to)].fill(whisker);
    }
    cells[EDGES.0] = '[';
    cells[EDGES.1] = ']';
    let at = column(value);
    if at < -0.5 {
        cells[0] = left;
    } else if at > WIDTH as f64 - 0.5 {
        cells[WIDTH - 1] = right;
    } else if at.is_finite() {
        cells[inside(at)] = dot;
    }
    cells.iter().collect()
}

/// Where a quantity is, in words.
pub(crate) fn status(value: f64, interval: (f64, f64), band: (f64, f64), decimals: usize) -> String {
    let (low, high) = band;
    let by = |d: f64| format!("{d:.decimals$}");
    if value < low && by(low - value) != by(0.0) {
        format!("below its band by {}", by(low - value))
    } else if value > high && by(value - high) != by(0.0) {
        format!("above its band by {}", by(value - high))
    } else {
        match (interval.0 < low, interval.1 > high) {
            (true, true) => "inside, or beyond either edge",
            (true, false) => "inside, perhaps below",
            (false, true) => "inside, perhaps above",
            (false, false) => "inside",
        }
        .into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn band_dot_and_whisker_stand_where_the_numbers_say() {
        // 30 to 70 of 0 to 100 on columns 3 to 13: 6 to 10.
        assert_eq!(strip(50.0, (30.0, 70.0), (0.0, 100.0), true), "   [  ──●──  ]   ");
        assert_eq!(strip(500.0, (490.0, 510.0), (0.0, 100.0), false), "   [         ]  >");
        assert_eq!(strip(-500.0, (-510.0, -490.0), (0.0, 100.0), true), "‹  [         ]   ");
        assert_eq!(strip(0.0, (-10.0, 10.0), (0.0, 100.0), false), "  -o-        ]   ");
        assert_eq!(strip(f64::NAN, (f64::NAN, f64::NAN), (0.0, 1.0), false), "   [         ]   ");
        assert_eq!(strip(1.0, (1.0, 1.0), (0.0, 0.0), false).len(), WIDTH);
    }

    #[test]
    fn status_is_said_in_words() {
        assert_eq!(status(68.0, (60.0, 76.0), (80.0, 120.0), 0), "below its band by 12");
        assert_eq!(status(8.05, (7.9, 8.2), (7.2, 7.8), 2), "above its band by 0.25");
        assert_eq!(status(90.0, (85.0, 95.0), (80.0, 120.0), 0), "inside");
        assert_eq!(status(82.0, (74.0, 90.0), (80.0, 120.0), 0), "inside, perhaps below");
    }
}
