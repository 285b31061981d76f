//! What happened to a tub since its water was new, in hours from then.

use super::learned::LearnError;
use super::probe::Probes;
use super::unrecorded::Suspected;
use super::unseen;
use crate::band::Regime;
use crate::case::{Case, Happening, MeasureKind, Reading, When};
use crate::chem::{monopersulfate_spent, per_gram, spent};
use crate::estimate::{EstimateError, Timeline, source_totals};
use crate::method::{self, Context, Kind, Outcome};
use crate::quantity::Quantity as Q;
use water::Totals;
use water::units::{mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};

/// Longest past that is looked at, hours: what a tub was like a season ago says little of today.
const LONGEST_H: f64 = 120.0 * 24.0;

/// Output of a cell that nobody has said anything of, share.
pub(super) const CELL_UNTOLD: f64 = 0.5;
/// Salt below which a cell's control stops it: as a share of its window's lower end, and where that is not known, mg/L (judgement).
const CELL_STOPS: f64 = 0.7;
const CELL_SALT: f64 = 1000.0;

/// Something that changes the water at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Act {
    /// Moles added to the whole tub, and whose measure it came by.
    Dose { moles: Totals, product: usize },
    /// Share of the water replaced with source water.
    Replaced(f64),
    /// Carbon dioxide that was let out on purpose, mol in the whole tub.
    LetOut(f64),
    /// Person-hours of bathing.
    Bathers(f64),
    /// The cell's output from now on, share of its full output.
    Cell(f64),
    /// Something that nobody wrote down, whose amount is a parameter.
    Unrecorded { suspected: Suspected, number: usize },
}

/// What a reading says, free of its method's own physics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Said {
    /// A value with the error that is its own: the part it shares with the kit's other readings is a parameter.
    Value { value: f64, standard_error: f64 },
    /// Less than this.
    Below(f64),
    /// More than this.
    Above(f64),
}

/// A reading at its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observed {
    /// Hours since the start.
    pub(super) at_h: f64,
    /// Of what.
    pub(super) quantity: Q,
    /// What it says.
    pub(super) said: Said,
    /// Which kit: an index into [`History::kits`].
    pub(super) kit: usize,
    /// A further standard error against the model that is not the kit's, in the quantity's unit.
    pub(super) burst: f64,
}

/// One quantity read by one method: its readings share a bias.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kit {
    /// The method's id.
    pub(super) method: String,
    /// What it is called.
    pub(super) name: String,
    /// What it reads.
    pub(super) quantity: Q,
    /// What it is expected to read too much, and the standard error of that, in the quantity's unit.
    pub(super) bias: f64,
    pub(super) bias_error: f64,
    /// Standard error of its drift in thirty days, in the quantity's unit; 0 for what does not drift.
    pub(super) drift_error: f64,
    /// Whether it is read with reagents, a sample and an eye, so that it errs as the hand does.
    pub(super) by_hand: bool,
}

/// A fill's water after some entries, all that is dosed mixed in and its chlorine used: what is conserved of it.
fn by_the_book<'a>(case: &Case, source: Totals, entries: impl Iterator<Item = &'a Happening>) -> Totals {
    let bromine = case.tub.regime == Regime::Bromine;
    entries.fold(source, |water, what| match what {
        Happening::Dose { product, mass_g } => match case.shelf.get(*product) {
            Some(of) => water.plus(&spent(per_gram(of, bromine)), mass_g / case.tub.volume_l),
            None => water,
        },
        Happening::Replaced { share } => water.mixed_with(&source, *share),
        _ => water,
    })
}

/// The water at the start, if it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Start {
    /// Filled with source water.
    Filled(Totals),
    /// Nobody knows.
    Unknown,
}

