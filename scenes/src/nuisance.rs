//! What lies over a scene and is not its fault: reflections, prints, water, warm neighbors, labels, sun.
//!
//! Pixel coordinates, so that every scene can carry every nuisance.

use crate::case::{Decoy, Gate};
use crate::draw::Draw;
use crate::material::{Emissivity, WATER, WORN_STEEL};
use crate::place::View;
use crate::recording::{Conditions, Stated};
use crate::render::Surface;

/// How much warmer than the bay a person is seen in a mirror, in K (proposal: clothes and face at 28–34 °C).
const PERSON_K: (f64, f64) = (8.0, 14.0);
/// Speed of that reflection in shares of the frame width per second (proposal: somebody walks by in 5–20 s).
const PERSON_SPEED: (f64, f64) = (0.05, 0.2);
/// A print when the recording begins, in K (proposal), and its time constant in s (vehicle.md section 2.5: 5–15 min).
const PRINT_K: (f64, f64) = (0.8, 3.0);
const PRINT_TAU_S: (f64, f64) = (300.0, 900.0);
/// Evaporation cools a drop by this many K (proposal: above the wet-bulb temperature of a bay).
const WATER_K: (f64, f64) = (0.8, 3.0);
/// What a hot thing beside a part does to its near edge, in K (proposal).
const NEIGHBOR_K: (f64, f64) = (2.0, 8.0);
/// Sunlit side of dark parts in K (vehicle.md section 1.2, CP: 15–35).
const SUN_K: (f64, f64) = (15.0, 35.0);
/// Glossy printed label (proposal: between paint and aluminum-pigment paint in radiometry.md section 4).
const LABEL: Emissivity = Emissivity { nominal: 0.65, spread: 0.06, limits: (0.5, 0.78) };
/// What wind leaves of a rise (vehicle.md section 1.2: above 1 m/s it halves small ones; the range is a proposal).
const WIND_LEAVES: (f64, f64) = (0.35, 0.65);
/// Angles from straight on at which nothing may be judged, in degrees (vehicle.md section 1.4: above 60).
const GRAZING_DEG: (f64, f64) = (66.0, 78.0);
/// Refractive index of glass, plastics and paint in the band, as far as one number can stand for them (proposal): with
/// it the emissivity at 75° is 0.78 of that straight on.
const SKIN_INDEX: f64 = 1.5;
/// What a small mirror near the floor shows, cooler than the bay in K (proposal).
const NAIL_MIRRORS_K: (f64, f64) = (2.0, 8.0);

/// Frames that are rendered for themselves at most while something moves; between them the picture is mixed.
const MOST_KEYS: usize = 10;

/// One thing in the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thing {
    /// In which view; everywhere if none.
    pub view: Option<View>,
    /// Center in px at time 0.
    pub at: (f64, f64),
    /// Half axes in px.
    pub radii: (f64, f64),
    /// What it does.
    pub effect: Effect,
}

/// An instant of a recording: a print fades from its beginning on, a person walks by while one view is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct When {
    /// Since the first frame in s.
    pub recording_s: f64,
    /// Since the first frame of the view in s.
    pub view_s: f64,
}

/// What a thing does to the surface under it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effect {
    /// Mirrors something warmer and moves, in px/s.
    Reflection {
        /// Warmer than the rest of what is mirrored, in K.
        warmer_k: f64,
        /// Speed in px/s along x.
        speed: f64,
    },
    /// Has warmed the surface, with soft edges; fades.
    Print {
        /// In the middle at time 0, in K.
        warmer_k: f64,
        /// Time constant in s.
        tau_s: f64,
    },
    /// Lies on the surface: another temperature, emissivity and mirror image.
    Patch {
        /// Cooler than the surface in K.
        cooler_k: f64,
        /// Its emissivity.
        emissivity: f64,
        /// Mirrors something cooler, in K.
        mirrors_cooler_k: f64,
    },
    /// Warms everything from one side of the picture, fading over the x radius.
    Side {
        /// At that side, in K.
        warmer_k: f64,
        /// From the right instead of the left.
        from_right: bool,
    },
    /// Brings everything nearer to the air.
    Wind {
        /// Temperature of the air in K.
        air_k: f64,
        /// What is left of each rise.
        leaves: f64,
    },
    /// Everything is seen from the side: less of its own radiation, more of the mirror image. The picture is not
    /// compressed.
    Grazing {
        /// Emissivity as a share of that straight on.
        share: f64,
    },
}

