//! Lines of words, numbers and hashes.

use core::fmt;
use oddheat_core::wording::Writer;

/// FNV-1a with 64 bits (IETF draft on the FNV hash: memory).
#[derive(Clone, Copy, Debug)]
pub(super) struct Hash(u64);

impl Hash {
    /// Of nothing.
    pub(super) const EMPTY: Self = Self(0xCBF2_9CE4_8422_2325);

    /// Takes bytes.
    pub(super) fn bytes(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
    }

    /// Takes 32 bits, the lowest first.
    pub(super) fn word(&mut self, word: u32) {
        self.bytes(&word.to_le_bytes());
    }

    /// Takes the bits of a float, so that not even the last one may differ.
    pub(super) fn float(&mut self, value: f64) {
        self.bytes(&value.to_bits().to_le_bytes());
    }

    /// Takes a value that may be missing; missing differs from every value.
    pub(super) fn maybe(&mut self, value: Option<u32>) {
        self.bytes(&[u8::from(value.is_some())]);
        self.word(value.unwrap_or(0));
    }

    /// The hash.
    pub(super) const fn value(&self) -> u64 {
        self.0
    }
}

/// Where lines go.
pub(super) struct Lines<'o> {
    out: &'o mut dyn FnMut(&str),
}

impl<'o> Lines<'o> {
    pub(super) fn new(out: &'o mut dyn FnMut(&str)) -> Self {
        Self { out }
    }

    /// Begins a line with its first word.
    pub(super) fn begin(&mut self, word: &str) -> &mut Self {
        (self.out)(word);
        self
    }

    /// A word.
    pub(super) fn word(&mut self, word: &str) -> &mut Self {
        (self.out)(" ");
        (self.out)(word);
        self
    }

    /// A word that may be missing.
    pub(super) fn maybe(&mut self, word: Option<&str>) -> &mut Self {
        self.word(word.unwrap_or("-"))
    }

    /// A whole number.
    pub(super) fn number(&mut self, value: impl Into<i64>) -> &mut Self {
        let mut digits = [0; 20];
        let mut writer = Writer::new(&mut digits);
        writer.number(value.into());
        let written = writer.written();
        self.ascii(&digits[..written])
    }

    /// 64 bits in hexadecimal.
    pub(super) fn hash(&mut self, hash: &Hash) -> &mut Self {
        let mut digits = [0; 16];
        let mut value = hash.value();
        for digit in digits.iter_mut().rev() {
            *digit = b"0123456789abcdef"[(value & 15) as usize];
            value >>= 4;
        }
        self.ascii(&digits)
    }

    /// Ends the line.
    pub(super) fn end(&mut self) {
        (self.out)("\n");
    }

    /// A whole line that says why something was refused.
    pub(super) fn refused(&mut self, error: impl fmt::Display) {
        // Words go out as they come, so this cannot fail.
        let _ = fmt::write(self.begin("refused").word(""), format_args!("{error}"));
        self.end();
    }

    fn ascii(&mut self, text: &[u8]) -> &mut Self {
        self.word(core::str::from_utf8(text).unwrap_or("not ASCII"))
    }
}

impl fmt::Write for Lines<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        (self.out)(text);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the reference implementation (memory).
    #[test]
    fn hash_has_the_known_values() {
        for (text, value) in
            [("", 0xCBF2_9CE4_8422_2325), ("a", 0xAF63_DC4C_8601_EC8C), ("foobar", 0x8594_4171_F739_67E8)]
        {
            let mut hash = Hash::EMPTY;
            hash.bytes(text.as_bytes());
            assert_eq!(hash.value(), value, "{text}");
        }
    }

    #[test]
    fn lines_are_words_and_numbers() {
        let mut text = std::string::String::new();
        let mut out = |piece: &str| text.push_str(piece);
        Lines::new(&mut out).begin("a").word("b").maybe(None).number(-70).number(u32::MAX).hash(&Hash::EMPTY).end();
        assert_eq!(text, "a b - -70 4294967295 cbf29ce484222325\n");
    }
}
