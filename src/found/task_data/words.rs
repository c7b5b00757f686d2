//! What the codes of task data mean, in plain words (ISO 11783-10, versions 3.3 and 4.3; the codes
//! are those of its published schemas).

use crate::job::near::short;

/// Types of polygon (attribute A of PLN).
pub(super) fn polygon(code: &str) -> Option<&'static str> {
    Some(match code {
        "1" => "partfield boundary",
        "2" => "treatment zone",
        "3" => "water",
        "4" => "building",
        "5" => "road",
        "6" => "obstacle",
        "7" => "flag",
        "8" => "other",
        "9" => "main field",
        "10" => "headland",
        "11" => "buffer zone",
        "12" => "windbreak",
        _ => return None,
    })
}

/// Types of line (attribute A of LSG).
pub(super) fn line(code: &str) -> Option<&'static str> {
    Some(match code {
        "1" => "exterior",
        "2" => "interior",
        "3" => "tram line",
        "4" => "sampling route",
        "5" => "guidance",
        "6" => "drainage",
        "7" => "fence",
        "8" => "flag",
        "9" => "obstacle",
        _ => return None,
    })
}

/// Types of point (attribute A of PNT).
pub(super) fn point(code: &str) -> Option<&'static str> {
    Some(match code {
        "1" => "flag",
        "2" => "other",
        "3" => "field access",
        "4" => "storage",
        "5" => "obstacle",
        "6" => "reference A",
        "7" => "reference B",
        "8" => "centre",
        "9" => "guidance point",
        "10" => "reference of the field",
        "11" => "home base",
        _ => return None,
    })
}

/// A value of process data in plain words: its index in the data dictionary (two bytes in
/// hexadecimal) and its value. Only setpoints of what is put down have words (ISO 11783-11; seen
/// in the list of an open library).
pub(super) fn rate(index: &str, value: i64) -> String {
    let is_index = index.len() <= 4 && index.bytes().all(|byte| byte.is_ascii_hexdigit());
    match u16::from_str_radix(index, 16).ok().filter(|_| is_index) {
        // Hundredths of a cubic millimetre on a square metre.
        Some(1) => format!("{} l/ha", value as f64 / 1e4),
        Some(6) => format!("{} g/m2", value as f64 / 1e3),
        Some(11) => format!("{} pieces/m2", value as f64 / 1e3),
        Some(index) => format!("the value {value} of process data {index}"),
        None => format!(
            "the value {value} under the malformed index `{}` (`A` of PDV; write four hexadecimal \
             digits, such as `0006`)",
            short(index)
        ),
    }
}

/// Elements that others refer to by their id.
const WITH_IDS: [&str; 20] = [
    "BSN", "CCG", "CCL", "CCT", "CLD", "CPC", "CTP", "CTR", "CVT", "DET", "DVC", "FRM", "GGP",
    "GPN", "OTQ", "PDT", "PFD", "PGP", "TSK", "VPN",
];

/// The element that an id belongs to: `PFD` of `PFD12` and of `PFD-3`; `None` where it is no id.
pub(super) fn kind_of(id: &str) -> Option<&'static str> {
    let (kind, number) = id.split_at_checked(3)?;
    let number = number.strip_prefix('-').unwrap_or(number);
    let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    let kind = WITH_IDS.into_iter().find(|known| *known == kind)?;
    is_number.then_some(kind)
}

/// The attributes of an element that refer to others.
pub(super) const fn references(element: &str) -> &'static [&'static str] {
    match element.as_bytes() {
        b"PFD" => &["E", "F", "G", "H", "I"],
        b"FRM" => &["I"],
        b"TSK" => &["C", "D", "E"],
        b"PDV" => &["C", "D"],
        b"PAN" | b"GAN" => &["A"],
        b"PDT" => &["C"],
        _ => &[],
    }
}

/// Elements of which only the name is told: what they hold is not read.
pub(super) const fn unread(element: &str) -> Option<&'static str> {
    Some(match element.as_bytes() {
        b"GRD" => "a grid of rates",
        b"TLG" => "a log of work",
        b"AFE" => "an attached file",
        b"LLF" | b"LKG" => "a list of links",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::rate;

    /// 200 l/ha are 20 ml, 20,000 mm3, on a square metre: two million hundredths.
    #[test]
    fn rates_are_told_in_the_units_of_the_trade() {
        assert_eq!(rate("0001", 2_000_000), "200 l/ha");
        assert_eq!(rate("0006", 40_000), "40 g/m2");
    }
}
