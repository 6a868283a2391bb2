//! The lock file of what was gathered: any text is read, or refused in one line; what was read is written and read again the same, and no
//! entry names a file outside of its folder.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::manual::gathered::{Lock, is_web};

fuzz_target!(|text: &str| match Lock::read(text) {
    Ok(lock) => {
        for (address, entry) in &lock.pictures {
            assert!(is_web(address) && !address.chars().any(char::is_control));
            assert!(!entry.file.contains(['/', '\\']) && !entry.file.starts_with('.'));
        }
        let written = lock.write();
        assert_eq!(Lock::read(&written).as_ref(), Ok(&lock));
        assert_eq!(Lock::read(&written).expect("read").write(), written);
    }
    Err(words) => assert!(!words.is_empty() && !words.contains('\n')),
});
