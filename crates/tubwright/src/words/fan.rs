//! The charts of an outlook in text: for each quantity the days before now with its readings, what may come, its band.

use super::Page;
use care::amount::Units;
use care::method::Outcome;
use care::outlook::{Fan, Outlook};

/// Rows of a chart; columns of the figures at its left, with the axis.
const ROWS: usize = 7;
const LEFT: usize = 10;
/// No wider than this, so that a chart can be pasted anywhere.
const WIDTH: usize = 80;
/// Columns between the days at the foot.
const APART: usize = 9;
/// Days between two marks at the foot, where there is room.
const STEPS: [u32; 6] = [1, 2, 4, 7, 14, 28];

/// A chart for each quantity that has a band or was read, and once what the signs mean.
pub(super) fn charts(outlook: &Outlook, units: Units, page: &mut Page) {
    let read = |f: &Fan| outlook.past.readings.iter().any(|r| r.quantity == f.quantity);
    let shown: Vec<(usize, &Fan)> =
        outlook.fans.iter().enumerate().filter(|(_, f)| f.band.is_some() || read(f)).collect();
    if shown.is_empty() {
        return;
    }
    page.heading("The days before now, and what may come");
    legend(outlook, page);
    for (number, fan) in shown {
        page.gap();
        Chart::new(outlook, number, fan, page.width).draw(units, page);
    }
}

fn legend(outlook: &Outlook, page: &mut Page) {
    let limits = |o: &Outcome| matches!(o, Outcome::Below { .. } | Outcome::Above { .. });
    let mut signs = "Left of the upright line, what was; right of it, what may come. # half of the chances; : nine in ten; \
        - an edge of the band (= and + where the half and the nine in ten cross it); o a reading"
        .to_owned();
    if outlook.past.readings.iter().any(|r| limits(&r.outcome)) {
        signs += "; v less than this was read; ^ more than this was read";
    }
    page.hanging("  ", "  ", &format!("{signs}."));
    let doses: Vec<String> =
        chart::keys(outlook).iter().map(|(letter, what)| format!("{letter} {what}")).collect();
    if !doses.is_empty() {
        page.hanging("  ", "  ", &format!("Above each chart, what went in: {}.", doses.join("; ")));
    }
}

/// A chart's scales and its cells.
struct Chart<'a> {
    outlook: &'a Outlook,
    number: usize,
    fan: &'a Fan,
    /// Hours from now at its sides.
    begin: f64,
    end: f64,
    low: f64,
    high: f64,
    columns: usize,
}

