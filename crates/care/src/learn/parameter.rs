//! What is not known of a tub, with its prior.
//!
//! Every parameter is a standard normal number (its *score*) behind a map to the thing itself, so that the posterior's
//! geometry does not depend on units and a score of 2 is two prior standard deviations, whatever it is.
//! The priors are the trade's and the literature's ranges as this project knows them; each says where it is from.

use super::history::{History, Start};
use crate::amount::{G_PER_OZ, LITRES_PER_GALLON, Units};
use crate::text::{Text, say};
use water::units::{hardness_mg_l_caco3_from_mol_kg, mg_l_from_mol_kg, molar_mass};

/// What a parameter is.
#[derive(Debug, Clone, PartialEq)]
pub enum Name {
    /// True volume, L.
    Volume,
    /// Chlorine that the water itself uses, share of what is there, per day.
    Demand,
    /// Chlorine that a person-hour of bathing uses in the end, g as Cl2.
    Bather,
    /// How fast what bathers brought meets that chlorine, share an hour.
    BatherPace,
    /// Carbon dioxide that leaves with the cover closed, share of what is there in excess, per day.
    CarbonLoss,
    /// The same through an hour's bathing of one person, jets on and cover off, share.
    BathingLoss,
    /// Carbon dioxide in the air under the cover, ppm.
    Air,
    /// What the cell makes at full output, g of chlorine as Cl2 per day.
    Cell,
    /// What the cell loses of that in 100 days, share.
    CellDecline,
    /// Water that evaporates and is made up, L/day.
    Evaporation,
    /// Water that leaves with its salt and is made up, L/day: a leak, splash that nobody wrote down.
    Leak,
    /// Base that goes in without an entry, mg/L of alkalinity as CaCO3 a day; only where the entries cannot do without.
    Base,
    /// Source water's alkalinity now, as a multiple of its analysis.
    SourceAlkalinity,
    /// Source water's calcium now, as a multiple of its analysis.
    SourceCalcium,
    /// pH at the start; for a fill, how far it is from the source water's.
    StartPh,
    /// Total alkalinity at the start, mg/L as CaCO3.
    StartAlkalinity,
    /// Free chlorine at the start, mg/L.
    StartChlorine,
    /// Cyanuric acid at the start, mg/L.
    StartCyanurate,
    /// Calcium hardness at the start, mg/L as CaCO3.
    StartCalcium,
    /// Salt at the start, mg/L.
    StartSalt,
    /// What a product's measure really holds, as a multiple of what is written down.
    Measure(usize),
    /// How far whoever reads errs against what the kits promise, as a multiple.
    Hand,
    /// How far one kit errs beyond that, as a multiple: its number among the kits.
    KitError(usize),
    /// What a kit reads too much: its number among the kits.
    Bias(usize),
    /// What a probe's offset moves in thirty days: its number among the kits.
    Drift(usize),
    /// A week's chlorine demand as a multiple of the tub's usual.
    WeekDemand(usize),
    /// A week's loss of carbon dioxide as a multiple of the tub's usual.
    WeekCarbon(usize),
    /// Something nobody wrote down: its number among the suspicions.
    Unrecorded(usize),
}