/// Emissivity of a smooth surface at an angle from straight on, as a share of that straight on: 1 less the mean of
/// Fresnel's two reflectances (memory: any optics text).
fn emissivity_share(degrees: f64) -> f64 {
    let n = SKIN_INDEX;
    let (sine, cosine) = libm::sincos(degrees.to_radians());
    let inside = libm::sqrt(1.0 - (sine / n) * (sine / n));
    let (s, p) = ((cosine - n * inside) / (cosine + n * inside), (n * cosine - inside) / (n * cosine + inside));
    let straight = (n - 1.0) / (n + 1.0);
    (1.0 - 0.5 * (s * s + p * p)) / (1.0 - straight * straight)
}

impl Thing {
    /// The thing that a decoy is, around `at` with about `radius` px on a frame `width` px wide; none for decoys that
    /// are made by a scene itself.
    #[must_use]
    pub fn decoy(
        decoy: Decoy,
        view: Option<View>,
        at: (f64, f64),
        radius: f64,
        width: f64,
        draw: &mut Draw,
    ) -> Option<Self> {
        let oval = (radius * draw.uniform(0.8, 1.3), radius * draw.uniform(0.8, 1.3));
        let mut between = |(from, to): (f64, f64)| draw.uniform(from, to);
        let (radii, effect) = match decoy {
            Decoy::SlidingReflection => {
                let speed = between(PERSON_SPEED) * width;
                let effect = Effect::Reflection { warmer_k: between(PERSON_K), speed: speed * draw.sign() };
                // A person is taller than wide.
                ((1.2 * oval.0, 3.0 * oval.1), effect)
            }
            Decoy::BodyPrint => (oval, Effect::Print { warmer_k: between(PRINT_K), tau_s: between(PRINT_TAU_S) }),
            Decoy::Water => {
                let cooler_k = between(WATER_K);
                (oval, Effect::Patch { cooler_k, emissivity: WATER.draw(draw), mirrors_cooler_k: 0.0 })
            }
            Decoy::WarmNeighbor => {
                let warmer_k = between(NEIGHBOR_K);
                ((0.2 * width, 0.0), Effect::Side { warmer_k, from_right: draw.chance(0.5) })
            }
            Decoy::LabelEdge => (
                (1.5 * oval.0, oval.1),
                Effect::Patch { cooler_k: 0.0, emissivity: LABEL.draw(draw), mirrors_cooler_k: 0.0 },
            ),
            Decoy::Nail => {
                let mirrors_cooler_k = between(NAIL_MIRRORS_K);
                (oval, Effect::Patch { cooler_k: 0.0, emissivity: WORN_STEEL.draw(draw), mirrors_cooler_k })
            }
            Decoy::Tolerance => return None,
        };
        Some(Self { view, at, radii, effect })
    }