/// A tub's past.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct History {
    pub(super) started: When,
    pub(super) now_h: f64,
    pub(super) start: Start,
    pub(super) source: Option<Totals>,
    pub(super) volume_l: f64,
    pub(super) volume_error: f64,
    /// Whether the volume was measured rather than taken from a maker's figure.
    pub(super) volume_measured: bool,
    pub(super) temperature_c: f64,
    pub(super) has_cell: bool,
    /// Whether anybody said what the cell is set to.
    pub(super) cell_is_told: bool,
    pub(super) acts: Vec<(f64, Act)>,
    pub(super) observed: Vec<Observed>,
    pub(super) kits: Vec<Kit>,
    /// What each product's measure holds.
    pub(super) measures: Vec<Held>,
    /// Readings that say nothing here: void, or of what this model does not follow.
    pub(super) left_out: usize,
    /// The water at the start by the entries since a fill that lies further back than is looked.
    pub(super) before: Option<Totals>,
    /// Base that must have gone in without an entry, mg/L of alkalinity a day, where by the entries none could be left.
    pub(super) base_mg_l_per_day: Option<f64>,
}

/// What a measure holds, as a multiple of what is written down: the middle, and its relative standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Held {
    pub(super) middle: f64,
    pub(super) error: f64,
    /// How one differs from the next, relative standard error.
    pub(super) each: f64,
}

/// By kind (judgement): a level capful or scoop, which is heaped more often than short (common practice); a kitchen scale; a
/// jug; a tablet.
fn held(kind: MeasureKind) -> Held {
    let (middle, error, each) = match kind {
        MeasureKind::Capful | MeasureKind::Scoop => (1.04, 0.12, 0.07),
        MeasureKind::Scale | MeasureKind::Tablet => (1.0, 0.02, 0.01),
        MeasureKind::Millilitres => (1.0, 0.05, 0.03),
    };
    Held { middle, error, each }
}

/// What this model follows.
fn is_followed(q: Q) -> bool {
    matches!(q, Q::Ph | Q::FreeChlorine | Q::TotalAlkalinity | Q::CalciumHardness | Q::Salt | Q::CyanuricAcid)
}

/// Drift of a probe's offset in thirty days, standard error (judgement; common practice calibrates monthly).
fn drift_error(kind: &Kind, q: Q, figure: f64) -> f64 {
    match (kind, q) {
        (Kind::PhElectrode { .. } | Kind::Display, Q::Ph) => 0.15,
        (Kind::ChlorineProbe { .. } | Kind::Display | Kind::Conductivity { .. }, _) => 0.1 * figure,
        _ => 0.0,
    }
}

/// Whether a kind of method is read with reagents, a sample and an eye. What meters and laboratories err is measured, and has little
/// to do with who reads them.
fn is_by_hand(kind: &Kind) -> bool {
    matches!(
        kind,
        Kind::DropTitration { .. }
            | Kind::Comparator
            | Kind::Photometer
            | Kind::Strip
            | Kind::ChlorideStrip { .. }
            | Kind::TurbidityTube
    )
}

/// Share of a method's error that all its readings have in common: bottle, eye, colour card (judgement: six tenths, so
/// that the rest, independent from reading to reading, is eight tenths and both together are the method's own).
pub(super) const SHARED: f64 = 0.6;
/// Drops that a hand goes beyond the end point on the average, and how hands differ: who is not sure adds one more (common
/// practice; the figures are judgement).
const DROPS_BEYOND: f64 = 0.2;
const DROPS_BEYOND_ERROR: f64 = 0.3;
/// Offset of an electrode or display nobody vouches for, standard error, pH.
const PROBE_OFFSET_PH: f64 = 0.2;

/// What an outcome says beside the bias that its kit's readings share; `None` if it says nothing here.
pub(super) fn said(quantity: Q, outcome: Outcome) -> Option<Said> {
    if !is_followed(quantity) {
        return None;
    }
    match outcome {
        Outcome::Value { value, standard_error } => {
            Some(Said::Value { value, standard_error: standard_error * (1.0 - SHARED * SHARED).sqrt() })
        }
        Outcome::Below { limit } => Some(Said::Below(limit)),
        Outcome::Above { limit } => Some(Said::Above(limit)),
        Outcome::Void => None,
    }
}