impl Name {
    /// Its id on the wire, with its unit; those that belong to a kit, a product or a week are named by whoever knows those.
    pub fn id(&self) -> &'static str {
        match self {
            Name::Volume => "volume_l",
            Name::Demand => "chlorine_demand_per_day",
            Name::Bather => "chlorine_g_per_person_hour",
            Name::BatherPace => "chlorine_use_per_hour_after_bathing",
            Name::CarbonLoss => "carbon_dioxide_loss_per_day",
            Name::BathingLoss => "carbon_dioxide_loss_per_person_hour",
            Name::Air => "carbon_dioxide_under_cover_ppm",
            Name::Cell => "cell_output_g_per_day",
            Name::CellDecline => "cell_decline_per_100_days",
            Name::Evaporation => "evaporation_l_per_day",
            Name::Leak => "leak_l_per_day",
            Name::Base => "base_without_entry_mg_l_caco3_per_day",
            Name::SourceAlkalinity => "source_alkalinity_factor",
            Name::SourceCalcium => "source_calcium_factor",
            Name::StartPh => "start_ph",
            Name::StartAlkalinity => "start_alkalinity_mg_l_caco3",
            Name::StartChlorine => "start_free_chlorine_mg_l",
            Name::StartCyanurate => "start_cyanuric_acid_mg_l",
            Name::StartCalcium => "start_calcium_hardness_mg_l_caco3",
            Name::StartSalt => "start_salt_mg_l",
            Name::Measure(_) => "measure_factor",
            Name::Hand => "reading_error_factor",
            Name::KitError(_) => "error_factor",
            Name::Bias(_) => "bias",
            Name::Drift(_) => "drift_per_30_days",
            Name::WeekDemand(_) => "week_demand_factor",
            Name::WeekCarbon(_) => "week_carbon_dioxide_factor",
            Name::Unrecorded(_) => "unrecorded",
        }
    }

    /// What it is, in words with the unit that its reader counts in.
    pub fn said_in(&self, units: Units) -> Text {
        match (units, self) {
            (Units::Us, Name::Volume) => say!("care-learnt-volume-us", "true volume, US gal"),
            (Units::Us, Name::Bather) => {
                say!("care-learnt-bather-us", "chlorine used by a bather's hour, oz")
            }
            (Units::Us, Name::Cell) => {
                say!("care-learnt-cell-us", "cell at full output, oz of chlorine a day")
            }
            (Units::Us, Name::Evaporation) => say!("care-learnt-evaporation-us", "evaporation, US gal a day"),
            (Units::Us, Name::Leak) => {
                say!("care-learnt-leak-us", "lost with its salt (leak, splash), US gal a day")
            }
            _ => self.said(),
        }
    }

    /// A figure of it in that unit.
    pub fn figure_in(&self, units: Units, figure: f64) -> f64 {
        match (units, self) {
            (Units::Us, Name::Volume | Name::Evaporation | Name::Leak) => figure / LITRES_PER_GALLON,
            (Units::Us, Name::Bather | Name::Cell) => figure / G_PER_OZ,
            _ => figure,
        }
    }

    /// Whether it is of the kits alone and leaves the water as it is.
    pub(super) fn is_of_readings(&self) -> bool {
        matches!(self, Name::Hand | Name::KitError(_) | Name::Bias(_) | Name::Drift(_))
    }

    /// What it is, in words with its unit.
    pub fn said(&self) -> Text {
        match self {
            Name::Volume => say!("care-learnt-volume", "true volume, L"),
            Name::Demand => say!("care-learnt-demand", "own chlorine demand, rate per day"),
            Name::Bather => say!("care-learnt-bather", "chlorine used by a bather's hour, g"),
            Name::BatherPace => say!("care-learnt-bather-pace", "pace of that use, rate per hour"),
            Name::CarbonLoss => say!("care-learnt-carbon-loss", "carbon dioxide lost, rate per day"),
            Name::BathingLoss => {
                say!("care-learnt-bathing-loss", "carbon dioxide lost to bathing, rate per bather's hour")
            }
            Name::Air => say!("care-learnt-air", "carbon dioxide under the cover, ppm"),
            Name::Cell => say!("care-learnt-cell", "cell at full output, g of chlorine a day"),
            Name::CellDecline => say!("care-learnt-cell-decline", "cell's decline in 100 days, share"),
            Name::Evaporation => say!("care-learnt-evaporation", "evaporation, L a day"),
            Name::Leak => say!("care-learnt-leak", "lost with its salt (leak, splash), L a day"),
            Name::Base => say!("care-learnt-base", "base without an entry, mg/L of alkalinity a day"),
            Name::SourceAlkalinity => {
                say!("care-learnt-source-alkalinity", "source alkalinity against its analysis")
            }
            Name::SourceCalcium => say!("care-learnt-source-calcium", "source calcium against its analysis"),
            Name::StartPh => say!("care-learnt-start-ph", "pH at the start"),
            Name::StartAlkalinity => {
                say!("care-learnt-start-alkalinity", "total alkalinity at the start, mg/L")
            }
            Name::StartChlorine => say!("care-learnt-start-chlorine", "free chlorine at the start, mg/L"),
            Name::StartCyanurate => say!("care-learnt-start-cyanurate", "cyanuric acid at the start, mg/L"),
            Name::StartCalcium => say!("care-learnt-start-calcium", "calcium hardness at the start, mg/L"),
            Name::StartSalt => say!("care-learnt-start-salt", "salt at the start, mg/L"),
            Name::Measure(_) => {
                say!("care-learnt-measure", "what the measure holds against what is written")
            }
            Name::Hand => {
                say!("care-learnt-hand", "errors of the hand that reads, against what kits promise")
            }
            Name::KitError(_) => say!("care-learnt-kit-error", "errors against those of the hand"),
            Name::Bias(_) => say!("care-learnt-bias", "reads too much"),
            Name::Drift(_) => say!("care-learnt-drift", "drifts in 30 days"),
            Name::WeekDemand(_) => {
                say!("care-learnt-week-demand", "the week's chlorine demand against the usual")
            }
            Name::WeekCarbon(_) => {
                say!("care-learnt-week-carbon", "the week's loss of carbon dioxide against the usual")
            }
            Name::Unrecorded(_) => say!("care-learnt-unrecorded", "without an entry"),
        }
    }
}