    /// The thing that a gate puts into one view (or all); none for gates that are not things.
    #[must_use]
    pub fn gate(
        gate: Gate,
        view: Option<View>,
        (width, height): (f64, f64),
        air_k: f64,
        draw: &mut Draw,
    ) -> Option<Self> {
        let everywhere = |effect: Effect| Self { view, at: (0.0, 0.0), radii: (width, height), effect };
        match gate {
            Gate::Sun => Some(Self {
                view,
                at: (0.0, 0.0),
                radii: (1.5 * width, 0.0),
                effect: Effect::Side { warmer_k: draw.uniform(SUN_K.0, SUN_K.1), from_right: draw.chance(0.5) },
            }),
            // A film over most of the picture: evaporation, and water's emissivity.
            Gate::Wet => Some(Self {
                view,
                at: (draw.uniform(0.3, 0.7) * width, draw.uniform(0.3, 0.7) * height),
                radii: (draw.uniform(0.3, 0.6) * width, draw.uniform(0.3, 0.6) * height),
                effect: Effect::Patch {
                    cooler_k: draw.uniform(WATER_K.0, WATER_K.1),
                    emissivity: WATER.draw(draw),
                    mirrors_cooler_k: 0.0,
                },
            }),
            Gate::Wind => {
                let leaves = draw.uniform(WIND_LEAVES.0, WIND_LEAVES.1);
                Some(everywhere(Effect::Wind { air_k, leaves }))
            }
            Gate::Grazing => {
                let share = emissivity_share(draw.uniform(GRAZING_DEG.0, GRAZING_DEG.1));
                Some(everywhere(Effect::Grazing { share }))
            }
            _ => None,
        }
    }

    /// The surface with this thing on it, at a pixel and an instant; `width` is the frame's in px.
    #[must_use]
    pub fn over(&self, surface: Surface, x: f64, y: f64, width: f64, when: When) -> Surface {
        let shift = if let Effect::Reflection { speed, .. } = self.effect { speed * when.view_s } else { 0.0 };
        let (u, v) = ((x - self.at.0 - shift) / self.radii.0, (y - self.at.1) / self.radii.1);
        let square = u * u + v * v;
        match self.effect {
            Effect::Reflection { warmer_k, .. } if square <= 1.0 => {
                Surface { reflected_k: surface.reflected_k + warmer_k, ..surface }
            }
            Effect::Print { warmer_k, tau_s } if square <= 4.0 => {
                let left = warmer_k * libm::exp(-when.recording_s / tau_s);
                Surface { kelvin: surface.kelvin + left * libm::exp(-square * square), ..surface }
            }
            Effect::Patch { cooler_k, emissivity, mirrors_cooler_k } if square <= 1.0 => Surface {
                kelvin: surface.kelvin - cooler_k,
                emissivity,
                reflected_k: surface.reflected_k - mirrors_cooler_k,
            },
            Effect::Side { warmer_k, from_right } => {
                let away = if from_right { width - x } else { x };
                Surface { kelvin: surface.kelvin + warmer_k * libm::exp(-away.max(0.0) / self.radii.0), ..surface }
            }
            Effect::Wind { air_k, leaves } => Surface { kelvin: air_k + leaves * (surface.kelvin - air_k), ..surface },
            Effect::Grazing { share } => Surface { emissivity: surface.emissivity * share, ..surface },
            _ => surface,
        }
    }
}

/// All that lies over a scene, and what the operator has to state because of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nuisance {
    /// Things, the last on top.
    pub things: Vec<Thing>,
    /// Conditions that replace those of the scene.
    pub conditions: Conditions,
    /// The scene must not be judged.
    pub gated: bool,
}

impl Nuisance {
    /// States a condition.
    pub fn state(&mut self, key: &'static str, value: Stated) {
        self.conditions.insert(key, value);
    }

    /// Sets what wind leaves of each rise, for parts that follow the air slower, or less, than thin ones.
    pub fn wind_leaves(&mut self, share: f64) {
        for thing in &mut self.things {
            if let Effect::Wind { leaves, .. } = &mut thing.effect {
                *leaves = share;
            }
        }
    }

    /// True if something in it moves.
    fn moves(&self) -> bool {
        self.things.iter().any(|thing| matches!(thing.effect, Effect::Reflection { .. }))
    }

    /// How many instants to render of `frames`, if a still scene needs `keys`.
    #[must_use]
    pub fn keys(&self, keys: usize, frames: usize) -> usize {
        if self.moves() { keys.max(frames.min(MOST_KEYS)) } else { keys }
    }

    /// Conditions with those that this replaces.
    #[must_use]
    pub fn stated_over(&self, mut conditions: Conditions) -> Conditions {
        conditions.extend(self.conditions.iter().map(|(key, value)| (*key, *value)));
        conditions
    }

