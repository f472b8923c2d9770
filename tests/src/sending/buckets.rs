//! Footage in a bucket: the road from upload to ranges against moto, an S3 server of another make, which is also asked the same itself.

use app::config::{FootageConfig, S3Config, Secret};
use reqwest::{Method, StatusCode};
use serde_json::json;
use sha2::{Digest, Sha256};
use tests::harness::cluster::{aside, cluster, connect};
use tests::harness::servers::OtherServer;
use tests::harness::wait_for;

use super::{Yard, footage_in, footage_of, key, send, short_clip, slow_clip, text};

const BUCKET: &str = "reels";
const PREFIX: &str = "yard/2026";

async fn yard_with(s3: &OtherServer) -> Yard {
    let endpoint = format!("http://127.0.0.1:{}", s3.port);
    let made = reqwest::Client::new().put(format!("{endpoint}/{BUCKET}"));
    assert_eq!(made.send().await.unwrap().status(), StatusCode::OK);
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

/// What the bucket itself answers for an object.
async fn directly(s3: &OtherServer, item: &str, headers: &[(&str, &str)]) -> reqwest::Response {
    let address = format!("http://127.0.0.1:{}/{BUCKET}/{PREFIX}/{item}", s3.port);
    let request = reqwest::Client::new().get(address);
    headers
        .iter()
        .fold(request, |request, (name, value)| {
            request.header(*name, *value)
        })
        .send()
        .await
        .unwrap()
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
        Sha256::digest(source.bytes().await.unwrap()),
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
        let there = directly(&s3, &object, &[]).await.bytes().await.unwrap();
        assert!(!there.is_empty() && whole.body == there, "{item}");
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
    let ask = async |headers: &[(&str, &str)]| {
        let request = yard.mara.request(Method::GET, path);
        headers
            .iter()
            .fold(request, |request, (name, value)| {
                request.header(name, value)
            })
            .send()
            .await
    };
    let ranges = [
        "bytes=0-0",
        "bytes=17-99",
        "bytes=100-",
        "bytes=-40",
        "bytes=0-99999999",
    ];
    for range in ranges {
        let ours = ask(&[("range", range)]).await;
        let theirs = directly(s3, object, &[("range", range)]).await;
        assert_eq!(
            (ours.status, theirs.status().as_u16()),
            (206, 206),
            "{range}"
        );
        let told = theirs
            .headers()
            .get("content-range")
            .unwrap()
            .to_str()
            .unwrap()
            .to_owned();
        assert_eq!(ours.header("content-range"), Some(told.as_str()), "{range}");
        assert!(ours.body == theirs.bytes().await.unwrap(), "{range}");
    }
    let beyond = format!("bytes={size}-");
    let ours = ask(&[("range", &beyond)]).await;
    let theirs = directly(s3, object, &[("range", &beyond)]).await;
    assert_eq!((ours.status, theirs.status().as_u16()), (416, 416));
    assert_eq!(
        ours.header("content-range"),
        Some(format!("bytes */{size}").as_str())
    );
    let theirs = directly(s3, object, &[]).await;
    let tag = theirs
        .headers()
        .get("etag")
        .unwrap()
        .to_str()
        .unwrap()
        .to_owned();
    assert_eq!(ask(&[]).await.header("etag"), Some(tag.as_str()));
    for (known, status) in [(tag.as_str(), 304), ("\"another\"", 200)] {
        let ours = ask(&[("if-none-match", known)]).await;
        let theirs = directly(s3, object, &[("if-none-match", known)]).await;
        assert_eq!(
            (ours.status, theirs.status().as_u16()),
            (status, status),
            "{known}"
        );
    }
    // If-Range is ours alone; S3 does not know it.
    let old = ask(&[("range", "bytes=0-9"), ("if-range", "\"another\"")]).await;
    assert_eq!((old.status, old.body.len()), (200, size));
    let same = ask(&[("range", "bytes=0-9"), ("if-range", &tag)]).await;
    assert_eq!((same.status, same.body.len()), (206, 10));
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
    // What was never put there is not there; what the bucket does not say is not known.
    let missing = json!("00000000-0000-4000-8000-000000000000");
    let nowhere = format!("/api/v1/footage/{}/copy", text(&missing));
    yard.nia
        .get(&nowhere)
        .await
        .expect_problem(404, "not-found");
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