impl History {
    /// The past of a case.
    ///
    /// # Errors
    /// [`LearnError`] if nothing was read, or a reading cannot have come from its method.
    pub(super) fn of(case: &Case) -> Result<History, LearnError> {
        let source = match &case.source_water {
            Some(s) => source_totals(s, case.units, &mut Vec::new())?,
            None => None,
        };
        let time = Timeline::new(case, source);
        let longest = |at: When| time.now.hours_since(at) <= LONGEST_H;
        let fill = time.last_fill.filter(|at| longest(*at) && source.is_some());
        let since_fill = |at: When| time.last_fill.is_none_or(|f| at >= f);
        let first = time.entries.iter().map(|(at, _)| *at).find(|at| longest(*at) && since_fill(*at));
        let started = fill.or(first).unwrap_or(time.now);
        let mut history = History {
            started,
            now_h: time.now.hours_since(started),
            start: match (fill, source) {
                (Some(_), Some(source)) => Start::Filled(source),
                _ => Start::Unknown,
            },
            source,
            volume_l: case.tub.volume_l,
            volume_error: case.tub.volume_error,
            volume_measured: case.tub.volume_measured,
            temperature_c: case.tub.temperature_c.unwrap_or(38.0),
            has_cell: case.tub.regime == Regime::SaltCell,
            cell_is_told: false,
            acts: Vec::new(),
            observed: Vec::new(),
            kits: Vec::new(),
            measures: case.shelf.iter().map(|p| held(p.measure.kind)).collect(),
            left_out: 0,
            before: time.last_fill.zip(source).filter(|_| fill.is_none()).map(|(filled, source)| {
                let before = time.entries.iter().filter(|(at, _)| (filled..started).contains(at));
                by_the_book(case, source, before.map(|(_, entry)| &entry.what))
            }),
            base_mg_l_per_day: None,
        };
        let mut probes = Probes::default();
        for (at, entry) in time.entries.iter().filter(|(at, _)| *at >= started) {
            let at_h = at.hours_since(started);
            match &entry.what {
                &Happening::Dose { product, mass_g } => {
                    let Some(of) = case.shelf.get(product) else { continue };
                    // Monopersulfate is used within a day or two (crate `tub`: 1.5 a day at 38 °C, judgement), less than
                    // lies between two looks: its acid is booked at once, so that the course need not follow it.
                    let each = monopersulfate_spent(per_gram(of, case.tub.regime == Regime::Bromine));
                    let moles = Totals::default().plus(&each, mass_g);
                    history.acts.push((at_h, Act::Dose { moles, product }));
                }
                Happening::Replaced { share } => history.acts.push((at_h, Act::Replaced(*share))),
                Happening::Bathers { person_hours } => {
                    history.acts.push((at_h, Act::Bathers(*person_hours)));
                }
                Happening::Cell { output } => history.acts.push((at_h, Act::Cell(*output))),
                Happening::Reading(reading) => history.take(reading, at_h, case, &mut probes)?,
                Happening::Fill | Happening::TopUp { .. } | Happening::Other { .. } => {}
            }
        }
        history.cell_is_told = history.acts.iter().any(|(_, a)| matches!(a, Act::Cell(_)));
        history.start_cell(case);
        // Only now it is known whether anybody's bathing was written down.
        let observed = std::mem::take(&mut history.observed).into_iter();
        history.observed = observed.map(|o| unseen::with_burst(&history, o)).collect();
        history.observed.extend(probes.blocks());
        history.observed.sort_by(|a, b| a.at_h.total_cmp(&b.at_h));
        if history.observed.is_empty() && history.start == Start::Unknown {
            let last = time.entries.iter().map(|(at, _)| time.now.hours_since(*at)).reduce(f64::min);
            return Err(last
                .filter(|h| *h > LONGEST_H)
                .map_or(LearnError::Nothing, |h| LearnError::LongAgo(h / 24.0)));
        }
        Ok(history)
    }

    /// Acid that the chlorine of these doses leaves, mg/L of alkalinity a day; `None` if there is none.
    pub(super) fn acid_of_chlorine_mg_l_per_day(&self) -> Option<f64> {
        let each = self.acts.iter().map(|(_, act)| match act {
            Act::Dose { moles, .. } if moles.free_chlorine > 0.0 => -spent(*moles).alkalinity,
            _ => 0.0,
        });
        let eq_kg = each.sum::<f64>() / self.volume_l;
        let per_day = mg_l_caco3_from_eq_kg(eq_kg) * 24.0 / self.now_h.max(24.0);
        (per_day > 0.0).then_some(per_day)
    }

