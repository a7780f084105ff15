//! Whatever is packed comes back as it was.

use super::*;
use crate::checks::Kind;
use crate::wording::{Text, en, es};
use proptest::prelude::*;
use std::string::{String, ToString};
use std::vec::Vec;

/// Out of order, in a block, with letters of one to four bytes, some of them without a code.
mod odd {
    use super::*;

    packed! { &["", "a", "e", "é", "°", "…", "ae", "zz", "ea", "aeea", "a\0", "\0a", "ae"];

    fn kind(kind: Kind) -> Text {
        match kind {
            Kind::Hub => "",
            Kind::Brake => "aeeaeaé 25 °C ± 1…",
            Kind::Joint => {
                "\n\"\u{1F525}\"ñaea\u{7ff}\u{800}"
            }
            Kind::TireLeak => "a",
            Kind::Tread => "zzé",
        }
    }

    fn again(kind: Kind) -> Text {
        match kind {
            Kind::TireLeak => "a",
            Kind::Brake => "e",
            Kind::Joint => "é",
            Kind::Tread => "ae",
            Kind::Hub => "…",
        }
    }

    }

    pub(super) const FUNCTIONS: [fn(Kind) -> Text; 2] = [kind, again];
}

#[test]
fn a_function_gives_the_phrase_of_each_code() {
    let [kind, again] = odd::FUNCTIONS.map(|words| move |kind| words(kind).to_string());
    assert_eq!(kind(Kind::Brake), "aeeaeaé 25 °C ± 1…");
    assert_eq!(kind(Kind::Joint), "\n\"\u{1F525}\"ñaea\u{7ff}\u{800}");
    assert_eq!([kind(Kind::TireLeak), kind(Kind::Tread), kind(Kind::Hub)], ["a", "zzé", ""]);
    assert_eq!(
        [Kind::TireLeak, Kind::Brake, Kind::Joint, Kind::Tread, Kind::Hub].map(again),
        ["a", "e", "é", "ae", "…"]
    );
}

/// What is unpacked is what is written in the files of the languages.
#[test]
fn every_phrase_comes_back() {
    for (language, literals) in [(&crate::wording::ENGLISH, en::PHRASES), (&crate::wording::SPANISH, es::PHRASES)] {
        let mut unpacked = Vec::new();
        language.each_phrase(|_, text| unpacked.push(text.to_string()));
        let mut literals: Vec<String> = literals.iter().map(ToString::to_string).collect();
        if language.key == "en" {
            literals.extend(crate::wording::TAGS.iter().map(|tag| tag.words().to_string()));
        }
        unpacked.sort_unstable();
        literals.sort_unstable();
        assert_eq!(unpacked, literals);
    }
}

#[test]
fn fragments_halve_the_phrases() {
    for (phrases, fragments) in
        [(en::PHRASES, crate::wording::fragments::ENGLISH), (es::PHRASES, crate::wording::fragments::SPANISH)]
    {
        let plain: usize = phrases.iter().map(|phrase| phrase.len()).sum();
        let packed = packed_size::<{ 1 << 16 }>(phrases, fragments);
        assert!(packed * 100 < plain * 55, "{packed} of {plain}");
    }
}

proptest! {
    #[test]
    fn any_phrase_can_be_packed_with_any_fragments(
        phrases in prop::collection::vec("[a-dé…\u{1F525} ]{0,24}", 1..8),
        fragments in prop::collection::vec("[a-dé… ]{0,4}\0?", 0..300),
    ) {
        let phrases: Vec<&str> = phrases.iter().map(String::as_str).collect();
        let fragments: Vec<&str> = fragments.iter().map(String::as_str).collect();
        let rough = pack::<2048>(&phrases, &fragments);
        let packed: &'static [u8] = Vec::from(&language::<4096, _>(&rough)[..rough.bytes()]).leak();
        for (phrase, place) in phrases.iter().zip(rough.places) {
            prop_assert_eq!(&Text::packed(packed, place).to_string(), phrase);
        }
    }
}
