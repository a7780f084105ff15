//! Packs the phrases of a language while the crate is compiled.
//!
//! *Why.* Phrases are most of what a language takes in flash, and need less than half of it as codes of letters and of
//! frequent fragments. *How.* A fragment is stored as a pair of shorter ones, two bytes. Letters and fragments of a
//! language are chosen by `cargo xtask fragments`; every phrase then takes the fewest bytes that there are for it. *Any
//! phrase can be packed*, whatever they are: a letter without a code is spelled in bytes, and a fragment for which
//! there is no code left, or no parts, is passed over.

use super::text::{DEPTH, ESCAPE, PACKED};

/// Phrases of a language, at most.
pub(super) const PHRASES: usize = 1024;
/// Letters of two bytes of UTF-8 end below this code point.
const LETTERS: usize = 0x800;

/// What packing gives, in more room than it takes.
pub(super) struct Rough<const ROOM: usize> {
    pub(super) table: [[u8; 2]; 256],
    pub(super) pairs_from: usize,
    /// Entries of the table.
    pub(super) entries: usize,
    pub(super) codes: [u8; ROOM],
    pub(super) length: usize,
    pub(super) places: [u16; PHRASES],
}

impl<const ROOM: usize> Rough<ROOM> {
    /// Bytes that the language takes.
    pub(super) const fn bytes(&self) -> usize {
        self.length + 2 * self.entries + 3
    }
}

/// Bytes that phrases take when they are packed with these letters and fragments, shorter ones first; for choosing
/// them. Letters have one or two bytes, the end of a phrase is `"\0"`. `ROOM`: twice the bytes of the phrases and one
/// more for each, and one. Cost: about 20 operations a byte.
///
/// # Panics
/// If the room is too small, a phrase holds a zero byte, there are over a thousand phrases, or they take over 64 KiB.
#[must_use]
pub const fn packed_size<const ROOM: usize>(phrases: &[&str], fragments: &[&str]) -> usize {
    pack::<ROOM>(phrases, fragments).bytes()
}

/// Most bytes that phrases may take when packed.
pub(super) const fn room(phrases: &[&str]) -> usize {
    let (mut room, mut i) = (0, 0);
    while i < phrases.len() {
        room += 2 * phrases[i].len() + 1;
        i += 1;
    }
    room + 1
}

