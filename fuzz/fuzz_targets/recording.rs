//! Any text as a recording's description, beside a sound frame file: an error or a recording, never a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;
use oddheat_desk::recording::Recording;

fuzz_target!(|text: &[u8]| {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let pixels: Vec<u8> = (0..12 * 8u16).flat_map(|i| (3_000 + i).to_be_bytes()).collect();
    std::fs::write(folder.path().join("a.pgm"), [b"P5\n12 8\n65535\n".as_slice(), &pixels].concat()).expect("written");
    std::fs::write(folder.path().join("recording.toml"), text).expect("written");
    if let Ok(recording) = Recording::open(folder.path()) {
        let _ = oddheat_desk::examine::examine(&recording);
    }
});
