//! Small dense linear systems on the stack, for the equilibrium's Newton steps.

/// Room for every component, and a power of two so that an index can be masked into range.
pub(crate) const PADDED: usize = 16;
/// A square matrix addressed by component.
pub(crate) type Matrix = [[f64; PADDED]; PADDED];
/// A vector addressed by component.
pub(crate) type Vector = [f64; PADDED];

/// Solves A·x = b in place for several b, A symmetric positive definite with its lower triangle filled; only the rows
/// and columns in `unknowns` (ascending) take part. LDLᵀ without pivoting; zeros are skipped.
pub(crate) fn solve_symmetric<const RHS: usize>(a: &mut Matrix, mut b: [&mut Vector; RHS], unknowns: &[u8]) {
    factor(a, &mut b, unknowns);
    for b in &mut b {
        for (at, &j) in unknowns.iter().enumerate().rev() {
            let j = j as usize % PADDED;
            let mut value = b[j];
            for &i in &unknowns[at + 1..] {
                let i = i as usize % PADDED;
                value -= a[i][j] * b[i];
            }
            b[j] = value;
        }
    }
}

/// As [`solve_symmetric`], with the balance `row` standing in for that of the last unknown: the matrix is that of
/// `unknowns` and, below it, `row`.
pub(crate) fn solve_with_last_row_replaced<const RHS: usize>(
    a: &mut Matrix,
    mut b: [&mut Vector; RHS],
    unknowns: &[u8],
    row: usize,
) {
    let Some((&last, first)) = unknowns.split_last() else { return };
    let (last, row) = (last as usize % PADDED, row % PADDED);
    // Eliminate the others from both rows; what is left of `row` and column `last` is one equation in one unknown.
    factor(a, &mut b, first);
    let mut pivot = a[row][last];
    let mut right = [0.0; RHS];
    for (r, b) in right.iter_mut().zip(&b) {
        *r = b[row];
    }
    for &j in first {
        let j = j as usize % PADDED;
        let d = a[j][j];
        // a[..][j] now holds L; `row` and `last` lie below `first`, so they were not factored.
        let l_row = forward(a, first, row, j);
        let l_last = forward(a, first, last, j);
        a[row][j] = l_row;
        a[last][j] = l_last;
        pivot -= l_row * l_last / d;
        for (r, b) in right.iter_mut().zip(&b) {
            *r -= l_row * b[j];
        }
    }
    for (r, b) in right.iter().zip(&mut b) {
        b[last] = r / if pivot.abs() > 1e-300 { pivot } else { 1e-300 };
        for (at, &j) in first.iter().enumerate().rev() {
            let j = j as usize % PADDED;
            let mut value = b[j] - a[last][j] / a[j][j] * b[last];
            for &i in &first[at + 1..] {
                let i = i as usize % PADDED;
                value -= a[i][j] * b[i];
            }
            b[j] = value;
        }
    }
}

/// Entry (row, j) after elimination of the unknowns before j, undivided.
fn forward(a: &Matrix, unknowns: &[u8], row: usize, j: usize) -> f64 {
    let mut value = a[row][j];
    for &k in unknowns.iter().take_while(|k| (**k as usize) < j) {
        let k = k as usize % PADDED;
        value -= a[row][k] * a[j][k];
    }
    value
}

/// LDLᵀ of the rows in `unknowns`: D on the diagonal, L below it; each b becomes D⁻¹L⁻¹b.
fn factor(a: &mut Matrix, b: &mut [&mut Vector], unknowns: &[u8]) {
    for (at, &j) in unknowns.iter().enumerate() {
        let j = j as usize % PADDED;
        let pivot = a[j][j];
        let inverse = 1.0 / if pivot > 1e-300 { pivot } else { 1e-300 };
        let below = &unknowns[at + 1..];
        for (place, &i) in below.iter().enumerate() {
            let i = i as usize % PADDED;
            let value = a[i][j];
            if value == 0.0 {
                continue;
            }
            let l = value * inverse;
            // Columns k ≤ i of row i; a[k][j] is still undivided where k ≥ i, and divided by the pivot where k < i.
            for &k in &below[..place] {
                let k = k as usize % PADDED;
                a[i][k] -= value * a[k][j];
            }
            a[i][i] -= value * l;
            for b in b.iter_mut() {
                b[i] -= l * b[j];
            }
            a[i][j] = l;
        }
        for b in b.iter_mut() {
            b[j] *= inverse;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A = BᵀB + 1 from fixed numbers; the solution is checked by putting it back.
    fn sample() -> Matrix {
        let mut a = [[0.0; PADDED]; PADDED];
        for i in 0..PADDED {
            for j in 0..PADDED {
                a[i][j] = (0..5).map(|k| ((i * 7 + k * 3) % 11) as f64 * ((j * 7 + k * 3) % 11) as f64).sum();
            }
            a[i][i] += 1.0;
        }
        a
    }

    #[test]
    fn the_symmetric_solve_gives_back_its_right_hand_sides() {
        let a = sample();
        let unknowns = [0, 2, 3, 7, 9, 12];
        let (b, c): (Vector, Vector) = ([1.0; PADDED], std::array::from_fn(|i| i as f64 - 4.0));
        let (mut x, mut y) = (b, c);
        solve_symmetric(&mut a.clone(), [&mut x, &mut y], &unknowns);
        for (solution, right) in [(x, b), (y, c)] {
            for &i in &unknowns {
                let back: f64 =
                    unknowns.iter().map(|&j| a[i as usize][j as usize] * solution[j as usize]).sum();
                assert!((back - right[i as usize]).abs() < 1e-9, "{back} {}", right[i as usize]);
            }
        }
    }

    #[test]
    fn a_replaced_last_row_is_the_one_that_is_met() {
        let a = sample();
        let unknowns = [0u8, 2, 3, 7, 11];
        let right: Vector = std::array::from_fn(|i| i as f64 - 4.0);
        let mut x = right;
        solve_with_last_row_replaced(&mut a.clone(), [&mut x], &unknowns, 12);
        for row in [0usize, 2, 3, 7, 12] {
            let back: f64 = unknowns.iter().map(|&j| a[row][j as usize] * x[j as usize]).sum();
            assert!((back - right[row]).abs() < 1e-8, "row {row}: {back} {}", right[row]);
        }
    }
}
