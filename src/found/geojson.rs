//! GeoJSON (RFC 7946, 2016) of any program's: features or bare geometries, and what their
//! properties call them. Our own files are read back whole, cuts at 180 degrees undone.
//!
//! Memory is asked for before it is taken: a scan of the bytes weighs what the parser would make
//! of them and how deep they are nested, for six bytes of JSON can cost six hundred of memory.

use geojson::GeometryValue;
use serde_json::{Map, Value};

use super::degrees::checked;
use super::tally::Tally;
use super::{Found, FoundArea, FoundLine, FoundPlace, Label, fault, label, limits, seam};
use crate::fault::Fault;
use crate::job::near;
use crate::space::Position;

/// Lists and objects within each other.
const DEEPEST: usize = limits::JSON_DEPTH.most;
/// What the parser may take, bytes.
const WEIGHT: usize = limits::JSON_WEIGHT.most;
/// What an object, a list and a value cost once parsed, bytes: a leaf of an ordered map, the
/// least room of a list, a value in a list that doubles when it is full (measured, rounded up).
const OBJECT_WEIGHT: usize = 700;
const LIST_WEIGHT: usize = 150;
const VALUE_WEIGHT: usize = 80;

/// Reads a GeoJSON file.
///
/// # Errors
/// A [`Fault`] that says what is wrong, and in which feature.
pub(crate) fn read(file: &str, bytes: &[u8]) -> Result<Found, Fault> {
    weigh(bytes).map_err(|text| fault(file, "", text))?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let value: Value = serde_json::from_slice(bytes).map_err(|error| {
        let message = error.to_string();
        let message = message.split(" at line ").next().unwrap_or_default();
        let text = if error.is_eof() {
            format!("the file stops too early ({message}); save or copy it again")
        } else {
            format!("not valid JSON: {message}; save the file again")
        };
        let place = match error.line() {
            0 => String::new(),
            line => format!("line {line}"),
        };
        fault(file, &place, text)
    })?;
    let mut reader = Reader {
        file,
        found: Found::default(),
        tally: Tally::default(),
        left_out: 0,
    };
    reader.whole(value)?;
    if reader.left_out > 0 {
        let count = reader.left_out;
        reader.found.remarks.push(match count {
            1 => "1 feature has no geometry and is left out".to_owned(),
            _ => format!("{count} features have no geometry and are left out"),
        });
    }
    Ok(reader.found)
}

/// What the parser would take, and how deep it would go, from the bytes alone.
fn weigh(bytes: &[u8]) -> Result<(), String> {
    let (mut weight, mut depth, mut in_text, mut is_escaped) = (0, 0_usize, false, false);
    for byte in bytes {
        if in_text {
            in_text = is_escaped || *byte != b'"';
            is_escaped = !is_escaped && *byte == b'\\';
            weight += 1;
        } else {
            match byte {
                b'"' => in_text = true,
                b'{' => (depth, weight) = (depth + 1, weight + OBJECT_WEIGHT),
                b'[' => (depth, weight) = (depth + 1, weight + LIST_WEIGHT),
                b'}' | b']' => depth = depth.saturating_sub(1),
                b',' | b':' => weight += VALUE_WEIGHT,
                _ => {}
            }
        }
        if depth > DEEPEST {
            return Err(format!(
                "lists and objects stand in each other more than {DEEPEST} deep, which no GeoJSON \
                 needs; save the file again"
            ));
        }
        if weight > WEIGHT {
            return Err(
                "holds more than can be read at once; save only the outline or the lines that you \
                 need"
                    .to_owned(),
            );
        }
    }
    Ok(())
}

struct Reader<'a> {
    file: &'a str,
    found: Found,
    tally: Tally,
    left_out: usize,
}

