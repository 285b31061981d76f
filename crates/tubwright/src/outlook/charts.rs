//! The charts of an outlook as files: one a quantity, named by its id.

use crate::failure::Failure;
use crate::output;
use care::amount::Units;
use care::case::Case;
use care::outlook::{Fan, Outlook};
use chart::{Chart, Look, Words};
use jiff::Timestamp;
use std::path::Path;

/// Pixels from side to side: three to a drawing unit.
const PIXELS: u32 = 1080;

/// What becomes of a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// As drawn.
    Svg,
    /// As pixels.
    Png,
}

/// Writes every chart into a folder, which is made if it is not there.
pub(super) fn write(
    outlook: &Outlook,
    case: &Case,
    invented: bool,
    folder: &Path,
    kind: Kind,
) -> Result<(), Failure> {
    for (number, fan) in outlook.fans.iter().enumerate() {
        let drawn = drawn(outlook, case, invented, number, fan);
        let (extension, bytes) = match kind {
            Kind::Svg => ("svg", drawn.into_bytes()),
            Kind::Png => {
                let made = chart::png(&drawn, PIXELS).map_err(|e| Failure::Other(e.to_string()))?;
                ("png", made)
            }
        };
        output::file(&folder.join(format!("{}.{extension}", fan.quantity.id())), &bytes)?;
    }
    Ok(())
}

fn drawn(outlook: &Outlook, case: &Case, invented: bool, number: usize, fan: &Fan) -> String {
    let figure = |v: f64, decimals: usize| format!("{v:.decimals$}");
    let day = |hours: f64| {
        let at = outlook.from.0.saturating_add((hours * 3600.0) as i64);
        Timestamp::from_second(at).map_or(String::new(), |t| t.strftime("%-d %B").to_string())
    };
    let words = Words { number: &figure, day: &day, now: "now".to_owned() };
    let invented = if invented { " (invented)" } else { "" };
    let unit = fan.quantity.unit();
    let unit = if unit.is_empty() { String::new() } else { format!(", {unit}") };
    let name = fan.quantity.said().capital();
    let chart = Chart {
        outlook,
        fan: number,
        description: described(outlook, fan, case.units),
        title: title(&format!("{name}{unit}"), &case.tub.name, invented),
        below: below(outlook),
    };
    chart::svg(&chart, &words, Look::File)
}

/// Letters of a title that find room.
const TITLE: usize = 50;

/// The quantity and the tub, whose name is cut where it is too long.
fn title(quantity: &str, tub: &str, invented: &str) -> String {
    let room = TITLE.saturating_sub(quantity.chars().count() + invented.chars().count() + 3);
    let name: String = if tub.chars().count() > room {
        let kept: String = tub.chars().take(room.saturating_sub(1)).collect();
        format!("{}…", kept.trim_end())
    } else {
        tub.to_owned()
    };
    format!("{quantity} · {name}{invented}")
}

/// What the fields and letters mean.
fn below(outlook: &Outlook) -> Vec<String> {
    let mut all = vec![
        "Right of now, what may come if nothing is dosed; left of it, what was.".to_owned(),
        "Line: the middle. Darker field: half of the chances; paler: nine in ten.".to_owned(),
        "Ring: a reading, nine in ten within its stroke. Shaded strip: the band.".to_owned(),
    ];
    // As many to a line as there is room for.
    let mut line = String::new();
    for (letter, what) in chart::keys(outlook) {
        let said = format!("{letter}: {what}");
        if !line.is_empty() && line.len() + said.len() > 62 {
            all.push(std::mem::take(&mut line));
        }
        line = if line.is_empty() { said } else { format!("{line}, {said}") };
    }
    all.extend(Some(line).filter(|l| !l.is_empty()));
    all
}

fn described(outlook: &Outlook, fan: &Fan, units: Units) -> String {
    let of = |q: Option<&[f64; 5]>| {
        let n = |v: f64| units.number(fan.quantity, v);
        q.map_or(String::new(), |q| format!("{} ({} to {})", n(q[2]), n(q[0]), n(q[4])))
    };
    let read = outlook.past.readings.iter().filter(|r| r.quantity == fan.quantity).count();
    let back = -outlook.past.hours.first().copied().unwrap_or(0.0) / 24.0;
    let ahead = outlook.hours.last().copied().unwrap_or(0.0) / 24.0;
    format!(
        "{}: {read} readings in the last {back:.0} days; now {}, in {ahead:.0} days {}",
        fan.quantity.name(),
        of(fan.quantiles.first()),
        of(fan.quantiles.last())
    )
}
