//! Bands: in order, sourced, and the user's own within hard limits.

use care::amount::Units;
use care::band::{
    BandError, Place, Regime, also_said, bathing_limits, default_band, salt_band, with_override,
};
use care::case::BandOverride;
use care::finding::Weight;
use care::quantity::{ALL, Quantity as Q};
use proptest::prelude::*;

const REGIMES: [Regime; 3] = [Regime::SaltCell, Regime::HandDosedChlorine, Regime::Bromine];
const PLACES: [Place; 3] = [Place::Home, Place::Rental, Place::Public];

fn every() -> impl Iterator<Item = (Regime, Place)> {
    REGIMES.into_iter().flat_map(|r| PLACES.into_iter().map(move |p| (r, p)))
}

fn edges(q: Q, r: Regime, p: Place) -> (f64, f64, f64, f64) {
    let b = default_band(q, r, p).expect("a band");
    (b.low, b.aim_low, b.aim_high, b.high)
}

#[test]
fn every_band_is_in_order_within_its_hard_limits_and_names_its_source() {
    for (r, p) in every() {
        for q in ALL {
            let Some(b) = default_band(q, r, p) else { continue };
            assert!(
                b.low <= b.aim_low && b.aim_low <= b.aim_high && b.aim_high <= b.high,
                "{q:?} {r:?} {p:?}"
            );
            assert!(
                b.hard_low.is_none_or(|h| h <= b.low) && b.hard_high.is_none_or(|h| h >= b.high),
                "{q:?} {p:?}"
            );
            assert!(!b.source.is_empty() && !b.by_user);
            let (low, high) = q.possible();
            assert!(low <= b.low && b.high <= high, "{q:?}");
        }
        for q in ALL {
            for s in also_said(q, r, p) {
                assert!(s.low.is_some() || s.high.is_some());
                assert!(s.low.zip(s.high).is_none_or(|(l, h)| l <= h), "{s:?}");
                assert!(!s.who.is_empty() && !s.source.is_empty());
            }
        }
    }
}

#[test]
fn the_default_of_free_chlorine_is_the_authorities_and_common_practice_stands_beside_it() {
    // CDC hot tubs and HSG282: at least 3; the trade's home salt cell: 1-3 (common practice).
    assert_eq!(edges(Q::FreeChlorine, Regime::SaltCell, Place::Home), (3.0, 3.0, 5.0, 8.0));
    assert_eq!(edges(Q::FreeChlorine, Regime::HandDosedChlorine, Place::Rental), (3.0, 3.0, 5.0, 5.0));
    assert_eq!(edges(Q::FreeChlorine, Regime::HandDosedChlorine, Place::Public).3, 10.0);
    let said = also_said(Q::FreeChlorine, Regime::SaltCell, Place::Home);
    assert!(
        said.iter()
            .any(|s| s.low == Some(1.0) && s.high == Some(3.0) && s.source.contains("common practice"))
    );
    assert!(said.iter().any(|s| s.who.contains("CDC") && s.low == Some(3.0)));
    assert!(said.iter().any(|s| s.who.contains("HSG282") && s.high == Some(5.0)));
}

#[test]
fn published_limits_are_met() {
    // ANSI/APSP/ICC-11 2019 page 34: alkalinity 60-180, calcium 100 / 150-250 / 800; combined at most 0.4.
    assert_eq!(
        edges(Q::TotalAlkalinity, Regime::HandDosedChlorine, Place::Public),
        (60.0, 80.0, 100.0, 180.0)
    );
    assert_eq!(edges(Q::CalciumHardness, Regime::SaltCell, Place::Public), (100.0, 150.0, 250.0, 800.0));
    assert_eq!(edges(Q::CombinedChlorine, Regime::SaltCell, Place::Public).3, 0.4);
    // New South Wales, schedule 1: no cyanuric acid in a public spa.
    assert_eq!(edges(Q::CyanuricAcid, Regime::HandDosedChlorine, Place::Public), (0.0, 0.0, 0.0, 0.0));
    // HSG282: pH 7.0-7.6, bromine 4-6.
    let ph = default_band(Q::Ph, Regime::SaltCell, Place::Rental).unwrap();
    assert_eq!((ph.low, ph.high), (7.0, 7.6));
    let bromine = default_band(Q::TotalBromine, Regime::Bromine, Place::Rental).unwrap();
    assert_eq!((bromine.low, bromine.high), (4.0, 6.0));
    // CDC, CPSC: nobody above 40 °C.
    for (r, p) in every() {
        assert_eq!(default_band(Q::Temperature, r, p).unwrap().hard_high, Some(40.0));
        assert_eq!(bathing_limits(r, p).temperature_high_c, 40.0);
    }
    assert!(default_band(Q::FreeChlorine, Regime::Bromine, Place::Home).is_none());
    assert!(default_band(Q::Salt, Regime::HandDosedChlorine, Place::Home).is_none());
}