/// What there is to pack.
#[derive(Clone, Copy)]
pub(super) enum Listed {
    /// Begins with the next vocabulary, that of a function with this name.
    Vocabulary(&'static str),
    /// A phrase and the number of what it says.
    Phrase(&'static str, usize),
}

/// The phrases alone.
pub(super) const fn phrases<const PHRASES: usize>(listed: &[Listed]) -> [&'static str; PHRASES] {
    let mut out = [""; PHRASES];
    let (mut phrases, mut i) = (0, 0);
    while i < listed.len() {
        if let Listed::Phrase(phrase, _) = listed[i] {
            out[phrases] = phrase;
            phrases += 1;
        }
        i += 1;
    }
    out
}

/// Lowest and highest number of the vocabulary whose phrases begin here.
const fn numbers(listed: &[Listed], mut at: usize) -> (usize, usize) {
    let (mut lowest, mut highest) = (usize::MAX, 0);
    while at < listed.len()
        && let Listed::Phrase(_, number) = listed[at]
    {
        lowest = if number < lowest { number } else { lowest };
        highest = if number > highest { number } else { highest };
        at += 1;
    }
    (lowest, highest)
}

/// Slots for all numbers of all vocabularies, those between the numbers of a vocabulary included; the slot of a phrase
/// is the sum of its number and this, wrapping around. With an empty name, how many slots there are.
pub(super) const fn slots(listed: &[Listed], vocabulary: &str) -> usize {
    let (mut first, mut i) = (0usize, 0);
    while i < listed.len() {
        if let Listed::Vocabulary(name) = listed[i] {
            let (lowest, highest) = numbers(listed, i + 1);
            if equal(name.as_bytes(), vocabulary.as_bytes()) {
                return first.wrapping_sub(lowest);
            }
            first += highest - lowest + 1;
        }
        i += 1;
    }
    first
}

/// Where the phrases begin, by their slots.
pub(super) const fn places<const SLOTS: usize, const ROOM: usize>(
    rough: &Rough<ROOM>,
    listed: &[Listed],
) -> [u16; SLOTS] {
    let mut out = [0; SLOTS];
    let (mut base, mut phrases, mut i) = (0, 0, 0);
    while i < listed.len() {
        match listed[i] {
            Listed::Vocabulary(name) => base = slots(listed, name),
            Listed::Phrase(_, number) => {
                out[base.wrapping_add(number)] = rough.places[phrases];
                phrases += 1;
            }
        }
        i += 1;
    }
    out
}

/// A packed language, as [`Text`](super::Text) says.
pub(super) const fn language<const BYTES: usize, const ROOM: usize>(rough: &Rough<ROOM>) -> [u8; BYTES] {
    let mut out = [PACKED; BYTES];
    let mut i = 0;
    while i < rough.length {
        out[i] = rough.codes[i];
        i += 1;
    }
    let mut code = 0;
    while code < rough.entries {
        [out[i], out[i + 1]] = rough.table[code];
        (code, i) = (code + 1, i + 2);
    }
    (out[i], out[i + 1]) = (rough.pairs_from as u8, (rough.entries - 1) as u8);
    out
}

const fn equal(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

/// Values of [`hash`]; so many that few fragments share one.
const HASHES: usize = 1024;

/// Of the first two bytes of a fragment.
const fn hash(first: u8, second: u8) -> usize {
    (first as usize * 37 + second as usize) % HASHES
}

/// Codes of letters and of fragments.
struct Codes {
    table: [[u8; 2]; 256],
    pairs_from: usize,
    entries: usize,
    /// Index of the fragment that a code stands for, and its bytes.
    fragment: [usize; 256],
    bytes: [usize; 256],
    /// Pairs within pairs behind a code.
    depth: [usize; 256],
    /// By letter; [`ESCAPE`] if it has none.
    letter: [u8; LETTERS],
    /// The last code whose fragment begins with two bytes of this [`hash`], and by code the one before it; [`ESCAPE`]
    /// if there is none.
    last: [u8; HASHES],
    before: [u8; 256],
}

/// Code point and bytes of a letter of one or two bytes; 0 bytes for another, and where there is none.
const fn letter_at(text: &[u8], at: usize) -> (usize, usize) {
    if at >= text.len() {
        return (0, 0);
    }
    let byte = text[at] as usize;
    match byte {
        0..0x80 => (byte, 1),
        0xC0..0xE0 if at + 1 < text.len() => ((byte & 0x1F) << 6 | (text[at + 1] & 0x3F) as usize, 2),
        _ => (0, 0),
    }
}

impl Codes {
    /// The end of a phrase has the first code after [`ESCAPE`], whether it is listed or not.
    const fn new(fragments: &[&str]) -> Self {
        let mut codes = Self {
            table: [[0; 2]; 256],
            pairs_from: 0,
            entries: ESCAPE as usize + 2,
            fragment: [0; 256],
            bytes: [0; 256],
            depth: [0; 256],
            letter: [ESCAPE; LETTERS],
            last: [ESCAPE; HASHES],
            before: [ESCAPE; 256],
        };
        codes.letter[0] = ESCAPE + 1;
        let mut i = 0;
        while i < fragments.len() {
            let (letter, bytes) = letter_at(fragments[i].as_bytes(), 0);
            if bytes == fragments[i].len() && letter > 0 && codes.letter[letter] == ESCAPE && codes.entries < 256 {
                codes.letter[letter] = codes.entries as u8;
                codes.table[codes.entries] = match letter {
                    0..0x80 => [letter as u8, 0],
                    _ => [0xC0 | (letter >> 6) as u8, 0x80 | (letter & 0x3F) as u8],
                };
                codes.entries += 1;
            }
            i += 1;
        }
        codes.pairs_from = codes.entries;
        i = 0;
        while i < fragments.len() {
            codes.add(fragments, i);
            i += 1;
        }
        codes
    }

    /// Gives a fragment a code, if there is one left and the fragment has two parts with codes.
    const fn add(&mut self, fragments: &[&str], index: usize) {
        let text = fragments[index].as_bytes();
        let mut middle = 1;
        // Nothing follows the end of a phrase.
        while middle < text.len() && text[middle - 1] != 0 && self.entries < 256 {
            let (left, right) = text.split_at(middle);
            let left = self.code(fragments, left);
            let right = if left == ESCAPE { ESCAPE } else { self.code(fragments, right) };
            if right != ESCAPE {
                let (of_left, of_right) = (self.depth[left as usize], self.depth[right as usize]);
                let depth = 1 + if of_left > of_right { of_left } else { of_right };
                if depth <= DEPTH {
                    let (code, hash) = (self.entries, hash(text[0], text[1]));
                    self.table[code] = [left, right];
                    (self.fragment[code], self.bytes[code]) = (index, text.len());
                    self.depth[code] = depth;
                    self.before[code] = self.last[hash];
                    self.last[hash] = code as u8;
                    self.entries += 1;
                    return;
                }
            }
            middle += 1;
        }
    }

    /// The code of a whole text, or [`ESCAPE`].
    const fn code(&self, fragments: &[&str], text: &[u8]) -> u8 {
        let (letter, bytes) = letter_at(text, 0);
        if bytes == text.len() {
            return self.letter[letter];
        }
        if text.len() < 2 {
            return ESCAPE;
        }
        let mut code = self.last[hash(text[0], text[1])];
        while code != ESCAPE && !equal(fragments[self.fragment[code as usize]].as_bytes(), text) {
            code = self.before[code as usize];
        }
        code
    }
}

/// Whether a text goes on like this.
const fn continues(text: &[u8], at: usize, like: &[u8]) -> bool {
    let (mut i, length) = (0, like.len());
    while i < length && at + i < text.len() && text[at + i] == like[i] {
        i += 1;
    }
    i == length
}

/// Packs phrases into as few bytes as these fragments allow.
#[allow(long_running_const_eval, reason = "it takes a second for each language")]
pub(super) const fn pack<const ROOM: usize>(phrases: &[&str], fragments: &[&str]) -> Rough<ROOM> {
    let codes = Codes::new(fragments);
    let mut rough = Rough {
        table: codes.table,
        pairs_from: codes.pairs_from,
        entries: codes.entries,
        codes: [0; ROOM],
        length: 0,
        places: [0; PHRASES],
    };
    // One text, so that room is taken once.
    let (mut text, mut end, mut i) = ([0u8; ROOM], 0, 0);
    while i < phrases.len() {
        let (phrase, length, mut at) = (phrases[i].as_bytes(), phrases[i].len(), 0);
        while at < length {
            assert!(phrase[at] != 0, "a phrase holds a zero byte");
            text[end] = phrase[at];
            end += 1;
            at += 1;
        }
        // The zero byte is there.
        end += 1;
        i += 1;
    }
    // From the end: the fewest codes from each byte on, and the first of them with its bytes.
    let (mut fewest, mut chosen, mut bytes) = ([0u16; ROOM], [ESCAPE; ROOM], [1u8; ROOM]);
    let mut at = end;
    while at > 0 {
        at -= 1;
        // Calls cost most here.
        let byte = text[at];
        let (letter, length) = if byte < 0x80 { (byte as usize, 1) } else { letter_at(&text, at) };
        let mut code = if length == 0 { ESCAPE } else { codes.letter[letter] };
        if code == ESCAPE {
            (fewest[at], bytes[at]) = (fewest[at + 1] + 2, 1);
        } else {
            (fewest[at], bytes[at]) = (fewest[at + length] + 1, length as u8);
        }
        chosen[at] = code;
        code = codes.last[(byte as usize * 37 + text[at + 1] as usize) % HASHES];
        while code != ESCAPE {
            let length = codes.bytes[code as usize];
            if at + length <= end
                && fewest[at + length] + 1 < fewest[at]
                && continues(&text, at, fragments[codes.fragment[code as usize]].as_bytes())
            {
                fewest[at] = fewest[at + length] + 1;
                (chosen[at], bytes[at]) = (code, length as u8);
            }
            code = codes.before[code as usize];
        }
    }
    let mut phrase = 0;
    while at < end {
        if at == 0 || text[at - 1] == 0 {
            rough.places[phrase] = rough.length as u16;
            phrase += 1;
        }
        rough.codes[rough.length] = chosen[at];
        rough.length += 1;
        if chosen[at] == ESCAPE {
            rough.codes[rough.length] = text[at];
            rough.length += 1;
        }
        at += bytes[at] as usize;
    }
    assert!(rough.length <= u16::MAX as usize, "a place has 16 bits");
    rough
}

/// Makes functions that give packed phrases of functions that match literals. First comes with which fragments to pack.
macro_rules! packed {
    ($fragments:expr; $(
        fn $name:ident($item:ident: $type:ty) -> Text {
            match $matched:ident { $($case:path => $phrase:tt $(,)?)+ }
        }
    )+) => {
        use $crate::wording::packing;

        const LISTED: &[packing::Listed] = &[$(
            packing::Listed::Vocabulary(stringify!($name)),
            $(packing::Listed::Phrase($phrase, $case as usize)),+
        ),+];
        pub(super) const PHRASES: &[&str] = &packing::phrases::<{ [$($(stringify!($case)),+),+].len() }>(LISTED);
        const ROUGH: &packing::Rough<{ packing::room(PHRASES) }> = &packing::pack(PHRASES, $fragments);
        static PACKED: [u8; ROUGH.bytes()] = packing::language(ROUGH);

        static PLACES: [u16; packing::slots(LISTED, "")] = packing::places(ROUGH, LISTED);

        /// Not inlined, so that a function for each vocabulary is little more than a sum.
        #[inline(never)]
        fn at(slot: u16) -> Text {
            Text::packed(&PACKED, PLACES.get(usize::from(slot)).copied().unwrap_or(u16::MAX))
        }

        $(
            fn $name($item: $type) -> Text {
                // A phrase that is missing does not compile.
                match $matched {
                    $($case => {})+
                }
                at((const { packing::slots(LISTED, stringify!($name)) } as u16).wrapping_add($item as u16))
            }
        )+
    };
}

pub(super) use packed;

#[cfg(test)]
mod tests;
