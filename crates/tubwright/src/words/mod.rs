//! Words and strips for people: plain text, no colour, readable in any terminal.

mod ahead;
mod fan;
pub(crate) mod outlook;
mod page;
pub(crate) mod plan;
pub(crate) mod strip;

pub(crate) use page::Page;

/// A number with its sign always shown.
pub(crate) fn signed(value: f64, decimals: usize) -> String {
    let zero = format!("{:.decimals$}", 0.0);
    let shown = format!("{:.decimals$}", value.abs());
    match shown == zero {
        true => shown,
        false if value < 0.0 => format!("−{shown}"),
        false => format!("+{shown}"),
    }
}

/// What a calcite saturation index means. The limits are common practice.
pub(crate) fn saturation(index: f64) -> &'static str {
    match index {
        i if i > 0.3 => "scale can form",
        i if i < -0.3 => "dissolves scale and lime",
        _ => "near balance",
    }
}
