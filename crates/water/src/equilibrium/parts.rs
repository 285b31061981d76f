//! The species as the solve sees them: core, satellites and forms, all worked out from the table at compile time.
//!
//! Hydrogen, carbon, sulfate and (with an oxidant) the halogens are the *core*: they meet each other. Calcium,
//! magnesium, sodium, potassium, boron, ammonium and cyanurate are *satellites*: each stands once in every one of its
//! species and no two of them meet. A satellite therefore only shares itself out among its forms (free, with
//! bicarbonate, with sulfate …), in shares that the core alone decides; its own activity needs no search.

use super::Known;
use crate::activity::{CLASSES, class_of};
use crate::species::{COMPONENTS, COUNT, Component, TABLE};

/// Components of the core.
pub(super) const CORE: usize = 6;
/// How many of them a water without oxidant needs: the first ones.
pub(super) const CORE_WITHOUT_OXIDANT: usize = 3;
pub(super) const HYDROGEN: usize = 0;
pub(super) const CARBON: usize = 1;
pub(super) const SULFATE: usize = 2;
pub(super) const OXIDANT: usize = 3;
pub(super) const CHLORIDE: usize = 4;
pub(super) const BROMIDE: usize = 5;
/// In the order of the indices above.
pub(super) static CORE_COMPONENTS: [Component; CORE] = [
    Component::Hydrogen,
    Component::Carbon,
    Component::Sulfate,
    Component::Oxidant,
    Component::Chloride,
    Component::Bromide,
];
/// Totals no larger, mol/kg, count as absent: a few thousand atoms in a kilogram, and near where numbers lose their digits
/// a search would never settle.
const TRACE: f64 = 1e-20;
const SATELLITES: usize = COMPONENTS - CORE;

/// What of the core (and how much water) a species holds; the same for CaHCO3+, MgHCO3+ and HCO3-.
#[derive(Clone, Copy)]
pub(super) struct Form {
    /// Coefficients of the core components.
    pub(super) n: [f64; CORE],
    pub(super) water: f64,
    /// A bit for every core component in it.
    mask: u8,
}

/// Room for the forms; a power of two, so that an index can be masked into range.
pub(super) const FORMS: usize = 32;

/// A species by its form, activity class and charge.
#[derive(Clone, Copy)]
pub(super) struct Part {
    pub(super) form: u8,
    pub(super) class: u8,
    pub(super) half_z2: f64,
}

const NO_PART: Part = Part { form: 0, class: 0, half_z2: 0.0 };

struct Parts {
    forms: [Form; FORMS],
    parts: [Part; COUNT],
    /// Species of each satellite: they stand together in the table.
    satellites: [Satellite; SATELLITES],
    /// Species without a satellite.
    core_species: [u8; COUNT],
    core_species_count: usize,
}

#[derive(Clone, Copy)]
struct Satellite {
    component: usize,
    first: usize,
    count: usize,
}

static PARTS: Parts = work_out();

const fn place_in_core(c: Component) -> Option<usize> {
    match c {
        Component::Hydrogen => Some(HYDROGEN),
        Component::Carbon => Some(CARBON),
        Component::Sulfate => Some(SULFATE),
        Component::Oxidant => Some(OXIDANT),
        Component::Chloride => Some(CHLORIDE),
        Component::Bromide => Some(BROMIDE),
        _ => None,
    }
}

const fn work_out() -> Parts {
    const NOTHING: Form = Form { n: [0.0; CORE], water: 0.0, mask: 0 };
    let mut all = Parts {
        forms: [NOTHING; FORMS],
        parts: [NO_PART; COUNT],
        satellites: [Satellite { component: 0, first: 0, count: 0 }; SATELLITES],
        core_species: [0; COUNT],
        core_species_count: 0,
    };
    let (mut form_count, mut satellite_count) = (1, 0);
    let mut s = 0;
    while s < COUNT {
        let species = &TABLE[s];
        let mut form = Form { water: species.water as f64, ..NOTHING };
        let mut satellite = None;
        let mut i = 0;
        while i < species.made_of.len() {
            let (c, n) = species.made_of[i];
            if let Some(place) = place_in_core(c) {
                form.n[place] = n as f64;
                form.mask |= 1 << place;
            } else {
                assert!(n == 1 && satellite.is_none(), "a satellite stands once, and alone");
                satellite = Some(c as usize);
            }
            i += 1;
        }
        match satellite {
            Some(component) => {
                if satellite_count == 0 || all.satellites[satellite_count - 1].component != component {
                    all.satellites[satellite_count] = Satellite { component, first: s, count: 0 };
                    satellite_count += 1; // an index out of range here: a satellite's species do not stand together
                }
                all.satellites[satellite_count - 1].count += 1;
            }
            None => {
                all.core_species[all.core_species_count] = s as u8;
                all.core_species_count += 1;
            }
        }
        let mut f = 0;
        while f < form_count && !same_form(&all.forms[f], &form) {
            f += 1;
        }
        if f == form_count {
            all.forms[f] = form;
            form_count += 1;
        }
        let charge = species.charge as f64;
        all.parts[s] = Part { form: f as u8, class: class_of(species) as u8, half_z2: 0.5 * charge * charge };
        s += 1;
    }
    all
}

