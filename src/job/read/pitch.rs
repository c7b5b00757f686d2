//! How the pitch is laid down: the four ways, and what does not go together.

use std::collections::BTreeMap;

use super::Desk;
use crate::job::file::{
    CompassWord, CornerWord, CornersToml, JobToml, PitchToml, PositionToml, RunOffToml, SurfaceWord,
};
use crate::job::ground_file::Reading;
use crate::job::model::{Lie, Pitch, RunOff, Size, Surface, SurfaceKind};
use crate::space::{Compass, Corner, Heading, Position};

/// Where the job file itself says that the pitch lies.
pub(super) fn near(file: &JobToml) -> Option<Position> {
    let pitch = file.pitch.as_ref()?;
    let corner = pitch
        .corners
        .as_ref()
        .and_then(|corners| marks(corners).into_iter().next());
    pitch
        .centre
        .as_ref()
        .and_then(position)
        .or(corner.map(|(_, at)| at))
}

pub(super) fn corner(word: CornerWord) -> Corner {
    match word {
        CornerWord::Ne => Corner::Ne,
        CornerWord::Se => Corner::Se,
        CornerWord::Sw => Corner::Sw,
        CornerWord::Nw => Corner::Nw,
    }
}

pub(super) fn compass(word: CompassWord) -> Compass {
    match word {
        CompassWord::North => Compass::North,
        CompassWord::East => Compass::East,
        CompassWord::South => Compass::South,
        CompassWord::West => Compass::West,
    }
}

fn position(file: &PositionToml) -> Option<Position> {
    Some(Position {
        lat_deg: file.lat_deg?,
        lon_deg: file.lon_deg?,
    })
}

fn marks(file: &CornersToml) -> Vec<(Corner, Position)> {
    [
        (Corner::Ne, &file.ne),
        (Corner::Se, &file.se),
        (Corner::Sw, &file.sw),
        (Corner::Nw, &file.nw),
    ]
    .into_iter()
    .filter_map(|(corner, at)| Some((corner, position(at.as_ref()?)?)))
    .collect()
}

impl Desk {
    pub(super) fn pitch(&mut self, file: &JobToml, reading: &Reading) -> Option<Pitch> {
        let none = PitchToml::default();
        let pitch = file.pitch.as_ref().unwrap_or(&none);
        let ends = self.ends(pitch);
        let run_off = pitch.run_off_m.as_ref().and_then(|file| self.run_off(file));
        let stands = pitch.stands.as_ref().map_or_else(BTreeMap::new, |file| {
            by_compass([&file.north, &file.east, &file.south, &file.west])
        });
        let surface = pitch.surface.as_ref();
        let surface = Surface {
            kind: match surface.and_then(|surface| surface.kind) {
                Some(SurfaceWord::Hybrid) => SurfaceKind::Hybrid,
                Some(SurfaceWord::Natural) | None => SurfaceKind::Natural,
            },
            max_depth_mm: surface.and_then(|surface| surface.max_depth_mm),
        };
        let size_m = self.size(pitch);
        let lie = self.lie(file, pitch, reading, size_m.is_some())?;
        Some(Pitch {
            size_m,
            lie,
            ends,
            run_off,
            stands,
            surface,
        })
    }

    fn size(&mut self, pitch: &PitchToml) -> Option<Size> {
        match (pitch.length_m, pitch.width_m) {
            (Some(length_m), Some(width_m)) => Some(Size { length_m, width_m }),
            (Some(_), None) if !self.spoilt("pitch.width_m") => {
                self.wrong(
                    "pitch.length_m",
                    "`length_m` stands without `width_m`; give both",
                );
                None
            }
            (None, Some(_)) if !self.spoilt("pitch.length_m") => {
                self.wrong(
                    "pitch.width_m",
                    "`width_m` stands without `length_m`; give both",
                );
                None
            }
            _ => None,
        }
    }

