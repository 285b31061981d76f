//! Every text that a page shows, by language. English is complete; the others fall back to it word by word.

use fluent_templates::fluent_bundle::FluentValue;
use fluent_templates::{LanguageIdentifier, Loader, static_loader};
use std::borrow::Cow;
use std::collections::HashMap;

static_loader! {
    static CATALOGUES = {
        locales: "./words",
        fallback_language: "en",
        // Isolating marks would show up in attributes and plain text.
        customise: |bundle| bundle.set_use_isolating(false),
    };
}

/// Languages that there are words for, English first.
pub(crate) const LANGUAGES: [(&str, &str); 3] = [("en", "English"), ("de", "Deutsch"), ("fr", "Français")];

/// Named values of a message.
pub(crate) type Arguments = HashMap<Cow<'static, str>, FluentValue<'static>>;

/// A message in a language. An id without a message shows as the id: the test of the catalogues finds it.
pub(crate) fn say(language: &LanguageIdentifier, id: &str, arguments: Option<&Arguments>) -> String {
    let found = match arguments {
        Some(arguments) => CATALOGUES.try_lookup_with_args(language, id, arguments),
        None => CATALOGUES.try_lookup(language, id),
    };
    found.unwrap_or_else(|| id.to_string())
}

/// A message in exactly this language, if it has one there: no other language stands in.
pub(crate) fn own(language: &LanguageIdentifier, id: &str, arguments: Option<&Arguments>) -> Option<String> {
    CATALOGUES.lookup_single_language(language, id, arguments).ok()
}

/// The best language for an `Accept-Language` header; English if none fits.
pub(crate) fn best(header: &str) -> LanguageIdentifier {
    let mut wanted: Vec<(f32, &str)> = header
        .split(',')
        .filter_map(|part| {
            let mut fields = part.trim().split(';');
            let tag = fields.next()?.trim();
            let weight =
                fields.find_map(|f| f.trim().strip_prefix("q=")).map_or(Some(1.0), |q| q.parse().ok());
            Some((weight?, tag.get(..2)?))
        })
        .collect();
    wanted.sort_by(|a, b| b.0.total_cmp(&a.0));
    let known =
        |tag: &str| LANGUAGES.iter().find(|(code, _)| code.eq_ignore_ascii_case(tag)).map(|(code, _)| *code);
    language(wanted.into_iter().find_map(|(_, tag)| known(tag)).unwrap_or("en"))
}

/// A language by its code; English if there is no such.
pub(crate) fn language(code: &str) -> LanguageIdentifier {
    let known = LANGUAGES.iter().any(|(known, _)| *known == code);
    if known { code.parse().unwrap_or_default() } else { fluent_templates::langid!("en") }
}

/// A message with named values: `t!(ctx, "id", name = value, …)`.
macro_rules! t {
    ($ctx:expr, $id:literal) => { $ctx.say($id, None) };
    ($ctx:expr, $id:literal, $($name:ident = $value:expr),+ $(,)?) => {{
        let mut arguments = $crate::words::Arguments::new();
        $( arguments.insert(stringify!($name).into(), ($value).into()); )+
        $ctx.say($id, Some(&arguments))
    }};
}
pub(crate) use t;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_heaviest_known_language_of_a_header_is_taken() {
        assert_eq!(best("fr-CH, de;q=0.7, en;q=0.3"), language("fr"));
        assert_eq!(best("pt, de;q=0.7, en;q=0.3"), language("de"));
        assert_eq!(best("nonsense;;q=x"), language("en"));
        assert_eq!(best(""), language("en"));
    }
}
