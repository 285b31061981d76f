//! Random cases for tests and the benchmark: invented tubs, waters, shelves and readings from a seeded generator.
//!
//! `plain` cases are what a technician may meet; `wild` ones are anything that a case can say.

use care::amount::Units;
use care::band::{Place, Regime};
use care::case::{
    Case, Entry, Happening, Measure, MeasureKind, PlanKind, Product, Raw, Reading, SourceWater, Substance,
    Tub, When,
};
use care::method::{Kind, Method, Reagent, Scale, Standing, Step};
use care::quantity::Quantity as Q;
use std::borrow::Cow;
use water::Chemical as C;

/// Sebastiano Vigna's splitmix64 (public domain): small, seeded, the same everywhere.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn seeded(seed: u64) -> Self {
        Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.between(0.0, 1.0) < p
    }

    fn one_of<T: Copy>(&mut self, items: &[T]) -> T {
        items[self.below(items.len())]
    }
}

/// What a case may be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Water {
    /// Some quantities in their bands, some not.
    Plain,
    /// Every quantity far out of its band.
    AllOut,
    /// Anything that can be entered.
    Wild,
}

/// Products that can be on a shelf: substance, share of it in the product, g/mL of a liquid.
const PRODUCTS: [(Substance, f64, Option<f64>); 20] = {
    const fn solid(c: C, share: f64) -> (Substance, f64, Option<f64>) {
        (Substance::Chemical(c), share, None)
    }
    const fn liquid(c: C, share: f64, density: f64) -> (Substance, f64, Option<f64>) {
        (Substance::Chemical(c), share, Some(density))
    }
    [
        solid(C::SodiumBisulfate, 0.93),
        solid(C::SodiumBicarbonate, 0.99),
        solid(C::CalciumChloride, 0.77),
        solid(C::Dichlor, 0.87),
        solid(C::SodiumChloride, 0.995),
        solid(C::SodiumCarbonate, 0.99),
        liquid(C::SodiumHypochlorite, 0.10, 1.16),
        solid(C::CyanuricAcid, 0.98),
        liquid(C::HydrochloricAcid, 0.31, 1.15),
        solid(C::SodiumBromide, 0.98),
        solid(C::Monopersulfate, 0.85),
        solid(C::SodiumThiosulfate, 0.99),
        solid(C::CalciumHypochlorite, 0.65),
        solid(C::SodiumSesquicarbonate, 0.98),
        solid(C::BoricAcid, 0.99),
        solid(C::Borax, 0.99),
        liquid(C::HydrogenPeroxide, 0.30, 1.11),
        (Substance::MineralSalt, 1.0, None),
        solid(C::Trichlor, 0.9),
        liquid(C::SodiumHydroxide, 0.25, 1.27),
    ]
};

/// A product of the list, with an owner's measure.
pub(crate) fn product(random: &mut Random, which: usize) -> Product {
    let (substance, share, density_g_ml) = PRODUCTS[which];
    let active_mol_per_g = match substance {
        Substance::Chemical(c) => share / c.molar_mass_g(),
        _ => 0.0,
    };
    let companion = matches!(substance, Substance::Chemical(C::SodiumHypochlorite));
    let bulk = matches!(substance, Substance::Chemical(C::SodiumChloride) | Substance::MineralSalt);
    let measure = match density_g_ml {
        Some(density) => {
            let smallest = random.one_of(&[1.0, 5.0, 10.0]);
            Measure { kind: MeasureKind::Millilitres, grams_each: density, smallest }
        }
        None if bulk => Measure { kind: MeasureKind::Scale, grams_each: 1.0, smallest: 50.0 },
        None if random.chance(0.4) => {
            Measure { kind: MeasureKind::Scale, grams_each: 1.0, smallest: random.one_of(&[1.0, 5.0, 10.0]) }
        }
        None => Measure {
            kind: random.one_of(&[MeasureKind::Capful, MeasureKind::Scoop]),
            grams_each: random.between(10.0, 40.0).round(),
            smallest: 0.25,
        },
    };
    Product {
        name: format!("product {which}"),
        substance,
        active_mol_per_g,
        companion_salt_mol_per_g: if companion { active_mol_per_g } else { 0.0 },
        density_g_ml,
        measure,
        price_per_kg: random.chance(0.5).then(|| random.between(0.5, 20.0)),
        stock_g: random.chance(0.2).then(|| random.between(50.0, 3000.0)),
        age_days: None,
        assumed: Vec::new(),
    }
}

/// A shelf of so many different products; the commoner ones come first, so that eight are what a technician carries.
fn shelf(random: &mut Random, products: usize) -> Vec<Product> {
    let among = (products + products / 2).clamp(8, PRODUCTS.len());
    let mut all: Vec<usize> = (0..among).collect();
    for i in (1..all.len()).rev() {
        all.swap(i, random.below(i + 1));
    }
    all.truncate(products);
    all.into_iter().map(|which| product(random, which)).collect()
}

