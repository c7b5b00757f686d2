//! Arguments, jobs and outputs that cannot be meant, and all that must be told.

use crate::workbench::Workbench;

#[test]
fn arguments_that_are_none_are_told_in_one_message() {
    let bench = Workbench::new();
    let cases: [(&[&str], &str); 8] = [
        (
            &["plan", "ground", "--outt", "x"],
            "error: unexpected argument '--outt' found\n\n  tip: a similar argument exists: \
             '--out'\n\nUsage: swardlane plan --out <DIR> <JOB>...\n\nFor more information, try \
             '--help'.\n",
        ),
        (
            &["plan"],
            "error: the following required arguments were not provided:\n  <JOB>...\n\nUsage: \
             swardlane plan <JOB>...\n\nFor more information, try '--help'.\n",
        ),
        (
            &["mow"],
            "error: unrecognized subcommand 'mow'\n\nUsage: swardlane [OPTIONS] <COMMAND>\n\nFor \
             more information, try '--help'.\n",
        ),
        (
            &["plan", "ground", "--only", "data,dta"],
            "error: invalid value 'dta' for '--only <GROUPS>': there is no such group; there \
             are `data`, `guidance` and `sheets`\n\nFor more information, try '--help'.\n",
        ),
        (
            &["plan", "ground", "--color", "blue"],
            "error: invalid value 'blue' for '--color <WHEN>'\n  [possible values: auto, always, \
             never]\n\nFor more information, try '--help'.\n",
        ),
        (
            &["plan", "ground", "--effort", "fast"],
            "error: invalid value 'fast' for '--effort <LEVEL>'\n  [possible values: quick, \
             normal, thorough]\n\nFor more information, try '--help'.\n",
        ),
        (
            &["schema", "jobb"],
            "error: invalid value 'jobb' for '<job|summary>'\n  [possible values: job, \
             summary]\n\n  tip: a similar value exists: 'job'\n\nFor more information, try \
             '--help'.\n",
        ),
        (
            &["new", "my-ground", "--length-m", "long"],
            "error: invalid value 'long' for '--length-m <METRES>': it is no number; write \
             metres without the unit, such as 105.0\n\nFor more information, try '--help'.\n",
        ),
    ];
    for (arguments, message) in cases {
        bench.refused(arguments, message);
    }
}

#[test]
fn jobs_and_operations_that_are_not_there_are_named() {
    let bench = Workbench::new();
    bench.put("empty/readme.txt", "no job here");
    let cases: [(&[&str], &str); 6] = [
        (
            &["plan", "nowhere"],
            "error: nowhere: cannot be read: there is no such file or folder; give a folder with \
             a `job.toml`, or a job file\n",
        ),
        (
            &["check", "nowhere"],
            "error: nowhere: cannot be read: there is no such file or folder; give a folder with \
             a `job.toml`, or a job file\n",
        ),
        (
            &["plan", "empty"],
            "error: empty: there is no `job.toml` in this folder or in a folder of it; \
             `swardlane new NAME` writes one\n",
        ),
        (
            &["plan", "ground", "--operation", "mwo"],
            "error: ground/job.toml: there is no operation `mwo`; did you mean `mow`?\n",
        ),
        (
            &["plan", "ground", "--operation", "roll"],
            "error: ground/job.toml: there is no operation `roll`; allowed: `mow`, `spike`\n",
        ),
        (
            &["plan", "ground", "--operation", ""],
            "error: ground/job.toml: there is no operation ``; allowed: `mow`, `spike`\n",
        ),
    ];
    for (arguments, message) in cases {
        bench.refused(arguments, message);
    }
}

#[test]
fn two_jobs_of_one_name_are_refused_before_anything_is_written() {
    let bench = Workbench::new();
    bench.put("other/ground/job.toml", "not even read");
    bench.refused(
        &["plan", "ground", "other/ground"],
        "error: other/ground: is called `ground` like ground, so both would be written to the \
         same folder; rename one of them or plan them one by one\n",
    );
}

#[test]
fn folders_that_are_not_ours_are_refused_untouched() {
    let bench = Workbench::new();
    bench.put("foreign/notes.txt", "mine");
    bench.put(
        "other/summary.json",
        "{\"program\":\"another\",\"files\":[]}",
    );
    bench.put("broken/summary.json", "{");
    bench.put("file", "a file");
    for foreign in ["foreign", "other", "broken"] {
        bench.refused(
            &["plan", "ground", "--out", foreign],
            &format!(
                "error: {foreign}: holds files and no `summary.json` of this program; name an \
                 empty or a new folder\n"
            ),
        );
    }
    bench.refused(
        &["plan", "ground", "--out", "file"],
        "error: file: is a file; a plan is written to a folder: name another one\n",
    );
    bench.refused(
        &["plan", "ground", "--out", "file/below"],
        "error: file/below: cannot be written: a part of the path is a file, not a folder\n",
    );
    bench.refused(
        &["plan", "ground", "--out", "."],
        "error: .: is the folder you stand in (or one above it), which cannot be exchanged for a \
         new one; name a folder in it or go elsewhere\n",
    );
    bench.refused(
        &["plan", "ground", "--out", "/proc/plan"],
        "error: /proc/plan: cannot be written: there is no such file or folder\n",
    );
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let bench = Workbench::new();
    bench.put("no-ground/job.toml", crate::workbench::JOB);
    bench.put("folder/job.toml", crate::workbench::JOB);
    bench.put(
        "folder/ground.geojson/notes.txt",
        "a folder where a file should be",
    );
    bench.put("large/job.toml", &"#".repeat(2 << 20));
    std::fs::create_dir(bench.path("latin")).unwrap();
    std::fs::write(
        bench.path("latin/job.toml"),
        b"# ground\nname = \"S\xfcd\"\n",
    )
    .unwrap();
    let cases = [
        (
            "no-ground",
            "no-ground/ground.geojson: cannot be read: there is no such file",
        ),
        (
            "folder",
            "folder/ground.geojson: cannot be read: it is a folder",
        ),
        (
            "large",
            "large/job.toml: has more than 1048576 bytes; no more are read",
        ),
        (
            "latin",
            "latin/job.toml: line 2: not UTF-8 text; save it as UTF-8",
        ),
    ];
    for (job, message) in cases {
        bench.refused(&["plan", job], &format!("error: {message}\n"));
    }
}
