//! Makes an invented book of any size, for measuring: `cargo run --release -p book --example large_book -- PATH TUBS
//! ENTRIES`. Every tub has a fill and then visits, six days apart and ending today: readings, two doses, a bath now and
//! then. Recorded as anything else is: checked, chained by hash.

use book::{Book, Kind, NewEntry, Place, Uuid};
use serde_json::{Value, json};
use std::time::{SystemTime, UNIX_EPOCH};

const DAY_US: i64 = 86_400_000_000;
/// How many entries go into one transaction.
const AT_ONCE: usize = 20_000;
/// Entries of a visit, on average, as `visit` makes them.
const OF_A_VISIT: usize = 5;

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let [path, tubs, entries] = asked.as_slice() else {
        return Err("PATH TUBS ENTRIES are needed".into());
    };
    let (tubs, wanted): (usize, usize) = (tubs.parse()?, entries.parse()?);
    let now_us = i64::try_from(SystemTime::now().duration_since(UNIX_EPOCH)?.as_micros())?;
    let book = Book::open(&Place::parse(path)?).await?;
    let mut writer = Writer { book, now_us, chance: 1, waits: Vec::with_capacity(AT_ONCE), written: 0 };
    let visits = (wanted / tubs).saturating_sub(2) / OF_A_VISIT;
    let begin = now_us - (visits as i64 + 1) * 6 * DAY_US;
    let shared = things(&mut writer, begin).await?;
    let mut all = Vec::with_capacity(tubs);
    for n in 0..tubs {
        all.push(tub(&mut writer, begin, n, &shared).await?);
    }
    // In order of time, as a firm records: every tub's visit, then every tub's next.
    for visit in 0.. {
        if writer.written + writer.waits.len() >= wanted {
            break;
        }
        for (n, tub) in all.iter().enumerate() {
            let minutes = (n * 8640 / tubs) as i64;
            let at = begin + (visit + 1) * 6 * DAY_US - 5 * DAY_US + minutes * 50_000_000;
            self::visit(&mut writer, *tub, at.min(now_us), visit).await?;
            if writer.written + writer.waits.len() >= wanted {
                break;
            }
        }
    }
    writer.flush().await?;
    eprintln!("{} entries of {tubs} tubs", writer.written);
    writer.book.close().await;
    Ok(())
}

struct Writer {
    book: Book,
    now_us: i64,
    chance: u64,
    waits: Vec<NewEntry>,
    written: usize,
}

