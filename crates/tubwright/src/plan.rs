//! `tubwright plan`: from a case to a safe plan.

use crate::cli::PlanArgs;
use crate::failure::Failure;
use crate::words::{self, Page};
use crate::{input, output};
use care::case::Case;
use care::planner::PlanError;
use care::wire::case::{CASE_BYTES_MOST, CaseText, ENTRIES_BYTES_MOST};
use care::wire::plan::PlanOut;
use std::path::Path;

/// An invented tub on an invented tap; its readings are invented too.
pub(crate) const EXAMPLE: &str = include_str!("cases/example.toml");

pub(crate) fn run(args: &PlanArgs) -> Result<(), Failure> {
    let mut case = case(args.case.as_deref(), EXAMPLE)?;
    case.units = args.units.into();
    let look_h = args.next_look.map(|days| 24.0 * days);
    let plan = care::ahead::plan_case(&case, look_h, args.seed).map_err(|e| refused(args, &e))?;
    if args.json {
        let out = PlanOut::of(&plan).map_err(|e| Failure::Other(e.to_string()))?;
        let text = serde_json::to_string_pretty(&out).map_err(|e| Failure::Other(e.to_string()))?;
        return output::data(&format!("{text}\n"));
    }
    let told =
        words::plan::Told { tub: &case.tub.name, now: case.now, units: case.units, invented: args.example };
    output::data(&words::plan::page(&plan, &told, Page::new()))
}

/// What the planner could not plan, named by its file.
fn refused(args: &PlanArgs, e: &PlanError) -> Failure {
    let file = args.case.as_deref().unwrap_or(Path::new("the built-in example"));
    Failure::input(format!("{}: {e}", file.display()))
}

/// The case at a path, or a built-in one.
pub(crate) fn case(path: Option<&Path>, built_in: &str) -> Result<Case, Failure> {
    match path {
        Some(path) => read(path),
        None => CaseText::parse(built_in.as_bytes(), "the built-in example")
            .finish(None)
            .map_err(|p| Failure::problems(&p)),
    }
}

fn read(path: &Path) -> Result<Case, Failure> {
    let shown = path.display().to_string();
    let bytes = input::whole_file(path, CASE_BYTES_MOST).map_err(Failure::input)?;
    let mut text = CaseText::parse(&bytes, &shown);
    let named = text.entries().map(|(name, line)| (name.to_owned(), line));
    let history = match named {
        None => None,
        Some((name, line)) => {
            let beside = path.parent().unwrap_or(Path::new("")).join(&name);
            match input::whole_file(&beside, ENTRIES_BYTES_MOST) {
                Ok(bytes) => Some((beside.display().to_string(), bytes)),
                Err(e) => {
                    let what = format!("is \"{}\": {e}", care::wire::node::shortened(&name));
                    text.entries_fault(line, &what, "a readable file beside the case is accepted");
                    None
                }
            }
        }
    };
    let history = history.as_ref().map(|(name, bytes)| (name.as_str(), bytes.as_slice()));
    text.finish(history).map_err(|problems| Failure::problems(&problems))
}
