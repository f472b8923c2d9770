//! What the command line says and refuses.

use std::fs;
use std::io::Write;
use std::os::unix::fs::MetadataExt;
use std::process::Stdio;

use rustix::process::geteuid;
use serde_json::Value;
use tests::harness::cluster::cluster;
use tests::harness::process::{command, eventually, output};

#[test]
fn every_command_explains_itself() {
    let var = cluster().var_folder();
    for name in [
        "serve", "work", "demo", "school", "migrate", "doctor", "reindex", "align", "track",
        "measure", "tag", "match", "listen",
    ] {
        let shown = output(command(&var).args([name, "--help"]));
        let text = String::from_utf8_lossy(&shown.stdout);
        assert!(shown.status.success(), "{name}");
        assert!(text.contains("Usage: refrain"), "{text}");
        assert!(
            text.lines().next().is_some_and(|l| l.len() > 20),
            "{name} says nothing: {text}"
        );
    }
}

#[test]
fn a_wrong_value_stops_the_start_and_names_its_variable() {
    let var = cluster().var_folder().join("never-made");
    for (name, value) in [
        ("REFRAIN_LISTEN", "everywhere"),
        ("REFRAIN_UPLOAD_BYTES", "2 GiB"),
        ("DATABASE_URL", "sqlite://x"),
        ("REFRAIN_USER", "root"),
    ] {
        let shown = output(command(&var).arg("serve").env(name, value));
        let text = String::from_utf8_lossy(&shown.stderr);
        assert_eq!(shown.status.code(), Some(1), "{name}: {text}");
        assert!(text.contains(name), "{text}");
        if name == "DATABASE_URL" {
            assert!(!text.contains("sqlite"), "a secret was shown: {text}");
        } else {
            assert!(text.contains(value) && text.contains("give"), "{text}");
        }
    }
}

#[test]
fn the_doctor_reads_only_and_answers_programs_too() {
    let var = cluster().var_folder().join("not-made");
    let text = output(command(&var).arg("doctor"));
    assert!(!var.exists(), "the doctor made the var folder");
    let shown = output(command(&var).args(["doctor", "--json"]));
    assert!(!var.exists(), "the doctor made the var folder");
    let report: Value = serde_json::from_slice(&shown.stdout).expect("JSON");
    assert_eq!(report["ok"], shown.status.success());
    let findings = report["findings"].as_array().expect("findings");
    let names: Vec<&str> = findings.iter().filter_map(|f| f["name"].as_str()).collect();
    for name in [
        "configuration",
        "var folder",
        "postgres",
        "ffmpeg",
        "sandbox",
        "database",
        "footage",
        "mail",
        "search index",
    ] {
        assert!(names.contains(&name), "{names:?}");
        assert!(String::from_utf8_lossy(&text.stdout).contains(name));
    }
}

#[test]
fn the_doctor_says_what_is_missing_and_how_to_get_it() {
    let var = cluster().var_folder();
    let shown = output(
        command(&var)
            .args(["doctor", "--json"])
            .env("REFRAIN_PG_BIN", "/nowhere")
            .env("REFRAIN_SMTP_URL", "smtp://127.0.0.1:1")
            .env("REFRAIN_FOOTAGE_URL", "s3://nobody")
            .env("REFRAIN_S3_ENDPOINT", "http://127.0.0.1:1")
            .env("REFRAIN_S3_ACCESS_KEY", "key")
            .env("REFRAIN_S3_SECRET_KEY", "secret")
            .env("REFRAIN_LISTNE", "127.0.0.1:1"),
    );
    assert_eq!(shown.status.code(), Some(1));
    let report: Value = serde_json::from_slice(&shown.stdout).expect("JSON");
    assert_eq!(report["ok"], false);
    for (name, state) in [
        ("postgres", "missing"),
        ("mail", "missing"),
        ("footage", "missing"),
        ("configuration", "notice"),
    ] {
        let finding = report["findings"]
            .as_array()
            .and_then(|all| all.iter().find(|f| f["name"] == name))
            .unwrap_or_else(|| panic!("no {name}"));
        assert_eq!(finding["state"], state, "{finding}");
        assert!(
            finding["remedy"].as_str().is_some_and(|r| !r.is_empty()),
            "{finding}"
        );
    }
}

#[test]
fn root_steps_down_to_compute() {
    if !geteuid().is_root() {
        return;
    }
    let var = cluster().var_folder().join("never-needed");
    let match_input = r#"{"shot": {}}"#;
    for (name, input) in [
        ("tag", r#"{"id": "n", "text": "the left wrist pops"}"#),
        ("match", match_input),
        ("listen", match_input),
        ("measure", match_input),
    ] {
        let mut child = command(&var)
            .arg(name)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        // It waits for its input, and by then it is somebody else.
        let process = format!("/proc/{}", child.id());
        eventually("root has stepped down", || {
            fs::metadata(&process).is_ok_and(|about| about.uid() != 0)
        });
        let mut stdin = child.stdin.take().expect("its input");
        stdin.write_all(input.as_bytes()).expect("it reads");
        drop(stdin);
        let answered = child.wait_with_output().expect("it ends");
        if name == "tag" {
            let said = String::from_utf8_lossy(&answered.stdout).into_owned();
            assert!(said.contains("spacing"), "{said}");
        } else {
            // It read what it was given, and says what is wrong with it.
            assert_eq!(answered.status.code(), Some(2), "{name}");
            assert!(answered.stdout.is_empty() && !answered.stderr.is_empty());
        }
    }
    assert!(!var.exists(), "computing made the var folder");
}
