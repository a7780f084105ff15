//! Every language says what the English one says: all words, none left in English, the same numbers and units.

use super::*;
use crate::finding::{Evidence, FailedGate, Finding};
use fixed::types::I16F16;
use std::string::{String, ToString as _};
use std::vec::Vec;
use std::{format, vec};

const OTHERS: [&Language; 1] = [&SPANISH];
/// What may read the same in two languages; unit symbols and nothing do so always.
const SHARED: [&str; 1] = ["probable"];
/// Words of English that no sentence of ours does without for long and that are no words of Spanish.
const ENGLISH_ONLY: [&str; 49] = [
    "the", "of", "and", "is", "are", "was", "not", "with", "or", "than", "this", "that", "must", "be", "for", "from",
    "over", "away", "at", "in", "on", "to", "by", "it", "its", "least", "most", "one", "if", "may", "only", "never",
    "out", "under", "after", "before", "spot", "picture", "pictures", "joint", "brake", "tire", "air", "side", "left",
    "right", "heat", "needed", "graded",
];
/// Numbers that are written as words, in both languages. "One" is an article as well and left out.
const NUMBERS: [(&str, &str); 6] =
    [("two", "dos"), ("three", "tres"), ("four", "cuatro"), ("five", "cinco"), ("six", "seis"), ("ten", "diez")];
const UNITS: [TemperatureUnit; 2] = [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit];

/// Every phrase of a language with the key of what it says.
fn words(language: &Language) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    language.each_phrase(|key, text| out.push((key, text.to_string())));
    out
}

/// Numbers with what follows them up to the next space, if it is a unit; and numbers written as words, as in English.
fn numbers(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let tokens: Vec<&str> = text.split([' ', '\n', '(', ')', '"', '…']).collect();
    for (i, token) in tokens.iter().enumerate() {
        let token = token.trim_end_matches(['.', ',', ';', ':']);
        let lower = token.to_lowercase();
        if token.starts_with(|c: char| c.is_ascii_digit()) || token.starts_with('-') && token.len() > 1 {
            let next = tokens.get(i + 1).map_or("", |next| next.trim_end_matches(['.', ',', ';', ':']));
            let unit = ["K", "°C", "°F", "s", "mm", "m", "m/s", "%", "V", "A", "kPa"].contains(&next);
            found.push(if unit { format!("{token} {next}") } else { token.to_string() });
        } else if let Some((english, _)) = NUMBERS.iter().find(|(a, b)| lower == *a || lower == *b) {
            found.push((*english).to_string());
        }
    }
    found.sort();
    found
}

/// Text without keys and citations, which stand in brackets and are the same in every language.
fn without_brackets(text: &str) -> String {
    let parts = text.split('[').map(|part| part.rsplit_once(']').map_or(part, |(_, rest)| rest));
    parts.collect()
}

fn english_words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphabetic());
    words.filter(|word| ENGLISH_ONLY.contains(word)).map(String::from).collect()
}

fn written(write: impl Fn(&mut [u8]) -> usize) -> String {
    let mut text = vec![0; write(&mut [])];
    assert_eq!(write(&mut text), text.len());
    String::from_utf8(text).unwrap()
}

/// Findings that between them use every word there is a place for.
fn findings() -> Vec<Finding> {
    let mut all = Vec::new();
    let most = [Symptom::ALL.len(), Metric::ALL.len(), Gate::ALL.len(), Cause::ALL.len(), NextTest::ALL.len()];
    for i in 0..most.into_iter().max().unwrap() {
        let kind = Kind::ALL[i % Kind::ALL.len()];
        let mut finding = Finding::new(kind);
        finding.grade = Grade::ALL[i % Grade::ALL.len()];
        finding.symptom = Symptom::ALL[i % Symptom::ALL.len()];
        let place = (Role::ALL[i % Role::ALL.len()], View::ALL[i % View::ALL.len()]);
        finding.suspect = Some(place);
        let limits = kind.definition().limits;
        let _ = finding.evidence.push(Evidence {
            metric: Metric::ALL[i % Metric::ALL.len()],
            role: Some(place.0),
            view: Some(place.1),
            value: I16F16::from_num(300.25) + I16F16::from_num(i as i32),
            uncertainty: I16F16::from_num(0.375),
            limit: (!limits.is_empty()).then(|| (i % limits.len()) as u8),
            grade: Grade::ALL[i % 4],
            reaches: Grade::Major,
        });
        let condition = (i % 2 == 0).then(|| Condition::ALL[i % Condition::ALL.len()]);
        let _ = finding.gates.push(FailedGate {
            gate: Gate::ALL[i % Gate::ALL.len()],
            effect: crate::finding::Effect::Stops,
            condition,
            role: Some(place.0),
            view: Some(place.1),
        });
        let _ = finding.causes.push(Cause::ALL[i % Cause::ALL.len()]);
        let _ = finding.tests.push(NextTest::ALL[i % NextTest::ALL.len()]);
        let _ = finding.cautions.push(Caution::ALL[i % Caution::ALL.len()]);
        let _ = finding.notes.push(Note::ALL[i % Note::ALL.len()]);
        all.push(finding);
    }
    all
}

/// Whole texts of a language: every brief and findings with every word.
fn texts(language: &Language) -> Vec<String> {
    let mut all = Vec::new();
    for unit in UNITS {
        for &kind in Kind::ALL {
            all.push(written(|buffer| brief_text(language, kind, unit, true, buffer)));
        }
        all.extend(findings().iter().map(|finding| written(|buffer| finding_text(language, finding, unit, buffer))));
    }
    all
}

