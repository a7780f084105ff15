//! Log points between the stages, for `defmt`. Without that feature they are nothing at all.

#[cfg(feature = "defmt")]
macro_rules! log {
    ($($part:expr),+ $(,)?) => { defmt::debug!($($part),+) };
}

#[cfg(not(feature = "defmt"))]
macro_rules! log {
    ($($part:expr),+ $(,)?) => {{
        $(let _ = &$part;)+
    }};
}

pub(crate) use log;
