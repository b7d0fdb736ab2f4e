//! Any bytes: the reader yields a plan or an error that can be shown.
#![no_main]

use libfuzzer_sys::fuzz_target;

#[path = "../it/sound.rs"]
#[allow(dead_code, reason = "shared with the integration tests")]
mod sound;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(error) = sound::read(text) {
        assert!(!error.render(false).is_empty());
        assert!(!error.render(true).is_empty());
    }
});
