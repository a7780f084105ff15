//! The `[[place]]` entries: which part is where in the image.

use oddheat_core::checks::{Role, View};
use oddheat_core::measure::Shape;
use toml::Spanned;

use super::document::Document;
use super::error::RecordingError;
use super::form::{AroundForm, PlaceForm};
use super::limits;
use super::model::{Frame, Place, RingBy, RingToFind, SceneStated};

/// What a `[[place]]` comes to.
enum Placed {
    Shape(Place),
    Ring(RingToFind),
}

/// Where a part is, or what to find it by.
enum Where {
    Here(Shape),
    Found(RingBy),
}

/// Pixels left out at either edge of a ring that is found: blur of the optics (vehicle notes 4: deviation of 0.6–1.2 px).
/// Proposal.
const MARGIN: u16 = 2;
/// Radii that a ring can be searched by, pixels; see [`oddheat_core::measure::RingSearch`].
const LEAST_RADIUS: u16 = 4;
const GREATEST_RADIUS: u16 = 1_023;
/// Most that a part around a ring can reach, in radii of that ring's outer edge: a tire around a small rotor. Proposal.
const GREATEST_SHARE: f64 = 4.0;

/// All places of a recording.
pub(super) struct Places {
    pub(super) shapes: Vec<Place>,
    /// Rings that are to be found.
    pub(super) rings: Vec<RingToFind>,
    /// The first place whose surface reflects, by its number in the file.
    pub(super) reflects: Option<usize>,
}

/// Every place, checked against the image and the views of the frames; rings that are to be found apart.
pub(super) fn places(
    document: &Document,
    forms: &[Spanned<PlaceForm>],
    scene: &SceneStated,
    size: (u16, u16),
    frames: &[Frame],
) -> Result<Places, RecordingError> {
    let mut all = Places { shapes: Vec::new(), rings: Vec::new(), reflects: None };
    for (i, form) in forms.iter().enumerate() {
        let emissivity = match place(document, form, scene, size, frames)? {
            Placed::Shape(place) => {
                all.shapes.push(place);
                place.emissivity
            }
            Placed::Ring(ring) => {
                all.rings.push(ring);
                ring.emissivity
            }
        };
        if emissivity < 1.0 {
            all.reflects.get_or_insert(i);
        }
    }
    for (ring, form) in all.rings.iter().zip(forms.iter().filter(|form| is_found(form.get_ref()))) {
        let RingBy::Around { ring: role, .. } = ring.by else { continue };
        let by_edges = |other: &RingToFind| matches!(other.by, RingBy::Edges { .. });
        if !all.rings.iter().any(|other| other.role == role && other.view == ring.view && by_edges(other)) {
            let expected = format!("a `find_ring` for \"{}\" in the view \"{}\"", role.key(), ring.view.key());
            return Err(document.refuse(form.span(), expected, "none"));
        }
    }
    Ok(all)
}

/// Whether a place is found by the bench instead of stated.
fn is_found(form: &PlaceForm) -> bool {
    form.find_ring.is_some() || form.around.is_some()
}

fn place(
    document: &Document,
    form: &Spanned<PlaceForm>,
    scene: &SceneStated,
    size: (u16, u16),
    frames: &[Frame],
) -> Result<Placed, RecordingError> {
    let keys = form.get_ref();
    let role = Role::from_key(keys.role.get_ref()).ok_or_else(|| {
        let expected = one_of("role", Role::ALL.iter().map(|role| role.key()));
        document.refuse(keys.role.span(), expected, format!("\"{}\"", keys.role.get_ref()))
    })?;
    let view = keys.view.as_ref().map_or(Ok(View::Single), |view| view_of(document, view))?;
    if !frames.iter().any(|frame| frame.view == view) {
        let span = keys.view.as_ref().map_or(form.span(), Spanned::span);
        let expected = "a view that a frame has, by `frames.views` or `frames.view`";
        let found = format!("\"{}\"{}", view.key(), if keys.view.is_none() { " (the default)" } else { "" });
        return Err(document.refuse(span, expected, found));
    }
    let emissivity = document.optional(keys.emissivity.as_ref(), limits::EMISSIVITY)?.unwrap_or(scene.emissivity);
    let emissivity_u =
        document.optional(keys.emissivity_u.as_ref(), limits::UNCERTAINTY_OF_SHARE)?.unwrap_or(scene.emissivity_u);
    let (place, span) = shape(document, form)?;
    Ok(match place {
        Where::Found(by) => Placed::Ring(RingToFind { role, view, by, emissivity, emissivity_u }),
        Where::Here(shape) => {
            let shape = shape.placed_in(size.0, size.1).map_err(|_| {
                let (width, height) = size;
                let expected = format!("a shape of pixels that all lie inside the image of {width} × {height} pixels");
                document.refuse(span, expected, words(shape))
            })?;
            Placed::Shape(Place { role, view, shape, emissivity, emissivity_u })
        }
    })
}