/// A method that reads everything, with errors scaled by `factor` (1 = an ordinary kit).
pub(crate) fn kit(factor: f64) -> Method {
    let scale = |quantity: Q, absolute_error: f64, relative_error: f64| Scale {
        quantity,
        low: 0.0,
        high: quantity.possible().1,
        step: Step::Even(0.0),
        absolute_error: absolute_error * factor,
        relative_error: relative_error * factor,
        reagent: Reagent::Other,
    };
    Method {
        id: Cow::Borrowed("test-kit"),
        name: Cow::Borrowed("test kit"),
        kind: Kind::Photometer,
        scales: Cow::Owned(vec![
            scale(Q::Ph, 0.1, 0.0),
            scale(Q::FreeChlorine, 0.1, 0.1),
            scale(Q::CombinedChlorine, 0.1, 0.1),
            scale(Q::TotalBromine, 0.2, 0.1),
            scale(Q::TotalAlkalinity, 5.0, 0.03),
            scale(Q::CalciumHardness, 10.0, 0.05),
            scale(Q::CyanuricAcid, 5.0, 0.1),
            scale(Q::Salt, 50.0, 0.05),
            scale(Q::Borate, 1.0, 0.1),
        ]),
        error_source: Cow::Borrowed("invented"),
        standing: Standing::User,
    }
}

fn reading(quantity: Q, value: f64) -> Entry {
    let raw = Raw::Value(value);
    let reading = Reading { quantity, method: "test-kit".to_string(), raw, line: None };
    Entry { at: None, what: Happening::Reading(reading) }
}

/// A figure for a quantity: low, usual from–to, high.
fn figure(random: &mut Random, kind: Water, (low, from, to, high): (f64, f64, f64, f64)) -> f64 {
    let out = match kind {
        Water::Plain => random.chance(0.45),
        Water::AllOut => true,
        Water::Wild => return random.between(0.5 * low, 1.6 * high),
    };
    match (out, random.chance(0.5)) {
        (false, _) => random.between(from, to),
        (true, true) => random.between(low, from),
        (true, false) => random.between(to, high),
    }
}

fn source(random: &mut Random, wild: bool) -> SourceWater {
    let mut maybe = |p: f64, low: f64, high: f64| random.chance(p).then(|| random.between(low, high));
    SourceWater {
        name: "tap (invented)".to_string(),
        temperature_c: maybe(0.7, 5.0, 25.0),
        ph: maybe(0.97, if wild { 5.0 } else { 6.8 }, if wild { 10.0 } else { 8.4 }),
        total_alkalinity_mg_l_caco3: maybe(0.97, 15.0, if wild { 500.0 } else { 300.0 }),
        calcium_hardness_mg_l_caco3: maybe(0.95, 10.0, if wild { 900.0 } else { 380.0 }),
        magnesium_mg_l: maybe(0.5, 1.0, 30.0),
        sodium_mg_l: maybe(0.5, 2.0, 60.0),
        potassium_mg_l: maybe(0.4, 0.5, 8.0),
        chloride_mg_l: maybe(0.6, 3.0, 120.0),
        sulfate_mg_l: maybe(0.5, 2.0, 120.0),
        free_chlorine_mg_l: maybe(0.3, 0.0, 1.0),
        price_per_m3: maybe(0.4, 1.0, 15.0),
        ..SourceWater::default()
    }
}

/// A case with so many products on the shelf.
pub(crate) fn random_case(random: &mut Random, water: Water, products: usize) -> Case {
    let wild = water == Water::Wild;
    let regime = random.one_of(&[Regime::SaltCell, Regime::HandDosedChlorine, Regime::Bromine]);
    let place = random.one_of(&[Place::Home, Place::Home, Place::Rental, Place::Public]);
    let start_up = random.chance(0.3);
    let mut entries = Vec::new();
    if start_up {
        entries.push(Entry { at: Some(When(0)), what: Happening::Fill });
    } else {
        let bromine = regime == Regime::Bromine;
        let mut read = |p: f64, q: Q, at: (f64, f64, f64, f64)| {
            if random.chance(p) {
                entries.push(reading(q, figure(random, water, at)));
            }
        };
        let nearly = if wild { 0.8 } else { 0.97 };
        read(nearly, Q::Ph, (6.4, 7.1, 7.7, 8.6));
        read(nearly, Q::TotalAlkalinity, (20.0, 70.0, 110.0, 260.0));
        if bromine {
            read(nearly, Q::TotalBromine, (0.0, 4.0, 6.0, 14.0));
        } else {
            read(nearly, Q::FreeChlorine, (0.0, 3.0, 5.0, 14.0));
            read(0.4, Q::CombinedChlorine, (0.0, 0.0, 0.3, 1.5));
            read(0.6, Q::CyanuricAcid, (0.0, 5.0, 30.0, 120.0));
        }
        read(0.9, Q::CalciumHardness, (20.0, 110.0, 170.0, 500.0));
        read(if regime == Regime::SaltCell { 0.95 } else { 0.3 }, Q::Salt, (300.0, 2100.0, 2700.0, 4500.0));
        read(0.1, Q::Borate, (0.0, 10.0, 40.0, 70.0));
    }
    Case {
        tub: Tub {
            name: "tub (invented)".to_string(),
            volume_l: random.between(if wild { 100.0 } else { 600.0 }, if wild { 9000.0 } else { 2500.0 }),
            volume_error: random.between(0.02, 0.15),
            volume_measured: random.chance(0.5),
            temperature_c: Some(
                random.between(if wild { 5.0 } else { 30.0 }, if wild { 44.0 } else { 40.0 }),
            ),
            regime,
            place,
            cell_window_mg_l: (regime == Regime::SaltCell && random.chance(0.5)).then_some((2000.0, 2800.0)),
            pump_cycle_min: 20.0,
        },
        source_water: (start_up || random.chance(0.85)).then(|| source(random, wild)),
        shelf: shelf(random, products),
        bands: Vec::new(),
        methods: vec![kit(random.between(0.3, 2.0))],
        entries,
        now: Some(When(3600)),
        kind: start_up.then_some(PlanKind::StartUp),
        notes: Vec::new(),
        units: Units::Metric,
    }
}
