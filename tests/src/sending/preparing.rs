//! What is refused and why, and what becomes of what is accepted. Counts and times are held against ffprobe's.

use std::process::Command;

use mail_parser::MessageParser;
use serde_json::{Value, json};
use tests::harness::cluster::{aside, connect};
use tests::harness::wait_for;
use uuid::Uuid;

use super::{Yard, clip, footage_in, footage_of, key, send, short_clip, text, upload};

#[actix_web::test]
async fn what_is_no_usable_clip_is_refused_with_its_reason() {
    let yard = Yard::with(2, |config| config.uploads.seconds = 2).await;
    let words = |words: &str| words.split(' ').map(str::to_owned).collect::<Vec<_>>();
    let made = |ending: &str, text: &str| {
        clip(
            ending,
            &words(text).iter().map(String::as_str).collect::<Vec<_>>(),
        )
    };
    let whole = short_clip();
    let files: [(&str, Vec<u8>); 6] = [
        ("nothing at all", vec![]),
        (
            "a text",
            b"Dear mentor, please find enclosed my shot.\n".repeat(50),
        ),
        ("sound alone", made("m4a", "-f lavfi -i sine=d=1 -c:a aac")),
        ("cut off", whole[..whole.len() / 3].to_vec()),
        (
            "a picture",
            made("png", "-f lavfi -i testsrc2=s=320x180 -frames:v 1"),
        ),
        (
            "too long",
            made(
                "mp4",
                "-f lavfi -i testsrc2=s=320x180:r=24:d=4 -c:v libx264 -preset ultrafast",
            ),
        ),
    ];
    for (what, bytes) in files {
        let refused = upload(&yard.nia, &bytes).await;
        assert_eq!(refused["state"], "refused", "{what}: {refused}");
        assert_eq!(
            refused["problem"]["code"], "footage-refused",
            "{what}: {refused}"
        );
        let detail = text(&refused["problem"]["detail"]);
        assert!(
            detail.split_whitespace().count() >= 6,
            "{what}: a reason and a remedy: {detail}"
        );
        assert_eq!(refused["footage_id"], Value::Null, "{what}");
        let file = yard.t.var.join("uploads").join(text(&refused["id"]));
        wait_for("the file to go", async || (!file.exists()).then_some(())).await;
    }
    assert_eq!(yard.quota().await["left"], 2, "nothing is spent");
}

