//! `refrain reindex`, with and without a program running on the same folder.

use std::fs;
use std::path::Path;

use rustix::process::Signal;
use tests::harness::cluster::cluster;
use tests::harness::process::{Serving, command, eventually, output};

/// Name of the index in use.
fn current(var: &Path) -> Option<String> {
    fs::read_to_string(var.join("index/current")).ok()
}

/// Runs the command; gives what it says.
fn reindex(var: &Path) -> String {
    let done = output(command(var).arg("reindex"));
    assert!(done.status.success(), "{done:?}");
    String::from_utf8(done.stdout).expect("text")
}

#[test]
fn the_index_is_made_anew_by_whoever_holds_it() {
    let var = cluster().var_folder();
    let mut serving = Serving::start(&var);
    eventually("there is an index", || current(&var).is_some());
    let first = current(&var);
    assert_eq!(
        reindex(&var),
        "the running program has made its index anew\n"
    );
    let second = current(&var);
    assert!(second.is_some() && second != first, "{first:?} {second:?}");

    assert_eq!(serving.end(Signal::INT), Some(0));
    assert_eq!(reindex(&var), "the index is new; it holds 0 documents\n");
    assert!(current(&var).is_some() && current(&var) != second);
}