    /// A cell that nobody has said anything of is off after a fill until there is salt for it: its control stops it (common practice).
    fn start_cell(&mut self, case: &Case) {
        let Start::Filled(source) = self.start else { return };
        if !self.has_cell {
            return;
        }
        let enough = case.tub.cell_window_mg_l.map_or(CELL_SALT, |(low, _)| CELL_STOPS * low);
        let mut salt = mg_l_from_mol_kg(source.chloride, molar_mass::NACL);
        let mut salted = f64::INFINITY;
        for (at_h, act) in &self.acts {
            if let Act::Dose { moles, .. } = act {
                salt += mg_l_from_mol_kg(moles.chloride / self.volume_l, molar_mass::NACL);
                if salt >= enough {
                    salted = *at_h;
                    break;
                }
            }
        }
        let is_salt = |o: &&Observed| {
            o.quantity == Q::Salt && matches!(o.said, Said::Value { value, .. } if value >= enough)
        };
        let salted = self.observed.iter().find(is_salt).map_or(salted, |o| o.at_h.min(salted));
        let told = self.acts.iter().find(|(_, a)| matches!(a, Act::Cell(_))).map(|(at_h, _)| *at_h);
        self.acts.push((0.0, Act::Cell(0.0)));
        if salted.is_finite() && told.is_none_or(|told| salted < told) {
            self.acts.push((salted, Act::Cell(CELL_UNTOLD)));
        }
        self.acts.sort_by(|a, b| a.0.total_cmp(&b.0));
    }

    /// Whether anybody's bathing was written down.
    pub(super) fn bathing_is_seen(&self) -> bool {
        self.acts.iter().any(|(_, a)| matches!(a, Act::Bathers(_)))
    }

    /// What a reading says, by its method, and which kit it came from if that kit has been met.
    pub(super) fn read(
        &self,
        reading: &Reading,
        case: &Case,
    ) -> Result<(Q, Outcome, Option<usize>), LearnError> {
        let method = method::find(&case.methods, &reading.method)
            .ok_or_else(|| EstimateError::UnknownMethod { id: reading.method.clone(), line: reading.line })?;
        let context = Context { units: case.units, ..Context::at(self.temperature_c) };
        let interpreted = method::interpret(method, reading, &context).map_err(EstimateError::from)?;
        let q = interpreted.quantity;
        let kit = self.kits.iter().position(|k| k.method == method.id && k.quantity == q);
        Ok((q, interpreted.outcome, kit))
    }

    fn take(
        &mut self,
        reading: &Reading,
        at_h: f64,
        case: &Case,
        probes: &mut Probes,
    ) -> Result<(), LearnError> {
        let (quantity, outcome, _) = self.read(reading, case)?;
        if !is_followed(quantity) {
            self.left_out += 1;
            return Ok(());
        }
        let Some(method) = method::find(&case.methods, &reading.method) else { return Ok(()) };
        let kit = self.kit(method, quantity, outcome);
        let streams = self.kits.get(kit).is_some_and(|k| k.drift_error > 0.0);
        if let (Outcome::Value { value, standard_error }, true) = (outcome, streams) {
            probes.add(kit, at_h, quantity, value, standard_error);
        } else if let Some(said) = said(quantity, outcome) {
            self.observed.push(Observed { at_h, quantity, said, kit, burst: 0.0 });
        } else {
            self.left_out += 1;
        }
        Ok(())
    }

