//! What `care` says, in the reader's language: messages by their ids, figures as the language writes them.
//!
//! What has no message stays English and is marked as English.

use crate::ctx::Ctx;
use crate::number::number;
use crate::words::{self, Arguments};
use care::text::{Form, SEPARATORS, Text};
use fluent_templates::LanguageIdentifier;
use maud::{Markup, html};

/// Around what stays English, in the middle of a sentence: characters for private use, which no text holds.
const ENGLISH: (char, char) = ('\u{E000}', '\u{E001}');

impl Ctx {
    /// A text as markup.
    pub(crate) fn care(&self, text: &Text) -> Markup {
        drawn(&marked(&self.language, text))
    }

    /// A message with a text in it.
    pub(crate) fn say_with(&self, id: &str, name: &'static str, text: &Text) -> Markup {
        let mut arguments = Arguments::new();
        arguments.insert(name.into(), marked(&self.language, text).into());
        drawn(&self.say(id, Some(&arguments)))
    }

    /// A text for a title, an attribute or print, where nothing can be marked.
    pub(crate) fn care_plain(&self, text: &Text) -> String {
        marked(&self.language, text).replace([ENGLISH.0, ENGLISH.1], "")
    }
}

/// What is English is marked so.
fn drawn(said: &str) -> Markup {
    html! {
        @for (i, part) in said.split(ENGLISH.0).enumerate() {
            @match part.split_once(ENGLISH.1).filter(|_| i > 0) {
                Some((english, rest)) => { span lang="en" { (english) } (rest) }
                None => (part),
            }
        }
    }
}

fn marked(language: &LanguageIdentifier, text: &Text) -> String {
    let said = if language.language.as_str() == "en" { text.to_string() } else { translated(language, text) };
    unbroken(&said)
}

/// Units that no line may part from their figure.
const UNITS: [&str; 16] =
    ["g", "kg", "mg/L", "mL", "L", "oz", "%", "°C", "°F", "mV", "mS/cm", "NTU", "ppm", "h", "min", "US"];

/// A figure keeps its unit on its line.
pub(crate) fn unbroken(said: &str) -> String {
    let mut kept = String::with_capacity(said.len());
    let mut rest = said;
    while let Some(at) = rest.find(' ') {
        let (before, after) = (&rest[..at], &rest[at + 1..]);
        let unit = after.split([' ', ',', '.', ';', ':', ')', '(', ENGLISH.1]).next().unwrap_or_default();
        let figure = before.ends_with(|c: char| c.is_ascii_digit());
        kept.push_str(before);
        kept.push(if figure && UNITS.contains(&unit) { '\u{a0}' } else { ' ' });
        rest = after;
    }
    kept + rest
}

