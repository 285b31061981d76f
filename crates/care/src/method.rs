//! Methods.
/// A method.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    /// Id.
    pub id: String,
}
