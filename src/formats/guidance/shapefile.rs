//! `guidance/*.shp` and what belongs to each: the passes as lines, the ground as polygons, lines
//! and points (ESRI Shapefile Technical Description, 1998; the table is dBASE III).
//!
//! Written with the crate `shapefile`. What it does not do, or does otherwise than is wanted, is
//! done here: it puts the date of the clock into the table; it marks the table with a code page
//! that there is none of for UTF-8, where `.cpg` says it; it cuts text in the middle of a letter;
//! it writes no file at all of no shapes, and refuses a line of one point by a panic. Columns have
//! ten letters at most (it allows eleven, which leaves no room for the closing nought).

use std::io::Cursor;

use geojson::GeometryValue;
use shapefile::dbase::{FieldError, FieldName, FieldWriter, TableWriterBuilder, WritableRecord};
use shapefile::record::EsriShape;
use shapefile::{Point, Polygon, PolygonRing, Polyline, ShapeWriter, Writer};

use crate::formats::globe::Globe;
use crate::formats::{FormatError, Written, ground, passes};
use crate::plan::Plan;

/// WGS84 in degrees, as `.prj` files have it (WKT 1 in ESRI's spelling).
const WGS84: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,\
                     298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
/// How the letters of the table are written.
const LETTERS: &str = "UTF-8";
/// Bytes of text in a cell of a table.
const CELL_BYTES: usize = 254;
/// Digits of a whole number in a cell, and of a figure with its point and six decimals.
const WHOLE_DIGITS: u8 = 9;
const FIGURE_DIGITS: u8 = 19;
const FIGURE_DECIMALS: u8 = 6;
/// Where a table says when it was changed last (year less 1900, month, day), and its code page.
const TABLE_DATE: std::ops::Range<usize> = 1..4;
const TABLE_CODE_PAGE: usize = 29;
/// The date of a plan without one. A table must have one, and this is plainly none.
const NO_DATE: [u8; 3] = [70, 1, 1];

/// A cell of the table.
enum Cell {
    Text(Option<String>),
    Whole(Option<usize>),
    Figure(Option<f64>),
}

/// One record: its shape, and a cell for each column.
struct Record<S> {
    shape: S,
    cells: Vec<Cell>,
}

/// All shapefiles of a plan, in the order of the documents. One without a shape is not written.
pub(super) fn files(plan: &Plan, globe: &Globe) -> Result<Vec<Written>, FormatError> {
    let date = date_of(plan.date.as_deref());
    let mut files = Vec::new();
    let lines = pass_lines(plan, globe)?;
    files.extend(parts("passes", &PASS_COLUMNS, lines, date)?);
    let Ground {
        polygons,
        lines,
        points,
    } = ground_shapes(plan, globe)?;
    files.extend(parts("ground", &GROUND_COLUMNS, polygons, date)?);
    files.extend(parts("ground-lines", &GROUND_COLUMNS, lines, date)?);
    files.extend(parts("ground-points", &GROUND_COLUMNS, points, date)?);
    Ok(files)
}

const PASS_COLUMNS: [&str; 7] = [
    "operation",
    "direction",
    "pass",
    "part",
    "head_deg",
    "width_m",
    "length_m",
];

fn pass_lines(plan: &Plan, globe: &Globe) -> Result<Vec<Record<Polyline>>, FormatError> {
    let rows = passes::rows(plan, globe);
    rows.map(|(properties, shape)| {
        let mut runs = Vec::new();
        flatten(&shape, &mut |piece| {
            if let Piece::Line(run) = piece {
                runs.push(run);
            }
        });
        Ok(Record {
            shape: polyline(runs)?,
            cells: vec![
                Cell::Text(Some(properties.operation.to_owned())),
                Cell::Whole(Some(properties.direction)),
                Cell::Whole(Some(properties.pass)),
                Cell::Whole(Some(properties.part)),
                Cell::Figure(properties.heading_deg),
                Cell::Figure(Some(properties.width_m)),
                Cell::Figure(Some(properties.length_m)),
            ],
        })
    })
    .collect()
}

