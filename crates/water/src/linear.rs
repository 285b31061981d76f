//! Small dense linear systems on the stack, for the equilibrium's Newton steps.

use crate::species::COMPONENTS;

/// Room for every component.
pub(crate) type Matrix = [[f64; COMPONENTS]; COMPONENTS];
/// A vector of the same size.
pub(crate) type Vector = [f64; COMPONENTS];

/// Solves A·x = b for a symmetric positive definite A of size `n` (Cholesky without roots). A pivot that rounding
/// has made non-positive is lifted, which turns the step into a cautious one.
pub(crate) fn solve_symmetric(a: &mut Matrix, b: &mut Vector, n: usize) -> Vector {
    for j in 0..n {
        let scale = a[j][j].abs();
        for k in 0..j {
            let l = a[j][k];
            a[j][j] -= l * l * a[k][k];
        }
        if a[j][j] <= 1e-15 * scale + 1e-300 {
            a[j][j] = 1e-15 * scale + 1e-300;
        }
        for i in j + 1..n {
            for k in 0..j {
                a[i][j] -= a[i][k] * a[j][k] * a[k][k];
            }
            a[i][j] /= a[j][j];
        }
    }
    for i in 0..n {
        for k in 0..i {
            b[i] -= a[i][k] * b[k];
        }
    }
    for i in (0..n).rev() {
        b[i] /= a[i][i];
        for k in i + 1..n {
            b[i] -= a[k][i] * b[k];
        }
    }
    *b
}

/// Solves A·x = b for a general A of size `n` (Gauss with row scaling and partial pivoting).
pub(crate) fn solve_general(a: &mut Matrix, b: &mut Vector, n: usize) -> Vector {
    for i in 0..n {
        let scale = a[i][..n].iter().fold(0.0_f64, |s, v| s.max(v.abs()));
        if scale > 0.0 {
            a[i][..n].iter_mut().for_each(|v| *v /= scale);
            b[i] /= scale;
        }
    }
    for j in 0..n {
        let pivot = (j..n).max_by(|&p, &q| a[p][j].abs().total_cmp(&a[q][j].abs())).unwrap_or(j);
        a.swap(j, pivot);
        b.swap(j, pivot);
        let row = a[j];
        if row[j] == 0.0 {
            continue;
        }
        for i in j + 1..n {
            let factor = a[i][j] / row[j];
            if factor != 0.0 {
                for k in j..n {
                    a[i][k] -= factor * row[k];
                }
                b[i] -= factor * b[j];
            }
        }
    }
    for j in (0..n).rev() {
        for k in j + 1..n {
            b[j] -= a[j][k] * b[k];
        }
        b[j] /= a[j][j];
    }
    *b
}
