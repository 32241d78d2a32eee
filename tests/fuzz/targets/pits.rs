#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tests::arbitrary::check("pits", bytes));
