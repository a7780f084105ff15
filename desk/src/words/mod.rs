//! What the bench says around the words of the library: headings, captions, sensor lines, in each language.
//!
//! Help, errors, file names and JSON are the same in all languages: they are typed, searched for and read by programs.

mod en;
mod es;

pub(crate) use en::ENGLISH;
pub(crate) use es::SPANISH;

use crate::recording::Correction;
use clap::ValueEnum;
use oddheat_core::checks::{Kind, Role, View};
use oddheat_core::finding::Grade;
use oddheat_core::measure::Component;
use oddheat_core::regions::Sign;
use oddheat_core::sensor::DefectKind;
use oddheat_core::wording::{Language, TemperatureUnit, Text};
use serde::Serialize;

/// A language, as named on the command line.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub(crate) enum Tongue {
    /// English
    #[default]
    #[value(name = "en")]
    English,
    /// Spanish
    #[value(name = "es")]
    Spanish,
}

impl Tongue {
    pub(crate) const fn words(self) -> &'static Words {
        match self {
            Self::English => &ENGLISH,
            Self::Spanish => &SPANISH,
        }
    }
}

/// How findings, briefs and reports are written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub(crate) unit: TemperatureUnit,
    pub(crate) words: &'static Words,
}

/// The bench's words of one language, beside those of the library.
#[derive(Debug)]
pub(crate) struct Words {
    pub(crate) language: &'static Language,
    pub(crate) headings: Headings,
    /// Titles of the report of `examine` and of `demo`.
    pub(crate) examination: &'static str,
    pub(crate) morning: &'static str,
    /// One line for the list of checks.
    pub(crate) about: fn(Kind) -> Text,
    /// A grade in a word or two.
    pub(crate) grade: fn(Grade) -> Text,
    pub(crate) unjudged: &'static str,
    pub(crate) no_check_asked: &'static str,
    /// Name of a part in a picture.
    pub(crate) label: fn(Role) -> Text,
    pub(crate) sign: fn(Sign) -> &'static str,
    pub(crate) component: fn(Component) -> &'static str,
    pub(crate) no: &'static str,
    pub(crate) yes: &'static str,
    /// For a temperature that there is not.
    pub(crate) none: &'static str,
    pub(crate) drift_unknown: &'static str,
    pub(crate) combined: &'static str,
    pub(crate) expanded: &'static str,
    /// What a failed gate does.
    pub(crate) stops: &'static str,
    pub(crate) weakens: &'static str,
    pub(crate) regions: fn(usize) -> String,
    pub(crate) strongest_shown: fn(usize) -> String,
    pub(crate) weaker_dropped: fn(u32) -> String,
    /// What a picture is made of, by its number of frames.
    pub(crate) frames: fn(usize) -> String,
    pub(crate) scene_emissivity: &'static str,
    pub(crate) one_scale: &'static str,
    /// Something at column and row.
    pub(crate) at: fn(&str, u16, u16) -> String,
    /// A side of the vehicle in parentheses, from the name of its picture.
    pub(crate) side: fn(&str) -> String,
    /// A ring that was found: its part, and percent of the circumference along which it was seen.
    pub(crate) ring_found: fn(&str, f64) -> String,
    pub(crate) ring_not_found: fn(&str) -> String,
    pub(crate) sensor: SensorWords,
}