/// How a score becomes the thing.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Map {
    /// median · e^(sd · score)
    Log { median: f64, sd: f64 },
    /// mean + sd · score
    Plain { mean: f64, sd: f64 },
    /// scale · sinh(score): about nothing as a normal number is, and far out ten times as much for each 2.3 of score.
    Wide { scale: f64 },
}

/// A parameter and its prior.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// What it is.
    pub name: Name,
    map: Map,
}

impl Parameter {
    pub(super) fn log(name: Name, median: f64, sd: f64) -> Self {
        Parameter { name, map: Map::Log { median, sd } }
    }

    pub(super) fn plain(name: Name, mean: f64, sd: f64) -> Self {
        Parameter { name, map: Map::Plain { mean, sd } }
    }

    /// Of an amount that may be anything: of its usual size, or a fill's worth.
    pub(super) fn wide(name: Name, scale: f64) -> Self {
        Parameter { name, map: Map::Wide { scale } }
    }

    /// The thing at a score.
    pub fn at(&self, score: f64) -> f64 {
        // Beyond eight standard deviations nothing is said: the map only has to stay finite there.
        let score = score.clamp(-8.0, 8.0);
        match self.map {
            Map::Log { median, sd } => median * libm::exp(sd * score),
            Map::Plain { mean, sd } => mean + sd * score,
            Map::Wide { scale } => scale * libm::sinh(score),
        }
    }

    /// Standard deviation of its logarithm; 0 of what has none.
    pub(super) fn ln_sd(&self) -> f64 {
        match self.map {
            Map::Log { sd, .. } => sd,
            Map::Plain { .. } | Map::Wide { .. } => 0.0,
        }
    }
}

/// Hours of one stretch over which use is taken to be alike.
pub(super) const WEEK_H: f64 = 7.0 * 24.0;

/// How far readings by hand err against what their kits promise.
pub(super) fn errors(history: &History) -> Vec<Parameter> {
    let mut by_hand = history.kits.iter().enumerate().filter(|(_, k)| k.by_hand).peekable();
    let mut all = Vec::new();
    if by_hand.peek().is_some() {
        all.push(Parameter::log(Name::Hand, PROMISED, HAND));
    }
    all.extend(by_hand.map(|(i, _)| Parameter::log(Name::KitError(i), 1.0, KIT)));
    all
}

