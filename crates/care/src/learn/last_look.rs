//! From the last look to now. What it showed of bathing that nobody wrote down is true of the water (`unseen`): it goes on from
//! there, the chlorine until it is used up, the carbon dioxide until it has left. And what was dosed since then no reading has told
//! of yet: one capful is not like the next.

use super::chance::Chance;
use super::course::Now;
use super::draws::Draw;
use super::history::{Act, History, Observed};
use super::kits::Kits;
use super::learned::Learned;
use super::posterior::quantity;
use super::unseen::shown;
use crate::quantity::Quantity as Q;
use water::units::{mol_kg_from_mg_l, molar_mass};
use water::{Ph, Totals};

/// Readings within so many hours are one look.
const SAME_LOOK_H: f64 = 8.0;
/// A look longer ago says nothing of what was not seen since, hours.
const LASTS_H: f64 = 7.0 * 24.0;
/// pH that a water can be brought to.
const PH: (f64, f64) = (5.5, 9.8);

impl History {
    /// Whether it was read by itself, and is not of a stream of figures.
    fn is_no_stream(&self, o: &Observed) -> bool {
        self.kits.get(o.kit).is_some_and(|k| k.drift_error == 0.0)
    }

    /// The first reading by hand of the last look, if it is not long ago. A probe's stream shows bursts as they come.
    pub(super) fn last_look(&self) -> Option<usize> {
        let last = self.observed.iter().rfind(|o| self.is_no_stream(o))?;
        let of_it = |o: &Observed| self.is_no_stream(o) && last.at_h - o.at_h <= SAME_LOOK_H;
        (self.now_h - last.at_h <= LASTS_H).then(|| self.observed.iter().position(of_it)).flatten()
    }
}

impl Learned {
    /// Each draw's water from the last look to now: brought to what that look shows of bursts, and each measure of a dose
    /// since then filled as measures are, which no reading tells of.
    pub(super) fn go_on_from_last_look(&mut self, chance: &mut Chance) {
        let Some(first) = self.history.last_look() else { return };
        let acts = self.acts();
        let mut draws = std::mem::take(&mut self.draws);
        for draw in &mut draws {
            if let Some(now) = draw.look.and_then(|now| self.since_look(draw, now, first, &acts, chance)) {
                draw.now = now;
            }
        }
        self.draws = draws;
    }

    /// `None` if the water leaves what the chemistry covers.
    fn since_look(
        &self,
        draw: &Draw,
        mut now: Now,
        first: usize,
        acts: &[(f64, Act)],
        chance: &mut Chance,
    ) -> Option<Now> {
        let (course, from_h) = (self.course(draw), now.at_h);
        let mut acts = acts.iter().filter(|(at_h, _)| *at_h >= from_h).copied().peekable();
        let mut go_on = |now: &mut Now, until_h: f64, chance: &mut Chance| {
            while let Some((at_h, act)) = acts.next_if(|(at_h, _)| *at_h < until_h) {
                course.pass(now, at_h)?;
                course.act(now, &self.filled(act, chance))?;
            }
            Some(())
        };
        for observed in self.history.observed.iter().skip(first).filter(|o| o.burst > 0.0) {
            if self.history.is_no_stream(observed) {
                go_on(&mut now, observed.at_h, chance)?;
                course.pass(&mut now, observed.at_h)?;
                self.show(&mut now, observed, &course.things.kits, chance)?;
            }
        }
        go_on(&mut now, f64::INFINITY, chance)?;
        course.pass(&mut now, self.history.now_h)?;
        Some(now)
    }

    /// A dose as one measure is filled, and another not quite.
    fn filled(&self, act: Act, chance: &mut Chance) -> Act {
        let Act::Dose { moles, product } = act else { return act };
        let each = self.history.measures.get(product).map_or(0.0, |held| held.each);
        Act::Dose { moles: Totals::default().plus(&moles, libm::exp(each * chance.normal())), product }
    }

    /// A water brought to what a reading shows of bursts.
    fn show(&self, now: &mut Now, observed: &Observed, kits: &Kits, chance: &mut Chance) -> Option<()> {
        let believed = quantity(observed.quantity, now, &self.at)?;
        let shown = shown(observed, believed, kits, chance);
        match observed.quantity {
            Q::FreeChlorine => now.leave_unused(mol_kg_from_mg_l(shown - believed, molar_mass::CL2)),
            Q::Ph => {
                // The carbon dioxide that was let out or not.
                now.totals.carbon =
                    self.at.solve_at_ph(&now.totals, Ph(shown.clamp(PH.0, PH.1))).ok()?.totals.carbon;
                now.forget();
            }
            _ => {}
        }
        Some(())
    }

