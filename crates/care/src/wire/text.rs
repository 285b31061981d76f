//! A text as it is kept: its English with its structure.

use crate::text::{Form, Text};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;

#[derive(Serialize, Deserialize)]
struct Shape {
    english: String,
    form: FormShape,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FormShape {
    English,
    Name,
    Figures,
    Message { id: String, parts: Vec<(String, Shape)> },
    Capital(Box<Shape>),
    Joined { separator: String, parts: Vec<Shape> },
}

impl From<&Text> for Shape {
    fn from(text: &Text) -> Shape {
        let form = match text.form() {
            Form::English => FormShape::English,
            Form::Name => FormShape::Name,
            Form::Figures => FormShape::Figures,
            Form::Message { id, parts } => FormShape::Message {
                id: id.to_string(),
                parts: parts.iter().map(|(name, part)| (name.to_string(), part.into())).collect(),
            },
            Form::Capital(part) => FormShape::Capital(Box::new(part.as_ref().into())),
            Form::Joined { separator, parts } => FormShape::Joined {
                separator: separator.to_string(),
                parts: parts.iter().map(Shape::from).collect(),
            },
        };
        Shape { english: text.to_string(), form }
    }
}

impl From<Shape> for Text {
    fn from(shape: Shape) -> Text {
        let form = match shape.form {
            FormShape::English => Form::English,
            FormShape::Name => Form::Name,
            FormShape::Figures => Form::Figures,
            FormShape::Message { id, parts } => Form::Message {
                id: Cow::Owned(id),
                parts: parts.into_iter().map(|(name, part)| (Cow::Owned(name), part.into())).collect(),
            },
            FormShape::Capital(part) => Form::Capital(Box::new((*part).into())),
            FormShape::Joined { separator, parts } => Form::Joined {
                separator: Cow::Owned(separator),
                parts: parts.into_iter().map(Text::from).collect(),
            },
        };
        Text::kept(shape.english, form)
    }
}

impl Serialize for Text {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Shape::from(self).serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Text, D::Error> {
        Shape::deserialize(deserializer).map(Text::from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::say;

    #[test]
    fn a_text_comes_back_with_its_structure() {
        let inner = Text::joined(vec![Text::name("a"), Text::figures("1.5 g"), Text::from("c")], " and ");
        let text = say!("care-test", "test {what}", what = inner).capital();
        let json = serde_json::to_value(&text).unwrap();
        let back: Text = serde_json::from_value(json.clone()).unwrap();
        assert_eq!(back, "Test a and 1.5 g and c");
        assert_eq!(serde_json::to_value(&back).unwrap(), json);
    }
}