    /// Which of the four ways; `None` where it was told to be none.
    fn lie(
        &mut self,
        file: &JobToml,
        pitch: &PitchToml,
        reading: &Reading,
        has_size: bool,
    ) -> Option<Lie> {
        let has_centre = self.tree.lines.contains_key("pitch.centre");
        let has_corners = self.tree.lines.contains_key("pitch.corners");
        let has_bearing = self.tree.lines.contains_key("pitch.bearing_deg");
        if reading.has_pitch {
            for (given, key) in [
                (has_centre, "centre"),
                (has_corners, "corners"),
                (has_bearing, "bearing_deg"),
            ] {
                if given {
                    let text = format!(
                        "`{key}` stands beside an outline with role `pitch` in the ground file, which says where the pitch lies; keep one of them"
                    );
                    self.wrong(&format!("pitch.{key}"), text);
                }
            }
            return Some(Lie::Outline);
        }
        // Without a ground file that could be read, an outline may be what was meant.
        let outline_unknown = self.user_zones.is_none();
        let half_size = ["length_m", "width_m"]
            .iter()
            .any(|key| self.tree.lines.contains_key(&format!("pitch.{key}")));
        if !has_size && !half_size && !outline_unknown && !self.spoilt("pitch") {
            let text = if has_corners || has_centre {
                "the pitch has no sizes; write `length_m` and `width_m` under `[pitch]`"
            } else {
                "the pitch has no sizes; write `length_m` and `width_m` under `[pitch]`, or draw its outline with role `pitch` in a ground file"
            };
            self.wrong("pitch", text);
        }
        if has_centre && has_corners {
            let text = "`corners` and `centre` both say where the pitch lies; keep one of them";
            self.wrong("pitch.corners", text);
            return None;
        }
        if has_corners {
            if has_bearing {
                let text =
                    "`bearing_deg` stands beside `corners`, which say it already; take it out";
                self.wrong("pitch.bearing_deg", text);
            }
            return self.corners(pitch.corners.as_ref()?);
        }
        let bearing = pitch.bearing_deg.map(Heading::from_deg);
        if has_centre {
            if !has_bearing {
                let text = "`centre` stands without `bearing_deg`; add the true bearing of the long axis, 0 to 360";
                self.wrong("pitch.centre", text);
            }
            return Some(Lie::Centre {
                centre: position(pitch.centre.as_ref()?)?,
                bearing: bearing?,
            });
        }
        if file.ground.is_some() && !outline_unknown {
            let text = "there is a ground file, but nothing says where the pitch lies; give `centre` and `bearing_deg`, or `corners`, or an outline with role `pitch`";
            self.wrong("ground.file", text);
        }
        Some(Lie::Nowhere {
            bearing: bearing.unwrap_or(Heading::from_deg(0.0)),
        })
    }

    fn corners(&mut self, file: &CornersToml) -> Option<Lie> {
        let mut marks = marks(file);
        if self.spoilt("pitch.corners") {
            return None;
        }
        let path = |corner: Corner| format!("pitch.corners.{}", corner.name());
        marks.sort_by_key(|(corner, _)| self.tree.lines.get(&path(*corner)).copied());
        for (index, (corner, at)) in marks.iter().enumerate() {
            let twin = marks.iter().take(index).find(|(_, other)| other == at);
            if let Some((twin, _)) = twin {
                let text = format!(
                    "marks `{}` and `{}` lie at the same place; measure one again",
                    twin.name(),
                    corner.name()
                );
                self.wrong(&path(*corner), text);
            }
        }
        match marks.as_slice() {
            [] | [_] => {
                let text = "fewer than two corner marks do not say which way the pitch points; give two to four";
                self.wrong("pitch.corners", text);
                None
            }
            [(one, _), (other, _)] if is_opposite(*one, *other) => {
                let text = format!(
                    "two opposite marks, `{}` and `{}`, leave two answers; give a third",
                    one.name(),
                    other.name()
                );
                self.wrong("pitch.corners", text);
                None
            }
            _ => Some(Lie::Corners(marks)),
        }
    }

    fn ends(&mut self, pitch: &PitchToml) -> Option<[Compass; 2]> {
        let [first, second] = pitch.ends.as_deref()? else {
            return None;
        };
        let (first, second) = (compass(*first), compass(*second));
        if second != first.opposite() {
            let text = format!(
                "`ends` are `{}` and `{}`, which do not lie opposite; write `{}` second",
                first.name(),
                second.name(),
                first.opposite().name()
            );
            self.wrong("pitch.ends", text);
        }
        Some([first, second])
    }

    fn run_off(&mut self, file: &RunOffToml) -> Option<RunOff> {
        if self.spoilt("pitch.run_off_m") {
            return None;
        }
        let sides = by_compass([&file.north, &file.east, &file.south, &file.west]);
        match (file.touch, file.goal) {
            (Some(touch_m), Some(goal_m)) if sides.is_empty() => {
                Some(RunOff::ByLine { touch_m, goal_m })
            }
            (None, None) if sides.len() == 4 => Some(RunOff::BySide(sides)),
            _ => {
                let text = "`run_off_m` needs `touch` and `goal`, or all of `north`, `east`, `south` and `west`";
                self.wrong("pitch.run_off_m", text);
                None
            }
        }
    }
}

/// Whether two corners lie across the pitch from each other: no side in common.
fn is_opposite(one: Corner, other: Corner) -> bool {
    let ((a, b), (c, d)) = (one.compass(), other.compass());
    a != c && b != d
}

/// What was given for north, east, south and west.
fn by_compass<T: Clone>(values: [&Option<T>; 4]) -> BTreeMap<Compass, T> {
    Compass::ALL
        .into_iter()
        .zip(values)
        .filter_map(|(point, value)| Some((point, value.clone()?)))
        .collect()
}