    /// The draws' waters brought to what the reading shows that was taken up just now.
    pub(super) fn take_burst_now(&mut self, chance: &mut Chance) {
        let Some(observed) = self.history.observed.last().filter(|o| o.burst > 0.0).copied() else { return };
        if !self.history.is_no_stream(&observed) {
            return;
        }
        let mut draws = std::mem::take(&mut self.draws);
        for draw in &mut draws {
            let kits = self.kits(draw);
            let mut now = draw.now;
            if self.show(&mut now, &observed, &kits, chance).is_some() {
                draw.now = now;
            }
        }
        self.draws = draws;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learn::history::Said;
    use crate::learn::learn;
    use crate::wire::case::CaseText;

    /// A tub whose 6 g of quick chlorine are gone two days later, look after look, and once are not.
    fn case(more: &str) -> crate::case::Case {
        let mut text = String::from(
            "[tub]\nvolume_l = 1200\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"dichlor\"\nname = \"quick\"\navailable_chlorine_percent = 56\n",
        );
        let reading = |text: &mut String, day: u32, quantity: &str, value: f64| {
            *text += &format!(
                "[[reading]]\nat = 2026-03-{day:02}T18:00:00Z\nquantity = \"{quantity}\"\nvalue = {value}\nmethod = \"photometer\"\n"
            );
        };
        for look in 0..7 {
            let day = 1 + 2 * look;
            reading(&mut text, day, "ph", 7.5);
            reading(&mut text, day, "free_chlorine", if look == 6 { 2.6 } else { 0.3 });
            if look < 6 {
                text +=
                    &format!("[[dose]]\nat = 2026-03-{day:02}T18:30:00Z\nproduct = \"quick\"\nmass_g = 6\n");
            }
        }
        text += more;
        CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case")
    }

    #[test]
    fn what_was_read_just_now_is_believed_after_quiet_days() {
        let [low, middle, high] = learn(&case(""), 1).unwrap().now(Q::FreeChlorine).unwrap();
        assert!((2.0..3.0).contains(&middle) && low > 1.2 && high < 3.4, "{low} {middle} {high}");
    }

    /// A few hours on, what was there is used at the usual pace, and doses count beside it.
    #[test]
    fn the_water_goes_on_from_what_was_read() {
        let now = |more: &str| learn(&case(more), 1).unwrap().now(Q::FreeChlorine).unwrap()[1];
        let later = now("[[event]]\nat = 2026-03-14T06:00:00Z\nkind = \"note\"\ntext = \"cover on\"\n");
        let there = now("");
        assert!(later < 0.9 * there && later > 0.3 * there, "{there}, then {later}");
        let dosed = now("[[dose]]\nat = 2026-03-13T18:10:00Z\nproduct = \"quick\"\nmass_g = 6\n");
        // 6 g of 56 % in 1200 L, or a little less water: 2.8 mg/L and some more.
        assert!((2.3..4.0).contains(&(dosed - there)), "{there}, then {dosed}");
    }

    #[test]
    fn a_probes_stream_is_no_look_and_a_look_of_long_ago_is_none() {
        let stream = |month: u32| -> String {
            (0..24)
                .map(|hour| {
                    format!(
                        "[[reading]]\nat = 2026-{month:02}-14T{hour:02}:00:00Z\nquantity = \"free_chlorine\"\nvalue = 1.0\nmethod = \"amperometric-probe\"\n"
                    )
                })
                .collect()
        };
        let history = History::of(&case(&stream(3))).unwrap();
        let first = history.observed[history.last_look().unwrap()];
        // pH and chlorine were read in the same minute of the thirteenth.
        assert!(matches!(first.said, Said::Value { value, .. } if (value - 7.5).abs() < 1e-9), "{first:?}");
        assert!(history.observed.last().unwrap().at_h > first.at_h, "the stream came later");
        assert_eq!(History::of(&case(&stream(4))).unwrap().last_look(), None);
    }

    /// One capful is not like the next, and no reading has told of the last one yet.
    #[test]
    fn a_dose_since_the_last_look_is_not_known_to_the_gram() {
        let dose = "[[dose]]\nat = 2026-03-13T18:10:00Z\nproduct = \"quick\"\nmass_g = 30\n";
        let with = |held: f64| {
            let case = case(dose);
            let mut learned = learn(&case, 1).unwrap();
            for held_of in &mut learned.history.measures {
                held_of.each = held;
            }
            learned.go_on_from_last_look(&mut Chance::of(1));
            let [low, _, high] = learned.now(Q::FreeChlorine).unwrap();
            high - low
        };
        let (even, uneven) = (with(0.0), with(0.2));
        assert!(uneven > 1.3 * even, "{even} {uneven}");
    }
}
