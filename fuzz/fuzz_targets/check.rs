//! Any scale, scene, conditions, shapes and frames through every check: nothing panics, every grade has its reasons.
#![no_main]

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use oddheat_core::checks::{Check, Condition, Conditions, FrameInfo, Kind, Place, Role, Setup, Slot, State, View};
use oddheat_core::finding::Grade;
use oddheat_core::measure::{LinePart, Shape};
use oddheat_core::radiometry::{Curve, Emissivity, LinearScale, Scale, Scene};
use oddheat_core::units::celsius;
use oddheat_core::wording::{ENGLISH, TemperatureUnit, finding_text};

#[derive(Arbitrary, Debug)]
struct Input {
    kind: u8,
    linear: Option<(f64, f64)>,
    curve: (f64, f64, f64, f64, f64),
    emissivity: f64,
    reflected: f64,
    inputs: [f64; 2],
    conditions: Vec<(u8, i32)>,
    places: Vec<(u8, u8, u8, u8, u8, u8, u8)>,
    frames: Vec<(u8, u16, bool, Vec<u16>)>,
}

fn kind_of<T: Copy>(all: &[T], index: u8) -> T {
    all[usize::from(index) % all.len()]
}

fuzz_target!(|input: Input| {
    let kind = kind_of(Kind::ALL, input.kind);
    let (a, b, c, offset, shape) = input.curve;
    let curve = || Curve::sakuma_hattori(a, b, c)?.with_offset(offset)?.with_shape(shape);
    let scale = match input.linear {
        Some((per_kelvin, zero)) => LinearScale::new(per_kelvin, zero).map(Scale::Linear),
        None => curve().map(Scale::Curve),
    };
    let (Ok(scale), Ok(emissivity)) = (scale, Emissivity::new(input.emissivity)) else { return };
    let mut setup = Setup { width: 16, height: 12, scale, ..Setup::EMPTY };
    setup.scene = Scene::new(emissivity).reflected(celsius(input.reflected));
    setup.inputs.calibration_k = input.inputs[0];
    setup.inputs.drift_k = input.inputs[1];
    let mut conditions = Conditions::new();
    for (condition, value) in input.conditions {
        let _ = conditions.set(kind_of(Condition::ALL, condition), value);
    }
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 6]);
    let Ok(mut check) = Check::begin(&mut state, &mut slots, kind, &setup, &conditions) else { return };
    for (role, view, form, x, y, p, q) in input.places {
        let (x, y, p, q) = (u16::from(x), u16::from(y), u16::from(p), u16::from(q));
        let shape = match form % 3 {
            0 => Shape::Spot { x, y, size: p },
            1 => Shape::Box { x0: x, y0: y, x1: p, y1: q },
            _ => Shape::Ring { x, y, inner: p, outer: q },
        };
        let _ = check.place(Place {
            role: kind_of(Role::ALL, role),
            view: kind_of(View::ALL, view),
            shape,
            emissivity: None,
        });
    }
    let mut time_ms = 0;
    for (view, later, shutter, mut counts) in input.frames {
        time_ms += u32::from(later);
        counts.resize(16 * 12, later);
        let (area, of) = (kind_of(Role::ALL, view), kind_of(View::ALL, view >> 4));
        let _ = check.locate_along(area, of, &counts, &mut [LinePart::EMPTY; 64], &mut [0; 64]);
        let _ = check.feed(FrameInfo { view: kind_of(View::ALL, view), time_ms, shutter, housing_mk: None }, &counts);
    }
    let finding = check.judge().expect("between frames");
    if finding.grade == Grade::NotAssessable {
        assert!(!finding.gates.is_empty());
    } else if finding.grade > Grade::None {
        assert!(!finding.evidence.is_empty() && !finding.causes.is_empty() && !finding.tests.is_empty());
    }
    let mut text = [0u8; 16_384];
    let needed = finding_text(&ENGLISH, &finding, TemperatureUnit::Fahrenheit, &mut text);
    assert!(core::str::from_utf8(&text[..needed.min(text.len())]).is_ok());
});