/// What is not known of a tub and its kits, in the order of the scores; how far readings err ([`errors`]) comes after it.
pub(super) fn parameters(history: &History) -> Vec<Parameter> {
    use Name as N;
    let mut all = vec![
        Parameter::log(N::Volume, expected_l(history), history.volume_error.max(0.005)),
        // Median 20 % a day at 38 °C; published decay in clean warm water is 5–25 %/day, dirty water more (docs/tub.md).
        Parameter::log(N::Demand, 0.20, 0.6),
        // Common practice doses 3–7 g for a bather's hour; urea's slow part lasts for days.
        Parameter::log(N::Bather, 4.0, 0.5),
        // Between ammonia, which takes its chlorine at once, and urea at a hundredth an hour (De Laat et al. 2011).
        Parameter::log(N::BatherPace, 0.05, 0.8),
        // From the two-film model of crate `tub` at its default leak; no measurement in a hot tub was found.
        Parameter::log(N::CarbonLoss, 0.4, 0.7),
        Parameter::log(N::BathingLoss, 0.4, 0.6),
        // Between outdoor air (425 ppm) and a closed room.
        Parameter::log(N::Air, 800.0, 0.4),
        // A few litres a day (ASHRAE's formula with the cover off for half an hour; splash apart).
        Parameter::log(N::Evaporation, 3.0, 0.6),
        // Drips and splash beyond what recorded bathers carry out: most tubs lose less than a litre, one in twenty
        // more than three and a half (judgement).
        Parameter::log(N::Leak, 0.5, 1.2),
    ];
    if history.has_cell {
        // A family tub's cell; makers' figures run from half a gram to two grams an hour.
        all.push(Parameter::log(N::Cell, 12.0, 0.7));
        all.push(Parameter::plain(N::CellDecline, 0.04, 0.05));
    }
    if history.source.is_some() {
        // Waterworks' yearly range about a mean (judgement).
        all.push(Parameter::log(N::SourceAlkalinity, 1.0, 0.08));
        all.push(Parameter::log(N::SourceCalcium, 1.0, 0.08));
    }
    match history.start {
        Start::Filled(_) => all.push(Parameter::plain(N::StartPh, 0.0, 0.1)),
        Start::Unknown => {
            let [cyanurate, calcium, salt] = started_with(history);
            all.extend([
                Parameter::plain(N::StartPh, 7.6, 0.4),
                Parameter::log(N::StartAlkalinity, 90.0, 0.4),
                Parameter::log(N::StartChlorine, 2.0, 1.0),
                Parameter::log(N::StartCyanurate, cyanurate.0, cyanurate.1),
                Parameter::log(N::StartCalcium, calcium.0, calcium.1),
                Parameter::log(N::StartSalt, salt.0, salt.1),
            ]);
        }
    }
    if let Some(base) = history.base_mg_l_per_day {
        all.push(Parameter::log(N::Base, base, BASE));
    }
    let dosed = |p: usize| {
        history
            .acts
            .iter()
            .any(|(_, a)| matches!(a, super::history::Act::Dose { product, .. } if *product == p))
    };
    let measures = history.measures.iter().enumerate().filter(|(p, _)| dosed(*p));
    all.extend(measures.map(|(p, held)| Parameter::log(N::Measure(p), held.middle, held.error)));
    let weeks = (history.now_h / WEEK_H) as usize + 1;
    let spread = WeekSpread::of(history);
    for week in 0..weeks {
        all.extend(spread.parameters(week));
    }
    // The kits come last: an axis that is theirs alone moves no water, which `stand_in` makes use of.
    for (i, kit) in history.kits.iter().enumerate() {
        if kit.bias_error > 0.0 {
            all.push(Parameter::plain(N::Bias(i), kit.bias, kit.bias_error));
        }
        if kit.drift_error > 0.0 {
            all.push(Parameter::plain(N::Drift(i), 0.0, kit.drift_error));
        }
    }
    all
}

/// How far base without an entry is known from the acid that it must have met, ln (judgement).
const BASE: f64 = 0.5;
/// How far what is conserved is known from entries of a season ago, ln (judgement: a volume's error, leaks and splash, what was
/// forgotten).
const BY_THE_BOOK: f64 = 0.3;

/// Cyanuric acid, calcium hardness and salt that a past begins with whose fill lies before it, mg/L: median and ln of the spread. By the
/// entries since the fill where it is known, else by what tubs have (judgement).
fn started_with(history: &History) -> [(f64, f64); 3] {
    let usual = [(10.0, 1.0), (150.0, 0.6), if history.has_cell { (1800.0, 0.4) } else { (500.0, 1.0) }];
    let Some(before) = &history.before else { return usual };
    let book = [
        mg_l_from_mol_kg(before.cyanurate, molar_mass::CYANURIC_ACID),
        hardness_mg_l_caco3_from_mol_kg(before.calcium),
        mg_l_from_mol_kg(before.chloride, molar_mass::NACL),
    ];
    // Of next to nothing a logarithm says nothing: a little that nobody wrote down.
    [0, 1, 2].map(|i| if book[i] > LITTLE[i] { (book[i], BY_THE_BOOK) } else { (LITTLE[i], usual[i].1) })
}

