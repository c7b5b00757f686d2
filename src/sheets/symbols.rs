//! How each thing on the ground is drawn, on the map and in the key alike.
//!
//! Every symbol differs from every other by shape or hatching, so that none is told by
//! its colour.

use geo::{Area, BoundingRect, Geometry, LineString, MultiPolygon};

use super::hatch;
use super::scene::{Frame, Ink, Item, Pen, Spot, Style};
use super::stages::MoveKind;
use crate::job::model::Role;
use crate::route::kind::Kind as TurnKind;

/// The edge of the run-off.
pub(super) const GRASS_EDGE: Pen = Pen::new(Ink::Black, 0.3).dashed(&[2.4, 1.2]);

/// The painted lines of the pitch.
pub(super) const MARKING: Pen = Pen::new(Ink::Grey, 0.25);

/// The edge of what is worked.
pub(super) const TARGET_EDGE: Pen = Pen::new(Ink::Black, 0.2);

/// A pass line.
pub(super) const PASS_LINE: Pen = Pen::new(Ink::Pass, 0.32);

/// The way of a machine at work.
pub(super) const WORK_LINE: Pen = Pen::new(Ink::Pass, 0.45);

/// Length of an arrow head on a line.
pub(super) const ARROW_MM: f64 = 2.4;

/// The outline of a strip.
pub(super) const STRIP_EDGE: Pen = Pen::new(Ink::Faint, 0.14);

/// The outline of a missed place.
const MISSED_EDGE: Pen = Pen::new(Ink::Black, 0.45);

/// The strokes in a missed place.
const MISSED_STROKE: Pen = Pen::new(Ink::Black, 0.3);

/// A line to what a label speaks of.
pub(super) const LEADER: Pen = Pen::new(Ink::Black, 0.18);

/// Radius of the ring about missed places that are too small to draw.
pub(super) const RING_RADIUS_MM: f64 = 1.9;

/// A thing drawn smaller than this in both ways gets a symbol of fixed size.
const LEAST_MM: f64 = 1.5;

/// What a drawing of a thing is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Stands above the ground: wall, tree, post.
    Obstacle,
    /// Ground nobody drives on.
    NoGo,
    /// A goal.
    Goal,
    /// Where material lies.
    Stockpile,
    /// A sprinkler head.
    Head,
    /// A socket.
    Socket,
    /// A lid or valve box.
    Lid,
    /// A pipe or cable.
    Service,
}

impl Kind {
    /// All kinds, in the order of the key.
    pub(super) const ALL: [Self; 8] = [
        Self::Obstacle,
        Self::NoGo,
        Self::Goal,
        Self::Stockpile,
        Self::Head,
        Self::Socket,
        Self::Lid,
        Self::Service,
    ];

    /// How a thing of this role is drawn; `None` where it is no thing to keep clear of.
    pub(super) const fn of(role: &Role) -> Option<Self> {
        match role {
            Role::Obstacle { .. } => Some(Self::Obstacle),
            // A hole of the pitch is kept clear like a no-go.
            Role::NoGo { .. } | Role::Pitch => Some(Self::NoGo),
            Role::Goal { .. } => Some(Self::Goal),
            Role::Stockpile { .. } => Some(Self::Stockpile),
            Role::Head { .. } => Some(Self::Head),
            Role::Socket { .. } => Some(Self::Socket),
            Role::Lid { .. } => Some(Self::Lid),
            Role::Service { .. } => Some(Self::Service),
            Role::RunOff | Role::Entrance | Role::Zone { .. } | Role::Stand { .. } => None,
        }
    }

    /// Its word in the key.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Obstacle => "obstacle",
            Self::NoGo => "no-go",
            Self::Goal => "goal",
            Self::Stockpile => "stockpile",
            Self::Head => "sprinkler head",
            Self::Socket => "socket",
            Self::Lid => "lid",
            Self::Service => "service below",
        }
    }

    /// Whether its own name is worth the room: of heads and sockets there are too many.
    pub(super) const fn is_named(self) -> bool {
        matches!(
            self,
            Self::Obstacle | Self::NoGo | Self::Stockpile | Self::Service
        )
    }

    /// Whether its shape says more than a symbol of fixed size.
    const fn is_drawn_to_scale(self) -> bool {
        !matches!(self, Self::Head | Self::Socket | Self::Lid)
    }
}

