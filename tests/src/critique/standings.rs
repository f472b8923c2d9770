//! Concerns carried from revision to revision, and where they stand by what the mentor says.

use serde_json::{Value, json};
use tests::harness::client::Client;

use super::{Yard, but, id, judge, note, noted, open, put_note, send, text};

/// A word about one concern in one critique.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Said {
    /// A new note tied to it.
    Note,
    /// A verdict.
    Verdict(&'static str),
    Nothing,
}

use Said::{Note, Nothing, Verdict};

const STILL: Said = Verdict("still");
const EASED: Said = Verdict("eased");
const CLEARED: Said = Verdict("cleared");
const ASIDE: Said = Verdict("set-aside");

async fn say(mara: &Client, critique: &str, concern: &str, said: Said) {
    match said {
        Note => {
            let tied = but(note("Named once more."), json!({ "concern_id": concern }));
            let written = put_note(mara, critique, &id(), &tied).await.expect(200);
            assert_eq!(
                written["concern_id"], concern,
                "tied to the earlier concern"
            );
        }
        Verdict(verdict) => {
            let judged = judge(mara, critique, concern, 0, json!(verdict))
                .await
                .expect(200);
            assert_eq!(judged["verdict"]["verdict"], verdict);
        }
        Nothing => {}
    }
}

/// The carried concern of a page, if it is carried.
fn carried<'a>(page: &'a Value, concern: &str) -> Option<&'a Value> {
    let all = page["carried"].as_array().expect("a list");
    all.iter()
        .find(|carried| carried["concern"]["id"] == concern)
}

/// The shot's grid as that person sees it.
async fn grid(y: &Yard, who: &Client) -> Value {
    who.get(&format!("/api/v1/shots/{}/refrain", y.shot))
        .await
        .expect(200)
}

/// The row of that concern.
fn row(grid: &Value, concern: &str) -> Value {
    let groups = grid["groups"].as_array().expect("groups");
    let rows = groups
        .iter()
        .flat_map(|group| group["rows"].as_array().expect("rows"));
    rows.into_iter()
        .find(|row| row["concern"]["id"] == concern)
        .cloned()
        .expect("a row")
}

fn standings(row: &Value) -> Vec<String> {
    let cells = row["cells"].as_array().expect("cells");
    cells
        .iter()
        .map(|cell| cell["standing"].as_str().unwrap_or("-").to_owned())
        .collect()
}

/// The table of standings, each row reached through the API: noted in r1, then two critiques that lead to the standing before r4,
/// then what is said in r4. (The table is the project's own; `domain::standing` holds it as a pure rule.)
#[actix_web::test]
async fn the_table_holds_through_the_api() {
    let y = Yard::new().await;
    // The standing before; what r2 and r3 say; after r4 said: a note, still, eased, cleared, nothing.
    let table: [(&str, [Said; 2], [&str; 5]); 5] = [
        (
            "noted",
            [Nothing, STILL],
            ["noted", "noted", "eased", "cleared", "unmentioned"],
        ),
        (
            "eased",
            [STILL, EASED],
            ["noted", "noted", "eased", "cleared", "unmentioned"],
        ),
        (
            "back",
            [CLEARED, STILL],
            ["noted", "noted", "eased", "cleared", "unmentioned"],
        ),
        (
            "unmentioned",
            [EASED, Nothing],
            ["noted", "noted", "eased", "cleared", "unmentioned"],
        ),
        (
            "cleared",
            [CLEARED, Nothing],
            ["back", "back", "back", "cleared", "cleared"],
        ),
    ];
    let said = [Note, STILL, EASED, CLEARED, Nothing];
    let first = y.draft().await;
    let mut cases = vec![];
    for (before, course, after) in table {
        for (word, after) in said.into_iter().zip(after) {
            let written = noted(&y.mara, &first, &format!("{before}, then {word:?}.")).await;
            cases.push((text(&written["concern_id"]), before, course, word, after));
        }
    }
    y.release(&first).await;
    for at in 0..2 {
        let critique = y.draft().await;
        for (concern, _, course, _, _) in &cases {
            say(&y.mara, &critique, concern, course[at]).await;
        }
        y.release(&critique).await;
    }
    let last = y.draft().await;
    for (concern, _, _, word, _) in &cases {
        say(&y.mara, &last, concern, *word).await;
    }
    let page = y.page(&y.mara, &last).await;
    assert_eq!(page["carried"].as_array().map(Vec::len), Some(cases.len()));
    for (concern, before, _, word, after) in &cases {
        let carried = carried(&page, concern).expect("it is carried");
        let (was, is) = (&carried["standing_before"], &carried["standing"]);
        assert_eq!(
            (was, is),
            (&json!(before), &json!(after)),
            "{before}, then {word:?}"
        );
    }
    // A draft moves nothing the student sees.
    let seen_before = grid(&y, &y.nia).await;
    for (concern, before, ..) in &cases {
        let seen = standings(&row(&seen_before, concern));
        assert_eq!(seen[2..], [(*before).to_owned(), "-".into()], "{concern}");
    }
    y.release(&last).await;
    for reader in [&y.nia, &y.mara] {
        let grid = grid(&y, reader).await;
        for (concern, before, _, word, after) in &cases {
            let seen = standings(&row(&grid, concern));
            assert_eq!(
                seen[2..],
                [(*before).to_owned(), (*after).into()],
                "{before}, then {word:?}"
            );
        }
    }
}

