//! The known word nearest to one that is not known.

/// How alike two words must be (0 to 1, Damerau-Levenshtein over the longer length) for
/// one to be offered for the other. At 0.5 half the letters may differ, which still finds
/// `overlap_m` for `overlap`; lower, and words that share a unit are offered.
const ALIKE: f64 = 0.5;

/// Longer words are not compared: none of ours is as long, and comparing costs their product.
const COMPARED_LETTERS: usize = 100;

/// The nearest of the known words, where one is near enough.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.chars().count() > COMPARED_LETTERS {
        return None;
    }
    let folded = fold(word);
    let mut best: Option<(&str, f64)> = None;
    let letters = folded.chars().count();
    for candidate in known {
        // Words of such different lengths cannot be alike; skipping them keeps a file of
        // many unknown words quick to refuse.
        let lengths = [letters, candidate.chars().count()];
        if lengths[0].min(lengths[1]) * 2 < lengths[0].max(lengths[1]) {
            continue;
        }
        let likeness = strsim::normalized_damerau_levenshtein(&folded, &fold(candidate));
        if likeness >= ALIKE && best.is_none_or(|(_, so_far)| likeness > so_far) {
            best = Some((candidate, likeness));
        }
    }
    best.map(|(candidate, _)| candidate)
}

/// Case and the kind of joining stroke do not make words different.
fn fold(word: &str) -> String {
    word.to_lowercase().replace(['-', ' '], "_")
}

/// ``; did you mean `brush`?`` or, where nothing is near, ``; allowed: `a`, `b` ``.
pub fn advice<'a>(word: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> String {
    match nearest(word, known.clone()) {
        Some(near) => format!("; did you mean `{near}`?"),
        None => format!("; allowed: {}", list(known)),
    }
}

/// `` `a`, `b`, `c` ``; the first twenty of a longer list.
pub fn list<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    const SHOWN: usize = 20;
    let words: Vec<&str> = words.into_iter().collect();
    let shown: Vec<String> = words
        .iter()
        .take(SHOWN)
        .map(|word| format!("`{}`", short(word)))
        .collect();
    let more = words.len().saturating_sub(SHOWN);
    if more == 0 {
        shown.join(", ")
    } else {
        format!("{} and {more} more", shown.join(", "))
    }
}

/// A value as messages show it: one line, at most sixty letters.
pub fn short(text: &str) -> String {
    const SHOWN: usize = 60;
    let mut line: String = text.chars().take(SHOWN).map(shown).collect();
    if text.chars().count() > SHOWN {
        line.push('…');
    }
    line
}

/// A text as it is shown, on one line.
pub fn line(text: &str) -> String {
    text.chars().map(shown).collect()
}

/// A letter as it is shown: what would move a cursor, colour a terminal or turn the order of what
/// follows is a question mark.
pub fn shown(letter: char) -> char {
    let turns = matches!(letter, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if letter.is_control() || turns {
        '?'
    } else {
        letter
    }
}