/// Cyanuric acid, hardness, salt that are as good as none, mg/L (judgement).
const LITTLE: [f64; 3] = [3.0, 10.0, 50.0];

/// What a hand errs against what kits promise: a promise is made for careful hands and fresh reagents (judgement).
const PROMISED: f64 = 1.15;
/// How far hands differ in that, and then kits in the same hand, ln (judgement: between half and twice, most of them).
const HAND: f64 = 0.4;
const KIT: f64 = 0.4;

/// The volume to be expected, L. A maker's figure is often that to the brim or without a footwell (common practice: 10 to 15 %
/// off), so that there is less water more often than more: half the figure's error (judgement).
fn expected_l(history: &History) -> f64 {
    let below = if history.volume_measured { 0.0 } else { 0.5 * history.volume_error };
    history.volume_l * (1.0 - below)
}

/// How much one week's demand, and its loss of carbon dioxide, differ from the tub's usual, ln.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WeekSpread {
    demand: f64,
    carbon: f64,
}

impl WeekSpread {
    /// Where bathing is written down (judgement).
    const SEEN: WeekSpread = WeekSpread { demand: 0.25, carbon: 0.2 };
    /// Where nobody writes it down, busy and quiet weeks are among them (judgement, by the coverage in the practice world:
    /// docs/learn.md).
    const UNSEEN: WeekSpread = WeekSpread { demand: 0.4, carbon: 0.4 };

    pub(super) fn of(history: &History) -> WeekSpread {
        if history.bathing_is_seen() { WeekSpread::SEEN } else { WeekSpread::UNSEEN }
    }

    /// The two factors of a week.
    pub(super) fn parameters(self, week: usize) -> [Parameter; 2] {
        [
            Parameter::log(Name::WeekDemand(week), 1.0, self.demand),
            Parameter::log(Name::WeekCarbon(week), 1.0, self.carbon),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::case::CaseText;

    /// Middle and standard error (of a logarithm where it is one) of a parameter that is expected.
    fn expected(tub: &str, of: &Name) -> (f64, f64) {
        let text = format!(
            "[tub]\nvolume_l = 1000\n{tub}regime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"sodium-bisulfate\"\nname = \"acid\"\nmeasure = {{ kind = \"capful\", grams = 20 }}\n\
             [[reading]]\nat = 2026-05-02T08:00:00Z\nquantity = \"total_alkalinity\"\ndrops = 9\nmethod = \"drop-titration-10\"\n\
             [[dose]]\nat = 2026-05-02T09:00:00Z\nproduct = \"acid\"\nmass_g = 20\n"
        );
        let case = CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case");
        let history = History::of(&case).expect("a history");
        match parameters(&history).iter().find(|p| p.name == *of).expect("it is there").map {
            Map::Log { median, sd } => (median, sd),
            Map::Plain { mean, sd } => (mean, sd),
            Map::Wide { scale } => (0.0, scale),
        }
    }

    #[test]
    fn a_makers_volume_is_expected_to_be_high_and_a_measured_one_is_not() {
        assert_eq!(expected("", &Name::Volume), (950.0, 0.1));
        assert_eq!(expected("volume_error_percent = 15\n", &Name::Volume), (925.0, 0.15));
        assert_eq!(expected("volume_measured = true\n", &Name::Volume), (1000.0, 0.03));
    }

    #[test]
    fn a_capful_is_heaped_and_a_drop_is_one_too_many_more_often_than_not() {
        assert_eq!(expected("", &Name::Measure(0)), (1.04, 0.12));
        let (mean, sd) = expected("", &Name::Bias(0));
        // A fifth of 10 mg/L; at least three tenths of them either way.
        assert!((mean - 2.0).abs() < 1e-9 && sd > 3.0 && sd < 8.0, "{mean} {sd}");
    }
}