/// The times of the frames, and the tick, by ffprobe.
fn by_ffprobe(bytes: &[u8]) -> (Vec<i64>, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("clip");
    std::fs::write(&file, bytes).unwrap();
    let read = |what: &str| {
        let words = [
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-of",
            "csv=p=0",
            "-show_entries",
            what,
        ];
        let output = Command::new("ffprobe")
            .args(words)
            .arg(&file)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let times = read("frame=best_effort_timestamp");
    let times = times
        .lines()
        .filter_map(|line| line.trim_end_matches(',').parse().ok())
        .collect();
    (
        times,
        read("stream=time_base")
            .trim()
            .trim_end_matches(',')
            .to_owned(),
    )
}

#[actix_web::test]
async fn the_frame_table_is_the_sources_own() {
    let yard = Yard::with(2, |_| {}).await;
    let steady = |rate: &str| {
        let source = format!("testsrc2=s=320x180:r={rate},trim=end_frame=30");
        clip(
            "mp4",
            &[
                "-f",
                "lavfi",
                "-i",
                &source,
                "-c:v",
                "libx264",
                "-preset",
                "ultrafast",
            ],
        )
    };
    // Every third frame is left out, and the times of the others stay.
    let words = [
        "-f",
        "lavfi",
        "-i",
        "testsrc2=s=322x182:r=30:d=2,select='mod(n,3)'",
        "-fps_mode",
        "vfr",
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
    ];
    let clips = [
        ("24000/1001", steady("24000/1001"), false),
        ("25", steady("25"), false),
        ("60000/1001", steady("60000/1001"), false),
        ("variable", clip("mp4", &words), true),
    ];
    for (name, bytes, variable) in clips {
        let (times, tick) = by_ffprobe(&bytes);
        assert!(times.len() >= 30, "{name}: {times:?}");
        let ready = footage_in(&yard.nia, &footage_of(&yard.nia, &bytes).await, "ready").await;
        assert_eq!(ready["frames"], times.len(), "{name}");
        let table = &ready["frame_table"];
        assert_eq!(table["pts"], json!(times), "{name}");
        let base = format!(
            "{}/{}",
            table["time_base"]["num"], table["time_base"]["den"]
        );
        assert_eq!(
            (base, &ready["variable"]),
            (tick, &json!(variable)),
            "{name}"
        );
        assert_eq!(
            ready["strip"]["frames"].as_array().unwrap().len(),
            ready["strip"]["cells"].as_u64().unwrap() as usize
        );
    }
}

#[actix_web::test]
async fn a_cancelled_preparation_can_be_taken_up_again() {
    let yard = Yard::with(2, |_| {}).await;
    let (shot, footage) = (
        yard.shot().await,
        footage_of(&yard.nia, &short_clip()).await,
    );
    let path = format!("/api/v1/footage/{footage}");
    let bo = yard.t.person(&yard.school, "Bo", &["student"]);
    bo.delete(&path).await.expect_problem(404, "not-found");
    yard.nia.delete(&path).await.expect(204);
    assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "cancelled");
    send(&yard.nia, &shot, &footage, &key())
        .await
        .expect_problem(422, "footage-refused");
    yard.nia
        .post(&format!("{path}/prepare"), &json!({}))
        .await
        .expect(202);
    footage_in(&yard.nia, &footage, "ready").await;
    send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    yard.nia.delete(&path).await.expect_problem(409, "conflict");
}

/// The source is damaged after it was accepted: the submission comes back, and its student is told.
#[actix_web::test]
async fn what_fails_for_good_gives_the_submission_back() {
    let yard = Yard::with(2, |_| {}).await;
    let (shot, good) = (
        yard.shot().await,
        footage_of(&yard.nia, &short_clip()).await,
    );
    footage_in(&yard.nia, &good, "ready").await;
    let (good, bad) = (Uuid::parse_str(&good).unwrap(), Uuid::now_v7());
    let folder = yard.t.var.join("footage/footage").join(bad.to_string());
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("source"), b"not a clip any more".repeat(100)).unwrap();
    aside(|| {
        let sql = "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, width, height, frames, fps_num,
             fps_den, created_at)
           SELECT $1, school_id, student_id, filename, 'none', source_bytes, probe, width, height, frames, fps_num, fps_den, created_at
           FROM footage WHERE id = $2";
        assert_eq!(
            connect(&yard.t.database.owner_url)
                .execute(sql, &[&bad, &good])
                .unwrap(),
            1
        );
    });
    let sent = send(&yard.nia, &shot, &bad.to_string(), &key())
        .await
        .expect(201);
    assert_eq!(sent["quota"]["left"], 1);
    let failed = footage_in(&yard.nia, &bad.to_string(), "failed").await;
    assert_eq!(failed["problem"]["code"], "footage-refused");
    let shown = yard
        .nia
        .get(&format!("/api/v1/shots/{shot}"))
        .await
        .expect(200);
    let back = &shown["revisions"][0]["submission"];
    assert_eq!(
        (&back["state"], &back["quota"]["left"]),
        (&json!("returned"), &json!(2))
    );
    let reason = text(&back["return_reason"]);
    assert_eq!(failed["problem"]["detail"], reason);
    let mail = wait_for("the mail that says why", async || {
        yard.t
            .post()
            .into_iter()
            .find(|mail| String::from_utf8_lossy(mail).contains("is back with you"))
    })
    .await;
    let words = MessageParser::default()
        .parse(&mail)
        .unwrap()
        .body_text(0)
        .unwrap()
        .into_owned();
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(&words).contains(&flat(&reason)), "{words}");
}