#[actix_web::test]
async fn what_came_back_says_after_how_long() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let mut concerns = vec![];
    for words in [
        "The wrist jumps.",
        "The heel creeps.",
        "The head pops.",
        "The settle drags.",
    ] {
        concerns.push(text(&noted(&y.mara, &first, words).await["concern_id"]));
    }
    y.release(&first).await;
    // r2 to r5 of each: away for three, away for one and cleared again, never cleared, cleared to the end.
    let courses = [
        [CLEARED, Nothing, CLEARED, STILL],
        [EASED, CLEARED, Note, CLEARED],
        [EASED, Nothing, EASED, STILL],
        [CLEARED, Nothing, Nothing, Nothing],
    ];
    for at in 0..4 {
        let critique = y.draft().await;
        for (concern, course) in concerns.iter().zip(courses) {
            say(&y.mara, &critique, concern, course[at]).await;
        }
        y.release(&critique).await;
    }
    let wanted = [
        (
            ["noted", "cleared", "cleared", "cleared", "back"],
            json!(3),
            json!(null),
        ),
        (
            ["noted", "eased", "cleared", "back", "cleared"],
            json!(1),
            json!(5),
        ),
        (
            ["noted", "eased", "unmentioned", "eased", "noted"],
            json!(null),
            json!(null),
        ),
        (
            ["noted", "cleared", "cleared", "cleared", "cleared"],
            json!(null),
            json!(2),
        ),
    ];
    let grid = grid(&y, &y.nia).await;
    for (concern, (cells, came_back, cleared_in)) in concerns.iter().zip(wanted) {
        let row = row(&grid, concern);
        assert_eq!(standings(&row), cells);
        assert_eq!(
            (&row["came_back_after"], &row["cleared_in"]),
            (&came_back, &cleared_in),
            "{cells:?}"
        );
        let history = row["concern"]["history"]
            .as_array()
            .expect("a history")
            .len();
        assert_eq!(history, 5);
    }
    // Each mark opens its frames.
    let named = row(&grid, &concerns[1])["cells"][3].clone();
    assert_eq!(
        (&named["span"], &named["words"]),
        (&json!({ "start": 4, "end": 6 }), &json!("Named once more."))
    );
    let critique = y.page(&y.nia, &text(&named["critique_id"])).await;
    assert_eq!(critique["revision"]["number"], 4);
}

#[actix_web::test]
async fn what_is_set_aside_is_carried_no_further() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let aside = text(&noted(&y.mara, &first, "A matter of taste.").await["concern_id"]);
    let open = text(&noted(&y.mara, &first, "The wrist jumps.").await["concern_id"]);
    y.release(&first).await;
    let second = y.draft().await;
    say(&y.mara, &second, &aside, ASIDE).await;
    let page = y.page(&y.mara, &second).await;
    let here = carried(&page, &aside).expect("still shown where it was said");
    assert_eq!(
        (&here["standing_before"], &here["standing"]),
        (&json!("noted"), &json!("set-aside"))
    );
    y.release(&second).await;
    let third = y.draft().await;
    let page = y.page(&y.mara, &third).await;
    assert!(carried(&page, &aside).is_none() && carried(&page, &open).is_some());
    judge(&y.mara, &third, &aside, 0, json!("still"))
        .await
        .expect_problem(404, "not-found");
    // Naming it again does not bring it in: a person set it aside.
    say(&y.mara, &third, &aside, Note).await;
    y.release(&third).await;
    assert_eq!(
        standings(&row(&grid(&y, &y.nia).await, &aside)),
        ["noted", "set-aside", "set-aside"]
    );
}

