//! The firm: people, source waters, shelves, sites, tubs.

use super::random::Random;
use super::{Scribe, life};
use book::{Kind, NewEntry, Uuid};
use serde_json::{Value, json};

const DAY_US: i64 = 86_400_000_000;
/// How far back the record goes, days.
const DAYS: i64 = 130;
const TUBS: usize = 42;

/// Name, and an invented analysis that is plausible as a whole.
fn waters() -> [(&'static str, Value); 4] {
    [
        (
            "Upper valley, soft upland water (invented)",
            json!({"name": "Upper valley (invented)", "temperature_c": 12.0, "ph": 7.3,
            "total_alkalinity_mg_l_caco3": 32.0, "calcium_hardness_mg_l_caco3": 26.0, "magnesium_mg_l": 1.5, "sodium_mg_l": 8.0, "chloride_mg_l": 9.0, "sulfate_mg_l": 7.0}),
        ),
        (
            "Plain, hard groundwater (invented)",
            json!({"name": "Plain (invented)", "temperature_c": 13.0, "ph": 7.4,
            "total_alkalinity_mg_l_caco3": 190.0, "calcium_hardness_mg_l_caco3": 215.0, "magnesium_mg_l": 14.0, "sodium_mg_l": 16.0, "chloride_mg_l": 38.0, "sulfate_mg_l": 52.0}),
        ),
        (
            "Ridge, alkaline and softened (invented)",
            json!({"name": "Ridge (invented)", "temperature_c": 14.0, "ph": 8.0,
            "total_alkalinity_mg_l_caco3": 150.0, "calcium_hardness_mg_l_caco3": 35.0, "magnesium_mg_l": 3.0, "sodium_mg_l": 68.0, "chloride_mg_l": 20.0, "sulfate_mg_l": 18.0}),
        ),
        (
            "Marsh lane, brackish well (invented)",
            json!({"name": "Marsh lane well (invented)", "temperature_c": 11.0, "ph": 7.6,
            "total_alkalinity_mg_l_caco3": 140.0, "calcium_hardness_mg_l_caco3": 160.0, "magnesium_mg_l": 22.0, "sodium_mg_l": 210.0, "chloride_mg_l": 350.0, "sulfate_mg_l": 60.0, "iron_mg_l": 0.05}),
        ),
    ]
}

const STREETS: [&str; 14] = [
    "Alder Row",
    "Bracken Close",
    "Cooper's Yard",
    "Dovecote",
    "Elder Bank",
    "Fennel Walk",
    "Gorse Hill",
    "Hazel Court",
    "Ivy Steps",
    "Juniper Way",
    "Kelp Quay",
    "Larch Rise",
    "Mossy Lane",
    "Nettle End",
];

/// The whole record, oldest first.
pub(super) fn entries(seed: u64, now_us: i64) -> Vec<NewEntry> {
    let mut scribe = Scribe { random: Random::seeded(seed), entries: Vec::new() };
    let begin = now_us - DAYS * DAY_US;
    let people: Vec<Uuid> = [
        ("Desk (invented)", "lead"),
        ("North round (invented)", "technician"),
        ("South round (invented)", "technician"),
    ]
    .into_iter()
    .map(|(name, role)| {
        thing(
            &mut scribe,
            Kind::Person,
            begin,
            json!({"name": name, "role": role, "language": "en", "units": "metric"}),
        )
    })
    .collect();
    let waters = waters();
    let sources: Vec<Uuid> = waters
        .iter()
        .map(|(_, analysis)| thing(&mut scribe, Kind::SourceWater, begin, analysis.clone()))
        .collect();
    let sites: Vec<Uuid> = waters
        .iter()
        .map(|(name, _)| {
            thing(&mut scribe, Kind::Site, begin, json!({"name": name.split(',').next().unwrap_or(name)}))
        })
        .collect();
    thing(
        &mut scribe,
        Kind::Shelf,
        begin,
        json!({"name": "Van, north (invented)", "of": "van", "products": products(true, false)}),
    );
    for n in 0..TUBS {
        let area = n % waters.len();
        let by = people[1 + n % 2];
        let tub = Plot {
            name: format!("{} {}", STREETS[n % STREETS.len()], 1 + n / STREETS.len() * 7 + n % 5),
            number: n,
            source: (sources[area], waters[area].1.clone()),
            site: sites[area],
            by,
            salt: n % 5 < 2,
            place: match n % 11 {
                0 => "public",
                1 | 2 => "rental",
                _ => "home",
            },
        };
        plot(&mut scribe, &tub, begin, now_us);
    }
    let mut entries = scribe.entries;
    entries.sort_by_key(|e| (e.at_us, e.id));
    entries
}

/// What is decided of a tub before it lives.
struct Plot {
    name: String,
    number: usize,
    source: (Uuid, Value),
    site: Uuid,
    by: Uuid,
    salt: bool,
    place: &'static str,
}

fn plot(scribe: &mut Scribe, tub: &Plot, begin: i64, now_us: i64) {
    let products = products(scribe.random.chance(0.5), tub.salt);
    let shelf_name = format!("{}, owner's (invented)", tub.name);
    let shelf = thing(
        scribe,
        Kind::Shelf,
        begin,
        json!({"name": shelf_name, "of": "owner", "products": products.clone()}),
    );
    let volume = (scribe.random.between(9.0, 18.0)).round() * 100.0;
    let mut vessel = json!({"name": tub.name, "volume_l": volume, "volume_measured": scribe.random.chance(0.4),
        "temperature_c": scribe.random.between(36.0, 39.0).round(), "regime": if tub.salt { "salt-cell" } else { "chlorine" }, "place": tub.place});
    if tub.salt {
        vessel["cell_window_mg_l"] = json!([1500.0, 2500.0]);
    }
    let kit = json!({"ph": "comparator", "free_chlorine": "dpd-comparator", "total_alkalinity": "drop-titration-10"});
    let body = json!({"name": tub.name, "site": tub.site, "address": format!("{} (invented)", tub.name),
        "owner_name": format!("Owner {} (invented)", tub.number + 1), "language": "en", "tub": vessel.clone(),
        "source_water": tub.source.0, "shelf": shelf, "kit": kit, "public": tub.place == "public"});
    let filled = begin + (scribe.random.between(0.0, 60.0) * DAY_US as f64) as i64;
    let id = scribe.id(filled);
    scribe.write(Kind::Tub, id, filled, Some(tub.by), body);
    let case = json!({"tub": vessel, "source_water": tub.source.1, "shelf": products});
    life::live(scribe, &life::Start { tub: id, by: tub.by, case, filled, now_us, salt: tub.salt });
}

fn thing(scribe: &mut Scribe, kind: Kind, at_us: i64, body: Value) -> Uuid {
    let id = scribe.id(at_us);
    scribe.write(kind, id, at_us, None, body);
    id
}

/// What stands on a shelf: capfuls for owners, a scale in the van.
fn products(scale: bool, salt: bool) -> Vec<Value> {
    let measure = |grams: f64| match scale {
        true => json!({"kind": "scale", "smallest": 5.0}),
        false => json!({"kind": "capful", "grams": grams, "smallest": 0.25}),
    };
    let mut products = vec![
        json!({"chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93.0, "measure": measure(42.0), "price_per_kg": 4.0}),
        json!({"chemical": "sodium-bicarbonate", "name": "alkalinity up", "purity_percent": 99.0, "measure": measure(30.0), "price_per_kg": 2.0}),
        json!({"chemical": "calcium-chloride", "name": "hardness up", "purity_percent": 77.0, "measure": measure(25.0), "price_per_kg": 3.0}),
        json!({"chemical": "dichlor", "name": "quick chlorine", "available_chlorine_percent": 56.0, "measure": measure(28.0), "price_per_kg": 11.0}),
        json!({"chemical": "sodium-hypochlorite", "name": "liquid chlorine", "available_chlorine_g_l": 120.0, "age_days": 20.0, "measure": {"kind": "millilitres", "smallest": 5.0}, "price_per_kg": 2.0}),
    ];
    if salt {
        products.push(json!({"chemical": "sodium-chloride", "name": "tub salt", "purity_percent": 99.5, "measure": {"kind": "scale", "smallest": 50.0}, "price_per_kg": 1.0}));
    }
    products
}