const GROUND_COLUMNS: [&str; 6] = ["role", "name", "clear_m", "depth_m", "wear", "height_m"];

#[derive(Default)]
struct Ground {
    polygons: Vec<Record<Polygon>>,
    lines: Vec<Record<Polyline>>,
    points: Vec<Record<Point>>,
}

/// The ground by kind of shape: a file holds one. A thing of several kinds is in several files.
fn ground_shapes(plan: &Plan, globe: &Globe) -> Result<Ground, FormatError> {
    let mut all = Ground::default();
    for (properties, shape) in ground::rows(plan, globe)? {
        let cells = || {
            vec![
                Cell::Text(Some(properties.role.to_owned())),
                Cell::Text(properties.name.map(str::to_owned)),
                Cell::Figure(properties.clearance_m),
                Cell::Figure(properties.depth_m),
                Cell::Whole(properties.wear.map(usize::from)),
                Cell::Figure(properties.height_m),
            ]
        };
        let (mut rings, mut runs, mut points) = (Vec::new(), Vec::new(), Vec::new());
        flatten(&shape, &mut |piece| match piece {
            Piece::Ground(of_piece) => rings.extend(of_piece),
            Piece::Line(run) => runs.push(run),
            Piece::Point(at) => points.push(at),
        });
        if !rings.is_empty() {
            all.polygons.push(Record {
                shape: Polygon::with_rings(rings),
                cells: cells(),
            });
        }
        if !runs.is_empty() {
            all.lines.push(Record {
                shape: polyline(runs)?,
                cells: cells(),
            });
        }
        all.points.extend(points.into_iter().map(|shape| Record {
            shape,
            cells: cells(),
        }));
    }
    Ok(all)
}

/// A simple part of a shape.
enum Piece {
    Ground(Vec<PolygonRing<Point>>),
    Line(Vec<Point>),
    Point(Point),
}

/// The simple parts of a shape in their order.
fn flatten(value: &GeometryValue, give: &mut dyn FnMut(Piece)) {
    let point = |at: &geojson::Position| match at.as_slice() {
        [x, y, ..] => Point::new(*x, *y),
        _ => Point::new(f64::NAN, f64::NAN),
    };
    let run = |run: &[geojson::Position]| run.iter().map(point).collect::<Vec<_>>();
    let ground = |rings: &[Vec<geojson::Position>]| {
        let rings = rings.iter().enumerate().map(|(index, ring)| match index {
            0 => PolygonRing::Outer(run(ring)),
            _ => PolygonRing::Inner(run(ring)),
        });
        Piece::Ground(rings.collect())
    };
    match value {
        GeometryValue::Point { coordinates } => give(Piece::Point(point(coordinates))),
        GeometryValue::MultiPoint { coordinates } => {
            coordinates
                .iter()
                .for_each(|at| give(Piece::Point(point(at))));
        }
        GeometryValue::LineString { coordinates } => give(Piece::Line(run(coordinates))),
        GeometryValue::MultiLineString { coordinates } => {
            coordinates
                .iter()
                .for_each(|one| give(Piece::Line(run(one))));
        }
        GeometryValue::Polygon { coordinates } => give(ground(coordinates)),
        GeometryValue::MultiPolygon { coordinates } => {
            coordinates.iter().for_each(|one| give(ground(one)));
        }
        GeometryValue::GeometryCollection { geometries } => {
            for geometry in geometries {
                flatten(&geometry.value, give);
            }
        }
    }
}

/// A line of several runs; the crate panics at a run of one point.
fn polyline(runs: Vec<Vec<Point>>) -> Result<Polyline, FormatError> {
    if runs.is_empty() || runs.iter().any(|run| run.len() < 2) {
        return Err(FormatError::Shapefile(
            "a line has fewer than two points".to_owned(),
        ));
    }
    Ok(Polyline::with_parts(runs))
}

