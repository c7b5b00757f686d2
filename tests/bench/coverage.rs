//! How long do passes and coverage take? Three directions of a 2 m tool on 105 m by 68 m,
//! clear and with a dozen obstacles; ground and target are made before the clock starts.
//!
//! Aims, on one core of an ordinary desk machine: under 0.2 ms clear, under 5 ms with the
//! obstacles. The answer is checked first, so that nobody measures a fast mistake.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::path::Path;

use criterion::{Criterion, criterion_group, criterion_main};
use geo::MultiPolygon;
use swardlane::coverage::{self, Against};
use swardlane::ground::{self, Ground};
use swardlane::job::model::Job;
use swardlane::passes::straight::{self, Layout, Phase};
use swardlane::space::{Angle, Heading};
use swardlane::zones::{self, Target};

/// Everything that is known before the first line is laid.
struct Prepared {
    job: Job,
    ground: Ground,
    target: Target,
    outline: MultiPolygon<f64>,
}

impl Prepared {
    fn of(name: &str) -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/jobs");
        let job = swardlane::job::load(&folder.join(name)).unwrap();
        let (ground, _) = ground::lay(&job).unwrap();
        let (zones, _) = zones::partition(&ground);
        let (target, _) = zones::target(&job, &job.operations[0], &ground, &zones).unwrap();
        Self {
            outline: MultiPolygon(vec![ground.outline.clone()]),
            job,
            ground,
            target,
        }
    }

    /// Passes and coverage of the three directions: parts, covered area of all directions and
    /// the area that none worked.
    fn work(&self) -> (usize, f64, f64) {
        let against = Against {
            target: &self.target.shape,
            target_m2: self.target.area_m2,
            outline: &self.outline,
            target_leaves_pitch: self.target.leaves_pitch,
        };
        let mut parts = 0;
        let mut covered_m2 = 0.0;
        let mut lefts = Vec::new();
        for angle_deg in [0.0, 45.0, -45.0] {
            let angle = Angle::from_deg(angle_deg);
            let (passes, _) = straight::lay_out(&Layout {
                operation: &self.job.operations[0],
                pieces: &self.target.pieces,
                blocked: &self.target.blocked,
                allowed: &self.ground.allowed,
                angle,
                heading: angle.heading(Heading::from_deg(0.0)),
                phase: Phase::Centred,
                name: String::new(),
            });
            let measured = coverage::measure(&passes, &against);
            parts += passes.part_count();
            covered_m2 += measured.coverage.covered_m2;
            lefts.push((measured.left, measured.coverage.missed_m2));
        }
        let times = coverage::worked_times_m2(&lefts, &self.target.shape, self.target.area_m2);
        (parts, covered_m2, times[0])
    }
}

fn bench(criterion: &mut Criterion) {
    let clear = Prepared::of("clear");
    let (parts, covered_m2, unworked_m2) = clear.work();
    assert_eq!(parts, 34 + 62 + 62);
    assert!((covered_m2 - 3.0 * 7140.0).abs() < 1e-6, "{covered_m2}");
    assert!(unworked_m2.abs() < 1e-6, "{unworked_m2}");
    criterion.bench_function("three directions, clear", |bencher| {
        bencher.iter(|| black_box(&clear).work());
    });

    let dozen = Prepared::of("dozen");
    let (parts, covered_m2, unworked_m2) = dozen.work();
    assert!(parts > 34 + 62 + 62, "{parts}");
    assert!(covered_m2 < 3.0 * dozen.target.area_m2, "{covered_m2}");
    assert!(unworked_m2 > 0.1, "{unworked_m2}");
    criterion.bench_function("three directions, a dozen obstacles", |bencher| {
        bencher.iter(|| black_box(&dozen).work());
    });
}

criterion_group!(benches, bench);
criterion_main!(benches);
