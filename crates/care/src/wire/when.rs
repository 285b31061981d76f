//! Times of the wire: RFC 3339 with or without an offset.

use crate::case::When;
use jiff::{Timestamp, civil, tz::TimeZone};

/// What is accepted, for a message.
pub(crate) const ACCEPTED: &str =
    "a date and time as in 2026-03-01T18:30:00Z (RFC 3339; without an offset it counts as UTC) is accepted";

/// The moment, and whether an offset was given. Without one the time counts as UTC.
pub(crate) fn moment(text: &str) -> Option<(When, bool)> {
    if let Ok(t) = text.parse::<Timestamp>() {
        return Some((When(t.as_second()), true));
    }
    // A bare date would make midnight out of an unknown hour.
    if !text.contains(['T', 't', ' ']) {
        return None;
    }
    let local: civil::DateTime = text.parse().ok()?;
    let t = TimeZone::UTC.to_timestamp(local).ok()?;
    Some((When(t.as_second()), false))
}

/// A moment as RFC 3339 in UTC.
pub(crate) fn written(when: When) -> String {
    Timestamp::from_second(when.0).map_or_else(|_| format!("{} s", when.0), |t| t.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_is_honoured_and_its_absence_is_utc() {
        assert_eq!(moment("1970-01-02T01:00:00+01:00"), Some((When(86_400), true)));
        assert_eq!(moment("1970-01-02T00:00:00Z"), Some((When(86_400), true)));
        assert_eq!(moment("1970-01-02T00:00:00"), Some((When(86_400), false)));
        assert_eq!(moment("1970-01-02 00:00"), Some((When(86_400), false)));
        assert_eq!(moment("1970-01-02"), None);
        assert_eq!(moment("yesterday"), None);
        assert_eq!(moment("2026-02-30T10:00:00"), None);
        assert_eq!(written(When(86_400)), "1970-01-02T00:00:00Z");
    }
}
