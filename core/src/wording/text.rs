//! A phrase, as it lies in flash.

use core::fmt;

/// A phrase of a language: plain, or packed with the fragments of its language. [`Writer::phrase`] writes it; where
/// there is a standard library, so does `to_string`.
///
/// *Packed* is everything from the first code of the phrase to the end of its language: the codes of this phrase and
/// of those behind it, the table of codes, how many of them are letters, the last code, and a byte that is in no UTF-8
/// and says that it is packed. A code is an index into the table: of a letter of one or two bytes, or of a pair of
/// codes that each stand for less than the pair. A zero byte ends the phrase.
///
/// [`Writer::phrase`]: super::Writer::phrase
#[derive(Clone, Copy)]
pub struct Text(&'static [u8]);

/// Announces a byte that has no code.
pub(super) const ESCAPE: u8 = 0;
/// Ends what is packed.
pub(super) const PACKED: u8 = 0xFF;
/// Pairs within pairs, at most; minded where they are made.
pub(super) const DEPTH: usize = 16;

impl Text {
    /// A phrase as it is.
    #[must_use]
    pub const fn plain(text: &'static str) -> Self {
        Self(text.as_bytes())
    }

    /// The phrase that begins at a place of a packed language.
    pub(super) fn packed(language: &'static [u8], place: u16) -> Self {
        Self(language.get(usize::from(place)..).unwrap_or_default())
    }

    /// Gives the bytes of the phrase, in order.
    pub(super) fn bytes(self, mut each: impl FnMut(u8)) {
        match self.0 {
            [codes @ .., letters, last, PACKED] => {
                let _ = unpack(codes, *letters, *last, each);
            }
            plain => plain.iter().for_each(|&byte| each(byte)),
        }
    }
}

/// Ends with `None`. `codes` go on as the table.
fn unpack(codes: &[u8], letters: u8, last: u8, mut each: impl FnMut(u8)) -> Option<()> {
    let table = codes.len().checked_sub(2 * (usize::from(last) + 1))?;
    let table = codes.get(table..)?.as_chunks::<2>().0;
    let mut codes = codes.iter();
    // Right halves of the pairs that are being written.
    let mut later = [0u8; DEPTH];
    let mut waiting = 0usize;
    loop {
        let mut code = if let Some(top) = waiting.checked_sub(1) {
            waiting = top;
            *later.get(top)?
        } else {
            let code = *codes.next()?;
            if code == ESCAPE {
                each(*codes.next()?);
                continue;
            }
            code
        };
        loop {
            let &[first, second] = table.get(usize::from(code))?;
            if code >= letters {
                *later.get_mut(waiting)? = second;
                waiting += 1;
                code = first;
                continue;
            }
            if first == 0 {
                return None;
            }
            each(first);
            if second != 0 {
                each(second);
            }
            break;
        }
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (mut character, mut length, mut result) = ([0u8; 4], 0, Ok(()));
        self.bytes(|byte| {
            if let Some(slot) = character.get_mut(length) {
                *slot = byte;
                length += 1;
            }
            // A character that is not yet whole is no text.
            if let Some(Ok(whole)) = character.get(..length).map(str::from_utf8) {
                result = result.and_then(|()| f.write_str(whole));
                length = 0;
            }
        });
        result
    }
}

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{self}\"")
    }
}
