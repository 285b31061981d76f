//! Small dense linear systems on the stack, for the equilibrium's Newton steps.

use crate::species::COMPONENTS;

/// A vector addressed by component.
pub(crate) type Vector = [f64; COMPONENTS];

/// Solves A·x = b in place for several b: Gauss's elimination from the last unknown to the first, without pivoting.
///
/// Meant for matrices whose pivots need no search: positive definite ones, the last row to be eliminated excepted.
#[inline(always)]
pub(crate) fn solve<const N: usize, const RHS: usize>(a: &mut [[f64; N]; N], b: &mut [[f64; N]; RHS]) {
    let mut inverse = [0.0; N];
    for j in (0..N).rev() {
        let row = a[j];
        let pivot = row[j];
        inverse[j] = 1.0 / if pivot.abs() > 1e-300 { pivot } else { 1e-300 };
        for i in 0..j {
            let share = a[i][j] * inverse[j];
            for (a, row) in a[i][..j].iter_mut().zip(&row) {
                *a -= share * row;
            }
            for b in b.iter_mut() {
                b[i] -= share * b[j];
            }
        }
    }
    for b in b.iter_mut() {
        for j in 0..N {
            let mut value = b[j];
            for (a, b) in a[j][..j].iter().zip(&*b) {
                value -= a * b;
            }
            b[j] = value * inverse[j];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solutions_put_back_give_the_right_hand_sides() {
        // A = Σ of squares + 1 from fixed numbers, then its first row spoilt: that one need not be symmetric.
        let b = |i: usize, k: usize| ((i * 7 + k * 3) % 11) as f64;
        let mut a: [[f64; 6]; 6] = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                (0..5).map(|k| b(i, k) * b(j, k)).sum::<f64>() + if i == j { 1.0 } else { 0.0 }
            })
        });
        a[0] = [3.0, -1.0, 4.0, -1.0, 5.0, 9.0];
        let right = [[1.0; 6], std::array::from_fn(|i| i as f64 - 4.0)];
        let mut solution = right;
        solve(&mut a.clone(), &mut solution);
        for (x, b) in solution.iter().zip(&right) {
            for (row, b) in a.iter().zip(b) {
                let back: f64 = row.iter().zip(x).map(|(a, x)| a * x).sum();
                assert!((back - b).abs() < 1e-9, "{back} {b}");
            }
        }
    }
}
