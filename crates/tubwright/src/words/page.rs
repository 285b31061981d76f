//! A page of text that wraps at the terminal's width, and does without Unicode where the locale has none.

use std::fmt::Write;
use textwrap::{Options, WordSplitter};
use unicode_width::UnicodeWidthStr;

/// Width of the names in [`Page::pair`].
const NAME_WIDTH: usize = 20;

pub(crate) struct Page {
    text: String,
    pub(crate) width: usize,
    pub(crate) unicode: bool,
}

impl Page {
    /// As wide as the terminal (80 if it is not known; COLUMNS wins), in the locale's characters.
    pub(crate) fn new() -> Self {
        let columns = std::env::var("COLUMNS").ok().and_then(|c| c.trim().parse().ok());
        let terminal = || terminal_size::terminal_size().map(|(w, _)| usize::from(w.0));
        let width = columns.or_else(terminal).unwrap_or(80);
        Page::with(width, locale_is_utf8(|name| std::env::var(name).ok()))
    }

    pub(crate) fn with(width: usize, unicode: bool) -> Self {
        Page { text: String::new(), width: width.clamp(40, 100), unicode }
    }

    /// The page's text.
    pub(crate) fn finish(self) -> String {
        self.text
    }

    pub(crate) fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// The first line, underlined.
    pub(crate) fn title(&mut self, text: &str) {
        self.hanging("", "", text);
        let rule = if self.unicode { "─" } else { "-" };
        let longest = self.text.lines().map(UnicodeWidthStr::width).max().unwrap_or(0);
        let _infallible = writeln!(self.text, "{}", rule.repeat(longest));
    }

    /// A heading with an empty line before it.
    pub(crate) fn heading(&mut self, text: &str) {
        self.gap();
        self.hanging("", "", text);
    }

    /// A paragraph.
    pub(crate) fn paragraph(&mut self, text: &str) {
        self.hanging("", "", text);
    }

    /// A name and its value, aligned.
    pub(crate) fn pair(&mut self, name: &str, value: &str) {
        let first = format!("  {}", padded(&self.plain(name), NAME_WIDTH));
        self.hanging(&first, &" ".repeat(NAME_WIDTH + 2), value);
    }

    /// Text after `first`, its further lines after `rest`.
    pub(crate) fn hanging(&mut self, first: &str, rest: &str, text: &str) {
        let (first, rest) = (self.plain(first), self.plain(rest));
        let text = self.plain(text).split_whitespace().collect::<Vec<_>>().join(" ");
        let options = Options::new(self.width)
            .initial_indent(&first)
            .subsequent_indent(&rest)
            .word_splitter(WordSplitter::NoHyphenation);
        if text.is_empty() {
            self.line(&first);
            return;
        }
        for line in textwrap::wrap(&text, options) {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }

    /// A line as it is, unless it is too wide: the caller has laid it out.
    pub(crate) fn line(&mut self, text: &str) {
        let plain = self.plain(text);
        self.text.push_str(plain.trim_end());
        self.text.push('\n');
    }

    /// Without characters that the locale cannot show; control characters never reach the terminal.
    pub(crate) fn plain(&self, text: &str) -> String {
        let mut plain = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                '\n' | '\t' => plain.push(' '),
                c if c.is_control() => plain.push('?'),
                c if self.unicode || c.is_ascii() => plain.push(c),
                '–' | '—' | '−' | '─' | '‐' => plain.push('-'),
                '●' | '•' => plain.push('o'),
                '·' => plain.push('.'),
                '‹' => plain.push('<'),
                '›' => plain.push('>'),
                '…' => plain.push_str("..."),
                '×' => plain.push('x'),
                'µ' | 'μ' => plain.push('u'),
                '°' => plain.push_str("deg "),
                '→' => plain.push_str("->"),
                '≤' => plain.push_str("<="),
                '≥' => plain.push_str(">="),
                '±' => plain.push_str("+/-"),
                '½' => plain.push_str("1/2"),
                '¼' => plain.push_str("1/4"),
                '¾' => plain.push_str("3/4"),
                '“' | '”' => plain.push('"'),
                '‘' | '’' => plain.push('\''),
                '\u{a0}' | '\u{2009}' | '\u{202f}' => plain.push(' '),
                _ => plain.push('?'),
            }
        }
        plain
    }
}

/// Text filled up with spaces to a width.
pub(crate) fn padded(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

/// Whether the locale's characters are UTF-8: the first of LC_ALL, LC_CTYPE and LANG that is set says so (POSIX).
fn locale_is_utf8(variable: impl Fn(&str) -> Option<String>) -> bool {
    let set = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(variable).find(|v| !v.is_empty());
    set.is_some_and(|v| {
        let v = v.to_ascii_lowercase();
        v.contains("utf-8") || v.contains("utf8")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_wraps_with_its_hanging_indent_and_does_without_unicode() {
        let mut page = Page::with(40, false);
        page.hanging(
            " 1  ",
            "    ",
            "Add 50 g of dry acid – slowly, at 38 °C, with the jets on all the time",
        );
        assert_eq!(
            page.finish(),
            " 1  Add 50 g of dry acid - slowly, at 38\n    deg C, with the jets on all the time\n"
        );
        let mut page = Page::with(40, true);
        page.paragraph("\u{1b}[31mred\u{7}");
        assert_eq!(page.finish(), "?[31mred?\n");
    }

    #[test]
    fn the_first_locale_variable_that_is_set_decides() {
        let env = |all: &'static str, lang: &'static str| {
            move |name: &str| match name {
                "LC_ALL" => Some(all.to_owned()),
                "LANG" => Some(lang.to_owned()),
                _ => None,
            }
        };
        assert!(locale_is_utf8(env("", "de_DE.UTF-8")));
        assert!(!locale_is_utf8(env("C", "de_DE.UTF-8")));
        assert!(!locale_is_utf8(|_| None));
    }
}