/// Headings of the report and of the summary in the terminal; the template takes them by these names. Each
/// field is the English heading it holds.
#[derive(Debug, Serialize)]
pub(crate) struct Headings {
    pub(crate) made_by: &'static str,
    pub(crate) preface: &'static str,
    pub(crate) number: &'static str,
    pub(crate) recording: &'static str,
    pub(crate) check: &'static str,
    pub(crate) no_check: &'static str,
    pub(crate) finding: &'static str,
    pub(crate) because: &'static str,
    pub(crate) seen: &'static str,
    pub(crate) caution: &'static str,
    pub(crate) thermal_picture: &'static str,
    pub(crate) measured: &'static str,
    pub(crate) what: &'static str,
    pub(crate) location: &'static str,
    pub(crate) value: &'static str,
    pub(crate) limit: &'static str,
    pub(crate) gates: &'static str,
    pub(crate) causes: &'static str,
    pub(crate) tests: &'static str,
    pub(crate) note: &'static str,
    pub(crate) shapes: &'static str,
    pub(crate) part: &'static str,
    pub(crate) picture: &'static str,
    pub(crate) mean_temperature: &'static str,
    pub(crate) emissivity: &'static str,
    pub(crate) pixels_frames: &'static str,
    pub(crate) budgets: &'static str,
    pub(crate) component: &'static str,
    pub(crate) input: &'static str,
    pub(crate) coefficient: &'static str,
    pub(crate) contribution: &'static str,
    pub(crate) share: &'static str,
    pub(crate) sensor: &'static str,
    pub(crate) regions: &'static str,
    pub(crate) sign: &'static str,
    pub(crate) pixels: &'static str,
    pub(crate) columns_rows: &'static str,
    pub(crate) centroid: &'static str,
    pub(crate) peak: &'static str,
    pub(crate) mean: &'static str,
    pub(crate) conditions: &'static str,
    pub(crate) report: &'static str,
}

/// What the repair of the sensor did.
#[derive(Debug)]
pub(crate) struct SensorWords {
    pub(crate) corrected: fn(Correction) -> &'static str,
    pub(crate) defect: fn(DefectKind) -> &'static str,
    pub(crate) none_replaced: &'static str,
    /// Number of bad pixels, and their names.
    pub(crate) replaced: fn(usize, &str) -> String,
    pub(crate) more: fn(usize) -> String,
    pub(crate) found_by_watch: fn(u32) -> String,
    /// Percent of the pixels.
    pub(crate) saturated: fn(f64) -> String,
    /// What, in how many frames of how many.
    pub(crate) in_frames: fn(&str, usize, usize) -> String,
    pub(crate) drift_unknown: &'static str,
    pub(crate) stepped: &'static str,
    pub(crate) warmth_contradicted: &'static str,
    pub(crate) housing_changing: &'static str,
    pub(crate) housing_not_known: &'static str,
    pub(crate) unwatched: fn(View) -> String,
    /// NETD in mK.
    pub(crate) noise: fn(f64) -> String,
    /// Counts rms.
    pub(crate) drift_residual: fn(f64) -> String,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Headings that may read the same in two languages.
    const SHARED: [&str; 1] = ["Sensor"];

    #[test]
    fn headings_are_translated() {
        let strings = |words: &Words| serde_json::to_value(&words.headings).unwrap().as_object().unwrap().clone();
        for ((key, own), (_, english)) in strings(&SPANISH).iter().zip(&strings(&ENGLISH)) {
            let shared = own.as_str().is_some_and(|own| SHARED.contains(&own));
            assert!(shared || own != english, "{key}: {own}");
        }
        assert_eq!((ENGLISH.language.key, SPANISH.language.key), ("en", "es"));
    }

    #[test]
    fn words_of_codes_are_translated_and_differ() {
        fn differ<T: Copy, W: ToString>(items: &[T], own: fn(T) -> W, english: fn(T) -> W, same: &[&str]) {
            let mut words: Vec<_> = items.iter().map(|&item| own(item).to_string()).collect();
            for (&item, word) in items.iter().zip(&words) {
                assert!(*word != english(item).to_string() || same.contains(&word.as_str()), "{word}");
            }
            words.sort_unstable();
            assert!(words.windows(2).all(|pair| pair[0] != pair[1]), "{words:?}");
        }
        differ(Grade::ALL, SPANISH.grade, ENGLISH.grade, &["probable"]);
        differ(Role::ALL, SPANISH.label, ENGLISH.label, &[]);
        differ(Sign::ALL, SPANISH.sign, ENGLISH.sign, &[]);
        differ(Component::ALL, SPANISH.component, ENGLISH.component, &[]);
        differ(DefectKind::ALL, SPANISH.sensor.defect, ENGLISH.sensor.defect, &[]);
        differ(Kind::ALL, SPANISH.about, ENGLISH.about, &[]);
    }
}