/// With a capital letter.
pub(crate) fn capital(said: &str) -> String {
    let mut letters = said.chars();
    match letters.next() {
        Some(_) if said.starts_with("pH") => said.to_owned(),
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

fn english(text: &Text) -> String {
    format!("{}{text}{}", ENGLISH.0, ENGLISH.1)
}

fn translated(language: &LanguageIdentifier, text: &Text) -> String {
    match text.form() {
        Form::English if text.is_empty() => String::new(),
        Form::English => english(text),
        Form::Name => text.to_string(),
        Form::Figures => figures(language, text),
        Form::Message { id, parts } => {
            let arguments: Arguments = parts
                .iter()
                .map(|(name, part)| (name.to_string().into(), translated(language, part).into()))
                .collect();
            words::own(language, id, Some(&arguments)).unwrap_or_else(|| english(text))
        }
        Form::Capital(part) => capital(&translated(language, part)),
        Form::Joined { separator, parts } => {
            let id = SEPARATORS.iter().find(|(plain, _)| plain == separator).map(|(_, id)| *id);
            let between = id.and_then(|id| words::own(language, id, None));
            // In catalogues bars keep the spaces at either end.
            let between = between.as_deref().map_or(separator.as_ref(), |b| b.trim_matches('|'));
            let parts: Vec<String> = parts.iter().map(|p| translated(language, p)).collect();
            parts.join(between)
        }
    }
}

/// Digits with a point become the language's own.
fn figures(language: &LanguageIdentifier, text: &str) -> String {
    let mut said = String::new();
    let mut run = String::new();
    for c in text.chars().chain(['\0']) {
        if c.is_ascii_digit() || (c == '.' && !run.is_empty()) {
            run.push(c);
            continue;
        }
        if !run.is_empty() {
            let decimals = run.split_once('.').map_or(0, |(_, after)| after.len());
            said += &run.parse::<f64>().map_or_else(|_| run.clone(), |v| number(language, v, decimals));
            run.clear();
        }
        said.push(c);
    }
    said.pop();
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::language;
    use std::collections::{BTreeMap, BTreeSet};
    use std::path::{Path, PathBuf};

    #[test]
    fn figures_and_what_has_no_message() {
        assert_eq!(figures(&language("de"), "1.20 kg"), "1,20 kg");
        assert_eq!(figures(&language("fr"), "7.2-7.6"), "7,2-7,6");
        let text = Text::joined(vec![Text::name("a"), Text::from("only English")], " and ");
        assert_eq!(marked(&language("de"), &text), "a und \u{E000}only English\u{E001}");
        assert_eq!(marked(&language("en"), &text), "a and only English");
        assert_eq!(unbroken("add 5 g, 3 times 20 mg/L."), "add 5\u{a0}g, 3 times 20\u{a0}mg/L.");
    }

    #[test]
    fn a_record_that_makes_no_case_is_said_so_with_its_faults_marked_as_english() {
        let fault = care::wire::Problem {
            file: String::new(),
            line: None,
            field: "band.borate".into(),
            what: "has no default for borate in this tub".into(),
            accepted: "low and high are needed".into(),
        };
        let english = fault.to_string();
        let text = crate::known::no_case(book::BookError::Case(vec![fault]));
        let said = marked(&language("de"), &text);
        assert_eq!(
            said,
            format!("Die Aufzeichnungen dieser Wanne ergeben keinen Plan: \u{E000}{english}\u{E001}")
        );
        assert!(marked(&language("en"), &text).ends_with(&english));
    }

    fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
        for path in std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
            if path.is_dir() { sources(&path, found) } else { found.push(path) }
        }
    }

    fn variables(text: &str, mark: char) -> BTreeSet<String> {
        let name = |part: &str| {
            part.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).next().map(str::to_string)
        };
        text.split(mark).skip(1).filter_map(name).collect()
    }

    /// Every message that `care` names, out of its sources, with its variables.
    fn asked() -> BTreeMap<String, BTreeSet<String>> {
        let mut files = Vec::new();
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../care/src"), &mut files);
        let mut asked = BTreeMap::new();
        for file in files.iter().filter(|f| !f.ends_with("text.rs")) {
            let text = std::fs::read_to_string(file).unwrap();
            for call in text.split("say!(").skip(1) {
                let mut quoted = call.split('"');
                let (Some(_), Some(id), Some(_), Some(english)) =
                    (quoted.next(), quoted.next(), quoted.next(), quoted.next())
                else {
                    panic!("{}: a message without its English", file.display());
                };
                let variables = variables(english, '{');
                let before = asked.insert(id.to_string(), variables.clone());
                assert!(before.is_none_or(|b| b == variables), "{id} is said twice with other parts");
            }
        }
        for q in care::quantity::ALL {
            asked.insert(format!("care-q-{}", q.id().replace('_', "-")), BTreeSet::new());
        }
        for m in care::method::BUILT_IN {
            asked.insert(format!("care-method-{}", m.id.replace('.', "-")), BTreeSet::new());
        }
        asked.extend(SEPARATORS.iter().map(|(_, id)| (id.to_string(), BTreeSet::new())));
        asked
    }

    #[test]
    fn german_and_french_have_every_message_of_care_with_its_parts() {
        let asked = asked();
        assert!(asked.len() > 150, "only {} messages were found", asked.len());
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("words");
        for language in ["de", "fr"] {
            let text = std::fs::read_to_string(folder.join(language).join("care.ftl")).unwrap();
            let theirs: BTreeMap<String, BTreeSet<String>> = text
                .lines()
                .filter_map(|l| l.split_once(" = "))
                .map(|(id, said)| (id.to_string(), variables(said, '$')))
                .collect();
            let lacking: Vec<_> = asked.keys().filter(|id| !theirs.contains_key(*id)).collect();
            assert!(lacking.is_empty(), "{language} lacks {lacking:?}");
            let more: Vec<_> = theirs.keys().filter(|id| !asked.contains_key(*id)).collect();
            assert!(more.is_empty(), "{language} has what care never says: {more:?}");
            for (id, parts) in &asked {
                assert_eq!(&theirs[id], parts, "{language} {id}");
            }
        }
    }

    /// Who says what, and where: quotations, which stay as they are and are marked as English.
    fn quoted() -> BTreeSet<String> {
        use care::band::{Place, Regime, also_said, default_band};
        let mut quoted = BTreeSet::new();
        for q in care::quantity::ALL {
            for regime in [Regime::SaltCell, Regime::HandDosedChlorine, Regime::Bromine] {
                for place in [Place::Home, Place::Rental, Place::Public] {
                    quoted.extend(default_band(q, regime, place).map(|b| b.source.to_string()));
                    let said = also_said(q, regime, place).iter();
                    quoted.extend(said.flat_map(|s| [s.who.to_owned(), s.source.to_owned()]));
                }
            }
        }
        quoted
    }

    /// Whatever the scenario, a plan holds no English in either language but the names of its sources.
    #[test]
    fn plans_of_the_scenarios_are_whole() {
        let quoted = quoted();
        let mut looked = 0;
        let mut files = Vec::new();
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/scenarios"), &mut files);
        for file in files.iter().filter(|f| f.extension().is_some_and(|e| e == "toml")) {
            let bytes = std::fs::read(file).unwrap();
            let case = care::wire::case::CaseText::parse(&bytes, "case.toml").finish(None).unwrap();
            let plan = care::planner::plan(&case).unwrap();
            looked += 1;
            let mut said = vec![&plan.headline, &plan.look_again.why];
            for step in &plan.steps {
                said.extend([&step.why, &step.measure_text]);
                said.extend(&step.cautions);
            }
            said.extend(plan.out_of_band_after.iter().map(|m| &m.why));
            said.extend(plan.not_done.iter().flat_map(|n| [&n.what, &n.why]));
            said.extend(plan.findings.iter().flat_map(|f| [&f.what, &f.advice]));
            said.extend(plan.rules.iter().flat_map(|r| [&r.rule, &r.difference]));
            said.extend(&plan.assumptions);
            for (text, code) in said.into_iter().flat_map(|t| [(t, "de"), (t, "fr")]) {
                let german_or_french = marked(&language(code), text);
                for part in german_or_french.split(ENGLISH.0).skip(1) {
                    let english = part.split(ENGLISH.1).next().unwrap();
                    assert!(quoted.contains(english), "{}: {english}", file.display());
                }
            }
        }
        assert!(looked >= 8, "only {looked} scenarios were found");
    }
}