impl Writer {
    /// SplitMix64 (Steele, Lea, Flood 2014): the same book every time.
    fn bits(&mut self) -> u64 {
        self.chance = self.chance.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.chance;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A version 7 id of a moment.
    fn id(&mut self, at_us: i64) -> Uuid {
        let mut bytes = [0; 10];
        bytes[..8].copy_from_slice(&self.bits().to_le_bytes());
        bytes[8..].copy_from_slice(&self.bits().to_le_bytes()[..2]);
        uuid::Builder::from_unix_timestamp_millis((at_us / 1000).unsigned_abs(), &bytes).into_uuid()
    }

    async fn write(
        &mut self,
        kind: Kind,
        subject: Uuid,
        at_us: i64,
        body: Value,
    ) -> Result<(), book::BookError> {
        let id = self.id(at_us);
        self.waits.push(NewEntry { id, kind, subject: Some(subject), at_us, by: None, corrects: None, body });
        if self.waits.len() >= AT_ONCE {
            self.flush().await?;
        }
        Ok(())
    }

    async fn flush(&mut self) -> Result<(), book::BookError> {
        self.book.record_and_tell(&self.waits, self.now_us, &mut |_| ()).await?;
        self.written += self.waits.len();
        self.waits.clear();
        Ok(())
    }
}

/// Source waters and shelves that tubs share.
struct Shared {
    waters: Vec<Uuid>,
    shelves: Vec<Uuid>,
}

async fn things(writer: &mut Writer, at: i64) -> Result<Shared, book::BookError> {
    let (mut waters, mut shelves) = (Vec::new(), Vec::new());
    for (n, alkalinity) in [(1, 40.0), (2, 110.0), (3, 190.0)] {
        let body = json!({"name": format!("Tap {n} (invented)"), "temperature_c": 12.0, "ph": 7.5,
            "total_alkalinity_mg_l_caco3": alkalinity, "calcium_hardness_mg_l_caco3": 1.2 * alkalinity, "salt_mg_l": 30.0});
        let id = writer.id(at);
        writer.write(Kind::SourceWater, id, at, body).await?;
        waters.push(id);
    }
    let measure = json!({"kind": "capful", "grams": 40.0, "smallest": 0.25});
    for n in 1..=20 {
        let products = json!([
            {"chemical": "sodium-bisulfate", "name": "dry acid", "purity_percent": 93.0, "measure": measure},
            {"chemical": "sodium-bicarbonate", "name": "alkalinity up", "purity_percent": 99.0, "measure": measure},
            {"chemical": "calcium-chloride", "name": "hardness up", "purity_percent": 77.0, "measure": measure},
            {"chemical": "sodium-hypochlorite", "name": "liquid chlorine", "available_chlorine_g_l": 120.0,
             "measure": {"kind": "millilitres", "smallest": 5.0}},
        ]);
        let id = writer.id(at);
        let name = format!("Shelf {n} (invented)");
        writer.write(Kind::Shelf, id, at, json!({"name": name, "of": "owner", "products": products})).await?;
        shelves.push(id);
    }
    Ok(Shared { waters, shelves })
}

async fn tub(writer: &mut Writer, at: i64, n: usize, shared: &Shared) -> Result<Uuid, book::BookError> {
    let id = writer.id(at);
    let name = format!("Lane {} no. {} (invented)", n / 40, n % 40);
    let volume_l = 100.0 * writer.between(8.0, 18.0).round();
    let body = json!({"name": name, "owner_name": format!("Owner {n} (invented)"),
        "tub": {"name": name, "volume_l": volume_l, "temperature_c": 38.0, "regime": "chlorine", "place": "home"},
        "source_water": shared.waters[n % shared.waters.len()].to_string(),
        "shelf": shared.shelves[n % shared.shelves.len()].to_string(),
        "kit": {"ph": "comparator", "free_chlorine": "dpd-comparator", "total_alkalinity": "drop-titration-10"}});
    writer.write(Kind::Tub, id, at, body).await?;
    writer.write(Kind::Event, id, at + 1_000_000, json!({"kind": "fill"})).await?;
    Ok(id)
}

async fn visit(writer: &mut Writer, tub: Uuid, at: i64, visit: i64) -> Result<(), book::BookError> {
    let ph = (10.0 * writer.between(7.1, 8.1)).round() / 10.0;
    let chlorine = (2.0 * writer.between(0.5, 6.0)).round() / 2.0;
    let mut readings = vec![
        json!({"quantity": "ph", "method": "comparator", "value": ph}),
        json!({"quantity": "free_chlorine", "method": "dpd-comparator", "value": chlorine}),
    ];
    if visit % 2 == 0 {
        let drops = writer.between(6.0, 14.0).round();
        readings.push(json!({"quantity": "total_alkalinity", "method": "drop-titration-10", "drops": drops}));
        let drops = writer.between(10.0, 24.0).round();
        readings.push(json!({"quantity": "calcium_hardness", "method": "drop-titration-10", "drops": drops}));
    }
    for (n, body) in readings.into_iter().enumerate() {
        writer.write(Kind::Reading, tub, at + n as i64 * 1_000_000, body).await?;
    }
    let acid = writer.between(2.0, 12.0).round();
    for (n, (product, mass_g)) in
        [("dry acid", acid), ("liquid chlorine", 3.0 * acid)].into_iter().enumerate()
    {
        let body = json!({"product": product, "mass_g": mass_g});
        writer.write(Kind::Dose, tub, at + (n as i64 + 10) * 60_000_000, body).await?;
    }
    if visit % 3 == 0 {
        let body = json!({"kind": "bathers", "people": 2.0, "minutes": 30.0});
        writer.write(Kind::Event, tub, at - DAY_US / 2, body).await?;
    }
    Ok(())
}
