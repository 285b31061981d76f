//! One game: the learner's face of the world. Shows what a kit shows, and keeps the truth until the end.

use crate::chance::{Chance, For};
use crate::difficulty::{Difficulty, Spread};
use crate::error::PracticeError;
use crate::kit;
use crate::moves::Move;
use crate::score::{self, Sample, Score, Unsafe};
use crate::told::{self, FILLED};
use crate::truth::Truth;
use crate::world::{Hands, World};
use care::amount::Units;
use care::band::{Regime, bathing_limits};
use care::case::{Bands, Case, Entry, Happening, MeasureKind, Product, Raw, Reading, Substance, When};
use care::quantity::Quantity as Q;
use care::text::Text;
use tub::{Event, Jets};
use water::Chemical;

/// Longest game.
pub const WEEKS_MOST: u32 = 8;
/// What a dose takes, with jets on and the cover off, hours (common practice: 20 to 30 minutes).
const DOSE_H: f64 = 0.5;
/// Most of one product at once, grams a litre of the maker's volume: salt, and everything else. More than any label
/// allows at once is refused (judgement).
const MOST_AT_ONCE_G_L: (f64, f64) = (5.0, 0.5);

/// Which game.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setup {
    /// Everything follows from it.
    pub seed: u64,
    /// How hard.
    pub difficulty: Difficulty,
    /// How long, weeks.
    pub weeks: u32,
}

/// What a move shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Seen {
    /// What the kit shows.
    Read {
        /// Of which quantity.
        quantity: Q,
        /// By which method.
        method: &'static str,
        /// Its figure.
        raw: Raw,
    },
    /// What was added.
    Dosed {
        /// Which product.
        product: String,
        /// Grams, by the label of its measure.
        grams: f64,
        /// In words.
        amount: Text,
        /// What to mind.
        cautions: Vec<Text>,
    },
    /// Filled up: litres by the hose's clock.
    ToppedUp {
        /// About.
        litres: f64,
    },
    /// Water was replaced.
    Replaced {
        /// Share.
        share: f64,
    },
    /// The cell was set.
    CellSet {
        /// Share of the time.
        duty: f64,
    },
    /// Aired.
    Aired {
        /// Hours.
        hours: f64,
    },
    /// Time went by.
    Waited {
        /// Days.
        days: f64,
        /// How many baths the household had.
        baths: usize,
    },
}

/// A move with what it showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Hours since the fill, when it began.
    pub at_h: f64,
    /// What was done.
    pub made: Move,
    /// What was seen.
    pub seen: Seen,
}

/// A game under way.
#[derive(Debug, Clone)]
pub struct Game {
    setup: Setup,
    case: Case,
    world: World,
    log: Vec<Line>,
    looks: Vec<f64>,
    grams: Vec<f64>,
    fresh_l: f64,
}

/// A game played to its end, the true water revealed.
#[derive(Debug, Clone)]
pub struct Ended {
    /// What came of it.
    pub score: Score,
    /// The true water over time.
    pub course: Vec<Sample>,
    /// What was done.
    pub log: Vec<Line>,
    /// Litres that the tub truly holds.
    pub true_volume_l: f64,
    /// When somebody was at the tub, hours since the fill.
    pub looks: Vec<f64>,
}

impl Game {
    /// A tub just filled.
    ///
    /// # Errors
    /// [`PracticeError::Weeks`]; [`PracticeError::Water`] if the tap is beyond the chemistry.
    pub fn new(setup: Setup) -> Result<Game, PracticeError> {
        Self::of(setup, setup.difficulty.spread())
    }

