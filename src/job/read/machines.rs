//! Materials, tractors and implements.

use std::collections::BTreeMap;

use super::Desk;
use crate::job::defaults;
use crate::job::file::{
    DensityToml, ImplementToml, JobToml, MaterialToml, MaterialWord, SteeringWord, TractorToml,
    TurnRadiusToml,
};
use crate::job::model::{Body, Implement, Material, MaterialKind, Steering, Tractor};

impl Desk {
    pub(super) fn materials(&mut self, file: &JobToml) -> BTreeMap<String, Material> {
        file.material
            .iter()
            .filter_map(|(name, file)| Some((name.clone(), self.material(name, file)?)))
            .collect()
    }

    fn material(&mut self, name: &str, file: &MaterialToml) -> Option<Material> {
        let density = file.density_t_per_m3.map(|density| match density {
            DensityToml::Measured(density) => (density, density),
            DensityToml::Range([least, greatest]) => (least, greatest),
        });
        if let Some((least, greatest)) = density.filter(|(least, greatest)| least > greatest) {
            let text = format!(
                "`density_t_per_m3` runs from {least} down to {greatest}; write the lesser first"
            );
            self.wrong(&format!("material.{name}.density_t_per_m3"), text);
        }
        Some(Material {
            kind: match file.kind? {
                MaterialWord::Sand => MaterialKind::Sand,
                MaterialWord::Seed => MaterialKind::Seed,
                MaterialWord::Fertiliser => MaterialKind::Fertiliser,
                MaterialWord::RootZone => MaterialKind::RootZone,
                MaterialWord::Arisings => MaterialKind::Arisings,
            },
            density_t_per_m3: density,
            price_per_t: file.price_per_t,
            lorry_t: file.lorry_t,
        })
    }

    /// The implements by name; `None` for one that is faulty, so that an operation that
    /// names it is not told to be at fault as well.
    pub(super) fn implements(&mut self, file: &JobToml) -> BTreeMap<String, Option<Implement>> {
        let tractors: BTreeMap<String, Option<Tractor>> = file
            .tractor
            .iter()
            .map(|(name, file)| (name.clone(), tractor(name, file)))
            .collect();
        file.implement
            .iter()
            .map(|(name, file)| (name.clone(), self.implement(name, file, &tractors)))
            .collect()
    }

    fn implement(
        &mut self,
        name: &str,
        file: &ImplementToml,
        tractors: &BTreeMap<String, Option<Tractor>>,
    ) -> Option<Implement> {
        let path = |key: &str| format!("implement.{name}.{key}");
        let tractor = match &file.tractor {
            Some(pulled_by) => Some(
                self.refers(&path("tractor"), pulled_by, tractors)?
                    .clone()?,
            ),
            None => None,
        };
        let working_width_m = file.working_width_m?;
        let overlap_m = file.overlap_m.unwrap_or(defaults::OVERLAP_M);
        if overlap_m >= working_width_m / 2.0 {
            let text = format!(
                "`overlap_m` {overlap_m:?} is not below half of `working_width_m` {working_width_m:?}; lower it below {:?}",
                working_width_m / 2.0
            );
            self.wrong(&path("overlap_m"), text);
        }
        Some(Implement {
            name: name.to_owned(),
            tractor,
            working_width_m,
            overlap_m,
            speed_km_h: file.speed_km_h?,
            reach_m: file.reach_m.unwrap_or(defaults::REACH_M),
            can_reverse: file.can_reverse.unwrap_or(defaults::CAN_REVERSE),
            hopper_t: file.hopper_t,
            load_min: file.load_min.unwrap_or(defaults::LOAD_MIN),
        })
    }
}

fn tractor(name: &str, file: &TractorToml) -> Option<Tractor> {
    let (left, right) = match file.turn_radius_m.as_ref()? {
        TurnRadiusToml::Both(radius) => (*radius, *radius),
        TurnRadiusToml::Each(each) => (each.left?, each.right?),
    };
    let body = match &file.body {
        Some(body) => Some(Body {
            width_m: body.width_m?,
            ahead_m: body.ahead_m?,
            behind_m: body.behind_m?,
        }),
        None => None,
    };
    Some(Tractor {
        name: name.to_owned(),
        turn_radius_left_m: left,
        turn_radius_right_m: right,
        body,
        turn_speed_km_h: file.turn_speed_km_h,
        change_s: file.change_s.unwrap_or(defaults::CHANGE_S),
        track_width_m: file.track_width_m.unwrap_or(defaults::TRACK_WIDTH_M),
        steering: match file.steering {
            Some(SteeringWord::String) => Steering::String,
            Some(SteeringWord::Eye) | None => Steering::Eye,
            Some(SteeringWord::Satellite) => Steering::Satellite,
        },
        steering_sd_m: file.steering_sd_m,
    })
}
