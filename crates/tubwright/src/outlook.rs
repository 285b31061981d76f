//! `tubwright outlook`: what the water will do if nothing is dosed, and what the tub has taught.

mod charts;

use crate::cli::OutlookArgs;
use crate::failure::Failure;
use crate::words::{self, Page};
use crate::{output, plan};
use care::outlook::OutlookError;
use care::wire::outlook::OutlookOut;
use charts::Kind;
use std::path::Path;

/// An invented tub with three invented weeks behind it.
const EXAMPLE: &str = include_str!("cases/three_weeks.toml");

pub(crate) fn run(args: &OutlookArgs) -> Result<(), Failure> {
    let mut case = plan::case(args.case.as_deref(), EXAMPLE)?;
    case.units = args.units.into();
    let (outlook, learned) =
        care::outlook::outlook(&case, args.days, args.seed).map_err(|e| refused(args, &e))?;
    for (folder, kind) in [(&args.svg, Kind::Svg), (&args.png, Kind::Png)] {
        if let Some(folder) = folder {
            charts::write(&outlook, &case, args.example, folder, kind)?;
        }
    }
    let products: Vec<&str> = case.shelf.iter().map(|p| p.name.as_str()).collect();
    if args.json {
        let out = OutlookOut::of(&outlook, &learned, &products);
        let text = serde_json::to_string_pretty(&out).map_err(|e| Failure::Other(e.to_string()))?;
        return output::data(&format!("{text}\n"));
    }
    let told = words::outlook::Told { case: &case, days: args.days, invented: args.example };
    output::data(&words::outlook::page(&outlook, &learned, &told, Page::new()))
}

fn refused(args: &OutlookArgs, e: &OutlookError) -> Failure {
    let file = args.case.as_deref().unwrap_or(Path::new("the built-in example"));
    Failure::input(format!("{}: {e}", file.display()))
}