    /// The same with kits that err `times` as much as they do at usual difficulty: they do not keep what they promise, or more.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_kits(setup: Setup, times: f64) -> Result<Game, PracticeError> {
        Self::of(setup, Spread { kit: times, ..setup.difficulty.spread() })
    }

    fn of(setup: Setup, spread: Spread) -> Result<Game, PracticeError> {
        if !(1..=WEEKS_MOST).contains(&setup.weeks) {
            return Err(PracticeError::Weeks { given: setup.weeks, most: WEEKS_MOST });
        }
        let case = told::case(setup.seed);
        let truth = Truth::of(setup.seed, spread, &case)?;
        let limits = bathing_limits(case.tub.regime, case.tub.place);
        let world = World::new(truth, 7 * setup.weeks + 1, limits);
        let grams = vec![0.0; case.shelf.len()];
        Ok(Game { setup, case, world, log: Vec::new(), looks: Vec::new(), grams, fresh_l: 0.0 })
    }

    /// A game with these moves made.
    ///
    /// # Errors
    /// As [`Self::new`] and [`Self::make`].
    pub fn replayed(setup: Setup, moves: &[Move]) -> Result<Game, PracticeError> {
        let mut game = Game::new(setup)?;
        for (i, next) in moves.iter().enumerate() {
            game.make(next).map_err(|e| match e {
                PracticeError::NotNow { wrong, accepted } => {
                    PracticeError::Move { place: i + 1, given: next.to_string(), wrong, accepted }
                }
                other => other,
            })?;
        }
        Ok(game)
    }

    /// Which game it is.
    pub fn setup(&self) -> Setup {
        self.setup
    }

    /// What the learner knows: tub, tap and shelf as told, what was read and done, at this moment.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The bands that are scored.
    ///
    /// # Errors
    /// [`PracticeError::Plan`] if the tub's bands cannot be used.
    pub fn bands(&self) -> Result<Bands, PracticeError> {
        let (mut bands, _) = care::planner::bands_of(&self.case)?;
        bands.retain(|(q, _)| score::SCORED.contains(q));
        Ok(bands)
    }

    /// What was done, and what it showed.
    pub fn log(&self) -> &[Line] {
        &self.log
    }

    /// Hours since the fill.
    pub fn at_h(&self) -> f64 {
        self.world.at_h()
    }

    /// Hours from the fill to the end.
    pub fn end_h(&self) -> f64 {
        f64::from(7 * self.setup.weeks) * 24.0
    }

    /// Whether the time is up.
    pub fn is_over(&self) -> bool {
        self.at_h() >= self.end_h()
    }

    /// Whether the water stands so low that anybody sees it.
    pub fn is_low(&self) -> bool {
        self.world.level() < 0.97
    }

    /// Whether anybody is in the water, which anybody sees.
    pub fn has_bathers(&self) -> bool {
        self.world.bathers() > 0.0
    }

    /// When somebody was at the tub.
    pub fn looks(&self) -> &[f64] {
        &self.looks
    }

    fn minute(&self) -> u32 {
        (self.at_h() * 60.0).round().clamp(0.0, f64::from(u32::MAX)) as u32
    }

    fn when(&self) -> When {
        When(FILLED.0 + (self.at_h() * 3600.0).round() as i64)
    }

    fn record(&mut self, what: Happening) {
        let at = Some(self.when());
        self.case.entries.push(Entry { at, what });
    }

    /// Makes a move.
    ///
    /// # Errors
    /// [`PracticeError::NotNow`] if it cannot be made, with nothing changed; [`PracticeError::World`] if the water goes
    /// where it cannot be followed.
    pub fn make(&mut self, next: &Move) -> Result<&Seen, PracticeError> {
        if self.is_over() {
            return Err(not_now("the time is up", "a new game, or a look at what came of it, is accepted"));
        }
        let at_h = self.at_h();
        let seen = match next {
            Move::Read { quantity, method } => self.read(*quantity, method.as_deref())?,
            Move::Dose { product, measures } => self.dose(product, *measures)?,
            Move::TopUp => self.top_up()?,
            Move::Replace { share } => {
                self.world.replace(*share)?;
                self.fresh_l += share * self.case.tub.volume_l;
                self.record(if *share > 0.95 {
                    Happening::Fill
                } else {
                    Happening::Replaced { share: *share }
                });
                Seen::Replaced { share: *share }
            }
            Move::Cell { duty } => {
                if self.case.tub.regime != Regime::SaltCell {
                    return Err(not_now(
                        "this tub has no cell",
                        "its chlorine is dosed by hand: dose chlorine",
                    ));
                }
                self.world.set_duty(*duty);
                self.record(Happening::Cell { output: *duty });
                Seen::CellSet { duty: *duty }
            }
            Move::Air { hours } => {
                self.with_hands(Hands { open: true, jets: Jets::WithAir }, *hours)?;
                self.record(Happening::Other { kind: "cover".to_string() });
                Seen::Aired { hours: *hours }
            }
            Move::Wait { days } => {
                let to = (at_h + 24.0 * days).min(self.end_h());
                self.world.advance(to)?;
                let baths = self.baths_between(at_h, to);
                Seen::Waited { days: (to - at_h) / 24.0, baths }
            }
        };
        if !matches!(next, Move::Wait { .. }) && self.looks.last().is_none_or(|l| at_h - l > LOOK_H) {
            self.looks.push(at_h);
        }
        self.case.now = Some(self.when());
        self.log.push(Line { at_h, made: next.clone(), seen });
        match self.log.last() {
            Some(line) => Ok(&line.seen),
            None => unreachable!("a line was just added"),
        }
    }

    fn baths_between(&self, from: f64, to: f64) -> usize {
        self.world.timetable.baths.iter().filter(|b| b.from_h > from && b.from_h <= to).count()
    }

    fn with_hands(&mut self, hands: Hands, hours: f64) -> Result<(), PracticeError> {
        let to = (self.at_h() + hours).min(self.end_h());
        self.world.hands(hands);
        let went = self.world.advance(to);
        self.world.hands(Hands::default());
        went
    }

    /// How many moves like this one there were in this minute.
    fn before(&self, same: impl Fn(&Line) -> bool) -> u8 {
        let at_h = self.at_h();
        let n =
            self.log.iter().rev().take_while(|l| (l.at_h - at_h).abs() < 1e-9).filter(|l| same(l)).count();
        u8::try_from(n).unwrap_or(u8::MAX)
    }

    fn read(&mut self, quantity: Q, method: Option<&str>) -> Result<Seen, PracticeError> {
        let nothing = || not_now("no kit here reads that", "a quantity of the kit box is accepted");
        let (place, kit) = kit::find(quantity, method).ok_or_else(nothing)?;
        let nth = self.before(|l| {
            matches!(&l.seen, Seen::Read { quantity: q, method: m, .. } if *q == quantity && *m == kit.method)
        });
        let value = kit::true_value(quantity, self.world.state())?.ok_or_else(nothing)?;
        let raw = kit.shows(value, &self.world.truth, place, self.minute(), nth).ok_or_else(nothing)?;
        self.record(Happening::Reading(Reading {
            quantity,
            method: kit.method.to_string(),
            raw,
            line: None,
        }));
        Ok(Seen::Read { quantity, method: kit.method, raw })
    }

    fn dose(&mut self, name: &str, measures: f64) -> Result<Seen, PracticeError> {
        let found = self.case.shelf.iter().position(|p| p.name == name);
        let index = found.ok_or_else(|| {
            let names: Vec<&str> = self.case.shelf.iter().map(|p| p.name.as_str()).collect();
            not_now(&format!("\"{name}\" is not on the shelf"), &format!("{} is accepted", names.join(", ")))
        })?;
        let product = self.case.shelf[index].clone();
        let grams = measures * product.measure.grams_each;
        let most = most_at_once_g(&product, self.case.tub.volume_l);
        if !(grams > 0.0 && grams <= most) {
            return Err(not_now(
                &format!("{grams:.0} g of {name} at once is more than a label allows"),
                &format!("at most {:.1} of its measures are accepted", most / product.measure.grams_each),
            ));
        }
        if self.has_bathers() {
            self.world.unsafe_moments.push(Unsafe::DosedAmongPeople { at_h: self.at_h() });
        }
        let nth = self.before(|l| matches!(&l.made, Move::Dose { product, .. } if product == name));
        let place = u8::try_from(index).unwrap_or(u8::MAX);
        let mut chance =
            Chance::of(self.setup.seed, For::Dose { minute: self.minute(), product: place, nth });
        let (strength, heap) = self.world.truth.products[index];
        // A scale and a jug are read to a few percent; a capful is filled as this hand fills it.
        let slop = match product.measure.kind {
            MeasureKind::Scale => 1.0 + chance.laplace(0.01),
            MeasureKind::Millilitres => 1.0 + chance.laplace(0.03),
            _ => heap * (1.0 + chance.laplace(0.06)),
        };
        let truly_g = grams * slop.max(0.3);
        if let Substance::Chemical(chemical) = product.substance {
            let mol = truly_g * product.active_mol_per_g * strength;
            self.world.event(&Event::Dose { chemical, mol })?;
            if product.companion_salt_mol_per_g > 0.0 {
                let mol = truly_g * product.companion_salt_mol_per_g;
                self.world.event(&Event::Dose { chemical: Chemical::SodiumChloride, mol })?;
            }
        }
        let ph = kit::true_value(Q::Ph, self.world.state())?.unwrap_or(7.0);
        if !EXTREME_PH.contains(&ph) {
            self.world.unsafe_moments.push(Unsafe::ExtremePh { at_h: self.at_h(), ph });
        }
        self.grams[index] += grams;
        self.record(Happening::Dose { product: index, mass_g: grams });
        self.with_hands(Hands { open: true, jets: Jets::Water }, DOSE_H)?;
        Ok(Seen::Dosed {
            product: product.name.clone(),
            grams,
            amount: care::planner::amount_text(&product, grams, Units::Metric),
            cautions: care::planner::cautions_of(&product, self.case.tub.regime),
        })
    }

    fn top_up(&mut self) -> Result<Seen, PracticeError> {
        let kg = self.world.top_up()?;
        // By the clock beside the hose: to a sixth, and to 5 L.
        let mut chance = Chance::of(self.setup.seed, For::TopUp { minute: self.minute() });
        let litres = (kg * (1.0 + chance.between(-0.15, 0.15)) / 5.0).round() * 5.0;
        self.fresh_l += kg;
        if litres > 0.0 {
            self.record(Happening::TopUp { volume_l: litres });
        }
        Ok(Seen::ToppedUp { litres })
    }

    /// Lets the rest of the time go by and reveals the true water.
    ///
    /// # Errors
    /// [`PracticeError`] if the water cannot be followed to the end.
    pub fn end(mut self) -> Result<Ended, PracticeError> {
        let end_h = self.end_h();
        if self.at_h() < end_h {
            self.world.advance(end_h)?;
        }
        let bands = self.bands()?;
        let samples = &self.world.samples;
        let score = Score {
            in_band: score::in_band(samples, &bands),
            both_inside: score::together(score::BOTH, samples, &bands),
            fit_inside: score::together(score::FIT, samples, &bands),
            used: score::used(&self.case, &self.grams),
            visits: self.looks.len(),
            readings: self.log.iter().filter(|l| matches!(l.seen, Seen::Read { .. })).count(),
            fresh_l: self.fresh_l,
            baths: self.baths_between(-1.0, end_h),
            unsafe_moments: self.world.unsafe_moments.clone(),
        };
        Ok(Ended {
            score,
            course: self.world.samples,
            log: self.log,
            true_volume_l: self.world.truth.mark_kg,
            looks: self.looks,
        })
    }
}

/// Moves so near to each other are one visit, hours (a plan's waits in between included).
const LOOK_H: f64 = 12.0;
/// pH right after a dose that no plan lets happen.
const EXTREME_PH: std::ops::RangeInclusive<f64> = 6.5..=8.6;

/// Most of a product at once, grams.
pub(crate) fn most_at_once_g(product: &Product, volume_l: f64) -> f64 {
    let (salt, other) = MOST_AT_ONCE_G_L;
    let salty = product.substance == Substance::Chemical(Chemical::SodiumChloride);
    volume_l * if salty { salt } else { other }
}

fn not_now(wrong: &str, accepted: &str) -> PracticeError {
    PracticeError::NotNow { wrong: wrong.to_string(), accepted: accepted.to_string() }
}
