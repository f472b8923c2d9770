//! Footage in a bucket: the road from upload to ranges against moto, an S3 server of another make, which is also asked the same itself.

use app::config::{FootageConfig, S3Config, Secret};
use reqwest::Method;
use sha2::{Digest, Sha256};
use tests::harness::client::{Answer, Client};
use tests::harness::cluster::{aside, cluster, connect};
use tests::harness::servers::OtherServer;
use tests::harness::wait_for;

use super::{Yard, footage_in, footage_of, key, send, short_clip, slow_clip};

const BUCKET: &str = "reels";
const PREFIX: &str = "yard/2026";

async fn yard_with(s3: &OtherServer) -> Yard {
    let made = bucket(s3)
        .request(Method::PUT, &format!("/{BUCKET}"))
        .send();
    assert_eq!(made.await.status, 200);
    let endpoint = bucket(s3).address;
    Yard::with(2, |config| {
        config.footage = FootageConfig::S3(S3Config {
            bucket: BUCKET.into(),
            prefix: PREFIX.into(),
            endpoint: Some(endpoint),
            region: "us-east-1".into(),
            access_key: Secret::new("invented"),
            secret_key: Secret::new("invented as well"),
        });
    })
    .await
}

fn bucket(s3: &OtherServer) -> Client {
    Client::anonymous(&format!("http://127.0.0.1:{}", s3.port))
}

async fn ask(who: &Client, path: &str, headers: &[(&str, &str)]) -> Answer {
    let request = who.request(Method::GET, path);
    headers
        .iter()
        .fold(request, |request, (name, value)| {
            request.header(name, value)
        })
        .send()
        .await
}

/// What the bucket itself answers for an object, to somebody who may ask.
async fn directly(s3: &OtherServer, object: &str, headers: &[(&str, &str)]) -> Answer {
    let credential = "AWS4-HMAC-SHA256 Credential=invented/20260101/us-east-1/s3/aws4_request, SignedHeaders=host, Signature=0";
    let signed = [("authorization", credential)];
    let path = format!("/{BUCKET}/{PREFIX}/{object}");
    ask(&bucket(s3), &path, &[headers, &signed].concat()).await
}

/// More than one piece of a multipart upload: a clip behind which lie bytes that readers skip (`free`, ISO/IEC 14496-12, 8.1.2).
fn clip_of_several_pieces() -> Vec<u8> {
    let padding: Vec<u8> = (0..20_000_000_u32)
        .map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8)
        .collect();
    let size = u32::try_from(padding.len() + 8).unwrap();
    [&short_clip()[..], &size.to_be_bytes(), b"free", &padding].concat()
}

#[actix_web::test]
async fn footage_lives_in_a_bucket() {
    let s3 = OtherServer::s3(&cluster().var_folder());
    let yard = yard_with(&s3).await;
    let bytes = clip_of_several_pieces();
    let footage = footage_of(&yard.nia, &bytes).await;
    let shot = yard.shot().await;
    send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    let ready = footage_in(&yard.mara, &footage, "ready").await;
    assert_eq!(ready["frames"], 24);
    assert!(
        !yard.t.var.join("footage").exists(),
        "it lies on this machine too"
    );
    let source = directly(&s3, &format!("footage/{footage}/source"), &[]).await;
    assert_eq!(
        (source.status, source.body.len()),
        (200, bytes.len()),
        "{}",
        source.status
    );
    assert_eq!(
        Sha256::digest(&source.body),
        Sha256::digest(&bytes),
        "what was sent is what is kept"
    );
    for (item, object, media_type) in [
        ("copy", "copy.mp4", "video/mp4"),
        ("strip", "strip.jpg", "image/jpeg"),
        ("poster", "poster.jpg", "image/jpeg"),
        ("sound", "sound.m4a", "audio/mp4"),
    ] {
        let object = format!("footage/{footage}/{object}");
        let path = format!("/api/v1/footage/{footage}/{item}");
        let whole = yard.mara.get(&path).await;
        assert_eq!(
            (whole.status, whole.header("content-type")),
            (200, Some(media_type))
        );
        let there = directly(&s3, &object, &[]).await;
        assert_eq!(
            (there.status, there.body.is_empty()),
            (200, false),
            "{there}"
        );
        assert_eq!(
            Sha256::digest(&whole.body),
            Sha256::digest(&there.body),
            "{item}"
        );
        let there = there.body;
        answers_as_the_bucket(&yard, &s3, &path, &object, there.len()).await;
    }
}