/// The five files of one shapefile.
fn parts<S: EsriShape>(
    name: &str,
    columns: &[&str],
    records: Vec<Record<S>>,
    date: [u8; 3],
) -> Result<Vec<Written>, FormatError> {
    if records.is_empty() {
        return Ok(Vec::new());
    }
    let (mut shp, mut shx) = (Vec::new(), Vec::new());
    let mut dbf = Vec::new();
    {
        let shapes = ShapeWriter::with_shx(Cursor::new(&mut shp), Cursor::new(&mut shx));
        let table = table(columns, &records)?.build_with_dest(Cursor::new(&mut dbf));
        let mut writer = Writer::new(shapes, table);
        for record in &records {
            writer
                .write_shape_and_record(&record.shape, record)
                .map_err(|error| FormatError::Shapefile(error.to_string()))?;
        }
    }
    if let Some(bytes) = dbf.get_mut(TABLE_DATE) {
        bytes.copy_from_slice(&date);
    }
    if let Some(byte) = dbf.get_mut(TABLE_CODE_PAGE) {
        *byte = 0;
    }
    let ends = [
        ("shp", shp),
        ("shx", shx),
        ("dbf", dbf),
        ("prj", WGS84.as_bytes().to_vec()),
        ("cpg", LETTERS.as_bytes().to_vec()),
    ];
    Ok(ends
        .map(|(end, bytes)| (format!("guidance/{name}.{end}"), bytes))
        .into())
}

/// The columns of a table. Those of text are as wide as the longest that stands in them.
fn table<S>(columns: &[&str], records: &[Record<S>]) -> Result<TableWriterBuilder, FormatError> {
    let mut table = TableWriterBuilder::new();
    for (index, column) in columns.iter().enumerate() {
        let name = FieldName::try_from(*column)
            .map_err(|error| FormatError::Shapefile(error.to_owned()))?;
        let cells = records.iter().filter_map(|record| record.cells.get(index));
        table = match cells.clone().next() {
            Some(Cell::Text(_)) => {
                let widest = cells.map(|cell| match cell {
                    Cell::Text(Some(text)) => fitting(text).len(),
                    _ => 0,
                });
                let widest = widest.max().unwrap_or(0).max(1);
                let widest = u8::try_from(widest).unwrap_or(u8::MAX - 1);
                table.add_character_field(name, widest)
            }
            Some(Cell::Whole(_)) => table.add_numeric_field(name, WHOLE_DIGITS, 0),
            _ => table.add_numeric_field(name, FIGURE_DIGITS, FIGURE_DECIMALS),
        };
    }
    Ok(table)
}

/// As much of a text as a cell holds, whole letters.
fn fitting(text: &str) -> &str {
    let mut end = text.len().min(CELL_BYTES);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    &text[..end]
}

impl<S> WritableRecord for Record<S> {
    fn write_using<W: std::io::Write>(
        &self,
        writer: &mut FieldWriter<'_, W>,
    ) -> Result<(), FieldError> {
        for cell in &self.cells {
            match cell {
                Cell::Text(text) => {
                    let text = text.as_deref().map(|text| fitting(text).to_owned());
                    writer.write_next_field_value(&text)?;
                }
                #[allow(clippy::cast_precision_loss)] // nine digits at most
                Cell::Whole(number) => {
                    writer.write_next_field_value(&number.map(|number| number as f64))?;
                }
                Cell::Figure(figure) => writer.write_next_field_value(figure)?,
            }
        }
        Ok(())
    }
}

/// A date as a table has it, from one written `2026-06-02`.
fn date_of(date: Option<&str>) -> [u8; 3] {
    let read = |date: &str| -> Option<[u8; 3]> {
        let mut parts = date.split('-');
        let year = parts.next()?.parse::<u16>().ok()?.checked_sub(1900)?;
        let month = parts.next()?.parse().ok()?;
        let day = parts.next()?.parse().ok()?;
        Some([u8::try_from(year).ok()?, month, day])
    };
    date.and_then(read).unwrap_or(NO_DATE)
}