/// The parts of any geometry: polygons, lines and points.
#[derive(Debug, Clone, Default)]
pub(super) struct Pieces {
    /// Polygons.
    pub polygons: Vec<geo::Polygon<f64>>,
    /// Lines.
    pub lines: Vec<LineString<f64>>,
    /// Points.
    pub points: Vec<Spot>,
}

impl Pieces {
    /// Takes a geometry apart.
    pub(super) fn of(shape: &Geometry<f64>) -> Self {
        let mut pieces = Self::default();
        pieces.add(shape);
        pieces
    }

    fn add(&mut self, shape: &Geometry<f64>) {
        match shape {
            Geometry::Point(point) => self.points.push(point.0),
            Geometry::MultiPoint(points) => self.points.extend(points.iter().map(|p| p.0)),
            Geometry::Line(line) => self.lines.push(LineString(vec![line.start, line.end])),
            Geometry::LineString(line) => self.lines.push(line.clone()),
            Geometry::MultiLineString(lines) => self.lines.extend(lines.iter().cloned()),
            Geometry::Polygon(polygon) => self.polygons.push(polygon.clone()),
            Geometry::MultiPolygon(polygons) => self.polygons.extend(polygons.iter().cloned()),
            Geometry::Rect(rect) => self.polygons.push(rect.to_polygon()),
            Geometry::Triangle(triangle) => self.polygons.push(triangle.to_polygon()),
            Geometry::GeometryCollection(shapes) => {
                for shape in shapes {
                    self.add(shape);
                }
            }
        }
    }
}

/// A thing drawn at its place; `shape` is on the paper. Also where it can be pointed at,
/// and the frames that its symbols take.
pub(super) fn thing(kind: Kind, shape: &Geometry<f64>) -> (Vec<Item>, Vec<Frame>) {
    let pieces = Pieces::of(shape);
    let mut items = Vec::new();
    let mut frames = Vec::new();
    let mut spots = pieces.points.clone();
    let mut grounds = Vec::new();
    for polygon in pieces.polygons {
        let Some(rect) = polygon.bounding_rect() else {
            continue;
        };
        let frame = Frame::about(rect.center(), rect.width(), rect.height());
        if kind.is_drawn_to_scale() && frame.width.max(frame.height) >= LEAST_MM {
            frames.push(frame);
            grounds.push(polygon);
        } else {
            spots.push(rect.center());
        }
    }
    if !grounds.is_empty() {
        items.extend(ground(kind, &MultiPolygon(grounds)));
    }
    for line in &pieces.lines {
        let pen = match kind {
            Kind::Service => Pen::new(Ink::Black, 0.35).dashed(&[3.0, 0.7, 0.7, 0.7]),
            _ => Pen::new(Ink::Black, 0.7),
        };
        items.push(Item::line(line.0.clone(), pen));
    }
    for spot in spots {
        items.extend(mark(kind, spot));
        frames.push(Frame::about(spot, 2.2, 2.2));
    }
    (items, frames)
}

/// A ground drawn to scale.
fn ground(kind: Kind, shape: &MultiPolygon<f64>) -> Vec<Item> {
    let edge = |width_mm: f64| Style::ring(Pen::new(Ink::Black, width_mm));
    match kind {
        Kind::Obstacle => vec![Item::polygons(
            shape,
            Style::filled_ring(Ink::Grey, Pen::new(Ink::Black, 0.5)),
        )],
        Kind::NoGo => vec![
            Item::polygons(shape, Style::filled(Ink::White)),
            hatch::strokes(shape, -45.0, 1.8, Pen::new(Ink::Black, 0.45)),
            Item::polygons(shape, edge(0.5)),
        ],
        Kind::Goal => {
            let net = Pen::new(Ink::Black, 0.1);
            vec![
                Item::polygons(shape, Style::filled(Ink::White)),
                hatch::strokes(shape, 0.0, 0.7, net),
                hatch::strokes(shape, 90.0, 0.7, net),
                Item::polygons(shape, edge(0.5)),
            ]
        }
        Kind::Stockpile => vec![
            Item::polygons(shape, Style::filled(Ink::White)),
            hatch::strokes(
                shape,
                0.0,
                0.9,
                Pen::new(Ink::Black, 0.35).dashed(&[0.35, 0.9]),
            ),
            Item::polygons(shape, edge(0.35)),
        ],
        Kind::Service => vec![Item::polygons(
            shape,
            Style::ring(Pen::new(Ink::Black, 0.35).dashed(&[3.0, 0.7, 0.7, 0.7])),
        )],
        Kind::Head | Kind::Socket | Kind::Lid => Vec::new(),
    }
}

