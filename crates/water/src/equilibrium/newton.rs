//! One water's search: molalities from the core's activities, and the Newton step that improves those.

use super::parts::{Active, CARBON, CORE, FORMS, Group, HYDROGEN, form};
use super::{Known, Spectators};
use crate::activity::ClassGammas;
use crate::exponential;
use crate::linear;
use crate::species::COUNT;

/// No activity changes by more than this factor's logarithm in one sweep.
const MAX_STEP: f64 = 3.0;
/// Sweeps after which large steps are damped.
const LATE: u32 = 40;

/// Molalities by place among the active species.
pub(super) struct Molalities {
    pub(super) m: [f64; COUNT],
    /// Ionic strength that they make up, spectators included.
    pub(super) strength: f64,
    /// Their sum, spectators included.
    pub(super) moles: f64,
}

/// What the search stands on: nothing of it changes from sweep to sweep.
pub(super) struct Search<'a, const N: usize> {
    pub(super) active: &'a Active,
    /// ln K by place among the active species.
    pub(super) ln_k: &'a [f64; COUNT],
    pub(super) known: Known,
    pub(super) spectators: Spectators,
}

impl<const N: usize> Search<'_, N> {
    /// Every molality at given activities of the core. A satellite is shared out among its forms, so that its total is
    /// met exactly.
    #[inline]
    pub(super) fn molalities(
        &self,
        x: &[f64; CORE],
        ln_water: f64,
        gamma: &ClassGammas,
        out: &mut Molalities,
    ) {
        let mut ln_form = [0.0; FORMS];
        for &f in self.active.forms() {
            let form = form(f);
            let mut ln = form.water * ln_water;
            for (n, x) in form.n[..N].iter().zip(x) {
                ln += n * x;
            }
            ln_form[f as usize % FORMS] = ln;
        }
        let parts = self.active.parts();
        for ((m, ln_k), part) in out.m.iter_mut().zip(self.ln_k).zip(parts) {
            *m = ln_k - gamma.ln[part.class()] + ln_form[part.form()];
        }
        exponential::exp_in_place(&mut out.m[..parts.len()]);

        let (mut strength, mut moles) = (self.spectators.strength, self.spectators.moles);
        for (m, part) in out.m[..self.active.core_end].iter().zip(parts) {
            strength += part.half_z2 * m;
            moles += m;
        }
        for g in self.active.groups() {
            let (mut sum, mut half_z2) = (0.0, 0.0);
            for (m, part) in out.m[g.start..g.end].iter().zip(&parts[g.start..g.end]) {
                sum += m;
                half_z2 += part.half_z2 * m;
            }
            let scale = g.total / sum;
            for m in &mut out.m[g.start..g.end] {
                *m *= scale;
            }
            strength += half_z2 * scale;
            moles += g.total;
        }
        (out.strength, out.moles) = (strength, moles);
    }

    /// A damped Newton step in the core's ln activities and the ionic strength together.
    ///
    /// With m(x, I): the balances change by J·dx − u·dI, the strength by w·dx − v·dI, where u and v carry the slopes of
    /// the activity coefficients. Two right-hand sides with the same J eliminate dx.
    #[inline]
    pub(super) fn newton_step(
        &self,
        sweeps: u32,
        now: &Molalities,
        slope: &[f64],
        x: &mut [f64; CORE],
        strength: &mut f64,
    ) -> Moved {
        let mut sums = Sums::<N>::of(self.active, &now.m, slope);
        self.settle_what_is_given(&mut sums);
        let Sums { mut jacobian, residual, by_strength, strength_by_x, strength_by_strength, core } = sums;
        let mut right = [residual, by_strength];
        linear::solve(&mut jacobian, &mut right);
        let [residual, by_strength] = right;
        let along = |v: &[f64; N]| -> f64 { v.iter().zip(&strength_by_x).map(|(v, w)| v * w).sum() };
        // At very small strength the coefficients' slopes are steep and would turn the step round: then no faster than
        // twice the plain substitution.
        let denominator = (1.0 + strength_by_strength - along(&by_strength)).max(0.5);
        let raw = (now.strength - *strength - along(&residual)) / denominator;
        let strength_step =
            if raw.is_finite() { raw.clamp(-0.7 * *strength, 3.0 * *strength + 1e-6) } else { 0.0 };

        let mut steps = [0.0; N];
        let mut largest = 0.0_f64;
        for (step, (u, r)) in steps.iter_mut().zip(by_strength.iter().zip(&residual)) {
            let d = u * strength_step - r;
            *step = if d.is_finite() { d.clamp(-MAX_STEP, MAX_STEP) } else { 0.5 };
            largest = largest.max(step.abs());
        }
        // Far from the answer full steps can cycle between the bounds: slow down late.
        let damping = if sweeps < LATE || largest < 0.1 { 1.0 } else { 0.4 };
        let mut moved =
            Moved { largest, strength: strength_step.abs(), moles: -damping * strength_step * core.slope };
        for (i, step) in steps.iter().enumerate() {
            x[i] += damping * step;
            moved.moles += damping * step * core.n[i];
        }
        *strength = (*strength + damping * strength_step).clamp(0.0, 20.0);
        moved
    }

    /// Puts "no change" in place of the equation of every component that is absent or given.
    fn settle_what_is_given(&self, sums: &mut Sums<N>) {
        if let Known::Ph(_) = self.known {
            // The balance of hydrogen (alkalinity) stands in for that of the carbon that is sought.
            sums.jacobian[CARBON] = sums.jacobian[HYDROGEN];
            sums.residual[CARBON] = sums.residual[HYDROGEN];
            sums.by_strength[CARBON] = sums.by_strength[HYDROGEN];
        }
        for i in 0..N {
            let sought = if i == HYDROGEN { matches!(self.known, Known::Both) } else { self.active.core[i] };
            if !sought {
                for k in 0..N {
                    sums.jacobian[i][k] = 0.0;
                    sums.jacobian[k][i] = 0.0;
                }
                sums.jacobian[i][i] = 1.0;
                sums.residual[i] = 0.0;
                sums.by_strength[i] = 0.0;
            }
        }
    }
}

