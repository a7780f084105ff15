//! The demonstration against its ground truth: simulated, written, read back, examined.
//!
//! The simulator shares no code with the embedded library: its radiance comes from Planck's law integrated over a
//! spectral response, not from the curve. How often checks are right is the proving ground's business; here every
//! recording of a few mornings must come out as its truth says.

use oddheat_core::finding::Grade;
use oddheat_desk::examine::{Examination, examine};
use oddheat_desk::recording::Recording;
use oddheat_scenes::depot::morning;

fn examined(seed: u64) -> Vec<(oddheat_scenes::recording::Recording, Examination)> {
    let folder = tempfile::tempdir().unwrap();
    let examine_one = |(i, simulated): (usize, oddheat_scenes::recording::Recording)| {
        let path = folder.path().join(i.to_string());
        simulated.write(&path).unwrap();
        let examination = examine(&Recording::open(&path).unwrap()).unwrap();
        (simulated, examination)
    };
    morning(seed).into_iter().enumerate().map(examine_one).collect()
}

#[test]
fn findings_agree_with_the_truth() {
    for seed in [11, 12] {
        for (simulated, examination) in examined(seed) {
            let truth = &simulated.truth;
            let finding = examination.finding.unwrap();
            let case = format!("seed {seed}, {}: {:?} {finding:?}", simulated.title, truth.fault);
            match (truth.fault, truth.resolvable) {
                ("none", _) => assert!(matches!(finding.grade, Grade::None | Grade::NotAssessable), "{case}"),
                (_, true) => assert!(finding.grade >= Grade::Probable && finding.grade <= Grade::Major, "{case}"),
                // Too little to see: never graded as a fault, and never called sound without saying so.
                (_, false) => {
                    assert!(matches!(finding.grade, Grade::None | Grade::NotAssessable), "{case}");
                    assert!(!finding.notes.is_empty(), "{case}");
                }
            }
        }
    }
}

/// Stated intervals (k = 2) hold the true temperature of the placed shapes in at least nine cases of ten; with about
/// 60 shapes that share errors, 95 % cannot be told apart from 90 %.
#[test]
fn intervals_hold_the_true_temperatures() {
    let (mut inside, mut all) = (0, 0);
    for seed in [21, 22] {
        for (simulated, examination) in examined(seed) {
            for reading in &examination.readings {
                // The simulator has its own vocabulary; what both write into files is the same.
                let keys = (reading.place.role.key(), reading.place.view.key());
                let mut truths = simulated.truth.temperature.iter();
                let truth = truths.find(|t| {
                    let (role, view) = (serde_json::to_value(t.role).unwrap(), serde_json::to_value(t.view).unwrap());
                    (role.as_str(), view.as_str()) == (Some(keys.0), Some(keys.1))
                });
                let (Some(truth), Some((celsius, u))) = (truth, reading.temperature) else { continue };
                all += 1;
                inside += u32::from((celsius - truth.mean_c).abs() <= 2.0 * u);
            }
        }
    }
    assert!(all >= 50, "{all}");
    assert!(inside * 10 >= all * 9, "{inside} of {all}");
}