#[test]
fn every_word_is_there_and_is_not_the_english_one() {
    let english = words(&ENGLISH);
    for language in OTHERS {
        assert_ne!(language.key, ENGLISH.key);
        let own = words(language);
        assert_eq!(own.len(), english.len());
        for ((key, word), (_, original)) in own.iter().zip(&english) {
            assert!(!word.trim().is_empty(), "{}: {key}", language.key);
            assert!(word != original || SHARED.contains(&word.as_str()), "{}: {key}: {word}", language.key);
            // The end of a sentence is the writer's affair in one language as in the other.
            assert_eq!(word.ends_with(['.', ':']), original.ends_with(['.', ':']), "{}: {key}: {word}", language.key);
        }
        for unit in [
            Unit::YesNo,
            Unit::Temperature,
            Unit::Seconds,
            Unit::Amperes,
            Unit::Kilopascals,
            Unit::Meters,
            Unit::Liters,
            Unit::KelvinDifference,
        ] {
            assert_eq!((language.unit)(unit), unit.symbol());
        }
    }
}

#[test]
fn members_of_a_vocabulary_do_not_share_a_word() {
    fn distinct<T: Copy>(items: &[T], of: fn(T) -> Text) {
        let mut words: Vec<_> = items.iter().map(|&item| of(item).to_string()).collect();
        words.sort_unstable();
        assert!(words.windows(2).all(|pair| pair[0] != pair[1]), "{words:?}");
    }
    for language in [&ENGLISH, &SPANISH] {
        distinct(Kind::ALL, language.kind);
        distinct(Kind::ALL, language.set_up);
        distinct(Grade::ALL, language.grade);
        distinct(Symptom::ALL, language.symptom);
        distinct(Role::ALL, language.role);
        distinct(View::ALL, language.view);
        distinct(Condition::ALL, language.condition);
        distinct(Metric::ALL, language.metric);
        distinct(Gate::ALL, language.gate);
        distinct(Cause::ALL, language.cause);
        distinct(NextTest::ALL, language.test);
        distinct(Caution::ALL, language.caution);
        distinct(Note::ALL, language.note);
        distinct(TAGS, language.tag);
        distinct(Phrase::ALL, language.phrase);
    }
}

/// "20 kPa", "200 to 500 °C", "0.2 V", "three to five minutes": what can be counted on in one language can in the other.
#[test]
fn numbers_and_units_are_the_same_in_every_language() {
    assert_eq!(numbers("10 to 20 mm, 0.2 V; five, under 40 K."), ["0.2 V", "10", "20 mm", "40 K", "five"]);
    assert_eq!(numbers("Cinco de -3 °C"), ["-3 °C", "five"]);
    for language in OTHERS {
        let mut some = 0;
        for ((key, word), (_, original)) in words(language).iter().zip(&words(&ENGLISH)) {
            assert_eq!(numbers(word), numbers(original), "{}: {key}: {word}", language.key);
            some += numbers(word).len();
        }
        assert!(some > 40, "{some} numbers: they are not found any more");
        for (text, original) in texts(language).iter().zip(&texts(&ENGLISH)) {
            assert_eq!(numbers(text), numbers(original), "{text}");
        }
    }
}

/// Keys and citations are the same; nothing else is left in English.
#[test]
fn no_english_is_left_over() {
    assert_eq!(english_words("Medir the caída [of tensión]"), ["the", "of"]);
    assert!(texts(&ENGLISH).iter().all(|text| english_words(&without_brackets(text)).len() > 3));
    for language in OTHERS {
        for (text, original) in texts(language).iter().zip(&texts(&ENGLISH)) {
            assert_eq!(english_words(&without_brackets(text)), Vec::<String>::new(), "{text}");
            let cited = |text: &str| -> Vec<String> {
                let parts = text.split('[').skip(1).filter_map(|part| part.split_once(']'));
                // Behind the tag, which is a word of the language.
                parts.map(|(inside, _)| inside.split_once(": ").map_or(inside, |(_, cite)| cite).into()).collect()
            };
            assert_eq!(cited(text), cited(original));
            assert_eq!(text.lines().count(), original.lines().count(), "{text}");
        }
    }
}

/// A buffer that ends inside "í" or "°" holds the text up to that character, and the room asked for is the same.
#[test]
fn a_short_buffer_holds_whole_characters() {
    for language in [&ENGLISH, &SPANISH] {
        for text in texts(language).iter().take(Kind::ALL.len()) {
            // Briefs come first, one for each check.
            let kind =
                Kind::ALL.iter().copied().find(|&kind| text.starts_with(&(language.kind)(kind).to_string())).unwrap();
            let mut cut_inside = 0;
            for room in 0..=text.len() {
                let mut buffer = vec![0; room];
                let needed = brief_text(language, kind, TemperatureUnit::Celsius, true, &mut buffer);
                let whole = (0..=room).rev().find(|&at| text.is_char_boundary(at)).unwrap();
                assert_eq!((needed, &buffer[..whole]), (text.len(), &text.as_bytes()[..whole]));
                assert!(buffer[whole..].iter().all(|&byte| byte == 0), "{room}");
                cut_inside += usize::from(whole < room);
            }
            assert!(language.key != "es" || cut_inside > 20, "{cut_inside}");
        }
    }
}

/// A display's font: Latin-1, and these three. The C header says so.
#[test]
fn letters_are_those_of_common_fonts() {
    for language in [&ENGLISH, &SPANISH] {
        for text in texts(language) {
            let odd: String = text.chars().filter(|&c| c > '\u{ff}' && !"–…→".contains(c)).collect();
            assert_eq!(odd, "", "{text}");
        }
    }
}