/// What a step did.
pub(super) struct Moved {
    /// The largest change of a ln activity.
    pub(super) largest: f64,
    /// The change of ionic strength.
    pub(super) strength: f64,
    /// How the sum of the molalities will change: a satellite's stays, so only the core's species count.
    pub(super) moles: f64,
}

/// What a Newton step sums over the species.
pub(super) struct Sums<const N: usize> {
    /// How the balances move with the core's ln activities.
    pub(super) jacobian: [[f64; N]; N],
    /// Balances: Σ ν·m − total.
    pub(super) residual: [f64; N],
    /// Their slope with ionic strength, reversed.
    by_strength: [f64; N],
    /// Slope of ionic strength with each ln activity.
    strength_by_x: [f64; N],
    /// Slope of ionic strength with itself through the activity coefficients, reversed.
    strength_by_strength: f64,
    /// The species without a satellite.
    core: Lean<N>,
}

/// How a group of species leans on the core: Σ over them of m times the coefficient, slope and ½z².
pub(super) struct Lean<const N: usize> {
    pub(super) n: [f64; N],
    slope: f64,
    half_z2: f64,
}

impl<const N: usize> Sums<N> {
    #[inline]
    pub(super) fn of(active: &Active, m: &[f64; COUNT], slope: &[f64]) -> Self {
        let mut sums = Sums {
            jacobian: [[0.0; N]; N],
            residual: [0.0; N],
            by_strength: [0.0; N],
            strength_by_x: [0.0; N],
            strength_by_strength: 0.0,
            core: Lean { n: [0.0; N], slope: 0.0, half_z2: 0.0 },
        };
        // Species of the same form differ only in amount: add those up first.
        let mut by_form = [[0.0; 4]; FORMS];
        let core = Group { end: active.core_end, ..Group::default() };
        sums.core = sums.add_up(active, m, slope, &core, &mut by_form);
        for group in active.groups() {
            let lean = sums.add_up(active, m, slope, group, &mut by_form);
            // The satellite's total holds: as its species move with the core, its own activity moves against it.
            let inverse = 1.0 / group.total;
            for i in 0..N {
                let share = lean.n[i] * inverse;
                for k in 0..=i {
                    sums.jacobian[i][k] -= share * lean.n[k];
                }
                sums.by_strength[i] -= share * lean.slope;
                sums.strength_by_x[i] -= share * lean.half_z2;
            }
            sums.strength_by_strength -= lean.half_z2 * inverse * lean.slope;
        }
        for &f in active.forms() {
            let n = &form(f).n;
            let [amount, with_slope, with_half_z2, _] = by_form[f as usize % FORMS];
            for i in 0..N {
                let part = n[i] * amount;
                sums.residual[i] += part;
                sums.by_strength[i] += n[i] * with_slope;
                sums.strength_by_x[i] += n[i] * with_half_z2;
                for (j, n) in sums.jacobian[i][..=i].iter_mut().zip(n) {
                    *j += part * n;
                }
            }
        }
        for i in 0..N {
            sums.residual[i] -= active.total[i];
            for k in i + 1..N {
                sums.jacobian[i][k] = sums.jacobian[k][i];
            }
        }
        sums
    }

    #[inline(always)]
    fn add_up(
        &mut self,
        active: &Active,
        m: &[f64; COUNT],
        slope: &[f64],
        group: &Group,
        by_form: &mut [[f64; 4]; FORMS],
    ) -> Lean<N> {
        let mut lean = Lean { n: [0.0; N], slope: 0.0, half_z2: 0.0 };
        for (m, part) in m[group.start..group.end].iter().zip(&active.parts()[group.start..group.end]) {
            let with_slope = m * slope[part.class()];
            let with_half_z2 = m * part.half_z2;
            let sum = &mut by_form[part.form()];
            sum[0] += m;
            sum[1] += with_slope;
            sum[2] += with_half_z2;
            self.strength_by_strength += with_slope * part.half_z2;
            lean.slope += with_slope;
            lean.half_z2 += with_half_z2;
            for (lean, n) in lean.n.iter_mut().zip(&form(part.form).n) {
                *lean += n * m;
            }
        }
        lean
    }
}
