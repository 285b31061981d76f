//! Stiff integration of an autonomous system: the one door to the library that does it (variable-order BDF).
//!
//! Newton's method with a Jacobian whose columns obey the same stoichiometry as the rates keeps every linear invariant
//! (mass, charge) to rounding; `tests/conservation.rs` measures it.

use crate::error::TubError;
use diffsol::{NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod, OdeSolverStopReason, VectorCommon};
use std::cell::{Cell, RefCell};

/// A system of rates, per second.
pub(crate) trait System {
    /// Writes dy/dt.
    fn rates(&self, y: &[f64], dy: &mut [f64]) -> Result<(), TubError>;
    /// Writes ∂(dy/dt)/∂y, column after column.
    fn jacobian(&self, y: &[f64], columns: &mut [f64]) -> Result<(), TubError>;
}

/// How closely.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tolerance {
    /// Relative error a step.
    pub(crate) relative: f64,
    /// Absolute error a step, for each unknown.
    pub(crate) absolute: Vec<f64>,
}

/// Work done, for tests that pin cost without a clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Steps of the integrator.
    pub steps: usize,
    /// Evaluations of the rates.
    pub rates: usize,
    /// Evaluations of the Jacobian.
    pub jacobians: usize,
}

impl Work {
    /// Adds another's work.
    pub(crate) fn add(&mut self, other: Work) {
        self.steps += other.steps;
        self.rates += other.rates;
        self.jacobians += other.jacobians;
    }
}

/// Steps in one call before it is given up; a tub's stretch between two events takes some hundreds.
const MAX_STEPS: usize = 200_000;

/// Newton iterations in one call that may fail before it is given up.
const MAX_FAILURES: usize = 5_000;

/// The Jacobian at the point where it was last asked for: the solver asks for it column by column.
struct Cached {
    y: Vec<f64>,
    columns: Vec<f64>,
    full: bool,
}

/// Moves `y` on by `seconds`.
///
/// # Errors
/// What the system says of a state that it cannot be asked about; [`TubError::Stopped`] if the solver gives up.
pub(crate) fn integrate(
    system: &impl System,
    y: &mut [f64],
    seconds: f64,
    tolerance: &Tolerance,
) -> Result<Work, TubError> {
    if seconds <= 0.0 {
        return Ok(Work::default());
    }
    let n = y.len();
    system.rates(y, &mut vec![0.0; n])?;
    let trouble: RefCell<Option<TubError>> = RefCell::new(None);
    let (rates, jacobians) = (Cell::new(0), Cell::new(0));
    let cached = RefCell::new(Cached { y: vec![0.0; n], columns: vec![0.0; n * n], full: false });
    let start = y.to_vec();
    let problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .rtol(tolerance.relative)
        .atol(tolerance.absolute.clone())
        .h0((seconds * 1e-6).clamp(1e-9, 1.0))
        .rhs_implicit(
            |y: &[f64], _p: &[f64], _t: f64, dy: &mut [f64]| {
                rates.set(rates.get() + 1);
                if y.iter().any(|y| !y.is_finite()) {
                    dy.fill(f64::NAN);
                } else if let Err(e) = system.rates(y, dy) {
                    // The library's closures cannot fail: a rate that is no number makes it take a smaller step.
                    dy.fill(f64::NAN);
                    trouble.replace(Some(e));
                }
            },
            |y: &[f64], _p: &[f64], _t: f64, v: &[f64], jv: &mut [f64]| {
                let mut c = cached.borrow_mut();
                if !c.full || c.y != y {
                    jacobians.set(jacobians.get() + 1);
                    c.y.copy_from_slice(y);
                    c.columns.fill(0.0);
                    c.full = true;
                    if system.jacobian(y, &mut c.columns).is_err() {
                        // The rates at the same point say why.
                        c.columns.fill(f64::NAN);
                    }
                }
                jv.fill(0.0);
                for (column, v) in c.columns.chunks_exact(n).zip(v) {
                    if *v != 0.0 {
                        for (jv, a) in jv.iter_mut().zip(column) {
                            *jv += a * v;
                        }
                    }
                }
            },
        )
        .init(|_p: &[f64], _t: f64, y: &mut [f64]| y.copy_from_slice(&start), n)
        .build();
    let mut steps = 0;
    let stopped = |at_s: f64, steps: usize, why: String| {
        let at_h = at_s / 3600.0;
        match trouble.borrow_mut().take() {
            Some(TubError::Water { at_h: from_h, why }) => TubError::Water { at_h: from_h + at_h, why },
            Some(other) => other,
            None => TubError::Stopped { at_h, steps, why },
        }
    };
    let mut problem = problem.map_err(|e| stopped(0.0, 0, e.to_string()))?;
    // The library counts failed Newton iterations over the whole integration; days with a threshold to cross have many.
    problem.ode_options.max_nonlinear_solver_failures = MAX_FAILURES;
    let mut solver = problem.bdf::<NalgebraLU<f64>>().map_err(|e| stopped(0.0, 0, e.to_string()))?;
    solver.set_stop_time(seconds).map_err(|e| stopped(0.0, 0, e.to_string()))?;
    loop {
        steps += 1;
        match solver.step() {
            Ok(OdeSolverStopReason::TstopReached) => break,
            // What a trial step ran into is no trouble any more.
            Ok(_) if steps < MAX_STEPS => drop(trouble.replace(None)),
            Ok(_) => return Err(stopped(solver.state().t, steps, "too many steps".to_owned())),
            Err(e) => return Err(stopped(solver.state().t, steps, e.to_string())),
        }
    }
    for (y, new) in y.iter_mut().zip(solver.state().y.inner().iter()) {
        *y = *new;
    }
    if y.iter().any(|y| !y.is_finite()) {
        return Err(stopped(seconds, steps, "a quantity is no number".to_owned()));
    }
    Ok(Work { steps, rates: rates.get(), jacobians: jacobians.get() })
}
