//! Pictures of sheets, held against references in `tests/pictures`.
//!
//! `UPDATE_PICTURES=1` remakes the references. A difference leaves an image of three
//! parts (wanted, difference, got) in the target folder.

use std::path::{Path, PathBuf};

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// Pixels of the reference on one millimetre of paper.
const PIXELS_PER_MM: f32 = 4.0;

/// A pixel counts as different where one of its channels differs by more than this of
/// 255.
const CHANNEL: u8 = 24;

/// So many different pixels of a million are let pass: anti-aliasing may round another
/// way on another machine, a moved line is thousands.
const PER_MILLION: usize = 20;

/// A sheet as the picture program sees it, with the font of the tests and no other.
pub fn tree(sheet: &str) -> Tree {
    let mut options = Options::default();
    let fonts = options.fontdb_mut();
    fonts.load_font_data(dejavu::sans::regular().to_vec());
    fonts.set_sans_serif_family("DejaVu Sans");
    Tree::from_str(sheet, &options).unwrap()
}

fn render(sheet: &str) -> Pixmap {
    let tree = tree(sheet);
    let scale = PIXELS_PER_MM * 25.4 / 96.0;
    let size = tree.size();
    let pixels = |px: f32| (px * scale).round() as u32;
    let mut picture = Pixmap::new(pixels(size.width()), pixels(size.height())).unwrap();
    picture.fill(Color::WHITE);
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut picture.as_mut(),
    );
    picture
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures")
}

/// Compares a sheet with its reference, or makes the reference.
pub fn check(case: &str, sheet: &str) {
    let got = render(sheet);
    let path = folder().join(format!("{case}.png"));
    if std::env::var_os("UPDATE_PICTURES").is_some_and(|value| value == "1") {
        std::fs::create_dir_all(folder()).unwrap();
        got.save_png(&path).unwrap();
        return;
    }
    let wanted = Pixmap::load_png(&path).unwrap_or_else(|fault| {
        panic!(
            "{}: {fault}; make it with UPDATE_PICTURES=1",
            path.display()
        )
    });
    let is_size_kept = (wanted.width(), wanted.height()) == (got.width(), got.height());
    let different = if is_size_kept {
        count_different(&wanted, &got)
    } else {
        usize::MAX
    };
    let allowed = (got.width() * got.height()) as usize * PER_MILLION / 1_000_000;
    if different > allowed {
        let report = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{case}-difference.png"));
        three_parts(&wanted, &got).save_png(&report).unwrap();
        panic!(
            "{case}: {different} pixels differ, {allowed} may; see {} (wanted, difference, got)",
            report.display()
        );
    }
}

/// Fails where the folder holds another number of pictures than were compared.
pub fn no_reference_is_left_over(compared: usize) {
    let pictures = std::fs::read_dir(folder())
        .unwrap()
        .filter(|entry| {
            let path = entry.as_ref().unwrap().path();
            path.extension().is_some_and(|extension| extension == "png")
        })
        .count();
    assert_eq!(pictures, compared, "pictures in {}", folder().display());
}

fn is_different(one: &[u8], other: &[u8]) -> bool {
    one.iter().zip(other).any(|(a, b)| a.abs_diff(*b) > CHANNEL)
}

fn count_different(wanted: &Pixmap, got: &Pixmap) -> usize {
    let pairs = wanted
        .data()
        .chunks_exact(4)
        .zip(got.data().chunks_exact(4));
    pairs
        .filter(|(one, other)| is_different(one, other))
        .count()
}

/// Wanted, difference (red on white) and got side by side.
fn three_parts(wanted: &Pixmap, got: &Pixmap) -> Pixmap {
    let width = wanted.width().max(got.width());
    let height = wanted.height().max(got.height());
    let mut report = Pixmap::new(3 * width, height).unwrap();
    report.fill(Color::WHITE);
    let pixel = |picture: &Pixmap, x: u32, y: u32| -> [u8; 4] {
        let inside = x < picture.width() && y < picture.height();
        let index = 4 * (y * picture.width() + x) as usize;
        if inside {
            picture.data()[index..index + 4].try_into().unwrap()
        } else {
            [255; 4]
        }
    };
    let data = report.data_mut();
    for y in 0..height {
        for x in 0..width {
            let (one, other) = (pixel(wanted, x, y), pixel(got, x, y));
            let difference = if is_different(&one, &other) {
                [220, 0, 0, 255]
            } else {
                [255; 4]
            };
            for (part, colour) in [one, difference, other].into_iter().enumerate() {
                let at = 4 * (y * 3 * width + x) as usize + 4 * part * width as usize;
                data[at..at + 4].copy_from_slice(&colour);
            }
        }
    }
    report
}

#[test]
fn a_moved_line_is_a_difference() {
    let sheet = |x: u32| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='40mm' height='40mm' viewBox='0 0 40 40'>\
             <path d='M{x} 5V35' stroke='#000' stroke-width='0.3'/></svg>"
        )
    };
    let (one, other) = (render(&sheet(10)), render(&sheet(11)));
    assert_eq!(count_different(&one, &one), 0);
    assert!(count_different(&one, &other) > 100);
}
