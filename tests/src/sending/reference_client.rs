//! tus by its reference client, tus-js-client, with the connection cut under it and the server killed under it.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rustix::process::Signal;
use tests::harness::cluster::cluster;
use tests::harness::founded::Founded;
use tests::harness::process::{Serving, command, eventually};
use tests::harness::wait_for;

use super::{Yard, footage_in, repeats, short_clip, text};

const BYTES: usize = 12 << 20;

/// Bytes that no two places share.
fn random_bytes(random: &mut StdRng) -> Vec<u8> {
    let mut bytes = vec![0; BYTES];
    random.fill_bytes(&mut bytes);
    bytes
}

fn kept(folder: &Path, bytes: &[u8]) -> PathBuf {
    let path = folder.join("clip.mp4");
    std::fs::write(&path, bytes).unwrap();
    path
}

/// How often a transfer is interrupted, and by what.
#[derive(Clone, Copy)]
struct Faults {
    kills: usize,
    cuts: usize,
}

fn client(address: &str, cookie: &str, file: &Path, seed: u64, faults: Faults) -> Child {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let frontend = root.join("frontend");
    assert!(
        frontend.join("node_modules/tus-js-client").is_dir(),
        "the front end's packages are not installed; `npm ci` there installs them"
    );
    Command::new("node")
        .arg(root.join("tests/src/sending/reference.mjs"))
        .arg(frontend)
        .args([address, cookie])
        .arg(file)
        .args([seed, faults.kills as u64, faults.cuts as u64].map(|n| n.to_string()))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("node runs")
}

/// Reads on until the client is done; whenever a request is held half way, `elsewhere` kills the server and says where it is found
/// again. Gives where the upload is and what it went through.
fn follow(mut child: Child, mut elsewhere: impl FnMut() -> String) -> (String, Faults) {
    let mut orders = child.stdin.take().unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut done = None;
    for line in lines.map_while(Result::ok) {
        match line.split(' ').collect::<Vec<_>>()[..] {
            ["held"] => writeln!(orders, "{}", elsewhere()).unwrap(),
            ["location", path, "kills", kills, "cuts", cuts] => {
                let [kills, cuts] = [kills, cuts].map(|n| n.parse().unwrap());
                done = Some((path.to_owned(), Faults { kills, cuts }));
            }
            _ => panic!("{line}"),
        }
    }
    assert!(child.wait().unwrap().success(), "the client gave up");
    done.expect("a location")
}

#[actix_web::test]
async fn a_file_arrives_whole_through_a_wire_that_is_cut() {
    let yard = Yard::without_workers(1).await;
    let folder = tempfile::tempdir().unwrap();
    for seed in 0..repeats(3) as u64 {
        let bytes = random_bytes(&mut StdRng::seed_from_u64(seed));
        let file = kept(folder.path(), &bytes);
        let faults = Faults { kills: 0, cuts: 4 };
        let cookie = yard.nia.cookie.as_ref().unwrap();
        let child = client(&yard.t.address, cookie, &file, seed, faults);
        let (path, met) = follow(child, || unreachable!("nobody is killed"));
        // What is left after a few cuts may be too short for one more.
        assert!(
            (1..=4).contains(&met.cuts),
            "seed {seed}: {} cuts",
            met.cuts
        );
        let arrived = yard
            .t
            .var
            .join("uploads")
            .join(path.rsplit('/').next().unwrap());
        assert!(std::fs::read(arrived).unwrap() == bytes, "seed {seed}");
        assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "probing");
    }
}

/// A clip behind which lie random bytes, in a box that readers skip (`free`, ISO/IEC 14496-12, 8.1.2).
fn large_clip(random: &mut StdRng) -> Vec<u8> {
    let padding = random_bytes(random);
    let size = u32::try_from(padding.len() + 8).unwrap();
    [&short_clip()[..], &size.to_be_bytes(), b"free", &padding].concat()
}

/// The program as a process, which a killed worker's jobs do not wait long for.
fn serve(var: &Path) -> Serving {
    Serving::start_with(
        command(var)
            .arg("serve")
            .env("REFRAIN_JOB_LEASE_SECONDS", "3"),
        var,
    )
}

/// The one file that is still arriving.
fn arriving(var: &Path) -> u64 {
    let files = std::fs::read_dir(var.join("uploads")).unwrap().flatten();
    files
        .map(|file| file.metadata().map_or(0, |about| about.len()))
        .sum()
}

/// The server is killed (SIGKILL) in the middle of a PATCH and started again on the same folder; now and then the wire is cut as well.
#[actix_web::test]
async fn a_file_arrives_whole_though_the_server_is_killed_mid_patch() {
    let var = cluster().var_folder();
    let folder = tempfile::tempdir().unwrap();
    let mut program = serve(&var);
    let founded = Founded::at(&program).await;
    let rounds = repeats(3) as u64;
    let mut total = Faults { kills: 0, cuts: 0 };
    let mut first = None;
    for seed in 0..rounds {
        let bytes = large_clip(&mut StdRng::seed_from_u64(seed));
        let file = kept(folder.path(), &bytes);
        let faults = Faults { kills: 2, cuts: 2 };
        let cookie = founded.student.cookie.as_ref().unwrap();
        let child = client(&program.address, cookie, &file, seed, faults);
        let (path, met) = follow(child, || {
            eventually("some of it is written", || arriving(&var) > 0);
            program.end(Signal::KILL);
            let half = arriving(&var);
            assert!(
                (1..bytes.len() as u64).contains(&half),
                "seed {seed}: {half}"
            );
            program = serve(&var);
            program.address.clone()
        });
        assert!(met.kills > 0, "seed {seed}: nobody was killed");
        total.kills += met.kills;
        total.cuts += met.cuts;
        let student = founded.student.moved_to(&program.address);
        let accepted = wait_for("the look at the file", async || {
            let upload = student.get(&path).await.expect(200);
            assert_ne!(upload["state"], "refused", "seed {seed}: {upload}");
            (upload["state"] == "accepted").then_some(upload)
        })
        .await;
        let footage = text(&accepted["footage_id"]);
        let source = var.join("footage/footage").join(&footage).join("source");
        assert!(std::fs::read(source).unwrap() == bytes, "seed {seed}");
        eventually("the file is taken in", || arriving(&var) == 0);
        first.get_or_insert(footage);
    }
    // The preparations were killed along with the server, and went on.
    let student = founded.student.moved_to(&program.address);
    footage_in(&student, &first.expect("a file"), "ready").await;
    println!("{rounds} files, {} kills, {} cuts", total.kills, total.cuts);
}