    /// The things of a view.
    #[must_use]
    pub fn in_view(&self, view: View) -> Vec<Thing> {
        self.things.iter().filter(|thing| thing.view.is_none_or(|of| of == view)).copied().collect()
    }
}

/// A surface with things on it.
#[must_use]
pub fn covered(things: &[Thing], surface: Surface, x: f64, y: f64, width: f64, when: When) -> Surface {
    things.iter().fold(surface, |surface, thing| thing.over(surface, x, y, width, when))
}

#[cfg(test)]
mod tests {
    use super::*;

    const BARE: Surface = Surface { kelvin: 293.0, emissivity: 0.93, reflected_k: 294.0 };
    const START: When = When { recording_s: 0.0, view_s: 0.0 };

    fn thing(decoy: Decoy, seed: u64) -> Thing {
        Thing::decoy(decoy, None, (80.0, 60.0), 10.0, 160.0, &mut Draw::new(seed, "thing")).unwrap()
    }

    /// Every decoy changes what is seen where it lies, and nothing far away.
    #[test]
    fn decoys_show_where_they_lie() {
        for decoy in [Decoy::SlidingReflection, Decoy::BodyPrint, Decoy::Water, Decoy::LabelEdge, Decoy::Nail] {
            for seed in 0..8 {
                let thing = thing(decoy, seed);
                assert_ne!(thing.over(BARE, 80.0, 60.0, 160.0, START), BARE, "{decoy:?}");
                assert_eq!(thing.over(BARE, 5.0, 115.0, 160.0, START), BARE, "{decoy:?}");
            }
        }
    }

    /// Glass "falls fast beyond ~60 deg from normal" (vehicle.md section 1.2).
    #[test]
    fn emissivity_falls_beyond_60_degrees_as_vehicle_1_2_says() {
        let share = emissivity_share;
        assert!((share(0.0) - 1.0).abs() < 1e-12);
        assert!(share(45.0) > 0.98 && share(60.0) > 0.94 && share(75.0) < 0.8 && share(85.0) < 0.45, "{}", share(75.0));
        assert!(share(60.0) - share(75.0) > 2.0 * (share(0.0) - share(60.0)));
    }

    /// Wind "halves small rises" (vehicle.md section 1.2), and leaves what is at the air's temperature.
    #[test]
    fn wind_takes_about_half_of_a_rise_as_vehicle_1_2_says() {
        for seed in 0..20 {
            let mut draw = Draw::new(seed, "wind");
            let wind = Thing::gate(Gate::Wind, None, (160.0, 120.0), 290.0, &mut draw).unwrap();
            let left = (wind.over(BARE, 80.0, 60.0, 160.0, START).kelvin - 290.0) / (BARE.kelvin - 290.0);
            assert!((0.35..=0.65).contains(&left), "{left}");
            let cool = Surface { kelvin: 290.0, ..BARE };
            assert_eq!(wind.over(cool, 80.0, 60.0, 160.0, START), cool);
        }
    }

    /// "A real hot spot stays on the part; a reflection slides" (vehicle.md section 1.2); a print fades in 5–15 min
    /// (section 2.5).
    #[test]
    fn reflections_slide_and_prints_fade() {
        let later = When { recording_s: 10.0, view_s: 10.0 };
        let person = thing(Decoy::SlidingReflection, 3);
        assert_ne!(person.over(BARE, 80.0, 60.0, 160.0, START), person.over(BARE, 80.0, 60.0, 160.0, later));
        let print = thing(Decoy::BodyPrint, 3);
        let rise =
            |recording_s: f64| print.over(BARE, 80.0, 60.0, 160.0, When { recording_s, view_s: 0.0 }).kelvin - 293.0;
        assert!(rise(0.0) >= 0.8 && rise(300.0) <= 0.72 * rise(0.0) && rise(900.0) <= 0.37 * rise(0.0));
        assert!(rise(300.0) > 0.36 * rise(0.0));
    }
}
