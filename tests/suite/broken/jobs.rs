//! Broken job files: what was changed in a good one, into what, and all that must be told.

/// From, into and the message. `+` adds lines at the end.
pub const FAULTS: &[(&str, &str, &str)] = &[
    // Numbers and limits.
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6.0\noverlap_m = 1.2",
        "job.toml: line 13: `overlap_m` 1.2 is not below half of `working_width_m` 2.0; lower it below 1.0",
    ),
    (
        "12.5",
        "371",
        "job.toml: line 6: `bearing_deg` 371 is outside 0 to 360",
    ),
    (
        "105.0",
        "nan",
        "job.toml: line 3: `length_m` nan is outside 10 to 500",
    ),
    (
        "105.0",
        "-inf",
        "job.toml: line 3: `length_m` -inf is outside 10 to 500",
    ),
    (
        "105.0",
        "1_000.5",
        "job.toml: line 3: `length_m` 1000.5 is outside 10 to 500",
    ),
    (
        "105.0",
        "99999999999999999999",
        "job.toml: line 3: `length_m` 99999999999999999999 is outside 10 to 500",
    ),
    (
        "lat_deg = 55.312",
        "lat_deg = 85.1",
        "job.toml: line 5: `lat_deg` 85.1 is outside -84 to 84",
    ),
    (
        "+",
        "wear = [0, 9]",
        "job.toml: line 17: `wear` 0 is outside 1 to 5\njob.toml: line 17: `wear` 9 is outside 1 to 5",
    ),
    (
        "+",
        "over_m = -1",
        "job.toml: line 17: `over_m` -1 is outside 0 to 20",
    ),
    (
        "+",
        "people = 2.5",
        "job.toml: line 17: `people` 2.5 is not a whole number; write a whole number from 1 to 100",
    ),
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6.0\nhopper_t = 0",
        "job.toml: line 13: `hopper_t` 0 is not above 0 and at most 40",
    ),
    // Kinds of value.
    (
        "105.0",
        "\"105\"",
        "job.toml: line 3: `length_m` is in quotes; write 105, without quotes",
    ),
    (
        "105.0",
        "true",
        "job.toml: line 3: `length_m` is `true`; write a number from 10 to 500",
    ),
    (
        "turn_radius_m = 2.9",
        "turn_radius_m = \"small\"",
        "job.toml: line 8: `turn_radius_m` is the text \"small\"; write a number from 0 to 30 or a table `{ left = …, right = … }`",
    ),
    (
        "+",
        "zones = \"all\"",
        "job.toml: line 17: `zones` is the text \"all\"; write a list in square brackets",
    ),
    (
        "+",
        "zones = []",
        "job.toml: line 17: `zones` is empty; write at least 1, or leave it out",
    ),
    (
        "+",
        "start = { line = [[0, 0]] }",
        "job.toml: line 17: `line` has 1 entry; write 2",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"  \"",
        "job.toml: line 1: `name` is empty; write something or leave it out",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"two\\nlines\"",
        "job.toml: line 1: `name` holds the control character U+000A; write it on one line",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"x\"\ndate = \"2026-06-02\"",
        "job.toml: line 2: `date` is the text \"2026-06-02\"; write a date like 2026-06-02, without quotes",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"x\"\ndate = 2026-06-02T10:00:00",
        "job.toml: line 2: `date` 2026-06-02T10:00:00 is not a plain date; write it like 2026-06-02",
    ),
    // Words and references.
    (
        "task = \"brush\"",
        "task = \"brusch\"",
        "job.toml: line 15: unknown task `brusch`; did you mean `brush`?",
    ),
    (
        "tractor = \"compact\"",
        "tracktor = \"compact\"",
        "job.toml: line 10: unknown key `tracktor` in `[implement.drag-brush]`; did you mean `tractor`?",
    ),
    (
        "tractor = \"compact\"",
        "tractor = \"compakt\"",
        "job.toml: line 10: unknown tractor `compakt`; did you mean `compact`?",
    ),
    (
        "implement = \"drag-brush\"",
        "implement = \"mower\"",
        "job.toml: line 16: unknown implement `mower`; allowed: `drag-brush`",
    ),
    (
        "+",
        "material = \"sand\"",
        "job.toml: line 17: unknown material `sand`; the job has no `[material.sand]`",
    ),
    (
        "+",
        "zones = [\"goalmouht\"]",
        "job.toml: line 17: unknown zone `goalmouht`; did you mean `goalmouth`?",
    ),
    (
        "+",
        "zones = [\"q\"]",
        "job.toml: line 17: unknown zone `q`; write a kind such as `goalmouth`, a zone such as `goalmouth-south` or a region such as `all`",
    ),
    (
        "+",
        "directions = [\"allong\"]",
        "job.toml: line 17: unknown direction `allong`; did you mean `along`?",
    ),
    (
        "+",
        "ends = \"runover\"",
        "job.toml: line 17: unknown ends `runover`; did you mean `run_over`?",
    ),
    (
        "+",
        "order = \"q\"",
        "job.toml: line 17: unknown order `q`; allowed: `shortest`, `neighbour`, `lands`",
    ),
    (
        "+",
        "start = \"center\"",
        "job.toml: line 17: unknown start `center`; did you mean `centred`?",
    ),
    (
        "+",
        "start = { from = \"west touchline\" }",
        "job.toml: line 17: unknown line `west touchline`; did you mean `west touch line`?",
    ),
    (
        "+",
        "[plan]\nefort = \"quick\"",
        "job.toml: line 18: unknown key `efort` in `[plan]`; did you mean `effort`?",
    ),
    (
        "+",
        "[plan]\ntask_data = \"4.1\"",
        "job.toml: line 18: unknown task_data `4.1`; did you mean `4.3`?",
    ),
    (
        "+",
        "[tractors.big]\nturn_radius_m = 4",
        "job.toml: line 17: unknown key `tractors`; did you mean `tractor`?",
    ),
    // Missing, twice, or side by side with what it cannot stand beside.
    (
        "name = \"Test pitch\"",
        "",
        "job.toml: the job has no `name`; write one at the top, text in quotes",
    ),
    (
        "speed_km_h = 6.0\n",
        "",
        "job.toml: line 9: `[implement.drag-brush]` has no `speed_km_h`; add it, a number from 0.1 to 40",
    ),
    (
        "id = \"brush\"\n",
        "",
        "job.toml: line 13: `[[operation]]` has no `id`; add it, text in quotes",
    ),
    (
        "+",
        "[[operation]]\nid = \"Brush\"\ntask = \"mow\"\nimplement = \"drag-brush\"",
        "job.toml: line 18: `id` `Brush` stands in line 14 already; give each its own",
    ),
    (
        "id = \"brush\"",
        "id = \"brush/1\"",
        "job.toml: line 14: `id` `brush/1` has letters that are not safe in file names; use a to z, A to Z, 0 to 9, `-` and `_`",
    ),
    (
        "+",
        "id = \"again\"",
        "job.toml: line 17: `id = \"again\"` is not valid TOML: the key stands twice; take one out; the rest is checked once this is mended",
    ),
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6 km/h",
        "job.toml: line 12: `speed_km_h = 6 km/h` is not valid TOML: write text in quotes, and numbers without a unit; the rest is checked once this is mended",
    ),
    (
        "task = \"brush\"",
        "task = brush",
        "job.toml: line 15: `task = brush` is not valid TOML: write text in quotes, and numbers without a unit; the rest is checked once this is mended",
    ),
    (
        "+",
        "directions = [{ angle_deg = 20, heading_deg = 3 }]",
        "job.toml: line 17: a direction in braces is `{ angle_deg = … }` or `{ heading_deg = … }`; write one of the two",
    ),
    (
        "+",
        "directions = [\"along\", \"across\", \"along\"]",
        "job.toml: line 17: direction `along` stands twice; take one out, or write a second operation",
    ),
    (
        "+",
        "start = {}",
        "job.toml: line 17: `start` in braces needs `from` or `line`, one of the two",
    ),
    (
        "+",
        "start = { from = \"west touch line\", between = true }",
        "job.toml: line 17: `between` stands without `line`; take it out",
    ),
    (
        "+",
        "start = { line = [[0, 0], [0, 0]] }",
        "job.toml: line 17: the two points of `line` are nearer than 0.1 m; write two that show its direction",
    ),
    // How the pitch lies.
    (
        "bearing_deg = 12.5\n",
        "",
        "job.toml: line 5: `centre` stands without `bearing_deg`; add the true bearing of the long axis, 0 to 360",
    ),
    (
        "bearing_deg = 12.5",
        "corners = { sw = { lat_deg = 55.3, lon_deg = -3.7 } }",
        "job.toml: line 6: `corners` and `centre` both say where the pitch lies; keep one of them",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }\ncorners.sw = { lat_deg = 55.312, lon_deg = -3.72 }",
        "job.toml: line 5: two opposite marks, `ne` and `sw`, leave two answers; give a third",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }",
        "job.toml: line 5: fewer than two corner marks do not say which way the pitch points; give two to four\n\
         job.toml: line 6: `bearing_deg` stands beside `corners`, which say it already; take it out",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }\ncorners.se = { lat_deg = 55.31, lon_deg = -3.72 }",
        "job.toml: line 6: marks `ne` and `se` lie at the same place; measure one again",
    ),
    (
        "width_m = 68.0\n",
        "",
        "job.toml: line 3: `length_m` stands without `width_m`; give both",
    ),
    (
        "length_m = 105.0\nwidth_m = 68.0\n",
        "",
        "job.toml: line 2: the pitch has no sizes; write `length_m` and `width_m` under `[pitch]`",
    ),
    (
        "bearing_deg = 12.5",
        "bearing_deg = 12.5\nrun_off_m = { touch = 3.0 }",
        "job.toml: line 7: `run_off_m` needs `touch` and `goal`, or all of `north`, `east`, `south` and `west`",
    ),
    (
        "bearing_deg = 12.5",
        "bearing_deg = 12.5\nends = [\"north\", \"east\"]",
        "job.toml: line 7: `ends` are `north` and `east`, which do not lie opposite; write `south` second",
    ),
    // Depth.
    (
        "+",
        "depth_mm = 30\n[pitch.surface]\nmax_depth_mm = 25",
        "job.toml: line 17: `depth_mm` 30 is deeper than `max_depth_mm` 25; lower it to 25 or less",
    ),
    (
        "+",
        "[pitch.surface]\nkind = \"hybird\"",
        "job.toml: line 18: unknown kind `hybird`; did you mean `hybrid`?",
    ),
    // Rates and hand work.
    (
        "+",
        "rate_t_per_ha = 30\nrate_g_per_m2 = 3",
        "job.toml: line 18: `rate_g_per_m2` stands beside `rate_t_per_ha`; keep one of them",
    ),
    (
        "+",
        "rates = [{ zones = [\"all\"] }]",
        "job.toml: line 17: a row of `rates` needs one of `rate_t_per_ha`, `rate_g_per_m2`, `dressing_mm`, no more and no less",
    ),
    (
        "+",
        "rates = [{ rate_t_per_ha = 3, directions = [\"across\"] }]",
        "job.toml: line 17: direction `across` is none of this operation's, which are `along`; write one of them, or add it to the operation's `directions`",
    ),
    (
        "+",
        "rate_per = \"direction\"",
        "job.toml: line 17: `rate_per` stands without a rate; take it out",
    ),
    (
        "+",
        "[material.sand]\nkind = \"sand\"\ndensity_t_per_m3 = [1.6, 1.5]",
        "job.toml: line 19: `density_t_per_m3` runs from 1.6 down to 1.5; write the lesser first",
    ),
    (
        "+",
        "[[hand]]\nid = \"fork\"\nkind = \"lanes\"\nstages = 1",
        "job.toml: line 17: `[[hand]]` of kind `lanes` has no `zone`; add it\n\
         job.toml: line 20: `stages` is not read for hand work of kind `lanes`; take it out",
    ),
    (
        "+",
        "[[hand]]\nid = \"rest\"\nkind = \"rest\"\noperation = \"brusch\"",
        "job.toml: line 20: unknown operation `brusch`; did you mean `brush`?",
    ),
    (
        "+",
        "[[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"goalmouth\"\nboard = { length_m = 3, width_m = 0 }\nfork = { tines = 4, tine_spacing_mm = 100, tine_diameter_mm = 12, depth_mm = 200, step_mm = 100 }",
        "job.toml: line 21: `width_m` 0 is outside 0.05 to 2",
    ),
    (
        "+",
        "[[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"all\"\nboard = { length_m = 3, width_m = 0.23 }\nfork = { tines = 4, tine_spacing_mm = 50, tine_diameter_mm = 12, depth_mm = 200, step_mm = 50 }",
        "job.toml: line 22: hand work `fork`: a stage has 2856000 holes; at most 1000000 are planned; widen `tine_spacing_mm` or `step_mm`, or take a smaller zone",
    ),
    (
        "+",
        "[[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"goalmouth-west\"\nboard = { length_m = 3, width_m = 0.23 }\nfork = { tines = 4, tine_spacing_mm = 100, tine_diameter_mm = 12, depth_mm = 200, step_mm = 100 }",
        "job.toml: line 20: hand work `fork` names the zone `goalmouth-west`, which this pitch does not have; its ends are north and south, its sides west and east, its corners ne, se, sw, nw",
    ),
    (
        "+",
        "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth\"\nblock = { side_m = 0.229, depth_mm = 50 }",
        "job.toml: line 21: `block` has neither `worn` nor `worn_area`; write the worn places, as points or by an outline",
    ),
    (
        "+",
        "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth\"\nblock = { side_m = 0.229, depth_mm = 50, worn_area = [[0, 0], [1, 1], [1, 0], [0, 1]] }",
        "job.toml: line 21: `worn_area` crosses itself or holds no ground; give its corners in the order in which they are walked round",
    ),
    (
        "+",
        "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth\"\nblock = { side_m = 0.1, depth_mm = 50, worn_area = [[0, 0], [9, 0], [9, 9], [0, 9]] }",
        "job.toml: line 21: hand work `swap`: `worn_area` lies in a rectangle of 8100 blocks; at most 2000 are looked at; enlarge `side_m`, or part the work",
    ),
    (
        "+",
        "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth\"\nblock = { side_m = 0.229, depth_mm = 50, worn = [[0, 0]], donors = \"run_of\" }",
        "job.toml: line 21: unknown zone `run_of`; did you mean `run_off`?",
    ),
    (
        "+",
        "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth\"\nblock = { side_m = 0.05, depth_mm = 50, worn = [[0, 0]], donors = \"all\" }",
        "job.toml: line 21: hand work `swap`: all has 2856000 places for a donor; at most 400000 are looked at; name a smaller strip in `donors`",
    ),
    (
        "+",
        "[[hand]]\nid = \"mend\"\nkind = \"lanes\"\nzone = \"all\"\nlane = { from = \"west\" }",
        "job.toml: line 21: hand work `mend`: `from` names the west, and the lanes run beside it; name an end of the lanes, or turn them by `angle_deg`",
    ),
    // The ground file, seen from the job.
    (
        "+",
        "[ground]\nfile = \"ground.geojson\"\ncrs = \"27700\"",
        "job.toml: line 19: `crs` `27700` names no authority; write `EPSG:27700`\nground.geojson: cannot be read: there is no such file",
    ),
    // What shows only when it is laid on the ground.
    (
        "+",
        "start = { from = \"north goal line\" }",
        "job.toml: line 17: operation `brush`: `from` names the north goal line, which is square to lines at 0 degrees; name a line that runs beside them",
    ),
    (
        "+",
        "start = { from = \"east goal line\" }",
        "job.toml: line 17: operation `brush`: this pitch has no east goal line; on the east it has a touch line",
    ),
    (
        "+",
        "start = { line = [[0, 0], [10, 3]] }",
        "job.toml: line 17: operation `brush`: `line` is parallel to none of the directions (within 0.01 degree); give the direction its angle, or move a point of the line",
    ),
    (
        "+",
        "zones = [\"box-east\"]",
        "job.toml: line 17: operation `brush` names the zone `box-east`, which this pitch does not have; its ends are north and south, its sides west and east, its corners ne, se, sw, nw",
    ),
    (
        "bearing_deg = 12.5",
        "bearing_deg = 12.5\nends = [\"south\", \"north\"]",
        "job.toml: line 7: `ends` names south first, but the long axis points to 12.5 degrees, which is north; write `[\"north\", \"south\"]`",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5",
        "corners.se = { lat_deg = 55.3120, lon_deg = -3.72 }\ncorners.ne = { lat_deg = 55.3138, lon_deg = -3.72 }",
        "job.toml: line 5: the corner marks lie up to 47.7 m from a rectangle of 105 x 68 m; check the sizes, and that sw, se, ne, nw go round anticlockwise",
    ),
];