/// A symbol of fixed size.
pub(super) fn mark(kind: Kind, spot: Spot) -> Vec<Item> {
    let thin = Pen::new(Ink::Black, 0.25);
    let square = |side_mm: f64| Frame::about(spot, side_mm, side_mm);
    match kind {
        Kind::Head => vec![
            Item::Circle {
                centre: spot,
                radius_mm: 0.85,
                style: Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.3)),
            },
            Item::Circle {
                centre: spot,
                radius_mm: 0.3,
                style: Style::filled(Ink::Black),
            },
        ],
        Kind::Socket => vec![Item::frame(
            &square(1.4),
            Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.35)),
        )],
        Kind::Lid => {
            let frame = square(1.7);
            let [a, b, c, d] = frame.corners();
            vec![
                Item::frame(&frame, Style::filled_ring(Ink::White, thin)),
                Item::line(vec![a, c], thin),
                Item::line(vec![b, d], thin),
            ]
        }
        Kind::Obstacle => vec![Item::frame(&square(1.6), Style::filled(Ink::Black))],
        Kind::NoGo => {
            let [a, b, c, d] = square(1.8).corners();
            let pen = Pen::new(Ink::Black, 0.5);
            vec![Item::line(vec![a, c], pen), Item::line(vec![b, d], pen)]
        }
        Kind::Goal => vec![Item::frame(
            &Frame::about(spot, 2.0, 1.2),
            Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.5)),
        )],
        Kind::Stockpile => {
            let up = |x: f64, y: f64| Spot {
                x: spot.x + x,
                y: spot.y + y,
            };
            vec![Item::Path {
                lines: vec![vec![up(-1.4, 0.9), up(0.0, -1.1), up(1.4, 0.9)]],
                style: Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.4)),
            }]
        }
        Kind::Service => vec![Item::Circle {
            centre: spot,
            radius_mm: 0.7,
            style: Style::ring(Pen::new(Ink::Black, 0.35)),
        }],
    }
}

/// A sample for the key within `frame`.
pub(super) fn sample(kind: Kind, frame: &Frame) -> Vec<Item> {
    let middle = frame.middle();
    match kind {
        Kind::Service => {
            thing(
                kind,
                &Geometry::LineString(LineString(vec![
                    Spot {
                        x: frame.left,
                        y: middle.y,
                    },
                    Spot {
                        x: frame.right(),
                        y: middle.y,
                    },
                ])),
            )
            .0
        }
        Kind::Head | Kind::Socket | Kind::Lid => mark(kind, middle),
        Kind::Obstacle | Kind::NoGo | Kind::Goal | Kind::Stockpile => {
            // As it is drawn where it has an area, and where it is a point.
            let area = Frame {
                width: frame.width - 3.2,
                ..*frame
            };
            let beside = Spot {
                x: frame.right() - 1.4,
                y: middle.y,
            };
            let mut items = ground(kind, &as_shape(&area));
            items.extend(mark(kind, beside));
            items
        }
    }
}

/// A rectangle as polygons.
pub(super) fn as_shape(frame: &Frame) -> MultiPolygon<f64> {
    let ring = LineString(frame.corners().to_vec());
    MultiPolygon(vec![geo::Polygon::new(ring, Vec::new())])
}

/// Ground that the tool is kept out of.
pub(super) fn kept_clear(shape: &MultiPolygon<f64>) -> Vec<Item> {
    vec![
        hatch::strokes(shape, 45.0, 1.1, Pen::new(Ink::Grey, 0.22)),
        Item::polygons(shape, Style::ring(Pen::new(Ink::Grey, 0.25))),
    ]
}

/// A missed place that is large enough to be seen.
pub(super) fn missed(shape: &MultiPolygon<f64>) -> Vec<Item> {
    let mut items = vec![Item::polygons(shape, Style::filled(Ink::White))];
    if shape.unsigned_area() > 0.5 {
        items.push(hatch::strokes(shape, 45.0, 0.95, MISSED_STROKE));
        items.push(hatch::strokes(shape, -45.0, 0.95, MISSED_STROKE));
    }
    items.push(Item::polygons(shape, Style::ring(MISSED_EDGE)));
    items
}

