//! Independent servers that the program is tested against: an SMTP server and an S3 server, in Python.

use std::fs::{self, File};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// A server of another make, on a port of its own; killed when dropped or when the test's thread ends.
pub struct OtherServer {
    /// Its port on 127.0.0.1.
    pub port: u16,
    /// Where it keeps what it was given, and its log.
    pub folder: PathBuf,
    child: Child,
}

impl OtherServer {
    /// aiosmtpd, which puts every mail it accepts into a Maildir, `folder/mails/new`.
    pub fn smtp(folder: &Path) -> Self {
        let mails = folder.join("mails");
        Self::start(folder, |port| {
            let mut words: Vec<String> =
                ["-m", "aiosmtpd", "-n", "-c", "aiosmtpd.handlers.Mailbox"]
                    .map(str::to_owned)
                    .to_vec();
            words.extend(["-l".into(), format!("127.0.0.1:{port}")]);
            words.push(mails.display().to_string());
            words
        })
    }

    /// moto, which keeps what it is given in memory.
    pub fn s3(folder: &Path) -> Self {
        Self::start(folder, |port| {
            ["-m", "moto.server", "-H", "127.0.0.1", "-p"]
                .map(str::to_owned)
                .into_iter()
                .chain([port.to_string()])
                .collect()
        })
    }

    /// The mails an SMTP server has accepted.
    pub fn mails(&self) -> Vec<Vec<u8>> {
        let new = self.folder.join("mails/new");
        let mut files: Vec<PathBuf> = fs::read_dir(new)
            .into_iter()
            .flatten()
            .flatten()
            .map(|entry| entry.path())
            .collect();
        files.sort();
        files
            .iter()
            .map(|file| fs::read(file).expect("a mail"))
            .collect()
    }

    fn start(folder: &Path, words: impl Fn(u16) -> Vec<String>) -> Self {
        fs::create_dir_all(folder).expect("a folder for the server");
        let port = free_port();
        let log = File::create(folder.join("log")).expect("a log");
        let child = Command::new("setpriv")
            .args(["--pdeathsig", "KILL", "--"])
            .arg(python())
            .args(words(port))
            .stdin(Stdio::null())
            .stdout(log.try_clone().expect("a log"))
            .stderr(log)
            .spawn()
            .expect("the server starts");
        let mut server = Self {
            port,
            folder: folder.to_owned(),
            child,
        };
        server.wait();
        server
    }

    fn wait(&mut self) {
        let start = Instant::now();
        while TcpStream::connect(("127.0.0.1", self.port)).is_err() {
            let ended = self.child.try_wait().expect("its state");
            let is_late = start.elapsed() > Duration::from_secs(60);
            assert!(
                ended.is_none() && !is_late,
                "the server does not answer: {}",
                fs::read_to_string(self.folder.join("log")).unwrap_or_default()
            );
            thread::sleep(Duration::from_millis(50));
        }
    }
}

impl Drop for OtherServer {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

fn free_port() -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a free port");
    listener.local_addr().expect("its number").port()
}

/// The Python that `ops/test` installs the servers into.
fn python() -> PathBuf {
    let python = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/python/bin/python");
    assert!(
        python.exists(),
        "the servers are not installed; `ops/test blackbox` installs them"
    );
    python
}