impl Reader<'_> {
    fn wrong(&self, place: &str, text: impl Into<String>) -> Fault {
        fault(self.file, place, text)
    }

    fn whole(&mut self, value: Value) -> Result<(), Fault> {
        let Value::Object(mut object) = value else {
            return Err(self.wrong("", "not GeoJSON; save it as a FeatureCollection (RFC 7946)"));
        };
        self.check_crs(object.get("crs"))?;
        match object.get("type").and_then(Value::as_str) {
            Some("FeatureCollection") => {
                let Some(Value::Array(features)) = object.remove("features") else {
                    return Err(self.wrong(
                        "",
                        "the FeatureCollection has no list `features`; save the file again as \
                         GeoJSON",
                    ));
                };
                for (index, feature) in features.into_iter().enumerate() {
                    self.feature(index + 1, feature)?;
                }
                Ok(())
            }
            Some("Feature") => self.feature(1, Value::Object(object)),
            Some(_) if object.contains_key("coordinates") || object.contains_key("geometries") => {
                self.geometry("", &Label::default(), Value::Object(object))
            }
            Some(other) => {
                let text = format!(
                    "its `type` is `{}`; save it as a FeatureCollection (RFC 7946)",
                    near::short(other)
                );
                Err(self.wrong("", text))
            }
            None => Err(self.wrong(
                "",
                "it has no `type`; save it as a FeatureCollection (RFC 7946)",
            )),
        }
    }

    /// RFC 7946 knows no `crs` member, but older files have one, and it must not be passed over.
    fn check_crs(&self, member: Option<&Value>) -> Result<(), Fault> {
        let Some(member) = member.filter(|member| !member.is_null()) else {
            return Ok(());
        };
        let name = member
            .pointer("/properties/name")
            .and_then(Value::as_str)
            .unwrap_or_default();
        let code = name.rsplit(':').next().unwrap_or_default();
        if matches!(code, "CRS84" | "CRS84h" | "4326" | "4979") {
            return Ok(());
        }
        let text = format!(
            "its member `crs` names `{}`; GeoJSON is WGS84 longitude and latitude: save it so, or \
             name the system in a job's `[ground] crs`",
            near::short(name)
        );
        Err(self.wrong("", text))
    }

    fn feature(&mut self, number: usize, value: Value) -> Result<(), Fault> {
        let mut here = format!("feature {number}");
        let Value::Object(mut feature) = value else {
            return Err(self.wrong(&here, "is no feature; save the file again as GeoJSON"));
        };
        if feature.get("type").and_then(Value::as_str) != Some("Feature") {
            return Err(self.wrong(
                &here,
                "its `type` is not `Feature`; put the geometry into a Feature",
            ));
        }
        let no_properties = Map::new();
        let properties = feature
            .get("properties")
            .and_then(Value::as_object)
            .unwrap_or(&no_properties);
        let label = label(properties, feature.get("id"));
        if let Some(name) = &label.name {
            here = format!("{here} `{}`", near::short(name));
        }
        match feature.remove("geometry") {
            None | Some(Value::Null) => {
                self.left_out += 1;
                Ok(())
            }
            Some(geometry) => self.geometry(&here, &label, geometry),
        }
    }

    fn geometry(&mut self, here: &str, label: &Label, value: Value) -> Result<(), Fault> {
        let geometry: geojson::Geometry = serde_json::from_value(value).map_err(|error| {
            let text = format!(
                "its geometry is not as RFC 7946 writes it: {}; save the file again",
                near::short(&error.to_string())
            );
            self.wrong(here, text)
        })?;
        self.take(here, label, &geometry.value)
    }

    fn take(&mut self, here: &str, label: &Label, value: &GeometryValue) -> Result<(), Fault> {
        match value {
            GeometryValue::Point { coordinates } => self.place(here, label, coordinates)?,
            GeometryValue::MultiPoint { coordinates } => {
                for at in coordinates {
                    self.place(here, label, at)?;
                }
            }
            GeometryValue::LineString { coordinates } => {
                self.lines(here, label, std::slice::from_ref(coordinates))?;
            }
            GeometryValue::MultiLineString { coordinates } => {
                self.lines(here, label, coordinates)?;
            }
            GeometryValue::Polygon { coordinates } => {
                self.grounds(here, label, std::slice::from_ref(coordinates))?;
            }
            GeometryValue::MultiPolygon { coordinates } => {
                self.grounds(here, label, coordinates)?;
            }
            // The scan of the bytes bounds how deep this goes.
            GeometryValue::GeometryCollection { geometries } => {
                for geometry in geometries {
                    self.take(here, label, &geometry.value)?;
                }
            }
        }
        Ok(())
    }

    /// Makes room for so many things more.
    fn room(&mut self, things: usize) -> Result<(), Fault> {
        let counted = self.tally.things(things);
        counted.map_err(|text| self.wrong("", text))
    }

    fn place(&mut self, here: &str, label: &Label, at: &geojson::Position) -> Result<(), Fault> {
        let position = self.position(here, at)?;
        self.room(1)?;
        self.found.places.push(FoundPlace {
            label: label.clone(),
            position,
        });
        Ok(())
    }

    fn position(&mut self, here: &str, at: &geojson::Position) -> Result<Position, Fault> {
        let counted = self.tally.positions(1);
        counted.map_err(|text| self.wrong("", text))?;
        let [lon_deg, lat_deg, ..] = *at.as_slice() else {
            return Err(self.wrong(
                here,
                "a position has no two numbers; write longitude, latitude",
            ));
        };
        checked(lon_deg, lat_deg).map_err(|text| self.wrong(here, text))
    }

    fn run(&mut self, here: &str, run: &[geojson::Position]) -> Result<Vec<Position>, Fault> {
        run.iter().map(|at| self.position(here, at)).collect()
    }

    fn lines(
        &mut self,
        here: &str,
        label: &Label,
        runs: &[Vec<geojson::Position>],
    ) -> Result<(), Fault> {
        let runs: Vec<Vec<Position>> = runs
            .iter()
            .map(|run| self.run(here, run))
            .collect::<Result<_, _>>()?;
        if runs.is_empty() || runs.iter().any(|run| run.len() < 2) {
            return Err(self.wrong(
                here,
                "a line has fewer than 2 positions; draw it longer or as a Point",
            ));
        }
        for positions in seam::whole_lines(runs) {
            self.room(1)?;
            self.found.lines.push(FoundLine {
                label: label.clone(),
                positions,
            });
        }
        Ok(())
    }

    fn grounds(
        &mut self,
        here: &str,
        label: &Label,
        polygons: &[Vec<Vec<geojson::Position>>],
    ) -> Result<(), Fault> {
        let most = limits::RINGS_OF_ONE.most;
        if polygons.iter().map(Vec::len).sum::<usize>() > most {
            let text = format!("more than {most} rings in one feature; part it into several");
            return Err(self.wrong(here, text));
        }
        let mut open = Vec::with_capacity(polygons.len());
        for polygon in polygons {
            let mut rings = Vec::with_capacity(polygon.len());
            for ring in polygon {
                let mut ring = self.run(here, ring)?;
                if ring.len() > 1 && ring.first() == ring.last() {
                    ring.pop();
                }
                if ring.len() < 3 {
                    return Err(self.wrong(
                        here,
                        "a ring has fewer than 3 different positions; draw 3 corners or more",
                    ));
                }
                rings.push(ring);
            }
            if rings.is_empty() {
                return Err(self.wrong(here, "a Polygon is empty; draw it or take the feature out"));
            }
            open.push(rings);
        }
        for rings in seam::whole_grounds(open) {
            self.room(1)?;
            self.found.areas.push(FoundArea {
                label: label.clone(),
                rings,
            });
        }
        Ok(())
    }
}

/// What a feature is called, by its properties and its `id`. Letters of a property's name may be
/// large or small.
fn label(properties: &Map<String, Value>, id: Option<&Value>) -> Label {
    label::label(|key| {
        let mut all = properties.iter();
        let value = properties
            .get(key)
            .or_else(|| Some(all.find(|(have, _)| have.eq_ignore_ascii_case(key))?.1));
        let id = id.filter(|_| key == "id");
        value.or(id).and_then(word_of)
    })
}

/// Text or a number as a word.
fn word_of(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}