#[actix_web::test]
async fn open_ones_are_carried_first_each_on_its_frames() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let mut concerns = vec![];
    for (start, words) in [
        (2, "Cleared early."),
        (20, "Open late."),
        (9, "Open early."),
        (15, "Back."),
    ] {
        let placed = but(
            note(words),
            json!({ "span": { "start": start, "end": start + 2 } }),
        );
        let written = put_note(&y.mara, &first, &id(), &placed).await.expect(200);
        concerns.push(text(&written["concern_id"]));
    }
    y.release(&first).await;
    for (back, rest) in [(CLEARED, CLEARED), (STILL, Nothing)] {
        let critique = y.draft().await;
        say(&y.mara, &critique, &concerns[0], rest).await;
        say(&y.mara, &critique, &concerns[3], back).await;
        y.release(&critique).await;
    }
    let last = y.draft().await;
    let page = y.page(&y.mara, &last).await;
    let titles: Vec<&str> = page["carried"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|c| c["concern"]["title"].as_str().expect("a title"))
        .collect();
    assert_eq!(titles, ["Open early", "Back", "Open late", "Cleared early"]);
    // The proportional map is shown as unsure.
    let open = carried(&page, &concerns[2]).expect("carried");
    assert_eq!(
        (&open["mapped"], &open["unsure"]),
        (&json!({ "start": 9, "end": 11 }), &json!(true))
    );
    let numbers: Vec<&Value> = page["revisions"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|r| &r["number"])
        .collect();
    assert_eq!(numbers, [1, 2, 3]);
    assert_eq!(page["last_critique"]["number"], 3);
}

/// What was said last of this shot stays in sight when another shot was critiqued since; a new shot shows that of the other.
#[actix_web::test]
async fn the_last_critique_is_that_of_the_shot_if_it_has_one() {
    let y = Yard::new().await;
    let own = y.draft().await;
    y.release(&own).await;
    let new = json!({ "enrolment_id": y.enrolment.id, "title": "The well", "first_frame": 1 });
    let well = text(&y.nia.post("/api/v1/shots", &new).await.expect(201)["id"]);
    let other = open(&y.mara, &send(&y.t, &y.nia, &well).await).await;
    let page = y.page(&y.mara, &other).await;
    assert_eq!(page["last_critique"]["critique_id"], json!(own));
    assert_eq!(page["last_critique"]["shot"]["id"], json!(y.shot));
    y.release(&other).await;
    let page = y.page(&y.mara, &y.draft().await).await;
    assert_eq!(page["last_critique"]["critique_id"], json!(own));
}

#[actix_web::test]
async fn a_note_is_tied_untied_and_tied_otherwise() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let wrist = text(&noted(&y.mara, &first, "The wrist jumps.").await["concern_id"]);
    let heel = text(&noted(&y.mara, &first, "The heel creeps.").await["concern_id"]);
    y.release(&first).await;
    let critique = y.draft().await;
    let written = noted(&y.mara, &critique, "It jumps again.").await;
    let (note_id, own) = (text(&written["id"]), text(&written["concern_id"]));
    assert!(own != wrist && own != heel, "a concern of its own");
    let tie = async |version: i32, concern: Value| {
        let change = but(
            note("It jumps again."),
            json!({ "version": version, "concern_id": concern }),
        );
        put_note(&y.mara, &critique, &note_id, &change)
            .await
            .expect(200)
    };
    assert_eq!(tie(1, json!(wrist)).await["concern_id"], wrist.as_str());
    assert_eq!(tie(2, json!(heel)).await["concern_id"], heel.as_str());
    let untied = tie(3, json!(null)).await;
    let fresh = text(&untied["concern_id"]);
    assert!(
        fresh != wrist && fresh != heel,
        "a concern of its own once more"
    );
    assert_eq!(
        y.one("SELECT count(*)::text FROM concern"),
        "3",
        "none is left over"
    );
    tie(4, json!(wrist)).await;
    let page = y.page(&y.mara, &critique).await;
    assert_eq!(
        carried(&page, &wrist).expect("carried")["standing"],
        "noted"
    );
    assert_eq!(
        carried(&page, &heel).expect("carried")["standing"],
        "unmentioned"
    );

    // Only to concerns of this shot that the mentor sees.
    let new = json!({ "enrolment_id": y.enrolment.id, "title": "Box lift", "first_frame": 1 });
    let shot = text(&y.nia.post("/api/v1/shots", &new).await.expect(201)["id"]);
    let submission = super::send(&y.t, &y.nia, &shot).await;
    let elsewhere = super::open(&y.mara, &submission).await;
    for concern in [wrist.clone(), id()] {
        let tied = but(note("Here too."), json!({ "concern_id": concern }));
        let problem = put_note(&y.mara, &elsewhere, &id(), &tied)
            .await
            .expect_problem(422, "invalid-input");
        assert_eq!(super::fields(&problem), ["concern_id"]);
        judge(&y.mara, &elsewhere, &concern, 0, json!("still"))
            .await
            .expect_problem(404, "not-found");
    }
    // A concern of this very critique has nothing before it to be judged.
    let new = text(&noted(&y.mara, &critique, "The head pops.").await["concern_id"]);
    judge(&y.mara, &critique, &new, 0, json!("still"))
        .await
        .expect_problem(404, "not-found");
    let wrong = json!({ "version": 0, "verdict": "better" });
    let path = format!("/api/v1/critiques/{critique}/verdicts/{wrist}");
    y.mara
        .put(&path, &wrong)
        .await
        .expect_problem(422, "invalid-input");
}
