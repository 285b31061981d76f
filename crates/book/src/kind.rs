//! What an entry is about: something that happened to a tub, the newest version of a thing, or who did what.

use std::fmt;

/// The kind of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A kit's reading of a tub.
    Reading,
    /// What was added to a tub.
    Dose,
    /// What else happened to a tub: fill, drain, bathers, cell, service.
    Event,
    /// A step of a plan that was done, with what was really added.
    StepDone,
    /// A note about a tub.
    Note,
    /// A picture of a tub.
    Photo,
    /// A tub: its vessel, and what it uses.
    Tub,
    /// A place with tubs.
    Site,
    /// An analysis of source water.
    SourceWater,
    /// A shelf: an owner's or a van's.
    Shelf,
    /// A test kit of the firm's own, with the table of its lot.
    Method,
    /// A set of bands to use for several tubs.
    Band,
    /// Somebody who works with the book.
    Person,
    /// Who did what with the program.
    Audit,
}

/// Every kind, happenings first.
pub const ALL: [Kind; 14] = [
    Kind::Reading,
    Kind::Dose,
    Kind::Event,
    Kind::StepDone,
    Kind::Note,
    Kind::Photo,
    Kind::Tub,
    Kind::Site,
    Kind::SourceWater,
    Kind::Shelf,
    Kind::Method,
    Kind::Band,
    Kind::Person,
    Kind::Audit,
];

impl Kind {
    /// The word that stands in the book.
    pub const fn id(self) -> &'static str {
        match self {
            Kind::Reading => "reading",
            Kind::Dose => "dose",
            Kind::Event => "event",
            Kind::StepDone => "step-done",
            Kind::Note => "note",
            Kind::Photo => "photo",
            Kind::Tub => "tub",
            Kind::Site => "site",
            Kind::SourceWater => "source-water",
            Kind::Shelf => "shelf",
            Kind::Method => "method",
            Kind::Band => "band",
            Kind::Person => "person",
            Kind::Audit => "audit",
        }
    }

    /// The kind with this word.
    pub fn from_id(id: &str) -> Option<Kind> {
        ALL.into_iter().find(|k| k.id() == id)
    }

    /// Something that happened to a tub, whose subject is that tub.
    pub const fn is_happening(self) -> bool {
        matches!(self, Kind::Reading | Kind::Dose | Kind::Event | Kind::StepDone | Kind::Note | Kind::Photo)
    }

    /// A version of a thing, whose subject is the thing itself; the newest version counts.
    pub const fn is_thing(self) -> bool {
        matches!(
            self,
            Kind::Tub
                | Kind::Site
                | Kind::SourceWater
                | Kind::Shelf
                | Kind::Method
                | Kind::Band
                | Kind::Person
        )
    }

    /// All words, for a message.
    pub fn accepted() -> String {
        let words: Vec<&str> = ALL.iter().map(|k| k.id()).collect();
        format!("one of {} is accepted", words.join(", "))
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_found_by_its_word_and_is_one_sort_of_thing() {
        for kind in ALL {
            assert_eq!(Kind::from_id(kind.id()), Some(kind));
            assert!(!(kind.is_happening() && kind.is_thing()), "{kind}");
        }
        assert_eq!(Kind::from_id("wish"), None);
        assert!(Kind::accepted().contains("step-done"));
    }
}