#[test]
fn a_salt_cell_runs_as_the_trade_says_or_as_its_own_window_says() {
    // Common practice: 2 200-2 500 mg/L, some water replaced above 3 000.
    assert_eq!(edges(Q::Salt, Regime::SaltCell, Place::Home), (2000.0, 2200.0, 2500.0, 3000.0));
    let b = salt_band((2000.0, 2800.0));
    assert_eq!((b.low, b.aim_low, b.aim_high, b.high), (2000.0, 2200.0, 2500.0, 2800.0));
}

#[test]
fn bathing_limits_agree_with_hard_limits() {
    for (r, p) in every() {
        let limits = bathing_limits(r, p);
        let ph = default_band(Q::Ph, r, p).unwrap();
        assert_eq!((ph.hard_low, ph.hard_high), (Some(limits.ph.0), Some(limits.ph.1)));
        let (q, pair) = if r == Regime::Bromine {
            (Q::TotalBromine, limits.total_bromine)
        } else {
            (Q::FreeChlorine, limits.free_chlorine)
        };
        let b = default_band(q, r, p).unwrap();
        assert_eq!((b.hard_low, b.hard_high), (Some(pair.0), Some(pair.1)), "{r:?} {p:?}");
        assert_eq!(
            default_band(Q::CombinedChlorine, r, p).and_then(|b| b.hard_high),
            limits.combined_chlorine_high
        );
    }
}

#[test]
fn the_users_band_overrides_but_not_silently_beyond_a_hard_limit() {
    let home = || default_band(Q::FreeChlorine, Regime::SaltCell, Place::Home).unwrap();
    let own = |low, high| BandOverride { low, high, ..BandOverride::default() };
    // The trade's 1-3 lies within the hard limits: taken, with an aim inside it.
    let (b, findings) =
        with_override(Q::FreeChlorine, home(), &own(Some(1.0), Some(3.0)), Units::Metric).unwrap();
    assert_eq!((b.low, b.aim_low, b.aim_high, b.high), (1.0, 1.5, 2.5, 3.0));
    assert!(b.by_user && findings.is_empty());
    // Only one edge: the aim stays.
    let (b, _) = with_override(Q::FreeChlorine, home(), &own(Some(2.0), None), Units::Metric).unwrap();
    assert_eq!((b.low, b.aim_low, b.aim_high, b.high), (2.0, 3.0, 5.0, 8.0));
    let e = with_override(Q::FreeChlorine, home(), &own(Some(0.5), None), Units::Metric).unwrap_err();
    assert!(matches!(e, BandError::BeyondHardLimit { field: "low", value: 0.5, limit: 1.0, .. }), "{e}");
    let knowing = BandOverride { beyond_hard_limit: true, ..own(Some(0.5), Some(20.0)) };
    let (b, findings) = with_override(Q::FreeChlorine, home(), &knowing, Units::Metric).unwrap();
    assert_eq!((b.low, b.high), (0.5, 20.0));
    assert_eq!(findings.len(), 2);
    assert!(findings.iter().all(|f| f.weight == Weight::Safety));
    let e = with_override(Q::FreeChlorine, home(), &own(Some(6.0), Some(4.0)), Units::Metric).unwrap_err();
    assert_eq!(
        e.to_string(),
        "band.free_chlorine.high is 4, below low = 6: low ≤ aim_low ≤ aim_high ≤ high is accepted"
    );
    let e = with_override(
        Q::Ph,
        default_band(Q::Ph, Regime::SaltCell, Place::Home).unwrap(),
        &own(Some(72.0), None),
        Units::Metric,
    );
    assert!(e.unwrap_err().to_string().contains("band.ph.low is 72; 4 to 11"));
    let (same, _) = with_override(Q::FreeChlorine, home(), &BandOverride::default(), Units::Metric).unwrap();
    assert_eq!(same, home());
}

proptest! {
    #[test]
    fn an_override_gives_an_ordered_band_or_an_error(
        q in prop::sample::select(ALL.to_vec()),
        figures in prop::array::uniform4(prop::option::of(prop_oneof![-1.0..15.0, 0.0..4000.0, Just(f64::NAN)])),
        beyond_hard_limit in any::<bool>(),
        r in prop::sample::select(REGIMES.to_vec()),
        p in prop::sample::select(PLACES.to_vec()),
    ) {
        let Some(band) = default_band(q, r, p) else { return Ok(()) };
        let [low, aim_low, aim_high, high] = figures;
        let o = BandOverride { low, aim_low, aim_high, high, beyond_hard_limit };
        if let Ok((b, findings)) = with_override(q, band.clone(), &o, Units::Metric) {
            prop_assert!(b.low <= b.aim_low && b.aim_low <= b.aim_high && b.aim_high <= b.high, "{:?}", b);
            let beyond = b.hard_low.is_some_and(|h| b.low < h) || b.hard_high.is_some_and(|h| b.high > h);
            prop_assert_eq!(beyond, !findings.is_empty());
            prop_assert!(!beyond || beyond_hard_limit);
        }
    }
}
