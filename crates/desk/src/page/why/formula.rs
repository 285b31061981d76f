//! Which formula and which constants stand behind a quantity. The formula itself is in words, in the catalogues.

use crate::ctx::Ctx;
use crate::words::t;
use care::quantity::Quantity as Q;
use water::constants::{self as k, LogK};
use water::sources::Standing;

/// Which text says how a quantity comes about.
pub(super) fn key(q: Q) -> &'static str {
    match q {
        Q::Ph => "ph",
        Q::SaturationIndex => "saturation-index",
        Q::TotalAlkalinity => "total-alkalinity",
        Q::CombinedChlorine => "combined-chlorine",
        Q::Salt => "salt",
        Q::FreeChlorine | Q::TotalBromine => "disinfectant",
        Q::CalciumHardness => "calcium-hardness",
        _ => "reading",
    }
}

/// The quantities that it is computed from.
pub(super) fn from(q: Q) -> &'static [Q] {
    match q {
        Q::Ph => &[Q::TotalAlkalinity, Q::Temperature],
        Q::SaturationIndex => {
            &[Q::Ph, Q::TotalAlkalinity, Q::CalciumHardness, Q::CyanuricAcid, Q::Temperature, Q::Salt]
        }
        Q::TotalAlkalinity => &[Q::Ph, Q::CyanuricAcid, Q::Borate],
        Q::CombinedChlorine => &[Q::FreeChlorine, Q::TotalChlorine],
        Q::Salt => &[Q::Conductivity],
        Q::CalciumHardness => &[Q::TotalHardness],
        _ => &[],
    }
}

/// The equilibrium constants that matter most to it.
pub(super) fn constants(q: Q) -> Vec<&'static LogK> {
    let carbonate: [&'static LogK; 3] = [&k::WATER, &k::BICARBONATE, &k::CARBON_DIOXIDE];
    let weak: [&'static LogK; 3] = [&k::BORATE, &k::CYANURIC_1, &k::HYPOCHLOROUS];
    let calcium: [&'static LogK; 4] =
        [&k::CALCITE, &k::CALCIUM_CARBONATE_PAIR, &k::CALCIUM_BICARBONATE_PAIR, &k::CALCIUM_SULFATE_PAIR];
    match q {
        Q::Ph | Q::TotalAlkalinity => [&carbonate[..], &weak[..]].concat(),
        Q::SaturationIndex => [&calcium[..], &carbonate[..], &weak[..1]].concat(),
        Q::FreeChlorine | Q::CyanuricAcid => vec![
            &k::HYPOCHLOROUS,
            &k::CYANURIC_1,
            &k::MONOCHLOROCYANURATE_HYDROLYSIS,
            &k::DICHLOROCYANURATE_HYDROLYSIS,
            &k::MONOCHLOROCYANURIC_1,
        ],
        Q::TotalBromine => vec![&k::HYPOBROMOUS, &k::BROMIDE_OXIDATION, &k::BROMINE_HYDROLYSIS],
        Q::CalciumHardness => calcium.to_vec(),
        Q::Borate => vec![&k::BORATE],
        _ => Vec::new(),
    }
}

/// How well a source is known.
pub(super) fn standing(ctx: &Ctx, standing: Standing) -> String {
    match standing {
        Standing::Read => t!(ctx, "source-read"),
        Standing::QuotedBy(by) => t!(ctx, "source-quoted", by = by.to_string()),
        Standing::FromMemory => t!(ctx, "source-memory"),
    }
}