impl<'a> Chart<'a> {
    fn new(outlook: &'a Outlook, number: usize, fan: &'a Fan, width: usize) -> Chart<'a> {
        let mut all: Vec<f64> = fan.band.as_ref().map_or(Vec::new(), |b| vec![b.low, b.high]);
        all.extend(fan.quantiles.iter().flat_map(|q| [q[0], q[4]]));
        all.extend(outlook.past.quantiles.get(number).into_iter().flatten().flat_map(|q| [q[0], q[2]]));
        let read = outlook.past.readings.iter().filter(|r| r.quantity == fan.quantity);
        all.extend(read.filter_map(|r| r.outcome.figure()));
        all.retain(|v| v.is_finite());
        Chart {
            outlook,
            number,
            fan,
            begin: outlook.past.hours.first().copied().unwrap_or(0.0).min(0.0),
            end: outlook.hours.last().copied().unwrap_or(0.0).max(1.0),
            low: all.iter().copied().reduce(f64::min).unwrap_or(0.0),
            high: all.iter().copied().reduce(f64::max).unwrap_or(1.0),
            columns: width.min(WIDTH).saturating_sub(LEFT).max(2),
        }
    }

    fn row(&self, value: f64) -> usize {
        let share = (self.high - value) / (self.high - self.low).max(1e-9);
        (share.clamp(0.0, 1.0) * (ROWS - 1) as f64).round() as usize
    }

    fn column(&self, hours: f64) -> usize {
        let share = (hours - self.begin) / (self.end - self.begin);
        (share.clamp(0.0, 1.0) * (self.columns - 1) as f64).round() as usize
    }

    fn hours(&self, column: usize) -> f64 {
        self.begin + (self.end - self.begin) * column as f64 / (self.columns - 1) as f64
    }

    fn draw(&self, units: Units, page: &mut Page) {
        let n = |v: f64| units.number(self.fan.quantity, v);
        let unit = self.fan.quantity.unit();
        let unit = if unit.is_empty() { String::new() } else { format!(", {unit}") };
        let band =
            self.fan.band.as_ref().map_or(String::new(), |b| format!("; band {} to {}", n(b.low), n(b.high)));
        page.line(&format!("  {}{unit}{band}", self.fan.quantity.name()));
        if let Some(doses) = self.doses() {
            page.line(&format!("   doses  {doses}"));
        }
        let mut labels: Vec<Option<f64>> = vec![None; ROWS];
        labels[0] = Some(self.high);
        labels[ROWS - 1] = Some(self.low);
        for edge in self.fan.band.iter().flat_map(|b| [b.low, b.high]) {
            labels[self.row(edge)] = Some(edge);
        }
        for (cells, label) in self.cells().into_iter().zip(labels) {
            let label = label.map_or(String::new(), n);
            page.line(&format!("  {label:>6} |{}", cells.into_iter().collect::<String>()));
        }
        self.foot(page);
    }

    /// What went in, each where it did; what went in at the same time stands to the right of it.
    fn doses(&self) -> Option<String> {
        let keys = chart::keys(self.outlook);
        let mut row = vec![' '; self.columns];
        for deed in &self.outlook.past.deeds {
            let Some((letter, _)) = keys.iter().find(|(_, what)| **what == deed.what) else { continue };
            let from = self.column(deed.hours);
            let place = row.iter_mut().skip(from).find(|c| **c == ' ' || **c == *letter);
            if let Some(cell) = place {
                *cell = *letter;
            }
        }
        row.iter().any(|c| *c != ' ').then(|| row.into_iter().collect())
    }

    fn cells(&self) -> Vec<Vec<char>> {
        let mut cells = vec![vec![' '; self.columns]; ROWS];
        let now = self.column(0.0);
        for row in &mut cells {
            row[now] = '|';
        }
        let was = self.outlook.past.quantiles.get(self.number).map_or(&[][..], Vec::as_slice);
        for column in 0..self.columns {
            let at = self.hours(column);
            let mut fill = |from: f64, to: f64, mark: char| {
                let rows = cells.get_mut(self.row(to)..=self.row(from));
                for cell in rows.into_iter().flatten().filter_map(|row| row.get_mut(column)) {
                    *cell = mark;
                }
            };
            if column < now {
                if let Some(q) = nearest(&self.outlook.past.hours, at).and_then(|i| was.get(i)) {
                    fill(q[0], q[2], ':');
                }
            } else if column > now
                && let Some(q) = nearest(&self.outlook.hours, at).and_then(|i| self.fan.quantiles.get(i))
            {
                fill(q[0], q[4], ':');
                fill(q[1], q[3], '#');
            }
        }
        // An edge is seen across the whole width, also where the chances cross it.
        for edge in self.fan.band.iter().flat_map(|b| [b.low, b.high]) {
            for cell in &mut cells[self.row(edge)] {
                *cell = match *cell {
                    '#' => '=',
                    ':' => '+',
                    '|' => '|',
                    _ => '-',
                };
            }
        }
        for reading in self.outlook.past.readings.iter().filter(|r| r.quantity == self.fan.quantity) {
            let (value, mark) = match reading.outcome {
                Outcome::Value { value, .. } => (value, 'o'),
                Outcome::Below { limit } => (limit, 'v'),
                Outcome::Above { limit } => (limit, '^'),
                Outcome::Void => continue,
            };
            cells[self.row(value)][self.column(reading.hours)] = mark;
        }
        cells
    }

    /// The days: now, and as many whole steps from it as there is room for.
    fn foot(&self, page: &mut Page) {
        let day = 24.0 * (self.columns - 1) as f64 / (self.end - self.begin);
        let step = STEPS.into_iter().find(|s| f64::from(*s) * day >= APART as f64).unwrap_or(30);
        let days = |hours: f64| (hours.abs() / 24.0 / f64::from(step) + 1e-6).floor() as i64;
        let mut axis = vec!['-'; self.columns];
        let mut said = vec![' '; LEFT + self.columns];
        for i in -days(self.begin)..=days(self.end) {
            let at = i * i64::from(step);
            let column = self.column(24.0 * at as f64);
            axis[column] = '+';
            let label = match at {
                0 => "now".to_owned(),
                1 => "1 day".to_owned(),
                -1 => "−1 day".to_owned(),
                at if at < 0 => format!("−{} days", -at),
                at => format!("{at} days"),
            };
            // In the middle below its mark, or as near to it as the width lets.
            let width = label.chars().count();
            let from = (LEFT + column).saturating_sub(width / 2).min(said.len() - width);
            for (cell, c) in said.iter_mut().skip(from).zip(label.chars()) {
                *cell = c;
            }
        }
        page.line(&format!("{}{}", " ".repeat(LEFT), axis.into_iter().collect::<String>()));
        page.line(&said.into_iter().collect::<String>());
    }
}

/// The place of the hour that is nearest.
fn nearest(hours: &[f64], at: f64) -> Option<usize> {
    let distance = |i: &usize| hours.get(*i).map_or(f64::INFINITY, |h| (h - at).abs());
    (0..hours.len()).min_by(|a, b| distance(a).total_cmp(&distance(b)))
}
