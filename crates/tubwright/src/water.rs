//! `tubwright water`: one water a line in, what it is a line out. Memory is bounded whatever comes in.

use crate::cli::WaterArgs;
use crate::failure::Failure;
use crate::words::{self, Page};
use crate::{input, output};
use care::wire::water::{LineError, WaterOut, read_line};
use serde::Serialize;
use std::io::{self, BufRead, BufReader, BufWriter, IsTerminal, Read, Write};

/// Longest accepted line, bytes.
const LINE_BYTES_MOST: usize = 1 << 20;

#[derive(Serialize)]
struct Answer<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<&'a serde_json::Value>,
    #[serde(flatten)]
    water: &'a WaterOut,
}

#[derive(Serialize)]
struct Refusal<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<&'a serde_json::Value>,
    line: usize,
    error: String,
}

pub(crate) fn run(args: &WaterArgs) -> Result<(), Failure> {
    let from = args.file.as_deref().filter(|p| *p != std::path::Path::new("-"));
    if from.is_none() && io::stdin().is_terminal() {
        output::talk(
            "Reading waters from the keyboard, one JSON object a line (see: tubwright water --help).",
        );
    }
    let name = from.map_or_else(|| "stdin".to_owned(), |p| p.display().to_string());
    let mut reader = BufReader::with_capacity(1 << 16, input::stream(from)?);
    let mut out = BufWriter::new(io::stdout().lock());
    let (mut lines, mut wrong, mut bytes) = (0, 0, Vec::new());
    loop {
        let more = next_line(&mut reader, &mut bytes)
            .map_err(|e| Failure::input(format!("{name}:{}: cannot be read: {e}", lines + 1)))?;
        let Some(fits) = more else { break };
        lines += 1;
        if fits && bytes.trim_ascii().is_empty() {
            continue;
        }
        match answer(&bytes, fits, lines) {
            Ok((id, water)) if args.json => {
                serde_json::to_writer(&mut out, &Answer { id: id.as_ref(), water: &water })
                    .map_err(io::Error::from)?;
                out.write_all(b"\n")?;
            }
            Ok((id, water)) => out.write_all(told(lines, id.as_ref(), &water).as_bytes())?,
            Err(e) => {
                wrong += 1;
                let error = e.faults.join("; and ");
                if args.json {
                    serde_json::to_writer(&mut out, &Refusal { id: e.id.as_ref(), line: lines, error })
                        .map_err(io::Error::from)?;
                    out.write_all(b"\n")?;
                } else {
                    output::talk(&format!("{name}:{lines}: {error}"));
                }
            }
        }
        if reader.buffer().is_empty() {
            out.flush()?; // whoever feeds us one line at a time waits for the answer
        }
    }
    out.flush()?;
    if wrong > 0 {
        return Err(Failure::input(format!("{name}: {wrong} of {lines} lines were wrong")));
    }
    Ok(())
}

/// The next line without its newline; `Some(false)` if it was too long and has been skipped; `None` at the end.
fn next_line(reader: &mut BufReader<Box<dyn Read>>, line: &mut Vec<u8>) -> io::Result<Option<bool>> {
    line.clear();
    let (mut any, mut fits) = (false, true);
    loop {
        let chunk = match reader.fill_buf() {
            Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
            chunk => chunk?,
        };
        if chunk.is_empty() {
            return Ok(any.then_some(fits));
        }
        any = true;
        let end = chunk.iter().position(|b| *b == b'\n');
        let part = &chunk[..end.unwrap_or(chunk.len())];
        fits &= line.len() + part.len() <= LINE_BYTES_MOST;
        if fits {
            line.extend_from_slice(part);
        }
        let used = end.map_or(chunk.len(), |e| e + 1);
        reader.consume(used);
        if end.is_some() {
            return Ok(Some(fits));
        }
    }
}

type Answered = (Option<serde_json::Value>, WaterOut);

fn answer(bytes: &[u8], fits: bool, line: usize) -> Result<Answered, LineError> {
    let wrong = |what: String| LineError { id: None, faults: vec![what] };
    if !fits {
        return Err(wrong(format!("the line is too long; {LINE_BYTES_MOST} bytes at most are accepted")));
    }
    let text = std::str::from_utf8(bytes)
        .map_err(|e| wrong(format!("the line is not text: byte {} is not UTF-8", e.valid_up_to() + 1)))?;
    let water = read_line(text.trim_start_matches('\u{feff}'), line)?;
    match water.answer() {
        Ok(out) => Ok((water.id, out)),
        Err(e) => Err(LineError { id: water.id, faults: vec![e.to_string()] }),
    }
}

/// What a water is, for people.
fn told(line: usize, id: Option<&serde_json::Value>, w: &WaterOut) -> String {
    let mut page = Page::new();
    page.title(&match id {
        Some(serde_json::Value::String(name)) => format!("Water {name}"),
        Some(other) => format!("Water {other}"),
        None => format!("Water of line {line}"),
    });
    let index = |i: Option<f64>| match i {
        Some(i) => format!("{} ({})", words::signed(i, 2), words::saturation(i)),
        None => "none: a part of it is absent".into(),
    };
    let mut row = |name: &str, value: String| page.pair(name, &value);
    row("pH", format!("{:.2}", w.ph));
    row(
        "total alkalinity",
        format!(
            "{:.1} mg/L as CaCO3, of it carbonate {:.1}",
            w.total_alkalinity_mg_l_caco3, w.carbonate_alkalinity_mg_l_caco3
        ),
    );
    row("inorganic carbon", format!("{:.3} mmol/L", w.dic_mmol_l));
    row("saturation index", index(w.calcite_saturation_index));
    row("carbon dioxide", format!("{:.5} atm (outdoor air holds about 0.00042)", w.co2_partial_pressure_atm));
    if w.hypochlorous_acid_mg_l + w.hypochlorite_mg_l + w.cyanurate_bound_chlorine_mg_l > 0.0 {
        row("active chlorine", format!("{:.3} mg/L as hypochlorous acid", w.hypochlorous_acid_mg_l));
        row("hypochlorite", format!("{:.3} mg/L", w.hypochlorite_mg_l));
        row("held by cyanurate", format!("{:.3} mg/L", w.cyanurate_bound_chlorine_mg_l));
    }
    if w.hypobromous_acid_mg_l > 0.0 {
        row("active bromine", format!("{:.3} mg/L as hypobromous acid", w.hypobromous_acid_mg_l));
    }
    if let Some(conductivity) = w.conductivity_25c_ms_cm {
        row("conductivity", format!("{conductivity:.2} mS/cm at 25 °C"));
    }
    row("ionic strength", format!("{:.4} mol/kg", w.ionic_strength_mol_kg));
    row("charge error", format!("{} %", words::signed(w.charge_imbalance_percent, 2)));
    page.gap();
    page.finish()
}