    fn kit(&mut self, method: &method::Method, quantity: Q, outcome: Outcome) -> usize {
        let (figure, error) = match outcome {
            Outcome::Value { value, standard_error } => (value, standard_error),
            other => (other.figure().unwrap_or(0.0), 0.0),
        };
        let drift_error = drift_error(&method.kind, quantity, figure);
        let offset = if drift_error > 0.0 && quantity == Q::Ph { PROBE_OFFSET_PH } else { SHARED * error };
        let drop = method.drop_of(quantity).unwrap_or(0.0);
        let found = self.kits.iter().position(|k| k.method == method.id && k.quantity == quantity);
        let index = found.unwrap_or_else(|| {
            self.kits.push(Kit {
                method: method.id.to_string(),
                name: method.name.to_string(),
                quantity,
                bias: DROPS_BEYOND * drop,
                bias_error: 0.0,
                drift_error: 0.0,
                by_hand: is_by_hand(&method.kind),
            });
            self.kits.len() - 1
        });
        if let Some(kit) = self.kits.get_mut(index) {
            // The error of most methods grows with the figure; the bias is held to the largest that was met.
            kit.bias_error = kit.bias_error.max(offset.hypot(DROPS_BEYOND_ERROR * drop));
            kit.drift_error = kit.drift_error.max(drift_error);
        }
        index
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::case::CaseText;
    use tub::{Event, Settings, State, Timed, Tub, follow};
    use water::{Celsius, Chemical, Equilibria, Ph};

    /// Standard errors of the readings of a day, with or without a bath written down.
    fn errors(bath: &str) -> Vec<(Q, f64)> {
        let text = format!(
            "[tub]\nvolume_l = 1300\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"sodium-bisulfate\"\n\
             [[reading]]\nat = 2026-05-02T08:00:00Z\nquantity = \"free_chlorine\"\nvalue = 4.0\nmethod = \"photometer\"\n\
             [[reading]]\nat = 2026-05-02T08:00:00Z\nquantity = \"ph\"\nvalue = 7.4\nmethod = \"photometer\"\n{bath}"
        );
        let case = CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case");
        let error = |o: &Observed| match o.said {
            Said::Value { standard_error, .. } => (o.quantity, standard_error.hypot(o.burst)),
            _ => (o.quantity, f64::NAN),
        };
        History::of(&case).expect("a history").observed.iter().map(error).collect()
    }

    /// The acid of monopersulfate that the whole physics leaves after some days is the acid that the course is told of.
    #[test]
    fn a_dose_of_monopersulfate_brings_the_acid_that_it_leaves() {
        let text = "[tub]\nvolume_l = 1000\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"monopersulfate\"\nname = \"oxidiser\"\npurity_percent = 100\n\
             [[dose]]\nat = 2026-05-01T08:00:00Z\nproduct = \"oxidiser\"\nmass_g = 30\n\
             [[reading]]\nat = 2026-05-02T08:00:00Z\nquantity = \"ph\"\nvalue = 7.4\nmethod = \"photometer\"\n";
        let case = CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case");
        let history = History::of(&case).expect("a history");
        let [(_, Act::Dose { moles, .. })] = history.acts[..] else { panic!("{:?}", history.acts) };

        let at = Equilibria::at(Celsius(38.0)).unwrap();
        let fill = Totals { alkalinity: 1.6e-3, ..Totals::default() };
        let fill = at.solve_at_ph(&fill, Ph(7.4)).unwrap().totals.closed_with_sodium_chloride();
        let world = Tub::default();
        let start = State::filled(1000.0, Celsius(38.0), fill, world.headspace_m3, Settings::default());
        let mol = case.shelf[0].active_mol_per_g * 30.0;
        let dose = Timed { at_h: 0.0, event: Event::Dose { chemical: Chemical::Monopersulfate, mol } };
        let alkalinity = |events: &[Timed]| {
            let end = follow(&world, &start, events, &[120.0]).unwrap().end;
            end.totals.alkalinity * end.water_kg
        };
        let acid = alkalinity(&[dose]) - alkalinity(&[]);
        assert!(acid < -1.4 * mol, "{acid} of {mol}");
        assert!((moles.alkalinity / acid - 1.0).abs() < 0.005, "{} against {acid}", moles.alkalinity);
        assert_eq!(moles.monopersulfate, 0.0);
    }

    #[test]
    fn chlorine_and_ph_count_for_less_where_nobody_writes_down_who_bathed() {
        let unseen = errors("");
        let seen =
            errors("[[event]]\nat = 2026-05-01T19:00:00Z\nkind = \"bathers\"\npeople = 2\nminutes = 30\n");
        for ((q, without), (_, with)) in unseen.into_iter().zip(seen) {
            let more = (without * without - with * with).max(0.0).sqrt();
            let expected = if q == Q::FreeChlorine { unseen::BURST * 4.0 } else { unseen::BURST_PH };
            assert!((more - expected).abs() < 1e-9, "{q:?}: {more}");
        }
    }
}
