//! `tubwright schema`: the published shapes.

use crate::cli::{SchemaArgs, SchemaOf};
use crate::failure::Failure;
use crate::output;
use care::wire::schema;

pub(crate) fn run(args: &SchemaArgs) -> Result<(), Failure> {
    let schema = match args.of {
        SchemaOf::Case => schema::case(),
        SchemaOf::Water => schema::water(),
        SchemaOf::Plan => schema::plan(),
    };
    output::data(&format!("{schema:#}\n"))
}
