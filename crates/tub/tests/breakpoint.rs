//! The breakpoint: against a second integration, and against the published shape of the curve.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

mod common;

use common::{eq, f, mg_cl2, reference};
use tub::breakpoint::{Beaker, Outcome};

fn beaker(t_c: f64, ph: f64, n_mg_l: f64, cl2_per_n_mass: f64) -> Beaker {
    Beaker {
        temperature_c: t_c,
        ph,
        alkalinity_eq_kg: eq(80.0),
        free_chlorine: n_mg_l * cl2_per_n_mass / 70_906.0,
        ammonia: n_mg_l / 14_007.0,
    }
}

/// The same constants, written down and integrated a second time (SciPy, Radau, 1e-11): `reference/breakpoint_cases.py`.
#[test]
fn the_mechanism_agrees_with_a_second_integration() {
    let doc = reference("breakpoint_cases.json");
    let cases = doc["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 110);
    let mut worst = (0.0, String::new());
    for c in cases {
        let beaker = Beaker {
            temperature_c: f(c, "t_c"),
            ph: f(c, "pH"),
            alkalinity_eq_kg: f(c, "alkalinity_eq_per_kg"),
            free_chlorine: f(&c["start"], "free_chlorine"),
            ammonia: f(&c["start"], "ammonia"),
        };
        let ours = beaker.after(f(c, "minutes")).unwrap();
        let end = &c["end"];
        for (name, ours) in [
            ("ammonia", ours.ammonia),
            ("free_chlorine", ours.free_chlorine),
            ("monochloramine", ours.monochloramine),
            ("dichloramine", ours.dichloramine),
            ("trichloramine", ours.trichloramine),
        ] {
            let theirs = f(end, name);
            // Relative, of what is more than a ten-thousandth of the chlorine.
            let off = (ours - theirs).abs() / theirs.abs().max(1e-4 * beaker.free_chlorine);
            if off > worst.0 {
                worst = (off, format!("{name} {ours:e} {theirs:e} in {c}"));
            }
        }
    }
    assert!(worst.0 < 1e-6, "{worst:?}");
}

/// Table of check runs made independently from the same constants (carbonate at fixed pK 6.35 and 10.33, another formula for
/// the ion product of water): mg/L as Cl2. 0.004 mg/L covers those constants and the rounding.
#[test]
fn known_runs_come_out() {
    for (t_c, ph, ratio, minutes, fc, mono, di, tri) in [
        (25.0, 7.5, 4.0, 60.0, 0.000, 3.947, 0.044, 0.0),
        (25.0, 7.5, 6.0, 60.0, 0.002, 3.760, 0.954, 0.0),
        (25.0, 7.5, 7.6, 60.0, 0.003, 1.603, 0.540, 0.0),
        (25.0, 7.5, 9.0, 60.0, 0.273, 0.031, 0.012, 0.023),
        (25.0, 7.5, 10.0, 60.0, 1.205, 0.0, 0.0, 0.103),
        (25.0, 7.5, 12.0, 60.0, 3.111, 0.0, 0.0, 0.266),
        (38.0, 7.5, 7.6, 60.0, 0.003, 0.953, 0.160, 0.0),
        (38.0, 7.5, 10.0, 60.0, 1.753, 0.0, 0.0, 0.120),
        (25.0, 7.0, 8.0, 10.0, 0.092, 1.531, 2.039, 0.013),
        (25.0, 8.0, 8.0, 10.0, 0.515, 1.772, 0.206, 0.017),
    ] {
        let o = beaker(t_c, ph, 1.0, ratio).after(minutes).unwrap();
        for (name, ours, theirs) in [
            ("free", mg_cl2(o.free_chlorine), fc),
            ("mono", mg_cl2(o.monochloramine), mono),
            ("di", 2.0 * mg_cl2(o.dichloramine), di),
            ("tri", 3.0 * mg_cl2(o.trichloramine), tri),
        ] {
            let room: f64 = 0.004 + 0.01 * theirs;
            assert!((ours - theirs).abs() < room, "{t_c} °C pH {ph} ratio {ratio} {name}: {ours} {theirs}");
        }
    }
}

/// The curve as every handbook and the authors of the mechanism draw it (White's Handbook of Chlorination; Jafvert & Valentine
/// 1992): the residual rises to a hump near one mole of Cl2 per mole of N (5 by mass), falls to the breakpoint between 1.5
/// (stoichiometry to N2) and about 1.7, and rises again one for one as free chlorine.
#[test]
fn the_curve_has_its_hump_near_one_and_its_breakpoint_near_one_and_a_half() {
    let curve: Vec<(f64, Outcome)> = (2..=50)
        .map(|i| {
            let molar = 0.05 * f64::from(i);
            let b = beaker(25.0, 7.5, 1.0, molar * 70_906.0 / 14_007.0);
            (molar, b.after(60.0).unwrap())
        })
        .collect();
    let total = |o: &Outcome| o.free_chlorine + o.combined_chlorine();
    let hump = curve
        .iter()
        .take_while(|(m, _)| *m < 1.4)
        .max_by(|a, b| a.1.combined_chlorine().total_cmp(&b.1.combined_chlorine()))
        .unwrap();
    let low = curve
        .iter()
        .skip_while(|(m, _)| *m < 1.2)
        .min_by(|a, b| total(&a.1).total_cmp(&total(&b.1)))
        .unwrap();
    assert!((0.9..=1.15).contains(&hump.0), "hump at {}", hump.0);
    assert!((1.5..=1.75).contains(&low.0), "breakpoint at {}", low.0);
    assert!(total(&low.1) < 0.1 * total(&hump.1), "{} {}", total(&low.1), total(&hump.1));
    // Before the hump nearly all chlorine is monochloramine; beyond the breakpoint what is added stays free.
    let (_, early) = &curve[8];
    assert!(early.monochloramine > 0.95 * total(early));
    let [.., (m1, a), (m2, b)] = &curve[..] else { panic!("a curve") };
    let slope = (b.free_chlorine - a.free_chlorine) / ((m2 - m1) / 14_007.0);
    assert!((0.9..=1.0).contains(&slope), "slope {slope}");
    // Ammonia is gone at the breakpoint.
    assert!(low.1.ammonia < 0.01 / 14_007.0);
}

/// What nitrogen ends as: N2 nearly all, little nitrate, more of it with more chlorine. Both follow from the balances of nitrogen,
/// chlorine and electrons, so a reaction that broke one of them would show as less than nothing.
#[test]
fn nitrogen_ends_as_gas_and_a_little_nitrate() {
    let share: Vec<f64> = [3.0, 5.0, 7.6, 9.0, 12.0, 20.0]
        .into_iter()
        .map(|ratio| {
            let b = beaker(38.0, 7.4, 1.0, ratio);
            let o = b.after(120.0).unwrap();
            let least = -1e-9 * b.ammonia;
            assert!(o.nitrate >= least && o.nitrogen_gas >= least && o.chloride >= least, "{ratio}: {o:?}");
            o.nitrate / b.ammonia
        })
        .collect();
    assert!(share[2] < 0.05 && share[5] < 0.25, "{share:?}");
    assert!(share.windows(2).all(|w| w[1] >= w[0] - 1e-9), "{share:?}");
}

/// Work, not time: a change that makes the integration dearer shows here.
#[test]
fn an_hour_at_the_breakpoint_takes_about_a_thousand_steps() {
    let o = beaker(25.0, 7.5, 1.0, 7.6).after(60.0).unwrap();
    assert!(o.work.steps < 1200, "{:?}", o.work);
}

#[test]
fn a_wrong_beaker_is_refused_by_the_name_of_its_field() {
    let b = beaker(25.0, 7.5, 1.0, 7.6);
    for (wrong, name) in [
        (Beaker { temperature_c: 80.0, ..b }, "temperature_c"),
        (Beaker { ph: f64::NAN, ..b }, "ph"),
        (Beaker { alkalinity_eq_kg: -1.0, ..b }, "alkalinity_eq_kg"),
        (Beaker { free_chlorine: 1.0, ..b }, "free_chlorine"),
        (Beaker { ammonia: -1e-6, ..b }, "ammonia"),
    ] {
        let e = wrong.after(10.0).unwrap_err().to_string();
        assert!(e.starts_with(name), "{e}");
    }
    assert!(b.after(f64::INFINITY).unwrap_err().to_string().starts_with("minutes"));
}
