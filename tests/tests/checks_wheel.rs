//! Tread, hub, tire leak and both axles of the brakes on plain frames: each band, gate and pattern. Limits: vehicle notes 2.1, 2.2, 2.4
//! and 7 (proposals unless the limit names a page).

#[path = "checks_wheel/brake.rs"]
mod brake;
#[path = "checks_wheel/hub.rs"]
mod hub;
#[path = "checks_wheel/leak.rs"]
mod leak;
#[path = "checks_wheel/tread.rs"]
mod tread;

use oddheat_core::checks::{Check, Conditions, Kind, Place, Role, Slot, State, View};
use oddheat_core::finding::{Finding, Metric};
use oddheat_core::measure::Shape;
use oddheat_tests::plain::{frame, info, setup};

/// One picture: its view, the time of its first frame in s, whether the shutter closed before it, and the shapes.
type Picture<'a> = (View, f64, bool, &'a [(Role, Shape, f64)]);

fn judge(kind: Kind, conditions: &Conditions, ground: f64, pictures: &[Picture<'_>]) -> Finding {
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 16]);
    let mut check = Check::begin(&mut state, &mut slots, kind, &setup(), conditions).unwrap();
    for &(view, _, _, shapes) in pictures {
        for &(role, shape, _) in shapes {
            check.place(Place { role, view, shape, emissivity: None }).unwrap();
        }
    }
    for &(view, start, shutter, shapes) in pictures {
        let painted: Vec<(Shape, f64)> = shapes.iter().map(|&(_, shape, celsius)| (shape, celsius)).collect();
        let pixels = frame(ground, &painted);
        for i in 0..4 {
            let mut at = info(view, start + f64::from(i) * 0.25);
            at.shutter = shutter && i == 0;
            check.feed(at, &pixels).unwrap();
        }
    }
    check.judge().unwrap()
}

fn value(finding: &Finding, metric: Metric) -> (f64, f64) {
    let found =
        finding.evidence.iter().find(|e| e.metric == metric).unwrap_or_else(|| panic!("{metric:?}: {finding:?}"));
    (found.value.to_num(), 2.0 * found.uncertainty.to_num::<f64>())
}
