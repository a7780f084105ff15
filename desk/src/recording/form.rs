//! `recording.toml` as written: the keys, their types, and nothing about their meaning.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::Deserialize;
use serde::de::{self, Deserializer, IntoDeserializer, SeqAccess, Unexpected, Visitor};
use toml::Spanned;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Form {
    pub(super) title: Option<String>,
    pub(super) check: Option<String>,
    pub(super) note: Option<String>,
    pub(super) frames: Spanned<FramesForm>,
    pub(super) scale: Option<Spanned<ScaleForm>>,
    pub(super) scene: Option<Spanned<SceneForm>>,
    #[serde(default)]
    pub(super) sensor: SensorForm,
    #[serde(default)]
    pub(super) conditions: BTreeMap<Spanned<String>, Spanned<Stated>>,
    pub(super) regions: Option<Spanned<RegionsForm>>,
    #[serde(default, rename = "place")]
    pub(super) places: Vec<Spanned<PlaceForm>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FramesForm {
    pub(super) file: Spanned<OneOrMany<String>>,
    pub(super) times_s: Option<Spanned<Vec<Spanned<f64>>>>,
    pub(super) frames_per_second: Option<Spanned<f64>>,
    pub(super) views: Option<Spanned<Vec<Spanned<String>>>>,
    pub(super) view: Option<Spanned<String>>,
    pub(super) shutter: Option<Spanned<Vec<bool>>>,
    pub(super) housing_c: Option<Spanned<OneOrMany<f64>>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ScaleForm {
    pub(super) curve: Option<CurveForm>,
    pub(super) two_range: Option<Spanned<TwoRangeForm>>,
    pub(super) linear: Option<LinearForm>,
    pub(super) temperatures: Option<Spanned<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CurveForm {
    pub(super) a_um: Spanned<f64>,
    pub(super) b_um_k: Spanned<f64>,
    pub(super) c_counts: Spanned<f64>,
    pub(super) offset_counts: Spanned<f64>,
    pub(super) shape: Spanned<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TwoRangeForm {
    pub(super) low: CurveForm,
    pub(super) high: CurveForm,
    pub(super) hand_over_c: Spanned<f64>,
    pub(super) tolerance_k: Spanned<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LinearForm {
    pub(super) counts_per_kelvin: Spanned<f64>,
    pub(super) zero_c: Spanned<f64>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SceneForm {
    pub(super) emissivity: Option<Spanned<f64>>,
    pub(super) emissivity_u: Option<Spanned<f64>>,
    pub(super) reflected_c: Option<Spanned<f64>>,
    pub(super) reflected_u_k: Option<Spanned<f64>>,
    pub(super) transmittance: Option<Spanned<f64>>,
    pub(super) transmittance_u: Option<Spanned<f64>>,
    pub(super) medium_c: Option<Spanned<f64>>,
    pub(super) medium_u_k: Option<Spanned<f64>>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SensorForm {
    pub(super) netd_k: Option<Spanned<f64>>,
    pub(super) calibration_k: Option<Spanned<f64>>,
    pub(super) slope_relative: Option<Spanned<f64>>,
    pub(super) drift_k: Option<Spanned<f64>>,
    pub(super) uniformity_k: Option<Spanned<f64>>,
    pub(super) ifov_mrad: Option<Spanned<f64>>,
    pub(super) saturated_at: Option<Spanned<u16>>,
    pub(super) dead_at_or_below: Option<Spanned<u16>>,
    pub(super) repair: Option<Spanned<RepairForm>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RepairForm {
    pub(super) bad_pixels: Option<Spanned<PixelsForm>>,
    pub(super) uniform: Option<Spanned<UniformForm>>,
    pub(super) flat: Option<Spanned<OneOrMany<String>>>,
    pub(super) drift: Option<Spanned<DriftForm>>,
    pub(super) watch: Option<Spanned<WatchForm>>,
    pub(super) column_noise: Option<Spanned<ColumnForm>>,
    pub(super) smoothing_shift: Option<Spanned<u8>>,
    pub(super) warm_up: Option<Spanned<WarmUpForm>>,
    pub(super) step_counts: Option<Spanned<u16>>,
}

/// Pixels in the text, or the name of a file that lists them.
#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a list of [x, y] pairs or the name of a CSV file with the columns x and y")]
pub(super) enum PixelsForm {
    File(String),
    List(Vec<[u16; 2]>),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct UniformForm {
    pub(super) low: Spanned<OneOrMany<String>>,
    pub(super) high: Spanned<OneOrMany<String>>,
    pub(super) difference_k: Option<Spanned<f64>>,
    pub(super) find: Option<bool>,
    pub(super) correct: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DriftForm {
    pub(super) soak: Spanned<String>,
    pub(super) order: Option<Spanned<u8>>,
    pub(super) reference_c: Spanned<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WatchForm {
    pub(super) slots: Option<Spanned<u16>>,
    pub(super) frames: Option<Spanned<u16>>,
    pub(super) excursion: Option<Spanned<u16>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ColumnForm {
    pub(super) limit: Spanned<u16>,
    pub(super) columns: Option<Spanned<u8>>,
    pub(super) slowness: Option<Spanned<u8>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WarmUpForm {
    pub(super) limit_k_per_minute: Option<Spanned<f64>>,
    pub(super) window_s: Option<Spanned<f64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RegionsForm {
    pub(super) hot_above_median_k: Option<Spanned<f64>>,
    pub(super) cold_below_median_k: Option<Spanned<f64>>,
    pub(super) hot_above_c: Option<Spanned<f64>>,
    pub(super) cold_below_c: Option<Spanned<f64>>,
    pub(super) min_area: Option<Spanned<u32>>,
    pub(super) connectivity: Option<Spanned<u8>>,
    pub(super) capacity: Option<Spanned<u16>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlaceForm {
    pub(super) role: Spanned<String>,
    pub(super) view: Option<Spanned<String>>,
    pub(super) spot: Option<Spanned<SpotForm>>,
    #[serde(rename = "box")]
    pub(super) rectangle: Option<Spanned<BoxForm>>,
    pub(super) ring: Option<Spanned<RingForm>>,
    pub(super) find_ring: Option<Spanned<FindRingForm>>,
    pub(super) around: Option<Spanned<AroundForm>>,
    pub(super) emissivity: Option<Spanned<f64>>,
    pub(super) emissivity_u: Option<Spanned<f64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SpotForm {
    pub(super) at: [u16; 2],
    pub(super) size: u16,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BoxForm {
    pub(super) from: [u16; 2],
    pub(super) to: [u16; 2],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FindRingForm {
    pub(super) radii: [u16; 2],
    pub(super) margin: Option<u16>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AroundForm {
    pub(super) ring: Spanned<String>,
    pub(super) inner: f64,
    pub(super) outer: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RingForm {
    pub(super) center: [u16; 2],
    pub(super) inner: u16,
    pub(super) outer: u16,
}

/// A stated condition: yes/no or a number.
#[derive(Clone, Copy)]
pub(super) enum Stated {
    YesNo(bool),
    Number(f64),
}

impl<'de> Deserialize<'de> for Stated {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct StatedVisitor;
        impl Visitor<'_> for StatedVisitor {
            type Value = Stated;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("true, false or a number")
            }
            fn visit_bool<E: de::Error>(self, value: bool) -> Result<Stated, E> {
                Ok(Stated::YesNo(value))
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Stated, E> {
                Ok(Stated::Number(value))
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Stated, E> {
                Ok(Stated::Number(value as f64))
            }
        }
        from.deserialize_any(StatedVisitor)
    }
}

/// A value, or a list of values whose entries keep their positions.
pub(super) enum OneOrMany<T> {
    One(T),
    Many(Vec<Spanned<T>>),
}

/// What a scalar is called in a message.
pub(super) trait Named {
    const NAME: &'static str;
}

impl Named for String {
    const NAME: &'static str = "string";
}

impl Named for f64 {
    const NAME: &'static str = "number";
}

impl<'de, T: Deserialize<'de> + Named> Deserialize<'de> for OneOrMany<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(OneOrManyVisitor(PhantomData))
    }
}

struct OneOrManyVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de> + Named> OneOrManyVisitor<T> {
    /// A scalar of another type is answered with what the whole key may hold, not with the type of one entry.
    fn one<E: de::Error>(self, value: impl IntoDeserializer<'de, E>, found: Unexpected<'_>) -> Result<OneOrMany<T>, E> {
        T::deserialize(value.into_deserializer()).map(OneOrMany::One).map_err(|_| E::invalid_type(found, &self))
    }
}

impl<'de, T: Deserialize<'de> + Named> Visitor<'de> for OneOrManyVisitor<T> {
    type Value = OneOrMany<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a {0} or a list of {0}s", T::NAME)
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Self::Value, E> {
        self.one(value, Unexpected::Str(value))
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Self::Value, E> {
        self.one(value, Unexpected::Float(value))
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Self::Value, E> {
        self.one(value, Unexpected::Signed(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut values = Vec::new();
        while let Some(value) = list.next_element()? {
            values.push(value);
        }
        Ok(OneOrMany::Many(values))
    }
}
