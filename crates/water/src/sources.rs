//! Where constants come from, and how well we know it.

/// How a source was consulted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Read in the source itself.
    Read,
    /// Read in another work that quotes it.
    QuotedBy(&'static str),
    /// From memory: not re-read. No tight test stands on it.
    FromMemory,
}

/// A citation and its standing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Author, year, journal or database with edition.
    pub cite: &'static str,
    /// How it was consulted.
    pub standing: Standing,
}

macro_rules! sources {
    ($($(#[$doc:meta])* $name:ident = $standing:expr, $cite:literal;)*) => {
        $($(#[$doc])* pub static $name: Source = Source { cite: $cite, standing: $standing };)*
        /// Every source, for the page that lists them.
        pub static ALL: &[&Source] = &[$(&$name),*];
    };
}

const USGS_DATABASE: &str = "phreeqc.dat (U.S. Geological Survey), as shipped with phreeqpython 1.6.2";

sources! {
    /// The reference library's own database.
    PHREEQC_DAT = Standing::Read, "Parkhurst & Appelo, phreeqc.dat (U.S. Geological Survey), as shipped with phreeqpython 1.6.2";
    /// Carbonate, calcite, aragonite and their ion pairs.
    PLUMMER_1982 = Standing::QuotedBy(USGS_DATABASE), "Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011";
    /// Sulfates, ion pairs, ammonia, boric acid.
    NORDSTROM_1990 = Standing::QuotedBy(USGS_DATABASE), "Nordstrom et al. 1990, in Chemical Modeling of Aqueous Systems II, ACS Symp. Ser. 416:398";
    /// Hypochlorous acid's dissociation.
    MORRIS_1966 = Standing::FromMemory, "Morris 1966, J. Phys. Chem. 70:3798 (0-35 °C; above that extrapolated)";
    /// Hydrolysis of dissolved chlorine.
    WANG_1994 = Standing::FromMemory, "Wang & Margerum 1994, Inorg. Chem. 33:1050; Connick & Chia 1959, J. Am. Chem. Soc. 81:1280";
    /// First dissociation of cyanuric acid.
    WAHMAN_2018 = Standing::QuotedBy("its abstract"), "Wahman 2018, Environ. Sci. Water Res. Technol. 4:1522 (5-35 °C)";
    /// Hydrolysis of the two chlorinated cyanurates that matter.
    WAHMAN_2019 = Standing::QuotedBy("its abstract"), "Wahman & Alexander 2019, Environ. Eng. Sci. 36:283 (5-35 °C; above that extrapolated)";
    /// The full set of chlorinated cyanurates, 25 °C.
    OBRIEN_1974 = Standing::FromMemory, "O'Brien, Morris & Butler 1974, in Rubin (ed.), Chemistry of Water Supply, Treatment and Distribution, ch. 14 (25 °C; held constant with temperature: an assumption)";
    /// Second and third dissociation of cyanuric acid.
    BRADY_1963 = Standing::FromMemory, "Brady, Sancier & Sirine 1963, J. Org. Chem. 28:3101 (25 °C; held constant with temperature: an assumption)";
    /// Hydrolysis of dissolved bromine.
    BECKWITH_1996 = Standing::QuotedBy("its abstract"), "Beckwith, Wang & Margerum 1996, Inorg. Chem. 35:995";
    /// Hypobromous acid's dissociation: 8.65 at 25 °C; its enthalpy from memory.
    HYPOBROMOUS_HANDBOOK = Standing::FromMemory, "handbook value pKa 8.65 at 25 °C, enthalpy 17.5 kJ/mol";
    /// Exchange of chlorine for bromine, from standard potentials.
    HALOGEN_POTENTIALS = Standing::FromMemory, "standard potentials HOCl/Cl- 1.482 V and HOBr/Br- 1.331 V (log K = 2·0.151/0.05916); complete for every purpose here";
    /// Dielectric constant of water.
    BRADLEY_PITZER_1979 = Standing::FromMemory, "Bradley & Pitzer 1979, J. Phys. Chem. 83:1599";
    /// Density of water along the saturation line, eq. 2.6.
    WAGNER_PRUSS_2002 = Standing::FromMemory, "Wagner & Pruss 2002, J. Phys. Chem. Ref. Data 31:387, eq. 2.6";
    /// Ion-size and linear parameters of the activity model.
    TRUESDELL_JONES_1974 = Standing::QuotedBy(USGS_DATABASE), "Truesdell & Jones 1974, J. Res. U.S. Geol. Surv. 2:233";
    /// Activity coefficients of ions without fitted parameters.
    DAVIES_1962 = Standing::QuotedBy(USGS_DATABASE), "Davies 1962, Ion Association, with 0.3 for the linear term";
    /// Limiting law of conductivity.
    ONSAGER_1927 = Standing::FromMemory, "Onsager 1927, Phys. Z. 28:277, with Robinson & Stokes' ion-size denominator (Electrolyte Solutions, 2nd ed., 1959)";
    /// Limiting ionic conductivities at 25 °C.
    ROBINSON_STOKES_1959 = Standing::FromMemory, "Robinson & Stokes, Electrolyte Solutions, 2nd ed., 1959, appendix 6.1";
}