const fn same_form(a: &Form, b: &Form) -> bool {
    let mut i = 0;
    while i < CORE {
        if a.n[i] != b.n[i] {
            return false;
        }
        i += 1;
    }
    a.water == b.water
}

/// Form by index.
#[inline]
pub(super) fn form(f: u8) -> &'static Form {
    &PARTS.forms[f as usize % FORMS]
}

/// Part by species.
#[inline]
pub(super) fn part(s: u8) -> &'static Part {
    &PARTS.parts[s as usize % COUNT]
}

/// A satellite that is there: what it totals and where its species stand among the active ones.
#[derive(Clone, Copy, Default)]
pub(super) struct Group {
    pub(super) component: usize,
    pub(super) total: f64,
    pub(super) start: usize,
    pub(super) end: usize,
}

/// Which components and species take part, species by place: the core's first, then group by group.
pub(super) struct Active {
    /// Whether a core component is there.
    pub(super) core: [bool; CORE],
    /// Total of each core component.
    pub(super) total: [f64; CORE],
    species: [u8; COUNT],
    parts: [Part; COUNT],
    species_count: usize,
    pub(super) core_end: usize,
    groups: [Group; SATELLITES],
    group_count: usize,
    /// Forms that occur.
    forms: [u8; FORMS],
    form_count: usize,
    /// Chloride and bromide that are there but without chemistry (no oxidant): spectators.
    pub(super) idle_chloride: f64,
    pub(super) idle_bromide: f64,
}

impl Active {
    pub(super) fn of(totals: &[f64; COMPONENTS], known: Known) -> Self {
        let mut total = [0.0; CORE];
        for (total, c) in total.iter_mut().zip(CORE_COMPONENTS) {
            let given = totals[c as usize];
            *total = if c != Component::Hydrogen && given <= TRACE { 0.0 } else { given };
        }
        let oxidant = total[OXIDANT] > 0.0;
        // Bromide sets chloride free, so that chloride acts even if there was none.
        let chloride = oxidant && (total[CHLORIDE] > 0.0 || total[BROMIDE] > 0.0);
        let mut active = Active {
            core: [
                true,
                total[CARBON] > 0.0 || matches!(known, Known::Ph(_)),
                total[SULFATE] > 0.0,
                oxidant,
                chloride,
                oxidant && total[BROMIDE] > 0.0,
            ],
            total,
            species: [0; COUNT],
            parts: [NO_PART; COUNT],
            species_count: 0,
            core_end: 0,
            groups: [Group::default(); SATELLITES],
            group_count: 0,
            forms: [0; FORMS],
            form_count: 0,
            idle_chloride: if oxidant { 0.0 } else { total[CHLORIDE] },
            idle_bromide: if oxidant { 0.0 } else { total[BROMIDE] },
        };
        let mut missing = 0u8;
        for (i, there) in active.core.iter().enumerate() {
            missing |= u8::from(!there) << i;
        }
        let mut forms = 0u32;
        for &s in &PARTS.core_species[..PARTS.core_species_count] {
            active.admit(s, missing, &mut forms);
        }
        active.core_end = active.species_count;
        for satellite in &PARTS.satellites {
            let total = totals[satellite.component];
            if total > TRACE {
                let start = active.species_count;
                for s in satellite.first..satellite.first + satellite.count {
                    active.admit(s as u8, missing, &mut forms);
                }
                active.groups[active.group_count] =
                    Group { component: satellite.component, total, start, end: active.species_count };
                active.group_count += 1;
            }
        }
        while forms != 0 {
            active.forms[active.form_count] = forms.trailing_zeros() as u8;
            active.form_count += 1;
            forms &= forms - 1;
        }
        active
    }

    /// Takes a species in if all that it is made of is there.
    #[inline]
    fn admit(&mut self, s: u8, missing: u8, forms: &mut u32) {
        let part = *part(s);
        let f = part.form;
        if form(f).mask & missing == 0 {
            self.species[self.species_count] = s;
            self.parts[self.species_count] = part;
            self.species_count += 1;
            *forms |= 1 << f;
        }
    }

    pub(super) fn species(&self) -> &[u8] {
        &self.species[..self.species_count]
    }

    /// Of the species, in their order.
    pub(super) fn parts(&self) -> &[Part] {
        &self.parts[..self.species_count]
    }

    pub(super) fn groups(&self) -> &[Group] {
        &self.groups[..self.group_count]
    }

    pub(super) fn forms(&self) -> &[u8] {
        &self.forms[..self.form_count]
    }
}

impl Part {
    /// Index of the activity class.
    #[inline]
    pub(super) fn class(&self) -> usize {
        self.class as usize % CLASSES
    }

    /// Index of the form.
    #[inline]
    pub(super) fn form(&self) -> usize {
        self.form as usize % FORMS
    }
}
