//! `tubwright schema`: the published shapes, of `care` and of the book.

use crate::cli::{SchemaArgs, SchemaOf};
use crate::failure::Failure;
use crate::output;
use book::Kind;
use care::wire::schema;
use clap::ValueEnum;

pub(crate) fn run(args: &SchemaArgs) -> Result<(), Failure> {
    let Some(of) = args.of else { return output::data(&list()) };
    let schema = match of {
        SchemaOf::Case => Some(schema::case()),
        SchemaOf::Water => Some(schema::water()),
        SchemaOf::Plan => Some(schema::plan()),
        SchemaOf::Tub => book::body_schema(Kind::Tub),
        SchemaOf::Site => book::body_schema(Kind::Site),
        SchemaOf::Shelf => book::body_schema(Kind::Shelf),
        SchemaOf::Band => book::body_schema(Kind::Band),
        SchemaOf::Person => book::body_schema(Kind::Person),
        SchemaOf::StepDone => book::body_schema(Kind::StepDone),
        SchemaOf::Note => book::body_schema(Kind::Note),
        SchemaOf::Photo => book::body_schema(Kind::Photo),
        SchemaOf::Audit => book::body_schema(Kind::Audit),
        SchemaOf::Outlook => Some(schema::outlook()),
    };
    output::data(&schema.map_or_else(String::new, |schema| format!("{schema:#}\n")))
}

/// Each shape with what it is.
fn list() -> String {
    let values = SchemaOf::value_variants().iter().filter_map(ValueEnum::to_possible_value);
    let line = |v: clap::builder::PossibleValue| {
        let told = v.get_help().map(ToString::to_string).unwrap_or_default();
        format!("{:<10} {told}\n", v.get_name())
    };
    let list: String = values.map(line).collect();
    let of_case = "reading, dose, event, source-water and method are as in `case`, without their times\n";
    list + of_case
}