fn shape(document: &Document, form: &Spanned<PlaceForm>) -> Result<(Where, std::ops::Range<usize>), RecordingError> {
    let keys = form.get_ref();
    match (&keys.spot, &keys.rectangle, &keys.ring, &keys.find_ring, &keys.around) {
        (Some(spot), None, None, None, None) => {
            let ([x, y], size) = (spot.get_ref().at, spot.get_ref().size);
            Ok((Where::Here(Shape::Spot { x, y, size }), spot.span()))
        }
        (None, Some(rectangle), None, None, None) => {
            let ([x0, y0], [x1, y1]) = (rectangle.get_ref().from, rectangle.get_ref().to);
            Ok((Where::Here(Shape::Box { x0, y0, x1, y1 }), rectangle.span()))
        }
        (None, None, Some(ring), None, None) => {
            let ([x, y], inner, outer) = (ring.get_ref().center, ring.get_ref().inner, ring.get_ref().outer);
            Ok((Where::Here(Shape::Ring { x, y, inner, outer }), ring.span()))
        }
        (None, None, None, Some(ring), None) => {
            let ([least, greatest], margin) = (ring.get_ref().radii, ring.get_ref().margin.unwrap_or(MARGIN));
            if least < LEAST_RADIUS || greatest < least || greatest > GREATEST_RADIUS {
                let expected = format!("two radii from {LEAST_RADIUS} to {GREATEST_RADIUS} pixels, the lesser first");
                return Err(document.refuse(ring.span(), expected, format!("[{least}, {greatest}]")));
            }
            Ok((Where::Found(RingBy::Edges { radii: (least, greatest), margin }), ring.span()))
        }
        (None, None, None, None, Some(around)) => {
            let AroundForm { ring, inner, outer } = around.get_ref();
            if !(0.0 <= *inner && inner < outer && *outer <= GREATEST_SHARE) {
                let expected = format!("`inner` less than `outer`, both from 0 to {GREATEST_SHARE}");
                return Err(document.refuse(around.span(), expected, format!("{inner} and {outer}")));
            }
            let role = Role::from_key(ring.get_ref()).ok_or_else(|| {
                let expected = one_of("role", Role::ALL.iter().map(|role| role.key()));
                document.refuse(ring.span(), expected, format!("\"{}\"", ring.get_ref()))
            })?;
            Ok((Where::Found(RingBy::Around { ring: role, shares: (*inner, *outer) }), around.span()))
        }
        (None, None, None, None, None) => Err(document.refuse(form.span(), ONE_SHAPE, "none")),
        _ => Err(document.refuse(form.span(), ONE_SHAPE, "more than one")),
    }
}

const ONE_SHAPE: &str = "exactly one of `spot`, `box`, `ring`, `find_ring` and `around`";

/// Why a shape was refused: by itself, or else by the pixels it covers.
fn words(shape: Shape) -> String {
    let (x0, y0, x1, y1) = shape.bounds();
    match shape {
        Shape::Spot { size, .. } if size % 2 == 0 => format!("a spot of size {size}, which is not odd"),
        Shape::Box { .. } if x0 > x1 || y0 > y1 => "a box whose `from` is beyond its `to`".to_owned(),
        Shape::Ring { inner, outer, .. } if inner > outer => {
            format!("a ring whose inner radius {inner} exceeds its outer radius {outer}")
        }
        _ => format!("one that covers columns {x0} to {x1} and rows {y0} to {y1}"),
    }
}

/// The view with the key that stands there.
pub(super) fn view_of(document: &Document, key: &Spanned<String>) -> Result<View, RecordingError> {
    View::from_key(key.get_ref()).ok_or_else(|| {
        let expected = one_of("view", View::ALL.iter().map(|view| view.key()));
        document.refuse(key.span(), expected, format!("\"{}\"", key.get_ref()))
    })
}

/// "a role out of …" for a message.
pub(super) fn one_of<'a>(what: &str, keys: impl Iterator<Item = &'a str>) -> String {
    format!("a {what} out of {}", keys.collect::<Vec<_>>().join(", "))
}
