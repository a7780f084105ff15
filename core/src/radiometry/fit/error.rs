//! Why a fit was refused.

/// Why a fit was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum FitError {
    /// Fewer points than free coefficients: three, or four with a fitted offset.
    TooFewPoints,
    /// More points than [`super::MAX_POINTS`].
    TooManyPoints,
    /// Two points have the same temperature, or a hotter one does not have more counts.
    NotMonotonic,
    /// The points lie too close together to tell the coefficients apart.
    Singular,
    /// A value is not finite, a temperature outside 0…2,000 K, a fixed offset not below all counts, a band outside
    /// 1…100 µm, a standard uncertainty negative, or stated for some points only.
    OutsideDomain,
    /// No curve with coefficients in their ranges (see [`super::Curve`]) fits best: the points do not have the shape
    /// of a thermal detector's curve, or the fixed offset is wrong.
    DidNotConverge,
}

impl core::fmt::Display for FitError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::TooFewPoints => "fewer calibration points than free coefficients",
            Self::TooManyPoints => "more calibration points than a fit takes",
            Self::NotMonotonic => "counts must rise with temperature from point to point",
            Self::Singular => "the calibration points lie too close together to tell the coefficients apart",
            Self::OutsideDomain => "a calibration value or option is outside its range",
            Self::DidNotConverge => "no curve of this form fits the calibration points best",
        })
    }
}

impl core::error::Error for FitError {}
