//! The one way a closed vocabulary (roles, gates, causes …) is written down.
//!
//! A vocabulary is used four ways: as a Rust enum, as a number in the C header, as a key in a recording or a JSON
//! object, and as a line of documentation. [`codes!`] derives all four from one list, so a new check that needs a new
//! word adds it in one place. Numbers are part of the ABI: they are never reused, and 0 always means "none".

/// Declares a vocabulary: an enum with stable numbers, keys and one-line descriptions.
macro_rules! codes {
    ($(#[doc = $top:literal])+ pub enum $name:ident { $($(#[doc = $doc:literal])+ $variant:ident = $code:literal, $key:literal;)+ }) => {
        $(#[doc = $top])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[non_exhaustive]
        #[repr(u8)]
        pub enum $name { $($(#[doc = $doc])+ $variant = $code,)+ }

        impl $name {
            /// Every member, in the order of the numbers.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The stable number, as in the C header; never 0.
            #[must_use]
            pub const fn code(self) -> u8 { self as u8 }

            /// The member with this number, or `None` if there is none (0 included).
            #[must_use]
            pub const fn from_code(code: i32) -> Option<Self> {
                match code { $($code => Some(Self::$variant),)+ _ => None }
            }

            /// The name used in recordings, JSON and on the command line: lower case, words joined by `-`.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$variant => $key,)+ }
            }

            /// The member with this key, or `None`. Exact match.
            #[must_use]
            pub fn from_key(key: &str) -> Option<Self> {
                match key { $($key => Some(Self::$variant),)+ _ => None }
            }

            /// One line of English saying what the member is; the same text as its documentation.
            #[must_use]
            pub const fn about(self) -> &'static str {
                match self { $(Self::$variant => concat!($($doc),+),)+ }
            }
        }
    };
}

pub(crate) use codes;

#[cfg(test)]
mod tests {
    use crate::checks::{Kind, Role};
    use crate::finding::Gate;

    #[test]
    fn number_key_and_description_round_trip() {
        for &role in Role::ALL {
            assert_eq!(Role::from_code(i32::from(role.code())), Some(role));
            assert_eq!(Role::from_key(role.key()), Some(role));
        }
        assert_eq!((Role::from_code(0), Role::from_code(-1), Role::from_code(999)), (None, None, None));
        assert_eq!((Kind::from_key("Brake"), Kind::from_key("")), (None, None));
        assert_eq!(Gate::Wet.about().trim(), "Wet parts.");
    }
}