/// RFC 9110, 13.1.2 (If-None-Match), 13.1.5 (If-Range), 14.2 (Range): the same question, the same answer.
async fn answers_as_the_bucket(
    yard: &Yard,
    s3: &OtherServer,
    path: &str,
    object: &str,
    size: usize,
) {
    let beyond = format!("bytes={size}-");
    let questions = [
        ("bytes=0-0", 206),
        ("bytes=17-99", 206),
        ("bytes=100-", 206),
        ("bytes=-40", 206),
        ("bytes=0-99999999", 206),
        (&beyond, 416),
    ];
    for (range, status) in questions {
        let ours = ask(&yard.mara, path, &[("range", range)]).await;
        let theirs = directly(s3, object, &[("range", range)]).await;
        assert_eq!((ours.status, theirs.status), (status, status), "{range}");
        if status == 206 {
            let [told, known] = [&ours, &theirs].map(|answer| answer.header("content-range"));
            assert_eq!(told, known, "{range}");
            assert!(ours.body == theirs.body, "{range}");
        } else {
            let told = format!("bytes */{size}");
            assert_eq!(ours.header("content-range"), Some(told.as_str()));
        }
    }
    let theirs = directly(s3, object, &[]).await;
    let tag = theirs.header("etag").unwrap();
    assert_eq!(ask(&yard.mara, path, &[]).await.header("etag"), Some(tag));
    for (known, status) in [(tag, 304), ("\"another\"", 200)] {
        let ours = ask(&yard.mara, path, &[("if-none-match", known)]).await;
        let theirs = directly(s3, object, &[("if-none-match", known)]).await;
        assert_eq!((ours.status, theirs.status), (status, status), "{known}");
    }
    // If-Range is ours alone; S3 does not know it.
    for (known, status, length) in [("\"another\"", 200, size), (tag, 206, 10)] {
        let asked = [("range", "bytes=0-9"), ("if-range", known)];
        let ours = ask(&yard.mara, path, &asked).await;
        assert_eq!((ours.status, ours.body.len()), (status, length), "{known}");
    }
}

#[actix_web::test]
async fn a_bucket_that_is_gone_is_said_and_comes_back() {
    let folder = cluster().var_folder();
    let s3 = OtherServer::s3(&folder);
    let yard = yard_with(&s3).await;
    let footage = footage_of(&yard.nia, &short_clip()).await;
    footage_in(&yard.nia, &footage, "ready").await;
    let path = format!("/api/v1/footage/{footage}/copy");
    assert_eq!(yard.nia.get(&path).await.status, 200);
    drop(s3);
    let away = yard.nia.get(&path).await;
    away.expect_problem(503, "unavailable");
    assert!(away.header("retry-after").is_some());
    // A file that arrives meanwhile waits; nothing of it is lost, and nothing is blamed on it.
    let waiting = super::announce(&yard.nia, short_clip().len()).await;
    let arrived = super::piece(&yard.nia, &waiting, 0, &short_clip())
        .send()
        .await;
    assert_eq!(arrived.status, 204, "{arrived}");
    assert_eq!(yard.nia.get(&waiting).await.expect(200)["state"], "probing");
    // Until it was tried as often as it may be.
    aside(|| {
        connect(&yard.t.database.owner_url)
            .batch_execute("UPDATE job SET max_attempts = 2 WHERE kind = 'probe'")
            .unwrap()
    });
    let told = wait_for("the word of it", async || {
        let upload = yard.nia.get(&waiting).await.expect(200);
        (upload["state"] == "refused").then_some(upload)
    })
    .await;
    assert_eq!(told["problem"]["errors"][0]["reason"], "gave-up", "{told}");
    assert_eq!(yard.quota().await["left"], 2);
}

/// The bucket goes while a preparation is under way: the submission comes back, and its student is told.
#[actix_web::test]
async fn what_cannot_be_kept_is_given_back() {
    let s3 = OtherServer::s3(&cluster().var_folder());
    let yard = yard_with(&s3).await;
    let shot = yard.shot().await;
    let footage = footage_of(&yard.nia, &slow_clip()).await;
    let sent = send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    assert_eq!(sent["quota"]["left"], 1);
    let path = format!("/api/v1/footage/{footage}");
    wait_for("a preparation under way", async || {
        let now = yard.nia.get(&path).await.expect(200);
        (now["progress"].as_f64() > Some(0.1)).then_some(())
    })
    .await;
    aside(|| {
        connect(&yard.t.database.owner_url)
            .batch_execute("UPDATE job SET max_attempts = 2 WHERE kind = 'prepare'")
            .unwrap()
    });
    drop(s3);
    let failed = footage_in(&yard.nia, &footage, "failed").await;
    assert_eq!(
        failed["problem"]["errors"][0]["reason"], "gave-up",
        "{failed}"
    );
    assert_eq!(yard.quota().await["left"], 2);
    wait_for("the mail that says why", async || {
        let mails = yard.t.post();
        mails
            .iter()
            .any(|mail| String::from_utf8_lossy(mail).contains("is back with you"))
            .then_some(())
    })
    .await;
}
