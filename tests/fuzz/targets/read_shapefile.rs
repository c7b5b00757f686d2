//! Any bytes as a shapefile with its table: told in words, or refused with a reason; never a
//! panic, never a hang. The header is put right, so that the records are reached; a `.prj` is left
//! to PROJ's own fuzzing.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::found::told::Told;
use swardlane::found::{self, Bundle, used};

fuzz_target!(|input: (u8, &[u8], Option<&[u8]>)| {
    const TYPES: [i32; 6] = [1, 3, 5, 8, 15, 31];
    let (kind, records, table) = input;
    let mut main = 9994_i32.to_be_bytes().to_vec();
    main.extend([0; 20]);
    main.extend(((100 + records.len()) as i32 / 2).to_be_bytes());
    main.extend(1000_i32.to_le_bytes());
    main.extend(TYPES[usize::from(kind) % TYPES.len()].to_le_bytes());
    main.extend([0; 64]);
    main.extend(&records[..records.len() / 2 * 2]);
    let file = "field.shp";
    let table = table.map(|table| ("field.dbf".to_owned(), table.to_vec()));
    let bundle = Bundle {
        file: file.to_owned(),
        main,
        beside: table.into_iter().collect(),
    };
    match found::read(bundle) {
        Ok((format, found)) => {
            assert!(!Told::of(file, format, &found).text().is_empty());
            let _ = used::ground_file(file, &found, None);
        }
        Err(fault) => assert!(!fault.text.is_empty(), "refused without a reason"),
    }
});