/// The ring about missed places that are too small to draw.
pub(super) fn missed_ring(centre: Spot, radius_mm: f64) -> Vec<Item> {
    let style = |ink: Ink, width_mm: f64| Style::ring(Pen::new(ink, width_mm));
    vec![
        Item::Circle {
            centre,
            radius_mm,
            style: style(Ink::White, 1.0),
        },
        Item::Circle {
            centre,
            radius_mm,
            style: style(Ink::Black, 0.45),
        },
    ]
}

/// The hatching of a wear class, 1 to 5: the heavier the wear, the denser.
pub(super) fn wear(shape: &MultiPolygon<f64>, class: u8) -> Vec<Item> {
    let pen = Pen::new(Ink::Black, 0.16);
    match class {
        0 | 1 => vec![hatch::strokes(shape, 45.0, 7.2, pen)],
        2 => vec![hatch::strokes(shape, 45.0, 3.6, pen)],
        3 => vec![hatch::strokes(shape, 45.0, 1.8, pen)],
        4 => vec![hatch::strokes(shape, 45.0, 0.9, pen)],
        _ => vec![
            hatch::strokes(shape, 45.0, 0.9, pen),
            hatch::strokes(shape, -45.0, 0.9, pen),
        ],
    }
}

/// The way in: a filled arrow head that points along `inwards` (a unit vector), its point
/// at `tip`.
pub(super) fn entrance(tip: Spot, inwards: Spot) -> Item {
    const LENGTH_MM: f64 = 4.0;
    const HALF_MM: f64 = 1.7;
    let across = Spot {
        x: -inwards.y,
        y: inwards.x,
    };
    let back = tip - inwards * LENGTH_MM;
    Item::Path {
        lines: vec![vec![tip, back + across * HALF_MM, back - across * HALF_MM]],
        style: Style::filled_ring(Ink::Black, Pen::new(Ink::White, 0.4)),
    }
}

/// The way of a machine with the tool up. Each kind has dashes of its own.
pub(super) fn moved(kind: MoveKind, way: &[Spot]) -> Vec<Item> {
    let line = |pen: Pen| Item::line(way.to_vec(), pen);
    let black = |width_mm: f64| Pen::new(Ink::Black, width_mm);
    match kind {
        MoveKind::Turn(TurnKind::U) => vec![line(black(0.25))],
        MoveKind::Turn(TurnKind::WideU) => vec![line(black(0.25).dashed(&[3.2, 0.5]))],
        MoveKind::Turn(TurnKind::Bulb) => vec![line(black(0.25).dashed(&[1.0, 0.55]))],
        MoveKind::Turn(TurnKind::ThreePoint) => {
            vec![line(black(0.4).dashed(&[0.4, 0.6]))]
        }
        MoveKind::Turn(TurnKind::Other) => {
            vec![line(black(0.4).dashed(&[2.2, 0.5, 0.4, 0.5, 0.4, 0.5]))]
        }
        MoveKind::Haul => vec![line(black(1.0)), line(Pen::new(Ink::White, 0.45))],
    }
}

/// An arrow head whose point lies at `tip`, along `way` (a unit vector).
pub(super) fn arrow(tip: Spot, way: Spot, ink: Ink) -> Item {
    const HALF_MM: f64 = 0.85;
    let across = Spot {
        x: -way.y,
        y: way.x,
    };
    let back = tip - way * ARROW_MM;
    Item::Path {
        lines: vec![vec![tip, back + across * HALF_MM, back - across * HALF_MM]],
        style: Style::filled(ink),
    }
}

/// Where the driving direction changes.
pub(super) fn change(spot: Spot) -> Item {
    Item::Circle {
        centre: spot,
        radius_mm: 0.45,
        style: Style::filled(Ink::Black),
    }
}

/// Where a drive begins: a ring; where it ends: a square.
pub(super) fn drive_end(spot: Spot, is_start: bool) -> Item {
    let style = Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.5));
    if is_start {
        Item::Circle {
            centre: spot,
            radius_mm: 0.85,
            style,
        }
    } else {
        Item::frame(&Frame::about(spot, 2.7, 2.7), style)
    }
}
