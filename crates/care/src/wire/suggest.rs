//! "Did you mean": the known word nearest to a mistyped one.

/// The nearest of `known`, if it is near enough to be meant.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = normal(word).take(64).collect();
    known
        .into_iter()
        .map(|k| (distance(&word, &normal(k).collect::<Vec<_>>()), k))
        .min_by_key(|(d, _)| *d)
        .filter(|(d, k)| *d <= 1 + k.len() / 4)
        .map(|(_, k)| k)
}

fn normal(word: &str) -> impl Iterator<Item = char> + '_ {
    word.chars().map(|c| if c == '-' || c == ' ' { '_' } else { c.to_ascii_lowercase() })
}

/// Edits (insert, delete, replace) that lead from one word to the other.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(x != y);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_pen_leads_to_the_word_and_nonsense_to_none() {
        let known = ["volume_l", "volume_measured", "temperature_c"];
        assert_eq!(nearest("volume_L", known), Some("volume_l"));
        assert_eq!(nearest("volumel", known), Some("volume_l"));
        assert_eq!(nearest("temprature_c", known), Some("temperature_c"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("", known), None);
    }
}
